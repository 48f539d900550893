//! The demo site as an installer would prove it: from readings to verdicts, reasons and what to look at next.

use sixty_ohms::content::walk::{Progress, State};
use sixty_ohms::content::{Content, built_in};
use sixty_ohms::core::because::Because;
use sixty_ohms::core::entry::{Entry, read};
use sixty_ohms::core::job::assess::{Assessment, Verdict, assess, quick_ohms};
use sixty_ohms::core::job::bus::window_of;
use sixty_ohms::core::job::check::{Asks, Check};
use sixty_ohms::core::job::{Job, Moment, Observation, Seen, Subject};
use sixty_ohms::core::site::parts::{Part, parts};
use sixty_ohms::core::site::{Draft, End, Problem, Site};
use sixty_ohms::core::units::{Count, Metres, Quantity};

fn draft(key: &str) -> Draft {
    let content = built_in();
    let demo = content.demo.iter().find(|demo| demo.key == key).expect("the demo is in the content");
    content.equipment.draft_of(demo).expect("its equipment is there")
}

fn lark() -> Site {
    draft("lark").site().expect("Lark is whole")
}

/// A reading as it is typed, or an answer by its key.
fn seen(check: Check, typed: &str) -> Observation {
    let seen = match check.asks() {
        Asks::Answer(_) => Seen::Answer(typed.into()),
        Asks::Number { kind, .. } => match read(typed, kind).expect("the reading can be read") {
            Entry::Figure(shown) => Seen::Figure(shown),
            Entry::BeyondRange => Seen::BeyondRange,
        },
    };
    Observation::new(Subject::Check(check), Moment(1), seen, typed)
}

const QUIET: [(Check, &str); 3] =
    [(Check::PairVolts, "1 mV"), (Check::HighToReferenceVolts, "0,02"), (Check::LowToReferenceVolts, "-0.01")];

fn assessed(site: &Site, readings: &[(Check, &str)]) -> Assessment {
    let observations: Vec<Observation> = readings.iter().map(|(check, typed)| seen(*check, typed)).collect();
    assess(site, &observations)
}

fn with_quiet(site: &Site, readings: &[(Check, &str)]) -> Assessment {
    assessed(site, &[&QUIET, readings].concat())
}

fn verdict(assessment: &Assessment, check: Check) -> Verdict {
    assessment.of(check).expect("the check applies").verdict
}

#[test]
fn one_terminator_is_seen_and_this_reading_cannot_tell_which() {
    let assessment = with_quiet(&lark(), &[(Check::PairOhmsAtMonitor, "118.6")]);
    let finding = assessment.of(Check::PairOhmsAtMonitor).unwrap();
    assert_eq!(finding.verdict, Verdict::Fails);
    assert!(matches!(finding.because, Because::OneTerminator { .. }), "{:?}", finding.because);
    assert_eq!(finding.may_be[..2], [Because::EitherEndMissing {}, Because::WireOpenBetween {}]);
    assert!(matches!(finding.may_be[2], Because::CannotTellEnd { .. }), "{:?}", finding.may_be);
    assert_eq!(finding.next[0], Because::LookAtEnds {});
}

#[test]
fn long_leads_tell_which_end_is_missing() {
    let mut draft = draft("lark");
    draft.bus_length = Metres::new(40.0).ok();
    let site = draft.site().unwrap();
    // 40 m of 84 mΩ/m: the loop is 6.7 Ω. At the monitor, the terminator seen through the leads reads that much more.
    for (reading, missing) in [("125.6", End::Monitor), ("119.0", End::Bank)] {
        let assessment = with_quiet(&site, &[(Check::PairOhmsAtMonitor, reading)]);
        let finding = assessment.of(Check::PairOhmsAtMonitor).unwrap();
        assert!(finding.may_be.contains(&Because::EndMissing { end: missing }), "{reading}: {:?}", finding.may_be);
    }
}

#[test]
fn middling_leads_ask_for_the_other_end() {
    let mut draft = draft("lark");
    draft.bus_length = Metres::new(15.0).ok();
    let site = draft.site().unwrap();
    let assessment = with_quiet(&site, &[(Check::PairOhmsAtMonitor, "119.8")]);
    let finding = assessment.of(Check::PairOhmsAtMonitor).unwrap();
    assert!(finding.next.contains(&Because::MeasureOtherEnd { end: End::Bank }), "{:?}", finding.next);
    assert!(assessment.of(Check::PairOhmsAtBank).is_some(), "the other end is asked for");
    // Higher at the bank's free end: the terminator is missing there.
    let both = with_quiet(&site, &[(Check::PairOhmsAtMonitor, "118.4"), (Check::PairOhmsAtBank, "121.2")]);
    let finding = both.of(Check::PairOhmsAtMonitor).unwrap();
    assert!(finding.may_be.contains(&Because::EndMissing { end: End::Bank }), "{:?}", finding.may_be);
}

#[test]
fn sixty_ohms_hold_and_say_against_what() {
    let site = lark();
    let assessment = with_quiet(&site, &[(Check::PairOhmsAtMonitor, "60,4 Ω")]);
    let finding = assessment.of(Check::PairOhmsAtMonitor).unwrap();
    assert_eq!(finding.verdict, Verdict::Holds);
    let Because::PairHolds { reading, low, high } = &finding.because else { panic!("{:?}", finding.because) };
    assert_eq!(reading.get(), 60.4);
    // Two terminators of 118 Ω with four devices of 10 kΩ, and of 130 Ω with four of 100 kΩ; leads between.
    let parallel = |ohms: &[f64]| 1.0 / ohms.iter().map(|ohm| 1.0 / ohm).sum::<f64>();
    assert!((low.get() - parallel(&[118.0, 118.0, 2500.0])).abs() < 0.6, "{low:?}");
    assert!((high.get() - parallel(&[130.0, 130.0, 25_000.0])).abs() < 0.6, "{high:?}");
    assert!(!finding.sum.is_empty() && !finding.sources.is_empty());
}

#[test]
fn ohms_wait_for_volts() {
    let site = lark();
    let alone = assessed(&site, &[(Check::PairOhmsAtMonitor, "60.4")]);
    let finding = alone.of(Check::PairOhmsAtMonitor).unwrap();
    assert_eq!((finding.verdict, &finding.because), (Verdict::LookAgain, &Because::VoltsFirst {}));
    let awake = assessed(&site, &[(Check::PairVolts, "0.8"), QUIET[1], QUIET[2], (Check::PairOhmsAtMonitor, "60.4")]);
    assert_eq!(verdict(&awake, Check::PairVolts), Verdict::Fails);
    assert_eq!(verdict(&awake, Check::PairOhmsAtMonitor), Verdict::LookAgain);
}

#[test]
fn the_limits_of_volts_are_the_issue_s() {
    let site = lark();
    // Common practice, no source: 5 mV between the wires; TI data sheets: ±0.1 V to the reference with the bias off.
    for (check, typed, expected) in [
        (Check::PairVolts, "5 mV", Verdict::Holds),
        (Check::PairVolts, "-0.005", Verdict::Holds),
        (Check::PairVolts, "0.006", Verdict::LookAgain),
        (Check::PairVolts, "0.02", Verdict::Fails),
        (Check::HighToReferenceVolts, "0.10", Verdict::Holds),
        (Check::HighToReferenceVolts, "2.5", Verdict::Fails),
        (Check::LowToReferenceVolts, "-0.50", Verdict::Fails),
    ] {
        assert_eq!(verdict(&assessed(&site, &[(check, typed)]), check), expected, "{check:?} {typed}");
    }
}

#[test]
fn every_kind_of_wrong_reading_has_its_reason() {
    let site = lark();
    for (typed, expected) in [
        ("41", "extra-terminator"),
        ("31", "extra-terminator"),
        ("0.6", "wires-touch"),
        ("9800", "no-terminator"),
        ("OL", "pair-open"),
        ("85", "pair-odd"),
        ("56.0", "pair-near"),
        ("56", "pair-near"),
        ("68.0", "pair-near"),
    ] {
        let assessment = with_quiet(&site, &[(Check::PairOhmsAtMonitor, typed)]);
        let finding = assessment.of(Check::PairOhmsAtMonitor).unwrap();
        assert_eq!(finding.because.key(), expected, "{typed}");
        assert!(finding.verdict != Verdict::Holds && !finding.next.is_empty(), "{typed}");
    }
}

#[test]
fn a_reading_that_touches_an_outer_limit_is_looked_at_again() {
    // 70.4 Ω may be 69.6 Ω with a meter of ±(0.8 % + 2 digits): common practice, no source.
    let quick = |typed: &str| {
        let Ok(Entry::Figure(shown)) = read(typed, sixty_ohms::core::units::Kind::Ohms) else { panic!("{typed}") };
        quick_ohms(Count::of(4.0), Metres::of(5.0), Seen::Figure(shown)).unwrap().verdict
    };
    assert_eq!(quick("70.4"), Verdict::LookAgain);
    assert_eq!(quick("71.2"), Verdict::Fails);
    assert_eq!(quick("49.6"), Verdict::LookAgain);
    assert_eq!(quick("49.0"), Verdict::Fails);
}

#[test]
fn one_module_too_little_is_named() {
    let site = lark();
    // 3 × 230 Ah = 690 Ah (bank.md 1.1: capacities add in parallel; derived from charge conservation).
    let assessment = assessed(&site, &[(Check::ShownCapacity, "460"), (Check::ShownModules, "2")]);
    let finding = assessment.of(Check::ShownCapacity).unwrap();
    assert_eq!(finding.verdict, Verdict::Fails);
    assert!(matches!(finding.because, Because::ModulesMissing { missing: 1, .. }), "{:?}", finding.because);
    let count = assessment.of(Check::ShownModules).unwrap();
    assert!(matches!(count.because, Because::AnswersTooFew { missing: 1, .. }), "{:?}", count.because);
    let whole = assessed(&site, &[(Check::ShownCapacity, "690 Ah"), (Check::ShownModules, "3")]);
    assert_eq!(verdict(&whole, Check::ShownCapacity), Verdict::Holds);
    assert_eq!(verdict(&whole, Check::ShownModules), Verdict::Holds);
}

#[test]
fn until_the_first_full_charge_a_disagreement_is_only_looked_at_again() {
    let site = lark();
    let charge = |answer: &str, ampere_hours: &str| {
        let readings =
            [(Check::FirstFullCharge, answer), (Check::ShownSoc, "80 %"), (Check::ShownCharge, ampere_hours)];
        let assessment = assessed(&site, &readings);
        (verdict(&assessment, Check::ShownSoc), verdict(&assessment, Check::ShownCharge))
    };
    // 80 % of 690 Ah is 552 Ah.
    assert_eq!(charge("yes", "552"), (Verdict::Holds, Verdict::Holds));
    assert_eq!(charge("not-yet", "552"), (Verdict::Holds, Verdict::Holds));
    assert_eq!(charge("yes", "500"), (Verdict::Fails, Verdict::Fails));
    assert_eq!(charge("not-yet", "500"), (Verdict::LookAgain, Verdict::LookAgain));
    // 80 % of two modules: 368 Ah.
    let assessment =
        assessed(&site, &[(Check::FirstFullCharge, "yes"), (Check::ShownSoc, "80"), (Check::ShownCharge, "368")]);
    let finding = assessment.of(Check::ShownCharge).unwrap();
    assert!(matches!(finding.because, Because::ChargeOfFewer { missing: 1, .. }), "{:?}", finding.because);
}

#[test]
fn the_direction_is_proved_with_a_known_load() {
    let site = lark();
    // RV-C table 6.5.2b: positive is out of the source; makers differ, so that only the load proves it.
    for (answer, expected) in [("out", Verdict::Holds), ("in", Verdict::Fails), ("zero", Verdict::LookAgain)] {
        assert_eq!(verdict(&assessed(&site, &[(Check::CurrentDirection, answer)]), Check::CurrentDirection), expected);
    }
}

#[test]
fn a_series_string_has_the_capacity_of_one() {
    let otter = draft("otter").site().unwrap();
    // 2 series × 2 parallel of 12.8 V, 105 Ah: 210 Ah at 25.6 V (bank.md 1.1, derived).
    assert_eq!((otter.capacity().get(), otter.nominal().get()), (210.0, 25.6));
    let assessment = assessed(&otter, &[(Check::ShownCapacity, "420"), (Check::ShownVoltage, "13.2")]);
    let finding = assessment.of(Check::ShownCapacity).unwrap();
    assert!(matches!(finding.because, Because::SeriesTakenForParallel { .. }), "{:?}", finding.because);
    let finding = assessment.of(Check::ShownVoltage).unwrap();
    assert!(matches!(finding.because, Because::VoltageOfOneModule { .. }), "{:?}", finding.because);
}

#[test]
fn the_list_has_one_link_lead_fewer_than_modules() {
    let list = parts(&lark());
    assert!(list.iter().any(|part| matches!(part, Part::LinkLeads { count: 2, .. })), "{list:?}");
    assert!(list.iter().any(|part| matches!(part, Part::Terminators { count: 2, .. })), "{list:?}");
    assert!(list.iter().any(|part| matches!(part, Part::PinAccess { .. })), "{list:?}");
}

#[test]
fn a_draft_says_everything_that_is_missing() {
    let problems = Draft::default().site().unwrap_err();
    for problem in [Problem::NoModule, Problem::NoSeries, Problem::NoMonitor, Problem::NoBusLength] {
        assert!(problems.contains(&problem), "{problem:?}");
    }
    let mut strung = draft("lark");
    strung.series = Some(2);
    let problems = strung.site().unwrap_err();
    assert!(problems.contains(&Problem::SeriesNeedsIsolatedPorts), "{problems:?}");
}

#[test]
fn a_site_without_one_terminator_fails_whatever_is_read() {
    let mut draft = draft("lark");
    draft.terminated_at_bank = Some(false);
    let site = draft.site().unwrap();
    let assessment = with_quiet(&site, &[(Check::PairOhmsAtMonitor, "119.5")]);
    let finding = assessment.of(Check::PairOhmsAtMonitor).unwrap();
    assert_eq!(finding.verdict, Verdict::Fails);
    assert!(finding.may_be.contains(&Because::EndMissing { end: End::Bank }), "{:?}", finding.may_be);
}

#[test]
fn the_walk_goes_from_loose_leads_to_all_done() {
    let content: Content = built_in();
    let site = lark();
    let mut job = Job { site: draft("lark"), ..Job::default() };
    let good = |check: Check| match check {
        Check::PairVolts | Check::HighToReferenceVolts | Check::LowToReferenceVolts => "0.001",
        Check::PairOhmsAtMonitor | Check::PairOhmsAtBank => "60.2",
        Check::ShownModules => "3",
        Check::ShownCapacity => "690",
        Check::FirstFullCharge => "yes",
        Check::ShownSoc => "80",
        Check::ShownCharge => "552",
        Check::ShownVoltage => "13.3",
        Check::CurrentDirection => "out",
    };
    let mut steps = 0;
    loop {
        let assessment = assess(&site, &job.observations);
        let progress = Progress::of(&content, &site, &job, &assessment);
        let Some(next) = progress.next else {
            assert!(progress.states.iter().all(|state| matches!(state, State::Done(_))));
            break;
        };
        let card = &progress.cards[next];
        if card.asks.is_empty() {
            let of = Subject::Card(card.key.clone());
            job.observations.push(Observation::new(of, Moment(2), Seen::Done, ""));
        }
        job.observations.extend(card.asks.iter().map(|check| seen(*check, good(*check))));
        steps += 1;
        assert!(steps < 100, "the walk does not end");
    }
    // Two link leads, one bus lead, two terminators: each with a card of its own.
    let assessment = assess(&site, &job.observations);
    let progress = Progress::of(&content, &site, &job, &assessment);
    let count = |step: &str| progress.cards.iter().filter(|card| card.step == step).count();
    assert_eq!((count("link"), count("bus-lead"), count("terminator")), (2, 1, 2));
    assert_eq!(steps, progress.cards.len());
}

#[test]
fn no_card_speaks_of_what_is_not_filled_in() {
    let content = built_in();
    let speaker = sixty_ohms::content::speak::Speaker::of(&content);
    for key in ["lark", "otter"] {
        let site = draft(key).site().unwrap();
        let assessment = with_quiet(&site, &[(Check::PairOhmsAtMonitor, "118.6")]);
        let job = Job::default();
        for card in Progress::of(&content, &site, &job, &assessment).cards {
            let spoken = card.spoken(&speaker);
            for text in [&spoken.action, &spoken.see, &spoken.why] {
                assert!(!text.is_empty() && !text.contains(['{', '}']) && !text.contains("  "), "{}: {text}", card.key);
            }
        }
    }
}

#[test]
fn the_window_is_the_ladder_s_closed_form() {
    let site = lark();
    let allowed = window_of(&site, End::Monitor).unwrap();
    let beside = |a: f64, b: f64| a * b / (a + b);
    // From the bank's free end to the monitor: a terminator and a device, then lead, device, lead, device, lead, device and
    // the other terminator. Balanced wires leave the reference out of it, so that a device is its differential resistance.
    let by_hand = |terminator: f64, device: f64| {
        let loops = [2.0 * (0.5 * 0.084 + 0.02), 2.0 * (0.5 * 0.084 + 0.02), 2.0 * (5.0 * 0.084 + 0.02)];
        let ladder = loops.iter().fold(beside(terminator, device), |ohm, wires| beside(ohm + wires, device));
        beside(ladder, terminator)
    };
    assert!((allowed.low.get() - by_hand(118.0, 10_000.0)).abs() < 1e-9, "{:?}", allowed.low);
    assert!((allowed.high.get() - by_hand(130.0, 100_000.0)).abs() < 1e-9, "{:?}", allowed.high);
}
