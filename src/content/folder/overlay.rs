//! A second language: the texts of its files in place of the English ones, all that is not text taken from there.

use crate::content::rules::placeholders;
use toml::{Table, Value};

/// Keys of what nobody reads, by the beginning of a file's name behind its language. A file of another language does not repeat them.
const STRUCTURE: &[(&str, &[&str])] = &[
    ("alarms/", &["kind", "urgency", "ways", "see", "codes", "sources"]),
    ("guides/", &["order", "sources"]),
    ("symptoms.", &["sources"]),
    ("codes.", &["source", "names"]),
];
/// What displays show: those of the other language come before the English ones, which displays show there too.
const BOTH: &str = "shown";

/// The keys of a file that are not text.
pub(super) fn structure_of(name: &str) -> &'static [&'static str] {
    STRUCTURE.iter().find(|(begins, _)| name.starts_with(begins)).map_or(&[], |(_, keys)| keys)
}

/// The English file with the texts of the other one; pushes a sentence, with its key, for every text that is missing, too much, or
/// has other placeholders.
pub(super) fn overlay(
    english: Table,
    mut other: Table,
    path: &str,
    structure: &[&str],
    wrong: &mut Vec<(String, String)>,
) -> Table {
    let mut all = Table::new();
    for (key, value) in english {
        let at = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
        let said = other.remove(&key);
        let is_structure = structure.contains(&key.as_str());
        let value = match (value, said) {
            (value, None) if is_structure || is_empty(&value) => value,
            (value, Some(_)) if is_structure => {
                wrong.push((key.clone(), format!("\"{at}\" is not text: it stands in the English file")));
                value
            }
            (value, None) => {
                wrong.push((key.clone(), format!("\"{at}\" is missing")));
                value
            }
            (value, Some(said)) => text(&key, &at, value, said, structure, wrong),
        };
        all.insert(key, value);
    }
    for key in other.keys() {
        wrong.push((key.clone(), format!("\"{path}.{key}\" is not in the English file")));
    }
    all
}

fn is_empty(value: &Value) -> bool {
    match value {
        Value::String(text) => text.is_empty(),
        Value::Array(list) => list.is_empty(),
        Value::Table(table) => table.is_empty(),
        _ => true,
    }
}

fn text(
    key: &str,
    at: &str,
    value: Value,
    said: Value,
    structure: &[&str],
    wrong: &mut Vec<(String, String)>,
) -> Value {
    match (value, said) {
        (Value::Table(value), Value::Table(said)) => Value::Table(overlay(value, said, at, structure, wrong)),
        (Value::Array(value), Value::Array(mut said)) if key == BOTH => {
            said.extend(value.into_iter().filter(|word| !said.contains(word)).collect::<Vec<_>>());
            Value::Array(said)
        }
        (Value::Array(value), Value::Array(said)) => {
            if value.len() != said.len() {
                wrong.push((
                    key.into(),
                    format!("\"{at}\" has {} entries, the English one {}", said.len(), value.len()),
                ));
            }
            let one = |(n, (value, said))| text(key, &format!("{at}[{n}]"), value, said, structure, wrong);
            Value::Array(value.into_iter().zip(said).enumerate().map(one).collect())
        }
        (Value::String(english), Value::String(said)) => {
            if said.trim().is_empty() && !english.trim().is_empty() {
                wrong.push((key.into(), format!("\"{at}\" has no text")));
            }
            let names = |text: &str| {
                let mut names = placeholders(text);
                names.sort();
                names.dedup();
                names
            };
            if names(&english) != names(&said) {
                let reason = format!("\"{at}\" must have the placeholders of the English text: {:?}", names(&english));
                wrong.push((key.into(), reason));
            }
            Value::String(said)
        }
        (value, said) if value.same_type(&said) => said,
        (value, _) => {
            wrong.push((key.into(), format!("\"{at}\" is of another kind than in the English file")));
            value
        }
    }
}
