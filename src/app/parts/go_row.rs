//! A row that leads on: a name, one line about it, and the way there.

use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use leptos::prelude::*;

pub fn go_row(screen: &Screen, title: &str, about: &str) -> impl IntoView + use<> {
    let (href, title, about) = (screen.to_string(), title.to_string(), about.to_string());
    view! {
        <li>
            <a class="job-row" href=href>
                <span class="row-words">
                    <span class="row-title">{title}</span>
                    <span class="row-about">{about}</span>
                </span>
                {icon(Icon::Go)}
            </a>
        </li>
    }
}
