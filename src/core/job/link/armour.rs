//! A payload as characters: letters for a link, digits for a code.

use super::Broken;
use data_encoding::BASE64URL_NOPAD;

/// Begins a payload of letters (RFC 4648 section 5, base64url without padding).
pub const LETTERS: char = 'o';
/// Begins a payload of digits.
pub const DIGITS: char = 'n';
/// Ends a payload of letters, so that no chat takes a last `-` or `_` for its own or for the sentence's.
pub const END: char = 'z';

/// Digits for so many bytes at the end, by index; seven bytes make a whole group: 10¹⁷ > 2⁵⁶.
const GROUP: [usize; 8] = [0, 3, 5, 8, 10, 13, 15, 17];

/// How many characters [`letters`] makes of so many bytes.
pub fn letters_length(bytes: usize) -> usize {
    2 + (bytes * 4).div_ceil(3)
}

pub fn letters(payload: &[u8]) -> String {
    let mut text = String::with_capacity(letters_length(payload.len()));
    text.push(LETTERS);
    BASE64URL_NOPAD.encode_append(payload, &mut text);
    text.push(END);
    text
}

pub fn digits(payload: &[u8]) -> String {
    let mut text = String::from(DIGITS);
    for group in payload.chunks(7) {
        let number = group.iter().fold(0u64, |number, byte| number << 8 | u64::from(*byte));
        let width = GROUP[group.len()];
        text.push_str(&format!("{number:0width$}"));
    }
    text
}

/// The payload of a text that [`letters`] or [`digits`] made.
pub fn payload(text: &str) -> Result<Vec<u8>, Broken> {
    match text.chars().next() {
        Some(LETTERS) => {
            let inside = text[1..].strip_suffix(END).ok_or(Broken::Damaged)?;
            BASE64URL_NOPAD.decode(inside.as_bytes()).map_err(|_| Broken::Damaged)
        }
        Some(DIGITS) => from_digits(&text[1..]).ok_or(Broken::Damaged),
        _ => Err(Broken::NotALink),
    }
}

fn from_digits(text: &str) -> Option<Vec<u8>> {
    if !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let mut payload = Vec::with_capacity(text.len() / 17 * 7 + 7);
    for group in text.as_bytes().chunks(17) {
        let bytes = GROUP.iter().position(|width| *width == group.len())?;
        let number: u64 = std::str::from_utf8(group).ok()?.parse().ok()?;
        if number >> (8 * bytes) != 0 {
            return None;
        }
        payload.extend(&number.to_be_bytes()[8 - bytes..]);
    }
    Some(payload)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_length_comes_back() {
        for length in 0..40 {
            for byte in [0, 1, 0x5A, 0xFF] {
                let bytes = vec![byte; length];
                assert_eq!(payload(&letters(&bytes)), Ok(bytes.clone()));
                assert_eq!(payload(&digits(&bytes)), Ok(bytes.clone()));
                assert_eq!(letters(&bytes).len(), letters_length(length));
            }
        }
    }

    #[test]
    fn a_group_holds_its_greatest_number() {
        for (bytes, width) in GROUP.iter().enumerate() {
            assert!(10u64.pow(*width as u32) > (1u64 << (8 * bytes)) - 1, "{bytes} bytes");
        }
        assert_eq!(payload("n256"), Err(Broken::Damaged));
        assert_eq!(payload("n255"), Ok(vec![255]));
        assert_eq!(payload("n+25"), Err(Broken::Damaged));
    }
}
