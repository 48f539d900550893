//! All that a person reads, as data: packed by the build, turned into sentences here.

pub mod brief;
pub mod checklist;
pub mod ends;
pub mod equipment;
pub mod format;
pub mod late;
pub mod licences;
pub mod pack;
pub mod rules;
pub mod schema;
pub mod search;
pub mod speak;
pub mod tongue;
pub mod walk;
pub mod ways;
pub mod words;

pub use schema::Content;
pub use tongue::{Tongue, Units};

/// A name of what core and content say: another version of either has another one.
pub const SAYS: &str = env!("OHMS_SAYS");

/// The day of the content's last change, as `content/edition.toml` says it: "2026-01-31".
pub const EDITION: &str = env!("OHMS_EDITION");

impl Content {
    /// [`SAYS`] in this language and these units.
    pub fn says(&self) -> String {
        let with = if self.packs == 0 { String::new() } else { format!("-{:x}", self.packs) };
        format!("{SAYS}-{}-{}{with}", self.language.tongue.tag(), self.units.key())
    }
}

/// The content that ships with the app, in one language. The build has checked it, so that it always reads. In a browser it comes
/// from a file of its own instead: see the app.
#[cfg(not(target_arch = "wasm32"))]
pub fn built_in_as(tongue: Tongue) -> Content {
    macro_rules! built {
        ($name:literal) => {
            include_str!(concat!(env!("OUT_DIR"), "/content-", $name, ".json"))
        };
    }
    let (first, rest) = match tongue {
        Tongue::English => (built!("en-first"), built!("en-rest")),
        Tongue::German => (built!("de-first"), built!("de-rest")),
    };
    let content = packed(first).expect("the build packs what it has read");
    content.fill(packed(rest).expect("the build packs what it has read"));
    content
}

/// [`built_in_as`] in English.
#[cfg(not(target_arch = "wasm32"))]
pub fn built_in() -> Content {
    built_in_as(Tongue::English)
}

/// The content out of a text that the build made of it: one of its two parts.
pub fn packed(text: &str) -> Option<Content> {
    serde_json::from_str(text).ok()
}
