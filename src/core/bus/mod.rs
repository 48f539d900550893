//! The data bus as physics: a network of resistors, and what a meter reads in it.

pub mod line;
pub mod network;
pub mod termination;
