//! How a current divides among like modules side by side, and back from measured currents.

use super::parts::{Segments, two_or_more};
use super::typed::{Typed, TypedField};
use crate::app::frame::app;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::head::Head;
use crate::app::parts::judged::JudgedView;
use crate::content::words as w;
use crate::core::bank::findings::sharing::{
    Gain, Lead, Measured, SharingFinding, SharingPlan, WIRINGS, bars, no_answer, odd, share,
};
use crate::core::bank::sharing::Wiring;
use crate::core::because::Arg;
use crate::core::judged::Judged;
use crate::core::site::{MOST_MODULES, Problem};
use crate::core::units::{Amperes, Kind};
use leptos::prelude::*;

fn key_of(wiring: Wiring) -> &'static str {
    match wiring {
        Wiring::SameEnd => "same-end",
        Wiring::Diagonal => "diagonal",
        Wiring::Middle => "middle",
        Wiring::Busbar => "busbar",
    }
}

fn words_of(wiring: Wiring) -> (w::Word, w::Word) {
    match wiring {
        Wiring::SameEnd => (w::BANK_SHARING_SAME_END, w::BANK_SHARING_SAME_END_ABOUT),
        Wiring::Diagonal => (w::BANK_SHARING_DIAGONAL, w::BANK_SHARING_DIAGONAL_ABOUT),
        Wiring::Middle => (w::BANK_SHARING_MIDDLE, w::BANK_SHARING_MIDDLE_ABOUT),
        Wiring::Busbar => (w::BANK_SHARING_BUSBAR, w::BANK_SHARING_BUSBAR_ABOUT),
    }
}

#[component]
pub fn BankSharing() -> impl IntoView {
    let app = app();
    let modules = Typed::new(Kind::Count).rule(two_or_more);
    let wiring = RwSignal::new("same-end".to_string());
    let inner = Typed::new(Kind::Ohms).unit("mΩ");
    let link_how = RwSignal::new("ohms");
    let link = Typed::new(Kind::Ohms).unit("mΩ");
    let length = Typed::new(Kind::Metres);
    let area = Typed::new(Kind::SquareMillimetres);
    let joint = Typed::new(Kind::Ohms).unit("mΩ").filled("0.1");
    let load = Typed::new(Kind::Amperes);
    let limit = Typed::new(Kind::Amperes).rule(|value| (value <= 0.0).then_some(w::BANK_ABOVE_ZERO));
    let measured: Vec<Typed> = (0..MOST_MODULES).map(|_| Typed::new(Kind::Amperes)).collect();
    let measured = StoredValue::new(measured);
    let count = Memo::new(move |_| modules.count().filter(|count| *count <= MOST_MODULES));
    let chosen = move || WIRINGS.into_iter().find(|known| wiring.with(|wiring| wiring == key_of(*known)));
    let plan = Memo::new(move |_| -> Option<SharingPlan> {
        let wiring = chosen()?;
        let lead = if link_how.get() == "copper" {
            Some(Lead::Copper { length: length.quantity()?, area: area.quantity()?, joint: joint.quantity()? })
        } else {
            link.quantity().map(Lead::Resistance)
        };
        Some(SharingPlan {
            modules: count.get()?,
            wiring,
            inner: inner.quantity()?,
            link: lead?,
            load: load.quantity().unwrap_or(Amperes::of(0.0)),
            limit: limit.quantity(),
        })
    });
    let found = Memo::new(move |_| -> Option<Result<SharingFinding, Judged>> {
        let plan = plan.get().filter(|_| load.shown().is_some())?;
        Some(share(&plan).map_err(|error| no_answer(&error)))
    });
    let back = Memo::new(move |_| -> Option<Result<Measured, Judged>> {
        let plan = plan.get()?;
        let currents: Option<Vec<Amperes>> =
            measured.with_value(|list| list.iter().take(plan.modules as usize).map(|typed| typed.quantity()).collect());
        Some(odd(&plan, &currents?).map_err(|error| no_answer(&error)))
    });
    let rows = WIRINGS
        .iter()
        .map(|wiring| {
            let (title, about) = words_of(*wiring);
            Row::new(key_of(*wiring), app.word(title), app.word(about))
        })
        .collect();
    let too_many = move || {
        let over = modules.count().is_some_and(|count| count > MOST_MODULES);
        over.then(|| view! { <p class="error" role="alert">{app.speaker().problem(Problem::TooManyModules)}</p> })
    };
    let link_fields = move || {
        match link_how.get() {
        "copper" => view! {
            <TypedField id="length" label=app.word(w::BANK_SHARING_LENGTH) typed=length/>
            <TypedField id="area" label=app.word(w::BANK_SHARING_AREA) typed=area/>
            <TypedField id="joint" label=app.word(w::BANK_SHARING_JOINT) hint=app.word(w::BANK_SHARING_JOINT_HINT) typed=joint/>
        }
        .into_any(),
        _ => view! { <TypedField id="link" label=app.word(w::BANK_SHARING_LINK) typed=link/> }.into_any(),
    }
    };
    let (open, open_back) = (RwSignal::new(false), RwSignal::new(false));
    let result = move || {
        found.get().map(|found| match found {
            Ok(found) => {
                let compare = compare(&found, chosen());
                view! {
                    <div class="plate"><Bars found=found.clone()/></div>
                    <JudgedView judged=found.judged open/>
                    {compare}
                }
                .into_any()
            }
            Err(judged) => view! { <JudgedView judged/> }.into_any(),
        })
    };
    let fields = move || {
        (1..=count.get().unwrap_or(0))
            .filter_map(|n| Some((n, measured.with_value(|list| list.get(n as usize - 1).copied())?)))
            .map(|(n, typed)| {
                let label = app.speaker().fill(w::BANK_SHARING_MEASURED, &[("n", n.into())]);
                let should = move || {
                    let back = back.get()?.ok()?;
                    let branch = back.found.branches.get(n as usize - 1).copied()?;
                    let args = [("current", branch.should_be.into())];
                    Some(view! { <p class="hint">{app.speaker().fill(w::BANK_SHARING_EXPECTED, &args)}</p> })
                };
                view! { <div><TypedField id=format!("measured-{n}") label typed signed=true/>{should}</div> }
            })
            .collect_view()
    };
    let verdict_back = move || match back.get() {
        Some(Ok(back)) => view! { <JudgedView judged=back.judged open=open_back/> }.into_any(),
        Some(Err(judged)) => view! { <JudgedView judged/> }.into_any(),
        None => view! { <p class="hint">{app.word(w::BANK_SHARING_MISSING)}</p> }.into_any(),
    };
    let hows =
        vec![("ohms", app.word(w::BANK_SHARING_LINK_OHMS), ""), ("copper", app.word(w::BANK_SHARING_LINK_COPPER), "")];
    view! {
        <div class="page">
            <Head title=app.word(w::BANK_SHARING)/>
            <TypedField id="modules" label=app.word(w::BANK_SHARING_MODULES) typed=modules/>
            {too_many}
            <Choice name="wiring" legend=app.word(w::BANK_SHARING_WIRING) rows
                chosen=Signal::derive(move || Some(wiring.get())) error=no_error()
                on_choose=move |key| wiring.set(key)/>
            <TypedField id="inner" label=app.word(w::BANK_SHARING_INNER) hint=app.word(w::BANK_JOIN_RESISTANCE_HINT) typed=inner/>
            <Segments name="link-how" legend=app.word(w::BANK_SHARING_LINK_HOW) options=hows chosen=link_how on_choose=move |key| link_how.set(key)/>
            {link_fields}
            <TypedField id="load" label=app.word(w::BANK_SHARING_LOAD) typed=load/>
            <TypedField id="limit" label=app.word(w::BANK_SHARING_LIMIT) hint=app.word(w::BANK_SHARING_LIMIT_HINT) typed=limit/>
            <div class="verdict-block" id="sharing-result" aria-live="polite">{result}</div>
            <h2>{app.word(w::BANK_SHARING_BACK)}</h2>
            <p class="lead">{app.word(w::BANK_SHARING_BACK_ABOUT)}</p>
            {fields}
            <div class="verdict-block" id="odd-result" aria-live="polite">{verdict_back}</div>
        </div>
    }
}

/// What each wiring makes of the same current.
fn compare(found: &SharingFinding, chosen: Option<Wiring>) -> impl IntoView + use<> {
    let app = app();
    let speaker = app.speaker();
    let line = |gain: &Gain| {
        let mut args: Vec<(&str, Arg)> = vec![("most", gain.most.into())];
        match gain.at_limit {
            None => speaker.fill(w::BANK_SHARING_GAIN, &args),
            Some(limit) => {
                args.push(("limit", limit.into()));
                speaker.fill(w::BANK_SHARING_GAIN_LIMIT, &args)
            }
        }
    };
    let rows = found
        .gains
        .iter()
        .map(|gain| {
            let is_chosen = chosen == Some(gain.wiring);
            view! {
                <div class="total" class:total-chosen=is_chosen>
                    <dt>
                        {app.word(words_of(gain.wiring).0)}
                        {is_chosen.then(|| view! { <span class="mark">{app.word(w::BANK_SHARING_CHOSEN)}</span> })}
                    </dt>
                    <dd class="total-figure">{speaker.figure(gain.most)}</dd>
                    <dd class="total-basis">{line(gain)}</dd>
                </div>
            }
        })
        .collect_view();
    view! { <h2>{app.word(w::BANK_SHARING_COMPARE)}</h2><dl class="totals">{rows}</dl> }
}

const ROW: f64 = 30.0;

/// The currents as bars, with the mean as a line.
#[component]
fn Bars(found: SharingFinding) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let (lengths, mean) = bars(&found);
    let (left, width) = (30.0, 226.0);
    let height = ROW * lengths.len() as f64;
    let list: Vec<String> = found.currents.iter().map(|current| speaker.figure(*current)).collect();
    let label =
        speaker.fill(w::BANK_SHARING_PICTURE, &[("list", Arg::Name(list.join(", "))), ("mean", Arg::from(found.mean))]);
    let rows = lengths
        .iter()
        .zip(list)
        .enumerate()
        .map(|(index, (length, text))| {
            let top = ROW * index as f64;
            let is_hardest = index + 1 == found.hardest as usize;
            let class = if is_hardest { "sb-bar sb-hardest" } else { "sb-bar" };
            view! {
                <text class="sb-number" x=left - 10.0 y=top + 20.0 text-anchor="end">{index + 1}</text>
                <rect class=class x=left y=top + 5.0 width=(length * width).max(1.0) height=ROW - 10.0 rx="2"></rect>
                <text class="sb-text" x="334" y=top + 20.0 text-anchor="end">{text}</text>
            }
        })
        .collect_view();
    let at = left + mean * width;
    view! {
        <svg class="sharing-bars" viewBox=format!("0 0 336 {}", height + 24.0) role="img" aria-label=label>
            {rows}
            <line class="sb-mean" x1=at x2=at y1="0" y2=height></line>
            <text class="sb-text" x=at y=height + 18.0 text-anchor="middle">
                {speaker.fill(w::BANK_SHARING_MEAN, &[("mean", found.mean.into())])}
            </text>
        </svg>
    }
}
