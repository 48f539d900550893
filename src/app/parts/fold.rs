//! What stands behind a tap. It is drawn when it is first opened: not at each key for those who do not look at it.

use leptos::prelude::*;

/// A fold, closed; `open` remembers over drawings of what it stands in whether it was opened.
pub fn fold(
    class: &'static str,
    title: &'static str,
    open: RwSignal<bool>,
    inside: impl Fn() -> AnyView + Send + Sync + 'static,
) -> AnyView {
    let opened = move |event: web_sys::Event| {
        if event_target::<web_sys::Element>(&event).has_attribute("open") {
            open.set(true);
        }
    };
    view! {
        <details class=class on:toggle=opened>
            <summary>{title}</summary>
            {move || open.get().then(&inside)}
        </details>
    }
    .into_any()
}
