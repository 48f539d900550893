//! The identifiers one by one, and a file that names their signals.

use super::traffic::interval;
use super::{Read, address, count, file_button, group, pairs, problem_list};
use crate::app::device::file::Readable;
use crate::app::frame::{App, app};
use crate::content::format::number;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::bus::capture::Talker;
use crate::core::bus::dbc::{Dbc, MOST_BYTES};
use crate::core::bus::frame::Identifier;
use crate::core::bus::rvc;
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::cell::RefCell;
use std::sync::Arc;

/// Identifiers shown at first, and added with each touch.
const STEP: usize = 24;

/// A description with the name of its file; none when the file could not be read.
pub type Described = (String, Option<Arc<Dbc>>);

thread_local! {
    static LAST: RefCell<Option<Described>> = const { RefCell::new(None) };
}

/// The description that was added last.
pub fn last() -> Option<Described> {
    LAST.with_borrow(Option::clone)
}

#[component]
pub fn Identifiers(read: Arc<Read>, index: usize, described: RwSignal<Option<Described>>) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let Some(traffic) = read.traffic(index) else { return ().into_any() };
    let all = traffic.talkers.len();
    let shown = RwSignal::new(STEP.min(all));
    let add = move |file: Readable| {
        spawn_local(async move {
            // One byte more than is read, so that a larger file is known as such.
            let dbc = file.whole(MOST_BYTES + 1).await.map(|bytes| Arc::new(Dbc::read(&bytes)));
            let new = Some((file.name, dbc));
            LAST.set(new.clone());
            described.try_set(new);
        });
    };
    let about_file = {
        let read = read.clone();
        move || described.get().map(|described| about_file(app, &read, index, &described))
    };
    let button = move || {
        let word = if described.with(Option::is_some) { w::CAPTURE_DBC_ANOTHER } else { w::CAPTURE_DBC };
        app.word(word)
    };
    let cards = move || {
        let dbc = described.get().and_then(|(_, dbc)| dbc);
        let talkers = read.traffic(index).map(|traffic| traffic.talkers.as_slice()).unwrap_or_default();
        talkers
            .iter()
            .take(shown.get())
            .map(|(id, talker)| identifier_card(app, *id, talker, dbc.as_deref()))
            .collect_view()
    };
    let more = move || {
        let left = all - shown.get();
        (left > 0).then(|| {
            let next = left.min(STEP * 4);
            view! {
                <button type="button" class="quiet" on:click=move |_| shown.update(|shown| *shown += next)>
                    {speaker.fill(w::CAPTURE_MORE, &[("n", count(next as u64))])}
                </button>
            }
        })
    };
    view! {
        <h2>{app.word(w::CAPTURE_IDENTIFIERS)}</h2>
        <p>{speaker.fill(w::CAPTURE_IDENTIFIERS_COUNT, &[("n", count(all as u64))])}</p>
        <div class="describe">
            <p class="hint">{app.word(w::CAPTURE_DBC_ABOUT)}</p>
            {file_button("quiet", button, add)}
            <div aria-live="polite">{about_file}</div>
        </div>
        <ul class="rows cards">{cards}</ul>
        {more}
    }
    .into_any()
}

fn about_file(app: App, read: &Read, index: usize, (name, dbc): &Described) -> AnyView {
    let speaker = app.speaker();
    let Some(dbc) = dbc else { return view! { <p class="error">{app.word(w::CAPTURE_DBC_FAILED)}</p> }.into_any() };
    let talkers = read.traffic(index).map(|traffic| traffic.talkers.as_slice()).unwrap_or_default();
    let known = talkers.iter().filter(|(id, _)| dbc.message_of(*id).is_some()).count();
    let args =
        [("name", Arg::Name(name.clone())), ("n", count(dbc.messages.len() as u64)), ("known", count(known as u64))];
    let lines = dbc.problems.iter().map(|(line, problem)| {
        let why = speaker.name(&format!("dbc-problem-{}", problem.key())).to_string();
        speaker.fill(w::CAPTURE_BAD_LINE, &[("n", count(*line)), ("why", why.into())])
    });
    let bad = (dbc.problem_count > 0).then(|| {
        let said = speaker.fill(w::CAPTURE_DBC_BAD, &[("n", count(dbc.problem_count))]);
        view! { <p>{said}</p>{problem_list(app, lines.collect(), dbc.problem_count)} }
    });
    view! { <p>{speaker.fill(w::CAPTURE_DBC_READ, &args)}</p>{bad} }.into_any()
}

fn identifier_card(app: App, id: Identifier, talker: &Talker, dbc: Option<&Dbc>) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let named = dbc.and_then(|dbc| dbc.message_of(id)).map(|message| message.name.clone());
    let parts = rvc::split(id.value()).filter(|_| id.is_extended());
    let about = named.or(parts.map(|parts| {
        speaker.fill(w::CAPTURE_GROUP, &[("group", group(parts.dgn)), ("address", address(parts.source_address))])
    }));
    let mut rows = vec![(w::CAPTURE_COUNT, talker.count.to_string())];
    if let Some(intervals) = talker.intervals {
        let args = [("low", intervals.least.into()), ("high", intervals.greatest.into())];
        rows.push((w::CAPTURE_EVERY, interval(app, intervals.mean)));
        rows.push((w::CAPTURE_SPAN, speaker.fill(w::CAPTURE_SPAN_LINE, &args)));
        rows.push((w::CAPTURE_JITTER, interval(app, intervals.jitter)));
    }
    rows.push((w::CAPTURE_SILENCE, interval(app, talker.silence)));
    let (least, most) = talker.bytes;
    let bytes = if least == most {
        most.to_string()
    } else {
        let byte = |number: u8| Arg::Count(u32::from(number));
        speaker.fill(w::CAPTURE_BYTES_LINE, &[("low", byte(least)), ("high", byte(most))])
    };
    rows.push((w::CAPTURE_BYTES, bytes));
    let rows = rows.into_iter().map(|(word, value)| (app.word(word).to_string(), value)).collect();
    let signals = dbc.zip(talker.data).map(|(dbc, data)| {
        let signals = dbc.decode(id, data.as_slice()).into_iter().map(|signal| {
            let value = match signal.named {
                Some(named) => named.to_string(),
                None => format!("{} {}", number(signal.value, 4, speaker.style), signal.unit),
            };
            (signal.name.to_string(), value)
        });
        signals.collect::<Vec<_>>()
    });
    let signals = signals.filter(|signals| !signals.is_empty());
    view! {
        <li class="card">
            <h3><span class="key">{id.to_string()}</span>" "{about.map(|about| view! { <span class="hint">{about}</span> })}</h3>
            {signals.map(|signals| view! { <div class="signals">{pairs(signals)}</div> })}
            {pairs(rows)}
        </li>
    }
}
