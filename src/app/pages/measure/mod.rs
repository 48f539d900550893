//! Readings and plans held against the bus without a job, one page each.

mod length;
mod ohms;
mod pins;
mod profile;
mod rs485;
mod together;
mod typed;
mod volts;

pub use length::MeasureLength;
pub use ohms::MeasureOhms;
pub use pins::MeasurePins;
pub use profile::{JobProfile, MeasureProfile};
pub use rs485::MeasureRs485;
pub use together::MeasureTogether;
pub use volts::MeasureVolts;

use crate::app::frame::app;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::words as w;
use leptos::prelude::*;

#[component]
pub fn Measure() -> impl IntoView {
    let app = app();
    let rows = [
        (Screen::MeasureOhms, w::MEASURE_OHMS, w::MEASURE_OHMS_ABOUT),
        (Screen::MeasureVolts, w::MEASURE_VOLTS, w::MEASURE_VOLTS_ABOUT),
        (Screen::MeasurePins, w::MEASURE_PINS, w::MEASURE_PINS_ABOUT),
        (Screen::MeasureTogether, w::TOGETHER_TITLE, w::TOGETHER_ABOUT),
        (Screen::MeasureProfile, w::MEASURE_PROFILE, w::MEASURE_PROFILE_ABOUT),
        (Screen::MeasureLength, w::MEASURE_LENGTH_PAGE, w::MEASURE_LENGTH_PAGE_ABOUT),
        (Screen::MeasureRs485, w::MEASURE_RS485, w::MEASURE_RS485_ABOUT),
        (Screen::MeasureCapture, w::CAPTURE_TITLE, w::CAPTURE_ABOUT),
    ]
    .into_iter()
    .map(|(screen, title, about)| go_row(&screen, app.word(title), app.word(about)))
    .collect_view();
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_TITLE)/>
            <p class="lead">{app.word(w::MEASURE_ABOUT)}</p>
            <h2>{app.word(w::MEASURE_OF_BUS)}</h2>
            <ul class="rows">{rows}</ul>
            <h2>{app.word(w::MEASURE_OF_BANK)}</h2>
            <ul class="rows">{crate::app::pages::bank::rows()}</ul>
            <h2>{app.word(w::MEASURE_OF_POWER)}</h2>
            <ul class="rows">{crate::app::pages::power::rows()}</ul>
            <p class="hint">{app.word(w::MEASURE_IN_JOB)}</p>
        </div>
    }
}

/// The one button at the thumb.
#[component]
fn Foot(hold: Callback<()>) -> impl IntoView {
    let label = app().word(w::MEASURE_HOLD_FIGURES);
    view! {
        <div class="foot">
            <button type="button" class="primary" on:click=move |_| hold.run(())>{label}</button>
        </div>
    }
}
