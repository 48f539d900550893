//! The texts of a link: each once, by number, and packed with pieces of the trade's English that every link knows.
//!
//! Both tables are part of version 1 and never change: `known.txt` holds whole texts (keys and equipment of the content as
//! version 1 came out, then the words it uses most) that are written as one number, `pieces.txt` holds groups of letters.
//! They were chosen by counting in `content/`, and groups of letters also in names of places; both serve inside texts. The
//! bytes of a text:
//!
//! | byte | stands for |
//! |---|---|
//! | 00 | the end of a text |
//! | 01 to 1F | with the next byte: the known text number `(byte − 1) · 256 + next` |
//! | 20 to 7E | itself, as ASCII |
//! | 7F | with the next byte `n`: `n` bytes of UTF-8 follow |
//! | 80 to FF | the piece number `byte − 80` |

use super::few::Few;
use super::v1::{MOST_BYTES, Word};
use super::{Broken, MOST_CHARS};
use std::collections::HashMap;
use std::sync::LazyLock;

/// All texts of one link together, however often each is used, in bytes: 1 MiB.
const MOST_HANDED_OUT: usize = 1 << 20;
const END: u8 = 0;
const LAST_KNOWN: u8 = 0x1F;
const RAW: u8 = 0x7F;
const FIRST_PIECE: u8 = 0x80;

struct Table {
    known: Vec<&'static str>,
    number: HashMap<&'static str, u32>,
    pieces: Vec<String>,
    /// What stands for the beginning of a text, by its first byte: the bytes that say it, and how much it covers.
    by_first: Vec<Vec<(Vec<u8>, String)>>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let known: Vec<&str> = include_str!("known.txt").lines().collect();
    let pieces: Vec<String> = include_str!("pieces.txt").lines().map(|piece| piece.replace("\\n", "\n")).collect();
    let number = known.iter().enumerate().map(|(index, text)| (*text, index as u32)).collect();
    let mut by_first = vec![Vec::new(); 256];
    let two = |index: usize| vec![(index / 256 + 1) as u8, (index % 256) as u8];
    let short = pieces.iter().enumerate().map(|(index, text)| (vec![FIRST_PIECE + index as u8], text.as_str()));
    let long = known.iter().enumerate().filter(|(_, text)| text.len() > 2).map(|(index, text)| (two(index), *text));
    for (code, text) in short.chain(long) {
        by_first[usize::from(text.as_bytes()[0])].push((code, text.to_string()));
    }
    Table { known, number, pieces, by_first }
});

/// The texts of a link that is being packed.
#[derive(Default)]
pub struct Collected {
    own: Vec<String>,
    number: HashMap<String, u32>,
    handed_in: usize,
    pub over: bool,
}

/// Does it travel? Control characters do not, but tab and line break.
fn travels(c: char) -> bool {
    !c.is_control() || c == '\n' || c == '\t'
}

impl Collected {
    pub fn word(&mut self, text: &str) -> Word {
        self.long(text, MOST_CHARS)
    }

    /// A text with a limit of its own, in characters.
    pub fn long(&mut self, text: &str, most: usize) -> Word {
        let text: String = text.chars().filter(|c| travels(*c)).collect();
        self.handed_in += text.len();
        self.over |= text.chars().count() > most || self.handed_in > MOST_HANDED_OUT;
        if text.is_empty() {
            return Word(0);
        }
        if let Some(index) = TABLE.number.get(text.as_str()) {
            return Word(2 * index + 2);
        }
        let next = self.own.len() as u32;
        let index = *self.number.entry(text.clone()).or_insert(next);
        if index == next {
            self.own.push(text);
        }
        Word(2 * index + 1)
    }

    pub fn packed(&self) -> Few<u8, MOST_BYTES> {
        let mut bytes = Vec::new();
        for text in &self.own {
            squeeze(text, &mut bytes);
            bytes.push(END);
        }
        Few(bytes)
    }
}

/// The fewest bytes for a text. Of two ways that are as short the first in the order of the tables is taken, so that the
/// same text always makes the same bytes.
fn squeeze(text: &str, bytes: &mut Vec<u8>) {
    // From the end: how many bytes the rest takes, and the first step towards it.
    enum Step {
        Itself,
        Code(&'static [u8], usize),
        Raw(usize),
    }
    let mut ways: Vec<(usize, Step)> = (0..=text.len()).map(|_| (usize::MAX, Step::Itself)).collect();
    ways[text.len()].0 = 0;
    let table: &'static Table = &TABLE;
    for (start, c) in text.char_indices().rev() {
        let rest = &text[start..];
        let mut best = (usize::MAX, Step::Itself);
        let mut offer = |cost: usize, step: Step| {
            if cost < best.0 {
                best = (cost, step);
            }
        };
        if matches!(c, ' '..='~') {
            offer(1 + ways[start + 1].0, Step::Itself);
        } else {
            let ends = rest.char_indices().skip(1).map(|(end, _)| end).chain([rest.len()]);
            for end in ends.take_while(|end| *end <= 255) {
                offer(2 + end + ways[start + end].0, Step::Raw(end));
            }
        }
        for (code, covers) in &table.by_first[usize::from(rest.as_bytes()[0])] {
            if rest.starts_with(covers.as_str()) {
                offer(code.len() + ways[start + covers.len()].0, Step::Code(code, covers.len()));
            }
        }
        ways[start] = best;
    }
    let mut at = 0;
    while at < text.len() {
        at += match &ways[at].1 {
            Step::Itself => {
                bytes.push(text.as_bytes()[at]);
                1
            }
            Step::Code(code, covers) => {
                bytes.extend(*code);
                *covers
            }
            Step::Raw(length) => {
                bytes.extend([RAW, *length as u8]);
                bytes.extend(&text.as_bytes()[at..at + length]);
                *length
            }
        };
    }
}

/// The texts of a link that is being read.
pub struct Texts {
    own: Vec<String>,
    handed_out: usize,
}

impl Texts {
    /// Unpacks the texts of a link.
    pub fn read(packed: &[u8]) -> Result<Texts, Broken> {
        let mut own = Vec::new();
        let (mut text, mut all) = (Vec::new(), 0);
        let mut bytes = packed.iter().copied();
        while let Some(byte) = bytes.next() {
            let before = text.len();
            match byte {
                END => own.push(checked(std::mem::take(&mut text))?),
                1..=LAST_KNOWN => {
                    let next = bytes.next().ok_or(Broken::Damaged)?;
                    let index = usize::from(byte - 1) * 256 + usize::from(next);
                    text.extend(TABLE.known.get(index).ok_or(Broken::Damaged)?.as_bytes());
                }
                RAW => {
                    let length = usize::from(bytes.next().ok_or(Broken::Damaged)?);
                    text.extend(bytes.by_ref().take(length));
                    if text.len() - before < length {
                        return Err(Broken::Damaged);
                    }
                }
                FIRST_PIECE.. => {
                    let piece = TABLE.pieces.get(usize::from(byte - FIRST_PIECE)).ok_or(Broken::Damaged)?;
                    text.extend(piece.as_bytes());
                }
                itself => text.push(itself),
            }
            all += text.len().saturating_sub(before);
            if all > MOST_HANDED_OUT {
                return Err(Broken::TooBig);
            }
        }
        if text.is_empty() { Ok(Texts { own, handed_out: 0 }) } else { Err(Broken::Damaged) }
    }

    pub fn word(&mut self, word: Word) -> Result<String, Broken> {
        self.long(word, MOST_CHARS)
    }

    /// A text with a limit of its own, in characters.
    pub fn long(&mut self, Word(number): Word, most: usize) -> Result<String, Broken> {
        let text = match (number.checked_sub(1), number % 2) {
            (None, _) => "",
            (Some(index), 1) => self.own.get(index as usize / 2).ok_or(Broken::Damaged)?,
            (Some(index), _) => TABLE.known.get(index as usize / 2).ok_or(Broken::Damaged)?,
        };
        self.handed_out += text.len();
        if self.handed_out > MOST_HANDED_OUT || text.chars().count() > most {
            return Err(Broken::TooBig);
        }
        Ok(text.to_string())
    }
}

/// A text of the link's own: there for a purpose, and free of control characters, which no packing puts in.
fn checked(bytes: Vec<u8>) -> Result<String, Broken> {
    let text = String::from_utf8(bytes).map_err(|_| Broken::Damaged)?;
    if text.is_empty() || !text.chars().all(travels) { Err(Broken::Damaged) } else { Ok(text) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn again(texts: &[&str]) -> Vec<String> {
        let mut collected = Collected::default();
        let words: Vec<Word> = texts.iter().map(|text| collected.word(text)).collect();
        assert!(!collected.over);
        let mut read = Texts::read(&collected.packed().0).unwrap();
        words.into_iter().map(|word| read.word(word).unwrap()).collect()
    }

    #[test]
    fn the_tables_can_be_told_apart() {
        assert!(TABLE.known.len() <= 256 * usize::from(LAST_KNOWN) && TABLE.pieces.len() <= 128);
        let all: Vec<&str> = TABLE.known.iter().copied().chain(TABLE.pieces.iter().map(String::as_str)).collect();
        assert!(all.iter().all(|text| !text.is_empty() && text.chars().all(travels)));
        let unique: BTreeSet<&str> = TABLE.known.iter().copied().collect();
        assert_eq!(unique.len(), TABLE.known.len());
    }

    #[test]
    fn texts_come_back() {
        let long = "ß".repeat(1_000);
        let texts = [
            "",
            "rj45",
            "the terminator was loose",
            "60.4 Ω\n\tnext",
            "Größe 日本 🔋",
            "a\u{202e}b",
            &long,
            "rj45",
            "x",
        ];
        assert_eq!(again(&texts), texts);
    }

    #[test]
    fn control_characters_stay_behind() {
        assert_eq!(again(&["a\u{0}b\r\nc\u{7f}d\u{85}"]), ["ab\ncd"]);
        assert!(Texts::read(&[RAW, 1, 7, END]).is_err());
    }

    #[test]
    fn a_text_used_too_often_is_too_big() {
        let mut collected = Collected::default();
        let word = collected.long(&"q".repeat(2_000), 2_000);
        let mut read = Texts::read(&collected.packed().0).unwrap();
        let handed_out = (0..1_000).take_while(|_| read.word(word).is_ok()).count();
        assert_eq!(handed_out, MOST_HANDED_OUT / 2_000);
        (0..1_000).for_each(|_| assert_eq!(collected.long(&"q".repeat(2_000), 2_000), word));
        assert!(collected.over);
    }

    #[test]
    fn what_is_not_in_the_tables_is_damaged() {
        for bytes in
            [&[LAST_KNOWN, 0xFF, END][..], b"x", &[END], &[RAW, 3, b'x', END], &[1], &[RAW], &[0x7F, 1, 0xFF, END]]
        {
            assert!(Texts::read(bytes).is_err(), "{bytes:?}");
        }
        let mut read = Texts::read(&[]).unwrap();
        assert_eq!(read.word(Word(1)), Err(Broken::Damaged));
        assert_eq!(read.word(Word(60_000)), Err(Broken::Damaged));
    }
}
