//! Quantities as types: one table gives each its unit, the range it may take, and the spellings a person may type.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A value outside the range that its quantity may take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    pub kind: Kind,
    pub value: f64,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (low, high) = self.kind.range();
        let (name, symbol) = (self.kind.name(), self.kind.symbol());
        // A sentence is no place for three hundred zeros.
        let plain = self.value == 0.0 || (1e-6..1e12).contains(&self.value.abs());
        let value = if plain { format!("{}", self.value) } else { format!("{:e}", self.value) };
        write!(f, "{value} {name} is outside {low} to {high} {symbol}")
    }
}

impl std::error::Error for OutOfRange {}

/// What every quantity can do. Values are finite and inside [`Kind::range`].
pub trait Quantity: Copy + PartialOrd + Into<Figure> {
    const KIND: Kind;
    /// The value in the quantity's base unit.
    fn get(self) -> f64;
    /// A value in the base unit; an error when it is not finite or outside the range.
    fn new(value: f64) -> Result<Self, OutOfRange>;
}

macro_rules! quantities {
    ($( $(#[$doc:meta])* $name:ident, $text:literal, $symbol:literal, $low:literal ..= $high:literal,
        [$( ($spelling:literal, $factor:literal) ),*]; )*) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
            #[cfg_attr(test, derive(schemars::JsonSchema))]
            #[serde(try_from = "f64", into = "f64")]
            pub struct $name(f64);

            impl $name {
                /// A literal of this quantity. Panics when it is out of range: for figures written in the code only.
                // A range's own test is not const.
                #[allow(clippy::manual_range_contains)]
                pub const fn of(value: f64) -> Self {
                    assert!(value >= $low && value <= $high, "literal out of range");
                    $name(value)
                }
            }

            impl Quantity for $name {
                const KIND: Kind = Kind::$name;
                fn get(self) -> f64 { self.0 }
                fn new(value: f64) -> Result<Self, OutOfRange> {
                    if ($low..=$high).contains(&value) {
                        Ok($name(value))
                    } else {
                        Err(OutOfRange { kind: Kind::$name, value })
                    }
                }
            }

            impl TryFrom<f64> for $name {
                type Error = OutOfRange;
                fn try_from(value: f64) -> Result<Self, OutOfRange> { Self::new(value) }
            }

            impl From<$name> for f64 {
                fn from(value: $name) -> f64 { value.0 }
            }

            impl From<$name> for Figure {
                fn from(value: $name) -> Figure { Figure { kind: Kind::$name, value: value.0 } }
            }
        )*

        /// Which quantity a number is.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
        #[cfg_attr(test, derive(schemars::JsonSchema))]
        #[serde(rename_all = "kebab-case")]
        pub enum Kind { $( $name ),* }

        impl Kind {
            pub const ALL: &'static [Kind] = &[$( Kind::$name ),*];

            /// The quantity's plain name, for errors of developers and authors.
            pub const fn name(self) -> &'static str {
                match self { $( Kind::$name => $text ),* }
            }

            /// The symbol of the base unit.
            pub const fn symbol(self) -> &'static str {
                match self { $( Kind::$name => $symbol ),* }
            }

            /// Least and greatest value in the base unit.
            pub const fn range(self) -> (f64, f64) {
                match self { $( Kind::$name => ($low, $high) ),* }
            }

            /// Units a person may type, in lower case, with the factor to the base unit. The empty one is the base unit.
            pub const fn spellings(self) -> &'static [(&'static str, f64)] {
                match self { $( Kind::$name => &[$( ($spelling, $factor) ),*] ),* }
            }
        }
    };
}

quantities! {
    /// Resistance, Ω. A hand-held meter's highest range ends at some tens of MΩ.
    Ohms, "resistance", "Ω", 0.0 ..= 1.0e8,
        [("", 1.0), ("Ω", 1.0), ("ω", 1.0), ("ohm", 1.0), ("ohms", 1.0), ("r", 1.0), ("kω", 1e3), ("kΩ", 1e3), ("k", 1e3),
         ("kohm", 1e3), ("mω", 1e-3), ("mΩ", 1e-3), ("mohm", 1e-3)];
    /// Voltage, V; sign as the meter shows it. Banks of the 48 V class stay below 60 V; 1000 V is a meter's end.
    Volts, "voltage", "V", -1000.0 ..= 1000.0,
        [("", 1.0), ("v", 1.0), ("volt", 1.0), ("volts", 1.0), ("mv", 1e-3), ("vdc", 1.0)];
    /// Current, A. Positive is out of the bank (RV-C 6.5.2, table 6.5.2b).
    Amperes, "current", "A", -20000.0 ..= 20000.0,
        [("", 1.0), ("a", 1.0), ("amp", 1.0), ("amps", 1.0), ("ma", 1e-3), ("ka", 1e3)];
    /// Charge, Ah.
    AmpereHours, "charge", "Ah", 0.0 ..= 100000.0,
        [("", 1.0), ("ah", 1.0), ("amp hours", 1.0), ("amphours", 1.0), ("mah", 1e-3), ("kah", 1e3)];
    /// Energy, Wh.
    WattHours, "energy", "Wh", 0.0 ..= 1.0e8,
        [("", 1.0), ("wh", 1.0), ("kwh", 1e3)];
    /// Power, W. Positive is out of the bank.
    Watts, "power", "W", -2.0e6 ..= 2.0e6,
        [("", 1.0), ("w", 1.0), ("kw", 1e3)];
    /// A share in per cent.
    Percent, "share", "%", 0.0 ..= 125.0,
        [("", 1.0), ("%", 1.0), ("percent", 1.0), ("per cent", 1.0)];
    /// Length, m. 5000 m is the longest CAN trunk of the published tables (CiA 301, 10 kbit/s).
    Metres, "length", "m", 0.0 ..= 5000.0,
        [("", 1.0), ("m", 1.0), ("metre", 1.0), ("metres", 1.0), ("meter", 1.0), ("meters", 1.0), ("cm", 0.01), ("mm", 0.001),
         ("ft", 0.3048)];
    /// Resistance of one conductor for each metre, Ω/m.
    OhmsPerMetre, "conductor resistance", "Ω/m", 0.0 ..= 10.0,
        [("", 1.0), ("ω/m", 1.0), ("Ω/m", 1.0), ("mω/m", 1e-3), ("mΩ/m", 1e-3)];
    /// Bit rate, bit/s. Classical CAN ends at 1 Mbit/s.
    BitRate, "bit rate", "bit/s", 1000.0 ..= 1.0e6,
        [("", 1.0), ("bit/s", 1.0), ("kbit/s", 1e3), ("kbit", 1e3), ("k", 1e3), ("kbps", 1e3), ("mbit/s", 1e6)];
    /// Time needed for something, s.
    Seconds, "time", "s", 0.0 ..= 1.0e7,
        [("", 1.0), ("s", 1.0), ("min", 60.0), ("h", 3600.0)];
    /// Time that a bank lasts or takes, h. A current near zero makes it long; beyond the range it means nothing.
    Hours, "duration", "h", 0.0 ..= 1.0e6,
        [("", 1.0), ("h", 1.0), ("hours", 1.0), ("min", 0.016666666666666666)];
    /// One thing in terms of another of its kind: a module's part of the current, 1 for all of it. Below zero where it
    /// runs against the rest.
    Ratio, "ratio", "", -1.0e6 ..= 1.0e6,
        [("", 1.0)];
    /// Temperature, °C.
    Celsius, "temperature", "°C", -273.15 ..= 1000.0,
        [("", 1.0), ("°c", 1.0), ("c", 1.0)];
    /// Cross-section of a conductor, mm². 0.01 mm² is finer than any data wire; 1000 mm² is the top of IEC 60228.
    SquareMillimetres, "area", "mm²", 0.01 ..= 1000.0,
        [("", 1.0), ("mm²", 1.0), ("mm2", 1.0), ("sqmm", 1.0)];
    /// Length that a sum would allow, m. May lie beyond any cable that is laid.
    Reach, "allowed length", "m", 0.0 ..= 1.0e7,
        [("", 1.0), ("m", 1.0)];
    /// Frequency of a controller's clock, Hz.
    Hertz, "frequency", "Hz", 1.0 ..= 1.0e9,
        [("", 1.0), ("hz", 1.0), ("khz", 1e3), ("mhz", 1e6)];
    /// How long a signal takes for each metre of cable, s/m: 5e-9 for usual cable.
    SecondsPerMetre, "cable delay", "s/m", 0.0 ..= 1.0e-6,
        [("", 1.0), ("s/m", 1.0), ("ns/m", 1e-9)];
    /// How fast a voltage changes, V/s.
    VoltsPerSecond, "rate of voltage change", "V/s", -1000.0 ..= 1000.0,
        [("", 1.0), ("v/s", 1.0), ("mv/s", 1e-3)];
    /// A part of a whole, never below zero: 0.3 for a bus that is busy 30 % of the time. More than the whole is possible
    /// where a demand is meant.
    Fraction, "fraction", "", 0.0 ..= 1.0e9,
        [("", 1.0), ("%", 0.01)];
    /// Voltage as a data field carries it, V. A field of 16 bits in RV-C ends at 3212.5 V (RV-C table 5.3), far beyond a
    /// bank: such a figure is shown as sent and never summed.
    CodedVolts, "coded voltage", "V", 0.0 ..= 3212.5,
        [("", 1.0), ("v", 1.0), ("mv", 1e-3)];
    /// Temperature as a data field carries it, °C: the span of a 16-bit field in RV-C (table 5.3).
    CodedCelsius, "coded temperature", "°C", -273.0 ..= 1775.0,
        [("", 1.0), ("°c", 1.0), ("c", 1.0)];
    /// Capacitance, F. The capacitors of large inverters have some tens of mF; 10 F is far beyond them.
    Farads, "capacitance", "F", 0.0 ..= 10.0,
        [("", 1.0), ("f", 1.0), ("mf", 1e-3), ("µf", 1e-6), ("μf", 1e-6), ("uf", 1e-6)];
    /// Current of a short circuit or of the first moment, A: a magnitude. Many modules side by side give some hundred kA.
    FaultAmperes, "short-circuit current", "A", 0.0 ..= 1.0e7,
        [("", 1.0), ("a", 1.0), ("amp", 1.0), ("amps", 1.0), ("ka", 1e3)];
    /// Energy of one event, J.
    Joules, "energy of an event", "J", 0.0 ..= 1.0e9,
        [("", 1.0), ("j", 1.0), ("kj", 1e3)];
    /// What heats a fuse or a conductor too quickly for the heat to leave: the square of a current times its time, A²s.
    SquareAmpereSeconds, "let-through", "A²s", 0.0 ..= 1.0e15,
        [("", 1.0), ("a²s", 1.0), ("a2s", 1.0), ("ka²s", 1e3), ("ka2s", 1e3)];
    /// What a charger's voltage follows the temperature by, V/K; below zero where warmth lowers it.
    VoltsPerKelvin, "temperature compensation", "V/K", -10.0 ..= 10.0,
        [("", 1.0), ("v/k", 1.0), ("mv/k", 1e-3), ("mv/°c", 1e-3)];
    /// A whole number of things.
    Count, "count", "", 0.0 ..= 10000.0,
        [("", 1.0)];
}

/// Any quantity with its kind: for places that treat all figures alike (fields, records, window lines).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "BareFigure")]
pub struct Figure {
    kind: Kind,
    value: f64,
}

/// The wire form of a figure, before its range is checked.
#[derive(Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct BareFigure {
    kind: Kind,
    value: f64,
}

impl TryFrom<BareFigure> for Figure {
    type Error = OutOfRange;
    fn try_from(bare: BareFigure) -> Result<Self, OutOfRange> {
        Figure::new(bare.kind, bare.value)
    }
}

impl Figure {
    /// A figure of a kind known only at run time, in its base unit.
    pub fn new(kind: Kind, value: f64) -> Result<Self, OutOfRange> {
        let (low, high) = kind.range();
        if (low..=high).contains(&value) { Ok(Figure { kind, value }) } else { Err(OutOfRange { kind, value }) }
    }

    pub fn kind(self) -> Kind {
        self.kind
    }

    /// The value in the base unit of its kind.
    pub fn value(self) -> f64 {
        self.value
    }

    /// The figure as the given quantity, if it is of that kind.
    pub fn as_quantity<Q: Quantity>(self) -> Option<Q> {
        if self.kind == Q::KIND { Q::new(self.value).ok() } else { None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantity_refuses_what_it_cannot_be() {
        assert!(Ohms::new(-0.1).is_err());
        assert!(Ohms::new(f64::NAN).is_err());
        assert!(Volts::new(f64::INFINITY).is_err());
        assert_eq!(Ohms::new(60.0).map(Quantity::get), Ok(60.0));
    }

    #[test]
    fn stored_figures_are_checked_again() {
        assert!(serde_json::from_str::<Ohms>("-1").is_err());
        assert!(serde_json::from_str::<Figure>(r#"{"kind":"percent","value":900}"#).is_err());
        let kept = Figure::from(Volts::of(13.3));
        let text = serde_json::to_string(&kept).unwrap();
        assert_eq!(serde_json::from_str::<Figure>(&text).unwrap(), kept);
    }
}
