//! What would explain what was seen.

pub mod bus;
pub mod finder;

use crate::core::units::{Percent, Quantity};

/// A probability as it is said, %: whole, from 1 to 99. Priors and likelihoods of common practice carry no more digits, and
/// are never a proof.
pub fn share(probability: f64) -> Percent {
    Percent::new((100.0 * probability).round().clamp(1.0, 99.0)).unwrap_or(Percent::of(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_whole_and_never_a_proof() {
        for (probability, said) in [(0.0, 1.0), (0.004, 1.0), (0.576, 58.0), (0.9999, 99.0), (1.0, 99.0)] {
            assert_eq!(share(probability), Percent::of(said));
        }
    }
}
