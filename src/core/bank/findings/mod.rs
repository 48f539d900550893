//! What the bank's figures mean, as verdict, reason, sum and sources: each a pure function of what was typed in.

pub mod asks;
pub mod display;
pub mod join;
pub mod numbers;
pub mod rest;
pub mod sharing;

use self::asks::{Asks, asks_of};
use self::display::{Display, display_of};
use self::numbers::{Group, Line, Numbers, numbers};
use crate::core::bank::asks::may_ask;
use crate::core::bank::modules::{Bank, BankError};
use crate::core::bank::shown::Shown;
use crate::core::bank::total::{Asked, total};
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::site::Stop;

/// A verdict that rests on common practice until it names other sources.
fn practice(verdict: Verdict, because: Because) -> Judged {
    Judged { sources: vec!["practice"], ..Judged::new(verdict, because) }
}

/// All that follows from a bank, from what its display shows, and from what it asks of its chargers.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    pub numbers: Numbers,
    pub display: Display,
    /// None before anything is said of it.
    pub asks: Option<Judged>,
}

impl Held {
    /// Brings the bank together and holds everything against it.
    pub fn of(bank: &Bank, shown: &Shown, asked: &Asks) -> Result<Held, BankError> {
        let totals = total(bank, Asked::default())?;
        let may = may_ask(bank, &totals)?;
        Ok(Held {
            numbers: numbers(bank, &totals, &may),
            display: display_of(bank, &totals, shown)?,
            asks: asks_of(bank, &totals, &may, asked),
        })
    }
}

/// Every source that these findings refer to; content is checked against it.
pub const SOURCES: &[&str] = &[
    "practice",
    "sunspec-802",
    "rv-c",
    "bpx-lfp",
    "sunil-2025",
    "charge-conservation",
    "kirchhoff",
    "iec-60028",
    "aalborg-2019",
    "linden",
    "petzl-danzer-2014",
];

/// Keys of all names that these findings use; content is checked against it.
pub fn names() -> impl Iterator<Item = &'static str> {
    Line::NAMES.iter().copied().chain(Group::ALL.iter().map(|group| group.key()))
}

/// A module of a bank, counted through string by string from 1, as it stands in sentences.
fn stop(number: usize) -> Stop {
    Stop::Module(u32::try_from(number).unwrap_or(u32::MAX))
}
