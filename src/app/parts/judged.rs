//! A verdict on figures typed in by hand: the same order as a finding of a job.

use crate::app::frame::app;
use crate::app::parts::badge::Badge;
use crate::app::parts::finding::{Rests, sentences};
use crate::app::parts::window_line::WindowLine;
use crate::content::words as w;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use leptos::prelude::*;

#[component]
pub fn JudgedView(
    judged: Judged,
    /// Whether the sum is open; whoever draws verdicts anew at each key keeps it from one to the next.
    #[prop(optional)]
    open: RwSignal<bool>,
) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let lines = judged
        .lines
        .iter()
        .map(|line| {
            view! {
                <div class="named-line">
                    <p class="hint">{speaker.name(line.name)}": "{speaker.figure(line.reading)}</p>
                    <WindowLine window=line.window reading=Some(line.reading) verdict=line.verdict/>
                </div>
            }
        })
        .collect_view();
    let also = judged.also.iter().map(|because| view! { <p>{speaker.because(because)}</p> }).collect_view();
    let is_known = judged.verdict != Verdict::NotDone;
    view! {
        <div class=format!("finding finding-{}", judged.verdict.key())>
            <p class="verdict"><Badge verdict=judged.verdict not_done=w::BANK_NOT_KNOWN/></p>
            {lines}
            <p class="because">{speaker.because(&judged.because)}</p>
            {also}
            {sentences(app, w::CARD_LOOK, "look", &judged.next)}
            {sentences(app, w::CARD_MAY_BE, "may-be", &judged.may_be)}
            {is_known.then(|| view! { <Rests sum=judged.sum sources=judged.sources open/> })}
        </div>
    }
}
