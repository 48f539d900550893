//! Reading what a person types into a field: forgiving of spaces, signs and units, never guessing.

use crate::core::units::{Figure, Kind, OutOfRange, Quantity};
use serde::{Deserialize, Serialize};

/// The longest text that a number field reads; more is refused, but kept in the field.
pub const LONGEST: usize = 40;

/// A figure as it was typed: its value and the size of its last digit, both in the base unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Shown {
    pub figure: Figure,
    /// What one step of the last digit is worth: 0.1 for "60.4", 1 for "60". Never below zero.
    pub digit: f64,
}

/// What a number field holds once it is understood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Entry {
    Figure(Shown),
    /// The meter shows that the value is beyond its range ("OL"): for ohms, an open path.
    BeyondRange,
}

/// The figure of a field, where it holds one of this quantity; nothing is said of why not.
pub fn figure<Q: Quantity>(text: &str, kind: Kind) -> Option<Q> {
    match read(text, kind).ok()? {
        Entry::Figure(shown) => shown.figure.as_quantity(),
        Entry::BeyondRange => None,
    }
}

/// Why a field cannot be read. Each has one sentence in the words of the language.
#[derive(Clone, Debug, PartialEq)]
pub enum Unreadable {
    Empty,
    TooLong,
    NotANumber,
    /// More than one decimal sign, as in "1,234.5": the app does not guess which is meant.
    TwoDecimalSigns,
    /// A unit that does not belong here.
    WrongUnit {
        typed: String,
    },
    /// Below zero where nothing below zero can be.
    BelowZero,
    OutOfRange {
        low: Figure,
        high: Figure,
    },
    /// A count with a fraction.
    NotWhole,
}

/// Reads a typed number of the given kind.
///
/// Accepts `,` or `.` as the decimal sign, any of the minus signs, spaces anywhere around, and the unit with or without
/// a prefix. "OL" and its kin are [`Entry::BeyondRange`], for resistance only.
pub fn read(text: &str, kind: Kind) -> Result<Entry, Unreadable> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Unreadable::Empty);
    }
    if text.chars().count() > LONGEST {
        return Err(Unreadable::TooLong);
    }
    if kind == Kind::Ohms && is_beyond_range(text) {
        return Ok(Entry::BeyondRange);
    }

    let (number, unit) = split(text);
    let signs = number.chars().filter(|c| matches!(c, '.' | ',')).count();
    if signs > 1 {
        return Err(Unreadable::TwoDecimalSigns);
    }
    let plain: String = number
        .chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| match c {
            ',' => '.',
            '−' | '–' => '-',
            other => other,
        })
        .collect();
    let value: f64 = plain.parse().map_err(|_| Unreadable::NotANumber)?;
    if !plain.chars().any(|c| c.is_ascii_digit()) || !value.is_finite() {
        return Err(Unreadable::NotANumber);
    }
    let (value, digit) = if kind == Kind::Celsius && is_fahrenheit(&unit) {
        ((value - 32.0) / 1.8, last_digit(&plain) / 1.8)
    } else {
        let factor = factor_of(&unit, kind)?;
        (value * factor, last_digit(&plain) * factor)
    };
    if kind == Kind::Count && value.fract() != 0.0 {
        return Err(Unreadable::NotWhole);
    }
    match Figure::new(kind, value) {
        Ok(figure) => Ok(Entry::Figure(Shown { figure, digit })),
        Err(OutOfRange { .. }) => {
            let (low, high) = kind.range();
            if low >= 0.0 && value < 0.0 {
                return Err(Unreadable::BelowZero);
            }
            // The ends of the range are inside it by definition.
            match (Figure::new(kind, low), Figure::new(kind, high)) {
                (Ok(low), Ok(high)) => Err(Unreadable::OutOfRange { low, high }),
                _ => Err(Unreadable::NotANumber),
            }
        }
    }
}

/// Reads a number whose bare form is in the given unit: "500" as 500 kbit/s.
pub fn read_in(text: &str, kind: Kind, unit: &str) -> Result<Entry, Unreadable> {
    let bare = text.trim().ends_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','));
    if bare && text.trim().chars().count() <= LONGEST {
        read(&format!("{} {unit}", text.trim()), kind)
    } else {
        read(text, kind)
    }
}

/// The one unit that is no multiple of the base unit.
fn is_fahrenheit(unit: &str) -> bool {
    matches!(unit.to_lowercase().as_str(), "°f" | "f" | "degf" | "deg f")
}

/// The signs that meters show for "more than I can measure": an open path when ohms are measured.
fn is_beyond_range(text: &str) -> bool {
    let flat: String = text.chars().filter(|c| c.is_alphanumeric() || *c == '∞').collect();
    matches!(flat.to_lowercase().as_str(), "ol" | "0l" | "ofl" | "inf" | "infinity" | "∞" | "open" | "overload")
}

/// Splits "-1.5 kΩ" into the number and the unit. An exponent belongs to the number.
fn split(text: &str) -> (String, String) {
    let chars: Vec<char> = text.chars().collect();
    let mut end = 0;
    while end < chars.len() {
        let c = chars[end];
        let digit_after = chars.get(end + 1).is_some_and(|d| d.is_ascii_digit());
        let sign_and_digit_after =
            matches!(chars.get(end + 1), Some('+' | '-')) && chars.get(end + 2).is_some_and(|d| d.is_ascii_digit());
        let is_exponent = matches!(c, 'e' | 'E') && end > 0 && (digit_after || sign_and_digit_after);
        let is_number = c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '−' | '–') || c.is_whitespace();
        if is_exponent || is_number {
            end += 1;
        } else {
            break;
        }
    }
    let number: String = chars[..end].iter().collect();
    let unit: String = chars[end..].iter().collect();
    (number, unit.trim().to_string())
}

fn factor_of(unit: &str, kind: Kind) -> Result<f64, Unreadable> {
    // Mega and milli differ only by case, so this one spelling is looked at before case is dropped.
    if kind == Kind::Ohms && (unit.starts_with('M') && unit.chars().count() > 1) {
        return Ok(1e6);
    }
    // U+2126 (ohm sign) and U+03A9 (capital omega) lower to the same letter; "µ" is not a unit here.
    let flat = unit.trim_end_matches('.').to_lowercase();
    kind.spellings()
        .iter()
        .find(|(spelling, _)| *spelling == flat)
        .map(|(_, factor)| *factor)
        .ok_or_else(|| Unreadable::WrongUnit { typed: unit.chars().take(12).collect() })
}

/// What one step of the last written digit is worth.
fn last_digit(plain: &str) -> f64 {
    let mantissa = plain.split(['e', 'E']).next().unwrap_or(plain);
    let exponent: i32 = plain.split(['e', 'E']).nth(1).and_then(|e| e.parse().ok()).unwrap_or(0);
    let decimals = mantissa.split('.').nth(1).map_or(0, str::len) as i32;
    10f64.powi(exponent - decimals)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ohms(text: &str) -> Result<Entry, Unreadable> {
        read(text, Kind::Ohms)
    }

    fn value(text: &str, kind: Kind) -> (f64, f64) {
        match read(text, kind) {
            Ok(Entry::Figure(shown)) => (shown.figure.value(), shown.digit),
            other => panic!("{text:?} read as {other:?}"),
        }
    }

    #[test]
    fn reads_what_people_type() {
        for text in ["60.4", "60,4", "60,4 Ω", " 60.4 ", "60.4Ω", "60.4 ohms", "+60.4", "60.4 \u{2126}", "60.4 R"] {
            let (ohm, digit) = value(text, Kind::Ohms);
            assert!((ohm - 60.4).abs() < 1e-9 && (digit - 0.1).abs() < 1e-12, "{text}");
        }
        assert_eq!(value("2.5 kΩ", Kind::Ohms), (2500.0, 100.0));
        assert_eq!(value("1,2 MΩ", Kind::Ohms).0, 1.2e6);
        assert_eq!(value("5 mΩ", Kind::Ohms).0, 0.005);
        assert_eq!(value("−3 mV", Kind::Volts).0, -0.003);
        assert_eq!(value("690 Ah", Kind::AmpereHours), (690.0, 1.0));
        assert_eq!(value("1 200", Kind::AmpereHours).0, 1200.0);
        assert_eq!(value("80 %", Kind::Percent).0, 80.0);
        // 32 °F is 0 °C, 50 °F is 10 °C (NIST SP 811, appendix B).
        assert_eq!(value("32 °F", Kind::Celsius).0, 0.0);
        assert!((value("50F", Kind::Celsius).0 - 10.0).abs() < 1e-12);
        assert!((value("10 ft", Kind::Metres).0 - 3.048).abs() < 1e-12);
    }

    #[test]
    fn an_open_path_is_a_reading() {
        for text in ["OL", "O.L", "0L", "∞", "open", "o.l."] {
            assert_eq!(ohms(text), Ok(Entry::BeyondRange), "{text}");
        }
        assert!(read("OL", Kind::Volts).is_err());
    }

    #[test]
    fn says_what_is_wrong() {
        assert_eq!(ohms(""), Err(Unreadable::Empty));
        assert_eq!(ohms("   "), Err(Unreadable::Empty));
        assert_eq!(ohms("sixty"), Err(Unreadable::NotANumber));
        assert_eq!(ohms("NaN"), Err(Unreadable::NotANumber));
        assert_eq!(ohms("-5"), Err(Unreadable::BelowZero));
        assert!(matches!(ohms("1e9"), Err(Unreadable::OutOfRange { .. })));
        assert_eq!(ohms("1,234.5"), Err(Unreadable::TwoDecimalSigns));
        assert_eq!(ohms("60 V"), Err(Unreadable::WrongUnit { typed: "V".into() }));
        assert_eq!(ohms(&"9".repeat(10_000)), Err(Unreadable::TooLong));
        assert_eq!(ohms("-"), Err(Unreadable::NotANumber));
        assert_eq!(read("2.5", Kind::Count), Err(Unreadable::NotWhole));
    }
}
