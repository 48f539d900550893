//! The idle state of an RS-485 pair, which of its lines is the positive one, and what an ohm meter reads between them.

use crate::core::because::{Because, Named};
use crate::core::bus::rs485::{Bias, IDLE_LEAST, NoBias, UNIT_LOAD, idle};
use crate::core::bus::termination::Meter;
use crate::core::entry::Shown;
use crate::core::job::assess::{Verdict, Window};
use crate::core::judged::{Judged, Line};
use crate::core::units::{Count, Ohms, Quantity, Volts};

/// How far supply and resistors may each be off before an idle voltage is no longer sure: 5 % (common practice, no source).
const TOLERANCE: f64 = 0.05;
/// More unit loads than a driver carries: 32 (TI SN75ALS174, "Bus loading").
const MOST_LOADS: f64 = 32.0;

/// Terminators of a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Terminated {
    BothEnds,
    OneEnd,
    /// They pass no direct current.
    WithCapacitor,
    Nowhere,
}

impl Terminated {
    pub const ALL: [Terminated; 4] =
        [Terminated::BothEnds, Terminated::OneEnd, Terminated::WithCapacitor, Terminated::Nowhere];

    pub fn key(self) -> &'static str {
        match self {
            Terminated::BothEnds => "both-ends",
            Terminated::OneEnd => "one-end",
            Terminated::WithCapacitor => "with-capacitor",
            Terminated::Nowhere => "nowhere",
        }
    }

    pub fn from_key(key: &str) -> Option<Terminated> {
        Terminated::ALL.into_iter().find(|terminated| terminated.key() == key)
    }

    /// Those that pass direct current: 120 Ω each (TIA-485-A and application notes, from memory).
    fn ohms(self) -> Vec<Ohms> {
        let count = match self {
            Terminated::BothEnds => 2,
            Terminated::OneEnd => 1,
            Terminated::WithCapacitor | Terminated::Nowhere => 0,
        };
        vec![Ohms::of(120.0); count]
    }
}

/// What one receiver counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Load {
    Whole,
    Eighth,
}

impl Load {
    pub const ALL: [Load; 2] = [Load::Whole, Load::Eighth];

    pub fn key(self) -> &'static str {
        match self {
            Load::Whole => "whole",
            Load::Eighth => "eighth",
        }
    }

    pub fn from_key(key: &str) -> Option<Load> {
        Load::ALL.into_iter().find(|load| load.key() == key)
    }
}

/// A pair as it is described by hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    pub supply: Volts,
    pub pull_up: Ohms,
    pub pull_down: Ohms,
    pub terminated: Terminated,
    pub receivers: Count,
    pub load: Load,
}

impl Pair {
    pub fn bias(&self) -> Option<Bias> {
        let each = match self.load {
            Load::Whole => 1.0,
            Load::Eighth => 0.125,
        };
        Some(Bias {
            supply: self.supply,
            pull_up: self.pull_up,
            pull_down: self.pull_down,
            terminators: self.terminated.ohms(),
            unit_loads: Count::new(self.receivers.get() * each).ok()?,
        })
    }
}

/// Does the idle voltage reach what receivers need?
pub fn judge_idle(bias: &Bias) -> Judged {
    let needed = IDLE_LEAST;
    let found = match idle(bias) {
        Ok(found) => found,
        Err(NoBias::ShortCircuit) => return Judged::new(Verdict::Fails, Because::IdleShorted {}),
        Err(NoBias::NegativeSupply) => return Judged::new(Verdict::Fails, Because::IdleNoBias {}),
    };
    let volts = found.difference;
    let worst = worst_case(bias).unwrap_or(volts);
    let (verdict, because) = if !found.enough {
        (Verdict::Fails, Because::IdleTooLow { idle: volts, needed })
    } else if worst < needed {
        (Verdict::LookAgain, Because::IdleBarely { idle: volts, needed, worst })
    } else {
        (Verdict::Holds, Because::IdleEnough { idle: volts, needed })
    };
    let mut judged = Judged::new(verdict, because);
    let loads = bias.unit_loads.get();
    if loads > MOST_LOADS {
        judged.verdict = judged.verdict.max(Verdict::LookAgain);
        judged.also.push(Because::IdleTooManyLoads { loads: loads.ceil() as u32 });
    }
    if let (true, Some(largest)) = (verdict != Verdict::Holds, found.largest_each_side) {
        judged.next.push(Because::IdleSmaller { largest });
        judged.next.push(Because::IdleByItself {});
    }
    judged.next.push(Because::IdleOnePlace {});
    let series = Ohms::new(bias.pull_up.get() + bias.pull_down.get());
    match (series, load_of(bias)) {
        (Ok(series), Some(load)) => judged.sum.push(Because::IdleSum { supply: bias.supply, series, load }),
        _ => judged.sum.push(Because::IdleOpen {}),
    }
    if let Some(largest) = found.largest_each_side {
        judged.sum.push(Because::IdleLargest { largest });
    }
    judged.sources = vec!["ti-sn75als174", "tia-485", "modbus-serial", "practice"];
    let top = if bias.supply > needed { bias.supply } else { needed };
    let window = Window { low: needed.into(), high: top.into(), outer: None, error: volts.get() - worst.get() };
    judged.lines.push(Line { name: "volts-idle-line", window, reading: volts.into(), verdict: judged.verdict });
    judged
}

/// The idle voltage with a supply that is low and bias resistors that are high by the tolerance.
fn worst_case(bias: &Bias) -> Option<Volts> {
    let scaled = |ohms: Ohms| Ohms::new(ohms.get() * (1.0 + TOLERANCE)).ok();
    let supply = Volts::new(bias.supply.get() * (1.0 - TOLERANCE)).ok()?;
    let worst = Bias { supply, pull_up: scaled(bias.pull_up)?, pull_down: scaled(bias.pull_down)?, ..bias.clone() };
    idle(&worst).ok().map(|idle| idle.difference)
}

/// Terminators and receivers side by side; `None` where nothing loads the pair.
fn load_of(bias: &Bias) -> Option<Ohms> {
    let siemens =
        bias.terminators.iter().map(|ohms| 1.0 / ohms.get()).sum::<f64>() + bias.unit_loads.get() / UNIT_LOAD.get();
    if siemens > 0.0 { Ohms::new(1.0 / siemens).ok() } else { None }
}

/// What an ohm meter reads between the two lines with everything off: terminators, receivers, and the two bias resistors
/// in series by way of the supply's terminals, if the supply passes direct current when off (the lowest that may be read).
pub fn pair_reading(bias: &Bias) -> Because {
    let series = bias.pull_up.get() + bias.pull_down.get();
    let siemens = load_of(bias).map_or(0.0, |load| 1.0 / load.get()) + if series > 0.0 { 1.0 / series } else { 0.0 };
    match Ohms::new(1.0 / siemens) {
        Ok(reading) => Because::PairReads { reading },
        Err(_) => Because::PairReadsOpen {},
    }
}

/// Which of two lines is the positive one (non-inverting, D1): the one that idles higher by at least 200 mV. Readings of
/// each against the reference. `None` where they are no voltages.
pub fn judge_polarity(first: Shown, second: Shown) -> Option<Judged> {
    let difference = Volts::new(first.figure.value() - second.figure.value()).ok()?;
    let share = Meter::USUAL.share.get() / 100.0;
    let digits = f64::from(Meter::USUAL.digits) * (first.digit + second.digit);
    let error = difference.get().abs() * share + digits;
    let needed = IDLE_LEAST.get();
    let size = difference.get().abs();
    let plus = Named::new(if difference.get() >= 0.0 { "line-first" } else { "line-second" });
    let shown = Volts::new(size).ok()?;
    let (verdict, because) = if size - error >= needed - 1e-9 {
        (Verdict::Holds, Because::LineIsPlus { plus, difference: shown })
    } else if size + error >= needed {
        (Verdict::LookAgain, Because::LineBorder { plus, difference: shown, error: Volts::new(error).ok()? })
    } else {
        (Verdict::LookAgain, Because::LineUnclear { difference: shown, needed: IDLE_LEAST })
    };
    let mut judged = Judged::new(verdict, because);
    judged.next = if verdict == Verdict::Holds {
        vec![Because::LineLetters {}, Because::LineSwapOnce {}]
    } else {
        vec![Because::LineQuiet {}, Because::LineSwapOnce {}]
    };
    judged.sources = vec!["rs485-polarity", "ti-sn75als174", "practice"];
    Some(judged)
}
