//! What the sheets come to: each with its verdict, and all of them for the record.

use super::cable::{self, Plan, Run};
use super::charger::{self, Settings};
use super::charger_steered::{self, Following, Guard, Sources};
use super::inrush::{self, Inrush};
use super::joint::{self, Read};
use super::protection::{self, Material, Protection, Way};
use super::sheet::*;
use super::short_circuit::Bank;
use crate::core::bank::table::Table;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::site::Site;
use crate::core::units::{Amperes, Quantity, Volts};

/// A sheet that a person filled, and its verdict.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    pub part: Part,
    /// Which of its kind; empty for all sources of charge together.
    pub id: String,
    /// What a person or the site calls it.
    pub name: Option<String>,
    pub judged: Judged,
}

/// All that was said of the power side, judged: only sheets on which a person said anything.
pub fn all(site: &Site, table: &Table) -> Vec<Found> {
    if table.is_empty() {
        return Vec::new();
    }
    let sheet = Sheet { table, site: Some(site) };
    let mut found = Vec::new();
    for part in Part::ALL {
        for id in sheet.ids(part) {
            if let Some(judged) = sheet.judge(part, &id).filter(|_| sheet.is_said(part, &id)) {
                let name = sheet.name(part, &id).map(str::to_string);
                found.push(Found { part, id, name, judged });
            }
        }
        let is_said = found.iter().any(|found| found.part == Part::Charger);
        if let (Part::Charger, true, Some(judged)) = (part, is_said, sheet.all_sources()) {
            found.push(Found { part, id: String::new(), name: None, judged });
        }
    }
    found
}

impl Sheet<'_> {
    /// The verdict of a sheet; none before enough is said.
    pub fn judge(&self, part: Part, id: &str) -> Option<Judged> {
        match part {
            Part::Cable => self.cable(id),
            Part::Protection => protection::judge(&self.protection(id)),
            Part::Inrush => self.inrush(id),
            Part::Charger => self.charger_set(id),
            Part::Joint => self.joint(id),
        }
    }

    fn cable(&self, id: &str) -> Option<Judged> {
        let part = Part::Cable;
        let run = Run {
            conductor: self.conductor(part, id)?,
            length: self.get(part, id, LENGTH)?,
            current: self.get(part, id, CURRENT)?,
            temperature: self.get(part, id, TEMPERATURE)?,
        };
        cable::judge(Plan {
            run,
            system: self.get(part, id, SYSTEM)?,
            limit: self.get(part, id, DROP_LIMIT)?,
            laying: self.laying(id),
            cells: self.count(part, id, CELLS),
        })
    }

    fn protection(&self, id: &str) -> Protection {
        let part = Part::Protection;
        let highest: Option<Volts> = self.get(part, id, HIGHEST);
        let bank = || {
            Some(Bank {
                emf: highest?,
                inner: self.get(part, id, INNER)?,
                parallel: self.count(part, id, PARALLEL)?,
                leads: self.get(part, id, LEADS)?,
                path: self.get(part, id, PATH)?,
            })
        };
        let area = self.answer(part, id, AREA).parse().ok().and_then(|area| Quantity::new(area).ok());
        Protection {
            load: self.get(part, id, LOAD),
            continuous: self.yes(part, id, LASTS) == Some(true),
            cable: self.get(part, id, CABLE_RATING),
            rating: self.get(part, id, RATING),
            system: self.get(part, id, SYSTEM),
            highest,
            voltage: self.get(part, id, VOLTAGE_RATING),
            interrupt: self.get(part, id, INTERRUPT),
            bank: bank(),
            distance: self.get(part, id, DISTANCE),
            way: Way::parse(self.answer(part, id, WAY)),
            each_has_own: self.yes(part, id, OWN),
            capacity: self.get(part, id, CAPACITY),
            area: area.or_else(|| self.conductor(Part::Cable, id).map(|conductor| conductor.area())),
            material: Material::parse(self.answer(part, id, MATERIAL)),
            clearing: self.get(part, id, CLEARING),
        }
    }

    fn inrush(&self, id: &str) -> Option<Judged> {
        let part = Part::Inrush;
        inrush::judge(Inrush {
            capacitance: self.get(part, id, CAPACITANCE)?,
            voltage: self.get(part, id, SYSTEM)?,
            path: self.get(part, id, WHOLE_PATH)?,
            resistor: self.get(part, id, RESISTOR),
            wait: self.get(part, id, WAIT),
            limit: self.get(part, id, BEARS),
        })
    }

    fn charger_bank(&self, id: &str) -> Option<charger::Bank> {
        let part = Part::Charger;
        Some(charger::Bank {
            cells: self.count(part, id, CELLS)?,
            most: self.get(part, id, HIGHEST),
            coldest: self.site.map(|site| site.module.coldest_charge),
            capacity: self.get(part, id, CAPACITY),
            limit: self.get(part, id, MODULES_LIMIT),
        })
    }

    fn settings(&self, id: &str) -> Settings {
        let part = Part::Charger;
        Settings {
            absorption: self.get(part, id, ABSORPTION),
            float: self.get(part, id, FLOAT).filter(|_| self.answer(part, id, FLOATS) != "off"),
            restart: self.get(part, id, RESTART),
            compensation: self.get(part, id, COMPENSATION),
            equalise: self.yes(part, id, EQUALISE),
            equalise_voltage: self.get(part, id, EQUALISE_VOLTAGE),
            has_cold_stop: self.yes(part, id, COLD_STOP),
            cold_stop: self.get(part, id, COLD_AT),
            current: self.get(part, id, CHARGE_CURRENT),
            tail: self.get(part, id, TAIL),
            absorption_time: self.get(part, id, ABSORPTION_TIME),
        }
    }

    /// Its settings, whether it follows, and what becomes of an alternator, as one.
    fn charger_set(&self, id: &str) -> Option<Judged> {
        let part = Part::Charger;
        let is_steered = self.yes(part, id, STEERED) == Some(true);
        let settings = self.charger_bank(id).and_then(|bank| charger::judge(&self.settings(id), &bank));
        let seen = Following {
            asked_current: self.get(part, id, ASKED_CURRENT),
            given_current: self.get(part, id, GIVEN_CURRENT),
            asked_voltage: self.get(part, id, ASKED_VOLTAGE),
            given_voltage: self.get(part, id, GIVEN_VOLTAGE),
        };
        let follows = is_steered.then(|| charger_steered::follows(&seen).unwrap_or_else(charger_steered::unseen));
        let is_alternator = self.answer(part, id, SOURCE) == "alternator";
        let alternator = is_alternator.then(|| {
            let guard = Guard::parse(self.answer(part, id, GUARD));
            // By hand no system voltage is asked for here: 3.2 V a cell (Linden, from memory).
            let cells = self.count(part, id, CELLS).and_then(|cells| Volts::new(3.2 * f64::from(cells)).ok());
            charger_steered::alternator(guard, self.site.map(Site::nominal).or(cells))
        });
        together([settings, follows, alternator])
    }

    /// All sources of the site against its modules; none without a site or without sources.
    pub fn all_sources(&self) -> Option<Judged> {
        let site = self.site?;
        let (limit, one_missing) = charger_steered::limits(site.module.charge_limit, site.parallel)?;
        let part = Part::Charger;
        let ids = self.ids(part);
        let is_there = |id: &&String| self.charger(id).is_some() || self.is_said(part, id);
        let current = |id: &String| self.get::<Amperes>(part, id, CHARGE_CURRENT);
        let unsteered = |id: &&String| self.yes(part, id, STEERED) != Some(true);
        charger_steered::sources(&Sources {
            currents: ids.iter().filter(is_there).map(current).collect(),
            unsteered: ids.iter().filter(is_there).filter(unsteered).map(current).collect(),
            limit,
            one_missing,
        })
    }

    fn joint(&self, id: &str) -> Option<Judged> {
        let read = |id: &str| -> Option<Read> {
            let voltage = self.shown(Part::Joint, id, MILLIVOLTS)?;
            // One current typed stands for all: they are read in one go.
            let first = || self.ids(Part::Joint).iter().find_map(|id| self.get(Part::Joint, id, THROUGH));
            let own = self.text(Part::Joint, id, THROUGH.key).trim();
            let current = if own.is_empty() { first() } else { self.get(Part::Joint, id, THROUGH) };
            Some(Read { voltage, current: current? })
        };
        let ids = self.ids(Part::Joint);
        let siblings: Vec<Read> = ids.iter().filter(|other| *other != id).filter_map(|other| read(other)).collect();
        joint::judge(read(id)?, &siblings)
    }
}

/// Several verdicts on one thing: the worst leads, the rest follow.
fn together(parts: [Option<Judged>; 3]) -> Option<Judged> {
    let rank = |verdict: Verdict| match verdict {
        Verdict::Fails => 0,
        Verdict::LookAgain => 1,
        Verdict::NotDone => 2,
        Verdict::Holds => 3,
    };
    let mut parts: Vec<Judged> = parts.into_iter().flatten().collect();
    parts.sort_by_key(|judged| rank(judged.verdict));
    let mut all = parts.into_iter();
    let mut first = all.next()?;
    for other in all {
        first.also.push(other.because);
        first.also.extend(other.also);
        first.next.extend(other.next);
        first.sum.extend(other.sum);
        first
            .sources
            .extend(other.sources.into_iter().filter(|source| !first.sources.contains(source)).collect::<Vec<_>>());
        first.lines.extend(other.lines);
    }
    Some(first)
}
