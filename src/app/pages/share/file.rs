//! A job as a file: its record as a page of its own, which any browser shows, with the job inside for this app.

use crate::app::device::page;
use crate::app::device::save::Given;
use crate::app::frame::{App, app};
use crate::app::pages::jobs::name_of;
use crate::app::pages::record;
use crate::app::parts::hand_file::HandFile;
use crate::content::words as w;
use crate::core::job::Job;
use crate::core::job::link::Leave;
use crate::core::job::record_file;
use crate::core::job::stored::Stored;
use crate::core::job::without::without;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Where the record is drawn for the file, unseen.
const SHEET: &str = "#file-sheet";

#[derive(Clone)]
enum Stage {
    Empty,
    /// The record is drawn, so that its marks can be taken over into the file.
    Drawing(Box<Job>),
    Made(Given),
}

/// Two steps: the record is drawn first, and a share sheet opens only in answer to a touch.
#[component]
pub fn FileButton(id: String, leave: RwSignal<Leave>) -> impl IntoView {
    let app = app();
    let stage = RwSignal::new_local(Stage::Empty);
    // Made once, it would not know of later changes.
    Effect::new(move |_| {
        leave.track();
        stage.set(Stage::Empty);
    });
    let make = move |_| {
        let Some(kept) = app.store.job(&id) else { return };
        let job = kept.with_untracked(|kept| without(&kept.job, &leave.get_untracked()));
        stage.set(Stage::Drawing(Box::new(job.clone())));
        let stored = app.store.as_file(job.clone());
        spawn_local(async move {
            // The record is drawn in the next turn; its pictures come out of the store.
            let inside = page::inside_whole(SHEET).await;
            let made = inside.and_then(|inside| file(app, &job, &stored, &inside));
            stage.try_set(made.map_or(Stage::Empty, Stage::Made));
        });
    };
    let body = move || match stage.get() {
        Stage::Empty => view! {
            <button type="button" class="quiet wide" on:click=make.clone()>{app.word(w::SHARE_FILE_MAKE)}</button>
        }
        .into_any(),
        Stage::Drawing(job) => view! { <div id="file-sheet" hidden>{record::sheet(app, &job)}</div> }.into_any(),
        Stage::Made(given) => view! { <HandFile given/> }.into_any(),
    };
    view! {
        <h2>{app.word(w::SHARE_FILE)}</h2>
        <p class="hint">{app.word(w::SHARE_FILE_ABOUT)}</p>
        {body}
    }
}

fn file(app: App, job: &Job, stored: &Stored, body: &str) -> Option<Given> {
    let name = name_of(app, job);
    let title = text_of_page(&name);
    let style = page::style();
    let page = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n<style>{style}</style>\n</head>\n<body><main><div class=\"page page-record\"><h1>{title}</h1>{body}</div></main></body>\n</html>\n"
    );
    let file_name: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    Given::text(format!("{file_name}.html"), "text/html", &record_file::embed(&page, &stored.text()))
}

/// A text as it may stand in a page.
fn text_of_page(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
