//! Taking in what comes from elsewhere: a link that was opened, a text that is pasted, a file, a code.

mod checklist;
mod job;
mod scan;

use crate::app::device::file::Readable;
use crate::app::frame::{App, app};
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::job::incoming::{Incoming, Refused, read};
use crate::core::job::record_file;
use leptos::prelude::*;
use leptos::task::spawn_local;
use scan::Scan;

/// A link that was opened. Nothing is changed before the person says so.
#[component]
pub fn Arrived(payload: String) -> impl IntoView {
    let app = app();
    match read(&payload) {
        Ok(incoming) => view! { <div class="page page-arrived">{shown(app, incoming)}</div> }.into_any(),
        Err(why) => view! {
            <div class="page">
                <Head title=app.word(w::ARRIVE_NOTHING) back=app.word(w::JOBS_TITLE)/>
                <p class="error" role="alert">{app.speaker().name(&why.key()).to_string()}</p>
                <ul class="rows">{go_row(&Screen::TakeIn, app.word(w::ARRIVE_TITLE), app.word(w::ARRIVE_ABOUT))}</ul>
            </div>
        }
        .into_any(),
    }
}

/// What came in, with the choice of what to do with it.
fn shown(app: App, incoming: Incoming) -> AnyView {
    match incoming {
        Incoming::Job(job, left) => job::arrived(app, *job, left),
        Incoming::Checklist { taken, observations } => checklist::arrived(app, taken, observations),
        Incoming::Backup => view! {
            <Head title=app.word(w::ARRIVE_BACKUP) back=app.word(w::JOBS_TITLE)/>
            <p>{app.word(w::ARRIVE_BACKUP_ABOUT)}</p>
            <ul class="rows">{go_row(&Screen::Keeping, app.word(w::KEEPING_TITLE), app.word(w::KEEPING_LEAD))}</ul>
        }
        .into_any(),
    }
}

#[component]
pub fn TakeIn() -> impl IntoView {
    let app = app();
    let typed = RwSignal::new(String::new());
    let error = RwSignal::new(None::<String>);
    let there = RwSignal::new(None::<Incoming>);
    let take = Callback::new(move |text: String| match read(&text) {
        Ok(incoming) => {
            error.set(None);
            there.set(Some(incoming));
        }
        Err(why) => error.set(Some(app.speaker().name(&why.key()).to_string())),
    });
    let file = move |event: leptos::ev::Event| {
        let Some(file) = Readable::chosen(&event) else { return };
        spawn_local(async move {
            if file.is_picture() {
                match file.code().await {
                    Some(text) => take.run(text),
                    None => error.set(Some(app.word(w::ARRIVE_NO_CODE).to_string())),
                }
                return;
            }
            let bytes = file.whole(record_file::MOST_FILE + 1).await.unwrap_or_default();
            match String::from_utf8(bytes) {
                Ok(text) if text.len() <= record_file::MOST_FILE => take.run(text),
                Ok(_) => {
                    error.set(Some(app.speaker().name(&Refused::File(record_file::NoJob::TooBig).key()).to_string()))
                }
                Err(_) => error.set(Some(app.word(w::ARRIVE_NOT_TEXT).to_string())),
            }
        });
    };
    let ask = move || {
        view! {
            <Head title=app.word(w::ARRIVE_TITLE) back=app.word(w::JOBS_TITLE)/>
            <p class="lead">{app.word(w::ARRIVE_LEAD)}</p>
            <p class="error" role="alert">{move || error.get()}</p>
            <div class="field">
                <label for="pasted">{app.word(w::ARRIVE_PASTE)}</label>
                <p class="hint" id="pasted-hint">{app.word(w::ARRIVE_PASTE_HINT)}</p>
                <textarea id="pasted" class="key" rows="4" aria-describedby="pasted-hint" spellcheck="false"
                    prop:value=move || typed.get() on:input=move |event| typed.set(event_target_value(&event))></textarea>
            </div>
            <Scan take/>
            <label class="quiet file wide">
                <input type="file" accept=".html,.htm,.txt,.json,text/html,text/plain,application/json,image/*" on:change=file/>
                <span>{app.word(w::ARRIVE_FILE)}</span>
            </label>
            <p class="hint">{app.word(w::ARRIVE_FILE_HINT)}</p>
            <div class="foot">
                <button type="button" class="primary" on:click=move |_| take.run(typed.get_untracked())>
                    {app.word(w::ARRIVE_READ)}
                </button>
            </div>
        }
    };
    let body = move || match there.get() {
        None => ask().into_any(),
        Some(incoming) => shown(app, incoming),
    };
    view! { <div class="page page-arrived">{body}</div> }
}
