//! The capacitors of an inverter behind a switch that closes: the first peak, and what a pre-charge resistor makes of it.

use super::gathered;
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{
    Amperes, Farads, FaultAmperes, Fraction, Joules, Ohms, Quantity, Seconds, SquareAmpereSeconds, Volts, Watts,
};

/// Empty capacitors and the way to them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inrush {
    pub capacitance: Farads,
    pub voltage: Volts,
    /// Bank, cable and joints, both ways.
    pub path: Ohms,
    /// The resistor that charges them first.
    pub resistor: Option<Ohms>,
    /// How long it does so. Left out: [`WAITS`] time constants.
    pub wait: Option<Seconds>,
    /// What the modules, or a fuse, bear for a moment.
    pub limit: Option<Amperes>,
}

/// Time constants that are waited for: the voltage is within 1 % then (common practice, no source).
pub const WAITS: f64 = 5.0;
/// Resistors that are used for it, Ω (common practice, no source).
const USUAL: (f64, f64) = (10.0, 100.0);

/// What happens with a resistor first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Precharge {
    pub first: FaultAmperes,
    /// [`WAITS`] time constants.
    pub time: Seconds,
    /// How long it is charged.
    pub waited: Seconds,
    /// What is still missing when the switch closes.
    pub gap: Volts,
    /// The peak that this gives.
    pub second: FaultAmperes,
    /// In the resistor at the start.
    pub power: Watts,
}

/// What happens when the switch closes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closing {
    /// Into empty capacitors, without any resistor.
    pub peak: FaultAmperes,
    /// What the capacitors take up; as much again becomes heat in the way.
    pub energy: Joules,
    /// What this does to a fuse: C·V²/2R.
    pub through: SquareAmpereSeconds,
    pub precharge: Option<Precharge>,
}

/// The sum. `None` where nothing limits the current, or beyond what the quantities can hold.
pub fn closing(given: Inrush) -> Option<Closing> {
    let (volts, farads, path) = (given.voltage.get().abs(), given.capacitance.get(), given.path.get());
    if path <= 0.0 {
        return None;
    }
    let energy = farads * volts * volts / 2.0;
    Some(Closing {
        peak: FaultAmperes::new(volts / path).ok()?,
        energy: Joules::new(energy).ok()?,
        through: SquareAmpereSeconds::new(energy / path).ok()?,
        precharge: match given.resistor {
            Some(resistor) => Some(precharge(given, resistor)?),
            None => None,
        },
    })
}

fn precharge(given: Inrush, resistor: Ohms) -> Option<Precharge> {
    let (volts, path) = (given.voltage.get().abs(), given.path.get());
    let whole = resistor.get() + path;
    let constant = resistor.get() * given.capacitance.get();
    let waited = given.wait.map_or(WAITS * constant, Quantity::get);
    // The time constant is that of the resistor; the way adds next to nothing to it. Without any, all is charged at once.
    let gap = if constant > 0.0 { volts * (-waited / constant).exp() } else { 0.0 };
    Some(Precharge {
        first: FaultAmperes::new(volts / whole).ok()?,
        time: Seconds::new(WAITS * constant).ok()?,
        waited: Seconds::new(waited).ok()?,
        gap: Volts::new(gap).ok()?,
        second: FaultAmperes::new(gap / path).ok()?,
        power: Watts::new(volts * volts / whole).ok()?,
    })
}

/// Judges the closing of the switch. `None` as for [`closing`].
pub fn judge(given: Inrush) -> Option<Judged> {
    let found = closing(given)?;
    let said = match (given.limit, found.precharge) {
        (None, None) => vec![(Verdict::LookAgain, Because::InrushNoLimit { peak: found.peak })],
        (None, Some(charged)) => {
            vec![(Verdict::LookAgain, Because::InrushSecondNoLimit { gap: charged.gap, second: charged.second })]
        }
        (Some(limit), None) if found.peak.get() > limit.get() => {
            vec![(Verdict::Fails, Because::InrushOver { peak: found.peak, limit })]
        }
        (Some(limit), None) => vec![(Verdict::Holds, Because::InrushWithin { peak: found.peak, limit })],
        (Some(limit), Some(charged)) => held(limit, charged),
    };
    let mut judged = gathered(said)?;
    judged.next = next(given, found);
    judged.sum = vec![
        Because::InrushPeak { voltage: given.voltage, path: given.path, peak: found.peak },
        Because::InrushEnergy { capacitance: given.capacitance, voltage: given.voltage, energy: found.energy },
        Because::InrushThrough { through: found.through },
    ];
    if let (Some(resistor), Some(charged)) = (given.resistor, found.precharge) {
        judged.sum.push(Because::InrushFirst { resistor, first: charged.first, power: charged.power });
        judged.sum.push(Because::InrushTime { resistor, capacitance: given.capacitance, time: charged.time });
        let left = Fraction::new(charged.gap.get() / given.voltage.get().abs().max(1e-9)).ok();
        if let Some(left) = left {
            judged.sum.push(Because::InrushGap { waited: charged.waited, gap: charged.gap, left });
        }
    }
    judged.sources = vec!["kirchhoff", "practice"];
    Some(judged)
}

fn held(limit: Amperes, charged: Precharge) -> Vec<(Verdict, Because)> {
    let Precharge { first, gap, second, .. } = charged;
    let mut said = vec![if second.get() > limit.get() {
        (Verdict::Fails, Because::InrushSecondOver { gap, second, limit })
    } else {
        (Verdict::Holds, Because::InrushSecondHolds { gap, second, limit })
    }];
    if first.get() > limit.get() {
        said.push((Verdict::Fails, Because::InrushFirstOver { first, limit }));
    }
    said
}

fn next(given: Inrush, found: Closing) -> Vec<Because> {
    let mut next = Vec::new();
    match (given.resistor, found.precharge) {
        (None, _) if given.limit.is_none_or(|limit| found.peak.get() > limit.get()) => {
            next.push(Because::InrushTakeResistor {})
        }
        (Some(resistor), Some(charged)) => {
            if charged.waited.get() < charged.time.get() * (1.0 - 1e-9) {
                next.push(Because::InrushWait { time: charged.time });
            }
            if !(USUAL.0..=USUAL.1).contains(&resistor.get()) {
                next.push(Because::InrushUsual {});
            }
            next.push(Because::InrushCarries { power: charged.power, energy: found.energy });
        }
        _ => {}
    }
    next
}
