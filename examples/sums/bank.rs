//! Sums of the bank's numbers.

use crate::Sum;

pub const SUMS: &[Sum] = &[];
