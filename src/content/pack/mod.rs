//! Packs: content that others write. One JSON file of equipment, steps, guides, alarms, faults, checks, checklists and their
//! words; the content that ships with the app is itself such a pack.
//!
//! A pack is not trusted. [`read`] takes a text apart, or says every mistake with its place; [`Together::add`] puts a pack to a
//! content, whole or not at all: what comes out is held against the same rules as the content folder in the build. Nothing is
//! ever taken out of a content: what is there after a pack is removed is put together anew without it.
//!
//! Reasons are English, for authors, as the errors of the build are.

pub mod brings;
pub mod level;
pub mod link;
mod locate;
mod merge;
pub mod pairs;
mod place;
mod read;

pub use merge::Together;
pub use place::Place;
pub use read::read;

use crate::content::schema::*;
use crate::core::faults::finder::tables::{self, Fault, Symptom};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// What stands at `pack`.
pub const FORMAT: &str = "sixty-ohms-pack";
/// The version that this app writes and reads.
pub const VERSION: u64 = 1;

/// The longest pack, bytes: three times the built-in content (common practice, no source).
pub const MOST_BYTES: usize = 1024 * 1024;
/// The longest text in a pack, characters: more than a screen of a phone holds (common practice, no source).
pub const MOST_TEXT: usize = 4_000;
/// The most entries of one list: twice those of the built-in content's longest (common practice, no source).
pub const MOST_ENTRIES: usize = 2_000;
/// The longest key, characters (common practice, no source).
pub const MOST_KEY: usize = 60;
/// The most faults, and the most checks of the fault finder, that a pack brings: the time for its next check grows with their
/// square (common practice, no source).
pub const MOST_FAULTS: usize = 100;
/// The most packs that are kept (common practice, no source).
pub const MOST_PACKS: usize = 20;
/// The most mistakes that are told at once (common practice, no source).
pub const MOST_MISTAKES: usize = 50;

/// An invented pack: what authors may start from, and what tests use.
pub const EXAMPLE: &str = include_str!("../../../tests/packs/heron.json");

/// A pack. Every part may be missing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Pack {
    /// Always `sixty-ohms-pack`.
    pub pack: String,
    /// Version of the format.
    pub version: u64,
    /// The pack's own name for the app: letters, digits and hyphens. A pack of the same key replaces it.
    pub key: String,
    pub title: String,
    /// Who answers for it.
    pub by: String,
    /// The language of its texts, as a tag (BCP 47).
    pub language: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub about: String,
    /// Entries of the built-in content that it puts others in place of, as `part/key`: `modules/plain-12-230`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub replaces: Vec<String>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub sources: BTreeMap<String, Source>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub equipment: Equipment,
    #[serde(default, skip_serializing_if = "is_default")]
    pub connectors: Vec<Connector>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub protocols: Vec<Protocol>,
    /// Invented sites to look at, by keys of equipment.
    #[serde(default, skip_serializing_if = "is_default")]
    pub sites: Vec<DemoSite>,
    /// Stages of the walkthrough with their steps. Steps of a stage that is there already come into it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub steps: Vec<Stage>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub checklists: Checklists,
    #[serde(default, skip_serializing_if = "is_default")]
    pub guides: Vec<Guide>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub alarms: Vec<Alarm>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub finder: FinderPart,
    #[serde(default, skip_serializing_if = "is_default")]
    pub words: Words,
}

/// What a pack brings to the fault finder.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct FinderPart {
    pub faults: Vec<Fault>,
    pub checks: Vec<tables::Check>,
    pub symptoms: Vec<Symptom>,
    /// By alarm: faults by the word for their chance of showing it.
    pub alarms: BTreeMap<String, BTreeMap<String, Vec<String>>>,
    /// By check that is there already: its rows for the pack's own faults.
    pub rows: BTreeMap<String, BTreeMap<String, Vec<String>>>,
    /// Only the built-in content brings what the words of the tables are worth, the kinds of site, and the alarms' default.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub numbers: Option<tables::Words>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub kinds: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub alarm_default: Option<String>,
}

/// The words of what a pack brings.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Words {
    /// Names that stand inside sentences: of a new connector (`connector-…`) or protocol (`protocol-…`).
    pub names: BTreeMap<String, String>,
    pub steps: WalkWords,
    pub checklists: ChecklistWords,
    pub finder: FinderWords,
    pub search: SearchWords,
    pub because: BTreeMap<String, String>,
    pub problems: BTreeMap<String, String>,
    pub checks: BTreeMap<String, CheckWords>,
    pub symptoms: BTreeMap<String, SymptomWords>,
    pub codes: BTreeMap<crate::core::codes::Vocabulary, CodeWords>,
    /// The words of the screens, by number: only the built-in content brings them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub screens: Vec<String>,
}

fn is_default<T: Default + PartialEq>(part: &T) -> bool {
    *part == T::default()
}

/// Something that is wrong in a pack.
#[derive(Clone, Debug, PartialEq)]
pub struct Mistake {
    pub place: Place,
    /// Counted from 1; 0 where no text was given.
    pub line: usize,
    /// Bytes from the beginning of the text.
    pub at: usize,
    pub reason: String,
}

impl Mistake {
    pub fn new(place: Place, reason: impl Into<String>) -> Mistake {
        Mistake { place, line: 0, at: 0, reason: reason.into() }
    }

    /// Is a text missing, and nothing else wrong?
    pub fn is_missing_text(&self) -> bool {
        ["has no text", "has no words", "there are no words", "there is no name", "has no sentence", "lacks its"]
            .iter()
            .any(|said| self.reason.contains(said))
    }

    /// Finds the place in the pack's text.
    pub fn in_text(mut self, text: &str) -> Mistake {
        self.at = self.place.find(text);
        self.line = line_of(text, self.at);
        self
    }
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(f, "{}: ", self.line)?;
        }
        if self.place != Place::WHOLE {
            write!(f, "{}: ", self.place)?;
        }
        f.write_str(&self.reason)
    }
}

/// The line of a byte, counted from 1.
fn line_of(text: &str, at: usize) -> usize {
    text.as_bytes()[..at.min(text.len())].iter().filter(|byte| **byte == b'\n').count() + 1
}

/// Reads a text and puts it to a content: the pack, and the content with it; else every mistake that is known by then, and
/// nothing is changed.
pub fn open(to: &Together, text: &str) -> Result<(Pack, Together), Vec<Mistake>> {
    let pack = read(text)?;
    match to.with(&pack) {
        Ok(together) => Ok((pack, together)),
        Err(mistakes) => Err(mistakes.into_iter().map(|mistake| mistake.in_text(text)).collect()),
    }
}

impl Pack {
    /// A content as one pack.
    pub fn of(content: &Content, key: &str, title: &str, by: &str, language: &str) -> Pack {
        let said = content.language.clone();
        let finder = content.finder.clone().here();
        Pack {
            pack: FORMAT.into(),
            version: VERSION,
            key: key.into(),
            title: title.into(),
            by: by.into(),
            language: language.into(),
            about: String::new(),
            replaces: Vec::new(),
            sources: content.sources.clone().here(),
            equipment: content.equipment.clone().here(),
            connectors: content.connectors.clone().here(),
            protocols: content.protocols.clone().here(),
            sites: content.demo.clone().here(),
            steps: content.walk.stages.clone(),
            checklists: content.checklists.clone().here(),
            guides: said.guides.here(),
            alarms: said.alarms.here(),
            finder: FinderPart {
                faults: finder.faults,
                checks: finder.checks,
                symptoms: finder.symptoms,
                alarms: finder.alarms,
                rows: BTreeMap::new(),
                numbers: Some(finder.words),
                kinds: finder.kinds,
                alarm_default: Some(finder.alarm_default),
            },
            words: Words {
                names: said.names.here(),
                steps: said.walk.here(),
                checklists: said.checklists.here(),
                finder: said.finder.here(),
                search: said.search.here(),
                because: said.because.here(),
                problems: said.problems.here(),
                checks: said.checks.here(),
                symptoms: said.symptoms.here(),
                codes: said.codes.here(),
                screens: said.words,
            },
        }
    }

    /// The pack as its file.
    pub fn text(&self) -> String {
        // By way of a value, as all JSON here.
        let value = serde_json::to_value(self).unwrap_or_default();
        serde_json::to_string_pretty(&value).unwrap_or_default() + "\n"
    }
}
