//! The settings of a charger against a bank: each deviation with what it does to the cells.

use super::gathered;
use crate::core::bank::asks::{CELL_FILLS, CELL_MOST};
use crate::core::bank::rest;
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{AmpereHours, Amperes, Celsius, Fraction, Hours, Percent, Quantity, Volts, VoltsPerKelvin};

/// What a charger is set to. What is left out is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Settings {
    pub absorption: Option<Volts>,
    pub float: Option<Volts>,
    /// The voltage at which it begins again.
    pub restart: Option<Volts>,
    /// For the whole bank; below zero where warmth lowers the voltage.
    pub compensation: Option<VoltsPerKelvin>,
    pub equalise: Option<bool>,
    pub equalise_voltage: Option<Volts>,
    /// Has it a stop for the cold, by a sensor on the battery?
    pub has_cold_stop: Option<bool>,
    pub cold_stop: Option<Celsius>,
    pub current: Option<Amperes>,
    /// The current at which absorption ends.
    pub tail: Option<Amperes>,
    /// The longest absorption.
    pub absorption_time: Option<Hours>,
}

/// The bank that it charges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bank {
    /// Cells in series from pole to pole.
    pub cells: u32,
    /// The modules' own limit, from pole to pole.
    pub most: Option<Volts>,
    /// Charging ends at this temperature. Left out: 0 °C (common practice, no source).
    pub coldest: Option<Celsius>,
    pub capacity: Option<AmpereHours>,
    /// All modules' limits together.
    pub limit: Option<Amperes>,
}

/// Bounds in V for each cell (common practice, no source).
const ABSORPTION_USUAL: (f64, f64) = (3.45, 3.55);
const ABSORPTION_UPPER: f64 = 3.60;
const FLOAT: (f64, f64) = (3.33, 3.40);
/// Lead-acid floats end here; held for ever they age the cells (common practice, no source).
const FLOAT_MOST: f64 = 3.45;
const RESTART: (f64, f64) = (3.25, 3.30);
/// Shares of the capacity (common practice, no source).
const TAIL: (f64, f64) = (0.02, 0.05);
const CURRENT: f64 = 0.5;
const TIME_MOST: f64 = 2.0;
/// A stop for the cold lies up to so many degrees above the coldest (common practice, no source).
const COLD_MARGIN: f64 = 5.0;
/// Compensation counts from 25 °C; it is looked at for a cold and a warm bank.
const REFERENCE: f64 = 25.0;
const COLD: Celsius = Celsius::of(0.0);
const WARM: Celsius = Celsius::of(45.0);
const HAIR: f64 = 1e-9;

type Said = (Verdict, Because);

impl Bank {
    /// The voltage of one cell.
    pub fn cell(&self, volts: Volts) -> Option<Volts> {
        if self.cells == 0 { None } else { Volts::new(volts.get() / f64::from(self.cells)).ok() }
    }

    /// The highest voltage from pole to pole: the modules' own limit, and never more than the cells bear.
    pub fn highest(&self) -> Option<Volts> {
        let cells = Volts::new(CELL_MOST.get() * f64::from(self.cells)).ok()?;
        Some(self.most.filter(|most| *most < cells).unwrap_or(cells))
    }
}

/// Judges the settings one by one. None where none is known.
pub fn judge(set: &Settings, bank: &Bank) -> Option<Judged> {
    let said = [
        set.absorption.and_then(|volts| absorption(volts, bank)),
        set.float.and_then(|volts| float(volts, bank)),
        set.restart.and_then(|volts| restart(volts, bank)),
        set.compensation.and_then(|by| compensation(by, set, bank)),
        set.equalise.and_then(|on| equalise(on, set, bank)),
        cold(set, bank),
        set.current.and_then(|current| current_of(current, bank)),
        set.tail.and_then(|tail| tail_of(tail, bank)),
        set.absorption_time.map(time),
    ];
    let mut judged = gathered(said.into_iter().flatten().collect())?;
    judged.sum = sum(set, bank);
    judged.sources = vec!["practice", "bpx-lfp", "linden-lead-acid"];
    if judged.verdict != Verdict::Holds {
        judged.next = vec![Because::ChargerMakerFirst {}];
    }
    Some(judged)
}

fn absorption(volts: Volts, bank: &Bank) -> Option<Said> {
    let (cell, most) = (bank.cell(volts)?, bank.highest()?);
    let each = cell.get();
    let by_maker = bank.most.is_some();
    Some(if volts.get() > most.get() * (1.0 + HAIR) {
        (Verdict::Fails, Because::ChargerAbsorptionOver { volts, most, cell })
    } else if each > ABSORPTION_UPPER + HAIR || (each > ABSORPTION_USUAL.1 + HAIR && !by_maker) {
        (Verdict::LookAgain, Because::ChargerAbsorptionHigh { volts, cell })
    } else if each < CELL_FILLS.get() - HAIR {
        (Verdict::LookAgain, Because::ChargerAbsorptionLow { volts, cell })
    } else if each < ABSORPTION_USUAL.0 - HAIR {
        (Verdict::LookAgain, Because::ChargerAbsorptionGentle { volts, cell })
    } else {
        (Verdict::Holds, Because::ChargerAbsorptionHolds { volts, cell, most })
    })
}

fn float(volts: Volts, bank: &Bank) -> Option<Said> {
    let cell = bank.cell(volts)?;
    let each = cell.get();
    Some(if each > FLOAT_MOST + HAIR {
        (Verdict::Fails, Because::ChargerFloatOver { volts, cell })
    } else if each > FLOAT.1 + HAIR {
        (Verdict::LookAgain, Because::ChargerFloatHigh { volts, cell })
    } else if each < FLOAT.0 - HAIR {
        (Verdict::LookAgain, Because::ChargerFloatLow { volts, cell })
    } else {
        (Verdict::Holds, Because::ChargerFloatHolds { volts, cell })
    })
}

fn restart(volts: Volts, bank: &Bank) -> Option<Said> {
    let cell = bank.cell(volts)?;
    let each = cell.get();
    let soc: Percent = rest::soc(cell, 1).ok()?;
    Some(if each > RESTART.1 + HAIR {
        (Verdict::LookAgain, Because::ChargerRestartHigh { volts, cell })
    } else if each < RESTART.0 - HAIR {
        (Verdict::LookAgain, Because::ChargerRestartLow { volts, cell, soc })
    } else {
        (Verdict::Holds, Because::ChargerRestartHolds { volts, cell, soc })
    })
}

/// The absorption voltage at a temperature.
pub fn compensated(absorption: Volts, by: VoltsPerKelvin, at: Celsius) -> Option<Volts> {
    Volts::new(absorption.get() + by.get() * (at.get() - REFERENCE)).ok()
}

fn compensation(by: VoltsPerKelvin, set: &Settings, bank: &Bank) -> Option<Said> {
    if by.get() == 0.0 {
        return Some((Verdict::Holds, Because::ChargerCompensationNone {}));
    }
    let Some(absorption) = set.absorption else {
        return Some((Verdict::LookAgain, Because::ChargerCompensationSome { by }));
    };
    let (cold, warm) = (compensated(absorption, by, COLD)?, compensated(absorption, by, WARM)?);
    let (cell, cell_warm) = (bank.cell(cold)?, bank.cell(warm)?);
    let most = bank.highest()?;
    Some(if cold > most || warm > most {
        let (volts, cell, at) = if cold > warm { (cold, cell, COLD) } else { (warm, cell_warm, WARM) };
        (Verdict::Fails, Because::ChargerCompensationOver { by, at, volts, cell, most })
    } else {
        (Verdict::LookAgain, Because::ChargerCompensationMoves { by, cold, warm, cell, cell_warm })
    })
}

fn equalise(on: bool, set: &Settings, bank: &Bank) -> Option<Said> {
    Some(match set.equalise_voltage {
        _ if !on => (Verdict::Holds, Because::ChargerEqualiseOff {}),
        Some(volts) => (Verdict::Fails, Because::ChargerEqualiseVolts { volts, cell: bank.cell(volts)? }),
        None => (Verdict::Fails, Because::ChargerEqualiseOn {}),
    })
}

fn cold(set: &Settings, bank: &Bank) -> Option<Said> {
    let coldest = bank.coldest.unwrap_or(COLD);
    match (set.has_cold_stop, set.cold_stop) {
        (Some(false), _) => Some((Verdict::LookAgain, Because::ChargerColdNone { coldest })),
        (_, Some(stop)) if stop.get() < coldest.get() - HAIR => {
            Some((Verdict::Fails, Because::ChargerColdLate { stop, coldest }))
        }
        (_, Some(stop)) if stop.get() > coldest.get() + COLD_MARGIN + HAIR => {
            Some((Verdict::LookAgain, Because::ChargerColdEarly { stop, coldest }))
        }
        (_, Some(stop)) => Some((Verdict::Holds, Because::ChargerColdHolds { stop, coldest })),
        (Some(true), None) => Some((Verdict::LookAgain, Because::ChargerColdUnsaid { coldest })),
        (None, None) => None,
    }
}

fn share(current: Amperes, capacity: AmpereHours) -> Option<Fraction> {
    if capacity.get() > 0.0 { Fraction::new(current.get().abs() / capacity.get()).ok() } else { None }
}

fn current_of(current: Amperes, bank: &Bank) -> Option<Said> {
    let current = Amperes::new(current.get().abs()).ok()?;
    if let Some(limit) = bank.limit
        && current.get() > limit.get() * (1.0 + HAIR)
    {
        return Some((Verdict::Fails, Because::ChargerCurrentOver { current, limit }));
    }
    let share = bank.capacity.and_then(|capacity| share(current, capacity));
    match (share, bank.limit) {
        (Some(share), _) if share.get() > CURRENT + HAIR => {
            Some((Verdict::LookAgain, Because::ChargerCurrentHigh { current, share }))
        }
        (_, Some(limit)) => Some((Verdict::Holds, Because::ChargerCurrentHolds { current, limit })),
        (Some(share), None) => Some((Verdict::LookAgain, Because::ChargerCurrentNoLimit { current, share })),
        (None, None) => None,
    }
}

fn tail_of(tail: Amperes, bank: &Bank) -> Option<Said> {
    let share = share(tail, bank.capacity?)?;
    Some(if share.get() > TAIL.1 + HAIR {
        (Verdict::LookAgain, Because::ChargerTailHigh { tail, share })
    } else if share.get() < TAIL.0 - HAIR {
        (Verdict::LookAgain, Because::ChargerTailLow { tail, share })
    } else {
        (Verdict::Holds, Because::ChargerTailHolds { tail, share })
    })
}

fn time(hours: Hours) -> Said {
    if hours.get() > TIME_MOST + HAIR {
        (Verdict::LookAgain, Because::ChargerTimeLong { hours })
    } else {
        (Verdict::Holds, Because::ChargerTimeHolds { hours })
    }
}

fn sum(set: &Settings, bank: &Bank) -> Vec<Because> {
    let cells = bank.cells;
    let named = [set.absorption, set.float, set.restart, set.equalise_voltage.filter(|_| set.equalise == Some(true))];
    let mut sum: Vec<Because> = named
        .into_iter()
        .flatten()
        .filter_map(|volts| Some(Because::ChargerEachCell { volts, cells, cell: bank.cell(volts)? }))
        .collect();
    if let Some(most) = bank.highest() {
        sum.push(match bank.most {
            Some(_) => Because::ChargerMostMaker { most, cells },
            None => Because::ChargerMostCells { most, cells },
        });
    }
    if let (Some(by), Some(absorption)) = (set.compensation.filter(|by| by.get() != 0.0), set.absorption)
        && let Some(cold) = compensated(absorption, by, COLD)
    {
        sum.push(Because::ChargerCompensationSum { absorption, by, at: COLD, volts: cold });
    }
    sum
}
