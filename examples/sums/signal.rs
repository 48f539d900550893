//! Sums of levels, timing, frames and the open protocols.

use crate::Sum;

pub const SUMS: &[Sum] = &[];
