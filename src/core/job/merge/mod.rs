//! Two versions of one job: what they differ in, as plain data to be drawn side by side, and one job made of both.
//!
//! What was seen is united, so that no observation is ever lost; so are the search's story, checklists and photos. For
//! each other field a side is chosen: mine where nobody chooses, unless mine is empty.

mod union;

use crate::core::bank::table::Table;
use crate::core::job::link::Leave;
use crate::core::job::lists::Taken;
use crate::core::job::photo::Photo;
use crate::core::job::story::Told;
use crate::core::job::{Job, Moment, Observation};
use crate::core::site::figures::{ChargerFigures, LeadFigures, ModuleFigures, MonitorFigures, TerminatorFigures};
use crate::core::units::{Figure, Metres};
use std::collections::{BTreeMap, BTreeSet};
use union::union;

/// One side of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Mine,
    Theirs,
    /// For [`Field::Notes`]: mine, an empty line, theirs. For all else as `Mine`.
    Both,
}

/// A side for each field that somebody chose for.
pub type Choices = BTreeMap<Field, Side>;

/// What a field holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Nothing,
    Text(String),
    Count(u32),
    Figure(Figure),
    Yes(bool),
    /// Equipment by its key and the name on it.
    Equipment {
        key: String,
        name: String,
    },
    Several(Vec<String>),
}

/// A field in which the two differ.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    pub field: Field,
    pub mine: Value,
    pub theirs: Value,
    /// The side that counts where nobody chooses: mine, unless it is empty.
    pub usual: Side,
}

impl Difference {
    /// Both look alike: they differ in figures that have no line of their own, such as those of one module.
    pub fn is_in_figures(&self) -> bool {
        self.mine == self.theirs
    }

    /// Do both sides hold something, so that one of them would give way?
    pub fn is_conflict(&self) -> bool {
        self.mine != Value::Nothing && self.theirs != Value::Nothing
    }
}

/// All in which two versions of a job differ.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Compared {
    pub differences: Vec<Difference>,
    pub only_mine: Vec<Observation>,
    pub only_theirs: Vec<Observation>,
    /// Steps of the search that are theirs alone.
    pub told: Vec<Told>,
    /// Checklists that are theirs alone.
    pub lists: Vec<Taken>,
    pub photos: Vec<Photo>,
}

impl Compared {
    /// Would opening theirs change nothing?
    pub fn brings_nothing(&self) -> bool {
        let Compared { differences, only_mine: _, only_theirs, told, lists, photos } = self;
        differences.is_empty() && only_theirs.is_empty() && told.is_empty() && lists.is_empty() && photos.is_empty()
    }

    /// The same side for every field that differs.
    pub fn all(&self, side: Side) -> Choices {
        self.differences.iter().map(|difference| (difference.field.clone(), side)).collect()
    }
}

macro_rules! fields {
    ($( $name:ident, $key:literal, $($path:ident).+, $value:expr; )*) => {
        /// What two versions of a job may differ in.
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Field {
            $( $name, )*
            /// A list that a person made, by its key.
            List(String),
            /// A field of the bank's table, by its key.
            Bank(String),
            /// A field of the power side, by its key.
            Power(String),
            /// A text that waits in a field, by the field's key.
            Pending(String),
        }

        impl Field {
            /// The fields that every job has.
            pub const ALWAYS: &'static [Field] = &[$( Field::$name ),*];

            /// One of every kind, for the check of the names.
            pub fn named() -> impl Iterator<Item = Field> {
                let keyed = [Field::List, Field::Bank, Field::Power, Field::Pending].map(|of| of(String::new()));
                Field::ALWAYS.iter().cloned().chain(keyed)
            }

            /// The key of its name in the words of the language, after `merge-`.
            pub fn key(&self) -> &'static str {
                match self {
                    $( Field::$name => $key, )*
                    Field::List(_) => "list",
                    Field::Bank(_) => "bank",
                    Field::Power(_) => "power",
                    Field::Pending(_) => "pending",
                }
            }
        }

        /// What a field of a job holds.
        fn value(job: &Job, field: &Field) -> Value {
            match field {
                $( Field::$name => $value(&job.$($path).+), )*
                Field::List(key) => own_list(job, key),
                Field::Bank(key) => text(job.bank.text(key)),
                Field::Power(key) => text(job.power.text(key)),
                Field::Pending(key) => text(job.pending.get(key).map_or("", String::as_str)),
            }
        }

        fn is_same(one: &Job, other: &Job, field: &Field) -> bool {
            match field {
                $( Field::$name => one.$($path).+ == other.$($path).+, )*
                Field::List(key) => list(one, key).map(|list| &list.own) == list(other, key).map(|list| &list.own),
                Field::Bank(key) => one.bank.text(key) == other.bank.text(key),
                Field::Power(key) => one.power.text(key) == other.power.text(key),
                Field::Pending(key) => one.pending.get(key) == other.pending.get(key),
            }
        }

        /// Puts a field of another job into this one.
        fn put(into: &mut Job, from: &Job, field: &Field) {
            match field {
                $( Field::$name => into.$($path).+.clone_from(&from.$($path).+), )*
                Field::List(key) => {
                    let theirs = list(from, key).and_then(|list| list.own.clone());
                    if let Some(mine) = into.lists.iter_mut().find(|list| list.key == *key) {
                        mine.own = theirs;
                    }
                }
                Field::Bank(key) => into.bank.put(key, from.bank.text(key).to_string()),
                Field::Power(key) => into.power.put(key, from.power.text(key).to_string()),
                Field::Pending(key) => {
                    match from.pending.get(key) {
                        Some(text) => into.pending.insert(key.clone(), text.clone()),
                        None => into.pending.remove(key),
                    };
                }
            }
        }
    };
}

fields! {
    Name, "name", site.name, text;
    Module, "module", site.module, module;
    Series, "series", site.series, count;
    Parallel, "parallel", site.parallel, count;
    Monitor, "monitor", site.monitor, monitor;
    Port, "port", site.port, port;
    LinkLead, "link-lead", site.link_lead, lead;
    LinkLength, "link-length", site.link_length, length;
    BusLead, "bus-lead", site.bus_lead, lead;
    BusLength, "bus-length", site.bus_length, length;
    Adapter, "adapter", site.adapter, lead;
    Terminator, "terminator", site.terminator, terminator;
    MonitorTerminator, "monitor-terminator", site.monitor_terminator, terminator;
    TerminatedAtBank, "terminated-at-bank", site.terminated_at_bank, yes;
    TerminatedAtMonitor, "terminated-at-monitor", site.terminated_at_monitor, yes;
    Chargers, "chargers", site.chargers, chargers;
    Notes, "notes", notes, text;
    By, "by", people.by, text;
    Owner, "owner", people.owner, text;
    Place, "place", people.place, text;
    StoryKind, "story-kind", story.kind, text;
}

fn text(text: &str) -> Value {
    if text.is_empty() { Value::Nothing } else { Value::Text(text.to_string()) }
}

fn count(count: &Option<u32>) -> Value {
    count.map_or(Value::Nothing, Value::Count)
}

fn length(length: &Option<Metres>) -> Value {
    length.map_or(Value::Nothing, |length| Value::Figure(length.into()))
}

fn yes(yes: &Option<bool>) -> Value {
    yes.map_or(Value::Nothing, Value::Yes)
}

fn port(port: &Option<String>) -> Value {
    port.as_ref().map_or(Value::Nothing, |port| Value::Text(port.clone()))
}

fn equipment(key: &str, name: String) -> Value {
    Value::Equipment { key: key.to_string(), name }
}

fn module(module: &Option<ModuleFigures>) -> Value {
    module.as_ref().map_or(Value::Nothing, |it| equipment(&it.key, format!("{} {}", it.maker, it.model)))
}

fn monitor(monitor: &Option<MonitorFigures>) -> Value {
    monitor.as_ref().map_or(Value::Nothing, |it| equipment(&it.key, format!("{} {}", it.maker, it.model)))
}

fn lead(lead: &Option<LeadFigures>) -> Value {
    lead.as_ref().map_or(Value::Nothing, |it| equipment(&it.key, it.name.clone()))
}

fn terminator(terminator: &Option<TerminatorFigures>) -> Value {
    terminator.as_ref().map_or(Value::Nothing, |it| equipment(&it.key, it.name.clone()))
}

fn chargers(chargers: &[ChargerFigures]) -> Value {
    match chargers {
        [] => Value::Nothing,
        some => Value::Several(some.iter().map(|charger| charger.name.clone()).collect()),
    }
}

fn list<'a>(job: &'a Job, key: &str) -> Option<&'a Taken> {
    job.lists.iter().find(|list| list.key == key)
}

/// The lines of a list that a person made.
fn own_list(job: &Job, key: &str) -> Value {
    let Some(own) = list(job, key).and_then(|list| list.own.as_ref()) else { return Value::Nothing };
    Value::Several(std::iter::once(&own.title).chain(own.items.iter().map(|item| &item.text)).cloned().collect())
}

/// All fields that one of the two may hold: lists only where both have them, as others are united.
fn fields(mine: &Job, theirs: &Job) -> Vec<Field> {
    let lists = mine.lists.iter().filter(|taken| list(theirs, &taken.key).is_some()).map(|taken| taken.key.clone());
    let bank: BTreeSet<&str> = mine.bank.fields().chain(theirs.bank.fields()).map(|(key, _)| key).collect();
    let power: BTreeSet<&str> = mine.power.fields().chain(theirs.power.fields()).map(|(key, _)| key).collect();
    let pending: BTreeSet<&String> = mine.pending.keys().chain(theirs.pending.keys()).collect();
    let lists: BTreeSet<String> = lists.collect();
    let mut all = Field::ALWAYS.to_vec();
    all.extend(lists.into_iter().map(Field::List));
    all.extend(bank.into_iter().map(|key| Field::Bank(key.to_string())));
    all.extend(power.into_iter().map(|key| Field::Power(key.to_string())));
    all.extend(pending.into_iter().map(|key| Field::Pending(key.clone())));
    all
}

/// The side that counts where nobody chooses.
fn usual(mine: &Value) -> Side {
    if *mine == Value::Nothing { Side::Theirs } else { Side::Mine }
}

/// Which sections of theirs are known to be left out, and so differ in nothing.
fn is_left_out(field: &Field, left: &Leave) -> bool {
    match field {
        Field::Notes => left.notes,
        Field::By | Field::Owner | Field::Place => left.people,
        Field::StoryKind => left.story,
        Field::List(_) => left.lists,
        Field::Bank(_) => left.bank,
        Field::Power(_) => left.power,
        Field::Pending(_) => left.pending,
        _ => false,
    }
}

/// Compares two versions of a job. `left` says which sections of theirs were left out on purpose.
pub fn compare(mine: &Job, theirs: &Job, left: &Leave) -> Compared {
    let differ = |field: &Field| !is_left_out(field, left) && !is_same(mine, theirs, field);
    let difference = |field: Field| {
        let (mine, theirs) = (value(mine, &field), value(theirs, &field));
        Difference { usual: usual(&mine), field, mine, theirs }
    };
    let seen = union(&mine.observations, &theirs.observations);
    let told = union(&mine.story.told, &theirs.story.told);
    let unknown = |taken: &&Taken| list(mine, &taken.key).is_none();
    Compared {
        differences: fields(mine, theirs).into_iter().filter(differ).map(difference).collect(),
        only_mine: seen.only_mine,
        only_theirs: seen.only_theirs,
        told: told.only_theirs,
        lists: theirs.lists.iter().filter(unknown).cloned().collect(),
        photos: new_photos(mine, theirs).cloned().collect(),
    }
}

fn new_photos<'a>(mine: &'a Job, theirs: &'a Job) -> impl Iterator<Item = &'a Photo> {
    theirs.photos.iter().filter(|photo| !mine.photos.iter().any(|known| known.key == photo.key))
}

/// One job of two. Key, beginning, demo and being put away are mine, as are fields of a newer app that both have.
pub fn merge(mine: &Job, theirs: &Job, choices: &Choices) -> Job {
    let mut merged = mine.clone();
    for field in fields(mine, theirs).into_iter().filter(|field| !is_same(mine, theirs, field)) {
        let side = choices.get(&field).copied().unwrap_or_else(|| usual(&value(mine, &field)));
        match (side, &field) {
            (Side::Theirs, _) => put(&mut merged, theirs, &field),
            (Side::Both, Field::Notes) => merged.notes = both(&mine.notes, &theirs.notes),
            (Side::Mine | Side::Both, _) => {}
        }
    }
    merged.observations = union(&mine.observations, &theirs.observations).all;
    merged.story.told = union(&mine.story.told, &theirs.story.told).all;
    for taken in &theirs.lists {
        if list(&merged, &taken.key).is_none() {
            merged.lists.push(taken.clone());
        }
    }
    merged.photos.extend(new_photos(mine, theirs).cloned());
    merged.bank_at = at_of(&merged.bank, (&mine.bank, mine.bank_at), (&theirs.bank, theirs.bank_at));
    merged.power_at = at_of(&merged.power, (&mine.power, mine.power_at), (&theirs.power, theirs.power_at));
    for (key, value) in &theirs.rest {
        merged.rest.entry(key.clone()).or_insert_with(|| value.clone());
    }
    merged
}

/// When a merged table was last changed: with the one it is equal to, else with the later.
fn at_of(merged: &Table, mine: (&Table, Option<Moment>), theirs: (&Table, Option<Moment>)) -> Option<Moment> {
    match merged {
        same if same == mine.0 => mine.1,
        same if same == theirs.0 => theirs.1,
        _ => mine.1.max(theirs.1),
    }
}

/// Two texts one below the other; what is in one already is not said again.
fn both(mine: &str, theirs: &str) -> String {
    match (mine.trim(), theirs.trim()) {
        (_, "") => mine.to_string(),
        ("", _) => theirs.to_string(),
        (one, other) if one.contains(other) => mine.to_string(),
        (one, other) if other.contains(one) => theirs.to_string(),
        _ => format!("{}\n\n{theirs}", mine.trim_end()),
    }
}
