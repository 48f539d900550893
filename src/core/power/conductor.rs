//! Copper conductors of power cables: metric sizes by IEC 60228, American gauges by ASTM B258.

use crate::core::bus::copper;
use crate::core::units::{Celsius, Metres, OhmsPerMetre, Quantity, SquareMillimetres};

/// How a metric conductor is built: each has greatest resistances of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// Solid or of few wires: classes 1 and 2.
    Fixed,
    /// Of many fine wires: classes 5 and 6.
    Flexible,
}

impl Class {
    /// The class by its number in IEC 60228.
    pub fn of(number: u32) -> Option<Class> {
        match number {
            1 | 2 => Some(Class::Fixed),
            5 | 6 => Some(Class::Flexible),
            _ => None,
        }
    }
}

/// Greatest resistance at 20 °C, plain copper: mm², classes 1 and 2, classes 5 and 6, both in Ω/km (IEC 60228:2004, tables 1 to 3).
/// At 50 mm² the flexible one is the lower: so the table.
const METRIC: [(f64, f64, f64); 15] = [
    (0.5, 36.0, 39.0),
    (0.75, 24.5, 26.0),
    (1.0, 18.1, 19.5),
    (1.5, 12.1, 13.3),
    (2.5, 7.41, 7.98),
    (4.0, 4.61, 4.95),
    (6.0, 3.08, 3.30),
    (10.0, 1.83, 1.91),
    (16.0, 1.15, 1.21),
    (25.0, 0.727, 0.780),
    (35.0, 0.524, 0.554),
    (50.0, 0.387, 0.386),
    (70.0, 0.268, 0.272),
    (95.0, 0.193, 0.206),
    (120.0, 0.153, 0.161),
];

/// Every metric size, small to large, as it is written.
pub const AREAS: [&str; 15] =
    ["0.5", "0.75", "1", "1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95", "120"];

/// An American wire gauge. The finest here is 30, the coarsest 4/0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gauge(i32);

impl Gauge {
    const FINEST: i32 = 30;

    /// Sizes of power cables, small to large: those of 33 CFR 183.425 table 5.
    pub const ALL: [Gauge; 15] = [
        Gauge(18),
        Gauge(16),
        Gauge(14),
        Gauge(12),
        Gauge(10),
        Gauge(8),
        Gauge(6),
        Gauge(4),
        Gauge(3),
        Gauge(2),
        Gauge(1),
        Gauge(0),
        Gauge(-1),
        Gauge(-2),
        Gauge(-3),
    ];

    /// Reads "18", "2" or "2/0".
    pub fn parse(text: &str) -> Option<Gauge> {
        let text = text.trim();
        let number = match text.strip_suffix("/0") {
            Some(zeros) => 1 - zeros.parse::<i32>().ok().filter(|zeros| (1..=4).contains(zeros))?,
            None => text.parse().ok().filter(|number| (0..=Gauge::FINEST).contains(number))?,
        };
        Some(Gauge(number))
    }

    /// As it is written: "18", "2/0".
    pub fn name(self) -> String {
        if self.0 > 0 { self.0.to_string() } else { format!("{}/0", 1 - self.0) }
    }

    /// Of the solid wire.
    pub fn diameter(self) -> Metres {
        copper::diameter_of_gauge(self.0).unwrap_or(Metres::of(0.0))
    }

    pub fn area(self) -> SquareMillimetres {
        copper::area_of_diameter(self.diameter()).unwrap_or(SquareMillimetres::of(0.01))
    }
}

/// Names of [`Gauge::ALL`].
pub const GAUGES: [&str; 15] = ["18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"];

/// One conductor of a cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Conductor {
    Metric { area: SquareMillimetres, class: Class },
    American(Gauge),
}

impl Conductor {
    pub fn area(self) -> SquareMillimetres {
        match self {
            Conductor::Metric { area, .. } => area,
            Conductor::American(gauge) => gauge.area(),
        }
    }

    /// Is it a size of the tables?
    pub fn is_standard(self) -> bool {
        match self {
            Conductor::Metric { area, .. } => row(area).is_some(),
            Conductor::American(gauge) => Gauge::ALL.contains(&gauge),
        }
    }

    /// Resistance for each metre. A metric size of the table has the greatest that the standard allows; any other, and a
    /// gauge, that of solid copper, 1/58 Ω·mm²/m (IEC 60028). `None` beyond what the quantity can hold.
    pub fn resistance(self, temperature: Celsius) -> Option<OhmsPerMetre> {
        let Conductor::Metric { area, class } = self else { return copper::resistance(self.area(), temperature) };
        let Some((_, fixed, flexible)) = row(area) else { return copper::resistance(area, temperature) };
        let per_km = if class == Class::Fixed { fixed } else { flexible };
        copper::at_temperature(OhmsPerMetre::new(per_km / 1000.0).ok()?, temperature)
    }

    /// The metric sizes of a class, small to large.
    pub fn metric(class: Class) -> Vec<Conductor> {
        let area = |(area, ..): &(f64, f64, f64)| SquareMillimetres::new(*area).ok();
        METRIC.iter().filter_map(area).map(|area| Conductor::Metric { area, class }).collect()
    }

    /// The American sizes, small to large.
    pub fn american() -> Vec<Conductor> {
        Gauge::ALL.map(Conductor::American).to_vec()
    }

    /// Every size of its own kind, small to large.
    pub fn kin(self) -> Vec<Conductor> {
        match self {
            Conductor::Metric { class, .. } => Conductor::metric(class),
            Conductor::American(_) => Conductor::american(),
        }
    }

    /// Its size as it stands in sentences.
    pub fn name(self) -> String {
        match self {
            Conductor::Metric { area, .. } => format!("{}\u{a0}mm²", area.get()),
            Conductor::American(gauge) => format!("AWG\u{a0}{}", gauge.name()),
        }
    }
}

fn row(area: SquareMillimetres) -> Option<(f64, f64, f64)> {
    METRIC.into_iter().find(|(known, ..)| (known - area.get()).abs() < 1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_come_back_as_sizes() {
        for (gauge, name) in Gauge::ALL.iter().zip(GAUGES) {
            assert_eq!((Gauge::parse(name), gauge.name().as_str()), (Some(*gauge), name));
        }
        for ((area, ..), name) in METRIC.iter().zip(AREAS) {
            assert_eq!(name.parse(), Ok(*area));
        }
        for text in ["", "5/0", "0/0", "-1", "31", "2/1", "x"] {
            assert_eq!(Gauge::parse(text), None, "{text}");
        }
    }
}
