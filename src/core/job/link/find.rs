//! The link in a pasted text: chats break lines, quote, escape and write around it.

use super::Broken;
use super::armour::{self, DIGITS, END, LETTERS};

/// Places in a text that are tried.
const MOST_PLACES: usize = 8;
/// Pieces of one link that spaces and line breaks may have made of it.
const MOST_PIECES: usize = 96;
/// Fewer characters are a word that happens to begin like a link.
const LEAST: usize = 10;

/// Opens the first link that can be opened; else tells what is wrong with the likeliest.
pub fn open_first<T>(text: &str, open: impl Fn(&[u8]) -> Result<T, Broken>) -> Result<T, Broken> {
    let plain = unescaped(text);
    let mut worst = Broken::NotALink;
    for start in places(&plain) {
        match open_at(&plain[start..], &open) {
            Ok(opened) => return Ok(opened),
            Err(why) => worst = worst.max(why),
        }
    }
    Err(worst)
}

/// Where a payload may begin: at the start of the text, or after a `#`.
fn places(text: &str) -> Vec<usize> {
    let quotes = |c: char| c.is_whitespace() || matches!(c, '"' | '\'' | '<' | '(' | '“' | '«' | '>');
    let start = text.len() - text.trim_start_matches(quotes).len();
    let after = text.match_indices('#').map(|(hash, _)| hash + 1);
    let begins = |at: &usize| text[*at..].starts_with([LETTERS, DIGITS]);
    [start].into_iter().chain(after).filter(begins).take(MOST_PLACES).collect()
}

/// Tries the payload that begins here: up to the first character that is not of it, then over spaces and line breaks,
/// piece by piece. The checksum tells when it is whole.
fn open_at<T>(text: &str, open: &impl Fn(&[u8]) -> Result<T, Broken>) -> Result<T, Broken> {
    let of_it = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    let mut joined = String::new();
    let mut worst = Broken::NotALink;
    let mut rest = text;
    for _ in 0..MOST_PIECES {
        let end = rest.find(|c| !of_it(c)).unwrap_or(rest.len());
        joined.push_str(&rest[..end]);
        rest = &rest[end..];
        let length = joined.len();
        if length >= LEAST && could_be_whole(&joined) {
            match armour::payload(&joined).and_then(|payload| open(&payload)) {
                Ok(opened) => return Ok(opened),
                // The wish to be a link is enough to call it damaged.
                Err(why) => worst = worst.max(why),
            }
        }
        let next = rest.trim_start_matches(is_between);
        if next.len() == rest.len() || !next.starts_with(of_it) {
            break;
        }
        rest = next;
    }
    if joined.len() >= LEAST { Err(worst.max(Broken::Damaged)) } else { Err(worst) }
}

/// What line breaks, quoting, and mail's soft breaks put into a link.
fn is_between(c: char) -> bool {
    let unseen = matches!(c, '\u{ad}' | '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{feff}');
    c.is_whitespace() || c == '>' || c == '=' || unseen
}

fn could_be_whole(joined: &str) -> bool {
    joined.starts_with(DIGITS) || joined.ends_with(END)
}

/// The text with `%23` and its like as the characters they stand for, and with dashes that a keyboard has made of hyphens.
fn unescaped(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(['%', '—', '–', '‑', '‐']) {
        plain.push_str(&rest[..at]);
        rest = &rest[at..];
        let hex = rest.get(1..3).filter(|_| rest.starts_with('%'));
        let escaped = hex.and_then(|hex| u8::from_str_radix(hex, 16).ok()).filter(u8::is_ascii_graphic);
        let c = rest.chars().next().unwrap_or(' ');
        match (escaped, c) {
            (Some(byte), _) => {
                plain.push(char::from(byte));
                rest = &rest[3..];
                continue;
            }
            (None, '%') => plain.push('%'),
            (None, '—') => plain.push_str("--"),
            _ => plain.push('-'),
        }
        rest = &rest[c.len_utf8()..];
    }
    plain.push_str(rest);
    plain
}
