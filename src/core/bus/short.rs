//! Where along the trunk do the two wires touch? From one reading at each end, everything off.
//!
//! A reading at an end is the terminator there, in parallel with the cable up to the touch, the touch itself and what
//! lies beyond. Two readings give two unknowns: the place, and the resistance of the touch. Near an end it is
//! d ≈ R / (2ρ) (bus reference 1.5, computed by nodal analysis).

use crate::core::units::{Metres, Ohms, OhmsPerMetre, Quantity};
use std::fmt;

/// A trunk with a terminator of the same resistance at each end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trunk {
    pub length: Metres,
    /// One conductor.
    pub per_metre: OhmsPerMetre,
    pub terminator: Ohms,
}

/// Where the wires touch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    pub from_start: Metres,
    /// Resistance of the touch itself. Taken as zero when only one end was read. Some tens of ohms and more is no touch
    /// but a part: a terminator too many, say.
    pub touch: Ohms,
}

/// Why there is no place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPlace {
    /// Without resistance in the cable, all places read alike.
    NoCableResistance,
    /// A reading is not below the terminator's own: from there, no path through the cable is seen.
    NotBelowTerminator,
    /// The readings are those of a whole bus.
    Whole,
    /// The readings differ by more than the whole cable can explain.
    Contradiction,
}

impl fmt::Display for NoPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NoPlace::NoCableResistance => "The cable has no length or no resistance: every place reads alike",
            NoPlace::NotBelowTerminator => "A reading is not below its terminator: from that end no short is seen",
            NoPlace::Whole => "The readings are those of a bus whose wires do not touch",
            NoPlace::Contradiction => "The readings differ by more than the whole cable can explain",
        })
    }
}

impl std::error::Error for NoPlace {}

/// How far a place may fall outside the cable before the readings contradict it: a tenth of the cable, which leaves
/// room for the meter and the leads (common practice, no source).
const SLACK: f64 = 0.1;

/// The place of a touch, from readings at both ends.
///
/// Exact for any resistance of the touch. A place a little outside the cable (the meter's error) is taken as its end.
pub fn place(trunk: Trunk, at_start: Ohms, at_end: Ohms) -> Result<Place, NoPlace> {
    let per_metre = loop_per_metre(trunk)?;
    let all = per_metre * trunk.length.get();
    let end = trunk.terminator.get();
    let (a, b) = (behind(at_start, end)?, behind(at_end, end)?);
    if (a - b).abs() > all * (1.0 + 2.0 * SLACK) {
        return Err(NoPlace::Contradiction);
    }
    if a + b >= 2.0 * (all + end) * (1.0 - 1e-9) {
        return Err(NoPlace::Whole);
    }
    // The touch, if it lay `x` ohms of cable from the start: what the start's reading leaves for it.
    let touch_at = |x: f64| {
        if a <= x {
            return 0.0;
        }
        let siemens = 1.0 / (a - x) - 1.0 / (all - x + end);
        if siemens > 0.0 { 1.0 / siemens } else { f64::INFINITY }
    };
    // What the end would then read, less what it does read. Falls as x grows.
    let excess = |x: f64| {
        let touch = touch_at(x);
        let rest = x + end;
        let parallel = if touch.is_finite() { touch * rest / (touch + rest) } else { rest };
        all - x + parallel - b
    };
    let (mut low, mut high) = (0.0, all);
    for _ in 0..200 {
        let middle = (low + high) / 2.0;
        if excess(middle) > 0.0 { low = middle } else { high = middle }
    }
    let mut x = (low + high) / 2.0;
    if a + b < all {
        // Less than the whole cable in both together: the meter errs. Both ends count alike.
        x = ((all + a - b) / 2.0).clamp(0.0, all);
    }
    let touch = Ohms::new(touch_at(x)).map_err(|_| NoPlace::Whole)?;
    Ok(Place { from_start: metres(x / per_metre, trunk), touch })
}

/// The place of a touch without resistance, from a reading at the start only.
pub fn place_from_start(trunk: Trunk, at_start: Ohms) -> Result<Place, NoPlace> {
    let per_metre = loop_per_metre(trunk)?;
    let distance = behind(at_start, trunk.terminator.get())? / per_metre;
    if distance > trunk.length.get() * (1.0 + SLACK) {
        return Err(NoPlace::Contradiction);
    }
    Ok(Place { from_start: metres(distance, trunk), touch: Ohms::of(0.0) })
}

/// Resistance of both conductors for each metre.
fn loop_per_metre(trunk: Trunk) -> Result<f64, NoPlace> {
    let per_metre = 2.0 * trunk.per_metre.get();
    if per_metre * trunk.length.get() > 0.0 { Ok(per_metre) } else { Err(NoPlace::NoCableResistance) }
}

/// The reading without the terminator at its own end.
fn behind(reading: Ohms, terminator: f64) -> Result<f64, NoPlace> {
    let reading = reading.get();
    if reading >= terminator {
        return Err(NoPlace::NotBelowTerminator);
    }
    Ok(reading * terminator / (terminator - reading))
}

fn metres(value: f64, trunk: Trunk) -> Metres {
    Metres::new(value.clamp(0.0, trunk.length.get())).unwrap_or(trunk.length)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::bus::line::{Line, Run, Short, Spot, Terminator, Wire};

    const TRUNK: Trunk =
        Trunk { length: Metres::of(40.0), per_metre: OhmsPerMetre::of(0.07), terminator: Ohms::of(120.0) };

    fn read(at: f64, touch: f64) -> (Ohms, Ohms) {
        let line = Line {
            runs: vec![Run { length: TRUNK.length, per_metre: TRUNK.per_metre, contacts: Ohms::of(0.0) }],
            terminators: [Metres::of(0.0), TRUNK.length]
                .map(|at| Terminator { at: Spot::Trunk(at), ohms: TRUNK.terminator })
                .to_vec(),
            shorts: vec![Short {
                between: (Wire::High, Wire::Low),
                at: Metres::new(at).unwrap(),
                ohms: Ohms::new(touch).unwrap(),
            }],
            ..Line::default()
        };
        let ends = line.readings(&[Spot::Trunk(Metres::of(0.0)), Spot::Trunk(TRUNK.length)]);
        (ends[0].pair.unwrap(), ends[1].pair.unwrap())
    }

    #[test]
    fn finds_the_place_that_the_network_was_given() {
        for at in [0.0, 0.5, 10.0, 20.0, 33.0, 40.0] {
            for touch in [0.0, 0.05, 1.0, 20.0, 120.0] {
                let (start, end) = read(at, touch);
                let found = place(TRUNK, start, end).unwrap();
                assert!((found.from_start.get() - at).abs() < 1e-6, "{at} m, {touch} Ω: {found:?}");
                assert!((found.touch.get() - touch).abs() < 1e-6, "{at} m, {touch} Ω: {found:?}");
            }
        }
    }

    #[test]
    fn one_end_alone_will_do_for_a_bare_touch() {
        let (start, _) = read(10.0, 0.0);
        let found = place_from_start(TRUNK, start).unwrap();
        assert!((found.from_start.get() - 10.0).abs() < 1e-9);
    }

    #[test]
    fn says_why_there_is_no_place() {
        let bare = Trunk { length: Metres::of(0.0), ..TRUNK };
        assert_eq!(place(bare, Ohms::of(1.0), Ohms::of(1.0)), Err(NoPlace::NoCableResistance));
        assert_eq!(place(TRUNK, Ohms::of(120.0), Ohms::of(1.0)), Err(NoPlace::NotBelowTerminator));
        assert_eq!(place(TRUNK, Ohms::of(0.1), Ohms::of(60.0)), Err(NoPlace::Contradiction));
        let whole = 1.0 / (1.0 / 120.0 + 1.0 / 125.6);
        let whole = Ohms::new(whole).unwrap();
        assert_eq!(place(TRUNK, whole, whole), Err(NoPlace::Whole));
        // A meter that reads too little at both ends is forgiven.
        let found = place(TRUNK, Ohms::of(2.0), Ohms::of(2.0)).unwrap();
        assert!((found.from_start.get() - 20.0).abs() < 1e-9 && found.touch.get() == 0.0);
    }
}
