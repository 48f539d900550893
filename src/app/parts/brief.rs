//! A judged figure in one line: the verdict, then the reason; all that it rests on behind a tap.

use crate::app::frame::app;
use crate::app::parts::badge::Badge;
use crate::app::parts::finding::{rests, sentences};
use crate::app::parts::fold::fold;
use crate::content::words as w;
use crate::core::judged::Judged;
use leptos::prelude::*;

/// `open` says whether that is open, also over drawings of what it stands in.
pub fn brief(judged: Judged, open: RwSignal<bool>) -> AnyView {
    let app = app();
    let speaker = app.speaker();
    let class = format!("brief finding finding-{}", judged.verdict.key());
    let title = view! {
        <Badge verdict=judged.verdict not_done=w::BANK_NOT_KNOWN/>
        <span class="because">{speaker.because(&judged.because)}</span>
    };
    let inside = move || {
        let also = judged.also.iter().map(|because| view! { <p>{speaker.because(because)}</p> }).collect_view();
        view! {
            {also}
            {sentences(app, w::CARD_LOOK, "look", &judged.next)}
            {rests(&judged.sum, &judged.sources)}
        }
        .into_any()
    };
    fold(class, title.into_any(), open, inside)
}
