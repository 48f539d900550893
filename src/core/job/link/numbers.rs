//! The numbers that stand for things on the wire. They are given here one by one and never change, whatever happens to the
//! order of the types.

use super::Leave;
use crate::core::faults::bus::Pair;
use crate::core::job::check::Check;
use crate::core::job::hold::{Doing, Hold};
use crate::core::site::figures::{LeadUse, Numbering, Off, PortUse, Wake};
use crate::core::site::{End, Stop};
use crate::core::units::Kind;

/// What a number stands for, in a table.
pub fn of<T: Copy>(table: &[(u8, T)], number: u8) -> Option<T> {
    table.iter().find(|(known, _)| *known == number).map(|(_, what)| *what)
}

/// The number in a table; 0 for what is not in it, which a test rules out.
pub fn to<T: Copy + PartialEq>(table: &[(u8, T)], what: T) -> u8 {
    table.iter().find(|(_, known)| *known == what).map_or(0, |(number, _)| *number)
}

pub const CHECKS: &[(u8, Check)] = &[
    (0, Check::PairVolts),
    (1, Check::HighToReferenceVolts),
    (2, Check::LowToReferenceVolts),
    (3, Check::PairOhmsAtMonitor),
    (4, Check::PairOhmsAtBank),
    (5, Check::ShownModules),
    (6, Check::ShownCapacity),
    (7, Check::FirstFullCharge),
    (8, Check::ShownSoc),
    (9, Check::ShownCharge),
    (10, Check::ShownVoltage),
    (11, Check::CurrentDirection),
];

/// 0 stands for none.
pub const KINDS: &[(u8, Kind)] = &[
    (1, Kind::Ohms),
    (2, Kind::Volts),
    (3, Kind::Amperes),
    (4, Kind::AmpereHours),
    (5, Kind::WattHours),
    (6, Kind::Watts),
    (7, Kind::Percent),
    (8, Kind::Metres),
    (9, Kind::OhmsPerMetre),
    (10, Kind::BitRate),
    (11, Kind::Seconds),
    (12, Kind::Hours),
    (13, Kind::Ratio),
    (14, Kind::Celsius),
    (15, Kind::SquareMillimetres),
    (16, Kind::Reach),
    (17, Kind::Hertz),
    (18, Kind::SecondsPerMetre),
    (19, Kind::VoltsPerSecond),
    (20, Kind::Fraction),
    (21, Kind::CodedVolts),
    (22, Kind::CodedCelsius),
    (23, Kind::Count),
    (24, Kind::Farads),
    (25, Kind::Joules),
    (26, Kind::SquareAmpereSeconds),
    (27, Kind::VoltsPerKelvin),
    (28, Kind::FaultAmperes),
];

pub const WAKES: &[(u8, Wake)] = &[(1, Wake::Button), (2, Wake::ByItself), (3, Wake::Switch)];
pub const PORT_USES: &[(u8, PortUse)] = &[(1, PortUse::Dedicated), (2, PortUse::Settable)];
pub const LEAD_USES: &[(u8, LeadUse)] = &[(1, LeadUse::Link), (2, LeadUse::Bus), (3, LeadUse::Adapter)];
pub const OFFS: &[(u8, Off)] = &[(1, Off::Button), (2, Off::Switch), (3, Off::ByItself)];
pub const NUMBERINGS: &[(u8, Numbering)] = &[(1, Numbering::ByItself), (2, Numbering::Switches)];

/// Subjects: a hold, a card, an alarm, an item of a list; from [`FIRST_CHECK`] the checks.
pub const HOLD: u32 = 0;
pub const CARD: u32 = 1;
pub const ALARM: u32 = 2;
pub const ITEM: u32 = 3;
pub const FIRST_CHECK: u32 = 4;

/// Forms of a row. Up to 3 a figure with so many decimals, as steps of its last one: 60.4 is 604 steps of form 1.
pub const FORMS: u32 = 8;
pub const LAST_PLAIN: u32 = 3;
/// A figure by value and digit, as decimals.
pub const FIGURE: u32 = 4;
pub const DONE: u32 = 5;
/// An answer: a word.
pub const ANSWER: u32 = 6;
/// What follows as a code.
pub const OTHER: u32 = 7;

pub const BEYOND_RANGE: u64 = 1;
pub const NOT_APPLICABLE: u64 = 2;
pub const WITHDRAWN: u64 = 3;

/// Events of a story.
pub const SEEN: u8 = 1;
pub const ALARMED: u8 = 2;
pub const LATER: u8 = 3;
pub const REPAIRED: u8 = 4;

/// Which sections stayed behind, as bits.
pub fn leave_bits(leave: Leave) -> u8 {
    let Leave { people, notes, bank, story, lists, pending, captions, power } = leave;
    let all = [people, notes, bank, story, lists, pending, captions, power];
    all.iter().enumerate().map(|(bit, left)| u8::from(*left) << bit).sum()
}

/// Every bit stands for a section.
pub fn leave_of(bits: u8) -> Leave {
    let bit = |bit: u8| bits >> bit & 1 == 1;
    Leave {
        people: bit(0),
        notes: bit(1),
        bank: bit(2),
        story: bit(3),
        lists: bit(4),
        pending: bit(5),
        captions: bit(6),
        power: bit(7),
    }
}

const PAIRS: &[(u8, Pair)] = &[(0, Pair::HighLow), (1, Pair::HighReference), (2, Pair::LowReference)];
const DOINGS: &[(u8, Doing)] = &[
    (0, Doing::Nothing),
    (1, Doing::TerminatorPulled(End::Bank)),
    (2, Doing::TerminatorPulled(End::Monitor)),
    (3, Doing::Bridged(End::Bank)),
    (4, Doing::Bridged(End::Monitor)),
];
/// From here the lead that is pulled.
const FIRST_LEAD: u64 = 5;

/// A hold as codes. The first says where and between what: six times the stop (the monitor is stop 0) plus twice the pair,
/// plus one where something was done; what that was follows as the second. Module 0 does not exist, but can be stored: it
/// is the stop after the last number.
pub fn hold_codes(hold: Hold) -> Vec<u64> {
    let stop = match hold.at {
        Stop::Monitor => 0,
        Stop::Module(0) => u64::from(u32::MAX) + 1,
        Stop::Module(module) => u64::from(module),
    };
    let doing = match hold.doing {
        Doing::LeadPulled(lead) => FIRST_LEAD + u64::from(lead),
        other => u64::from(to(DOINGS, other)),
    };
    let place = stop * 6 + u64::from(to(PAIRS, hold.pair)) * 2;
    if doing == 0 { vec![place] } else { vec![place + 1, doing] }
}

/// The hold of a first code, and of the second where the first asks for it.
pub fn hold_of<E>(first: u64, second: impl FnOnce() -> Result<u64, E>) -> Result<Option<Hold>, E> {
    let doing = if first % 2 == 1 { second()? } else { 0 };
    let read = || {
        let at = match first / 6 {
            0 => Stop::Monitor,
            stop if stop == u64::from(u32::MAX) + 1 => Stop::Module(0),
            stop => Stop::Module(u32::try_from(stop).ok()?),
        };
        let pair = of(PAIRS, (first / 2 % 3) as u8)?;
        let doing = match doing.checked_sub(FIRST_LEAD) {
            Some(lead) => Doing::LeadPulled(u32::try_from(lead).ok()?),
            None => of(DOINGS, doing as u8)?,
        };
        Some(Hold { at, pair, doing })
    };
    Ok(read())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whole<T: Copy + PartialEq + std::fmt::Debug>(table: &[(u8, T)], all: &[T]) {
        for what in all {
            assert_eq!(of(table, to(table, *what)), Some(*what), "{what:?} has no number of its own");
        }
        assert_eq!(table.len(), all.len());
    }

    #[test]
    fn everything_has_a_number_of_its_own() {
        whole(CHECKS, Check::ALL);
        whole(KINDS, Kind::ALL);
        whole(WAKES, Wake::ALL);
        whole(OFFS, Off::ALL);
        whole(NUMBERINGS, Numbering::ALL);
        whole(LEAD_USES, LeadUse::ALL);
        assert!(KINDS.iter().all(|(number, _)| *number > 0));
    }

    #[test]
    fn every_hold_comes_back() {
        let doings = DOINGS.iter().map(|(_, doing)| *doing).chain([0, 7, u32::MAX].map(Doing::LeadPulled));
        for doing in doings {
            for (_, pair) in PAIRS {
                for at in [Stop::Monitor, Stop::Module(0), Stop::Module(1), Stop::Module(u32::MAX)] {
                    let hold = Hold { at, pair: *pair, doing };
                    let codes = hold_codes(hold);
                    assert_eq!(hold_of(codes[0], || codes.get(1).copied().ok_or(())), Ok(Some(hold)));
                }
            }
        }
    }
}
