//! The checklists of a job: those in use, those to take up, and one's own.

use super::{Ground, said, title_of};
use crate::app::device::{address, clock};
use crate::app::frame::app;
use crate::app::pages::entries::once_with_job;
use crate::app::pages::jobs::{name_in_brief, name_of};
use crate::app::parts::badge::Badge;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::job::assess::Verdict;
use crate::core::job::lists::{OWN, OwnList, Taken};
use leptos::prelude::*;

#[component]
pub fn Lists(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let back = name_of(app, &job);
        let ground = Ground::of(&id);
        let (used, free, make, others) = (id.clone(), id.clone(), id.clone(), id.clone());
        view! {
            <div class="page page-lists">
                <Head title=app.word(w::LISTS_TITLE) back/>
                {move || ground.with(|ground| in_use(&used, ground))}
                {move || ground.with(|ground| to_take_up(&free, ground))}
                <section>
                    <h2>{app.word(w::LISTS_OWN)}</h2>
                    <p class="hint">{app.word(w::LISTS_OWN_ABOUT)}</p>
                    <button type="button" class="quiet wide" on:click=move |_| {
                        let key = format!("{OWN}{}", clock::new_key());
                        let taken = Taken { key: key.clone(), own: Some(OwnList::default()) };
                        app.store.change(&make, |job| job.take_up(taken, clock::now()));
                        address::go(&Screen::ListEdit(make.clone(), key));
                    }>{app.word(w::LISTS_MAKE)}</button>
                    {move || ground.with(|ground| of_others(&others, ground))}
                </section>
            </div>
        }
        .into_any()
    })
}

/// The lists that the job goes by, each with its progress.
fn in_use(id: &str, ground: &Ground) -> Option<AnyView> {
    let app = app();
    let rows = ground.job.lists.iter().filter_map(|taken| {
        let list = ground.list(app, &taken.key)?;
        let counts = list.counts(&ground.job, ground.made());
        let worst = if counts.fails > 0 {
            Some(Verdict::Fails)
        } else if counts.look_again > 0 {
            Some(Verdict::LookAgain)
        } else {
            (counts.all > 0 && counts.done == counts.all).then_some(Verdict::Holds)
        };
        Some(view! {
            <li>
                <a class="job-row" href=Screen::List(id.to_string(), taken.key.clone()).to_string()>
                    <span class="row-words">
                        <span class="row-title">{title_of(app, &list.title)}</span>
                        <span class="row-about">{said(counts)}</span>
                    </span>
                    {match worst {
                        Some(Verdict::Holds) => view! { <span class="list-whole">{icon(Icon::Holds)}</span> }.into_any(),
                        Some(verdict) => view! { <Badge verdict/> }.into_any(),
                        None => icon(Icon::Go).into_any(),
                    }}
                </a>
            </li>
        })
    });
    let rows: Vec<_> = rows.collect();
    (!rows.is_empty()).then(|| {
        view! { <section><h2>{app.word(w::LISTS_IN_USE)}</h2><ul class="rows">{rows}</ul></section> }.into_any()
    })
}

/// The lists of the content that are not in use.
fn to_take_up(id: &str, ground: &Ground) -> Option<AnyView> {
    let app = app();
    let speaker = app.speaker();
    let is_free = |key: &str| !ground.job.lists.iter().any(|taken| taken.key == key);
    let free: Vec<_> = app.content.checklists.lists.iter().filter(|list| is_free(&list.key)).collect();
    if free.is_empty() {
        return None;
    }
    let body = if ground.made.is_none() {
        view! {
            <p>{app.word(w::LISTS_NO_SITE)}</p>
            <a class="quiet" href=Screen::Site(id.to_string()).to_string()>{app.word(w::JOBS_DESCRIBE)}</a>
        }
        .into_any()
    } else {
        let rows = free.into_iter().map(|list| {
            let words = speaker.language.checklists.list.get(&list.key);
            let (title, about) = words.map(|words| (words.title.clone(), words.about.clone())).unwrap_or_default();
            let id = id.to_string();
            view! {
                <li>
                    <button type="button" class="job-row" on:click=move |_| {
                        let taken = Taken { key: list.key.clone(), own: None };
                        app.store.change(&id, |job| job.take_up(taken, clock::now()));
                        address::go(&Screen::List(id.clone(), list.key.clone()));
                    }>
                        <span class="row-words">
                            <span class="row-title">{title}</span>
                            <span class="row-about">{about}</span>
                        </span>
                        {icon(Icon::Go)}
                    </button>
                </li>
            }
        });
        view! {
            <p class="hint">{app.word(w::LISTS_TAKE_UP_ABOUT)}</p>
            <ul class="rows">{rows.collect_view()}</ul>
        }
        .into_any()
    };
    Some(view! { <section><h2>{app.word(w::LISTS_TAKE_UP)}</h2>{body}</section> }.into_any())
}

/// Lists that a person made in other jobs on this phone, each once.
fn of_others(id: &str, ground: &Ground) -> Option<AnyView> {
    let app = app();
    let mut known: Vec<String> = ground.job.lists.iter().map(|taken| taken.key.clone()).collect();
    let mut rows = Vec::new();
    for brief in untrack(|| app.store.briefs()).iter().filter(|brief| brief.id != id) {
        for (key, title) in &brief.own_lists {
            if !known.contains(key) {
                known.push(key.clone());
                rows.push(of_other(id.to_string(), brief.id.clone(), key.clone(), title, name_in_brief(app, brief)));
            }
        }
    }
    (!rows.is_empty()).then(|| view! { <h3>{app.word(w::LISTS_OTHERS)}</h3><ul class="rows">{rows}</ul> }.into_any())
}

fn of_other(id: String, from: String, key: String, title: &str, name: String) -> impl IntoView + use<> {
    let app = app();
    let take = move |_| {
        let Some(kept) = app.store.job(&from) else { return };
        let taken = kept.with_untracked(|kept| kept.job.lists.iter().find(|taken| taken.key == key).cloned());
        if let Some(taken) = taken {
            app.store.change(&id, |job| job.take_up(taken, clock::now()));
            address::go(&Screen::List(id.clone(), key.clone()));
        }
    };
    view! {
        <li>
            <button type="button" class="job-row" on:click=take>
                <span class="row-words">
                    <span class="row-title">{title_of(app, title)}</span>
                    <span class="row-about">{name}</span>
                </span>
                {icon(Icon::Go)}
            </button>
        </li>
    }
}
