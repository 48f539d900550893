//! The connectors' faces, with the pins to probe.

use crate::app::frame::{App, app};
use crate::app::parts::finding::Rests;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::pins::Pins;
use crate::content::schema::{Connector, Role};
use crate::content::words as w;
use crate::core::because::Arg;
use leptos::prelude::*;
use std::collections::BTreeMap;

#[component]
pub fn MeasurePins() -> impl IntoView {
    let app = app();
    let connectors = app.content.connectors.iter().map(|connector| section(app, connector)).collect_view();
    view! {
        <div class="page page-pins">
            <Head title=app.word(w::MEASURE_PINS)/>
            <p class="lead">{app.word(w::PINS_LEAD)}</p>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::PINS_NOT_ONE)}</span></p>
            <p>{app.word(w::PINS_TEST)}</p>
            <p class="hint">{app.word(w::PINS_NUMBERS)}</p>
            {connectors}
        </div>
    }
}

fn section(app: App, connector: &'static Connector) -> Option<impl IntoView + use<>> {
    let speaker = app.speaker();
    let (high, low) = (connector.role(Role::High)?, connector.role(Role::Low)?);
    let reference = connector.role(Role::Reference)?;
    let mut pins = connector.pins.clone();
    pins.sort_by_key(|pin| pin.n);
    let list = pins
        .iter()
        .filter(|pin| pin.role != Role::Free)
        .map(|pin| {
            let probed = matches!(pin.role, Role::High | Role::Low);
            let probe = probed.then(|| view! { <span class="probe-mark">{app.word(w::PINS_PROBE)}</span> });
            view! {
                <li class:probed=probed>
                    <span>{speaker.fill(w::PINS_PIN, &[("n", Arg::Count(u32::from(pin.n)))])}</span>
                    <span>{speaker.name(&format!("role-{}", pin.role.key())).to_string()}</span>
                    {probe}
                </li>
            }
        })
        .collect_view();
    let used = used_by(app, connector);
    let sources = connector.sources.iter().map(String::as_str).collect();
    Some(view! {
        <section class="connector">
            <h2>{speaker.name(&format!("connector-{}", connector.key)).to_string()}</h2>
            <div class="plate"><Pins connector=connector.key.clone() high low reference/></div>
            <ul class="pin-list">{list}</ul>
            {used}
            <Rests sum=Vec::new() sources/>
        </section>
    })
}

/// Where the equipment has this connector, and with which pins.
fn used_by(app: App, connector: &Connector) -> Option<impl IntoView + use<>> {
    let equipment = &app.content.equipment;
    let modules = equipment.modules.iter().map(|module| {
        let data = &module.data;
        (&data.connector, module.model.clone(), (data.high_pin, data.low_pin, data.reference_pin))
    });
    let ports = equipment.monitors.iter().flat_map(|monitor| {
        monitor.ports.iter().map(|port| {
            let name = app.speaker().fill(
                w::PROFILE_PORT_NAME,
                &[("monitor", Arg::Name(monitor.model.clone())), ("port", Arg::Name(port.label.clone()))],
            );
            (&port.connector, name, (port.high_pin, port.low_pin, port.reference_pin))
        })
    });
    let mut by_pins: BTreeMap<(u8, u8, u8), Vec<String>> = BTreeMap::new();
    for (key, name, pins) in modules.chain(ports) {
        if *key == connector.key {
            by_pins.entry(pins).or_default().push(name);
        }
    }
    let pin = |n: u8| Arg::Count(u32::from(n));
    (!by_pins.is_empty()).then(|| {
        let items = by_pins
            .into_iter()
            .map(|((high, low, reference), names)| {
                let args = [
                    ("names", Arg::Name(names.join(", "))),
                    ("high", pin(high)),
                    ("low", pin(low)),
                    ("reference", pin(reference)),
                ];
                view! { <li>{app.speaker().fill(w::PINS_USED_BY, &args)}</li> }
            })
            .collect_view();
        view! { <h3>{app.word(w::PINS_IN_EQUIPMENT)}</h3><ul class="plain-list">{items}</ul> }
    })
}
