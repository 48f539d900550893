//! Sixty Ohms: the commissioning core, its content, and the app built on them.

pub mod core;
