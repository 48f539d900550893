//! A bus described by nothing but its devices and its length, as a draft: for readings held without a job.

use crate::core::site::figures::{
    DataSocket, LeadFigures, LeadUse, ModuleFigures, MonitorFigures, PortFigures, PortUse, Profile, TerminatorFigures,
    Wake,
};
use crate::core::site::{Draft, Site};
use crate::core::units::{
    AmpereHours, Amperes, BitRate, Celsius, Count, Metres, Ohms, OhmsPerMetre, Percent, Quantity, Seconds, Volts,
};

/// A bus with so many devices, the monitor included. `None` for fewer than two, and for more than a site may have.
pub fn plain_site(devices: Count, length: Metres) -> Option<Site> {
    let modules = (devices.get() as u32).checked_sub(1).filter(|modules| *modules > 0)?;
    plain(modules, length).site().ok()
}

/// A chain of so many modules and a monitor, terminated at both ends. The links have no length: the whole bus is the
/// one lead. Only the figures of the bus count; all others are there to make the description whole.
pub fn plain(modules: u32, length: Metres) -> Draft {
    let (key, connector) = ("plain".to_string(), "plain".to_string());
    let speaks = vec![Profile { protocol: key.clone(), bit_rate: BitRate::of(500_000.0) }];
    let lead = |usage: LeadUse, contacts: Ohms| LeadFigures {
        key: key.clone(),
        name: key.clone(),
        usage,
        ends: [connector.clone(), connector.clone()],
        conductor: OhmsPerMetre::of(0.084),
        wires: Vec::new(),
        contacts,
        lengths: Vec::new(),
    };
    Draft {
        name: String::new(),
        module: Some(ModuleFigures {
            key: key.clone(),
            maker: String::new(),
            model: String::new(),
            cells_in_series: 4,
            nominal: Volts::of(12.8),
            capacity: AmpereHours::of(100.0),
            charge_limit: Amperes::of(50.0),
            discharge_limit: Amperes::of(100.0),
            charge_voltage_limit: Volts::of(14.4),
            discharge_voltage_limit: Volts::of(10.5),
            coldest_charge: Celsius::of(0.0),
            hottest_charge: Celsius::of(50.0),
            resistance: Ohms::of(0.008),
            most_in_series: 1,
            most_in_parallel: 64,
            wake: Wake::ByItself,
            wake_time: Seconds::of(0.0),
            off: None,
            off_time: None,
            numbering: None,
            longest_link: None,
            data: DataSocket {
                connector: connector.clone(),
                high_pin: 1,
                low_pin: 2,
                reference_pin: 3,
                isolated: true,
                built_in_terminator: false,
            },
            speaks: speaks.clone(),
        }),
        series: Some(1),
        parallel: Some(modules),
        monitor: Some(MonitorFigures {
            key: key.clone(),
            maker: String::new(),
            model: String::new(),
            source_menu: String::new(),
            ports: vec![PortFigures {
                key: key.clone(),
                label: String::new(),
                usage: PortUse::Dedicated,
                connector: connector.clone(),
                high_pin: 1,
                low_pin: 2,
                reference_pin: 3,
                sockets: 2,
                built_in_terminator: false,
                speaks,
            }],
        }),
        port: Some(key.clone()),
        link_lead: Some(lead(LeadUse::Link, Ohms::of(0.0))),
        link_length: Some(Metres::of(0.0)),
        bus_lead: Some(lead(LeadUse::Bus, Ohms::of(0.02))),
        bus_length: Some(length),
        adapter: None,
        terminator: Some(TerminatorFigures {
            key: key.clone(),
            name: key,
            connector,
            pins: None,
            resistance: Ohms::of(120.0),
            tolerance: Percent::of(1.0),
        }),
        monitor_terminator: None,
        terminated_at_bank: Some(true),
        terminated_at_monitor: Some(true),
        chargers: Vec::new(),
    }
}
