//! Packs: what is kept, opening one, seeing what it brings, keeping and removing it.

pub mod look;

use crate::app::device::file::Readable;
use crate::app::device::save::Given;
use crate::app::device::{address, page};
use crate::app::frame::{App, app};
use crate::app::packs::{Kept, Said};
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::pack::link::{self, Broken};
use crate::content::pack::{MOST_BYTES, Mistake, Pack};
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::sync::Arc;

/// How far the opening has come.
#[derive(Clone)]
enum Stage {
    Ask,
    Refused(Word),
    Wrong(Arc<Vec<Mistake>>),
    Opened(Arc<Pack>, Arc<str>),
}

/// The packs; with a payload, the link that was opened.
#[component]
pub fn Packs(#[prop(optional, into)] payload: Option<String>) -> impl IntoView {
    let app = app();
    let stage = RwSignal::new(payload.map_or(Stage::Ask, |payload| look_into(app, &payload)));
    view! {
        <div class="page page-packs">
            <Head title=app.word(w::PACKS_TITLE) back=app.word(w::KEEPING_TITLE)/>
            <p class="lead">{app.word(w::PACKS_LEAD)}</p>
            <p role="status">{move || app.packs.said.get().map(|said| say(app, &said))}</p>
            {move || match stage.get() {
                Stage::Ask => view! { <Open stage/> }.into_any(),
                Stage::Refused(why) => view! { <p class="error" role="alert">{app.word(why)}</p><Open stage/> }.into_any(),
                Stage::Wrong(list) => view! { <Wrong list/><Open stage/> }.into_any(),
                Stage::Opened(pack, text) => view! { <Preview pack text stage/> }.into_any(),
            }}
            <h2>{app.word(w::PACKS_LIST)}</h2>
            <List/>
            <p class="small">{app.word(w::PACKS_NO_BACKUP)}</p>
            <ul class="rows">
                {go_row(&Screen::Workbench, app.word(w::WORKBENCH_TITLE), app.word(w::WORKBENCH_ROW_ABOUT))}
            </ul>
        </div>
    }
}

fn say(app: App, said: &Said) -> String {
    let (word, title) = match said {
        Said::Kept(title) => (w::PACKS_KEPT, title),
        Said::Removed(title) => (w::PACKS_REMOVED, title),
    };
    app.speaker().fill(word, &[("title", Arg::Name(title.clone()))])
}

/// Takes a text apart: a pack, or a link to one.
fn look_into(app: App, text: &str) -> Stage {
    let text = text.trim();
    let text = match link::open(text) {
        _ if text.starts_with('{') => text.to_string(),
        Ok(inside) => inside,
        Err(Broken::Damaged) => return Stage::Refused(w::PACKS_DAMAGED),
        Err(Broken::Newer) => return Stage::Refused(w::PACKS_NEWER),
        Err(Broken::NotALink) => text.to_string(),
    };
    match app.packs.check(&text) {
        Ok((pack, _)) => Stage::Opened(Arc::new(pack), text.into()),
        Err(mistakes) => Stage::Wrong(Arc::new(mistakes)),
    }
}

/// The text of a file that was chosen.
pub async fn text_of(file: Readable) -> Result<String, Word> {
    if file.size() > MOST_BYTES as f64 {
        return Err(w::PACKS_TOO_LARGE);
    }
    let bytes = file.whole(MOST_BYTES).await.ok_or(w::PACKS_NOT_READ)?;
    String::from_utf8(bytes).map_err(|_| w::PACKS_NOT_TEXT)
}

#[component]
fn Open(stage: RwSignal<Stage>) -> impl IntoView {
    let app = app();
    let typed = RwSignal::new(String::new());
    let file = move |event: leptos::ev::Event| {
        let Some(file) = Readable::chosen(&event) else { return };
        spawn_local(async move {
            stage.try_set(text_of(file).await.map_or_else(Stage::Refused, |text| look_into(app, &text)));
        });
    };
    view! {
        <h2>{app.word(w::PACKS_OPEN)}</h2>
        <p class="hint">{app.word(w::PACKS_UNTRUSTED)}</p>
        <label class="quiet file wide">
            <input type="file" accept=".json,.txt,application/json,text/plain" on:change=file/>
            <span>{app.word(w::PACKS_FILE)}</span>
        </label>
        <div class="field">
            <label for="pack-pasted">{app.word(w::PACKS_PASTE)}</label>
            <p class="hint" id="pack-pasted-hint">{app.word(w::PACKS_PASTE_HINT)}</p>
            <textarea id="pack-pasted" class="key" rows="4" aria-describedby="pack-pasted-hint" spellcheck="false"
                prop:value=move || typed.get() on:input=move |event| typed.set(event_target_value(&event))></textarea>
        </div>
        <button type="button" class="quiet wide" on:click=move |_| stage.set(look_into(app, &typed.get_untracked()))>
            {app.word(w::PACKS_READ)}
        </button>
    }
}

#[component]
fn Wrong(list: Arc<Vec<Mistake>>) -> impl IntoView {
    let app = app();
    let count = app.speaker().fill(w::PACKS_WRONG, &[("n", Arg::Count(list.len() as u32))]);
    view! {
        <div class="pack-wrong">
            <p class="error" role="alert">{count}</p>
            {look::mistakes(app, &list)}
        </div>
    }
}

/// What the pack brings, before anything is kept.
#[component]
fn Preview(pack: Arc<Pack>, text: Arc<str>, stage: RwSignal<Stage>) -> impl IntoView {
    let app = app();
    let failed = RwSignal::new(false);
    let word = if app.packs.has(&pack.key) { w::PACKS_KEEP_INSTEAD } else { w::PACKS_KEEP };
    let shown = look::contents(app, &pack);
    let title = pack.title.clone();
    // The address of a link must not bring the pack in again by going back.
    let leave = move || {
        // Kept: the page was drawn anew meanwhile.
        stage.try_set(Stage::Ask);
        if app.screen.get_untracked() != Screen::Packs {
            address::replace(&Screen::Packs);
        }
    };
    let keep = move |_| {
        let (pack, text) = (pack.clone(), text.clone());
        spawn_local(async move {
            if app.packs.keep(&pack, &text).await {
                leave();
            } else {
                failed.try_set(true);
            }
        });
    };
    view! {
        <div class="plate preview" role="status">
            <p class="row-title">{title}</p>
            {shown}
        </div>
        <p class="hint">{app.word(w::PACKS_UNTRUSTED)}</p>
        <p class="error" role="alert">{move || failed.get().then(|| app.word(w::PACKS_NOT_KEPT))}</p>
        <div class="pair-of-buttons">
            <button type="button" class="quiet" on:click=move |_| leave()>{app.word(w::PACKS_LEAVE)}</button>
            <button type="button" class="primary" on:click=keep>{app.word(word)}</button>
        </div>
    }
}

/// The packs that are kept.
#[component]
fn List() -> impl IntoView {
    let app = app();
    move || {
        let kept = app.packs.kept.get();
        if kept.is_empty() {
            return view! { <p>{app.word(w::PACKS_NONE)}</p> }.into_any();
        }
        kept.into_iter().map(|pack| view! { <One pack/> }).collect_view().into_any()
    }
}

#[component]
fn One(pack: Kept) -> impl IntoView {
    let app = app();
    let said = RwSignal::new(None::<Word>);
    let Kept { key, text, stands } = pack;
    let (title, inside) = match &stands {
        Ok(pack) => (pack.title.clone(), look::contents(app, pack).into_any()),
        Err(mistakes) => {
            let inside = view! {
                <p>{app.word(w::PACKS_ASIDE_ABOUT)}</p>
                {look::mistakes(app, mistakes)}
            };
            (format!("{}: {key}", app.word(w::PACKS_ASIDE)), inside.into_any())
        }
    };
    let remove = {
        let (key, title) = (key.clone(), title.clone());
        move |_| {
            let (key, title) = (key.clone(), title.clone());
            spawn_local(async move {
                if !app.packs.remove(&key, title).await {
                    said.try_set(Some(w::PACKS_NOT_KEPT));
                }
            });
        }
    };
    let save = {
        let text = text.clone();
        move |_| {
            if let Some(file) = Given::text(format!("{key}.json"), "application/json", &text) {
                file.download();
            }
        }
    };
    let link = move |_| match link::letters(&text, address::base().len() + 1) {
        None => said.set(Some(w::PACKS_LINK_LONG)),
        Some(payload) => {
            let link = format!("{}#{payload}", address::base());
            spawn_local(async move {
                let word = if page::copy_asked(&link).await { w::PACKS_LINKED } else { w::PACKS_NOT_LINKED };
                said.try_set(Some(word));
            });
        }
    };
    view! {
        <details class="fold pack" class:aside=stands.is_err() open=stands.is_err()>
            <summary>{title}</summary>
            {inside}
            <div class="pair-of-buttons">
                <button type="button" class="quiet" on:click=save>{app.word(w::PACKS_SAVE)}</button>
                <button type="button" class="quiet" on:click=link>{app.word(w::PACKS_LINK)}</button>
                <button type="button" class="quiet" on:click=remove>{app.word(w::PACKS_REMOVE)}</button>
            </div>
            <p role="status">{move || said.get().map(|word| app.word(word))}</p>
        </details>
    }
}
