//! How fast the sums of the bus are.
//!
//!     cargo bench --no-default-features --bench bus
//!     cargo bench --no-default-features --bench bus -- --file capture.log
//!
//! The second form reads one capture from a file, three times, and prints the least seconds as JSON; it is for
//! `tests/crosscheck/bench_capture.py`.

use divan::{Bencher, black_box};
use sixty_ohms::core::bus::capture::Capture;
use sixty_ohms::core::bus::capture_line::{self, Seen};
use sixty_ohms::core::bus::frame::Content;
use sixty_ohms::core::bus::line::{Device, Line, Run, Spot, Terminator};
use sixty_ohms::core::bus::rvc;
use sixty_ohms::core::bus::termination::Meter;
use sixty_ohms::core::faults::bus::next::next;
use sixty_ohms::core::faults::bus::{Pair, Reading, all, explain, stop_at};
use sixty_ohms::core::units::{Metres, Ohms, OhmsPerMetre, Quantity};
use std::fmt::Write;
use std::time::Instant;

fn main() {
    let mut arguments = std::env::args().skip_while(|argument| argument != "--file");
    if arguments.next().is_some() {
        let path = arguments.next().expect("--file names a file");
        let text = std::fs::read_to_string(path).expect("the file can be read");
        println!("{{\"read\": {}, \"decode\": {}}}", least(|| read(&text)), least(|| decode(&text)));
        return;
    }
    divan::main();
}

fn least(what: impl Fn() -> u64) -> f64 {
    let time = |_| {
        let start = Instant::now();
        black_box(what());
        start.elapsed().as_secs_f64()
    };
    (0..3).map(time).fold(f64::INFINITY, f64::min)
}

/// A chain of devices, a metre and a half apart, terminated at both ends.
fn site(devices: usize) -> Line {
    let run = Run { length: Metres::of(1.5), per_metre: OhmsPerMetre::of(0.084), contacts: Ohms::of(0.02) };
    let mut line = Line { runs: vec![run; devices - 1], ..Line::default() };
    let each = Some(Ohms::of(15_000.0));
    line.devices = (0..devices)
        .map(|stop| Device {
            at: Spot::Trunk(stop_at(&line, stop)),
            between_wires: None,
            high_to_reference: each,
            low_to_reference: each,
        })
        .collect();
    line.terminators = [Spot::Trunk(Metres::of(0.0)), Spot::Trunk(line.length())]
        .map(|at| Terminator { at, ohms: Ohms::of(120.0) })
        .to_vec();
    line
}

fn readings(line: &Line, count: usize) -> Vec<Reading> {
    let end = Spot::Trunk(line.length());
    let start = Spot::Trunk(Metres::of(0.0));
    let pair = |at, ohm: f64| Reading::pair(at, Ohms::new(ohm).ok(), Ohms::of(0.1), Meter::USUAL);
    let wire = |pair_: Pair| Reading { pair: pair_, digit: Ohms::of(1.0), ..pair(start, 480.0) };
    let all = [pair(start, 118.6), pair(end, 121.3), wire(Pair::HighReference), wire(Pair::LowReference)];
    all[..count].to_vec()
}

/// One network, laid out and solved, read between the wires at one end.
#[divan::bench(args = [4, 16, 32, 64])]
fn network(bencher: Bencher, devices: usize) {
    let line = site(devices);
    bencher.bench_local(|| black_box(&line).pair_at(Spot::Trunk(Metres::of(0.0))));
}

/// All faults of a site, weighed by so many readings.
#[divan::bench(args = [(4, 1), (4, 4), (16, 1), (16, 2), (16, 4), (32, 2)])]
fn posterior(bencher: Bencher, (devices, count): (usize, usize)) {
    let line = site(devices);
    let readings = readings(&line, count);
    bencher.counter(all(&line).len()).bench_local(|| explain(black_box(&line), black_box(&readings)));
}

/// The reading that tells most next.
#[divan::bench(args = [(4, 1), (16, 1), (16, 2)])]
fn next_reading(bencher: Bencher, (devices, count): (usize, usize)) {
    let line = site(devices);
    let readings = readings(&line, count);
    bencher.bench_local(|| next(black_box(&line), black_box(&readings)));
}

const FRAMES: usize = 500_000;

/// RV-C status messages of four sources among other frames, as `candump -L` writes them.
fn capture_text() -> String {
    let mut text = String::with_capacity(FRAMES * 48);
    let mut seed = 60u64;
    for number in 0..FRAMES {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let micros = 1_700_000_000_000_000 + number as u64 * 731;
        let (seconds, micros) = (micros / 1_000_000, micros % 1_000_000);
        let data = seed ^ seed >> 29;
        let frame = match number % 4 {
            0 => format!("19FFFD{:02X}#{data:016X}", 0x80 + number / 4 % 4),
            1 => format!("19FFFC{:02X}#{data:016X}", 0x80 + number / 4 % 4),
            2 => format!("19FEC9{:02X}#{data:016X}", 0x80 + number / 4 % 4),
            _ => format!("{:03X}#{data:016X}", 0x100 + number / 4 % 32),
        };
        let _ = writeln!(text, "({seconds}.{micros:06}) can0 {frame}");
    }
    text
}

/// Times, talkers and load.
fn read(text: &str) -> u64 {
    let mut capture = Capture::new();
    // As a browser hands a file over.
    text.as_bytes().chunks(1 << 16).for_each(|chunk| capture.feed(chunk));
    capture.finish().lines
}

/// The same, and every RV-C message decoded.
fn decode(text: &str) -> u64 {
    let frames = text.lines().filter_map(|line| match capture_line::read(line).ok()??.seen {
        Seen::Frame(frame) => Some(frame),
        _ => None,
    });
    let messages = frames.filter_map(|frame| match frame.content {
        Content::Data(data) if frame.identifier.is_extended() => rvc::decode(frame.identifier.value(), data.as_slice()),
        _ => None,
    });
    read(text) + messages.map(black_box).count() as u64
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn capture_of_500_000_frames(bencher: Bencher) {
    let text = capture_text();
    bencher.counter(FRAMES).bench_local(|| read(black_box(&text)));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn capture_and_decode_500_000_frames(bencher: Bencher) {
    let text = capture_text();
    bencher.counter(FRAMES).bench_local(|| decode(black_box(&text)));
}
