//! Rest voltage: the states of charge that it allows, as a picture and in words.

use super::parts::{Segments, cell_count};
use super::typed::{Typed, TypedField};
use crate::app::frame::app;
use crate::app::parts::brief::brief;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::content::words as w;
use crate::core::bank::findings::rest::{RestFinding, picture, rest};
use crate::core::units::{Kind, Percent, Quantity, Volts};
use leptos::prelude::*;

#[component]
pub fn BankRest() -> impl IntoView {
    let app = app();
    let series = RwSignal::new("4");
    let other = Typed::new(Kind::Count).rule(cell_count);
    let voltage = Typed::new(Kind::Volts);
    let error = Typed::new(Kind::Volts).rule(|value| (value < 0.0).then_some(w::ENTRY_BELOW_ZERO));
    let cells = move || match series.get() {
        "other" => other.count(),
        known => known.parse().ok(),
    };
    let finding =
        Memo::new(move |_| -> Option<RestFinding> { rest(voltage.shown()?, cells()?, error.quantity()).ok() });
    let open = RwSignal::new(false);
    let drawing = move || {
        let cells = cells().unwrap_or(4);
        view! { <RestPicture cells voltage=voltage.quantity() finding=finding.get()/> }
    };
    let options = vec![
        ("4", app.word(w::BANK_REST_CELLS_4), app.word(w::BANK_REST_CELLS_4_ABOUT)),
        ("8", app.word(w::BANK_REST_CELLS_8), app.word(w::BANK_REST_CELLS_8_ABOUT)),
        ("16", app.word(w::BANK_REST_CELLS_16), app.word(w::BANK_REST_CELLS_16_ABOUT)),
        ("other", app.word(w::BANK_REST_OTHER), ""),
    ];
    view! {
        <div class="page">
            <Head title=app.word(w::BANK_REST)/>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::BANK_REST_CAUTION)}</span></p>
            <Segments name="series" legend=app.word(w::BANK_REST_CELLS) options chosen=series on_choose=move |key| series.set(key)/>
            {move || (series.get() == "other").then(|| view! {
                <TypedField id="cells" label=app.word(w::BANK_REST_OTHER) typed=other/>
            })}
            <TypedField id="voltage" label=app.word(w::BANK_REST_VOLTAGE) typed=voltage large=true/>
            <div aria-live="polite">{move || finding.get().map(|finding| brief(finding.judged, open))}</div>
            <div class="plate">{drawing}</div>
            <TypedField id="error" label=app.word(w::BANK_REST_ERROR) hint=app.word(w::BANK_REST_ERROR_HINT) typed=error/>
        </div>
    }
}

const LEFT: f64 = 62.0;
const WIDTH: f64 = 266.0;
const TOP: f64 = 10.0;
const HEIGHT: f64 = 178.0;

#[component]
fn RestPicture(cells: u32, voltage: Option<Volts>, finding: Option<RestFinding>) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let drawn = picture(cells, voltage, finding.as_ref());
    let x = |share: f64| LEFT + share * WIDTH;
    let y = |share: f64| TOP + (1.0 - share) * HEIGHT;
    let points: Vec<String> = drawn.curve.iter().map(|(at, high)| format!("{:.1},{:.1}", x(*at), y(*high))).collect();
    let column = |class: &'static str, range: Option<(f64, f64)>| {
        range.map(|(from, to)| {
            // A range of nothing is still there to be seen.
            let width = ((to - from) * WIDTH).max(2.0);
            view! { <rect class=class x=x(from) y=TOP width=width height=HEIGHT></rect> }
        })
    };
    let reading = drawn.voltage.map(|(from, at, to)| {
        view! {
            <rect class="rp-error" x=LEFT y=y(to) width=WIDTH height=((to - from) * HEIGHT).max(1.0)></rect>
            <line class="rp-reading" x1=LEFT x2=LEFT + WIDTH y1=y(at) y2=y(at)></line>
        }
    });
    let heights = drawn
        .heights
        .iter()
        .map(|(volts, high)| {
            view! {
                <line class="rp-tick" x1=LEFT - 5.0 x2=LEFT y1=y(*high) y2=y(*high)></line>
                <text class="rp-text" x=LEFT - 9.0 y=y(*high) + 4.5 text-anchor="end">{speaker.figure(*volts)}</text>
            }
        })
        .collect_view();
    let floor = TOP + HEIGHT;
    let marks = [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
        .into_iter()
        .map(|soc| {
            let at = x(soc / 100.0);
            // The last one would end outside the picture.
            let anchor = if soc == 100.0 { "end" } else { "middle" };
            let shift = if soc == 100.0 { 346.0 - at - 2.0 } else { 0.0 };
            let text = if soc == 100.0 { speaker.figure(Percent::of(soc)) } else { format!("{soc}") };
            view! {
                <line class="rp-tick" x1=at x2=at y1=floor y2=floor + 5.0></line>
                <text class="rp-text" x=at + shift y=floor + 20.0 text-anchor=anchor>{text}</text>
            }
        })
        .collect_view();
    let mut label = speaker.fill(w::BANK_REST_PICTURE, &[("cells", cells.into())]);
    if let (Some(found), Some(voltage)) = (&finding, voltage) {
        label.push(' ');
        label.push_str(&speaker.fill(
            w::BANK_REST_PICTURE_BAND,
            &[
                ("voltage", voltage.into()),
                ("low", found.range.low.into()),
                ("high", found.range.high.into()),
                ("wide-low", found.wide.low.into()),
                ("wide-high", found.wide.high.into()),
            ],
        ));
    }
    let range = |found: &crate::core::bank::rest::SocRange| {
        format!("{}\u{2013}{}", crate::content::format::number(found.low.get(), 0, speaker.style), {
            crate::content::format::number(found.high.get(), 0, speaker.style) + "\u{a0}%"
        })
    };
    let legend = finding.as_ref().map(|found| {
        view! {
            <p class="rp-legend">
                <span><span class="rp-key rp-key-range"></span>{range(&found.range)}" "{app.word(w::BANK_REST_LEGEND_METER)}</span>
                <span><span class="rp-key rp-key-wide"></span>{range(&found.wide)}" "{app.word(w::BANK_REST_LEGEND_CELLS)}</span>
            </p>
        }
    });
    view! {
        <svg class="rest-picture" viewBox="0 0 346 216" role="img" aria-label=label>
            {column("rp-wide", drawn.wide)}
            {column("rp-range", drawn.range)}
            {reading}
            <path class="rp-axis" d=format!("M{LEFT} {TOP}V{floor}H{}", LEFT + WIDTH)></path>
            {heights}
            {marks}
            <polyline class="rp-curve" points=points.join(" ")></polyline>
        </svg>
        {legend}
    }
}
