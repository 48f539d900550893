//! The bus strip, drawn from the site.

use crate::app::frame::{App, app};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::strip::{DrawnLead, DrawnStop, DrawnTerminator, Strip};
use crate::core::site::Stop;
use crate::core::units::Quantity;
use leptos::prelude::*;

#[component]
pub fn BusStrip(strip: Strip) -> impl IntoView {
    let app = app();
    let label = in_words(app, &strip);
    let view_box = format!("0 0 {} {}", strip.width, strip.height);
    let meter = strip.meter.map(|(_, x, y)| {
        view! {
            <g class="bs-meter">
                <path d=format!("M{:.1} {:.1}v-10l-10 -12M{:.1} {:.1}v-10l10 -12", x - 5.0, y, x + 5.0, y)></path>
                <rect x=x - 20.0 y=y - 44.0 width="40" height="22" rx="4"></rect>
                <text x=x y=y - 28.5 text-anchor="middle">"Ω V"</text>
            </g>
        }
    });
    view! {
        <svg class="bus-strip" viewBox=view_box role="img" aria-label=label>
            {strip.leads.iter().map(|lead| draw_lead(app, lead)).collect_view()}
            {strip.terminators.iter().map(draw_terminator).collect_view()}
            {strip.stops.iter().map(draw_stop).collect_view()}
            {meter}
        </svg>
    }
}

fn draw_lead(app: App, lead: &DrawnLead) -> impl IntoView + use<> {
    let class = format!("bs-lead{}{}", state(lead.lit), suspicion(lead.suspected));
    let (x, y) = lead.label_at;
    // A bus that is described by its whole length has links without one.
    let length = lead.length.get() > 0.0;
    view! {
        <polyline class=class points=lead.path()></polyline>
        {length.then(|| view! {
            <text class="bs-length" x=x y=y text-anchor="middle">{app.speaker().figure(lead.length)}</text>
        })}
    }
}

fn draw_stop(stop: &DrawnStop) -> impl IntoView + use<> {
    let (middle, base) = (stop.x + stop.width / 2.0, stop.y + stop.height / 2.0);
    let inside = match stop.stop {
        Stop::Module(n) => view! {
            <rect class="bs-pole" x=stop.x + 7.0 y=stop.y - 4.0 width="8" height="4"></rect>
            <rect class="bs-pole" x=stop.x + stop.width - 15.0 y=stop.y - 4.0 width="8" height="4"></rect>
            <text class="bs-number" x=middle y=base + 6.0 text-anchor="middle">{n}</text>
        }
        .into_any(),
        Stop::Monitor => view! {
            <path class="bs-screen" d=format!("M{:.1} {:.1}h20M{:.1} {:.1}h12", middle - 10.0, base - 4.0, middle - 10.0, base + 4.0)></path>
        }
        .into_any(),
    };
    view! {
        <g class=format!("bs-stop{}", state(stop.lit))>
            <rect x=stop.x y=stop.y width=stop.width height=stop.height rx="3"></rect>
            {inside}
        </g>
    }
}

fn draw_terminator(terminator: &DrawnTerminator) -> impl IntoView + use<> {
    let (x, y) = (terminator.x, terminator.y);
    let inward = if x < 180.0 { 1.0 } else { -1.0 };
    let class = format!(
        "bs-term{}{}{}",
        state(terminator.lit),
        suspicion(terminator.suspected),
        if terminator.fitted { "" } else { " bs-absent" }
    );
    // A resistor standing at the end of the line, joined to the stop beside it.
    view! {
        <g class=class>
            <path d=format!("M{:.1} {y:.1}h{:.1}", x, inward * 18.0)></path>
            <rect x=x - 6.0 y=y - 14.0 width="12" height="28" rx="2"></rect>
        </g>
    }
}

fn state(lit: bool) -> &'static str {
    if lit { " bs-lit" } else { "" }
}

fn suspicion(suspected: bool) -> &'static str {
    if suspected { " bs-suspect" } else { "" }
}

/// The drawing described in words.
fn in_words(app: App, strip: &Strip) -> String {
    let speaker = app.speaker();
    let stops: Vec<String> = strip.stops.iter().map(|stop| speaker.stop(stop.stop)).collect();
    let terminators: Vec<String> = strip
        .terminators
        .iter()
        .map(|terminator| {
            let word = if terminator.fitted { w::DRAW_TERMINATOR_FITTED } else { w::DRAW_TERMINATOR_NONE };
            speaker.fill(word, &[("end", terminator.end.into())])
        })
        .collect();
    let mut text = speaker.fill(
        w::DRAW_STRIP,
        &[("stops", Arg::Name(stops.join(", "))), ("terminators", Arg::Name(terminators.join(", ")))],
    );
    if let Some((at, _, _)) = strip.meter {
        text.push(' ');
        text.push_str(&speaker.fill(w::DRAW_STRIP_METER, &[("at", at.into())]));
    }
    text
}
