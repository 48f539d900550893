//! What stands behind a tap. It is drawn when it is opened: not at each key for those who do not look at it.

use leptos::prelude::*;

/// A fold; `open` says whether it is open, also over drawings of what it stands in.
pub fn fold(
    class: impl Into<String>,
    title: impl IntoAny,
    open: RwSignal<bool>,
    inside: impl Fn() -> AnyView + Send + Sync + 'static,
) -> AnyView {
    let turned = move |event: web_sys::Event| {
        let now = event_target::<web_sys::Element>(&event).has_attribute("open");
        // Whoever else may turn it, as a reading aid of the browser; the browser tells of our own turning too.
        if open.try_get_untracked().is_some_and(|before| before != now) {
            open.set(now);
        }
    };
    // What is inside comes with the opening, and not a moment after it, as it would when the browser opens and then tells.
    let touched = move |event: web_sys::MouseEvent| {
        event.prevent_default();
        open.update(|open| *open = !*open);
    };
    view! {
        <details class=class.into() prop:open=move || open.get() on:toggle=turned>
            <summary on:click=touched>{title.into_any()}</summary>
            {move || open.get().then(&inside)}
        </details>
    }
    .into_any()
}
