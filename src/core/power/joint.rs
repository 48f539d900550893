//! A joint by the millivolts across it: its resistance, its heat, and its siblings.

use super::gathered;
use crate::core::because::Because;
use crate::core::entry::Shown;
use crate::core::job::assess::{Verdict, Window};
use crate::core::judged::{Judged, Line};
use crate::core::units::{Amperes, Ohms, Quantity, Ratio, Volts, Watts};

/// What was read at a joint: the voltage across it, and the current through it at that moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Read {
    pub voltage: Shown,
    pub current: Amperes,
}

/// A joint that is good has no more (common practice, no source).
pub const GOOD: Ohms = Ohms::of(0.0001);
/// So many times the middle of its siblings is odd (common practice, no source).
const ODD: f64 = 2.0;
/// What a meter may be off: 0.8 % and two digits (common practice, no source).
const METER: (f64, f64) = (0.008, 2.0);

/// A joint as it follows from its reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    pub resistance: Ohms,
    pub heat: Watts,
    /// How far the resistance may be off by the meter.
    pub error: Ohms,
}

/// The joint; `None` without current, or beyond what the quantities can hold.
pub fn joint(read: Read) -> Option<Joint> {
    let (volts, current) = (read.voltage.figure.value().abs(), read.current.get().abs());
    if current <= 0.0 {
        return None;
    }
    let error = METER.0 * volts + METER.1 * read.voltage.digit;
    Some(Joint {
        resistance: Ohms::new(volts / current).ok()?,
        heat: Watts::new(volts * current).ok()?,
        error: Ohms::new(error / current).ok()?,
    })
}

/// The middle of some resistances; none of none.
pub fn middle(mut all: Vec<f64>) -> Option<f64> {
    all.sort_by(f64::total_cmp);
    let half = all.len() / 2;
    match all.len() {
        0 => None,
        odd if odd % 2 == 1 => Some(all[half]),
        _ => Some((all[half - 1] + all[half]) / 2.0),
    }
}

/// Judges a joint beside its siblings at like currents. `None` as for [`joint`].
pub fn judge(read: Read, siblings: &[Read]) -> Option<Judged> {
    let found = joint(read)?;
    let Joint { resistance, heat, error } = found;
    let (low, high) = (resistance.get() - error.get(), resistance.get() + error.get());
    let good = GOOD;
    let mut said = vec![if low > good.get() {
        (Verdict::LookAgain, Because::JointOverGood { resistance, good, heat })
    } else if high > good.get() {
        (Verdict::LookAgain, Because::JointStraddles { resistance, good, error })
    } else {
        (Verdict::Holds, Because::JointGood { resistance, good, heat })
    }];
    let others: Vec<f64> =
        siblings.iter().filter_map(|read| joint(*read)).map(|found| found.resistance.get()).collect();
    let known = others.len();
    let usual = middle(others).and_then(|usual| Ohms::new(usual).ok());
    if let Some(usual) = usual {
        let times = Ratio::new(resistance.get() / usual.get().max(1e-12)).unwrap_or(Ratio::of(1.0e6));
        // One sibling alone does not tell which of the two is odd; and what the meter cannot tell apart is not odd.
        said.push(if low > ODD * usual.get() && known > 1 {
            (Verdict::Fails, Because::JointOdd { resistance, usual, times })
        } else if low > ODD * usual.get() {
            (Verdict::LookAgain, Because::JointUnlike { resistance, usual })
        } else {
            (Verdict::Holds, Because::JointLike { usual })
        });
    }
    let mut judged = gathered(said)?;
    judged.next = match judged.verdict {
        Verdict::Holds => Vec::new(),
        _ if high > good.get() && low <= good.get() => vec![Because::JointMoreCurrent {}],
        _ => vec![Because::JointIsolateFirst {}, Because::JointRemake {}],
    };
    if usual.is_none() {
        judged.next.push(Because::JointCompare {});
    }
    let voltage = Volts::new(read.voltage.figure.value().abs()).ok()?;
    let current = Amperes::new(read.current.get().abs()).ok()?;
    judged.sum = vec![
        Because::JointSum { voltage, current, resistance },
        Because::JointHeat { voltage, current, heat },
        Because::JointMeter { error },
    ];
    judged.sources = vec!["kirchhoff", "practice"];
    judged.lines = vec![Line {
        name: "power-line-joint",
        window: Window { low: Ohms::of(0.0).into(), high: good.into(), outer: None, error: error.get() },
        reading: resistance.into(),
        verdict: if low > good.get() || high > good.get() { Verdict::LookAgain } else { Verdict::Holds },
    }];
    Some(judged)
}
