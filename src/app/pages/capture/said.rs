//! What the messages of open protocols say.

use super::{address, count, pairs};
use crate::app::frame::App;
use crate::app::parts::alarm_links::alarm_links;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::bus::j1939::failure_mode;
use crate::core::bus::readings::{Faults, Field, Node, Of, Readings, Source, Tongue, Value, Voice, state_key};
use crate::core::codes::Code;
use leptos::prelude::*;

/// All of it: sources, faults, nodes.
pub fn said(app: App, readings: &Readings) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let none = readings.is_empty().then(|| view! { <p>{app.word(w::CAPTURE_SAID_NONE)}</p> });
    let beyond = (readings.beyond > 0).then(|| {
        view! { <p class="hint">{speaker.fill(w::CAPTURE_BEYOND, &[("n", count(readings.beyond))])}</p> }
    });
    let has_current = readings.sources.values().any(|source| source.said.contains_key(&Field::Current));
    let sources = readings.sources.iter().map(|(voice, source)| source_card(app, *voice, source)).collect_view();
    let faults = (!readings.faults.is_empty()).then(|| {
        let cards = readings.faults.iter().map(|((from, tongue), faults)| faults_card(app, *from, *tongue, faults));
        view! { <h2>{app.word(w::CAPTURE_FAULTS)}</h2><ul class="rows cards">{cards.collect_view()}</ul> }
    });
    let nodes = (!readings.nodes.is_empty()).then(|| {
        let cards = readings.nodes.iter().map(|(number, node)| node_card(app, *number, node)).collect_view();
        view! {
            <h2>{app.word(w::CAPTURE_NODES)}</h2>
            <p class="hint">{app.word(w::CAPTURE_NODES_ABOUT)}</p>
            <ul class="rows cards">{cards}</ul>
        }
    });
    let has_sources = !readings.sources.is_empty();
    view! {
        {(has_sources || none.is_some()).then(|| view! { <h2>{app.word(w::CAPTURE_SAID)}</h2> })}
        {none}
        {has_sources.then(|| view! { <ul class="rows cards">{sources}</ul> })}
        {has_current.then(|| view! { <p class="hint">{app.word(w::CAPTURE_SIGN)}</p> })}
        {faults}
        {nodes}
        {beyond}
    }
}

/// The name of what is spoken of.
pub fn of(app: App, of: Of) -> String {
    let speaker = app.speaker();
    let number = |number: u8| Arg::Count(u32::from(number));
    match of {
        Of::Bank { instance: Some(n) } => speaker.fill(w::CAPTURE_BANK, &[("n", number(n))]),
        Of::Bank { instance: None } => app.word(w::CAPTURE_BANK_UNNAMED).to_string(),
        Of::Battery { bank: Some(bank), instance } => {
            speaker.fill(w::CAPTURE_BATTERY, &[("n", or_dash(instance)), ("bank", number(bank))])
        }
        Of::Battery { bank: None, instance } => speaker.fill(w::CAPTURE_BATTERY_UNNAMED, &[("n", or_dash(instance))]),
        Of::Switch { instance } => speaker.fill(w::CAPTURE_SWITCH, &[("n", or_dash(instance))]),
    }
}

fn or_dash(number: Option<u8>) -> Arg {
    number.map_or(Arg::Name("–".into()), |number| Arg::Count(u32::from(number)))
}

/// Who speaks, in a line.
pub fn from(app: App, voice: Voice, source: &Source) -> String {
    let speaker = app.speaker();
    let from = speaker.fill(w::CAPTURE_FROM, &[("address", address(voice.address)), ("n", count(source.messages))]);
    match source.device_priority {
        None => from,
        Some(priority) => speaker
            .fill(w::CAPTURE_PRIORITY, &[("from", Arg::Name(from)), ("priority", Arg::Count(u32::from(priority)))]),
    }
}

fn source_card(app: App, voice: Voice, source: &Source) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let said = source.said.iter().map(|(field, said)| {
        let value = match said.value {
            Value::Figure(figure) => speaker.figure(figure),
            Value::Word(word) => speaker.name(&format!("log-value-{word}")).to_string(),
            Value::Code(code) => code.to_string(),
        };
        (speaker.name(&format!("log-field-{}", field.key())).to_string(), value)
    });
    let codes = source.said.iter().filter_map(|(field, said)| Code::of_said(voice.of, *field, said.value));
    view! {
        <li class="card">
            <h3>{of(app, voice.of)}</h3>
            <p class="hint">{from(app, voice, source)}</p>
            {pairs(said.collect())}
            {alarm_links(app, codes)}
        </li>
    }
}

fn faults_card(app: App, sender: u8, tongue: Tongue, faults: &Faults) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let name = app.word(match tongue {
        Tongue::J1939 => w::CAPTURE_J1939,
        Tongue::RvC => w::CAPTURE_RV_C,
    });
    let title =
        speaker.fill(w::CAPTURE_FAULT_FROM, &[("tongue", Arg::Name(name.into())), ("address", address(sender))]);
    let mut lines: Vec<String> = Vec::new();
    let mut codes: Vec<Code> = Vec::new();
    for (lit, word) in [(faults.red_lamp, w::CAPTURE_LAMPS_RED), (faults.yellow_lamp, w::CAPTURE_LAMPS_YELLOW)] {
        if lit == Some(true) {
            lines.push(app.word(word).to_string());
            codes.push(Code::of_lamp(word == w::CAPTURE_LAMPS_RED));
        }
    }
    for ((spn, fmi), times) in &faults.codes {
        let mode = speaker.name(&format!("log-fault-{}", failure_mode(*fmi, tongue.speech()))).to_string();
        let args = [("spn", Arg::Name(spn.to_string())), ("mode", mode.into()), ("n", count(*times))];
        lines.push(speaker.fill(w::CAPTURE_FAULT_CODE, &args));
        codes.extend(Code::of_failure_mode(*fmi, tongue));
    }
    if faults.codes.is_empty() && faults.messages > 0 {
        lines.push(speaker.fill(w::CAPTURE_FAULT_NONE, &[("n", count(faults.messages))]));
    }
    if faults.in_parts > 0 {
        lines.push(speaker.fill(w::CAPTURE_FAULT_PARTS, &[("n", count(faults.in_parts))]));
    }
    card(app, title, lines, codes)
}

fn node_card(app: App, number: u8, node: &Node) -> impl IntoView + use<> {
    let speaker = app.speaker();
    let title = speaker.fill(w::CAPTURE_NODE, &[("n", Arg::Count(u32::from(number)))]);
    let state = match node.state {
        None => app.word(w::CAPTURE_NODE_SILENT).to_string(),
        Some(state) => {
            let state = speaker.name(&format!("log-node-{}", state_key(state))).to_string();
            speaker.fill(w::CAPTURE_NODE_STATE, &[("state", state.into()), ("n", count(node.heartbeats))])
        }
    };
    let emergencies = node.emergencies.iter().map(|(code, (register, times))| match code {
        0 => speaker.fill(w::CAPTURE_EMERGENCY_CLEAR, &[("n", count(*times))]),
        code => {
            let (code, register) = (format!("{code:04X}"), format!("{register:02X}"));
            let args = [("code", code.into()), ("register", register.into()), ("n", count(*times))];
            speaker.fill(w::CAPTURE_EMERGENCY, &args)
        }
    });
    let codes = node.emergencies.keys().filter_map(|code| Code::of_emergency(*code)).collect();
    card(app, title, std::iter::once(state).chain(emergencies).collect(), codes)
}

fn card(app: App, title: String, lines: Vec<String>, codes: Vec<Code>) -> impl IntoView {
    view! {
        <li class="card">
            <h3>{title}</h3>
            {lines.into_iter().map(|line| view! { <p class="row-line">{line}</p> }).collect_view()}
            {alarm_links(app, codes)}
        </li>
    }
}
