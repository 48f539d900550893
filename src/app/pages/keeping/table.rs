//! The readings as a table for other programs.

use crate::app::frame::{App, app};
use crate::app::keeping;
use crate::content::words::Word;
use crate::core::job::Subject;
use leptos::prelude::*;

/// Saves the table of one job, or of all.
#[component]
pub fn TableButton(word: Word, #[prop(optional, into)] only: Option<String>) -> impl IntoView {
    let app = app();
    view! {
        <button type="button" class="quiet" on:click=move |_| {
            if let Some(file) = keeping::table(app.store, &|of| name_of(app, of), only.as_deref()) {
                file.download();
            }
        }>{app.word(word)}</button>
    }
}

/// What a reading is of, in words; its key where there are none.
fn name_of(app: App, of: &Subject) -> String {
    let speaker = app.speaker();
    match of {
        Subject::Check(check) => {
            speaker.language.checks.get(check.key()).map_or(check.key().into(), |words| words.title.clone())
        }
        Subject::Hold(hold) => hold.key(),
        Subject::Card(key) => key.clone(),
        Subject::Alarm(key) => speaker.language.alarm(key).map_or(key.clone(), |alarm| alarm.title.clone()),
        Subject::Item { list, item } => format!("{list}: {item}"),
    }
}
