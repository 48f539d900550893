//! Numbers as people write them, small on the wire and exact to the last bit.

use serde::de::{Error, SeqAccess, Visitor};
use serde::ser::SerializeTuple;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// A number as digits and a power of ten: one varint `digits · 16 + place`, where the power is `place − 9`. Place 15 says
/// that the eight bytes of the number itself follow, for what is no short decimal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decimal(pub f64);

const PLACES: i32 = 16;
const ITSELF: i64 = 15;
const POWER_OF_FIRST: i32 = -9;
/// Digits up to here, times sixteen, still fit into 64 bits.
const MOST_DIGITS: i64 = i64::MAX / 32;

/// `digits · 10^power`, rightly rounded.
pub fn value(digits: i64, power: i32) -> f64 {
    // Only the reader of decimals rounds rightly on every machine. A whole number and a power always read.
    format!("{digits}e{power}").parse().unwrap_or(f64::NAN)
}

/// The shortest digits and the power of ten that make the number.
fn shortest(number: f64) -> Option<(i64, i32)> {
    let text = format!("{number:e}");
    let (mantissa, power) = text.split_once('e')?;
    let decimals = mantissa.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let digits: i64 = mantissa.replace('.', "").parse().ok()?;
    Some((digits, power.parse::<i32>().ok()? - decimals as i32))
}

/// The number on the wire; none for one that has to stand as itself.
fn code(number: f64) -> Option<i64> {
    let (mut digits, mut power) = shortest(number)?;
    while power > ITSELF as i32 - 1 + POWER_OF_FIRST {
        digits = digits.checked_mul(10)?;
        power -= 1;
    }
    if power < POWER_OF_FIRST || digits.abs() > MOST_DIGITS {
        return None;
    }
    let same = value(digits, power).to_bits() == number.to_bits();
    same.then(|| digits * i64::from(PLACES) + i64::from(power - POWER_OF_FIRST))
}

impl Serialize for Decimal {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut parts = serializer.serialize_tuple(2)?;
        match code(self.0) {
            Some(code) => parts.serialize_element(&code)?,
            None => {
                parts.serialize_element(&ITSELF)?;
                parts.serialize_element(&self.0)?;
            }
        }
        parts.end()
    }
}

impl<'de> Deserialize<'de> for Decimal {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Parts;
        impl<'de> Visitor<'de> for Parts {
            type Value = Decimal;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "a decimal number")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut parts: A) -> Result<Decimal, A::Error> {
                let code: i64 = parts.next_element()?.ok_or_else(|| A::Error::custom("cut off"))?;
                let place = code.rem_euclid(i64::from(PLACES));
                let number = if place == ITSELF {
                    parts.next_element()?.ok_or_else(|| A::Error::custom("cut off"))?
                } else {
                    value(code.div_euclid(i64::from(PLACES)), place as i32 + POWER_OF_FIRST)
                };
                if number.is_finite() { Ok(Decimal(number)) } else { Err(A::Error::custom("no number")) }
            }
        }
        deserializer.deserialize_tuple(2, Parts)
    }
}

/// A number as it was written: its digits, how many of them stand behind the decimal sign, and whether that is a comma.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Written {
    pub digits: i64,
    pub decimals: u32,
    pub comma: bool,
}

/// The most decimals of a [`Written`].
pub const MOST_DECIMALS: u32 = 7;

impl Written {
    /// The number of a text that is nothing but a plainly written number.
    pub fn read(text: &str) -> Option<Written> {
        let comma = text.contains(',');
        let (whole, decimals) = text.split_once(if comma { ',' } else { '.' }).unwrap_or((text, ""));
        let digits = format!("{whole}{decimals}").parse().ok()?;
        let written = Written { digits, decimals: u32::try_from(decimals.len()).ok()?, comma };
        let fits = written.decimals <= MOST_DECIMALS && digits.abs() < 1 << 52;
        (fits && written.text() == text).then_some(written)
    }

    pub fn text(self) -> String {
        let Written { digits, decimals, comma } = self;
        let unsigned = digits.unsigned_abs();
        let sign = if digits < 0 { "-" } else { "" };
        let scale = 10u64.pow(decimals.min(MOST_DECIMALS));
        match decimals as usize {
            0 => format!("{sign}{unsigned}"),
            width => {
                let point = if comma { ',' } else { '.' };
                format!("{sign}{}{point}{:0width$}", unsigned / scale, unsigned % scale)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bytes(number: f64) -> Vec<u8> {
        postcard::to_allocvec(&Decimal(number)).unwrap()
    }

    #[test]
    fn figures_of_equipment_take_two_bytes() {
        for number in [12.8, 105.0, 50.0, 14.4, 0.009, 0.084, 120.0, 500_000.0, 250_000.0, 28.4] {
            assert_eq!(bytes(number).len(), 2, "{number}");
        }
    }

    #[test]
    fn every_number_comes_back_to_the_last_bit() {
        let odd = [0.0, -0.0, 0.1 + 0.2, 1e-300, 1.7e308, f64::MIN_POSITIVE, 5e-324, -12.8, 1.0 / 3.0, 9.007e15, 1e22];
        for number in odd {
            let again: Decimal = postcard::from_bytes(&bytes(number)).unwrap();
            assert_eq!(again.0.to_bits(), number.to_bits(), "{number}");
        }
        assert!(postcard::from_bytes::<Decimal>(&bytes(f64::NAN)).is_err());
        assert!(postcard::from_bytes::<Decimal>(&bytes(f64::INFINITY)).is_err());
    }

    #[test]
    fn plainly_written_numbers_are_told_from_texts() {
        for text in ["0", "60", "60.4", "60,40", "-0.005", "0.00", "1234567.1234567"] {
            assert_eq!(Written::read(text).map(Written::text).as_deref(), Some(text));
        }
        for text in ["", "-", "007", "60.", ".5", "+5", "-0", "1,2,3", "1.2,3", "60 Ω", "99999999999999999999", "１"]
        {
            assert_eq!(Written::read(text), None, "{text}");
        }
    }
}
