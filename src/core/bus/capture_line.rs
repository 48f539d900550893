//! One line of a capture in the text form that `candump -L` writes.
//!
//! `(seconds.micros) interface ID#DATA`: three hexadecimal digits are an identifier of 11 bits, eight one of 29 bits (or
//! an error report); `#R` is a remote frame, `##f` a frame with flexible data rate (documentation of the crate
//! socketcan 4.0.0; python-can's reader).

use crate::core::bus::frame::{Content, Data, Frame, Identifier};
use std::fmt;

/// A moment of a capture, µs since whatever the recorder counts from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment(u64);

impl Moment {
    pub const fn from_micros(micros: u64) -> Moment {
        Moment(micros)
    }

    pub const fn micros(self) -> u64 {
        self.0
    }
}

/// What a line holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    Frame(Frame),
    /// A frame with flexible data rate, 0 to 64 bytes: counted, not read.
    Flexible {
        identifier: Identifier,
        bytes: u8,
    },
    /// A report of the recorder's own controller, no frame.
    Error,
}

/// A line that was understood.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Record<'a> {
    pub at: Moment,
    pub interface: &'a str,
    pub seen: Seen,
}

/// Why a line was not understood.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Problem {
    /// Longer than any such line can be.
    TooLong,
    NotText,
    Time,
    Interface,
    /// Not of the form ID#DATA.
    Form,
    Identifier,
    Data,
    /// Something after the frame that is no direction mark.
    Tail,
    /// Earlier than the line before it: the interval is left out.
    ClockRunsBack,
    /// More identifiers than are kept: the frame counts for the load only.
    TooManyIdentifiers,
    TooManyInterfaces,
}

impl Problem {
    pub const ALL: [Problem; 11] = [
        Problem::TooLong,
        Problem::NotText,
        Problem::Time,
        Problem::Interface,
        Problem::Form,
        Problem::Identifier,
        Problem::Data,
        Problem::Tail,
        Problem::ClockRunsBack,
        Problem::TooManyIdentifiers,
        Problem::TooManyInterfaces,
    ];

    /// A short key, the same in every language.
    pub const fn key(self) -> &'static str {
        match self {
            Problem::TooLong => "too-long",
            Problem::NotText => "not-text",
            Problem::Time => "time",
            Problem::Interface => "interface",
            Problem::Form => "form",
            Problem::Identifier => "identifier",
            Problem::Data => "data",
            Problem::Tail => "tail",
            Problem::ClockRunsBack => "clock-runs-back",
            Problem::TooManyIdentifiers => "too-many-identifiers",
            Problem::TooManyInterfaces => "too-many-interfaces",
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Problem::TooLong => "the line is too long",
            Problem::NotText => "the line is not text",
            Problem::Time => "the line does not begin with a time in brackets",
            Problem::Interface => "the name of the interface is missing or too long",
            Problem::Form => "the frame is not of the form ID#DATA",
            Problem::Identifier => "the identifier is not 3 or 8 hexadecimal digits in range",
            Problem::Data => "the data are not whole bytes in hexadecimal, or too many",
            Problem::Tail => "something follows the frame",
            Problem::ClockRunsBack => "the time is earlier than the line before",
            Problem::TooManyIdentifiers => "there are more identifiers than are kept",
            Problem::TooManyInterfaces => "there are more interfaces than are kept",
        })
    }
}

impl std::error::Error for Problem {}

/// Linux names have at most 15 characters.
const INTERFACE_LONGEST: usize = 15;
/// Error reports carry this flag in their identifier (Linux `include/uapi/linux/can.h`, from memory).
const ERROR_FLAG: u32 = 0x2000_0000;

/// Reads one line without its line end. An empty line or a comment (`#`, `;`) is `None`.
pub fn read(line: &str) -> Result<Option<Record<'_>>, Problem> {
    let line = line.trim();
    if line.is_empty() || line.starts_with(['#', ';']) {
        return Ok(None);
    }
    let rest = line.strip_prefix('(').ok_or(Problem::Time)?;
    let (time, rest) = rest.split_once(')').ok_or(Problem::Time)?;
    let at = moment(time.trim())?;
    let mut words = rest.split_whitespace();
    let interface = words.next().filter(|name| name.len() <= INTERFACE_LONGEST).ok_or(Problem::Interface)?;
    let seen = seen(words.next().ok_or(Problem::Form)?)?;
    // Newer recorders add a mark for received or transmitted.
    if words.any(|word| !matches!(word, "R" | "T")) {
        return Err(Problem::Tail);
    }
    Ok(Some(Record { at, interface, seen }))
}

/// Seconds with up to nine decimals; those beyond the microsecond are dropped.
fn moment(text: &str) -> Result<Moment, Problem> {
    let (seconds, decimals) = text.split_once('.').unwrap_or((text, ""));
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if seconds.is_empty() || !digits(seconds) || !digits(decimals) || decimals.len() > 9 {
        return Err(Problem::Time);
    }
    let seconds: u64 = seconds.parse().map_err(|_| Problem::Time)?;
    let micros = decimals
        .bytes()
        .chain(std::iter::repeat(b'0'))
        .take(6)
        .fold(0u64, |sum, digit| sum * 10 + u64::from(digit - b'0'));
    seconds.checked_mul(1_000_000).and_then(|whole| whole.checked_add(micros)).map(Moment).ok_or(Problem::Time)
}

fn seen(text: &str) -> Result<Seen, Problem> {
    let (id, data) = text.split_once('#').ok_or(Problem::Form)?;
    if !id.bytes().all(|b| b.is_ascii_hexdigit()) {
        return Err(Problem::Identifier);
    }
    let value = u32::from_str_radix(id, 16).map_err(|_| Problem::Identifier)?;
    let identifier = match id.len() {
        3 => Identifier::base(value),
        8 if value & !(ERROR_FLAG | 0x1FFF_FFFF) == 0 && value & ERROR_FLAG != 0 => return Ok(Seen::Error),
        8 => Identifier::extended(value),
        _ => None,
    }
    .ok_or(Problem::Identifier)?;

    if let Some(flexible) = data.strip_prefix('#') {
        let mut chars = flexible.chars();
        let flags = chars.next().is_some_and(|c| c.is_ascii_hexdigit());
        let rest = chars.as_str();
        if !flags || rest.len() % 2 == 1 || rest.len() > 128 || !rest.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(Problem::Data);
        }
        return Ok(Seen::Flexible { identifier, bytes: (rest.len() / 2) as u8 });
    }
    // A length code above 8 may follow the data as "_9" to "_F"; the frame still has 8 bytes.
    let (data, code) = data.split_once('_').map_or((data, None), |(data, code)| (data, Some(code)));
    if code.is_some_and(|code| code.len() != 1 || !matches!(code.as_bytes(), [b'9' | b'A'..=b'F' | b'a'..=b'f'])) {
        return Err(Problem::Data);
    }
    let content = match data.strip_prefix(['R', 'r']) {
        Some("") => Content::Remote(0),
        Some(count) => Content::Remote(count.parse().ok().filter(|count| *count <= 8).ok_or(Problem::Data)?),
        None => Content::Data(Data::from_hex(data).ok_or(Problem::Data)?),
    };
    Ok(Seen::Frame(Frame { identifier, content }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(text: &str) -> Seen {
        read(&format!("(1436509052.249713) can0 {text}")).unwrap().unwrap().seen
    }

    #[test]
    fn reads_every_kind_of_frame() {
        let base = Identifier::base(0x044).unwrap();
        let extended = Identifier::extended(0x19FF_FD80).unwrap();
        let data = |hex: &str| Content::Data(Data::from_hex(hex).unwrap());
        assert_eq!(frame("044#2A366C2BBA"), Seen::Frame(Frame { identifier: base, content: data("2A366C2BBA") }));
        assert_eq!(frame("19FFFD80#01"), Seen::Frame(Frame { identifier: extended, content: data("01") }));
        assert_eq!(frame("044#"), Seen::Frame(Frame { identifier: base, content: data("") }));
        assert_eq!(frame("044#R"), Seen::Frame(Frame { identifier: base, content: Content::Remote(0) }));
        assert_eq!(frame("044#R4"), Seen::Frame(Frame { identifier: base, content: Content::Remote(4) }));
        assert_eq!(frame("044##1AABB"), Seen::Flexible { identifier: base, bytes: 2 });
        assert_eq!(frame("20000080#0000000000000000"), Seen::Error);
        assert_eq!(
            frame("044#1122334455667788_E"),
            Seen::Frame(Frame { identifier: base, content: data("1122334455667788") })
        );
    }

    #[test]
    fn reads_times_to_the_microsecond() {
        let at = |text: &str| read(&format!("({text}) can0 001#")).map(|record| record.map(|r| r.at.micros()));
        assert_eq!(at("1436509052.249713"), Ok(Some(1_436_509_052_249_713)));
        assert_eq!(at("0.5"), Ok(Some(500_000)));
        assert_eq!(at("7"), Ok(Some(7_000_000)));
        for bad in ["", "-1.0", "1.2.3", "99999999999999999999", "1e3"] {
            assert_eq!(at(bad), Err(Problem::Time), "{bad}");
        }
    }

    #[test]
    fn names_what_is_wrong() {
        for (line, problem) in [
            ("can0 123#00", Problem::Time),
            ("(1.0)", Problem::Interface),
            ("(1.0) averyverylongname 123#00", Problem::Interface),
            ("(1.0) can0", Problem::Form),
            ("(1.0) can0 123", Problem::Form),
            ("(1.0) can0 12#00", Problem::Identifier),
            ("(1.0) can0 800#00", Problem::Identifier),
            ("(1.0) can0 +12#00", Problem::Identifier),
            ("(1.0) can0 F0000000#00", Problem::Identifier),
            ("(1.0) can0 123#0", Problem::Data),
            ("(1.0) can0 123#001122334455667788", Problem::Data),
            ("(1.0) can0 123#R9", Problem::Data),
            ("(1.0) can0 123##", Problem::Data),
            ("(1.0) can0 123#00 what", Problem::Tail),
        ] {
            assert_eq!(read(line), Err(problem), "{line}");
        }
        assert_eq!(read("  "), Ok(None));
        assert_eq!(read("# a note"), Ok(None));
    }
}
