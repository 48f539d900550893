//! The fault finder's part of the content.

use super::{Mistake, Reader};
use crate::content::schema::{Content, FinderWords};
use crate::core::faults::finder::tables::{Check, Fault, Symptom, Tables, Words};
use crate::core::faults::finder::valid::{self, Where};
use std::collections::{BTreeMap, BTreeSet};

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct FaultFile {
    kinds: Vec<String>,
    fault: Vec<Fault>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct CheckFile {
    check: Vec<Check>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SymptomFile {
    symptom: Vec<Symptom>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct AlarmFile {
    default: String,
    alarm: BTreeMap<String, BTreeMap<String, Vec<String>>>,
}

const FAULTS: &str = "faults/faults.toml";
const CHECKS: &str = "faults/checks";
const SYMPTOMS: &str = "faults/symptoms.toml";
const ALARMS: &str = "faults/alarms.toml";

pub(super) fn tables(reader: &mut Reader) -> Option<Tables> {
    let words: Option<Words> = reader.file("faults/numbers.toml");
    let faults: Option<FaultFile> = reader.file(FAULTS);
    let mistakes = reader.mistakes.len();
    let checks: Vec<CheckFile> = reader.folder(CHECKS, |_, _| {});
    // A file that cannot be read would make all that points to it wrong too.
    let checks = (reader.mistakes.len() == mistakes).then_some(checks);
    let symptoms: Option<SymptomFile> = reader.file(SYMPTOMS);
    let alarms: Option<AlarmFile> = reader.file(ALARMS);
    let (faults, alarms) = (faults?, alarms?);
    Some(Tables {
        words: words?,
        kinds: faults.kinds,
        faults: faults.fault,
        checks: checks?.into_iter().flat_map(|file| file.check).collect(),
        symptoms: symptoms?.symptom,
        alarm_default: alarms.default,
        alarms: alarms.alarm,
    })
}

pub(super) fn words(reader: &mut Reader) -> Option<FinderWords> {
    let faults = reader.file("en/finder/faults.toml");
    let checks = reader.file("en/finder/checks.toml");
    let other = reader.file("en/finder/words.toml");
    Some(FinderWords { faults: faults?, checks: checks?, other: other? })
}

pub(super) fn is_whole(content: &Content, reader: &mut Reader) {
    for mistake in valid::mistakes(&content.finder) {
        let of = format!("key = \"{}\"", mistake.key);
        let file = match mistake.part {
            Where::Faults => FAULTS.to_string(),
            Where::Symptoms => SYMPTOMS.to_string(),
            Where::Alarms => ALARMS.to_string(),
            Where::Checks => {
                let holds = |(name, text): &(&String, &String)| name.starts_with(CHECKS) && text.contains(&of);
                reader.texts.iter().find(holds).map_or(CHECKS.to_string(), |(name, _)| name.clone())
            }
        };
        let text = reader.texts.get(&file).map_or("", String::as_str);
        // From the entry's own line on, the first that holds what is wrong.
        let own = if mistake.part == Where::Alarms { format!("[alarm.{}]", mistake.key) } else { of };
        let start = text.lines().position(|line| line.contains(&own)).unwrap_or(0);
        let near = text.lines().skip(start).position(|line| line.contains(&mistake.near)).unwrap_or(0);
        reader.mistakes.push(Mistake { file, line: start + near + 1, reason: mistake.reason });
    }
    for alarm in content.finder.alarms.keys() {
        if !content.language.alarms.iter().any(|known| known.key == *alarm) {
            reader.wrong(ALARMS, &format!("[alarm.{alarm}]"), format!("there is no alarm \"{alarm}\""));
        }
    }
}

pub(super) fn has_words(content: &Content, reader: &mut Reader) {
    let (tables, words) = (&content.finder, &content.language.finder);
    let file = "en/finder/faults.toml";
    let keys: BTreeSet<&String> = tables.faults.iter().map(|fault| &fault.key).collect();
    same_keys(reader, file, &keys, &words.faults.keys().collect());
    for (key, fault) in &words.faults {
        if [&fault.title, &fault.means, &fault.repair].iter().any(|text| text.trim().is_empty()) {
            reader.wrong(file, &format!("[{key}]"), format!("\"{key}\" lacks its title, its meaning or its way out"));
        }
    }
    let file = "en/finder/checks.toml";
    let keys: BTreeSet<&String> = tables.checks.iter().map(|check| &check.key).collect();
    same_keys(reader, file, &keys, &words.checks.keys().collect());
    for check in &tables.checks {
        let Some(said) = words.checks.get(&check.key) else { continue };
        let near = format!("[{}]", check.key);
        for outcome in &check.outcomes {
            if said.outcomes.get(outcome).is_none_or(|text| text.trim().is_empty()) {
                reader.wrong(file, &near, format!("\"{}\" has no words for \"{outcome}\"", check.key));
            }
        }
        for outcome in said.outcomes.keys().filter(|outcome| check.outcome(outcome).is_none()) {
            reader.wrong(file, &near, format!("\"{}\" has no outcome \"{outcome}\"", check.key));
        }
    }
    let file = "en/finder/words.toml";
    let checks = || tables.checks.iter();
    let other = &words.other;
    same_keys(reader, file, &tables.symptoms.iter().map(|s| &s.key).collect(), &other.symptoms.keys().collect());
    let facts = checks().flat_map(|check| check.forbids.iter().chain(&check.requires)).collect();
    same_keys(reader, file, &facts, &other.facts.keys().collect());
    same_keys(reader, file, &checks().flat_map(|check| &check.ends).collect(), &other.ends.keys().collect());
    same_keys(reader, file, &tables.kinds.iter().collect(), &other.kinds.keys().collect());
    same_keys(reader, file, &checks().flat_map(|check| &check.tools).collect(), &other.tools.keys().collect());
}

/// Every key has words, and all words a key.
fn same_keys(reader: &mut Reader, file: &str, keys: &BTreeSet<&String>, words: &BTreeSet<&String>) {
    for key in keys.difference(words) {
        reader.wrong(file, "", format!("there are no words for \"{key}\""));
    }
    for key in words.difference(keys) {
        reader.wrong(file, key, format!("there is no \"{key}\" to have words"));
    }
}
