//! What the bank must show, the display held against it, and what is asked of the chargers.

use super::book::Book;
use crate::app::frame::app;
use crate::app::parts::badge::Badge;
use crate::app::parts::brief::brief;
use crate::app::parts::finding::rests;
use crate::app::parts::fold::fold;
use crate::content::words::{self as w, Word};
use crate::core::bank::findings::display::Display;
use crate::core::bank::findings::numbers::{Group, HEADLINE, Line, Numbers};
use crate::core::bank::modules::BankError;
use crate::core::bank::shown::What;
use crate::core::bank::table::{Item, Of};
use crate::core::because::{Arg, Because};
use crate::core::job::assess::Verdict;
use leptos::prelude::*;

/// The figures that matter most, large; every other with its basis behind a tap.
pub fn totals(book: Book) -> AnyView {
    let app = app();
    // Only the numbers: the page draws them anew when they change, and stays as it is else.
    let found = Memo::new(move |_| {
        book.held.with(|held| Some(held.as_ref()?.as_ref().map(|held| held.numbers.clone()).map_err(|error| *error)))
    });
    // Each figure changes by itself: a key in one module changes few of them.
    let stands = Memo::new(move |_| found.with(|found| found.as_ref().map(|found| found.as_ref().err().copied())));
    let open = RwSignal::new(false);
    let drawn = move || match stands.get() {
        Some(None) => {
            let all = move || with_numbers(found, every_total).into_any();
            view! { {headline_by_figure(found)}{fold("rests every-total", app.word(w::BANK_RESULT_EVERY), open, all)} }
                .into_any()
        }
        Some(Some(BankError::OutOfRange(_))) => {
            view! { <p class="error">{app.word(w::BANK_BEYOND_RANGE)}</p> }.into_any()
        }
        // Said at its field.
        _ => view! { <p class="hint">{app.word(w::BANK_RESULT_FIRST)}</p> }.into_any(),
    };
    view! {
        <section id="bank-result" class="bank-result">
            <h2>{app.word(w::BANK_RESULT_TITLE)}</h2>
            {drawn}
        </section>
    }
    .into_any()
}

/// None before it is said how the modules sit.
type Found = Memo<Option<Result<Numbers, BankError>>>;

fn with_numbers<T>(found: Found, read: impl FnOnce(&Numbers) -> T) -> Option<T> {
    found.with(|found| Some(read(found.as_ref()?.as_ref().ok()?)))
}

/// The lines that matter most, as far as they are known.
fn large(numbers: &Numbers) -> impl Iterator<Item = &Line> {
    numbers.lines.iter().filter(|line| HEADLINE.contains(&line.name) && line.figure.is_some())
}

fn large_line(name: &'static str, figure: impl IntoAny) -> AnyView {
    view! { <div><dt>{app().speaker().name(name)}</dt><dd>{figure.into_any()}</dd></div> }.into_any()
}

fn notes_of(notes: &[Because]) -> AnyView {
    let speaker = app().speaker();
    notes.iter().map(|note| view! { <p class="look-note">{speaker.because(note)}</p> }).collect_view().into_any()
}

/// [`headline`] of numbers that change while they are looked at.
fn headline_by_figure(found: Found) -> AnyView {
    let speaker = app().speaker();
    let names =
        Memo::new(move |_| with_numbers(found, |numbers| large(numbers).map(|line| line.name).collect::<Vec<_>>()));
    let notes = Memo::new(move |_| with_numbers(found, |numbers| numbers.notes.clone()));
    let figure = move |name: &str| {
        let figure = with_numbers(found, |numbers| large(numbers).find(|line| line.name == name)?.figure);
        figure.flatten().map(|figure| speaker.figure(figure)).unwrap_or_default()
    };
    let lines = move || {
        let lines = names.get().into_iter().flatten().map(|name| large_line(name, move || figure(name)));
        view! { <dl class="headline">{lines.collect_view()}</dl> }
    };
    view! { {lines}{move || notes.with(|notes| notes.as_deref().map(notes_of))} }.into_any()
}

/// The figures that matter most, and who is silent or holds off. A part of the record.
pub fn headline(numbers: &Numbers) -> AnyView {
    let speaker = app().speaker();
    let lines = large(numbers).filter_map(|line| Some(large_line(line.name, speaker.figure(line.figure?))));
    view! { <dl class="headline">{lines.collect_view()}</dl>{notes_of(&numbers.notes)} }.into_any()
}

fn every_total(numbers: &Numbers) -> AnyView {
    let app = app();
    let speaker = app.speaker();
    let groups = Group::ALL.into_iter().map(|group| {
        let known: Vec<&Line> =
            numbers.lines.iter().filter(|line| line.group == group && line.figure.is_some()).collect();
        (!known.is_empty()).then(|| {
            let lines = known.into_iter().map(|line| {
                view! {
                    <div class="total">
                        <dt>{speaker.name(line.name)}</dt>
                        <dd class="total-figure">{line.figure.map(|figure| speaker.figure(figure))}</dd>
                        <dd class="total-basis">{speaker.because(&line.basis)}</dd>
                    </div>
                }
            });
            view! { <h3>{speaker.name(group.key())}</h3><dl class="totals">{lines.collect_view()}</dl> }
        })
    });
    let missing: Vec<&str> =
        numbers.lines.iter().filter(|line| line.figure.is_none()).map(|line| speaker.name(line.name)).collect();
    let missing = (!missing.is_empty()).then(|| {
        let names = Arg::Name(missing.join(", ").to_lowercase());
        view! { <p class="hint not-known">{speaker.fill(w::BANK_RESULT_UNKNOWN, &[("names", names)])}</p> }
    });
    view! {
        {groups.collect_view()}
        {missing}
        {rests(&[], &numbers.sources)}
    }
    .into_any()
}

const SHOWN: [(What, Word); 6] = [
    (What::Modules, w::BANK_RESULT_MODULES),
    (What::Capacity, w::BANK_RESULT_CAPACITY),
    (What::ChargeHeld, w::BANK_RESULT_CHARGE),
    (What::Soc, w::BANK_RESULT_SOC),
    (What::Voltage, w::BANK_RESULT_VOLTAGE),
    (What::Current, w::BANK_RESULT_CURRENT),
];
const MORE_SHOWN: [(What, Word); 6] = [
    (What::Power, w::BANK_RESULT_POWER),
    (What::Soh, w::BANK_RESULT_SOH),
    (What::LowestCell, w::BANK_RESULT_LOWEST),
    (What::HighestCell, w::BANK_RESULT_HIGHEST),
    (What::Coldest, w::BANK_RESULT_COLDEST),
    (What::Hottest, w::BANK_RESULT_HOTTEST),
];

/// The figure's name, as it is said of a display.
pub fn word_of(what: What) -> Word {
    let found = SHOWN.iter().chain(&MORE_SHOWN).find(|(known, _)| *known == what);
    found.map_or(w::BANK_RESULT_DISPLAY, |(_, word)| *word)
}

/// The figures that a display shows, each with its verdict beneath; the verdict on all of them stands first.
pub fn display(book: Book) -> AnyView {
    let app = app();
    let held = Memo::new(move |_| book.held.with(|held| Some(held.as_ref()?.as_ref().ok()?.display.clone())));
    let row = move |(what, label): &(What, Word)| {
        let what = *what;
        let judged = Memo::new(move |_| {
            held.with(|held| {
                let found = held.as_ref()?.findings.iter().find(|finding| finding.what == what)?;
                Some(found.judged.clone())
            })
        });
        let open = RwSignal::new(false);
        let shown = move || judged.get().map(|judged| brief(judged, open));
        view! { <div class="ask">{book.shown_field(what, *label)}{shown}</div> }.into_any()
    };
    view! {
        <section class="bank-display">
            <h2>{app.word(w::BANK_RESULT_DISPLAY)}</h2>
            <p class="hint">{app.word(w::BANK_RESULT_DISPLAY_ABOUT)}</p>
            <div aria-live="polite">{move || held.with(|display| display.as_ref().and_then(causes))}</div>
            {SHOWN.iter().map(row).collect_view()}
            <details class="rests more-fields">
                <summary>{app.word(w::BANK_RESULT_MORE)}</summary>
                {MORE_SHOWN.iter().map(row).collect_view()}
            </details>
        </section>
    }
    .into_any()
}

/// The verdict on all that is shown, and what would explain a disagreement. Also a part of the record.
pub fn causes(display: &Display) -> Option<AnyView> {
    let app = app();
    let speaker = app.speaker();
    let verdict = display.worst();
    if verdict == Verdict::NotDone {
        return None;
    }
    let items = display.causes.iter().map(|(cause, check)| {
        let check = Arg::Name(speaker.because(check));
        view! {
            <li>
                <p class="cause">{speaker.because(cause)}</p>
                <p class="hint">{speaker.fill(w::BANK_RESULT_CHECK, &[("check", check)])}</p>
            </li>
        }
    });
    let (word, list) = if display.causes.is_empty() {
        let word = if verdict == Verdict::Holds { w::BANK_RESULT_ALL_AGREE } else { w::BANK_RESULT_ONE_BY_ONE };
        (word, None)
    } else {
        (w::BANK_RESULT_CAUSES, Some(view! { <ol>{items.collect_view()}</ol> }))
    };
    Some(
        view! {
            <div class=format!("finding finding-{} causes-box", verdict.key())>
                <p class="verdict"><Badge verdict/></p>
                <p class="because">{app.word(word)}</p>
                {list}
            </div>
        }
        .into_any(),
    )
}

/// What is asked of the chargers, judged.
pub fn chargers(book: Book) -> AnyView {
    let app = app();
    let judged = Memo::new(move |_| book.held.with(|held| held.as_ref()?.as_ref().ok()?.asks.clone()));
    let open = RwSignal::new(false);
    view! {
        <section class="bank-chargers">
            <h2>{app.word(w::BANK_RESULT_CHARGERS)}</h2>
            <p class="hint">{app.word(w::BANK_RESULT_CHARGERS_ABOUT)}</p>
            <div class="pair">
                {book.field(Of::Bank, Item::ASKED_VOLTAGE, w::BANK_RESULT_ASKED_VOLTAGE, None)}
                {book.field(Of::Bank, Item::ASKED_CURRENT, w::BANK_RESULT_ASKED_CURRENT, None)}
            </div>
            <div aria-live="polite">{move || judged.get().map(|judged| brief(judged, open))}</div>
        </section>
    }
    .into_any()
}
