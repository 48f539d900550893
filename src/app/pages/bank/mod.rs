//! The bank's numbers, one page each: totals and the display (by themselves and in a job), rest voltage, joining, sharing.

mod book;
mod in_record;
mod join;
mod modules;
mod numbers;
mod parts;
mod rest;
mod result;
mod sharing;
mod typed;

pub use book::sentence;
pub use in_record::in_record;
pub use join::BankJoin;
pub use numbers::{BankNumbers, JobBank};
pub use parts::Segments;
pub use rest::BankRest;
pub use sharing::BankSharing;

use crate::app::frame::app;
use crate::app::parts::go_row::go_row;
use crate::app::screen::Screen;
use crate::content::words as w;
use leptos::prelude::*;

/// The rows of the list under Measure.
pub fn rows() -> impl IntoView {
    let app = app();
    [
        (Screen::BankNumbers, w::BANK_NUMBERS, w::BANK_NUMBERS_ABOUT),
        (Screen::BankRest, w::BANK_REST, w::BANK_REST_ABOUT),
        (Screen::BankJoin, w::BANK_JOIN, w::BANK_JOIN_ABOUT),
        (Screen::BankSharing, w::BANK_SHARING, w::BANK_SHARING_ABOUT),
    ]
    .into_iter()
    .map(|(screen, title, about)| go_row(&screen, app.word(title), app.word(about)))
    .collect_view()
}
