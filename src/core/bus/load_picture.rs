//! The load over time as a drawing: geometry only, in the units of its own view box. And which bit rate to assume first.

use crate::core::bus::capture::{Loads, Plausible, Traffic};
use crate::core::units::{BitRate, Fraction, Quantity};

/// Width and height of the plot.
pub const WIDTH: f64 = 320.0;
pub const HEIGHT: f64 = 96.0;

/// The bit rates that are offered: those that CANopen (CiA 301), RV-C and J1939 use on buses of an installer's length.
pub const RATES: [BitRate; 4] = [BitRate::of(125e3), BitRate::of(250e3), BitRate::of(500e3), BitRate::of(1e6)];

/// The steps to which the scale may end; a bus that is busier is cut off at the last.
const TOPS: [f64; 6] = [0.02, 0.05, 0.1, 0.25, 0.5, 1.0];

/// The drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Corners of the stepped line, from left to right; 0 at the top.
    pub line: Vec<(f64, f64)>,
    /// The load at the top of the plot.
    pub top: Fraction,
    /// Height of the mean.
    pub mean: f64,
}

/// Lays the load out. A capture without frames has no line.
pub fn lay_out(loads: &Loads) -> Picture {
    let most = loads.each.iter().map(|load| load.get()).fold(loads.mean.get(), f64::max);
    let top = TOPS.into_iter().find(|top| most <= *top).unwrap_or(1.0);
    let y = |load: Fraction| HEIGHT * (1.0 - (load.get() / top).min(1.0));
    let step = WIDTH / loads.each.len().max(1) as f64;
    let corners = loads.each.iter().enumerate().flat_map(|(index, load)| {
        let left = step * index as f64;
        [(left, y(*load)), (left + step, y(*load))]
    });
    Picture { line: corners.collect(), top: Fraction::of(top), mean: y(loads.mean) }
}

/// Why a bit rate is assumed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Assumed {
    /// RV-C messages were read: it runs at 250 kbit/s (RV-C website).
    RvC,
    /// Most 29-bit buses run at 250 kbit/s (J1939-11, -15).
    LongIdentifiers,
    /// Most battery buses with 11-bit identifiers run at 500 kbit/s (common practice, no source).
    ShortIdentifiers,
    /// The slowest that can carry what was seen.
    Slowest,
    /// None of those offered can carry it; the fastest is shown.
    None,
}

/// The bit rate to assume until a person says otherwise: a log does not tell it.
pub fn assume(traffic: &Traffic) -> (BitRate, Assumed) {
    let [_, quarter, half, whole] = RATES;
    let can = |rate: BitRate| traffic.plausible(rate) != Plausible::No;
    let extended = traffic.talkers.iter().filter(|(id, _)| id.is_extended()).count();
    let wish = if !traffic.readings().sources.is_empty() {
        (quarter, Assumed::RvC)
    } else if 2 * extended > traffic.talkers.len() {
        (quarter, Assumed::LongIdentifiers)
    } else {
        (half, Assumed::ShortIdentifiers)
    };
    if can(wish.0) {
        return wish;
    }
    RATES.into_iter().find(|rate| can(*rate)).map_or((whole, Assumed::None), |rate| (rate, Assumed::Slowest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::bus::capture::Capture;

    fn traffic(lines: impl Iterator<Item = String>) -> Traffic {
        let mut capture = Capture::new();
        lines.for_each(|line| capture.feed(line.as_bytes()));
        capture.finish().interfaces.remove(0)
    }

    fn stream(id: &str, count: u32, step: u32) -> Traffic {
        traffic((0..count).map(|n| {
            let at = n * step;
            format!("({}.{:06}) can0 {id}#0011223344556677\n", at / 1_000_000, at % 1_000_000)
        }))
    }

    #[test]
    fn the_line_spans_the_plot_and_stays_inside() {
        // 113 bits 100 times a second at 250 kbit/s: 4.5 %, so that the scale ends at 5 %.
        let loads = stream("123", 1000, 10_000).loads(BitRate::of(250e3));
        let picture = lay_out(&loads);
        assert_eq!(picture.top, Fraction::of(0.05));
        assert_eq!(picture.line.len(), 2 * loads.each.len());
        assert_eq!((picture.line[0].0, picture.line[picture.line.len() - 1].0.round()), (0.0, WIDTH));
        assert!((picture.line[0].1 - HEIGHT * (1.0 - 0.0452 / 0.05)).abs() < 1e-9);
        assert!(picture.line.iter().all(|(x, y)| (0.0..=WIDTH + 1e-9).contains(x) && (0.0..=HEIGHT).contains(y)));
    }

    #[test]
    fn a_bus_fuller_than_full_is_cut_off() {
        let picture = lay_out(&stream("123", 5000, 226).loads(BitRate::of(125e3)));
        assert_eq!(picture.top, Fraction::of(1.0));
        assert_eq!(picture.line[0].1, 0.0);
    }

    #[test]
    fn the_rate_follows_from_what_was_seen() {
        assert_eq!(assume(&stream("123", 10, 10_000)), (BitRate::of(500e3), Assumed::ShortIdentifiers));
        assert_eq!(assume(&stream("18F00480", 10, 10_000)), (BitRate::of(250e3), Assumed::LongIdentifiers));
        let source = traffic(std::iter::once("(0.0) can0 19FFFD80#01780A019CF73577\n".to_string()));
        assert_eq!(assume(&source), (BitRate::of(250e3), Assumed::RvC));
        // Back to back at 500 kbit/s, 29 bits: 250 cannot carry it.
        assert_eq!(assume(&stream("18F00480", 5000, 300)), (BitRate::of(500e3), Assumed::Slowest));
        assert_eq!(assume(&stream("123", 5000, 60)).1, Assumed::None);
    }
}
