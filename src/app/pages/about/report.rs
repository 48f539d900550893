//! Reporting an error: lines to copy that say what this app and this phone are, and nothing of any job.

use crate::app::device::{halt, look, page, persist};
use crate::app::frame::{App, app};
use crate::app::pages::about::facts::version;
use crate::app::pages::keeping::{promise_line, room_line, stores_line};
use crate::content::EDITION;
use crate::content::words::{self as w, Word};
use crate::core::report::scrubbed;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// What the lines do not hold, said one by one.
const NOT: [Word; 3] = [w::REPORT_NOT_NAMES, w::REPORT_NOT_READINGS, w::REPORT_NOT_PLACE];

#[component]
pub fn Report() -> impl IntoView {
    let app = app();
    let text = RwSignal::new(String::new());
    Effect::new(move |_| {
        app.offline.track();
        app.store.mark.track();
        spawn_local(async move {
            let stored = format!("{} {}", promise_line(app, persist::promise().await), room_line(app).await);
            text.try_set(lines(app, &stored).join("\n"));
        });
    });
    let said = RwSignal::new(None::<Word>);
    let copy = move |_| {
        spawn_local(async move {
            let word =
                if page::copy_asked(&text.get_untracked()).await { w::REPORT_COPIED } else { w::REPORT_NOT_COPIED };
            said.try_set(Some(word));
        });
    };
    view! {
        <section class="report">
            <h2>{app.word(w::REPORT_TITLE)}</h2>
            <p>{app.word(w::REPORT_ABOUT)}</p>
            <p class="report-text">{text}</p>
            <button type="button" class="quiet wide" on:click=copy>{app.word(w::REPORT_COPY)}</button>
            <p role="status">{move || said.get().map(|word| app.word(word))}</p>
            <p>{app.word(w::REPORT_NOT)}</p>
            <ul class="plain-list">{NOT.map(|word| view! { <li>{app.word(word)}</li> }).collect_view()}</ul>
        </section>
    }
}

fn lines(app: App, stored: &str) -> Vec<String> {
    let offline = format!("{:?}", app.offline.get_untracked()).to_lowercase();
    let briefs = app.store.briefs();
    let names = briefs.iter().flat_map(|brief| [brief.name.as_str(), brief.place.as_str()]);
    let error = match halt::last_error() {
        Some(error) => scrubbed(&error, names),
        None => app.word(w::REPORT_NO_ERROR).to_string(),
    };
    let said = [
        (w::ABOUT_APP, version()),
        (w::ABOUT_EDITION, EDITION.to_string()),
        (w::REPORT_BROWSER, page::browser()),
        (w::ABOUT_LOOK, format!("{}, {}", look::chosen(), look::hand())),
        (w::ABOUT_LANGUAGE, app.content.language.tongue.tag().to_string()),
        (w::ABOUT_UNITS, app.content.units.key().to_string()),
        (w::ABOUT_OFFLINE, offline),
        (w::ABOUT_STORAGE, format!("{} {stored}", stores_line(app))),
        (w::REPORT_ERROR, error),
    ];
    said.into_iter().map(|(label, value)| format!("{}: {value}", app.word(label))).collect()
}
