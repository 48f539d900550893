//! Alarms: the list with its search, and one alarm.

use crate::app::device::{clock, page};
use crate::app::frame::{App, app};
use crate::app::pages::jobs::{MANY, name_in_brief, name_of};
use crate::app::pages::read::Nowhere;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::finding::source_line;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use crate::content::schema::{Alarm, AlarmKind, Way};
use crate::content::search::{Found, codes_of};
use crate::content::words as w;
use crate::content::words::Word;
use crate::core::because::Arg;
use crate::core::codes::Code;
use crate::core::job::{GONE, PRESENT, Seen, Subject};
use leptos::prelude::*;
use std::time::Duration;

/// Rows shown at first.
const FEW: usize = 6;

thread_local! {
    /// What was typed stays while an entry is looked at.
    static LAST: std::cell::RefCell<String> = const { std::cell::RefCell::new(String::new()) };
}

#[component]
pub fn Alarms() -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let typed = RwSignal::new(LAST.with_borrow(Clone::clone));
    // The first key shall not wait for the laying out.
    let lay_out = move || {
        app.search();
    };
    set_timeout(lay_out, Duration::from_millis(50));
    let is_typing = Memo::new(move |_| typed.with(|typed| !typed.trim().is_empty()));
    // A key that changes nothing draws nothing, and rows that stay are kept: drawing costs more than finding.
    let found = Memo::new(move |_| if is_typing.get() { app.search().find(&typed.get()) } else { Vec::new() });
    let all = RwSignal::new(false);
    let results = move || {
        let count = Memo::new(move |_| found.with(Vec::len));
        let shown = move || {
            let most = if all.get() { usize::MAX } else { FEW };
            found.with(|found| found.iter().take(most).copied().collect::<Vec<Found>>())
        };
        let none = move || {
            (count.get() == 0).then(|| {
                let text = speaker.fill(w::ALARMS_NONE, &[("typed", Arg::Name(typed.get()))]);
                view! { <p class="empty" role="status">{text}</p> }
            })
        };
        let more = move || {
            (count.get() > FEW && !all.get()).then(|| {
                let text = speaker.fill(w::ALARMS_MORE, &[("n", Arg::Count((count.get() - FEW) as u32))]);
                view! { <button type="button" class="quiet" on:click=move |_| all.set(true)>{text}</button> }
            })
        };
        view! {
            <ul class="rows results">
                <For each=shown key=|found| (found.alarm.key.as_str(), found.code) children=move |found| row(app, found)/>
            </ul>
            {none}
            {more}
        }
    };
    let body = move || if is_typing.get() { results.into_any() } else { everything(app).into_any() };
    view! {
        <div class="page page-alarms">
            <Head title=app.word(w::ALARMS_TITLE)/>
            <div class="field search">
                <label for="alarm-search">{app.word(w::ALARMS_SEARCH)}</label>
                <div class="entry">
                    <input
                        id="alarm-search"
                        type="search"
                        enterkeyhint="search"
                        autocomplete="off"
                        autocapitalize="off"
                        spellcheck="false"
                        prop:value=move || typed.get()
                        on:input=move |event| {
                            let text = event_target_value(&event);
                            LAST.set(text.clone());
                            all.set(false);
                            typed.set(text);
                        }
                    />
                </div>
            </div>
            {body}
        </div>
    }
}

/// All entries by kind, the most urgent first.
fn everything(app: App) -> impl IntoView {
    let kinds = [
        (AlarmKind::Alarm, w::ALARMS_KINDS_ALARM),
        (AlarmKind::HoldOff, w::ALARMS_KINDS_HOLD_OFF),
        (AlarmKind::State, w::ALARMS_KINDS_STATE),
    ];
    let lists = kinds.map(|(kind, word)| {
        let mut alarms: Vec<&'static Alarm> =
            app.content.language.alarms.iter().filter(|alarm| alarm.kind == kind).collect();
        alarms.sort_by_key(|alarm| alarm.urgency);
        let rows = alarms.into_iter().map(|alarm| row(app, Found { alarm, code: None })).collect_view();
        view! { <h2>{app.word(word)}</h2><ul class="rows">{rows}</ul> }
    });
    view! {
        <p class="lead">{app.word(w::ALARMS_ABOUT)}</p>
        <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::ALARMS_DANGER)}</span></p>
        {lists.into_iter().collect_view()}
    }
}

fn row(app: App, found: Found<'static>) -> impl IntoView + use<> {
    let alarm = found.alarm;
    view! {
        <li>
            <a class="job-row" href=Screen::Alarm(alarm.key.clone()).to_string()>
                <span class="row-words">
                    <span class="row-head">
                        <span class="row-title">{alarm.title.clone()}</span>
                        <Urgency alarm/>
                    </span>
                    {found.code.map(|code| view! { <span class="row-over">{code_line(app, code)}</span> })}
                    <span class="row-about">{alarm.meaning.clone()}</span>
                </span>
                {icon(Icon::Go)}
            </a>
        </li>
    }
}

/// A code as its standard writes it, with its name.
fn code_line(app: App, code: Code) -> String {
    let Some(words) = app.content.language.codes.get(&code.vocabulary) else { return String::new() };
    let name = words.names.get(&code.value).map_or("", String::as_str);
    if words.mark.is_empty() {
        return name.to_string();
    }
    let mark = app.speaker().template(&words.mark, &[("n", Arg::Count(u32::from(code.value)))]);
    format!("{mark}: {name}")
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
    let Some(alarm) = speaker.language.alarm(&key) else {
        return view! { <Nowhere/> }.into_any();
    };
    let noting = RwSignal::new(false);
    let part = |word: Word, text: &str| view! { <h2>{app.word(word)}</h2><p>{text.to_string()}</p> };
    let ways = alarm.ways.iter().map(|way| {
        let (screen, title, about) = leads_to(*way);
        go_row(&screen, app.word(title), app.word(about))
    });
    let near = alarm.see.iter().filter_map(|key| speaker.language.alarm(key));
    let near = near.map(|other| go_row(&Screen::Alarm(other.key.clone()), &other.title, &other.meaning));
    view! {
        <div class="page page-alarm">
            <Head title=alarm.title.clone() back=app.word(w::ALARMS_TITLE)/>
            <p class="marks">
                <Urgency alarm/>
                <span class="small">{speaker.name(&format!("alarm-{}", alarm.kind.key()))}</span>
            </p>
            <section class="next"><h2>{app.word(w::ALARMS_FIRST)}</h2><p class="next-action">{alarm.first.clone()}</p></section>
            {part(w::ALARMS_MEANS, &alarm.meaning)}
            {part(w::ALARMS_GO_ON, &alarm.go_on)}
            <p class="caution">
                {icon(Icon::Caution)}
                <span><strong>{app.word(w::ALARMS_DO_NOT)}</strong><br/>{alarm.do_not.clone()}</span>
            </p>
            <h2>{app.word(w::ALARMS_CAUSES)}</h2>
            <ol class="causes">{alarm.causes.iter().map(|cause| view! { <li>{cause.clone()}</li> }).collect_view()}</ol>
            <section class="stop-call"><h2>{app.word(w::ALARMS_STOP)}</h2><p>{alarm.stop.clone()}</p></section>
            {codes(app, alarm)}
            <details class="rests">
                <summary>{app.word(w::CARD_SOURCES)}</summary>
                <ul class="sources">
                    {alarm.sources.iter().map(|key| view! { <li>{source_line(app, key)}</li> }).collect_view()}
                </ul>
            </details>
            {move || noting.get().then(|| view! { <Note alarm/> })}
            <h2>{app.word(w::ALARMS_NEXT)}</h2>
            <ul class="rows">{ways.collect_view()}{near.collect_view()}</ul>
            <div class="foot">
                <button type="button" class="primary" on:click=move |_| {
                    noting.set(true);
                    request_animation_frame(|| page::show_first("#note"));
                }>{app.word(w::ALARMS_NOTE)}</button>
            </div>
        </div>
    }
    .into_any()
}

/// The page behind a way, with its words in the list of Measure.
fn leads_to(way: Way) -> (Screen, Word, Word) {
    match way {
        Way::BusVolts => (Screen::MeasureVolts, w::MEASURE_VOLTS, w::MEASURE_VOLTS_ABOUT),
        Way::BusOhms => (Screen::MeasureOhms, w::MEASURE_OHMS, w::MEASURE_OHMS_ABOUT),
        Way::Profile => (Screen::MeasureProfile, w::MEASURE_PROFILE, w::MEASURE_PROFILE_ABOUT),
        Way::Pins => (Screen::MeasurePins, w::MEASURE_PINS, w::MEASURE_PINS_ABOUT),
        Way::Capture => (Screen::MeasureCapture, w::CAPTURE_TITLE, w::CAPTURE_ABOUT),
        Way::Numbers => (Screen::BankNumbers, w::BANK_NUMBERS, w::BANK_NUMBERS_ABOUT),
        Way::Rest => (Screen::BankRest, w::BANK_REST, w::BANK_REST_ABOUT),
        Way::Join => (Screen::BankJoin, w::BANK_JOIN, w::BANK_JOIN_ABOUT),
        Way::Sharing => (Screen::BankSharing, w::BANK_SHARING, w::BANK_SHARING_ABOUT),
    }
}

/// Its codes in open standards, behind a tap.
fn codes(app: App, alarm: &'static Alarm) -> Option<impl IntoView> {
    let lists: Vec<_> = alarm
        .codes
        .keys()
        .filter_map(|list| {
            let title = &app.content.language.codes.get(list)?.title;
            let lines = codes_of(alarm).filter(|code| code.vocabulary == *list).map(|code| code_line(app, code));
            let lines = lines.map(|line| view! { <li>{line}</li> }).collect_view();
            Some(view! { <li>{title.clone()}<ul>{lines}</ul></li> })
        })
        .collect();
    (!lists.is_empty()).then(|| {
        view! {
            <details class="rests codes">
                <summary>{app.word(w::ALARMS_CODES)}</summary>
                <ul>{lists}</ul>
            </details>
        }
    })
}

/// Notes the alarm in one of the jobs, with the time.
#[component]
fn Note(alarm: &'static Alarm) -> impl IntoView {
    let app = app();
    let jobs: Vec<_> = untrack(|| app.store.briefs()).iter().filter(|job| !job.archived).cloned().collect();
    let Some(latest) = jobs.first() else {
        return view! {
            <section id="note" class="note">
                <h2>{app.word(w::ALARMS_NOTE)}</h2>
                <p>{app.word(w::ALARMS_NOTE_NONE)}</p>
                <a class="quiet" href=Screen::Jobs.to_string()>{app.word(w::JOB_TO_JOBS)}</a>
            </section>
        }
        .into_any();
    };
    let chosen = RwSignal::new(latest.id.clone());
    // Of many jobs the latest: nobody looks for one among hundreds of rows here.
    let rows = jobs.iter().take(MANY).map(|job| {
        let begun = app.speaker().fill(w::JOBS_BEGUN, &[("when", Arg::Name(clock::say(job.begun)))]);
        Row::new(job.id.clone(), name_in_brief(app, job), begun)
    });
    let noted = RwSignal::new(None::<(String, &'static str)>);
    let note = move |answer: &'static str| {
        let id = chosen.get_untracked();
        app.store.observe(&id, Subject::Alarm(alarm.key.clone()), Seen::Answer(answer.into()), String::new());
        noted.set(Some((id, answer)));
    };
    let said = move || {
        let (id, answer) = noted.get()?;
        let word = if answer == PRESENT { w::ALARMS_NOTED_PRESENT } else { w::ALARMS_NOTED_GONE };
        let job = app.store.job(&id)?.with_untracked(|kept| name_of(app, &kept.job));
        let text = app.speaker().fill(word, &[("job", Arg::Name(job)), ("when", Arg::Name(clock::say(clock::now())))]);
        Some(view! {
            <p>{text}</p>
            <a class="quiet" href=Screen::Record(id).to_string()>{app.word(w::ALARMS_NOTED_RECORD)}</a>
        })
    };
    view! {
        <section id="note" class="note">
            <h2>{app.word(w::ALARMS_NOTE)}</h2>
            <Choice
                name="note-job"
                legend=app.word(w::ALARMS_NOTE_JOB)
                rows=rows.collect()
                chosen=Signal::derive(move || Some(chosen.get()))
                error=no_error()
                on_choose=move |id: String| chosen.set(id)
            />
            <div class="note-answers">
                <button type="button" class="quiet" on:click=move |_| note(PRESENT)>{app.word(w::ALARMS_NOTE_PRESENT)}</button>
                <button type="button" class="quiet" on:click=move |_| note(GONE)>{app.word(w::ALARMS_NOTE_GONE)}</button>
            </div>
            <div class="noted" role="status">{said}</div>
        </section>
    }
    .into_any()
}
