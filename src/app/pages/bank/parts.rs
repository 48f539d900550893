//! What the bank's pages share: answers side by side, and a judged as it is drawn.

use crate::content::words as w;
use leptos::prelude::*;

/// One answer of two to four short ones, side by side.
#[component]
pub fn Segments(
    #[prop(into)] name: String,
    #[prop(into)] legend: String,
    /// Key, title, and a second line that may be empty.
    options: Vec<(&'static str, &'static str, &'static str)>,
    #[prop(into)] chosen: Signal<&'static str>,
    #[prop(into)] on_choose: Callback<&'static str>,
) -> impl IntoView {
    let options = options
        .into_iter()
        .map(|(key, title, about)| {
            view! {
                <label class="segment">
                    <input type="radio" name=name.clone() value=key prop:checked=move || chosen.get() == key
                        on:change=move |_| on_choose.run(key)/>
                    <span class="segment-title">{title}</span>
                    {(!about.is_empty()).then(|| view! { <span class="segment-about">{about}</span> })}
                </label>
            }
        })
        .collect_view();
    view! {
        <fieldset class="segments" id=name.clone()>
            <legend>{legend}</legend>
            <div class="segment-row">{options}</div>
        </fieldset>
    }
}

/// The sentence of a count of modules side by side.
pub fn two_or_more(value: f64) -> Option<w::Word> {
    (value < 2.0).then_some(w::BANK_TWO_OR_MORE)
}

/// The sentence of a count of cells.
pub fn cell_count(value: f64) -> Option<w::Word> {
    let most = f64::from(crate::core::bank::rest::MOST_CELLS);
    (!(1.0..=most).contains(&value)).then_some(w::BANK_TOO_MANY_CELLS)
}
