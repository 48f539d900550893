//! From codes to the pages of their alarms.

use crate::app::frame::App;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use crate::content::schema::Alarm;
use crate::core::codes::Code;
use leptos::prelude::*;

/// One link for each alarm that the codes lead to; nothing where there are none.
pub fn alarm_links<C: IntoIterator<Item = Code>>(app: App, codes: C) -> Option<AnyView> {
    let mut alarms: Vec<&'static Alarm> = Vec::new();
    for alarm in codes.into_iter().filter_map(|code| app.content.language.alarm_of(code)) {
        if !alarms.iter().any(|known| known.key == alarm.key) {
            alarms.push(alarm);
        }
    }
    let links = alarms.iter().map(|alarm| {
        let href = Screen::Alarm(alarm.key.clone()).to_string();
        view! { <li><a href=href><span>{alarm.title.clone()}</span>{icon(Icon::Go)}</a></li> }
    });
    let links = links.collect_view();
    (!alarms.is_empty()).then(|| view! { <ul class="alarm-links">{links}</ul> }.into_any())
}
