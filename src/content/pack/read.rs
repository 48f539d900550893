//! A text as a pack, or every mistake in it. Nothing of the text is trusted.

use super::locate::{cull, fails, locate, plain};
use super::place::{self, Place, Segment};
use super::{
    FORMAT, MOST_BYTES, MOST_ENTRIES, MOST_FAULTS, MOST_KEY, MOST_MISTAKES, MOST_TEXT, Mistake, Pack, VERSION, line_of,
};
use serde_json::{Map, Value};

/// Reads a pack.
///
/// # Errors
/// Every mistake of its form, at most [`MOST_MISTAKES`], with its place and line. What a pack says is held against the content
/// that it is put to only by [`super::Together::with`].
pub fn read(text: &str) -> Result<Pack, Vec<Mistake>> {
    let whole = |reason: String| Err(vec![Mistake::new(Place::WHOLE, reason)]);
    if text.len() > MOST_BYTES {
        return whole(format!("a pack has at most {MOST_BYTES} bytes; this has {}", text.len()));
    }
    let value: Value = match serde_json::from_str(text) {
        Ok(value) => value,
        Err(error) => return Err(vec![not_json(text, &error)]),
    };
    let Value::Object(fields) = &value else {
        return whole("this is no pack: a pack is one object, in braces".into());
    };
    if let Some(reason) = foreign(fields) {
        return whole(reason);
    }
    let mut mistakes = Vec::new();
    for (place, at) in place::twice(text) {
        let reason = "this key is there twice; one of the two would be lost";
        mistakes.push(Mistake { at, line: line_of(text, at), ..Mistake::new(place, reason) });
    }
    let mut found = Vec::new();
    head(fields, &mut found);
    texts(&value, &mut Place::default(), &mut found);
    shape(&value, &mut found);
    if found.is_empty() {
        many(&value, &mut found);
    }
    mistakes.extend(found.into_iter().map(|mistake| mistake.in_text(text)));
    mistakes.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.reason.cmp(&b.reason)));
    mistakes.truncate(MOST_MISTAKES);
    if !mistakes.is_empty() {
        return Err(mistakes);
    }
    serde_json::from_value(value).map_err(|error| vec![Mistake::new(Place::WHOLE, plain(&error.to_string()))])
}

/// The text is no JSON: where it goes wrong.
fn not_json(text: &str, error: &serde_json::Error) -> Mistake {
    let before: usize = text.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum();
    let mut at = (before + error.column().saturating_sub(1)).min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let said = error.to_string();
    let said = said.split(" at line ").next().unwrap_or(&said);
    Mistake { place: Place::WHOLE, line: error.line().max(1), at, reason: format!("this is no JSON: {said}") }
}

/// Why it is no pack of this version.
fn foreign(fields: &Map<String, Value>) -> Option<String> {
    if fields.get("pack").and_then(Value::as_str) != Some(FORMAT) {
        return Some(format!("this is no pack: \"pack\" must be \"{FORMAT}\""));
    }
    match fields.get("version") {
        Some(Value::Number(number)) if number.as_u64() == Some(VERSION) => None,
        Some(Value::Number(number)) if number.as_u64().is_some_and(|version| version > VERSION) => Some(format!(
            "the pack is of version {number}, which is newer than this app reads: get the new version of the app first"
        )),
        _ => Some(format!("\"version\" must be {VERSION}")),
    }
}

/// What every pack says of itself.
fn head(fields: &Map<String, Value>, found: &mut Vec<Mistake>) {
    for name in ["key", "title", "by", "language"] {
        let place = Place::of(&[name]);
        match fields.get(name) {
            None => found.push(Mistake::new(Place::WHOLE, format!("\"{name}\" is missing"))),
            Some(Value::String(text)) if text.trim().is_empty() => {
                found.push(Mistake::new(place, format!("\"{name}\" has no text")));
            }
            Some(Value::String(key)) if name == "key" && !is_key(key) => {
                found.push(Mistake::new(place, not_a_key(key)));
            }
            Some(Value::String(text)) if name != "key" && text.chars().count() > MOST_KEY * 2 => {
                found.push(Mistake::new(place, format!("\"{name}\" has at most {} characters", MOST_KEY * 2)));
            }
            _ => {}
        }
    }
    if let Some(Value::String(tag)) = fields.get("language")
        && !(2..=3).contains(&tag.split('-').next().unwrap_or("").len())
    {
        let reason = "\"language\" must be a tag like \"en\" or \"de\"";
        found.push(Mistake::new(Place::of(&["language"]), reason));
    }
}

/// Letters, digits and hyphens, not too long: what stands in addresses and files without being changed.
pub(super) fn is_key(key: &str) -> bool {
    let such = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
    !key.is_empty() && key.len() <= MOST_KEY && key.chars().all(such)
}

pub(super) fn not_a_key(key: &str) -> String {
    let shown: String = key.chars().take(MOST_KEY).collect();
    format!("{shown:?} is no key: letters without accents, digits and hyphens, at most {MOST_KEY}")
}

/// Characters that would make a text look like another one: controls, and those that turn the direction of writing.
fn is_hidden(c: char) -> bool {
    let turns = matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{200E}' | '\u{200F}' | '\u{061C}');
    turns || c == '\u{FEFF}' || (c.is_control() && c != '\n')
}

/// Texts are plain and of a length, lists too.
fn texts(value: &Value, here: &mut Place, found: &mut Vec<Mistake>) {
    if found.len() >= MOST_MISTAKES {
        return;
    }
    match value {
        Value::String(text) => text_is_plain(text, here, found),
        Value::Array(list) => {
            if list.len() > MOST_ENTRIES {
                let reason = format!("a list has at most {MOST_ENTRIES} entries; this has {}", list.len());
                found.push(Mistake::new(here.clone(), reason));
            }
            for (index, value) in list.iter().enumerate() {
                here.0.push(Segment::Index(index));
                texts(value, here, found);
                here.0.pop();
            }
        }
        Value::Object(fields) => {
            for (key, value) in fields {
                here.0.push(Segment::Key(key.clone()));
                text_is_plain(key, here, found);
                texts(value, here, found);
                here.0.pop();
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

fn text_is_plain(text: &str, here: &Place, found: &mut Vec<Mistake>) {
    if let Some(c) = text.chars().find(|c| is_hidden(*c)) {
        let reason = format!("the text has the character U+{:04X}, which nobody sees", u32::from(c));
        found.push(Mistake::new(here.clone(), reason));
    }
    let length = text.chars().count();
    if length > MOST_TEXT {
        found.push(Mistake::new(here.clone(), format!("a text has at most {MOST_TEXT} characters; this has {length}")));
    }
}

/// Fields that are misspelt, missing, of another kind or out of range: one after the other, each taken out to see the next.
fn shape(value: &Value, found: &mut Vec<Mistake>) {
    let mut rest = value.clone();
    let mut taken = Vec::new();
    while found.len() < MOST_MISTAKES {
        let Some(message) = fails(&rest) else { return };
        let inside = locate(&rest, &message);
        let Some(place) = cull(&mut rest, &inside, &mut taken) else {
            // What is missing only because it was wrong, or is missing and told, is told already.
            if found.is_empty() || !message.starts_with("missing field") {
                found.push(Mistake::new(Place::WHOLE, plain(&message)));
            }
            return;
        };
        // What misses a field only because that was wrong and is taken out is told already.
        let is_told = message.starts_with("missing field") && found.iter().any(|known| place.holds(&known.place));
        if !is_told {
            found.push(Mistake::new(place, plain(&message)));
        }
    }
}

/// What would make the fault finder slow.
fn many(value: &Value, found: &mut Vec<Mistake>) {
    for part in ["faults", "checks"] {
        let count = value.pointer(&format!("/finder/{part}")).and_then(Value::as_array).map_or(0, Vec::len);
        if count > MOST_FAULTS {
            let reason = format!("a pack has at most {MOST_FAULTS} {part}; this has {count}");
            found.push(Mistake::new(Place::of(&["finder", part]), reason));
        }
    }
}
