//! What a display shows of a bank, and how each figure stands to the bank's own.

use super::total::Totals;
use crate::core::entry;
use crate::core::units::{Count, Figure, Kind, Quantity};

/// A figure that displays show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// Nameplate capacity.
    Capacity,
    ChargeHeld,
    /// Of the present capacity.
    Soc,
    Soh,
    Voltage,
    Current,
    Power,
    /// How many modules answer.
    Modules,
    LowestCell,
    HighestCell,
    Coldest,
    Hottest,
}

impl What {
    pub const ALL: [What; 12] = [
        What::Capacity,
        What::ChargeHeld,
        What::Soc,
        What::Soh,
        What::Voltage,
        What::Current,
        What::Power,
        What::Modules,
        What::LowestCell,
        What::HighestCell,
        What::Coldest,
        What::Hottest,
    ];

    pub fn kind(self) -> Kind {
        match self {
            What::Capacity | What::ChargeHeld => Kind::AmpereHours,
            What::Soc | What::Soh => Kind::Percent,
            What::Voltage | What::LowestCell | What::HighestCell => Kind::Volts,
            What::Current => Kind::Amperes,
            What::Power => Kind::Watts,
            What::Modules => Kind::Count,
            What::Coldest | What::Hottest => Kind::Celsius,
        }
    }

    /// The bank's own figure. Modules: those known to answer; where nobody said, those expected.
    pub fn of(self, totals: &Totals) -> Option<Figure> {
        match self {
            What::Capacity => totals.capacity.map(Figure::from),
            What::ChargeHeld => totals.charge_held.map(Figure::from),
            What::Soc => totals.soc.map(Figure::from),
            What::Soh => totals.soh.map(Figure::from),
            What::Voltage => totals.voltage.map(Figure::from),
            What::Current => totals.current.map(Figure::from),
            What::Power => totals.power.map(Figure::from),
            What::Modules => Count::new(f64::from(totals.answering.unwrap_or(totals.expected))).ok().map(Figure::from),
            What::LowestCell => totals.lowest_cell.map(|cell| cell.value.into()),
            What::HighestCell => totals.highest_cell.map(|cell| cell.value.into()),
            What::Coldest => totals.coldest.map(|sensor| sensor.value.into()),
            What::Hottest => totals.hottest.map(|sensor| sensor.value.into()),
        }
    }

    /// How far a shown figure may be off when all is well, in its base unit: half its last digit, and what sensors and
    /// the steps of the bus add.
    pub fn error(self, shown: &entry::Shown) -> f64 {
        let value = shown.figure.value().abs();
        let sensor = match self {
            // A count is right or wrong.
            What::Modules => return 0.0,
            What::Capacity => 0.0,
            // Half of the steps on the bus: 1 Ah and 0.5 % (RV-C table 5.3).
            What::ChargeHeld => 0.5,
            What::Soc | What::Soh => 0.25,
            // Usual accuracy of displays and their sensors (common practice, no source).
            What::Voltage => 0.005 * value,
            What::Current => 0.01 * value + 0.2,
            What::Power => 0.015 * value + 5.0,
            What::LowestCell | What::HighestCell => 0.005,
            What::Coldest | What::Hottest => 1.0,
        };
        sensor + shown.digit.abs() / 2.0
    }
}

/// A figure of the wrong kind: volts where a charge belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrongKind {
    pub what: What,
    pub kind: Kind,
}

/// What a display shows; whatever it does not show is not known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shown {
    figures: Vec<(What, entry::Shown)>,
}

impl Shown {
    /// Adds a figure, or replaces the one there.
    pub fn set(&mut self, what: What, shown: entry::Shown) -> Result<(), WrongKind> {
        if shown.figure.kind() != what.kind() {
            return Err(WrongKind { what, kind: shown.figure.kind() });
        }
        self.figures.retain(|(other, _)| *other != what);
        self.figures.push((what, shown));
        Ok(())
    }

    pub fn get(&self, what: What) -> Option<entry::Shown> {
        self.figures.iter().find(|(other, _)| *other == what).map(|(_, shown)| *shown)
    }

    /// Every figure, in the order in which they were first set.
    pub fn all(&self) -> &[(What, entry::Shown)] {
        &self.figures
    }
}

/// How a shown figure stands to the bank's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Agreement {
    /// Within the error.
    Agrees,
    /// Within twice the error: look again.
    Near,
    Differs,
    /// The bank's own figure is not known.
    NotKnown,
}

/// One shown figure against the bank's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    pub what: What,
    pub shown: entry::Shown,
    pub expected: Option<Figure>,
    /// How far it may be off, in its base unit.
    pub error: f64,
    pub agreement: Agreement,
}

/// Holds every shown figure against the bank's totals.
pub fn compare(totals: &Totals, shown: &Shown) -> Vec<Comparison> {
    let compared = |(what, shown): &(What, entry::Shown)| {
        let (expected, error) = (what.of(totals), what.error(shown));
        let agreement = match expected {
            None => Agreement::NotKnown,
            Some(expected) => {
                // Floating sums miss by a hair; a limit met exactly counts as met.
                let gap = (shown.figure.value() - expected.value()).abs() - 1e-9 * expected.value().abs();
                if gap <= error {
                    Agreement::Agrees
                } else if gap <= 2.0 * error {
                    Agreement::Near
                } else {
                    Agreement::Differs
                }
            }
        };
        Comparison { what: *what, shown: *shown, expected, error, agreement }
    };
    shown.all().iter().map(compared).collect()
}
