//! A field's text with what it says, kept while the page is open.

use crate::app::frame::app;
use crate::app::parts::field::NumberField;
use crate::content::words::Word;
use crate::core::entry::{self, Entry, Shown};
use crate::core::units::{Kind, Quantity};
use leptos::prelude::*;

/// What a field accepts beyond its kind: the sentence where it does not.
type Rule = fn(f64) -> Option<Word>;

#[derive(Clone, Copy)]
pub struct Typed {
    kind: Kind,
    /// The unit of a bare number, and the one beside the field.
    unit: &'static str,
    pub text: RwSignal<String>,
    rule: Option<Rule>,
}

impl Typed {
    pub fn new(kind: Kind) -> Typed {
        Typed { kind, unit: kind.symbol(), text: RwSignal::new(String::new()), rule: None }
    }

    /// With a bare number in another unit than the kind's own.
    pub fn unit(self, unit: &'static str) -> Typed {
        Typed { unit, ..self }
    }

    pub fn rule(self, rule: Rule) -> Typed {
        Typed { rule: Some(rule), ..self }
    }

    /// Filled from the start.
    pub fn filled(self, text: &str) -> Typed {
        self.text.set(text.to_string());
        self
    }

    fn read(self) -> Result<Option<Shown>, String> {
        let text = self.text.get();
        if text.trim().is_empty() {
            return Ok(None);
        }
        let read = if self.unit == self.kind.symbol() {
            entry::read(&text, self.kind)
        } else {
            entry::read_in(&text, self.kind, self.unit)
        };
        match read {
            Ok(Entry::Figure(shown)) => match self.rule.and_then(|rule| rule(shown.figure.value())) {
                Some(word) => Err(app().word(word).to_string()),
                None => Ok(Some(shown)),
            },
            Ok(Entry::BeyondRange) => Err(app().speaker().unreadable(&entry::Unreadable::NotANumber)),
            Err(why) => Err(app().speaker().unreadable(&why)),
        }
    }

    /// The figure as shown; none where the field is empty or cannot be read.
    pub fn shown(self) -> Option<Shown> {
        self.read().ok().flatten()
    }

    pub fn quantity<Q: Quantity>(self) -> Option<Q> {
        self.shown().and_then(|shown| shown.figure.as_quantity())
    }

    /// A count, which is whole by its kind.
    pub fn count(self) -> Option<u32> {
        self.shown().map(|shown| shown.figure.value() as u32)
    }
}

/// The field itself.
#[component]
pub fn TypedField(
    #[prop(into)] id: String,
    #[prop(into)] label: String,
    #[prop(optional, into)] hint: Option<String>,
    typed: Typed,
    #[prop(optional)] signed: bool,
    #[prop(optional)] large: bool,
) -> impl IntoView {
    let error = Signal::derive(move || typed.read().err());
    view! {
        <NumberField id label hint=hint.unwrap_or_default() unit=typed.unit signed large whole=typed.kind == Kind::Count
            text=typed.text error on_text=move |text| typed.text.set(text)/>
    }
}
