//! The app: Leptos pages over the core. Only `screen` is free of the browser.

pub mod screen;

#[cfg(feature = "app")]
mod device;
#[cfg(feature = "app")]
mod frame;
#[cfg(feature = "app")]
mod keeping;
#[cfg(feature = "app")]
mod packs;
#[cfg(feature = "app")]
mod pages;
#[cfg(feature = "app")]
mod parts;
#[cfg(feature = "app")]
mod shelf;
#[cfg(feature = "app")]
mod store;

#[cfg(feature = "app")]
pub use frame::start;
