//! A job's notes, and the people it concerns.

use crate::app::frame::app;
use crate::app::pages::entries::{once_with_job, part_of};
use crate::app::parts::head::Head;
use crate::content::words::{self as w, Word};
use crate::core::job::{Job, People};
use leptos::prelude::*;

#[component]
pub fn Notes(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |_| {
        // Another tab may change them while this page is open.
        let notes = part_of(&id, |job| job.notes.clone());
        let of = id.clone();
        view! {
            <div class="page">
                <Head title=app.word(w::NOTES_TITLE)/>
                <div class="field">
                    <label for="notes">{app.word(w::NOTES_LABEL)}</label>
                    <p class="hint" id="notes-hint">{app.word(w::NOTES_HINT)}</p>
                    <textarea id="notes" rows="7" aria-describedby="notes-hint" prop:value=move || notes.get()
                        on:input=move |event| {
                            let text = event_target_value(&event);
                            app.store.change(&of, |job| job.notes = text);
                        }></textarea>
                </div>
                <h2>{app.word(w::PEOPLE_TITLE)}</h2>
                <p class="hint">{app.word(w::PEOPLE_ABOUT)}</p>
                <Person id=id.clone() name="by" word=w::PEOPLE_BY read=|people| &mut people.by/>
                <Person id=id.clone() name="owner" word=w::PEOPLE_OWNER read=|people| &mut people.owner/>
                <Person id=id name="place" word=w::PEOPLE_PLACE read=|people| &mut people.place/>
            </div>
        }
        .into_any()
    })
}

#[component]
fn Person(id: String, name: &'static str, word: Word, read: fn(&mut People) -> &mut String) -> impl IntoView {
    let app = app();
    let text = part_of(&id, move |job: &Job| read(&mut job.people.clone()).clone());
    view! {
        <div class="field">
            <label for=name>{app.word(word)}</label>
            <div class="entry">
                <input id=name type="text" autocomplete="off" prop:value=move || text.get() on:input=move |event| {
                    let text = event_target_value(&event);
                    app.store.change(&id, |job| *read(&mut job.people) = text);
                }/>
            </div>
        </div>
    }
}
