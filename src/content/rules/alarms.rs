//! Rules of the alarms: each is whole and leads on, each code of the standards has exactly one, and the search's words
//! are plain.

use super::{Reader, sources_are_known};
use crate::content::schema::Content;
use crate::core::codes::Vocabulary;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn every_alarm_is_whole(content: &Content, reader: &mut Reader) {
    let language = &content.language;
    let keys: BTreeSet<&str> = language.alarms.iter().map(|alarm| alarm.key.as_str()).collect();
    for alarm in &language.alarms {
        let file = format!("en/alarms/{}.toml", alarm.key);
        let texts = [
            ("title", &alarm.title),
            ("meaning", &alarm.meaning),
            ("first", &alarm.first),
            ("do-not", &alarm.do_not),
            ("go-on", &alarm.go_on),
            ("stop", &alarm.stop),
        ];
        for (name, text) in texts {
            if text.trim().is_empty() {
                reader.wrong(&file, &format!("{name} ="), format!("\"{name}\" has no text"));
            }
        }
        for (name, is_empty) in
            [("causes", alarm.causes.is_empty()), ("shown", alarm.shown.is_empty()), ("ways", alarm.ways.is_empty())]
        {
            if is_empty {
                reader.wrong(&file, &format!("{name} ="), format!("\"{name}\" is empty"));
            }
        }
        for other in alarm.see.iter().filter(|other| !keys.contains(other.as_str()) || **other == alarm.key) {
            reader.wrong(&file, other, format!("there is no other alarm \"{other}\""));
        }
    }
}

pub(super) fn every_code_has_one_alarm(content: &Content, reader: &mut Reader) {
    let language = &content.language;
    let words_file = "en/codes.toml";
    let mut owners: BTreeMap<(Vocabulary, u16), Vec<&str>> = BTreeMap::new();
    for alarm in &language.alarms {
        for (vocabulary, values) in &alarm.codes {
            for value in values {
                owners.entry((*vocabulary, *value)).or_default().push(&alarm.key);
            }
        }
    }
    for vocabulary in Vocabulary::ALL {
        let Some(words) = language.codes.get(vocabulary) else {
            reader.wrong(words_file, "", format!("the list \"{}\" has no words", vocabulary.key()));
            continue;
        };
        let near = format!("[{}", vocabulary.key());
        sources_are_known(content, reader, words_file, &words.title, std::slice::from_ref(&words.source));
        for value in vocabulary.values() {
            if !words.names.contains_key(value) {
                reader.wrong(words_file, &near, format!("{} {value} has no name", vocabulary.key()));
            }
            match owners.get(&(*vocabulary, *value)).map_or(&[][..], Vec::as_slice) {
                [_] => {}
                [] => reader.wrong(words_file, &near, format!("no alarm has the code {} {value}", vocabulary.key())),
                several => {
                    let reason = format!("the code {} {value} has several alarms: {several:?}", vocabulary.key());
                    reader.wrong(&format!("en/alarms/{}.toml", several[0]), vocabulary.key(), reason);
                }
            }
        }
        for value in words.names.keys().filter(|value| !vocabulary.values().contains(value)) {
            reader.wrong(words_file, &near, format!("there is no code {} {value}", vocabulary.key()));
        }
    }
    for ((vocabulary, value), alarms) in owners {
        if !vocabulary.values().contains(&value) {
            let reason = format!("there is no code {} {value}", vocabulary.key());
            reader.wrong(&format!("en/alarms/{}.toml", alarms[0]), vocabulary.key(), reason);
        }
    }
}

pub(super) fn every_search_word_stands_for_one_thing(content: &Content, reader: &mut Reader) {
    let file = "en/search.toml";
    let search = &content.language.search;
    let mut meant: BTreeMap<&str, &str> = BTreeMap::new();
    for (meaning, words) in &search.means {
        for word in meaning.split(' ') {
            if let Some((other, _)) = search.means.iter().find(|(_, words)| words.iter().any(|known| known == word)) {
                reader.wrong(
                    file,
                    &format!("\"{word}\""),
                    format!("\"{word}\" is a meaning, and stands for \"{other}\""),
                );
            }
        }
        for word in words {
            let near = format!("\"{word}\"");
            if word.is_empty() || !word.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit()) {
                reader.wrong(file, &near, format!("{near} must be one word of small letters without accents"));
            }
            if let Some(other) = meant.insert(word, meaning) {
                reader.wrong(file, &near, format!("{near} stands for \"{other}\" and for \"{meaning}\""));
            }
            if search.silent.contains(word) {
                reader.wrong(file, &near, format!("{near} is silent, and stands for \"{meaning}\""));
            }
        }
    }
}
