//! The bus of a job: volts first, then ohms, what they are held against, and what explains them.

use crate::core::because::Because;
use crate::core::bus::line::{Line, Wire};
use crate::core::bus::termination::{
    Allowed, DEVICE_ALLOWED, Meter, OUTER, Standing, TERMINATOR_ALLOWED, stand, window,
};
use crate::core::faults::bus::{self as bus_faults, BusFault, Class, Ranked};
use crate::core::job::assess::{Finding, Suspect, Verdict, Window, figure_of};
use crate::core::job::check::Check;
use crate::core::job::{Observation, Seen};
use crate::core::site::{End, Site, Stop};
use crate::core::units::{Ohms, Quantity, Volts};

/// The pair must be below 5 mV before ohms mean anything (common practice, no source).
pub const PAIR_QUIET: Volts = Volts::of(0.005);
/// Each wire must be within 0.1 V of the reference: a bus that is asleep or off holds it there (TI data sheets).
pub const WIRE_QUIET: Volts = Volts::of(0.1);

pub(super) fn volts(check: Check, seen: Option<&Observation>) -> Finding {
    let limit = if check == Check::PairVolts { PAIR_QUIET } else { WIRE_QUIET };
    let window = |error| Window {
        low: Volts::new(-limit.get()).unwrap_or(limit).into(),
        high: limit.into(),
        outer: None,
        error,
    };
    let read = figure_of(seen).and_then(|shown| Some((shown, shown.figure.as_quantity::<Volts>()?)));
    let Some((shown, reading)) = read else {
        let mut finding = Finding::new(check, Verdict::NotDone, Because::NotDone {});
        finding.window = Some(window(0.0));
        return finding;
    };
    // Meters on direct volts are better than on ohms; the last digits rule at these small values.
    let error = 2.0 * shown.digit.min(limit.get());
    let size = reading.get().abs();
    let (verdict, because) = if size <= limit.get() {
        (Verdict::Holds, Because::Quiet { reading, limit })
    } else if size - error <= limit.get() {
        (Verdict::LookAgain, Because::NearlyQuiet { reading, limit })
    } else {
        (Verdict::Fails, Because::NotQuiet { reading, limit })
    };
    let mut finding = Finding::new(check, verdict, because);
    if verdict != Verdict::Holds {
        finding.next = vec![Because::SwitchOff {}, Because::WaitAndRepeat {}];
    }
    finding.sources =
        if check == Check::PairVolts { vec!["practice", "ti-slvs-levels"] } else { vec!["ti-slvs-levels"] };
    finding.window =
        Some(Window { low: Volts::new(-limit.get()).unwrap_or(limit).into(), high: limit.into(), outer: None, error });
    finding
}

/// The window of a site's bus at one of its ends.
pub fn window_of(site: &Site, end: End) -> Option<Allowed> {
    let least = site.line(TERMINATOR_ALLOWED.0, DEVICE_ALLOWED.0);
    let greatest = site.line(TERMINATOR_ALLOWED.1, DEVICE_ALLOWED.1);
    window(&least, &greatest, site.spot(end))
}

/// The bus as it should be: with a terminator at each end, of the resistance that its figures give.
pub(super) fn healthy_line(site: &Site) -> Line {
    let ohms = site.terminator.as_ref().map_or(Ohms::of(120.0), |terminator| terminator.resistance);
    site.line(ohms, DEVICE_ALLOWED.1)
}

/// The terminator's end, by its index in [`Site::line`].
fn end_of_terminator(site: &Site, index: usize) -> Option<End> {
    site.terminated_ends().nth(index)
}

/// Below this share of the probability a fault is not named.
const WORTH_NAMING: f64 = 0.05;
/// How much likelier one end must be than the other before it is named.
const CLEAR: f64 = 10.0;

pub(super) fn suspect(site: &Site, faults: &[Ranked]) -> Option<Suspect> {
    let (class, share) = bus_faults::classes(faults).into_iter().next()?;
    let first = faults.iter().find(|r| r.fault.class() == class)?;
    match first.fault {
        BusFault::Nothing | BusFault::Swapped { .. } => None,
        BusFault::AllTerminatorsMissing => Some(Suspect::Ends),
        BusFault::TerminatorMissing { terminator } | BusFault::TerminatorValue { terminator, .. } => {
            // Which of them, only if the rest of the kind is far behind.
            let of = |r: &Ranked| match r.fault {
                BusFault::TerminatorMissing { terminator } | BusFault::TerminatorValue { terminator, .. } => {
                    Some(terminator)
                }
                _ => None,
            };
            let alike = faults.iter().filter(|r| r.fault.class() == class);
            let here: f64 = alike.filter(|r| of(r) == Some(terminator)).map(|r| r.probability).sum();
            let clear = (share - here) * CLEAR < here;
            if clear { end_of_terminator(site, terminator).map(Suspect::End) } else { Some(Suspect::Ends) }
        }
        BusFault::WireOpen { run, .. } | BusFault::BothOpen { run } | BusFault::WiresTouch { run } => {
            let same = |r: &&Ranked| run_of(r.fault) == Some(run);
            let here: f64 = faults.iter().filter(same).map(|r| r.probability).sum();
            if here > 0.8 { Some(Suspect::Lead(run)) } else { Some(Suspect::Whole) }
        }
        _ => Some(Suspect::Whole),
    }
}

/// The run that a fault lies in, if it lies in one.
fn run_of(fault: BusFault) -> Option<usize> {
    match fault {
        BusFault::WireOpen { run, .. } | BusFault::BothOpen { run } | BusFault::WiresTouch { run } => Some(run),
        _ => None,
    }
}

pub(super) fn ohms<'a>(
    site: &Site,
    check: Check,
    seen: &dyn Fn(Check) -> Option<&'a Observation>,
    quiet: bool,
    faults: Option<&[Ranked]>,
) -> Finding {
    let end = check.end().unwrap_or(End::Monitor);
    let Some(allowed) = window_of(site, end) else {
        return Finding::new(check, Verdict::NotDone, Because::NotDone {});
    };
    let window = |error| Window {
        low: allowed.low.into(),
        high: allowed.high.into(),
        outer: Some((
            if OUTER.0 < allowed.low { OUTER.0 } else { allowed.low }.into(),
            if OUTER.1 > allowed.high { OUTER.1 } else { allowed.high }.into(),
        )),
        error,
    };
    let Some(observation) = seen(check) else {
        let mut finding = Finding::new(check, Verdict::NotDone, Because::NotDone {});
        finding.sum = sum_of_window(site, allowed, None);
        finding.window = Some(window(0.0));
        return finding;
    };
    let (reading, digit) = match &observation.seen {
        Seen::Figure(shown) => match shown.figure.as_quantity::<Ohms>() {
            Some(ohms) => (Some(ohms), shown.digit),
            None => return Finding::new(check, Verdict::NotDone, Because::NotDone {}),
        },
        Seen::BeyondRange => (None, 1.0),
        _ => return Finding::new(check, Verdict::NotDone, Because::NotDone {}),
    };
    let error = reading.map_or(0.0, |ohms| Meter::USUAL.error(ohms.get(), digit));
    let standing = reading.map_or(Standing::Above, |ohms| stand(ohms.get(), error, allowed));
    let (low, high) = (allowed.low, allowed.high);

    let terminated_as_it_should = site.terminated_at_bank && site.terminated_at_monitor;
    let verdict = match standing {
        _ if !quiet => Verdict::LookAgain,
        // A reading that fits what was described fails all the same when the description lacks a terminator.
        _ if !terminated_as_it_should => Verdict::Fails,
        Standing::Inside => Verdict::Holds,
        Standing::Near => Verdict::LookAgain,
        Standing::Below | Standing::Above => Verdict::Fails,
    };
    let because = match (reading, standing) {
        _ if !quiet => Because::VoltsFirst {},
        (None, _) => Because::PairOpen {},
        (Some(reading), Standing::Inside) if !terminated_as_it_should => Because::PairAsBuilt { reading },
        (Some(reading), Standing::Inside) => Because::PairHolds { reading, low, high },
        (Some(reading), Standing::Near) => Because::PairNear { reading, low, high },
        (Some(reading), _) => faults.map_or(Because::PairOutside { reading }, |faults| named(reading, faults)),
    };
    let mut finding = Finding::new(check, verdict, because);
    finding.sum = sum_of_window(site, allowed, Ohms::new(error).ok());
    finding.sources =
        vec!["iso-11898-2-2003", "an96116", "iso-11898-1993", "ti-slrs048a", "can-trouble-band", "practice"];
    finding.window = Some(window(error));
    if quiet && verdict != Verdict::Holds {
        (finding.may_be, finding.next) = match faults {
            Some(faults) => story(site, check, error, faults, reading, seen),
            None => (Vec::new(), vec![Because::BeingExplained {}]),
        };
    } else if !quiet {
        finding.next = vec![Because::SwitchOff {}, Because::WaitAndRepeat {}];
    }
    finding
}

/// The sentence for a reading outside the outer limits, from what explains it best.
fn named(reading: Ohms, faults: &[Ranked]) -> Because {
    let share = |wanted: &[Class]| -> f64 {
        faults.iter().filter(|r| wanted.contains(&r.fault.class())).map(|r| r.probability).sum()
    };
    let one = share(&[Class::TerminatorMissing, Class::WireOpen, Class::BothOpen]);
    let none = share(&[Class::AllTerminatorsMissing]);
    let extra = share(&[Class::TerminatorExtra, Class::TwoTerminatorsExtra]);
    let touch = share(&[Class::WiresTouch]);
    let best = one.max(none).max(extra).max(touch);
    // The fault model always names something; a reading that lies where no whole number of terminators does is odd.
    let lies = |low: f64, high: f64| (low..=high).contains(&reading.get());
    if one == best && lies(105.0, 145.0) {
        Because::OneTerminator { reading }
    } else if none == best && reading.get() > 900.0 {
        Because::NoTerminator { reading }
    } else if extra == best && lies(22.0, 50.0) {
        Because::ExtraTerminator { reading }
    } else if touch == best && reading.get() < 22.0 {
        Because::WiresTouch { reading }
    } else {
        Because::PairOdd { reading }
    }
}

/// What a reading that does not hold may be, and what to do next.
fn story<'a>(
    site: &Site,
    check: Check,
    error: f64,
    faults: &[Ranked],
    reading: Option<Ohms>,
    seen: &dyn Fn(Check) -> Option<&'a Observation>,
) -> (Vec<Because>, Vec<Because>) {
    let mut may_be: Vec<Because> = Vec::new();
    let mut next: Vec<Because> = Vec::new();

    // A bus described with a terminator too few cannot read right: say so before anything else.
    for end in End::BOTH {
        if !site.terminated(end) {
            may_be.push(Because::EndMissing { end });
            next.push(Because::LookAtEnd { end });
        }
    }
    if !may_be.is_empty() {
        return (may_be, next);
    }

    let missing: Vec<(End, f64)> = faults
        .iter()
        .filter_map(|r| match r.fault {
            BusFault::TerminatorMissing { terminator } => Some((end_of_terminator(site, terminator)?, r.probability)),
            _ => None,
        })
        .collect();
    let missing_share: f64 = missing.iter().map(|(_, p)| p).sum();
    let is_open = |r: &&Ranked| matches!(r.fault.class(), Class::WireOpen | Class::BothOpen);
    let open_share: f64 = faults.iter().filter(is_open).map(|r| r.probability).sum();

    if missing_share + open_share > 0.5 {
        let (best, other) = (missing.first(), missing.get(1));
        let one_end_is_clear =
            best.is_some_and(|(_, p)| other.is_none_or(|(_, q)| *p > CLEAR * q)) && missing_share > WORTH_NAMING;
        let both_ends_seen = seen(Check::PairOhmsAtMonitor).is_some() && seen(Check::PairOhmsAtBank).is_some();
        if let (true, Some((end, _))) = (one_end_is_clear, best) {
            may_be.push(Because::EndMissing { end: *end });
        } else if missing_share > WORTH_NAMING {
            may_be.push(Because::EitherEndMissing {});
        }
        if open_share > WORTH_NAMING {
            may_be.push(Because::WireOpenBetween {});
        }
        if open_share > missing_share {
            may_be.reverse();
        }
        if let (true, Some((end, _))) = (one_end_is_clear, best) {
            next.push(Because::LookAtEnd { end: *end });
        } else {
            // From one end to the other the reading changes by the loop of the whole bus, and by nothing more.
            let gap = Ohms::new(2.0 * site.line(Ohms::of(120.0), Ohms::of(1e5)).conductor().get());
            let gap = gap.unwrap_or(Ohms::of(0.0));
            let reach = Ohms::new(2.0 * error).unwrap_or(Ohms::of(0.0));
            if gap > reach && !both_ends_seen {
                next.push(Because::MeasureOtherEnd { end: check.end().unwrap_or(End::Monitor).other() });
            } else if !both_ends_seen {
                may_be.push(Because::CannotTellEnd { gap, error: reach });
            }
            next.push(Because::LookAtEnds {});
        }
        next.push(Because::MeasureAlong {});
        return (may_be, next);
    }

    // What is said alike is one explanation, however many places it may be at.
    let mut said: Vec<(Because, f64)> = Vec::new();
    for ranked in faults {
        let Some(because) = explanation(site, ranked.fault) else { continue };
        match said.iter_mut().find(|(known, _)| *known == because) {
            Some((_, share)) => *share += ranked.probability,
            None => said.push((because, ranked.probability)),
        }
    }
    said.sort_by(|a, b| b.1.total_cmp(&a.1));
    may_be.extend(said.into_iter().filter(|(_, share)| *share >= WORTH_NAMING).map(|(because, _)| because));
    match bus_faults::classes(faults).first().map(|(class, _)| *class) {
        Some(Class::AllTerminatorsMissing | Class::TerminatorValue) => next.push(Because::LookAtEnds {}),
        Some(Class::TerminatorExtra | Class::TwoTerminatorsExtra | Class::WiresTouch) => {
            next.push(Because::PullOneByOne {});
        }
        _ if reading.is_none() => next.push(Because::LookAtEnds {}),
        _ => next.push(Because::WaitAndRepeat {}),
    }
    (may_be, next)
}

/// What a fault is called; `None` for one that is told elsewhere: a bus that is not off by its volts, and what leaves the
/// reading between the data wires as it is.
fn explanation(site: &Site, fault: BusFault) -> Option<Because> {
    Some(match fault {
        BusFault::Nothing => Because::NothingWrong {},
        BusFault::AllTerminatorsMissing => Because::AllMissing {},
        BusFault::TerminatorExtra { .. } => Because::ExtraSomewhere {},
        BusFault::TwoTerminatorsExtra { .. } => Because::TwoExtra {},
        BusFault::TerminatorValue { .. } => Because::TerminatorValue {},
        BusFault::TerminatorMisplaced { .. } => Because::TerminatorMisplaced {},
        BusFault::WiresTouch { run } => {
            let (from, to) = stops_around(site, run);
            Because::TouchIn { from, to }
        }
        BusFault::WireOpen { run, wire: Wire::High | Wire::Low } | BusFault::BothOpen { run } => {
            let (from, to) = stops_around(site, run);
            Because::WireOpenIn { from, to }
        }
        BusFault::TerminatorMissing { .. }
        | BusFault::WireOpen { .. }
        | BusFault::WireToReference { .. }
        | BusFault::WireToSupply { .. }
        | BusFault::Swapped { .. }
        | BusFault::MeterOnPoweredBus => return None,
    })
}

pub(super) fn stops_around(site: &Site, run: usize) -> (Stop, Stop) {
    let stops = site.stops();
    let at = |index: usize| stops.get(index).copied().unwrap_or(Stop::Monitor);
    (at(run), at(run + 1))
}

fn sum_of_window(site: &Site, allowed: Allowed, error: Option<Ohms>) -> Vec<Because> {
    let loop_ohms = Ohms::new(2.0 * site.line(Ohms::of(120.0), Ohms::of(1e5)).conductor().get());
    let mut sum = vec![Because::WindowFrom { devices: site.modules() + 1, low: allowed.low, high: allowed.high }];
    if let Ok(loop_ohms) = loop_ohms {
        sum.push(Because::LeadsAdd { length: site.bus_length(), loop_ohms });
    }
    if let Some(error) = error {
        sum.push(Because::MeterAdds { error });
    }
    sum.push(Because::OuterLimits { low: OUTER.0, high: OUTER.1 });
    sum
}
