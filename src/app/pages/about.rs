//! What the app is, what it keeps, how it looks.

use crate::app::device::{look, offline};
use crate::app::frame::app;
use crate::app::pages::home::OfflineLine;
use crate::app::pages::keeping::hints::IosHint;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::finding::source_line;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::because::Arg;
use leptos::prelude::*;

#[component]
pub fn About() -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let version = move || {
        app.offline.track();
        let stored = offline::version();
        let version = if stored.is_empty() {
            env!("CARGO_PKG_VERSION").to_string()
        } else {
            format!("{} · {stored}", env!("CARGO_PKG_VERSION"))
        };
        speaker.fill(w::ABOUT_VERSION, &[("version", Arg::Name(version))])
    };
    let storage = move || {
        let health = app.store.health.get();
        app.word(match (health.local, health.mirror) {
            (true, true) => w::ABOUT_STORAGE_BOTH,
            (false, false) => w::ABOUT_STORAGE_NONE,
            _ => w::ABOUT_STORAGE_ONE,
        })
    };
    let chosen = RwSignal::new(Some(look::chosen()));
    let looks = vec![
        Row::new("system", app.word(w::ABOUT_LOOK_SYSTEM), ""),
        Row::new("light", app.word(w::ABOUT_LOOK_LIGHT), ""),
        Row::new("dark", app.word(w::ABOUT_LOOK_DARK), ""),
    ];
    view! {
        <div class="page">
            <Head title=app.word(w::ABOUT_TITLE)/>
            <p>{app.word(w::ABOUT_WHAT)}</p>
            <p class="small">{version}</p>
            <Choice
                name="look"
                legend=app.word(w::ABOUT_LOOK)
                rows=looks
                chosen=chosen
                error=no_error()
                on_choose=move |key: String| {
                    look::choose(&key);
                    chosen.set(Some(key));
                }
            />
            <h2>{app.word(w::ABOUT_OFFLINE)}</h2>
            <OfflineLine/>
            <h2>{app.word(w::ABOUT_INSTALL)}</h2>
            <p>{app.word(w::ABOUT_INSTALL_ABOUT)}</p>
            <h2>{app.word(w::ABOUT_STORAGE)}</h2>
            <p>{app.word(w::ABOUT_STORAGE_ABOUT)}</p>
            <p>{storage}</p>
            <IosHint/>
            <ul class="rows">
                {go_row(&Screen::Keeping, app.word(w::KEEPING_TITLE), app.word(w::KEEPING_ROW_ABOUT))}
            </ul>
            <h2>{app.word(w::ABOUT_SOURCES)}</h2>
            <ul class="sources">
                {app.content.sources.keys().map(|key| view! { <li>{source_line(app, key)}</li> }).collect_view()}
            </ul>
        </div>
    }
}
