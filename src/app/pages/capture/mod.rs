//! A log of the bus: opened or pasted, read as a stream, and what follows from it.

mod describe;
mod said;
mod take;
mod traffic;

use crate::app::device::file::{End, Readable};
use crate::app::device::page;
use crate::app::frame::{App, app};
use crate::app::pages::capture::describe::Described;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::content::format::number;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::bus::capture::{Capture as Log, Report, Traffic};
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::cell::RefCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A log that was read, whole or in part.
pub struct Read {
    name: String,
    report: Report,
    end: End,
    /// How much of it was read, in per cent.
    percent: u32,
}

impl Read {
    fn traffic(&self, index: usize) -> Option<&Traffic> {
        self.report.interfaces.get(index)
    }
}

#[derive(Clone)]
enum Stage {
    Empty,
    Reading { name: String, megabytes: String },
    Done(Arc<Read>),
}

thread_local! {
    /// The log stays read while other pages are looked at.
    static LAST: RefCell<Option<Arc<Read>>> = const { RefCell::new(None) };
}

/// A count for a sentence.
fn count(number: u64) -> Arg {
    Arg::Count(u32::try_from(number).unwrap_or(u32::MAX))
}

/// An address on the bus as those who work with it write it.
fn address(address: u8) -> Arg {
    Arg::Name(format!("0x{address:02X}"))
}

fn group(group: u32) -> Arg {
    Arg::Name(format!("{group:05X}"))
}

/// A button that opens a file.
fn file_button(class: &'static str, label: impl IntoView, on_file: impl Fn(Readable) + 'static) -> impl IntoView {
    view! {
        <label class=format!("{class} file")>
            <input type="file" on:change=move |event| {
                if let Some(file) = Readable::chosen(&event) {
                    on_file(file);
                }
            }/>
            <span>{label}</span>
        </label>
    }
}

/// Terms with their values, two beside each other where there is room.
fn pairs(pairs: Vec<(String, String)>) -> impl IntoView {
    let rows = pairs.into_iter().map(|(term, value)| view! { <div><dt>{term}</dt><dd>{value}</dd></div> });
    view! { <dl class="pairs">{rows.collect_view()}</dl> }
}

#[component]
pub fn Capture() -> impl IntoView {
    let app = app();
    let last = LAST.with_borrow(Option::clone);
    let stage = RwSignal::new(last.map_or(Stage::Empty, Stage::Done));
    let share = RwSignal::new(0.0f64);
    let stop = StoredValue::new(Arc::new(AtomicBool::new(false)));
    on_cleanup(move || {
        stop.try_with_value(|stop| stop.store(true, Ordering::Relaxed));
    });
    let begin = move |readable: Readable| {
        let stopped = Arc::new(AtomicBool::new(false));
        stop.set_value(stopped.clone());
        share.set(0.0);
        let megabytes = number(readable.size() / 1e6, 1, app.speaker().style);
        stage.set(Stage::Reading { name: readable.name.clone(), megabytes });
        spawn_local(async move {
            let mut log = Log::new();
            let mut reached = 0.0;
            let end = readable.stream(|bytes, now| {
                log.feed(bytes);
                reached = now;
                share.try_set(now);
                !stopped.load(Ordering::Relaxed)
            });
            let end = end.await;
            let percent = if end == End::Whole { 100 } else { percent(reached) };
            let read = Arc::new(Read { name: readable.name, report: log.finish(), end, percent });
            // Left meanwhile: nobody waits for it any more.
            if stage.try_set(Stage::Done(read.clone())).is_none() {
                LAST.set(Some(read));
                request_animation_frame(page::focus_heading);
            }
        });
    };
    let body = move || {
        match stage.get() {
        Stage::Empty => view! { <Open begin/> }.into_any(),
        Stage::Reading { name, megabytes } => view! {
            <Reading name megabytes share on_cancel=move || stop.with_value(|stop| stop.store(true, Ordering::Relaxed))/>
        }
        .into_any(),
        Stage::Done(read) => view! { <Done read on_another=move || {
            LAST.set(None);
            stage.set(Stage::Empty);
            request_animation_frame(page::focus_heading);
        }/> }
        .into_any(),
    }
    };
    view! {
        <div class="page page-capture">
            <Head title=app.word(w::CAPTURE_TITLE)/>
            {body}
        </div>
    }
}

/// A share in whole per cent, for a progress bar.
fn percent(share: f64) -> u32 {
    (share * 100.0).floor() as u32
}

#[component]
fn Open(begin: impl Fn(Readable) + Copy + Send + 'static) -> impl IntoView {
    let app = app();
    let field = NodeRef::<leptos::html::Textarea>::new();
    view! {
        <p class="lead">{app.word(w::CAPTURE_LEAD)}</p>
        <section class="field paste">
            <label for="pasted">{app.word(w::CAPTURE_PASTE)}</label>
            <p class="hint" id="pasted-hint">{app.word(w::CAPTURE_PASTE_HINT)}</p>
            <textarea
                id="pasted"
                rows="6"
                class="key"
                autocomplete="off"
                autocapitalize="off"
                spellcheck="false"
                wrap="off"
                aria-describedby="pasted-hint"
                node_ref=field
            ></textarea>
            <button type="button" class="quiet" on:click=move |_| {
                // Read once, when it is asked for: it may be long.
                let text = field.get_untracked().map(|field| field.value()).unwrap_or_default();
                if let Some(readable) = Readable::text(app.word(w::CAPTURE_PASTED), &text) {
                    begin(readable);
                }
            }>{app.word(w::CAPTURE_READ_TEXT)}</button>
        </section>
        <div class="foot">{file_button("primary", app.word(w::CAPTURE_OPEN), begin)}</div>
    }
}

#[component]
fn Reading(
    name: String,
    megabytes: String,
    share: RwSignal<f64>,
    on_cancel: impl Fn() + Copy + Send + 'static,
) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let title = speaker.fill(w::CAPTURE_READING, &[("name", Arg::Name(name))]);
    let said = move || {
        let args = [("n", Arg::Count(percent(share.get()))), ("size", Arg::Name(megabytes.clone()))];
        speaker.fill(w::CAPTURE_PERCENT, &args)
    };
    view! {
        <div class="reading">
            <p id="reading-name">{title}</p>
            <progress max="100" prop:value=move || f64::from(percent(share.get())) aria-labelledby="reading-name"></progress>
            <p class="hint">{said}</p>
        </div>
        <div class="foot">
            <button type="button" class="quiet" on:click=move |_| on_cancel()>{app.word(w::CAPTURE_CANCEL)}</button>
        </div>
    }
}

#[component]
fn Done(read: Arc<Read>, on_another: impl Fn() + Copy + Send + 'static) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let interfaces = &read.report.interfaces;
    // The busiest one first; its frames are what a person wants to see.
    let busiest = (0..interfaces.len()).max_by_key(|index| interfaces.get(*index).map(Traffic::frames)).unwrap_or(0);
    let chosen = RwSignal::new(busiest);
    let choice = (interfaces.len() > 1).then(|| {
        let rows = interfaces.iter().enumerate().map(|(index, traffic)| {
            let about = speaker.fill(w::CAPTURE_INTERFACE_ABOUT, &[("n", count(traffic.frames()))]);
            Row::new(index.to_string(), traffic.name(), about)
        });
        view! {
            <Choice
                name="interface"
                legend=app.word(w::CAPTURE_INTERFACE)
                rows=rows.collect()
                chosen=Signal::derive(move || Some(chosen.get().to_string()))
                error=no_error()
                on_choose=move |key: String| chosen.set(key.parse().unwrap_or(0))
            />
        }
    });
    let partial = match read.end {
        End::Whole => None,
        End::Stopped => Some(w::CAPTURE_STOPPED),
        End::Failed => Some(w::CAPTURE_FAILED),
    }
    .map(|word| {
        let text = speaker.fill(word, &[("n", Arg::Count(read.percent))]);
        view! { <p class="caution">{icon(Icon::Caution)}<span>{text}</span></p> }
    });
    let described = RwSignal::new(describe::last());
    // Without any interface nothing below says why.
    let bad = interfaces.is_empty().then(|| bad_lines(app, &read.report));
    let empty = interfaces.is_empty().then(|| {
        view! {
            <div class="empty">
                <p class="empty-title">{app.word(w::CAPTURE_NOTHING)}</p>
                <p>{app.word(w::CAPTURE_NOTHING_ABOUT)}</p>
            </div>
        }
    });
    let name = read.name.clone();
    let of_interface = move || {
        let (read, index) = (read.clone(), chosen.get());
        view! { <OfInterface read index described on_another/> }
    };
    view! {
        <p class="lead">{name}</p>
        {partial}
        {empty}
        {bad}
        {choice}
        {of_interface}
    }
}

/// Everything about one interface.
#[component]
fn OfInterface(
    read: Arc<Read>,
    index: usize,
    described: RwSignal<Option<Described>>,
    on_another: impl Fn() + Copy + Send + 'static,
) -> impl IntoView {
    let app = app();
    let sections = read.traffic(index).map(|traffic| {
        let offers = traffic.readings().banks();
        let can_take = !offers.is_empty();
        let take = can_take.then(|| view! { <take::Take read=read.clone() index/> });
        let sections = view! {
            {traffic::facts(app, &read.report, traffic)}
            {bad_lines(app, &read.report)}
            {said::said(app, traffic.readings())}
            {take}
            <traffic::Busy read=read.clone() index/>
            <describe::Identifiers read=read.clone() index described/>
        };
        (can_take, sections)
    });
    let can_take = sections.as_ref().is_some_and(|(can_take, _)| *can_take);
    view! {
        {sections.map(|(_, sections)| sections)}
        <div class="foot">
            <button type="button" class="quiet" on:click=move |_| on_another()>{app.word(w::CAPTURE_ANOTHER)}</button>
            {can_take.then(|| view! {
                <button type="button" class="primary" on:click=move |_| page::show_first("#take")>
                    {app.word(w::CAPTURE_TAKE_SHORT)}
                </button>
            })}
        </div>
    }
}

/// The first lines that were not understood, behind a tap.
fn bad_lines(app: App, report: &Report) -> Option<impl IntoView + use<>> {
    let speaker = app.speaker();
    let problems = report.problems.iter().map(|(line, problem)| {
        let why = speaker.name(&format!("log-problem-{}", problem.key())).to_string();
        speaker.fill(w::CAPTURE_BAD_LINE, &[("n", count(*line)), ("why", why.into())])
    });
    problem_list(app, problems.collect(), report.problem_count)
}

/// Problems with their lines, and how many more there are.
fn problem_list(app: App, lines: Vec<String>, all: u64) -> Option<impl IntoView + use<>> {
    let speaker = app.speaker();
    let more = all.saturating_sub(lines.len() as u64);
    (all > 0).then(|| {
        view! {
            <details class="rests">
                <summary>{speaker.fill(w::CAPTURE_BAD_SHOW, &[("count", count(all))])}</summary>
                <ul class="sum">
                    {lines.into_iter().map(|line| view! { <li>{line}</li> }).collect_view()}
                    {(more > 0).then(|| view! { <li>{speaker.fill(w::CAPTURE_BAD_MORE, &[("n", count(more))])}</li> })}
                </ul>
            </details>
        }
    })
}
