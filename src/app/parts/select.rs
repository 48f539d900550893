//! One answer of many short ones, as the browser's own list.

use leptos::prelude::*;

#[component]
pub fn Select(
    #[prop(into)] id: String,
    #[prop(into)] label: String,
    #[prop(optional, into)] hint: Option<String>,
    /// Key and title of each answer.
    options: Vec<(&'static str, String)>,
    #[prop(into)] chosen: Signal<&'static str>,
    on_choose: impl Fn(String) + 'static,
) -> impl IntoView {
    let hint_id = format!("{id}-hint");
    let described = hint.is_some().then(|| hint_id.clone());
    let options = options
        .into_iter()
        .map(|(key, title)| view! { <option value=key selected=move || chosen.get() == key>{title}</option> })
        .collect_view();
    view! {
        <div class="field">
            <label for=id.clone()>{label}</label>
            {hint.map(|hint| view! { <p class="hint" id=hint_id>{hint}</p> })}
            <div class="entry">
                <select id=id aria-describedby=described prop:value=move || chosen.get()
                    on:change=move |event| on_choose(event_target_value(&event))>
                    {options}
                </select>
            </div>
        </div>
    }
}
