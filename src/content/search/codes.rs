//! Codes in what is typed: bit fields, bits, failure modes, alarm instances, emergencies.

use crate::core::bus::readings::Tongue;
use crate::core::codes::{Code, Vocabulary};

/// A number whose list is named beside it, one that only one list has, and one that several have.
const NAMED: f32 = 2.0;
const LIKELY: f32 = 1.2;
const GUESSED: f32 = 0.5;
/// Later bits of a field a little after earlier ones, so that their order stays.
const STEP: f32 = 0.001;

/// What the word before a number says of it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Cue {
    None,
    Bit,
    FailureMode,
    Instance,
    Emergency,
    ConnectFailure,
    DisabledReason,
    /// A number that is no code here: a parameter's, a cell's, a module's.
    Other,
}

impl Cue {
    fn of(word: &str) -> Option<Cue> {
        Some(match word {
            "bit" | "b" | "bits" => Cue::Bit,
            "fmi" | "mode" => Cue::FailureMode,
            "instance" | "inst" | "alarm" | "alm" | "dsa" => Cue::Instance,
            "emcy" | "emergency" | "notfall" => Cue::Emergency,
            "confail" | "strconfail" | "connect" => Cue::ConnectFailure,
            "disrsn" | "strdisrsn" | "reason" => Cue::DisabledReason,
            "spn" | "cell" | "zelle" | "module" | "modul" | "string" | "slave" | "unit" | "ccl" | "dcl" | "byte" => {
                Cue::Other
            }
            "e" | "err" | "error" | "code" | "f" | "fault" | "evt" | "event" | "strevt" => Cue::None,
            _ => return None,
        })
    }
}

/// The codes that are named, with their weight.
pub fn in_text(typed: &str) -> Vec<(Code, f32)> {
    let text = typed.to_lowercase();
    let mut found = Vec::new();
    let mut cue = Cue::None;
    let mut numbers = Vec::new();
    let mut has_only_cues = true;
    let mut rest = text.as_str();
    while let Some(start) = rest.find(char::is_alphanumeric) {
        let (word, after) = rest[start..].split_at(token(&rest[start..]));
        rest = after;
        if let Some(number) = Number::of(word) {
            numbers.push((number, cue));
            continue;
        }
        if matches!(word, "evt" | "strevt") {
            // The number that is part of the name.
            rest = rest.strip_prefix('1').unwrap_or(rest);
        }
        // "Connect failure 5", "disabled reason: fault 2" keep their first word's cue.
        let goes_on = matches!(cue, Cue::ConnectFailure | Cue::DisabledReason) && matches!(word, "failure" | "fail");
        if !goes_on {
            has_only_cues &= Cue::of(word).is_some();
            cue = Cue::of(word).unwrap_or(Cue::Other);
        }
    }
    let is_alone = has_only_cues && numbers.len() == 1;
    for (number, cue) in numbers {
        add(number, cue, is_alone, &mut found);
    }
    found
}

/// How far a number or a word reaches. "0x…" and "0b…" are numbers; otherwise letters and digits part.
fn token(text: &str) -> usize {
    let ends = |is_inside: fn(char) -> bool| text.find(|c: char| !is_inside(c)).unwrap_or(text.len());
    if text.starts_with("0x") || text.starts_with("0b") {
        ends(|c| c.is_ascii_alphanumeric())
    } else if text.starts_with(|c: char| c.is_ascii_digit()) {
        ends(|c| c.is_ascii_digit())
    } else {
        ends(char::is_alphabetic).max(text.chars().next().map_or(0, char::len_utf8))
    }
}

#[derive(Clone, Copy)]
enum Number {
    Plain(u32),
    /// Written as bits: by sixteens or by twos.
    Field(u32),
}

impl Number {
    fn of(word: &str) -> Option<Number> {
        if let Some(digits) = word.strip_prefix("0x") {
            return u32::from_str_radix(digits, 16).ok().map(Number::Field);
        }
        if let Some(digits) = word.strip_prefix("0b") {
            return u32::from_str_radix(digits, 2).ok().map(Number::Field);
        }
        word.parse().ok().map(Number::Plain)
    }
}

fn add(number: Number, cue: Cue, is_alone: bool, found: &mut Vec<(Code, f32)>) {
    let small = |value: u32| u8::try_from(value).ok();
    let listed = |vocabulary: Vocabulary, value: u32| {
        let value = u16::try_from(value).ok()?;
        vocabulary.values().contains(&value).then_some(Code::new(vocabulary, value))
    };
    let mut put = |code: Option<Code>, weight: f32| found.extend(code.map(|code| (code, weight)));
    match (number, cue) {
        (Number::Field(code), Cue::Emergency) => put(u16::try_from(code).ok().and_then(Code::of_emergency), NAMED),
        // Emergency codes are written by sixteens, with a sign for it or without.
        (Number::Plain(code), Cue::Emergency) => {
            put(u16::from_str_radix(&code.to_string(), 16).ok().and_then(Code::of_emergency), NAMED);
        }
        (Number::Field(bits), Cue::None | Cue::Bit | Cue::Instance | Cue::Other) => {
            for (order, code) in Code::of_events(802, bits).into_iter().enumerate() {
                put(Some(code), NAMED - STEP * order as f32);
            }
        }
        (Number::Plain(n) | Number::Field(n), Cue::FailureMode) => {
            // Where the two standards differ, the one of banks comes first.
            put(small(n).and_then(|n| Code::of_failure_mode(n, Tongue::RvC)), NAMED);
            put(small(n).and_then(|n| Code::of_failure_mode(n, Tongue::J1939)), STEP);
        }
        (Number::Plain(n) | Number::Field(n), Cue::ConnectFailure) => {
            put(listed(Vocabulary::SunspecConnectFailure, n), NAMED);
        }
        (Number::Plain(n) | Number::Field(n), Cue::DisabledReason) => {
            put(listed(Vocabulary::SunspecDisabledReason, n), NAMED);
        }
        (Number::Plain(n), Cue::Bit) => put(listed(Vocabulary::SunspecEvent, n), NAMED),
        (Number::Plain(n), Cue::Instance) => {
            let code = small(n).and_then(Code::of_instance);
            put(code, NAMED);
            if code.is_none() {
                put(listed(Vocabulary::SunspecEvent, n), GUESSED);
            }
        }
        (Number::Plain(n), Cue::None) if is_alone => {
            if n >= 100 {
                put(small(n).and_then(Code::of_instance), LIKELY);
            } else {
                put(listed(Vocabulary::SunspecEvent, n), GUESSED);
                put(small(n).and_then(|n| Code::of_failure_mode(n, Tongue::RvC)), GUESSED - STEP);
            }
        }
        (Number::Plain(_), Cue::None | Cue::Other) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn best(typed: &str) -> Option<(Vocabulary, u16)> {
        in_text(typed).into_iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(code, _)| (code.vocabulary, code.value))
    }

    #[test]
    fn numbers_are_read_by_what_stands_before_them() {
        assert_eq!(best("E 0x0010"), Some((Vocabulary::SunspecEvent, 4)));
        assert_eq!(best("Evt1=0x2000"), Some((Vocabulary::SunspecEvent, 13)));
        assert_eq!(best("bit 9"), Some((Vocabulary::SunspecEvent, 9)));
        assert_eq!(best("FMI5"), Some((Vocabulary::RvcFailureMode, 5)));
        assert_eq!(best("alarm 116"), Some((Vocabulary::RvcAlarmInstance, 116)));
        assert_eq!(best("ConFail 7"), Some((Vocabulary::SunspecConnectFailure, 7)));
        assert_eq!(best("connect failure 7"), Some((Vocabulary::SunspecConnectFailure, 7)));
        assert_eq!(best("EMCY 0x8110"), Some((Vocabulary::CanopenEmergency, 0x81)));
        assert_eq!(best("EMCY 8110"), Some((Vocabulary::CanopenEmergency, 0x81)));
        assert_eq!(best("SPN 3 FMI 2"), Some((Vocabulary::RvcFailureMode, 2)));
    }

    #[test]
    fn numbers_that_are_no_codes_give_none() {
        for typed in
            ["", "cell 3", "low temperature", "battery 100 full", "100 full", "OCD2", "0x", "0b12", "99999999999"]
        {
            assert_eq!(best(typed), None, "{typed}");
        }
    }
}
