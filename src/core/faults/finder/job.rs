//! What a job already knows, as events of a story.

use super::{Event, Finder};
use crate::core::job::check::Check;
use crate::core::job::{Moment, Observation, Seen, Subject, latest, present_alarms};

/// No bias: −0.1 to +0.1 V between and on the data wires (TI data sheet SLLSF17B).
const QUIET: f64 = 0.1;

/// The observations that count, in the order in which they were made, as far as the fault finder has a check for them.
///
/// The three volts of a quiet bus are one check there; it is quiet when all that were taken are.
pub fn events(finder: &Finder<'_>, observations: &[Observation]) -> Vec<Event> {
    timed(finder, observations).into_iter().map(|(_, event)| event).collect()
}

/// The same with their times; an alarm that was noted and is not gone counts too.
pub fn timed(finder: &Finder<'_>, observations: &[Observation]) -> Vec<(Moment, Event)> {
    let last = |check: Check| latest(observations, &Subject::Check(check));
    let alarms = present_alarms(observations);
    let mut list: Vec<(Moment, Event)> =
        alarms.map(|(alarm, at)| (at, Event::Alarm { alarm: alarm.to_string() })).collect();
    let mut tell = |at: Moment, check: &str, outcome: &str| {
        list.push((at, Event::Seen { check: check.into(), outcome: outcome.into() }));
    };
    let volts = [Check::PairVolts, Check::HighToReferenceVolts, Check::LowToReferenceVolts].map(last);
    let figures: Vec<f64> = volts.iter().flatten().filter_map(|seen| figure(&seen.seen)).collect();
    if let Some(at) = volts.iter().flatten().map(|seen| seen.at).max()
        && !figures.is_empty()
    {
        let quiet = figures.iter().all(|volts| volts.abs() <= QUIET);
        tell(at, "volts-quiet", if quiet { "quiet" } else { "live" });
    }
    for (check, of) in [
        (Check::PairOhmsAtMonitor, "pair-ohms-monitor"),
        (Check::PairOhmsAtBank, "pair-ohms-bank"),
        (Check::ShownModules, "shown-modules"),
        (Check::ShownCapacity, "shown-capacity"),
        (Check::ShownVoltage, "shown-voltage"),
    ] {
        let Some(seen) = last(check) else { continue };
        let figure = figure(&seen.seen);
        if figure.is_some() || seen.seen == Seen::BeyondRange {
            finder.outcome_of(of, figure).into_iter().for_each(|outcome| tell(seen.at, of, outcome));
        }
    }
    for (check, of, answers) in [
        (Check::FirstFullCharge, "full-charge", &[("yes", "each"), ("not-yet", "not-yet")][..]),
        (Check::CurrentDirection, "shown-current", &[("out", "right"), ("in", "reversed"), ("zero", "nothing")]),
    ] {
        let Some(seen) = last(check) else { continue };
        if let Seen::Answer(answer) = &seen.seen
            && let Some((_, outcome)) = answers.iter().find(|(key, _)| key == answer)
        {
            tell(seen.at, of, outcome);
        }
    }
    list.sort_by_key(|(at, _)| *at);
    list
}

fn figure(seen: &Seen) -> Option<f64> {
    match seen {
        Seen::Figure(shown) => Some(shown.figure.value()),
        _ => None,
    }
}
