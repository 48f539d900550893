//! Rest voltage of lithium iron phosphate cells against state of charge, at 25 °C, both ways.
//!
//! The curve: BPX example data set of an LFP/graphite 2 Ah cell (BPX repository, MIT, examples/lfp_18650_cell_BPX.json,
//! commit a2de024), its two electrode voltages subtracted: positive at 0.95038 − 0.86288·s, negative at 0.0016261 +
//! 0.8209539·s. The points below are that difference, evaluated; between them a monotone cubic (Fritsch and Carlson, SIAM
//! J. Numer. Anal. 17 (1980) 238) stays within 0.2 mV from 10 to 98 %, 2 mV from 2 to 99 %, 13 mV beyond.
//!
//! Cells differ more than that: see [`TOLERANCE`]. And the curve is nearly flat: between 20 and 98 % a voltage says
//! little about the charge.

use crate::core::units::{Percent, Quantity, Volts};

/// State of charge in %, rest voltage of a cell in V.
const CURVE: [(f64, f64); 42] = [
    (0.0, 1.99999),
    (0.25, 2.49832),
    (0.5, 2.70496),
    (1.0, 2.83697),
    (1.5, 2.89575),
    (2.0, 2.94820),
    (3.0, 3.03516),
    (4.0, 3.09635),
    (5.0, 3.13654),
    (7.0, 3.17383),
    (8.0, 3.18103),
    (10.0, 3.18817),
    (12.0, 3.19347),
    (15.0, 3.20393),
    (18.0, 3.21852),
    (20.0, 3.22962),
    (22.0, 3.24050),
    (25.0, 3.25412),
    (27.0, 3.26075),
    (30.0, 3.26735),
    (35.0, 3.27270),
    (40.0, 3.27496),
    (45.0, 3.27640),
    (50.0, 3.27807),
    (55.0, 3.28094),
    (60.0, 3.28640),
    (62.0, 3.28958),
    (65.0, 3.29532),
    (68.0, 3.30162),
    (70.0, 3.30565),
    (75.0, 3.31360),
    (80.0, 3.31813),
    (85.0, 3.32047),
    (90.0, 3.32179),
    (95.0, 3.32269),
    (98.0, 3.32350),
    (98.5, 3.32516),
    (99.0, 3.33399),
    (99.25, 3.34844),
    (99.5, 3.38233),
    (99.75, 3.46186),
    (100.0, 3.64856),
];

/// How far another LFP cell may lie from the curve, by state of charge up to the given one: the BPX cell against
/// measured C/32 break points (Sunil, Pattipati, Balasingam, IEEE Trans. Instrum. Meas. 2025): 0.11 V at 2–5 %, 30 mV
/// from 10 to 98 %, 0.06 V at 99 %.
pub const TOLERANCE: [(Percent, Volts); 3] =
    [(Percent::of(10.0), Volts::of(0.11)), (Percent::of(98.0), Volts::of(0.03)), (Percent::of(100.0), Volts::of(0.06))];

/// How a voltage stands to the curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OnCurve {
    Inside,
    /// Below an empty cell at rest, even with the meter's error.
    Below,
    /// Above a full cell at rest, even with the meter's error: just off charge, or more cells than said.
    Above,
}

/// Which states of charge a rest voltage allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SocRange {
    pub low: Percent,
    pub high: Percent,
    pub standing: OnCurve,
}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RestError {
    /// A state of charge above 100 % has no rest voltage here.
    AboveFull,
    /// No cells, or more than [`MOST_CELLS`].
    CellCount,
    /// The meter's error is below zero.
    NegativeError,
}

impl std::fmt::Display for RestError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            RestError::AboveFull => write!(f, "A state of charge must lie between 0 and 100 %"),
            RestError::CellCount => write!(f, "The cells in series must be a whole number from 1 to {MOST_CELLS}"),
            RestError::NegativeError => write!(f, "A meter's error cannot be below zero"),
        }
    }
}

impl std::error::Error for RestError {}

/// More cells in series than this leave the range of [`Volts`].
pub const MOST_CELLS: u32 = 256;

/// Rest voltage of one cell at a state of charge of 0 to 100 %.
pub fn cell(soc: Percent) -> Result<Volts, RestError> {
    if soc.get() > 100.0 {
        return Err(RestError::AboveFull);
    }
    // Every voltage of the curve lies within the range of its type.
    Volts::new(volts_at(soc.get())).map_err(|_| RestError::AboveFull)
}

/// Rest voltage of a pack of cells in series, 1 to [`MOST_CELLS`].
pub fn pack(soc: Percent, series: u32) -> Result<Volts, RestError> {
    let volts = cell(soc)?.get() * f64::from(counted(series)?);
    Volts::new(volts).map_err(|_| RestError::CellCount)
}

/// The state of charge at which a pack rests at this voltage; the curve's ends beyond them.
pub fn soc(pack: Volts, series: u32) -> Result<Percent, RestError> {
    soc_at(pack.get() / f64::from(counted(series)?))
}

/// The states of charge that a pack's rest voltage allows when the meter may be `error` off either way.
pub fn soc_range(pack: Volts, series: u32, error: Volts) -> Result<SocRange, RestError> {
    if error.get() < 0.0 {
        return Err(RestError::NegativeError);
    }
    let cells = f64::from(counted(series)?);
    let (low, high) = ((pack.get() - error.get()) / cells, (pack.get() + error.get()) / cells);
    let (first, last) = (volts_at(0.0), volts_at(100.0));
    let standing = if high < first {
        OnCurve::Below
    } else if low > last {
        OnCurve::Above
    } else {
        OnCurve::Inside
    };
    Ok(SocRange { low: soc_at(low)?, high: soc_at(high)?, standing })
}

fn counted(series: u32) -> Result<u32, RestError> {
    if (1..=MOST_CELLS).contains(&series) { Ok(series) } else { Err(RestError::CellCount) }
}

/// The curve, for 0 to 100 %.
fn volts_at(soc: f64) -> f64 {
    let last = CURVE.len() - 2;
    let at = CURVE.partition_point(|(x, _)| *x <= soc).saturating_sub(1).min(last);
    let ((x0, y0), (x1, y1)) = (CURVE[at], CURVE[at + 1]);
    let (width, t) = (x1 - x0, (soc - x0) / (x1 - x0));
    let (m0, m1) = (slope_at(at) * width, slope_at(at + 1) * width);
    let (s, t2) = (1.0 - t, t * t);
    (1.0 + 2.0 * t) * s * s * y0 + t * s * s * m0 + t2 * (3.0 - 2.0 * t) * y1 - t2 * s * m1
}

/// The slope at a point: the weighted harmonic mean of the secants on either side keeps the cubic monotone. At an end,
/// the slope of the parabola through three points, if it rises no steeper than the cubic can bear.
fn slope_at(point: usize) -> f64 {
    let width = |i: usize| CURVE[i + 1].0 - CURVE[i].0;
    let secant = |i: usize| (CURVE[i + 1].1 - CURVE[i].1) / width(i);
    let last = CURVE.len() - 1;
    let end = |near: usize, far: usize| {
        let (h0, h1) = (width(near), width(far));
        let slope = ((2.0 * h0 + h1) * secant(near) - h0 * secant(far)) / (h0 + h1);
        slope.clamp(0.0, 3.0 * secant(near))
    };
    if point == 0 {
        end(0, 1)
    } else if point >= last {
        end(last - 1, last - 2)
    } else {
        let (h0, h1) = (width(point - 1), width(point));
        let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
        (w0 + w1) / (w0 / secant(point - 1) + w1 / secant(point))
    }
}

/// The curve the other way; a cell voltage beyond its ends gives the end.
fn soc_at(cell: f64) -> Result<Percent, RestError> {
    let (mut low, mut high) = (0.0, 100.0);
    if cell >= volts_at(high) {
        low = high;
    }
    // The curve rises throughout, so halving finds the one place.
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if volts_at(middle) < cell {
            low = middle;
        } else {
            high = middle;
        }
    }
    Percent::new(high.min(100.0)).map_err(|_| RestError::AboveFull)
}
