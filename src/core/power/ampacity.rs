//! How much current a cable may carry: tables that were read, and factors on them.

use super::conductor::{Conductor, Gauge};
use crate::core::units::{Amperes, Fraction, Quantity};

/// The highest temperature that the insulation is made for, in °C, as a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Insulation {
    C60,
    C75,
    C80,
    C90,
    C105,
    C125,
    C200,
}

impl Insulation {
    pub const ALL: [Insulation; 7] = [
        Insulation::C60,
        Insulation::C75,
        Insulation::C80,
        Insulation::C90,
        Insulation::C105,
        Insulation::C125,
        Insulation::C200,
    ];

    /// The class by its temperature: "105".
    pub fn parse(text: &str) -> Option<Insulation> {
        Insulation::ALL.into_iter().find(|class| class.key() == text)
    }

    pub fn key(self) -> &'static str {
        match self {
            Insulation::C60 => "60",
            Insulation::C75 => "75",
            Insulation::C80 => "80",
            Insulation::C90 => "90",
            Insulation::C105 => "105",
            Insulation::C125 => "125",
            Insulation::C200 => "200",
        }
    }

    /// What is left of the rating in an engine space of 50 °C. 60, 75 and 90 °C as the NEC's factors for 46 to 50 °C, 105 °C
    /// as 33 CFR 183.425 has it; 80, 125 and 200 °C from memory.
    fn in_engine_space(self) -> f64 {
        match self {
            Insulation::C60 => 0.58,
            Insulation::C75 => 0.75,
            Insulation::C80 => 0.78,
            Insulation::C90 => 0.82,
            Insulation::C105 => 0.85,
            Insulation::C125 => 0.89,
            Insulation::C200 => 1.00,
        }
    }
}

/// What is left where so many conductors that carry current lie in one bundle (33 CFR 183.425, note 2, from memory).
fn in_bundle(conductors: u32) -> f64 {
    match conductors {
        0..=2 => 1.0,
        3 => 0.70,
        4..=6 => 0.60,
        7..=24 => 0.50,
        _ => 0.40,
    }
}

/// Amperes at 30 °C by gauge, for the classes of [`Insulation::ALL`] (33 CFR 183.425, table 5; ABYC E-11 has the same at 105 °C).
const TABLE_5: [(&str, [f64; 7]); 15] = [
    ("18", [10.0, 10.0, 15.0, 20.0, 20.0, 25.0, 25.0]),
    ("16", [15.0, 15.0, 20.0, 25.0, 25.0, 30.0, 35.0]),
    ("14", [20.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0]),
    ("12", [25.0, 25.0, 35.0, 40.0, 45.0, 50.0, 55.0]),
    ("10", [40.0, 40.0, 50.0, 55.0, 60.0, 70.0, 70.0]),
    ("8", [55.0, 65.0, 70.0, 70.0, 80.0, 90.0, 100.0]),
    ("6", [80.0, 95.0, 100.0, 100.0, 120.0, 125.0, 135.0]),
    ("4", [105.0, 125.0, 130.0, 135.0, 160.0, 170.0, 180.0]),
    ("3", [120.0, 145.0, 150.0, 155.0, 180.0, 195.0, 210.0]),
    ("2", [140.0, 170.0, 175.0, 180.0, 210.0, 225.0, 240.0]),
    ("1", [165.0, 195.0, 210.0, 210.0, 245.0, 265.0, 280.0]),
    ("1/0", [195.0, 230.0, 245.0, 245.0, 285.0, 305.0, 325.0]),
    ("2/0", [225.0, 265.0, 285.0, 285.0, 330.0, 355.0, 370.0]),
    ("3/0", [260.0, 310.0, 330.0, 330.0, 385.0, 410.0, 430.0]),
    ("4/0", [300.0, 360.0, 385.0, 385.0, 445.0, 475.0, 510.0]),
];

/// mm² and amperes: two single cables of 90 °C insulation clipped direct, 30 °C (BS 7671 table 4E1A, method C, a public copy).
const CLIPPED_90: [(f64, f64); 11] = [
    (1.5, 25.0),
    (2.5, 34.0),
    (4.0, 46.0),
    (6.0, 59.0),
    (10.0, 81.0),
    (16.0, 109.0),
    (25.0, 143.0),
    (35.0, 176.0),
    (50.0, 228.0),
    (70.0, 293.0),
    (95.0, 355.0),
];

/// How a cable is laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Laying {
    pub insulation: Insulation,
    pub engine_space: bool,
    /// Conductors in one bundle that carry current.
    pub bundled: u32,
}

/// What a cable may carry, and how that comes about.
#[derive(Clone, Debug, PartialEq)]
pub struct Rating {
    pub current: Amperes,
    /// As the table has it.
    pub table: Amperes,
    /// The class whose column it is: a metric cable of a hotter class is rated as one of 90 °C.
    pub column: Insulation,
    pub engine: Fraction,
    pub bundle: Fraction,
    pub sources: Vec<&'static str>,
}

/// The rating of a cable; `None` where no table that was read covers it.
pub fn rating(conductor: Conductor, laying: Laying) -> Option<Rating> {
    let (table, column, source) = match conductor {
        Conductor::American(gauge) => (by_gauge(gauge, laying.insulation)?, laying.insulation, "cfr-183-425"),
        Conductor::Metric { .. } if laying.insulation < Insulation::C90 => return None,
        Conductor::Metric { area, .. } => {
            let found = CLIPPED_90.into_iter().find(|(known, _)| (known - area.get()).abs() < 1e-9)?;
            (found.1, Insulation::C90, "bs-7671-4e1a")
        }
    };
    let engine = if laying.engine_space { column.in_engine_space() } else { 1.0 };
    let bundle = in_bundle(laying.bundled);
    let from_memory = matches!(column, Insulation::C80 | Insulation::C125 | Insulation::C200);
    let mut sources = vec![source];
    if laying.engine_space {
        sources.push(if from_memory { "cfr-183-425-factors" } else { "engine-space" });
    }
    if bundle < 1.0 {
        sources.push("cfr-183-425-factors");
    }
    sources.dedup();
    Some(Rating {
        current: Amperes::new(table * engine * bundle).ok()?,
        table: Amperes::new(table).ok()?,
        column,
        engine: Fraction::new(engine).ok()?,
        bundle: Fraction::new(bundle).ok()?,
        sources,
    })
}

fn by_gauge(gauge: Gauge, insulation: Insulation) -> Option<f64> {
    let name = gauge.name();
    let (_, row) = TABLE_5.iter().find(|(known, _)| *known == name)?;
    Insulation::ALL.iter().position(|class| *class == insulation).map(|index| row[index])
}
