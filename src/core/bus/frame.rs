//! Frames of classical CAN to the bit: checksum, stuff bits, length on the wire, and the share of time a bus is busy.

use crate::core::units::{BitRate, Fraction, Quantity, Seconds};
use std::fmt;

/// A frame's identifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Identifier {
    extended: bool,
    value: u32,
}

impl Identifier {
    /// 11 bits; `None` above 0x7FF.
    pub const fn base(value: u32) -> Option<Identifier> {
        if value <= 0x7FF { Some(Identifier { extended: false, value }) } else { None }
    }

    /// 29 bits; `None` above 0x1FFFFFFF.
    pub const fn extended(value: u32) -> Option<Identifier> {
        if value <= 0x1FFF_FFFF { Some(Identifier { extended: true, value }) } else { None }
    }

    pub const fn is_extended(self) -> bool {
        self.extended
    }

    pub const fn value(self) -> u32 {
        self.value
    }
}

impl fmt::Display for Identifier {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.extended { write!(f, "{:08X}", self.value) } else { write!(f, "{:03X}", self.value) }
    }
}

/// The data of a frame: 0 to 8 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Data {
    bytes: [u8; 8],
    len: u8,
}

impl Data {
    /// `None` above 8 bytes.
    pub fn new(bytes: &[u8]) -> Option<Data> {
        let mut data = Data { bytes: [0; 8], len: bytes.len().try_into().ok()? };
        data.bytes.get_mut(..bytes.len())?.copy_from_slice(bytes);
        Some(data)
    }

    /// Reads hexadecimal digits; spaces between bytes are allowed. `None` for anything else, or above 8 bytes.
    pub fn from_hex(text: &str) -> Option<Data> {
        let mut bytes = [0u8; 8];
        let mut digits = 0usize;
        for c in text.chars().filter(|c| !c.is_whitespace()) {
            let digit = c.to_digit(16)? as u8;
            let byte = bytes.get_mut(digits / 2)?;
            *byte = *byte << 4 | digit;
            digits += 1;
        }
        if digits % 2 == 1 { None } else { Data::new(bytes.get(..digits / 2)?) }
    }

    pub fn as_slice(&self) -> &[u8] {
        self.bytes.get(..usize::from(self.len)).unwrap_or(&self.bytes)
    }
}

/// A data or remote frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Frame {
    pub identifier: Identifier,
    pub content: Content,
}

/// What a frame carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    Data(Data),
    /// A request without data, for this many bytes (0 to 8; more counts as 8).
    Remote(u8),
}

/// A frame's bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bits {
    pub crc15: u16,
    pub stuff: u32,
    /// From start of frame to end of frame, without stuff bits and without the gap.
    pub unstuffed: u32,
}

/// Recessive bits that follow every frame: ISO 11898-1.
pub const GAP: u32 = 3;
/// CRC delimiter, acknowledge slot and delimiter, end of frame: ISO 11898-1; Linux `include/linux/can/length.h`.
const TAIL: u32 = 1 + 2 + 7;
/// Generator x¹⁵+x¹⁴+x¹⁰+x⁸+x⁷+x⁴+x³+1: ISO 11898-1; CRC catalogue, CRC-15/CAN.
const POLYNOMIAL: u16 = 0x4599;

impl Bits {
    /// All bits that the frame holds on the wire, gap included.
    pub const fn on_wire(&self) -> u32 {
        self.unstuffed + self.stuff + GAP
    }
}

/// A row of bits, most significant first. 118 are the most: an extended frame of 8 bytes up to its checksum.
struct Row {
    bits: u128,
    len: u32,
}

impl Row {
    fn push(&mut self, value: u32, width: u32) {
        self.bits = self.bits << width | u128::from(value);
        self.len += width;
    }

    fn iter(&self) -> impl Iterator<Item = bool> + '_ {
        // Halves: 128 bits at once are slow where the machine has only 64.
        let (high, low) = ((self.bits >> 64) as u64, self.bits as u64);
        (0..self.len).rev().map(move |bit| (if bit < 64 { low >> bit } else { high >> (bit - 64) }) & 1 == 1)
    }
}

impl Frame {
    /// Checksum, stuff bits and length.
    ///
    /// The checksum covers start of frame to end of data, unstuffed; a stuff bit follows five equal bits from start of
    /// frame to the last bit of the checksum and counts for the next run (ISO 11898-1; can-utils `canframelen.c`).
    pub fn bits(&self) -> Bits {
        let (data, count, remote) = match self.content {
            Content::Data(data) => (data, u32::from(data.len), 0),
            Content::Remote(count) => (Data::default(), u32::from(count.min(8)), 1),
        };
        let id = self.identifier.value;
        let mut row = Row { bits: 0, len: 0 };
        row.push(0, 1);
        if self.identifier.extended {
            row.push(id >> 18, 11);
            // Substitute remote request, then identifier extension.
            row.push(0b11, 2);
            row.push(id & 0x3_FFFF, 18);
            row.push(remote, 1);
            row.push(0, 2);
        } else {
            row.push(id, 11);
            row.push(remote, 1);
            row.push(0, 2);
        }
        row.push(count, 4);
        for byte in data.as_slice() {
            row.push(u32::from(*byte), 8);
        }
        let crc15 = crc15(row.iter());
        row.push(u32::from(crc15), 15);
        Bits { crc15, stuff: stuff_bits(row.iter()), unstuffed: row.len + TAIL }
    }
}

/// CRC-15/CAN over a row of bits: start 0, no reflection, no final XOR.
pub fn crc15(bits: impl Iterator<Item = bool>) -> u16 {
    bits.fold(0u16, |crc, bit| {
        let out = (crc >> 14 & 1 == 1) != bit;
        let shifted = crc << 1 & 0x7FFF;
        if out { shifted ^ POLYNOMIAL } else { shifted }
    })
}

fn stuff_bits(bits: impl Iterator<Item = bool>) -> u32 {
    let (mut last, mut run, mut stuffed) = (None, 0, 0);
    for bit in bits {
        if last == Some(bit) {
            run += 1;
        } else {
            (last, run) = (Some(bit), 1);
        }
        if run == 5 {
            stuffed += 1;
            (last, run) = (Some(!bit), 1);
        }
    }
    stuffed
}

/// Fewest and most bits of a data frame on the wire, gap included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// No stuff bit at all.
    pub least: u32,
    /// The most stuff bits that the fields allow: ⌊(34 + 8n − 1)/4⌋, extended ⌊(54 + 8n − 1)/4⌋ (Davis et al. 2007).
    pub most: u32,
}

/// Bounds of a data frame with this many bytes; `None` above 8.
pub fn bounds(bytes: u8, extended: bool) -> Option<Bounds> {
    if bytes > 8 {
        return None;
    }
    let data = 8 * u32::from(bytes);
    let (stuffed, least) = if extended { (54 + data, 67 + data) } else { (34 + data, 47 + data) };
    Some(Bounds { least, most: least + (stuffed - 1) / 4 })
}

/// A message that is sent again and again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Message {
    /// 0 to 8.
    pub bytes: u8,
    pub extended: bool,
    pub period: Seconds,
}

/// The share of time that the bus is busy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Without stuff bits.
    pub least: Fraction,
    /// With the most stuff bits.
    pub most: Fraction,
}

/// Why there is no load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoLoad {
    /// The message with this index (from 0) has more than 8 bytes.
    TooManyBytes(usize),
    /// The message with this index (from 0) is repeated after no time, or so fast that the sum has no end.
    NoPeriod(usize),
}

impl fmt::Display for NoLoad {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoLoad::TooManyBytes(index) => write!(f, "Message {} has more than 8 bytes", index + 1),
            NoLoad::NoPeriod(index) => write!(f, "The period of message {} must be above zero", index + 1),
        }
    }
}

impl std::error::Error for NoLoad {}

/// Bits of all messages in a second over the bit rate. Above 1 the bus cannot carry them.
pub fn load(bit_rate: BitRate, messages: &[Message]) -> Result<Load, NoLoad> {
    let (mut least, mut most) = (0.0, 0.0);
    for (index, message) in messages.iter().enumerate() {
        let bounds = bounds(message.bytes, message.extended).ok_or(NoLoad::TooManyBytes(index))?;
        let each = 1.0 / message.period.get() / bit_rate.get();
        least += f64::from(bounds.least) * each;
        most += f64::from(bounds.most) * each;
        if Fraction::new(most).is_err() {
            return Err(NoLoad::NoPeriod(index));
        }
    }
    match (Fraction::new(least), Fraction::new(most)) {
        (Ok(least), Ok(most)) => Ok(Load { least, most }),
        _ => Err(NoLoad::NoPeriod(0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identifiers_keep_to_their_width() {
        assert_eq!(Identifier::base(0x800), None);
        assert_eq!(Identifier::extended(0x2000_0000), None);
        assert_eq!(Identifier::extended(0x123).map(|id| id.to_string()), Some("00000123".into()));
        assert_eq!(Identifier::base(0x7).map(|id| id.to_string()), Some("007".into()));
    }

    #[test]
    fn data_is_read_strictly() {
        assert_eq!(Data::from_hex("01 a0").map(|data| data.as_slice().to_vec()), Some(vec![1, 0xA0]));
        for bad in ["0", "0x01", "zz", "010203040506070809"] {
            assert_eq!(Data::from_hex(bad), None, "{bad}");
        }
        assert_eq!(Data::from_hex(""), Some(Data::default()));
    }

    #[test]
    fn a_remote_frame_has_no_data_but_a_length() {
        let identifier = Identifier::base(0x123).unwrap();
        let bits = Frame { identifier, content: Content::Remote(8) }.bits();
        assert_eq!(bits.unstuffed, 44);
        let empty = Frame { identifier, content: Content::Data(Data::default()) }.bits();
        assert_ne!(bits.crc15, empty.crc15);
    }

    #[test]
    fn a_period_of_nothing_is_refused() {
        let message = Message { bytes: 8, extended: false, period: Seconds::of(0.0) };
        assert_eq!(load(BitRate::of(500e3), &[message]), Err(NoLoad::NoPeriod(0)));
        assert_eq!(load(BitRate::of(500e3), &[Message { bytes: 9, ..message }]), Err(NoLoad::TooManyBytes(0)));
    }
}
