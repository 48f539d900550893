//! The next reading to take: the one that is expected to tell most for the minutes it takes.
//!
//! For each candidate, every fault that is still probable predicts a distribution, given the readings so far. The
//! outcomes are taken at three points of each (Gauss–Hermite: the centre and 1.73 spreads either side, in parts of 2/3,
//! 1/6 and 1/6) and as "open"; at each, Bayes gives the probabilities anew. What the reading tells is the mean of
//! the logarithm of new over old, in bits.

use crate::core::bus::line::{Line, Spot};
use crate::core::bus::termination::Meter;
use crate::core::faults::bus::likelihood::{Chain, Model, Outlook};
use crate::core::faults::bus::workshop::Workshop;
use crate::core::faults::bus::{BusFault, Class, Pair, Ranked, Reading, Side, State, explain, runs, stop_at, stops};
use crate::core::units::{Metres, Ohms, Quantity, Seconds};
use std::collections::VecDeque;

/// A reading worth taking.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Next {
    pub at: Spot,
    pub pair: Pair,
    pub state: State,
    /// What it is expected to tell, bits.
    pub tells: f64,
    /// What it takes (common practice, no source).
    pub takes: Seconds,
}

/// Faults weighed for the choice, the most probable ones; the rest are too rare to steer it.
const MOST_FAULTS: usize = 24;
/// Nor do those below this share of the most probable one, and cases of devices below it in their fault.
const WORTH: f64 = 1e-3;
/// Below this, in bits, a reading is not worth taking (common practice, no source).
const LEAST_TOLD: f64 = 0.02;

/// Seconds that a reading takes where the meter is, and more for what must be done before (common practice, no source).
const READING: f64 = 30.0;
const NEW_PLACE: f64 = 60.0;
const TERMINATOR_PULLED: f64 = 60.0;
const PLUG_PULLED: f64 = 120.0;
const END_BRIDGED: f64 = 180.0;

/// What one fault says of each candidate.
struct Weighed {
    /// Probability of the fault, and the parts of its cases of devices, in the order of `outlooks`.
    weight: f64,
    parts: Vec<f64>,
    /// For each case, for each candidate.
    outlooks: Vec<Vec<Outlook>>,
}

/// The reading that is expected to tell most for each minute; `None` when none would tell much.
pub fn next(line: &Line, readings: &[Reading]) -> Option<Next> {
    let mut choice = Choice::new(line, readings.to_vec(), &explain(line, readings));
    loop {
        if let Some(found) = choice.go_on() {
            return found;
        }
    }
}

/// Candidates that are judged in one stretch (common practice, no source).
const STRETCH: usize = 16;

/// The choice of the next reading, a stretch at a time: on a large bus it is the work of a second on a slow phone.
pub struct Choice {
    model: Model,
    candidates: Vec<Reading>,
    /// Faults that are not weighed yet, with their probability.
    open: VecDeque<(BusFault, f64)>,
    weighed: Vec<Weighed>,
    workshop: Workshop,
    /// The candidate that is judged next.
    at: usize,
    /// With what it tells for each second.
    best: Option<(f64, Next)>,
}

impl Choice {
    /// Begins the choice after these readings, which leave these faults ([`explain`]).
    pub fn new(line: &Line, readings: Vec<Reading>, ranked: &[Ranked]) -> Choice {
        let candidates = candidates(line, &readings);
        let most = ranked.first().map_or(0.0, |first| first.probability);
        // A device the wrong way round is the same network as none: no reading parts them.
        let same: f64 = ranked.iter().filter(|r| r.fault.class() == Class::Swapped).map(|r| r.probability).sum();
        let open = ranked
            .iter()
            .filter(|r| r.fault.class() != Class::Swapped && r.probability >= WORTH * most)
            .take(MOST_FAULTS)
            .map(|r| (r.fault, r.probability + if r.fault == BusFault::Nothing { same } else { 0.0 }))
            .collect();
        let (model, weighed, workshop) = (Model::new(line, readings), Vec::new(), Workshop::default());
        Choice { model, candidates, open, weighed, workshop, at: 0, best: None }
    }

    /// Goes a stretch on. The answer, once it is known, as [`next`] gives it.
    pub fn go_on(&mut self) -> Option<Option<Next>> {
        if let Some((fault, weight)) = self.open.pop_front() {
            self.weighed.push(weigh(&self.model, &mut self.workshop, fault, weight, &self.candidates));
            return None;
        }
        let total: f64 = self.weighed.iter().map(|fault| fault.weight).sum();
        let from = self.at;
        self.at = (from + STRETCH).min(self.candidates.len());
        for index in from..self.at {
            let candidate = &self.candidates[index];
            let tells = told(&self.weighed, total, index);
            let takes = takes(candidate, &self.model.readings);
            let rate = tells / takes;
            // The first of equals: ends come before what lies between.
            if tells >= LEAST_TOLD && self.best.is_none_or(|(known, _)| rate > known * (1.0 + 1e-9)) {
                let (at, pair, state) = (candidate.at, candidate.pair, candidate.state);
                self.best = Some((rate, Next { at, pair, state, tells, takes: Seconds::of(takes) }));
            }
        }
        (self.at == self.candidates.len()).then(|| self.best.map(|(_, next)| next))
    }
}

/// Every reading that could be taken and was not; those of one state follow each other.
fn candidates(line: &Line, readings: &[Reading]) -> Vec<Reading> {
    let stops = stops(line);
    let at = |stop: usize| Spot::Trunk(stop_at(line, stop));
    let ends = [at(0), Spot::Trunk(line.length())];
    let mut places = ends.to_vec();
    places.extend(stops.iter().skip(1).rev().skip(1).rev().map(|stop| at(*stop)));
    places.extend((0..line.drops.len()).map(Spot::Drop));

    let mut list: Vec<(Spot, Pair, State)> = Vec::new();
    for place in &places {
        list.extend(
            [Pair::HighLow, Pair::HighReference, Pair::LowReference].map(|pair| (*place, pair, State::AllPlugged)),
        );
    }
    let mut states: Vec<State> =
        (0..line.terminators.len()).map(|terminator| State::TerminatorPulled { terminator }).collect();
    states.extend(runs(line).map(|run| State::PlugPulled { run, side: Side::Start }));
    for state in states {
        list.extend(ends.map(|end| (end, Pair::HighLow, state)));
    }
    list.push((ends[1], Pair::HighLow, State::EndBridged { side: Side::Start }));
    list.push((ends[0], Pair::HighLow, State::EndBridged { side: Side::End }));

    list.into_iter()
        .filter(|&(at, pair, state)| {
            !readings.iter().any(|seen| seen.pair == pair && seen.state == state && same_place(line, seen.at, at))
        })
        .map(|(at, pair, state)| Reading { at, pair, state, ohms: None, digit: Ohms::of(0.1), meter: Meter::USUAL })
        .collect()
}

/// Within a millimetre: positions that were typed.
fn same_place(line: &Line, a: Spot, b: Spot) -> bool {
    let along = |at: Metres| at.get().min(line.length().get());
    match (a, b) {
        (Spot::Trunk(a), Spot::Trunk(b)) => (along(a) - along(b)).abs() < 1e-3,
        (a, b) => a == b,
    }
}

fn takes(candidate: &Reading, readings: &[Reading]) -> f64 {
    let known = readings.iter().any(|seen| seen.at == candidate.at);
    let state = match candidate.state {
        State::AllPlugged => 0.0,
        State::TerminatorPulled { .. } => TERMINATOR_PULLED,
        State::PlugPulled { .. } => PLUG_PULLED,
        State::EndBridged { .. } => END_BRIDGED,
    };
    READING + if known { 0.0 } else { NEW_PLACE } + state
}

fn weigh(model: &Model, workshop: &mut Workshop, fault: BusFault, weight: f64, candidates: &[Reading]) -> Weighed {
    if fault == BusFault::MeterOnPoweredBus {
        return Weighed { weight, parts: vec![1.0], outlooks: vec![vec![Outlook::powered(); candidates.len()]] };
    }
    let chains = model.chains(workshop, fault);
    let most = chains.iter().map(|chain| chain.log).fold(f64::NEG_INFINITY, f64::max);
    let part = |chain: &Chain| (chain.log - most).exp();
    let sum: f64 = chains.iter().map(part).sum();
    let mut weighed = Weighed { weight, parts: Vec::new(), outlooks: Vec::new() };
    let asked = chains.each_ref().map(|chain| part(chain) / sum >= WORTH);
    let expected = model.expected(workshop, fault, asked, candidates);
    for ((chain, expected), _) in chains.iter().zip(&expected).zip(asked).filter(|(_, is_asked)| *is_asked) {
        weighed.parts.push(part(chain) / sum);
        weighed.outlooks.push(expected.iter().map(|expected| Outlook::of(chain, expected)).collect());
    }
    weighed
}

/// What a candidate is expected to tell, bits.
fn told(weighed: &[Weighed], total: f64, candidate: usize) -> f64 {
    // Every fault and case with its part of the whole.
    let list: Vec<(usize, f64, f64, Outlook)> = weighed
        .iter()
        .enumerate()
        .flat_map(|(index, fault)| {
            let weight = fault.weight / total;
            let mut list: Vec<(usize, f64, f64, Outlook)> = Vec::with_capacity(fault.parts.len());
            for (part, outlooks) in fault.parts.iter().zip(&fault.outlooks) {
                let outlook = outlooks[candidate];
                // Cases that show the same count as one: the work goes by the square.
                match list.iter_mut().find(|(.., known)| *known == outlook) {
                    Some((_, _, sum, _)) => *sum += part,
                    None => list.push((index, weight, *part, outlook)),
                }
            }
            list
        })
        .collect();
    // The chance under one fault, and under any.
    let chance = |own: usize, of: &dyn Fn(&Outlook) -> f64| -> (f64, f64) {
        list.iter().fold((0.0, 0.0), |(one, any), (index, weight, part, outlook)| {
            let chance = part * of(outlook);
            (if *index == own { one + chance } else { one }, any + weight * chance)
        })
    };
    let open = |(index, fault): (usize, &Weighed)| {
        let (one, any) = chance(index, &|outlook| outlook.open);
        fault.weight / total * one * (one / any).log2()
    };
    let mut told: f64 = weighed.iter().enumerate().map(open).sum();
    for (index, weight, part, outlook) in &list {
        let Some((centre, spread)) = outlook.figure else { continue };
        for (step, share) in [(-3f64.sqrt(), 1.0 / 6.0), (0.0, 2.0 / 3.0), (3f64.sqrt(), 1.0 / 6.0)] {
            let at = centre + step * spread;
            let (one, any) = chance(*index, &|outlook| outlook.density(at));
            told += weight * part * share * (1.0 - outlook.open) * (one / any).log2();
        }
    }
    told
}
