//! The fault finder's model as it is written down: faults, checks, and how likely each outcome is under each fault.

use super::physics::{Bus, By, Shown, Volted};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What a site must have for a fault or a check to exist.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Need {
    /// More than one module.
    Several,
    /// More than one string side by side.
    Parallel,
    /// More than one module in a string.
    Series,
    Charger,
}

/// Must the power be on or off for a check?
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Power {
    On,
    Off,
}

/// A fault.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Fault {
    pub key: String,
    /// Two faults of one family are not taken to come together.
    pub family: String,
    /// A word of [`Words::weight`] for each kind of site.
    pub weight: String,
    /// Minutes that its repair takes.
    pub minutes: f64,
    /// The check whose quiet outcome proves the repair.
    pub proof: String,
    #[serde(default)]
    pub bus: Option<Bus>,
    #[serde(default)]
    pub volts: Option<Volted>,
    #[serde(default)]
    pub shown: Option<Shown>,
    #[serde(default)]
    pub needs: Vec<Need>,
}

/// A check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Check {
    pub key: String,
    pub minutes: f64,
    /// Minutes to undo what it needed: a bus put together again.
    #[serde(default)]
    pub undo: f64,
    /// `None`: either.
    #[serde(default)]
    pub power: Option<Power>,
    #[serde(default)]
    pub tools: Vec<String>,
    #[serde(default)]
    pub needs: Vec<Need>,
    /// Facts that other checks must have given. They are lost when the power comes on.
    #[serde(default)]
    pub requires: Vec<String>,
    /// Facts that forbid it, whatever it would tell.
    #[serde(default)]
    pub forbids: Vec<String>,
    /// Facts that its outcomes give.
    #[serde(default)]
    pub gives: BTreeMap<String, String>,
    /// What it gives holds only until something is repaired.
    #[serde(default)]
    pub passing: bool,
    /// Outcomes that end the search.
    #[serde(default)]
    pub ends: Vec<String>,
    /// It comes before all others.
    #[serde(default)]
    pub first: bool,
    /// The core's networks or sums give what the rows leave open.
    #[serde(default)]
    pub by: Option<By>,
    /// From quiet to loud: of two faults the louder outcome is seen.
    pub outcomes: Vec<String>,
    /// A word of [`Words::chance`] for each outcome, or `rest`, or `sum`.
    pub default: String,
    /// Such rows, with the faults that have them.
    #[serde(default)]
    pub rows: BTreeMap<String, Vec<String>>,
}

/// What the words of the tables are worth (common practice, no source).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Words {
    pub weight: BTreeMap<String, f64>,
    pub chance: BTreeMap<String, f64>,
    pub numbers: Numbers,
}

/// Numbers of the reasoning (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Numbers {
    /// Before anything is asked: the chance that nothing is wrong, and that two faults are there.
    pub nothing: f64,
    pub two: f64,
    /// Share of answers that are wrong.
    pub error: f64,
    /// Share of repairs that do not cure.
    pub repair_fails: f64,
    pub switch_off_min: f64,
    pub switch_on_min: f64,
    /// Minutes lost by acting on the wrong fault, beside its repair.
    pub wrong_min: f64,
    /// Bits below which a check tells nothing.
    pub least_bits: f64,
    /// The same of the likeliest cause alone, once it is likelier than all others together.
    pub least_bits_of_likeliest: f64,
}

/// Something that a person sees, in plain words, as outcomes of checks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Symptom {
    pub key: String,
    /// Check and outcome.
    pub seen: BTreeMap<String, String>,
}

/// The whole model.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Tables {
    pub words: Words,
    /// Kinds of site, in the order of [`Fault::weight`].
    pub kinds: Vec<String>,
    pub faults: Vec<Fault>,
    pub checks: Vec<Check>,
    pub symptoms: Vec<Symptom>,
    /// How likely an alarm is shown without a fault that it names.
    pub alarm_default: String,
    /// By alarm: faults by the word for their chance of showing it.
    pub alarms: BTreeMap<String, BTreeMap<String, Vec<String>>>,
}

/// What a row gives to one outcome.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Part {
    Chance(f64),
    /// What is left to 1.
    Rest,
    /// What is left to 1, shared out as the networks and sums say.
    Sum,
}

impl Tables {
    pub fn fault(&self, key: &str) -> Option<usize> {
        self.faults.iter().position(|fault| fault.key == key)
    }

    pub fn check(&self, key: &str) -> Option<usize> {
        self.checks.iter().position(|check| check.key == key)
    }

    /// The parts of a row, one for each outcome.
    ///
    /// # Errors
    /// A sentence: an unknown word, another count than the outcomes, or chances that do not add up to 1.
    pub fn parts(&self, check: &Check, row: &str) -> Result<Vec<Part>, String> {
        let part = |word: &str| match word {
            "rest" => Ok(Part::Rest),
            "sum" if check.by.is_some() => Ok(Part::Sum),
            "sum" => Err(format!("\"{}\" has no sum: no \"by\"", check.key)),
            _ => self.words.chance.get(word).map(|chance| Part::Chance(*chance)).ok_or_else(|| unknown(word)),
        };
        let parts: Vec<Part> = row.split_whitespace().map(part).collect::<Result<_, _>>()?;
        let given: f64 = parts.iter().map(|part| if let Part::Chance(chance) = part { *chance } else { 0.0 }).sum();
        let rests = parts.iter().filter(|part| **part == Part::Rest).count();
        let open = rests > 0 || parts.contains(&Part::Sum);
        if parts.len() != check.outcomes.len() {
            Err(format!("\"{row}\" has {} words for the {} outcomes", parts.len(), check.outcomes.len()))
        } else if rests > 1 || (rests == 1 && parts.contains(&Part::Sum)) {
            Err(format!("\"{row}\" has more than one \"rest\""))
        } else if given > 1.0 + 1e-9 || (!open && (given - 1.0).abs() > 1e-9) {
            Err(format!("\"{row}\" adds up to {given:.3}, not to 1"))
        } else {
            Ok(parts)
        }
    }

    /// The fault's weight in each kind of site.
    ///
    /// # Errors
    /// A sentence: an unknown word, or another count than the kinds of site.
    pub fn weights(&self, fault: &Fault) -> Result<Vec<f64>, String> {
        let weight = |word: &str| self.words.weight.get(word).copied().ok_or_else(|| unknown(word));
        let list: Vec<f64> = fault.weight.split_whitespace().map(weight).collect::<Result<_, _>>()?;
        match list.len() == self.kinds.len() {
            true => Ok(list),
            false => {
                Err(format!("\"{}\" has {} weights for {} kinds of site", fault.key, list.len(), self.kinds.len()))
            }
        }
    }
}

fn unknown(word: &str) -> String {
    format!("the word \"{word}\" has no number")
}

impl Check {
    /// The row that a fault has of its own.
    pub fn row_of(&self, fault: &str) -> Option<&str> {
        self.rows.iter().find(|(_, faults)| faults.iter().any(|key| key == fault)).map(|(row, _)| row.as_str())
    }

    pub fn outcome(&self, key: &str) -> Option<usize> {
        self.outcomes.iter().position(|outcome| outcome == key)
    }
}
