//! A capture of bus traffic, read as it comes: who sends how often, how busy the bus is, at which bit rates that can be, and
//! what the messages of open protocols say.
//!
//! Feed it chunks of bytes, cut anywhere. What it keeps is bounded whatever comes: a line, the identifiers, the windows.
//! Nothing is fatal: a line that is not understood is counted, and the first of them are kept with their numbers.

use crate::core::bus::capture_line::{Moment, Problem, Record, Seen, read};
use crate::core::bus::frame::{Content, Data, Identifier};
use crate::core::bus::readings::Readings;
use crate::core::units::{BitRate, Fraction, Quantity, Seconds};
use std::collections::BTreeMap;

/// Identifiers kept, over all interfaces.
pub const MOST_TALKERS: usize = 8192;
/// Interfaces kept.
pub const MOST_INTERFACES: usize = 16;
/// Problems kept with their line; all are counted.
pub const MOST_PROBLEMS: usize = 20;
/// The longest line that can make sense: 64 bytes of data with time and name stay below 200.
const LONGEST_LINE: usize = 256;
/// Windows kept for each interface; when they are full, each two become one of twice the length.
const MOST_WINDOWS: usize = 512;
/// The first length of a window, µs.
const FIRST_WINDOW: u64 = 100_000;

/// What is known of one identifier on one interface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Talker {
    pub count: u64,
    pub first: Moment,
    pub last: Moment,
    /// Intervals between its frames; `None` with fewer than two.
    pub intervals: Option<Intervals>,
    /// From its last frame to the end of the capture.
    pub silence: Seconds,
    /// The shortest and the longest of its frames, bytes.
    pub bytes: (u8, u8),
    /// What its last data frame carried.
    pub data: Option<Data>,
}

/// Statistics of intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Intervals {
    pub mean: Seconds,
    pub least: Seconds,
    pub greatest: Seconds,
    /// Standard deviation of the intervals.
    pub jitter: Seconds,
}

/// Running sums of one identifier: Welford's method for the deviation.
#[derive(Clone, Copy, Debug)]
struct Running {
    count: u64,
    first: Moment,
    last: Moment,
    intervals: u64,
    mean: f64,
    squares: f64,
    least: u64,
    greatest: u64,
    bytes: (u8, u8),
    data: Option<Data>,
}

impl Running {
    fn new(at: Moment, bytes: u8, data: Option<Data>) -> Running {
        Running {
            count: 1,
            first: at,
            last: at,
            intervals: 0,
            mean: 0.0,
            squares: 0.0,
            least: u64::MAX,
            greatest: 0,
            bytes: (bytes, bytes),
            data,
        }
    }

    /// Adds a frame. An earlier one than the last adds no interval.
    fn add(&mut self, at: Moment, bytes: u8, data: Option<Data>) {
        self.count += 1;
        self.bytes = (self.bytes.0.min(bytes), self.bytes.1.max(bytes));
        self.data = data.or(self.data);
        self.first = self.first.min(at);
        if let Some(interval) = at.micros().checked_sub(self.last.micros()) {
            self.intervals += 1;
            let gap = interval as f64 - self.mean;
            self.mean += gap / self.intervals as f64;
            self.squares += gap * (interval as f64 - self.mean);
            self.least = self.least.min(interval);
            self.greatest = self.greatest.max(interval);
        }
        self.last = at;
    }

    fn talker(&self, end: Moment) -> Talker {
        let intervals = (self.intervals > 0).then(|| Intervals {
            mean: seconds(self.mean),
            least: seconds(self.least as f64),
            greatest: seconds(self.greatest as f64),
            jitter: seconds((self.squares / self.intervals as f64).max(0.0).sqrt()),
        });
        Talker {
            count: self.count,
            first: self.first,
            last: self.last,
            intervals,
            silence: seconds(end.micros().saturating_sub(self.last.micros()) as f64),
            bytes: self.bytes,
            data: self.data,
        }
    }
}

/// µs as a quantity; beyond its range (some months) it is its end.
fn seconds(micros: f64) -> Seconds {
    let (_, longest) = Seconds::KIND.range();
    Seconds::new((micros / 1e6).clamp(0.0, longest)).unwrap_or(Seconds::of(0.0))
}

/// Bits on the wire over time.
#[derive(Clone, Debug)]
struct Windows {
    start: Moment,
    /// µs of one window.
    length: u64,
    bits: Vec<u64>,
    /// The busiest window of the first length, by number and bits; and the one being filled.
    busiest: u64,
    filling: (u64, u64),
    total: u64,
}

impl Windows {
    fn new(start: Moment) -> Windows {
        Windows { start, length: FIRST_WINDOW, bits: Vec::new(), busiest: 0, filling: (0, 0), total: 0 }
    }

    fn add(&mut self, at: Moment, bits: u64) {
        self.total += bits;
        let since = at.micros().saturating_sub(self.start.micros());
        let number = since / FIRST_WINDOW;
        if self.filling.0 != number {
            self.filling = (number, 0);
        }
        self.filling.1 += bits;
        self.busiest = self.busiest.max(self.filling.1);
        while since / self.length >= MOST_WINDOWS as u64 {
            self.bits = self.bits.chunks(2).map(|pair| pair.iter().sum()).collect();
            self.length = self.length.saturating_mul(2);
        }
        let index = (since / self.length) as usize;
        if self.bits.len() <= index {
            self.bits.resize(index + 1, 0);
        }
        if let Some(window) = self.bits.get_mut(index) {
            *window += bits;
        }
    }
}

/// What is known of one interface.
#[derive(Clone, Debug)]
struct Interface {
    name: String,
    frames: u64,
    flexible: u64,
    errors: u64,
    first: Moment,
    last: Moment,
    windows: Windows,
    readings: Readings,
}

/// A capture being read.
#[derive(Clone, Debug, Default)]
pub struct Capture {
    line: Vec<u8>,
    too_long: bool,
    lines: u64,
    interfaces: Vec<Interface>,
    talkers: BTreeMap<(usize, Identifier), Running>,
    problems: Vec<(u64, Problem)>,
    problem_count: u64,
}

impl Capture {
    pub fn new() -> Capture {
        Capture::default()
    }

    /// Reads on. Chunks may be cut anywhere, within a line too.
    pub fn feed(&mut self, chunk: &[u8]) {
        for part in chunk.split_inclusive(|byte| *byte == b'\n') {
            let (text, ends) = match part.split_last() {
                Some((b'\n', text)) => (text, true),
                _ => (part, false),
            };
            if self.line.len() + text.len() > LONGEST_LINE {
                self.too_long = true;
                self.line.clear();
            }
            if !self.too_long {
                self.line.extend_from_slice(text);
            }
            if ends {
                self.end_line();
            }
        }
    }

    /// Reads the last line, if it has no line end, and sums up.
    pub fn finish(mut self) -> Report {
        if !self.line.is_empty() || self.too_long {
            self.end_line();
        }
        let end = |index: usize| self.interfaces.get(index).map_or(Moment::default(), |interface| interface.last);
        let talkers = self.talkers.iter().map(|((index, id), running)| (*index, *id, running.talker(end(*index))));
        let talkers: Vec<_> = talkers.collect();
        let interfaces = self.interfaces.into_iter().enumerate().map(|(index, interface)| Traffic {
            talkers: talkers.iter().filter(|(at, ..)| *at == index).map(|(_, id, talker)| (*id, *talker)).collect(),
            interface,
        });
        Report {
            lines: self.lines,
            interfaces: interfaces.collect(),
            problems: self.problems,
            problem_count: self.problem_count,
        }
    }

    fn end_line(&mut self) {
        self.lines += 1;
        if std::mem::take(&mut self.too_long) {
            self.line.clear();
            return self.problem(Problem::TooLong);
        }
        let mut line = std::mem::take(&mut self.line);
        match std::str::from_utf8(&line).map(read) {
            Ok(Ok(Some(record))) => self.add(&record),
            Ok(Ok(None)) => {}
            Ok(Err(problem)) => self.problem(problem),
            Err(_) => self.problem(Problem::NotText),
        }
        // The same memory for the next line.
        line.clear();
        self.line = line;
    }

    fn problem(&mut self, problem: Problem) {
        self.problem_count += 1;
        if self.problems.len() < MOST_PROBLEMS {
            self.problems.push((self.lines, problem));
        }
    }

    fn add(&mut self, record: &Record) {
        let index = match self.interfaces.iter().position(|interface| interface.name == record.interface) {
            Some(index) => index,
            None if self.interfaces.len() < MOST_INTERFACES => {
                self.interfaces.push(Interface {
                    name: record.interface.to_string(),
                    frames: 0,
                    flexible: 0,
                    errors: 0,
                    first: record.at,
                    last: record.at,
                    windows: Windows::new(record.at),
                    readings: Readings::default(),
                });
                self.interfaces.len() - 1
            }
            None => return self.problem(Problem::TooManyInterfaces),
        };
        let Some(interface) = self.interfaces.get_mut(index) else { return };
        let runs_back = record.at < interface.last;
        interface.last = interface.last.max(record.at);
        let seen = match record.seen {
            Seen::Frame(frame) => {
                interface.frames += 1;
                interface.windows.add(record.at, u64::from(frame.bits().on_wire()));
                Some(match frame.content {
                    Content::Data(data) => {
                        interface.readings.add(record.at, frame.identifier, data.as_slice());
                        (frame.identifier, data.as_slice().len() as u8, Some(data))
                    }
                    Content::Remote(count) => (frame.identifier, count, None),
                })
            }
            Seen::Flexible { identifier, bytes } => {
                interface.flexible += 1;
                Some((identifier, bytes, None))
            }
            Seen::Error => {
                interface.errors += 1;
                None
            }
        };
        if runs_back {
            self.problem(Problem::ClockRunsBack);
        }
        let Some((identifier, bytes, data)) = seen else { return };
        let room = self.talkers.len() < MOST_TALKERS;
        match self.talkers.entry((index, identifier)) {
            std::collections::btree_map::Entry::Occupied(mut known) => {
                known.get_mut().add(record.at, bytes, data);
            }
            std::collections::btree_map::Entry::Vacant(new) if room => {
                new.insert(Running::new(record.at, bytes, data));
            }
            std::collections::btree_map::Entry::Vacant(_) => self.problem(Problem::TooManyIdentifiers),
        }
    }
}

/// A capture summed up.
#[derive(Clone, Debug)]
pub struct Report {
    pub lines: u64,
    pub interfaces: Vec<Traffic>,
    /// The first problems, each with its line's number from 1.
    pub problems: Vec<(u64, Problem)>,
    pub problem_count: u64,
}

/// The traffic of one interface.
#[derive(Clone, Debug)]
pub struct Traffic {
    /// Identifiers in order, with what is known of each.
    pub talkers: Vec<(Identifier, Talker)>,
    interface: Interface,
}

/// Could the bus have run at this rate?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plausible {
    /// More bits were seen than the rate can carry.
    No,
    /// Possible, but busier than a bus should be (above 80 %).
    Crowded,
    Yes,
    /// Nothing was seen that could tell.
    Unknown,
}

/// The load over time at one bit rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Loads {
    /// Length of one window.
    pub window: Seconds,
    /// The load in each window from the start. The last one may be filled only in part.
    pub each: Vec<Fraction>,
    /// Over the whole capture.
    pub mean: Fraction,
    /// The busiest tenth of a second.
    pub busiest: Fraction,
}

/// Above this a bus is crowded (common practice, no source; the comfortable ceiling is 30–50 %).
const CROWDED: f64 = 0.8;

/// Bits of one frame that may have begun before its window: a window may hold so many more than its length allows.
const OVERHANG: f64 = 160.0;

impl Traffic {
    pub fn name(&self) -> &str {
        &self.interface.name
    }

    /// Data and remote frames.
    pub fn frames(&self) -> u64 {
        self.interface.frames
    }

    /// Frames with flexible data rate: they count neither for load nor for bit rate.
    pub fn flexible(&self) -> u64 {
        self.interface.flexible
    }

    /// Reports of the recorder's controller.
    pub fn errors(&self) -> u64 {
        self.interface.errors
    }

    /// What the messages of open protocols say.
    pub fn readings(&self) -> &Readings {
        &self.interface.readings
    }

    /// From the first line to the latest.
    pub fn duration(&self) -> Seconds {
        seconds(self.interface.last.micros().saturating_sub(self.interface.first.micros()) as f64)
    }

    /// How busy the bus was, if it ran at this rate. Exact stuffed lengths with the gap.
    pub fn loads(&self, bit_rate: BitRate) -> Loads {
        let windows = &self.interface.windows;
        let share = |bits: u64, micros: f64| {
            let most = bit_rate.get() * micros / 1e6;
            Fraction::new(if most > 0.0 { bits as f64 / most } else { 0.0 }).unwrap_or(Fraction::of(0.0))
        };
        let window = windows.length as f64;
        Loads {
            window: seconds(window),
            each: windows.bits.iter().map(|bits| share(*bits, window)).collect(),
            mean: share(windows.total, self.duration().get() * 1e6),
            busiest: share(windows.busiest, FIRST_WINDOW as f64),
        }
    }

    /// Could the bus have run at this rate? No tenth of a second can hold more bits than the rate gives it.
    pub fn plausible(&self, bit_rate: BitRate) -> Plausible {
        if self.interface.frames == 0 {
            return Plausible::Unknown;
        }
        let busiest = self.interface.windows.busiest as f64;
        let most = bit_rate.get() * FIRST_WINDOW as f64 / 1e6;
        if busiest > most + OVERHANG {
            Plausible::No
        } else if busiest > CROWDED * most {
            Plausible::Crowded
        } else {
            Plausible::Yes
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn report(text: &str) -> Report {
        let mut capture = Capture::new();
        capture.feed(text.as_bytes());
        capture.finish()
    }

    /// `count` frames of 8 bytes, one every `step` µs.
    fn stream(count: u64, step: u64) -> String {
        (0..count)
            .map(|n| {
                let at = 1_000_000_000 + n * step;
                format!("({}.{:06}) can0 123#0011223344556677\n", at / 1_000_000, at % 1_000_000)
            })
            .collect()
    }

    #[test]
    fn chunks_may_be_cut_anywhere() {
        let text = stream(50, 10_000);
        let whole = report(&text);
        for size in [1, 7, 64] {
            let mut capture = Capture::new();
            text.as_bytes().chunks(size).for_each(|chunk| capture.feed(chunk));
            let cut = capture.finish();
            assert_eq!(cut.interfaces[0].talkers, whole.interfaces[0].talkers);
            assert_eq!((cut.lines, cut.problem_count), (50, 0));
        }
    }

    #[test]
    fn intervals_are_those_of_the_frames() {
        let text = "(0.0) can0 100#\n(0.1) can0 100#\n(0.3) can0 100#\n(1.0) can0 200#\n";
        let talker = report(text).interfaces[0].talkers[0].1;
        let intervals = talker.intervals.unwrap();
        assert_eq!(talker.count, 3);
        assert!((intervals.mean.get() - 0.15).abs() < 1e-12);
        assert_eq!((intervals.least, intervals.greatest), (Seconds::of(0.1), Seconds::of(0.2)));
        assert!((intervals.jitter.get() - 0.05).abs() < 1e-12);
        assert!((talker.silence.get() - 0.7).abs() < 1e-12);
    }

    #[test]
    fn load_counts_every_bit() {
        // 113 bits on the wire, 100 frames a second: 4.52 % at 250 kbit/s.
        let loads = report(&stream(1001, 10_000)).interfaces[0].loads(BitRate::of(250e3));
        assert!((loads.busiest.get() - 0.0452).abs() < 1e-9);
        assert!((loads.mean.get() - 0.0452 * 1.001).abs() < 1e-9);
        assert_eq!(loads.window, Seconds::of(0.1));
    }

    #[test]
    fn a_full_bus_rules_out_slower_rates() {
        // Back to back at 500 kbit/s: 113 bits take 226 µs.
        let traffic = report(&stream(5000, 226)).interfaces.remove(0);
        assert_eq!(traffic.plausible(BitRate::of(125e3)), Plausible::No);
        assert_eq!(traffic.plausible(BitRate::of(250e3)), Plausible::No);
        assert_eq!(traffic.plausible(BitRate::of(500e3)), Plausible::Crowded);
        assert_eq!(traffic.plausible(BitRate::of(1e6)), Plausible::Yes);
    }

    #[test]
    fn windows_widen_so_that_a_long_capture_fits() {
        let traffic = report(&stream(3000, 1_000_000)).interfaces.remove(0);
        let loads = traffic.loads(BitRate::of(250e3));
        assert!(loads.each.len() <= MOST_WINDOWS && loads.window > Seconds::of(1.0));
        let bits: f64 = loads.each.iter().map(|load| load.get() * loads.window.get() * 250e3).sum();
        assert!((bits - 3000.0 * 113.0).abs() < 1e-3, "{bits}");
    }

    #[test]
    fn nothing_is_fatal() {
        let mut capture = Capture::new();
        capture.feed(b"rubbish\n\xFF\xFE\n");
        capture.feed(&[b'x'; 10_000]);
        capture.feed(b"\n(2.0) can0 123#00\n(1.0) can0 123#00\n(3.0) can0 123#0");
        let report = capture.finish();
        let kinds: Vec<_> = report.problems.iter().map(|(line, problem)| (*line, *problem)).collect();
        assert_eq!(
            kinds,
            vec![
                (1, Problem::Time),
                (2, Problem::NotText),
                (3, Problem::TooLong),
                (5, Problem::ClockRunsBack),
                (6, Problem::Data)
            ]
        );
        assert_eq!(report.interfaces[0].talkers[0].1.count, 2);
    }

    #[test]
    fn memory_is_bounded() {
        let mut capture = Capture::new();
        for id in 0..MOST_TALKERS as u32 + 500 {
            capture.feed(format!("(0.0) can{} {id:08X}#\n", id % 3).as_bytes());
        }
        for n in 0..MOST_INTERFACES + 5 {
            capture.feed(format!("(0.0) vcan{n} 123#\n").as_bytes());
        }
        let report = capture.finish();
        assert_eq!(report.interfaces.len(), MOST_INTERFACES);
        assert_eq!(report.interfaces.iter().map(|traffic| traffic.talkers.len()).sum::<usize>(), MOST_TALKERS);
        assert_eq!(report.problems.len(), MOST_PROBLEMS);
        // 500 identifiers too many, 13 more on the interfaces that still fit, 8 interfaces too many.
        assert_eq!(report.problem_count, 500 + 13 + 8);
    }
}
