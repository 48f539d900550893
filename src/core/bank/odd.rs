//! From measured module currents back to the branch that is odd: a poor joint, a lead too long, a tired module.
//!
//! The links and the currents give the voltage between the posts of every module up to one common figure. That figure
//! comes from the voltage between the main leads if it was measured; otherwise from the branches themselves, as the
//! median of what each would give if it were as described: one odd branch among three or more does not move it. Then
//! each branch's resistance is (EMF − post voltage) ÷ current.
//!
//! Limits: one steady current, no module near full or empty, the EMFs as described. A branch off by its EMF instead
//! of its resistance looks the same at one current; measure again at another.

use super::modules::number;
use super::sharing::{Circuit, SharingError};
use crate::core::units::{Amperes, Ohms, Quantity, Ratio, Volts};

/// How far a module's current may be from what it should be, as a part of the mean: good up to the first, odd from the
/// second on (common practice, no source).
pub const GOOD: Ratio = Ratio::of(0.1);
pub const ODD: Ratio = Ratio::of(0.2);

/// A branch with less than this part of the mean current tells too little of its resistance (common practice, no
/// source).
const TELLING: f64 = 0.05;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Share {
    Good,
    Uneven,
    Odd,
}

/// One branch as measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BranchFound {
    /// What the circuit as described would give.
    pub should_be: Amperes,
    /// (Measured − should be) ÷ mean.
    pub off: Ratio,
    pub share: Share,
    /// Resistance with its own leads that the currents point to. `None`: too little current to tell, or less than
    /// nothing, which means that its EMF is not as described.
    pub resistance: Option<Ohms>,
}

/// What the currents say.
#[derive(Clone, Debug, PartialEq)]
pub struct OddBranch {
    pub branches: Vec<BranchFound>,
    /// The branch, counted from 1, whose resistance is farthest from what it should be. `None`: all shares are good,
    /// or there are only two and no voltage was measured, so that either may be the odd one.
    pub suspect: Option<u32>,
}

/// Finds the odd branch of a circuit as described from the currents of its modules, in order, and the voltage between
/// the main leads if it was measured.
pub fn odd_branch(circuit: &Circuit, measured: &[Amperes], tap: Option<Volts>) -> Result<OddBranch, SharingError> {
    let branches = circuit.branches();
    if measured.len() != branches.len() {
        return Err(SharingError::CurrentCount { modules: branches.len(), currents: measured.len() });
    }
    let currents: Vec<f64> = measured.iter().map(|current| current.get()).collect();
    let load = Amperes::new(currents.iter().sum())?;
    let mean = load.get() / currents.len() as f64;
    if mean == 0.0 {
        return Err(SharingError::NoCurrent);
    }
    let should_be = circuit.share(load)?.currents;
    let (drops, tap_drop) = circuit.drops(&currents);
    let as_described = branches.iter().zip(&currents).zip(&drops);
    let first = match tap {
        Some(tap) => tap.get() - tap_drop,
        None => median(as_described.map(|((b, current), drop)| b.emf.get() - b.ohms() * current - drop).collect()),
    };

    let mut found = Vec::new();
    let mut farthest = (0.0, None);
    for (index, ((branch, current), drop)) in branches.iter().zip(&currents).zip(&drops).enumerate() {
        let should = should_be.get(index).copied().unwrap_or(load);
        let off = Ratio::new((current - should.get()) / mean)?;
        let share = if off.get().abs() <= GOOD.get() {
            Share::Good
        } else if off.get().abs() <= ODD.get() {
            Share::Uneven
        } else {
            Share::Odd
        };
        let telling = (current / mean).abs() >= TELLING;
        let ohms = (branch.emf.get() - first - drop) / current;
        let excess = (branch.emf.get() - branch.ohms() * current - first - drop).abs();
        // Volts missing in the branch: unlike ohms they do not explode where hardly any current flows.
        if excess > farthest.0 {
            farthest = (excess, Some(number(index)));
        }
        let resistance = if telling { Ohms::new(ohms).ok() } else { None };
        found.push(BranchFound { should_be: should, off, share, resistance });
    }
    let all_good = found.iter().all(|branch| branch.share == Share::Good);
    let cannot_tell = tap.is_none() && found.len() < 3;
    Ok(OddBranch { branches: found, suspect: if all_good || cannot_tell { None } else { farthest.1 } })
}

/// The middle value; the mean of the two middle ones of an even number.
fn median(mut list: Vec<f64>) -> f64 {
    list.sort_by(f64::total_cmp);
    let at = |index: usize| list.get(index).copied().unwrap_or(0.0);
    (at(list.len() / 2) + at(list.len().saturating_sub(1) / 2)) / 2.0
}
