//! What the site's own network, the levels of its bus and the sums of its bank make of a fault: how likely each outcome of a
//! reading is, and which outcome a reading is.

use crate::core::bank::modules::{Bank, Module, Place};
use crate::core::bank::total::{Asked, total};
use crate::core::bus::levels::{self, DOMINANT_SHARE, Levels, State};
use crate::core::bus::line::{Break, Device, Line, Short, Spot, Terminator, Wire};
use crate::core::faults::bus::prior::{SUPPLY, TOUCH, WRONG_VALUES};
use crate::core::faults::bus::stop_at;
use crate::core::site::{End, Site};
use crate::core::units::{AmpereHours, Fraction, Metres, Ohms, Percent, Quantity, Volts};
use serde::{Deserialize, Serialize};

/// What a fault does to the bus as a network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Bus {
    BankTerminator,
    MonitorTerminator,
    BothTerminators,
    Extra,
    Value,
    Misplaced,
    WireOpen,
    BothOpen,
    ReferenceOpen,
    Touch,
    AtReference,
    AtSupply,
}

/// What a fault does to the levels of the powered bus, where its network does not say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Volted {
    Idle,
    Asleep,
    Swapped,
}

/// What a fault does to the figures that a display shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Shown {
    /// One module does not answer.
    Silent,
    /// One module has opened its switch.
    Opened,
    OneModule,
    /// Another number of strings is set.
    Count,
    Nameplate,
    SeriesAdded,
    OtherDevice,
}

/// What gives a check's outcome.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum By {
    PairOhmsMonitor,
    PairOhmsBank,
    ReferenceOhms,
    BusVolts,
    ShownModules,
    ShownCapacity,
    ShownVoltage,
}

impl By {
    /// How many outcomes it tells apart; a further one is left to the tables.
    pub fn outcomes(self) -> usize {
        match self {
            By::PairOhmsMonitor | By::PairOhmsBank => 6,
            By::ReferenceOhms => 2,
            By::BusVolts | By::ShownCapacity => 5,
            By::ShownModules | By::ShownVoltage => 3,
        }
    }
}

/// Where outcomes of the ohms between the data wires part, Ω: 50–70 Ω is right (bus reference); 105–145 Ω is one terminator of
/// two; less than 22 Ω no number of terminators that a person fits by mistake (common practice, no source).
const PAIR: [f64; 5] = [22.0, 50.0, 70.0, 105.0, 145.0];
/// The outcome of each gap between them.
const PAIR_OUTCOME: [usize; 6] = [5, 3, 0, 1, 2, 4];

/// One change of the bus, at its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// Terminators: 0 is the monitor's, 1 the bank's.
    Missing(usize),
    Value(usize, f64),
    Moved(usize, Metres),
    Extra(Metres),
    Open(Wire, usize),
    Touch((Wire, Wire), Metres, f64),
}

/// What a capacity set wrongly is of the right one: from a third to the triple, even by the logarithm (common practice, no source).
const OTHER_CAPACITIES: [f64; 8] = [0.37, 0.49, 0.64, 0.85, 1.12, 1.48, 1.95, 2.57];

/// What of a site the reasoning needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// The bus as it should be, from the bank's free end to the monitor, terminated at the monitor's end and at the bank's.
    pub line: Line,
    pub series: u32,
    pub parallel: u32,
    pub charger: bool,
    /// Nameplate capacity and nominal voltage of one module.
    pub capacity: AmpereHours,
    pub nominal: Volts,
}

/// Devices while the bus is off, from each wire to the reference, Ω, with their parts: 5–50 kΩ (ISO 11898, 1993/2003) and isolated
/// ports (from memory).
const DEVICES: [(f64, f64); 3] = [(15_811.0, 0.5), (5_000.0, 0.2), (1.0e6, 0.3)];
/// Spread of a reading's logarithm: parts of ±1 %, cable, meter (common practice, no source).
const SPREAD: f64 = 0.03;
/// Loads of a bus at work, with their parts (common practice, no source).
const LOADS: [(f64, f64); 3] = [(0.05, 0.3), (0.15, 0.4), (0.3, 0.3)];

impl Shape {
    pub fn of(site: &Site) -> Shape {
        let ohms = site.terminator.as_ref().map_or(Ohms::of(120.0), |terminator| terminator.resistance);
        let mut line = site.line(ohms, Ohms::of(30_000.0));
        line.terminators = [End::Monitor, End::Bank].map(|end| Terminator { at: site.spot(end), ohms }).to_vec();
        Shape {
            line,
            series: site.series,
            parallel: site.parallel,
            charger: !site.chargers.is_empty(),
            capacity: site.module.capacity,
            nominal: site.module.nominal,
        }
    }

    fn modules(&self) -> u32 {
        self.series * self.parallel
    }

    /// The bus with changes.
    pub fn changed(&self, changes: &[Change]) -> Line {
        let mut line = self.line.clone();
        let mut missing = Vec::new();
        for change in changes {
            match *change {
                Change::Missing(terminator) => missing.push(terminator),
                Change::Value(terminator, ohm) => {
                    line.terminators[terminator].ohms = Ohms::new(ohm).unwrap_or(Ohms::of(120.0));
                }
                Change::Moved(terminator, at) => line.terminators[terminator].at = Spot::Trunk(at),
                Change::Extra(at) => {
                    let ohms = line.terminators[0].ohms;
                    line.terminators.push(Terminator { at: Spot::Trunk(at), ohms });
                }
                Change::Open(wire, run) => {
                    let (from, to) = (stop_at(&self.line, run), stop_at(&self.line, run + 1));
                    line.breaks.push(Break { wire, from, to });
                }
                Change::Touch(between, at, ohm) => {
                    line.shorts.push(Short { between, at, ohms: Ohms::new(ohm).unwrap_or(TOUCH.ohms) });
                }
            }
        }
        let mut index = 0..;
        line.terminators.retain(|_| index.next().is_none_or(|index| !missing.contains(&index)));
        line
    }

    /// The ways in which a fault changes the bus, with their parts. Runs and stops beyond a few are passed over.
    fn ways(&self, bus: Bus) -> Vec<(Vec<Change>, f64)> {
        let runs = self.line.runs.len();
        let few = |count: usize| -> Vec<usize> {
            let most = count.min(3);
            (0..most).map(|n| if most > 1 { n * (count - 1) / (most - 1) } else { 0 }).collect()
        };
        let stops = || few(runs + 1).into_iter().map(|stop| stop_at(&self.line, stop));
        let even = |list: Vec<Vec<Change>>| -> Vec<(Vec<Change>, f64)> {
            let part = 1.0 / list.len() as f64;
            list.into_iter().map(|changes| (changes, part)).collect()
        };
        let each_run = |change: &dyn Fn(usize) -> Vec<Change>| even(few(runs).into_iter().map(change).collect());
        let touch =
            |between: (Wire, Wire), ohm: f64| even(stops().map(|at| vec![Change::Touch(between, at, ohm)]).collect());
        match bus {
            Bus::BankTerminator => even(vec![vec![Change::Missing(1)]]),
            Bus::MonitorTerminator => even(vec![vec![Change::Missing(0)]]),
            Bus::BothTerminators => even(vec![vec![Change::Missing(0), Change::Missing(1)]]),
            Bus::Extra => even(stops().map(|at| vec![Change::Extra(at)]).collect()),
            Bus::Value => {
                let ways = WRONG_VALUES
                    .iter()
                    .flat_map(|wrong| [0, 1].map(|end| (vec![Change::Value(end, wrong.ohms.get())], wrong.part / 2.0)));
                ways.collect()
            }
            Bus::Misplaced => even(stops().flat_map(|at| [0, 1].map(|end| vec![Change::Moved(end, at)])).collect()),
            Bus::WireOpen => each_run(&|run| vec![Change::Open(Wire::High, run)]),
            Bus::BothOpen => each_run(&|run| vec![Change::Open(Wire::High, run), Change::Open(Wire::Low, run)]),
            Bus::ReferenceOpen => each_run(&|run| vec![Change::Open(Wire::Reference, run)]),
            Bus::Touch => touch((Wire::High, Wire::Low), TOUCH.ohms.get()),
            Bus::AtReference => touch((Wire::High, Wire::Reference), TOUCH.ohms.get()),
            Bus::AtSupply => touch((Wire::High, Wire::Reference), SUPPLY.ohms.get()),
        }
    }

    /// Below this the ohms from a data wire to the reference are low: half of what the lowest devices give (ISO 11898), and never
    /// more than 1 kΩ (common practice, no source).
    fn low(&self) -> f64 {
        (0.25 * 5_000.0 / self.line.devices.len().max(1) as f64).min(1_000.0)
    }

    /// The rows of the three readings in ohms, by the bus changed so.
    fn ohms(&self, ways: &[(Vec<Change>, f64)], devices: &[(f64, f64)]) -> [Vec<f64>; 3] {
        let mut rows = [vec![0.0; 6], vec![0.0; 6], vec![0.0; 2]];
        let all: f64 = devices.iter().map(|(_, part)| part).sum();
        let ends = [Spot::Trunk(self.line.length()), Spot::Trunk(Metres::of(0.0))];
        for (changes, part) in ways {
            for (ohm, case) in devices {
                let mut line = self.changed(changes);
                for device in &mut line.devices {
                    *device = alike(device.at, *ohm);
                }
                let read = line.readings(&ends);
                let part = part * case / all;
                for (row, reading) in rows.iter_mut().zip(&read) {
                    spread(row, reading.pair, &PAIR, &PAIR_OUTCOME, part);
                }
                let to_reference = match (read[0].high_to_reference, read[0].low_to_reference) {
                    (Some(high), Some(low)) => Some(if high < low { high } else { low }),
                    (high, low) => high.or(low),
                };
                spread(&mut rows[2], to_reference, &[self.low()], &[1, 0], part);
            }
        }
        rows
    }

    /// The rows of the readings in ohms (at the monitor, at the bank, to the reference) under up to two faults of the network.
    pub fn ohm_rows(&self, a: Option<Bus>, b: Option<Bus>) -> [Vec<f64>; 3] {
        let none = || vec![(Vec::new(), 1.0)];
        let ways = a.map_or_else(none, |bus| self.ways(bus));
        let Some(b) = b else { return self.ohms(&ways, &DEVICES) };
        let other = self.ways(b);
        // Of the many ways of two faults some are enough: each of one with some of the other.
        let together: Vec<(Vec<Change>, f64)> = ways
            .iter()
            .enumerate()
            .flat_map(|(index, (first, p))| {
                let second = &other[index % other.len()..=index % other.len()];
                second.iter().map(move |(second, _)| ([first.as_slice(), second].concat(), *p))
            })
            .collect();
        self.ohms(&together, &DEVICES[..1])
    }

    /// The row of the volts on the powered bus.
    pub fn volt_row(&self, bus: Option<Bus>, volted: Option<Volted>) -> Vec<f64> {
        let mut row = vec![0.0; 5];
        for (load, part) in LOADS {
            let mut add = |volts: (f64, f64), share: f64| row[volt_outcome(volts.0, volts.1)] += part * share;
            let at = |load: f64| {
                let levels = levels::average(Levels::NOMINAL, Fraction::of(load), DOMINANT_SHARE);
                levels.map_or((2.5, 2.5), |average| (average.high.get(), average.low.get()))
            };
            let (high, low) = at(load);
            match (volted, bus) {
                (Some(Volted::Idle), _) => add(at(0.0), 1.0),
                (Some(Volted::Asleep), _) => add((0.0, 0.0), 1.0),
                (Some(Volted::Swapped), _) => add((low, high), 1.0),
                (_, Some(Bus::Touch)) => add(at(0.0), 1.0),
                // Either wire; with the high one at the reference the terminators hold the low one there too.
                (_, Some(Bus::AtReference)) => {
                    add((0.0, 0.0), 0.5);
                    add((high - low, 0.0), 0.5);
                }
                (_, Some(Bus::AtSupply)) => add((12.0, 11.5), 1.0),
                // The monitor alone: silent, or calling without an answer.
                (_, Some(Bus::BothOpen)) => {
                    add(at(0.0), 0.6);
                    add((high, low), 0.4);
                }
                _ => add((high, low), 1.0),
            }
        }
        row
    }

    /// The rows of what a display shows: how many modules answer, the capacity, the voltage against the meter's.
    pub fn shown_rows(&self, shown: Option<Shown>) -> [Vec<f64>; 3] {
        let mut rows = [vec![0.0; 3], vec![0.0; 5], vec![0.0; 3]];
        let (capacity, nominal) = (self.capacity.get(), self.nominal.get());
        let (strings, voltage) = (f64::from(self.parallel), nominal * f64::from(self.series));
        let (right, all) = (capacity * strings, f64::from(self.modules()));
        let mut add = |part: f64, modules: f64, capacity: f64, volts: f64| {
            rows[0][self.modules_outcome(modules)] += part;
            rows[1][self.capacity_outcome(capacity)] += part;
            rows[2][self.voltage_outcome(volts)] += part;
        };
        // A display sums what it hears, or shows what was set: as in `core::bank::explain`.
        match shown {
            None => add(1.0, all, right, voltage),
            Some(Shown::Silent) => {
                add(0.7, all - 1.0, self.capacity_without_one(), voltage);
                add(0.3, all - 1.0, right, voltage);
            }
            Some(Shown::Opened) => {
                add(0.7, all, self.capacity_without_one(), voltage);
                add(0.3, all, right, voltage);
            }
            Some(Shown::OneModule) => add(1.0, 1.0, capacity, nominal),
            Some(Shown::Count) => {
                for set in 1..=self.parallel + 2 {
                    if set != self.parallel {
                        add(1.0 / f64::from(self.parallel + 1), all, capacity * f64::from(set), voltage);
                    }
                }
            }
            Some(Shown::Nameplate) => {
                for factor in OTHER_CAPACITIES {
                    add(1.0 / OTHER_CAPACITIES.len() as f64, all, factor * right, voltage);
                }
            }
            Some(Shown::SeriesAdded) => add(1.0, all, right * f64::from(self.series), voltage),
            Some(Shown::OtherDevice) => {
                for factor in OTHER_CAPACITIES {
                    let part = 0.5 / OTHER_CAPACITIES.len() as f64;
                    add(part, 0.0, factor * 2.5 * capacity, voltage);
                    add(part, all, factor * 2.5 * capacity, 0.7 * voltage);
                }
            }
        }
        rows
    }

    /// What a bank is reckoned at that hears one module less.
    pub fn capacity_without_one(&self) -> f64 {
        let module = Module {
            capacity: Some(self.capacity),
            nominal: Some(self.nominal),
            soc: Percent::new(50.0).ok(),
            answering: Some(true),
            ..Module::default()
        };
        let string = vec![module; self.series as usize];
        Bank::new(vec![string; self.parallel as usize])
            .map(|bank| bank.with(Place { string: 1, module: 1 }, |module| module.answering = Some(false)))
            .and_then(|bank| total(&bank, Asked::default()))
            .ok()
            .and_then(|heard| heard.capacity_heard)
            .map_or(0.0, Quantity::get)
    }

    fn modules_outcome(&self, shown: f64) -> usize {
        let all = f64::from(self.modules());
        if shown < all { 1 } else { usize::from(shown > all) * 2 }
    }

    /// Right, some strings short, one module's, some strings more, or another figure altogether.
    fn capacity_outcome(&self, shown: f64) -> usize {
        let strings = shown / self.capacity.get();
        let near = |strings: f64, wanted: f64| (strings - wanted).abs() < 0.02 * wanted;
        let all = f64::from(self.parallel);
        if near(strings, all) {
            0
        } else if near(strings, 1.0) {
            2
        } else if !near(strings, strings.round()) || strings < 0.5 {
            4
        } else if strings < all {
            1
        } else {
            3
        }
    }

    fn voltage_outcome(&self, shown: f64) -> usize {
        let bank = self.nominal.get() * f64::from(self.series);
        let of = shown / bank;
        // From empty to full a bank spans −20 to +15 % of its nominal voltage; a meter on the posts agrees within 2 %.
        if (of - 1.0).abs() < 0.1 {
            0
        } else if self.series > 1 && (of * f64::from(self.series) - 1.0).abs() < 0.2 {
            1
        } else {
            2
        }
    }

    /// The outcome that a figure is: ohms (`None` is an open path), modules, ampere-hours, volts. `None` for what takes more than
    /// one figure.
    pub fn outcome(&self, by: By, figure: Option<f64>) -> Option<usize> {
        Some(match (by, figure) {
            (By::PairOhmsMonitor | By::PairOhmsBank, Some(ohm)) => {
                PAIR_OUTCOME[PAIR.iter().filter(|edge| ohm >= **edge).count()]
            }
            (By::PairOhmsMonitor | By::PairOhmsBank, None) => 4,
            (By::ReferenceOhms, ohm) => usize::from(ohm.is_some_and(|ohm| ohm < self.low())),
            (By::ShownModules, Some(count)) => self.modules_outcome(count),
            (By::ShownCapacity, Some(capacity)) => self.capacity_outcome(capacity),
            (By::ShownVoltage, Some(volts)) => self.voltage_outcome(volts),
            _ => return None,
        })
    }
}

/// The outcome of two volts on the powered bus, each wire to the reference.
pub fn volt_outcome(high: f64, low: f64) -> usize {
    let (Ok(high), Ok(low)) = (Volts::new(high), Volts::new(low)) else { return 4 };
    match levels::state(high, low) {
        State::Working => 0,
        State::AwakeIdle => 1,
        State::AsleepOrOff => 2,
        State::Swapped => 3,
        _ => 4,
    }
}

fn alike(at: Spot, ohm: f64) -> Device {
    let each = Ohms::new(ohm).ok();
    Device { at, between_wires: None, high_to_reference: each, low_to_reference: each }
}

/// Adds a reading's chance to each outcome that it may fall into; an open path is the one beyond the last edge.
fn spread(row: &mut [f64], reading: Option<Ohms>, edges: &[f64], outcomes: &[usize], part: f64) {
    let scaled = |ohm: f64| (ohm + 10.0).ln();
    let mut below = 0.0;
    for (index, outcome) in outcomes.iter().enumerate() {
        let up_to = match (edges.get(index), reading) {
            (None, _) => 1.0,
            (Some(_), None) => 0.0,
            (Some(edge), Some(ohm)) => 1.0 / (1.0 + (1.702 * (scaled(ohm.get()) - scaled(*edge)) / SPREAD).exp()),
        };
        row[*outcome] += part * (up_to - below);
        below = up_to;
    }
}
