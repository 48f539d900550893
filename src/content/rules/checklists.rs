//! The checklists' part of the content.

use super::{Mistake, Reader, STEP_PLACEHOLDERS, placeholders, sources_are_known};
use crate::content::schema::{ChecklistItem, Content, ItemWords};
use crate::core::job::checklist::Against;
use crate::core::units::Kind;
use std::collections::BTreeSet;

pub const LISTS: &str = "checklists";
pub const ITEMS: &str = "checklists/items";
const WORDS: &str = "en/checklists.toml";

/// The file that an item stands in.
fn file_of(reader: &Reader, key: &str) -> String {
    let of = format!("key = \"{key}\"");
    let holds = |(name, text): &(&String, &String)| name.starts_with(ITEMS) && text.contains(&of);
    reader.texts.iter().find(holds).map_or(ITEMS.to_string(), |(name, _)| name.clone())
}

/// Notes a mistake of an item at the first line from its own on that holds what is wrong.
fn wrong(reader: &mut Reader, key: &str, near: &str, reason: String) {
    let file = file_of(reader, key);
    let text = reader.texts.get(&file).map_or("", String::as_str);
    let start = text.lines().position(|line| line.contains(&format!("key = \"{key}\""))).unwrap_or(0);
    let near = text.lines().skip(start).position(|line| line.contains(near)).unwrap_or(0);
    reader.mistakes.push(Mistake { file, line: start + near + 1, near: key.into(), reason });
}

pub(super) fn every_list_is_whole(content: &Content, reader: &mut Reader) {
    let words = &content.language.checklists;
    let items: BTreeSet<&String> = content.checklists.items.iter().map(|item| &item.key).collect();
    let mut used = BTreeSet::new();
    let mut parts = BTreeSet::new();
    for list in &content.checklists.lists {
        let file = format!("{LISTS}/{}.toml", list.key);
        if list.key.starts_with(crate::core::job::lists::OWN) {
            reader.wrong(&file, "order", format!("\"{}\" begins like a list of one's own", list.key));
        }
        match words.list.get(&list.key) {
            Some(said) if !said.title.trim().is_empty() && !said.about.trim().is_empty() => {}
            _ => reader.wrong(&file, "order", format!("the list \"{}\" has no words", list.key)),
        }
        let mut in_list = BTreeSet::new();
        for part in &list.parts {
            let near = format!("\"{}\"", part.key);
            parts.insert(&part.key);
            if words.part.get(&part.key).is_none_or(|title| title.trim().is_empty()) {
                reader.wrong(&file, &near, format!("the part {near} has no words"));
            }
            for key in &part.items {
                let near = format!("\"{key}\"");
                if !items.contains(key) {
                    reader.wrong(&file, &near, format!("there is no item {near}"));
                }
                if !in_list.insert(key) {
                    reader.wrong(&file, &near, format!("the item {near} is there twice"));
                }
                used.insert(key);
            }
        }
    }
    for item in content.checklists.items.iter().filter(|item| !used.contains(&item.key)) {
        wrong(reader, &item.key, "key", format!("no list has the item \"{}\"", item.key));
    }
    let lists: BTreeSet<&String> = content.checklists.lists.iter().map(|list| &list.key).collect();
    for key in words.list.keys().filter(|key| !lists.contains(key)) {
        reader.wrong(WORDS, &format!("[list.{key}]"), format!("there is no list \"{key}\""));
    }
    for key in words.part.keys().filter(|key| !parts.contains(key)) {
        reader.wrong(WORDS, &format!("{key} ="), format!("there is no part \"{key}\""));
    }
}

pub(super) fn every_item_is_whole(content: &Content, reader: &mut Reader) {
    let mut keys = BTreeSet::new();
    for item in &content.checklists.items {
        let key = &item.key;
        if !keys.insert(key) {
            wrong(reader, key, "key", format!("the item \"{key}\" is there twice"));
        }
        let lends = [item.card.is_some(), item.check.is_some(), item.read.is_some()];
        if lends.iter().filter(|lends| **lends).count() > 1 {
            wrong(reader, key, "key", format!("\"{key}\" may ask for one thing only"));
        }
        let steps = || content.walk.stages.iter().flat_map(|stage| &stage.steps);
        if let Some(card) = &item.card {
            match steps().find(|step| step.key == *card) {
                None => wrong(reader, key, "card", format!("there is no step \"{card}\"")),
                Some(step) if !step.asks.is_empty() => {
                    wrong(reader, key, "card", format!("the step \"{card}\" asks for readings: name its checks"));
                }
                Some(_) => {}
            }
        }
        let words = content.language.checklists.item.get(key);
        if item.card.is_some() || item.check.is_some() {
            if words.is_some() || !item.sources.is_empty() {
                wrong(reader, key, "key", format!("\"{key}\" has its words and sources from its card or check"));
            }
            continue;
        }
        match words {
            None => wrong(reader, key, "key", format!("the item \"{key}\" has no words")),
            Some(words) => has_words(reader, item, words),
        }
        has_limits(content, reader, item);
    }
    for key in content.language.checklists.item.keys().filter(|key| !keys.contains(key)) {
        reader.wrong(WORDS, &format!("[item.{key}]"), format!("there is no item \"{key}\""));
    }
}

/// What an item's words may use beside the placeholders of the cards.
const PLACEHOLDERS: &[&str] = &["charger", "series"];

fn has_words(reader: &mut Reader, item: &ChecklistItem, words: &ItemWords) {
    let near = format!("[item.{}]", item.key);
    if words.text.trim().is_empty() || words.why.trim().is_empty() {
        reader.wrong(WORDS, &near, format!("\"{}\" lacks its text or its why", item.key));
    }
    if item.read.is_some() == words.how.trim().is_empty() {
        reader.wrong(WORDS, &near, format!("\"{}\": a reading says how it is taken, a tick does not", item.key));
    }
    for text in [&words.text, &words.why, &words.how, &words.caution, &words.tick] {
        for name in placeholders(text) {
            if !STEP_PLACEHOLDERS.contains(&name.as_str()) && !PLACEHOLDERS.contains(&name.as_str()) {
                reader.wrong(WORDS, &format!("{{{name}}}"), format!("\"{}\": nothing fills {{{name}}}", item.key));
            }
        }
    }
}

/// Limits that stand with the item: there where they are meant, in order, in the quantity's range, with a source.
fn has_limits(content: &Content, reader: &mut Reader, item: &ChecklistItem) {
    let key = &item.key;
    let Some(read) = &item.read else {
        let file = file_of(reader, key);
        sources_are_known(content, reader, &file, key, &item.sources);
        return;
    };
    let limits = [read.outer_low, read.low, read.high, read.outer_high];
    let own: Vec<f64> = limits.into_iter().flatten().collect();
    if (read.against == Against::Figures) == own.is_empty() {
        wrong(reader, key, "read", format!("\"{key}\" names its limits, or what it is held against"));
    }
    let (least, most) = read.kind.range();
    let such_as_a_reading = own.iter().all(|limit| (least..=most).contains(limit));
    if !own.is_sorted() || !such_as_a_reading {
        wrong(reader, key, "read", format!("the limits of \"{key}\" are not in order, or out of range"));
    }
    if (read.outer_low.is_some() && read.low.is_none()) || (read.outer_high.is_some() && read.high.is_none()) {
        wrong(reader, key, "read", format!("\"{key}\" has an outer limit without a limit"));
    }
    if kind_of(read.against).is_some_and(|kind| kind != read.kind) {
        wrong(reader, key, "read", format!("\"{key}\" is held against another quantity"));
    }
    // The equipment's own figures need no source.
    let by_equipment = matches!(
        read.against,
        Against::Nothing | Against::ModuleVolts | Against::StringVolts | Against::ChargeTemperature
    );
    if !by_equipment || !item.sources.is_empty() {
        let file = file_of(reader, key);
        sources_are_known(content, reader, &file, key, &item.sources);
    }
}

/// The quantity of what a reading is held against; none where any will do.
fn kind_of(against: Against) -> Option<Kind> {
    match against {
        Against::Figures | Against::Nothing => None,
        Against::JoinVolts
        | Against::ModuleVolts
        | Against::StringVolts
        | Against::ChargeVolts
        | Against::ShownVoltage => Some(Kind::Volts),
        Against::JoinSoc => Some(Kind::Percent),
        Against::ChargeTemperature => Some(Kind::Celsius),
        Against::Terminator => Some(Kind::Ohms),
    }
}
