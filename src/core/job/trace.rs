//! Ohms, reading by reading: what a whole bus would show, which faults remain, and which reading tells most next.

use crate::core::because::{Because, Named};
use crate::core::bus::line::{Line, Readings, Spot, Wire};
use crate::core::bus::termination::{DEVICE_ALLOWED, TERMINATOR_ALLOWED};
use crate::core::faults::bus::next::Choice;
use crate::core::faults::bus::{self as bus_faults, Along, BusFault, Class, OtherCheck, Pair, Place, Ranked, changed};
use crate::core::faults::{share as said, tied};
use crate::core::job::assess::{Finding, Suspect, assess_bus};
use crate::core::job::bus::{healthy_line, stops_around};
use crate::core::job::hold::{Hold, place_of, taken};
use crate::core::job::{Observation, Seen, Subject};
use crate::core::remember::Last;
use crate::core::site::{Site, Stop};
use crate::core::units::{Ohms, Percent, Seconds};
use std::cell::RefCell;

/// One kind of fault that the readings leave possible.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspicion {
    pub class: Class,
    pub share: Percent,
    /// Where it may be, likeliest first, each with its share; empty where the kind has no place.
    pub places: Vec<(Because, Percent)>,
    /// The check that shows it where no resistance test can be trusted to.
    pub check: Option<Because>,
}

/// What follows where no further reading would tell much.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// Nothing is left to mend.
    Whole(Suspicion),
    /// This is the likeliest; no ohms prove it, but this check does.
    Check(Suspicion, Because),
    Mend(Suspicion),
    /// Nothing tells these apart.
    OneOf(Vec<Suspicion>),
}

/// What the readings come down to; none before any.
pub fn outcome(suspicions: &[Suspicion]) -> Option<Outcome> {
    let first = suspicions.first()?.clone();
    if let Some(count) = tied(suspicions.iter().map(|suspicion| suspicion.share)) {
        return Some(Outcome::OneOf(suspicions.iter().take(count as usize).cloned().collect()));
    }
    Some(match first.check.clone() {
        _ if first.class == Class::Nothing => Outcome::Whole(first),
        Some(check) => Outcome::Check(first, check),
        None => Outcome::Mend(first),
    })
}

/// The reading that is expected to tell most for each minute.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Advice {
    pub hold: Hold,
    pub takes: Seconds,
}

/// Below this share a kind of fault, or a place, is not named.
const WORTH_NAMING: f64 = 0.01;
/// Places named for each kind.
const MOST_PLACES: usize = 4;

/// What a whole bus shows when the meter is held like this. To the reference only a least: parts that let go of the bus when
/// unpowered leave it open there.
pub fn expects(site: &Site, hold: Hold) -> Because {
    let at = |terminator, device| -> Option<Ohms> {
        let line = site.line(terminator, device);
        let state = hold.doing.state(site, &line)?;
        let spot = Spot::Trunk(place_of(site, hold.at)?);
        let Readings { pair, high_to_reference, low_to_reference } =
            *changed(&line, BusFault::Nothing, state).readings(&[spot]).first()?;
        match hold.pair {
            Pair::HighLow => pair,
            Pair::HighReference => high_to_reference,
            Pair::LowReference => low_to_reference,
        }
    };
    let least = at(TERMINATOR_ALLOWED.0, DEVICE_ALLOWED.0);
    let greatest = match hold.pair {
        Pair::HighLow => at(TERMINATOR_ALLOWED.1, DEVICE_ALLOWED.1),
        Pair::HighReference | Pair::LowReference => None,
    };
    match (least, greatest) {
        (Some(low), Some(high)) => Because::ExpectsBetween { low, high },
        (Some(low), None) => Because::ExpectsAbove { low },
        (None, _) => Because::ExpectsOpen {},
    }
}

/// The faults that would explain the ohms seen, most probable first; empty before any is seen.
pub(super) fn explain(site: &Site, observations: &[Observation]) -> Vec<Ranked> {
    let (line, readings) = read(site, observations);
    if readings.is_empty() { Vec::new() } else { explained(line, readings) }
}

/// The bus as it should be, and what was read of it.
fn read(site: &Site, observations: &[Observation]) -> (Line, Vec<bus_faults::Reading>) {
    let line = healthy_line(site);
    let readings = taken(site, &line, observations).into_iter().map(|taken| taken.reading).collect();
    (line, readings)
}

/// [`explain`] where that is known or soon worked out.
pub(super) fn explain_at_once(site: &Site, observations: &[Observation]) -> Option<Vec<Ranked>> {
    if site.stops().len() <= SOON_EXPLAINED {
        return Some(explain(site, observations));
    }
    let (line, readings) = read(site, observations);
    if readings.is_empty() { Some(Vec::new()) } else { remembered(&line, &readings) }
}

/// Up to so many stops an explanation is worked out at once: a bus of 16 devices takes about a millisecond natively
/// (`benches/bus.rs`), and ten times that on a slow phone (common practice, no source).
const SOON_EXPLAINED: usize = 17;

/// A line and its readings, with what explains them.
type Explained = Last<(Line, Vec<bus_faults::Reading>), Vec<Ranked>>;

thread_local! {
    /// Most keys change no reading of the bus, and on a large bus this is nearly all of the work.
    static EXPLAINED: RefCell<Explained> = const { RefCell::new(Last::NOTHING) };
}

/// [`bus_faults::explain`], which depends on nothing but these two.
fn explained(line: Line, readings: Vec<bus_faults::Reading>) -> Vec<Ranked> {
    remembered(&line, &readings).unwrap_or_else(|| {
        let by = bus_faults::explain(&line, &readings);
        remember(line, readings, by.clone());
        by
    })
}

fn remember(line: Line, readings: Vec<bus_faults::Reading>, by: Vec<Ranked>) {
    EXPLAINED.with_borrow_mut(|last| last.put((line, readings), by));
}

fn remembered(line: &Line, readings: &[bus_faults::Reading]) -> Option<Vec<Ranked>> {
    EXPLAINED.with_borrow(|last| last.get(|(of, seen)| of == line && seen == readings))
}

/// What explains the ohms seen, worked out a stretch at a time and then remembered: [`told_at_once`] and what rests on it has it
/// at once from then on.
pub struct Explaining {
    line: Line,
    readings: Vec<bus_faults::Reading>,
    by: bus_faults::Explaining,
}

impl Explaining {
    pub fn new(site: &Site, observations: &[Observation]) -> Explaining {
        let (line, readings) = read(site, observations);
        let by = bus_faults::Explaining::new(&line, readings.clone());
        Explaining { line, readings, by }
    }

    /// Goes a stretch on. True once it is known.
    pub fn go_on(&mut self) -> bool {
        let found = self.by.go_on();
        let is_known = found.is_some();
        if let Some(by) = found {
            remember(self.line.clone(), self.readings.clone(), by);
        }
        is_known
    }
}

/// The reading to take next; `None` when none would tell much, and where nothing was read yet: then it is the monitor's.
pub fn next(site: &Site, observations: &[Observation]) -> Option<Advice> {
    let mut seeking = Seeking::new(site, observations);
    loop {
        if let Some(found) = seeking.go_on() {
            return found;
        }
    }
}

/// [`next`], a stretch at a time.
pub struct Seeking {
    site: Site,
    choice: Choice,
}

impl Seeking {
    pub fn new(site: &Site, observations: &[Observation]) -> Seeking {
        let (line, readings) = read(site, observations);
        let faults = explained(line.clone(), readings.clone());
        Seeking { site: site.clone(), choice: Choice::new(&line, readings, &faults) }
    }

    /// Goes a stretch on. The answer, once it is known.
    pub fn go_on(&mut self) -> Option<Option<Advice>> {
        let found = self.choice.go_on()?;
        Some(found.and_then(|next| Some(Advice { hold: Hold::advised(&self.site, &next)?, takes: next.takes })))
    }
}

/// The faults by kind, each with its places.
pub fn suspicions(site: &Site, faults: &[Ranked]) -> Vec<Suspicion> {
    bus_faults::classes(faults)
        .into_iter()
        .filter(|(_, share)| *share >= WORTH_NAMING)
        .map(|(class, share)| {
            let mut places: Vec<(Because, f64)> = Vec::new();
            for ranked in faults.iter().filter(|ranked| ranked.fault.class() == class) {
                let Some(place) = place(site, ranked.fault) else { continue };
                match places.iter_mut().find(|(known, _)| *known == place) {
                    Some((_, sum)) => *sum += ranked.probability,
                    None => places.push((place, ranked.probability)),
                }
            }
            places.retain(|(_, share)| *share >= WORTH_NAMING);
            places.sort_by(|a, b| b.1.total_cmp(&a.1));
            places.truncate(MOST_PLACES);
            let places = places.into_iter().map(|(place, share)| (place, said(share))).collect();
            let check = class.other_check().map(|check| match check {
                OtherCheck::ContinuityPinToPin => Because::TellPinToPin {},
                OtherCheck::Looking => Because::TellByLooking {},
                OtherCheck::VoltsFirst => Because::VoltsFirst {},
            });
            Suspicion { class, share: said(share), places, check }
        })
        .collect()
}

/// What no ohms can show, with the check that can: said whatever the readings are.
pub const BLIND: [(Class, Because); 2] =
    [(Class::Swapped, Because::TellPinToPin {}), (Class::TerminatorMisplaced, Because::TellByLooking {})];

/// Keys of the sources that the choice among faults rests on.
pub const SOURCES: [&str; 4] = ["iso-11898-2-2003", "iso-11898-1993", "ti-slrs048a", "practice"];

/// All that the ohms seen so far tell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Told {
    /// The readings that count, in the order in which they were first taken.
    pub taken: Vec<(Hold, Seen)>,
    /// Kinds of fault, most probable first; empty before any reading.
    pub suspicions: Vec<Suspicion>,
    pub suspect: Option<Suspect>,
    /// The last reading against its window, if the walkthrough has a check for it.
    pub last: Option<Finding>,
    /// Were the volts found as low as ohms need them?
    pub quiet: bool,
    /// The kinds of fault are worked out; the verdict on the last reading does not need them.
    pub explained: bool,
}

/// What the ohms seen so far tell.
pub fn told(site: &Site, observations: &[Observation]) -> Told {
    told_by(site, observations, Some(explain(site, observations)))
}

/// [`told`] for a hand that waits: on a large bus without what explains readings that were not seen before.
pub fn told_at_once(site: &Site, observations: &[Observation]) -> Told {
    told_by(site, observations, explain_at_once(site, observations))
}

fn told_by(site: &Site, observations: &[Observation], faults: Option<Vec<Ranked>>) -> Told {
    let assessed = assess_bus(site, observations, faults);
    let line = healthy_line(site);
    let taken: Vec<_> = taken(site, &line, observations);
    let last = taken.iter().max_by_key(|taken| taken.observation.at).and_then(|taken| match taken.hold.subject(site) {
        // What it may be is told in full beside it.
        Subject::Check(check) => assessed.of(check).map(|finding| Finding { may_be: Vec::new(), ..finding.clone() }),
        _ => None,
    });
    Told {
        taken: taken.into_iter().map(|taken| (taken.hold, taken.observation.seen.clone())).collect(),
        last,
        suspicions: suspicions(site, &assessed.bus_faults),
        suspect: assessed.suspect,
        quiet: assessed.quiet,
        explained: assessed.explained,
    }
}

fn wire(wire: Wire) -> Named {
    Named::new(match wire {
        Wire::High => "wire-high",
        Wire::Low => "wire-low",
        Wire::Reference => "role-reference",
    })
}

/// Where a fault is.
fn place(site: &Site, fault: BusFault) -> Option<Because> {
    let stops = site.stops();
    let stop = |index: usize| stops.get(index).copied().unwrap_or(Stop::Monitor);
    let along = |of: Wire, at: Along| match at {
        Along::Stop(index) => Because::PlaceWireAt { wire: wire(of), at: stop(index) },
        Along::Run(run) => {
            let (from, to) = stops_around(site, run);
            Because::PlaceWireBetween { wire: wire(of), from, to }
        }
    };
    let between = |run: usize| {
        let (from, to) = stops_around(site, run);
        Because::PlaceBetween { from, to }
    };
    let end = |terminator: usize| site.terminated_ends().nth(terminator);
    Some(match fault {
        BusFault::TerminatorMissing { terminator } | BusFault::TerminatorValue { terminator, .. } => {
            Because::PlaceEnd { end: end(terminator)? }
        }
        BusFault::TerminatorMisplaced { terminator, to: Place::Stop(index) } => {
            Because::PlaceMoved { end: end(terminator)?, to: stop(index) }
        }
        BusFault::TerminatorExtra { stop: index } => Because::PlaceAt { at: stop(index) },
        BusFault::WireOpen { wire: of, run } => {
            let (from, to) = stops_around(site, run);
            Because::PlaceWireBetween { wire: wire(of), from, to }
        }
        BusFault::BothOpen { run } | BusFault::WiresTouch { run } => between(run),
        BusFault::WireToReference { wire, at } | BusFault::WireToSupply { wire, at } => along(wire, at),
        BusFault::Swapped { device } => Because::PlaceAt { at: stop(device) },
        BusFault::TerminatorMisplaced { .. }
        | BusFault::Nothing
        | BusFault::AllTerminatorsMissing
        | BusFault::TwoTerminatorsExtra { .. }
        | BusFault::MeterOnPoweredBus => return None,
    })
}

/// Every name that a kind of fault is spoken by; content is checked against it.
pub const NAMES: &[&str] = &[
    "fault-nothing",
    "fault-terminator-missing",
    "fault-all-terminators-missing",
    "fault-terminator-extra",
    "fault-two-terminators-extra",
    "fault-terminator-value",
    "fault-terminator-misplaced",
    "fault-wire-open",
    "fault-both-open",
    "fault-reference-open",
    "fault-wires-touch",
    "fault-wire-to-reference",
    "fault-wire-to-supply",
    "fault-swapped",
    "fault-meter-on-powered-bus",
];

/// The name of a kind of fault.
pub fn name_of(class: Class) -> Named {
    Named::new(NAMES[class as usize])
}
