//! The bus strip, drawn from the site.

use crate::app::frame::{App, app};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::strip::{DrawnLead, DrawnStop, DrawnTerminator, Meter, Strip};
use crate::core::site::Stop;
use crate::core::units::Quantity;
use leptos::prelude::*;

/// Whether a part of the drawing is suspected, as it is now.
type Suspected = Signal<bool>;

#[component]
pub fn BusStrip(strip: Strip) -> impl IntoView {
    let (still, suspected) = strip.apart();
    drawing(&still, &|part| Signal::stored(suspected[part]), Signal::stored(strip.meter))
}

/// The drawing of a job that changes while it is looked at: only what is suspected and the meter are drawn anew. A large bus is
/// hundreds of lines.
#[component]
pub fn LiveStrip(#[prop(into)] strip: Signal<Strip>) -> impl IntoView {
    let apart = Memo::new(move |_| strip.with(Strip::apart));
    let still = Memo::new(move |_| apart.with(|(still, _)| still.clone()));
    let suspected = Memo::new(move |_| apart.with(|(_, suspected)| suspected.clone()));
    let meter = Memo::new(move |_| strip.with(|strip| strip.meter));
    move || {
        let of_part = |part: usize| {
            let mine = Memo::new(move |_| suspected.with(|all| all.get(part).copied().unwrap_or_default()));
            Signal::from(mine)
        };
        still.with(|strip| drawing(strip, &of_part, meter.into()))
    }
}

fn drawing(strip: &Strip, suspected: &dyn Fn(usize) -> Suspected, meter: Signal<Option<Meter>>) -> AnyView {
    let app = app();
    let words = in_words(app, strip);
    let label = move || match meter.get() {
        Some(meter) => format!("{words} {}", app.speaker().fill(w::DRAW_STRIP_METER, &[("at", meter.at.into())])),
        None => words.clone(),
    };
    let view_box = format!("0 0 {} {}", strip.width, strip.height);
    let probes = |Meter { x, y, .. }: Meter| {
        view! {
            <g class="bs-meter">
                <path d=format!("M{:.1} {:.1}v-10l-10 -12M{:.1} {:.1}v-10l10 -12", x - 5.0, y, x + 5.0, y)></path>
                <rect x=x - 20.0 y=y - 44.0 width="40" height="22" rx="4"></rect>
                <text x=x y=y - 28.5 text-anchor="middle">"Ω V"</text>
            </g>
        }
    };
    let leads = strip.leads.iter().enumerate().map(|(at, lead)| draw_lead(app, lead, suspected(at))).collect_view();
    let after = strip.leads.len();
    let terminators = strip.terminators.iter().enumerate();
    let terminators = terminators.map(|(at, drawn)| draw_terminator(drawn, suspected(after + at))).collect_view();
    view! {
        <svg class="bus-strip" viewBox=view_box role="img" aria-label=label>
            {leads}
            {terminators}
            {strip.stops.iter().map(draw_stop).collect_view()}
            {move || meter.get().map(probes)}
        </svg>
    }
    .into_any()
}

fn draw_lead(app: App, lead: &DrawnLead, suspected: Suspected) -> impl IntoView + use<> {
    let lit = state(lead.lit);
    let class = move || format!("bs-lead{lit}{}", suspicion(suspected.get()));
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

fn draw_terminator(terminator: &DrawnTerminator, suspected: Suspected) -> impl IntoView + use<> {
    let (x, y) = (terminator.x, terminator.y);
    let inward = if x < 180.0 { 1.0 } else { -1.0 };
    let (lit, absent) = (state(terminator.lit), if terminator.fitted { "" } else { " bs-absent" });
    let class = move || format!("bs-term{lit}{}{absent}", suspicion(suspected.get()));
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

/// The drawing described in words, without its meter.
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
    let args = [("stops", Arg::Name(stops.join(", "))), ("terminators", Arg::Name(terminators.join(", ")))];
    speaker.fill(w::DRAW_STRIP, &args)
}
