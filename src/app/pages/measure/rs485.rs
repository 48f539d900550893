//! RS-485: the idle voltage, which line is which, and when 60 Ω does not apply.

use crate::app::frame::app;
use crate::app::pages::measure::Foot;
use crate::app::pages::measure::typed::{Typed, TypedField, show_outcome};
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::head::Head;
use crate::app::parts::judged::JudgedView;
use crate::content::words as w;
use crate::core::because::Because;
use crate::core::judged::Judged;
use crate::core::measure::rs485::{Load, Pair, Terminated, judge_idle, judge_polarity, pair_reading};
use crate::core::units::Kind;
use leptos::prelude::*;

#[component]
pub fn MeasureRs485() -> impl IntoView {
    let app = app();
    let supply = Typed::new(Kind::Volts, "5");
    let (up, down) = (Typed::new(Kind::Ohms, "680"), Typed::new(Kind::Ohms, "680"));
    let receivers = Typed::new(Kind::Count, "4");
    let terminated = RwSignal::new(Some(Terminated::BothEnds.key().to_string()));
    let load = RwSignal::new(Some(Load::Whole.key().to_string()));
    let (first, second) = (Typed::new(Kind::Volts, ""), Typed::new(Kind::Volts, ""));
    let idle = RwSignal::new(None::<(Judged, Because)>);
    let polarity = RwSignal::new(None::<Judged>);
    let hold = Callback::new(move |()| {
        let (supply, up, down, receivers) = (supply.quantity(), up.quantity(), down.quantity(), receivers.quantity());
        let pair = (|| {
            Some(Pair {
                supply: supply?,
                pull_up: up?,
                pull_down: down?,
                terminated: terminated.with_untracked(|key| Terminated::from_key(key.as_deref()?))?,
                receivers: receivers?,
                load: load.with_untracked(|key| Load::from_key(key.as_deref()?))?,
            })
        })();
        idle.set(pair.and_then(|pair| pair.bias()).map(|bias| (judge_idle(&bias), pair_reading(&bias))));
        // The two readings are another question: they are looked at only when one of them is there.
        if first.is_empty() && second.is_empty() {
            first.error.set(None);
            second.error.set(None);
            polarity.set(None);
        } else {
            let (first, second) = (first.shown(), second.shown());
            polarity.set((|| judge_polarity(first?, second?))());
        }
        show_outcome();
    });
    let clear = Callback::new(move |()| {
        idle.set(None);
        polarity.set(None);
    });
    let ends = vec![
        Row::new(Terminated::BothEnds.key(), app.word(w::RS485_TWO), ""),
        Row::new(Terminated::OneEnd.key(), app.word(w::RS485_ONE), ""),
        Row::new(Terminated::WithCapacitor.key(), app.word(w::RS485_RC), app.word(w::RS485_RC_ABOUT)),
        Row::new(Terminated::Nowhere.key(), app.word(w::RS485_NONE), ""),
    ];
    let loads = vec![
        Row::new(Load::Whole.key(), app.word(w::RS485_LOAD_WHOLE), ""),
        Row::new(Load::Eighth.key(), app.word(w::RS485_LOAD_EIGHTH), ""),
    ];
    let sixty = [w::RS485_SIXTY_RC, w::RS485_SIXTY_BIAS, w::RS485_SIXTY_MODBUS, w::RS485_SIXTY_POWERED];
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_RS485)/>
            <p class="lead">{app.word(w::RS485_LEAD)}</p>
            <h2>{app.word(w::RS485_POLARITY)}</h2>
            <p class="hint">{app.word(w::RS485_POLARITY_ABOUT)}</p>
            <TypedField id="line-first" label=app.word(w::RS485_FIRST) typed=first large=true signed=true clear hold/>
            <TypedField id="line-second" label=app.word(w::RS485_SECOND) typed=second large=true signed=true clear hold/>
            <div aria-live="polite">{move || polarity.get().map(|judged| view! { <JudgedView judged/> })}</div>
            <h2>{app.word(w::RS485_IDLE)}</h2>
            <TypedField id="supply" label=app.word(w::RS485_SUPPLY) typed=supply clear hold/>
            <TypedField id="pull-up" label=app.word(w::RS485_PULL_UP) typed=up clear hold/>
            <TypedField id="pull-down" label=app.word(w::RS485_PULL_DOWN) typed=down clear hold/>
            <Choice name="terminators" legend=app.word(w::RS485_TERMINATORS) rows=ends chosen=terminated error=no_error()
                on_choose=move |key| { clear.run(()); terminated.set(Some(key)); }/>
            <TypedField id="receivers" label=app.word(w::RS485_RECEIVERS) typed=receivers clear hold/>
            <Choice name="load" legend=app.word(w::RS485_LOAD) rows=loads chosen=load error=no_error()
                on_choose=move |key| { clear.run(()); load.set(Some(key)); }/>
            <div aria-live="polite">
                {move || idle.get().map(|(judged, reading)| view! {
                    <JudgedView judged/>
                    <p class="pair-reading">{app.speaker().because(&reading)}</p>
                })}
            </div>
            <h2>{app.word(w::RS485_SIXTY)}</h2>
            <ul class="plain-list">{sixty.map(|word| view! { <li>{app.word(word)}</li> }).collect_view()}</ul>
            <Foot hold/>
        </div>
    }
}
