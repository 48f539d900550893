//! Bringing a backup back: what it would change, then the doing.

use crate::app::device::clock;
use crate::app::device::file::Readable;
use crate::app::frame::{App, app};
use crate::app::keeping::{self, Opened, Refused};
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use crate::core::job::backup::NotTaken;
use leptos::prelude::*;
use leptos::task::spawn_local;

#[derive(Clone)]
enum Stage {
    Empty,
    Opening,
    Refused(Refused),
    Opened(Opened),
    Done,
}

#[component]
pub fn Bring() -> impl IntoView {
    let app = app();
    let stage = RwSignal::new(Stage::Empty);
    let begin = move |file: Readable| {
        stage.set(Stage::Opening);
        spawn_local(async move {
            let opened = keeping::open(app.store, file).await;
            stage.try_set(opened.map_or_else(Stage::Refused, Stage::Opened));
        });
    };
    let open = move || {
        view! {
            <label class="quiet file">
                <input type="file" accept=".json,.txt,application/json,text/plain" on:change=move |event| {
                    if let Some(file) = Readable::chosen(&event) {
                        begin(file);
                    }
                }/>
                <span>{app.word(w::KEEPING_OPEN)}</span>
            </label>
        }
    };
    let body = move || match stage.get() {
        Stage::Empty => open().into_any(),
        Stage::Opening => view! { <p role="status">{app.word(w::KEEPING_OPENING)}</p> }.into_any(),
        Stage::Refused(why) => view! { <p class="error" role="alert">{app.word(sentence(why))}</p>{open()} }.into_any(),
        Stage::Opened(opened) => preview(app, opened, stage).into_any(),
        Stage::Done => view! { <p role="status">{app.word(w::KEEPING_DONE)}</p>{open()} }.into_any(),
    };
    view! {
        <h2>{app.word(w::KEEPING_RESTORE)}</h2>
        <p class="hint">{app.word(w::KEEPING_RESTORE_ABOUT)}</p>
        <div class="bring">{body}</div>
    }
}

fn sentence(why: Refused) -> Word {
    match why {
        Refused::NotReadable => w::KEEPING_REFUSED_NOT_READABLE,
        Refused::TooLarge => w::KEEPING_REFUSED_TOO_LARGE,
        Refused::NotTaken(NotTaken::NotJson) => w::KEEPING_REFUSED_JSON,
        Refused::NotTaken(NotTaken::NotABackup) => w::KEEPING_REFUSED_OTHER,
        Refused::NotTaken(NotTaken::Newer) => w::KEEPING_REFUSED_NEWER,
    }
}

fn preview(app: App, opened: Opened, stage: RwSignal<Stage>) -> impl IntoView {
    let speaker = app.speaker();
    let of = [("name", Arg::Name(opened.name.clone())), ("when", Arg::Name(clock::say(opened.made_at())))];
    let counts = opened.counts;
    let lines = [
        (counts.add, w::KEEPING_COUNT_ADD),
        (counts.forward, w::KEEPING_COUNT_FORWARD),
        (counts.beside, w::KEEPING_COUNT_BESIDE),
        (counts.aside, w::KEEPING_COUNT_ASIDE),
        (counts.photos, w::KEEPING_COUNT_PHOTOS),
        (counts.same, w::KEEPING_COUNT_SAME),
        (counts.behind, w::KEEPING_COUNT_BEHIND),
    ];
    let lines = lines
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| view! { <li>{speaker.fill(word, &[("n", Arg::Count(count))])}</li> })
        .collect_view();
    let nothing = counts.is_nothing();
    let opened = StoredValue::new_local(opened);
    let restore = move |_| {
        let opened = opened.get_value();
        spawn_local(async move {
            opened.restore(app.store).await;
            stage.try_set(Stage::Done);
        });
    };
    view! {
        <div class="plate preview" role="status">
            <p class="row-title">{speaker.fill(w::KEEPING_OPENED, &of)}</p>
            <ul class="plain-list">{lines}</ul>
            {nothing.then(|| view! { <p>{app.word(w::KEEPING_NOTHING)}</p> })}
        </div>
        <div class="pair-of-buttons">
            <button type="button" class="quiet" on:click=move |_| stage.set(Stage::Empty)>
                {app.word(w::KEEPING_LEAVE)}
            </button>
            {(!nothing).then(|| view! {
                <button type="button" class="primary" on:click=restore>{app.word(w::KEEPING_DO)}</button>
            })}
        </div>
    }
}
