//! The findings behind the bank's pages, against the worked examples of the bank's reference (sections 1 to 3).

use sixty_ohms::content::built_in;
use sixty_ohms::content::speak::Speaker;
use sixty_ohms::core::bank::findings::display::{Display, display};
use sixty_ohms::core::bank::findings::join::join;
use sixty_ohms::core::bank::findings::numbers::{Line, Numbers, Plate, Said, Series, bank_of, must_show, of_alike};
use sixty_ohms::core::bank::findings::rest::{picture, rest};
use sixty_ohms::core::bank::findings::sharing::{Lead, SharingFinding, SharingPlan, bars, odd, share};
use sixty_ohms::core::bank::findings::{SOURCES, names};
use sixty_ohms::core::bank::join::{Candidate, How};
use sixty_ohms::core::bank::modules::{Bank, BankError};
use sixty_ohms::core::bank::sharing::{SharingError, Wiring};
use sixty_ohms::core::bank::shown::{Shown, What};
use sixty_ohms::core::because::Because;
use sixty_ohms::core::entry::{self, Entry, read_in};
use sixty_ohms::core::job::assess::Verdict;
use sixty_ohms::core::judged::Judged;
use sixty_ohms::core::units::{AmpereHours, Amperes, Kind, Metres, Ohms, Percent, Quantity, SquareMillimetres, Volts};

fn typed(text: &str, kind: Kind) -> entry::Shown {
    match entry::read(text, kind) {
        Ok(Entry::Figure(shown)) => shown,
        other => panic!("{text} read as {other:?}"),
    }
}

fn figure(numbers: &Numbers, name: &str) -> Option<f64> {
    let line: Vec<&Line> = numbers.lines.iter().filter(|line| line.name == name).collect();
    assert!(line.len() <= 1, "{name} twice");
    line.first().and_then(|line| line.figure).map(|figure| figure.value())
}

#[track_caller]
fn near(got: Option<f64>, wanted: f64, within: f64, what: &str) {
    let got = got.unwrap_or_else(|| panic!("{what}: not known, wanted {wanted}"));
    assert!((got - wanted).abs() <= within, "{what}: {got}, wanted {wanted}");
}

fn plate(capacity: f64) -> Plate {
    Plate {
        capacity: Some(AmpereHours::new(capacity).unwrap()),
        nominal: Some(Volts::of(12.8)),
        soh: Some(Percent::of(100.0)),
        ..Plate::default()
    }
}

fn soc(percent: f64) -> Said {
    Said { soc: Some(Percent::new(percent).unwrap()), ..Said::default() }
}

/// Section 1.1, worked: two in series of 100 Ah at 80 % and 60 %.
#[test]
fn series_of_unlike_charge() {
    let bank = bank_of(Series { series: 2, parallel: 1 }, &plate(100.0), &[soc(80.0), soc(60.0)]).unwrap();
    let numbers = must_show(&bank).unwrap();
    for (name, wanted) in [
        ("total-capacity", 100.0),
        ("total-energy", 2560.0),
        ("total-held", 60.0),
        ("total-room", 20.0),
        ("total-present", 80.0),
        ("total-soc-usable", 75.0),
        ("total-soc-cautious", 60.0),
    ] {
        near(figure(&numbers, name), wanted, 1e-9, name);
    }
    // Nobody said a voltage: not known, and not 0.
    assert_eq!(figure(&numbers, "total-voltage"), None);
    assert!(numbers.lines.iter().any(|line| line.name == "total-voltage"));
}

/// Section 1.1: parallel modules weigh by capacity; alike ones show what each shows. Limits: upper bound, and count
/// times least.
#[test]
fn three_alike_side_by_side() {
    let said = Said { voltage: Some(Volts::of(13.3)), current: Some(Amperes::of(20.0)), ..soc(80.0) };
    let plate = Plate { charge_limit: Some(Amperes::of(100.0)), ..plate(230.0) };
    let numbers = must_show(&of_alike(Series { series: 1, parallel: 3 }, &plate, said).unwrap()).unwrap();
    for (name, wanted) in [
        ("total-capacity", 690.0),
        ("total-energy", 8832.0),
        ("total-held", 552.0),
        ("total-room", 138.0),
        ("total-soc-weighted", 80.0),
        ("total-voltage", 13.3),
        ("total-current", 60.0),
        ("total-power", 798.0),
        ("total-charge-limit", 300.0),
        ("total-charge-limit-shared", 300.0),
        ("total-to-floor", 9.2),
    ] {
        near(figure(&numbers, name), wanted, 1e-9, name);
    }
    assert_eq!(figure(&numbers, "total-discharge-limit"), None, "no limit said");
    assert!(!numbers.lines.iter().any(|line| line.name == "total-to-full"), "it is discharging");
}

/// A bank's lowest cell needs every module's lowest cell, and no highest one; it is told with its module.
#[test]
fn extremes_name_their_module() {
    let cell = |low: f64| Said { lowest_cell: Some(Volts::new(low).unwrap()), ..soc(50.0) };
    let how = Series { series: 2, parallel: 2 };
    let all = [cell(3.31), cell(3.30), cell(3.28), cell(3.32)];
    let numbers = must_show(&bank_of(how, &plate(100.0), &all).unwrap()).unwrap();
    near(figure(&numbers, "total-lowest-cell"), 3.28, 1e-12, "lowest");
    assert_eq!(figure(&numbers, "total-highest-cell"), None);
    let line = numbers.lines.iter().find(|line| line.name == "total-lowest-cell").unwrap();
    let content = built_in();
    assert_eq!(Speaker::of(&content).because(&line.basis), "In module 3.");
    // One module left out: a lower cell may hide there.
    let numbers = must_show(&bank_of(how, &plate(100.0), &all[..3]).unwrap()).unwrap();
    assert_eq!(figure(&numbers, "total-lowest-cell"), None);
}

#[test]
fn who_is_silent_and_who_holds_off() {
    let silent = Said { answering: Some(false), ..soc(50.0) };
    let held = Said { answering: Some(true), charge_held_off: Some(true), ..soc(50.0) };
    let how = Series { series: 1, parallel: 3 };
    let numbers = must_show(&bank_of(how, &plate(100.0), &[held, silent, held]).unwrap()).unwrap();
    assert_eq!(
        numbers.notes,
        [
            Because::StringsNotJudged { count: 1, who: "2".into() },
            Because::ChargeHeldOffBy { count: 2, who: "1, 3".into() }
        ]
    );
    near(figure(&numbers, "total-capacity"), 300.0, 1e-9, "what is wired counts");
    near(figure(&numbers, "total-held"), 100.0, 1e-9, "of those that answer");
    near(figure(&numbers, "total-answering"), 2.0, 0.0, "answering");
}

#[test]
fn counts_that_are_no_bank() {
    let many = |series, parallel| of_alike(Series { series, parallel }, &plate(100.0), soc(50.0));
    assert_eq!(many(65, 1).err(), Some(BankError::TooManyModules { count: 65 }));
    assert!(matches!(many(10_000, 10_000), Err(BankError::TooManyModules { .. })));
    assert_eq!(many(0, 3).err(), Some(BankError::NoModules));
    assert_eq!(many(8, 8).map(|bank| bank.count()), Ok(64));
}

fn held_against(bank: &Bank, shown: &[(What, &str)]) -> Display {
    let mut list = Shown::default();
    for (what, text) in shown {
        list.set(*what, typed(text, what.kind())).unwrap();
    }
    display(bank, &list).unwrap()
}

fn lark() -> Bank {
    let said = Said { voltage: Some(Volts::of(13.3)), current: Some(Amperes::of(20.0)), ..soc(80.0) };
    of_alike(Series { series: 1, parallel: 3 }, &plate(230.0), said).unwrap()
}

/// Section 1.2 and the design: what the display shows when all is well, and when one of three is silent.
#[test]
fn the_display_agrees_or_its_fault_is_named() {
    let agree = held_against(&lark(), &[(What::Capacity, "690"), (What::Soc, "80"), (What::Voltage, "13.3")]);
    assert!(agree.findings.iter().all(|finding| finding.judged.verdict == Verdict::Holds));
    assert_eq!(agree.causes, []);

    let less = held_against(&lark(), &[(What::Capacity, "460"), (What::ChargeHeld, "368"), (What::Modules, "2")]);
    assert!(less.findings.iter().all(|finding| finding.judged.verdict == Verdict::Fails));
    assert_eq!(less.causes.first(), Some(&(Because::CauseSilent {}, Because::TellSilent {})));

    let sign = held_against(&lark(), &[(What::Capacity, "690"), (What::Soc, "80"), (What::Current, "-60")]);
    assert_eq!(sign.causes.first(), Some(&(Because::CauseSign {}, Because::TurnShunt {})));

    let series = of_alike(Series { series: 2, parallel: 2 }, &plate(105.0), soc(80.0)).unwrap();
    let added = held_against(&series, &[(What::Capacity, "420"), (What::ChargeHeld, "336"), (What::Modules, "4")]);
    let causes: Vec<&Because> = added.causes.iter().map(|(cause, _)| cause).collect();
    assert!(causes.contains(&&Because::CauseSeriesAdded {}), "{causes:?}");

    // The bank's current was not said, so the one shown is not judged.
    let unknown = held_against(&series, &[(What::Current, "12")]);
    assert_eq!(unknown.findings[0].judged.verdict, Verdict::NotDone);
}

/// Section 2.3: ±12.5 mV a cell at 3.300 V: 61 to 74 %; ±20 mV: 54 to 84 %.
#[test]
fn a_voltage_on_the_plateau_says_little() {
    for (error, low, high) in [(0.05, 61.0, 74.0), (0.08, 54.0, 84.0)] {
        let found = rest(typed("13.200", Kind::Volts), 4, Some(Volts::new(error).unwrap())).unwrap();
        near(Some(found.range.low.get()), low, 1.0, "low");
        near(Some(found.range.high.get()), high, 1.0, "high");
        assert!(found.wide.low < found.range.low && found.wide.high > found.range.high);
        assert_eq!(found.judged.verdict, Verdict::LookAgain);
    }
}

/// Section 2.3: near empty and at the end of charge voltage tells. Table 2.2: 11.79 V at 2 %, 58.38 V at 100 %.
#[test]
fn at_the_ends_it_tells() {
    let empty = rest(typed("11.79", Kind::Volts), 4, Some(Volts::of(0.02))).unwrap();
    assert_eq!(empty.judged.verdict, Verdict::Holds);
    assert!(empty.range.low.get() < 2.0 && empty.range.high.get() > 2.0, "{empty:?}");
    let full = rest(typed("58.00", Kind::Volts), 16, Some(Volts::of(0.05))).unwrap();
    assert_eq!(full.judged.verdict, Verdict::Holds);
    let beyond = |text, cells| rest(typed(text, Kind::Volts), cells, Some(Volts::of(0.02))).unwrap().judged;
    assert!(matches!(beyond("13.3", 8).because, Because::RestBelow { .. }), "four cells taken for eight");
    assert!(matches!(beyond("26.6", 4).because, Because::RestAbove { .. }), "eight cells taken for four");
    assert!(rest(typed("13.3", Kind::Volts), 0, None).is_err());
    // The usual meter: 0.8 % and two digits.
    let usual = rest(typed("13.30", Kind::Volts), 4, None).unwrap();
    near(Some(usual.error.get()), 0.008 * 13.3 + 0.02, 1e-12, "usual error");
}

#[test]
fn the_picture_lies_in_its_frame_and_rises() {
    let found = rest(typed("13.2", Kind::Volts), 4, None).unwrap();
    let drawn = picture(4, Some(Volts::of(13.2)), Some(&found));
    assert!(drawn.curve.len() > 300, "{}", drawn.curve.len());
    for two in drawn.curve.windows(2) {
        assert!(two[1].0 > two[0].0 && two[1].1 >= two[0].1 - 1e-12, "{two:?}");
    }
    let inside = |(x, y): &(f64, f64)| (0.0..=1.0).contains(x) && (0.0..=1.0).contains(y);
    assert!(drawn.curve.iter().all(inside));
    let (from, at, to) = drawn.voltage.unwrap();
    assert!(from < at && at < to);
    assert!(picture(0, None, None).voltage.is_none());
}

fn candidate(volts: f64, percent: Option<f64>) -> Candidate {
    Candidate {
        voltage: Some(Volts::new(volts).unwrap()),
        soc: percent.map(|percent| Percent::new(percent).unwrap()),
        resistance: Some(Ohms::of(0.009)),
    }
}

/// Section 2.5: 0.05 V over 18 mΩ drives 2.8 A, 0.40 V 22.2 A; 0.05 V is the limit for four cells; 30 % and 70 % must not.
#[test]
fn joining() {
    let lead = Some(Ohms::of(0.0));
    let two = |a, b| join(&[a, b], How::Parallel, Some(4), lead);
    let close = two(candidate(13.30, Some(80.0)), candidate(13.25, Some(78.0)));
    assert_eq!(close.judged.verdict, Verdict::Holds);
    near(close.equalising.map(Quantity::get), 2.78, 0.005, "0.05 V");
    let apart = two(candidate(13.60, Some(80.0)), candidate(13.20, Some(78.0)));
    assert_eq!(apart.judged.verdict, Verdict::Fails);
    near(apart.equalising.map(Quantity::get), 22.2, 0.05, "0.40 V");
    let flat = two(candidate(13.10, Some(30.0)), candidate(13.12, Some(70.0)));
    assert!(matches!(flat.judged.because, Because::JoinSocApart { .. }));
    let unknown = two(candidate(13.30, None), candidate(13.30, Some(80.0)));
    assert_eq!(unknown.judged.verdict, Verdict::NotDone);
    let series = join(&[candidate(13.3, Some(100.0)), candidate(13.3, Some(99.5))], How::Series, Some(4), lead);
    assert_eq!((series.judged.verdict, series.equalising), (Verdict::Holds, None));
    let not_full = join(&[candidate(13.3, Some(80.0)), candidate(13.3, Some(80.0))], How::Series, Some(4), lead);
    assert_eq!(not_full.judged.verdict, Verdict::LookAgain);
}

fn plan(wiring: Wiring) -> SharingPlan {
    SharingPlan {
        modules: 4,
        wiring,
        inner: Ohms::of(0.008),
        link: Lead::Resistance(Ohms::of(0.0004)),
        load: Amperes::of(200.0),
        limit: Some(Amperes::of(100.0)),
    }
}

fn solved(wiring: Wiring) -> SharingFinding {
    share(&plan(wiring)).unwrap()
}

/// Section 3.3: four of 8 mΩ, links 0.40 mΩ each way, 200 A (numpy and ngspice).
#[test]
fn sharing_of_the_worked_example() {
    let found = solved(Wiring::SameEnd);
    for (got, wanted) in found.currents.iter().zip([65.24, 51.77, 43.47, 39.52]) {
        near(Some(got.get()), wanted, 0.005_01, "same end");
    }
    assert_eq!((found.hardest, found.judged.verdict), (1, Verdict::Fails));
    let gain = |wiring| found.gains.iter().find(|gain| gain.wiring == wiring).unwrap();
    near(Some(gain(Wiring::Diagonal).most.get()), 52.38, 0.005_01, "diagonal");
    near(Some(gain(Wiring::Middle).most.get()), 52.38, 0.005_01, "middle");
    near(Some(gain(Wiring::Busbar).most.get()), 50.0, 1e-9, "bars");
    // 100 A in module 1: 200 A × 100 / 65.24.
    near(gain(Wiring::SameEnd).at_limit.map(Quantity::get), 306.6, 0.1, "bank current at the limit");
    near(gain(Wiring::Busbar).at_limit.map(Quantity::get), 400.0, 1e-6, "even");
    assert_eq!(solved(Wiring::Diagonal).judged.verdict, Verdict::Holds);
    let (lengths, mean) = bars(&found);
    near(lengths.first().copied(), 1.0, 1e-12, "the longest");
    near(Some(mean), 50.0 / 65.24, 1e-4, "mean");
}

#[test]
fn a_charging_current_and_a_limit_passed() {
    let charging = share(&SharingPlan { load: Amperes::of(-200.0), ..plan(Wiring::SameEnd) }).unwrap();
    near(charging.currents.first().map(|current| current.get()), -65.24, 0.005_01, "in");
    assert_eq!(charging.hardest, 1);
    let over = share(&SharingPlan { limit: Some(Amperes::of(60.0)), ..plan(Wiring::SameEnd) }).unwrap();
    assert!(matches!(over.judged.because, Because::ShareOverLimit { .. }));
    let none = share(&SharingPlan { load: Amperes::of(0.0), ..plan(Wiring::SameEnd) });
    assert_eq!(none, Err(SharingError::NoCurrent));
    let bare = SharingPlan { inner: Ohms::of(0.0), link: Lead::Resistance(Ohms::of(0.0)), ..plan(Wiring::SameEnd) };
    assert_eq!(share(&bare), Err(SharingError::NoResistance));
}

/// IEC 60028: 1/58 Ω·mm²/m. 0.5 m of 50 mm² is 0.172 mΩ; two joints of 0.1 mΩ on top.
#[test]
fn a_link_from_length_and_area() {
    let lead = Lead::Copper { length: Metres::of(0.5), area: SquareMillimetres::of(50.0), joint: Ohms::of(0.0001) };
    near(lead.ohms().map(Quantity::get), 0.5 / 58.0 / 50.0 + 0.0002, 1e-12, "link");
    let long = Lead::Copper { length: Metres::of(5000.0), area: SquareMillimetres::of(0.01), joint: Ohms::of(1e8) };
    assert_eq!(long.ohms(), None);
    assert!(matches!(read_in("0.4", Kind::Ohms, "mΩ"), Ok(Entry::Figure(shown)) if shown.figure.value() == 0.0004));
    assert!(matches!(read_in("0.4 Ω", Kind::Ohms, "mΩ"), Ok(Entry::Figure(shown)) if shown.figure.value() == 0.4));
}

/// Back from currents: those of the example with module 3 at 12 mΩ instead of 8.
#[test]
fn the_odd_module_is_found_again() {
    use sixty_ohms::core::bank::sharing::{Branch, Circuit};
    let branch = |ohms| Branch { emf: Volts::of(13.3), inner: Ohms::new(ohms).unwrap(), leads: Ohms::of(0.0) };
    let link = (Ohms::of(0.0004), Ohms::of(0.0004));
    let branches = vec![branch(0.008), branch(0.008), branch(0.012), branch(0.008)];
    let real = Circuit::new(branches, vec![link; 3], (1, 4)).unwrap().share(Amperes::of(200.0)).unwrap();
    let found = odd(&plan(Wiring::Diagonal), &real.currents).unwrap();
    assert_eq!(found.found.suspect, Some(3));
    assert!(matches!(found.judged.because, Because::OddFound { .. }), "{:?}", found.judged);
    let even = odd(&plan(Wiring::Diagonal), &solved(Wiring::Diagonal).currents).unwrap();
    assert_eq!((even.judged.verdict, even.found.suspect), (Verdict::Holds, None));
    let pair = SharingPlan { modules: 2, ..plan(Wiring::Diagonal) };
    let either = odd(&pair, &[Amperes::of(70.0), Amperes::of(30.0)]).unwrap();
    assert_eq!(either.judged.because, Because::OddEither {});
}

/// Everything that these findings name is in the content, and every sentence is filled.
#[test]
fn every_sentence_is_whole() {
    let content = built_in();
    let speaker = Speaker::of(&content);
    let mut said: Vec<Judged> = Vec::new();
    for (text, cells) in [("13.2", 4), ("11.79", 4), ("13.3", 8), ("26.6", 4)] {
        said.push(rest(typed(text, Kind::Volts), cells, None).unwrap().judged);
    }
    for volts in [13.3, 13.6] {
        for percent in [None, Some(72.0), Some(80.0), Some(30.0)] {
            for how in [How::Parallel, How::Series] {
                let list = [candidate(13.3, Some(80.0)), candidate(volts, percent)];
                said.push(join(&list, how, Some(4), Some(Ohms::of(0.001))).judged);
            }
        }
    }
    said.extend([Wiring::SameEnd, Wiring::Diagonal, Wiring::Busbar].map(|wiring| solved(wiring).judged));
    let shown = held_against(&lark(), &[(What::Capacity, "460"), (What::Soc, "81"), (What::Voltage, "13.4")]);
    said.extend(shown.findings.into_iter().map(|finding| finding.judged));
    assert!(said.len() > 20);
    for judged in said {
        for because in [&judged.because].into_iter().chain(&judged.next).chain(&judged.sum).chain(&judged.may_be) {
            let text = speaker.because(because);
            assert!(text.starts_with(|c: char| c.is_uppercase() || !c.is_alphabetic()), "{because:?}: {text}");
            assert!(text.len() > 10 && !text.contains(['{', '}', '|']) && text.ends_with('.'), "{because:?}: {text}");
        }
        for source in judged.sources {
            assert!(SOURCES.contains(&source) && content.sources.contains_key(source), "{source}");
        }
    }
    assert!(names().all(|name| !speaker.name(name).is_empty()));
}
