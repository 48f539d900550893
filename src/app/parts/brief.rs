//! A judged figure in one line: the verdict, then the reason; all that it rests on behind a tap.

use crate::app::frame::app;
use crate::app::parts::badge::Badge;
use crate::app::parts::finding::{rests, sentences};
use crate::content::words as w;
use crate::core::judged::Judged;
use leptos::prelude::*;

pub fn brief(judged: Judged) -> AnyView {
    let app = app();
    let speaker = app.speaker();
    let also = judged.also.iter().map(|because| view! { <p>{speaker.because(because)}</p> }).collect_view();
    view! {
        <details class=format!("brief finding finding-{}", judged.verdict.key())>
            <summary>
                <Badge verdict=judged.verdict not_done=w::BANK_NOT_KNOWN/>
                <span class="because">{speaker.because(&judged.because)}</span>
            </summary>
            {also}
            {sentences(app, w::CARD_LOOK, "look", &judged.next)}
            {rests(&judged.sum, &judged.sources)}
        </details>
    }
    .into_any()
}
