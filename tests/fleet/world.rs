//! Sites with hidden faults, and what a check shows there. What a network, the levels of a bus or the sums of a bank can give
//! comes from them, with parts, places and meters that are a little off; all else from a table of each world's own.

use sixty_ohms::core::bus::levels::{DOMINANT_SHARE, Levels, average};
use sixty_ohms::core::bus::line::{Spot, Wire};
use sixty_ohms::core::faults::bus::stop_at;
use sixty_ohms::core::faults::finder::Finder;
use sixty_ohms::core::faults::finder::physics::{Bus, By, Change, Shape, Shown, Volted, volt_outcome};
use sixty_ohms::core::faults::finder::tables::{Check, Need, Part, Tables};
use sixty_ohms::core::site::plain::plain;
use sixty_ohms::core::units::{Fraction, Metres, Ohms, Quantity, Volts};
use std::collections::BTreeMap;

/// Numbers that look like chance and come back the same.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Chance {
        Chance(seed)
    }

    /// 0 to 1.
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    pub fn below(&mut self, count: usize) -> usize {
        ((self.next() * count as f64) as usize).min(count - 1)
    }

    pub fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.next()).ln()).sqrt() * (std::f64::consts::TAU * self.next()).cos()
    }

    pub fn pick(&mut self, chances: &[f64]) -> usize {
        let mut at = self.next() * chances.iter().sum::<f64>();
        for (index, chance) in chances.iter().enumerate() {
            at -= chance;
            if at < 0.0 {
                return index;
            }
        }
        chances.iter().rposition(|chance| *chance > 0.0).unwrap_or(0)
    }
}

/// How far a world's chances and weights are from the finder's own: standard deviations of their logarithms.
pub const CHANCES_OFF: f64 = 0.6;
pub const WEIGHTS_OFF: f64 = 0.5;

/// What is true of many sites, and not quite what the tables say.
pub struct World<'a> {
    pub tables: &'a Tables,
    /// By check and row: its chances; `None` where the networks and sums fill it.
    rows: Vec<BTreeMap<&'a str, Vec<Option<f64>>>>,
    weights: Vec<Vec<f64>>,
}

impl<'a> World<'a> {
    pub fn new(tables: &'a Tables, seed: u64) -> World<'a> {
        let mut chance = Chance::new(seed);
        let rows = tables.checks.iter().map(|check| {
            let words = check.rows.keys().chain([&check.default]);
            words.map(|row| (row.as_str(), off(tables, check, row, &mut chance))).collect()
        });
        let rows = rows.collect();
        let weights = tables.faults.iter().map(|fault| {
            let known = tables.weights(fault).unwrap();
            known.iter().map(|weight| weight * (WEIGHTS_OFF * chance.normal()).exp()).collect()
        });
        World { tables, rows, weights: weights.collect() }
    }
}

/// A row that is off: each chance by its own factor, then all to 1 again. What the sums fill keeps its total likewise.
fn off(tables: &Tables, check: &Check, row: &str, chance: &mut Chance) -> Vec<Option<f64>> {
    let parts = tables.parts(check, row).unwrap();
    let given: f64 = parts.iter().map(|part| if let Part::Chance(chance) = part { *chance } else { 0.0 }).sum();
    let sums = parts.contains(&Part::Sum);
    let mut list: Vec<Option<f64>> = parts
        .iter()
        .map(|part| match part {
            Part::Chance(known) => Some(known * (CHANCES_OFF * chance.normal()).exp()),
            Part::Rest => Some((1.0 - given) * (CHANCES_OFF * chance.normal()).exp()),
            Part::Sum => None,
        })
        .collect();
    let open = if sums { (1.0 - given) * (CHANCES_OFF * chance.normal()).exp() } else { 0.0 };
    let all: f64 = list.iter().flatten().sum::<f64>() + open;
    list.iter_mut().flatten().for_each(|known| *known /= all);
    list
}

/// One site with its hidden faults.
pub struct Site<'a> {
    pub world: &'a World<'a>,
    pub shape: Shape,
    pub kind: usize,
    pub hidden: Vec<usize>,
    seed: u64,
    chance: Chance,
    /// What is there to be seen, by check, once it was looked at.
    there: Vec<Option<usize>>,
    /// How often each check was answered.
    answered: Vec<u64>,
    /// The bus as it is, and each device's resistance.
    changes: Vec<Change>,
}

pub fn has(shape: &Shape, needs: &[Need]) -> bool {
    needs.iter().all(|need| match need {
        Need::Several => shape.series * shape.parallel > 1,
        Need::Parallel => shape.parallel > 1,
        Need::Series => shape.series > 1,
        Need::Charger => shape.charger,
    })
}

/// A site of any shape that the reader of sites would take.
pub fn shape(series: u32, parallel: u32, link: f64, bus: f64, charger: bool) -> Shape {
    let mut draft = plain(series * parallel, Metres::new(bus).unwrap());
    draft.link_length = Metres::new(link).ok();
    (draft.series, draft.parallel) = (Some(series), Some(parallel));
    draft.module.as_mut().unwrap().most_in_series = 4;
    let mut shape = Shape::of(&draft.site().unwrap());
    shape.charger = charger;
    shape
}

impl<'a> Site<'a> {
    pub fn new(world: &'a World<'a>, seed: u64) -> Site<'a> {
        let mut chance = Chance::new(seed);
        let series = [1, 1, 1, 2, 2, 4][chance.below(6)];
        let parallel = 1 + chance.below(if series == 1 { 6 } else { 3 }) as u32;
        let (link, bus) = (chance.between(0.3, 1.5), chance.between(1.0, 15.0));
        let shape = shape(series, parallel, link, bus, chance.next() < 0.85);
        let kind = chance.below(world.tables.kinds.len());
        let weight = |fault: usize, others: &[usize]| -> f64 {
            let known = &world.tables.faults[fault];
            let family = |other: &usize| world.tables.faults[*other].family == known.family;
            let apart = has(&shape, &known.needs) && !others.iter().any(family);
            if apart { world.weights[fault][kind] } else { 0.0 }
        };
        let mut hidden = Vec::new();
        for _ in 0..[0, 1, 2][chance.pick(&[0.05, 0.65, 0.3])] {
            let weights: Vec<f64> = (0..world.tables.faults.len()).map(|fault| weight(fault, &hidden)).collect();
            hidden.push(chance.pick(&weights));
        }
        hidden.sort_unstable();
        let mut site = Site {
            world,
            shape,
            kind,
            hidden,
            seed,
            chance,
            there: vec![None; world.tables.checks.len()],
            answered: vec![0; world.tables.checks.len()],
            changes: Vec::new(),
        };
        site.lay();
        site
    }

    pub fn finder(&self) -> Finder<'a> {
        Finder::new(self.world.tables, &self.world.tables.kinds[self.kind], self.shape.clone())
    }

    /// What each hidden fault has done to the bus, at places and with values of its own.
    fn lay(&mut self) {
        let runs = self.shape.line.runs.len();
        let length = self.shape.line.length().get();
        for fault in self.hidden.clone() {
            let Some(bus) = self.world.tables.faults[fault].bus else { continue };
            let chance = &mut self.chance;
            let run = chance.below(runs);
            let stop = stop_at(&self.shape.line, chance.below(runs + 1));
            let inside = Metres::new(chance.between(0.0, length)).unwrap();
            let wire = if chance.next() < 0.5 { Wire::High } else { Wire::Low };
            let touch = 0.2 * chance.normal().exp();
            let changes = match bus {
                Bus::BankTerminator => vec![Change::Missing(1)],
                Bus::MonitorTerminator => vec![Change::Missing(0)],
                Bus::BothTerminators => vec![Change::Missing(0), Change::Missing(1)],
                Bus::Extra => vec![Change::Extra(stop)],
                Bus::Value => {
                    let drifted = chance.between(140f64.ln(), 1000f64.ln()).exp();
                    let ohm = [60.0, 100.0, drifted][chance.pick(&[0.3, 0.2, 0.5])];
                    vec![Change::Value(chance.below(2), ohm)]
                }
                Bus::Misplaced => vec![Change::Moved(chance.below(2), stop)],
                Bus::WireOpen => vec![Change::Open(wire, run)],
                Bus::BothOpen => vec![Change::Open(Wire::High, run), Change::Open(Wire::Low, run)],
                Bus::ReferenceOpen => vec![Change::Open(Wire::Reference, run)],
                Bus::Touch => vec![Change::Touch((Wire::High, Wire::Low), inside, touch)],
                Bus::AtReference => vec![Change::Touch((wire, Wire::Reference), inside, touch)],
                Bus::AtSupply => {
                    let ohm = chance.between(0.0, 10_000f64.ln()).exp();
                    vec![Change::Touch((wire, Wire::Reference), inside, ohm)]
                }
            };
            self.changes.extend(changes);
        }
    }

    pub fn below(&mut self, count: usize) -> usize {
        self.chance.below(count)
    }

    /// Chance of its own for each check, and each time that it is answered: a site shows the same to whoever asks in whatever order,
    /// so that orders are compared on the same sites with the same slips.
    pub fn draw_anew(&mut self, check: usize, time: u64) {
        // Mixed once before it begins, so that no two of them run one behind the other.
        let start = self.seed
            ^ (check as u64 + 1).wrapping_mul(0xD134_2543_DE82_EF95)
            ^ time.wrapping_mul(0xA076_1D64_78BD_642F);
        self.chance = Chance::new(Chance::new(start).next().to_bits());
    }

    /// What a check shows to somebody who never errs.
    pub fn there(&mut self, check: usize) -> usize {
        if let Some(there) = self.there[check] {
            return there;
        }
        self.draw_anew(check, 0);
        let there = self.look(check);
        self.there[check] = Some(there);
        there
    }

    fn look(&mut self, index: usize) -> usize {
        let tables = self.world.tables;
        let check = &tables.checks[index];
        let own: Vec<&str> = self.hidden.iter().filter_map(|fault| check.row_of(&tables.faults[*fault].key)).collect();
        let rows = if own.is_empty() { vec![check.default.as_str()] } else { own };
        // Each fault draws its outcome; the louder is seen. An open part is what the networks and sums show.
        let mut seen = None;
        let mut open = false;
        for row in rows {
            let known = &self.world.rows[index][row];
            let mut chances: Vec<f64> = known.iter().map(|chance| chance.unwrap_or(0.0)).collect();
            let left = 1.0 - chances.iter().sum::<f64>();
            chances.push(if known.contains(&None) { left } else { 0.0 });
            let drawn = self.chance.pick(&chances);
            if drawn == known.len() {
                open = true;
            } else {
                seen = seen.max(Some(drawn));
            }
        }
        match check.by {
            Some(by) if open => seen.max(Some(self.physical(by))).unwrap_or(0),
            _ => seen.unwrap_or(0),
        }
    }

    fn physical(&mut self, by: By) -> usize {
        let figure = match by {
            By::PairOhmsMonitor | By::PairOhmsBank | By::ReferenceOhms => self.ohms(by),
            By::BusVolts => return self.volts(),
            By::ShownModules | By::ShownCapacity | By::ShownVoltage => Some(self.shown(by)),
        };
        self.shape.outcome(by, figure).unwrap()
    }

    fn ohms(&mut self, by: By) -> Option<f64> {
        let mut line = self.shape.changed(&self.changes);
        let chance = &mut self.chance;
        for terminator in &mut line.terminators {
            terminator.ohms = Ohms::new(terminator.ohms.get() * chance.between(0.99, 1.01)).unwrap();
        }
        let isolated = chance.next() < 0.3;
        for device in &mut line.devices {
            let ohm = if isolated { 1e6 } else { chance.between(5e3f64.ln(), 5e4f64.ln()).exp() };
            (device.high_to_reference, device.low_to_reference) = (Ohms::new(ohm).ok(), Ohms::new(ohm).ok());
        }
        let at = if by == By::PairOhmsBank { Metres::of(0.0) } else { line.length() };
        let read = line.readings(&[Spot::Trunk(at)])[0];
        let ohms = match by {
            By::ReferenceOhms => {
                let list = [read.high_to_reference, read.low_to_reference];
                list.into_iter().flatten().map(Quantity::get).reduce(f64::min)
            }
            _ => read.pair.map(Quantity::get),
        };
        ohms.map(|ohm| ohm * chance.between(0.992, 1.008) + chance.between(-0.2, 0.2)).filter(|ohm| *ohm < 4e7)
    }

    fn volts(&mut self) -> usize {
        let tables = self.world.tables;
        let faults: Vec<_> = self.hidden.iter().map(|fault| &tables.faults[*fault]).collect();
        let volted = faults.iter().find_map(|fault| fault.volts);
        let has = |bus: Bus| faults.iter().any(|fault| fault.bus == Some(bus));
        let chance = &mut self.chance;
        let idle = volted == Some(Volted::Idle) || (has(Bus::BothOpen) && chance.next() < 0.6);
        let load = if idle { 0.0 } else { chance.between(0.03, 0.45) };
        let levels = Levels { recessive: Volts::new(chance.between(2.3, 2.7)).unwrap(), ..Levels::NOMINAL };
        let levels = if load == 0.0 { levels } else { Levels::NOMINAL };
        let seen = average(levels, Fraction::new(load).unwrap(), DOMINANT_SHARE).unwrap();
        let (mut high, mut low) = (seen.high.get(), seen.low.get());
        if volted == Some(Volted::Swapped) {
            (high, low) = (low, high);
        }
        if has(Bus::Touch) {
            high = low;
        }
        if volted == Some(Volted::Asleep) {
            (high, low) = (0.0, 0.0);
        }
        if has(Bus::AtReference) {
            (high, low) = if chance.next() < 0.5 { (0.0, 0.0) } else { (high - low, 0.0) };
        }
        if has(Bus::AtSupply) {
            (high, low) = (chance.between(5.0, 13.5), chance.between(5.0, 13.5));
        }
        volt_outcome(high * chance.between(0.995, 1.005), low * chance.between(0.995, 1.005))
    }

    /// The figure that the display shows: modules, Ah, V.
    fn shown(&mut self, by: By) -> f64 {
        let tables = self.world.tables;
        let all: Vec<Shown> = self.hidden.iter().filter_map(|fault| tables.faults[*fault].shown).collect();
        let chance = &mut self.chance;
        let (one, strings) = (self.shape.capacity.get(), f64::from(self.shape.parallel));
        let series = f64::from(self.shape.series);
        let (mut modules, mut capacity) = (strings * series, one * strings);
        let mut volts = self.shape.nominal.get() * series * chance.between(0.99, 1.06);
        for shown in all {
            let summed = chance.next() < 0.6;
            match shown {
                // A string that lacks a module counts for nothing.
                Shown::Silent => {
                    modules -= 1.0;
                    capacity -= if summed { one } else { 0.0 };
                }
                Shown::Opened => capacity -= if summed { one } else { 0.0 },
                Shown::OneModule => (modules, capacity, volts) = (1.0, one, volts / series),
                Shown::Count => {
                    let other = 1 + chance.below(self.shape.parallel as usize + 1);
                    let set = other + usize::from(other >= self.shape.parallel as usize);
                    capacity *= set as f64 / strings;
                }
                Shown::Nameplate => capacity *= chance.between(0.3, 2.5),
                Shown::SeriesAdded => capacity *= series,
                Shown::OtherDevice => {
                    (modules, capacity) = (0.0, chance.between(20.0, 700.0));
                    volts *= if chance.next() < 0.5 { 1.0 } else { chance.between(0.4, 0.9) };
                }
            }
        }
        match by {
            By::ShownModules => modules,
            By::ShownCapacity => capacity,
            _ => volts,
        }
    }

    /// The answer of a person, who errs so often: any other outcome, but none that ends the search.
    pub fn answer(&mut self, check: usize, error: f64) -> usize {
        let there = self.there(check);
        let known = &self.world.tables.checks[check];
        self.answered[check] += 1;
        self.draw_anew(check, self.answered[check]);
        if self.chance.next() >= error {
            return there;
        }
        let ends = |outcome: &usize| known.ends.contains(&known.outcomes[*outcome]);
        let others: Vec<usize> = (0..known.outcomes.len()).filter(|o| *o != there && !ends(o)).collect();
        others[self.chance.below(others.len())]
    }
}
