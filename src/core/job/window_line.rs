//! The window line: a short scale with the accepted window and the reading's mark, as shares of its width.

use crate::core::job::assess::Window;

/// Where things lie on the line, each from 0 (left end) to 1 (right end).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WindowLine {
    pub low: f64,
    pub high: f64,
    /// Outer limits, where there are any.
    pub outer: Option<(f64, f64)>,
    /// The reading's mark, and the reach of its error to either side.
    pub mark: Option<Mark>,
    /// Values at the two ends of the line, in the base unit.
    pub ends: (f64, f64),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    pub at: f64,
    pub from: f64,
    pub to: f64,
    /// The reading lies beyond the left (-1) or the right (+1) end of the line.
    pub beyond: i8,
}

/// Lays out the line. The window takes the middle third; a reading far away is marked at the end of the line.
pub fn lay_out(window: &Window, reading: Option<f64>) -> WindowLine {
    let (low, high) = (window.low.value(), window.high.value());
    let width = (high - low).max(1e-12 + high.abs() * 1e-6);
    let (outer_low, outer_high) = window.outer.map_or((low, high), |(a, b)| (a.value(), b.value()));
    let left = (low - width).min(outer_low - width / 4.0);
    let right = (high + width).max(outer_high + width / 4.0);
    let place = |value: f64| ((value - left) / (right - left)).clamp(0.0, 1.0);
    let mark = reading.map(|value| Mark {
        at: place(value),
        from: place(value - window.error),
        to: place(value + window.error),
        beyond: if value < left {
            -1
        } else if value > right {
            1
        } else {
            0
        },
    });
    WindowLine {
        low: place(low),
        high: place(high),
        outer: window.outer.map(|(a, b)| (place(a.value()), place(b.value()))),
        mark,
        ends: (left, right),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::units::Ohms;

    #[test]
    fn a_reading_far_above_is_marked_at_the_end() {
        let window = Window {
            low: Ohms::of(57.0).into(),
            high: Ohms::of(66.0).into(),
            outer: Some((Ohms::of(50.0).into(), Ohms::of(70.0).into())),
            error: 1.0,
        };
        let line = lay_out(&window, Some(118.6));
        let mark = line.mark.unwrap();
        assert_eq!((mark.at, mark.beyond), (1.0, 1));
        let inside = lay_out(&window, Some(60.4)).mark.unwrap();
        assert!(inside.at > line.low && inside.at < line.high && inside.beyond == 0);
    }
}
