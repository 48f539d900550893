//! Inputs that nobody means well with, made of links and records that are kept.

use crc::{CRC_32_ISO_HDLC, Crc};
use serde_json::{Value, json};
use sixty_ohms::core::job::link::armour;
use sixty_ohms::core::job::record_file::embed;
use sixty_ohms::core::job::{Moment, backup};
use std::fs;

/// Marsaglia's xorshift, 64 bits: the same inputs for the same seed.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Chance {
        Chance(seed | 1)
    }

    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub fn below(&mut self, most: usize) -> usize {
        (self.next() >> 11) as usize % most.max(1)
    }

    fn bytes(&mut self, most: usize) -> Vec<u8> {
        (0..self.below(most)).map(|_| self.next() as u8).collect()
    }
}

/// What an input is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Any text, as pasted.
    Text,
    /// A payload whose checksum is wrong as a rule.
    Payload,
    /// A payload whose checksum is right, so that its body is read.
    Sealed,
    /// A stored record.
    Stored,
    /// A record's file.
    File,
    /// A backup of several jobs.
    Backup,
}

pub struct Seeds {
    payloads: Vec<Vec<u8>>,
    letters: Vec<String>,
    pub stored: Vec<String>,
    backup: String,
}

impl Seeds {
    pub fn read() -> Seeds {
        let mut seeds = Seeds { payloads: Vec::new(), letters: Vec::new(), stored: Vec::new(), backup: String::new() };
        let mut paths: Vec<_> = fs::read_dir("tests/link/golden").unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        for path in paths {
            let golden: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
            let letters = golden["letters"].as_str().unwrap().to_string();
            seeds.payloads.push(armour::payload(&letters).unwrap());
            seeds.letters.push(letters);
            if golden["opens"]["job"].is_object() {
                let whole =
                    json!({"v": 2, "rev": 7, "saved_at": 5, "writes": [["a", 1]], "job": golden["opens"]["job"]});
                seeds.stored.push(whole.to_string());
            }
        }
        assert!(seeds.payloads.len() >= 10 && seeds.stored.len() >= 8);
        // Small ones, so that many inputs can be tried.
        seeds.stored.sort_by_key(String::len);
        let mut texts: Vec<(String, String)> =
            seeds.stored[..2].iter().enumerate().map(|(n, text)| (format!("k{n}"), text.clone())).collect();
        texts.push(("aside".into(), "{\"v\":99}".into()));
        let photo = backup::photo(true, "p1", &[0xFF, 0xD8, 0xFF, 0xE0, 1, 2, 3]);
        seeds.backup = backup::head(Moment(5), &texts) + &photo + backup::TAIL;
        seeds
    }

    /// The next input.
    pub fn next(&self, chance: &mut Chance) -> (Kind, Vec<u8>) {
        match chance.below(22) {
            0 => (Kind::Text, self.text(chance)),
            1 => {
                let letters: &String = pick(&self.letters, chance);
                (Kind::Text, message(chance, letters))
            }
            2 => (Kind::Text, random_text(chance)),
            3 => {
                let payload: &Vec<u8> = pick(&self.payloads, chance);
                (Kind::Payload, mutated(payload, chance, &self.payloads))
            }
            4 => (Kind::Payload, chance.bytes(200)),
            5 => (Kind::Sealed, sealed(&[1, 0, 1 + chance.below(2) as u8], &chance.bytes(300))),
            6..14 => (Kind::Sealed, self.body(chance)),
            14..18 => {
                let stored: &String = pick(&self.stored, chance);
                (Kind::Stored, mutated_text(stored, chance))
            }
            18 => (Kind::Stored, random_json(chance)),
            19 => (Kind::File, self.file(chance)),
            _ => (Kind::Backup, mutated_text(&self.backup, chance)),
        }
    }

    fn text(&self, chance: &mut Chance) -> Vec<u8> {
        let payload = pick(&self.payloads, chance);
        let text = if chance.below(2) == 0 { armour::letters(payload) } else { armour::digits(payload) };
        mutated(text.as_bytes(), chance, &self.payloads)
    }

    /// A body that was tampered with by somebody who knows the checksum.
    fn body(&self, chance: &mut Chance) -> Vec<u8> {
        let payload = pick(&self.payloads, chance);
        let body = &payload[2..payload.len() - 4];
        let body = mutated(body, chance, &self.payloads);
        sealed(if chance.below(50) == 0 { &[2, 0] } else { &[1, 0] }, &body)
    }

    fn file(&self, chance: &mut Chance) -> Vec<u8> {
        let stored = pick(&self.stored, chance);
        let page = embed("<html><head><script>1</script></head><body><p>Record</p></body></html>", stored);
        mutated(page.as_bytes(), chance, &self.payloads)
    }
}

fn pick<'a, T>(all: &'a [T], chance: &mut Chance) -> &'a T {
    &all[chance.below(all.len())]
}

fn sealed(head: &[u8], body: &[u8]) -> Vec<u8> {
    let mut payload = [head, body].concat();
    let sum = Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(&payload);
    payload.extend(sum.to_le_bytes());
    payload
}

/// One to four changes.
fn mutated(from: &[u8], chance: &mut Chance, others: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = from.to_vec();
    for _ in 0..1 + chance.below(4) {
        let at = chance.below(bytes.len().max(1)).min(bytes.len());
        let to = (at + chance.below(24)).min(bytes.len());
        match chance.below(9) {
            0 | 1 if !bytes.is_empty() => bytes[at] ^= 1 << chance.below(8),
            2 if !bytes.is_empty() => bytes[at] = chance.next() as u8,
            3 if !bytes.is_empty() => bytes[at] = [0, 1, 0x1F, 0x20, 0x7F, 0x80, 0xFE, 0xFF][chance.below(8)],
            // A length, or a number, beyond all measure.
            4 => {
                let huge: &[&[u8]] = &[&[0xFF, 0xFF, 0xFF, 0xFF, 0x0F], &[0xFF; 10], &[0xFF, 0xFF, 0x03], &[0x80; 9]];
                bytes.splice(at..to.min(at + 2), huge[chance.below(huge.len())].iter().copied());
            }
            5 => drop(bytes.drain(at..to)),
            6 => {
                let twice = bytes[at..to].to_vec();
                let times = 1 + chance.below(200);
                bytes.splice(at..at, twice.iter().copied().cycle().take(twice.len() * times));
            }
            7 => {
                let other = &others[chance.below(others.len())];
                let from = chance.below(other.len());
                let until = (from + chance.below(60)).min(other.len());
                bytes.splice(at..to, other[from..until].iter().copied());
            }
            _ => bytes.truncate(at),
        }
    }
    bytes
}

/// Changes that keep a text in one piece more often than not.
fn mutated_text(from: &str, chance: &mut Chance) -> Vec<u8> {
    let mut bytes = from.as_bytes().to_vec();
    for _ in 0..1 + chance.below(3) {
        let at = chance.below(bytes.len().max(1)).min(bytes.len());
        let to = (at + chance.below(12)).min(bytes.len());
        let put: &[&str] = &[
            "null",
            "true",
            "-1",
            "1e999",
            "1e-400",
            "18446744073709551616",
            "\"\"",
            "[",
            "]",
            "{",
            "}",
            "[[[[[[[[",
            "\\u0000",
            "\\ud800",
            ",",
            ":",
            "\"",
            "0",
            "9",
            "{\"figure\":{\"kind\":\"ohms\",\"value\":-1},\"digit\":0}",
            "\"m999.hl\"",
        ];
        match chance.below(4) {
            0 if !bytes.is_empty() => bytes[at] = 0x20 + chance.below(95) as u8,
            1 => drop(bytes.drain(at..to)),
            _ => drop(bytes.splice(at..to, put[chance.below(put.len())].bytes())),
        }
    }
    bytes
}

/// A link in a chat, cut up and written around.
fn message(chance: &mut Chance, letters: &str) -> Vec<u8> {
    let mut text = String::new();
    for _ in 0..chance.below(6) {
        text += ["see #o", "https://example.org/#", "#n12 ", "%23o", "\n> ", "“", "oo", "nnn ", "—", "#/jobs "]
            [chance.below(10)];
    }
    let width = 1 + chance.below(90);
    for line in letters.as_bytes().chunks(width) {
        text += &String::from_utf8_lossy(line);
        text += ["\n", " ", "=\n", "\u{200b}", "", "", "%20", ">"][chance.below(8)];
    }
    text.into_bytes()
}

fn random_text(chance: &mut Chance) -> Vec<u8> {
    let alphabet: &[u8] = match chance.below(4) {
        0 => b"0123456789",
        1 => b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_",
        2 => b"#onz%>= \n0",
        _ => return chance.bytes(300),
    };
    let start: &[u8] = [&b"#o"[..], b"#n", b"o", b"n", b""][chance.below(5)];
    let mut text = start.to_vec();
    text.extend((0..chance.below(400)).map(|_| alphabet[chance.below(alphabet.len())]));
    text.push(b'z');
    text
}

fn random_json(chance: &mut Chance) -> Vec<u8> {
    const PARTS: &[&str] = &[
        "{",
        "}",
        "[",
        "]",
        ",",
        ":",
        "\"v\":2",
        "\"rev\":1",
        "\"saved_at\":0",
        "\"job\":{",
        "\"site\":{",
        "\"observations\":[",
        "null",
        "1",
        "\"x\"",
        "{\"v\":2,\"rev\":1,\"saved_at\":0,\"job\":{}}",
        "\"writes\":[[\"a\",1]]",
    ];
    (0..chance.below(40)).flat_map(|_| PARTS[chance.below(PARTS.len())].bytes()).collect()
}
