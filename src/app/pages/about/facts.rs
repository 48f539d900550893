//! What this copy of the app is, and what is stored on this phone.

use crate::app::device::{clock, copy, offline, persist};
use crate::app::frame::{App, app};
use crate::app::pages::keeping::{fact, promise_line, room_line, stores_line};
use crate::content::EDITION;
use crate::content::words as w;
use crate::core::because::Arg;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// The version of the app, with that of the copy where one is known.
pub fn version() -> String {
    let stored = offline::version();
    let own = env!("CARGO_PKG_VERSION");
    if stored.is_empty() { own.into() } else { format!("{own} · {stored}") }
}

#[component]
pub fn Facts() -> impl IntoView {
    let app = app();
    let files = RwSignal::new(None::<u32>);
    let room = RwSignal::new(String::new());
    let promise = RwSignal::new(String::new());
    // Again when the copy is whole, and when the latest change is kept: with it the browser may have been asked.
    Effect::new(move |_| {
        app.offline.track();
        app.store.mark.track();
        spawn_local(async move {
            files.try_set(copy::files().await);
            room.try_set(room_line(app).await);
            promise.try_set(promise_line(app, persist::promise().await));
        });
    });
    let count = move |word, count| app.speaker().fill(word, &[("n", Arg::Count(count))]);
    let copy_lines = move || match files.get() {
        Some(files) => vec![count(w::ABOUT_FILES, files), room.get()],
        None => vec![app.word(w::ABOUT_FILES_NONE).to_string(), room.get()],
    };
    view! {
        <dl class="facts">
            {fact(app.word(w::ABOUT_APP), move || {
                app.offline.track();
                vec![version()]
            })}
            {fact(app.word(w::ABOUT_EDITION), || vec![clock::say_day(EDITION)])}
            {fact(app.word(w::ABOUT_COPY), copy_lines)}
            {fact(app.word(w::ABOUT_JOBS), move || jobs_lines(app))}
            {fact(app.word(w::ABOUT_PACKS), move || vec![count(w::ABOUT_PACKS_LINE, app.packs.kept.with(Vec::len) as u32)])}
            {fact(app.word(w::KEEPING_STORES), move || vec![stores_line(app)])}
            {fact(app.word(w::KEEPING_PROMISE), move || vec![promise.get()])}
        </dl>
    }
}

fn jobs_lines(app: App) -> Vec<String> {
    let briefs = app.store.briefs();
    let demos = briefs.iter().filter(|brief| brief.demo).count();
    let line = |word, count| app.speaker().fill(word, &[("n", Arg::Count(count as u32))]);
    let mut lines = vec![line(w::KEEPING_JOBS_LINE, briefs.len() - demos)];
    if demos > 0 {
        lines.push(line(w::KEEPING_DEMOS_LINE, demos));
    }
    lines
}
