//! A link as one QR code, as a plain matrix that a page draws.
//!
//! The address and one letter stand in a byte segment, the payload in a numeric one: every phone camera reads the two as
//! one text, and digits need the fewest modules of all that an address may carry (8.1 bits for a byte of payload).

use crate::core::job::link::Packed;
use qrcodegen::{Mask, QrCode, QrCodeEcc, QrSegment, Version};

/// Larger codes are hard on phone cameras: SMART Health Cards end here too (their `docs/index.md`, "ease of scanning").
pub const MOST_VERSION: u8 = 22;
/// Light modules to leave on every side (ISO/IEC 18004, cited from memory).
pub const QUIET: usize = 4;

/// How much damage a code survives: L about 7 % of it, M about 15 % (ISO/IEC 18004, cited from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    L,
    M,
}

/// A code without its quiet zone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    /// Modules along a side: 17 + 4 · version.
    pub size: usize,
    pub version: u8,
    pub level: Level,
    /// Row by row, from the upper left.
    dark: Vec<bool>,
}

impl Code {
    /// Is the module dark? Column and row from the upper left, each below `size`.
    pub fn is_dark(&self, column: usize, row: usize) -> bool {
        column < self.size && row < self.size && self.dark[row * self.size + column]
    }

    /// The dark modules as horizontal runs: column, row, length. For drawing with few shapes.
    pub fn runs(&self) -> Vec<(usize, usize, usize)> {
        let mut runs: Vec<(usize, usize, usize)> = Vec::new();
        for row in 0..self.size {
            for column in (0..self.size).filter(|column| self.is_dark(*column, row)) {
                match runs.last_mut() {
                    Some((start, of, length)) if *of == row && *start + *length == column => *length += 1,
                    _ => runs.push((column, row, 1)),
                }
            }
        }
        runs
    }
}

/// The code of a link; none where it would be larger than [`MOST_VERSION`], or the payload cannot be opened again.
/// `address` is the app's own, without a `#`.
pub fn code(address: &str, packed: &Packed) -> Option<Code> {
    if packed.over {
        return None;
    }
    let digits = packed.digits();
    let (letter, digits) = digits.split_at(1);
    let segments = [QrSegment::make_bytes(format!("{address}#{letter}").as_bytes()), QrSegment::make_numeric(digits)];
    [Level::M, Level::L].into_iter().find_map(|level| of_segments(&segments, level))
}

fn of_segments(segments: &[QrSegment], level: Level) -> Option<Code> {
    let damage = match level {
        Level::L => QrCodeEcc::Low,
        Level::M => QrCodeEcc::Medium,
    };
    let (least, most) = (Version::MIN, Version::new(MOST_VERSION));
    let code = QrCode::encode_segments_advanced(segments, damage, least, most, None::<Mask>, false).ok()?;
    let side = code.size();
    let dark = (0..side).flat_map(|row| (0..side).map(move |column| (column, row)));
    Some(Code {
        size: side as usize,
        version: code.version().value(),
        level,
        dark: dark.map(|(column, row)| code.get_module(column, row)).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn packed(bytes: usize) -> Packed {
        Packed { payload: (0..bytes).map(|index| (index * 37) as u8).collect(), over: false }
    }

    #[test]
    fn a_code_falls_to_the_lower_level_only_where_that_makes_it_small_enough() {
        let of = |bytes| code("https://example.org/ohms/", &packed(bytes)).map(|code| (code.version, code.level));
        assert_eq!(of(700).unwrap().1, Level::M);
        assert_eq!(of(760).unwrap(), (20, Level::L));
        assert_eq!(of(960).unwrap(), (22, Level::L));
        assert_eq!(of(1000), None);
        assert_eq!(code("", &Packed { over: true, ..packed(9) }), None);
    }

    #[test]
    fn runs_cover_the_dark_modules_and_no_others() {
        let code = code("https://example.org/ohms/", &packed(90)).unwrap();
        assert_eq!(code.size, 17 + 4 * usize::from(code.version));
        let mut drawn = vec![false; code.size * code.size];
        for (column, row, length) in code.runs() {
            drawn[row * code.size + column..][..length].fill(true);
        }
        assert_eq!(drawn, code.dark);
        assert!(!code.is_dark(code.size, 0) && code.is_dark(0, 0));
    }
}
