//! Is the bus terminated at both ends and nowhere else? The window that a reading is held against.

use crate::core::bus::line::{Line, Spot};
use crate::core::units::{Ohms, Percent, Quantity};
use serde::{Deserialize, Serialize};

/// Terminators inside which a reading *holds*: 118 Ω is the least used in design notes (Philips AN96116, CiA 303-1, from
/// memory), 130 Ω the greatest that ISO 11898-2:2003 allows (from memory).
pub const TERMINATOR_ALLOWED: (Ohms, Ohms) = (Ohms::of(118.0), Ohms::of(130.0));

/// Differential input resistance of a device: ISO 11898 (1993/2003); TI SN65LBC031 (SLRS048A), receiver table.
pub const DEVICE_ALLOWED: (Ohms, Ohms) = (Ohms::of(10_000.0), Ohms::of(100_000.0));

/// Outer limits for two terminators: 50–70 Ω, as generic CAN trouble guides restate it.
pub const OUTER: (Ohms, Ohms) = (Ohms::of(50.0), Ohms::of(70.0));

/// How far a meter may be off: a share of the reading and a number of last digits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Meter {
    pub share: Percent,
    pub digits: u32,
}

impl Meter {
    /// ±(0.8 % + 2 digits): a usual hand-held meter on ohms (common practice, no source).
    pub const USUAL: Meter = Meter { share: Percent::of(0.8), digits: 2 };

    /// The greatest error of a reading whose last digit is worth `digit`.
    pub fn error(&self, reading: f64, digit: f64) -> f64 {
        reading.abs() * self.share.get() / 100.0 + f64::from(self.digits) * digit
    }
}

/// The readings that a healthy bus may give, least and greatest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowed {
    pub low: Ohms,
    pub high: Ohms,
}

/// The window of a bus between the two data wires.
///
/// `least` and `greatest` are the same bus with every part at its least and greatest allowed resistance. No reading of
/// a network of resistors falls when one of them grows (Rayleigh's monotonicity law), so the two corners bound all
/// that lies between. `None` where the bus has no path between its wires.
pub fn window(least: &Line, greatest: &Line, at: Spot) -> Option<Allowed> {
    Some(Allowed { low: least.pair_at(at)?, high: greatest.pair_at(at)? })
}

/// How a reading stands to its window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    Inside,
    /// Outside the window, yet inside the outer limits, or touching window or limits within the meter's error.
    Near,
    Below,
    Above,
}

/// Holds a reading against the window and the outer limits; all of it within the meter's error.
pub fn stand(reading: f64, error: f64, allowed: Allowed) -> Standing {
    let (low, high) = (allowed.low.get(), allowed.high.get());
    // A long bus may lawfully read above 70 Ω; the outer limits never cut into the window.
    let (outer_low, outer_high) = (OUTER.0.get().min(low), OUTER.1.get().max(high));
    // All of the reading's error inside the window widened by the meter is the same as the reading inside the window;
    // one whose error straddles a limit is looked at again.
    if reading >= low && reading <= high {
        Standing::Inside
    } else if reading + error < outer_low {
        Standing::Below
    } else if reading - error > outer_high {
        Standing::Above
    } else {
        Standing::Near
    }
}
