//! What the modules say: one set of figures for all, or one card a module.

use super::book::Book;
use crate::app::device::page;
use crate::app::frame::app;
use crate::app::parts::alarm_links::alarm_links;
use crate::content::words::{self as w, Word};
use crate::core::bank::table::{Item, Of, Question, Table};
use crate::core::codes::{Code, Vocabulary};
use crate::core::site::MOST_MODULES;
use leptos::prelude::*;

/// What stands on a plate, in two halves: what nearly every plate says, and its limits.
pub const PLATE: [(Item, Word); 4] = [
    (Item::CAPACITY, w::BANK_PLATE_CAPACITY),
    (Item::NOMINAL, w::BANK_PLATE_NOMINAL),
    (Item::SOH, w::BANK_PLATE_SOH),
    (Item::CELLS, w::BANK_PLATE_CELLS),
];
pub const LIMITS: [(Item, Word); 4] = [
    (Item::CHARGE_LIMIT, w::BANK_PLATE_CHARGE_LIMIT),
    (Item::DISCHARGE_LIMIT, w::BANK_PLATE_DISCHARGE_LIMIT),
    (Item::CHARGE_VOLTAGE, w::BANK_PLATE_CHARGE_VOLTAGE),
    (Item::DISCHARGE_VOLTAGE, w::BANK_PLATE_DISCHARGE_VOLTAGE),
];
const SAID: [(Item, Word); 6] = [
    (Item::SOC, w::BANK_MODULE_SOC),
    (Item::VOLTAGE, w::BANK_MODULE_VOLTAGE),
    (Item::CURRENT, w::BANK_MODULE_CURRENT),
    (Item::LOWEST, w::BANK_MODULE_LOWEST),
    (Item::HIGHEST, w::BANK_MODULE_HIGHEST),
    (Item::TEMPERATURE, w::BANK_MODULE_TEMPERATURE),
];
const QUESTIONS: [(Question, Word); 3] = [
    (Question::ANSWERS, w::BANK_MODULE_ANSWERS),
    (Question::CHARGE_OFF, w::BANK_MODULE_CHARGE_OFF),
    (Question::DISCHARGE_OFF, w::BANK_MODULE_DISCHARGE_OFF),
];

/// Some fields, side by side.
pub fn fields(book: Book, of: Of, list: &[(Item, Word)]) -> AnyView {
    let draw = |(item, label): &(Item, Word)| {
        let hint = (*item == Item::CURRENT).then_some(w::BANK_MODULE_CURRENT_HINT);
        book.field(of, *item, *label, hint)
    };
    view! { <div class="pair">{list.iter().map(draw).collect_view()}</div> }.into_any()
}

/// All that one module says, or every one.
pub fn said(book: Book, of: Of) -> AnyView {
    let answers = [w::BANK_NOT_KNOWN, w::BANK_MODULE_YES, w::BANK_MODULE_NO].map(|word| (word, None));
    let questions = QUESTIONS.map(|(question, legend)| book.question(of, question, legend, &answers)).into_iter();
    // Open from the start where something was said: nobody should have to look for it.
    let is_said = book.table.with_untracked(|table| QUESTIONS.iter().any(|(q, _)| table.answer(of, *q) != "unknown"));
    view! {
        {fields(book, of, &SAID)}
        <details class="rests more-fields states" open=is_said>
            <summary>{app().word(w::BANK_MODULE_STATES)}</summary>
            {questions.collect_view()}
            {move || book.table.with(|table| alarm_links(app(), held_off(table, of)))}
        </details>
    }
    .into_any()
}

/// Where a module holds off: the codes of what that means, in status 11 of RV-C.
fn held_off(table: &Table, of: Of) -> Vec<Code> {
    [(Question::CHARGE_OFF, 2), (Question::DISCHARGE_OFF, 1)]
        .into_iter()
        .filter(|(question, _)| table.answer(of, *question) == "yes")
        .map(|(_, value)| Code::new(Vocabulary::RvcStatus11, value))
        .collect()
}

/// What was entered of a module, or of all, in one line; empty where nothing was.
pub fn line(table: &Table, of: Of) -> String {
    let app = app();
    let speaker = app.speaker();
    let figures = Item::PLATE.iter().chain(&Item::SAID).filter_map(|item| table.shown(of, *item));
    let figures = figures.map(|shown| speaker.figure(shown.figure));
    let held =
        QUESTIONS.iter().filter(|(question, _)| table.answer(of, *question) != "unknown").map(|(question, word)| {
            let is_so = table.answer(of, *question) == "yes";
            format!("{}: {}", app.word(*word), app.word(if is_so { w::BANK_MODULE_YES } else { w::BANK_MODULE_NO }))
        });
    figures.chain(held).collect::<Vec<String>>().join(", ")
}

/// One card a module: the one in hand, then all in a list.
pub fn cards(book: Book) -> AnyView {
    let app = app();
    let at = RwSignal::new(1_u32);
    let count = Memo::new(move |_| {
        let count = book.how.get().map_or(0, |how| how.series.saturating_mul(how.parallel));
        if count > MOST_MODULES { 0 } else { count }
    });
    let current = Memo::new(move |_| at.get().clamp(1, count.get().max(1)));
    let go = move |number: u32| {
        at.set(number);
        request_animation_frame(|| page::show_first(".module-card"));
    };
    let step = move |number: u32, label: Word| {
        view! { <button type="button" class="quiet" on:click=move |_| go(number)>{app.word(label)}</button> }.into_any()
    };
    let in_hand = move || {
        let (number, all) = (current.get(), count.get());
        let how = book.how.get().filter(|_| all > 0)?;
        let speaker = app.speaker();
        let title = speaker.fill(w::BANK_MODULE_CARD, &[("n", number.into()), ("all", all.into())]);
        let place = (how.series > 1).then(|| {
            let index = number - 1;
            let args = [("string", (index / how.series + 1).into()), ("module", (index % how.series + 1).into())];
            view! { <p class="hint">{speaker.fill(w::BANK_MODULE_PLACE, &args)}</p> }
        });
        let of = Of::Module(number);
        Some(view! {
            <section class="module-card">
                <h3>{title}</h3>
                {place}
                {(number > 1).then(|| view! {
                    <button type="button" class="quiet" on:click=move |_| book.change(|table| table.copy_said(number - 1, number))>
                        {app.word(w::BANK_MODULE_SAME)}
                    </button>
                })}
                {said(book, of)}
                <details class="rests more-fields">
                    <summary>{app.word(w::BANK_MODULE_UNLIKE)}</summary>
                    <p class="hint">{app.word(w::BANK_MODULE_UNLIKE_ABOUT)}</p>
                    {fields(book, of, &PLATE)}
                    {fields(book, of, &LIMITS)}
                </details>
                <div class="card-steps">
                    {(number > 1).then(|| step(number - 1, w::BANK_MODULE_BEFORE))}
                    {(number < all).then(|| step(number + 1, w::BANK_MODULE_AFTER))}
                </div>
            </section>
        })
    };
    let said_of = move |number: u32| {
        let texts = Memo::new(move |_| book.table.with(|table| table.texts_of(Of::Module(number))));
        move || {
            texts.track();
            let line = book.table.with_untracked(|table| line(table, Of::Module(number)));
            if line.is_empty() { app.word(w::BANK_MODULE_EMPTY).to_string() } else { line }
        }
    };
    let list = move || {
        let row = |number: u32| {
            view! {
                <li>
                    <button type="button" class="module-line" on:click=move |_| go(number)
                        aria-current=move || (current.get() == number).then_some("true")>
                        <span class="module-number">{number}</span>
                        <span>{said_of(number)}</span>
                    </button>
                </li>
            }
        };
        match count.get() {
            0 => view! { <p class="hint">{app.word(w::BANK_MODULE_DESCRIBE_FIRST)}</p> }.into_any(),
            all => view! {
                <h3>{app.word(w::BANK_MODULE_LIST)}</h3>
                <ol class="rows module-lines">{(1..=all).map(row).collect_view()}</ol>
            }
            .into_any(),
        }
    };
    view! { {in_hand}{list} }.into_any()
}
