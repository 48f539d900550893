//! Where in a pack a reader's complaint comes from. The readers say what is wrong, not where; but they go through the fields
//! in order and stop at the first that is wrong. So the place is found by handing them shorter and shorter beginnings, with
//! something at the end that nobody takes: the shortest beginning that still brings the same complaint ends with the culprit.

use super::Pack;
use super::place::{Place, Segment};
use serde_json::{Map, Value, json};

/// A key after all others that no object knows.
const POISON: &str = "\u{10FFFF}";

/// What the reader says of a pack; none where it takes it.
pub fn fails(value: &Value) -> Option<String> {
    serde_json::from_value::<Pack>(value.clone()).err().map(|error| error.to_string())
}

/// The place of what the reader complains of.
pub fn locate(whole: &Value, message: &str) -> Place {
    let mut place = Vec::new();
    // What nobody takes, and is not complained of in the same words.
    let poison = if message.contains(": map") { json!([POISON]) } else { json!({ POISON: null }) };
    // A pack that holds less and less beside the culprit, and where the culprit is in it.
    let mut small = whole.clone();
    let mut inside: Vec<Segment> = Vec::new();
    while let Some(here) = at(&mut small, &inside) {
        let here = here.clone();
        let count = match &here {
            Value::Object(fields) => fields.len(),
            Value::Array(list) => list.len(),
            _ => 0,
        };
        let mut gives = |n: usize| {
            if let Some(slot) = at(&mut small, &inside) {
                *slot = beginning(&here, n, &poison);
            }
            fails(&small).as_deref() == Some(message)
        };
        if count == 0 || !gives(count) {
            put(&mut small, &inside, here);
            break;
        }
        let (mut low, mut high) = (1, count);
        while low < high {
            let middle = (low + high) / 2;
            if gives(middle) { high = middle } else { low = middle + 1 }
        }
        let (segment, alone, segment_alone) = single(&here, low - 1, inside.is_empty());
        put(&mut small, &inside, alone);
        // Is the entry itself out of place, whatever is in it?
        let child: Vec<Segment> = inside.iter().cloned().chain([segment_alone.clone()]).collect();
        let kept = at(&mut small, &child).cloned().unwrap_or_default();
        put(&mut small, &child, poison.clone());
        if fails(&small).as_deref() == Some(message) {
            place.push(segment);
            break;
        }
        put(&mut small, &child, kept);
        if fails(&small).as_deref() == Some(message) {
            inside.push(segment_alone);
        } else {
            put(&mut small, &inside, here);
            inside.push(segment.clone());
        }
        place.push(segment);
    }
    Place(place)
}

fn put(whole: &mut Value, inside: &[Segment], value: Value) {
    if let Some(slot) = at(whole, inside) {
        *slot = value;
    }
}

/// The value at a place.
fn at<'v>(value: &'v mut Value, place: &[Segment]) -> Option<&'v mut Value> {
    place.iter().try_fold(value, |value, segment| match segment {
        Segment::Key(key) => value.get_mut(key.as_str()),
        Segment::Index(index) => value.get_mut(*index),
    })
}

/// The first entries, and what nobody takes.
fn beginning(value: &Value, n: usize, poison: &Value) -> Value {
    match value {
        Value::Object(fields) => {
            let mut first: Map<String, Value> =
                fields.iter().take(n).map(|(key, value)| (key.clone(), value.clone())).collect();
            first.insert(POISON.into(), poison.clone());
            first.into()
        }
        Value::Array(list) => {
            let mut first: Vec<Value> = list.iter().take(n).cloned().collect();
            first.push(poison.clone());
            first.into()
        }
        other => other.clone(),
    }
}

/// What a pack cannot be without.
const HEAD: [&str; 6] = ["pack", "version", "key", "title", "by", "language"];

/// One entry: where it is, the object or list with as little else as it may have, and where the entry is in that.
fn single(value: &Value, index: usize, is_pack: bool) -> (Segment, Value, Segment) {
    match value {
        Value::Object(fields) => {
            let key = fields.keys().nth(index).cloned().unwrap_or_default();
            let goes = |other: &String| *other == key || HEAD.contains(&other.as_str());
            let small = match is_pack {
                true => fields.iter().filter(|(other, _)| goes(other)).map(|(k, v)| (k.clone(), v.clone())).collect(),
                false => fields.clone(),
            };
            (Segment::Key(key.clone()), Value::Object(small), Segment::Key(key))
        }
        Value::Array(list) => (Segment::Index(index), json!([list[index]]), Segment::Index(0)),
        other => (Segment::Index(index), other.clone(), Segment::Index(index)),
    }
}

/// Takes the culprit out, with the entry of the first list that it is in, so that the next mistake shows; returns its place
/// in the pack as it was, before others were taken out. None for what cannot be taken out: the pack itself.
pub fn cull(rest: &mut Value, culprit: &Place, taken: &mut Vec<Place>) -> Option<Place> {
    let list = culprit.0.iter().position(|segment| matches!(segment, Segment::Index(_)));
    let end = list.map_or(culprit.0.len(), |index| index + 1);
    let (last, outer) = culprit.0[..end].split_last()?;
    let mut place = culprit.clone();
    if let (Some(list), Segment::Index(index)) = (list, last) {
        let mut before = *index;
        let mut gone: Vec<usize> = taken.iter().filter_map(|gone| entry_of(gone, outer)).collect();
        gone.sort_unstable();
        for gone in gone {
            before += usize::from(gone <= before);
        }
        place.0[list] = Segment::Index(before);
        taken.push(Place(place.0[..end].to_vec()));
    }
    match (at(rest, outer)?, last) {
        (Value::Object(fields), Segment::Key(key)) => drop(fields.remove(key)),
        (Value::Array(list), Segment::Index(index)) if *index < list.len() => drop(list.remove(*index)),
        _ => return None,
    }
    Some(place)
}

/// The index of an entry of this list.
fn entry_of(place: &Place, list: &[Segment]) -> Option<usize> {
    let (last, outer) = place.0.split_last()?;
    match last {
        Segment::Index(index) if outer == list => Some(*index),
        _ => None,
    }
}

/// A reader's words for what it expected, and plain ones.
const PLAIN: &[(&str, &str)] = &[
    ("missing field `", "a field is missing: `"),
    ("unknown field `", "there is no field `"),
    ("unknown variant `", "there is no choice `"),
    ("invalid type: map", "here stands an object"),
    ("invalid type: sequence", "here stands a list"),
    ("invalid type: string", "here stands the text"),
    ("invalid type: integer", "here stands the number"),
    ("invalid type: floating point", "here stands the number"),
    ("invalid type: boolean", "here stands"),
    ("invalid type: null", "here stands null"),
    ("invalid type: unit value", "here stands null"),
    ("invalid value: integer", "here stands the number"),
    ("invalid value: string", "here stands the text"),
    ("expected f64", "expected a number"),
    ("expected u8", "expected a whole number from 0 to 255"),
    ("expected u16", "expected a whole number from 0"),
    ("expected u32", "expected a whole number from 0"),
    ("expected u64", "expected a whole number from 0"),
    ("expected a sequence", "expected a list"),
    ("expected a map", "expected an object"),
    ("expected a string", "expected a text"),
    ("expected a boolean", "expected true or false"),
];

/// The longest reason, characters (common practice, no source): a reader repeats the whole text that it does not take.
const MOST_SAID: usize = 400;

/// A reader's complaint in plain words.
pub fn plain(message: &str) -> String {
    let mut said = message.to_string();
    for (from, to) in PLAIN {
        said = said.replace(from, to);
    }
    if let Some(at) = said.find("expected struct ") {
        said.truncate(at);
        said.push_str("expected an object");
    }
    if let Some(at) = said.find("expected enum ") {
        said.truncate(at);
        said.push_str("expected one of the choices");
    }
    if said.starts_with(POISON) || said.contains(POISON) {
        said = "this is not what belongs here".into();
    }
    let said = said.replace('`', "\"");
    match said.char_indices().nth(MOST_SAID) {
        Some((end, _)) => format!("{}…", &said[..end]),
        None => said,
    }
}
