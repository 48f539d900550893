//! Two readings of a slow meter on a powered bus, each wire against the reference.

use crate::core::because::{Because, Named};
use crate::core::bus::levels::{State, state};
use crate::core::bus::line::Wire;
use crate::core::bus::termination::Meter;
use crate::core::entry::Shown;
use crate::core::job::assess::{Verdict, Window};
use crate::core::judged::{Judged, Line};
use crate::core::units::{Percent, Quantity, Volts};

/// Recessive level of a bus that is awake, each wire (ISO 11898-2; TI data sheets).
const AWAKE: (Volts, Volts) = (Volts::of(2.0), Volts::of(3.0));
/// Share of dominant bits inside frames, least and greatest (bus reference 1.6, computed from frames of bank data).
const SHARES: (f64, f64) = (0.4, 0.5);
/// Nominal dominant difference, V (ISO 11898-2).
const DOMINANT: f64 = 2.0;
/// The comfortable ceiling of a bus's load (common practice, no source: 30 to 50 %).
const COMFORT: f64 = 50.0;

/// What the two readings mean. `None` where they are no voltages.
pub fn judge(high: Shown, low: Shown) -> Option<Judged> {
    let (h, l): (Volts, Volts) = (high.figure.as_quantity()?, low.figure.as_quantity()?);
    let found = state(h, l);
    let difference = Volts::new(h.get() - l.get()).ok()?;
    let load = load_between(difference);
    let (mut verdict, mut because) = (verdict_of(found), because_of(found, h, l, difference));
    if found == State::Working {
        match load {
            None => (verdict, because) = (Verdict::LookAgain, Because::VoltsBeyondLoad { difference }),
            Some((least, _)) if least.get() > COMFORT => {
                (verdict, because) = (Verdict::LookAgain, Because::VoltsBusy { difference, least });
            }
            Some(_) => {}
        }
    }
    // A state that the meter's error alone could turn into one with another verdict is looked at again.
    let others = within_error(high, low, found);
    if others.iter().any(|other| verdict_of(*other) != verdict) {
        verdict = Verdict::LookAgain;
    }
    let mut judged = Judged::new(verdict, because);
    judged.may_be = twins(found);
    judged.may_be.extend(
        others.iter().map(|other| Because::VoltsOr { state: Named::new(format!("volts-state-{}", other.key())) }),
    );
    judged.next = next(found, load);
    if !others.is_empty() && matches!(found, State::Working | State::AwakeIdle | State::Swapped) {
        judged.next.insert(0, Because::VoltsBetween {});
    }
    if let (State::Working, Some((least, greatest))) = (found, load) {
        judged.sum.push(Because::VoltsLoad { difference, least, greatest });
    }
    judged.sum.push(Because::VoltsLevels {});
    judged.sum.push(Because::VoltsDominant {});
    let errors = [high, low].map(|shown| Meter::USUAL.error(shown.figure.value(), shown.digit));
    if let Ok(each) = Volts::new(errors[0].max(errors[1])) {
        judged.sum.push(Because::VoltsMeter { each });
    }
    judged.sources = vec!["iso-11898-2-2003", "ti-slvs-levels", "practice"];
    judged.lines =
        vec![line("wire-high", high, errors[0], judged.verdict), line("wire-low", low, errors[1], judged.verdict)];
    Some(judged)
}

fn line(name: &'static str, shown: Shown, error: f64, verdict: Verdict) -> Line {
    let window = Window { low: AWAKE.0.into(), high: AWAKE.1.into(), outer: None, error };
    Line { name, window, reading: shown.figure, verdict }
}

/// The load of the bus that such an average stands for, at the greatest and the least share of dominant bits; `None` when
/// even a bus that is always busy would give less.
pub fn load_between(difference: Volts) -> Option<(Percent, Percent)> {
    let at = |share: f64| 100.0 * difference.get() / DOMINANT / share;
    let least = at(SHARES.1);
    // A hair of rounding does not decide.
    (least <= 100.0 + 1e-9).then_some(())?;
    Some((Percent::new(least.min(100.0)).ok()?, Percent::new(at(SHARES.0).min(100.0)).ok()?))
}

/// Other states that the same readings may be within the meter's error.
///
/// The share of the reading is taken as common to both, as one meter in one range has it; the digits are not.
fn within_error(high: Shown, low: Shown, found: State) -> Vec<State> {
    let share = Meter::USUAL.share.get() / 100.0;
    let digits = f64::from(Meter::USUAL.digits);
    let mut others = Vec::new();
    for gain in [1.0 - share, 1.0 + share] {
        for (up, down) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
            let h = Volts::new(high.figure.value() * gain + up * digits * high.digit);
            let l = Volts::new(low.figure.value() * gain + down * digits * low.digit);
            if let (Ok(h), Ok(l)) = (h, l) {
                let other = state(h, l);
                if other != found && !others.contains(&other) {
                    others.push(other);
                }
            }
        }
    }
    others
}

fn verdict_of(state: State) -> Verdict {
    match state {
        State::Working => Verdict::Holds,
        State::AsleepOrOff | State::AwakeIdle | State::WrongReference | State::Unclear => Verdict::LookAgain,
        State::Swapped | State::StuckDominant | State::AtReference(_) | State::AtSupply(_) => Verdict::Fails,
    }
}

fn named(wire: Wire) -> Named {
    Named::new(if wire == Wire::High { "wire-high" } else { "wire-low" })
}

fn because_of(state: State, high: Volts, low: Volts, difference: Volts) -> Because {
    match state {
        State::AsleepOrOff => Because::VoltsAsleep { high, low },
        State::AwakeIdle => Because::VoltsIdle { high, low },
        State::Working => Because::VoltsWorking { high, low, difference },
        State::Swapped => Because::VoltsSwapped { high, low },
        State::StuckDominant => Because::VoltsStuck { difference },
        State::AtReference(Wire::High) => {
            Because::VoltsWireAtReference { wire: named(Wire::High), other: named(Wire::Low), reading: high }
        }
        State::AtReference(wire) => {
            Because::VoltsWireAtReference { wire: named(wire), other: named(Wire::High), reading: low }
        }
        State::AtSupply(Some(wire)) => {
            Because::VoltsWireAtSupply { wire: named(wire), reading: if wire == Wire::High { high } else { low } }
        }
        State::AtSupply(None) => Because::VoltsBothAtSupply { reading: high },
        State::WrongReference => Because::VoltsWrongReference { reading: if high < low { high } else { low } },
        State::Unclear => Because::VoltsUnclear { high, low },
    }
}

fn twins(state: State) -> Vec<Because> {
    match state {
        State::AsleepOrOff => vec![Because::VoltsTwinReference {}],
        State::AwakeIdle => vec![Because::VoltsTwinTouch {}],
        _ => Vec::new(),
    }
}

fn next(state: State, load: Option<(Percent, Percent)>) -> Vec<Because> {
    match state {
        State::AsleepOrOff => vec![Because::VoltsWake {}],
        State::AwakeIdle => vec![Because::VoltsDisplay {}, Because::VoltsAskSender {}],
        State::Working => match load {
            Some((least, _)) if least.get() <= COMFORT => vec![Because::VoltsDisplay {}],
            Some(_) => vec![Because::VoltsCountSenders {}],
            None => vec![Because::VoltsUnplug {}],
        },
        State::Swapped => vec![Because::VoltsComparePins {}],
        State::StuckDominant => vec![Because::VoltsUnplug {}],
        State::AtReference(wire) => vec![Because::VoltsOhmsToReference { wire: named(wire) }],
        State::AtSupply(_) => vec![Because::VoltsIsolate {}, Because::VoltsParts {}],
        State::WrongReference => vec![Because::VoltsFindReference {}],
        State::Unclear => vec![Because::VoltsFindReference {}, Because::VoltsUnplug {}],
    }
}
