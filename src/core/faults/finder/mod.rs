//! The fault finder: from what was seen to the likeliest causes, and to the one check that tells most for its minutes.
//!
//! [`tables`] is the model as it is written down, [`physics`] what the site's network and sums make of it, [`engine`] the
//! reasoning in numbers. A [`Finder`] is the three for one site; a story is a list of [`Event`]s, and [`Finder::report`] says
//! where it stands. Danger is never traded: what the present state forbids is not offered, and some outcomes end the search.

pub mod engine;
pub mod job;
pub mod physics;
mod rows;
pub mod tables;
pub mod valid;

use engine::{Belief, Engine, Plan, Step};
use physics::Shape;
use serde::{Deserialize, Serialize};
use tables::{Check, Need, Power, Tables};

/// Keys of the sources that its figures and its computed likelihoods rest on; all else is common practice.
pub const SOURCES: &[&str] = &["iso-11898-2-2003", "iso-11898-1993", "an96116", "ti-slvs-levels", "practice"];

/// One thing that happened in a story. Keys that the model does not have are passed over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Event {
    Seen {
        check: String,
        outcome: String,
    },
    Alarm {
        alarm: String,
    },
    /// It cannot be done now: it is not offered again.
    Later {
        check: String,
    },
    Repaired {
        fault: String,
    },
}

/// How far one check, or an alarm, speaks for a cause.
#[derive(Clone, Debug, PartialEq)]
pub struct Why {
    /// The check's key, or the alarm's.
    pub of: String,
    /// The last outcome seen; `None` for an alarm.
    pub outcome: Option<String>,
    /// The logarithm of how much likelier it makes the cause, in bits; below zero it speaks against.
    pub bits: f64,
}

/// How an observation speaks for or against a cause, in words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Speaks {
    StronglyFor,
    For,
    Against,
    StronglyAgainst,
}

impl Why {
    /// `None` below 0.3 bits; strongly from 3 bits, eight times as likely (common practice, no source).
    pub fn speaks(&self) -> Option<Speaks> {
        match self.bits {
            bits if bits.abs() < 0.3 => None,
            bits if bits >= 3.0 => Some(Speaks::StronglyFor),
            bits if bits > 0.0 => Some(Speaks::For),
            bits if bits > -3.0 => Some(Speaks::Against),
            _ => Some(Speaks::StronglyAgainst),
        }
    }
}

/// A cause; `fault` is `None` for "nothing wrong".
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    pub fault: Option<String>,
    /// That it is there, alone or with another.
    pub probability: f64,
    /// What speaks loudest first.
    pub why: Vec<Why>,
}

/// What an outcome of the next check would mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Meaning {
    pub outcome: String,
    pub chance: f64,
    /// The likeliest cause then, and its probability.
    pub fault: Option<String>,
    pub probability: f64,
    /// It would end the search.
    pub ends: bool,
}

/// Why a check is the next.
#[derive(Clone, Debug, PartialEq)]
pub enum Reason {
    /// It comes before all others.
    First,
    /// It tells most for its minutes.
    TellsMost,
    /// It must come before this one, which tells most.
    Before(String),
    /// It shows whether the repair has cured.
    Proof,
}

/// A check worth making.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    pub check: String,
    pub reason: Reason,
    /// With switching, what must come before, and undoing.
    pub minutes: f64,
    /// What it is expected to tell; of the check it comes before, if it does.
    pub bits: f64,
    /// The power must be switched for it.
    pub switch: Option<Power>,
    /// It was answered before.
    pub again: bool,
    pub outcomes: Vec<Meaning>,
}

/// A check that may be made now.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    pub check: String,
    /// What must come before it.
    pub before: Option<String>,
    pub minutes: f64,
    pub bits: f64,
}

/// What to do now.
#[derive(Clone, Debug, PartialEq)]
pub enum Advice {
    /// The outcome ends the search: no check is offered.
    Stop {
        check: String,
        outcome: String,
    },
    Look(Next),
    /// Looking further costs more than it saves.
    Repair {
        fault: String,
        probability: f64,
        proof: String,
    },
    /// As far as was asked, nothing is wrong.
    NothingFound {
        probability: f64,
    },
}

/// Where a story stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// The three likeliest, "nothing wrong" among them.
    pub causes: Vec<Cause>,
    pub advice: Advice,
    /// Checks that the present state forbids, with the fact that does.
    pub forbidden: Vec<(String, String)>,
    /// Minutes asked so far, switching included.
    pub spent: f64,
}

/// The state that the answers have left.
#[derive(Clone, Debug, Default)]
struct State {
    off: bool,
    facts: Vec<String>,
    /// Check and outcome that end the search.
    ended: Option<(usize, usize)>,
    later: Vec<usize>,
    /// The last outcome of each check, and whether it was since the last repair.
    last: Vec<Option<(usize, bool)>>,
    /// How often each was asked since then.
    asked: Vec<u32>,
    proof: Option<usize>,
    spent: f64,
}

/// A check, what must come before it, what it tells, and the minutes it takes.
type Choice = (usize, Option<usize>, f64, f64);

/// The model for one site.
pub struct Finder<'a> {
    pub tables: &'a Tables,
    pub engine: Engine,
    shape: Shape,
    /// Whether the site has what each check needs.
    there: Vec<bool>,
    alarms: Vec<&'a String>,
}

/// How many of the likeliest causes a report names (common practice, no source).
pub const CAUSES: usize = 3;
/// The same check is not offered more often than this between repairs: who has erred so often errs again (common practice, no source).
const MOST_ASKED: u32 = 5;

impl<'a> Finder<'a> {
    /// `kind` is a key of [`Tables::kinds`]; another one is taken as the first. The tables must be valid ([`valid::mistakes`]).
    pub fn new(tables: &'a Tables, kind: &str, shape: Shape) -> Finder<'a> {
        let kind = tables.kinds.iter().position(|known| known == kind).unwrap_or(0);
        let has = |needs: &[Need]| needs.iter().all(|need| has(&shape, *need));
        let numbers = tables.words.numbers;
        let weights = tables.faults.iter().map(|fault| match has(&fault.needs) {
            true => tables.weights(fault).map_or(0.0, |weights| weights[kind]),
            false => 0.0,
        });
        let family = |key: &String| tables.faults.iter().position(|fault| fault.family == *key).unwrap_or(0);
        let alarms: Vec<&String> = tables.alarms.keys().collect();
        let mut plan = Plan {
            weights: weights.collect(),
            families: tables.faults.iter().map(|fault| family(&fault.family)).collect(),
            nothing: numbers.nothing,
            two: numbers.two,
            error: numbers.error,
            repair_fails: numbers.repair_fails,
            checks: Vec::new(),
            pairs: Vec::new(),
        };
        rows::fill(tables, &shape, &mut plan);
        plan.checks.extend(alarms.iter().map(|key| rows::alarm(tables, key)));
        let there = tables.checks.iter().map(|check| has(&check.needs)).collect();
        Finder { tables, engine: Engine::new(&plan), shape, there, alarms }
    }

    /// The outcome that a figure is, for a check that takes one; `None` as a figure is an open path.
    pub fn outcome_of(&self, check: &str, figure: Option<f64>) -> Option<&'a str> {
        let check = &self.tables.checks[self.tables.check(check)?];
        let outcome = self.shape.outcome(check.by?, figure)?;
        check.outcomes.get(outcome).map(String::as_str)
    }

    fn steps(&self, events: &[Event]) -> (Vec<Step>, State) {
        let tables = self.tables;
        let mut state =
            State { last: vec![None; tables.checks.len()], asked: vec![0; tables.checks.len()], ..State::default() };
        let mut steps = Vec::new();
        for event in events {
            match event {
                Event::Seen { check, outcome } => {
                    let Some(check) = tables.check(check) else { continue };
                    let Some(outcome) = tables.checks[check].outcome(outcome) else { continue };
                    steps.push(Step::Answer { check, outcome });
                    self.see(&mut state, check, outcome);
                }
                Event::Alarm { alarm } => {
                    if let Some(index) = self.alarms.iter().position(|known| *known == alarm) {
                        steps.push(Step::Answer { check: tables.checks.len() + index, outcome: 1 });
                    }
                }
                Event::Later { check } => state.later.extend(tables.check(check)),
                Event::Repaired { fault } => {
                    let Some(fault) = tables.fault(fault) else { continue };
                    steps.push(Step::Repaired { fault });
                    let proof = tables.check(&tables.faults[fault].proof);
                    state.proof = proof.filter(|proof| self.there[*proof]);
                    state.spent += tables.faults[fault].minutes;
                    let passing = |fact: &String| {
                        tables
                            .checks
                            .iter()
                            .any(|check| check.passing && check.gives.values().any(|given| given == fact))
                    };
                    state.facts.retain(|fact| !passing(fact));
                    state.asked.fill(0);
                    state.last.iter_mut().flatten().for_each(|(_, fresh)| *fresh = false);
                }
            }
        }
        (steps, state)
    }

    fn see(&self, state: &mut State, index: usize, outcome: usize) {
        let check = &self.tables.checks[index];
        state.spent += check.minutes + check.undo + self.switching(state, check);
        self.switch(state, check);
        state.facts.retain(|fact| !check.gives.values().any(|given| given == fact));
        state.facts.extend(check.gives.get(&check.outcomes[outcome]).cloned());
        let ends = |check: &Check, outcome: usize| check.ends.contains(&check.outcomes[outcome]);
        if ends(check, outcome) {
            state.ended = Some((index, outcome));
        } else if state.ended.is_some_and(|(ended, _)| ended == index) {
            state.ended = None;
        }
        state.last[index] = Some((outcome, true));
        state.asked[index] += 1;
        state.proof = state.proof.filter(|proof| *proof != index);
    }

    fn switching(&self, state: &State, check: &Check) -> f64 {
        let numbers = self.tables.words.numbers;
        match check.power {
            Some(Power::Off) if !state.off => numbers.switch_off_min,
            Some(Power::On) if state.off => numbers.switch_on_min,
            _ => 0.0,
        }
    }

    fn switch(&self, state: &mut State, check: &Check) {
        match check.power {
            Some(Power::Off) => state.off = true,
            Some(Power::On) if state.off => {
                state.off = false;
                // What was proved with everything off is proved no longer; what forbids stays.
                state.facts.retain(|fact| !self.tables.checks.iter().any(|check| check.requires.contains(fact)));
            }
            _ => {}
        }
    }

    /// Where a story stands.
    pub fn report(&self, events: &[Event]) -> Report {
        let (steps, state) = self.steps(events);
        let belief = self.engine.believe(&steps);
        let marginals = self.engine.marginals(&belief.now);
        let advice = self.advise(&belief, &state, &marginals);
        let mut causes: Vec<(Option<usize>, f64)> =
            marginals.iter().enumerate().map(|(fault, p)| (Some(fault), *p)).collect();
        causes.push((None, belief.now[0]));
        causes.sort_by(|a, b| b.1.total_cmp(&a.1));
        causes.truncate(CAUSES);
        let named: Vec<Option<usize>> = causes.iter().map(|(fault, _)| *fault).collect();
        let whys = self.whys(&belief, &state, &named);
        let causes = causes.into_iter().zip(whys).map(|((fault, probability), why)| Cause {
            fault: fault.map(|fault| self.tables.faults[fault].key.clone()),
            probability,
            why,
        });
        let forbidden = self.tables.checks.iter().filter_map(|check| {
            let fact = check.forbids.iter().find(|fact| state.facts.contains(fact))?;
            Some((check.key.clone(), fact.clone()))
        });
        Report { causes: causes.collect(), advice, forbidden: forbidden.collect(), spent: state.spent }
    }

    /// What to do now, alone, and the minutes asked so far.
    pub fn advice(&self, events: &[Event]) -> (Advice, f64) {
        let (steps, state) = self.steps(events);
        let belief = self.engine.believe(&steps);
        (self.advise(&belief, &state, &self.engine.marginals(&belief.now)), state.spent)
    }

    /// The chance that nothing is wrong, and that each fault is there, alone or with another.
    pub fn probabilities(&self, events: &[Event]) -> (f64, Vec<f64>) {
        let belief = self.engine.believe(&self.steps(events).0);
        (belief.now[0], self.engine.marginals(&belief.now))
    }

    /// Every check that may be made now, in the order of the tables; none once the search has ended.
    pub fn offered(&self, events: &[Event]) -> Vec<Offer> {
        let (steps, state) = self.steps(events);
        let belief = self.engine.believe(&steps);
        let key = |index: usize| self.tables.checks[index].key.clone();
        let all = if state.ended.is_some() { 0 } else { self.tables.checks.len() };
        let offer = |index: usize| {
            let before = self.allowed(&state, index)?;
            let (minutes, bits) = (self.minutes(&state, index, before), self.engine.tells(&belief, index));
            Some(Offer { check: key(index), before: before.map(key), minutes, bits })
        };
        (0..all).filter_map(offer).collect()
    }

    /// What speaks for and against each cause.
    fn whys(&self, belief: &Belief, state: &State, causes: &[Option<usize>]) -> Vec<Vec<Why>> {
        let mut lists = vec![Vec::new(); causes.len()];
        for index in 0..belief.answered.len() {
            let Some(bits) = self.engine.speaks(belief, index, causes) else { continue };
            let (of, outcome) = match self.tables.checks.get(index) {
                None => (self.alarms[index - self.tables.checks.len()].clone(), None),
                Some(check) => {
                    let last = state.last[index].map(|(outcome, _)| check.outcomes[outcome].clone());
                    (check.key.clone(), last)
                }
            };
            for (list, bits) in lists.iter_mut().zip(bits) {
                list.push(Why { of: of.clone(), outcome: outcome.clone(), bits });
            }
        }
        lists.iter_mut().for_each(|list: &mut Vec<Why>| list.sort_by(|a, b| b.bits.abs().total_cmp(&a.bits.abs())));
        lists
    }

    /// May the check be made, and what must come before it?
    fn allowed(&self, state: &State, index: usize) -> Option<Option<usize>> {
        let check = &self.tables.checks[index];
        let may = |index: usize| {
            let check = &self.tables.checks[index];
            self.there[index]
                && !state.later.contains(&index)
                && !check.forbids.iter().any(|fact| state.facts.contains(fact))
        };
        if !may(index) || state.asked[index] >= MOST_ASKED {
            return None;
        }
        let missing = check
            .requires
            .iter()
            .find(|fact| !state.facts.contains(fact) || (check.power == Some(Power::Off) && !state.off));
        match missing {
            None => Some(None),
            Some(fact) => {
                let gives = |before: &usize| self.tables.checks[*before].gives.values().any(|given| given == fact);
                (0..self.tables.checks.len()).find(|before| *before != index && gives(before) && may(*before)).map(Some)
            }
        }
    }

    /// Minutes of a check in the present state, with what must come before.
    fn minutes(&self, state: &State, index: usize, before: Option<usize>) -> f64 {
        let check = &self.tables.checks[index];
        let own = check.minutes + check.undo + self.switching(state, check);
        // Whoever switches off will switch on again.
        let back =
            if check.power == Some(Power::Off) && !state.off { self.tables.words.numbers.switch_on_min } else { 0.0 };
        own + back + before.map_or(0.0, |before| self.tables.checks[before].minutes + self.tables.checks[before].undo)
    }

    fn advise(&self, belief: &Belief, state: &State, marginals: &[f64]) -> Advice {
        let tables = self.tables;
        if let Some((check, outcome)) = state.ended {
            let check = &tables.checks[check];
            return Advice::Stop { check: check.key.clone(), outcome: check.outcomes[outcome].clone() };
        }
        let first = (0..tables.checks.len()).find(|index| {
            tables.checks[*index].first && state.last[*index].is_none() && self.allowed(state, *index) == Some(None)
        });
        let offer = |index: usize, reason: Reason, bits: f64, minutes: f64| {
            Advice::Look(self.next(belief, state, index, reason, (bits, minutes)))
        };
        // The check itself, or what must come before it.
        let way = |index: usize, before: Option<usize>, reason: Reason, bits: f64, minutes: f64| match before {
            Some(before) => offer(before, Reason::Before(tables.checks[index].key.clone()), bits, minutes),
            None => offer(index, reason, bits, minutes),
        };
        if let Some(index) = first {
            let bits = self.engine.tells(belief, index);
            return offer(index, Reason::First, bits, self.minutes(state, index, None));
        }
        if let Some(proof) = state.proof
            && let Some(before) = self.allowed(state, proof)
        {
            let (bits, minutes) = (self.engine.tells(belief, proof), self.minutes(state, proof, before));
            return way(proof, before, Reason::Proof, bits, minutes);
        }
        let (fault, probability) = marginals
            .iter()
            .copied()
            .enumerate()
            .fold((None, belief.now[0]), |best, (fault, p)| if p > best.1 { (Some(fault), p) } else { best });
        let numbers = tables.words.numbers;
        let repair = fault.map_or(0.0, |fault| tables.faults[fault].minutes);
        let wrong = numbers.wrong_min + repair;
        let best = self.best(belief, state, (fault, probability), (1.0 - probability) * wrong);
        match (best.or_else(|| self.decider(belief, state, probability, wrong)), fault) {
            (Some((index, before, bits, minutes)), _) => way(index, before, Reason::TellsMost, bits, minutes),
            (_, Some(fault)) => {
                let fault = &tables.faults[fault];
                Advice::Repair { fault: fault.key.clone(), probability, proof: fault.proof.clone() }
            }
            (_, None) => Advice::NothingFound { probability },
        }
    }

    /// Of the checks that take less than so many minutes, the one that tells most for its own. Once a cause is likelier than all
    /// others together, a check that tells nothing of that one waits: what else is wrong is asked after its repair.
    fn best(
        &self,
        belief: &Belief,
        state: &State,
        (top, probability): (Option<usize>, f64),
        most: f64,
    ) -> Option<Choice> {
        let numbers = self.tables.words.numbers;
        let (least, of_top) = (numbers.least_bits, numbers.least_bits_of_likeliest);
        let mut best: Option<Choice> = None;
        for index in 0..self.tables.checks.len() {
            let Some(before) = self.allowed(state, index) else { continue };
            let minutes = self.minutes(state, index, before);
            if minutes >= most {
                continue;
            }
            let bits = self.engine.tells(belief, index);
            let better = best.is_none_or(|(.., known, took)| bits / minutes > known / took);
            if bits >= least && better {
                let decides = probability <= 0.5 || self.engine.tells_of(belief, index, top) >= of_top;
                if decides {
                    best = Some((index, before, bits, minutes));
                }
            }
        }
        best
    }

    /// A check that saves more minutes of wrong repairs than it takes, if any; that which saves most.
    fn decider(&self, belief: &Belief, state: &State, now: f64, wrong: f64) -> Option<Choice> {
        let worth = self.engine.worth(belief);
        let mut best: Option<(f64, Choice)> = None;
        for index in 0..self.tables.checks.len() {
            let Some(before) = self.allowed(state, index) else { continue };
            let minutes = self.minutes(state, index, before);
            // It cannot save more than all that may be lost.
            if (1.0 - now) * wrong <= minutes {
                continue;
            }
            let saves = (self.engine.decides(belief, &worth, index) - now) * wrong - minutes;
            if saves > best.as_ref().map_or(0.0, |(known, _)| *known) {
                best = Some((saves, (index, before, self.engine.tells(belief, index), minutes)));
            }
        }
        best.map(|(_, choice)| choice)
    }

    fn next(&self, belief: &Belief, state: &State, index: usize, reason: Reason, (bits, minutes): (f64, f64)) -> Next {
        let check = &self.tables.checks[index];
        let forecast = self.engine.forecast(belief, index);
        let outcomes = check.outcomes.iter().enumerate().map(|(outcome, key)| {
            let then = self.engine.after(belief, index, outcome);
            let marginals = self.engine.marginals(&then);
            let likeliest = marginals.iter().copied().enumerate();
            let (fault, probability) =
                likeliest.fold((None, then[0]), |best, (fault, p)| if p > best.1 { (Some(fault), p) } else { best });
            Meaning {
                outcome: key.clone(),
                chance: forecast[outcome],
                fault: fault.map(|fault| self.tables.faults[fault].key.clone()),
                probability,
                ends: check.ends.contains(key),
            }
        });
        Next {
            check: check.key.clone(),
            reason,
            minutes,
            bits,
            switch: check.power.filter(|power| (*power == Power::Off) != state.off),
            again: state.last[index].is_some_and(|(_, fresh)| fresh),
            outcomes: outcomes.collect(),
        }
    }
}

fn has(shape: &Shape, need: Need) -> bool {
    match need {
        Need::Several => shape.series * shape.parallel > 1,
        Need::Parallel => shape.parallel > 1,
        Need::Series => shape.series > 1,
        Need::Charger => shape.charger,
    }
}
