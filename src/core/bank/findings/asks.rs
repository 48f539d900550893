//! Is what the bank asks of its chargers what this bank may ask?

use super::{practice, stop};
use crate::core::bank::asks::{CELL_FILLS, CELL_MOST, MayAsk, may_ask, time_to_full};
use crate::core::bank::modules::{Bank, BankError};
use crate::core::bank::total::{Asked, Totals, total};
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{Amperes, Celsius, Quantity, Volts};

/// What is asked of the chargers now, as a display or a log shows it, and the temperatures at which the modules may be
/// charged. What is left out is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asks {
    pub voltage: Option<Volts>,
    /// A magnitude.
    pub current: Option<Amperes>,
    /// Left out: 0 °C (common practice, no source).
    pub coldest_charge: Option<Celsius>,
    /// Left out: 45 °C (common practice, no source).
    pub hottest_charge: Option<Celsius>,
}

/// Charging ends at 0 °C and below, and above 45 °C, where the maker says nothing (common practice, no source).
const COLDEST: Celsius = Celsius::of(0.0);
const HOTTEST: Celsius = Celsius::of(45.0);
/// So near to the coldest, charging should be reduced already (common practice, no source).
const NEARLY_COLD: f64 = 5.0;
/// Asked currents up to this are none (common practice, no source).
const NOTHING: f64 = 0.5;
/// Differences of floating figures that are no differences.
const HAIR: f64 = 1e-9;

type Said = (Verdict, Because);

/// Judges what is asked; none before anything is.
pub fn asks(bank: &Bank, asks: &Asks) -> Result<Option<Judged>, BankError> {
    let totals = total(bank, Asked::default())?;
    let may = may_ask(bank, &totals)?;
    Ok(asks_of(bank, &totals, &may, asks))
}

/// [`asks`] of a bank whose totals and bounds are known.
pub(super) fn asks_of(bank: &Bank, totals: &Totals, may: &MayAsk, asks: &Asks) -> Option<Judged> {
    let mut said: Vec<Said> = Vec::new();
    if let Some(current) = asks.current {
        said.push(of_current(totals, may, current));
        if current.get() > NOTHING {
            said.extend(of_temperatures(bank, asks));
        }
    }
    if let Some(voltage) = asks.voltage {
        said.push(of_voltage(may, voltage));
    }
    // The worst first; what is not known stands between what holds and what does not.
    let rank = |verdict: Verdict| match verdict {
        Verdict::Fails => 0,
        Verdict::LookAgain => 1,
        Verdict::NotDone => 2,
        Verdict::Holds => 3,
    };
    said.sort_by_key(|(verdict, _)| rank(*verdict));
    let mut all = said.into_iter();
    let (verdict, because) = all.next()?;
    let mut judged = practice(verdict, because);
    judged.also = all.map(|(_, because)| because).collect();
    if verdict == Verdict::Fails || verdict == Verdict::LookAgain {
        judged.next = vec![Because::AskSetChargers {}];
    }
    judged.sum = sum(bank, totals, may, asks);
    judged.sources = vec!["charge-conservation", "bpx-lfp", "linden", "petzl-danzer-2014", "practice"];
    Some(judged)
}

fn of_current(totals: &Totals, may: &MayAsk, asked: Amperes) -> Said {
    let above = |limit: Amperes| asked.get() > limit.get() * (1.0 + HAIR) + HAIR;
    if totals.charge_permitted == Some(false) && asked.get() > NOTHING {
        return (Verdict::Fails, Because::AskHeldOff { asked });
    }
    let Some(sum) = may.current else { return (Verdict::NotDone, Because::AskCurrentUnknown { asked }) };
    match (may.current_if_whole, may.current_shared) {
        (Some(whole), _) if above(sum) && whole > sum && !above(whole) => {
            (Verdict::Fails, Because::AskForMissing { asked, limit: sum, whole })
        }
        _ if above(sum) => (Verdict::Fails, Because::AskOverSum { asked, limit: sum }),
        (_, Some(shared)) if above(shared) => (Verdict::LookAgain, Because::AskOverShared { asked, limit: shared }),
        _ => (Verdict::Holds, Because::AskCurrentFits { asked, limit: may.current_shared.unwrap_or(sum) }),
    }
}

/// The coldest and the hottest reading that anybody gave: one is enough.
fn of_temperatures(bank: &Bank, asks: &Asks) -> Vec<Said> {
    let known = bank.modules().enumerate().flat_map(|(index, (_, module))| {
        module.temperatures.iter().flatten().map(move |reading| (index + 1, *reading))
    });
    let readings: Vec<(usize, Celsius)> = known.collect();
    let by = |a: &&(usize, Celsius), b: &&(usize, Celsius)| a.1.get().total_cmp(&b.1.get());
    let mut said = Vec::new();
    let limit = asks.coldest_charge.unwrap_or(COLDEST);
    match readings.iter().min_by(by) {
        Some((at, coldest)) if *coldest <= limit => {
            said.push((Verdict::Fails, Because::AskTooCold { at: stop(*at), reading: *coldest, limit }));
        }
        Some((at, coldest)) if coldest.get() < limit.get() + NEARLY_COLD => {
            said.push((Verdict::LookAgain, Because::AskNearlyCold { at: stop(*at), reading: *coldest, limit }));
        }
        _ => {}
    }
    let limit = asks.hottest_charge.unwrap_or(HOTTEST);
    if let Some((at, hottest)) = readings.iter().max_by(by).filter(|(_, hottest)| *hottest > limit) {
        said.push((Verdict::Fails, Because::AskTooHot { at: stop(*at), reading: *hottest, limit }));
    }
    said
}

fn of_voltage(may: &MayAsk, asked: Volts) -> Said {
    let above = |limit: Volts| asked.get() > limit.get() * (1.0 + HAIR) + HAIR;
    let times = |cell: Volts, cells: u32| Volts::new(cell.get() * f64::from(cells)).ok();
    let of_cells =
        may.cells.and_then(|(least, most)| Some((least, times(CELL_MOST, least)?, times(CELL_FILLS, most)?)));
    match (may.voltage, may.voltage_shared, of_cells) {
        (Some(limit), _, _) if above(limit) => (Verdict::Fails, Because::AskVoltsOver { asked, limit }),
        (_, _, Some((cells, limit, _))) if above(limit) => {
            (Verdict::Fails, Because::AskVoltsOverCells { asked, cells, limit })
        }
        (_, Some(limit), _) if above(limit) => (Verdict::LookAgain, Because::AskVoltsOverWeakest { asked, limit }),
        (_, _, Some((_, _, fills))) if asked.get() < fills.get() * (1.0 - HAIR) => {
            (Verdict::LookAgain, Because::AskVoltsLow { asked, least: fills })
        }
        (Some(limit), _, _) | (None, _, Some((_, limit, _))) => (Verdict::Holds, Because::AskVoltsFit { asked, limit }),
        (None, _, None) => (Verdict::NotDone, Because::AskVoltsUnknown { asked }),
    }
}

fn sum(bank: &Bank, totals: &Totals, may: &MayAsk, asks: &Asks) -> Vec<Because> {
    let mut sum = Vec::new();
    if let Some(limit) = may.current {
        sum.push(Because::AskSumCurrent { limit });
    }
    if let Some(limit) = may.current_shared {
        sum.push(Because::AskSumShared { limit });
    }
    if let (Some(limit), Some(place)) = (may.current_one_missing, may.missing) {
        let number = bank.modules().position(|(other, _)| other == place).map_or(1, |index| index + 1);
        sum.push(Because::AskSumMissing { limit, at: stop(number) });
    }
    if let Some(limit) = may.voltage {
        sum.push(Because::AskSumVolts { limit });
    }
    if let Some(hours) = totals.to_full {
        sum.push(Because::AskFullNow { hours });
    }
    if let Some((current, hours)) =
        asks.current.and_then(|current| Some((current, time_to_full(totals, current, 1.0)?)))
    {
        sum.push(Because::AskFullAsked { current, hours });
    }
    sum
}
