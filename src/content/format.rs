//! Figures as a person reads them: rounded for their size, with unit, in the language's number style.

use crate::content::tongue::Units;
use crate::core::power::conductor::Gauge;
use crate::core::units::{Figure, Kind, Quantity};

/// How numbers are written, and in which units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    pub decimal_sign: char,
    pub units: Units,
}

/// The international foot, m (exactly: international yard and pound agreement of 1959).
const FOOT: f64 = 0.3048;

/// Between a number and its unit: a space that does not break.
const GAP: char = '\u{a0}';
const MINUS: char = '\u{2212}';

/// A number with at most so many decimals, without zeros at the end.
pub fn number(value: f64, decimals: usize, style: Style) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    signed(value, text, style)
}

/// A number with just so many decimals.
pub fn number_fixed(value: f64, decimals: usize, style: Style) -> String {
    signed(value, &format!("{:.decimals$}", value.abs()), style)
}

fn signed(value: f64, text: &str, style: Style) -> String {
    let text = text.replace('.', &style.decimal_sign.to_string());
    let is_zero = text.chars().all(|c| !c.is_ascii_digit() || c == '0');
    if value < 0.0 && !is_zero { format!("{MINUS}{text}") } else { text }
}

/// A figure with its unit, in the prefix that suits its size.
pub fn figure(figure: Figure, style: Style) -> String {
    let value = figure.value();
    if style.units == Units::Us
        && figure.kind() == Kind::SquareMillimetres
        && let Some(gauge) = gauge_of(value)
    {
        return format!("{}{GAP}AWG", gauge.name());
    }
    let size = value.abs();
    let us = style.units == Units::Us;
    let (scaled, decimals, unit) = match figure.kind() {
        Kind::Metres | Kind::Reach if us => (value / FOOT, 1, "ft"),
        Kind::OhmsPerMetre if us => (value * 1e3 * FOOT, 1, "mΩ/ft"),
        Kind::Celsius if us => (value * 1.8 + 32.0, 1, "°F"),
        Kind::Ohms if size >= 999_950.0 => (value / 1e6, 2, "MΩ"),
        Kind::Ohms if size >= 999.95 => (value / 1e3, 2, "kΩ"),
        // The milliohms of joints and thick cables: three digits that count.
        Kind::Ohms if size < 0.000995 && size > 0.0 => (value * 1e3, 3, "mΩ"),
        Kind::Ohms if size < 0.00995 && size > 0.0 => (value * 1e3, 2, "mΩ"),
        Kind::Ohms if size < 0.0995 && size > 0.0 => (value * 1e3, 1, "mΩ"),
        Kind::Ohms if size < 9.95 => (value, 2, "Ω"),
        Kind::Ohms => (value, 1, "Ω"),
        Kind::Volts if size < 0.0995 => (value * 1e3, 1, "mV"),
        Kind::Volts => (value, 2, "V"),
        Kind::Amperes | Kind::FaultAmperes if size >= 999.95 => (value / 1e3, 2, "kA"),
        Kind::FaultAmperes => (value, 1, "A"),
        Kind::Amperes | Kind::Watts => (value, 1, figure.kind().symbol()),
        Kind::AmpereHours => (value, 1, "Ah"),
        Kind::WattHours if size >= 999.5 => (value / 1e3, 2, "kWh"),
        Kind::WattHours => (value, 0, "Wh"),
        Kind::Percent => (value, 1, "%"),
        Kind::Metres => (value, 2, "m"),
        Kind::Reach => (value, 1, "m"),
        Kind::OhmsPerMetre if size < 0.00995 => (value * 1e3, 3, "mΩ/m"),
        Kind::OhmsPerMetre => (value * 1e3, 1, "mΩ/m"),
        Kind::BitRate if size >= 1e6 => (value / 1e6, 1, "Mbit/s"),
        Kind::BitRate => (value / 1e3, 1, "kbit/s"),
        Kind::Seconds if size >= 7200.0 => (value / 3600.0, 1, "h"),
        Kind::Seconds if size >= 600.0 => (value / 60.0, 0, "min"),
        Kind::Seconds if size < 0.9995 && size > 0.0 => (value * 1e3, 1, "ms"),
        Kind::Seconds if size < 9.995 => (value, 2, "s"),
        Kind::Seconds => (value, 0, "s"),
        Kind::Fraction => (value * 100.0, 1, "%"),
        Kind::Hours => (value, 1, "h"),
        Kind::Celsius => (value, 1, "°C"),
        Kind::Farads => (value * 1e3, 2, "mF"),
        Kind::Joules => (value, 1, "J"),
        Kind::SquareAmpereSeconds if size >= 999.5 => (value / 1e3, 1, "kA²s"),
        Kind::SquareAmpereSeconds => (value, 0, "A²s"),
        Kind::VoltsPerKelvin => (value * 1e3, 1, "mV/K"),
        Kind::Count => (value, 0, ""),
        other => (value, 3, other.symbol()),
    };
    let number = number(scaled, decimals, style);
    if unit.is_empty() { number } else { format!("{number}{GAP}{unit}") }
}

/// The American gauge that an area is, within what a rounded figure of it may be off. Another area stays in mm²: the next gauge
/// would be another conductor.
fn gauge_of(area: f64) -> Option<Gauge> {
    Gauge::ALL.into_iter().find(|gauge| (gauge.area().get() / area - 1.0).abs() < 0.01)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ENGLISH: Style = Style { decimal_sign: '.', units: Units::Metric };
    use crate::core::units::{AmpereHours, Celsius, Fraction, Metres, Ohms, Seconds, SquareMillimetres, Volts};

    /// 0 °C is 32 °F, 100 °C is 212 °F; a foot is 0.3048 m (NIST SP 811, appendix B).
    #[test]
    fn american_units_and_a_comma() {
        let us = Style { units: Units::Us, ..ENGLISH };
        let say = |f: Figure| figure(f, us).replace(GAP, " ");
        assert_eq!(say(Celsius::of(0.0).into()), "32 °F");
        assert_eq!(say(Celsius::of(100.0).into()), "212 °F");
        assert_eq!(say(Metres::of(3.048).into()), "10 ft");
        // ASTM B258: 2 AWG has 33.62 mm², 2/0 has 67.43 mm². 35 mm² is no gauge.
        assert_eq!(say(SquareMillimetres::of(33.62).into()), "2 AWG");
        assert_eq!(say(SquareMillimetres::of(67.43).into()), "2/0 AWG");
        assert!(say(SquareMillimetres::of(35.0).into()).ends_with("mm²"));
        let german = Style { decimal_sign: ',', ..ENGLISH };
        assert_eq!(figure(Volts::of(13.25).into(), german).replace(GAP, " "), "13,25 V");
    }

    #[test]
    fn figures_read_as_a_meter_shows_them() {
        let say = |f: Figure| figure(f, ENGLISH).replace(GAP, " ");
        assert_eq!(say(Ohms::of(60.4).into()), "60.4 Ω");
        assert_eq!(say(Ohms::of(2515.6).into()), "2.52 kΩ");
        assert_eq!(say(Ohms::of(0.0).into()), "0 Ω");
        assert_eq!(say(Ohms::of(0.84).into()), "0.84 Ω");
        assert_eq!(say(Volts::of(-0.003).into()), "−3 mV");
        assert_eq!(say(Volts::of(13.3).into()), "13.3 V");
        assert_eq!(say(AmpereHours::of(690.0).into()), "690 Ah");
        assert_eq!(say(Fraction::of(0.0452).into()), "4.5 %");
        for (seconds, text) in
            [(0.0, "0 s"), (0.1004, "100.4 ms"), (1.25, "1.25 s"), (59.7, "60 s"), (5400.0, "90 min")]
        {
            assert_eq!(say(Seconds::of(seconds).into()), text);
        }
        assert_eq!(say(Seconds::of(9000.0).into()), "2.5 h");
    }

    #[test]
    fn the_decimal_sign_is_the_languages() {
        assert_eq!(number(1.25, 2, Style { decimal_sign: ',', ..ENGLISH }), "1,25");
        assert_eq!(number(-0.001, 1, ENGLISH), "0");
    }
}
