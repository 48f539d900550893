//! Every part in every state, from one list: to be looked at, and checked.

use crate::app::frame::app;
use crate::app::pages::home::OfflineLine;
use crate::app::parts::badge::Badge;
use crate::app::parts::choice::{Boxes, Choice, Row};
use crate::app::parts::field::{NumberField, no_error};
use crate::app::parts::finding::FindingView;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::strip::BusStrip;
use crate::content::words as w;
use crate::core::entry::{self, Entry};
use crate::core::job::Seen;
use crate::core::job::assess::{Suspect, Verdict, quick_ohms};
use crate::core::job::strip::{Lit, draw};
use crate::core::site::{End, Stop};
use crate::core::units::{Count, Kind, Metres};
use leptos::prelude::*;

#[component]
pub fn Parts() -> impl IntoView {
    let app = app();
    let badges = Verdict::ALL.iter().map(|verdict| view! { <p><Badge verdict=*verdict/></p> }).collect_view();
    let icons = Icon::ALL.iter().map(|drawn| icon(*drawn)).collect_view();
    let findings = ["60.4", "56", "118.6", "41", "1.4", "9800", "OL", "85"]
        .into_iter()
        .filter_map(|text| {
            let seen = match entry::read(text, Kind::Ohms).ok()? {
                Entry::Figure(shown) => Seen::Figure(shown),
                Entry::BeyondRange => Seen::BeyondRange,
            };
            quick_ohms(Count::of(4.0), Metres::of(5.0), seen)
        })
        .map(|finding| view! { <FindingView finding/> })
        .collect_view();
    let states = [
        (Lit::Nothing, None),
        (Lit::Everything, None),
        (Lit::Modules, None),
        (Lit::Monitor, None),
        (Lit::Lead(0), None),
        (Lit::Terminator(End::Bank), None),
        (Lit::Meter(Stop::Monitor), None),
        (Lit::Meter(Stop::Module(3)), Some(Suspect::End(End::Bank))),
        (Lit::Nothing, Some(Suspect::Lead(1))),
        (Lit::Nothing, Some(Suspect::Whole)),
    ];
    let strips = app
        .content
        .demo
        .iter()
        .filter_map(|demo| app.content.equipment.draft_of(demo).ok())
        .flat_map(|draft| {
            let mut large = draft.clone();
            large.parallel = Some(draft.parallel.unwrap_or(1) * 3);
            [draft.site(), large.site()]
        })
        .flatten()
        .flat_map(|site| states.map(|(lit, suspect)| draw(&site, lit, suspect)))
        .map(|strip| view! { <div class="plate"><BusStrip strip/></div> })
        .collect_view();
    let rows = || vec![Row::new("a", "One row", "with a second line"), Row::new("b", "Another row", "")];
    let chosen = RwSignal::new(Some("a".to_string()));
    let several = RwSignal::new(vec!["b".to_string()]);
    let text = RwSignal::new("60,4 Ω".to_string());
    let wrong = Signal::derive(move || Some(app.word(w::ENTRY_NOT_A_NUMBER).to_string()));
    view! {
        <div class="page">
            <Head title="Parts" over="Every part in every state"/>
            <OfflineLine/>
            {badges}
            <p class="icons">{icons}</p>
            <NumberField id="p1" label="A reading" hint="With a hint" unit="Ω" large=true text error=no_error()
                on_text=move |typed| text.set(typed)/>
            <NumberField id="p2" label="A signed reading that is wrong" unit="V" signed=true large=true text error=wrong
                on_text=move |typed| text.set(typed)/>
            <NumberField id="p3" label="A small number" unit="m" text error=no_error()
                on_text=move |typed| text.set(typed)/>
            <Choice name="c1" legend="One of a few" rows=rows() chosen error=no_error()
                on_choose=move |key| chosen.set(Some(key))/>
            <Choice name="c2" legend="One of a few, not chosen" hint="With a hint" rows=rows() chosen=no_error() error=wrong
                on_choose=move |_| {}/>
            <Boxes name="c3" legend="Any of a few" rows=rows() chosen=several on_toggle=move |key, on| {
                several.update(|several| {
                    several.retain(|other| *other != key);
                    if on { several.push(key); }
                });
            }/>
            <p class="caution">{icon(Icon::Caution)}<span>"A caution where the hand is."</span></p>
            {findings}
            {strips}
            <div class="foot">
                <button type="button" class="quiet">"Quiet"</button>
                <button type="button" class="primary">"Primary"</button>
            </div>
        </div>
    }
}
