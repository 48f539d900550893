//! What of an error may be told to others: what went wrong and where, but nothing that a person entered.

/// The most characters of an error that are told: more is a stack or a text (common practice, no source).
pub const MOST: usize = 300;

/// Names shorter than this are parts of many words, and are left (common practice, no source).
const LEAST: usize = 3;

/// An error's text without what may come from a job: the names given (those of jobs and places), what stands in quotation marks,
/// figures with a decimal sign, addresses and folders down to the file's name. On one line, at most [`MOST`] characters long.
pub fn scrubbed<'a>(text: &str, names: impl IntoIterator<Item = &'a str>) -> String {
    let mut names: Vec<&str> = names.into_iter().map(str::trim).filter(|name| name.chars().count() >= LEAST).collect();
    // A name may be part of another: the longest goes first.
    names.sort_by_key(|name| std::cmp::Reverse(name.len()));
    let text = names.into_iter().fold(text.to_string(), |text, name| text.replace(name, "…"));
    let words = without_quoted(&text);
    let words: Vec<String> = words.split_whitespace().map(word).collect();
    words.join(" ").chars().take(MOST).collect()
}

/// Everything from a quotation mark to the next of its kind becomes an ellipsis; one that is never closed takes all that follows.
/// An apostrophe inside a word quotes nothing.
fn without_quoted(text: &str) -> String {
    let mut out = String::new();
    let mut letters = text.chars().peekable();
    let mut before = ' ';
    while let Some(letter) = letters.next() {
        let closes = match letter {
            '"' => Some('"'),
            '\u{201c}' | '\u{201e}' => Some('\u{201d}'),
            '\u{ab}' => Some('\u{bb}'),
            '\'' if !before.is_alphanumeric() => Some('\''),
            _ => None,
        };
        before = letter;
        let Some(closes) = closes else {
            out.push(letter);
            continue;
        };
        out.push('…');
        while let Some(inside) = letters.next() {
            if inside == '\\' {
                letters.next();
            } else if inside == closes {
                break;
            }
        }
    }
    out
}

fn word(word: &str) -> String {
    let file = match word.contains('/') {
        // What stands before the last file is a folder of somebody's machine, or an address with all that hangs on it.
        true => word.split(['?', '#']).next().and_then(|path| path.rsplit('/').next()).unwrap_or_default(),
        false => word,
    };
    if is_decimal(file) { "…".into() } else { file.into() }
}

/// Is there a digit, a decimal sign and a digit in a row?
fn is_decimal(word: &str) -> bool {
    let letters: Vec<char> = word.chars().collect();
    letters
        .windows(3)
        .any(|three| three[0].is_ascii_digit() && matches!(three[1], '.' | ',') && three[2].is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::scrubbed as scrubbed_of;
    use super::*;
    use proptest::prelude::*;

    fn scrubbed(text: &str) -> String {
        scrubbed_of(text, [])
    }

    #[test]
    fn what_went_wrong_stays() {
        let panic = "panicked at src/app/pages/card.rs:12:5:\nindex out of bounds: the len is 3 but the index is 5";
        assert_eq!(scrubbed(panic), "panicked at card.rs:12:5: index out of bounds: the len is 3 but the index is 5");
        assert_eq!(scrubbed("it didn't start, and can't"), "it didn't start, and can't");
    }

    #[test]
    fn what_was_entered_goes() {
        assert_eq!(
            scrubbed(r#"called `Result::unwrap()` on an `Err` value: Name("Lark \"x\" Lane")"#),
            "called `Result::unwrap()` on an `Err` value: Name(…)"
        );
        assert_eq!(
            scrubbed("Unexpected token 'L', \"Lark, by hand\" is not valid JSON"),
            "Unexpected token …, … is not valid JSON"
        );
        assert_eq!(scrubbed("no reading 118.6 or 60,2 here"), "no reading … or … here");
        assert_eq!(scrubbed("at https://a.example/app/ohms-12.js?job=Lark#oAbc:3"), "at ohms-12.js");
        assert_eq!(scrubbed("cut off \"Lark"), "cut off …");
        assert_eq!(scrubbed(&"long ".repeat(200)).chars().count(), MOST);
    }

    #[test]
    fn names_go_wherever_they_stand() {
        let names = ["Lark", "Lark, by hand ", "of", ""];
        assert_eq!(scrubbed_of("no job Lark, by hand, or Lark of 2", names), "no job …, or … of 2");
    }

    proptest! {
        #[test]
        fn nothing_quoted_comes_through(before in "[a-z ]{0,20}", name in "[A-Z]{5,12}", after in "[a-z ]{0,20}") {
            for text in [format!("{before} \"{name}\" {after}"), format!("{before} '{name}' {after}"), format!("{before} “{name}” {after}")] {
                prop_assert!(!scrubbed(&text).contains(&name));
            }
        }

        #[test]
        fn any_text_has_an_end(text in ".{0,900}") {
            prop_assert!(scrubbed(&text).chars().count() <= MOST);
        }
    }
}
