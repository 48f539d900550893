//! What a person says of a bank, module by module: the texts as typed, field by field, and the bank that they make.
//!
//! Texts are kept and figures derived, so that nothing typed is lost, whether it can be read or not. A field left empty, or
//! one that cannot be read, is not known.

use super::findings::asks::Asks;
use super::findings::numbers::{Plate, Said, Series, of_each};
use super::modules::{Bank, BankError, SocBasis};
use super::rest::MOST_CELLS;
use super::shown::{Shown, What};
use crate::core::entry::{self, Entry, Unreadable};
use crate::core::site::{MOST_MODULES, Site};
use crate::core::units::{Kind, Quantity};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What a field accepts beyond its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    Any,
    /// A state of charge ends at 100 %.
    UpToFull,
    NotBelowZero,
    AtLeastOne,
    Cells,
}

/// One thing that is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Item {
    pub key: &'static str,
    pub kind: Kind,
    pub rule: Rule,
    /// May it be below zero, so that the field offers a sign?
    pub signed: bool,
}

const fn item(key: &'static str, kind: Kind, rule: Rule) -> Item {
    Item { key, kind, rule, signed: false }
}

impl Item {
    pub const PARALLEL: Item = item("parallel", Kind::Count, Rule::AtLeastOne);
    pub const SERIES: Item = item("series", Kind::Count, Rule::AtLeastOne);

    // A module's plate.
    pub const CAPACITY: Item = item("capacity", Kind::AmpereHours, Rule::Any);
    pub const NOMINAL: Item = item("nominal", Kind::Volts, Rule::Any);
    pub const CELLS: Item = item("cells", Kind::Count, Rule::Cells);
    pub const SOH: Item = item("soh", Kind::Percent, Rule::Any);
    pub const CHARGE_LIMIT: Item = item("charge-limit", Kind::Amperes, Rule::NotBelowZero);
    pub const DISCHARGE_LIMIT: Item = item("discharge-limit", Kind::Amperes, Rule::NotBelowZero);
    pub const CHARGE_VOLTAGE: Item = item("charge-voltage", Kind::Volts, Rule::Any);
    pub const DISCHARGE_VOLTAGE: Item = item("discharge-voltage", Kind::Volts, Rule::Any);

    // What it says now.
    pub const SOC: Item = item("soc", Kind::Percent, Rule::UpToFull);
    pub const VOLTAGE: Item = item("voltage", Kind::Volts, Rule::Any);
    pub const CURRENT: Item = Item { signed: true, ..item("current", Kind::Amperes, Rule::Any) };
    pub const LOWEST: Item = item("lowest", Kind::Volts, Rule::Any);
    pub const HIGHEST: Item = item("highest", Kind::Volts, Rule::Any);
    pub const TEMPERATURE: Item = Item { signed: true, ..item("temperature", Kind::Celsius, Rule::Any) };

    // What the bank asks of its chargers.
    pub const ASKED_VOLTAGE: Item = item("asked-voltage", Kind::Volts, Rule::Any);
    pub const ASKED_CURRENT: Item = item("asked-current", Kind::Amperes, Rule::NotBelowZero);

    pub const SAID: [Item; 6] =
        [Item::SOC, Item::VOLTAGE, Item::CURRENT, Item::LOWEST, Item::HIGHEST, Item::TEMPERATURE];
    pub const PLATE: [Item; 8] = [
        Item::CAPACITY,
        Item::NOMINAL,
        Item::CELLS,
        Item::SOH,
        Item::CHARGE_LIMIT,
        Item::DISCHARGE_LIMIT,
        Item::CHARGE_VOLTAGE,
        Item::DISCHARGE_VOLTAGE,
    ];

    /// The field of a figure that the display shows.
    pub fn shown(what: What) -> Item {
        let key = match what {
            What::Capacity => "shown-capacity",
            What::ChargeHeld => "shown-charge",
            What::Soc => "shown-soc",
            What::Soh => "shown-soh",
            What::Voltage => "shown-voltage",
            What::Current => "shown-current",
            What::Power => "shown-power",
            What::Modules => "shown-modules",
            What::LowestCell => "shown-lowest",
            What::HighestCell => "shown-highest",
            What::Coldest => "shown-coldest",
            What::Hottest => "shown-hottest",
        };
        let signed = matches!(what, What::Current | What::Power | What::Coldest | What::Hottest);
        Item { signed, ..item(key, what.kind(), Rule::Any) }
    }

    /// The figure that a text holds; none where it is empty.
    pub fn read(self, text: &str) -> Result<Option<entry::Shown>, Wrong> {
        if text.trim().is_empty() {
            return Ok(None);
        }
        let shown = match entry::read(text, self.kind) {
            Ok(Entry::Figure(shown)) => shown,
            Ok(Entry::BeyondRange) => return Err(Wrong::Unreadable(Unreadable::NotANumber)),
            Err(why) => return Err(Wrong::Unreadable(why)),
        };
        let value = shown.figure.value();
        let keeps = match self.rule {
            Rule::Any => true,
            Rule::UpToFull => value <= 100.0,
            Rule::NotBelowZero => value >= 0.0,
            Rule::AtLeastOne => value >= 1.0,
            Rule::Cells => (1.0..=f64::from(MOST_CELLS)).contains(&value),
        };
        if keeps { Ok(Some(shown)) } else { Err(Wrong::Breaks(self.rule)) }
    }
}

/// Why a text is no figure for its field.
#[derive(Clone, Debug, PartialEq)]
pub enum Wrong {
    Unreadable(Unreadable),
    Breaks(Rule),
}

/// A question with a few answers; the first is what nobody said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    pub key: &'static str,
    pub answers: &'static [&'static str],
}

const YES_NO: &[&str] = &["unknown", "yes", "no"];

impl Question {
    pub const BASIS: Question = Question { key: "basis", answers: &["present", "nameplate"] };
    /// One set of figures for every module, or one for each.
    pub const WAY: Question = Question { key: "way", answers: &["alike", "singly"] };
    pub const ANSWERS: Question = Question { key: "answers", answers: YES_NO };
    pub const CHARGE_OFF: Question = Question { key: "charge-off", answers: YES_NO };
    pub const DISCHARGE_OFF: Question = Question { key: "discharge-off", answers: YES_NO };

    pub const SAID: [Question; 3] = [Question::ANSWERS, Question::CHARGE_OFF, Question::DISCHARGE_OFF];
}

/// Whom a field is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// The bank, and what stands on every plate.
    Bank,
    /// What every module says.
    All,
    /// The module with this number, from 1, string by string.
    Module(u32),
}

impl Of {
    /// The key of a field.
    pub fn key(self, item: &str) -> String {
        match self {
            Of::Bank => item.to_string(),
            Of::All => format!("all-{item}"),
            Of::Module(number) => format!("m{number}-{item}"),
        }
    }
}

/// Texts by field. Fields that this version does not know stay.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Table(BTreeMap<String, String>);

impl FromIterator<(String, String)> for Table {
    fn from_iter<I: IntoIterator<Item = (String, String)>>(fields: I) -> Table {
        Table(fields.into_iter().collect())
    }
}

impl Table {
    pub fn text(&self, key: &str) -> &str {
        self.0.get(key).map_or("", String::as_str)
    }

    /// All that was said of a module or of all alike, in one text: another one wherever anything of it was changed.
    pub fn texts_of(&self, of: Of) -> String {
        let begin = of.key("");
        let own = self.0.range(begin.clone()..).take_while(|(key, _)| key.starts_with(&begin));
        own.flat_map(|(key, text)| [key.as_str(), "=", text.as_str(), "\n"]).collect()
    }

    /// Every text with its field.
    pub fn iter(&self) -> impl Iterator<Item = (&String, &String)> {
        self.0.iter()
    }

    /// Puts a text into a field. An empty one leaves no trace.
    pub fn put(&mut self, key: &str, text: String) {
        if text.is_empty() {
            self.0.remove(key);
        } else {
            self.0.insert(key.to_string(), text);
        }
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Every field that holds anything, by key, with its text as typed.
    pub fn fields(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(key, text)| (key.as_str(), text.as_str()))
    }

    /// The figure in a field; none where it is empty or cannot be read.
    pub fn shown(&self, of: Of, item: Item) -> Option<entry::Shown> {
        item.read(self.text(&of.key(item.key))).ok().flatten()
    }

    pub fn get<Q: Quantity>(&self, of: Of, item: Item) -> Option<Q> {
        self.shown(of, item)?.figure.as_quantity()
    }

    fn count(&self, of: Of, item: Item) -> Option<u32> {
        // Whole and in range by its kind.
        self.shown(of, item).map(|shown| shown.figure.value() as u32)
    }

    /// The answer to a question: one of its own.
    pub fn answer(&self, of: Of, question: Question) -> &'static str {
        let said = self.text(&of.key(question.key));
        let known = question.answers.iter().find(|answer| **answer == said);
        known.or(question.answers.first()).copied().unwrap_or_default()
    }

    fn yes(&self, of: Of, question: Question) -> Option<bool> {
        match self.answer(of, question) {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        }
    }

    /// Does every module get a card of its own?
    pub fn is_singly(&self) -> bool {
        self.answer(Of::Bank, Question::WAY) == "singly"
    }

    /// Whose fields say how this module, from 1, stands.
    fn of_module(&self, number: u32) -> Of {
        if self.is_singly() { Of::Module(number) } else { Of::All }
    }

    /// How the modules sit: as the site says, else as typed.
    pub fn how(&self, site: Option<&Site>) -> Option<Series> {
        match site {
            Some(site) => Some(Series { series: site.series, parallel: site.parallel }),
            None => Some(Series {
                series: self.count(Of::Bank, Item::SERIES).or_else(|| {
                    // Nobody spoke of strings: modules side by side. What cannot be read is not guessed at.
                    self.text(Item::SERIES.key).trim().is_empty().then_some(1)
                })?,
                parallel: self.count(Of::Bank, Item::PARALLEL)?,
            }),
        }
    }

    /// A plate: its own figures, else those of every plate, else those of the site.
    fn plate(&self, of: Of, site: Option<&Site>) -> Plate {
        fn figure<Q: Quantity>(table: &Table, of: Of, item: Item) -> Option<Q> {
            let own = table.text(&of.key(item.key)).trim();
            // A text of its own that cannot be read is not the plate of all.
            if own.is_empty() { table.get(Of::Bank, item) } else { table.get(of, item) }
        }
        let module = site.map(|site| &site.module);
        let cells = match self.text(&of.key(Item::CELLS.key)).trim() {
            "" => self.count(Of::Bank, Item::CELLS),
            _ => self.count(of, Item::CELLS),
        };
        Plate {
            capacity: figure(self, of, Item::CAPACITY).or(module.map(|m| m.capacity)),
            nominal: figure(self, of, Item::NOMINAL).or(module.map(|m| m.nominal).filter(|_| cells.is_none())),
            cells: cells.or(module.map(|m| m.cells_in_series)),
            soh: figure(self, of, Item::SOH),
            charge_limit: figure(self, of, Item::CHARGE_LIMIT).or(module.map(|m| m.charge_limit)),
            discharge_limit: figure(self, of, Item::DISCHARGE_LIMIT).or(module.map(|m| m.discharge_limit)),
            charge_voltage_limit: figure(self, of, Item::CHARGE_VOLTAGE).or(module.map(|m| m.charge_voltage_limit)),
            discharge_voltage_limit: figure(self, of, Item::DISCHARGE_VOLTAGE)
                .or(module.map(|m| m.discharge_voltage_limit)),
            soc_basis: match self.answer(Of::Bank, Question::BASIS) {
                "nameplate" => SocBasis::Nameplate,
                _ => SocBasis::Present,
            },
        }
    }

    fn said(&self, of: Of) -> Said {
        Said {
            soc: self.get(of, Item::SOC),
            voltage: self.get(of, Item::VOLTAGE),
            current: self.get(of, Item::CURRENT),
            lowest_cell: self.get(of, Item::LOWEST),
            highest_cell: self.get(of, Item::HIGHEST),
            temperature: self.get(of, Item::TEMPERATURE),
            answering: self.yes(of, Question::ANSWERS),
            charge_held_off: self.yes(of, Question::CHARGE_OFF),
            discharge_held_off: self.yes(of, Question::DISCHARGE_OFF),
        }
    }

    /// The bank; none before it is said how the modules sit.
    pub fn bank(&self, site: Option<&Site>) -> Option<Result<Bank, BankError>> {
        Some(of_each(self.how(site)?, |index| {
            let of = self.of_module(index + 1);
            // The plate of a module counts only where each has a card.
            let plate = if self.is_singly() { of } else { Of::Bank };
            (self.plate(plate, site), self.said(of))
        }))
    }

    /// The figures that the display shows, as they stand in this table.
    pub fn display(&self) -> Shown {
        let mut shown = Shown::default();
        for what in What::ALL {
            if let Some(figure) = self.shown(Of::Bank, Item::shown(what)) {
                // Read with the kind of the figure, so that it always fits.
                let _ = shown.set(what, figure);
            }
        }
        shown
    }

    /// What the bank asks of its chargers.
    pub fn asks(&self, site: Option<&Site>) -> Asks {
        Asks {
            voltage: self.get(Of::Bank, Item::ASKED_VOLTAGE),
            current: self.get(Of::Bank, Item::ASKED_CURRENT),
            coldest_charge: site.map(|site| site.module.coldest_charge),
            hottest_charge: site.map(|site| site.module.hottest_charge),
        }
    }

    /// Takes over what one module says from another. Its plate stays its own.
    pub fn copy_said(&mut self, from: u32, to: u32) {
        let items = Item::SAID.iter().map(|item| item.key).chain(Question::SAID.iter().map(|question| question.key));
        for key in items {
            let text = self.text(&Of::Module(from).key(key)).to_string();
            self.put(&Of::Module(to).key(key), text);
        }
    }

    /// Whose fields hold anything: every module's own, or those of all.
    pub fn modules(&self) -> Vec<Of> {
        let all = if self.is_singly() { (1..=MOST_MODULES).map(Of::Module).collect() } else { vec![Of::All] };
        let has = |of: &Of| {
            let prefix = of.key("");
            self.0.range(prefix.clone()..).next().is_some_and(|(key, _)| key.starts_with(&prefix))
        };
        all.into_iter().filter(has).collect()
    }
}
