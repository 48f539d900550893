//! The bank's numbers.

pub mod asks;
pub mod explain;
pub mod findings;
pub mod flags;
pub mod join;
pub mod limits;
pub mod modules;
pub mod odd;
pub mod rest;
pub mod sharing;
pub mod shown;
pub mod sunspec;
pub mod table;
pub mod total;
