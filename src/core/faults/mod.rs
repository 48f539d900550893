//! What would explain what was seen.

pub mod bus;
pub mod finder;
