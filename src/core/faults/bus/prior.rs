//! How often each fault is met before anything is measured. All of it is common practice, no source: weights relative to
//! each other, which a count of real jobs should replace.

use crate::core::bus::line::{Line, Wire};
use crate::core::faults::bus::{BusFault, Class, all};
use crate::core::units::Ohms;

/// A resistance that is known only roughly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rough {
    pub ohms: Ohms,
    /// Standard deviation of its logarithm.
    pub spread: f64,
}

/// Two conductors that touch (common practice, no source).
pub const TOUCH: Rough = Rough { ohms: Ohms::of(0.2), spread: 1.0 };
/// From the supply line to the reference with everything off: loads and capacitors, from 1 Ω to 10 kΩ (common practice,
/// no source).
pub const SUPPLY: Rough = Rough { ohms: Ohms::of(100.0), spread: 2.3 };

/// Standard deviation of a ±1 % part, taken as uniform: 0.01/√3.
pub const ONE_PERCENT: f64 = 0.01 / 1.732_050_807_568_877_2;

/// What a terminator may be instead of what it should be, with its part of the weight of that fault.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WrongValue {
    pub ohms: Ohms,
    pub spread: f64,
    pub part: f64,
}

const fn wrong(ohms: f64, spread: f64, part: f64) -> WrongValue {
    WrongValue { ohms: Ohms::of(ohms), spread, part }
}

/// One half of a split pair, and the 100 Ω of other buses, both ±1 %; then parts that an accident has drifted upwards
/// (bus reference 1.1), in steps from 140 Ω to 1 kΩ.
pub const WRONG_VALUES: &[WrongValue] = &[
    wrong(60.0, ONE_PERCENT, 0.3),
    wrong(100.0, ONE_PERCENT, 0.2),
    wrong(160.0, 0.15, 0.1),
    wrong(215.0, 0.15, 0.1),
    wrong(290.0, 0.15, 0.1),
    wrong(390.0, 0.15, 0.05),
    wrong(520.0, 0.15, 0.05),
    wrong(700.0, 0.15, 0.05),
    wrong(940.0, 0.15, 0.05),
];

/// The weight of a kind at all its places together; of terminators, at each of them; of wires, for each of them.
fn weight(class: Class) -> f64 {
    match class {
        Class::Nothing => 0.60,
        Class::TerminatorMissing => 0.10,
        Class::AllTerminatorsMissing => 0.04,
        Class::TerminatorExtra => 0.05,
        Class::TwoTerminatorsExtra => 0.01,
        Class::TerminatorValue => 0.02,
        Class::TerminatorMisplaced => 0.02,
        Class::WireOpen => 0.04,
        Class::BothOpen => 0.02,
        Class::ReferenceOpen => 0.02,
        Class::WiresTouch => 0.02,
        Class::WireToReference => 0.01,
        Class::WireToSupply => 0.005,
        Class::Swapped => 0.02,
        Class::MeterOnPoweredBus => 0.02,
    }
}

/// What sets apart the places among which a weight is shared: a class, and its terminator or wire.
fn group(fault: BusFault) -> (Class, usize) {
    let which = match fault {
        BusFault::TerminatorMissing { terminator }
        | BusFault::TerminatorValue { terminator, .. }
        | BusFault::TerminatorMisplaced { terminator, .. } => terminator,
        BusFault::WireOpen { wire, .. }
        | BusFault::WireToReference { wire, .. }
        | BusFault::WireToSupply { wire, .. } => usize::from(wire == Wire::Low),
        _ => 0,
    };
    (fault.class(), which)
}

/// All faults of the line with their weights; they need not add up to 1.
pub fn weighted(line: &Line) -> Vec<(BusFault, f64)> {
    let faults = all(line);
    // Faults of a group mostly follow each other; there are few groups.
    let mut counts: Vec<((Class, usize), f64)> = Vec::new();
    for fault in &faults {
        let group = group(*fault);
        match counts.iter_mut().rev().find(|(known, _)| *known == group) {
            Some((_, count)) => *count += 1.0,
            None => counts.push((group, 1.0)),
        }
    }
    let share = |fault: BusFault| match fault {
        BusFault::TerminatorValue { class, .. } => WRONG_VALUES[class].part,
        _ => {
            let group = group(fault);
            1.0 / counts.iter().find(|(known, _)| *known == group).map_or(1.0, |(_, count)| *count)
        }
    };
    faults.into_iter().map(|fault| (fault, weight(fault.class()) * share(fault))).collect()
}
