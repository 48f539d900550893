//! The walkthrough of a module and a monitor as a phone shows it, and the pairs that have none.

use super::judged::{Judged, Right};
use crate::app::frame::{App, app};
use crate::app::parts::icon::{Icon, icon};
use crate::content::pack::pairs::{self, Pair};
use crate::content::speak::Speaker;
use crate::content::walk;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::assess::assess;
use leptos::prelude::*;
use std::sync::Arc;

/// Modules side by side that can be looked at: one, two, and more than two say all.
const COUNTS: [u32; 4] = [1, 2, 3, 4];

type Found = RwSignal<Option<Arc<Judged>>>;

/// The choices of the preview. What was chosen stays while the text is written.
#[derive(Clone, Copy)]
struct Chosen {
    module: RwSignal<Option<String>>,
    monitor: RwSignal<Option<String>>,
    modules: RwSignal<u32>,
}

#[component]
pub fn Phone(judged: Found) -> impl IntoView {
    let app = app();
    let chosen = Chosen { module: RwSignal::new(None), monitor: RwSignal::new(None), modules: RwSignal::new(2) };
    let inside = move || match judged.get() {
        Some(judged) => match &judged.stands {
            Ok(right) => walked(app, right, chosen).into_any(),
            Err(_) => view! { <p>{app.word(w::WORKBENCH_NO_PREVIEW)}</p> }.into_any(),
        },
        None => ().into_any(),
    };
    view! { <h2>{app.word(w::WORKBENCH_PREVIEW)}</h2>{inside} }
}

fn walked(app: App, right: &Right, chosen: Chosen) -> impl IntoView + use<> {
    let content = &right.together.content;
    let modules: Vec<(String, String)> = content
        .equipment
        .modules
        .iter()
        .map(|item| (item.key.clone(), format!("{} {}", item.maker, item.model)))
        .collect();
    let monitors: Vec<(String, String)> = content
        .equipment
        .monitors
        .iter()
        .map(|item| (item.key.clone(), format!("{} {}", item.maker, item.model)))
        .collect();
    // Of what was not chosen the pack's own comes first.
    let pick = |chosen: Option<String>, all: &[(String, String)], own: Option<&String>| {
        let there = chosen.filter(|key| all.iter().any(|(known, _)| known == key));
        there.or_else(|| own.cloned()).or_else(|| all.first().map(|(key, _)| key.clone())).unwrap_or_default()
    };
    let own = &right.pack.equipment;
    let module = pick(chosen.module.get(), &modules, own.modules.first().map(|item| &item.key));
    let monitor = pick(chosen.monitor.get(), &monitors, own.monitors.first().map(|item| &item.key));
    let counts: Vec<(String, String)> = COUNTS.iter().map(|n| (n.to_string(), n.to_string())).collect();
    let count = chosen.modules.get();
    let screen = match pairs::site(content, &module, &monitor, count) {
        None => view! { <p class="phone-none">{app.word(w::WORKBENCH_NO_PATH)}</p> }.into_any(),
        Some(site) => {
            let speaker = Speaker::of(content);
            let cards = walk::cards(content, &site, &assess(&site, &[]));
            let said = app.speaker().fill(w::WORKBENCH_CARDS, &[("n", Arg::Count(cards.len() as u32))]);
            let cards = cards.iter().map(|card| {
                let stage =
                    speaker.language.walk.stage.get(&card.stage).map(|words| words.title.clone()).unwrap_or_default();
                let spoken = card.spoken(&speaker);
                let caution = spoken.caution.map(|text| {
                    view! {
                        <p class="caution">{icon(Icon::Caution)}<span>{text}</span></p>
                    }
                });
                view! {
                    <li class="phone-card">
                        <p class="over">{stage}</p>
                        <p class="next-action">{spoken.action}</p>
                        <p>{spoken.see}</p>
                        {caution}
                    </li>
                }
            });
            view! { <p class="small">{said}</p><ol class="plain">{cards.collect_view()}</ol> }.into_any()
        }
    };
    view! {
        <div class="bench-choices">
            {select("bench-module", app.word(w::WORKBENCH_MODULE), modules, module, move |key| chosen.module.set(Some(key)))}
            {select("bench-monitor", app.word(w::WORKBENCH_MONITOR), monitors, monitor, move |key| chosen.monitor.set(Some(key)))}
            {select("bench-count", app.word(w::WORKBENCH_MODULES), counts, count.to_string(), move |key| {
                chosen.modules.set(key.parse().unwrap_or(1));
            })}
        </div>
        <div class="phone" tabindex="0" role="region" aria-label=app.word(w::WORKBENCH_PREVIEW)>{screen}</div>
    }
}

fn select(
    id: &'static str,
    label: &'static str,
    rows: Vec<(String, String)>,
    chosen: String,
    on_choose: impl Fn(String) + 'static,
) -> impl IntoView {
    let rows = rows
        .into_iter()
        .map(|(key, title)| {
            let is_chosen = key == chosen;
            view! { <option value=key selected=is_chosen>{title}</option> }
        })
        .collect_view();
    view! {
        <div class="field">
            <label for=id>{label}</label>
            <select id=id on:change=move |event| on_choose(event_target_value(&event))>{rows}</select>
        </div>
    }
}

/// Each module with each monitor, those without a path first.
#[component]
pub fn Pairs(judged: Found) -> impl IntoView {
    let app = app();
    move || {
        let judged = judged.get()?;
        let right = judged.stands.as_ref().ok()?;
        let own = right.own();
        if own.is_empty() {
            return Some(view! { <p class="small">{app.word(w::WORKBENCH_NO_PAIRS)}</p> }.into_any());
        }
        let mut all = pairs::pairs(&right.together.content, &own);
        all.sort_by_key(Pair::has_path);
        let rows = all.iter().map(|pair| pair_row(app, right, pair)).collect_view();
        let body = view! {
            <h2>{app.word(w::WORKBENCH_PAIRS)}</h2>
            <p class="hint">{app.word(w::WORKBENCH_PAIRS_ABOUT)}</p>
            <ul class="rows pair-rows">{rows}</ul>
        };
        Some(body.into_any())
    }
}

fn pair_row(app: App, right: &Right, pair: &Pair) -> impl IntoView + use<> {
    let equipment = &right.together.content.equipment;
    let module = equipment.module(&pair.module).map(|item| item.model.clone()).unwrap_or_default();
    let monitor = equipment.monitor(&pair.monitor).map(|item| item.model.clone()).unwrap_or_default();
    let title =
        app.speaker().fill(w::WORKBENCH_PAIR, &[("module", Arg::Name(module)), ("monitor", Arg::Name(monitor))]);
    let ports = pair
        .ports
        .iter()
        .map(|(port, why)| {
            let word = if why.is_empty() { w::WORKBENCH_GOES } else { w::WORKBENCH_GOES_NOT };
            let args = [("port", Arg::Name(port.clone())), ("why", Arg::Name(why.join(" ")))];
            view! { <span>{app.speaker().fill(word, &args)}</span> }
        })
        .collect_view();
    view! { <li class:pair-none=!pair.has_path()><span class="row-title">{title}</span>{ports}</li> }
}
