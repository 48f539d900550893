//! The power side in a job: what the site fills in, what counts, and what reaches the record.

use sixty_ohms::content::built_in;
use sixty_ohms::content::speak::Speaker;
use sixty_ohms::core::bank::table::Table;
use sixty_ohms::core::because::Because;
use sixty_ohms::core::job::assess::Verdict;
use sixty_ohms::core::job::{Job, Moment};
use sixty_ohms::core::power::sheet::{Ask, Part, Sheet, figure_of, key};
use sixty_ohms::core::power::sheet_judged::{Found, all};
use sixty_ohms::core::power::{SOURCES, cable, conductor, joint};
use sixty_ohms::core::site::{Draft, Site};
use sixty_ohms::core::units::*;

fn draft(key: &str) -> Draft {
    let content = built_in();
    let demo = content.demo.iter().find(|demo| demo.key == key).expect("the demo is in the content");
    content.equipment.draft_of(demo).expect("its equipment is there")
}

fn site(key: &str) -> Site {
    draft(key).site().expect("the demo is whole")
}

fn table(fields: &[(&str, &str)]) -> Table {
    fields.iter().map(|(key, text)| (key.to_string(), text.to_string())).collect()
}

fn found(site: &Site, fields: &[(&str, &str)]) -> Vec<Found> {
    all(site, &table(fields))
}

fn keys(found: &Found) -> Vec<&'static str> {
    [&found.judged.because].into_iter().chain(&found.judged.also).map(Because::key).collect()
}

const CABLE: [(&str, &str); 5] = [
    ("cable.1.current", "150"),
    ("cable.1.length", "2"),
    ("cable.1.area", "50"),
    ("cable.1.insulation", "90"),
    ("cable.1.temperature", "40"),
];

#[test]
fn a_cable_takes_its_system_from_the_site() {
    // Lark has 12.8 V and 4 cells: the worked example of bank reference 6.4.
    let lark = found(&site("lark"), &CABLE);
    assert_eq!((lark.len(), lark[0].part, lark[0].judged.verdict), (1, Part::Cable, Verdict::Holds));
    assert_eq!(keys(&lark[0]), ["cable-drop-holds", "cable-rating-holds", "cable-charger"]);
    // Otter has 25.6 V: the same drop is half the share.
    let share = |found: &Found| match found.judged.because {
        Because::CableDropHolds { share, .. } => share.get(),
        ref other => panic!("{other:?}"),
    };
    let otter = found(&site("otter"), &CABLE);
    assert!((share(&lark[0]) - 0.0195).abs() < 0.0001 && (share(&otter[0]) * 2.0 - share(&lark[0])).abs() < 1e-12);
    // The usual temperature and limit stand in for empty fields.
    let usual = found(&site("lark"), &CABLE[..4]);
    assert_eq!(usual[0].judged, lark[0].judged);
}

#[test]
fn what_cannot_be_read_is_not_replaced_and_not_judged() {
    let mut fields = CABLE.to_vec();
    fields.push(("cable.1.system", "12,8,1"));
    assert_eq!(found(&site("lark"), &fields), []);
    // Nothing said, nothing judged: not even the chargers of the site.
    assert_eq!(found(&site("lark"), &[]), []);
    assert_eq!(found(&site("lark"), &[("cable.2.name", "To the inverter")]), []);
}

#[test]
fn protection_takes_over_what_its_cable_says() {
    let mut fields = CABLE.to_vec();
    fields.extend([
        ("protection.1.rating", "200"),
        ("protection.1.distance", "0.15"),
        ("protection.1.voltage-rating", "58"),
    ]);
    fields.push(("protection.1.interrupt", "20 kA"));
    let all = found(&site("lark"), &fields);
    let Some(device) = all.iter().find(|found| found.part == Part::Protection) else { panic!("{all:?}") };
    // 150 A of load, 228 A of cable (BS 7671 table 4E1A), three modules side by side behind their own resistance.
    assert_eq!(device.judged.verdict, Verdict::Holds, "{:?}", keys(device));
    assert!(keys(device).contains(&"protect-size-holds") && keys(device).contains(&"protect-interrupt-holds"));
    // Twice the length of conductor to it: too far.
    let far: Vec<_> =
        fields.iter().map(|(key, text)| (*key, if key.ends_with("distance") { "0.3" } else { text })).collect();
    let all = found(&site("lark"), &far);
    assert!(all.iter().any(|found| keys(found)[0] == "protect-too-far"));
}

#[test]
fn the_chargers_of_the_site_are_there_with_their_settings() {
    let lark = site("lark");
    let none = Table::default();
    let sheet = Sheet { table: &none, site: Some(&lark) };
    assert_eq!(sheet.ids(Part::Charger), ["roof-sun-30"]);
    assert_eq!(sheet.name(Part::Charger, "roof-sun-30"), Some("Example Roof Sun 30, solar charger"));
    let judged = sheet.judge(Part::Charger, "roof-sun-30").unwrap();
    // 14.2 V, 13.5 V float, 30 A for three modules: as section 5 of the bank reference has it.
    assert_eq!(judged.verdict, Verdict::Holds, "{judged:?}");
    assert_eq!(sheet.all_sources().map(|judged| judged.verdict), Some(Verdict::Holds));
    // A lead-acid rule is seen, and stands in the record with the sum of the sources.
    let all = found(&lark, &[("charger.roof-sun-30.compensation", "-24")]);
    assert_eq!((all.len(), all[0].judged.verdict), (2, Verdict::Fails));
    assert_eq!(keys(&all[0])[0], "charger-compensation-over");
    assert_eq!((all[1].id.as_str(), all[1].judged.verdict), ("", Verdict::Holds));
    // One more source, an alternator with nothing behind it.
    let all = found(
        &lark,
        &[("charger.1.source", "alternator"), ("charger.1.charge-current", "600"), ("charger.1.guard", "nothing")],
    );
    let alternator = all.iter().find(|found| found.id == "1").unwrap();
    assert_eq!(alternator.judged.verdict, Verdict::Fails);
    assert!(keys(alternator).contains(&"alternator-pulse"), "{:?}", keys(alternator));
    assert_eq!(all.last().map(|found| keys(found)[0]), Some("sources-over"));
    // Otter's shore charger listens: does it follow?
    let otter = site("otter");
    let following = [("charger.quay-50.asked-current", "20"), ("charger.quay-50.given-current", "45")];
    let all = found(&otter, &following);
    assert_eq!(keys(&all[0])[0], "follows-not-current");
}

#[test]
fn one_current_counts_for_all_joints() {
    let all = found(
        &site("lark"),
        &[
            ("joint.1.millivolts", "5.0"),
            ("joint.1.through", "100"),
            ("joint.2.millivolts", "5.2"),
            ("joint.3.millivolts", "30.0"),
            ("joint.3.name", "Main negative"),
        ],
    );
    assert_eq!(
        all.iter().map(|found| found.judged.verdict).collect::<Vec<_>>(),
        [Verdict::Holds, Verdict::Holds, Verdict::Fails]
    );
    assert_eq!(all[2].name.as_deref(), Some("Main negative"));
}

#[test]
fn a_job_counts_what_is_said_and_says_it_in_words() {
    let mut job = Job { site: draft("lark"), power: table(&CABLE), power_at: Some(Moment(7)), ..Job::default() };
    let whole = site("lark");
    let (before, after) = (Job { power: Table::default(), ..job.clone() }.assess(&whole), job.assess(&whole));
    assert_eq!(after.count(Verdict::Holds), before.count(Verdict::Holds) + 1);
    job.power.put("cable.1.area", "6".into());
    let after = job.assess(&whole);
    assert_eq!(after.worst(), Verdict::Fails);
    // Every sentence is there, with every figure in it.
    let content = built_in();
    let speaker = Speaker::of(&content);
    let judged = &after.power[0].judged;
    for because in [&judged.because].into_iter().chain(&judged.also).chain(&judged.next).chain(&judged.sum) {
        let text = speaker.because(because);
        assert!(!text.is_empty() && !text.contains('{'), "{}: {text}", because.key());
    }
    let next: Vec<String> = judged.next.iter().map(|because| speaker.because(because).replace('\u{a0}', " ")).collect();
    assert_eq!(next, ["Take 35 mm² or more: the smallest of its kind that does both."]);
    // Kept as text and read back.
    let text = serde_json::to_string(&job).unwrap();
    assert_eq!(serde_json::from_str::<Job>(&text).unwrap(), job);
    // A job on which nothing was said has no trace of it.
    let plain = serde_json::to_string(&Job::default()).unwrap();
    assert!(!plain.contains("power"), "{plain}");
}

#[test]
fn every_figure_of_a_sheet_is_known_in_tables_of_readings() {
    for part in Part::ALL {
        for ask in part.asks() {
            if let Ask::Figure(asked) = ask {
                let shown = figure_of(&key(part, "roof-sun.30", asked.key), "1").unwrap_or_else(|| panic!("{ask:?}"));
                assert_eq!(shown.figure.kind(), asked.kind);
            }
        }
        assert_eq!(part.first().len() + part.more().len(), part.asks().len());
    }
    assert_eq!(figure_of("cable.1.name", "1"), None);
    assert_eq!(figure_of("current", "1"), None);
    assert_eq!(figure_of("joint.1.millivolts", "2,5").map(|shown| shown.figure.value()), Some(0.0025));
}

#[test]
fn every_verdict_names_sources_that_are_listed() {
    let lark = site("lark");
    let mut fields = CABLE.to_vec();
    fields.extend([
        ("cable.1.engine", "yes"),
        ("cable.1.bundled", "4"),
        ("protection.1.rating", "200"),
        ("protection.1.lasts", "yes"),
        ("protection.1.way", "post"),
        ("protection.1.distance", "1.5"),
        ("protection.1.material", "pvc"),
        ("protection.1.clearing", "0.01"),
        ("inrush.1.capacitance", "20"),
        ("charger.roof-sun-30.equalise", "yes"),
        ("charger.1.source", "alternator"),
        ("charger.1.charge-current", "30"),
        ("joint.1.millivolts", "5"),
        ("joint.1.through", "50"),
    ]);
    let all = found(&lark, &fields);
    assert_eq!(all.len(), 7, "{all:?}");
    for found in &all {
        assert!(!found.judged.sources.is_empty() && !found.judged.sum.is_empty(), "{found:?}");
        for source in &found.judged.sources {
            assert!(SOURCES.contains(source), "{source}");
        }
    }
    for part in Part::ALL {
        assert!(all.iter().any(|found| found.part == part), "{part:?}");
    }
}

#[test]
fn hostile_texts_only_lose_their_verdict() {
    let lark = site("lark");
    let long = "7".repeat(10_000);
    for text in ["", "letters", "-5", "1e9", "NaN", "OL", "1.234,5", "0", "unknown", "1e308", long.as_str()] {
        for part in Part::ALL {
            let fields: Table = part.asks().iter().map(|ask| (key(part, "1", ask.key()), text.to_string())).collect();
            let sheet = Sheet { table: &fields, site: Some(&lark) };
            for id in sheet.ids(part) {
                let _ = sheet.judge(part, &id);
            }
            let alone = Sheet { table: &fields, site: None };
            let _ = (alone.judge(part, "1"), alone.all_sources(), all(&lark, &fields));
        }
    }
}

#[test]
fn sums_at_their_edges_have_no_answer() {
    let run = cable::Run {
        conductor: conductor::Conductor::metric(conductor::Class::Flexible)[0],
        length: Metres::of(5000.0),
        current: Amperes::of(20_000.0),
        temperature: Celsius::of(20.0),
    };
    assert_eq!(cable::drop(run), None);
    assert_eq!(cable::drop(cable::Run { temperature: Celsius::of(-273.0), ..run }), None);
    assert_eq!(joint::middle(Vec::new()), None);
    assert_eq!(joint::middle(vec![3.0, 1.0]), Some(2.0));
}

/// A size that was held against the drop alone is not said to do both.
#[test]
fn nothing_is_claimed_of_a_rating_that_is_not_known() {
    use sixty_ohms::core::power::ampacity::{Insulation, Laying};
    let thin = conductor::Conductor::Metric { area: SquareMillimetres::of(10.0), class: conductor::Class::Flexible };
    let run = cable::Run {
        conductor: thin,
        length: Metres::of(3.0),
        current: Amperes::of(100.0),
        temperature: Celsius::of(20.0),
    };
    let unknown = cable::Plan { run, system: Volts::of(12.0), limit: Percent::of(3.0), laying: None, cells: None };
    let laying = Laying { insulation: Insulation::ALL[Insulation::ALL.len() - 1], engine_space: false, bundled: 1 };
    let known = cable::Plan { laying: Some(laying), ..unknown };
    let next = |plan| cable::judge(plan).unwrap().next;
    let both = |list: &[Because]| list.iter().any(|because| matches!(because, Because::CableTake { .. }));
    let drop = |list: &[Because]| list.iter().any(|because| matches!(because, Because::CableTakeForDrop { .. }));
    assert!(drop(&next(unknown)) && !both(&next(unknown)), "{:?}", next(unknown));
    assert!(both(&next(known)) && !drop(&next(known)), "{:?}", next(known));
}
