//! The search for a fault, told in a job: what was answered, put off and repaired, each with its time.

use crate::core::faults::finder::job::timed;
use crate::core::faults::finder::{Event, Finder};
use crate::core::job::{Moment, Observation};
use serde::{Deserialize, Serialize};

/// One thing that was told.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Told {
    pub at: Moment,
    pub event: Event,
}

/// All that was told.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
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

    /// Tells what happened now. Where the phone's clock was set back it still comes after what is there.
    pub fn tell(&mut self, now: Moment, events: Vec<Event>) {
        let at = self.told.iter().map(|told| told.at).fold(now, Moment::max);
        self.told.extend(events.into_iter().map(|event| Told { at, event }));
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_set_back_does_not_put_an_answer_before_another() {
        let later = |check: &str| Event::Later { check: check.into() };
        let mut story = Story::default();
        story.tell(Moment(50), vec![later("a")]);
        story.tell(Moment(20), vec![later("b")]);
        assert_eq!(
            story.told,
            [Told { at: Moment(50), event: later("a") }, Told { at: Moment(50), event: later("b") }]
        );
    }
}
