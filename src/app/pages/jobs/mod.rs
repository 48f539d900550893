//! The list of jobs: found by their words, parted by their state, drawn in portions.

mod row;

use crate::app::device::address;
use crate::app::frame::{App, app};
use crate::app::pages::keeping::hints::{BackupDue, IosHint};
use crate::app::pages::keeping::set_aside;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::{Screen, SitePart};
use crate::content::schema::DemoSite;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::brief::{Brief, Filter, Words};
use leptos::prelude::*;
use leptos::tachys::view::Render;
use row::row;
use std::cell::{Cell, RefCell};
use std::sync::Arc;
use std::time::Duration;

/// Rows of the list. Twice so many come with each touch.
pub const MANY: usize = 7;
/// Rows that are drawn at once: as many as a phone shows; the others come with the next picture.
const AT_FIRST: usize = 4;
/// From so many jobs on there is something to search.
const FEW: usize = 5;
/// For how long jobs are worked out before the list is drawn, and at a stretch after that, in milliseconds: less than
/// anybody notices.
const AT_ONCE: i64 = 12;
const STRETCH: i64 = 30;
const PAUSE: Duration = Duration::from_millis(10);

thread_local! {
    /// What was typed and chosen stays while a job is looked at.
    static TYPED: RefCell<String> = const { RefCell::new(String::new()) };
    static FILTER: Cell<Filter> = const { Cell::new(Filter::All) };
}

/// The job's name, or words for one that has none.
pub fn name_of(app: App, job: &Job) -> String {
    named(app, &job.site.name)
}

/// The same, of a job in brief.
pub fn name_in_brief(app: App, brief: &Brief) -> String {
    named(app, &brief.name)
}

fn named(app: App, name: &str) -> String {
    let name = name.trim();
    if name.is_empty() { app.word(w::JOBS_UNNAMED).to_string() } else { name.to_string() }
}

/// The jobs that were found, parted: how many each filter takes, and those that are shown.
#[derive(Clone, Default, PartialEq)]
struct Parted {
    counts: [u32; Filter::ALL.len()],
    shown: Vec<Arc<Brief>>,
}

fn part(briefs: &[Arc<Brief>], words: &Words, chosen: Filter) -> Parted {
    let mut parted = Parted::default();
    for brief in briefs.iter().filter(|brief| brief.is_found(words)) {
        for (index, filter) in Filter::ALL.iter().enumerate() {
            parted.counts[index] += u32::from(filter.takes(brief));
        }
        if chosen.takes(brief) {
            parted.shown.push(brief.clone());
        }
    }
    parted
}

#[component]
pub fn Jobs() -> impl IntoView {
    let app = app();
    let looked = Looked { typed: RwSignal::new(TYPED.with_borrow(Clone::clone)), filter: RwSignal::new(FILTER.get()) };
    let most = RwSignal::new(AT_FIRST);
    // What is worked out soon is there before the first row is drawn; the rest comes while the list can be read already.
    if app.store.tell_some(app.content, AT_ONCE) > 0 {
        tell_on(app, RwSignal::new(()));
    }
    let briefs = Memo::new(move |_| app.store.briefs());
    let parted = Memo::new(move |_| {
        let words = Words::of(&looked.typed.get());
        briefs.with(|briefs| part(briefs, &words, looked.filter.get()))
    });
    let drawn = move || parted.with(|parted| parted.shown.iter().take(most.get()).cloned().collect::<Vec<_>>());
    let open = RwSignal::new(None::<String>);
    // What hides jobs must be there to be seen; and what is there does not go while it is used.
    let hides = looked.filter.get_untracked() != Filter::All || looked.typed.with_untracked(|typed| !typed.is_empty());
    let is_large = Memo::new(move |was: Option<&bool>| {
        let many = briefs.with(|briefs| briefs.len() >= FEW || briefs.iter().any(|brief| brief.archived));
        many || hides || was == Some(&true)
    });
    let is_empty = Memo::new(move |_| briefs.with(|briefs| briefs.is_empty()));
    let left = Memo::new(move |_| parted.with(|parted| parted.shown.len().saturating_sub(most.get())));
    let more = move || {
        (left.get() > 0).then(|| {
            let text = app.speaker().fill(w::JOBS_MORE, &[("n", Arg::Count(left.get().min(2 * MANY) as u32))]);
            view! {
                <button type="button" class="quiet wide" on:click=move |_| most.update(|most| *most += 2 * MANY)>{text}</button>
            }
        })
    };
    let none = move || {
        let is_none = parted.with(|parted| parted.shown.is_empty());
        match (is_empty.get(), is_none) {
            (true, _) => view! {
                <div class="empty">
                    <p class="empty-title">{app.word(w::JOBS_NONE)}</p>
                    <p>{app.word(w::JOBS_NONE_ABOUT)}</p>
                </div>
            }
            .into_any(),
            (false, true) => view! { <p class="empty" role="status">{app.word(w::JOBS_NONE_FOUND)}</p> }.into_any(),
            (false, false) => ().into_any(),
        }
    };
    // What stands below the first rows comes with the next picture: the list is there sooner.
    let below = RwSignal::new(false);
    request_animation_frame(move || {
        below.try_set(true);
        most.try_update(|most| *most = MANY.max(*most));
    });
    view! {
        <div class="page page-jobs">
            <Head title=app.word(w::JOBS_TITLE)/>
            {move || is_large.get().then(|| tools(app, looked, parted, briefs, most))}
            {none}
            <ul class="rows jobs">
                <For each=drawn key=|brief| brief.clone() children=move |brief| row(app, open, brief)/>
            </ul>
            {more}
            {move || below.get().then(|| under(app))}
            <div class="foot foot-jobs">
                {move || app.store.going_briefs().into_iter().map(|brief| going(app, &brief)).collect_view()}
                <button type="button" class="primary" on:click=move |_| {
                    let id = app.store.add(Job::default());
                    address::go(&Screen::SitePart(id, SitePart::Name));
                }>{app.word(w::JOBS_BEGIN)}</button>
            </div>
        </div>
    }
}

/// What stands below the rows: hints, what is set aside, ways on, the demos.
fn under(app: App) -> impl IntoView {
    let demos = app.content.demo.iter().map(|demo| demo_button(app, demo)).collect_view();
    view! {
            <IosHint when_needed=true/>
            <BackupDue/>
            {move || app.store.aside.get().into_iter().map(|aside| set_aside(app, aside)).collect_view()}
            <ul class="rows">
                {go_row(&Screen::Keeping, app.word(w::KEEPING_TITLE), app.word(w::KEEPING_ROW_ABOUT))}
                {go_row(&Screen::TakeIn, app.word(w::ARRIVE_TITLE), app.word(w::ARRIVE_ABOUT))}
            </ul>
            <section class="demos">
                <h2>{app.word(w::JOBS_DEMO)}</h2>
                <p class="hint">{app.word(w::JOBS_DEMO_ABOUT)}</p>
                <div class="demo-row">{demos}</div>
            </section>
    }
}

/// Draws the list where nobody sees it, while the first screen is looked at: what a browser does once for all lists to come
/// (compiling each part when it is first called, finding out how dates are written) is then not waited for.
pub fn warm_up(app: App) {
    if untrack(|| app.store.briefs()).is_empty() {
        return;
    }
    let owner = Owner::new();
    owner.with(|| {
        // A timer has no owner, and so no context of its own.
        provide_context(app);
        drop(view! { <Jobs/> }.build());
    });
    owner.cleanup();
}

/// Works out the jobs that are left, a stretch at a time, for as long as the page is there.
fn tell_on(app: App, page: RwSignal<()>) {
    let next = move || {
        if page.try_get_untracked().is_some() && app.store.tell_some(app.content, STRETCH) > 0 {
            tell_on(app, page);
        }
    };
    set_timeout(next, PAUSE);
}

/// What is looked for.
#[derive(Clone, Copy)]
struct Looked {
    typed: RwSignal<String>,
    filter: RwSignal<Filter>,
}

/// The field to search in, and the filter.
fn tools(
    app: App,
    looked: Looked,
    parted: Memo<Parted>,
    briefs: Memo<Arc<Vec<Arc<Brief>>>>,
    most: RwSignal<usize>,
) -> impl IntoView {
    let words =
        [w::JOBS_FILTER_ALL, w::JOBS_FILTER_OPEN, w::JOBS_FILTER_FAILS, w::JOBS_FILTER_DONE, w::JOBS_FILTER_AWAY];
    let segment = move |(index, filter): (usize, Filter)| {
        view! {
            <label class="segment">
                <input type="radio" name="jobs-filter" value=filter.key() prop:checked=move || looked.filter.get() == filter
                    on:change=move |_| {
                        FILTER.set(filter);
                        most.set(MANY);
                        looked.filter.set(filter);
                    }/>
                <span class="segment-title">{app.word(words[index])}</span>
                <span class="segment-about">{move || parted.with(|parted| parted.counts[index])}</span>
            </label>
        }
    };
    // A filter by state is whole only when every job was looked through.
    let untold = move || {
        let (all, told) =
            briefs.with(|briefs| (briefs.len(), briefs.iter().filter(|brief| brief.told.is_some()).count()));
        (told < all).then(|| {
            let args = [("done", Arg::Count(told as u32)), ("all", Arg::Count(all as u32))];
            view! { <p class="hint">{app.speaker().fill(w::JOBS_COUNTING, &args)}</p> }
        })
    };
    view! {
        <div class="field search">
            <label for="jobs-search">{app.word(w::JOBS_FIND)}</label>
            <p class="hint" id="jobs-search-hint">{app.word(w::JOBS_FIND_HINT)}</p>
            <div class="entry">
                <input id="jobs-search" type="search" enterkeyhint="search" autocomplete="off" autocapitalize="off"
                    spellcheck="false" aria-describedby="jobs-search-hint" prop:value=move || looked.typed.get()
                    on:input=move |event| {
                        let text = event_target_value(&event);
                        TYPED.set(text.clone());
                        most.set(MANY);
                        looked.typed.set(text);
                    }/>
            </div>
        </div>
        <fieldset class="segments jobs-filter">
            <legend class="unseen">{app.word(w::JOBS_FILTER)}</legend>
            <div class="segment-row">{Filter::ALL.into_iter().enumerate().map(segment).collect_view()}</div>
        </fieldset>
        {untold}
    }
}

/// A job that is going, and the way to bring it back.
fn going(app: App, brief: &Brief) -> impl IntoView + use<> {
    let id = brief.id.clone();
    let said = app.speaker().fill(w::JOBS_DELETED, &[("name", Arg::Name(name_in_brief(app, brief)))]);
    view! {
        <div class="notice undo" role="status">
            <p>{said}</p>
            <button type="button" class="quiet" on:click=move |_| app.store.undo_delete(&id)>{app.word(w::JOBS_UNDO)}</button>
        </div>
    }
}

fn demo_button(app: App, demo: &'static DemoSite) -> impl IntoView {
    view! {
        <button type="button" class="quiet" on:click=move |_| {
            // The build has checked that every demo is a site.
            if let Ok(site) = app.content.equipment.draft_of(demo) {
                let id = app.store.add(Job { site, demo: true, ..Job::default() });
                address::go(&Screen::Job(id));
            }
        }>{demo.name.clone()}</button>
    }
}
