//! Checklists that a job has taken up: which, and those that a person made, whole.

use crate::core::units::Kind;
use serde::{Deserialize, Serialize};

/// What the key of a list that a person made begins with.
pub const OWN: &str = "own-";

/// What an item of one's own may ask for beside a tick: the quantities that somebody reads on site.
pub const KINDS: [Kind; 11] = [
    Kind::Volts,
    Kind::Amperes,
    Kind::Ohms,
    Kind::Percent,
    Kind::Celsius,
    Kind::AmpereHours,
    Kind::Watts,
    Kind::Metres,
    Kind::SquareMillimetres,
    Kind::Seconds,
    Kind::Count,
];

/// The key of a quantity's name in the words of the language.
pub fn name_of(kind: Kind) -> String {
    format!("quantity-{}", kind.name())
}

/// A checklist that a job goes by. Its items are answered as observations of [`crate::core::job::Subject::Item`].
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Taken {
    /// Key of a list of the content, or of one's own.
    pub key: String,
    /// The list itself where a person made it: a job can be read without the phone it was made on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub own: Option<OwnList>,
}

/// A checklist that a person made.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default)]
pub struct OwnList {
    pub title: String,
    pub items: Vec<OwnItem>,
}

/// One line of it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default)]
pub struct OwnItem {
    /// Never used twice in one list.
    pub key: String,
    pub text: String,
    /// The quantity it asks for; a tick where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<Kind>,
    /// What the reading must lie between, in the base unit of the quantity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
}
