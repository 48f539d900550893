//! The checks of a job: what each asks for.

use crate::core::faults::bus::Pair;
use crate::core::job::hold::{Doing, Hold};
use crate::core::site::{End, Site};
use crate::core::units::Kind;
use serde::{Deserialize, Serialize};

/// One check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Check {
    PairVolts,
    HighToReferenceVolts,
    LowToReferenceVolts,
    PairOhmsAtMonitor,
    PairOhmsAtBank,
    ShownModules,
    ShownCapacity,
    FirstFullCharge,
    ShownSoc,
    ShownCharge,
    ShownVoltage,
    CurrentDirection,
}

/// The part of the job that a check belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Bus,
    Numbers,
}

/// What a check asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Asks {
    Number {
        kind: Kind,
        /// May it be below zero, so that the field offers a sign?
        signed: bool,
    },
    /// One of these answers, by key.
    Answer(&'static [&'static str]),
}

impl Check {
    pub const ALL: &'static [Check] = &[
        Check::PairVolts,
        Check::HighToReferenceVolts,
        Check::LowToReferenceVolts,
        Check::PairOhmsAtMonitor,
        Check::PairOhmsAtBank,
        Check::ShownModules,
        Check::ShownCapacity,
        Check::FirstFullCharge,
        Check::ShownSoc,
        Check::ShownCharge,
        Check::ShownVoltage,
        Check::CurrentDirection,
    ];

    pub fn key(self) -> &'static str {
        match self {
            Check::PairVolts => "pair-volts",
            Check::HighToReferenceVolts => "high-to-reference-volts",
            Check::LowToReferenceVolts => "low-to-reference-volts",
            Check::PairOhmsAtMonitor => "pair-ohms-at-monitor",
            Check::PairOhmsAtBank => "pair-ohms-at-bank",
            Check::ShownModules => "shown-modules",
            Check::ShownCapacity => "shown-capacity",
            Check::FirstFullCharge => "first-full-charge",
            Check::ShownSoc => "shown-soc",
            Check::ShownCharge => "shown-charge",
            Check::ShownVoltage => "shown-voltage",
            Check::CurrentDirection => "current-direction",
        }
    }

    pub fn from_key(key: &str) -> Option<Check> {
        Check::ALL.iter().copied().find(|check| check.key() == key)
    }

    pub fn part(self) -> Part {
        match self {
            Check::PairVolts
            | Check::HighToReferenceVolts
            | Check::LowToReferenceVolts
            | Check::PairOhmsAtMonitor
            | Check::PairOhmsAtBank => Part::Bus,
            _ => Part::Numbers,
        }
    }

    pub fn asks(self) -> Asks {
        let number = |kind| Asks::Number { kind, signed: false };
        match self {
            Check::PairVolts | Check::HighToReferenceVolts | Check::LowToReferenceVolts => {
                Asks::Number { kind: Kind::Volts, signed: true }
            }
            Check::PairOhmsAtMonitor | Check::PairOhmsAtBank => number(Kind::Ohms),
            Check::ShownModules => number(Kind::Count),
            Check::ShownCapacity | Check::ShownCharge => number(Kind::AmpereHours),
            Check::ShownSoc => number(Kind::Percent),
            Check::ShownVoltage => number(Kind::Volts),
            Check::FirstFullCharge => Asks::Answer(&["yes", "not-yet"]),
            Check::CurrentDirection => Asks::Answer(&["out", "in", "zero"]),
        }
    }

    /// The end of the bus at which the meter is held.
    pub fn end(self) -> Option<End> {
        match self {
            Check::PairVolts | Check::HighToReferenceVolts | Check::LowToReferenceVolts | Check::PairOhmsAtMonitor => {
                Some(End::Monitor)
            }
            Check::PairOhmsAtBank => Some(End::Bank),
            _ => None,
        }
    }

    /// How the meter is held for it, if it asks for ohms.
    pub fn hold(self, site: &Site) -> Option<Hold> {
        let end = match self {
            Check::PairOhmsAtMonitor => End::Monitor,
            Check::PairOhmsAtBank => End::Bank,
            _ => return None,
        };
        Some(Hold { at: site.stop_at(end), pair: Pair::HighLow, doing: Doing::Nothing })
    }

    /// Is the check asked of every site, or only when another one calls for it?
    pub fn is_always_asked(self) -> bool {
        self != Check::PairOhmsAtBank
    }
}
