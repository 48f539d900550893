//! A whole file and the two ways to give it: to the share sheet where the browser has one that takes it, or to the downloads.

use crate::app::device::save::Given;
use crate::app::frame::app;
use crate::content::words::{self as w, Word};
use leptos::prelude::*;
use leptos::task::spawn_local;

/// `on_given` is called each time the file has left the app, as far as anybody can know.
#[component]
pub fn HandFile(given: Given, #[prop(optional, into)] on_given: Option<Callback<()>>) -> impl IntoView {
    let app = app();
    let said = RwSignal::new(None::<Word>);
    let can_share = given.can_share();
    let name = given.name.clone();
    let given = StoredValue::new_local(given);
    let gone = move |word: Word| {
        if let Some(on_given) = on_given {
            on_given.run(());
        }
        said.try_set(Some(word));
    };
    let save = move |_| {
        if given.with_value(Given::download) {
            gone(w::KEEPING_SAVED);
        }
    };
    let share = move |_| {
        let file = given.get_value();
        spawn_local(async move {
            match file.share().await {
                true => gone(w::KEEPING_SHARED),
                false => {
                    said.try_set(Some(w::KEEPING_NOT_SHARED));
                }
            }
        });
    };
    view! {
        <p class="file-name">{name}</p>
        <div class="pair-of-buttons">
            {can_share.then(|| view! {
                <button type="button" class="quiet" on:click=share>{app.word(w::KEEPING_SHARE)}</button>
            })}
            <button type="button" class="primary" on:click=save>{app.word(w::KEEPING_SAVE)}</button>
        </div>
        <p role="status">{move || said.get().map(|word| app.word(word))}</p>
    }
}
