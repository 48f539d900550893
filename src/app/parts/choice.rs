//! One answer of a few, as large rows; several as rows with boxes.

use leptos::prelude::*;

/// One row of a choice.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    pub key: String,
    pub title: String,
    pub about: String,
}

impl Row {
    pub fn new(key: impl Into<String>, title: impl Into<String>, about: impl Into<String>) -> Row {
        Row { key: key.into(), title: title.into(), about: about.into() }
    }
}

/// Exactly one of the rows.
#[component]
pub fn Choice(
    #[prop(into)] name: String,
    #[prop(into)] legend: String,
    #[prop(optional, into)] hint: Option<String>,
    rows: Vec<Row>,
    #[prop(into)] chosen: Signal<Option<String>>,
    #[prop(into)] error: Signal<Option<String>>,
    on_choose: impl Fn(String) + Clone + 'static,
) -> impl IntoView {
    let error_id = format!("{name}-error");
    let describes = error_id.clone();
    view! {
        <fieldset
            class="choice"
            id=name.clone()
            aria-describedby=move || error.get().is_some().then(|| describes.clone())
        >
            <legend>{legend}</legend>
            {hint.map(|hint| view! { <p class="hint">{hint}</p> })}
            <p class="error" id=error_id role="alert">{move || error.get()}</p>
            {rows
                .into_iter()
                .map(|row| {
                    let key = row.key.clone();
                    let is_chosen = move || chosen.with(|chosen| chosen.as_deref() == Some(key.as_str()));
                    let on_choose = on_choose.clone();
                    let choose_key = row.key.clone();
                    view! {
                        <label class="row">
                            <input
                                type="radio"
                                name=name.clone()
                                value=row.key
                                prop:checked=is_chosen
                                on:change=move |_| on_choose(choose_key.clone())
                            />
                            {words(row.title, row.about)}
                        </label>
                    }
                })
                .collect_view()}
        </fieldset>
    }
}

/// Any number of the rows.
#[component]
pub fn Boxes(
    #[prop(into)] name: String,
    #[prop(into)] legend: String,
    #[prop(optional, into)] hint: Option<String>,
    rows: Vec<Row>,
    #[prop(into)] chosen: Signal<Vec<String>>,
    on_toggle: impl Fn(String, bool) + Clone + 'static,
) -> impl IntoView {
    view! {
        <fieldset class="choice" id=name.clone()>
            <legend>{legend}</legend>
            {hint.map(|hint| view! { <p class="hint">{hint}</p> })}
            {rows
                .into_iter()
                .map(|row| {
                    let key = row.key.clone();
                    let is_chosen = move || chosen.with(|chosen| chosen.contains(&key));
                    let on_toggle = on_toggle.clone();
                    let toggled = row.key.clone();
                    view! {
                        <label class="row">
                            <input
                                type="checkbox"
                                value=row.key
                                prop:checked=is_chosen
                                on:change=move |event| on_toggle(toggled.clone(), event_target_checked(&event))
                            />
                            {words(row.title, row.about)}
                        </label>
                    }
                })
                .collect_view()}
        </fieldset>
    }
}

/// The words of a row: what it is, and one line about it.
fn words(title: String, about: String) -> impl IntoView {
    view! {
        <span class="row-words">
            <span class="row-title">{title}</span>
            {(!about.is_empty()).then(|| view! { <span class="row-about">{about}</span> })}
        </span>
    }
}
