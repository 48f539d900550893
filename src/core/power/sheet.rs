//! What a person types of the power side: texts by field, and what stands in for a field that is left empty.
//!
//! Texts are kept in a [`Table`] of their own under keys like `cable.1.current`, figures are derived. An empty field takes what
//! the site says, or the usual; a text that cannot be read is not known.

use super::ampacity::{Insulation, Laying};
use super::conductor::{AREAS, Class, Conductor, GAUGES, Gauge};
use crate::core::bank::table::{Question, Rule, Table, Wrong};
use crate::core::entry::{self, Entry, Shown, Unreadable};
use crate::core::site::Site;
use crate::core::site::figures::ChargerFigures;
use crate::core::units::{Amperes, Celsius, Count, Figure, Kind, Ohms, Percent, Quantity, Volts};

/// One kind of sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    Cable,
    Protection,
    Inrush,
    Charger,
    Joint,
}

impl Part {
    pub const ALL: [Part; 5] = [Part::Cable, Part::Protection, Part::Inrush, Part::Charger, Part::Joint];
    /// The most sheets of one kind that are numbered.
    pub const MOST: u32 = 24;

    pub fn key(self) -> &'static str {
        match self {
            Part::Cable => "cable",
            Part::Protection => "protection",
            Part::Inrush => "inrush",
            Part::Charger => "charger",
            Part::Joint => "joint",
        }
    }

    /// All that is asked for, in the order in which it is asked.
    pub fn asks(self) -> &'static [Ask] {
        match self {
            Part::Cable => CABLE,
            Part::Protection => PROTECTION,
            Part::Inrush => INRUSH,
            Part::Charger => CHARGER,
            Part::Joint => JOINT,
        }
    }

    /// What is asked at once; the rest, mostly filled from the site, waits behind a tap.
    pub fn first(self) -> &'static [Ask] {
        let first = match self {
            Part::Cable => 7,
            Part::Protection => 9,
            Part::Charger => 17,
            Part::Inrush | Part::Joint => self.asks().len(),
        };
        self.asks().split_at(first).0
    }

    pub fn more(self) -> &'static [Ask] {
        self.asks().split_at(self.first().len()).1
    }
}

/// A figure that is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    pub key: &'static str,
    pub kind: Kind,
    /// The unit of a bare number.
    pub unit: &'static str,
    pub rule: Rule,
    pub signed: bool,
}

/// How the answers of a question read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reads {
    /// By a name of their own.
    Named,
    /// As printed on the cable, in this unit and no other.
    Printed(&'static str),
    Gauges,
}

/// One thing that is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ask {
    /// A name that a person gives.
    Name,
    Figure(Asked),
    Choose(Question, Reads),
}

impl Ask {
    pub fn key(&self) -> &'static str {
        match self {
            Ask::Name => "name",
            Ask::Figure(asked) => asked.key,
            Ask::Choose(question, _) => question.key,
        }
    }
}

const fn figure(key: &'static str, kind: Kind, unit: &'static str) -> Asked {
    Asked { key, kind, unit, rule: Rule::NotBelowZero, signed: false }
}

const fn signed(key: &'static str, kind: Kind, unit: &'static str) -> Asked {
    Asked { key, kind, unit, rule: Rule::Any, signed: true }
}

const fn count(key: &'static str) -> Asked {
    Asked { key, kind: Kind::Count, unit: "", rule: Rule::AtLeastOne, signed: false }
}

const fn question(key: &'static str, answers: &'static [&'static str]) -> Question {
    Question { key, answers }
}

const NO_YES: &[&str] = &["no", "yes"];
const NOT_SAID: &[&str] = &["unknown", "no", "yes"];

/// The names with a first one for what nobody said.
const fn or_unknown<const N: usize>(names: [&'static str; 15]) -> [&'static str; N] {
    let mut all = ["unknown"; N];
    let mut at = 0;
    while at < names.len() {
        all[at + 1] = names[at];
        at += 1;
    }
    all
}

const AREA_ANSWERS: [&str; 16] = or_unknown(AREAS);
const GAUGE_ANSWERS: [&str; 16] = or_unknown(GAUGES);

pub const CONDUCTOR: Question = question("conductor", &["flexible", "fixed", "gauge"]);
pub const AREA: Question = question("area", &AREA_ANSWERS);
pub const SIZE: Question = question("size", &GAUGE_ANSWERS);
pub const INSULATION: Question = question("insulation", &["unknown", "60", "75", "80", "90", "105", "125", "200"]);
pub const ENGINE: Question = question("engine", NO_YES);
pub const BUNDLED: Asked = count("bundled");
pub const CURRENT: Asked = figure("current", Kind::Amperes, "A");
pub const LENGTH: Asked = figure("length", Kind::Metres, "m");
pub const TEMPERATURE: Asked = signed("temperature", Kind::Celsius, "°C");
pub const SYSTEM: Asked = figure("system", Kind::Volts, "V");
pub const DROP_LIMIT: Asked = figure("drop-limit", Kind::Percent, "%");
pub const CELLS: Asked = Asked { rule: Rule::Cells, ..count("cells") };

const CABLE: &[Ask] = &[
    Ask::Name,
    Ask::Figure(CURRENT),
    Ask::Figure(LENGTH),
    Ask::Choose(CONDUCTOR, Reads::Named),
    Ask::Choose(AREA, Reads::Printed("mm²")),
    Ask::Choose(SIZE, Reads::Gauges),
    Ask::Choose(INSULATION, Reads::Printed("°C")),
    Ask::Figure(SYSTEM),
    Ask::Figure(DROP_LIMIT),
    Ask::Figure(BUNDLED),
    Ask::Choose(ENGINE, Reads::Named),
    Ask::Figure(TEMPERATURE),
    Ask::Figure(CELLS),
];

pub const LOAD: Asked = figure("load", Kind::Amperes, "A");
pub const LASTS: Question = question("lasts", NO_YES);
pub const CABLE_RATING: Asked = figure("cable-rating", Kind::Amperes, "A");
pub const RATING: Asked = figure("rating", Kind::Amperes, "A");
pub const VOLTAGE_RATING: Asked = figure("voltage-rating", Kind::Volts, "V");
pub const HIGHEST: Asked = figure("highest", Kind::Volts, "V");
pub const INTERRUPT: Asked = figure("interrupt", Kind::FaultAmperes, "A");
pub const DISTANCE: Asked = figure("distance", Kind::Metres, "m");
pub const WAY: Question = question("way", &["bare", "sheathed", "post"]);
pub const INNER: Asked = figure("inner", Kind::Ohms, "mΩ");
pub const PARALLEL: Asked = count("parallel");
pub const LEADS: Asked = figure("leads", Kind::Ohms, "mΩ");
pub const PATH: Asked = figure("path", Kind::Ohms, "mΩ");
pub const OWN: Question = question("own", NOT_SAID);
pub const CAPACITY: Asked = figure("capacity", Kind::AmpereHours, "Ah");
pub const MATERIAL: Question = question("material", &["unknown", "pvc", "xlpe"]);
pub const CLEARING: Asked = figure("clearing", Kind::Seconds, "s");

const PROTECTION: &[Ask] = &[
    Ask::Name,
    Ask::Figure(RATING),
    Ask::Figure(LOAD),
    Ask::Choose(LASTS, Reads::Named),
    Ask::Figure(CABLE_RATING),
    Ask::Figure(DISTANCE),
    Ask::Choose(WAY, Reads::Named),
    Ask::Figure(VOLTAGE_RATING),
    Ask::Figure(INTERRUPT),
    Ask::Figure(SYSTEM),
    Ask::Figure(HIGHEST),
    Ask::Figure(INNER),
    Ask::Figure(PARALLEL),
    Ask::Figure(LEADS),
    Ask::Figure(PATH),
    Ask::Choose(OWN, Reads::Named),
    Ask::Figure(CAPACITY),
    Ask::Choose(AREA, Reads::Printed("mm²")),
    Ask::Choose(MATERIAL, Reads::Named),
    Ask::Figure(CLEARING),
];

pub const CAPACITANCE: Asked = figure("capacitance", Kind::Farads, "mF");
pub const RESISTOR: Asked = figure("resistor", Kind::Ohms, "Ω");
pub const WAIT: Asked = figure("wait", Kind::Seconds, "s");
pub const BEARS: Asked = figure("bears", Kind::Amperes, "A");
pub const WHOLE_PATH: Asked = figure("whole-path", Kind::Ohms, "mΩ");

const INRUSH: &[Ask] = &[
    Ask::Name,
    Ask::Figure(CAPACITANCE),
    Ask::Figure(SYSTEM),
    Ask::Figure(WHOLE_PATH),
    Ask::Figure(BEARS),
    Ask::Figure(RESISTOR),
    Ask::Figure(WAIT),
];

pub const STEERED: Question = question("steered", NOT_SAID);
pub const SOURCE: Question = question("source", &["unknown", "solar", "shore", "alternator", "converter"]);
pub const ABSORPTION: Asked = figure("absorption", Kind::Volts, "V");
pub const FLOAT: Asked = figure("float", Kind::Volts, "V");
pub const FLOATS: Question = question("floats", &["yes", "off"]);
pub const RESTART: Asked = figure("restart", Kind::Volts, "V");
pub const COMPENSATION: Asked = signed("compensation", Kind::VoltsPerKelvin, "mV/K");
pub const EQUALISE: Question = question("equalise", NOT_SAID);
pub const EQUALISE_VOLTAGE: Asked = figure("equalise-voltage", Kind::Volts, "V");
pub const COLD_STOP: Question = question("cold-stop", NOT_SAID);
pub const COLD_AT: Asked = signed("cold-at", Kind::Celsius, "°C");
pub const CHARGE_CURRENT: Asked = figure("charge-current", Kind::Amperes, "A");
pub const TAIL: Asked = figure("tail", Kind::Amperes, "A");
pub const ABSORPTION_TIME: Asked = figure("absorption-time", Kind::Hours, "h");
pub const MODULES_LIMIT: Asked = figure("modules-limit", Kind::Amperes, "A");
pub const ASKED_CURRENT: Asked = figure("asked-current", Kind::Amperes, "A");
pub const GIVEN_CURRENT: Asked = figure("given-current", Kind::Amperes, "A");
pub const ASKED_VOLTAGE: Asked = figure("asked-voltage", Kind::Volts, "V");
pub const GIVEN_VOLTAGE: Asked = figure("given-voltage", Kind::Volts, "V");
pub const GUARD: Question = question("guard", &["unknown", "nothing", "converter", "told", "suppressed"]);

const CHARGER: &[Ask] = &[
    Ask::Name,
    Ask::Choose(SOURCE, Reads::Named),
    Ask::Choose(GUARD, Reads::Named),
    Ask::Choose(STEERED, Reads::Named),
    Ask::Figure(ASKED_CURRENT),
    Ask::Figure(GIVEN_CURRENT),
    Ask::Figure(ASKED_VOLTAGE),
    Ask::Figure(GIVEN_VOLTAGE),
    Ask::Figure(CHARGE_CURRENT),
    Ask::Figure(ABSORPTION),
    Ask::Choose(FLOATS, Reads::Named),
    Ask::Figure(FLOAT),
    Ask::Figure(COMPENSATION),
    Ask::Choose(EQUALISE, Reads::Named),
    Ask::Figure(EQUALISE_VOLTAGE),
    Ask::Choose(COLD_STOP, Reads::Named),
    Ask::Figure(COLD_AT),
    Ask::Figure(RESTART),
    Ask::Figure(TAIL),
    Ask::Figure(ABSORPTION_TIME),
    Ask::Figure(CELLS),
    Ask::Figure(HIGHEST),
    Ask::Figure(CAPACITY),
    Ask::Figure(MODULES_LIMIT),
];

pub const MILLIVOLTS: Asked = figure("millivolts", Kind::Volts, "mV");
pub const THROUGH: Asked = figure("through", Kind::Amperes, "A");

const JOINT: &[Ask] = &[Ask::Name, Ask::Figure(MILLIVOLTS), Ask::Figure(THROUGH)];

/// The figure that a text holds; none where it is empty.
pub fn read(asked: Asked, text: &str) -> Result<Option<Shown>, Wrong> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let found = if asked.unit == asked.kind.symbol() {
        entry::read(text, asked.kind)
    } else {
        entry::read_in(text, asked.kind, asked.unit)
    };
    let shown = match found {
        Ok(Entry::Figure(shown)) => shown,
        Ok(Entry::BeyondRange) => return Err(Wrong::Unreadable(Unreadable::NotANumber)),
        Err(why) => return Err(Wrong::Unreadable(why)),
    };
    let value = shown.figure.value();
    let keeps = match asked.rule {
        Rule::Any => true,
        Rule::UpToFull => value <= 100.0,
        Rule::NotBelowZero => value >= 0.0,
        Rule::AtLeastOne => value >= 1.0,
        Rule::Cells => (1.0..=f64::from(crate::core::bank::rest::MOST_CELLS)).contains(&value),
    };
    if keeps { Ok(Some(shown)) } else { Err(Wrong::Breaks(asked.rule)) }
}

/// The figure of a field by its whole key, for tables of readings.
pub fn figure_of(key: &str, text: &str) -> Option<Shown> {
    let (part, rest) = key.split_once('.')?;
    let part = Part::ALL.into_iter().find(|known| known.key() == part)?;
    let (_, item) = rest.rsplit_once('.')?;
    part.asks().iter().find_map(|ask| match ask {
        Ask::Figure(asked) if asked.key == item => read(*asked, text).ok().flatten(),
        _ => None,
    })
}

/// The key of a field: `id` says which sheet of its kind.
pub fn key(part: Part, id: &str, item: &str) -> String {
    format!("{}.{id}.{item}", part.key())
}

/// The texts with the site that stands in where they are silent.
#[derive(Clone, Copy, Debug)]
pub struct Sheet<'a> {
    pub table: &'a Table,
    pub site: Option<&'a Site>,
}

impl<'a> Sheet<'a> {
    pub fn text(&self, part: Part, id: &str, item: &str) -> &'a str {
        self.table.text(&key(part, id, item))
    }

    /// The charger of the site that a sheet is about.
    pub fn charger(&self, id: &str) -> Option<&'a ChargerFigures> {
        self.site?.chargers.iter().find(|charger| charger.key == id)
    }

    /// What a person calls it; else the site's name for it.
    pub fn name(&self, part: Part, id: &str) -> Option<&'a str> {
        let own = Some(self.text(part, id, Ask::Name.key()).trim()).filter(|name| !name.is_empty());
        let charger = || self.charger(id).filter(|_| part == Part::Charger).map(|charger| charger.name.as_str());
        own.or_else(charger)
    }

    /// Has a person said anything on this sheet?
    pub fn is_said(&self, part: Part, id: &str) -> bool {
        part.asks().iter().any(|ask| !self.text(part, id, ask.key()).trim().is_empty())
    }

    /// Is this asked at all, by what was answered before?
    pub fn applies(&self, part: Part, id: &str, ask: &Ask) -> bool {
        let key = ask.key();
        let is_of = |items: &[Asked]| items.iter().any(|item| item.key == key);
        match part {
            Part::Cable if key == AREA.key => self.answer(part, id, CONDUCTOR) != "gauge",
            Part::Cable if key == SIZE.key => self.answer(part, id, CONDUCTOR) == "gauge",
            Part::Charger if is_of(&[ASKED_CURRENT, GIVEN_CURRENT, ASKED_VOLTAGE, GIVEN_VOLTAGE]) => {
                self.yes(part, id, STEERED) == Some(true)
            }
            Part::Charger if key == FLOAT.key => self.answer(part, id, FLOATS) != "off",
            Part::Charger if key == EQUALISE_VOLTAGE.key => self.yes(part, id, EQUALISE) == Some(true),
            Part::Charger if key == COLD_AT.key => self.yes(part, id, COLD_STOP) == Some(true),
            Part::Charger if key == GUARD.key => self.answer(part, id, SOURCE) == "alternator",
            _ => true,
        }
    }

    /// The sheets of a kind: those of the site's chargers, then numbers as far as anything is said.
    pub fn ids(&self, part: Part) -> Vec<String> {
        self.ids_to(part, 0)
    }

    /// The same, with at least so many numbers.
    pub fn ids_to(&self, part: Part, least: u32) -> Vec<String> {
        let of_site = self.site.filter(|_| part == Part::Charger).map_or(&[][..], |site| &site.chargers);
        let mut ids: Vec<String> = of_site.iter().map(|charger| charger.key.clone()).collect();
        let last = (1..=Part::MOST).rev().find(|number| self.is_said(part, &number.to_string())).unwrap_or(0);
        let usual = match part {
            // A joint is told by its siblings.
            Part::Joint => 3,
            _ => u32::from(ids.is_empty()),
        };
        ids.extend((1..=last.max(least).max(usual).min(Part::MOST)).map(|number| number.to_string()));
        ids
    }

    /// The figure as typed; none where the field is empty or cannot be read.
    pub fn shown(&self, part: Part, id: &str, asked: Asked) -> Option<Shown> {
        read(asked, self.text(part, id, asked.key)).ok().flatten()
    }

    /// The figure as typed, else what stands in for an empty field.
    pub fn get<Q: Quantity>(&self, part: Part, id: &str, asked: Asked) -> Option<Q> {
        if self.text(part, id, asked.key).trim().is_empty() {
            return self.given(part, id, asked.key)?.as_quantity();
        }
        self.shown(part, id, asked)?.figure.as_quantity()
    }

    pub fn count(&self, part: Part, id: &str, asked: Asked) -> Option<u32> {
        self.get::<Count>(part, id, asked).map(|count| count.get() as u32)
    }

    /// The answer as chosen, else what the site says, else the first.
    pub fn answer(&self, part: Part, id: &str, question: Question) -> &'static str {
        let said = self.text(part, id, question.key);
        let chosen = question.answers.iter().find(|answer| **answer == said).copied();
        chosen.or_else(|| self.given_answer(id, question)).unwrap_or(question.answers[0])
    }

    /// A yes, a no, or nothing said.
    pub fn yes(&self, part: Part, id: &str, question: Question) -> Option<bool> {
        match self.answer(part, id, question) {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        }
    }

    fn given_answer(&self, id: &str, question: Question) -> Option<&'static str> {
        (question == STEERED).then(|| if self.charger(id)?.steered { Some("yes") } else { Some("no") })?
    }

    /// What counts for a figure whose field is empty: what the site says, or the usual.
    pub fn given(&self, part: Part, id: &str, item: &str) -> Option<Figure> {
        // 40 °C and 3 %: common practice for a warm locker; ABYC E-11 for circuits that matter, as others quote it.
        match item {
            _ if item == TEMPERATURE.key => return Some(Celsius::of(40.0).into()),
            _ if item == DROP_LIMIT.key => return Some(Percent::of(3.0).into()),
            _ if item == BUNDLED.key => return Some(Count::of(2.0).into()),
            _ if item == LEADS.key || item == PATH.key => return Some(Ohms::of(0.0).into()),
            _ => {}
        }
        if part == Part::Protection
            && let Some(figure) = self.of_cable(id, item)
        {
            return Some(figure);
        }
        self.of_charger(id, item).or_else(|| self.of_site(item))
    }

    /// What the cable of the same number says for its protection.
    fn of_cable(&self, id: &str, item: &str) -> Option<Figure> {
        if item == LOAD.key {
            self.shown(Part::Cable, id, CURRENT).map(|shown| shown.figure)
        } else if item == CABLE_RATING.key {
            let rated = super::ampacity::rating(self.conductor(Part::Cable, id)?, self.laying(id)?)?;
            Some(rated.current.into())
        } else {
            None
        }
    }

    fn of_charger(&self, id: &str, item: &str) -> Option<Figure> {
        let charger = self.charger(id)?;
        if item == ABSORPTION.key {
            Some(charger.absorption.into())
        } else if item == FLOAT.key {
            Some(charger.float.into())
        } else if item == CHARGE_CURRENT.key {
            Some(charger.current.into())
        } else {
            None
        }
    }

    fn of_site(&self, item: &str) -> Option<Figure> {
        let site = self.site?;
        let (series, parallel) = (f64::from(site.series), f64::from(site.parallel));
        let module = &site.module;
        let volts = |volts: f64| Volts::new(volts).ok().map(Figure::from);
        let amperes = |amperes: f64| Amperes::new(amperes).ok().map(Figure::from);
        let ohms = |ohms: f64| Ohms::new(ohms).ok().map(Figure::from);
        let counted = |count: u32| Count::new(f64::from(count)).ok().map(Figure::from);
        match item {
            "system" => Some(site.nominal().into()),
            "cells" => counted(site.cells_in_series()),
            "highest" => volts(module.charge_voltage_limit.get() * series),
            "inner" => ohms(module.resistance.get() * series),
            "whole-path" => ohms(module.resistance.get() * series / parallel),
            "parallel" => counted(site.parallel),
            "capacity" => Some(site.capacity().into()),
            "modules-limit" => amperes(module.charge_limit.get() * parallel),
            "bears" => amperes(module.discharge_limit.get() * parallel),
            _ => None,
        }
    }

    /// The conductor that is chosen; none before its size is.
    pub fn conductor(&self, part: Part, id: &str) -> Option<Conductor> {
        let class = match self.answer(part, id, CONDUCTOR) {
            "gauge" => return Gauge::parse(self.answer(part, id, SIZE)).map(Conductor::American),
            "fixed" => Class::Fixed,
            _ => Class::Flexible,
        };
        let area = self.answer(part, id, AREA).parse().ok()?;
        Some(Conductor::Metric { area: Quantity::new(area).ok()?, class })
    }

    /// How a cable is laid; none before its insulation is chosen.
    pub fn laying(&self, id: &str) -> Option<Laying> {
        Some(Laying {
            insulation: Insulation::parse(self.answer(Part::Cable, id, INSULATION))?,
            engine_space: self.yes(Part::Cable, id, ENGINE) == Some(true),
            bundled: self.count(Part::Cable, id, BUNDLED)?,
        })
    }
}

/// Every name that sheets use; content is checked against it.
pub fn names() -> Vec<String> {
    let mut names: Vec<String> = ["power-line-drop", "power-line-current", "power-line-fuse", "power-line-joint"]
        .into_iter()
        .chain(["power-part-size", "power-part-place", "power-part-voltage", "power-part-interrupt"])
        .map(String::from)
        .collect();
    for part in Part::ALL {
        names.push(format!("power-sheet-{}", part.key()));
        for ask in part.asks() {
            names.push(format!("power-{}", ask.key()));
            if let Ask::Choose(question, reads) = ask {
                let named = question.answers.iter().filter(|answer| *reads == Reads::Named || **answer == "unknown");
                names.extend(named.map(|answer| format!("power-{}-{answer}", question.key)));
            }
        }
    }
    names.sort();
    names.dedup();
    names
}
