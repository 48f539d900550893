//! What would explain what was seen.

pub mod bus;
pub mod finder;

use crate::core::units::{Percent, Quantity};

/// A probability as it is said, %: whole, from 1 to 99. Priors and likelihoods of common practice carry no more digits, and
/// are never a proof.
pub fn share(probability: f64) -> Percent {
    Percent::new((100.0 * probability).round().clamp(1.0, 99.0)).unwrap_or(Percent::of(1.0))
}

/// How many of the first have the same share as it is said: nothing tells them apart yet. None where the first stands alone.
pub fn tied(shares: impl IntoIterator<Item = Percent>) -> Option<u32> {
    let mut shares = shares.into_iter();
    let first = shares.next()?;
    let others = u32::try_from(shares.take_while(|share| *share == first).count()).ok()?;
    (others > 0).then_some(others + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tie_is_of_the_first() {
        let tied_of = |shares: &[f64]| tied(shares.iter().map(|share| Percent::of(*share)));
        assert_eq!(tied_of(&[]), None);
        assert_eq!(tied_of(&[40.0]), None);
        assert_eq!(tied_of(&[40.0, 30.0, 30.0]), None);
        assert_eq!(tied_of(&[30.0, 30.0, 20.0, 20.0]), Some(2));
        assert_eq!(tied_of(&[25.0, 25.0, 25.0]), Some(3));
    }

    #[test]
    fn a_share_is_whole_and_never_a_proof() {
        for (probability, said) in [(0.0, 1.0), (0.004, 1.0), (0.576, 58.0), (0.9999, 99.0), (1.0, 99.0)] {
            assert_eq!(share(probability), Percent::of(said));
        }
    }
}
