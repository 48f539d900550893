//! A number stays on one line with its unit, in the sentences of the content as in the figures that the app puts into them.

use crate::core::units::Kind;

/// What may stand before a unit's symbol (SI Brochure, 9th edition, table 7; from memory).
const PREFIXES: [&str; 6] = ["", "n", "µ", "m", "k", "M"];

/// The text with a space that does not break between each number and its unit.
pub fn unbroken(text: &str) -> String {
    let mut whole = String::with_capacity(text.len());
    let mut before = ' ';
    for (at, c) in text.char_indices() {
        let gap = c == ' ' && before.is_ascii_digit() && begins_with_unit(&text[at + 1..]);
        whole.push(if gap { '\u{a0}' } else { c });
        before = c;
    }
    whole
}

fn begins_with_unit(text: &str) -> bool {
    let is_whole = |rest: &str| !rest.chars().next().is_some_and(|c| c.is_alphanumeric() || "²/°".contains(c));
    // Minutes are no quantity's own unit.
    let mut symbols = Kind::ALL.iter().map(|kind| kind.symbol()).chain(["min"]).filter(|symbol| !symbol.is_empty());
    symbols.any(|symbol| {
        let after = |prefix: &&str| text.strip_prefix(*prefix)?.strip_prefix(symbol);
        PREFIXES.iter().filter_map(after).any(is_whole)
    })
}

#[cfg(test)]
mod tests {
    use super::unbroken;

    #[test]
    fn only_what_is_a_number_and_a_unit() {
        assert_eq!(unbroken("118 to 130 Ω at 12 V."), "118 to 130\u{a0}Ω at 12\u{a0}V.");
        assert_eq!(unbroken("5 mm² of 3 m, 2 mV"), "5\u{a0}mm² of 3\u{a0}m, 2\u{a0}mV");
        for same in ["4 modules", "2 ends", "1 Volt", "a V", "2 Ah/x", "{n} V"] {
            assert_eq!(unbroken(same), same);
        }
    }
}
