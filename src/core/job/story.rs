//! The search for a fault, told in a job: what was answered, put off and repaired, each with its time.

use crate::core::faults::finder::job::timed;
use crate::core::faults::finder::{Event, Finder};
use crate::core::job::{Moment, Observation};
use serde::{Deserialize, Serialize};

/// One thing that was told.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Told {
    pub at: Moment,
    pub event: Event,
}

/// All that was told.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Story {
    /// The kind of site, by key; empty before it was said.
    pub kind: String,
    pub told: Vec<Told>,
}

impl Story {
    pub fn is_empty(&self) -> bool {
        self.told.is_empty()
    }

    /// What was told and what the job knows beside it, in the order of its time.
    pub fn events(&self, finder: &Finder<'_>, observations: &[Observation]) -> Vec<Event> {
        let mut all = timed(finder, observations);
        all.extend(self.told.iter().map(|told| (told.at, told.event.clone())));
        // Of two at one moment the job's comes first; the sort keeps the order in which they stand.
        all.sort_by_key(|(at, _)| *at);
        all.into_iter().map(|(_, event)| event).collect()
    }
}
