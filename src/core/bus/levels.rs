//! What a slow meter shows on each wire of a powered bus, and what two such readings mean.
//!
//! A hand-held meter averages over many frames. A busy bus pulls the high wire up and the low wire down by the share of
//! time in which a dominant bit is sent.

use crate::core::bus::line::Wire;
use crate::core::units::{Fraction, Percent, Quantity, Volts};

/// The two states of a bus, each wire against the reference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    pub recessive: Volts,
    pub dominant_high: Volts,
    pub dominant_low: Volts,
}

impl Levels {
    /// Nominal levels: 2.5 V, 3.5 V and 1.5 V (ISO 11898-2; TI data sheet SLLSF17B).
    pub const NOMINAL: Levels =
        Levels { recessive: Volts::of(2.5), dominant_high: Volts::of(3.5), dominant_low: Volts::of(1.5) };
}

/// Share of dominant bits inside frames: 0.4 to 0.5 (computed from frames of bank data).
pub const DOMINANT_SHARE: Fraction = Fraction::of(0.45);

/// What a slow meter shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Average {
    pub high: Volts,
    pub low: Volts,
    /// High less low.
    pub difference: Volts,
}

/// The averages at a bus load (0 to 1) and a share of dominant bits within frames (0 to 1). `None` outside these.
///
/// V_H = recessive + load · share · (dominant − recessive), and likewise for the low wire (bus reference 1.6).
pub fn average(levels: Levels, load: Fraction, share: Fraction) -> Option<Average> {
    if load.get() > 1.0 || share.get() > 1.0 {
        return None;
    }
    let dominant = load.get() * share.get();
    let recessive = levels.recessive.get();
    let high = recessive + dominant * (levels.dominant_high.get() - recessive);
    let low = recessive + dominant * (levels.dominant_low.get() - recessive);
    Some(Average { high: Volts::new(high).ok()?, low: Volts::new(low).ok()?, difference: Volts::new(high - low).ok()? })
}

/// What two readings mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// No bias: everything on the bus sleeps or is off. Not broken.
    AsleepOrOff,
    /// Awake, and nobody sends (or too little to be seen).
    AwakeIdle,
    Working,
    /// High below low: the wires change places somewhere between the meter and the senders.
    Swapped,
    /// Dominant all the time: a node holds the bus.
    StuckDominant,
    /// A wire lies at the reference.
    AtReference(Wire),
    /// A wire lies at a supply; `None`: both alike, so the wire is not known.
    AtSupply(Option<Wire>),
    /// Below the reference: it is not the bus's reference that the meter touches.
    WrongReference,
    /// None of the patterns.
    Unclear,
}

impl State {
    /// A short key, the same in every language.
    pub const fn key(self) -> &'static str {
        match self {
            State::AsleepOrOff => "asleep_or_off",
            State::AwakeIdle => "awake_idle",
            State::Working => "working",
            State::Swapped => "swapped",
            State::StuckDominant => "stuck_dominant",
            State::AtReference(Wire::High) => "H_at_reference",
            State::AtReference(_) => "L_at_reference",
            State::AtSupply(Some(Wire::High)) => "H_at_supply",
            State::AtSupply(Some(_)) => "L_at_supply",
            State::AtSupply(None) => "H_or_L_at_supply",
            State::WrongReference => "wrong_reference",
            State::Unclear => "unclear",
        }
    }

    /// Other states that give the same two readings.
    ///
    /// With the high wire at the reference, terminators pull the low one there too, and all looks asleep. Two wires that
    /// touch rest at the recessive level, as an idle bus does.
    pub const fn twins(self) -> &'static [&'static str] {
        match self {
            State::AsleepOrOff => &["H_at_reference"],
            State::AwakeIdle => &["H_L_short"],
            _ => &[],
        }
    }
}

/// Asleep or unpowered: −0.1 … +0.1 V on each wire (TI data sheet SLLSF17B).
const ASLEEP: f64 = 0.1;
/// Recessive, awake: 2.0 … 3.0 V on each wire (ISO 11898-2; TI SLLSF17B).
const RECESSIVE: (f64, f64) = (2.0, 3.0);
/// The greatest dominant level of the high wire, 4.5 V (ISO 11898-2; TI SLLSF17B): more can only come from a supply.
const DOMINANT_HIGH_GREATEST: f64 = 4.5;
/// The least dominant difference, 1.5 V (ISO 11898-2): an average over frames stays below it.
const DOMINANT_LEAST: f64 = 1.5;
/// Idle drivers leave at most 12 mV (TI SLLSF17B); a bus at 5 % load shows 40 mV. Between them lies the line (own
/// judgement).
const IDLE_DIFFERENCE: f64 = 0.03;
/// Two readings closer than this are alike: two digits of a usual meter at 20 V (common practice, no source).
const ALIKE: f64 = 0.02;

/// What two readings of a slow meter mean, each wire against the bus's reference.
pub fn state(high: Volts, low: Volts) -> State {
    let (high, low) = (high.get(), low.get());
    let difference = high - low;
    if high < -ASLEEP || low < -ASLEEP {
        State::WrongReference
    } else if high <= ASLEEP && low <= ASLEEP {
        State::AsleepOrOff
    } else if high.max(low) > DOMINANT_HIGH_GREATEST {
        State::AtSupply(if difference.abs() <= ALIKE {
            None
        } else if difference > 0.0 {
            Some(Wire::High)
        } else {
            Some(Wire::Low)
        })
    } else if high <= ASLEEP {
        State::AtReference(Wire::High)
    } else if low <= ASLEEP {
        State::AtReference(Wire::Low)
    } else if difference >= DOMINANT_LEAST {
        State::StuckDominant
    } else if !(RECESSIVE.0..=RECESSIVE.1).contains(&((high + low) / 2.0)) {
        State::Unclear
    } else if difference < -IDLE_DIFFERENCE {
        State::Swapped
    } else if difference <= IDLE_DIFFERENCE {
        State::AwakeIdle
    } else {
        State::Working
    }
}

/// The bus load that would give this difference at nominal levels and the usual share of dominant bits. A rough guide;
/// `None` outside 0 to 100 %.
pub fn load_from(difference: Volts) -> Option<Percent> {
    let nominal = Levels::NOMINAL.dominant_high.get() - Levels::NOMINAL.dominant_low.get();
    let share = difference.get() / nominal / DOMINANT_SHARE.get();
    if (0.0..=1.0).contains(&share) { Percent::new(100.0 * share).ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(high: f64, low: f64) -> State {
        state(Volts::new(high).unwrap(), Volts::new(low).unwrap())
    }

    #[test]
    fn each_pattern_has_its_state() {
        for (high, low, expected) in [
            (0.0, 0.0, State::AsleepOrOff),
            (0.1, -0.1, State::AsleepOrOff),
            (2.5, 2.5, State::AwakeIdle),
            (2.31, 2.30, State::AwakeIdle),
            (2.52, 2.48, State::Working),
            (2.65, 2.35, State::Working),
            (2.38, 2.62, State::Swapped),
            (3.5, 1.5, State::StuckDominant),
            (0.0, 1.2, State::AtReference(Wire::High)),
            (0.4, 0.0, State::AtReference(Wire::Low)),
            (13.3, 13.1, State::AtSupply(Some(Wire::High))),
            (13.0, 13.3, State::AtSupply(Some(Wire::Low))),
            (13.3, 13.3, State::AtSupply(None)),
            (-6.0, -6.0, State::WrongReference),
            (1.2, 1.1, State::Unclear),
        ] {
            assert_eq!(seen(high, low), expected, "{high} V, {low} V");
        }
    }

    #[test]
    fn averages_lead_back_to_their_state() {
        let busy = average(Levels::NOMINAL, Fraction::of(0.3), DOMINANT_SHARE).unwrap();
        assert_eq!(state(busy.high, busy.low), State::Working);
        assert_eq!(state(busy.low, busy.high), State::Swapped);
        assert!((load_from(busy.difference).unwrap().get() - 30.0).abs() < 1e-9);
        assert_eq!(average(Levels::NOMINAL, Fraction::of(1.01), DOMINANT_SHARE), None);
    }
}
