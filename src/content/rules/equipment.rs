//! Rules of the figures: what would make a sum meaningless is a slip of whoever wrote it. The ranges are wide on purpose, and
//! common practice, no source, but for those of the units.

use super::Reader;
use crate::content::schema::{Content, Equipment};
use crate::core::site::MOST_MODULES;
use crate::core::site::figures::{ModuleFigures, MonitorFigures, Profile};
use crate::core::units::Quantity;
use std::collections::BTreeSet;

/// Cells of a module in series: one, up to the 48 V class and as much again.
const CELLS: std::ops::RangeInclusive<u32> = 1..=32;
/// Volts that one cell may have by its module's nominal voltage: every lithium chemistry of such modules lies inside.
const CELL_VOLTS: std::ops::RangeInclusive<f64> = 1.5..=4.5;
/// The most sockets of one port.
const MOST_SOCKETS: u8 = 16;
/// What a plug is that closes a bus, Ω: those of CAN have 118 to 130 (ISO 11898-2), those of other buses 100 and more.
const TERMINATOR: std::ops::RangeInclusive<f64> = 50.0..=500.0;

/// Notes what is wrong of one entry.
struct Entry<'a> {
    reader: &'a mut Reader,
    file: String,
}

impl Entry<'_> {
    fn hold(&mut self, is_right: bool, field: &str, reason: &str) {
        if !is_right {
            self.reader.wrong(&self.file, field, reason.to_string());
        }
    }

    fn texts(&mut self, texts: &[(&str, &str)]) {
        for (name, text) in texts {
            self.hold(!text.trim().is_empty(), name, &format!("\"{name}\" has no text"));
        }
    }

    /// The three contacts of a socket are three, and it speaks something.
    fn socket(&mut self, pins: [u8; 3], speaks: &[Profile]) {
        let apart = BTreeSet::from(pins).len() == pins.len();
        self.hold(apart, "high-pin", "two of the three contacts are the same pin");
        self.hold(!speaks.is_empty(), "speaks", "\"speaks\" names no protocol");
    }
}

pub(super) fn makes_sense(content: &Content, reader: &mut Reader) {
    let Equipment { modules, monitors, leads, terminators, chargers } = &*content.equipment;
    let mut entry = |kind: &str, key: &str, rules: &dyn Fn(&mut Entry<'_>)| {
        rules(&mut Entry { reader: &mut *reader, file: format!("equipment/{kind}/{key}.toml") });
    };
    for item in modules {
        entry("modules", &item.key, &|entry| module(entry, item));
    }
    for item in monitors {
        entry("monitors", &item.key, &|entry| monitor(entry, item));
    }
    for item in leads {
        entry("leads", &item.key, &|entry| {
            entry.hold(item.conductor.get() > 0.0, "conductor-ohm-per-m", "a conductor has some resistance");
            let some = !item.lengths.is_empty() && item.lengths.iter().all(|length| length.get() > 0.0);
            entry.hold(some, "lengths-m", "\"lengths-m\" names the lengths that it is sold in, all above 0");
        });
    }
    for item in terminators {
        entry("terminators", &item.key, &|entry| {
            let such = TERMINATOR.contains(&item.resistance.get());
            entry.hold(such, "resistance-ohm", "a terminator has 50 to 500 Ω");
        });
    }
    for item in chargers {
        entry("chargers", &item.key, &|entry| {
            entry.texts(&[("name", &item.name)]);
            entry.hold(item.current.get() > 0.0, "current-A", "a charger gives some current");
            entry.hold(item.float.get() > 0.0, "float-V", "the float voltage must be above 0");
            let in_order = item.float <= item.absorption;
            entry.hold(in_order, "float-V", "the float voltage lies above the absorption voltage");
        });
    }
}

fn module(entry: &mut Entry<'_>, module: &ModuleFigures) {
    entry.texts(&[("maker", &module.maker), ("model", &module.model)]);
    let cells = CELLS.contains(&module.cells_in_series);
    entry.hold(cells, "cells-in-series", "a module has 1 to 32 cells in series");
    if cells {
        let each = module.nominal.get() / f64::from(module.cells_in_series);
        entry.hold(
            CELL_VOLTS.contains(&each),
            "nominal-V",
            "the nominal voltage gives each cell less than 1.5 V or more than 4.5 V",
        );
    }
    entry.hold(module.capacity.get() > 0.0, "capacity-Ah", "the nameplate capacity must be above 0");
    entry.hold(module.charge_limit.get() > 0.0, "charge-limit-A", "the limit of charge must be above 0");
    entry.hold(module.discharge_limit.get() > 0.0, "discharge-limit-A", "the limit of discharge must be above 0");
    entry.hold(module.resistance.get() > 0.0, "resistance-ohm", "a module has some resistance");
    let volts = 0.0 < module.discharge_voltage_limit.get()
        && module.discharge_voltage_limit < module.nominal
        && module.nominal < module.charge_voltage_limit;
    let reason = "the lower voltage limit, the nominal voltage and the upper limit must rise in this order";
    entry.hold(volts, "charge-voltage-limit-V", reason);
    let degrees = module.coldest_charge < module.hottest_charge;
    entry.hold(degrees, "coldest-charge-C", "the coldest temperature for charging lies above the hottest");
    for (name, most) in [("most-in-series", module.most_in_series), ("most-in-parallel", module.most_in_parallel)] {
        let such = (1..=MOST_MODULES).contains(&most);
        entry.hold(such, name, &format!("\"{name}\" must be 1 to {MOST_MODULES}"));
    }
    let data = &module.data;
    entry.socket([data.high_pin, data.low_pin, data.reference_pin], &module.speaks);
}

fn monitor(entry: &mut Entry<'_>, monitor: &MonitorFigures) {
    let texts = [("maker", &monitor.maker), ("model", &monitor.model), ("source-menu", &monitor.source_menu)];
    entry.texts(&texts.map(|(name, text)| (name, text.as_str())));
    entry.hold(!monitor.ports.is_empty(), "ports", "a monitor has at least one port");
    let mut keys = BTreeSet::new();
    for port in &monitor.ports {
        entry.texts(&[("label", &port.label)]);
        let such = !port.key.is_empty() && port.key.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
        entry.hold(such, "key", "the key of a port has letters without accents, digits and hyphens");
        entry.hold(keys.insert(&port.key), &port.key, &format!("the port \"{}\" is there twice", port.key));
        let sockets = (1..=MOST_SOCKETS).contains(&port.sockets);
        entry.hold(sockets, "sockets", "a port has 1 to 16 sockets");
        entry.socket([port.high_pin, port.low_pin, port.reference_pin], &port.speaks);
    }
}
