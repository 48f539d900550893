//! Ohms, reading by reading: how to hold the meter, what may be wrong after each reading, and the reading that tells most
//! next. The same part in a job, and for a bus that is described by its devices and its length alone.

use crate::app::device::{clock, page};
use crate::app::frame::{App, app};
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::explain::explain_later;
use crate::app::parts::field::{NumberField, no_error};
use crate::app::parts::finding::{FindingView, Rests};
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::stretches::Stretches;
use crate::app::parts::strip::LiveStrip;
use crate::content::words as w;
use crate::core::because::{Arg, Because};
use crate::core::entry::{self, Entry};
use crate::core::faults::bus::Pair;
use crate::core::faults::tied;
use crate::core::job::check::Check;
use crate::core::job::hold::{Doing, Hold, places};
use crate::core::job::strip::{Lit, draw};
use crate::core::job::trace::{self, Advice, Outcome, Seeking, Suspicion};
use crate::core::job::{Observation, Seen};
use crate::core::site::{Site, Stop};
use crate::core::units::{Kind, Quantity};
use leptos::prelude::*;

/// What the part works on, and where what is entered goes.
#[derive(Clone, Copy)]
pub struct Tracing {
    pub site: Memo<Option<Site>>,
    pub observations: Memo<Vec<Observation>>,
    /// The text that stands in the field.
    pub text: Memo<String>,
    pub on_text: Callback<String>,
    pub observe: Callback<Observation>,
}

#[component]
pub fn Trace(tracing: Tracing) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let Tracing { site, observations, text, on_text, observe } = tracing;
    let explained = RwSignal::new(());
    let told = Memo::new(move |_| {
        explained.track();
        site.with(|site| site.as_ref().map(|site| observations.with(|seen| trace::told_at_once(site, seen))))
            .unwrap_or_default()
    });
    let open = move |_: Option<&_>| {
        let is_open = told.with(|told| !told.explained);
        site.get().filter(|_| is_open).map(|site| (site, observations.get()))
    };
    explain_later(Memo::new(open), explained);
    let chosen = RwSignal::new(None::<Hold>);
    // `None`: not known yet.
    let advice = RwSignal::new(None::<Option<Advice>>);
    // The choice of the next reading is the slowest sum of all.
    let stretches = Stretches::new();
    Effect::new(move |_| {
        site.track();
        stretches.stop();
        advice.set(None);
        // The first reading is always the monitor's.
        let is_asked = told.with(|told| told.explained && !told.taken.is_empty());
        let seek = move |site: &Site| observations.with_untracked(|seen| Seeking::new(site, seen));
        let mut seeking = None;
        if is_asked {
            stretches.begin(move || {
                if seeking.is_none() {
                    seeking = site.try_with_untracked(|site| site.as_ref().map(seek)).flatten();
                }
                let found = seeking.as_mut().map_or(Some(None), Seeking::go_on);
                let is_known = found.is_some();
                if is_known {
                    advice.try_set(found);
                }
                is_known
            });
        }
    });
    let hold = Memo::new(move |before: Option<&Hold>| {
        let first = Hold { at: Stop::Monitor, pair: Pair::HighLow, doing: Doing::Nothing };
        let advised = || match advice.get() {
            _ if told.with(|told| told.taken.is_empty()) => first,
            // Until the next one is known the last one stands: what is shown does not change twice.
            None => before.copied().unwrap_or(first),
            Some(advice) => advice.map_or(first, |advice| advice.hold),
        };
        chosen.get().unwrap_or_else(advised)
    });
    let error = RwSignal::new(None::<String>);
    let take = move |()| match entry::read(&text.get_untracked(), Kind::Ohms) {
        Err(why) => {
            error.set(Some(speaker.unreadable(&why)));
            page::focus_first("[aria-invalid=true]");
        }
        Ok(entry) => {
            let seen = match entry {
                Entry::Figure(shown) => Seen::Figure(shown),
                Entry::BeyondRange => Seen::BeyondRange,
            };
            let Some(of) = site.with_untracked(|site| site.as_ref().map(|site| hold.get_untracked().subject(site)))
            else {
                return;
            };
            let typed = text.get_untracked();
            chosen.set(None);
            on_text.run(String::new());
            observe.run(Observation::new(of, clock::now(), seen, typed));
            request_animation_frame(|| page::show_first(".trace-told"));
        }
    };
    let has_site = Memo::new(move |_| site.with(Option::is_some));
    let drawn = Signal::derive(move || {
        let (at, suspect) = (hold.get().at, told.with(|told| told.suspect));
        site.with(|site| site.as_ref().map(|site| draw(site, Lit::Meter(at), suspect)).unwrap_or_default())
    });
    let strip = move || has_site.get().then(|| view! { <div class="plate"><LiveStrip strip=drawn/></div> });
    let advised = move || advice.get().filter(|_| chosen.get().is_none() && !told.with(|told| told.taken.is_empty()));
    let why = move || match advised() {
        Some(Some(advice)) => speaker.fill(w::TRACE_TELLS_MOST, &[("time", advice.takes.into())]),
        _ => String::new(),
    };
    // Until the next reading is known the card stays: what is shown does not change twice.
    let is_told_all = Memo::new(move |before: Option<&bool>| match advice.get() {
        _ if chosen.get().is_some() || told.with(|told| told.taken.is_empty()) => false,
        None => before.copied().unwrap_or(false),
        Some(advice) => advice.is_none(),
    });
    let now = move || {
        site.with(|site| {
            site.as_ref().map(|site| {
                let [at, doing] = hold.get().told(site).map(|told| speaker.because(&told));
                let expects = speaker.because(&trace::expects(site, hold.get()));
                let outcome = is_told_all.get().then(|| told.with(|told| trace::outcome(&told.suspicions))).flatten();
                let is_over = outcome.is_some();
                let (over, action, see, after) = match outcome {
                    None => (w::TRACE_NEXT, at, format!("{doing} {expects}"), None),
                    // What to do comes before where to measure after it.
                    Some(outcome) => {
                        let (over, action, then, again) = come_down_to(app, &outcome);
                        let see = format!("{} {then}", app.word(w::TRACE_TELLS_LITTLE));
                        (over, action, see, Some(format!("{} {at}. {doing} {expects}", app.word(again))))
                    }
                };
                view! {
                    <p class="over">{app.word(over)}</p>
                    <p class="next-action">{action}</p>
                    <p class="see" class:trace-why=is_over>{see}</p>
                    {after.map(|after| view! { <p class="hint">{after}</p> })}
                }
            })
        })
    };
    let other = move || site.with(|site| site.as_ref().map(|site| other_ways(app, site, hold, chosen)));
    // The sum of the last reading, and the sources: open or not from reading to reading.
    let sums = [RwSignal::new(false), RwSignal::new(false)];
    view! {
        <section class="next" aria-live="polite">{now}</section>
        <NumberField id="trace-ohms" label=app.word(w::TRACE_READING) hint=app.word(w::TRACE_READING_HINT)
            unit=Kind::Ohms.symbol() signed=false whole=false large=true text error
            on_text=move |typed| { error.set(None); on_text.run(typed); } on_enter=Callback::new(take)/>
        <p class="hint trace-why" aria-live="polite">{why}</p>
        {strip}
        <details class="fold"><summary>{app.word(w::TRACE_OTHER)}</summary>{other}</details>
        <div class="trace-told" aria-live="polite">{move || told.with(|told| outcome(app, told, sums))}</div>
        <div class="trace-taken">{move || told.with(|told| readings(app, told, site, observe))}</div>
        <details class="fold">
            <summary>{app.word(w::TRACE_BLIND)}</summary>
            <ul class="plain">
                {trace::BLIND.map(|(class, check)| view! {
                    <li><strong>{speaker.name(&trace::name_of(class).0)}": "</strong>{speaker.because(&check)}</li>
                }).collect_view()}
            </ul>
        </details>
        <div class="foot">
            <button type="button" class="primary" on:click=move |_| take(())>{app.word(w::TRACE_TAKE)}</button>
        </div>
    }
}

/// What the readings come down to: heading, what it is, what to do then, and how to go on to where to measure after it.
fn come_down_to(app: App, outcome: &Outcome) -> (w::Word, String, String, w::Word) {
    let speaker = app.speaker();
    let name = |one: &Suspicion| speaker.name(&trace::name_of(one.class).0).to_string();
    let alone = |one: &Suspicion| format!("{}, {}", name(one), speaker.figure(one.share));
    let word = |word| app.word(word).to_string();
    match outcome {
        Outcome::Whole(one) => (w::TRACE_DONE, alone(one), String::new(), w::TRACE_ONCE_MORE),
        Outcome::Check(one, check) => (w::TRACE_CHECK, alone(one), speaker.because(check), w::TRACE_AGAIN),
        Outcome::Mend(one) => (w::TRACE_MEND, alone(one), word(w::TRACE_MEND_IT), w::TRACE_AGAIN),
        Outcome::OneOf(some) => {
            let names: Vec<String> = some.iter().map(name).collect();
            let share = some.first().map(|one| speaker.figure(one.share)).unwrap_or_default();
            let args = [("names", Arg::Name(names.join("; "))), ("share", Arg::Name(share))];
            (w::TRACE_MEND, speaker.fill(w::TRACE_EACH, &args), word(w::TRACE_MEND_FOUND), w::TRACE_AGAIN)
        }
    }
}

/// The kinds of fault that remain, each with its places.
fn outcome(app: App, told: &trace::Told, sums: [RwSignal<bool>; 2]) -> Option<AnyView> {
    let speaker = app.speaker();
    (!told.taken.is_empty()).then(|| {
        let one = |suspicion: &Suspicion| {
            let share = suspicion.share.get();
            let places: Vec<String> = suspicion
                .places
                .iter()
                .map(|(place, share)| format!("{} ({})", speaker.because(place), speaker.figure(*share)))
                .collect();
            let check = suspicion.check.as_ref().map(|check| view! { <p class="row-about">{speaker.because(check)}</p> });
            view! {
                <li class="suspicion">
                    <p><span class="row-title">{speaker.name(&trace::name_of(suspicion.class).0)}</span>
                    <span class="share">{speaker.figure(suspicion.share)}</span></p>
                    <meter min="0" max="100" value=share aria-hidden="true"></meter>
                    {(!places.is_empty()).then(|| view! { <p class="row-about">{places.join("; ")}</p> })}
                    {check}
                </li>
            }
        };
        let volts = (!told.quiet).then(|| {
            view! { <p class="caution">{icon(Icon::Caution)}<span>{speaker.because(&Because::VoltsFirst {})}</span></p> }
        });
        let last = told.last.clone().map(|finding| view! { <FindingView finding open=sums[0]/> });
        let tie = tied(told.suspicions.iter().map(|suspicion| suspicion.share));
        let tie = tie.map(|n| view! { <p class="see">{speaker.fill(w::TRACE_TIED, &[("n", Arg::Count(n))])}</p> });
        view! {
            {last}
            {volts}
            {told.explained.then(|| view! {
                <h2>{app.word(w::TRACE_REMAINS)}</h2>
                {tie}
                <ul class="suspicions">{told.suspicions.iter().map(one).collect_view()}</ul>
                <p class="hint">{app.word(w::TRACE_SHARES)}</p>
                <Rests sum=Vec::new() sources=trace::SOURCES.to_vec() open=sums[1]/>
            })}
        }
        .into_any()
    })
}

/// The readings so far, each to be taken back.
fn readings(app: App, told: &trace::Told, site: Memo<Option<Site>>, observe: Callback<Observation>) -> Option<AnyView> {
    let speaker = app.speaker();
    let site = site.get_untracked()?;
    (!told.taken.is_empty()).then(|| {
        let one = |(hold, seen): &(Hold, Seen)| {
            let [at, doing] = hold.told(&site);
            let done = (hold.doing != Doing::Nothing)
                .then(|| view! { <span class="row-about">{speaker.because(&doing)}</span> });
            let of = hold.subject(&site);
            view! {
                <li class="taken">
                    <span class="row-words"><span class="row-title">{speaker.because(&at)}</span>{done}</span>
                    <span class="share">{speaker.seen(Check::PairOhmsAtMonitor, seen)}</span>
                    <button type="button" class="quiet" on:click=move |_| {
                        let of = of.clone();
                        observe.run(Observation::new(of, clock::now(), Seen::Withdrawn, ""));
                    }>{app.word(w::TRACE_BACK)}</button>
                </li>
            }
        };
        view! {
            <h2>{app.word(w::TRACE_TAKEN)}</h2>
            <ul class="plain">{told.taken.iter().map(one).collect_view()}</ul>
        }
        .into_any()
    })
}

/// Every other way to hold the meter.
fn other_ways(app: App, site: &Site, hold: Memo<Hold>, chosen: RwSignal<Option<Hold>>) -> AnyView {
    let speaker = app.speaker();
    let pairs = [Pair::HighLow, Pair::HighReference, Pair::LowReference];
    let with_at = |at| Hold { at, pair: Pair::HighLow, doing: Doing::Nothing };
    let choice = |name: &'static str, legend: w::Word, options: Vec<(Hold, String)>, part: fn(Hold, Hold) -> Hold| {
        let rows = options.iter().map(|(hold, title)| Row::new(hold.key(), title.as_str(), "")).collect();
        let keys: Vec<Hold> = options.into_iter().map(|(hold, _)| hold).collect();
        let is = Signal::derive(move || {
            let now = hold.get();
            keys.iter().find(|option| part(now, **option) == now).map(|option| option.key())
        });
        view! {
            <Choice name legend=app.word(legend) rows chosen=is error=no_error()
                on_choose=move |key: String| if let Some(option) = Hold::from_key(&key) {
                    chosen.set(Some(part(hold.get_untracked(), option)));
                }/>
        }
        .into_any()
    };
    let wheres = places(site).into_iter().map(|at| (with_at(at), speaker.place(site, at))).collect();
    let betweens = pairs.map(|pair| Hold { pair, ..with_at(Stop::Monitor) });
    let betweens = betweens.map(|hold| (hold, speaker.name(&hold.pair_name().0).to_string())).to_vec();
    let doings = Doing::all(site)
        .into_iter()
        .map(|doing| (Hold { doing, ..with_at(Stop::Monitor) }, speaker.because(&doing.told(site))))
        .collect();
    view! {
        {choice("trace-at", w::TRACE_AT, wheres, |now, option| Hold { at: option.at, ..now })}
        {choice("trace-pair", w::TRACE_PAIR, betweens, |now, option| Hold { pair: option.pair, ..now })}
        {choice("trace-doing", w::TRACE_DOING, doings, |now, option| Hold { doing: option.doing, ..now })}
    }
    .into_any()
}
