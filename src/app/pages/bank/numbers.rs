//! The bank's numbers: what is installed, what the modules say, what the bank must show, the display against it, and what
//! is asked of the chargers. By itself, or in a job.

use super::book::Book;
use super::modules::{LIMITS, PLATE, cards, fields, said};
use super::result::{chargers, display, totals};
use crate::app::device::page;
use crate::app::frame::app;
use crate::app::pages::entries::once_with_job;
use crate::app::pages::jobs::name_of;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::bank::modules::BankError;
use crate::core::bank::table::{Item, Of, Question};
use crate::core::because::Arg;
use crate::core::site::{Problem, Site};
use leptos::prelude::*;

#[component]
pub fn BankNumbers() -> impl IntoView {
    let app = app();
    let book = Book::by_itself();
    let too_many = move || {
        let over = book.held.with(|held| matches!(held, Some(Err(BankError::TooManyModules { .. }))));
        over.then(|| view! { <p class="error" role="alert">{app.speaker().problem(Problem::TooManyModules)}</p> })
    };
    let plate = view! {
        <h2>{app.word(w::BANK_PLATE_TITLE)}</h2>
        {fields(book, Of::Bank, &[(Item::PARALLEL, w::BANK_PLATE_PARALLEL), (Item::SERIES, w::BANK_PLATE_SERIES)])}
        {too_many}
        <h2>{app.word(w::BANK_PLATE_EACH)}</h2>
        {fields(book, Of::Bank, &PLATE)}
        <p class="hint">{app.word(w::BANK_PLATE_SOH_HINT)}</p>
    };
    let head = view! { <Head title=app.word(w::BANK_NUMBERS)/> };
    sheet(book, head.into_any(), plate.into_any(), Some(fields(book, Of::Bank, &LIMITS)))
}

#[component]
pub fn JobBank(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let head = view! { <Head title=app.word(w::BANK_NUMBERS) back=name_of(app, &job)/> }.into_any();
        let Ok(site) = job.site.site() else {
            return view! {
                <div class="page">
                    {head}
                    <p class="hint">{app.word(w::JOB_DESCRIBE_ABOUT)}</p>
                    <div class="foot"><a class="primary" href=Screen::Job(id).to_string()>{app.word(w::CARD_TO_JOB)}</a></div>
                </div>
            }
            .into_any();
        };
        let line = site_line(&site);
        let book = Book::of_job(id.clone(), site);
        let plate = view! {
            <ul class="rows">{go_row(&Screen::Site(id), &line, app.word(w::BANK_PLATE_FROM_SITE))}</ul>
            {fields(book, Of::Bank, &[(Item::SOH, w::BANK_PLATE_SOH)])}
            <p class="hint">{app.word(w::BANK_PLATE_SOH_HINT)}</p>
        };
        sheet(book, head, plate.into_any(), None)
    })
}

/// How the site's modules sit, in one line.
fn site_line(site: &Site) -> String {
    let name = Arg::Name(site.module.model.clone());
    let args = [("name", name), ("series", site.series.into()), ("parallel", site.parallel.into())];
    app().speaker().fill(w::BANK_PLATE_SITE, &args)
}

/// Everything below the head.
fn sheet(book: Book, head: AnyView, plate: AnyView, limits: Option<AnyView>) -> AnyView {
    let app = app();
    let bases = [
        (w::BANK_PLATE_BASIS_PRESENT, Some(w::BANK_PLATE_BASIS_PRESENT_ABOUT)),
        (w::BANK_PLATE_BASIS_NAMEPLATE, Some(w::BANK_PLATE_BASIS_NAMEPLATE_ABOUT)),
    ];
    let ways = [
        (w::BANK_MODULE_ALIKE, Some(w::BANK_MODULE_ALIKE_ABOUT)),
        (w::BANK_MODULE_SINGLY, Some(w::BANK_MODULE_SINGLY_ABOUT)),
    ];
    let more = if limits.is_some() { w::BANK_PLATE_LIMITS } else { w::BANK_PLATE_BASIS_ONLY };
    let is_singly = Memo::new(move |_| book.table.with(|table| table.is_singly()));
    let modules = move || if is_singly.get() { cards(book) } else { said(book, Of::All) };
    view! {
        <div class="page page-bank">
            {head}
            // The way to the result stands at the thumb until the result is there.
            <div class="page-part">
                <p class="lead">{app.word(w::BANK_NUMBERS_LEAD)}</p>
                {plate}
                <details class="rests more-fields">
                    <summary>{app.word(more)}</summary>
                    {limits}
                    {book.question(Of::Bank, Question::BASIS, w::BANK_PLATE_BASIS, &bases)}
                </details>
                <h2>{app.word(w::BANK_MODULE_TITLE)}</h2>
                {book.question(Of::Bank, Question::WAY, w::BANK_MODULE_ALL, &ways)}
                {modules}
                <div class="foot">
                    <button type="button" class="primary" on:click=move |_| page::show_first("#bank-result")>
                        {app.word(w::BANK_RESULT_SEE)}
                    </button>
                </div>
            </div>
            {totals(book)}
            {display(book)}
            {chargers(book)}
        </div>
    }
    .into_any()
}
