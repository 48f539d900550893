//! What became of figures: one plain type for every page that judges some.

use crate::core::because::Because;
use crate::core::job::assess::{Verdict, Window};
use crate::core::units::Figure;

/// A verdict with all that it rests on. *Not done* means: not known.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    pub verdict: Verdict,
    pub because: Because,
    /// What else is wrong, after the worst.
    pub also: Vec<Because>,
    /// What it may be, likeliest first.
    pub may_be: Vec<Because>,
    /// What to do or to look at next.
    pub next: Vec<Because>,
    /// The sum behind it, line by line.
    pub sum: Vec<Because>,
    /// Keys of the published sources it rests on.
    pub sources: Vec<&'static str>,
    pub lines: Vec<Line>,
}

/// A window line: what was read, or follows, held against a window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Key of its name.
    pub name: &'static str,
    pub window: Window,
    pub reading: Figure,
    pub verdict: Verdict,
}

impl Judged {
    pub(crate) fn new(verdict: Verdict, because: Because) -> Judged {
        Judged {
            verdict,
            because,
            also: Vec::new(),
            may_be: Vec::new(),
            next: Vec::new(),
            sum: Vec::new(),
            sources: Vec::new(),
            lines: Vec::new(),
        }
    }
}
