//! Readings held against a bus without a job.

use crate::app::frame::app;
use crate::app::parts::field::NumberField;
use crate::app::parts::finding::FindingView;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::entry::{self, Entry};
use crate::core::job::Seen;
use crate::core::job::assess::{Finding, quick_ohms};
use crate::core::units::{Figure, Kind};
use leptos::prelude::*;

#[component]
pub fn Measure() -> impl IntoView {
    let app = app();
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_TITLE)/>
            <p class="lead">{app.word(w::MEASURE_ABOUT)}</p>
            <ul class="rows">
                <li>
                    <a class="job-row" href=Screen::MeasureOhms.to_string()>
                        <span class="row-words">
                            <span class="row-title">{app.word(w::MEASURE_OHMS)}</span>
                            <span class="row-about">{app.word(w::MEASURE_OHMS_ABOUT)}</span>
                        </span>
                        {icon(Icon::Go)}
                    </a>
                </li>
                {crate::app::pages::bank::rows()}
            </ul>
            <p class="hint">{app.word(w::MEASURE_IN_JOB)}</p>
        </div>
    }
}

/// A field's text with the sentence at it.
#[derive(Clone, Copy)]
struct Typed {
    kind: Kind,
    text: RwSignal<String>,
    error: RwSignal<Option<String>>,
}

impl Typed {
    fn new(kind: Kind, text: &str) -> Typed {
        Typed { kind, text: RwSignal::new(text.into()), error: RwSignal::new(None) }
    }

    fn put(self, text: String) {
        self.error.set(None);
        self.text.set(text);
    }

    fn read(self) -> Option<Entry> {
        let read = entry::read(&self.text.get_untracked(), self.kind);
        self.error.set(read.as_ref().err().map(|why| app().speaker().unreadable(why)));
        read.ok()
    }

    fn figure(self) -> Option<Figure> {
        match self.read()? {
            Entry::Figure(shown) => Some(shown.figure),
            Entry::BeyondRange => None,
        }
    }
}

#[component]
pub fn MeasureOhms() -> impl IntoView {
    let app = app();
    let devices = Typed::new(Kind::Count, "4");
    let length = Typed::new(Kind::Metres, "5");
    let reading = Typed::new(Kind::Ohms, "");
    let finding = RwSignal::new(None::<Finding>);
    let hold = move || {
        let (devices, length, reading) = (devices.figure(), length.figure(), reading.read());
        let held = (|| {
            let seen = match reading? {
                Entry::Figure(shown) => Seen::Figure(shown),
                Entry::BeyondRange => Seen::BeyondRange,
            };
            quick_ohms(devices?.as_quantity()?, length?.as_quantity()?, seen)
        })();
        finding.set(held);
    };
    let enter = Callback::new(move |()| hold());
    let clear = move || finding.set(None);
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_OHMS)/>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::MEASURE_CAUTION)}</span></p>
            <NumberField id="reading" label=app.word(w::MEASURE_READING) unit="Ω" large=true text=reading.text error=reading.error
                on_text=move |text| { clear(); reading.put(text) } on_enter=enter/>
            <div aria-live="polite">{move || finding.get().map(|finding| view! { <FindingView finding/> })}</div>
            <NumberField id="devices" label=app.word(w::MEASURE_DEVICES) unit="" whole=true text=devices.text error=devices.error
                on_text=move |text| { clear(); devices.put(text) } on_enter=enter/>
            <NumberField id="length" label=app.word(w::MEASURE_LENGTH) unit="m" text=length.text error=length.error
                on_text=move |text| { clear(); length.put(text) } on_enter=enter/>
            <p class="hint">{app.word(w::MEASURE_IN_JOB)}</p>
            <div class="foot">
                <button type="button" class="primary" on:click=move |_| hold()>{app.word(w::MEASURE_HOLD)}</button>
            </div>
        </div>
    }
}
