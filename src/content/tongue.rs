//! The languages that the content is written in, and the units that a person chose.

use serde::{Deserialize, Serialize};

/// A language of the content.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Tongue {
    #[default]
    #[serde(rename = "en")]
    English,
    #[serde(rename = "de")]
    German,
}

impl Tongue {
    pub const ALL: [Tongue; 2] = [Tongue::English, Tongue::German];

    /// Its tag (BCP 47), which is also the name of its folder.
    pub fn tag(self) -> &'static str {
        match self {
            Tongue::English => "en",
            Tongue::German => "de",
        }
    }

    /// What it calls itself.
    pub fn name(self) -> &'static str {
        match self {
            Tongue::English => "English",
            Tongue::German => "Deutsch",
        }
    }

    pub fn decimal_sign(self) -> char {
        match self {
            Tongue::English => '.',
            Tongue::German => ',',
        }
    }

    /// The language of a tag such as "de-AT"; `None` for one that the content is not written in.
    pub fn of(tag: &str) -> Option<Tongue> {
        let primary = tag.split(['-', '_']).next().unwrap_or(tag);
        Tongue::ALL.into_iter().find(|tongue| tongue.tag().eq_ignore_ascii_case(primary))
    }
}

/// The units that figures are shown in, and that a bare number means where they differ.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Units {
    /// Metres, degrees Celsius, square millimetres.
    #[default]
    #[serde(rename = "metric")]
    Metric,
    /// Feet, degrees Fahrenheit, American wire gauge.
    #[serde(rename = "us")]
    Us,
}

impl Units {
    pub const ALL: [Units; 2] = [Units::Metric, Units::Us];

    pub fn key(self) -> &'static str {
        match self {
            Units::Metric => "metric",
            Units::Us => "us",
        }
    }

    /// The unit that stands beside a field in place of this one.
    pub fn in_place_of(self, unit: &str) -> Option<&'static str> {
        match (self, unit) {
            (Units::Us, "m") => Some("ft"),
            (Units::Us, "°C") => Some("°F"),
            _ => None,
        }
    }

    /// What was typed into a field of this unit, with the unit where a bare number would mean the other one: a kept text never
    /// changes its meaning when the units are changed, or when a phone with other units opens the job.
    pub fn kept(self, typed: &str, unit: &str) -> String {
        match self.in_place_of(unit) {
            Some(other) if is_bare(typed) => format!("{} {other}", typed.trim_end()),
            _ => typed.to_string(),
        }
    }

    /// How the field shows a kept text: bare where it is in the unit beside the field, with its unit where it is not.
    pub fn shown(self, kept: &str, unit: &str) -> String {
        match self.in_place_of(unit) {
            Some(other) => match kept.strip_suffix(other).map(str::trim_end) {
                Some(bare) if is_bare(bare) => bare.to_string(),
                _ if is_bare(kept) => format!("{kept} {unit}"),
                _ => kept.to_string(),
            },
            None => kept.to_string(),
        }
    }
}

/// Does a text end like a number without its unit?
fn is_bare(text: &str) -> bool {
    text.trim_end().ends_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_of_phones_are_understood() {
        assert_eq!(Tongue::of("de-AT"), Some(Tongue::German));
        assert_eq!(Tongue::of("EN_us"), Some(Tongue::English));
        assert_eq!(Tongue::of("nds"), None);
        assert_eq!(Tongue::of(""), None);
    }

    #[test]
    fn a_bare_number_gets_its_unit() {
        assert_eq!(Units::Us.kept("12", "m"), "12 ft");
        assert_eq!(Units::Us.kept("12 m", "m"), "12 m");
        assert_eq!(Units::Us.kept("", "m"), "");
        assert_eq!(Units::Us.kept("60.4", "Ω"), "60.4");
        assert_eq!(Units::Metric.kept("12", "m"), "12");
    }

    #[test]
    fn a_field_shows_what_is_meant() {
        assert_eq!(Units::Us.shown("12 ft", "m"), "12");
        assert_eq!(Units::Us.shown("12", "m"), "12 m");
        assert_eq!(Units::Us.shown("12 m", "m"), "12 m");
        assert_eq!(Units::Us.shown("-4.5 °F", "°C"), "-4.5");
        assert_eq!(Units::Metric.shown("12 ft", "m"), "12 ft");
        for typed in ["1", "12.", "0,5", "x", "", "3 m"] {
            assert_eq!(Units::Us.shown(&Units::Us.kept(typed, "m"), "m"), typed);
        }
    }
}
