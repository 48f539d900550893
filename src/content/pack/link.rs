//! A pack as a link: what stands after the `#`. The letter `k`, then an envelope as that of jobs (version, flags, body,
//! CRC-32) in base64url without padding, then `z`. The body is the pack's JSON without spaces.

use crate::core::job::link::{MOST_LENGTH, MOST_TEXT, envelope};
use data_encoding::BASE64URL_NOPAD;

/// Begins the payload of a pack.
pub const FIRST: char = 'k';
/// Ends it, so that no chat takes a last `-` or `_` for its own.
const LAST: char = 'z';

/// Why a text holds no pack that came by link.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Broken {
    NotALink,
    Damaged,
    Newer,
}

/// A pack's text as what stands after the `#`; none where the whole link would be longer than is offered. `address`: characters
/// of all that stands before it.
pub fn letters(text: &str, address: usize) -> Option<String> {
    let value: serde_json::Value = serde_json::from_str(text).ok()?;
    let payload = envelope::seal(value.to_string().as_bytes());
    let length = address + 2 + (payload.len() * 4).div_ceil(3);
    (length <= MOST_LENGTH).then(|| format!("{FIRST}{}{LAST}", BASE64URL_NOPAD.encode(&payload)))
}

/// The text of the pack in a payload, an address, or a message with one in it.
pub fn open(text: &str) -> Result<String, Broken> {
    if text.len() > MOST_TEXT {
        return Err(Broken::NotALink);
    }
    let inside = text.split_whitespace().filter_map(|word| {
        let payload = word.rsplit('#').next().unwrap_or(word);
        payload.strip_prefix(FIRST).filter(|rest| rest.len() > 12)
    });
    let mut why = Broken::NotALink;
    for payload in inside {
        match from_letters(payload) {
            Ok(text) => return Ok(text),
            Err(broken) => why = broken,
        }
    }
    Err(why)
}

fn from_letters(payload: &str) -> Result<String, Broken> {
    use crate::core::job::link::Broken as Why;
    // A chat may have taken the sentence's full stop into the address.
    let end = payload.rfind(LAST).ok_or(Broken::Damaged)?;
    let bytes = BASE64URL_NOPAD.decode(&payload.as_bytes()[..end]).map_err(|_| Broken::Damaged)?;
    let body = envelope::open(&bytes).map_err(|why| match why {
        Why::Newer => Broken::Newer,
        _ => Broken::Damaged,
    })?;
    String::from_utf8(body.to_vec()).map_err(|_| Broken::Damaged)
}
