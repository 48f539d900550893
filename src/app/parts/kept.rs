//! A small mark at the head of a job's pages: whether the latest change is kept.

use crate::app::frame::app;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::{Destination, Screen};
use crate::app::store::Mark;
use crate::content::words as w;
use leptos::prelude::*;

/// Says "kept" only when the store that survives a killed browser has confirmed the latest change. Not announced: it
/// changes with every letter. What goes wrong is announced by the notices.
#[component]
pub fn KeptMark() -> impl IntoView {
    let app = app();
    let screen = app.screen.get_untracked();
    let of_job = screen.destination() == Some(Destination::Jobs) && !matches!(screen, Screen::Jobs | Screen::Keeping);
    let mark = Memo::new(move |_| app.store.mark.get());
    move || {
        let (key, drawn, word) = match mark.get() {
            Mark::Quiet => return None,
            Mark::Keeping => ("keeping", Icon::NotDone, w::KEPT_KEEPING),
            Mark::Kept => ("kept", Icon::Holds, w::KEPT_KEPT),
            Mark::InOne => ("in-one", Icon::LookAgain, w::KEPT_IN_ONE),
            Mark::Nowhere => ("nowhere", Icon::Fails, w::KEPT_NOWHERE),
        };
        of_job.then(|| view! { <p class="kept" data-kept=key>{icon(drawn)}<span>{app.word(word)}</span></p> })
    }
}
