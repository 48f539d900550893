//! Words and what they stand for.

use crate::content::schema::SearchWords;
use crate::core::fold::plain;
use std::collections::{BTreeMap, BTreeSet};

/// Something that words can mean, by its number.
pub type Concept = u16;

/// One way to understand a word.
#[derive(Clone, Debug, PartialEq)]
pub struct Meaning {
    pub concepts: Vec<Concept>,
    /// 1 for the very word, less for a guess.
    pub likeness: f32,
}

/// A word that is known.
struct Word {
    text: String,
    /// One bit for each letter in it: tells most words apart without comparing them.
    letters: u32,
    concepts: Vec<Concept>,
}

/// Every word of the entries and of `search.toml`.
pub struct Lexicon {
    /// By text; sorted once all are in.
    words: BTreeMap<String, Vec<Concept>>,
    sorted: Vec<Word>,
    concepts: BTreeMap<String, Concept>,
    weights: Vec<f32>,
    silent: BTreeSet<String>,
    faint: BTreeSet<Concept>,
    opposite: Vec<(Concept, Concept)>,
}

/// Least letters of a word in a compound, of one that a slip may hide in, and of one that its beginning tells.
const LEAST_PART: usize = 3;
const LEAST_SLIP: usize = 4;
const LEAST_START: usize = 2;
/// Most letters of a word that is looked into, and most parts of a compound.
const MOST_LETTERS: usize = 32;
const MOST_PARTS: usize = 4;

impl Lexicon {
    pub fn new(search: &SearchWords) -> Self {
        let mut lexicon = Lexicon {
            words: BTreeMap::new(),
            sorted: Vec::new(),
            concepts: BTreeMap::new(),
            weights: Vec::new(),
            silent: search.silent.iter().cloned().collect(),
            faint: BTreeSet::new(),
            opposite: Vec::new(),
        };
        // The words on the left of a line that are nobody's spelling of another word.
        for (meaning, words) in &search.means {
            let concepts: Vec<Concept> = meaning.split(' ').map(|word| lexicon.concept(word)).collect();
            for word in words {
                lexicon.words.insert(word.clone(), concepts.clone());
            }
        }
        for meaning in search.means.keys() {
            for word in meaning.split(' ') {
                if !lexicon.words.contains_key(word) {
                    let concept = lexicon.concept(word);
                    lexicon.words.insert(word.to_string(), vec![concept]);
                }
            }
        }
        lexicon.faint = search.faint.iter().map(|word| lexicon.concept(word)).collect();
        lexicon.opposite =
            search.opposite.iter().map(|[one, other]| (lexicon.concept(one), lexicon.concept(other))).collect();
        lexicon
    }

    fn concept(&mut self, word: &str) -> Concept {
        let next = self.concepts.len() as Concept;
        *self.concepts.entry(word.to_string()).or_insert(next)
    }

    /// The concepts of an entry's words, sorted; words that are new become concepts of their own.
    pub fn take_in(&mut self, text: &str) -> Vec<Concept> {
        let mut concepts = Vec::new();
        for word in self.split(text) {
            match self.exact(&word) {
                Some(known) => concepts.extend_from_slice(known),
                None => {
                    let concept = self.concept(&word);
                    self.words.insert(word, vec![concept]);
                    concepts.push(concept);
                }
            }
        }
        concepts.sort_unstable();
        concepts.dedup();
        concepts
    }

    /// Fixes the weights: a concept that few alarms have tells more.
    pub fn weigh<'a>(&mut self, phrases: impl Iterator<Item = (u16, &'a [Concept])>) {
        let mut having: BTreeSet<(Concept, u16)> = BTreeSet::new();
        for (alarm, concepts) in phrases {
            having.extend(concepts.iter().map(|concept| (*concept, alarm)));
        }
        let mut counts = vec![0u32; self.concepts.len()];
        for (concept, _) in having {
            counts[usize::from(concept)] += 1;
        }
        let weight = |(concept, count): (usize, &u32)| {
            // Words of long texts only: not rare because they tell much, but because nobody titles by them.
            let plain = if *count == 0 { 1.5 } else { (1.0 + 100.0 / f64::from(*count)).ln() as f32 };
            if self.faint.contains(&(concept as Concept)) { plain * 0.25 } else { plain }
        };
        self.weights = counts.iter().enumerate().map(weight).collect();
        let words = std::mem::take(&mut self.words);
        self.sorted =
            words.into_iter().map(|(text, concepts)| Word { letters: letters(&text), text, concepts }).collect();
    }

    /// How many concepts there are.
    pub fn len(&self) -> usize {
        self.weights.len()
    }

    pub fn weight(&self, concept: Concept) -> f32 {
        self.weights.get(usize::from(concept)).copied().unwrap_or(0.0)
    }

    /// Whether words say the opposite of what a phrase says.
    pub fn speaks_against(&self, said: &[Concept], phrase: &[Concept]) -> bool {
        let has = |concept: Concept| phrase.binary_search(&concept).is_ok();
        let says = |concept: Concept| said.contains(&concept);
        let only = |one, other| says(one) && !says(other) && has(other) && !has(one);
        self.opposite.iter().any(|&(one, other)| only(one, other) || only(other, one))
    }

    /// What each typed word may mean; silent words are left out, and so are numbers that no entry names.
    pub fn read(&self, typed: &str) -> Vec<Vec<Meaning>> {
        let words = self.split(typed);
        let last = words.len().saturating_sub(1);
        let is_open = typed.ends_with(char::is_alphanumeric);
        let read = words.iter().enumerate().filter_map(|(index, word)| {
            let meanings = self.meanings(word, index == last && is_open);
            let is_number = word.bytes().all(|byte| byte.is_ascii_digit());
            // A single letter that nobody knows is a cell's or a module's name, or the E before a code.
            let says_nothing = meanings.is_empty() && (is_number || word.len() < 2);
            (!says_nothing).then_some(meanings)
        });
        read.collect()
    }

    fn exact(&self, word: &str) -> Option<&[Concept]> {
        let find = |word: &str| match self.words.get(word) {
            Some(concepts) => Some(concepts.as_slice()),
            None => {
                let index = self.sorted.binary_search_by(|known| known.text.as_str().cmp(word)).ok()?;
                self.sorted.get(index).map(|word| word.concepts.as_slice())
            }
        };
        // Plurals are the same word.
        find(word).or_else(|| word.strip_suffix('s').filter(|one| one.len() > 3).and_then(find))
    }

    fn meanings(&self, word: &str, is_being_typed: bool) -> Vec<Meaning> {
        if let Some(concepts) = self.exact(word) {
            let mut meanings = vec![Meaning { concepts: concepts.to_vec(), likeness: 1.0 }];
            if is_being_typed {
                meanings.extend(self.starts(word));
            }
            return meanings;
        }
        if word.len() > MOST_LETTERS || word.bytes().any(|byte| byte.is_ascii_digit()) {
            return Vec::new();
        }
        if let Some(concepts) = self.compound(word, MOST_PARTS) {
            return vec![Meaning { concepts, likeness: 0.98 }];
        }
        let mut meanings = self.slips(word);
        if word.len() >= LEAST_START && (is_being_typed || word.len() > LEAST_PART) {
            meanings.extend(self.starts(word));
        }
        meanings.extend(self.compound_with_slip(word, MOST_PARTS));
        meanings.sort_by(|a, b| b.likeness.total_cmp(&a.likeness));
        meanings.truncate(8);
        meanings
    }

    /// Words that begin so.
    fn starts<'a>(&'a self, word: &'a str) -> impl Iterator<Item = Meaning> + 'a {
        let from = self.sorted.partition_point(|known| known.text.as_str() < word);
        let known = self.sorted[from..].iter().take_while(move |known| known.text.starts_with(word));
        known.filter(move |known| known.text.len() > word.len()).take(12).map(move |known| Meaning {
            concepts: known.concepts.clone(),
            likeness: 0.55 + 0.35 * word.len() as f32 / known.text.len() as f32,
        })
    }

    /// Words from which the typed one differs by few slips; a swapped pair counts as one.
    fn slips(&self, word: &str) -> Vec<Meaning> {
        let length = word.len();
        let most = match length {
            0..LEAST_SLIP => return Vec::new(),
            LEAST_SLIP..=5 => 1,
            6..=10 => 2,
            _ => 3,
        };
        let (typed, first) = (letters(word), word.as_bytes().first());
        let mut found = Vec::new();
        for known in &self.sorted {
            let is_near = known.text.len().abs_diff(length) <= most
                && known.text.len() >= LEAST_SLIP - 1
                && (known.letters ^ typed).count_ones() as usize <= 2 * most;
            if !is_near {
                continue;
            }
            let slips = strsim::osa_distance(word, &known.text);
            if slips <= most {
                let other_start = if known.text.as_bytes().first() == first { 0.0 } else { 0.1 };
                let likeness = 1.0 - 0.9 * slips as f32 / length as f32 - other_start;
                found.push(Meaning { concepts: known.concepts.clone(), likeness });
            }
        }
        found
    }

    /// A word made of known words without a gap, as in German, or forgotten between English ones.
    fn compound(&self, word: &str, parts: usize) -> Option<Vec<Concept>> {
        if word.is_empty() || parts == 0 {
            return word.is_empty().then(Vec::new);
        }
        // The longest first part that leaves a whole rest.
        (LEAST_PART.min(word.len())..=word.len()).rev().find_map(|length| {
            let (part, rest) = (word.get(..length)?, word.get(length..)?);
            let concepts = self.exact(part)?;
            // German puts an s between some parts.
            let without_s = || rest.strip_prefix('s').and_then(|rest| self.compound(rest, parts - 1));
            let rest = self.compound(rest, parts - 1).or_else(without_s)?;
            Some(concepts.iter().copied().chain(rest).collect())
        })
    }

    /// Known words with something behind them that a slip may have spoilt, or that is not finished.
    fn compound_with_slip(&self, word: &str, parts: usize) -> Option<Meaning> {
        if parts == 0 {
            return None;
        }
        (LEAST_SLIP..=word.len().saturating_sub(LEAST_SLIP)).rev().find_map(|length| {
            let (part, rest) = (word.get(..length)?, word.get(length..)?);
            let concepts = self.exact(part)?;
            let likeliest = self.slips(rest).into_iter().max_by(|a, b| a.likeness.total_cmp(&b.likeness));
            let rest =
                likeliest.or_else(|| self.starts(rest).next()).or_else(|| self.compound_with_slip(rest, parts - 1))?;
            let whole = concepts.iter().copied().chain(rest.concepts).collect();
            Some(Meaning { concepts: whole, likeness: 0.5 + 0.45 * rest.likeness })
        })
    }

    /// The words of a text in small plain letters, without silent ones. Letters and digits part; two words that
    /// together are a known one become it.
    fn split(&self, text: &str) -> Vec<String> {
        let mut words: Vec<String> = Vec::new();
        let mut last = Kind::Gap;
        for c in text.chars() {
            let kind = Kind::of(c);
            if kind != Kind::Gap {
                if kind != last || words.is_empty() {
                    words.push(String::new());
                }
                if let Some(word) = words.last_mut() {
                    plain(c, word);
                }
            }
            last = kind;
        }
        let mut joined: Vec<String> = Vec::new();
        for word in words {
            let pair = joined.last().map(|before| format!("{before}{word}"));
            match pair {
                Some(pair) if word.len() > 1 && self.is_spelling(&pair) => {
                    if let Some(before) = joined.last_mut() {
                        *before = pair;
                    }
                }
                _ => joined.push(word),
            }
        }
        joined.retain(|word| !self.silent.contains(word));
        joined
    }

    fn is_spelling(&self, word: &str) -> bool {
        word.len() > 4
            && (self.words.contains_key(word)
                || self.sorted.binary_search_by(|known| known.text.as_str().cmp(word)).is_ok())
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Letter,
    Digit,
    Gap,
}

impl Kind {
    fn of(c: char) -> Kind {
        if c.is_ascii_digit() {
            Kind::Digit
        } else if c.is_alphabetic() {
            Kind::Letter
        } else {
            Kind::Gap
        }
    }
}

fn letters(word: &str) -> u32 {
    word.bytes().fold(0, |bits, byte| bits | 1 << (byte & 31))
}
