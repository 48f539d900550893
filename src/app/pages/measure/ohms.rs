//! Ohms between the two data wires, held against a plain bus.

use crate::app::frame::app;
use crate::app::pages::measure::typed::{Typed, TypedField};
use crate::app::parts::finding::FindingView;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::content::words as w;
use crate::core::entry::Entry;
use crate::core::job::Seen;
use crate::core::job::assess::{Finding, quick_ohms};
use crate::core::units::Kind;
use leptos::prelude::*;

#[component]
pub fn MeasureOhms() -> impl IntoView {
    let app = app();
    let devices = Typed::new(Kind::Count, "4");
    let length = Typed::new(Kind::Metres, "5");
    let reading = Typed::new(Kind::Ohms, "");
    let finding = RwSignal::new(None::<Finding>);
    let hold = Callback::new(move |()| {
        let (devices, length, reading) = (devices.quantity(), length.quantity(), reading.read());
        let held = (|| {
            let seen = match reading? {
                Entry::Figure(shown) => Seen::Figure(shown),
                Entry::BeyondRange => Seen::BeyondRange,
            };
            quick_ohms(devices?, length?, seen)
        })();
        finding.set(held);
    });
    let clear = Callback::new(move |()| finding.set(None));
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_OHMS)/>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::MEASURE_CAUTION)}</span></p>
            <TypedField id="reading" label=app.word(w::MEASURE_READING) typed=reading large=true clear hold/>
            <div aria-live="polite">{move || finding.get().map(|finding| view! { <FindingView finding/> })}</div>
            <TypedField id="devices" label=app.word(w::MEASURE_DEVICES) typed=devices clear hold/>
            <TypedField id="length" label=app.word(w::MEASURE_LENGTH) typed=length clear hold/>
            <p class="hint">{app.word(w::MEASURE_IN_JOB)}</p>
            <div class="foot">
                <button type="button" class="primary" on:click=move |_| hold.run(())>{app.word(w::MEASURE_HOLD)}</button>
            </div>
        </div>
    }
}
