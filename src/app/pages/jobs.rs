//! The list of jobs.

use crate::app::device::{address, clock};
use crate::app::frame::{App, app};
use crate::app::pages::keeping::hints::{BackupDue, IosHint};
use crate::app::pages::keeping::set_aside;
use crate::app::parts::badge::Badge;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::{Screen, SitePart};
use crate::content::schema::DemoSite;
use crate::content::walk::Progress;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::Job;
use leptos::prelude::*;

/// The job's name, or words for one that has none.
pub fn name_of(app: App, job: &Job) -> String {
    let name = job.site.name.trim();
    if name.is_empty() { app.word(w::JOBS_UNNAMED).to_string() } else { name.to_string() }
}

#[component]
pub fn Jobs() -> impl IntoView {
    let app = app();
    let rows = move || {
        let jobs = app.store.all();
        if jobs.is_empty() {
            return view! {
                <div class="empty">
                    <p class="empty-title">{app.word(w::JOBS_NONE)}</p>
                    <p>{app.word(w::JOBS_NONE_ABOUT)}</p>
                </div>
            }
            .into_any();
        }
        let rows = jobs.iter().map(|job| row(app, job)).collect_view();
        view! { <ul class="rows">{rows}</ul> }.into_any()
    };
    let demos = app.content.demo.iter().map(|demo| demo_button(app, demo)).collect_view();
    view! {
        <div class="page">
            <Head title=app.word(w::JOBS_TITLE)/>
            <IosHint when_needed=true/>
            <BackupDue/>
            {rows}
            {move || app.store.aside.get().into_iter().map(|aside| set_aside(app, aside)).collect_view()}
            <section class="demos">
                <h2>{app.word(w::JOBS_DEMO)}</h2>
                <p class="hint">{app.word(w::JOBS_DEMO_ABOUT)}</p>
                <div class="demo-row">{demos}</div>
            </section>
            <ul class="rows">
                {go_row(&Screen::Keeping, app.word(w::KEEPING_TITLE), app.word(w::KEEPING_ROW_ABOUT))}
            </ul>
            <div class="foot">
                <button type="button" class="primary" on:click=move |_| {
                    let id = app.store.add(Job::default());
                    address::go(&Screen::SitePart(id, SitePart::Name));
                }>{app.word(w::JOBS_BEGIN)}</button>
            </div>
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

fn row(app: App, job: &Job) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let (state, verdict) = match job.site.site() {
        Err(_) => (app.word(w::JOBS_DESCRIBE).to_string(), None),
        Ok(site) => {
            let assessment = job.assess(&site);
            let progress = Progress::of(app.content, &site, job, &assessment);
            let state = match progress.next {
                Some(next) => {
                    let action = progress.cards[next].spoken(&speaker).action;
                    speaker.fill(w::JOBS_NEXT, &[("action", Arg::Name(action))])
                }
                None => app.word(w::JOBS_ALL_DONE).to_string(),
            };
            (state, Some(assessment.worst()))
        }
    };
    let begun = speaker.fill(w::JOBS_BEGUN, &[("when", Arg::Name(clock::say(job.begun)))]);
    view! {
        <li>
            <a class="job-row" href=Screen::Job(job.id.clone()).to_string()>
                <span class="row-words">
                    <span class="row-title">
                        {name_of(app, job)}
                        {job.demo.then(|| view! { <span class="mark">{app.word(w::JOBS_DEMO_MARK)}</span> })}
                    </span>
                    <span class="row-about">{state}</span>
                    <span class="row-about row-when">{begun}</span>
                </span>
                {verdict.map(|verdict| view! { <Badge verdict/> })}
            </a>
        </li>
    }
}
