//! Places in a pack: `equipment.modules[0].data.connector`, and where that is in a text.

use std::collections::BTreeSet;
use std::fmt;

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Segment {
    Key(String),
    Index(usize),
}

impl From<&str> for Segment {
    fn from(key: &str) -> Segment {
        Segment::Key(key.into())
    }
}

impl From<usize> for Segment {
    fn from(index: usize) -> Segment {
        Segment::Index(index)
    }
}

/// A place, from the outside in.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place(pub Vec<Segment>);

impl Place {
    /// The pack as a whole.
    pub const WHOLE: Place = Place(Vec::new());

    /// A path of keys.
    pub fn of(keys: &[&str]) -> Place {
        Place(keys.iter().map(|key| Segment::from(*key)).collect())
    }

    pub fn then(mut self, segment: impl Into<Segment>) -> Place {
        self.0.push(segment.into());
        self
    }

    /// Is the other place this one, or inside it?
    pub fn holds(&self, other: &Place) -> bool {
        other.0.starts_with(&self.0)
    }

    /// Where it begins in a text of JSON, in bytes; where it is not there, what it would be in. 0 for a text that is none.
    pub fn find(&self, text: &str) -> usize {
        let (mut found, mut depth) = (0, 0);
        scan(text, |here, at, _| {
            if here.len() > depth && self.0.starts_with(here) {
                (found, depth) = (at, here.len());
            }
        });
        found
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, segment) in self.0.iter().enumerate() {
            match segment {
                Segment::Key(key) if index == 0 => f.write_str(key)?,
                Segment::Key(key) => write!(f, ".{key}")?,
                Segment::Index(at) => write!(f, "[{at}]")?,
            }
        }
        Ok(())
    }
}

/// Keys that an object of the text has twice, with the byte of the second one: readers of JSON keep one and say nothing.
pub fn twice(text: &str) -> Vec<(Place, usize)> {
    let mut found = Vec::new();
    scan(text, |here, at, twice| {
        if twice {
            found.push((Place(here.to_vec()), at));
        }
    });
    found
}

/// Goes through a text of JSON that is known to be right: each entry with its place, its first byte (that of its key in an
/// object), and whether its key was there before.
fn scan(text: &str, mut visit: impl FnMut(&[Segment], usize, bool)) {
    let mut scan = Scan { text, at: 0, here: Vec::new() };
    scan.value(&mut visit);
}

type Visit<'v> = dyn FnMut(&[Segment], usize, bool) + 'v;

struct Scan<'t> {
    text: &'t str,
    at: usize,
    here: Vec<Segment>,
}

impl Scan<'_> {
    fn peek(&mut self) -> Option<u8> {
        while self.text.as_bytes().get(self.at).is_some_and(u8::is_ascii_whitespace) {
            self.at += 1;
        }
        self.text.as_bytes().get(self.at).copied()
    }

    /// None where the text ends too early.
    fn value(&mut self, visit: &mut Visit<'_>) -> Option<()> {
        match self.peek()? {
            b'{' => self.object(visit),
            b'[' => self.array(visit),
            b'"' => self.string().map(|_| ()),
            _ => {
                let rest = &self.text.as_bytes()[self.at..];
                let end = rest.iter().position(|b| b",]} \t\r\n".contains(b)).unwrap_or(rest.len());
                self.at += end;
                // Something that is no value would be looked at for ever.
                (end > 0).then_some(())
            }
        }
    }

    fn object(&mut self, visit: &mut Visit<'_>) -> Option<()> {
        let mut seen = BTreeSet::new();
        self.at += 1;
        loop {
            match self.peek()? {
                b'}' => break,
                b',' => self.at += 1,
                _ => {
                    let at = self.at;
                    let key = self.string()?;
                    self.here.push(Segment::Key(key.clone()));
                    visit(&self.here, at, !seen.insert(key));
                    if self.peek()? == b':' {
                        self.at += 1;
                    }
                    self.value(visit)?;
                    self.here.pop();
                }
            }
        }
        self.at += 1;
        Some(())
    }

    fn array(&mut self, visit: &mut Visit<'_>) -> Option<()> {
        self.at += 1;
        let mut index = 0;
        loop {
            match self.peek()? {
                b']' => break,
                b',' => self.at += 1,
                _ => {
                    self.here.push(Segment::Index(index));
                    visit(&self.here, self.at, false);
                    self.value(visit)?;
                    self.here.pop();
                    index += 1;
                }
            }
        }
        self.at += 1;
        Some(())
    }

    fn string(&mut self) -> Option<String> {
        let bytes = self.text.as_bytes();
        if bytes.get(self.at) != Some(&b'"') {
            return None;
        }
        let from = self.at;
        let mut at = from + 1;
        while *bytes.get(at)? != b'"' {
            at += if bytes[at] == b'\\' { 2 } else { 1 };
        }
        self.at = at + 1;
        serde_json::from_str::<serde_json::Value>(self.text.get(from..self.at)?).ok()?.as_str().map(str::to_string)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"{ "a": [ {"b\"": 1}, "x,]}", {"c": {"d": [true, null]}} ], "e": -1.5e3, "a": 2 }"#;

    #[test]
    fn a_place_is_found_or_what_it_would_be_in() {
        let at = |place: Place| &TEXT[place.find(TEXT)..][..3];
        assert_eq!(at(Place::of(&["a"]).then(1)), "\"x,");
        assert_eq!(at(Place::of(&["a"]).then(0).then("b\"")), "\"b\\");
        assert_eq!(at(Place::of(&["a"]).then(2).then("c").then("d").then(1)), "nul");
        assert_eq!(at(Place::of(&["a"]).then(2).then("c").then("z")), "\"c\"");
        assert_eq!(at(Place::of(&["e"])), "\"e\"");
        assert_eq!(Place::of(&["z"]).find(TEXT), 0);
        assert_eq!(Place::of(&["a"]).then(2).then("c").to_string(), "a[2].c");
    }

    #[test]
    fn a_key_that_is_there_twice_is_seen() {
        assert_eq!(twice(TEXT), vec![(Place::of(&["a"]), TEXT.rfind("\"a\"").unwrap())]);
    }

    #[test]
    fn what_is_no_json_ends() {
        for text in ["", "{", "{\"a", "[,,", "{]", "[}", "\"\\", "{\"a\":}", "[1 2", "{:", "é[é"] {
            Place::of(&["a"]).find(text);
            twice(text);
        }
    }
}
