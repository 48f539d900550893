//! Finding alarms by whatever a display shows: words, abbreviations, codes, slips and mixtures of languages.
//!
//! Words become *concepts*: "cold", "kalt" and "UT" are all `low temperature`. An entry is a set of phrases (its title,
//! what displays show, what standards call its codes), and each phrase is a set of concepts. What is typed is held
//! against every phrase: how much of the typed is in the phrase, and how much of the phrase was typed. Rare concepts
//! weigh more than common ones. Codes are read apart from words, and come first.
//!
//! Everything about the entries is worked out once, in [`Search::new`]; a key typed costs one pass over the words and
//! one over the phrases.

mod codes;
mod guides;
mod lexicon;
mod query;

pub use guides::guides;

use crate::content::schema::{Alarm, Language};
use crate::core::codes::{Code, Vocabulary};
use lexicon::{Concept, Lexicon};
use query::Query;
use std::collections::BTreeMap;

/// How much a reading by a phrase and by the rest of the entry's text weigh, and what an opposite takes away: found by
/// trying on the tuned queries of `tests/alarms/queries.toml`.
const PRECISION: f32 = 0.45;
const TEXT_ALONE: f32 = 0.55;
const TEXT_BESIDE: f32 = 0.10;
const OPPOSITE: f32 = 0.45;
/// Least score of a result, and least share of the best result's.
const LEAST: f32 = 0.18;
const LEAST_SHARE: f32 = 0.5;

/// What is said of one entry in one way.
struct Phrase {
    alarm: u16,
    /// Sorted.
    concepts: Vec<Concept>,
    weight: f32,
}

/// An alarm that fits, and the code through which it was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found<'a> {
    pub alarm: &'a Alarm,
    pub code: Option<Code>,
}

/// The alarms, laid out for searching.
pub struct Search<'a> {
    language: &'a Language,
    lexicon: Lexicon,
    phrases: Vec<Phrase>,
    /// All concepts of each alarm's text, sorted.
    texts: Vec<Vec<Concept>>,
    codes: BTreeMap<Code, u16>,
}

impl<'a> Search<'a> {
    pub fn new(language: &'a Language) -> Self {
        let mut lexicon = Lexicon::new(&language.search);
        let mut phrases = Vec::new();
        let mut texts = Vec::new();
        let mut codes = BTreeMap::new();
        for (index, alarm) in language.alarms.iter().enumerate() {
            let index = index as u16;
            let mut named: Vec<&str> = vec![&alarm.title];
            named.extend(alarm.shown.iter().map(String::as_str));
            for code in codes_of(alarm) {
                codes.insert(code, index);
                named.extend(name_of_code(language, code));
            }
            let mut text = Vec::new();
            for words in named {
                let concepts = lexicon.take_in(words);
                text.extend_from_slice(&concepts);
                phrases.push(Phrase { alarm: index, concepts, weight: 0.0 });
            }
            for words in alarm.causes.iter().chain([&alarm.meaning]) {
                text.extend(lexicon.take_in(words));
            }
            text.sort_unstable();
            text.dedup();
            texts.push(text);
        }
        lexicon.weigh(phrases.iter().map(|phrase| (phrase.alarm, phrase.concepts.as_slice())));
        for phrase in &mut phrases {
            phrase.weight = phrase.concepts.iter().map(|concept| lexicon.weight(*concept)).sum();
        }
        Search { language, lexicon, phrases, texts, codes }
    }

    /// The alarms that fit what is typed, best first. Nothing typed: all of them, the most urgent first.
    pub fn find(&self, typed: &str) -> Vec<Found<'a>> {
        let alarms = &self.language.alarms;
        if typed.trim().is_empty() {
            let mut all: Vec<Found> = alarms.iter().map(|alarm| Found { alarm, code: None }).collect();
            all.sort_by_key(|found| found.alarm.urgency);
            return all;
        }
        let mut scores = vec![0.0f32; alarms.len()];
        self.add_words(typed, &mut scores);
        // Of several codes of one alarm the likeliest counts, and is the one that is told.
        let mut by_code: BTreeMap<u16, (f32, Code)> = BTreeMap::new();
        for (code, score) in codes::in_text(typed) {
            if let Some(index) = self.codes.get(&code) {
                let slot = by_code.entry(*index).or_insert((score, code));
                if score > slot.0 {
                    *slot = (score, code);
                }
            }
        }
        for (index, (score, _)) in &by_code {
            scores[usize::from(*index)] += score;
        }
        let best = scores.iter().copied().fold(0.0, f32::max);
        let least = LEAST.max(best * LEAST_SHARE);
        let mut found: Vec<(f32, Found)> = scores
            .into_iter()
            .zip(alarms)
            .enumerate()
            .filter(|(_, (score, _))| *score >= least)
            .map(|(index, (score, alarm))| {
                (score, Found { alarm, code: by_code.get(&(index as u16)).map(|(_, code)| *code) })
            })
            .collect();
        found.sort_by(|(a, one), (b, other)| b.total_cmp(a).then(one.alarm.urgency.cmp(&other.alarm.urgency)));
        found.into_iter().map(|(_, found)| found).collect()
    }

    fn add_words(&self, typed: &str, scores: &mut [f32]) {
        let mut query = Query::new(&self.lexicon, typed);
        if query.need <= 0.0 {
            return;
        }
        for phrase in &self.phrases {
            let (recall, covered) = query.hold(&phrase.concepts);
            if recall <= 0.0 {
                continue;
            }
            let precision = covered / phrase.weight;
            let mut score = recall * (1.0 - PRECISION + PRECISION * precision);
            if self.lexicon.speaks_against(&query.sure, &phrase.concepts) {
                score *= OPPOSITE;
            }
            let slot = &mut scores[usize::from(phrase.alarm)];
            *slot = slot.max(score);
        }
        for (slot, text) in scores.iter_mut().zip(&self.texts) {
            let (recall, _) = query.hold(text);
            *slot = slot.max(recall * TEXT_ALONE) + recall * TEXT_BESIDE;
        }
    }
}

impl Language {
    pub fn alarm(&self, key: &str) -> Option<&Alarm> {
        self.alarms.iter().find(|alarm| alarm.key == key)
    }

    /// The alarm that a code leads to.
    pub fn alarm_of(&self, code: Code) -> Option<&Alarm> {
        let has = |alarm: &&Alarm| alarm.codes.get(&code.vocabulary).is_some_and(|values| values.contains(&code.value));
        self.alarms.iter().find(has)
    }
}

/// The codes of an alarm.
pub fn codes_of(alarm: &Alarm) -> impl Iterator<Item = Code> + '_ {
    alarm.codes.iter().flat_map(|(list, values)| values.iter().map(|value| Code::new(*list, *value)))
}

fn name_of_code(language: &Language, code: Code) -> Option<&str> {
    // "Reserved" and the like would only crowd the list: the entry's own words say it.
    let has_speaking_names = !matches!(code.vocabulary, Vocabulary::RvcPair | Vocabulary::RvcSummaryVoltage);
    let name = language.codes.get(&code.vocabulary)?.names.get(&code.value)?;
    has_speaking_names.then_some(name.split_once(": ").map_or(name.as_str(), |(_, name)| name))
}
