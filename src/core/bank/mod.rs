//! The bank's numbers.

pub mod reconcile;
