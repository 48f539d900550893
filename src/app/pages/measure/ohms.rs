//! Ohms on a plain bus, reading by reading: described by its devices and its length alone.

use crate::app::device::local;
use crate::app::frame::app;
use crate::app::pages::measure::typed::{Typed, TypedField};
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::trace::{Trace, Tracing};
use crate::content::words as w;
use crate::core::entry::figure;
use crate::core::job::assess::quiet_volts;
use crate::core::job::{Observation, Seen};
use crate::core::site::plain::plain_site;
use crate::core::units::Kind;
use leptos::prelude::*;
use serde::{Deserialize, Serialize};

/// What was entered here, kept beside the jobs: a phone that rings must not cost a reading.
#[derive(Clone, Serialize, Deserialize)]
struct Entered {
    devices: String,
    length: String,
    text: String,
    readings: Vec<Observation>,
}

const KEPT: &str = "plain-bus";

#[component]
pub fn MeasureOhms() -> impl IntoView {
    let app = app();
    let first = || Entered { devices: "4".into(), length: "5".into(), text: String::new(), readings: Vec::new() };
    let kept = local::setting(KEPT).and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_else(first);
    let devices = Typed::new(Kind::Count, &kept.devices);
    let length = Typed::new(Kind::Metres, &kept.length);
    let text = RwSignal::new(kept.text);
    let readings = RwSignal::new(kept.readings);
    Effect::new(move |_| {
        let entered = Entered {
            devices: devices.text.get(),
            length: length.text.get(),
            text: text.get(),
            readings: readings.get(),
        };
        if let Ok(text) = serde_json::to_string(&entered) {
            local::keep_setting(KEPT, &text);
        }
    });
    let tracing = Tracing {
        site: Memo::new(move |_| {
            let devices = devices.text.with(|text| figure(text, Kind::Count))?;
            plain_site(devices, length.text.with(|text| figure(text, Kind::Metres))?)
        }),
        observations: Memo::new(move |_| readings.with(|readings| [quiet_volts(), readings.clone()].concat())),
        text: Memo::new(move |_| text.get()),
        on_text: Callback::new(move |typed| text.set(typed)),
        observe: Callback::new(move |seen: Observation| {
            readings.update(|readings| {
                // Nothing here is a record: what was taken back need not stay.
                readings.retain(|known| known.of != seen.of);
                if seen.seen != Seen::Withdrawn {
                    readings.push(seen);
                }
            });
        }),
    };
    let read = Callback::new(move |()| {
        devices.shown();
        length.shown();
    });
    let clear = Callback::new(|()| ());
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_OHMS)/>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::MEASURE_CAUTION)}</span></p>
            <Trace tracing/>
            <h2>{app.word(w::TRACE_PLAIN)}</h2>
            <div class="fields" on:focusout=move |_| read.run(())>
                <TypedField id="devices" label=app.word(w::MEASURE_DEVICES) typed=devices clear hold=read/>
                <TypedField id="length" label=app.word(w::MEASURE_LENGTH) typed=length clear hold=read/>
            </div>
            <p class="hint">{app.word(w::MEASURE_IN_JOB)}</p>
        </div>
    }
}
