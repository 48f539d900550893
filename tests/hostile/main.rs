//! Links, payloads, stored records, record files and backups that nobody means well with: none may panic, hang, or take more than
//! 16 MiB; what opens must be a job like any other.
//!
//!     cargo test --no-default-features --test hostile          a few hundred thousand
//!     make hostile                                             ten million; HOSTILE=n for another number

mod counted;
mod inputs;

use counted::{Counted, peak};
use inputs::{Chance, Kind, Seeds};
use sixty_ohms::core::job::backup::{self, NotTaken, Step};
use sixty_ohms::core::job::link::{self, Broken, Leave, Opened};
use sixty_ohms::core::job::{Job, Moment, Observation, Seen, Subject, record_file, stored};
use std::collections::BTreeMap;
use std::panic::catch_unwind;
use std::process::abort;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

#[global_allocator]
static ALLOCATOR: Counted = Counted;

/// The most that reading one input may hold.
const MOST: usize = 16 << 20;
/// Seconds after which an input hangs.
const LONG: u64 = 20;

/// An input that took so long is tried a second time, and the shorter time counts.
const SLOW: Duration = Duration::from_millis(20);

/// One at a time: the memory is counted for all.
static ALONE: Mutex<()> = Mutex::new(());

/// What became of an input.
fn outcome(kind: Kind, input: &[u8], here: &[(String, String)]) -> &'static str {
    let text = || String::from_utf8_lossy(input);
    match kind {
        Kind::Text => opened(link::open(&text())),
        Kind::Payload | Kind::Sealed => opened(link::open_payload(input)),
        Kind::Stored => kept(stored::open(&text())),
        Kind::File => match record_file::find(&text()) {
            Ok(text) => kept(stored::open(text)),
            Err(why) => why.key(),
        },
        Kind::Backup => restored(&text(), here),
    }
}

/// What a backup would do to what is here; what it would add can be kept.
fn restored(text: &str, here: &[(String, String)]) -> &'static str {
    match backup::read(text) {
        Err(NotTaken::NotJson) => "no JSON",
        Err(NotTaken::NotABackup) => "no backup",
        Err(NotTaken::Newer) => "newer",
        Ok(read) => {
            for step in backup::plan(&read, here) {
                if let Step::Add(stored) | Step::Forward(stored) | Step::Beside(stored) = step {
                    assert_eq!(stored::open(&stored.text()), Ok(stored));
                }
            }
            read.photos.iter().for_each(|photo| drop(photo.bytes()));
            "opened"
        }
    }
}

fn opened(opened: Result<Opened, Broken>) -> &'static str {
    let packed = match &opened {
        Err(why) => return why.key(),
        Ok(Opened::Job(job, left)) => link::pack(job, &left.leave),
        Ok(Opened::Checklist { taken, observations }) => link::pack_list(taken, observations, true),
    };
    // What came in can go out again, and is the same then: photos, and rows of other lists, stay behind.
    match (opened, link::open_payload(&packed.payload)) {
        (Ok(Opened::Job(one, _)), Ok(Opened::Job(other, _))) => assert_eq!(one, other),
        (Ok(Opened::Checklist { taken, .. }), Ok(Opened::Checklist { taken: again, .. })) => assert_eq!(taken, again),
        (one, other) => panic!("{one:?} opens again as {other:?}"),
    }
    "opened"
}

fn kept(kept: Result<stored::Stored, stored::SetAside>) -> &'static str {
    match kept {
        Ok(kept) => {
            assert_eq!(stored::open(&kept.text()).as_ref(), Ok(&kept));
            // Whatever a store may hold can be packed.
            link::pack(&kept.job, &Leave::NOTHING);
            "opened"
        }
        Err(stored::SetAside::Broken) => "set aside",
        Err(stored::SetAside::Newer) => "newer",
    }
}

/// Stops everything where one input takes too long: a hang has no other end.
fn watch(done: &AtomicU64, is_over: &AtomicBool, seed: u64) {
    let (mut last, mut since) = (0, Instant::now());
    while !is_over.load(Relaxed) {
        thread::sleep(Duration::from_millis(200));
        let now = done.load(Relaxed);
        if now != last {
            (last, since) = (now, Instant::now());
        } else if since.elapsed() > Duration::from_secs(LONG) {
            eprintln!("input {now} of seed {seed} hangs");
            abort();
        }
    }
}

fn run(inputs: u64, seed: u64) {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let seeds = Seeds::read();
    let here = [("k0".to_string(), seeds.stored[0].clone()), ("other".to_string(), seeds.stored[1].clone())];
    let mut chance = Chance::new(seed);
    let mut counts: BTreeMap<(Kind, &str), u64> = BTreeMap::new();
    let (mut most, mut longest) = (0, (Duration::ZERO, 0, Kind::Text, 0));
    let (done, is_over) = (AtomicU64::new(0), AtomicBool::new(false));
    let started = Instant::now();
    thread::scope(|scope| {
        scope.spawn(|| watch(&done, &is_over, seed));
        for number in 0..inputs {
            let (kind, input) = seeds.next(&mut chance);
            let from = Instant::now();
            let (outcome, held) = peak(|| catch_unwind(|| outcome(kind, &input, &here)));
            let mut took = from.elapsed();
            if took > SLOW {
                // Was it the input, or did the machine look elsewhere?
                let from = Instant::now();
                let _ = catch_unwind(|| self::outcome(kind, &input, &here));
                took = took.min(from.elapsed());
            }
            longest = longest.max((took, number, kind, input.len()));
            most = most.max(held);
            let hex = || input.iter().map(|byte| format!("{byte:02x}")).collect::<String>();
            let Ok(outcome) = outcome else {
                eprintln!("input {number} of seed {seed}, {kind:?}: {}", hex());
                abort();
            };
            if held > MOST {
                eprintln!("input {number} of seed {seed}, {kind:?} takes {held} bytes: {}", hex());
                abort();
            }
            *counts.entry((kind, outcome)).or_default() += 1;
            done.store(number + 1, Relaxed);
        }
        is_over.store(true, Relaxed);
    });
    for ((kind, outcome), count) in &counts {
        println!("{kind:?} {outcome}: {count}");
    }
    let seconds = started.elapsed().as_secs_f64();
    println!("{inputs} inputs, seed {seed}, {seconds:.0} s: no panic; at most {} KiB at once", most >> 10);
    let (took, number, kind, bytes) = longest;
    println!("longest: {:.1} ms, {kind:?}, input {number} of {bytes} bytes", took.as_secs_f64() * 1e3);
    // The inputs reach everything: bodies are read to the end, and records too.
    for outcome in [
        (Kind::Sealed, "opened"),
        (Kind::Sealed, "damaged"),
        (Kind::Sealed, "newer"),
        (Kind::Stored, "opened"),
        (Kind::Backup, "opened"),
    ] {
        assert!(counts.get(&outcome).is_some_and(|count| *count > inputs / 10_000), "{outcome:?}: {counts:?}");
    }
}

#[test]
fn hostile_inputs() {
    run(200_000, 60);
}

#[test]
#[ignore = "minutes: make hostile"]
fn ten_million_hostile_inputs() {
    let inputs = std::env::var("HOSTILE").ok().and_then(|inputs| inputs.parse().ok()).unwrap_or(10_000_000);
    let seed = std::env::var("HOSTILE_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(120);
    run(inputs, seed);
}

/// The greatest texts that are read at all, made to take as much memory as they can.
#[test]
fn the_longest_texts_stay_within_bounds() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let fill = |before: &str, part: &str, after: &str| {
        let parts = (record_file::MOST_JOB - before.len() - after.len()) / part.len();
        format!("{before}{}{after}", part.repeat(parts).trim_end_matches(','))
    };
    let job = |before: &str, part: &str, after: &str| {
        fill(&format!(r#"{{"v":2,"rev":1,"saved_at":0,"job":{{{before}"#), part, &format!("{after}}}}}"))
    };
    // As many objects as may be, each as heavy as an object gets, and the rest as numbers.
    let objects = |key: &str, object: &str, each: usize| {
        let all = object.repeat(record_file::MOST_OBJECTS / each - 4);
        job(&format!(r#""{key}":[{}],"y":["#, all.trim_end_matches(',')), "0,", "]")
    };
    let stored = [
        fill("[", "0,", "]"),
        fill("[", "[],", "]"),
        fill("", "[", ""),
        fill("\"", "x", "\""),
        job(r#""x":["#, "0,", "]"),
        job(r#""x":["#, "[],", "]"),
        job(r#""notes":""#, "x", "\""),
        job("", r#""notes":"","#, ""),
        objects("x", r#"{"":0},"#, 1),
        objects("lists", "{},", 1),
        objects("photos", "{},", 1),
        objects("observations", r#"{"of":{"card":""},"at":0,"seen":"done"},"#, 2),
    ];
    for text in &stored {
        assert!(record_file::fits(text) && text.len() > record_file::MOST_JOB / 2, "{} bytes", text.len());
        let (_, held) = peak(|| stored::open(text).is_ok());
        println!("{:?}… of {} bytes: {} KiB", &text[..60.min(text.len())], text.len(), held >> 10);
        assert!(held < MOST, "{} KiB: {}", held >> 10, &text[..90]);
    }
    let page = record_file::embed(&" <script ".repeat(800_000), &stored[0]);
    let (_, held) = peak(|| record_file::find(&page).is_ok());
    assert!(held < MOST);
    // The fullest link that opens: as many rows as may be, and nearly all the text that may be handed out.
    let row = Observation::new(Subject::Card("q".repeat(200)), Moment(0), Seen::Done, "");
    let full = Job { observations: vec![row; 5_000], ..Job::default() };
    let packed = link::pack(&full, &Leave::NOTHING);
    let (opened, held) = peak(|| link::open(&packed.letters()));
    println!(
        "a link of {} characters and {} rows: {} KiB",
        packed.letters().len(),
        full.observations.len(),
        held >> 10
    );
    assert!(!packed.over && matches!(opened, Ok(Opened::Job(job, _)) if *job == full) && held < MOST);
    let many = |part: &str| part.repeat(link::MOST_TEXT / part.len());
    for text in
        [many("#o"), many("#oA "), many("#n0 "), many("#n12345678901234567 "), many("%23o"), many("—"), many("z\n")]
    {
        let from = Instant::now();
        let (opened, held) = peak(|| link::open(&text));
        println!(
            "{:?}…: {:?}, {} KiB, {:?}",
            text.chars().take(8).collect::<String>(),
            opened,
            held >> 10,
            from.elapsed()
        );
        assert!(opened.is_err() && held < MOST && from.elapsed() < Duration::from_secs(LONG));
    }
}
