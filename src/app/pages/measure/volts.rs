//! Volts on the two data wires of a powered bus.

use crate::app::frame::app;
use crate::app::pages::measure::Foot;
use crate::app::pages::measure::typed::{Typed, TypedField, show_outcome};
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::judged::JudgedView;
use crate::content::words as w;
use crate::core::judged::Judged;
use crate::core::measure::volts;
use crate::core::units::Kind;
use leptos::prelude::*;

#[component]
pub fn MeasureVolts() -> impl IntoView {
    let app = app();
    let high = Typed::new(Kind::Volts, "");
    let low = Typed::new(Kind::Volts, "");
    let judged = RwSignal::new(None::<Judged>);
    let hold = Callback::new(move |()| {
        let (high, low) = (high.shown(), low.shown());
        judged.set((|| volts::judge(high?, low?))());
        show_outcome();
    });
    let clear = Callback::new(move |()| judged.set(None));
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_VOLTS)/>
            <p class="lead">{app.word(w::VOLTS_LEAD)}</p>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::VOLTS_CAUTION)}</span></p>
            <TypedField id="high" label=app.word(w::VOLTS_HIGH) typed=high large=true signed=true clear hold/>
            <TypedField id="low" label=app.word(w::VOLTS_LOW) typed=low large=true signed=true clear hold/>
            <div aria-live="polite">{move || judged.get().map(|judged| view! { <JudgedView judged/> })}</div>
            <Foot hold/>
        </div>
    }
}
