//! What the app is, what it keeps, how it looks.

mod facts;
mod install;
mod report;

use crate::app::device::{look, page, tongue};
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
use crate::content::{Tongue, Units};
use facts::Facts;
use install::Install;
use leptos::prelude::*;
use report::Report;

#[component]
pub fn About() -> impl IntoView {
    let app = app();
    let chosen = RwSignal::new(Some(look::chosen().to_string()));
    let looks = vec![
        Row::new("system", app.word(w::ABOUT_LOOK_SYSTEM), ""),
        Row::new("light", app.word(w::ABOUT_LOOK_LIGHT), ""),
        Row::new("dark", app.word(w::ABOUT_LOOK_DARK), ""),
        Row::new("sun", app.word(w::ABOUT_LOOK_SUN), app.word(w::ABOUT_LOOK_SUN_ABOUT)),
    ];
    let held = RwSignal::new(Some(look::hand().to_string()));
    let hands = vec![
        Row::new("bare", app.word(w::ABOUT_HAND_BARE), ""),
        Row::new("gloves", app.word(w::ABOUT_HAND_GLOVES), app.word(w::ABOUT_HAND_GLOVES_ABOUT)),
    ];
    // The start reads the content in its language, so that all that is drawn and kept is of one piece.
    let start_again = move || {
        app.store.flush();
        page::reload();
    };
    let spoken = RwSignal::new(Some(tongue::chosen().map_or("system", Tongue::tag).to_string()));
    let tongues = [Row::new("system", app.word(w::ABOUT_LANGUAGE_SYSTEM), "")]
        .into_iter()
        .chain(Tongue::ALL.map(|tongue| Row::new(tongue.tag(), tongue.name(), "")))
        .collect::<Vec<_>>();
    let measured = RwSignal::new(Some(app.content.units.key().to_string()));
    let units = vec![
        Row::new(Units::Metric.key(), app.word(w::ABOUT_UNITS_METRIC), ""),
        Row::new(Units::Us.key(), app.word(w::ABOUT_UNITS_US), ""),
    ];
    view! {
        <div class="page page-about">
            <Head title=app.word(w::ABOUT_TITLE)/>
            <p>{app.word(w::ABOUT_WHAT)}</p>
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
            <Choice
                name="hand"
                legend=app.word(w::ABOUT_HAND)
                rows=hands
                chosen=held
                error=no_error()
                on_choose=move |key: String| {
                    look::choose_hand(&key);
                    held.set(Some(key));
                }
            />
            <Choice
                name="tongue"
                legend=app.word(w::ABOUT_LANGUAGE)
                rows=tongues
                chosen=spoken
                error=no_error()
                on_choose=move |key: String| {
                    tongue::choose(Tongue::of(&key));
                    spoken.set(Some(key));
                    start_again();
                }
            />
            <Choice
                name="units"
                legend=app.word(w::ABOUT_UNITS)
                rows=units
                chosen=measured
                error=no_error()
                on_choose=move |key: String| {
                    Units::ALL.into_iter().filter(|units| units.key() == key).for_each(tongue::choose_units);
                    measured.set(Some(key));
                    start_again();
                }
            />
            <h2>{app.word(w::ABOUT_OFFLINE)}</h2>
            <OfflineLine/>
            <Install/>
            <h2>{app.word(w::ABOUT_STORAGE)}</h2>
            <p>{app.word(w::ABOUT_STORAGE_ABOUT)}</p>
            <Facts/>
            <IosHint/>
            <ul class="rows">
                {go_row(&Screen::Keeping, app.word(w::KEEPING_TITLE), app.word(w::KEEPING_ROW_ABOUT))}
                {go_row(&Screen::Packs, app.word(w::PACKS_TITLE), app.word(w::PACKS_ROW_ABOUT))}
                {go_row(&Screen::Licences, app.word(w::LICENCES_TITLE), app.word(w::LICENCES_ROW_ABOUT))}
            </ul>
            <Report/>
            <h2>{app.word(w::ABOUT_SOURCES)}</h2>
            <ul class="sources">
                {app.content.sources.keys().map(|key| view! { <li>{source_line(app, key)}</li> }).collect_view()}
            </ul>
        </div>
    }
}
