//! A field for one figure: the label, the text as typed, the unit, and a sentence when it cannot be read.

use crate::app::frame::app;
use crate::content::words as w;
use leptos::prelude::*;

/// A number field. The text in it is never changed by the app; beside it stands the unit that a bare number means.
#[component]
pub fn NumberField(
    #[prop(into)] id: String,
    #[prop(into)] label: String,
    #[prop(optional, into)] hint: Option<String>,
    #[prop(into)] unit: String,
    /// The keypad may lack a minus: offer a key for it.
    #[prop(optional)]
    signed: bool,
    /// Whole numbers only: the keypad needs no decimal sign.
    #[prop(optional)]
    whole: bool,
    /// A reading: large numerals.
    #[prop(optional)]
    large: bool,
    #[prop(into)] text: Signal<String>,
    #[prop(into)] error: Signal<Option<String>>,
    on_text: impl Fn(String) + Clone + 'static,
    #[prop(optional)] on_enter: Option<Callback<()>>,
) -> impl IntoView {
    let app = app();
    let units = app.content.units;
    let base = StoredValue::new(unit.clone());
    let unit = units.in_place_of(&unit).map_or(unit, String::from);
    let on_text = move |typed: String| on_text(base.with_value(|unit| units.kept(&typed, unit)));
    let text = Signal::derive(move || base.with_value(|unit| units.shown(&text.get(), unit)));
    let (error_id, hint_id) = (format!("{id}-error"), format!("{id}-hint"));
    let described = {
        let (error_id, hint_id, has_hint) = (error_id.clone(), hint_id.clone(), hint.is_some());
        move || {
            let ids: Vec<&str> = [(has_hint, &hint_id), (error.get().is_some(), &error_id)]
                .into_iter()
                .filter_map(|(is_there, id)| is_there.then_some(id.as_str()))
                .collect();
            (!ids.is_empty()).then(|| ids.join(" "))
        }
    };
    let flip = {
        let on_text = on_text.clone();
        move |_| on_text(flipped(&text.get_untracked()))
    };
    view! {
        <div class="field" class:field-wrong=move || error.get().is_some()>
            <label for=id.clone()>{label}</label>
            {hint.map(|hint| view! { <p class="hint" id=hint_id.clone()>{hint}</p> })}
            <p class="error" id=error_id.clone() role="alert">{move || error.get()}</p>
            <div class="entry" class:entry-large=large>
                {signed.then(|| view! {
                    <button type="button" class="sign" on:click=flip aria-label=app.word(w::CARD_SIGN)>"±"</button>
                })}
                <input
                    id=id.clone()
                    type="text"
                    inputmode=if whole { "numeric" } else { "decimal" }
                    autocomplete="off"
                    autocapitalize="off"
                    spellcheck="false"
                    enterkeyhint="done"
                    aria-describedby=described
                    aria-invalid=move || error.get().is_some().then_some("true")
                    prop:value=move || text.get()
                    on:input=move |event| on_text(event_target_value(&event))
                    on:keydown=move |event| {
                        if event.key() == "Enter" && let Some(on_enter) = on_enter {
                            on_enter.run(());
                        }
                    }
                />
                {(!unit.is_empty()).then(|| view! { <span class="unit" aria-hidden="true">{unit}</span> })}
            </div>
        </div>
    }
}

/// The text with the other sign.
fn flipped(text: &str) -> String {
    let trimmed = text.trim_start();
    match trimmed.strip_prefix(['-', '−', '–']) {
        Some(rest) => rest.trim_start().to_string(),
        None => format!("-{}", trimmed.trim_start_matches('+')),
    }
}

/// For fields that cannot be wrong.
pub fn no_error() -> Signal<Option<String>> {
    Signal::derive(|| None)
}
