//! Guides: the list, one guide, and the page for an address that leads nowhere.

use crate::app::frame::app;
use crate::app::parts::finding::source_line;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use crate::content::schema::Block;
use crate::content::search::guides;
use crate::content::words as w;
use leptos::prelude::*;

#[component]
pub fn Read() -> impl IntoView {
    let app = app();
    let typed = RwSignal::new(String::new());
    let rows = move || {
        let found = guides(&app.content.language, &typed.get());
        if found.is_empty() {
            return view! { <p class="hint">{app.word(w::READ_NOTHING)}</p> }.into_any();
        }
        let rows = found.into_iter().map(|guide| go_row(&Screen::Guide(guide.key.clone()), &guide.title, &guide.about));
        view! { <ul class="rows">{rows.collect_view()}</ul> }.into_any()
    };
    view! {
        <div class="page">
            <Head title=app.word(w::READ_TITLE)/>
            <p class="lead">{app.word(w::READ_ABOUT)}</p>
            <div class="field search">
                <label for="read-search">{app.word(w::READ_SEARCH)}</label>
                <div class="entry">
                    <input id="read-search" type="search" autocomplete="off" autocapitalize="off" enterkeyhint="search"
                        prop:value=move || typed.get() on:input=move |event| typed.set(event_target_value(&event))/>
                </div>
            </div>
            <div aria-live="polite">{rows}</div>
        </div>
    }
}

#[component]
pub fn GuidePage(key: String) -> impl IntoView {
    let app = app();
    let Some(guide) = app.speaker().language.guides.iter().find(|guide| guide.key == key) else {
        return view! { <Nowhere/> }.into_any();
    };
    let blocks = guide
        .blocks
        .iter()
        .map(|block| match block {
            Block::Heading(text) => view! { <h2>{text.clone()}</h2> }.into_any(),
            Block::Text(text) => view! { <p>{text.clone()}</p> }.into_any(),
            Block::List(items) => {
                view! { <ul>{items.iter().map(|item| view! { <li>{item.clone()}</li> }).collect_view()}</ul> }
                    .into_any()
            }
            Block::Caution(text) => {
                view! { <p class="caution">{icon(Icon::Caution)}<span>{text.clone()}</span></p> }.into_any()
            }
        })
        .collect_view();
    view! {
        <div class="page page-guide">
            <Head title=guide.title.clone() back=app.word(w::READ_TITLE)/>
            <p class="lead">{guide.about.clone()}</p>
            {blocks}
            <details class="rests">
                <summary>{app.word(w::CARD_SOURCES)}</summary>
                <ul class="sources">
                    {guide.sources.iter().map(|key| view! { <li>{source_line(app, key)}</li> }).collect_view()}
                </ul>
            </details>
        </div>
    }
    .into_any()
}

#[component]
pub fn Nowhere() -> impl IntoView {
    let app = app();
    view! {
        <div class="page">
            <Head title=app.word(w::READ_NOT_FOUND)/>
            <div class="foot"><a class="primary" href=Screen::Home.to_string()>{app.word(w::APP_NAME)}</a></div>
        </div>
    }
}
