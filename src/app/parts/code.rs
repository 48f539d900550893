//! A QR code: black on white with its quiet zone, whatever the theme.

use crate::app::frame::app;
use crate::content::words as w;
use crate::core::job::code::{Code, QUIET};
use leptos::prelude::*;
use std::fmt::Write;

#[component]
pub fn CodeView(code: Code) -> impl IntoView {
    let app = app();
    let side = code.size + 2 * QUIET;
    let mut path = String::new();
    for (column, row, length) in code.runs() {
        // Writing to a text cannot fail.
        let _ = write!(path, "M{} {}h{length}v1h-{length}z", column + QUIET, row + QUIET);
    }
    view! {
        <svg class="code" viewBox=format!("0 0 {side} {side}") role="img" aria-label=app.word(w::SHARE_CODE_LABEL) shape-rendering="crispEdges">
            <rect class="code-light" width=side height=side></rect>
            <path class="code-dark" d=path></path>
        </svg>
    }
}
