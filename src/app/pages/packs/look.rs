//! What a pack brings, and what is wrong with it.

use crate::app::frame::App;
use crate::content::Tongue;
use crate::content::pack::brings::{Part, brings};
use crate::content::pack::{Mistake, Pack};
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use leptos::prelude::*;

fn word(part: Part) -> Word {
    match part {
        Part::Modules => w::PACKS_MODULES,
        Part::Monitors => w::PACKS_MONITORS,
        Part::Leads => w::PACKS_LEADS,
        Part::Terminators => w::PACKS_TERMINATORS,
        Part::Chargers => w::PACKS_CHARGERS,
        Part::Connectors => w::PACKS_CONNECTORS,
        Part::Protocols => w::PACKS_PROTOCOLS,
        Part::Sites => w::PACKS_SITES,
        Part::Steps => w::PACKS_STEPS,
        Part::Checklists => w::PACKS_CHECKLISTS,
        Part::Items => w::PACKS_ITEMS,
        Part::Guides => w::PACKS_GUIDES,
        Part::Alarms => w::PACKS_ALARMS,
        Part::Faults => w::PACKS_FAULTS,
        Part::Checks => w::PACKS_CHECKS,
        Part::Sources => w::PACKS_SOURCES,
    }
}

/// A pack's head, and everything that it brings.
pub fn contents(app: App, pack: &Pack) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let by = [("by", Arg::Name(pack.by.clone())), ("language", Arg::Name(pack.language.clone()))];
    let is_other = Tongue::of(&pack.language) != Some(speaker.language.tongue);
    let parts = brings(pack)
        .into_iter()
        .map(|(part, names)| {
            let names = names.into_iter().map(|name| view! { <span>{name}</span> }).collect_view();
            view! { <div><dt>{app.word(word(part))}</dt><dd>{names}</dd></div> }
        })
        .collect_view();
    let replaces = (!pack.replaces.is_empty()).then(|| {
        let names = pack.replaces.iter().map(|name| view! { <li class="key">{name.clone()}</li> }).collect_view();
        view! { <p>{app.word(w::PACKS_REPLACES)}</p><ul class="plain-list">{names}</ul> }
    });
    view! {
        <p>{speaker.fill(w::PACKS_BY, &by)}" "{is_other.then(|| app.word(w::PACKS_OTHER_LANGUAGE))}</p>
        {(!pack.about.is_empty()).then(|| view! { <p>{pack.about.clone()}</p> })}
        <dl class="facts">{parts}</dl>
        {replaces}
    }
}

/// Where a mistake is, in one line.
pub fn place(app: App, mistake: &Mistake) -> String {
    let line = app.speaker().fill(w::PACKS_LINE, &[("n", Arg::Count(mistake.line as u32))]);
    let place = mistake.place.to_string();
    if place.is_empty() { line } else { format!("{line}, {place}") }
}

/// Everything that keeps a pack out.
pub fn mistakes(app: App, mistakes: &[Mistake]) -> impl IntoView + use<> {
    let rows = mistakes
        .iter()
        .map(|mistake| {
            view! {
                <li>
                    <span class="key">{place(app, mistake)}</span>
                    <span>{mistake.reason.clone()}</span>
                </li>
            }
        })
        .collect_view();
    view! { <ul class="mistakes plain">{rows}</ul> }
}
