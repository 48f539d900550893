//! Links as they were sent once: each must open for ever, and to the same job. Every damage of one bit and every cut is seen.
//!
//!     LINK_GOLDEN=write cargo test --no-default-features --test link goldens
//!
//! writes them anew. Once version 1 is frozen that is not done again: a new version gets goldens of its own beside these.

use crate::jobs::{self, BEGUN, with_readings};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use sixty_ohms::core::entry::Shown;
use sixty_ohms::core::faults::finder::Event;
use sixty_ohms::core::job::check::Check;
use sixty_ohms::core::job::link::armour::payload;
use sixty_ohms::core::job::link::{self, Broken, Leave, Opened, Packed};
use sixty_ohms::core::job::lists::{OwnItem, OwnList, Taken};
use sixty_ohms::core::job::photo::Photo;
use sixty_ohms::core::job::story::{Story, Told};
use sixty_ohms::core::job::{GONE, Job, Moment, Observation, PRESENT, People, Seen, Subject};
use sixty_ohms::core::site::Draft;
use sixty_ohms::core::units::{Figure, Kind, Ohms, Volts};
use std::fs;
use std::path::PathBuf;

fn item(list: &str, item: &str, at: i64, seen: Seen) -> Observation {
    let of = Subject::Item { list: list.into(), item: item.into() };
    Observation { by: "Ada".into(), ..Observation::new(of, Moment(BEGUN + at), seen, "") }
}

fn own() -> Taken {
    let torque = OwnItem {
        key: "a1".into(),
        text: "Poles at 9 to 12 Nm".into(),
        kind: Some(Kind::Ratio),
        low: Some(9.0),
        high: Some(12.5),
    };
    let tick = OwnItem { key: "a2".into(), text: "Vent clear".into(), ..OwnItem::default() };
    Taken { key: "own-1".into(), own: Some(OwnList { title: "Locker".into(), items: vec![torque, tick] }) }
}

fn answered() -> Vec<Observation> {
    let figure = Figure::new(Kind::Ratio, 10.5).unwrap();
    let reason = Observation { note: "no vent".into(), ..item("own-1", "a2", 9_000, Seen::NotApplicable) };
    let reading = item("own-1", "a1", 4_000, Seen::Figure(Shown { figure, digit: 0.1 }));
    vec![Observation { typed: "10.5".into(), ..reading }, reason]
}

/// A job with everything in it.
fn full() -> Job {
    let told = |at: i64, event: Event| Told { at: Moment(BEGUN + at), event };
    let mut job = with_readings(jobs::draft("otter"), 14, jobs::NOTE);
    let alarm = |at, answer: &str| {
        Observation::new(Subject::Alarm("too-cold".into()), Moment(at), Seen::Answer(answer.into()), "")
    };
    job.observations.extend(answered());
    job.observations.extend([alarm(BEGUN + 70_000, PRESENT), alarm(BEGUN - 5, GONE)]);
    job.bank =
        [("way", "singly"), ("m1-soc", "80"), ("m2-soc", "79,5"), ("m2-answers", "yes"), ("shown-power", "1 kW")]
            .map(|(key, text)| (key.to_string(), text.to_string()))
            .into_iter()
            .collect();
    job.bank_at = Some(Moment(BEGUN + 12_345));
    job.power = [("cable.1.current", "150"), ("cable.1.size", "2/0"), ("joint.2.millivolts", "2,4")]
        .map(|(key, text)| (key.to_string(), text.to_string()))
        .into_iter()
        .collect();
    job.power_at = Some(Moment(BEGUN + 23_456));
    job.people =
        People { by: "Ada".into(), owner: "M. Okonkwo-Lindström".into(), place: "Berth 14, south quay".into() };
    job.lists = vec![Taken { key: "yearly".into(), own: None }, own()];
    job.story = Story {
        kind: "boat".into(),
        told: vec![
            told(50, Event::Seen { check: "volts-quiet".into(), outcome: "quiet".into() }),
            told(60, Event::Alarm { alarm: "too-cold".into() }),
            told(70, Event::Later { check: "leads-swapped".into() }),
            told(80, Event::Repaired { fault: "lead-loose".into() }),
        ],
    };
    job.pending = [("bus-length".to_string(), "12,5".to_string()), ("shown-soc".into(), "8o".into())].into();
    let photo = Photo { key: "p1".into(), at: Moment(BEGUN + 1), shows: "End cap".into(), ..Photo::default() };
    job.photos = vec![photo.clone(), Photo { key: "p2".into(), shows: String::new(), ..photo }];
    job
}

/// Figures and times that no field makes, but a store may hold.
fn odd() -> Job {
    let figure = |kind, value, digit| Seen::Figure(Shown { figure: Figure::new(kind, value).unwrap(), digit });
    let of = |check| Subject::Check(check);
    let seen = |of, at, seen, typed: &str| Observation::new(of, Moment(at), seen, typed);
    let observations = vec![
        seen(of(Check::PairVolts), i64::MAX, figure(Kind::Volts, 0.1 + 0.2, 0.0), "0.30000000000000004"),
        seen(of(Check::PairVolts), i64::MIN, figure(Kind::Volts, -0.0, 0.1), "-0.0"),
        seen(of(Check::PairVolts), 7, figure(Kind::Ohms, 1.0e8, 1000.0), "100 MΩ"),
        seen(of(Check::FirstFullCharge), 7, Seen::BeyondRange, ""),
        seen(of(Check::PairOhmsAtBank), 7, Seen::BeyondRange, "O.L"),
        seen(of(Check::ShownSoc), 7, Seen::Withdrawn, ""),
    ];
    let site = Draft {
        series: Some(u32::MAX),
        parallel: Some(0),
        terminated_at_bank: Some(false),
        terminated_at_monitor: Some(true),
        ..Draft::default()
    };
    Job { begun: Moment(-1), site, observations, ..Job::default() }
}

fn unicode() -> Job {
    let mut site = jobs::draft("lark");
    site.name = "Größe 大阪 Ελλάδα 🔋 שלום".into();
    if let Some(module) = &mut site.module {
        (module.nominal, module.resistance) = (Volts::of(12.75), Ohms::of(0.006_25));
    }
    let observations = vec![jobs::typed(Subject::Check(Check::PairOhmsAtMonitor), Kind::Ohms, "60,4 Ω", Moment(BEGUN))];
    Job { id: "ü".into(), site, observations, notes: "eins\n\tzwei – “drei”\u{a0}…".into(), ..Job::default() }
}

/// Every golden: its name, and what it is made of.
pub fn all() -> Vec<(&'static str, Packed)> {
    let whole = |job: &Job| link::pack(job, &Leave::NOTHING);
    vec![
        ("empty", whole(&Job::default())),
        ("lark-complete", whole(&jobs::lark())),
        ("forty-readings", whole(&with_readings(jobs::draft("otter"), 40, jobs::NOTE))),
        ("foreign-equipment", whole(&with_readings(jobs::foreign(), 12, ""))),
        ("full", whole(&full())),
        ("full-by-default", link::pack(&full(), &Leave::default())),
        ("full-without-notes-and-lists", link::pack(&full(), &Leave { notes: true, lists: true, ..Leave::NOTHING })),
        ("odd-figures", whole(&odd())),
        ("unicode", whole(&unicode())),
        ("site-alone", whole(&Job { id: "a".into(), site: jobs::draft("lark"), ..Job::default() })),
        ("list-blank", link::pack_list(&own(), &[], true)),
        ("list-ticked", link::pack_list(&own(), &full().observations, true)),
        ("list-of-the-app", link::pack_list(&Taken { key: "yearly".into(), own: None }, &[], false)),
    ]
}

fn folder() -> PathBuf {
    PathBuf::from("tests/link/golden")
}

fn told(opened: &Opened) -> Value {
    match opened {
        Opened::Job(job, left) => {
            let leave = left.leave;
            let left_out = [
                ("people", leave.people),
                ("notes", leave.notes),
                ("bank", leave.bank),
                ("story", leave.story),
                ("lists", leave.lists),
                ("pending", leave.pending),
                ("captions", leave.captions),
                ("power", leave.power),
            ];
            let left_out: Vec<&str> = left_out.into_iter().filter(|(_, left)| *left).map(|(key, _)| key).collect();
            let photos: Vec<Value> = left.photos.iter().map(|photo| json!([photo.at, photo.shows])).collect();
            json!({"job": job, "left_out": left_out, "photos": photos})
        }
        Opened::Checklist { taken, observations } => json!({"list": taken, "observations": observations}),
    }
}

struct Golden {
    name: String,
    letters: String,
    digits: String,
    opens: Value,
}

/// Those in the folder.
fn kept() -> Vec<Golden> {
    let mut files: Vec<PathBuf> = fs::read_dir(folder()).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let read = |path: PathBuf| {
        let golden: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        let text = |key: &str| golden[key].as_str().unwrap().to_string();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        Golden { name, letters: text("letters"), digits: text("digits"), opens: golden["opens"].clone() }
    };
    files.into_iter().map(read).collect()
}

#[test]
fn every_link_that_was_sent_opens_as_it_did() {
    if std::env::var("LINK_GOLDEN").is_ok_and(|how| how == "write") {
        fs::create_dir_all(folder()).unwrap();
        for (name, packed) in all() {
            let opens = told(&link::open_payload(&packed.payload).unwrap());
            let golden = json!({"letters": packed.letters(), "digits": packed.digits(), "opens": opens});
            let text = serde_json::to_string_pretty(&golden).unwrap();
            fs::write(folder().join(format!("{name}.json")), text + "\n").unwrap();
        }
    }
    let kept = kept();
    assert!(kept.len() >= 13, "{} goldens", kept.len());
    for golden in &kept {
        for text in [&golden.letters, &golden.digits] {
            let opened = link::open(text).unwrap_or_else(|why| panic!("{}: {why:?}", golden.name));
            assert_eq!(told(&opened), golden.opens, "{}", golden.name);
        }
    }
}

/// A packer of this version writes what it wrote: a printed fingerprint stays true.
#[test]
fn every_job_is_packed_as_it_was() {
    let kept = kept();
    for (name, packed) in all() {
        let golden = kept.iter().find(|golden| golden.name == name).unwrap_or_else(|| panic!("{name} is not kept"));
        assert_eq!((packed.letters(), packed.digits()), (golden.letters.clone(), golden.digits.clone()), "{name}");
    }
}

/// The tables are part of the format. Lines may be put at the end until version 1 is frozen, never between.
#[test]
fn the_tables_are_those_of_version_1() {
    for (file, hash) in [
        ("known.txt", "cc1316045e889ba6da0c594a6b6346f18c550c1b6ddaa517565e5dbe2485089c"),
        ("pieces.txt", "7ffd28f66e5e291c8c0cd661f56e9ad63661744dd49f1af9241db2fee02342d9"),
    ] {
        let text = fs::read(format!("src/core/job/link/{file}")).unwrap();
        let found: String = Sha256::digest(&text).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(found, hash, "{file}");
    }
}

#[test]
fn every_flipped_bit_of_a_payload_is_seen() {
    let mut tried = 0;
    for golden in kept() {
        let whole = payload(&golden.letters).unwrap();
        for bit in 0..whole.len() * 8 {
            let mut flipped = whole.clone();
            flipped[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(link::open_payload(&flipped), Err(Broken::Damaged), "{}: bit {bit}", golden.name);
            tried += 1;
        }
        for length in 0..whole.len() {
            assert_eq!(link::open_payload(&whole[..length]), Err(Broken::Damaged), "{}: {length} bytes", golden.name);
            tried += 1;
        }
    }
    println!("{tried} flips and cuts of payloads");
    assert!(tried > 10_000);
}

/// In the text a flip may also hit what is no part of the payload, or turn one letter into a space: then the same job
/// comes out, or none.
#[test]
fn every_flipped_bit_and_every_cut_of_a_text_is_seen_or_harmless() {
    let (mut tried, mut harmless) = (0, 0);
    for golden in kept() {
        for text in [&golden.letters, &golden.digits] {
            let mut check = |text: &str| {
                tried += 1;
                if let Ok(opened) = link::open(text) {
                    harmless += 1;
                    assert_eq!(told(&opened), golden.opens, "{}: {text:?}", golden.name);
                }
            };
            for at in 0..text.len() {
                // A flip of the three upper bits makes no digit of a digit: one of them stands for all there.
                for bit in if text.starts_with('n') { 0..5 } else { 0..7 } {
                    let mut flipped = text.clone().into_bytes();
                    flipped[at] ^= 1 << bit;
                    check(std::str::from_utf8(&flipped).unwrap());
                }
                check(&text[..at]);
                check(&text[at..]);
                check(&format!("https://example.org/#{}", &text[..at]));
            }
        }
    }
    println!("{tried} flips and cuts of texts, {harmless} harmless");
    // Cutting nothing off at the front is harmless.
    assert!(tried > 50_000 && harmless < tried / 100, "{harmless} of {tried}");
}
