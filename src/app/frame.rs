//! The frame around every screen: start, context, head, the four destinations at the thumb.

use crate::app::device::{address, halt, look, offline, page, tongue};
use crate::app::keeping;
use crate::app::packs::{self, Packs};
use crate::app::pages;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::{Destination, Screen};
use crate::app::store::{self, Loaded, Store, Trouble};
use crate::content::Content;
use crate::content::search::Search;
use crate::content::speak::Speaker;
use crate::content::words::{self as w, Word};
use leptos::prelude::*;
use std::cell::Cell;

/// What every page needs.
#[derive(Clone, Copy)]
pub struct App {
    pub content: &'static Content,
    pub store: Store,
    pub screen: RwSignal<Screen>,
    pub offline: RwSignal<offline::Offline>,
    pub packs: Packs,
}

thread_local! {
    /// The alarms laid out for searching, when they are first needed.
    static SEARCH: Cell<Option<(&'static Content, &'static Search<'static>)>> = const { Cell::new(None) };
}

impl App {
    pub fn search(self) -> &'static Search<'static> {
        match SEARCH.get() {
            Some((content, search)) if std::ptr::eq(content, self.content) => search,
            _ => {
                let search: &'static Search<'static> = Box::leak(Box::new(Search::new(&self.content.language)));
                SEARCH.set(Some((self.content, search)));
                search
            }
        }
    }

    pub fn speaker(self) -> Speaker<'static> {
        Speaker::of(self.content)
    }

    /// A word of the screens.
    pub fn word(self, word: Word) -> &'static str {
        self.speaker().word(word)
    }
}

/// The app as the pages find it.
pub fn app() -> App {
    expect_context::<App>()
}

/// Reads what is kept, then draws the first screen. Without the content's file it does not start: `boot.js` says so.
pub fn start() {
    halt::install();
    look::show();
    let Some(mut read) = tongue::content() else { return };
    read.units = tongue::units();
    // Leptos sets up its own tasks only when it mounts.
    wasm_bindgen_futures::spawn_local(async move {
        let packs = packs::load(read).await;
        let loaded = store::load(packs.content()).await;
        page::remove_first_paint();
        mount_to_body(move || view! { <Frame packs loaded/> });
    });
}

#[component]
fn Frame(packs: packs::Loaded, loaded: Loaded) -> impl IntoView {
    let app = App {
        content: packs.content(),
        store: Store::new(loaded),
        screen: RwSignal::new(address::current()),
        offline: RwSignal::new(offline::state()),
        packs: Packs::new(packs),
    };
    address::on_change(move || {
        let screen = address::current();
        if screen != Screen::Packs {
            app.packs.said.set(None);
        }
        app.screen.set(screen);
    });
    offline::on_change(move || {
        app.offline.set(offline::state());
    });
    // The heading of a new screen takes the focus, so that a screen reader hears where it is; with the first one that is the
    // page itself, so that the keys move it.
    Effect::new(move |seen: Option<()>| {
        app.screen.track();
        if seen.is_none() {
            return request_animation_frame(page::focus_page);
        }
        // At once: not one picture of it in the middle.
        page::to_top();
        request_animation_frame(page::focus_heading);
    });

    // A pack that is kept or removed makes another content: all that speaks it is drawn anew.
    move || {
        let app = App { content: app.packs.content.get(), ..app };
        provide_context(app);
        view! { <Spoken/> }
    }
}

/// All that is said on a screen.
#[component]
fn Spoken() -> impl IntoView {
    let app = app();
    view! {
        <a class="skip" href="#main" on:click=move |event| {
            event.prevent_default();
            page::focus_first("main h1");
        }>{app.word(w::APP_SKIP)}</a>
        <main id="main" tabindex="-1">
            <Notices/>
            {move || pages::draw(&app.screen.get())}
        </main>
        <Destinations/>
    }
}

/// Quiet lines at the top: trouble with keeping, a new version.
#[component]
fn Notices() -> impl IntoView {
    let app = app();
    let trouble = move || {
        app.store.trouble.get().map(|trouble| {
            let word = match trouble {
                Trouble::NothingKept => w::KEPT_FAILED,
                Trouble::HalfKept => w::KEPT_HALF,
                Trouble::OtherTab => w::KEPT_CONFLICT,
            };
            view! {
                <div class="notice notice-trouble" role="alert">
                    <p>{app.word(word)}</p>
                    {(trouble != Trouble::OtherTab).then(|| view! { <SaveNow/> })}
                    <button type="button" class="quiet" on:click=move |_| app.store.trouble.set(None)>
                        {app.word(w::FRAME_CLOSE)}
                    </button>
                </div>
            }
        })
    };
    let update = move || {
        (app.offline.get() == offline::Offline::Update).then(|| {
            view! {
                <div class="notice" role="status">
                    <p>{app.word(w::OFFLINE_UPDATE)}</p>
                    <button type="button" class="quiet" on:click=move |_| {
                        app.store.flush();
                        offline::change_over();
                    }>{app.word(w::OFFLINE_UPDATE_BUTTON)}</button>
                </div>
            }
        })
    };
    view! { <div class="notices">{trouble}{update}</div> }
}

/// Hands over all jobs as a file, right where it is said that nothing is kept.
#[component]
fn SaveNow() -> impl IntoView {
    let app = app();
    view! {
        <button type="button" class="quiet" on:click=move |_| {
            leptos::task::spawn_local(async move {
                if let Some(made) = keeping::make(app.store).await && made.file.download() {
                    made.given();
                }
            });
        }>{app.word(w::KEPT_SAVE)}</button>
    }
}

#[component]
fn Destinations() -> impl IntoView {
    let app = app();
    let entries = [
        (Destination::Jobs, Screen::Jobs, w::NAV_JOBS, Icon::Jobs),
        (Destination::Measure, Screen::Measure, w::NAV_MEASURE, Icon::Measure),
        (Destination::Alarms, Screen::Alarms, w::NAV_ALARMS, Icon::Alarms),
        (Destination::Read, Screen::Read, w::NAV_READ, Icon::Read),
    ];
    view! {
        <nav class="destinations" aria-label=app.word(w::NAV_LABEL)>
            {entries
                .into_iter()
                .map(|(destination, screen, word, drawn)| {
                    let current = move || {
                        (app.screen.get().destination() == Some(destination)).then_some("page")
                    };
                    view! {
                        <a href=screen.to_string() aria-current=current>
                            {icon(drawn)}
                            <span>{app.word(word)}</span>
                        </a>
                    }
                })
                .collect_view()}
        </nav>
    }
}
