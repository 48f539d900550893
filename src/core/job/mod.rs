//! A job: a site, what was seen, and the person's notes. Everything else is derived.

pub mod assess;
pub mod backup;
pub mod bank;
pub mod brief;
pub mod bus;
pub mod check;
pub mod checklist;
pub mod code;
pub mod csv;
mod fields;
pub mod fingerprint;
pub mod hold;
pub mod incoming;
pub mod lineage;
pub mod link;
pub mod lists;
pub mod merge;
pub mod migrate;
pub mod numbers;
pub mod photo;
pub mod record_file;
pub mod stored;
pub mod story;
pub mod strip;
pub mod take;
pub mod trace;
pub mod window_line;
pub mod without;

use crate::core::bank::findings::Held;
use crate::core::bank::table::Table;
use crate::core::entry::{self, Shown};
use crate::core::power::sheet_judged;
use crate::core::site::{Draft, Site};
use assess::Assessment;
use check::Check;
use hold::Hold;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A point in time: milliseconds since the start of 1970, UTC.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Moment(pub i64);

/// What an observation is of.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Subject {
    Check(Check),
    /// A reading of ohms that no check of the walkthrough asks for.
    Hold(Hold),
    /// A card of the walkthrough, by its key.
    Card(String),
    /// An alarm, state or hold-off of the catalogue, by its key; seen as the answer [`PRESENT`] or [`GONE`].
    Alarm(String),
    /// An item of a checklist, by the keys of both.
    Item {
        list: String,
        item: String,
    },
}

/// An alarm is there.
pub const PRESENT: &str = "present";
/// An alarm that was there has gone.
pub const GONE: &str = "gone";

/// What was seen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    Figure(Shown),
    /// The meter showed that the path is open.
    BeyondRange,
    /// One of the answers that the check offers, by its key.
    Answer(String),
    /// A card's action was done, or an item ticked.
    Done,
    /// An item does not apply here; the observation's note says why.
    NotApplicable,
    /// What was entered before for this subject no longer counts.
    Withdrawn,
}

/// One thing seen, with its time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Observation {
    pub of: Subject,
    pub at: Moment,
    pub seen: Seen,
    /// The text as typed, kept beside its value.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub typed: String,
    /// Who saw it; empty where nobody said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl Observation {
    /// Something seen, by nobody in particular.
    pub fn new(of: Subject, at: Moment, seen: Seen, typed: impl Into<String>) -> Observation {
        Observation { of, at, seen, typed: typed.into(), by: String::new(), note: String::new() }
    }

    /// The text kept with it, where it says more than the figure: where the reading came from.
    pub fn origin(&self) -> Option<&str> {
        let says_more = match &self.seen {
            Seen::Figure(shown) => entry::read(&self.typed, shown.figure.kind()).is_err(),
            Seen::Answer(_) => true,
            Seen::BeyondRange | Seen::Done | Seen::NotApplicable | Seen::Withdrawn => false,
        };
        (says_more && !self.typed.is_empty()).then_some(self.typed.as_str())
    }
}

/// Names and places of people: they leave the phone only where that is wanted.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default)]
pub struct People {
    /// Who does the work.
    pub by: String,
    pub owner: String,
    /// Where the bank is, or how to reach the owner.
    pub place: String,
}

impl People {
    pub fn is_empty(&self) -> bool {
        *self == People::default()
    }
}

/// A job as it is kept.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Job {
    pub id: String,
    pub begun: Moment,
    /// An invented job that ships with the app.
    pub demo: bool,
    pub site: Draft,
    /// What the modules say, and what the display shows beside the checks; texts as typed.
    #[serde(skip_serializing_if = "Table::is_empty")]
    pub bank: Table,
    /// When that was last changed.
    pub bank_at: Option<Moment>,
    /// What is said of cables, protection, chargers and joints; texts as typed ([`crate::core::power::sheet`]).
    #[serde(skip_serializing_if = "Table::is_empty")]
    pub power: Table,
    /// When that was last changed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_at: Option<Moment>,
    /// In the order in which they were made; never removed, so that the record can tell what was seen when.
    pub observations: Vec<Observation>,
    pub notes: String,
    #[serde(skip_serializing_if = "People::is_empty")]
    pub people: People,
    /// Checklists that the job goes by.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lists: Vec<lists::Taken>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<photo::Photo>,
    /// Put away: still kept, but not among the open ones.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub archived: bool,
    /// The search for a fault, as far as it was told.
    pub story: story::Story,
    /// Text that stands in a field and is not yet taken as an observation or a figure, by field.
    pub pending: BTreeMap<String, String>,
    /// Fields that this version does not know: kept as they came. [`stored`] takes them apart and puts them back.
    #[serde(skip)]
    pub rest: serde_json::Map<String, serde_json::Value>,
}

impl Job {
    /// Everything that follows from the job at this site.
    pub fn assess(&self, site: &Site) -> Assessment {
        let power = sheet_judged::all(site, &self.power);
        Assessment { power, ..assess::assess_all(site, &self.observations, &self.bank) }
    }

    /// [`Job::assess`] for a hand that waits: all verdicts, but on a large bus with readings that were not seen before not yet
    /// what explains them. [`Assessment::explained`] says so; a call of [`Job::assess`] works it out and is remembered.
    pub fn assess_at_once(&self, site: &Site) -> Assessment {
        let power = sheet_judged::all(site, &self.power);
        Assessment { power, ..assess::assess_at_once(site, &self.observations, &self.bank) }
    }

    /// The bank of [`Job::assess`], without working out the rest.
    pub fn held(&self, site: &Site) -> Option<Held> {
        let mut findings = assess::of_display(site, &self.observations);
        bank::held_anew(site, &self.observations, &self.bank, &mut findings)
    }

    /// A copy to be kept beside it: without its key, and without the photos, which are kept once.
    pub fn copy(&self) -> Job {
        Job { id: String::new(), archived: false, photos: Vec::new(), ..self.clone() }
    }

    /// A job at the same site, on which nothing was done yet.
    pub fn copy_of_site(&self) -> Job {
        let lists = self.lists.iter().filter(|taken| taken.own.is_some()).cloned().collect();
        Job { demo: self.demo, site: self.site.clone(), people: self.people.clone(), lists, ..Job::default() }
    }

    /// Notes what was seen; by who does the work, unless it says otherwise.
    pub fn see(&mut self, mut seen: Observation) {
        if seen.by.is_empty() {
            seen.by = self.people.by.trim().to_string();
        }
        self.observations.push(seen);
    }

    /// The observation that counts for a subject: the last one, unless it was withdrawn.
    pub fn last(&self, of: &Subject) -> Option<&Observation> {
        latest(&self.observations, of)
    }

    /// Every noted alarm with its time and whether it was there, in the order in which they were noted.
    pub fn alarms(&self) -> impl Iterator<Item = (&str, Moment, bool)> {
        self.observations.iter().filter_map(|observation| match (&observation.of, &observation.seen) {
            (Subject::Alarm(key), Seen::Answer(answer)) => Some((key.as_str(), observation.at, answer == PRESENT)),
            _ => None,
        })
    }

    /// Every alarm that was noted and is not gone, with the time of its note.
    pub fn present_alarms(&self) -> impl Iterator<Item = (&str, Moment)> {
        present_alarms(&self.observations)
    }

    /// When a card was ticked, if it is.
    pub fn done(&self, card: &str) -> Option<Moment> {
        self.last(&Subject::Card(card.to_string())).map(|observation| observation.at)
    }
}

/// The observation that counts for a subject: the last one, unless it was withdrawn.
pub fn latest<'a>(observations: &'a [Observation], of: &Subject) -> Option<&'a Observation> {
    observations.iter().rev().find(|o| o.of == *of).filter(|o| o.seen != Seen::Withdrawn)
}

/// Every alarm whose last note says that it is there, with the time of that note.
pub fn present_alarms(observations: &[Observation]) -> impl Iterator<Item = (&str, Moment)> {
    observations.iter().enumerate().filter_map(|(index, seen)| match &seen.of {
        Subject::Alarm(key) if seen.seen == Seen::Answer(PRESENT.into()) => {
            let is_last = !observations[index + 1..].iter().any(|later| later.of == seen.of);
            is_last.then_some((key.as_str(), seen.at))
        }
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noted_alarms_come_back_with_their_times() {
        let note = |key: &str, at, answer: &str| {
            Observation::new(Subject::Alarm(key.into()), Moment(at), Seen::Answer(answer.into()), "")
        };
        let observations = vec![note("too-cold", 5, PRESENT), note("too-cold", 9, GONE)];
        let job = Job { observations, ..Job::default() };
        let text = serde_json::to_string(&job).unwrap();
        let again: Job = serde_json::from_str(&text).unwrap();
        let noted: Vec<(&str, Moment, bool)> = again.alarms().collect();
        assert_eq!(noted, vec![("too-cold", Moment(5), true), ("too-cold", Moment(9), false)]);
        assert_eq!(again.present_alarms().count(), 0);
        assert_eq!(present_alarms(&again.observations[..1]).collect::<Vec<_>>(), [("too-cold", Moment(5))]);
    }
}
