//! What was typed, held against sets of concepts.

use super::lexicon::{Concept, Lexicon};

/// No display shows more words; the rest is not read.
const MOST_WORDS: usize = 12;
/// The weight of a word that is not known.
const UNKNOWN: f32 = 1.0;
/// From here on a meaning counts as said.
const SURE: f32 = 0.8;
/// No link.
const END: u16 = u16::MAX;

/// One meaning of one typed word.
struct Way {
    word: usize,
    likeness: f32,
    /// Of all its concepts together.
    weight: f32,
    /// Of those in the set that is looked at.
    found: f32,
}

/// A typed word.
struct Asked {
    /// The weight of its likeliest meaning.
    need: f32,
    /// Its best meaning in the set that is looked at, with its share.
    best: (f32, u16),
}

/// A text, ready to be held against many sets: from each concept to the meanings that have it, so that a set costs
/// no more than its size.
pub struct Query<'a> {
    lexicon: &'a Lexicon,
    asked: Vec<Asked>,
    ways: Vec<Way>,
    /// For each concept its first link.
    first: Vec<u16>,
    /// A meaning, and the next link of the same concept.
    links: Vec<(u16, u16)>,
    touched: Vec<u16>,
    /// The weight of all typed words.
    pub need: f32,
    /// Concepts that were said without guessing.
    pub sure: Vec<Concept>,
}

impl<'a> Query<'a> {
    pub fn new(lexicon: &'a Lexicon, typed: &str) -> Self {
        let mut query = Query {
            lexicon,
            asked: Vec::new(),
            ways: Vec::new(),
            first: vec![END; lexicon.len()],
            links: Vec::new(),
            touched: Vec::new(),
            need: 0.0,
            sure: Vec::new(),
        };
        for (word, meanings) in lexicon.read(typed).into_iter().take(MOST_WORDS).enumerate() {
            let mut need = None;
            for meaning in meanings {
                let weight: f32 = meaning.concepts.iter().map(|concept| lexicon.weight(*concept)).sum();
                let is_likeliest = need.is_none();
                need = need.or(Some(weight));
                let way = query.ways.len() as u16;
                for concept in &meaning.concepts {
                    if let Some(first) = query.first.get_mut(usize::from(*concept)) {
                        query.links.push((way, *first));
                        *first = (query.links.len() - 1) as u16;
                    }
                }
                if meaning.likeness > SURE && is_likeliest {
                    query.sure.extend_from_slice(&meaning.concepts);
                }
                query.ways.push(Way { word, likeness: meaning.likeness, weight, found: 0.0 });
            }
            // A word that is not known says nothing for or against any entry, only that less was understood.
            let need = need.unwrap_or(UNKNOWN);
            query.need += need;
            query.asked.push(Asked { need, best: (0.0, END) });
        }
        query
    }

    /// The share of what was typed that a set has, and the weight of its concepts that this covers.
    pub fn hold(&mut self, concepts: &[Concept]) -> (f32, f32) {
        self.touched.clear();
        for concept in concepts {
            let mut link = self.first[usize::from(*concept)];
            while let Some(&(way, next)) = self.links.get(usize::from(link)) {
                self.ways[usize::from(way)].found += self.lexicon.weight(*concept);
                self.touched.push(way);
                link = next;
            }
        }
        if self.touched.is_empty() {
            return (0.0, 0.0);
        }
        for asked in &mut self.asked {
            asked.best = (0.0, END);
        }
        for index in &self.touched {
            let way = &mut self.ways[usize::from(*index)];
            let share = way.found / way.weight.max(f32::EPSILON) * way.likeness;
            let best = &mut self.asked[way.word].best;
            if share > best.0 {
                *best = (share, *index);
            }
        }
        for index in &self.touched {
            self.ways[usize::from(*index)].found = 0.0;
        }
        let got: f32 = self.asked.iter().map(|asked| asked.best.0 * asked.need).sum();
        let mut covered = 0.0;
        for concept in concepts {
            let mut link = self.first[usize::from(*concept)];
            while let Some(&(way, next)) = self.links.get(usize::from(link)) {
                if self.asked[self.ways[usize::from(way)].word].best.1 == way {
                    covered += self.lexicon.weight(*concept);
                    break;
                }
                link = next;
            }
        }
        (got / self.need, covered)
    }
}
