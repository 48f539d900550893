//! Figures of a log as readings of a job: listed first, with a tick each.

use super::{Read, address, count, group, said};
use crate::app::device::clock;
use crate::app::frame::{App, app};
use crate::app::pages::jobs::{MANY, name_in_brief};
use crate::app::parts::choice::{Boxes, Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::bus::readings::Voice;
use crate::core::job::Seen;
use crate::core::job::take::{Offer, offers, take};
use leptos::prelude::*;
use std::sync::Arc;

#[component]
pub fn Take(read: Arc<Read>, index: usize) -> impl IntoView {
    let app = app();
    let Some(traffic) = read.traffic(index) else { return ().into_any() };
    let banks = traffic.readings().banks();
    let chosen = RwSignal::new(0usize);
    let senders = (banks.len() > 1).then(|| {
        let rows = banks.iter().enumerate().filter_map(|(index, voice)| {
            let source = traffic.readings().sources.get(voice)?;
            Some(Row::new(index.to_string(), said::of(app, voice.of), said::from(app, *voice, source)))
        });
        view! {
            <Choice
                name="sender"
                legend=app.word(w::CAPTURE_TAKE_SOURCE)
                rows=rows.collect()
                chosen=Signal::derive(move || Some(chosen.get().to_string()))
                error=no_error()
                on_choose=move |key: String| chosen.set(key.parse().unwrap_or(0))
            />
        }
    });
    let of_sender = move || {
        let readings = read.traffic(index)?.readings();
        let voice = banks.get(chosen.get()).copied()?;
        let offered = offers(readings, voice);
        (!offered.is_empty()).then(|| view! { <OfSender voice offered/> })
    };
    view! {
        <section id="take" class="take">
            <h2>{app.word(w::CAPTURE_TAKE)}</h2>
            <p class="hint">{app.word(w::CAPTURE_TAKE_LEAD)}</p>
            {senders}
            {of_sender}
        </section>
    }
    .into_any()
}

/// The title of a check, with the figure that it would get.
fn row(app: App, voice: Voice, offer: &Offer) -> Row {
    let speaker = app.speaker();
    let title = speaker.language.checks.get(offer.check.key()).map(|words| words.title.clone()).unwrap_or_default();
    let figure = speaker.figure(offer.figure);
    let (value, about) = match (&offer.seen, offer.said) {
        (Seen::Answer(_), _) => {
            let answer = [("answer", speaker.seen(offer.check, &offer.seen).into())];
            (figure, speaker.fill(w::CAPTURE_TAKE_CURRENT_ABOUT, &answer))
        }
        (_, Some(said)) => {
            let args = [("group", group(said.group)), ("address", address(voice.address))];
            (figure, speaker.fill(w::CAPTURE_TAKE_FROM, &args))
        }
        (_, None) => (figure, app.word(w::CAPTURE_TAKE_FROM_COUNT).to_string()),
    };
    Row::new(offer.check.key(), format!("{title}: {value}"), about)
}

/// The text that is kept with the reading, so that the record can say where it came from.
fn typed(app: App, voice: Voice, offer: &Offer) -> String {
    let speaker = app.speaker();
    let figure = ("figure", Arg::Name(speaker.figure(offer.figure)));
    match offer.said {
        Some(said) => {
            speaker.fill(w::CAPTURE_TYPED, &[figure, ("group", group(said.group)), ("address", address(voice.address))])
        }
        None => speaker.fill(w::CAPTURE_TYPED_COUNT, &[figure]),
    }
}

#[component]
fn OfSender(voice: Voice, offered: Vec<Offer>) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let usual = offered.iter().filter(|offer| offer.usual).map(|offer| offer.check.key().to_string()).collect();
    let ticked = RwSignal::new(usual);
    let job = RwSignal::new(None::<String>);
    let error = RwSignal::new(None::<String>);
    let taken = RwSignal::new(None::<(String, String)>);
    let rows: Vec<Row> = offered.iter().map(|offer| row(app, voice, offer)).collect();
    let jobs = move || {
        let all = app.store.briefs();
        let jobs: Vec<_> = all.iter().filter(|job| !job.archived).take(MANY).collect();
        if jobs.is_empty() {
            return view! { <p>{app.word(w::CAPTURE_TAKE_NO_JOB)}</p> }.into_any();
        }
        if let [only] = jobs.as_slice()
            && job.get_untracked().is_none()
        {
            job.set(Some(only.id.clone()));
        }
        let rows = jobs.iter().map(|job| {
            let begun = speaker.fill(w::JOBS_BEGUN, &[("when", Arg::Name(clock::say(job.begun)))]);
            Row::new(job.id.clone(), name_in_brief(app, job), begun)
        });
        view! {
            <Choice
                name="job"
                legend=app.word(w::CAPTURE_TAKE_JOB)
                rows=rows.collect()
                chosen=job
                error
                on_choose=move |id: String| {
                    error.set(None);
                    job.set(Some(id));
                }
            />
        }
        .into_any()
    };
    // Taking changes the list of jobs, which must not be drawn anew under the finger: it is followed by number only.
    let many = Memo::new(move |_| app.store.briefs().iter().filter(|job| !job.archived).count());
    let jobs = move || {
        many.track();
        untrack(jobs)
    };
    let go = move |_| {
        let chosen: Vec<(Offer, String)> = ticked.with_untracked(|ticked: &Vec<String>| {
            let is_chosen = |offer: &&Offer| ticked.iter().any(|key| key == offer.check.key());
            offered.iter().filter(is_chosen).map(|offer| (offer.clone(), typed(app, voice, offer))).collect()
        });
        let into =
            job.get_untracked().and_then(|id| untrack(|| app.store.briefs()).iter().find(|job| job.id == id).cloned());
        taken.set(None);
        match into {
            None => error.set(Some(app.word(w::CAPTURE_TAKE_CHOOSE_JOB).to_string())),
            Some(_) if chosen.is_empty() => error.set(Some(app.word(w::CAPTURE_TAKE_NOTHING).to_string())),
            Some(job) => {
                error.set(None);
                let args = [("n", count(chosen.len() as u64)), ("name", Arg::Name(name_in_brief(app, &job)))];
                app.store.change(&job.id, |job| take(job, chosen, clock::now()));
                taken.set(Some((speaker.fill(w::CAPTURE_TAKEN, &args), job.id.clone())));
            }
        }
    };
    let label = move || {
        let n = ticked.with(Vec::len);
        speaker.fill(w::CAPTURE_TAKE_BUTTON, &[("n", count(n as u64))])
    };
    view! {
        <Boxes
            name="take-what"
            legend=app.word(w::CAPTURE_TAKE_WHAT)
            rows
            chosen=ticked
            on_toggle=move |key: String, on: bool| ticked.update(|ticked| {
                ticked.retain(|known| *known != key);
                if on {
                    ticked.push(key);
                }
            })
        />
        {jobs}
        {move || (many.get() > 0).then(|| view! {
            <button type="button" class="quiet take-now" on:click=go.clone()>{label}</button>
        })}
        <div role="status">
            {move || taken.get().map(|(said, id)| view! {
                <p class="taken">{said}</p>
                <a class="quiet" href=Screen::Job(id).to_string()>{app.word(w::CAPTURE_TAKE_OPEN)}</a>
            })}
        </div>
    }
}
