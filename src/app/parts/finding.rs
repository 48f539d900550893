//! A finding: verdict, window line, reason, what to do next, what it may be, and the sum behind a tap.

use crate::app::frame::{App, app};
use crate::app::parts::badge::Badge;
use crate::app::parts::fold::fold;
use crate::app::parts::window_line::WindowLine;
use crate::content::schema::SourceSeen;
use crate::content::words as w;
use crate::core::because::Because;
use crate::core::job::Seen;
use crate::core::job::assess::{Finding, Verdict};
use leptos::prelude::*;

/// A finding with everything that it rests on.
#[component]
pub fn FindingView(
    finding: Finding,
    /// Whether the sum is open; whoever draws findings anew keeps it from one to the next.
    #[prop(optional)]
    open: RwSignal<bool>,
) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let reading = match &finding.seen {
        Some(Seen::Figure(shown)) => Some(shown.figure),
        _ => None,
    };
    let line = finding
        .window
        .filter(|_| reading.is_some())
        .map(|window| view! { <WindowLine window reading verdict=finding.verdict/> });
    let is_done = finding.verdict != Verdict::NotDone;
    view! {
        <div class=format!("finding finding-{}", finding.verdict.key())>
            <p class="verdict"><Badge verdict=finding.verdict/></p>
            {line}
            <p class="because">{speaker.because(&finding.because)}</p>
            {sentences(app, w::CARD_LOOK, "look", &finding.next)}
            {sentences(app, w::CARD_MAY_BE, "may-be", &finding.may_be)}
            {is_done.then(|| view! { <Rests sum=finding.sum sources=finding.sources open/> })}
        </div>
    }
}

/// A titled list of reasons or advice; nothing where there is none.
pub fn sentences(app: App, title: w::Word, class: &'static str, list: &[Because]) -> Option<impl IntoView + use<>> {
    let speaker = app.speaker();
    (!list.is_empty()).then(|| {
        let items = list.iter().map(|because| view! { <li>{speaker.because(because)}</li> }).collect_view();
        view! { <div class=class><h2>{app.word(title)}</h2><ul>{items}</ul></div> }
    })
}

/// The sum and the sources, behind a tap.
#[component]
pub fn Rests(sum: Vec<Because>, sources: Vec<&'static str>, #[prop(optional)] open: RwSignal<bool>) -> impl IntoView {
    let app = app();
    (!sum.is_empty() || !sources.is_empty()).then(|| {
        let title = app.word(if sum.is_empty() { w::CARD_SOURCES } else { w::CARD_SUM });
        fold("rests", title, open, move || rests(&sum, &sources))
    })
}

/// The sum, line by line, and the sources.
pub fn rests(sum: &[Because], sources: &[&'static str]) -> AnyView {
    let app = app();
    let speaker = app.speaker();
    let lines = (!sum.is_empty()).then(|| {
        let lines = sum.iter().map(|because| view! { <li>{speaker.because(because)}</li> }).collect_view();
        view! { <ul class="sum">{lines}</ul> }
    });
    let sources = sources.iter().map(|key| view! { <li>{source_line(app, key)}</li> }).collect_view();
    view! { {lines}<ul class="sources">{sources}</ul> }.into_any()
}

/// A source with its clause, and how it was seen.
pub fn source_line(app: App, key: &str) -> String {
    let Some(source) = app.content.sources.get(key) else { return String::new() };
    if source.seen == SourceSeen::Practice {
        return app.word(w::CARD_PRACTICE).to_string();
    }
    let how = match source.seen {
        SourceSeen::FromMemory => format!(" ({})", app.word(w::CARD_FROM_MEMORY)),
        SourceSeen::Restated => format!(" ({})", app.word(w::CARD_RESTATED)),
        SourceSeen::Read | SourceSeen::Practice => String::new(),
    };
    format!("{}: {}{how}", source.title, source.clause)
}
