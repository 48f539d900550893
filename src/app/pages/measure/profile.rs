//! Port profile: do two ends speak the same, and what is seen when they do not.

use crate::app::frame::{App, app};
use crate::app::pages::entries::{no_site, with_job};
use crate::app::pages::jobs::name_of;
use crate::app::pages::measure::Foot;
use crate::app::pages::measure::typed::{Typed, TypedField, show_outcome};
use crate::app::parts::badge::Badge;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::finding::source_line;
use crate::app::parts::head::Head;
use crate::app::parts::judged::JudgedView;
use crate::content::schema::{Protocol, SymptomWords};
use crate::content::words as w;
use crate::core::because::{Arg, Named};
use crate::core::measure::profile::{Agreement, Speaker, Speaking, Symptom, agree};
use crate::core::site::figures::{MonitorFigures, PortFigures, PortUse, Profile};
use crate::core::units::Kind;
use leptos::prelude::*;

const BY_HAND: &str = "by-hand";
const UNKNOWN: &str = "unknown";

/// One end as it is chosen or typed.
#[derive(Clone, Copy)]
struct End {
    id: &'static str,
    chosen: RwSignal<Option<String>>,
    error: RwSignal<Option<String>>,
    rate: Typed,
    bits: RwSignal<Option<String>>,
    protocol: RwSignal<Option<String>>,
}

impl End {
    fn new(id: &'static str, rate: &str) -> End {
        End {
            id,
            chosen: RwSignal::new(None),
            error: RwSignal::new(None),
            rate: Typed::in_unit(Kind::BitRate, "kbit/s", rate),
            bits: RwSignal::new(Some("11".into())),
            protocol: RwSignal::new(Some(UNKNOWN.into())),
        }
    }

    /// The end, from content by its key or from what is typed; a sentence stays where something is missing.
    fn read(self, app: App, known: impl Fn(&str) -> Option<Speaker>) -> Option<Speaker> {
        let Some(chosen) = self.chosen.get_untracked() else {
            self.error.set(Some(app.word(w::ENTRY_CHOOSE).to_string()));
            return None;
        };
        if chosen != BY_HAND {
            return known(&chosen);
        }
        let bit_rate = self.rate.quantity()?;
        let identifier_bits = self.bits.get_untracked()?.parse().ok()?;
        let protocol = self.protocol.get_untracked().filter(|key| key != UNKNOWN);
        Some(Speaker { name: None, speaks: vec![Speaking { protocol, bit_rate, identifier_bits }], socket: None })
    }
}

fn port_name(app: App, monitor: &MonitorFigures, port: &PortFigures) -> String {
    app.speaker().fill(
        w::PROFILE_PORT_NAME,
        &[("monitor", Arg::Name(monitor.model.clone())), ("port", Arg::Name(port.label.clone()))],
    )
}

fn profiles(app: App, list: &[Profile]) -> String {
    let one = |profile: &Profile| {
        let protocol = Named::new(format!("protocol-{}", profile.protocol));
        app.speaker().fill(w::PROFILE_SPEAKS, &[("protocol", protocol.into()), ("rate", profile.bit_rate.into())])
    };
    let between = format!(" {} ", app.word(w::PROFILE_OR));
    list.iter().map(one).collect::<Vec<_>>().join(&between)
}

fn protocol_line(app: App, protocol: &Protocol) -> String {
    let speaker = app.speaker();
    let bits: Vec<String> = protocol.identifier_bits.iter().map(u32::to_string).collect();
    let rates: Vec<String> = protocol.bit_rates.iter().map(|rate| speaker.figure(*rate)).collect();
    let rates = match rates.as_slice() {
        [first, .., last] if rates.len() > 2 => {
            speaker.fill(w::PROFILE_RATES, &[("low", Arg::Name(last.clone())), ("high", Arg::Name(first.clone()))])
        }
        all => all.join(&format!(" {} ", app.word(w::PROFILE_OR))),
    };
    let bits = bits.join(&format!(" {} ", app.word(w::PROFILE_OR)));
    speaker.fill(w::PROFILE_PROTOCOL_LINE, &[("bits", Arg::Name(bits)), ("rates", Arg::Name(rates))])
}

#[component]
pub fn MeasureProfile() -> impl IntoView {
    let app = app();
    let equipment = &app.content.equipment;
    let (bank, monitor) = (End::new("bank", "500"), End::new("monitor", "500"));
    let agreement = RwSignal::new(None::<Agreement>);
    let hold = Callback::new(move |()| {
        let here = bank.read(app, |key| Some(app.content.end_of_module(equipment.module(key)?)));
        let there = monitor.read(app, |key| {
            let (monitor, port) = key.split_once('/')?;
            let monitor = equipment.monitor(monitor)?;
            let port = monitor.ports.iter().find(|other| other.key == port)?;
            Some(app.content.end_of_port(monitor, port))
        });
        agreement.set((|| agree(&here?, &there?))());
        show_outcome();
    });
    let clear = Callback::new(move |()| agreement.set(None));
    let by_hand = || Row::new(BY_HAND, app.word(w::PROFILE_BY_HAND), app.word(w::PROFILE_BY_HAND_ABOUT));
    let mut modules: Vec<Row> = equipment
        .modules
        .iter()
        .map(|module| Row::new(&module.key, &module.model, profiles(app, &module.speaks)))
        .collect();
    modules.push(by_hand());
    let mut ports: Vec<Row> = equipment
        .monitors
        .iter()
        .flat_map(|monitor| monitor.ports.iter().map(move |port| (monitor, port)))
        .map(|(monitor, port)| {
            let key = format!("{}/{}", monitor.key, port.key);
            Row::new(key, port_name(app, monitor, port), profiles(app, &port.speaks))
        })
        .collect();
    ports.push(by_hand());
    let outcome = move || agreement.get().map(|agreement| outcome(app, agreement));
    let monitors = equipment.monitors.iter().map(|monitor| monitor_view(app, monitor)).collect_view();
    view! {
        <div class="page">
            <Head title=app.word(w::MEASURE_PROFILE)/>
            <p class="lead">{app.word(w::PROFILE_LEAD)}</p>
            <EndField end=bank legend=app.word(w::PROFILE_MODULE) rows=modules clear hold/>
            <EndField end=monitor legend=app.word(w::PROFILE_PORT) rows=ports clear hold/>
            <div aria-live="polite">{outcome}</div>
            {all_symptoms(app)}
            <h2>{app.word(w::PROFILE_MONITORS)}</h2>
            {monitors}
            <Foot hold/>
        </div>
    }
}

/// The verdict, and what is seen of a disagreement.
fn outcome(app: App, agreement: Agreement) -> AnyView {
    let symptoms = (!agreement.symptoms.is_empty()).then(|| {
        view! {
            <div class="may-be">
                <h2>{app.word(w::PROFILE_EXPECT)}</h2>
                {agreement.symptoms.iter().map(|symptom| symptom_view(app, *symptom)).collect_view()}
            </div>
        }
    });
    view! { <JudgedView judged=agreement.judged/> {symptoms} }.into_any()
}

fn all_symptoms(app: App) -> AnyView {
    view! {
        <h2>{app.word(w::PROFILE_SYMPTOMS)}</h2>
        <div class="folds">{Symptom::ALL.iter().map(|symptom| symptom_fold(app, *symptom)).collect_view()}</div>
    }
    .into_any()
}

/// A job's ports: the one in use first, then what the monitor's others would do.
#[component]
pub fn JobProfile(id: String) -> impl IntoView {
    let app = app();
    with_job(id.clone(), move |job| {
        let back = name_of(app, &job);
        let Ok(site) = job.site.site() else {
            return no_site(app, app.word(w::MEASURE_PROFILE), back, id.clone());
        };
        let held = |port: &PortFigures| {
            let [bank, monitor] = app.content.both_ends(&site.module, &site.monitor, port);
            agree(&bank, &monitor)
        };
        let in_use = held(&site.port).map(|agreement| outcome(app, agreement));
        let others: Vec<AnyView> = site
            .monitor
            .ports
            .iter()
            .filter(|port| port.key != site.port.key)
            .filter_map(|port| {
                let judged = held(port)?.judged;
                Some(
                    view! {
                        <section class="symptom">
                            <h3>{port.label.clone()}</h3>
                            <p><Badge verdict=judged.verdict/></p>
                            <p>{app.speaker().because(&judged.because)}</p>
                        </section>
                    }
                    .into_any(),
                )
            })
            .collect();
        let others = (!others.is_empty()).then(|| view! { <h2>{app.word(w::PROFILE_OTHERS)}</h2>{others} });
        view! {
            <div class="page">
                <Head title=app.word(w::MEASURE_PROFILE) back/>
                <p class="lead">{format!("{} \u{2013} {}", site.module.model, port_name(app, &site.monitor, &site.port))}</p>
                {in_use}
                <h2>{app.word(w::PROFILE_SET)}</h2>
                {monitor_view(app, &site.monitor)}
                {others}
                {all_symptoms(app)}
            </div>
        }
        .into_any()
    })
}

#[component]
fn EndField(end: End, legend: &'static str, rows: Vec<Row>, clear: Callback<()>, hold: Callback<()>) -> impl IntoView {
    let app = app();
    let by_hand = move || {
        end.chosen.with(|chosen| chosen.as_deref() == Some(BY_HAND)).then(|| {
            let bits = vec![
                Row::new("11", app.word(w::PROFILE_BITS_11), ""),
                Row::new("29", app.word(w::PROFILE_BITS_29), ""),
            ];
            let mut protocols: Vec<Row> = app
                .content
                .protocols
                .iter()
                .map(|protocol| {
                    let name = app.speaker().name(&format!("protocol-{}", protocol.key));
                    Row::new(&protocol.key, name, protocol_line(app, protocol))
                })
                .collect();
            protocols.push(Row::new(UNKNOWN, app.word(w::PROFILE_PROTOCOL_UNKNOWN), ""));
            let nothing_wrong = crate::app::parts::field::no_error;
            view! {
                <div class="by-hand">
                    <TypedField id=format!("{}-rate", end.id) label=app.word(w::PROFILE_RATE) typed=end.rate clear hold/>
                    <Choice name=format!("{}-bits", end.id) legend=app.word(w::PROFILE_BITS) rows=bits chosen=end.bits
                        error=nothing_wrong() on_choose=move |key| { clear.run(()); end.bits.set(Some(key)); }/>
                    <Choice name=format!("{}-protocol", end.id) legend=app.word(w::PROFILE_PROTOCOL) rows=protocols
                        chosen=end.protocol error=nothing_wrong()
                        on_choose=move |key| { clear.run(()); end.protocol.set(Some(key)); }/>
                </div>
            }
        })
    };
    view! {
        <Choice name=end.id legend rows chosen=end.chosen error=end.error on_choose=move |key| {
            clear.run(());
            end.error.set(None);
            end.chosen.set(Some(key));
        }/>
        {by_hand}
    }
}

/// What is seen, and how to tell it from the others.
fn symptom_text(app: App, words: &SymptomWords) -> impl IntoView + use<> {
    let sources: Vec<String> = words.sources.iter().map(|key| source_line(app, key)).collect();
    view! {
        <p>{words.looks.clone()}</p>
        <p><strong>{app.word(w::PROFILE_FIND)}": "</strong>{words.find.clone()}</p>
        <p class="cites">{sources.join("; ")}</p>
    }
}

fn symptom_view(app: App, symptom: Symptom) -> Option<impl IntoView> {
    let words = app.speaker().language.symptoms.get(symptom.key())?;
    Some(view! {
        <section class="symptom">
            <h3>{words.title.clone()}</h3>
            {symptom_text(app, words)}
        </section>
    })
}

/// A symptom behind a tap.
fn symptom_fold(app: App, symptom: Symptom) -> Option<impl IntoView> {
    let words = app.speaker().language.symptoms.get(symptom.key())?;
    Some(view! {
        <details class="fold">
            <summary>{words.title.clone()}</summary>
            {symptom_text(app, words)}
        </details>
    })
}

fn monitor_view(app: App, monitor: &MonitorFigures) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let ports = monitor
        .ports
        .iter()
        .map(|port| {
            let word = match port.usage {
                PortUse::Dedicated => w::PROFILE_DEDICATED,
                PortUse::Settable => w::PROFILE_SETTABLE,
            };
            let args = [("port", Arg::Name(port.label.clone())), ("profile", Arg::Name(profiles(app, &port.speaks)))];
            view! { <li>{speaker.fill(word, &args)}</li> }
        })
        .collect_view();
    let took = speaker.fill(w::PROFILE_TOOK, &[("menu", Arg::Name(monitor.source_menu.clone()))]);
    view! {
        <section class="symptom">
            <h3>{monitor.model.clone()}</h3>
            <ul>{ports}</ul>
            <p>{took}</p>
        </section>
    }
}
