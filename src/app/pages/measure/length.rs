//! Length and bit rate: the published tables and the timing sum side by side.

use crate::app::frame::{App, app};
use crate::app::pages::measure::Foot;
use crate::app::pages::measure::typed::{Typed, TypedField, show_outcome};
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::head::Head;
use crate::app::parts::judged::JudgedView;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::bus::copper::{GAUGES, area_of_gauge};
use crate::core::measure::length::{Compared, Limit, Plan, compare};
use crate::core::units::{Celsius, Count, Kind, Quantity, Reach, SquareMillimetres};
use leptos::prelude::*;

const AREA: &str = "area";
const GAUGE: &str = "gauge";

#[component]
pub fn MeasureLength() -> impl IntoView {
    let app = app();
    let rate = Typed::in_unit(Kind::BitRate, "kbit/s", "500");
    let trunk = Typed::new(Kind::Metres, "");
    let drop = Typed::new(Kind::Metres, "0");
    let devices = Typed::new(Kind::Count, "4");
    let area = Typed::new(Kind::SquareMillimetres, "0.34");
    let gauge = Typed::new(Kind::Count, "24");
    let temperature = Typed::new(Kind::Celsius, "40");
    let by = RwSignal::new(Some(GAUGE.to_string()));
    let compared = RwSignal::new(None::<(Plan, Compared)>);

    let area_read = move || {
        if by.with_untracked(|by| by.as_deref() == Some(AREA)) {
            return area.quantity::<SquareMillimetres>();
        }
        let found = gauge.quantity::<Count>().map(|count| area_of_gauge(count.get() as u32))?;
        if found.is_none() {
            let range = [("low", GAUGES.0.into()), ("high", GAUGES.1.into())];
            gauge.error.set(Some(app.speaker().fill(w::LENGTH_GAUGE_RANGE, &range)));
        }
        found
    };
    let devices_read = move || {
        let count = devices.quantity::<Count>()?;
        if count.get() < 1.0 {
            devices.error.set(Some(app.word(w::LENGTH_AT_LEAST_ONE).to_string()));
            return None;
        }
        Some(count)
    };
    let hold = Callback::new(move |()| {
        // Every field is read, so that each has its sentence.
        let (rate, trunk, drop) = (rate.quantity(), trunk.quantity(), drop.quantity());
        let (devices, area, warmest) = (devices_read(), area_read(), temperature.quantity::<Celsius>());
        let plan = (|| {
            Some(Plan {
                bit_rate: rate?,
                trunk: trunk?,
                drop: drop?,
                devices: devices?,
                area: area?,
                temperature: warmest?,
            })
        })();
        let held = plan.and_then(|plan| Some((plan, compare(plan)?)));
        if plan.is_some() && held.is_none() {
            temperature.error.set(Some(app.word(w::LENGTH_TOO_COLD).to_string()));
        }
        compared.set(held);
        show_outcome();
    });
    let clear = Callback::new(move |()| compared.set(None));
    let rows =
        vec![Row::new(GAUGE, app.word(w::LENGTH_CABLE_GAUGE), ""), Row::new(AREA, app.word(w::LENGTH_CABLE_AREA), "")];
    let conductor = move || {
        if by.with(|by| by.as_deref() == Some(AREA)) {
            view! { <TypedField id="area" label=app.word(w::LENGTH_AREA) typed=area clear hold/> }.into_any()
        } else {
            view! { <TypedField id="gauge" label=app.word(w::LENGTH_GAUGE) typed=gauge clear hold/> }.into_any()
        }
    };
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_LENGTH_PAGE)/>
            <p class="lead">{app.word(w::LENGTH_LEAD)}</p>
            <TypedField id="trunk" label=app.word(w::LENGTH_TRUNK) typed=trunk large=true clear hold/>
            <TypedField id="rate" label=app.word(w::LENGTH_RATE) typed=rate clear hold/>
            <TypedField id="drop" label=app.word(w::LENGTH_DROP) hint=app.word(w::LENGTH_DROP_HINT) typed=drop clear hold/>
            <TypedField id="devices" label=app.word(w::LENGTH_DEVICES) typed=devices clear hold/>
            <Choice name="cable" legend=app.word(w::LENGTH_CABLE) rows chosen=by error=no_error()
                on_choose=move |key| { clear.run(()); by.set(Some(key)); }/>
            {conductor}
            <TypedField id="temperature" label=app.word(w::LENGTH_TEMPERATURE) typed=temperature signed=true clear hold/>
            <div aria-live="polite">
                {move || compared.get().map(|(plan, compared)| view! {
                    <JudgedView judged=compared.judged/>
                    <Limits plan limits=compared.limits/>
                })}
            </div>
            <Foot hold/>
        </div>
    }
}

/// Every limit side by side: what it allows, and what is over.
#[component]
fn Limits(plan: Plan, limits: Vec<Limit>) -> impl IntoView {
    let app = app();
    let caption = app.speaker().fill(w::LENGTH_SIDE_BY_SIDE, &[("rate", plan.bit_rate.into())]);
    let group = |title: w::Word, counts: bool| {
        let rows = limits.iter().filter(|limit| limit.counts == counts).map(|limit| row(app, limit)).collect_view();
        view! {
            <tbody>
                <tr><th class="limits-group" colspan="4" scope="rowgroup">{app.word(title)}</th></tr>
                {rows}
            </tbody>
        }
    };
    let systems = limits.iter().any(|limit| !limit.counts).then(|| group(w::LENGTH_SYSTEMS, false));
    view! {
        <table class="limits">
            <caption>{caption}</caption>
            <thead>
                <tr>
                    <td></td>
                    <th scope="col">{app.word(w::LENGTH_TRUNK_SHORT)}</th>
                    <th scope="col">{app.word(w::LENGTH_DROP_SHORT)}</th>
                    <th scope="col">{app.word(w::LENGTH_DEVICES_SHORT)}</th>
                </tr>
            </thead>
            {group(w::LENGTH_COUNTS, true)}
            {systems}
        </table>
    }
}

fn row(app: App, limit: &Limit) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let cell = |text: Option<String>, over: bool| {
        let over = over.then(|| view! { <span class="over-mark">{app.word(w::LENGTH_OVER)}</span> });
        let class = if over.is_some() { "limit-over" } else { "" };
        view! { <td class=class>{text.unwrap_or_else(|| "–".to_string())}{over}</td> }
    };
    let metres = |reach: Option<Reach>| reach.map(|reach| speaker.figure(reach));
    view! {
        <tr>
            <th scope="row">{speaker.name(limit.name)}</th>
            {cell(metres(limit.trunk), limit.trunk_over)}
            {cell(metres(limit.drop), limit.drop_over)}
            {cell(limit.devices.map(|n| speaker.template("{n}", &[("n", Arg::Count(n))])), limit.devices_over)}
        </tr>
    }
}
