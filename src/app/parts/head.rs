//! The head of a page: the way back, then the one heading.

use crate::app::device::page;
use crate::app::frame::app;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::kept::KeptMark;
use crate::content::words as w;
use leptos::prelude::*;

/// The heading takes the focus when the page is shown. `back` names where the way back leads.
#[component]
pub fn Head(
    #[prop(into)] title: String,
    #[prop(optional, into)] over: Option<String>,
    #[prop(optional, into)] back: Option<String>,
) -> impl IntoView {
    let app = app();
    page::set_title(&format!("{title} · {}", app.word(w::APP_NAME)));
    let up = app.screen.get_untracked().up();
    let way_back = up.map(|screen| {
        let label = back.unwrap_or_else(|| app.word(w::FRAME_BACK).to_string());
        view! { <a class="back" href=screen.to_string()>{icon(Icon::Back)}<span>{label}</span></a> }
    });
    view! {
        <header class="head">
            <div class="head-row">{way_back}<KeptMark/></div>
            {over.map(|over| view! { <p class="over">{over}</p> })}
            <h1 tabindex="-1">{title}</h1>
        </header>
    }
}
