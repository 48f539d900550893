//! The workbench: a pack's text, what is wrong with it, and how its walkthrough looks on a phone.

mod judged;
mod phone;

use crate::app::device::file::Readable;
use crate::app::device::save::Given;
use crate::app::device::{local, page};
use crate::app::frame::{App, app};
use crate::app::pages::packs::look;
use crate::app::pages::packs::text_of;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::format::number;
use crate::content::pack::{EXAMPLE, FORMAT, MOST_MISTAKES, Mistake, VERSION};
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use judged::Judged;
use leptos::prelude::*;
use leptos::task::spawn_local;
use phone::{Pairs, Phone};
use std::sync::Arc;
use std::time::Duration;

/// A moment without typing before the text is looked at.
const SETTLE: Duration = Duration::from_millis(350);

/// The text, what stood there before it was replaced, and what was found.
#[derive(Clone, Copy)]
struct Bench {
    text: RwSignal<String>,
    before: RwSignal<Option<String>>,
    judged: RwSignal<Option<Arc<Judged>>>,
    kept: RwSignal<bool>,
    turn: StoredValue<u32>,
}

impl Bench {
    /// Another text as typed: kept and judged once the typing rests.
    fn typed(self, app: App, text: String) {
        self.text.set(text);
        self.turn.update_value(|turn| *turn += 1);
        let turn = self.turn.get_value();
        set_timeout(
            move || {
                if self.turn.try_get_value() == Some(turn) {
                    self.judge(app);
                }
            },
            SETTLE,
        );
    }

    /// Another text in place of the whole; the old one can be had back.
    fn replaced(self, app: App, text: String) {
        let old = self.text.get_untracked();
        self.before.set(Some(old).filter(|old| !old.trim().is_empty() && *old != text));
        self.text.set(text);
        self.judge(app);
    }

    fn judge(self, app: App) {
        let text = self.text.get_untracked();
        self.kept.set(local::keep_draft(&text));
        self.judged.set(Some(Arc::new(Judged::of(app, &text))));
    }
}

/// An empty pack.
fn blank() -> String {
    format!(
        "{{\n  \"pack\": \"{FORMAT}\",\n  \"version\": {VERSION},\n  \"key\": \"\",\n  \"title\": \"\",\n  \"by\": \"\",\n  \"language\": \"en\"\n}}\n"
    )
}

#[component]
pub fn Workbench() -> impl IntoView {
    let app = app();
    let bench = Bench {
        text: RwSignal::new(local::draft().unwrap_or_default()),
        before: RwSignal::new(None),
        judged: RwSignal::new(None),
        kept: RwSignal::new(true),
        turn: StoredValue::new(0),
    };
    if bench.text.with_untracked(|text| text.trim().is_empty()) {
        bench.text.set(blank());
    }
    bench.judge(app);
    // What is typed in the last moment is kept too.
    on_cleanup(move || {
        if let Some(text) = bench.text.try_get_untracked() {
            local::keep_draft(&text);
        }
    });
    view! {
        <div class="page page-workbench">
            <Head title=app.word(w::WORKBENCH_TITLE) back=app.word(w::PACKS_TITLE)/>
            <p class="lead">{app.word(w::WORKBENCH_LEAD)}</p>
            <div class="bench">
                <section class="bench-text"><Editor bench/></section>
                <section class="bench-found" aria-live="polite"><Found bench/></section>
                <section class="bench-phone"><Phone judged=bench.judged/></section>
            </div>
            <Pairs judged=bench.judged/>
            <ul class="rows">{go_row(&Screen::Packs, app.word(w::WORKBENCH_TO_PACKS), app.word(w::PACKS_ROW_ABOUT))}</ul>
        </div>
    }
}

#[component]
fn Editor(bench: Bench) -> impl IntoView {
    let app = app();
    let refused = RwSignal::new(None::<Word>);
    let file = move |event: leptos::ev::Event| {
        let Some(file) = Readable::chosen(&event) else { return };
        spawn_local(async move {
            match text_of(file).await {
                Ok(text) => {
                    refused.try_set(None);
                    bench.replaced(app, text);
                }
                Err(why) => drop(refused.try_set(Some(why))),
            }
        });
    };
    let save = move |_| {
        let text = bench.text.get_untracked();
        let name = bench.judged.with_untracked(|judged| judged.as_ref().and_then(|judged| judged.key()));
        let name = format!("{}.json", name.unwrap_or_else(|| "pack".into()));
        if let Some(file) = Given::text(name, "application/json", &text) {
            file.download();
        }
    };
    view! {
        <div class="bench-keys">
            <button type="button" class="quiet" on:click=move |_| bench.replaced(app, blank())>{app.word(w::WORKBENCH_BLANK)}</button>
            <button type="button" class="quiet" on:click=move |_| bench.replaced(app, EXAMPLE.into())>{app.word(w::WORKBENCH_EXAMPLE)}</button>
            <label class="quiet file">
                <input type="file" accept=".json,.txt,application/json,text/plain" on:change=file/>
                <span>{app.word(w::PACKS_FILE)}</span>
            </label>
            <button type="button" class="quiet" on:click=save>{app.word(w::PACKS_SAVE)}</button>
        </div>
        {move || bench.before.get().map(|before| view! {
            <button type="button" class="quiet wide" on:click=move |_| bench.replaced(app, before.clone())>
                {app.word(w::WORKBENCH_UNDO)}
            </button>
        })}
        <p class="error" role="alert">{move || refused.get().map(|why| app.word(why))}</p>
        <div class="field">
            <label for="pack-text">{app.word(w::WORKBENCH_TEXT)}</label>
            <textarea id="pack-text" class="key" rows="24" spellcheck="false" autocapitalize="off" autocomplete="off" wrap="off"
                prop:value=move || bench.text.get()
                on:input=move |event| bench.typed(app, event_target_value(&event))></textarea>
        </div>
        <p class="small">{move || app.word(if bench.kept.get() { w::WORKBENCH_DRAFT } else { w::WORKBENCH_DRAFT_LOST })}</p>
    }
}

/// What is wrong, what is missing, and how it reads.
#[component]
fn Found(bench: Bench) -> impl IntoView {
    let app = app();
    move || {
        let Some(judged) = bench.judged.get() else {
            return view! { <p>{app.word(w::WORKBENCH_LOOKING)}</p> }.into_any();
        };
        if let Ok(right) = &judged.stands {
            let level = right.level.map(|level| {
                let level = number(level, 0, app.speaker().style);
                view! { <p class="small">{app.speaker().fill(w::WORKBENCH_LEVEL, &[("n", Arg::Name(level))])}</p> }
            });
            return view! {
                <p class="bench-right">{app.word(w::WORKBENCH_RIGHT)}</p>
                <p>{app.word(w::WORKBENCH_NONE_MISSING)}</p>
                {level}
            }
            .into_any();
        }
        let (missing, wrong): (Vec<Mistake>, Vec<Mistake>) =
            judged.mistakes().iter().cloned().partition(Mistake::is_missing_text);
        let all = missing.len() + wrong.len();
        let more = (all >= MOST_MISTAKES).then(|| {
            view! { <p class="small">{app.speaker().fill(w::WORKBENCH_MORE, &[("n", Arg::Count(all as u32))])}</p> }
        });
        view! {
            {listed(app, bench, w::WORKBENCH_MISTAKES, wrong)}
            {listed(app, bench, w::WORKBENCH_MISSING, missing)}
            {more}
        }
        .into_any()
    }
}

/// Mistakes under a heading; each leads to its place.
fn listed(app: App, bench: Bench, word: Word, list: Vec<Mistake>) -> Option<impl IntoView + use<>> {
    let rows = list
        .iter()
        .map(|mistake| {
            let (at, line) = (mistake.at, mistake.line as u32);
            let go = move |_| {
                bench.text.with_untracked(|text| {
                    let before = text.get(..at).unwrap_or("");
                    page::put_cursor(
                        "#pack-text",
                        before.encode_utf16().count() as u32,
                        line,
                        text.lines().count() as u32,
                    );
                })
            };
            view! {
                <li>
                    <button type="button" class="mistake" on:click=go>
                        <span class="key">{look::place(app, mistake)}</span>
                        <span>{mistake.reason.clone()}</span>
                    </button>
                </li>
            }
        })
        .collect_view();
    (!list.is_empty()).then(|| view! { <h2>{app.word(word)}</h2><ul class="mistakes plain">{rows}</ul> })
}
