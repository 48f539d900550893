//! A job's notes.

use crate::app::frame::app;
use crate::app::pages::entries::{once_with_job, part_of};
use crate::app::parts::head::Head;
use crate::content::words as w;
use leptos::prelude::*;

#[component]
pub fn Notes(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |_| {
        // Another tab may change them while this page is open.
        let notes = part_of(&id, |job| job.notes.clone());
        view! {
            <div class="page">
                <Head title=app.word(w::NOTES_TITLE)/>
                <div class="field">
                    <label for="notes">{app.word(w::NOTES_LABEL)}</label>
                    <p class="hint" id="notes-hint">{app.word(w::NOTES_HINT)}</p>
                    <textarea id="notes" rows="10" aria-describedby="notes-hint" prop:value=move || notes.get()
                        on:input=move |event| {
                            let text = event_target_value(&event);
                            app.store.change(&id, |job| job.notes = text);
                        }></textarea>
                </div>
            </div>
        }
        .into_any()
    })
}
