//! The browser, one facility a file. Nothing else in the app touches it.

pub mod address;
pub mod awake;
pub mod base;
pub mod boot;
pub mod clock;
pub mod copy;
pub mod file;
pub mod halt;
pub mod local;
pub mod look;
pub mod mirror;
pub mod offline;
pub mod packs;
pub mod page;
pub mod persist;
pub mod pictures;
pub mod save;
pub mod scan;
pub mod shrink;
pub mod tongue;
pub mod voice;
