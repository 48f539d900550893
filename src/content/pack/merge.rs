//! Packs put to a content, each whole or not at all.

use super::place::{Place, Segment};
use super::read::{is_key, not_a_key};
use super::{MOST_MISTAKES, MOST_PACKS, Mistake, Pack};
use crate::content::rules::{self, Reader};
use crate::content::schema::*;
use crate::content::tongue::{Tongue, Units};
use crate::core::faults::finder::tables;
use crate::core::job::brief::print;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A content with packs put to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    pub content: Content,
    /// Which pack brought an entry: `part/key` to the pack's key.
    owners: BTreeMap<String, String>,
    /// Keys of the packs, in the order in which they were put.
    pub packs: Vec<String>,
}

impl Together {
    /// A content without packs.
    pub fn of(content: Content) -> Together {
        Together { content, owners: BTreeMap::new(), packs: Vec::new() }
    }

    /// Nothing at all: what the built-in content as a pack is put to.
    pub fn nothing() -> Together {
        let numbers = tables::Numbers {
            nothing: 0.0,
            two: 0.0,
            error: 0.0,
            repair_fails: 0.0,
            switch_off_min: 0.0,
            switch_on_min: 0.0,
            wrong_min: 0.0,
            least_bits: 0.0,
            least_bits_of_likeliest: 0.0,
        };
        let words = tables::Words { weight: BTreeMap::new(), chance: BTreeMap::new(), numbers };
        Together::of(Content {
            sources: BTreeMap::new().into(),
            walk: Walk { stages: Vec::new() }.into(),
            checklists: Checklists::default().into(),
            equipment: Equipment::default().into(),
            connectors: Vec::new().into(),
            protocols: Vec::new().into(),
            demo: Vec::new().into(),
            finder: tables::Tables {
                words,
                kinds: Vec::new(),
                faults: Vec::new(),
                checks: Vec::new(),
                symptoms: Vec::new(),
                alarm_default: String::new(),
                alarms: BTreeMap::new(),
            }
            .into(),
            units: Units::default(),
            packs: 0,
            language: Language {
                tongue: Tongue::default(),
                words: Vec::new(),
                because: BTreeMap::new().into(),
                problems: BTreeMap::new().into(),
                names: BTreeMap::new().into(),
                walk: WalkWords::default().into(),
                checklists: ChecklistWords::default().into(),
                checks: BTreeMap::new().into(),
                symptoms: BTreeMap::new().into(),
                guides: Vec::new().into(),
                alarms: Vec::new().into(),
                codes: BTreeMap::new().into(),
                search: SearchWords::default().into(),
                finder: FinderWords::default().into(),
            },
        })
    }

    /// The content with the pack.
    ///
    /// # Errors
    /// Everything that keeps the pack from being put to it: keys that are there already, and every rule of the content that
    /// the two together break.
    pub fn with(&self, pack: &Pack) -> Result<Together, Vec<Mistake>> {
        let mut together = self.clone();
        let mut adding = Adding { pack, owners: &mut together.owners, used: BTreeSet::new(), mistakes: Vec::new() };
        if self.packs.contains(&pack.key) {
            let reason = format!("there is a pack \"{}\" already", pack.key);
            adding.wrong(Place::of(&["key"]), reason);
        }
        if self.packs.len() >= MOST_PACKS {
            adding.wrong(Place::WHOLE, format!("there are {MOST_PACKS} packs already: remove one first"));
        }
        adding.all(&mut together.content);
        let mut mistakes = adding.mistakes;
        // Rules would complain of what follows from a key that could not be put.
        if mistakes.is_empty() {
            mistakes = held(&together.content, pack);
        }
        mistakes.truncate(MOST_MISTAKES);
        if !mistakes.is_empty() {
            return Err(mistakes);
        }
        // The first one is the built-in content itself.
        if !self.content.language.words.is_empty() {
            together.content.packs = print(&format!("{:x} {}", self.content.packs, pack.text()));
        }
        together.packs.push(pack.key.clone());
        Ok(together)
    }
}

/// Mistakes of the pack by the rules of the content.
fn held(content: &Content, pack: &Pack) -> Vec<Mistake> {
    let mut reader = Reader::default();
    rules::hold(content, &mut reader);
    if reader.mistakes.is_empty() {
        return Vec::new();
    }
    let value = serde_json::to_value(pack).unwrap_or_default();
    let place = |mistake: &rules::Mistake| where_in(&value, &mistake.file, &mistake.near);
    reader.mistakes.iter().map(|mistake| Mistake::new(place(mistake), mistake.reason.clone())).collect()
}

struct Adding<'a> {
    pack: &'a Pack,
    owners: &'a mut BTreeMap<String, String>,
    /// What `replaces` names and was replaced.
    used: BTreeSet<String>,
    mistakes: Vec<Mistake>,
}

impl Adding<'_> {
    fn wrong(&mut self, place: Place, reason: String) {
        self.mistakes.push(Mistake::new(place, reason));
    }

    /// May the entry be put? Notes the mistake if not.
    fn may(&mut self, part: &str, key: &str, is_there: bool, place: Place) -> bool {
        let name = format!("{part}/{key}");
        if !is_key(key) {
            self.wrong(place, not_a_key(key));
            return false;
        }
        let owner = self.owners.get(&name);
        let replaces = self.pack.replaces.contains(&name);
        let reason = match (is_there, owner) {
            (false, _) => None,
            (true, Some(owner)) if *owner == self.pack.key => Some(format!("\"{key}\" is there twice")),
            (true, Some(owner)) => Some(format!("\"{key}\" is in the pack \"{owner}\" too: remove that first")),
            (true, None) if replaces => {
                self.used.insert(name.clone());
                None
            }
            (true, None) => Some(format!(
                "\"{key}\" is there already: another key, or \"{name}\" in \"replaces\" to put this in its place"
            )),
        };
        match reason {
            Some(reason) => self.wrong(place, reason),
            None => drop(self.owners.insert(name, self.pack.key.clone())),
        }
        self.mistakes.is_empty()
    }

    fn list<T: Clone>(&mut self, part: &str, at: &[&str], old: &mut Vec<T>, new: &[T], key: fn(&T) -> &String) {
        for (index, entry) in new.iter().enumerate() {
            let there = old.iter().position(|known| key(known) == key(entry));
            if self.may(part, key(entry), there.is_some(), Place::of(at).then(index)) {
                match there {
                    Some(there) => old[there] = entry.clone(),
                    None => old.push(entry.clone()),
                }
            }
        }
    }

    fn map<T: Clone>(&mut self, part: &str, at: &[&str], old: &mut BTreeMap<String, T>, new: &BTreeMap<String, T>) {
        for (key, entry) in new {
            if self.may(part, key, old.contains_key(key), Place::of(at).then(key.as_str())) {
                old.insert(key.clone(), entry.clone());
            }
        }
    }

    fn all(&mut self, content: &mut Content) {
        let pack = self.pack;
        self.map("sources", &["sources"], &mut content.sources, &pack.sources);
        let (old, new) = (&mut content.equipment, &pack.equipment);
        self.list("modules", &["equipment", "modules"], &mut old.modules, &new.modules, |item| &item.key);
        self.list("monitors", &["equipment", "monitors"], &mut old.monitors, &new.monitors, |item| &item.key);
        self.list("leads", &["equipment", "leads"], &mut old.leads, &new.leads, |item| &item.key);
        let at = ["equipment", "terminators"];
        self.list("terminators", &at, &mut old.terminators, &new.terminators, |item| &item.key);
        self.list("chargers", &["equipment", "chargers"], &mut old.chargers, &new.chargers, |item| &item.key);
        self.list("connectors", &["connectors"], &mut content.connectors, &pack.connectors, |item| &item.key);
        self.list("protocols", &["protocols"], &mut content.protocols, &pack.protocols, |item| &item.key);
        self.list("sites", &["sites"], &mut content.demo, &pack.sites, |item| &item.key);
        self.steps(&mut content.walk);
        let (old, new) = (&mut content.checklists, &pack.checklists);
        self.list("lists", &["checklists", "lists"], &mut old.lists, &new.lists, |list| &list.key);
        old.lists.sort_by_key(|list| list.order);
        self.list("items", &["checklists", "items"], &mut old.items, &new.items, |item| &item.key);
        self.list("guides", &["guides"], &mut content.language.guides, &pack.guides, |guide| &guide.key);
        content.language.guides.sort_by_key(|guide| guide.order);
        self.list("alarms", &["alarms"], &mut content.language.alarms, &pack.alarms, |alarm| &alarm.key);
        self.finder(&mut content.finder);
        self.words(&mut content.language);
        for (index, name) in pack.replaces.iter().enumerate() {
            if !self.used.contains(name) {
                let reason = format!("the pack puts nothing in the place of \"{name}\"");
                self.wrong(Place::of(&["replaces"]).then(index), reason);
            }
        }
    }

    /// Steps into their stages: after the one that they name, else at the end.
    fn steps(&mut self, walk: &mut Walk) {
        let pack = self.pack;
        let is_first = walk.stages.is_empty();
        for (index, stage) in pack.steps.iter().enumerate() {
            let at = Place::of(&["steps"]).then(index);
            let there = walk.stages.iter().position(|known| known.key == stage.key);
            if there.is_none() && !self.may("stages", &stage.key, false, at.clone()) {
                continue;
            }
            let there = there.unwrap_or_else(|| {
                walk.stages.push(Stage { key: stage.key.clone(), steps: Vec::new() });
                walk.stages.len() - 1
            });
            for (number, step) in stage.steps.iter().enumerate() {
                let at = at.clone().then("step").then(number);
                self.step(walk, there, step, at, is_first);
            }
        }
    }

    fn step(&mut self, walk: &mut Walk, stage: usize, step: &Step, at: Place, is_first: bool) {
        let known = walk.stages.iter().flat_map(|stage| &stage.steps).any(|known| known.key == step.key);
        let steps = &mut walk.stages[stage].steps;
        let place = steps.iter().position(|other| other.key == step.key);
        // Keys of steps are unique in the whole walkthrough; to be replaced, a step must stand in this stage.
        if !self.may("steps", &step.key, known, at.clone()) {
            return;
        }
        match (place, &step.after) {
            (Some(place), None) => steps[place] = step.clone(),
            (None, _) if known => self.wrong(at, format!("\"{}\" stands in another stage", step.key)),
            (Some(_), Some(_)) => self.wrong(at, "a step that replaces one stays where that was: no \"after\"".into()),
            (None, None) => steps.push(step.clone()),
            (None, Some(_)) if is_first => self.wrong(at, "\"after\" is for packs that are put to others".into()),
            (None, Some(after)) => match steps.iter().position(|other| other.key == *after) {
                Some(before) => steps.insert(before + 1, step.clone()),
                None => self.wrong(at.then("after"), format!("the stage has no step \"{after}\"")),
            },
        }
    }

    fn finder(&mut self, old: &mut tables::Tables) {
        let new = &self.pack.finder;
        let is_first = old.kinds.is_empty();
        let basis = [
            ("numbers", new.numbers.is_some()),
            ("kinds", !new.kinds.is_empty()),
            ("alarm-default", new.alarm_default.is_some()),
        ];
        for (name, _) in basis.into_iter().filter(|(_, there)| *there && !is_first) {
            self.wrong(Place::of(&["finder", name]), format!("only the built-in content has \"{name}\""));
        }
        if is_first {
            old.kinds = new.kinds.clone();
            old.words = new.numbers.clone().unwrap_or_else(|| old.words.clone());
            old.alarm_default = new.alarm_default.clone().unwrap_or_default();
        }
        self.list("faults", &["finder", "faults"], &mut old.faults, &new.faults, |fault| &fault.key);
        self.list("checks", &["finder", "checks"], &mut old.checks, &new.checks, |check| &check.key);
        self.list("symptoms", &["finder", "symptoms"], &mut old.symptoms, &new.symptoms, |symptom| &symptom.key);
        self.map("alarm-weights", &["finder", "alarms"], &mut old.alarms, &new.alarms);
        for (key, rows) in &new.rows {
            let at = Place::of(&["finder", "rows"]).then(key.as_str());
            let Some(check) = old.checks.iter_mut().find(|check| check.key == *key) else {
                self.wrong(at, format!("there is no check \"{key}\""));
                continue;
            };
            for (row, faults) in rows {
                // What the built-in faults look like is not for others to change.
                let foreign = faults.iter().find(|fault| !new.faults.iter().any(|own| own.key == **fault));
                if let Some(fault) = foreign {
                    self.wrong(at.clone().then(row.as_str()), format!("\"{fault}\" is no fault of this pack"));
                }
                check.rows.entry(row.clone()).or_default().extend(faults.iter().cloned());
            }
        }
    }

    fn words(&mut self, old: &mut Language) {
        let new = &self.pack.words;
        if old.words.is_empty() {
            old.words = new.screens.clone();
            old.tongue = Tongue::of(&self.pack.language).unwrap_or_default();
        } else if !new.screens.is_empty() {
            let reason = "only the built-in content has words of the screens";
            self.wrong(Place::of(&["words", "screens"]), reason.into());
        }
        self.map("names", &["words", "names"], &mut old.names, &new.names);
        self.map("because", &["words", "because"], &mut old.because, &new.because);
        self.map("problems", &["words", "problems"], &mut old.problems, &new.problems);
        self.map("check-words", &["words", "checks"], &mut old.checks, &new.checks);
        self.map("symptom-words", &["words", "symptoms"], &mut old.symptoms, &new.symptoms);
        self.map("stage-words", &["words", "steps", "stage"], &mut old.walk.stage, &new.steps.stage);
        self.map("step-words", &["words", "steps", "step"], &mut old.walk.step, &new.steps.step);
        let (lists, said) = (&mut old.checklists, &new.checklists);
        self.map("list-words", &["words", "checklists", "list"], &mut lists.list, &said.list);
        self.map("part-words", &["words", "checklists", "part"], &mut lists.part, &said.part);
        self.map("item-words", &["words", "checklists", "item"], &mut lists.item, &said.item);
        let (finder, said) = (&mut old.finder, &new.finder);
        self.map("fault-words", &["words", "finder", "faults"], &mut finder.faults, &said.faults);
        self.map("finder-check-words", &["words", "finder", "checks"], &mut finder.checks, &said.checks);
        let (other, said) = (&mut finder.other, &said.other);
        let at = |name| ["words", "finder", "other", name];
        self.map("finder-symptoms", &at("symptoms"), &mut other.symptoms, &said.symptoms);
        self.map("finder-facts", &at("facts"), &mut other.facts, &said.facts);
        self.map("finder-ends", &at("ends"), &mut other.ends, &said.ends);
        self.map("finder-kinds", &at("kinds"), &mut other.kinds, &said.kinds);
        self.map("finder-tools", &at("tools"), &mut other.tools, &said.tools);
        for (vocabulary, words) in &new.codes {
            let there = old.codes.contains_key(vocabulary);
            let place = Place::of(&["words", "codes"]).then(vocabulary.key());
            if self.may("codes", vocabulary.key(), there, place) {
                old.codes.insert(*vocabulary, words.clone());
            }
        }
        // What words stand for only grows.
        let (search, said) = (&mut old.search, &new.search);
        search.silent.extend(said.silent.iter().cloned());
        search.faint.extend(said.faint.iter().cloned());
        search.opposite.extend(said.opposite.iter().cloned());
        for (meaning, words) in &said.means {
            search.means.entry(meaning.clone()).or_default().extend(words.iter().cloned());
        }
    }
}

/// Parts of the content folder, and of a pack. The language's folder does not count.
const PARTS: &[(&str, &[&str])] = &[
    ("sources.toml", &["sources"]),
    ("connectors.toml", &["connectors"]),
    ("protocols.toml", &["protocols"]),
    ("demo.toml", &["sites"]),
    ("walk.toml", &["steps"]),
    ("steps.toml", &["words", "steps"]),
    ("because.toml", &["words", "because"]),
    ("problems.toml", &["words", "problems"]),
    ("names.toml", &["words", "names"]),
    ("checks.toml", &["words", "checks"]),
    ("symptoms.toml", &["words", "symptoms"]),
    ("codes.toml", &["words", "codes"]),
    ("search.toml", &["words", "search"]),
    ("checklists.toml", &["words", "checklists"]),
    ("words.toml", &["words", "screens"]),
    ("finder/faults.toml", &["words", "finder", "faults"]),
    ("finder/checks.toml", &["words", "finder", "checks"]),
    ("finder/words.toml", &["words", "finder", "other"]),
    ("faults/faults.toml", &["finder", "faults"]),
    ("faults/checks", &["finder", "checks"]),
    ("faults/symptoms.toml", &["finder", "symptoms"]),
    ("faults/alarms.toml", &["finder", "alarms"]),
    ("checklists/items", &["checklists", "items"]),
    ("checklists", &["checklists", "lists"]),
    ("guides", &["guides"]),
    ("alarms", &["alarms"]),
    ("equipment/modules", &["equipment", "modules"]),
    ("equipment/monitors", &["equipment", "monitors"]),
    ("equipment/leads", &["equipment", "leads"]),
    ("equipment/terminators", &["equipment", "terminators"]),
    ("equipment/chargers", &["equipment", "chargers"]),
];

/// The place in a pack of what a rule says of a file and a text in it.
fn where_in(pack: &Value, file: &str, near: &str) -> Place {
    let stem = file.strip_suffix(".toml").unwrap_or(file);
    let (folder, key) = stem.rsplit_once('/').unwrap_or(("", stem));
    let ends = |known: &str| {
        let is = |name: &str| name == known || name.strip_suffix(known).is_some_and(|rest| rest.ends_with('/'));
        is(file) || is(folder)
    };
    // The longest name that fits: `finder/faults.toml` before `faults.toml`.
    let Some((name, path)) = PARTS.iter().filter(|(known, _)| ends(known)).max_by_key(|(known, _)| known.len()) else {
        return Place::WHOLE;
    };
    let mut place = Place::of(path);
    let Some(mut here) = pack.pointer(&format!("/{}", path.join("/"))) else { return place };
    // A folder holds one file for each entry.
    if !name.ends_with(".toml")
        && let Some(list) = here.as_array()
        && let Some(index) = list.iter().position(|entry| entry.get("key").and_then(Value::as_str) == Some(key))
    {
        place = place.then(index);
        here = &list[index];
    }
    let mut found = None;
    if let Some((end, value)) = near.strip_prefix('-').and_then(|near| near.split_once(" = ")) {
        seek_field(here, end, value, &mut place.0.clone(), &mut found);
    }
    let near = bare(near);
    if found.is_none() && !near.is_empty() {
        seek(here, &near, &mut place.0.clone(), &mut found);
    }
    found.unwrap_or(place)
}

/// A text of a line without what TOML has around it.
fn bare(near: &str) -> String {
    let near = near.split(" =").next().unwrap_or(near);
    let near = near.trim_matches(|c| "\"[]{}".contains(c));
    near.rsplit('.').next().unwrap_or(near).to_string()
}

/// The first field whose name ends so and that has this value.
fn seek_field(value: &Value, end: &str, wanted: &str, here: &mut Vec<Segment>, found: &mut Option<Place>) {
    let inside: Vec<(Segment, &Value)> = match value {
        Value::Object(fields) => fields.iter().map(|(key, value)| (Segment::Key(key.clone()), value)).collect(),
        Value::Array(list) => list.iter().enumerate().map(|(n, value)| (Segment::Index(n), value)).collect(),
        _ => return,
    };
    for (segment, value) in inside {
        let is_it =
            matches!(&segment, Segment::Key(key) if key.ends_with(end)) && value.as_u64() == wanted.parse().ok();
        here.push(segment);
        if found.is_none() && is_it {
            *found = Some(Place(here.clone()));
        }
        if found.is_none() {
            seek_field(value, end, wanted, here, found);
        }
        here.pop();
    }
}

/// The first entry whose key, or whose text, is the wanted one; with a part of a text as the last resort.
fn seek(value: &Value, near: &str, here: &mut Vec<Segment>, found: &mut Option<Place>) {
    match value {
        Value::Object(fields) => {
            if fields.get("key").and_then(Value::as_str) == Some(near) {
                *found = Some(Place(here.clone()));
            }
            for (key, value) in fields {
                here.push(Segment::Key(key.clone()));
                if found.is_none() && key == near {
                    *found = Some(Place(here.clone()));
                }
                if found.is_none() {
                    seek(value, near, here, found);
                }
                here.pop();
            }
        }
        Value::Array(list) => {
            for (index, value) in list.iter().enumerate() {
                here.push(Segment::Index(index));
                if found.is_none() {
                    seek(value, near, here, found);
                }
                here.pop();
            }
        }
        Value::String(text) if text == near || text.contains(&format!("{{{near}}}")) => {
            *found = Some(Place(here.clone()));
        }
        _ => {}
    }
}
