//! Faults of the bus as changed networks, and how well each explains the meter's readings.
//!
//! Each fault is the site's own bus with one thing changed, at every place where it can be: a place is an end of a run
//! ([`Line::in_runs`] gives every place with something on it a run on either side) or the inside of a run. What the
//! meter would show follows from the changed network; the posterior follows by Bayes. The model, in full, so that it can
//! be written again:
//!
//! - **Two terminators too many** are taken at five stops at most: both ends, and between them evenly by their number, rounded
//!   down.
//! - **Priors** are in [`prior`]; the weight of a kind is shared equally among its places. Common practice, no source.
//! - **Devices.** Whatever the line says of its devices, each has the same resistance from either wire to the reference
//!   and none between the wires. Three cases are mixed: with weight 0.7 it is 15.81 kΩ, the middle of 5–50 kΩ by its
//!   logarithm (ISO 11898, 1993/2003; TI SN65LBC031), with a spread of ln(10)/√12; with weight 0.2 it is 1 MΩ with a
//!   spread of 1.5: isolated ports, and parts that let go of the bus when unpowered (from memory; bus reference 1.5). With
//!   weight 0.1 they let go altogether, and all of them: a reading is as with 1 MΩ, but where more than half of it is the
//!   devices' there is no path. Such a bus is open to the reference wherever it is measured, and is whole.
//! - **Scale.** A resistance R in Ω is weighed as y = ln(R + 10): by its ratio where it is large, by its difference
//!   where it is small and the last digit rules.
//! - **Spreads** are standard deviations of logarithms. Shared by all readings, with normal distributions: each terminator
//!   0.01/√3 (±1 % parts) unless its class in [`prior::WRONG_VALUES`] says otherwise; all cable together 0.05 (temperature
//!   and make; common practice, no source); devices as above; the resistance of a touch 1.0 about 0.2 Ω, to the
//!   supply line 2.3 about 100 Ω (common practice, no source); where inside a run a touch is, 1/√12 of the run about its
//!   middle. Own to each reading: the meter's error at the predicted value over √3; 0.7 times the devices' part of the
//!   reading, since junctions make it vary with range and polarity (from memory; bus reference 1.5); 10⁻⁴.
//! - **Sensitivity.** A meter that drives 1 A through the network heats each part with p watts, and R is the sum of all p.
//!   By Cohn's theorem dR/d(ln r) = p for a part of resistance r, so one solution gives every derivative: dy = p/(R + 10)
//!   times the spread. A place x inside a run of r ohms, from 0 to 1, has dR/dx = r·(p₁/r₁ − p₂/r₂), with 1 and 2 the pieces
//!   of that wire or those wires before and after the touch.
//! - **Readings** are taken one after the other, each conditioned on those before (Cholesky). One of them has the density
//!   0.98·N + 0.02·0.9/W: two in a hundred are mistakes, anywhere on the scale of W = ln(4·10⁷ + 10) − ln(10), or "open"
//!   in a tenth (common practice, no source). A reading conditions the next by its standardised difference times
//!   0.98·N over the whole density: what looks like a mistake tells nothing of the others.
//! - **Open.** "Open" has the probability 0.98·q + 0.02·0.1 with q = 1/(1 + exp(1.702 z)), z = (ln(4·10⁷ + 10) − y) over the
//!   reading's whole spread, for a meter that ends at 40 MΩ; q = 1 where no path exists, and a figure is then a mistake.
//! - **A powered bus** shows anything (bus reference 1.5): y is normal about ln(70) with a spread of 1, each reading on its
//!   own, in 0.95; "open" in 0.05; mistakes do not count.

mod layout;
mod likelihood;
mod networks;
pub mod next;
pub mod prior;
mod workshop;

use crate::core::bus::line::{Break, Line, SAME_PLACE, Short, Spot, Terminator, Wire};
use crate::core::bus::termination::Meter;
use crate::core::units::{Metres, Ohms, Quantity};
pub use likelihood::Explaining;

/// A fault of the bus. Runs, terminators, devices and drops count from 0 as the line lists them; stop 0 is the start of
/// the trunk, stop `n` the end of its run `n - 1`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BusFault {
    Nothing,
    /// The terminator is not there.
    TerminatorMissing {
        terminator: usize,
    },
    AllTerminatorsMissing,
    /// One terminator too many, at the stop.
    TerminatorExtra {
        stop: usize,
    },
    /// Two too many, at these stops; they may be the same.
    TwoTerminatorsExtra {
        stops: (usize, usize),
    },
    /// The terminator has another resistance: a class of [`prior::WRONG_VALUES`].
    TerminatorValue {
        terminator: usize,
        class: usize,
    },
    /// The terminator sits elsewhere.
    TerminatorMisplaced {
        terminator: usize,
        to: Place,
    },
    /// One conductor is open in the run; the reference too can be.
    WireOpen {
        wire: Wire,
        run: usize,
    },
    /// Both data wires are open in the run.
    BothOpen {
        run: usize,
    },
    /// The two data wires touch inside the run.
    WiresTouch {
        run: usize,
    },
    /// A data wire touches the reference.
    WireToReference {
        wire: Wire,
        at: Along,
    },
    /// A data wire touches the supply line, which leads to the reference through all that hangs on it.
    WireToSupply {
        wire: Wire,
        at: Along,
    },
    /// One device has its data wires the wrong way round.
    Swapped {
        device: usize,
    },
    /// The bus was not off: the meter's figures mean nothing.
    MeterOnPoweredBus,
}

/// Where a terminator may sit by mistake.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    Stop(usize),
    /// The end of a drop.
    Drop(usize),
}

/// Where along the trunk a wire may touch something: at a stop, in its plugs or its device, or inside a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Along {
    Stop(usize),
    Run(usize),
}

/// What kind a fault is, whatever its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    Nothing,
    TerminatorMissing,
    AllTerminatorsMissing,
    TerminatorExtra,
    TwoTerminatorsExtra,
    TerminatorValue,
    TerminatorMisplaced,
    /// One data wire is open.
    WireOpen,
    BothOpen,
    ReferenceOpen,
    WiresTouch,
    WireToReference,
    WireToSupply,
    Swapped,
    MeterOnPoweredBus,
}

/// What shows a fault that ohms cannot show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OtherCheck {
    /// Continuity from pin to pin, lead by lead.
    ContinuityPinToPin,
    /// Looking where the terminators sit.
    Looking,
    /// Volts on both wires before any ohms.
    VoltsFirst,
}

impl BusFault {
    pub fn class(self) -> Class {
        match self {
            BusFault::Nothing => Class::Nothing,
            BusFault::TerminatorMissing { .. } => Class::TerminatorMissing,
            BusFault::AllTerminatorsMissing => Class::AllTerminatorsMissing,
            BusFault::TerminatorExtra { .. } => Class::TerminatorExtra,
            BusFault::TwoTerminatorsExtra { .. } => Class::TwoTerminatorsExtra,
            BusFault::TerminatorValue { .. } => Class::TerminatorValue,
            BusFault::TerminatorMisplaced { .. } => Class::TerminatorMisplaced,
            BusFault::WireOpen { wire: Wire::Reference, .. } => Class::ReferenceOpen,
            BusFault::WireOpen { .. } => Class::WireOpen,
            BusFault::BothOpen { .. } => Class::BothOpen,
            BusFault::WiresTouch { .. } => Class::WiresTouch,
            BusFault::WireToReference { .. } => Class::WireToReference,
            BusFault::WireToSupply { .. } => Class::WireToSupply,
            BusFault::Swapped { .. } => Class::Swapped,
            BusFault::MeterOnPoweredBus => Class::MeterOnPoweredBus,
        }
    }
}

impl Class {
    /// The check that shows this kind of fault where no resistance test can be trusted to; `None` where ohms do.
    ///
    /// A device with its wires the wrong way round is the same network. A terminator at the wrong place reads right on any bus
    /// that is short against its terminators; only a long one may give it away (bus reference 1.5).
    pub fn other_check(self) -> Option<OtherCheck> {
        match self {
            Class::Swapped => Some(OtherCheck::ContinuityPinToPin),
            Class::TerminatorMisplaced => Some(OtherCheck::Looking),
            Class::MeterOnPoweredBus => Some(OtherCheck::VoltsFirst),
            _ => None,
        }
    }
}

/// What a meter is held between.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pair {
    HighLow,
    HighReference,
    LowReference,
}

/// One end of a run or of the trunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Start,
    End,
}

/// What was done to the bus for a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    AllPlugged,
    /// The plug at this end of the run is pulled: both data wires and the reference are open there.
    PlugPulled {
        run: usize,
        side: Side,
    },
    /// The terminator is pulled, wherever it sits.
    TerminatorPulled {
        terminator: usize,
    },
    /// The data wires are bridged at this end of the trunk, by a lead of 0.05 Ω (common practice, no source).
    EndBridged {
        side: Side,
    },
}

/// How much of a run a pulled plug opens, m: none of what sits inside the run.
const PLUG: f64 = 1e-3;
/// The lead that bridges one end.
const BRIDGE: Ohms = Ohms::of(0.05);

/// One reading with everything off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    pub at: Spot,
    pub pair: Pair,
    pub state: State,
    /// `None`: the meter shows that the path is open.
    pub ohms: Option<Ohms>,
    /// Worth of the last digit.
    pub digit: Ohms,
    pub meter: Meter,
}

impl Reading {
    /// Between the data wires, all plugged.
    pub fn pair(at: Spot, ohms: Option<Ohms>, digit: Ohms, meter: Meter) -> Reading {
        Reading { at, pair: Pair::HighLow, state: State::AllPlugged, ohms, digit, meter }
    }
}

/// A fault with its share of the probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ranked {
    pub fault: BusFault,
    pub probability: f64,
}

/// The stops of the line that differ in place: a run without length is no run, and its end no stop.
fn stops(line: &Line) -> Vec<usize> {
    let mut list = vec![0];
    list.extend(runs(line).map(|run| run + 1));
    list
}

/// The runs that have a length.
fn runs(line: &Line) -> impl Iterator<Item = usize> {
    line.runs.iter().enumerate().filter(|(_, run)| run.length.get() >= SAME_PLACE).map(|(index, _)| index)
}

/// At most five of the stops, both ends among them, evenly by their number (rounded down).
fn spread(stops: &[usize]) -> Vec<usize> {
    let most = stops.len().min(5);
    (0..most).map(|n| stops[n * (stops.len() - 1) / (most - 1).max(1)]).collect()
}

/// Where a stop lies, m.
fn metres_of_stop(line: &Line, stop: usize) -> f64 {
    line.runs.iter().take(stop).fold(0.0, |sum, run| sum + run.length.get())
}

/// Where a stop lies. Beyond the last it is the end of the trunk.
pub fn stop_at(line: &Line, stop: usize) -> Metres {
    Metres::new(metres_of_stop(line, stop)).unwrap_or(line.length())
}

/// The middle of a run.
fn middle_of(line: &Line, run: usize) -> Metres {
    let (from, to) = (stop_at(line, run), stop_at(line, run + 1));
    Metres::new((from.get() + to.get()) / 2.0).unwrap_or(from)
}

/// All single faults of the line.
pub fn all(line: &Line) -> Vec<BusFault> {
    let stops = stops(line);
    let runs: Vec<usize> = runs(line).collect();
    let length = line.length().get();
    let mut list = vec![BusFault::Nothing];
    for (terminator, fitted) in line.terminators.iter().enumerate() {
        list.push(BusFault::TerminatorMissing { terminator });
        list.extend((0..prior::WRONG_VALUES.len()).map(|class| BusFault::TerminatorValue { terminator, class }));
        let elsewhere = |place: &Place| match (*place, fitted.at) {
            (Place::Stop(stop), Spot::Trunk(at)) => {
                (metres_of_stop(line, stop) - at.get().min(length)).abs() >= SAME_PLACE
            }
            (Place::Drop(to), Spot::Drop(at)) => to != at,
            _ => true,
        };
        let places = stops.iter().map(|stop| Place::Stop(*stop)).chain((0..line.drops.len()).map(Place::Drop));
        list.extend(places.filter(elsewhere).map(|to| BusFault::TerminatorMisplaced { terminator, to }));
    }
    if line.terminators.len() > 1 {
        list.push(BusFault::AllTerminatorsMissing);
    }
    list.extend(stops.iter().map(|stop| BusFault::TerminatorExtra { stop: *stop }));
    // Ohms tell two more from one more, but hardly where they are: a few stops stand for all.
    let few = spread(&stops);
    for (index, &stop) in few.iter().enumerate() {
        list.extend(few[index..].iter().map(|second| BusFault::TwoTerminatorsExtra { stops: (stop, *second) }));
    }
    for &run in &runs {
        list.extend([Wire::High, Wire::Low, Wire::Reference].map(|wire| BusFault::WireOpen { wire, run }));
        list.push(BusFault::BothOpen { run });
        list.push(BusFault::WiresTouch { run });
    }
    for at in stops.iter().map(|stop| Along::Stop(*stop)).chain(runs.iter().map(|run| Along::Run(*run))) {
        for wire in [Wire::High, Wire::Low] {
            list.push(BusFault::WireToReference { wire, at });
            list.push(BusFault::WireToSupply { wire, at });
        }
    }
    list.extend((0..line.devices.len()).map(|device| BusFault::Swapped { device }));
    list.push(BusFault::MeterOnPoweredBus);
    list
}

/// The line with the fault in it, as the meter meets it in the given state. A fault at a place that the line does not have
/// leaves it as it is; so do those that are no change of the network.
pub fn changed(line: &Line, fault: BusFault, state: State) -> Line {
    let mut changed = line.clone();
    let usual = line.terminators.first().map_or(Ohms::of(120.0), |t| t.ohms);
    let extra = |stop: usize| Terminator { at: Spot::Trunk(stop_at(line, stop)), ohms: usual };
    let along = |at: Along| match at {
        Along::Stop(stop) => stop_at(line, stop),
        Along::Run(run) => middle_of(line, run),
    };
    let ends = |run: usize| (stop_at(line, run), stop_at(line, run + 1));
    let mut missing = Vec::new();
    match fault {
        BusFault::Nothing | BusFault::Swapped { .. } | BusFault::MeterOnPoweredBus => {}
        BusFault::TerminatorMissing { terminator } => missing.push(terminator),
        BusFault::AllTerminatorsMissing => missing.extend(0..line.terminators.len()),
        BusFault::TerminatorExtra { stop } => changed.terminators.push(extra(stop)),
        BusFault::TwoTerminatorsExtra { stops } => changed.terminators.extend([extra(stops.0), extra(stops.1)]),
        BusFault::TerminatorValue { terminator, class } => {
            let wrong = prior::WRONG_VALUES.get(class);
            if let (Some(fitted), Some(wrong)) = (changed.terminators.get_mut(terminator), wrong) {
                fitted.ohms = wrong.ohms;
            }
        }
        BusFault::TerminatorMisplaced { terminator, to } => {
            if let Some(fitted) = changed.terminators.get_mut(terminator) {
                fitted.at = match to {
                    Place::Stop(stop) => Spot::Trunk(stop_at(line, stop)),
                    Place::Drop(drop) => Spot::Drop(drop),
                };
            }
        }
        BusFault::WireOpen { wire, run } => {
            let (from, to) = ends(run);
            changed.breaks.push(Break { wire, from, to });
        }
        BusFault::BothOpen { run } => {
            let (from, to) = ends(run);
            changed.breaks.extend([Wire::High, Wire::Low].map(|wire| Break { wire, from, to }));
        }
        BusFault::WiresTouch { run } => {
            let between = (Wire::High, Wire::Low);
            changed.shorts.push(Short { between, at: middle_of(line, run), ohms: prior::TOUCH.ohms });
        }
        BusFault::WireToReference { wire, at } => {
            let between = (wire, Wire::Reference);
            changed.shorts.push(Short { between, at: along(at), ohms: prior::TOUCH.ohms });
        }
        BusFault::WireToSupply { wire, at } => {
            let between = (wire, Wire::Reference);
            changed.shorts.push(Short { between, at: along(at), ohms: prior::SUPPLY.ohms });
        }
    }
    match state {
        State::AllPlugged => {}
        State::PlugPulled { run, side } => {
            let (from, to) = ends(run);
            let plug = PLUG.min((to.get() - from.get()) / 2.0);
            let near = |at: f64| Metres::new(at).unwrap_or(from);
            let (from, to) =
                if side == Side::Start { (from, near(from.get() + plug)) } else { (near(to.get() - plug), to) };
            let wires = [Wire::High, Wire::Low, Wire::Reference];
            changed.breaks.extend(wires.map(|wire| Break { wire, from, to }));
        }
        State::TerminatorPulled { terminator } => missing.push(terminator),
        State::EndBridged { side } => {
            let at = if side == Side::Start { Metres::of(0.0) } else { line.length() };
            changed.shorts.push(Short { between: (Wire::High, Wire::Low), at, ohms: BRIDGE });
        }
    }
    let mut index = 0..;
    changed.terminators.retain(|_| index.next().is_none_or(|index| !missing.contains(&index)));
    changed
}

/// The faults that explain the readings, most probable first. The probabilities add up to 1.
///
/// The line is the healthy bus as described, with its runs as the places that faults are named by ([`Line::in_runs`]).
/// Its terminators count with their own resistance; its breaks and shorts do not count.
pub fn explain(line: &Line, readings: &[Reading]) -> Vec<Ranked> {
    let mut explaining = Explaining::new(line, readings.to_vec());
    loop {
        if let Some(found) = explaining.go_on() {
            return found;
        }
    }
}

/// The probability of each kind of fault, most probable first.
pub fn classes(ranked: &[Ranked]) -> Vec<(Class, f64)> {
    let mut list: Vec<(Class, f64)> = Vec::new();
    for entry in ranked {
        let class = entry.fault.class();
        match list.iter_mut().find(|(known, _)| *known == class) {
            Some((_, sum)) => *sum += entry.probability,
            None => list.push((class, entry.probability)),
        }
    }
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list
}
