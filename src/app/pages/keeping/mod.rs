//! What is stored and how well, backups, and bringing them back.

mod bring;
mod give;
pub mod hints;
pub mod table;

use crate::app::device::page;
use crate::app::device::persist::{self, Promise};
use crate::app::frame::{App, app};
use crate::app::keeping;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::app::store::Aside;
use crate::content::format::number;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::stored::SetAside;
use bring::Bring;
use give::Give;
use hints::IosHint;
use leptos::prelude::*;
use leptos::task::spawn_local;
use table::TableButton;

#[component]
pub fn Keeping() -> impl IntoView {
    let app = app();
    view! {
        <div class="page page-keeping">
            <Head title=app.word(w::KEEPING_TITLE) back=app.word(w::JOBS_TITLE)/>
            <p class="lead">{app.word(w::KEEPING_LEAD)}</p>
            <IosHint/>
            <Give/>
            <Bring/>
            <ul class="rows">{go_row(&Screen::TakeIn, app.word(w::ARRIVE_TITLE), app.word(w::ARRIVE_ABOUT))}</ul>
            <ul class="rows">{go_row(&Screen::Packs, app.word(w::PACKS_TITLE), app.word(w::PACKS_ROW_ABOUT))}</ul>
            <h2>{app.word(w::KEEPING_STAND)}</h2>
            <Stand/>
            <h2>{app.word(w::KEEPING_TABLES)}</h2>
            <p class="hint">{app.word(w::KEEPING_TABLES_ABOUT)}</p>
            <TableButton word=w::KEEPING_TABLE_ALL/>
            <SetAsides/>
        </div>
    }
}

/// How it stands: jobs, stores, the browser's promise, room, the last backup.
#[component]
fn Stand() -> impl IntoView {
    let app = app();
    let promise = RwSignal::new(None::<Promise>);
    let room = RwSignal::new(None::<String>);
    let look = move || {
        spawn_local(async move {
            promise.try_set(Some(persist::promise().await));
            room.try_set(Some(room_line(app).await));
        });
    };
    // Again when the latest change is kept: with it the browser may have been asked.
    Effect::new(move |_| {
        app.store.mark.track();
        look();
    });
    let refused = move || promise.get() == Some(Promise::Refused);
    view! {
        <dl class="facts">
            {fact(app.word(w::KEEPING_JOBS), move || jobs_lines(app))}
            {fact(app.word(w::KEEPING_STORES), move || vec![stores_line(app)])}
            <div>
                <dt>{app.word(w::KEEPING_PROMISE)}</dt>
                <dd>
                    <span>{move || promise.get().map(|promise| promise_line(app, promise))}</span>
                    {move || refused().then(|| view! {
                        <button type="button" class="quiet" on:click=move |_| {
                            spawn_local(async move {
                                persist::ask().await;
                                look();
                            });
                        }>{app.word(w::KEEPING_PROMISE_ASK)}</button>
                    })}
                </dd>
            </div>
            {fact(app.word(w::KEEPING_ROOM), move || vec![room.get().unwrap_or_default()])}
        </dl>
        <p class="small">{app.word(w::KEEPING_PRIVATE)}</p>
    }
}

/// One row of how it stands: a term, and lines that may change.
pub fn fact(term: &'static str, lines: impl Fn() -> Vec<String> + Send + 'static) -> impl IntoView {
    let lines = move || lines().into_iter().map(|line| view! { <span>{line}</span> }).collect_view();
    view! { <div><dt>{term}</dt><dd>{lines}</dd></div> }
}

fn jobs_lines(app: App) -> Vec<String> {
    let jobs = app.store.all();
    let demos = jobs.iter().filter(|job| job.demo).count() as u32;
    let own = jobs.len() as u32 - demos;
    let photos = jobs.iter().map(|job| job.photos.len() as u32).sum();
    let line = |word, count| app.speaker().fill(word, &[("n", Arg::Count(count))]);
    let mut lines = vec![line(w::KEEPING_JOBS_LINE, own)];
    if demos > 0 {
        lines.push(line(w::KEEPING_DEMOS_LINE, demos));
    }
    if photos > 0 {
        lines.push(line(w::KEEPING_PHOTOS_LINE, photos));
    }
    lines
}

/// Which of the two stores answer.
pub fn stores_line(app: App) -> String {
    let health = app.store.health.get();
    let word = match (health.local, health.mirror) {
        (true, true) => w::ABOUT_STORAGE_BOTH,
        (false, false) => w::ABOUT_STORAGE_NONE,
        _ => w::ABOUT_STORAGE_ONE,
    };
    app.word(word).to_string()
}

/// What the browser promised.
pub fn promise_line(app: App, promise: Promise) -> String {
    let word = match promise {
        Promise::Given => w::KEEPING_PROMISE_GIVEN,
        Promise::Refused => w::KEEPING_PROMISE_REFUSED,
        Promise::NotAsked => w::KEEPING_PROMISE_NOT_ASKED,
        Promise::Unknown => w::KEEPING_PROMISE_UNKNOWN,
    };
    app.word(word).to_string()
}

/// How much is stored, and how much may be.
pub async fn room_line(app: App) -> String {
    let Some(room) = persist::room().await else { return app.word(w::KEEPING_ROOM_UNKNOWN).to_string() };
    let style = app.speaker().style;
    let (used, of) = (number(room.used / 1e6, 1, style), number(room.of / 1e9, 1, style));
    app.speaker().fill(w::KEEPING_ROOM_LINE, &[("used", Arg::Name(used)), ("of", Arg::Name(of))])
}

/// Texts that are set aside, each to copy and to save as it lies.
#[component]
fn SetAsides() -> impl IntoView {
    let app = app();
    move || {
        let aside = app.store.aside.get();
        (!aside.is_empty()).then(|| {
            view! {
                <h2>{app.word(w::KEEPING_ASIDE)}</h2>
                <p class="hint">{app.word(w::KEEPING_ASIDE_ABOUT)}</p>
                {aside.into_iter().map(|aside| set_aside(app, aside)).collect_view()}
            }
        })
    }
}

/// One text that is set aside.
pub fn set_aside(app: App, aside: Aside) -> impl IntoView {
    let why = match aside.why {
        SetAside::Newer => w::JOBS_SET_ASIDE_NEWER,
        SetAside::Broken => w::JOBS_SET_ASIDE_BROKEN,
    };
    let copied = RwSignal::new(false);
    let (key, text) = (aside.key.clone(), aside.text.clone());
    view! {
        <div class="aside">
            <p class="row-title">{app.word(w::JOBS_SET_ASIDE)}" "<span class="key">{aside.key}</span></p>
            <p>{app.word(why)}</p>
            <div class="pair-of-buttons">
                <button type="button" class="quiet" on:click=move |_| {
                    page::copy(&aside.text);
                    copied.set(true);
                }>
                    {move || app.word(if copied.get() { w::JOBS_COPIED } else { w::JOBS_SET_ASIDE_COPY })}
                </button>
                <button type="button" class="quiet" on:click=move |_| {
                    if let Some(file) = keeping::aside_file(&key, &text) {
                        file.download();
                    }
                }>{app.word(w::KEEPING_ASIDE_FILE)}</button>
            </div>
        </div>
    }
}
