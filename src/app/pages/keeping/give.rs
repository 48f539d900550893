//! Making a backup, and handing it over.

use crate::app::device::clock;
use crate::app::frame::{App, app};
use crate::app::keeping::{self, Made};
use crate::app::parts::hand_file::HandFile;
use crate::content::format::number;
use crate::content::words as w;
use crate::core::because::Arg;
use leptos::prelude::*;
use leptos::task::spawn_local;

#[derive(Clone)]
enum Stage {
    Empty,
    Making,
    Failed,
    Made(Made),
}

/// Two steps: photos take a moment to read, and a share sheet opens only in answer to a touch.
#[component]
pub fn Give() -> impl IntoView {
    let app = app();
    let stage = RwSignal::new(Stage::Empty);
    let make = move |_| {
        stage.set(Stage::Making);
        spawn_local(async move {
            let made = keeping::make(app.store).await;
            stage.try_set(made.map_or(Stage::Failed, Stage::Made));
        });
    };
    let button = move |primary: bool| {
        view! {
            <button type="button" class=if primary { "primary" } else { "quiet" } on:click=make>
                {app.word(w::KEEPING_MAKE)}
            </button>
        }
    };
    let body = move || match stage.get() {
        Stage::Empty => button(true).into_any(),
        Stage::Making => view! { <p role="status">{app.word(w::KEEPING_MAKING)}</p> }.into_any(),
        Stage::Failed => {
            view! { <p class="error" role="alert">{app.word(w::KEEPING_MAKE_FAILED)}</p>{button(false)} }.into_any()
        }
        Stage::Made(made) => handing(app, made).into_any(),
    };
    view! {
        <section class="next keep-backup" aria-labelledby="backup">
            <h2 id="backup">{app.word(w::KEEPING_BACKUP)}</h2>
            <p class="hint">{app.word(w::KEEPING_BACKUP_ABOUT)}</p>
            <dl class="facts">
                <div>
                    <dt>{app.word(w::KEEPING_LAST)}</dt>
                    <dd>{move || last_lines(app).into_iter().map(|line| view! { <span>{line}</span> }).collect_view()}</dd>
                </div>
            </dl>
            {body}
            <a class="shape" href="./schema/backup.schema.json">{app.word(w::KEEPING_BACKUP_SHAPE)}</a>
        </section>
    }
}

/// When the last backup left the app, and what has changed since.
fn last_lines(app: App) -> Vec<String> {
    app.store.backed_up.track();
    let due = keeping::due(app.store);
    let last = keeping::last();
    let when = match &last {
        Some(last) => clock::say(last.at),
        None => app.word(w::KEEPING_LAST_NEVER).to_string(),
    };
    let count = [("n", Arg::Count(due.changed))];
    let since = match (due.changed, &last) {
        (0, None) => return vec![when],
        (0, Some(_)) => app.word(w::KEEPING_LAST_WHOLE).to_string(),
        (_, None) => app.speaker().fill(w::KEEPING_LAST_UNKEPT, &count),
        (_, Some(_)) => app.speaker().fill(w::KEEPING_LAST_CHANGED, &count),
    };
    vec![when, since]
}

fn handing(app: App, made: Made) -> impl IntoView {
    let speaker = app.speaker();
    let size = number(made.file.size() / 1e6, 2, speaker.style);
    let of = [("jobs", Arg::Count(made.jobs)), ("photos", Arg::Count(made.photos)), ("size", Arg::Name(size))];
    let without = (made.without > 0).then(|| speaker.fill(w::KEEPING_WITHOUT, &[("n", Arg::Count(made.without))]));
    let given = made.file.clone();
    let made = StoredValue::new_local(made);
    let mark = move |()| {
        made.with_value(Made::given);
        app.store.backed_up.update(|times| *times += 1);
    };
    view! {
        <p>{speaker.fill(w::KEEPING_MADE, &of)}</p>
        {without.map(|without| view! { <p class="look-note">{without}</p> })}
        <HandFile given on_given=mark/>
    }
}
