//! Two lists of things with a time, united: nothing is lost, nothing that both have stands twice, and each list's own
//! order is kept.

use crate::core::job::story::Told;
use crate::core::job::{Moment, Observation};
use std::collections::BTreeMap;

/// What can be united.
pub trait Dated: Clone + PartialEq {
    fn at(&self) -> Moment;
    /// The one thing that two entries tell of, where they are about the same: what one does not say is taken from the
    /// other.
    fn joined(&self, other: &Self) -> Option<Self>;
}

impl Dated for Told {
    fn at(&self) -> Moment {
        self.at
    }

    fn joined(&self, other: &Told) -> Option<Told> {
        (self == other).then(|| self.clone())
    }
}

impl Dated for Observation {
    fn at(&self) -> Moment {
        self.at
    }

    /// Of the same, at the same moment, with the same result. Two that say different things beside it stay two.
    fn joined(&self, other: &Observation) -> Option<Observation> {
        let about = self.of == other.of && self.at == other.at && self.seen == other.seen;
        let one = |mine: &str, theirs: &str| match (mine, theirs) {
            (said, "") | ("", said) => Some(said.to_string()),
            (mine, theirs) => (mine == theirs).then(|| mine.to_string()),
        };
        let joined = || {
            Some(Observation {
                typed: one(&self.typed, &other.typed)?,
                by: one(&self.by, &other.by)?,
                note: one(&self.note, &other.note)?,
                ..self.clone()
            })
        };
        if about { joined() } else { None }
    }
}

pub struct United<T> {
    pub all: Vec<T>,
    pub only_mine: Vec<T>,
    pub only_theirs: Vec<T>,
}

/// Unites two lists. What only they have comes after all of mine that is not later, and never before what comes before it
/// in theirs.
pub fn union<T: Dated>(mine: &[T], theirs: &[T]) -> United<T> {
    let mut by_time: BTreeMap<Moment, Vec<usize>> = BTreeMap::new();
    for (index, one) in mine.iter().enumerate() {
        by_time.entry(one.at()).or_default().push(index);
    }
    let mut kept = mine.to_vec();
    let mut is_found = vec![false; mine.len()];
    // What comes in before each of mine, and at the end.
    let mut before: Vec<Vec<T>> = vec![Vec::new(); mine.len() + 1];
    let mut only_theirs = Vec::new();
    let mut place = 0;
    for (one, same) in theirs.iter().zip(pairs(mine, theirs, &by_time)) {
        if let Some((index, joined)) = same {
            kept[index] = joined;
            is_found[index] = true;
            place = place.max(index + 1);
            continue;
        }
        while mine.get(place).is_some_and(|mine| mine.at() <= one.at()) {
            place += 1;
        }
        before[place].push(one.clone());
        only_theirs.push(one.clone());
    }
    let found = mine.iter().zip(&is_found);
    let only_mine = found.filter(|(_, found)| !**found).map(|(one, _)| one.clone()).collect();
    let mut all = Vec::with_capacity(mine.len() + only_theirs.len());
    for (index, coming) in before.into_iter().enumerate() {
        all.extend(coming);
        all.extend(kept.get(index).cloned());
    }
    United { all, only_mine, only_theirs }
}

/// For each of theirs the one of mine that it is, with what both say of it. Equal ones find each other first.
fn pairs<T: Dated>(mine: &[T], theirs: &[T], by_time: &BTreeMap<Moment, Vec<usize>>) -> Vec<Option<(usize, T)>> {
    let mut is_taken = vec![false; mine.len()];
    let mut pairs: Vec<Option<(usize, T)>> = vec![None; theirs.len()];
    for equal in [true, false] {
        for (one, pair) in theirs.iter().zip(&mut pairs).filter(|(_, pair)| pair.is_none()) {
            let near = by_time.get(&one.at()).into_iter().flatten().filter(|index| !is_taken[**index]);
            let joined = |index: &usize| match equal {
                true => (mine[*index] == *one).then(|| (*index, one.clone())),
                false => mine[*index].joined(one).map(|joined| (*index, joined)),
            };
            *pair = near.into_iter().find_map(joined);
            if let Some((index, _)) = pair {
                is_taken[*index] = true;
            }
        }
    }
    pairs
}
