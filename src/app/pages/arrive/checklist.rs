//! A checklist that came in: into which job it goes.

use crate::app::device::{address, clock};
use crate::app::frame::App;
use crate::app::pages::jobs::name_in_brief;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::incoming::take_list;
use crate::core::job::lists::Taken;
use crate::core::job::{Job, Observation};
use leptos::prelude::*;

/// As many jobs as are offered; others are reached by opening the list in them.
const MOST: usize = 20;

pub fn arrived(app: App, taken: Taken, observations: Vec<Observation>) -> AnyView {
    let words = app.content.language.checklists.list.get(&taken.key);
    let title = match &taken.own {
        Some(own) => own.title.clone(),
        None => words.map(|words| words.title.clone()).unwrap_or_default(),
    };
    if taken.own.is_none() && words.is_none() {
        return view! {
            <Head title=app.word(w::ARRIVE_LIST) back=app.word(w::JOBS_TITLE)/>
            <p class="error" role="alert">{app.word(w::ARRIVE_LIST_UNKNOWN)}</p>
        }
        .into_any();
    }
    let lines: Vec<String> = taken.own.iter().flat_map(|own| &own.items).map(|item| item.text.clone()).collect();
    let lines = (!lines.is_empty()).then(|| {
        let lines = lines.into_iter().map(|line| view! { <li>{line}</li> }).collect_view();
        view! { <ul>{lines}</ul> }
    });
    let briefs = app.store.briefs();
    let open: Vec<_> = briefs.iter().filter(|brief| !brief.archived).take(MOST).collect();
    let chosen = RwSignal::new(Some(open.first().map_or(String::new(), |brief| brief.id.clone())));
    let mut rows: Vec<Row> =
        open.iter().map(|brief| Row::new(brief.id.clone(), name_in_brief(app, brief), "")).collect();
    rows.push(Row::new("", app.word(w::ARRIVE_LIST_NEW_JOB), ""));
    let answers = app.speaker().fill(w::ARRIVE_LIST_ANSWERS, &[("n", Arg::Count(observations.len() as u32))]);
    let add = move |_| {
        let id = match chosen.get_untracked() {
            Some(id) if !id.is_empty() => id,
            _ => app.store.add(Job::default()),
        };
        let mut key = taken.key.clone();
        app.store.change(&id, |job| key = take_list(job, &taken, &observations, &clock::new_key()));
        address::replace(&Screen::List(id, key));
    };
    view! {
        <Head title over=app.word(w::ARRIVE_LIST) back=app.word(w::JOBS_TITLE)/>
        <p>{answers}</p>
        {lines}
        <Choice name="into" legend=app.word(w::ARRIVE_LIST_INTO) rows chosen error=no_error()
            on_choose=move |key| chosen.set(Some(key))/>
        <div class="foot"><button type="button" class="primary" on:click=add>{app.word(w::ARRIVE_LIST_ADD)}</button></div>
    }
    .into_any()
}
