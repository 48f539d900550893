//! Fields without a job: the text as typed, with the sentence at it.

use crate::app::device::page;
use crate::app::frame::app;
use crate::app::parts::field::NumberField;
use crate::core::entry::{self, Entry, Shown};
use crate::core::units::{Kind, Quantity};
use leptos::prelude::*;

/// A field's text with the sentence at it.
#[derive(Clone, Copy)]
pub struct Typed {
    kind: Kind,
    /// The unit of a bare number.
    unit: &'static str,
    pub text: RwSignal<String>,
    pub error: RwSignal<Option<String>>,
}

impl Typed {
    pub fn new(kind: Kind, text: &str) -> Typed {
        Typed::in_unit(kind, kind.symbol(), text)
    }

    /// A field whose bare numbers are in this unit.
    pub fn in_unit(kind: Kind, unit: &'static str, text: &str) -> Typed {
        Typed { kind, unit, text: RwSignal::new(text.into()), error: RwSignal::new(None) }
    }

    pub fn put(self, text: String) {
        self.error.set(None);
        self.text.set(text);
    }

    pub fn is_empty(self) -> bool {
        self.text.with_untracked(|text| text.trim().is_empty())
    }

    pub fn read(self) -> Option<Entry> {
        let read = self.text.with_untracked(|text| {
            if self.unit == self.kind.symbol() {
                entry::read(text, self.kind)
            } else {
                entry::read_in(text, self.kind, self.unit)
            }
        });
        self.error.set(read.as_ref().err().map(|why| app().speaker().unreadable(why)));
        read.ok()
    }

    pub fn shown(self) -> Option<Shown> {
        match self.read()? {
            Entry::Figure(shown) => Some(shown),
            Entry::BeyondRange => {
                let why = entry::Unreadable::NotANumber;
                self.error.set(Some(app().speaker().unreadable(&why)));
                None
            }
        }
    }

    pub fn quantity<Q: Quantity>(self) -> Option<Q> {
        self.shown()?.figure.as_quantity()
    }
}

/// A number field of a page without a job. What is typed takes the last verdict away.
#[component]
pub fn TypedField(
    #[prop(into)] id: String,
    #[prop(into)] label: String,
    #[prop(optional, into)] hint: String,
    typed: Typed,
    #[prop(optional)] large: bool,
    #[prop(optional)] signed: bool,
    clear: Callback<()>,
    hold: Callback<()>,
) -> impl IntoView {
    let whole = typed.kind == Kind::Count;
    let on_text = move |text| {
        clear.run(());
        typed.put(text);
    };
    let unit = typed.unit;
    let hint = (!hint.is_empty()).then_some(hint);
    match hint {
        Some(hint) => view! {
            <NumberField id label hint unit signed whole large text=typed.text error=typed.error on_text on_enter=hold/>
        }
        .into_any(),
        None => view! {
            <NumberField id label unit signed whole large text=typed.text error=typed.error on_text on_enter=hold/>
        }
        .into_any(),
    }
}

/// Brings into view what matters most: the first field that needs another look, else the verdict.
pub fn show_outcome() {
    request_animation_frame(|| {
        page::focus_first("[aria-invalid=true], fieldset .error:not(:empty) ~ label input");
        page::show_first("[aria-invalid=true], fieldset .error:not(:empty), .finding");
    });
}
