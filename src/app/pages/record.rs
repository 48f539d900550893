//! The record: site, readings, verdicts, times; on screen and on paper.

use crate::app::device::{clock, page};
use crate::app::frame::{App, app};
use crate::app::pages::bank::in_record;
use crate::app::pages::entries::with_job;
use crate::app::pages::find::told_row;
use crate::app::pages::jobs::name_of;
use crate::app::pages::keeping::table::TableButton;
use crate::app::pages::lists::{self, when_and_who};
use crate::app::pages::photos;
use crate::app::pages::power;
use crate::app::pages::share::{on_paper, on_paper_digits};
use crate::app::parts::badge::Badge;
use crate::app::parts::finding::source_line;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::strip::BusStrip;
use crate::content::checklist::Made;
use crate::content::walk::Progress;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::assess::{Assessment, Finding, Verdict};
use crate::core::job::bank;
use crate::core::job::check::Check;
use crate::core::job::strip::{Lit, draw};
use crate::core::job::trace;
use crate::core::job::{Job, Observation, Seen, Subject, latest};
use crate::core::site::{End, Site};
use leptos::prelude::*;

#[component]
pub fn Record(id: String) -> impl IntoView {
    let app = app();
    with_job(id, move |job| {
        let title = format!("{}: {}", app.word(w::RECORD_TITLE), name_of(app, &job));
        view! {
            <div class="page page-record">
                <Head title back=name_of(app, &job)/>
                {sheet(app, &job)}
                {compare(app, &job)}
                <TableButton word=w::KEEPING_TABLE_ONE only=job.id.clone()/>
                <div class="foot">
                    <button type="button" class="primary" on:click=move |_| { page::print(); }>
                        {icon(Icon::Print)}<span>{app.word(w::RECORD_PRINT)}</span>
                    </button>
                </div>
            </div>
        }
        .into_any()
    })
}

/// Everything below the heading: on screen, on paper, and in the file.
pub fn sheet(app: App, job: &Job) -> AnyView {
    let begun = app.speaker().fill(w::RECORD_BEGUN, &[("when", Arg::Name(clock::say(job.begun)))]);
    let body = match job.site.site() {
        Err(_) => view! {
            <p class="empty">{app.word(w::RECORD_INCOMPLETE)}</p>
            {lists::in_record(job, None)}
        }
        .into_any(),
        Ok(site) => view! { <Body job=job.clone() site/> }.into_any(),
    };
    let notes = (!job.notes.trim().is_empty()).then(|| {
        view! { <h2>{app.word(w::RECORD_NOTES)}</h2><p class="notes-text">{job.notes.clone()}</p> }
    });
    view! {
        <p class="small">{begun}"."{job.demo.then(|| format!(" {}", app.word(w::RECORD_DEMO)))}</p>
        {people(app, job)}
        <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::RECORD_CAUTIONS)}</span></p>
        {alarms(app, job)}
        {body}
        {notes}
        {photos::in_record::in_record(app, job)}
        <h2>{app.word(w::RECORD_WHOLE)}</h2>
        {on_paper(app, job)}
    }
    .into_any()
}

/// Who did the work, for whom, and where; nothing where nobody said.
fn people(app: App, job: &Job) -> Option<impl IntoView + use<>> {
    let rows: Vec<_> =
        [(w::PEOPLE_BY, &job.people.by), (w::PEOPLE_OWNER, &job.people.owner), (w::PEOPLE_PLACE, &job.people.place)]
            .into_iter()
            .filter(|(_, text)| !text.trim().is_empty())
            .map(|(word, text)| view! { <div><dt>{app.word(word)}</dt><dd>{text.clone()}</dd></div> })
            .collect();
    (!rows.is_empty()).then(|| view! { <dl class="facts">{rows}</dl> })
}

/// Holds a printed fingerprint against this job.
fn compare(app: App, job: &Job) -> impl IntoView + use<> {
    let here = on_paper_digits(job);
    let typed = RwSignal::new(String::new());
    let answer = move || {
        let typed = typed.get();
        (!typed.trim().is_empty()).then(|| app.word(if here.is(&typed) { w::RECORD_SAME } else { w::RECORD_NOT_SAME }))
    };
    view! {
        <details class="fold compare-paper">
            <summary>{app.word(w::RECORD_COMPARE)}</summary>
            <div class="field">
                <label for="paper">{app.word(w::RECORD_COMPARE_LABEL)}</label>
                <p class="hint" id="paper-hint">{app.word(w::RECORD_COMPARE_HINT)}</p>
                <div class="entry">
                    <input id="paper" type="text" inputmode="numeric" autocomplete="off" aria-describedby="paper-hint"
                        on:input=move |event| typed.set(event_target_value(&event))/>
                </div>
                <p role="status">{answer}</p>
            </div>
        </details>
    }
}

#[component]
fn Body(job: Job, site: Site) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let assessment = job.assess(&site);
    let strip = draw(&site, Lit::Nothing, assessment.suspect);
    let sources = sources_of(&assessment);
    let count = |verdict| Arg::Count(assessment.count(verdict) as u32);
    let counts = speaker.fill(
        w::RECORD_COUNT,
        &[
            ("holds", count(Verdict::Holds)),
            ("look", count(Verdict::LookAgain)),
            ("fails", count(Verdict::Fails)),
            ("open", count(Verdict::NotDone)),
        ],
    );
    let checks = assessment.findings.iter().map(|finding| finding_row(app, &job, finding, &sources)).collect_view();
    let bank = assessment.bank.as_ref().and_then(|held| in_record(&job, held));
    let power = power::in_record(&job, &site, &assessment.power);
    let traced = trace::told(&site, &job.observations).taken.into_iter().filter_map(|(hold, seen)| {
        let of = hold.subject(&site);
        let when = job.last(&of).filter(|_| matches!(of, Subject::Hold(_))).map(when_and_who)?;
        let [held, doing] = hold.told(&site);
        Some(view! {
            <li class="record-check">
                <p class="record-title">{speaker.because(&held)}</p>
                <p class="record-reading">{speaker.seen(Check::PairOhmsAtMonitor, &seen)}</p>
                <p class="record-window">{speaker.because(&doing)}" "{speaker.because(&trace::expects(&site, hold))}</p>
                <p class="when">{when}</p>
            </li>
        })
    });
    let traced = traced.collect_view();
    let story = (!job.story.is_empty()).then(|| {
        let rows = job.story.told.iter().map(|told| told_row(app, told.at, &told.event)).collect_view();
        view! { <h2>{app.word(w::FIND_TITLE)}</h2><ol class="record-cards">{rows}</ol> }
    });
    let earlier = earlier(app, &job);
    let progress = Progress::of(app.content, &site, &job, &assessment);
    let ticks = progress.cards.iter().filter(|card| card.asks.is_empty());
    let cards = ticks
        .map(|card| {
            let when = match job.done(&card.key) {
                Some(at) => clock::say(at),
                None => app.word(w::RECORD_NOT_DONE).to_string(),
            };
            view! { <li><span>{card.spoken(&speaker).action}</span><span class="when">{when}</span></li> }
        })
        .collect_view();
    let source_list = sources.iter().map(|key| view! { <li>{source_line(app, key)}</li> }).collect_view();
    view! {
        <h2>{app.word(w::RECORD_SITE)}</h2>
        <dl class="facts">{facts(app, &site)}</dl>
        <h2>{app.word(w::RECORD_BUS)}</h2>
        <div class="plate"><BusStrip strip/></div>
        <h2>{app.word(w::RECORD_CHECKS)}</h2>
        <p class="small">{counts}</p>
        <ul class="record-checks">{checks}{traced}</ul>
        {bank}
        {power}
        {lists::in_record(&job, Some(Made { site: &site, assessment: &assessment }))}
        {(!earlier.is_empty()).then(|| view! {
            <h2>{app.word(w::RECORD_HISTORY)}</h2>
            <ul class="record-cards">{earlier}</ul>
        })}
        {story}
        <h2>{app.word(w::RECORD_CARDS)}</h2>
        <ul class="record-cards">{cards}</ul>
        <h2>{app.word(w::RECORD_SOURCES)}</h2>
        <ol class="sources">{source_list}</ol>
    }
}

/// Every alarm that was noted, with its time.
fn alarms(app: App, job: &Job) -> Option<impl IntoView + use<>> {
    let speaker = app.speaker();
    let rows: Vec<_> = job
        .alarms()
        .map(|(key, at, present)| {
            let title = speaker.language.alarm(key).map_or(key, |alarm| &alarm.title).to_string();
            let word = if present { w::RECORD_ALARM_PRESENT } else { w::RECORD_ALARM_GONE };
            let line = speaker.fill(word, &[("alarm", Arg::Name(title))]);
            view! { <li><span>{line}</span><span class="when">{clock::say(at)}</span></li> }
        })
        .collect();
    (!rows.is_empty()).then(|| {
        view! { <h2>{app.word(w::RECORD_ALARMS)}</h2><ul class="record-cards record-alarms">{rows}</ul> }
    })
}

/// The sources of all checks that were done, each once, in the order of their first use.
fn sources_of(assessment: &Assessment) -> Vec<&'static str> {
    let mut keys = Vec::new();
    let beside = assessment.bank.iter().flat_map(bank::beside).flat_map(|judged| &judged.sources);
    let power = assessment.power.iter().flat_map(|found| &found.judged.sources);
    for key in assessment.findings.iter().flat_map(|finding| &finding.sources).chain(beside).chain(power) {
        if !keys.contains(key) {
            keys.push(*key);
        }
    }
    keys
}

fn facts(app: App, site: &Site) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let arrangement = if site.series > 1 { w::SITE_ARRANGEMENT_SERIES } else { w::SITE_ARRANGEMENT_PARALLEL };
    let arrangement = speaker.fill(arrangement, &[("series", site.series.into()), ("parallel", site.parallel.into())]);
    let bank = speaker.fill(
        w::SITE_BANK_LINE,
        &[("capacity", site.capacity().into()), ("volts", site.nominal().into()), ("energy", site.energy().into())],
    );
    let port = speaker.fill(
        w::RECORD_PORT_LINE,
        &[
            ("monitor", format!("{}, {}", site.monitor.model, site.monitor.maker).into()),
            ("port", site.port.label.clone().into()),
        ],
    );
    let profile = speaker.fill(
        w::RECORD_PROFILE_LINE,
        &[
            ("protocol", speaker.name(&format!("protocol-{}", site.profile.protocol)).to_string().into()),
            ("rate", site.profile.bit_rate.into()),
        ],
    );
    let leads: Vec<String> = site
        .leads
        .iter()
        .map(|laid| {
            speaker
                .fill(w::RECORD_LEAD_LINE, &[("name", speaker.lead(&laid.lead).into()), ("length", laid.length.into())])
        })
        .collect();
    let terminators: Vec<String> = [End::Bank, End::Monitor]
        .into_iter()
        .map(|end| {
            let word = match (site.terminated(end), site.built_in_terminator(end)) {
                (_, true) => w::RECORD_TERMINATOR_INSIDE,
                (true, false) => w::RECORD_TERMINATOR_YES,
                (false, false) => w::RECORD_TERMINATOR_NO,
            };
            speaker.fill(word, &[("end", end.into())])
        })
        .collect();
    let chargers: Vec<String> = site.chargers.iter().map(|charger| charger.name.clone()).collect();
    let module = format!("{}, {}, {arrangement}", site.module.model, site.module.maker);
    let mut rows = vec![
        (app.word(w::RECORD_MODULE), vec![module]),
        (app.word(w::RECORD_EXPECTED), vec![bank]),
        (app.word(w::RECORD_MONITOR), vec![port]),
        (app.word(w::RECORD_PROFILE), vec![profile]),
        (app.word(w::RECORD_LEADS), leads),
        (app.word(w::RECORD_TERMINATORS), terminators),
    ];
    if !chargers.is_empty() {
        rows.push((app.word(w::RECORD_CHARGERS), chargers));
    }
    rows.into_iter()
        .map(|(term, lines)| {
            view! {
                <div>
                    <dt>{term}</dt>
                    <dd>{lines.into_iter().map(|line| view! { <span>{line}</span> }).collect_view()}</dd>
                </div>
            }
        })
        .collect_view()
}

fn finding_row(app: App, job: &Job, finding: &Finding, sources: &[&'static str]) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let title = speaker.language.checks.get(finding.check.key()).map(|words| words.title.clone()).unwrap_or_default();
    let reading = finding.seen.as_ref().map(|seen| speaker.seen(finding.check, seen));
    let window = finding
        .window
        .filter(|_| finding.seen.is_some())
        .map(|window| speaker.fill(w::CARD_WINDOW, &[("low", window.low.into()), ("high", window.high.into())]));
    let numbers: Vec<String> = finding
        .sources
        .iter()
        .filter_map(|key| sources.iter().position(|known| known == key))
        .map(|index| format!("[{}]", index + 1))
        .collect();
    let last = job.last(&Subject::Check(finding.check));
    let origin = last.and_then(Observation::origin).map(str::to_string);
    let when = last.map(when_and_who);
    let is_done = finding.verdict != Verdict::NotDone;
    view! {
        <li class="record-check">
            <p class="record-title">{title}</p>
            <p class="record-verdict"><Badge verdict=finding.verdict/></p>
            {reading.map(|reading| view! { <p class="record-reading">{reading}</p> })}
            {origin.map(|origin| view! { <p class="record-window">{origin}</p> })}
            {window.map(|window| view! { <p class="record-window">{window}</p> })}
            {is_done.then(|| view! {
                <p class="record-because">{speaker.because(&finding.because)}" "<span class="cites">{numbers.join(" ")}</span></p>
            })}
            {when.map(|when| view! { <p class="when">{when}</p> })}
        </li>
    }
}

/// Readings that later ones have replaced.
fn earlier(app: App, job: &Job) -> Vec<AnyView> {
    let speaker = app.speaker();
    let is_replaced = |observation: &&Observation| {
        matches!(observation.of, Subject::Check(_)) && latest(&job.observations, &observation.of) != Some(*observation)
    };
    job.observations
        .iter()
        .filter(is_replaced)
        .filter_map(|observation| {
            let Subject::Check(check) = observation.of else { return None };
            if observation.seen == Seen::Withdrawn {
                return None;
            }
            let title = speaker.language.checks.get(check.key()).map(|words| words.title.clone()).unwrap_or_default();
            let reading = speaker.seen(check, &observation.seen);
            let when = when_and_who(observation);
            Some(
                view! { <li><span>{format!("{title}: {reading}")}</span><span class="when">{when}</span></li> }
                    .into_any(),
            )
        })
        .collect()
}
