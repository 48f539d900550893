//! The idle voltage of an RS-485 pair: what the bias resistors leave across terminators and receivers.

use crate::core::units::{Count, Ohms, Quantity, Volts};
use std::fmt;

/// Input resistance of one unit load: TI data sheet SN75ALS174, "Bus loading".
pub const UNIT_LOAD: Ohms = Ohms::of(12_000.0);

/// Receivers know the idle state only above this difference, unless they are fail-safe: TI data sheets (SN75179B).
pub const IDLE_LEAST: Volts = Volts::of(0.2);

/// A pair with its bias resistors at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Bias {
    pub supply: Volts,
    /// From the idle-high line to the supply.
    pub pull_up: Ohms,
    /// From the other line to the reference.
    pub pull_down: Ohms,
    /// Terminators that pass direct current; those with a capacitor in series do not count.
    pub terminators: Vec<Ohms>,
    /// Receivers in unit loads of 12 kΩ; a part of 1/8 unit load counts 0.125.
    pub unit_loads: Count,
}

/// The idle state of the pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Idle {
    /// The idle-high line against the other.
    pub difference: Volts,
    /// At least 200 mV, so that every receiver sees the idle state.
    pub enough: bool,
    /// The largest bias resistor on each side that still gives 200 mV; `None` where nothing loads the pair or the supply
    /// is too low for any.
    pub largest_each_side: Option<Ohms>,
}

/// Why there is no idle voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoBias {
    /// The supply is short-circuited: no resistor anywhere in its path.
    ShortCircuit,
    /// The supply is below zero.
    NegativeSupply,
}

impl fmt::Display for NoBias {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NoBias::ShortCircuit => "With no resistance in its path the supply is short-circuited",
            NoBias::NegativeSupply => "The supply of a bias network is not below zero",
        })
    }
}

impl std::error::Error for NoBias {}

/// V = supply · R / (R + up + down), with R = all terminators and receivers in parallel (Ohm's law; bus reference 7).
pub fn idle(bias: &Bias) -> Result<Idle, NoBias> {
    let supply = bias.supply.get();
    if supply < 0.0 {
        return Err(NoBias::NegativeSupply);
    }
    let series = bias.pull_up.get() + bias.pull_down.get();
    if bias.terminators.iter().any(|terminator| terminator.get() == 0.0) {
        if series == 0.0 {
            return Err(NoBias::ShortCircuit);
        }
        return Ok(Idle { difference: Volts::of(0.0), enough: false, largest_each_side: None });
    }
    let siemens = bias.terminators.iter().map(|terminator| 1.0 / terminator.get()).sum::<f64>()
        + bias.unit_loads.get() / UNIT_LOAD.get();
    // Divided by R, so that a pair without any load needs no infinite resistance.
    let difference = supply / (1.0 + series * siemens);
    let largest = (supply / IDLE_LEAST.get() - 1.0) / siemens / 2.0;
    Ok(Idle {
        difference: Volts::new(difference).unwrap_or(bias.supply),
        // A hair of rounding does not decide.
        enough: difference >= IDLE_LEAST.get() - 1e-12,
        largest_each_side: Ohms::new(largest).ok(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bias(terminators: &[f64]) -> Bias {
        Bias {
            supply: Volts::of(5.0),
            pull_up: Ohms::of(680.0),
            pull_down: Ohms::of(680.0),
            terminators: terminators.iter().map(|ohm| Ohms::new(*ohm).unwrap()).collect(),
            unit_loads: Count::of(0.0),
        }
    }

    #[test]
    fn a_pair_without_load_idles_at_the_supply() {
        let idle = idle(&bias(&[])).unwrap();
        assert_eq!(idle.difference, Volts::of(5.0));
        assert_eq!(idle.largest_each_side, None);
    }

    #[test]
    fn a_shorted_pair_has_no_idle_voltage() {
        assert_eq!(idle(&bias(&[0.0, 120.0])).unwrap().difference, Volts::of(0.0));
        let dead = Bias { pull_up: Ohms::of(0.0), pull_down: Ohms::of(0.0), ..bias(&[0.0]) };
        assert_eq!(idle(&dead), Err(NoBias::ShortCircuit));
        assert_eq!(idle(&Bias { supply: Volts::of(-5.0), ..bias(&[120.0]) }), Err(NoBias::NegativeSupply));
    }
}
