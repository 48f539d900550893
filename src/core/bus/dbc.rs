//! Signal descriptions in the DBC form: which bits of which frame are which figure.
//!
//! Read are messages (`BO_`), signals (`SG_`) with one multiplexer, names of values (`VAL_`) and the type of a value
//! (`SIG_VALTYPE_`); everything else is passed over. Nothing is fatal: a line that is not understood is counted, and the first
//! are kept with their numbers. The crate can-dbc 10 reads more, but gives nothing of a file with one mistake and adds 32 kB to
//! what a phone is sent (brotli 11); the tests hold this reader against it.
//!
//! A signal's unit is free text, so that its figure is a bare number here and nowhere else.

use crate::core::bus::frame::Identifier;
use std::collections::BTreeMap;

/// The largest file that is read, bytes.
pub const MOST_BYTES: usize = 8 * 1024 * 1024;
/// Messages and signals kept in all.
pub const MOST_MESSAGES: usize = 4096;
pub const MOST_SIGNALS: usize = 32_768;
/// Problems kept with their line; all are counted.
pub const MOST_PROBLEMS: usize = 20;
/// Names of values kept for each signal, and the longest name or unit that is shown.
const MOST_NAMES: usize = 256;
const LONGEST_NAME: usize = 64;
/// Bit 31 of a message number says that the identifier has 29 bits.
const EXTENDED: u32 = 1 << 31;
/// The message under which editors keep signals without one.
const NO_MESSAGE: u32 = 0xC000_0000;
/// In descriptions of J1939 this source address stands for any (common practice, no source).
const ANY_ADDRESS: u32 = 0xFE;

/// Why a line was not understood.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Problem {
    TooLarge,
    Message,
    Signal,
    /// A signal before any message.
    NoMessage,
    /// A multiplexer within another one.
    NestedMultiplexer,
    Values,
    TooMany,
}

impl Problem {
    pub const ALL: [Problem; 7] = [
        Problem::TooLarge,
        Problem::Message,
        Problem::Signal,
        Problem::NoMessage,
        Problem::NestedMultiplexer,
        Problem::Values,
        Problem::TooMany,
    ];

    /// A short key, the same in every language.
    pub const fn key(self) -> &'static str {
        match self {
            Problem::TooLarge => "too-large",
            Problem::Message => "message",
            Problem::Signal => "signal",
            Problem::NoMessage => "no-message",
            Problem::NestedMultiplexer => "nested-multiplexer",
            Problem::Values => "values",
            Problem::TooMany => "too-many",
        }
    }
}

/// When a signal is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    Always,
    /// It says which of the others are there.
    Switch,
    /// Only when the switch has this value.
    At(u64),
}

/// How the bits are a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coding {
    Unsigned,
    Signed,
    Float,
    Double,
}

/// One signal.
#[derive(Clone, Debug, PartialEq)]
pub struct Signal {
    pub name: String,
    pub when: When,
    pub start: u16,
    /// 1 to 64.
    pub bits: u8,
    pub little_endian: bool,
    pub coding: Coding,
    pub factor: f64,
    pub offset: f64,
    pub unit: String,
    /// Names of raw values.
    pub names: BTreeMap<i64, String>,
}

/// One message.
#[derive(Clone, Debug, PartialEq)]
pub struct Message {
    pub name: String,
    pub signals: Vec<Signal>,
}

/// A description, read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Dbc {
    pub messages: BTreeMap<Identifier, Message>,
    /// The first problems, each with its line's number from 1.
    pub problems: Vec<(u64, Problem)>,
    pub problem_count: u64,
}

/// A signal's value in one frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Decoded<'a> {
    pub name: &'a str,
    pub value: f64,
    pub unit: &'a str,
    /// What the file calls this value.
    pub named: Option<&'a str>,
}

impl Dbc {
    /// Reads a file. Bytes that are not UTF-8 are taken as Latin-1, as older editors write it.
    pub fn read(bytes: &[u8]) -> Dbc {
        let mut dbc = Dbc::default();
        if bytes.len() > MOST_BYTES {
            dbc.problem(0, Problem::TooLarge);
            return dbc;
        }
        let text = match std::str::from_utf8(bytes) {
            Ok(text) => text.to_string(),
            Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
        };
        let mut current: Option<Identifier> = None;
        let mut signals = 0usize;
        // A quoted text may run over several lines; what stands in it is no statement.
        let mut quoted = false;
        for (index, line) in text.lines().enumerate() {
            let number = index as u64 + 1;
            let begins_quoted = quoted;
            quoted ^= line.matches('"').count() % 2 == 1;
            if begins_quoted {
                continue;
            }
            let line = line.trim();
            let read = if let Some(rest) = statement(line, "BO_") {
                dbc.message(rest, &mut current)
            } else if let Some(rest) = statement(line, "SG_") {
                dbc.signal(rest, current, &mut signals)
            } else if let Some(rest) = statement(line, "VAL_") {
                dbc.values(rest)
            } else if let Some(rest) = statement(line, "SIG_VALTYPE_") {
                dbc.value_type(rest)
            } else {
                Ok(())
            };
            if let Err(problem) = read {
                dbc.problem(number, problem);
            }
        }
        dbc
    }

    fn problem(&mut self, line: u64, problem: Problem) {
        self.problem_count += 1;
        if self.problems.len() < MOST_PROBLEMS {
            self.problems.push((line, problem));
        }
    }

    /// `number Name: bytes sender`
    fn message(&mut self, rest: &str, current: &mut Option<Identifier>) -> Result<(), Problem> {
        *current = None;
        let (number, rest) = word(rest).ok_or(Problem::Message)?;
        if number.parse() == Ok(NO_MESSAGE) {
            return Ok(());
        }
        let id = identifier(number).ok_or(Problem::Message)?;
        let (name, _) = rest.split_once(':').ok_or(Problem::Message)?;
        let name = name.trim();
        if name.is_empty() || name.contains(char::is_whitespace) {
            return Err(Problem::Message);
        }
        if self.messages.len() >= MOST_MESSAGES {
            return Err(Problem::TooMany);
        }
        self.messages.entry(id).or_insert_with(|| Message { name: short(name), signals: Vec::new() });
        *current = Some(id);
        Ok(())
    }

    fn signal(&mut self, rest: &str, current: Option<Identifier>, count: &mut usize) -> Result<(), Problem> {
        let message = current.and_then(|id| self.messages.get_mut(&id)).ok_or(Problem::NoMessage)?;
        let signal = signal(rest)?;
        if *count >= MOST_SIGNALS {
            return Err(Problem::TooMany);
        }
        *count += 1;
        message.signals.push(signal);
        Ok(())
    }

    fn signal_mut(&mut self, number: &str, name: &str) -> Option<&mut Signal> {
        let message = self.messages.get_mut(&identifier(number)?)?;
        message.signals.iter_mut().find(|signal| signal.name == name)
    }

    /// `number Signal 0 "name" 1 "name" ;` Values of an environment variable have no number: passed over.
    fn values(&mut self, rest: &str) -> Result<(), Problem> {
        let (number, rest) = word(rest).ok_or(Problem::Values)?;
        if !number.starts_with(|c: char| c.is_ascii_digit()) {
            return Ok(());
        }
        let (name, mut rest) = word(rest).ok_or(Problem::Values)?;
        let mut names = BTreeMap::new();
        while let Some((value, after)) = word(rest) {
            if value == ";" {
                break;
            }
            let value: i64 = value.parse().map_err(|_| Problem::Values)?;
            let (text, after) =
                after.trim_start().strip_prefix('"').and_then(|after| after.split_once('"')).ok_or(Problem::Values)?;
            if names.len() < MOST_NAMES {
                names.insert(value, short(text));
            }
            rest = after;
        }
        if let Some(signal) = self.signal_mut(number, name) {
            signal.names = names;
        }
        Ok(())
    }

    /// `number Signal : 1;` 1 is a float of 32 bits, 2 one of 64.
    fn value_type(&mut self, rest: &str) -> Result<(), Problem> {
        let (head, kind) = rest.split_once(':').ok_or(Problem::Values)?;
        let (number, name) = word(head).ok_or(Problem::Values)?;
        let kind = kind.trim().trim_end_matches(';').trim();
        if let Some(signal) = self.signal_mut(number, name.trim()) {
            signal.coding = match (kind, signal.bits) {
                ("0", _) => signal.coding,
                ("1", 32) => Coding::Float,
                ("2", 64) => Coding::Double,
                _ => return Err(Problem::Values),
            };
        }
        Ok(())
    }

    /// The message that describes an identifier: its own, or the one of its parameter group with any source address.
    pub fn message_of(&self, id: Identifier) -> Option<&Message> {
        let any = || {
            let any = Identifier::extended(id.value() & !0xFF | ANY_ADDRESS).filter(|_| id.is_extended())?;
            self.messages.get(&any)
        };
        self.messages.get(&id).or_else(any)
    }

    /// The signals that a frame carries. Those that its data are too short for are left out.
    pub fn decode(&self, id: Identifier, data: &[u8]) -> Vec<Decoded<'_>> {
        let Some(message) = self.message_of(id) else { return Vec::new() };
        let switch = message.signals.iter().find(|signal| signal.when == When::Switch);
        let switched = switch.and_then(|signal| signal.raw(data));
        message
            .signals
            .iter()
            .filter(|signal| match signal.when {
                When::Always | When::Switch => true,
                When::At(value) => switched == Some(value),
            })
            .filter_map(|signal| {
                let raw = signal.raw(data)?;
                let named = signal.whole(raw).and_then(|whole| signal.names.get(&whole));
                Some(Decoded {
                    name: &signal.name,
                    value: signal.value(raw),
                    unit: &signal.unit,
                    named: named.map(String::as_str),
                })
            })
            .collect()
    }
}

impl Signal {
    /// Its bits; `None` when the data are too short.
    ///
    /// Little-endian, the start is the lowest bit and bits run upwards. Big-endian, the start is the highest bit and bits run
    /// down within a byte, then on at the top of the next.
    pub fn raw(&self, data: &[u8]) -> Option<u64> {
        let mut at = self.start;
        let mut raw = 0u64;
        for n in 0..self.bits {
            let bit = u64::from(data.get(usize::from(at / 8))? >> (at % 8) & 1);
            if self.little_endian {
                raw |= bit << n;
                at += 1;
            } else {
                raw = raw << 1 | bit;
                at = if at.is_multiple_of(8) { at + 15 } else { at - 1 };
            }
        }
        Some(raw)
    }

    /// The raw value as a whole number, with its sign.
    fn whole(&self, raw: u64) -> Option<i64> {
        match self.coding {
            Coding::Unsigned => i64::try_from(raw).ok(),
            Coding::Signed => {
                let unused = 64 - u32::from(self.bits);
                Some((raw << unused) as i64 >> unused)
            }
            Coding::Float | Coding::Double => None,
        }
    }

    fn value(&self, raw: u64) -> f64 {
        let number = match self.coding {
            Coding::Unsigned => raw as f64,
            Coding::Signed => self.whole(raw).unwrap_or(0) as f64,
            Coding::Float => f64::from(f32::from_bits(raw as u32)),
            Coding::Double => f64::from_bits(raw),
        };
        number * self.factor + self.offset
    }
}

/// What follows a statement's name, if the line begins with it.
fn statement<'a>(line: &'a str, name: &str) -> Option<&'a str> {
    line.strip_prefix(name).filter(|rest| rest.starts_with(char::is_whitespace)).map(str::trim_start)
}

/// The first word, and the rest.
fn word(text: &str) -> Option<(&str, &str)> {
    let text = text.trim_start();
    let end = text.find(char::is_whitespace).unwrap_or(text.len());
    (end > 0).then(|| text.split_at(end))
}

fn short(text: &str) -> String {
    text.chars().take(LONGEST_NAME).collect()
}

fn identifier(number: &str) -> Option<Identifier> {
    let number: u32 = number.parse().ok()?;
    if number & EXTENDED != 0 { Identifier::extended(number & !EXTENDED) } else { Identifier::base(number) }
}

/// `Name [M|m0] : start|bits@order sign (factor,offset) [low|high] "unit" receivers`
fn signal(rest: &str) -> Result<Signal, Problem> {
    let (head, body) = rest.split_once(':').ok_or(Problem::Signal)?;
    let mut words = head.split_whitespace();
    let name = words.next().ok_or(Problem::Signal)?;
    let when = match words.next() {
        None => When::Always,
        Some("M") => When::Switch,
        Some(mark) => {
            let value = mark.strip_prefix('m').ok_or(Problem::Signal)?;
            if value.ends_with('M') {
                return Err(Problem::NestedMultiplexer);
            }
            When::At(value.parse().map_err(|_| Problem::Signal)?)
        }
    };
    if words.next().is_some() {
        return Err(Problem::Signal);
    }
    let read = || {
        let (bits, rest) = body.split_once('(')?;
        let bits: String = bits.chars().filter(|c| !c.is_whitespace()).collect();
        let (start, bits) = bits.split_once('|')?;
        let (count, order) = bits.split_once('@')?;
        let (little_endian, coding) = match order {
            "1+" => (true, Coding::Unsigned),
            "1-" => (true, Coding::Signed),
            "0+" => (false, Coding::Unsigned),
            "0-" => (false, Coding::Signed),
            _ => return None,
        };
        let (scale, rest) = rest.split_once(')')?;
        let (factor, offset) = scale.split_once(',')?;
        let number = |text: &str| text.trim().parse().ok().filter(|value: &f64| value.is_finite());
        // The unit is the first quoted text; names of receivers follow it.
        let unit = rest.split('"').nth(1)?;
        Some(Signal {
            name: short(name),
            when,
            // 64 bytes are the most that any frame carries.
            start: start.parse().ok().filter(|start| *start < 512)?,
            bits: count.parse().ok().filter(|bits| (1..=64).contains(bits))?,
            little_endian,
            coding,
            factor: number(factor)?,
            offset: number(offset)?,
            unit: short(unit),
            names: BTreeMap::new(),
        })
    };
    read().ok_or(Problem::Signal)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = r#"VERSION "1"
NS_ :
BU_: A B
BO_ 2583690624 SOURCE: 8 A
 SG_ Volts : 16|16@1+ (0.05,0) [0|3212.5] "V" B
 SG_ Amps : 32|32@1+ (0.001,-2000000) [0|0] "A" B
BO_ 291 Mixed: 8 A
 SG_ Page M : 0|4@1+ (1,0) [0|15] "" B
 SG_ Cold m1 : 15|12@0- (0.1,0) [-100|100] "°C" B
 SG_ Mode m2 : 8|2@1+ (1,0) [0|3] "" B
BO_ 3221225472 VECTOR__INDEPENDENT_SIG_MSG: 0 Vector__XXX
CM_ BO_ 291 "a note over
BO_ 5 lines: 8 A
three";
VAL_ 291 Mode 0 "off" 1 "on it is" ;
"#;

    fn decode(dbc: &Dbc, id: Identifier, hex: &[u8]) -> Vec<(String, f64, String)> {
        let signals = dbc.decode(id, hex);
        signals.iter().map(|s| (s.name.into(), s.value, s.named.unwrap_or(s.unit).into())).collect()
    }

    #[test]
    fn signals_of_both_byte_orders_and_a_multiplexer() {
        let dbc = Dbc::read(FILE.as_bytes());
        assert_eq!((dbc.messages.len(), dbc.problem_count), (2, 0), "{:?}", dbc.problems);
        let source = Identifier::extended(0x19FF_FD80).unwrap();
        assert_eq!(2_583_690_624, EXTENDED | 0x19FF_FD80 & 0xFFFF_FF00 | 0x80);
        let read = decode(&dbc, source, &[1, 0x78, 0x0A, 1, 0x9C, 0xF7, 0x35, 0x77]);
        assert!((read[0].1 - 13.3).abs() < 1e-9 && read[0].2 == "V");
        assert!((read[1].1 - 25.5).abs() < 1e-9);
        let mixed = Identifier::base(291).unwrap();
        // Big-endian from the top of byte 1: 0xFFE is −2.
        let read = decode(&dbc, mixed, &[1, 0xFF, 0xE0]);
        assert_eq!(read.iter().map(|s| s.0.as_str()).collect::<Vec<_>>(), vec!["Page", "Cold"]);
        assert!((read[1].1 + 0.2).abs() < 1e-12 && read[1].2 == "°C");
        assert_eq!(decode(&dbc, mixed, &[2, 1])[1], ("Mode".into(), 1.0, "on it is".into()));
        // Too short for the temperature; an identifier without a message.
        assert_eq!(decode(&dbc, mixed, &[1, 0xFF]).len(), 1);
        assert_eq!(dbc.decode(Identifier::base(5).unwrap(), &[0; 8]), vec![]);
    }

    #[test]
    fn floats_and_any_source_address() {
        let file = "BO_ 2583690750 P: 8 A\n SG_ T : 0|32@1- (1,0) [0|0] \"\" B\nSIG_VALTYPE_ 2583690750 T : 1;\n";
        let dbc = Dbc::read(file.as_bytes());
        assert_eq!(dbc.problem_count, 0, "{:?}", dbc.problems);
        let bytes = 13.25f32.to_le_bytes();
        for address in [0x80, 0xFE, 0x01] {
            let id = Identifier::extended(0x19FF_FD00 | address).unwrap();
            assert_eq!(dbc.decode(id, &bytes).first().map(|s| s.value), Some(13.25), "{address:X}");
        }
        assert_eq!(dbc.decode(Identifier::extended(0x19FF_FC80).unwrap(), &bytes), vec![]);
    }

    #[test]
    fn what_is_wrong_is_counted_with_its_line() {
        let file = "SG_ Lost : 0|8@1+ (1,0) [0|0] \"\" B\nBO_ x Y: 8 A\nBO_ 4096 Y: 8 A\nBO_ 1 Y: 8 A\n\
             SG_ A : 0|65@1+ (1,0) [0|0] \"\" B\nSG_ A : 0|8@2+ (1,0) [0|0] \"\" B\nSG_ A m1M : 0|8@1+ (1,0) [0|0] \"\" B\n\
             SG_ A : 0|8@1+ (1,inf) [0|0] \"\" B\nSG_ A : 0|8@1+ (1,0) [0|0] B\nVAL_ 1 A x \"y\" ;\nSG_ A : 0|8@1+ (1,0) [0|0] \"\" B\n";
        let dbc = Dbc::read(file.as_bytes());
        let expected = [
            (1, Problem::NoMessage),
            (2, Problem::Message),
            (3, Problem::Message),
            (5, Problem::Signal),
            (6, Problem::Signal),
            (7, Problem::NestedMultiplexer),
            (8, Problem::Signal),
            (9, Problem::Signal),
            (10, Problem::Values),
        ];
        assert_eq!(dbc.problems, expected);
        assert_eq!(dbc.messages[&Identifier::base(1).unwrap()].signals.len(), 1);
    }

    #[test]
    fn old_letters_and_large_files() {
        let dbc = Dbc::read(b"BO_ 1 Y: 8 A\nSG_ A : 0|8@1+ (1,0) [0|0] \"\xB0C\" B\n");
        assert_eq!(dbc.messages.values().next().map(|m| m.signals[0].unit.as_str()), Some("°C"));
        let dbc = Dbc::read(&vec![b' '; MOST_BYTES + 1]);
        assert_eq!(dbc.problems, vec![(0, Problem::TooLarge)]);
    }
}
