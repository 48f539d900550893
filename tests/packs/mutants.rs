//! Packs that are broken on purpose: each mutant is wrong by what was done to it, whatever it was done to.

use serde_json::{Value, json};
use sixty_ohms::content::pack::Place;

/// A broken text.
pub struct Mutant {
    pub what: String,
    pub text: String,
    /// The place that was broken; none where the text is no JSON any more.
    pub place: Option<Place>,
    /// The last key of the place.
    pub key: String,
}

/// Numbers by chance that are the same each time (SplitMix64, Steele, Lea and Flood 2014; from memory).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
}

/// Every value under a value, as JSON pointers.
fn pointers(value: &Value, here: &str, found: &mut Vec<String>) {
    found.push(here.to_string());
    match value {
        Value::Object(fields) => {
            fields.iter().for_each(|(key, value)| pointers(value, &format!("{here}/{key}"), found))
        }
        Value::Array(list) => {
            list.iter().enumerate().for_each(|(n, value)| pointers(value, &format!("{here}/{n}"), found));
        }
        _ => {}
    }
}

fn place(pointer: &str) -> Place {
    pointer.split('/').skip(1).fold(Place::WHOLE, |place, segment| match segment.parse::<usize>() {
        Ok(index) => place.then(index),
        Err(_) => place.then(segment),
    })
}

type Is = fn(&str, &Value) -> bool;
type Break = fn(&mut Value);

/// Ways to break a value, by what it must be.
const WAYS: &[(&str, Is, Break)] = &[
    ("a number for a text", |_, v| v.is_string(), |v| *v = json!(7)),
    ("a list for a text", |_, v| v.is_string(), |v| *v = json!(["x"])),
    ("a hidden character", |_, v| v.is_string(), |v| *v = json!(format!("{}\u{7}", v.as_str().unwrap()))),
    ("a turned text", |_, v| v.is_string(), |v| *v = json!(format!("\u{202E}{}", v.as_str().unwrap()))),
    ("a text that is too long", |_, v| v.is_string(), |v| *v = json!("x".repeat(4001))),
    ("a text for a number", |_, v| v.is_number(), |v| *v = json!("seven")),
    ("a number far below", |_, v| v.is_number(), |v| *v = json!(-1e12)),
    ("an object for a number", |_, v| v.is_number(), |v| *v = json!({})),
    ("a number for a yes", |_, v| v.is_boolean(), |v| *v = json!(1)),
    ("nothing for a yes", |_, v| v.is_boolean(), |v| *v = json!(null)),
    ("an unknown field", |p, v| v.is_object() && !p.is_empty(), |v| v["zzz"] = json!(null)),
    ("a list for an object", |p, v| v.is_object() && !p.is_empty() && needed(p), |v| *v = json!([true])),
    ("a text for a list", |_, v| v.is_array(), |v| *v = json!("x")),
    ("a foreign entry in a list", |_, v| v.is_array(), |v| v.as_array_mut().unwrap().push(json!([[1]]))),
    (
        "too many entries",
        |_, v| v.is_array(),
        |v| {
            let first = v[0].clone();
            *v = Value::Array(vec![first; 2001]);
        },
    ),
    ("an empty list", |p, v| v.is_array() && needed(p), |v| *v = json!([])),
    ("no text", |p, v| v.is_string() && needed(p), |v| *v = json!("  ")),
    ("an unknown key", |p, _| p.contains("/sources/") && p.starts_with("/guides"), |v| *v = json!("no-such")),
    ("an unknown plug", |p, _| p.ends_with("/connector"), |v| *v = json!("no-such")),
    ("an unknown protocol", |p, _| p.ends_with("/protocol"), |v| *v = json!("no-such")),
    ("a key that is none", |p, _| p.ends_with("/key"), |v| *v = json!("No Key!")),
];

/// What no entry can be without.
fn needed(pointer: &str) -> bool {
    let texts =
        ["/title", "/by", "/meaning", "/first", "/do-not", "/go-on", "/stop", "/maker", "/model", "/action", "/why"];
    let lists = ["/ports", "/speaks", "/blocks", "/causes", "/shown", "/ways", "/lengths-m", "/data"];
    let own = !pointer.starts_with("/sources");
    own && (texts.iter().chain(&lists).any(|end| pointer.ends_with(end)))
}

/// Fields without which an entry is none.
fn required(pointer: &str) -> bool {
    let is_entry =
        ["/equipment/modules/0/", "/equipment/monitors/0/", "/equipment/leads/0/", "/guides/0/", "/alarms/0/"];
    let optional = ["see", "codes", "off", "longest-link-m", "wires", "name", "numbering"];
    is_entry.iter().any(|entry| pointer.starts_with(entry))
        && !optional.iter().any(|name| pointer.contains(&format!("/{name}")))
        && pointer.rsplit('/').next().is_some_and(|key| key.parse::<usize>().is_err())
}

/// Broken texts: up to six of each way, at places by chance; fields taken out and misspelt; and texts that are no JSON.
pub fn all(text: &str, seed: u64) -> Vec<Mutant> {
    let mut chance = Chance(seed);
    let whole: Value = serde_json::from_str(text).unwrap();
    let mut every = Vec::new();
    pointers(&whole, "", &mut every);
    let mut list = Vec::new();
    let mut push = |what: &str, pointer: &str, value: &Value| {
        let text = serde_json::to_string_pretty(value).unwrap();
        let key = pointer.rsplit('/').next().unwrap_or("").to_string();
        list.push(Mutant { what: format!("{what} at {pointer}"), text, place: Some(place(pointer)), key });
    };
    for (what, is, spoil) in WAYS {
        let mut fit: Vec<&String> = every.iter().filter(|at| is(at, whole.pointer(at).unwrap())).collect();
        assert!(!fit.is_empty(), "{what} fits nothing");
        for _ in 0..9.min(fit.len()) {
            let at = fit.swap_remove(chance.below(fit.len()));
            let mut value = whole.clone();
            spoil(value.pointer_mut(at).unwrap());
            push(what, at, &value);
        }
    }
    for at in every.iter().filter(|at| required(at)) {
        if chance.below(2) == 0 {
            let (outer, key) = at.rsplit_once('/').unwrap();
            let mut value = whole.clone();
            let fields = value.pointer_mut(outer).unwrap().as_object_mut().unwrap();
            let old = fields.remove(key).unwrap();
            let what = if chance.below(2) == 0 { "a field taken out" } else { "a field misspelt" };
            if what == "a field misspelt" {
                fields.insert(format!("{key}x"), old);
            }
            push(what, outer, &value);
        }
    }
    list.extend(no_json(text, &mut chance));
    list
}

fn no_json(text: &str, chance: &mut Chance) -> Vec<Mutant> {
    let none = |what: &str, text: String| Mutant { what: what.into(), text, place: None, key: String::new() };
    let mut list = Vec::new();
    for _ in 0..10 {
        let end = chance.below(text.trim_end().len() - 1);
        let end = (0..=end).rev().find(|end| text.is_char_boundary(*end)).unwrap();
        list.push(none(&format!("cut off at {end}"), text[..end].into()));
        let colons: Vec<usize> = text.match_indices("\": ").map(|(at, _)| at + 1).collect();
        let at = colons[chance.below(colons.len())];
        list.push(none(&format!("no colon at {at}"), format!("{}{}", &text[..at], &text[at + 1..])));
        // The same key twice: readers of JSON would take one of the two.
        let lines: Vec<&str> = text
            .lines()
            .filter(|line| line.trim().starts_with('"') && line.contains("\": ") && line.ends_with(','))
            .collect();
        let line = lines[chance.below(lines.len())];
        list.push(none(&format!("twice: {}", line.trim()), text.replacen(line, &format!("{line}\n{line}"), 1)));
    }
    list.push(none("nested without end", format!("{}\"x\": {}", &text[..2], "[".repeat(100_000))));
    list.push(none(
        "nested too deep",
        text.replacen("\"about\": \"An", &format!("\"about\": {}{}, \"x\": \"An", "[".repeat(200), "]".repeat(200)), 1),
    ));
    list.push(none("too long", format!("{text}{}", " ".repeat(1 << 20))));
    list.push(none("a list", format!("[{text}]")));
    list.push(none("another format", text.replace("sixty-ohms-pack", "sixty-ohms-pock")));
    list.push(none("a newer version", text.replace("\"version\": 1", "\"version\": 99")));
    list
}

/// Texts with bytes changed by chance: mostly broken, some whole after all.
pub fn noise(text: &str, seed: u64, count: usize) -> impl Iterator<Item = String> {
    let mut chance = Chance(seed);
    let text = text.to_string();
    (0..count).map(move |_| {
        let mut bytes = text.clone().into_bytes();
        for _ in 0..=chance.below(3) {
            let at = chance.below(bytes.len());
            match chance.below(4) {
                0 => drop(bytes.remove(at)),
                1 => bytes.insert(at, b"\"{}[],:0-e\\"[chance.below(11)]),
                2 => bytes[at] ^= 1 << chance.below(7),
                _ => {
                    let from = chance.below(bytes.len());
                    bytes[at] = bytes[from];
                }
            }
        }
        String::from_utf8_lossy(&bytes).into_owned()
    })
}
