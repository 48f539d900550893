//! How much was logged, and how busy the bus was.

use super::{Read, count, pairs};
use crate::app::frame::{App, app};
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::content::words as w;
use crate::core::bus::capture::{Loads, Plausible, Report, Traffic};
use crate::core::bus::load_picture::{Assumed, HEIGHT, RATES, WIDTH, assume, lay_out};
use crate::core::units::{Quantity, Seconds};
use leptos::prelude::*;
use std::sync::Arc;

pub fn facts(app: App, report: &Report, traffic: &Traffic) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let bad = if report.problem_count == 0 {
        app.word(w::CAPTURE_BAD_NONE).to_string()
    } else {
        report.problem_count.to_string()
    };
    let mut rows = vec![
        (w::CAPTURE_FRAMES, traffic.frames().to_string()),
        (w::CAPTURE_TIME, speaker.figure(traffic.duration())),
        (w::CAPTURE_LINES, report.lines.to_string()),
        (w::CAPTURE_BAD, bad),
    ];
    if traffic.flexible() > 0 {
        let about = speaker.fill(w::CAPTURE_FLEXIBLE_ABOUT, &[("n", count(traffic.flexible()))]);
        rows.push((w::CAPTURE_FLEXIBLE, about));
    }
    if traffic.errors() > 0 {
        rows.push((w::CAPTURE_ERRORS, traffic.errors().to_string()));
    }
    pairs(rows.into_iter().map(|(word, value)| (app.word(word).to_string(), value)).collect())
}

/// The bit rate to assume, and the load at it.
#[component]
pub fn Busy(read: Arc<Read>, index: usize) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let Some(traffic) = read.traffic(index).filter(|traffic| traffic.frames() > 0) else { return ().into_any() };
    let (first, why) = assume(traffic);
    let chosen = RwSignal::new(RATES.into_iter().position(|rate| rate == first).unwrap_or(0));
    let rows = RATES.into_iter().enumerate().map(|(index, rate)| {
        let word = match traffic.plausible(rate) {
            Plausible::Yes => w::CAPTURE_RATE_YES,
            Plausible::Crowded => w::CAPTURE_RATE_CROWDED,
            Plausible::No => w::CAPTURE_RATE_NO,
            Plausible::Unknown => w::CAPTURE_RATE_UNKNOWN,
        };
        let about = speaker.fill(word, &[("busiest", traffic.loads(rate).busiest.into())]);
        Row::new(index.to_string(), speaker.figure(rate), about)
    });
    let rows: Vec<Row> = rows.collect();
    let assumed = app.word(match why {
        Assumed::RvC => w::CAPTURE_ASSUMED_RV_C,
        Assumed::LongIdentifiers => w::CAPTURE_ASSUMED_LONG,
        Assumed::ShortIdentifiers => w::CAPTURE_ASSUMED_SHORT,
        Assumed::Slowest => w::CAPTURE_ASSUMED_SLOWEST,
        Assumed::None => w::CAPTURE_ASSUMED_NONE,
    });
    let picture = move || {
        let rate = RATES.get(chosen.get()).copied().unwrap_or(first);
        read.traffic(index).map(|traffic| picture(app, &traffic.loads(rate), traffic.duration()))
    };
    view! {
        <h2>{app.word(w::CAPTURE_BUSY)}</h2>
        <div class="plate">{picture}</div>
        <p class="hint">{app.word(w::CAPTURE_LOAD_RULE)}</p>
        <Choice
            name="rate"
            legend=app.word(w::CAPTURE_RATE)
            hint=format!("{} {assumed}", app.word(w::CAPTURE_RATE_HINT))
            rows
            chosen=Signal::derive(move || Some(chosen.get().to_string()))
            error=no_error()
            on_choose=move |key: String| chosen.set(key.parse().unwrap_or(0))
        />
    }
    .into_any()
}

const LEFT: f64 = 46.0;
const TOP: f64 = 10.0;

fn picture(app: App, loads: &Loads, duration: Seconds) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let drawn = lay_out(loads);
    let line: Vec<String> = drawn.line.iter().map(|(x, y)| format!("{:.1},{:.1}", LEFT + x, TOP + y)).collect();
    let (right, floor) = (LEFT + WIDTH, TOP + HEIGHT);
    let area = format!("{LEFT},{floor} {} {right},{floor}", line.join(" "));
    let label = speaker.fill(
        w::CAPTURE_LOAD_LABEL,
        &[("time", duration.into()), ("mean", loads.mean.into()), ("busiest", loads.busiest.into())],
    );
    let figures = pairs(vec![
        (app.word(w::CAPTURE_LOAD_MEAN).to_string(), speaker.figure(loads.mean)),
        (app.word(w::CAPTURE_LOAD_BUSIEST).to_string(), speaker.figure(loads.busiest)),
    ]);
    view! {
        <svg class="load-picture" viewBox="0 0 374 132" role="img" aria-label=label>
            <polygon class="lp-area" points=area></polygon>
            <polyline class="lp-line" points=line.join(" ")></polyline>
            <line class="lp-mean" x1=LEFT x2=right y1=TOP + drawn.mean y2=TOP + drawn.mean></line>
            <path class="lp-axis" d=format!("M{LEFT} {TOP}V{floor}H{right}")></path>
            <text class="wl-text" x=LEFT - 6.0 y=TOP + 9.0 text-anchor="end">{speaker.figure(drawn.top)}</text>
            <text class="wl-text" x=LEFT - 6.0 y=floor text-anchor="end">"0"</text>
            <text class="wl-text" x=right y=floor + 18.0 text-anchor="end">{speaker.figure(duration)}</text>
            <text class="wl-text" x=LEFT y=floor + 18.0>{speaker.figure(Seconds::of(0.0))}</text>
        </svg>
        {figures}
    }
}

/// An interval as it stands in a list.
pub fn interval(app: App, seconds: impl Quantity) -> String {
    app.speaker().figure(seconds)
}
