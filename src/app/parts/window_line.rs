//! The window line: the accepted window and the reading's mark with its error, so that a verdict can be seen.

use crate::app::frame::app;
use crate::content::words as w;
use crate::core::job::assess::{Verdict, Window};
use crate::core::job::window_line::lay_out;
use crate::core::units::Figure;
use leptos::prelude::*;

const WIDTH: f64 = 320.0;
const EDGE: f64 = 8.0;

#[component]
pub fn WindowLine(window: Window, reading: Option<Figure>, verdict: Verdict) -> impl IntoView {
    let speaker = app().speaker();
    let line = lay_out(&window, reading.map(Figure::value));
    let x = |share: f64| EDGE + share * (WIDTH - 2.0 * EDGE);
    let (low, high) = (speaker.figure(window.low), speaker.figure(window.high));
    let args = [("low", window.low.into()), ("high", window.high.into())];
    let label = match reading {
        Some(reading) => speaker.fill(w::DRAW_WINDOW, &[args[0].clone(), args[1].clone(), ("reading", reading.into())]),
        None => speaker.fill(w::DRAW_WINDOW_EMPTY, &args),
    };
    let mark = line.mark.map(|mark| {
        let at = x(mark.at);
        // Beyond the line's end the mark is an arrow that points on.
        let shape = match mark.beyond {
            -1 => format!("M{at:.1} 22l9 -7v14z"),
            1 => format!("M{at:.1} 22l-9 -7v14z"),
            _ => format!("M{at:.1} 14l6 8 -6 8 -6 -8z"),
        };
        view! {
            <line class="wl-error" x1=x(mark.from) x2=x(mark.to) y1="22" y2="22"></line>
            <path class=format!("wl-mark wl-mark-{}", verdict.key()) d=shape></path>
        }
    });
    view! {
        <svg class="window-line" viewBox="0 0 320 50" role="img" aria-label=label>
            <line class="wl-base" x1=EDGE x2=WIDTH - EDGE y1="22" y2="22"></line>
            {line.outer.map(|(from, to)| view! {
                <rect class="wl-outer" x=x(from) width=x(to) - x(from) y="19" height="6"></rect>
            })}
            <rect class="wl-window" x=x(line.low) width=x(line.high) - x(line.low) y="15" height="14" rx="2"></rect>
            {mark}
            <text class="wl-text" x=x(line.low) y="46" text-anchor="end">{low}</text>
            <text class="wl-text" x=x(line.high) y="46" text-anchor="start">{high}</text>
        </svg>
    }
}
