//! Sixty Ohms: the commissioning core, its content, and the app built on them.

pub mod app;
pub mod content;
pub mod core;

#[cfg(test)]
mod schema;
