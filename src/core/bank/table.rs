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
use crate::core::site::figures::ModuleFigures;
use crate::core::site::{MOST_MODULES, Site};
use crate::core::units::{Kind, Quantity};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::Bound;
use std::sync::Arc;

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
    /// The answer that a text is; any other text is what nobody said.
    fn answer(self, said: &str) -> &'static str {
        let known = self.answers.iter().find(|answer| **answer == said);
        known.or(self.answers.first()).copied().unwrap_or_default()
    }

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
        [&self.prefix(), item].concat()
    }

    /// What its keys begin with.
    fn prefix(self) -> Cow<'static, str> {
        match self {
            Of::Bank => Cow::Borrowed(""),
            Of::All => Cow::Borrowed("all-"),
            Of::Module(number) => Cow::Owned(format!("m{number}-")),
        }
    }
}

// Copies share one text until one of them is changed: a job is copied at every key that is typed in it, and a large bank is
// hundreds of texts. The published schema, which has the sentence below, need not know.
/// Texts by field. Fields that this version does not know stay.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Table(Arc<BTreeMap<String, String>>);

impl FromIterator<(String, String)> for Table {
    fn from_iter<I: IntoIterator<Item = (String, String)>>(fields: I) -> Table {
        Table(Arc::new(fields.into_iter().collect()))
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
        let texts = Arc::make_mut(&mut self.0);
        if text.is_empty() {
            texts.remove(key);
        } else {
            texts.insert(key.to_string(), text);
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

    /// The answer to a question: one of its own.
    pub fn answer(&self, of: Of, question: Question) -> &'static str {
        question.answer(self.text(&of.key(question.key)))
    }

    /// Does every module get a card of its own?
    pub fn is_singly(&self) -> bool {
        self.answer(Of::Bank, Question::WAY) == "singly"
    }

    /// How the modules sit: as the site says, else as typed.
    pub fn how(&self, site: Option<&Site>) -> Option<Series> {
        match site {
            Some(site) => Some(Series { series: site.series, parallel: site.parallel }),
            None => Some(Series {
                series: self.told_by(Of::Bank).count(Item::SERIES).or_else(|| {
                    // Nobody spoke of strings: modules side by side. What cannot be read is not guessed at.
                    self.text(Item::SERIES.key).trim().is_empty().then_some(1)
                })?,
                parallel: self.told_by(Of::Bank).count(Item::PARALLEL)?,
            }),
        }
    }

    /// All that a table says of one.
    fn told_by(&self, of: Of) -> Fields<'_> {
        let prefix = of.prefix();
        let begin = Bound::Included(prefix.as_ref());
        let own = self.0.range::<str, _>((begin, Bound::Unbounded));
        let own = own.map_while(|(key, text)| Some((key.strip_prefix(prefix.as_ref())?, text.as_str())));
        Fields { table: self, own: (of != Of::Bank).then(|| own.collect()) }
    }

    /// The bank; none before it is said how the modules sit.
    pub fn bank(&self, site: Option<&Site>) -> Option<Result<Bank, BankError>> {
        let how = self.how(site)?;
        let every = self.told_by(Of::Bank).plate();
        let module = site.map(|site| &site.module);
        let is_singly = self.is_singly();
        let of_all = (!is_singly).then(|| self.told_by(Of::All).said());
        Some(of_each(how, |index| match of_all {
            // The plate of a module counts only where each has a card.
            Some(said) => (every.or_of(module), said),
            None => {
                let own = self.told_by(Of::Module(index + 1));
                (own.plate_or(every).or_of(module), own.said())
            }
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

/// What a table says of one module, of all alike, or of the bank.
struct Fields<'a> {
    table: &'a Table,
    /// Item and text; none for the bank, whose fields have their items' names.
    own: Option<Vec<(&'a str, &'a str)>>,
}

impl<'a> Fields<'a> {
    fn text(&self, item: &str) -> &'a str {
        match &self.own {
            None => self.table.text(item),
            Some(own) => own.iter().find(|(key, _)| *key == item).map_or("", |(_, text)| text),
        }
    }

    fn get<Q: Quantity>(&self, item: Item) -> Option<Q> {
        item.read(self.text(item.key)).ok().flatten()?.figure.as_quantity()
    }

    fn count(&self, item: Item) -> Option<u32> {
        // Whole and in range by its kind.
        item.read(self.text(item.key)).ok().flatten().map(|shown| shown.figure.value() as u32)
    }

    fn yes(&self, question: Question) -> Option<bool> {
        match question.answer(self.text(question.key)) {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        }
    }

    fn plate(&self) -> Plate {
        Plate {
            capacity: self.get(Item::CAPACITY),
            nominal: self.get(Item::NOMINAL),
            cells: self.count(Item::CELLS),
            soh: self.get(Item::SOH),
            charge_limit: self.get(Item::CHARGE_LIMIT),
            discharge_limit: self.get(Item::DISCHARGE_LIMIT),
            charge_voltage_limit: self.get(Item::CHARGE_VOLTAGE),
            discharge_voltage_limit: self.get(Item::DISCHARGE_VOLTAGE),
            soc_basis: match Question::BASIS.answer(self.text(Question::BASIS.key)) {
                "nameplate" => SocBasis::Nameplate,
                _ => SocBasis::Present,
            },
        }
    }

    /// Its own figures, else those of every plate. A text of its own that cannot be read is not the plate of all.
    fn plate_or(&self, every: Plate) -> Plate {
        let own = self.plate();
        let is_said = |item: Item| !self.text(item.key).trim().is_empty();
        macro_rules! either {
            ($field:ident, $item:ident) => {
                if is_said(Item::$item) { own.$field } else { every.$field }
            };
        }
        Plate {
            capacity: either!(capacity, CAPACITY),
            nominal: either!(nominal, NOMINAL),
            cells: either!(cells, CELLS),
            soh: either!(soh, SOH),
            charge_limit: either!(charge_limit, CHARGE_LIMIT),
            discharge_limit: either!(discharge_limit, DISCHARGE_LIMIT),
            charge_voltage_limit: either!(charge_voltage_limit, CHARGE_VOLTAGE),
            discharge_voltage_limit: either!(discharge_voltage_limit, DISCHARGE_VOLTAGE),
            // Asked once for the whole bank.
            soc_basis: every.soc_basis,
        }
    }

    fn said(&self) -> Said {
        Said {
            soc: self.get(Item::SOC),
            voltage: self.get(Item::VOLTAGE),
            current: self.get(Item::CURRENT),
            lowest_cell: self.get(Item::LOWEST),
            highest_cell: self.get(Item::HIGHEST),
            temperature: self.get(Item::TEMPERATURE),
            answering: self.yes(Question::ANSWERS),
            charge_held_off: self.yes(Question::CHARGE_OFF),
            discharge_held_off: self.yes(Question::DISCHARGE_OFF),
        }
    }
}

impl Plate {
    /// What no plate says is that of the site's module.
    fn or_of(self, module: Option<&ModuleFigures>) -> Plate {
        Plate {
            capacity: self.capacity.or(module.map(|m| m.capacity)),
            // Cells that were told have a voltage of their own.
            nominal: self.nominal.or(module.map(|m| m.nominal).filter(|_| self.cells.is_none())),
            cells: self.cells.or(module.map(|m| m.cells_in_series)),
            charge_limit: self.charge_limit.or(module.map(|m| m.charge_limit)),
            discharge_limit: self.discharge_limit.or(module.map(|m| m.discharge_limit)),
            charge_voltage_limit: self.charge_voltage_limit.or(module.map(|m| m.charge_voltage_limit)),
            discharge_voltage_limit: self.discharge_voltage_limit.or(module.map(|m| m.discharge_voltage_limit)),
            ..self
        }
    }
}
