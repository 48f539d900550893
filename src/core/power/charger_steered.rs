//! Sources of charge beside their settings: do the steered ones follow, what may all of them give together, and what
//! becomes of an alternator whose bank opens its switch.

use super::gathered;
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{Amperes, Quantity, Seconds, Volts};

/// What a steered charger is asked for and what it does. What is left out is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Following {
    pub asked_current: Option<Amperes>,
    pub given_current: Option<Amperes>,
    pub asked_voltage: Option<Volts>,
    pub given_voltage: Option<Volts>,
}

/// A charger that follows is within so much of what it is asked for (common practice, no source).
const CURRENT_SHARE: f64 = 0.05;
const CURRENT_LEAST: f64 = 1.0;
const VOLTAGE_SHARE: f64 = 0.01;
/// The bus tells of an opening switch so long before it opens (RV-C 6.5.7, 6.5.12).
pub const WARNING: Seconds = Seconds::of(2.0);
const HAIR: f64 = 1e-9;

/// Does a steered charger stay within what the bank asks for? None before a pair of figures is known.
pub fn follows(seen: &Following) -> Option<Judged> {
    let mut said = Vec::new();
    if let (Some(asked), Some(given)) = (seen.asked_current, seen.given_current) {
        let asked = Amperes::new(asked.get().abs()).ok()?;
        let given = Amperes::new(given.get().abs()).ok()?;
        let most = asked.get() + CURRENT_LEAST.max(asked.get() * CURRENT_SHARE);
        said.push(if given.get() > most * (1.0 + HAIR) {
            (Verdict::Fails, Because::FollowsNotCurrent { given, asked })
        } else {
            (Verdict::Holds, Because::FollowsCurrent { given, asked })
        });
    }
    if let (Some(asked), Some(given)) = (seen.asked_voltage, seen.given_voltage) {
        said.push(if given.get() > asked.get() * (1.0 + VOLTAGE_SHARE + HAIR) {
            (Verdict::Fails, Because::FollowsNotVoltage { given, asked })
        } else {
            (Verdict::Holds, Because::FollowsVoltage { given, asked })
        });
    }
    let mut judged = gathered(said)?;
    judged.next = vec![Because::FollowsTest {}];
    if judged.verdict == Verdict::Fails {
        judged.next.push(Because::FollowsFind {});
    }
    judged.sum = vec![Because::FollowsWithin {}];
    judged.sources = vec!["rv-c", "practice"];
    Some(judged)
}

/// What is said of a steered charger before anybody saw whether it follows: how to see it.
pub fn unseen() -> Judged {
    Judged { next: vec![Because::FollowsTest {}], ..Judged::new(Verdict::NotDone, Because::FollowsUnknown {}) }
}

/// What stands between an alternator and a switch that opens at full current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guard {
    Nothing,
    /// A DC-DC charger.
    Converter,
    /// A regulator that the bank tells to stop before it opens.
    Told,
    /// A lead-acid battery or a suppressor left on the alternator.
    Suppressed,
}

impl Guard {
    pub fn parse(text: &str) -> Option<Guard> {
        match text {
            "nothing" => Some(Guard::Nothing),
            "converter" => Some(Guard::Converter),
            "told" => Some(Guard::Told),
            "suppressed" => Some(Guard::Suppressed),
            _ => None,
        }
    }
}

/// Judges an alternator: what happens when the bank's protection opens. `system` is the nominal voltage.
pub fn alternator(guard: Option<Guard>, system: Option<Volts>) -> Judged {
    let warning = WARNING;
    let (verdict, because) = match guard {
        Some(Guard::Nothing) => (Verdict::Fails, Because::AlternatorNothing {}),
        Some(Guard::Converter) => (Verdict::Holds, Because::AlternatorConverter {}),
        Some(Guard::Told) => (Verdict::Holds, Because::AlternatorTold { warning }),
        Some(Guard::Suppressed) => (Verdict::Holds, Because::AlternatorSuppressed {}),
        None => (Verdict::NotDone, Because::AlternatorUnknown {}),
    };
    let mut judged = Judged::new(verdict, because);
    // ISO 16750-2, without suppression: the two systems that it knows.
    judged.also = match system.map(|system| system.get().abs()) {
        Some(volts) if (9.0..16.0).contains(&volts) => {
            vec![Because::AlternatorPulse { low: Volts::of(79.0), high: Volts::of(101.0) }]
        }
        Some(volts) if (18.0..32.0).contains(&volts) => {
            vec![Because::AlternatorPulse { low: Volts::of(151.0), high: Volts::of(202.0) }]
        }
        _ => Vec::new(),
    };
    judged.next = match guard {
        Some(Guard::Told) => vec![Because::AlternatorTry {}],
        Some(Guard::Converter | Guard::Suppressed) => Vec::new(),
        _ => vec![Because::AlternatorRemedies { warning }],
    };
    judged.next.push(Because::AlternatorHeat {});
    judged.sum = vec![Because::AlternatorWarning { warning }];
    judged.sources = vec!["iso-16750-2", "rv-c", "practice"];
    judged
}

/// All sources together against what the modules take.
#[derive(Clone, Debug, PartialEq)]
pub struct Sources {
    /// One current for each source; none where it is not known.
    pub currents: Vec<Option<Amperes>>,
    /// Of those that the bank cannot steer.
    pub unsteered: Vec<Option<Amperes>>,
    /// All modules' limits together, and with one string less.
    pub limit: Amperes,
    pub one_missing: Amperes,
}

fn total(currents: &[Option<Amperes>]) -> Option<Amperes> {
    let sum = currents.iter().map(|current| current.map(|current| current.get().abs())).sum::<Option<f64>>()?;
    Amperes::new(sum).ok()
}

/// Judges the sum of all sources. None where there is none.
pub fn sources(given: &Sources) -> Option<Judged> {
    if given.currents.is_empty() {
        return None;
    }
    let (limit, left) = (given.limit, given.one_missing);
    let above = |sum: Amperes, limit: Amperes| sum.get() > limit.get() * (1.0 + HAIR);
    let said = match (total(&given.currents), total(&given.unsteered)) {
        (_, Some(sum)) if above(sum, limit) => vec![(Verdict::Fails, Because::SourcesOver { sum, limit })],
        (_, Some(sum)) if above(sum, left) => vec![(Verdict::LookAgain, Because::SourcesOverMissing { sum, left })],
        (Some(sum), Some(_)) if above(sum, left) => {
            vec![(Verdict::LookAgain, Because::SourcesSteeredMust { sum, left })]
        }
        (Some(sum), _) => vec![(Verdict::Holds, Because::SourcesHold { sum, left })],
        (None, _) => vec![(Verdict::NotDone, Because::SourcesUnknown {})],
    };
    let mut judged = gathered(said)?;
    let count = u32::try_from(given.currents.len()).ok()?;
    if let (Some(sum), Some(unsteered)) = (total(&given.currents), total(&given.unsteered)) {
        judged.sum = vec![Because::SourcesSum { count, sum, unsteered }, Because::SourcesLimits { limit, left }];
    }
    if matches!(judged.verdict, Verdict::LookAgain | Verdict::Fails) {
        judged.next = vec![Because::SourcesLower { left }];
    }
    judged.sources = vec!["charge-conservation", "practice"];
    Some(judged)
}

/// What the strings take together: all of them, and all but one. `each` is the limit of one string.
pub fn limits(each: Amperes, strings: u32) -> Option<(Amperes, Amperes)> {
    let times = |count: u32| Amperes::new(each.get() * f64::from(count)).ok();
    Some((times(strings)?, times(strings.saturating_sub(1))?))
}
