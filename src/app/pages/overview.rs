//! The whole job in one view, for the person on the phone: what does not hold, what it may be, what to look at next.

use crate::app::device::clock;
use crate::app::frame::{App, app};
use crate::app::pages::entries::with_job;
use crate::app::pages::find::{Whys, causes, next_line, stands};
use crate::app::pages::jobs::name_of;
use crate::app::pages::power;
use crate::app::parts::badge::Badge;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::parts::strip::BusStrip;
use crate::app::parts::window_line::WindowLine;
use crate::app::screen::Screen;
use crate::content::walk::Progress;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::assess::{Assessment, Finding, Verdict};
use crate::core::job::strip::{Lit, draw};
use crate::core::job::{Job, Seen};
use crate::core::site::Site;
use leptos::prelude::*;

#[component]
pub fn OverviewPage(id: String) -> impl IntoView {
    let app = app();
    with_job(id.clone(), move |job| {
        let name = name_of(app, &job);
        view! {
            <div class="page">
                <Head title=name.clone() over=app.word(w::OVERVIEW_TITLE) back=name/>
                {overview(app, &job)}
                <ul class="rows">
                    {go_row(&Screen::JobFind(id.clone()), app.word(w::FIND_TITLE), app.word(w::FIND_ABOUT))}
                    {go_row(&Screen::Record(id.clone()), app.word(w::JOB_RECORD), app.word(w::JOB_RECORD_ABOUT))}
                </ul>
            </div>
        }
        .into_any()
    })
}

/// Everything that somebody who has to help needs first. Nothing in it can be changed.
pub fn overview(app: App, job: &Job) -> AnyView {
    let last = job.observations.iter().map(|seen| seen.at).chain(job.story.told.iter().map(|told| told.at)).max();
    let when = last.map(|at| app.speaker().fill(w::OVERVIEW_LAST, &[("when", Arg::Name(clock::say(at)))]));
    let site = job.site.site();
    let (top, rest) = match &site {
        Err(_) => (view! { <p class="empty">{app.word(w::RECORD_INCOMPLETE)}</p> }.into_any(), ().into_any()),
        Ok(site) => of_site(app, job, site),
    };
    let notes = (!job.notes.trim().is_empty()).then(|| {
        view! { <h2>{app.word(w::RECORD_NOTES)}</h2><p class="notes-text">{job.notes.clone()}</p> }
    });
    view! {
        <div class="overview">
            {when.map(|when| view! { <p class="small">{when}</p> })}
            {top}
            {alarms(app, job)}
            {likeliest(app, job)}
            {rest}
            {notes}
        </div>
    }
    .into_any()
}

/// What comes first of a whole site, and the readings that hold.
fn of_site(app: App, job: &Job, site: &Site) -> (AnyView, AnyView) {
    let speaker = app.speaker();
    let assessment = job.assess(site);
    let strip = draw(site, Lit::Nothing, assessment.suspect);
    let bank = speaker.fill(
        w::OVERVIEW_BANK,
        &[
            ("series", site.series.into()),
            ("parallel", site.parallel.into()),
            ("model", site.module.model.clone().into()),
            ("capacity", site.capacity().into()),
            ("volts", site.nominal().into()),
        ],
    );
    let port = speaker.fill(
        w::OVERVIEW_PORT,
        &[
            ("monitor", site.monitor.model.clone().into()),
            ("port", site.port.label.clone().into()),
            ("protocol", speaker.name(&format!("protocol-{}", site.profile.protocol)).to_string().into()),
            ("rate", site.profile.bit_rate.into()),
        ],
    );
    let is_open = |finding: &&Finding| matches!(finding.verdict, Verdict::Fails | Verdict::LookAgain);
    let mut open: Vec<&Finding> = assessment.findings.iter().filter(is_open).collect();
    open.sort_by_key(|finding| std::cmp::Reverse(finding.verdict));
    let mut open: Vec<AnyView> = open.into_iter().map(|finding| wrong(app, finding)).collect();
    open.extend(power::wrong(&assessment.power));
    // Where something does not hold, the fault finder's next check counts, and not the next card.
    let is_whole = open.is_empty();
    let open = match open.is_empty() {
        true => view! { <p>{app.word(w::OVERVIEW_NONE_WRONG)}</p> }.into_any(),
        false => view! { <ul class="record-checks">{open}</ul> }.into_any(),
    };
    let progress = Progress::of(app.content, site, job, &assessment);
    let next = progress.next.filter(|_| is_whole).map(|index| {
        let action = progress.cards[index].spoken(&speaker).action;
        view! { <p>{speaker.fill(w::JOBS_NEXT, &[("action", Arg::Name(action))])}</p> }
    });
    let top = view! {
        <p class="overview-bank">{bank}</p>
        <p class="small">{port}</p>
        <div class="plate"><BusStrip strip/></div>
        <h2>{app.word(w::OVERVIEW_WRONG)}</h2>
        {open}
        {next}
    };
    (top.into_any(), holding(app, &assessment))
}

/// A reading that does not hold, with its window and the reason.
fn wrong(app: App, finding: &Finding) -> AnyView {
    let speaker = app.speaker();
    let (title, reading) = read(app, finding);
    let figure = match &finding.seen {
        Some(Seen::Figure(shown)) => Some(shown.figure),
        _ => None,
    };
    let verdict = finding.verdict;
    let line = finding.window.filter(|_| figure.is_some());
    let line = line.map(|window| view! { <WindowLine window reading=figure verdict/> });
    view! {
        <li class="record-check">
            <p class="record-title">{title}</p>
            <p class="record-verdict"><Badge verdict/></p>
            <p class="record-reading">{reading}</p>
            <div class="record-window">{line}</div>
            <p class="record-because">{speaker.because(&finding.because)}</p>
        </li>
    }
    .into_any()
}

/// A check's name, and what was read.
fn read(app: App, finding: &Finding) -> (String, String) {
    let speaker = app.speaker();
    let title = speaker.language.checks.get(finding.check.key()).map(|words| words.title.clone()).unwrap_or_default();
    (title, finding.seen.as_ref().map(|seen| speaker.seen(finding.check, seen)).unwrap_or_default())
}

/// The readings that hold, and how many checks are not done.
fn holding(app: App, assessment: &Assessment) -> AnyView {
    let holds: Vec<AnyView> = assessment
        .findings
        .iter()
        .filter(|finding| finding.verdict == Verdict::Holds)
        .map(|finding| {
            let (title, reading) = read(app, finding);
            view! { <li><span>{title}</span><span class="when">{reading}</span></li> }.into_any()
        })
        .collect();
    let open: Vec<String> =
        assessment.findings.iter().filter(|f| f.verdict == Verdict::NotDone).map(|f| read(app, f).0).collect();
    view! {
        {(!holds.is_empty()).then(|| view! { <h2>{app.word(w::OVERVIEW_HOLDS)}</h2><ul class="record-cards">{holds}</ul> })}
        {(!open.is_empty()).then(|| view! { <h2>{app.word(w::OVERVIEW_OPEN)}</h2><p>{open.join(" · ")}</p> })}
    }
    .into_any()
}

/// Alarms that were noted and are not gone.
fn alarms(app: App, job: &Job) -> Option<AnyView> {
    let speaker = app.speaker();
    let rows: Vec<AnyView> = job
        .present_alarms()
        .map(|(key, at)| {
            let title = speaker.language.alarm(key).map_or(key, |alarm| &alarm.title).to_string();
            let href = Screen::Alarm(key.to_string()).to_string();
            view! { <li><a href=href><span>{title}</span><span class="when">{clock::say(at)}</span></a></li> }
                .into_any()
        })
        .collect();
    (!rows.is_empty())
        .then(|| view! { <h2>{app.word(w::OVERVIEW_ALARMS)}</h2><ul class="alarm-links">{rows}</ul> }.into_any())
}

/// The likeliest causes and the next check, from all that the job knows.
fn likeliest(app: App, job: &Job) -> Option<AnyView> {
    let (empty, report) = stands(app, job)?;
    (!empty).then(|| view! { {next_line(app, &report.advice)}{causes(app, &report, Whys::default())} }.into_any())
}
