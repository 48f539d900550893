//! The commissioning core: pure functions from what is installed and what was seen to what it means.
//!
//! No web, no clock, no storage, no randomness. Times come in with observations. Words do not live here either: a
//! verdict carries its reason as a key with figures ([`because::Because`]), and `content` turns it into a sentence.

pub mod bank;
pub mod because;
pub mod bus;
pub mod codes;
pub mod entry;
pub mod faults;
pub mod fold;
pub mod job;
pub mod judged;
pub mod measure;
pub mod power;
pub mod remember;
pub mod report;
pub mod site;
pub mod units;
