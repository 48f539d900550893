//! What a resting voltage says of the state of charge, in words and as a picture.

use super::practice;
use crate::core::bank::rest::{OnCurve, RestError, SocRange, TOLERANCE, cell, pack, soc_range};
use crate::core::because::Because;
use crate::core::bus::termination::Meter;
use crate::core::entry::Shown;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{Percent, Quantity, Volts};

/// A range no wider than this tells something (common practice, no source).
const TELLING: f64 = 10.0;

/// The range that a voltage allows.
#[derive(Clone, Debug, PartialEq)]
pub struct RestFinding {
    pub judged: Judged,
    /// By the meter's error alone.
    pub range: SocRange,
    /// With the difference between cells of other makers too.
    pub wide: SocRange,
    /// How far the meter may be off.
    pub error: Volts,
}

/// Judges a resting voltage. Without a meter's error a usual one is taken: 0.8 % and two digits.
pub fn rest(voltage: Shown, cells: u32, error: Option<Volts>) -> Result<RestFinding, RestError> {
    let value = voltage.figure.value();
    let pack_volts = Volts::new(value).map_err(|_| RestError::CellCount)?;
    let usual = || Volts::new(Meter::USUAL.error(value, voltage.digit)).unwrap_or(Volts::of(1.0));
    let error = error.unwrap_or_else(usual);
    let range = soc_range(pack_volts, cells, error)?;
    let tolerance = tolerance_at(range.low).max(tolerance_at(range.high));
    let wider = Volts::new(error.get() + tolerance * f64::from(cells)).map_err(|_| RestError::CellCount)?;
    let wide = soc_range(pack_volts, cells, wider)?;

    let (verdict, because, next) = match range.standing {
        OnCurve::Below => {
            let because = Because::RestBelow { voltage: pack_volts, cells, empty: pack(Percent::of(0.0), cells)? };
            (Verdict::Fails, because, vec![Because::RestCheckCells {}])
        }
        OnCurve::Above => {
            let because = Because::RestAbove { voltage: pack_volts, cells, full: pack(Percent::of(100.0), cells)? };
            (Verdict::LookAgain, because, vec![Because::RestWait {}, Because::RestCheckCells {}])
        }
        OnCurve::Inside if wide.high.get() - wide.low.get() <= TELLING => {
            (Verdict::Holds, Because::RestTells { low: wide.low, high: wide.high }, vec![])
        }
        OnCurve::Inside => {
            let because = Because::RestSaysLittle { low: wide.low, high: wide.high };
            (Verdict::LookAgain, because, vec![Because::RestCountCharge {}, Because::RestWait {}])
        }
    };
    let mut judged = practice(verdict, because);
    judged.next = next;
    let count = f64::from(cells);
    if range.standing == OnCurve::Inside
        && let (Ok(each), Ok(error)) = (Volts::new(value / count), Volts::new(error.get() / count))
    {
        judged.sum.push(Because::RestEachCell { cell: each, error, low: range.low, high: range.high });
        if let Ok(tolerance) = Volts::new(tolerance) {
            judged.sum.push(Because::RestOtherCells { tolerance, low: wide.low, high: wide.high });
        }
    }
    judged.sources = vec!["bpx-lfp", "sunil-2025", "practice"];
    Ok(RestFinding { judged, range, wide, error })
}

/// How far a cell may lie from the curve at a state of charge, V.
fn tolerance_at(soc: Percent) -> f64 {
    let row = TOLERANCE.iter().find(|(upto, _)| soc <= *upto).or(TOLERANCE.last());
    row.map_or(0.0, |(_, tolerance)| tolerance.get())
}

/// The curve with the band, each place as a share of the picture: 0 left or bottom, 1 right or top.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    pub curve: Vec<(f64, f64)>,
    /// Voltage of the pack with its height, for the marks at the side.
    pub heights: Vec<(Volts, f64)>,
    /// The voltage read, with the meter's error: from, at, to.
    pub voltage: Option<(f64, f64, f64)>,
    /// States of charge by the meter alone.
    pub range: Option<(f64, f64)>,
    /// With other cells.
    pub wide: Option<(f64, f64)>,
}

/// The picture shows these voltages of a cell; the ends of the curve leave it, so that the plateau can be seen.
const SHOWN: (f64, f64) = (3.0, 3.5);
const HEIGHTS: [f64; 3] = [3.1, 3.25, 3.4];

/// Draws the curve for a pack, with the band of a finding where there is one.
pub fn picture(cells: u32, voltage: Option<Volts>, finding: Option<&RestFinding>) -> Picture {
    let count = f64::from(cells.max(1));
    let height = |cell: f64| (cell - SHOWN.0) / (SHOWN.1 - SHOWN.0);
    let inside = |cell: f64| height(cell).clamp(0.0, 1.0);
    let curve = (0..=400)
        .map(|step| f64::from(step) / 4.0)
        .filter_map(|soc| Some((soc / 100.0, height(cell(Percent::new(soc).ok()?).ok()?.get()))))
        .filter(|(_, height)| (0.0..=1.0).contains(height))
        .collect();
    let share = |range: &SocRange| (range.low.get() / 100.0, range.high.get() / 100.0);
    Picture {
        curve,
        heights: HEIGHTS.iter().filter_map(|cell| Some((Volts::new(cell * count).ok()?, height(*cell)))).collect(),
        voltage: voltage.zip(finding).map(|(volts, finding)| {
            let (volts, error) = (volts.get(), finding.error.get());
            (inside((volts - error) / count), inside(volts / count), inside((volts + error) / count))
        }),
        range: finding.map(|finding| share(&finding.range)),
        wide: finding.map(|finding| share(&finding.wide)),
    }
}
