//! Verdicts on figures that are typed in by hand, without a job: pure functions, each with its reason, its sum and its
//! sources.

pub mod length;
pub mod profile;
pub mod rs485;
pub mod volts;

use crate::core::because::Because;
use crate::core::job::assess::{Verdict, Window};
use crate::core::units::Figure;

/// The outcome of figures typed in by hand.
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
    fn new(verdict: Verdict, because: Because) -> Judged {
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

/// Every source that these verdicts refer to; content is checked against it.
pub const SOURCES: &[&str] = &[
    "iso-11898-2-2003",
    "ti-slvs-levels",
    "ti-bus-length",
    "cia-301",
    "ecss-stub",
    "an96116",
    "an96116-lengths",
    "microchip-delay",
    "ti-spruin7c",
    "iec-60028",
    "astm-b258",
    "cia-303-1-cables",
    "cia-303-1",
    "sae-j1939-11",
    "sae-j1939-14",
    "sae-j1939-15",
    "devicenet",
    "rv-c-overview",
    "iso-11898-1",
    "ti-sn75als174",
    "modbus-serial",
    "tia-485",
    "rs485-polarity",
    "practice",
];

/// Every name that these verdicts refer to; content is checked against it.
pub const NAMES: &[&str] = &[
    "wire-high",
    "wire-low",
    "volts-idle-line",
    "volts-state-asleep_or_off",
    "volts-state-awake_idle",
    "volts-state-working",
    "volts-state-swapped",
    "volts-state-stuck_dominant",
    "volts-state-H_at_reference",
    "volts-state-L_at_reference",
    "volts-state-H_at_supply",
    "volts-state-L_at_supply",
    "volts-state-H_or_L_at_supply",
    "volts-state-wrong_reference",
    "volts-state-unclear",
    "limit-canopen",
    "limit-iso11898",
    "limit-transceivers",
    "limit-j1939-11",
    "limit-j1939-15",
    "limit-j1939-14",
    "limit-devicenet-thick",
    "limit-devicenet-thin",
    "limit-rv-c",
    "limit-timing",
    "limit-resistance",
    "limit-edge",
    "limit-drive",
    "what-trunk",
    "what-trunk-timing",
    "what-trunk-resistance",
    "what-drop",
    "what-drop-edge",
    "what-drops",
    "what-devices",
    "protocol-unknown",
    "line-first",
    "line-second",
];
