//! All that a person reads, as data: packed by the build, turned into sentences here.

pub mod brief;
pub mod checklist;
pub mod ends;
pub mod equipment;
pub mod format;
pub mod schema;
pub mod search;
pub mod speak;
pub mod walk;
pub mod words;

pub use schema::Content;

/// A name of what core and content say: another version of either has another one.
pub const SAYS: &str = env!("OHMS_SAYS");

/// The content that ships with the app. The build has checked it, so that it always reads.
pub fn built_in() -> Content {
    // By way of a value, as all JSON here: one set of readers in the module instead of one for each way in.
    let blob: serde_json::Value = serde_json::from_str(include_str!(concat!(env!("OUT_DIR"), "/content.json")))
        .expect("the build packs what it has read");
    serde_json::from_value(blob).expect("the build packs what it has read")
}
