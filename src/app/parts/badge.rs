//! A verdict as word, shape and colour together.

use crate::app::frame::app;
use crate::app::parts::icon::{Icon, icon};
use crate::content::words as w;
use crate::core::job::assess::Verdict;
use leptos::prelude::*;

pub fn verdict_icon(verdict: Verdict) -> Icon {
    match verdict {
        Verdict::Holds => Icon::Holds,
        Verdict::LookAgain => Icon::LookAgain,
        Verdict::Fails => Icon::Fails,
        Verdict::NotDone => Icon::NotDone,
    }
}

#[component]
pub fn Badge(
    verdict: Verdict,
    /// Said instead of *not done*.
    #[prop(optional)]
    not_done: Option<w::Word>,
) -> impl IntoView {
    let app = app();
    let word = match not_done {
        Some(word) if verdict == Verdict::NotDone => app.word(word).to_string(),
        _ => app.speaker().verdict(verdict).to_string(),
    };
    view! {
        <span class=format!("badge badge-{}", verdict.key())>
            {icon(verdict_icon(verdict))}
            <span>{word}</span>
        </span>
    }
}
