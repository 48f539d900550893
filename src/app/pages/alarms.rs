//! Alarms: the list with its search, and one alarm.

use crate::app::frame::app;
use crate::app::pages::read::Nowhere;
use crate::app::parts::finding::source_line;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use crate::content::schema::Alarm;
use crate::content::words as w;
use crate::core::because::Arg;
use leptos::prelude::*;

#[component]
pub fn Alarms() -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let typed = RwSignal::new(String::new());
    let list = move || {
        let found = speaker.language.alarms_with(&typed.get());
        if found.is_empty() {
            let text = speaker.fill(w::ALARMS_NONE, &[("typed", Arg::Name(typed.get()))]);
            return view! { <p class="empty" role="status">{text}</p> }.into_any();
        }
        let rows = found
            .into_iter()
            .map(|alarm| {
                view! {
                    <li>
                        <a class="job-row" href=Screen::Alarm(alarm.key.clone()).to_string()>
                            <span class="row-words">
                                <span class="row-head">
                                    <span class="row-title">{alarm.title.clone()}</span>
                                    <Urgency alarm/>
                                </span>
                                <span class="row-about">{alarm.meaning.clone()}</span>
                            </span>
                        </a>
                    </li>
                }
            })
            .collect_view();
        view! { <ul class="rows">{rows}</ul> }.into_any()
    };
    view! {
        <div class="page">
            <Head title=app.word(w::ALARMS_TITLE)/>
            <p class="lead">{app.word(w::ALARMS_ABOUT)}</p>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::ALARMS_DANGER)}</span></p>
            <div class="field">
                <label for="alarm-search">{app.word(w::ALARMS_SEARCH)}</label>
                <div class="entry">
                    <input id="alarm-search" type="search" autocomplete="off" spellcheck="false" prop:value=move || typed.get()
                        on:input=move |event| typed.set(event_target_value(&event))/>
                </div>
            </div>
            {list}
        </div>
    }
}

#[component]
fn Urgency(alarm: &'static Alarm) -> impl IntoView {
    let app = app();
    let key = alarm.urgency.key();
    view! {
        <span class=format!("urgency urgency-{key}")>{app.speaker().name(&format!("urgency-{key}"))}</span>
    }
}

#[component]
pub fn AlarmPage(key: String) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let Some(alarm) = speaker.language.alarms.iter().find(|alarm| alarm.key == key) else {
        return view! { <Nowhere/> }.into_any();
    };
    view! {
        <div class="page">
            <Head title=alarm.title.clone() back=app.word(w::ALARMS_TITLE)/>
            <p><Urgency alarm/></p>
            <p class="lead">{alarm.meaning.clone()}</p>
            <section class="next"><h2>{app.word(w::ALARMS_FIRST)}</h2><p class="next-action">{alarm.first.clone()}</p></section>
            <p class="caution">
                {icon(Icon::Caution)}<span><strong>{app.word(w::ALARMS_DO_NOT)}": "</strong>{alarm.do_not.clone()}</span>
            </p>
            <h2>{app.word(w::ALARMS_CAUSES)}</h2>
            <ol class="causes">{alarm.causes.iter().map(|cause| view! { <li>{cause.clone()}</li> }).collect_view()}</ol>
            <h2>{app.word(w::ALARMS_GO_ON)}</h2>
            <p>{alarm.go_on.clone()}</p>
            <details class="rests">
                <summary>{app.word(w::CARD_SOURCES)}</summary>
                <ul class="sources">
                    {alarm.sources.iter().map(|key| view! { <li>{source_line(app, key)}</li> }).collect_view()}
                </ul>
            </details>
        </div>
    }
    .into_any()
}
