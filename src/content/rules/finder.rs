//! The fault finder's part of the content.

use super::{Mistake, Reader};
use crate::content::schema::Content;
use crate::core::faults::finder::valid::{self, Where};
use std::collections::BTreeSet;

/// Up to a whole day (common practice, no source).
const MINUTES: std::ops::RangeInclusive<f64> = 0.0..=1440.0;

pub const FAULTS: &str = "faults/faults.toml";
pub const CHECKS: &str = "faults/checks";
pub const SYMPTOMS: &str = "faults/symptoms.toml";
pub const ALARMS: &str = "faults/alarms.toml";

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
        let (line, key) = (start + near + 1, mistake.key);
        reader.mistakes.push(Mistake { file, line, near: key, reason: mistake.reason });
    }
    for fault in content.finder.faults.iter().filter(|fault| !MINUTES.contains(&fault.minutes)) {
        reader.wrong(FAULTS, &fault.key, format!("\"{}\" takes 0 to 1440 minutes to repair", fault.key));
    }
    for check in &content.finder.checks {
        if !MINUTES.contains(&check.minutes) || !MINUTES.contains(&check.undo) {
            reader.wrong(CHECKS, &check.key, format!("\"{}\" takes 0 to 1440 minutes", check.key));
        }
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
