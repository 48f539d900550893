//! Finding guides: every word that was typed has to stand in one, as a beginning or with one letter wrong.

use crate::content::schema::{Block, Guide, Language};
use crate::core::fold::fold;

/// From so many letters on one may be wrong (common practice, no source).
const FORGIVEN: usize = 5;

fn words(text: &str) -> Vec<String> {
    fold(text).split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(String::from).collect()
}

fn told(guide: &Guide) -> String {
    let said = guide.blocks.iter().map(|block| match block {
        Block::Heading(text) | Block::Text(text) | Block::Caution(text) => text.clone(),
        Block::List(items) => items.join("\n"),
    });
    said.collect::<Vec<_>>().join("\n")
}

/// How well a typed word stands among others: 1 as a beginning, a half with a letter wrong.
fn stands(typed: &str, among: &[String]) -> f64 {
    if among.iter().any(|word| word.starts_with(typed)) {
        return 1.0;
    }
    let near = |word: &String| {
        let same_length = word.chars().count().abs_diff(typed.chars().count()) <= 1;
        same_length && strsim::osa_distance(word, typed) <= 1
    };
    if typed.chars().count() >= FORGIVEN && among.iter().any(near) { 0.5 } else { 0.0 }
}

/// The guides that hold all that was typed, best first; all in their order where nothing was.
pub fn guides<'a>(language: &'a Language, typed: &str) -> Vec<&'a Guide> {
    let typed = words(typed);
    let score = |guide: &Guide| {
        let places = [(4.0, words(&guide.title)), (2.0, words(&guide.about)), (1.0, words(&told(guide)))];
        typed.iter().try_fold(0.0, |sum, word| {
            let best = places.iter().map(|(weight, among)| weight * stands(word, among)).fold(0.0, f64::max);
            (best > 0.0).then_some(sum + best)
        })
    };
    let mut found: Vec<(f64, &Guide)> =
        language.guides.iter().filter_map(|guide| Some((score(guide)?, guide))).collect();
    // Stable: guides that fit alike stay in their order.
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().map(|(_, guide)| guide).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::content::{Tongue, built_in_as};

    #[test]
    fn guides_are_found_by_what_stands_in_them() {
        let english = built_in_as(Tongue::English);
        let first = |typed: &str| guides(&english.language, typed).first().map(|guide| guide.key.as_str());
        assert_eq!(first("terminators"), Some("why-two-terminators"));
        assert_eq!(first("captur"), Some("reading-a-capture"));
        assert_eq!(first("seires strings"), Some("series-strings"));
        assert_eq!(first("meter"), Some("meters-on-a-bus"));
        assert_eq!(first("frost xyzzy"), None);
        assert_eq!(guides(&english.language, " ").len(), english.language.guides.len());
        let german = built_in_as(Tongue::German);
        assert_eq!(guides(&german.language, "mitschnitt")[0].key, "reading-a-capture");
        assert_eq!(guides(&german.language, "abschlusswiderstande")[0].key, "why-two-terminators");
    }
}
