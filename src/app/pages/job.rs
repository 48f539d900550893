//! One job: the bus, the one next thing, and the way as a list of stages.

use crate::app::frame::app;
use crate::app::pages::entries::with_job;
use crate::app::pages::jobs::name_of;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::strip::BusStrip;
use crate::app::screen::{Screen, SitePart};
use crate::content::walk::{Progress, State};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::assess::Verdict;
use crate::core::job::strip::{Lit, draw};
use leptos::prelude::*;

#[component]
pub fn JobPage(id: String) -> impl IntoView {
    with_job(id, |job| view! { <JobView job/> }.into_any())
}

#[component]
fn JobView(job: Job) -> impl IntoView {
    let app = app();
    let id = job.id.clone();
    let title = name_of(app, &job);
    let Ok(site) = job.site.site() else {
        return view! {
            <div class="page">
                <Head title back=app.word(w::JOBS_TITLE)/>
                <div class="empty">
                    <p class="empty-title">{app.word(w::JOB_DESCRIBE)}</p>
                    <p>{app.word(w::JOB_DESCRIBE_ABOUT)}</p>
                </div>
                <div class="foot">
                    <a class="primary" href=first_open_part(&job).to_string()>{app.word(w::JOB_GO)}</a>
                </div>
            </div>
        }
        .into_any();
    };
    let speaker = app.speaker();
    let assessment = job.assess(&site);
    let progress = Progress::of(app.content, &site, &job, &assessment);
    let next = progress.next.map(|index| &progress.cards[index]);
    let lit = next.map_or(Lit::Everything, |card| card.lit);
    let strip = draw(&site, lit, assessment.suspect);

    let next_action = match next {
        Some(card) => {
            let spoken = card.spoken(&speaker);
            let state = progress.index(&card.key).map_or(State::Open, |index| progress.states[index]);
            let over = match state {
                State::Fails => speaker.verdict(Verdict::Fails).to_string(),
                _ => app.word(w::JOB_NEXT).to_string(),
            };
            (over, spoken.action, Screen::Card(id.clone(), card.key.clone()), app.word(w::JOB_GO))
        }
        None => (
            app.word(w::JOB_ALL_DONE).to_string(),
            app.word(w::JOB_ALL_DONE_ABOUT).to_string(),
            Screen::Record(id.clone()),
            app.word(w::JOB_OPEN_RECORD),
        ),
    };
    let stages = app
        .content
        .walk
        .stages
        .iter()
        .filter_map(|stage| {
            let entry = progress.entry(&stage.key)?;
            let (done, all) = progress.count(&stage.key);
            let words = speaker.language.walk.stage.get(&stage.key);
            let title = words.map(|words| words.title.clone()).unwrap_or_default();
            let state = progress.stage_state(&stage.key);
            let href = Screen::Card(id.clone(), entry.key.clone()).to_string();
            let of = speaker.fill(w::JOB_OF, &[("done", Arg::Count(done as u32)), ("all", Arg::Count(all as u32))]);
            Some(view! {
                <li class=format!("stage stage-{}", state_key(state))>
                    <a href=href>
                        {icon(state_icon(state))}
                        <span class="row-title">{title}</span>
                        <span class="stage-count">{match state {
                            State::Fails => speaker.verdict(Verdict::Fails).to_string(),
                            State::LookAgain => speaker.verdict(Verdict::LookAgain).to_string(),
                            _ => of,
                        }}</span>
                    </a>
                </li>
            })
        })
        .collect_view();
    let (over, action, next_screen, go) = next_action;
    view! {
        <div class="page page-job">
            <Head title back=app.word(w::JOBS_TITLE)/>
            <div class="plate"><BusStrip strip/></div>
            <section class="next" aria-label=app.word(w::JOB_NEXT)>
                <p class="over">{over}</p>
                <p class="next-action">{action}</p>
                <a class="primary" href=next_screen.to_string()>{go}</a>
            </section>
            <section>
                <h2>{app.word(w::JOB_STAGES)}</h2>
                <ol class="stages">{stages}</ol>
            </section>
            <section>
                <h2>{app.word(w::JOB_MORE)}</h2>
                <ul class="rows">
                    {go_row(&Screen::JobBank(id.clone()), app.word(w::JOB_BANK), app.word(w::JOB_BANK_ABOUT))}
                    {go_row(&Screen::JobPower(id.clone()), app.word(w::POWER_TITLE), app.word(w::POWER_ABOUT))}
                    {go_row(&Screen::Overview(id.clone()), app.word(w::OVERVIEW_TITLE), app.word(w::OVERVIEW_ABOUT))}
                    {go_row(&Screen::Share(id.clone()), app.word(w::SHARE_TITLE), app.word(w::SHARE_ABOUT))}
                    {go_row(&Screen::Lists(id.clone()), app.word(w::LISTS_TITLE), app.word(w::LISTS_ABOUT))}
                    {go_row(&Screen::Record(id.clone()), app.word(w::JOB_RECORD), app.word(w::JOB_RECORD_ABOUT))}
                    {go_row(&Screen::Site(id.clone()), app.word(w::JOB_SITE), app.word(w::JOB_SITE_ABOUT))}
                    {go_row(&Screen::JobFind(id.clone()), app.word(w::FIND_TITLE), app.word(w::FIND_ABOUT))}
                    {go_row(&Screen::Trace(id.clone()), app.word(w::TRACE_TITLE), app.word(w::TRACE_ABOUT))}
                    {go_row(&Screen::JobProfile(id.clone()), app.word(w::MEASURE_PROFILE), app.word(w::PROFILE_JOB_ABOUT))}
                    {go_row(&Screen::Photos(id.clone()), app.word(w::PHOTOS_TITLE), app.word(w::PHOTOS_ROW_ABOUT))}
                    {go_row(&Screen::Notes(id), app.word(w::JOB_NOTES), app.word(w::JOB_NOTES_ABOUT))}
                </ul>
            </section>
        </div>
    }
    .into_any()
}

fn state_key(state: State) -> &'static str {
    match state {
        State::Open => "open",
        State::Done(_) => "done",
        State::LookAgain => "look-again",
        State::Fails => "fails",
    }
}

fn state_icon(state: State) -> Icon {
    match state {
        State::Open => Icon::NotDone,
        State::Done(_) => Icon::Holds,
        State::LookAgain => Icon::LookAgain,
        State::Fails => Icon::Fails,
    }
}

/// The first question of the site that is not answered.
fn first_open_part(job: &Job) -> Screen {
    let site = &job.site;
    let part = if site.name.trim().is_empty() {
        SitePart::Name
    } else if site.module.is_none() || site.series.is_none() || site.parallel.is_none() {
        SitePart::Modules
    } else if site.chosen_port().is_none() {
        SitePart::Monitor
    } else if site.bus_lead.is_none() || site.bus_length.is_none() {
        SitePart::Leads
    } else {
        return Screen::Site(job.id.clone());
    };
    Screen::SitePart(job.id.clone(), part)
}
