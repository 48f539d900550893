//! How the meter is held for one reading of ohms: where, between what, and what was done to the bus for it.

use crate::core::because::{Because, Named};
use crate::core::bus::line::{Line, Spot};
use crate::core::bus::termination::Meter;
use crate::core::faults::bus::next::Next;
use crate::core::faults::bus::{Pair, Reading, Side, State};
use crate::core::job::bus::stops_around;
use crate::core::job::check::Check;
use crate::core::job::{Observation, Seen, Subject, latest};
use crate::core::site::{End, Site, Stop};
use crate::core::units::{Metres, Ohms, Quantity};
use serde::{Deserialize, Serialize};

/// What was done to the bus before the reading, and is undone after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Doing {
    Nothing,
    TerminatorPulled(End),
    /// The lead with this index from the bank's free end is pulled at the side of that end.
    LeadPulled(u32),
    /// The two data wires are bridged at this end.
    Bridged(End),
}

/// One way to hold the meter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(into = "String", try_from = "String")]
pub struct Hold {
    pub at: Stop,
    pub pair: Pair,
    pub doing: Doing,
}

const PAIRS: [(Pair, &str); 3] = [(Pair::HighLow, "hl"), (Pair::HighReference, "hr"), (Pair::LowReference, "lr")];

/// The names of what a meter is held between, in the order of [`Pair`]; content is checked against them.
pub const NAMES: &[&str] = &["pair-high-low", "pair-high-reference", "pair-low-reference"];

impl Hold {
    /// Short, for addresses and stored jobs: `m3.hl`, `monitor.hr.terminator-bank`, `m1.hl.lead-2`.
    pub fn key(self) -> String {
        let at = match self.at {
            Stop::Monitor => "monitor".to_string(),
            Stop::Module(n) => format!("m{n}"),
        };
        let pair = PAIRS.iter().find(|(pair, _)| *pair == self.pair).map_or("hl", |(_, key)| key);
        match self.doing {
            Doing::Nothing => format!("{at}.{pair}"),
            Doing::TerminatorPulled(end) => format!("{at}.{pair}.terminator-{}", end.key()),
            Doing::LeadPulled(lead) => format!("{at}.{pair}.lead-{lead}"),
            Doing::Bridged(end) => format!("{at}.{pair}.bridge-{}", end.key()),
        }
    }

    pub fn from_key(key: &str) -> Option<Hold> {
        let mut parts = key.split('.');
        let at = match parts.next()? {
            "monitor" => Stop::Monitor,
            module => Stop::Module(module.strip_prefix('m')?.parse().ok()?),
        };
        let pair = parts.next()?;
        let pair = PAIRS.iter().find(|(_, known)| *known == pair)?.0;
        let end = |key: &str| End::BOTH.into_iter().find(|end| end.key() == key);
        let doing = match parts.next() {
            None => Doing::Nothing,
            Some(doing) => match doing.split_once('-')? {
                ("terminator", key) => Doing::TerminatorPulled(end(key)?),
                ("lead", lead) => Doing::LeadPulled(lead.parse().ok()?),
                ("bridge", key) => Doing::Bridged(end(key)?),
                _ => return None,
            },
        };
        parts.next().is_none().then_some(Hold { at, pair, doing })
    }

    /// How the meter is held, and what is done for it, as reasons to be spoken.
    pub fn told(self, site: &Site) -> [Because; 2] {
        let pair = self.pair_name();
        let at = match End::BOTH.into_iter().find(|end| site.stop_at(*end) == self.at) {
            Some(end) => Because::HoldAtEnd { pair, end },
            None => Because::HoldAtStop { pair, at: self.at },
        };
        [at, self.doing.told(site)]
    }

    /// The name of what the meter is held between.
    pub fn pair_name(self) -> Named {
        Named::new(NAMES[self.pair as usize])
    }

    /// What an observation of it is of: the two that every walkthrough knows are checks.
    pub fn subject(self, site: &Site) -> Subject {
        let check = Check::ALL.iter().find(|check| check.hold(site) == Some(self));
        check.map_or(Subject::Hold(self), |check| Subject::Check(*check))
    }

    /// The reading as the fault model takes it. `None` where the site has no such place.
    fn reading(self, site: &Site, line: &Line, ohms: Option<Ohms>, digit: Ohms) -> Option<Reading> {
        let at = Spot::Trunk(place_of(site, self.at)?);
        let state = self.doing.state(site, line)?;
        Some(Reading { at, pair: self.pair, state, ohms, digit, meter: Meter::USUAL })
    }

    /// The way to hold the meter that the fault model advises.
    pub(super) fn advised(site: &Site, next: &Next) -> Option<Hold> {
        let Spot::Trunk(at) = next.at else { return None };
        let near = |stop: &Stop| place_of(site, *stop).is_some_and(|place| (place.get() - at.get()).abs() < 1e-3);
        let terminated: Vec<End> = site.terminated_ends().collect();
        let side = |side| if side == Side::Start { End::Bank } else { End::Monitor };
        let doing = match next.state {
            State::AllPlugged => Doing::Nothing,
            State::TerminatorPulled { terminator } => Doing::TerminatorPulled(*terminated.get(terminator)?),
            State::PlugPulled { run, .. } => Doing::LeadPulled(run as u32),
            State::EndBridged { side: bridged } => Doing::Bridged(side(bridged)),
        };
        Some(Hold { at: places(site).into_iter().find(near)?, pair: next.pair, doing })
    }
}

impl Doing {
    /// The state that the fault model knows it by. `None` where the site has no such part.
    pub(super) fn state(self, site: &Site, line: &Line) -> Option<State> {
        Some(match self {
            Doing::Nothing => State::AllPlugged,
            Doing::TerminatorPulled(end) => {
                State::TerminatorPulled { terminator: site.terminated_ends().position(|other| other == end)? }
            }
            Doing::LeadPulled(lead) => {
                let run = lead as usize;
                line.runs.get(run)?;
                State::PlugPulled { run, side: Side::Start }
            }
            Doing::Bridged(End::Bank) => State::EndBridged { side: Side::Start },
            Doing::Bridged(End::Monitor) => State::EndBridged { side: Side::End },
        })
    }

    /// What is done, as a reason to be spoken.
    pub fn told(self, site: &Site) -> Because {
        match self {
            Doing::Nothing => Because::DoingNothing {},
            Doing::TerminatorPulled(end) => Because::DoingTerminatorPulled { end },
            Doing::LeadPulled(lead) => {
                let (from, to) = stops_around(site, lead as usize);
                Because::DoingLeadPulled { from, to }
            }
            Doing::Bridged(end) => Because::DoingBridged { end },
        }
    }

    /// All that can be done to this site's bus.
    pub fn all(site: &Site) -> Vec<Doing> {
        let pulled = site.terminated_ends().filter(|end| !site.built_in_terminator(*end)).map(Doing::TerminatorPulled);
        let leads = (0..site.leads.len()).filter(|lead| site.leads[*lead].length.get() > 0.0);
        let mut all = vec![Doing::Nothing];
        all.extend(pulled);
        all.extend(leads.map(|lead| Doing::LeadPulled(lead as u32)));
        all.extend(End::BOTH.map(Doing::Bridged));
        all
    }
}

impl From<Hold> for String {
    fn from(hold: Hold) -> String {
        hold.key()
    }
}

impl TryFrom<String> for Hold {
    type Error = &'static str;

    fn try_from(key: String) -> Result<Hold, Self::Error> {
        Hold::from_key(&key).ok_or("no way to hold a meter")
    }
}

/// The stops where a meter reaches the bus, each place once, from the bank's free end to the monitor.
pub fn places(site: &Site) -> Vec<Stop> {
    let mut list: Vec<(Stop, Option<Metres>)> = Vec::new();
    for stop in site.stops() {
        let place = place_of(site, stop);
        if list.last().is_none_or(|(_, before)| *before != place) {
            list.push((stop, place));
        }
    }
    list.into_iter().map(|(stop, _)| stop).collect()
}

/// Where a stop lies, from the bank's free end.
pub(super) fn place_of(site: &Site, stop: Stop) -> Option<Metres> {
    let index = site.stops().iter().position(|other| *other == stop)?;
    Metres::new(site.leads.iter().take(index).map(|laid| laid.length.get()).sum()).ok()
}

/// One reading of ohms as it was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken<'a> {
    pub hold: Hold,
    pub observation: &'a Observation,
    pub(super) reading: Reading,
}

/// All readings of ohms that count, in the order in which they were first taken.
pub fn taken<'a>(site: &Site, line: &Line, observations: &'a [Observation]) -> Vec<Taken<'a>> {
    let mut holds: Vec<Hold> = Vec::new();
    for observation in observations {
        let hold = match &observation.of {
            Subject::Hold(hold) => Some(*hold),
            Subject::Check(check) => check.hold(site),
            Subject::Card(_) | Subject::Alarm(_) | Subject::Item { .. } => None,
        };
        holds.extend(hold.filter(|hold| !holds.contains(hold)));
    }
    let one = |hold: Hold| {
        let observation = latest(observations, &hold.subject(site))?;
        let (ohms, digit) = match &observation.seen {
            Seen::Figure(shown) => (Some(shown.figure.as_quantity::<Ohms>()?), Ohms::new(shown.digit).ok()?),
            Seen::BeyondRange => (None, Ohms::of(1.0)),
            _ => return None,
        };
        Some(Taken { hold, observation, reading: hold.reading(site, line, ohms, digit)? })
    };
    holds.into_iter().filter_map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_come_back_and_nonsense_does_not() {
        let ends = End::BOTH;
        let mut doings = vec![Doing::Nothing, Doing::LeadPulled(0), Doing::LeadPulled(63)];
        doings.extend(ends.map(Doing::TerminatorPulled));
        doings.extend(ends.map(Doing::Bridged));
        for at in [Stop::Monitor, Stop::Module(1), Stop::Module(64)] {
            for (pair, _) in PAIRS {
                for doing in &doings {
                    let hold = Hold { at, pair, doing: *doing };
                    assert_eq!(Hold::from_key(&hold.key()), Some(hold));
                }
            }
        }
        for key in
            ["", "m", "m1", "m1.xx", "m1.hl.", "m1.hl.lead", "m1.hl.lead--1", "monitor.hl.bridge-x", "m1.hl.lead-1.y"]
        {
            assert_eq!(Hold::from_key(key), None, "{key}");
        }
    }
}
