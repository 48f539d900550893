//! How hard texts are to read.

use super::Pack;
use serde_json::Value;

/// Letters from which on a word counts as long.
const LONG: usize = 7;

/// The readability index LIX: words to a sentence, plus the share of words of seven letters and more in per cent (C. H.
/// Björnsson, Läsbarhet, 1968; from memory). It counts letters and not syllables, so that it holds for English and German
/// alike. Below 30 very easy, to 40 easy, to 50 medium (newspapers), to 60 hard, above very hard. None without words.
pub fn lix<'a>(texts: impl IntoIterator<Item = &'a str>) -> Option<f64> {
    let (mut words, mut long, mut sentences) = (0u32, 0u32, 0u32);
    for text in texts {
        let before = words;
        let mut open = false;
        for word in text.split_whitespace() {
            let letters = word.chars().filter(|c| c.is_alphabetic()).count();
            if letters > 0 {
                words += 1;
                long += u32::from(letters >= LONG);
                open = true;
            }
            if open && word.ends_with(['.', '!', '?', ':', ';']) {
                sentences += 1;
                open = false;
            }
        }
        sentences += u32::from(open && words > before);
    }
    (words > 0).then(|| f64::from(words) / f64::from(sentences.max(1)) + 100.0 * f64::from(long) / f64::from(words))
}

/// Texts of a pack that a person reads: of guides, alarms and cards.
pub fn texts(pack: &Pack) -> Vec<String> {
    let mut all = Vec::new();
    let parts = [
        serde_json::to_value(&pack.guides),
        serde_json::to_value(&pack.alarms),
        serde_json::to_value(&pack.words.steps),
        serde_json::to_value(&pack.words.checklists),
        serde_json::to_value(&pack.words.finder),
    ];
    for part in parts.into_iter().flatten() {
        gather(&part, &mut all);
    }
    all
}

/// Fields that are no text.
const NO_TEXT: [&str; 7] = ["key", "sources", "kind", "urgency", "ways", "see", "shown"];

fn gather(value: &Value, all: &mut Vec<String>) {
    match value {
        Value::String(text) => all.push(text.clone()),
        Value::Array(list) => list.iter().for_each(|value| gather(value, all)),
        // What a card should show is a text at `see`, and a list of keys in an alarm.
        Value::Object(fields) => fields
            .iter()
            .filter(|(key, value)| !NO_TEXT.contains(&key.as_str()) || (*key == "see" && value.is_string()))
            .for_each(|(_, value)| gather(value, all)),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_to_a_sentence_and_long_ones() {
        // Ten words in two sentences, three of them long: 5 + 30.
        assert_eq!(lix(["Plug the lead in. Measure between the two terminator pins."]), Some(35.0));
        assert_eq!(lix(["Plug in", "and out"]), Some(2.0));
        assert_eq!(lix([" – "]), None);
    }
}
