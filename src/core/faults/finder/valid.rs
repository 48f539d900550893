//! Is the model whole? Used by the build, which adds file and line, and by tests.

use super::tables::{Check, Part, Tables};
use std::collections::BTreeSet;

/// Something wrong in the model.
#[derive(Clone, Debug, PartialEq)]
pub struct Mistake {
    pub part: Where,
    /// The entry that it is in.
    pub key: String,
    /// A text of the line that is wrong; empty for the entry itself.
    pub near: String,
    pub reason: String,
}

/// The part of the model that a mistake is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Where {
    Faults,
    Checks,
    Symptoms,
    Alarms,
}

/// Chance by which a fault's row must differ from nothing wrong somewhere, for the fault to be found at all.
const DIFFERS: f64 = 0.3;

/// Everything that is wrong in the tables, in one run.
pub fn mistakes(tables: &Tables) -> Vec<Mistake> {
    let mut list = Vec::new();
    let mut wrong = |part: Where, key: &str, near: &str, reason: String| {
        list.push(Mistake { part, key: key.into(), near: near.into(), reason });
    };
    let quoted = |key: &str| format!("\"{key}\"");

    let mut seen = BTreeSet::new();
    for fault in &tables.faults {
        let near = quoted(&fault.key);
        if !seen.insert(&fault.key) {
            wrong(Where::Faults, &fault.key, "", format!("the fault {near} is there twice"));
        }
        match tables.weights(fault) {
            Err(reason) => wrong(Where::Faults, &fault.key, "weight", reason),
            Ok(weights) if weights.iter().all(|weight| *weight <= 0.0) => {
                wrong(Where::Faults, &fault.key, "", format!("{near} is met in no kind of site"));
            }
            Ok(_) => {}
        }
        let differs = |check: &Check| differs(tables, check, &fault.key) || (check.by.is_some() && summed(fault));
        if !tables.checks.iter().any(differs) {
            wrong(Where::Faults, &fault.key, "", format!("no check can find {near}"));
        }
        match tables.checks.iter().find(|check| check.key == fault.proof) {
            None => wrong(
                Where::Faults,
                &fault.key,
                "proof",
                format!("{near} is proved by \"{}\", which is no check", fault.proof),
            ),
            Some(check) if !differs(check) => {
                wrong(
                    Where::Faults,
                    &fault.key,
                    "",
                    format!("\"{}\" does not show {near}, and so proves nothing", check.key),
                );
            }
            Some(check) if check.needs.iter().any(|need| !fault.needs.contains(need) && !implied(fault, *need)) => {
                wrong(Where::Faults, &fault.key, "", format!("{near} may be where its proof \"{}\" is not", check.key));
            }
            Some(_) => {}
        }
    }

    let given: BTreeSet<&String> = tables.checks.iter().flat_map(|check| check.gives.values()).collect();
    let mut seen = BTreeSet::new();
    for check in &tables.checks {
        let near = quoted(&check.key);
        let mut bad_at = |line: &str, reason: String| wrong(Where::Checks, &check.key, line, reason);
        if !seen.insert(&check.key) {
            bad_at("", format!("the check {near} is there twice"));
        }
        if check.outcomes.len() < 2 {
            bad_at("", format!("{near} has fewer than two outcomes"));
        }
        let by = check.by.map(|by| by.outcomes());
        if by.is_some_and(|by| check.outcomes.len() != by && check.outcomes.len() != by + 1) {
            bad_at("", format!("{near} has another number of outcomes than its sums"));
        }
        let mut listed = BTreeSet::new();
        for (row, faults) in [(&check.default, &Vec::new())].into_iter().chain(&check.rows) {
            if let Err(reason) = tables.parts(check, row) {
                bad_at(&format!("\"{row}\""), format!("{near}: {reason}"));
            }
            for fault in faults {
                if tables.fault(fault).is_none() {
                    bad_at(&format!("\"{row}\""), format!("{near} has a row for \"{fault}\", which is no fault"));
                }
                if !listed.insert(fault) {
                    bad_at(&format!("\"{row}\""), format!("{near} has two rows for \"{fault}\""));
                }
            }
        }
        for outcome in check.ends.iter().chain(check.gives.keys()) {
            if check.outcome(outcome).is_none() {
                bad_at("", format!("{near} has no outcome \"{outcome}\""));
            }
        }
        for fact in check.requires.iter().chain(&check.forbids).filter(|fact| !given.contains(fact)) {
            bad_at("", format!("{near}: no check gives \"{fact}\""));
        }
        let tells = check.first
            || check.by.is_some()
            || !check.gives.is_empty()
            || tables.faults.iter().any(|fault| differs(tables, check, &fault.key));
        if !tells {
            bad_at("", format!("{near} finds no fault"));
        }
    }

    for symptom in &tables.symptoms {
        let near = quoted(&symptom.key);
        if symptom.seen.is_empty() {
            wrong(Where::Symptoms, &symptom.key, "", format!("{near} says nothing"));
        }
        for (check, outcome) in &symptom.seen {
            match tables.checks.iter().find(|known| known.key == *check) {
                Some(check) if check.outcome(outcome).is_some() => {}
                _ => wrong(
                    Where::Symptoms,
                    &symptom.key,
                    "",
                    format!("{near}: there is no \"{check}\" with \"{outcome}\""),
                ),
            }
        }
    }
    for (alarm, rows) in &tables.alarms {
        for (word, faults) in rows {
            if !tables.words.chance.contains_key(word) {
                wrong(Where::Alarms, alarm, word, format!("the word \"{word}\" has no number"));
            }
            for fault in faults.iter().filter(|fault| tables.fault(fault).is_none()) {
                wrong(Where::Alarms, alarm, fault, format!("\"{alarm}\" names \"{fault}\", which is no fault"));
            }
        }
    }
    if !tables.words.chance.contains_key(&tables.alarm_default) {
        wrong(Where::Alarms, "", "default", format!("the word \"{}\" has no number", tables.alarm_default));
    }
    list
}

/// Do the networks or sums say something of it?
fn summed(fault: &super::tables::Fault) -> bool {
    fault.bus.is_some() || fault.volts.is_some() || fault.shown.is_some()
}

/// A fault of strings side by side, or of modules in a string, is one of several modules.
fn implied(fault: &super::tables::Fault, need: super::tables::Need) -> bool {
    need == super::tables::Need::Several && !fault.needs.is_empty()
}

fn differs(tables: &Tables, check: &Check, fault: &str) -> bool {
    let chances = |row: &str| -> Option<Vec<f64>> {
        let parts = tables.parts(check, row).ok()?;
        Some(super::rows::filled(&parts, None))
    };
    let Some(row) = check.row_of(fault) else { return false };
    let (Some(with), Some(without)) = (chances(row), chances(&check.default)) else { return true };
    let quiet = tables.parts(check, row).is_ok_and(|parts| parts.contains(&Part::Sum));
    quiet || with.iter().zip(&without).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0 >= DIFFERS
}
