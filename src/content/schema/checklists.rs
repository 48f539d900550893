//! The shape of the checklists.

use super::{Each, StageWords, When};
use crate::core::job::check::Check;
use crate::core::job::checklist::Asked;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// An item of a checklist. Without a card, a check or a reading it asks for a tick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ChecklistItem {
    pub key: String,
    #[serde(default)]
    pub each: Each,
    #[serde(default)]
    pub when: Vec<When>,
    /// The cards of this step of the walkthrough, with its words and its ticks.
    #[serde(default)]
    pub card: Option<String>,
    /// A check of the job: its reading, and the verdict of the job's assessment.
    #[serde(default)]
    pub check: Option<Check>,
    #[serde(default)]
    pub read: Option<Asked>,
    #[serde(default)]
    pub sources: Vec<String>,
}

/// One part of a checklist: its key, and the items by theirs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ChecklistPart {
    pub key: String,
    pub items: Vec<String>,
}

/// A checklist.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Checklist {
    #[serde(default)]
    pub key: String,
    /// Its place among the lists.
    pub order: u32,
    /// What was read or ticked before the list was taken up does not count for it.
    pub fresh: bool,
    #[serde(rename = "part")]
    pub parts: Vec<ChecklistPart>,
}

/// All checklists, and the items that they are made of.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct Checklists {
    pub lists: Vec<Checklist>,
    pub items: Vec<ChecklistItem>,
}

/// The words of an item.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ItemWords {
    /// What to do, or what is read.
    pub text: String,
    pub why: String,
    /// How the reading is taken.
    #[serde(default)]
    pub how: String,
    /// The caution where the hand is.
    #[serde(default)]
    pub caution: String,
    /// The words on the button that ticks it, where "Done" would be wrong.
    #[serde(default)]
    pub tick: String,
}

/// `<language>/checklists.toml`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct ChecklistWords {
    pub list: BTreeMap<String, StageWords>,
    pub part: BTreeMap<String, String>,
    pub item: BTreeMap<String, ItemWords>,
}
