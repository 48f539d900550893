//! The first screen: three ways in.

use crate::app::device::offline::Offline;
use crate::app::device::{address, page};
use crate::app::frame::{App, app};
use crate::app::pages::jobs::{self, name_in_brief};
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::{Screen, SitePart};
use crate::content::words as w;
use crate::core::job::Job;
use leptos::prelude::*;
use std::time::Duration;

/// After the first screen is drawn and can be touched.
const WARM_UP: Duration = Duration::from_millis(400);

/// Warms up what is likely to be touched next, once all code is here; not if somebody has gone on already.
fn warm_up_later(app: App, here: RwSignal<()>) {
    let warm_up = move || {
        if here.try_get_untracked().is_none() {
            return;
        }
        if page::is_whole() { jobs::warm_up(app) } else { warm_up_later(app, here) }
    };
    set_timeout(warm_up, WARM_UP);
}

#[component]
pub fn Home() -> impl IntoView {
    let app = app();
    let last = move || app.store.briefs().iter().find(|brief| !brief.archived).cloned();
    let first_way = move || match last() {
        Some(job) => {
            let name = name_in_brief(app, &job);
            way(Screen::Job(job.id.clone()).to_string(), Icon::Jobs, app.word(w::HOME_GO_ON), name, true).into_any()
        }
        None => view! {
            <button type="button" class="way way-first" on:click=move |_| {
                let id = app.store.add(Job::default());
                address::go(&Screen::SitePart(id, SitePart::Name));
            }>
                {icon(Icon::Jobs)}
                <span class="row-words">
                    <span class="row-title">{app.word(w::HOME_BEGIN)}</span>
                    <span class="row-about">{app.word(w::HOME_BEGIN_ABOUT)}</span>
                </span>
            </button>
        }
        .into_any(),
    };
    warm_up_later(app, RwSignal::new(()));
    view! {
        <div class="page page-home">
            <Head title=app.word(w::HOME_TITLE)/>
            <p class="lead">{app.word(w::HOME_LEAD)}</p>
            <OfflineLine/>
            <div class="ways">
                {way(
                    Screen::Read.to_string(),
                    Icon::Read,
                    app.word(w::HOME_LOOK_UP),
                    app.word(w::HOME_LOOK_UP_ABOUT).into(),
                    false,
                )}
                {way(
                    Screen::Find.to_string(),
                    Icon::Alarms,
                    app.word(w::HOME_WRONG),
                    app.word(w::HOME_WRONG_ABOUT).into(),
                    false,
                )}
                {first_way}
            </div>
            <p class="small"><a href=Screen::About.to_string()>{app.word(w::HOME_ABOUT_APP)}</a></p>
        </div>
    }
}

fn way(href: String, drawn: Icon, title: &'static str, about: String, first: bool) -> impl IntoView {
    view! {
        <a class="way" class:way-first=first href=href>
            {icon(drawn)}
            <span class="row-words">
                <span class="row-title">{title}</span>
                <span class="row-about">{about}</span>
            </span>
        </a>
    }
}

/// How the app stands without signal, in one quiet line.
#[component]
pub fn OfflineLine() -> impl IntoView {
    let app = app();
    let word = move || match app.offline.get() {
        Offline::Ready => w::OFFLINE_READY,
        Offline::Update => w::OFFLINE_UPDATE,
        Offline::Storing => w::OFFLINE_STORING,
        Offline::Failed => w::OFFLINE_FAILED,
        Offline::Unsupported => w::OFFLINE_UNSUPPORTED,
    };
    let is_ready = move || matches!(app.offline.get(), Offline::Ready | Offline::Update);
    view! {
        <p class="offline" class:offline-ready=is_ready role="status">
            {move || icon(if is_ready() { Icon::Holds } else { Icon::NotDone })}
            <span>{move || app.word(word())}</span>
        </p>
    }
}
