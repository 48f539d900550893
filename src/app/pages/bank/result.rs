//! What the bank must show, and the display held against it.

use super::typed::{Typed, TypedField};
use crate::app::frame::app;
use crate::app::parts::finding::Rests;
use crate::app::parts::judged::JudgedView;
use crate::content::words as w;
use crate::core::bank::findings::display::{Display, display};
use crate::core::bank::findings::numbers::{Group, Line, must_show};
use crate::core::bank::modules::{Bank, BankError};
use crate::core::bank::shown::{Shown, What};
use crate::core::because::Arg;
use crate::core::job::assess::Verdict;
use leptos::prelude::*;

type Made = Memo<Option<Result<Bank, BankError>>>;

/// Every total with its basis; what is not known in one line.
#[component]
pub fn Totals(bank: Made) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let drawn = move || {
        let Some(bank) = bank.get() else {
            return view! { <p class="hint">{app.word(w::BANK_RESULT_FIRST)}</p> }.into_any();
        };
        let numbers = match bank.and_then(|bank| must_show(&bank)) {
            Ok(numbers) => numbers,
            Err(BankError::OutOfRange(_)) => {
                return view! { <p class="error">{app.word(w::BANK_BEYOND_RANGE)}</p> }.into_any();
            }
            // Said at its field.
            Err(_) => return view! { <p class="hint">{app.word(w::BANK_RESULT_FIRST)}</p> }.into_any(),
        };
        let notes =
            numbers.notes.iter().map(|note| view! { <p class="look-note">{speaker.because(note)}</p> }).collect_view();
        let groups = Group::ALL
            .into_iter()
            .filter_map(|group| {
                let known: Vec<&Line> =
                    numbers.lines.iter().filter(|line| line.group == group && line.figure.is_some()).collect();
                (!known.is_empty()).then(|| {
                    view! {
                        <h3>{speaker.name(group.key())}</h3>
                        <dl class="totals">{known.into_iter().map(total_line).collect_view()}</dl>
                    }
                })
            })
            .collect_view();
        let missing: Vec<&str> =
            numbers.lines.iter().filter(|line| line.figure.is_none()).map(|line| speaker.name(line.name)).collect();
        let missing = (!missing.is_empty()).then(|| {
            let names = Arg::Name(missing.join(", ").to_lowercase());
            view! { <p class="hint not-known">{speaker.fill(w::BANK_RESULT_UNKNOWN, &[("names", names)])}</p> }
        });
        view! { {notes}{groups}{missing}<Rests sum=Vec::new() sources=numbers.sources/> }.into_any()
    };
    view! {
        <section id="bank-result" class="bank-result">
            <h2>{app.word(w::BANK_RESULT_TITLE)}</h2>
            {drawn}
        </section>
    }
}

fn total_line(line: &Line) -> impl IntoView + use<> {
    let speaker = app().speaker();
    view! {
        <div class="total">
            <dt>{speaker.name(line.name)}</dt>
            <dd class="total-figure">{line.figure.map(|figure| speaker.figure(figure))}</dd>
            <dd class="total-basis">{speaker.because(&line.basis)}</dd>
        </div>
    }
}

/// The figures that a display shows, each with its verdict beneath.
#[component]
pub fn DisplayCheck(bank: Made) -> impl IntoView {
    let app = app();
    let fields = [
        (What::Modules, "modules", w::BANK_RESULT_MODULES),
        (What::Capacity, "capacity", w::BANK_RESULT_CAPACITY),
        (What::ChargeHeld, "charge", w::BANK_RESULT_CHARGE),
        (What::Soc, "soc", w::BANK_RESULT_SOC),
        (What::Voltage, "voltage", w::BANK_RESULT_VOLTAGE),
        (What::Current, "current", w::BANK_RESULT_CURRENT),
    ]
    .map(|(what, id, label)| (what, id, label, Typed::new(what.kind())));
    let held = Memo::new(move |_| -> Option<Display> {
        let bank = bank.get()?.ok()?;
        let mut shown = Shown::default();
        for (what, _, _, typed) in fields {
            if let Some(figure) = typed.shown() {
                // The field reads figures of this kind only.
                shown.set(what, figure).ok()?;
            }
        }
        display(&bank, &shown).ok()
    });
    let rows = fields
        .into_iter()
        .map(|(what, id, label, typed)| {
            let judged = move || {
                let found = held.get()?.findings.into_iter().find(|finding| finding.what == what)?;
                Some(view! { <JudgedView judged=found.judged/> })
            };
            view! {
                <div class="ask">
                    <TypedField id=format!("shown-{id}") label=app.word(label) typed signed=what == What::Current/>
                    {judged}
                </div>
            }
        })
        .collect_view();
    let causes = move || {
        let held = held.get()?;
        let judged = held.findings.iter().any(|finding| finding.judged.verdict != Verdict::NotDone);
        if held.causes.is_empty() {
            return judged.then(|| view! { <p class="because">{app.word(w::BANK_RESULT_ALL_AGREE)}</p> }.into_any());
        }
        let speaker = app.speaker();
        let items = held
            .causes
            .iter()
            .map(|(cause, check)| {
                let check = Arg::Name(speaker.because(check));
                view! {
                    <li>
                        <p class="cause">{speaker.because(cause)}</p>
                        <p class="hint">{speaker.fill(w::BANK_RESULT_CHECK, &[("check", check)])}</p>
                    </li>
                }
            })
            .collect_view();
        Some(
            view! {
                <div class="look causes-box"><h3>{app.word(w::BANK_RESULT_CAUSES)}</h3><ol>{items}</ol></div>
            }
            .into_any(),
        )
    };
    view! {
        <section class="bank-display">
            <h2>{app.word(w::BANK_RESULT_DISPLAY)}</h2>
            <p class="hint">{app.word(w::BANK_RESULT_DISPLAY_ABOUT)}</p>
            {rows}
            <div aria-live="polite">{causes}</div>
        </section>
    }
}
