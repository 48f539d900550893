//! A verdict as word, shape and colour together.

use crate::app::frame::app;
use crate::app::parts::icon::{Icon, icon};
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
pub fn Badge(verdict: Verdict) -> impl IntoView {
    let app = app();
    view! {
        <span class=format!("badge badge-{}", verdict.key())>
            {icon(verdict_icon(verdict))}
            <span>{app.speaker().verdict(verdict).to_string()}</span>
        </span>
    }
}
