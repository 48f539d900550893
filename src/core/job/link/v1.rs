//! Version 1 on the wire: the shape alone, in the order of its bytes. Once frozen it is never changed: a new field makes
//! a version 2.
//!
//! Numbers are postcard's varints (signed ones zigzag), lists carry their length before them, an option one byte. No
//! enumeration stands here: numbers with a meaning are given in [`super::numbers`].

use super::decimal::{Decimal, Written};
use super::few::Few;
use serde::de::{Error, SeqAccess, Visitor};
use serde::ser::SerializeTuple;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// First byte of a body: what follows.
pub const JOB: u8 = 1;
pub const LIST: u8 = 2;

/// Bits of `switches`.
pub const DEMO: u8 = 1;
/// Readings are written with a comma where nothing else is said.
pub const COMMA: u8 = 2;

pub const MOST_OBSERVATIONS: usize = 5_000;
/// A row takes two at most from one column.
pub const MOST_COLUMN: usize = 2 * MOST_OBSERVATIONS;
pub const MOST_LISTS: usize = 64;
pub const MOST_ITEMS: usize = 500;
pub const MOST_FIELDS: usize = 2_000;
pub const MOST_PARTS: usize = 64;
pub const MOST_PHOTOS: usize = 1_000;
/// Bytes of the texts of one link, as packed by [`super::words`].
pub const MOST_BYTES: usize = super::MOST_TEXT;

/// A text, by number: 0 the empty one, odd the texts of this link in order, even those of the table that every link knows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Word(pub u32);

/// A text of a field: mostly a number as it was written, else a word.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    Word(Word),
    Number(Written),
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Job {
    /// Bits as in [`super::numbers::LEAVE`].
    pub left_out: u8,
    pub switches: u8,
    pub texts: Few<u8, MOST_BYTES>,
    pub id: Word,
    pub begun: i64,
    pub site: Site,
    pub bank: Few<BankField, MOST_FIELDS>,
    /// After `begun`, ms.
    pub bank_at: Option<i64>,
    pub observations: Observations,
    pub notes: Word,
    /// By, owner, place.
    pub people: [Word; 3],
    pub lists: Few<Taken, MOST_LISTS>,
    pub story: Story,
    pub pending: Few<Pending, MOST_FIELDS>,
    pub photos: Few<Photo, MOST_PHOTOS>,
    pub power: Few<Pending, MOST_FIELDS>,
    /// After `begun`, ms.
    pub power_at: Option<i64>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct List {
    pub switches: u8,
    pub texts: Few<u8, MOST_BYTES>,
    pub taken: Taken,
    /// From where the times of the observations count.
    pub begun: i64,
    pub observations: Observations,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Site {
    pub name: Word,
    pub module: Option<Module>,
    /// One more than the count; 0 where nothing is said.
    pub series: u64,
    pub parallel: u64,
    pub monitor: Option<Monitor>,
    pub port: Option<Word>,
    pub link_lead: Option<Lead>,
    pub link_length: Option<Decimal>,
    pub bus_lead: Option<Lead>,
    pub bus_length: Option<Decimal>,
    pub adapter: Option<Lead>,
    pub terminator: Option<Terminator>,
    pub monitor_terminator: Option<Terminator>,
    /// At the bank, at the monitor: 0 not said, 1 no, 2 yes. The second times three.
    pub terminated: u8,
    pub chargers: Few<Charger, MOST_PARTS>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Profile {
    pub protocol: Word,
    pub bit_rate: Decimal,
}

/// Connector and pins: high, low, reference.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Socket {
    pub connector: Word,
    pub pins: [u8; 3],
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Module {
    pub key: Word,
    pub maker: Word,
    pub model: Word,
    pub cells_in_series: u32,
    /// Nominal V, capacity Ah, charge and discharge limit A, charge and discharge voltage limit V, coldest and hottest
    /// charge °C, resistance Ω, wake time s.
    pub figures: [Decimal; 10],
    pub most_in_series: u32,
    pub most_in_parallel: u32,
    pub wake: u8,
    /// How it is switched off, and how it comes to its number; 0 where nothing is said.
    pub off: u8,
    pub numbering: u8,
    /// Time to switch off s, longest link m.
    pub more: [Option<Decimal>; 2],
    pub socket: Socket,
    /// Bit 0 isolated, bit 1 terminator built in.
    pub switches: u8,
    pub speaks: Few<Profile, MOST_PARTS>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Port {
    pub key: Word,
    pub label: Word,
    pub usage: u8,
    pub socket: Socket,
    pub sockets: u8,
    /// Bit 1 terminator built in.
    pub switches: u8,
    pub speaks: Few<Profile, MOST_PARTS>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Monitor {
    pub key: Word,
    pub maker: Word,
    pub model: Word,
    pub source_menu: Word,
    pub ports: Few<Port, MOST_PARTS>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lead {
    pub key: Word,
    pub name: Word,
    pub usage: u8,
    pub ends: [Word; 2],
    /// Pins of the first and the second end that are joined; none where those of the same number are.
    pub wires: Few<[u8; 2], MOST_PARTS>,
    /// Conductor Ω/m, contacts Ω.
    pub figures: [Decimal; 2],
    pub lengths: Few<Decimal, MOST_PARTS>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Terminator {
    pub key: Word,
    pub name: Word,
    pub connector: Word,
    pub pins: Option<[u8; 2]>,
    /// Resistance Ω, tolerance %.
    pub figures: [Decimal; 2],
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Charger {
    pub key: Word,
    pub name: Word,
    /// Bit 0 steered.
    pub switches: u8,
    /// Current A, absorption V, float V.
    pub figures: [Decimal; 3],
}

/// A field of the bank's table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BankField {
    /// 0 the bank, 1 all modules, from 2 the module with that number less one.
    pub whose: u32,
    pub item: Word,
    pub text: Value,
}

/// A field by its key: a text that waits, or one of the power side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pending {
    pub key: Word,
    pub text: Value,
}

/// What was seen, in columns: a row says by its head how much it takes from the columns below.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Observations {
    pub rows: Few<Row, MOST_OBSERVATIONS>,
    /// Figures as steps of their last digit.
    pub steps: Few<i64, MOST_OBSERVATIONS>,
    pub decimals: Few<Decimal, MOST_COLUMN>,
    pub codes: Few<u64, MOST_COLUMN>,
    pub words: Few<Word, MOST_COLUMN>,
    /// Typed texts that are not what the row would be written as.
    pub typed: Few<Aside, MOST_OBSERVATIONS>,
    pub notes: Few<Aside, MOST_OBSERVATIONS>,
    /// Who saw, for runs of rows; rows after the last run were seen by nobody in particular.
    pub by: Few<Run, MOST_OBSERVATIONS>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Subject times eight, plus form: [`super::numbers`].
    pub head: u32,
    /// After the row before, ms.
    pub after: i64,
}

/// A text beside a row.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Aside {
    /// Rows that are passed over since the last one that had such a text.
    pub skip: u32,
    pub text: Word,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Run {
    pub rows: u32,
    pub by: Word,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Taken {
    pub key: Word,
    pub own: Option<OwnList>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OwnList {
    pub title: Word,
    pub items: Few<OwnItem, MOST_ITEMS>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OwnItem {
    pub key: Word,
    pub text: Word,
    /// The quantity; 0 for a tick.
    pub kind: u8,
    pub low: Option<Decimal>,
    pub high: Option<Decimal>,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Story {
    pub kind: Word,
    pub told: Few<Told, MOST_OBSERVATIONS>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Told {
    pub what: u8,
    /// After the one before, ms.
    pub after: i64,
    pub of: Word,
    /// The empty word where there is none.
    pub outcome: Word,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Photo {
    /// After `begun`, ms.
    pub after: i64,
    pub shows: Word,
}

/// One varint: 0 and a word follows; else one more than `((zigzag(digits) · 8) + decimals) · 2 + comma`.
impl Serialize for Value {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut parts = serializer.serialize_tuple(2)?;
        match self {
            Value::Word(word) => {
                parts.serialize_element(&0u64)?;
                parts.serialize_element(word)?;
            }
            Value::Number(written) => {
                let zigzag = (written.digits << 1 ^ written.digits >> 63) as u64;
                let code = (zigzag * 8 + u64::from(written.decimals)) * 2 + u64::from(written.comma) + 1;
                parts.serialize_element(&code)?;
            }
        }
        parts.end()
    }
}

impl<'de> Deserialize<'de> for Value {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Parts;
        impl<'de> Visitor<'de> for Parts {
            type Value = Value;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "the text of a field")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut parts: A) -> Result<Value, A::Error> {
                let cut_off = || A::Error::custom("cut off");
                let code: u64 = parts.next_element()?.ok_or_else(cut_off)?;
                let Some(code) = code.checked_sub(1) else {
                    return Ok(Value::Word(parts.next_element()?.ok_or_else(cut_off)?));
                };
                let zigzag = code / 16;
                Ok(Value::Number(Written {
                    digits: (zigzag >> 1) as i64 ^ -((zigzag & 1) as i64),
                    decimals: (code / 2 % 8) as u32,
                    comma: code % 2 == 1,
                }))
            }
        }
        deserializer.deserialize_tuple(2, Parts)
    }
}
