//! Hints on other pages that lead here: a backup is due, and the two stores of iPhones and iPads.

use crate::app::device::persist::{Place, place};
use crate::app::frame::app;
use crate::app::keeping;
use crate::app::screen::Screen;
use crate::content::words as w;
use leptos::prelude::*;
use std::time::Duration;

/// When a list that was opened has long come to rest.
const LATER: Duration = Duration::from_millis(1500);

/// A quiet line when the latest work is in no backup for long.
#[component]
pub fn BackupDue() -> impl IntoView {
    let app = app();
    // To know it every job is looked into: not before the list is there.
    let is_there = RwSignal::new(false);
    set_timeout(
        move || {
            is_there.try_set(true);
        },
        LATER,
    );
    move || {
        app.store.backed_up.track();
        (is_there.get() && keeping::due(app.store).now).then(|| {
            view! {
                <div class="notice notice-quiet">
                    <p>{app.word(w::KEEPING_DUE)}</p>
                    <a class="quiet" href=Screen::Keeping.to_string()>{app.word(w::KEEPING_DUE_GO)}</a>
                </div>
            }
        })
    }
}

/// What the person on an iPhone or iPad has to know: the tab and the installed app do not share a store.
#[component]
pub fn IosHint(
    /// Only where there is something to move.
    #[prop(optional)]
    when_needed: bool,
) -> impl IntoView {
    let app = app();
    let own = move || app.store.briefs().iter().any(|brief| !brief.demo);
    let here = place();
    move || {
        let word = match here {
            Place::TabOnIos if own() || !when_needed => w::KEEPING_IOS_TAB,
            Place::AppOnIos if !own() || !when_needed => w::KEEPING_IOS_APP,
            _ => return None,
        };
        let leads = app.screen.get_untracked() != Screen::Keeping;
        Some(view! {
            <div class="look-note ios-hint">
                <p>{app.word(word)}</p>
                {leads.then(|| view! {
                    <a class="quiet" href=Screen::Keeping.to_string()>{app.word(w::KEEPING_IOS_GO)}</a>
                })}
            </div>
        })
    }
}
