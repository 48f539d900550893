//! How much current a bank may be asked for, from what each module allows.
//!
//! The sum of the limits is only an upper bound: modules side by side rarely share evenly. With known shares the safe
//! bound is the least of limit ÷ share; without, the number of modules times the least limit (derived).

use super::modules::number;
use crate::core::units::{Amperes, OutOfRange, Quantity, Ratio};
use std::fmt;

/// Shares may miss 1 by this much in all: they come from measured currents (common practice, no source).
const SHARES_MISS: f64 = 0.01;

/// What a bank may be asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurrentLimit {
    /// All limits together: never exceed it.
    pub sum: Option<Amperes>,
    /// The bound that no module's own limit breaks.
    pub safe: Option<Amperes>,
    /// The module that sets the safe bound, counted from 1.
    pub binding: Option<u32>,
}

/// Why there is no limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LimitError {
    NoModules,
    /// Not as many shares as modules.
    ShareCount {
        modules: usize,
        shares: usize,
    },
    /// A share below 0 or above 1; modules count from 1.
    ShareOutside {
        module: u32,
        share: Ratio,
    },
    SharesMissOne {
        sum: Ratio,
    },
    OutOfRange(OutOfRange),
}

impl fmt::Display for LimitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LimitError::NoModules => write!(f, "There is no module to take a limit from"),
            LimitError::ShareCount { modules, shares } => {
                write!(f, "{shares} shares do not fit {modules} modules: each needs one")
            }
            LimitError::ShareOutside { module, share } => {
                write!(f, "The share of module {module} is {}: it must lie between 0 and 1", share.get())
            }
            LimitError::SharesMissOne { sum } => write!(f, "The shares add up to {}, not to 1", sum.get()),
            LimitError::OutOfRange(error) => write!(f, "The bank's limit is beyond the range: {error}"),
        }
    }
}

impl std::error::Error for LimitError {}

impl From<OutOfRange> for LimitError {
    fn from(error: OutOfRange) -> Self {
        LimitError::OutOfRange(error)
    }
}

/// The limit of modules side by side. `shares` are parts of the whole current, 0 to 1, together 1; left out, the
/// sharing is not known. A module whose limit is not known leaves the bank's not known.
pub fn in_parallel(limits: &[Option<Amperes>], shares: Option<&[Ratio]>) -> Result<CurrentLimit, LimitError> {
    if limits.is_empty() {
        return Err(LimitError::NoModules);
    }
    if let Some(shares) = shares {
        check(shares, limits.len())?;
    }
    let Some(known) = limits.iter().copied().collect::<Option<Vec<Amperes>>>() else {
        return Ok(CurrentLimit { sum: None, safe: None, binding: None });
    };
    let even = 1.0 / known.len() as f64;
    let mut safe = f64::INFINITY;
    let mut binding = None;
    for (index, limit) in known.iter().enumerate() {
        let share = shares.map_or(even, |shares| shares.get(index).map_or(even, |share| share.get()));
        // A module that carries nothing sets no bound.
        let bound = if share > 0.0 { limit.get() / share } else { f64::INFINITY };
        if bound < safe {
            (safe, binding) = (bound, Some(number(index)));
        }
    }
    // Shares out of measured currents may miss 1 a little; the bound must still not pass the sum.
    let sum: f64 = known.iter().map(|limit| limit.get()).sum();
    Ok(CurrentLimit { sum: Some(Amperes::new(sum)?), safe: Some(Amperes::new(safe.min(sum))?), binding })
}

/// The limit of modules one after the other: the least.
pub fn in_series(limits: &[Option<Amperes>]) -> Result<CurrentLimit, LimitError> {
    if limits.is_empty() {
        return Err(LimitError::NoModules);
    }
    let Some(known) = limits.iter().copied().collect::<Option<Vec<Amperes>>>() else {
        return Ok(CurrentLimit { sum: None, safe: None, binding: None });
    };
    let least = known.iter().enumerate().min_by(|a, b| a.1.get().total_cmp(&b.1.get()));
    let limit = least.map(|(_, limit)| *limit);
    Ok(CurrentLimit { sum: limit, safe: limit, binding: least.map(|(index, _)| number(index)) })
}

fn check(shares: &[Ratio], modules: usize) -> Result<(), LimitError> {
    if shares.len() != modules {
        return Err(LimitError::ShareCount { modules, shares: shares.len() });
    }
    for (index, share) in shares.iter().enumerate() {
        if !(0.0..=1.0).contains(&share.get()) {
            return Err(LimitError::ShareOutside { module: number(index), share: *share });
        }
    }
    let sum: f64 = shares.iter().map(|share| share.get()).sum();
    if (sum - 1.0).abs() > SHARES_MISS {
        return Err(LimitError::SharesMissOne { sum: Ratio::new(sum)? });
    }
    Ok(())
}
