//! From keys and figures to sentences.

use crate::content::format::{self, Style};
use crate::content::schema::{Content, Language};
use crate::content::words::Word;
use crate::core::because::{Arg, Because};
use crate::core::entry::Unreadable;
use crate::core::job::Seen;
use crate::core::job::assess::Verdict;
use crate::core::job::check::Check;
use crate::core::site::figures::{LeadFigures, TerminatorFigures};
use crate::core::site::{End, Problem, Site, Stop};
use crate::core::units::Figure;

/// Content spoken in one language.
#[derive(Clone, Copy)]
pub struct Speaker<'a> {
    pub content: &'a Content,
    pub language: &'a Language,
    pub style: Style,
}

impl Content {
    /// What equipment without a name of its own is called, by key; the key where nothing has it.
    pub fn called(&self, key: &str) -> String {
        let speaker = Speaker::of(self);
        let lead = self.equipment.lead(key).map(|lead| speaker.lead(lead));
        let plug = || self.equipment.terminator(key).map(|plug| speaker.terminator(plug));
        lead.or_else(plug).unwrap_or_else(|| key.to_string())
    }
}

impl<'a> Speaker<'a> {
    pub fn of(content: &'a Content) -> Self {
        let style = Style { decimal_sign: content.language.tongue.decimal_sign(), units: content.units };
        Speaker { content, language: &content.language, style }
    }

    /// A word of the screens.
    pub fn word(&self, word: Word) -> &'a str {
        self.language.words.get(usize::from(word.0)).map_or("", String::as_str)
    }

    /// A word of the screens with its placeholders filled.
    pub fn fill(&self, word: Word, args: &[(&str, Arg)]) -> String {
        self.template(self.word(word), args)
    }

    /// The sentence of a reason.
    pub fn because(&self, because: &Because) -> String {
        let args = because.args();
        let template = self.language.because.get(because.key()).map_or("", String::as_str);
        self.template(template, &args)
    }

    pub fn problem(&self, problem: Problem) -> &'a str {
        self.language.problems.get(problem.key()).map_or("", String::as_str)
    }

    /// A name that stands inside sentences, by its key.
    pub fn name(&self, key: &str) -> &'a str {
        self.language.names.get(key).map_or("", String::as_str)
    }

    pub fn verdict(&self, verdict: Verdict) -> &'a str {
        self.name(&format!("verdict-{}", verdict.key()))
    }

    pub fn figure(&self, figure: impl Into<Figure>) -> String {
        format::figure(figure.into(), self.style)
    }

    pub fn end(&self, end: End) -> &'a str {
        self.name(match end {
            End::Bank => "end-bank",
            End::Monitor => "end-monitor",
        })
    }

    pub fn stop(&self, stop: Stop) -> String {
        match stop {
            Stop::Module(n) => self.template(self.name("stop-module"), &[("n", Arg::Count(n))]),
            Stop::Monitor => self.name("stop-monitor").to_string(),
        }
    }

    pub fn connector(&self, key: &str) -> &'a str {
        self.name(&format!("connector-{key}"))
    }

    /// What a lead is called: as its maker does, else by its ends.
    pub fn lead(&self, lead: &LeadFigures) -> String {
        if !lead.name.is_empty() {
            return lead.name.clone();
        }
        let [one, two] = lead.ends.each_ref().map(|end| Arg::Name(self.connector(end).to_string()));
        let said = self.template(self.name(&format!("lead-{}", lead.usage.key())), &[("one", one), ("two", two)]);
        if lead.ends[0] == lead.ends[1] && !lead.is_straight() {
            format!("{said}, {}", self.name("lead-crossing"))
        } else {
            said
        }
    }

    /// What a terminator is called: as its maker does, else by its plug and its pins.
    pub fn terminator(&self, terminator: &TerminatorFigures) -> String {
        if !terminator.name.is_empty() {
            return terminator.name.clone();
        }
        let args = [("connector", Arg::Name(self.connector(&terminator.connector).to_string()))];
        let said = self.template(self.name("terminator-plug"), &args);
        match terminator.pins {
            None => said,
            Some([one, two]) => {
                let args = [("one", u32::from(one).into()), ("two", u32::from(two).into())];
                format!("{said}, {}", self.template(self.name("terminator-pins"), &args))
            }
        }
    }

    /// A stop of a site's bus; the ends by what they are.
    pub fn place(&self, site: &Site, at: Stop) -> String {
        match End::BOTH.into_iter().find(|end| site.stop_at(*end) == at) {
            Some(end) => self.end(end).to_string(),
            None => self.stop(at),
        }
    }

    /// What was seen, as it stands in lists and in the record.
    pub fn seen(&self, check: Check, seen: &Seen) -> String {
        match seen {
            Seen::Figure(shown) => self.figure(shown.figure),
            Seen::BeyondRange => self.name("open-path").to_string(),
            Seen::Answer(key) => self
                .language
                .checks
                .get(check.key())
                .and_then(|words| words.answers.get(key))
                .cloned()
                .unwrap_or_else(|| key.clone()),
            Seen::Done | Seen::NotApplicable | Seen::Withdrawn => String::new(),
        }
    }

    /// The sentence at a field that cannot be read.
    pub fn unreadable(&self, why: &Unreadable) -> String {
        use crate::content::words as w;
        match why {
            Unreadable::Empty => self.word(w::ENTRY_EMPTY).to_string(),
            Unreadable::TooLong => self.word(w::ENTRY_TOO_LONG).to_string(),
            Unreadable::NotANumber => self.word(w::ENTRY_NOT_A_NUMBER).to_string(),
            Unreadable::TwoDecimalSigns => self.word(w::ENTRY_TWO_DECIMAL_SIGNS).to_string(),
            Unreadable::WrongUnit { typed } => self.fill(w::ENTRY_WRONG_UNIT, &[("typed", Arg::Name(typed.clone()))]),
            Unreadable::BelowZero => self.word(w::ENTRY_BELOW_ZERO).to_string(),
            Unreadable::NotWhole => self.word(w::ENTRY_NOT_WHOLE).to_string(),
            Unreadable::OutOfRange { low, high } => {
                self.fill(w::ENTRY_OUT_OF_RANGE, &[("low", (*low).into()), ("high", (*high).into())])
            }
        }
    }

    fn arg(&self, arg: &Arg) -> String {
        match arg {
            Arg::Figure(figure) => self.figure(*figure),
            Arg::Count(count) => count.to_string(),
            Arg::End(end) => self.end(*end).to_string(),
            Arg::Stop(stop) => self.stop(*stop),
            Arg::Name(name) => name.clone(),
            Arg::Named(named) => self.name(&named.0).to_string(),
        }
    }

    /// Fills `{name}`, and `{name:one|many}` by the count `name`; the chosen words may hold placeholders themselves.
    pub fn template(&self, template: &str, args: &[(&str, Arg)]) -> String {
        let mut text = String::with_capacity(template.len() + 32);
        let mut rest = template;
        while let Some(open) = rest.find('{') {
            text.push_str(&rest[..open]);
            let Some(length) = closing(&rest[open..]) else {
                text.push_str(&rest[open..]);
                return text;
            };
            let inner = &rest[open + 1..open + length];
            let (name, choice) = match inner.split_once(':') {
                Some((name, choice)) => (name, Some(choice)),
                None => (inner, None),
            };
            let found = args.iter().find(|(key, _)| *key == name).map(|(_, arg)| arg);
            match (found, choice) {
                (Some(arg), None) => text.push_str(&self.arg(arg)),
                (Some(arg), Some(choice)) => {
                    let (one, many) = choice.split_once('|').unwrap_or((choice, choice));
                    let chosen = if *arg == Arg::Count(1) { one } else { many };
                    text.push_str(&self.template(chosen, args));
                }
                (None, _) => {}
            }
            rest = &rest[open + length + 1..];
        }
        text.push_str(rest);
        text
    }
}

/// The place of the brace that closes the one at the start.
fn closing(text: &str) -> Option<usize> {
    let mut depth = 0;
    for (index, c) in text.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => {
                depth -= 1;
                if depth == 0 {
                    return Some(index);
                }
            }
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::units::{AmpereHours, Ohms};

    #[test]
    fn sentences_carry_figures_and_plurals() {
        let content = crate::content::built_in();
        let speaker = Speaker::of(&content);
        let missing = |missing| {
            speaker.because(&Because::ModulesMissing {
                shown: AmpereHours::of(460.0).into(),
                expected: AmpereHours::of(690.0).into(),
                missing,
                each: AmpereHours::of(230.0).into(),
            })
        };
        assert!(missing(1).contains("one module is missing"), "{}", missing(1));
        assert!(missing(2).contains("2 modules are missing"), "{}", missing(2));
        let holds =
            speaker.because(&Because::PairHolds { reading: Ohms::of(60.4), low: Ohms::of(57.6), high: Ohms::of(65.3) });
        assert!(holds.contains("60.4\u{a0}Ω") && !holds.contains('{'), "{holds}");
    }
}
