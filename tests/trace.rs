//! Ohms, reading by reading: a site with a hidden fault is measured as advised, with readings from the changed network.

use sixty_ohms::content::built_in;
use sixty_ohms::core::because::Because;
use sixty_ohms::core::bus::line::{Line, Readings, Spot};
use sixty_ohms::core::entry::Shown;
use sixty_ohms::core::faults::bus::{BusFault, Class, Pair, all, changed, stop_at};
use sixty_ohms::core::job::assess::{Verdict, quiet_volts};
use sixty_ohms::core::job::check::Check;
use sixty_ohms::core::job::hold::{Doing, Hold, places};
use sixty_ohms::core::job::trace::{Explaining, Outcome, Suspicion, expects, next, outcome, told, told_at_once};
use sixty_ohms::core::job::{Job, Moment, Observation, Seen, Subject};
use sixty_ohms::core::site::{End, Site, Stop};
use sixty_ohms::core::units::{Ohms, Percent, Quantity};

fn demo(key: &str) -> Site {
    let content = built_in();
    let demo = content.demo.iter().find(|demo| demo.key == key).expect("the demo is in the content");
    content.equipment.draft_of(demo).expect("its equipment is there").site().expect("it is whole")
}

const FIRST: Hold = Hold { at: Stop::Monitor, pair: Pair::HighLow, doing: Doing::Nothing };

/// What a meter of three and a half digits shows for the hold: the changed network, solved anew here.
fn shown(site: &Site, line: &Line, fault: BusFault, hold: Hold) -> Seen {
    use sixty_ohms::core::faults::bus::{Side, State};
    let side = |end| if end == End::Bank { Side::Start } else { Side::End };
    let state = match hold.doing {
        Doing::Nothing => State::AllPlugged,
        Doing::TerminatorPulled(end) => {
            State::TerminatorPulled { terminator: site.terminated_ends().position(|other| other == end).unwrap() }
        }
        Doing::LeadPulled(lead) => State::PlugPulled { run: lead as usize, side: Side::Start },
        Doing::Bridged(end) => State::EndBridged { side: side(end) },
    };
    let stop = site.stops().iter().position(|stop| *stop == hold.at).unwrap();
    let spot = Spot::Trunk(stop_at(line, stop));
    let Readings { pair, high_to_reference, low_to_reference } = changed(line, fault, state).readings(&[spot])[0];
    let ohms = match hold.pair {
        Pair::HighLow => pair,
        Pair::HighReference => high_to_reference,
        Pair::LowReference => low_to_reference,
    };
    let Some(ohms) = ohms.map(Ohms::get).filter(|ohms| *ohms < 4e7) else { return Seen::BeyondRange };
    let digit = 10f64.powi((ohms.max(0.1).log10().floor() as i32 - 2).max(-1));
    let figure = Ohms::new((ohms / digit).round() * digit).unwrap();
    Seen::Figure(Shown { figure: figure.into(), digit })
}

/// Measures as advised, at most so many readings; the kinds of fault that remain, most probable first.
fn search(site: &Site, fault: BusFault, most: usize) -> (Vec<(Class, f64)>, usize) {
    // Devices of 30 kΩ between their wires, in the middle of what the standard allows.
    let line = site.line(Ohms::of(120.0), Ohms::of(30_000.0));
    search_by(site, most, |hold| shown(site, &line, fault, hold))
}

/// Measures as advised with a meter that shows this.
fn search_by(site: &Site, most: usize, meter: impl Fn(Hold) -> Seen) -> (Vec<(Class, f64)>, usize) {
    let mut observations = quiet_volts();
    let mut hold = FIRST;
    for count in 1..=most {
        let seen = meter(hold);
        observations.push(Observation::new(hold.subject(site), Moment(count as i64), seen, ""));
        match next(site, &observations) {
            Some(advice) if count < most => hold = advice.hold,
            _ => {
                let told = told(site, &observations);
                assert_eq!(told.taken.len(), count, "each reading counts");
                return (told.suspicions.iter().map(|s| (s.class, s.share.get())).collect(), count);
            }
        }
    }
    unreachable!("the loop ends by itself")
}

#[test]
fn a_hidden_fault_is_found_by_measuring_as_advised() {
    let (mut faults, mut first, mut readings) = (0, 0, 0);
    for site in [demo("lark"), demo("otter")] {
        let line = site.line(Ohms::of(120.0), Ohms::of(30_000.0));
        for fault in all(&line) {
            // No reading of ohms parts these from a whole bus; the page says so, with the check that can.
            if matches!(fault.class(), Class::Swapped | Class::MeterOnPoweredBus | Class::TerminatorMisplaced) {
                continue;
            }
            let (left, count) = search(&site, fault, 6);
            assert!(left.iter().any(|(class, _)| *class == fault.class()), "{fault:?} is ruled out: {left:?}");
            faults += 1;
            first += usize::from(left[0].0 == fault.class());
            readings += count;
        }
    }
    println!("{faults} faults: {first} named first, {readings} readings in all");
    assert!(first * 100 >= faults * 90, "{first} of {faults} named first");
}

#[test]
fn a_whole_bus_is_found_whole() {
    for site in [demo("lark"), demo("otter")] {
        let (left, _) = search(&site, BusFault::Nothing, 3);
        assert_eq!(left[0].0, Class::Nothing, "{left:?}");
    }
}

/// Modern parts may show no path at all to the reference while they are off (bus reference 1.5, from memory): after every reading
/// that is advised a whole bus of them stays whole, and one that was off.
#[test]
fn a_whole_bus_whose_devices_let_go_is_found_whole() {
    for site in [demo("lark"), demo("otter")] {
        for most in 1..=8 {
            let line = site.line(Ohms::of(120.0), Ohms::of(30_000.0));
            // To the reference a whole bus has no path but through its devices.
            let meter = |hold: Hold| match hold.pair {
                Pair::HighLow => shown(&site, &line, BusFault::Nothing, hold),
                Pair::HighReference | Pair::LowReference => Seen::BeyondRange,
            };
            let (left, _) = search_by(&site, most, meter);
            assert_eq!(left[0].0, Class::Nothing, "{most}: {left:?}");
            assert!(left.iter().all(|(class, share)| *class != Class::MeterOnPoweredBus || *share < 5.0), "{left:?}");
        }
    }
}

#[test]
fn what_the_readings_come_down_to() {
    let of = |class: Class, share: f64| Suspicion {
        class,
        share: Percent::of(share),
        places: Vec::new(),
        check: (class == Class::MeterOnPoweredBus).then_some(Because::VoltsFirst {}),
    };
    let (whole, missing) = (of(Class::Nothing, 60.0), of(Class::TerminatorMissing, 60.0));
    let (powered, open) = (of(Class::MeterOnPoweredBus, 70.0), of(Class::WireOpen, 40.0));
    assert_eq!(outcome(&[]), None);
    assert_eq!(outcome(&[whole.clone(), open.clone()]), Some(Outcome::Whole(whole.clone())));
    assert_eq!(outcome(&[missing.clone(), open.clone()]), Some(Outcome::Mend(missing.clone())));
    // Nothing can be mended where the bus was on: the volts come first.
    assert_eq!(outcome(std::slice::from_ref(&powered)), Some(Outcome::Check(powered.clone(), Because::VoltsFirst {})));
    assert_eq!(outcome(&[whole.clone(), missing.clone(), open]), Some(Outcome::OneOf(vec![whole, missing])));
}

#[test]
fn what_a_whole_bus_reads() {
    let site = demo("lark");
    // Both terminators, or one of them: 120 Ω each (ISO 11898-2), and next to nothing through a bridge.
    let Because::ExpectsBetween { low, high } = expects(&site, FIRST) else { panic!("a path") };
    assert!(low.get() < 60.0 && high.get() > 60.0);
    let pulled = Hold { doing: Doing::TerminatorPulled(End::Bank), ..FIRST };
    let Because::ExpectsBetween { low, high } = expects(&site, pulled) else { panic!("a path") };
    assert!(low.get() < 120.0 && high.get() > 120.0 && low.get() > 100.0);
    let bridged = Hold { doing: Doing::Bridged(End::Bank), ..FIRST };
    let Because::ExpectsBetween { high, .. } = expects(&site, bridged) else { panic!("a path") };
    assert!(high.get() < 5.0, "{high:?}");
    let reference = Hold { pair: Pair::HighReference, ..FIRST };
    // Four devices of 10 kΩ between their wires, 5 kΩ from each wire; the terminators join the wires, so that all eight
    // lie side by side: 625 Ω, and some of the terminators' 60 Ω in series.
    let Because::ExpectsAbove { low } = expects(&site, reference) else { panic!("a least") };
    assert!((625.0..660.0).contains(&low.get()), "{low:?}");
}

#[test]
fn every_way_to_hold_the_meter_is_an_observation_of_its_own() {
    let site = demo("otter");
    let mut seen = std::collections::BTreeSet::new();
    for at in places(&site) {
        for pair in [Pair::HighLow, Pair::HighReference, Pair::LowReference] {
            for doing in Doing::all(&site) {
                let of = Hold { at, pair, doing }.subject(&site);
                let text = serde_json::to_string(&of).unwrap();
                assert_eq!(serde_json::from_str::<Subject>(&text).unwrap(), of);
                assert!(seen.insert(text), "{of:?} twice");
            }
        }
    }
    assert!(seen.len() > 100, "{}", seen.len());
}

#[test]
fn what_is_remembered_is_what_would_be_worked_out() {
    let sites = [demo("lark"), demo("otter")];
    let observed = |ohms: f64| {
        let figure = Shown { figure: Ohms::new(ohms).unwrap().into(), digit: 0.1 };
        let mut observations = quiet_volts();
        observations.push(Observation::new(FIRST.subject(&sites[0]), Moment(1), Seen::Figure(figure), ""));
        observations
    };
    // More jobs than are remembered, each looked at twice, in turns; a thread of its own remembers nothing.
    for _ in 0..2 {
        for site in &sites {
            for ohms in [60.4, 118.6, 121.0, 40.2, 59.9, 0.8] {
                let observations = observed(ohms);
                let afresh = std::thread::scope(|threads| threads.spawn(|| told(site, &observations)).join().unwrap());
                assert_eq!(told(site, &observations), afresh, "{ohms} Ω");
                assert_eq!(told(site, &observations), afresh, "{ohms} Ω, again");
            }
        }
    }
}

#[test]
fn on_a_large_bus_the_verdict_does_not_wait_for_what_explains_it() {
    let content = built_in();
    let demo = content.demo.iter().find(|demo| demo.key == "otter").unwrap();
    let mut draft = content.equipment.draft_of(demo).unwrap();
    let module = draft.module.as_mut().unwrap();
    (module.most_in_series, module.most_in_parallel) = (8, 8);
    (draft.series, draft.parallel) = (Some(8), Some(8));
    let site = draft.site().unwrap();
    for ohms in [118.6, 40.2, 0.8, 60.4] {
        let figure = Shown { figure: Ohms::new(ohms).unwrap().into(), digit: 0.1 };
        let mut observations = quiet_volts();
        let of = Subject::Check(Check::PairOhmsAtMonitor);
        observations.push(Observation::new(of, Moment(1), Seen::Figure(figure), ""));
        let job = Job { site: draft.clone(), observations, ..Job::default() };
        let at_once = job.assess_at_once(&site);
        assert!(!at_once.explained && at_once.bus_faults.is_empty(), "{ohms} Ω");
        let early = told_at_once(&site, &job.observations);
        assert!(!early.explained && early.suspicions.is_empty(), "{ohms} Ω");
        // What is worked out in stretches, in this thread, is what another one works out at once.
        let (afresh, whole) = std::thread::scope(|threads| {
            threads.spawn(|| (told(&site, &job.observations), job.assess(&site))).join().unwrap()
        });
        let mut explaining = Explaining::new(&site, &job.observations);
        let mut stretches = 1;
        while !explaining.go_on() {
            assert_eq!(told_at_once(&site, &job.observations), early, "{ohms} Ω: half of a sum was told");
            stretches += 1;
        }
        assert!(stretches > 3, "{stretches} stretches");
        assert_eq!(told_at_once(&site, &job.observations), afresh, "{ohms} Ω");
        assert!(whole.explained && !whole.bus_faults.is_empty());
        // Whatever is said beside it, the verdict stays.
        for finding in &at_once.findings {
            let same = whole.of(finding.check).unwrap();
            assert_eq!((finding.verdict, finding.window), (same.verdict, same.window), "{ohms} Ω");
        }
        let monitor = at_once.of(Check::PairOhmsAtMonitor).unwrap();
        assert_eq!(monitor.next.contains(&Because::BeingExplained {}), monitor.verdict != Verdict::Holds);
        assert_eq!(job.assess_at_once(&site), whole, "{ohms} Ω, once it is known");
    }
}
