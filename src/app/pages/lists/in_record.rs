//! The checklists of a job in its record: every item with what became of it, and what was not checked.

use super::item::{reading_of, when_and_who};
use super::{said, title_of};
use crate::app::frame::{App, app};
use crate::app::parts::badge::Badge;
use crate::app::parts::finding::source_line;
use crate::content::checklist::{Item, List, Made, Standing, State, list};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::assess::Verdict;
use leptos::prelude::*;

/// Nothing where the job goes by no list. Without a site only a person's own lists can be told.
pub fn in_record(job: &Job, made: Option<Made<'_>>) -> Option<AnyView> {
    let app = app();
    let lists = job.lists.iter().filter_map(|taken| list(app.content, taken, made));
    let lists: Vec<AnyView> = lists.map(|list| one(app, &list, job, made)).collect();
    (!lists.is_empty()).then(|| lists.into_any())
}

fn one(app: App, list: &List<'_>, job: &Job, made: Option<Made<'_>>) -> AnyView {
    let standings: Vec<(&Item<'_>, Standing)> =
        list.items().map(|item| (item, list.standing(item, job, made))).collect();
    let answered = standings.iter().filter(|(_, standing)| standing.state != State::Open);
    let rows = answered.map(|(item, standing)| row(app, item, standing)).collect_view();
    let open: Vec<String> = standings
        .iter()
        .filter(|(_, standing)| standing.state == State::Open)
        .map(|(item, _)| item.text.clone())
        .collect();
    let not_checked = (!open.is_empty()).then(|| {
        let title = app.speaker().fill(w::RECORD_LISTS_NOT_CHECKED, &[("n", Arg::Count(open.len() as u32))]);
        let items = open.into_iter().map(|text| view! { <li>{text}</li> }).collect_view();
        view! { <h3>{title}</h3><ul class="record-open">{items}</ul> }
    });
    view! {
        <h2>{title_of(app, &list.title)}</h2>
        <p class="small">{said(list.counts(job, made))}</p>
        <ul class="record-checks record-list">{rows}</ul>
        {not_checked}
    }
    .into_any()
}

fn row(app: App, item: &Item<'_>, standing: &Standing) -> AnyView {
    let speaker = app.speaker();
    let Some(seen) = &standing.seen else { return ().into_any() };
    let reading = reading_of(item, &seen.seen);
    let state = match standing.state {
        State::Judged(verdict) => view! { <Badge verdict/> }.into_any(),
        State::NotApplicable => view! { <span>{app.word(w::LIST_NOT_APPLICABLE)}</span> }.into_any(),
        // A tick holds or is not there: it has no verdict of its own.
        State::Done | State::Open => view! { <span>{app.word(w::LIST_DONE)}</span> }.into_any(),
    };
    let window = standing.judged.as_ref().and_then(|(_, window)| *window);
    let window = window.or_else(|| standing.finding.as_ref().and_then(|finding| finding.window));
    let window = window
        .filter(|_| !reading.is_empty())
        .map(|window| speaker.fill(w::CARD_WINDOW, &[("low", window.low.into()), ("high", window.high.into())]));
    // The reason of a check stands in the record already; it is said again where it does not hold.
    let because = match (&standing.judged, &standing.finding) {
        (Some((because, _)), _) => Some(speaker.because(because)),
        (None, Some(finding)) if finding.verdict > Verdict::Holds => Some(speaker.because(&finding.because)),
        _ => None,
    };
    let sources = item.sources.iter().filter(|_| standing.judged.is_some()).map(|key| source_line(app, key));
    let sources = sources.collect::<Vec<String>>().join("; ");
    let note = match standing.state {
        State::NotApplicable => Some(speaker.fill(w::LIST_BECAUSE, &[("why", Arg::Name(seen.note.clone()))])),
        _ if seen.note.trim().is_empty() => None,
        _ => Some(speaker.fill(w::RECORD_LISTS_NOTE, &[("note", Arg::Name(seen.note.clone()))])),
    };
    view! {
        <li class="record-check">
            <p class="record-title">{item.text.clone()}</p>
            <p class="record-verdict">{state}</p>
            {(!reading.is_empty()).then(|| view! { <p class="record-reading">{reading}</p> })}
            {window.map(|window| view! { <p class="record-window">{window}</p> })}
            {because.map(|because| view! {
                <p class="record-because">{because}{(!sources.is_empty()).then(|| view! { <span class="cites">" ("{sources}")"</span> })}</p>
            })}
            {note.map(|note| view! { <p class="record-because">{note}</p> })}
            <p class="when">{when_and_who(seen)}</p>
        </li>
    }
    .into_any()
}
