//! All that a person reads, as data: packed by the build, turned into sentences here.

pub mod equipment;
pub mod format;
pub mod schema;
pub mod search;
pub mod speak;
pub mod walk;
pub mod words;

pub use schema::Content;

/// The content that ships with the app. The build has checked it, so that it always reads.
pub fn built_in() -> Content {
    serde_json::from_str(include_str!(concat!(env!("OUT_DIR"), "/content.json"))).expect("the build packs what it has read")
}
