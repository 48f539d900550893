//! The fault finder with the content that ships: what is offered, what never is, and how a story goes on.

use sixty_ohms::content::built_in;
use sixty_ohms::core::faults::finder::physics::Shape;
use sixty_ohms::core::faults::finder::{Advice, Event, Finder, Reason, Report, job};
use sixty_ohms::core::site::plain::plain;
use sixty_ohms::core::units::Metres;

fn shape(series: u32, parallel: u32) -> Shape {
    let mut draft = plain(series * parallel, Metres::of(4.0));
    draft.link_length = Some(Metres::of(0.5));
    (draft.series, draft.parallel) = (Some(series), Some(parallel));
    draft.module.as_mut().unwrap().most_in_series = 4;
    let mut shape = Shape::of(&draft.site().unwrap());
    shape.charger = true;
    shape
}

fn seen(check: &str, outcome: &str) -> Event {
    Event::Seen { check: check.into(), outcome: outcome.into() }
}

fn check(series: u32, events: &[Event], what: impl Fn(&Finder<'_>, Report)) {
    let content = built_in();
    let finder = Finder::new(&content.finder, "boat", shape(series, 2));
    what(&finder, finder.report(events));
}

#[test]
fn the_senses_come_first() {
    check(1, &[seen("display-data", "blank")], |_, report| {
        assert!(matches!(report.advice, Advice::Look(next) if next.check == "senses" && next.reason == Reason::First));
    });
}

#[test]
fn smoke_ends_the_search_whatever_is_likely() {
    check(1, &[seen("senses", "smoke"), seen("look-port", "other")], |finder, report| {
        assert_eq!(report.advice, Advice::Stop { check: "senses".into(), outcome: "smoke".into() });
        assert_eq!(finder.offered(&[seen("senses", "smoke")]), []);
    });
}

#[test]
fn every_danger_ends_the_search() {
    let content = built_in();
    let finder = Finder::new(&content.finder, "van", shape(1, 2));
    for check in &content.finder.checks {
        for outcome in &check.ends {
            assert!(matches!(finder.report(&[seen(&check.key, outcome)]).advice, Advice::Stop { .. }), "{outcome}");
        }
    }
}

#[test]
fn ohms_wait_for_a_quiet_bus() {
    check(1, &[seen("senses", "nothing")], |finder, _| {
        let before = |events: &[Event]| {
            finder.offered(events).into_iter().find(|o| o.check == "pair-ohms-monitor").map(|o| o.before)
        };
        let none = [seen("senses", "nothing")];
        assert_eq!(before(&none), Some(Some("volts-quiet".into())));
        let quiet = [seen("senses", "nothing"), seen("volts-quiet", "quiet")];
        assert_eq!(before(&quiet), Some(None));
        // Power has been on since: quiet no longer.
        let on = [quiet.to_vec(), vec![seen("bus-volts", "working")]].concat();
        assert_eq!(before(&on), Some(Some("volts-quiet".into())));
        let live = [seen("senses", "nothing"), seen("volts-quiet", "live")];
        assert_eq!(before(&live), None);
        assert!(finder.report(&live).forbidden.contains(&("pair-ohms-monitor".into(), "bus-live".into())));
    });
}

#[test]
fn no_plug_is_touched_while_modules_lie_at_different_potential() {
    check(2, &[seen("senses", "nothing"), seen("reference-volts", "volts")], |finder, report| {
        for check in ["half-bus", "other-lead", "pair-ohms-monitor", "each-alone"] {
            assert!(report.forbidden.iter().any(|(key, fact)| key == check && fact == "potential"), "{check}");
        }
        assert_eq!(report.causes[0].fault.as_deref(), Some("reference-tie"));
        let events = [seen("senses", "nothing"), seen("reference-volts", "volts")];
        assert!(
            finder.offered(&events).iter().all(|offer| !report.forbidden.iter().any(|(key, _)| *key == offer.check))
        );
    });
}

#[test]
fn what_cannot_be_done_now_is_not_offered() {
    check(1, &[seen("senses", "nothing")], |finder, report| {
        let Advice::Look(next) = report.advice else { panic!("nothing to look at") };
        let later = Event::Later { check: next.check.clone() };
        let advice = finder.report(&[seen("senses", "nothing"), later]).advice;
        assert!(matches!(advice, Advice::Look(other) if other.check != next.check));
    });
}

#[test]
fn a_reading_leads_to_the_repair_and_its_proof() {
    let story = [
        seen("senses", "nothing"),
        seen("display-data", "jumps"),
        seen("volts-quiet", "quiet"),
        seen("pair-ohms-monitor", "one"),
        seen("pair-ohms-bank", "one"),
        seen("look-terminators", "bank-missing"),
        seen("look-terminators", "bank-missing"),
    ];
    check(1, &story, |finder, report| {
        let Advice::Repair { fault, probability, proof } = report.advice else { panic!("{:?}", report.advice) };
        assert_eq!((fault.as_str(), proof.as_str()), ("terminator-bank", "pair-ohms-monitor"));
        assert!(probability > 0.9);
        let why = &report.causes[0].why;
        assert_eq!(why[0].of, "look-terminators");
        assert!(why[0].bits > 4.0 && why.windows(2).all(|pair| pair[0].bits.abs() >= pair[1].bits.abs()));
        // The story goes on: the proof is asked, what was fixed is hardly suspected, and the rest is asked again.
        let after = [story.to_vec(), vec![Event::Repaired { fault }]].concat();
        let report = finder.report(&after);
        assert!(
            matches!(&report.advice, Advice::Look(next) if next.check == "pair-ohms-monitor" && next.reason == Reason::Proof)
        );
        let there = report.causes.iter().find(|cause| cause.fault.as_deref() == Some("terminator-bank"));
        assert!(there.is_none_or(|cause| cause.probability < 0.1));
        let proved = [after, vec![seen("pair-ohms-monitor", "right"), seen("display-data", "steady")]].concat();
        assert_eq!(finder.report(&proved).causes[0].fault, None);
    });
}

#[test]
fn an_answer_that_conflicts_is_outweighed() {
    let agree =
        ["look-port", "other-port"].map(|check| seen(check, if check == "look-port" { "other" } else { "cured" }));
    let story = [vec![seen("display-data", "blank"), seen("pair-ohms-monitor", "touch")], agree.to_vec()].concat();
    check(1, &story, |_, report| {
        assert!(report.causes.iter().take(2).any(|cause| cause.fault.as_deref() == Some("port-wrong")), "{report:?}");
        assert!(report.causes.iter().all(|cause| cause.probability.is_finite()));
    });
}

#[test]
fn an_alarm_weighs() {
    let alarm = Event::Alarm { alarm: "cold-charge-block".into() };
    check(1, &[alarm], |_, report| {
        assert_eq!(report.causes[0].fault.as_deref(), Some("cold"));
        assert_eq!(report.causes[0].why[0].of, "cold-charge-block");
    });
}

#[test]
fn a_job_is_read() {
    use sixty_ohms::core::entry::Shown;
    use sixty_ohms::core::job::check::Check;
    use sixty_ohms::core::job::{Moment, Observation, Seen, Subject};
    use sixty_ohms::core::units::{Ohms, Volts};
    let tell = |check, at, seen| Observation::new(Subject::Check(check), Moment(at), seen, "");
    let volts = Seen::Figure(Shown { figure: Volts::of(0.01).into(), digit: 0.001 });
    let ohms = Seen::Figure(Shown { figure: Ohms::of(119.0).into(), digit: 0.1 });
    let job = [
        tell(Check::PairOhmsAtMonitor, 5, ohms),
        tell(Check::PairVolts, 3, volts),
        tell(Check::PairOhmsAtBank, 6, Seen::BeyondRange),
        tell(Check::FirstFullCharge, 9, Seen::Answer("not-yet".into())),
    ];
    check(1, &[], |finder, _| {
        let told = job::events(finder, &job);
        let expected = [
            ("volts-quiet", "quiet"),
            ("pair-ohms-monitor", "one"),
            ("pair-ohms-bank", "open"),
            ("full-charge", "not-yet"),
        ];
        assert_eq!(told, expected.map(|(check, outcome)| seen(check, outcome)));
    });
}

#[test]
fn every_fault_is_named_when_all_its_checks_say_so() {
    // The loudest answers that a fault can give, nothing else wrong: the way out is reached.
    let content = built_in();
    let finder = Finder::new(&content.finder, "new", shape(2, 2));
    for (index, fault) in content.finder.faults.iter().enumerate() {
        let single = finder.engine.hypotheses.iter().position(|h| *h == [Some(index), None]).unwrap();
        let likeliest = |check: usize| {
            let row = finder.engine.row(check, single);
            (0..row.len()).max_by(|a, b| row[*a].total_cmp(&row[*b])).unwrap()
        };
        let story: Vec<Event> = content
            .finder
            .checks
            .iter()
            .enumerate()
            .map(|(at, check)| seen(&check.key, &check.outcomes[likeliest(at)]))
            .collect();
        let first = &finder.report(&story).causes[0];
        assert_eq!(first.fault.as_deref(), Some(fault.key.as_str()), "{} {first:?}", fault.key);
    }
}
