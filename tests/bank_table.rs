//! The bank's table as typed: what it makes of texts, and what it says inside a job.

use sixty_ohms::content::built_in;
use sixty_ohms::content::speak::Speaker;
use sixty_ohms::core::bank::findings::numbers::must_show;
use sixty_ohms::core::bank::modules::{Bank, BankError};
use sixty_ohms::core::bank::shown::What;
use sixty_ohms::core::bank::table::{Item, Of, Rule, Table, Wrong};
use sixty_ohms::core::because::Because;
use sixty_ohms::core::entry::{self, Entry};
use sixty_ohms::core::job::assess::{Assessment, Verdict};
use sixty_ohms::core::job::check::{Asks, Check};
use sixty_ohms::core::job::stored::{self, Stored};
use sixty_ohms::core::job::{Job, Moment, Observation, Seen, Subject};
use sixty_ohms::core::units::Quantity;

fn table(fields: &[(&str, &str)]) -> Table {
    let mut table = Table::default();
    for (key, text) in fields {
        table.put(key, (*text).into());
    }
    table
}

fn bank(fields: &[(&str, &str)]) -> Bank {
    table(fields).bank(None).expect("the arrangement is said").expect("it is a bank")
}

fn figure(bank: &Bank, name: &str) -> Option<f64> {
    let numbers = must_show(bank).unwrap();
    numbers.lines.into_iter().find(|line| line.name == name)?.figure.map(|figure| figure.value())
}

/// Two strings of two, one module with a plate of its own: the series column of table 1.1, then the parallel one.
#[test]
fn modules_that_are_not_alike() {
    let fields = [
        ("series", "2"),
        ("parallel", "2"),
        ("capacity", "100 Ah"),
        ("cells", "4"),
        ("soh", "100"),
        ("way", "singly"),
        ("m1-soc", "80"),
        ("m2-soc", "60"),
        ("m3-soc", "50"),
        ("m4-soc", "50"),
        ("m4-capacity", "80"),
    ];
    let found = bank(&fields);
    // min(100, 100) + min(100, 80); 60 Ah to empty + 20 Ah to full, 40 + 40.
    assert_eq!(figure(&found, "total-capacity"), Some(180.0));
    assert_eq!(figure(&found, "total-present"), Some(80.0 + 80.0));
    assert_eq!(figure(&found, "total-held"), Some(60.0 + 40.0));
    // 3.2 V a cell where the plate gives no voltage: 25.6 V, 180 Ah.
    assert_eq!(figure(&found, "total-energy"), Some(180.0 * 25.6));
    // Nobody spoke of module 4's own state of health: that of every plate.
    assert_eq!(figure(&found, "total-soh"), Some(100.0));
    let odd = bank(&[&fields[..], &[("m4-cells", "5")]].concat());
    assert!(must_show(&odd).unwrap().notes.contains(&Because::StringsUnlikeCells { least: 8, most: 9 }));
    // Alike again: what stands on the cards waits, and does not count.
    assert_eq!(figure(&bank(&[&fields[..], &[("way", "alike")]].concat()), "total-capacity"), Some(200.0));
}

#[test]
fn what_is_not_readable_is_not_known_and_not_guessed() {
    let plain = [("parallel", "2"), ("capacity", "100"), ("way", "singly")];
    assert_eq!(figure(&bank(&plain), "total-capacity"), Some(200.0));
    for text in ["abc", "1,234.5", "-5"] {
        let fields = [&plain[..], &[("m2-capacity", text)]].concat();
        assert_eq!(figure(&bank(&fields), "total-capacity"), None, "{text}: the plate of all must not stand in");
    }
    assert_eq!(table(&[("parallel", "x")]).bank(None), None);
    assert_eq!(table(&[("parallel", "2"), ("series", "x")]).bank(None), None);
    let many = table(&[("parallel", "10000"), ("series", "10000")]).bank(None);
    assert_eq!(many, Some(Err(BankError::TooManyModules { count: 100_000_000 })));
    assert_eq!(Item::SOC.read("101"), Err(Wrong::Breaks(Rule::UpToFull)));
    assert_eq!(Item::PARALLEL.read("0"), Err(Wrong::Breaks(Rule::AtLeastOne)));
    assert_eq!(Item::ASKED_CURRENT.read("-1"), Err(Wrong::Breaks(Rule::NotBelowZero)));
    assert_eq!(Item::CELLS.read("257"), Err(Wrong::Breaks(Rule::Cells)));
    assert_eq!(Item::SOC.read("  "), Ok(None));
}

#[test]
fn the_same_as_above_takes_what_is_said_and_not_the_plate() {
    let mut table = table(&[("m1-soc", "80"), ("m1-answers", "yes"), ("m1-capacity", "80"), ("m2-soc", "9")]);
    table.copy_said(1, 2);
    assert_eq!([table.text("m2-soc"), table.text("m2-answers"), table.text("m2-capacity")], ["80", "yes", ""]);
    table.put("way", "singly".into());
    assert_eq!(table.modules(), vec![Of::Module(1), Of::Module(2)]);
}

/// Only the totals that a display shows: each against the others (charge = share × capacity, power = volts × amperes).
#[test]
fn a_display_without_modules_is_held_against_itself() {
    use sixty_ohms::core::bank::findings::display::display;
    let plate = [
        ("parallel", "3"),
        ("capacity", "230"),
        ("soh", "100"),
        ("charge-voltage", "14.4"),
        ("discharge-voltage", "10"),
    ];
    let of = |shown: &[(&str, &str)], what: What| {
        let table = table(&[&plate[..], shown].concat());
        let found = display(&table.bank(None).unwrap().unwrap(), &table.display()).unwrap();
        found.findings.into_iter().find(|finding| finding.what == what).unwrap().judged.verdict
    };
    assert_eq!(of(&[("shown-charge", "552"), ("shown-soc", "80")], What::ChargeHeld), Verdict::Holds);
    assert_eq!(of(&[("shown-charge", "368"), ("shown-soc", "80")], What::ChargeHeld), Verdict::Fails);
    assert_eq!(of(&[("shown-charge", "552")], What::ChargeHeld), Verdict::NotDone);
    assert_eq!(
        of(&[("shown-power", "266"), ("shown-voltage", "13.3"), ("shown-current", "20")], What::Power),
        Verdict::Holds
    );
    assert_eq!(
        of(&[("shown-power", "-266"), ("shown-voltage", "13.3"), ("shown-current", "20")], What::Power),
        Verdict::Fails
    );
    assert_eq!(of(&[("shown-voltage", "13.3")], What::Voltage), Verdict::Holds);
    assert_eq!(of(&[("shown-voltage", "26.6")], What::Voltage), Verdict::Fails);
}

fn lark(readings: &[(Check, &str)], fields: &[(&str, &str)]) -> Job {
    let content = built_in();
    let demo = content.demo.iter().find(|demo| demo.key == "lark").expect("the demo is in the content");
    let site = content.equipment.draft_of(demo).expect("its equipment is there");
    let observations = readings.iter().map(|(check, typed)| {
        let Asks::Number { kind, .. } = check.asks() else { panic!("a number") };
        let Ok(Entry::Figure(shown)) = entry::read(typed, kind) else { panic!("{typed}") };
        Observation::new(Subject::Check(*check), Moment(1), Seen::Figure(shown), *typed)
    });
    Job { site, observations: observations.collect(), bank: table(fields), bank_at: Some(Moment(2)), ..Job::default() }
}

fn assessed(job: &Job) -> Assessment {
    let site = job.site.site().unwrap();
    let assessment = job.assess(&site);
    // Worked out anew, and remembered, it is the same.
    assert_eq!((&job.held(&site), &job.assess(&site)), (&assessment.bank, &assessment));
    assessment
}

/// Lark: three of 230 Ah. The site alone cannot tell the state of charge; its modules can.
#[test]
fn the_modules_speak_in_the_checks_of_a_job() {
    let shown = [(Check::ShownSoc, "70"), (Check::ShownCharge, "483"), (Check::ShownVoltage, "13.3")];
    let alone = assessed(&lark(&shown, &[]));
    assert_ne!(alone.of(Check::ShownSoc).unwrap().verdict, Verdict::Fails);
    assert_eq!(alone.of(Check::ShownVoltage).unwrap().verdict, Verdict::Holds);
    let said = [
        ("soh", "100"),
        ("way", "singly"),
        ("m1-soc", "60"),
        ("m2-soc", "60"),
        ("m3-soc", "60"),
        ("m1-voltage", "12.9"),
        ("m2-voltage", "12.9"),
        ("m3-voltage", "12.9"),
    ];
    let told = assessed(&lark(&shown, &said));
    for check in [Check::ShownSoc, Check::ShownCharge, Check::ShownVoltage] {
        let finding = told.of(check).unwrap();
        assert_eq!(finding.verdict, Verdict::Fails, "{check:?}: {:?}", finding.because);
        assert_eq!(finding.at, Some(Moment(1)), "the reading keeps its time");
    }
    assert!(!told.bank.unwrap().display.causes.is_empty());
    let agrees = assessed(&lark(&[(Check::ShownSoc, "60"), (Check::ShownCharge, "414")], &said));
    assert_eq!(agrees.of(Check::ShownCharge).unwrap().verdict, Verdict::Holds);
    assert!(agrees.bank.unwrap().display.causes.is_empty());
}

/// What no check asks for counts in the job's verdict and in its counts.
#[test]
fn what_stands_beside_the_checks_counts() {
    let fits = lark(&[], &[("asked-voltage", "14.2"), ("asked-current", "50")]);
    let site = fits.site.site().unwrap();
    let most = site.module.charge_limit.get() * 3.0;
    assert_eq!(assessed(&fits).worst(), Verdict::Holds);
    let too_much = lark(&[], &[("asked-current", &format!("{}", most + 1.0))]);
    assert_eq!((assessed(&too_much).worst(), assessed(&too_much).count(Verdict::Fails)), (Verdict::Fails, 1));
    // The site's own coldest temperature counts, read at any one module.
    let colder = format!("{}", site.module.coldest_charge.get() - 1.0);
    let cold = lark(&[], &[("asked-current", "20"), ("way", "singly"), ("m2-temperature", &colder)]);
    let judged = assessed(&cold).bank.unwrap().asks.unwrap();
    assert!(matches!(judged.because, Because::AskTooCold { .. }), "{:?}", judged.because);
    let current = lark(&[], &[("all-current", "20"), ("shown-current", "-60")]);
    let held = assessed(&current).bank.unwrap();
    assert_eq!(assessed(&current).worst(), Verdict::Fails);
    assert_eq!(held.display.causes[0].0, Because::CauseSign {});
}

/// One silent of three, from the checks alone: the likeliest cause and the check that tells.
#[test]
fn a_job_explains_its_display() {
    let job = lark(&[(Check::ShownModules, "2"), (Check::ShownCapacity, "460")], &[]);
    let assessment = assessed(&job);
    assert_eq!(assessment.bank.as_ref().unwrap().display.causes[0], (Because::CauseSilent {}, Because::TellSilent {}));
    // The check's own reason stands in both places.
    let shown = &assessment.bank.as_ref().unwrap().display.findings;
    let capacity = shown.iter().find(|finding| finding.what == What::Capacity).unwrap();
    assert_eq!(capacity.judged.because, assessment.of(Check::ShownCapacity).unwrap().because);
}

#[test]
fn the_table_is_kept_with_its_job() {
    let job = lark(&[], &[("m1-soc", "8o"), ("way", "singly"), ("of-a-later-version", "7")]);
    let kept = Stored { rev: 1, saved_at: Moment(3), writes: Default::default(), job, rest: Default::default() };
    assert_eq!(stored::open(&kept.text()), Ok(kept.clone()), "texts that cannot be read as well");
    // A job from before there was a table.
    let old = r#"{"v":1,"rev":2,"saved_at":0,"job":{"id":"x"}}"#;
    let opened = stored::open(old).unwrap();
    assert!(opened.job.bank.is_empty() && opened.job.bank_at.is_none());
    assert!(!opened.text().contains("\"bank\""), "{}", opened.text());
}

/// Every sentence of the chargers is in the content and whole.
#[test]
fn sentences_of_the_chargers() {
    let content = built_in();
    let speaker = Speaker::of(&content);
    let keys = Because::ALL.iter().filter(|(key, _)| key.starts_with("ask-"));
    assert_eq!(keys.count(), 22);
    for fields in [
        &[
            ("asked-voltage", "14.8"),
            ("asked-current", "900"),
            ("all-temperature", "-5"),
            ("soh", "100"),
            ("all-soc", "50"),
        ][..],
        &[("asked-voltage", "13.2"), ("asked-current", "30"), ("all-temperature", "60"), ("all-charge-off", "yes")],
        &[
            ("asked-voltage", "14"),
            ("asked-current", "30"),
            ("all-temperature", "3"),
            ("all-current", "-20"),
            ("all-soc", "5"),
            ("soh", "90"),
        ],
    ] {
        let judged = assessed(&lark(&[], fields)).bank.unwrap().asks.unwrap();
        for because in [&judged.because].into_iter().chain(&judged.also).chain(&judged.next).chain(&judged.sum) {
            let text = speaker.because(because);
            assert!(text.len() > 10 && !text.contains(['{', '}', '|']) && text.ends_with('.'), "{because:?}: {text}");
        }
        for source in judged.sources {
            assert!(content.sources.contains_key(source), "{source}");
        }
    }
}

#[test]
fn the_texts_of_a_module_change_with_it_and_with_no_other() {
    let mut table = Table::default();
    for (key, text) in [("m1-soc", "70"), ("m1-voltage", "13.2"), ("m10-soc", "71"), ("all-soh", "100")] {
        table.put(key, text.to_string());
    }
    let before = [1, 2, 10].map(|number| table.texts_of(Of::Module(number)));
    assert!(before[0] != before[2] && before[1].is_empty());
    table.put("m10-soc", "72".to_string());
    table.put("m2-current", "-5".to_string());
    let after = [1, 2, 10].map(|number| table.texts_of(Of::Module(number)));
    assert_eq!(before[0], after[0]);
    assert!(before[1] != after[1] && before[2] != after[2]);
    assert_eq!(table.texts_of(Of::All), "all-soh=100\n");
}
