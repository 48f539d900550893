//! The ends of a bus as the profile's sum takes them: equipment's profiles with what their protocols fix.

use crate::content::schema::Content;
use crate::core::measure::profile::{Socket, Speaker, Speaking};
use crate::core::site::compat;
use crate::core::site::figures::{ModuleFigures, MonitorFigures, PortFigures, Profile};

impl Content {
    fn speaking(&self, profiles: &[Profile]) -> Vec<Speaking> {
        profiles
            .iter()
            .flat_map(|profile| {
                let bits = self.protocol(&profile.protocol).map_or(&[][..], |protocol| &protocol.identifier_bits);
                let bits = if bits.is_empty() { &[0][..] } else { bits };
                bits.iter().map(|bits| Speaking {
                    protocol: Some(profile.protocol.clone()),
                    bit_rate: profile.bit_rate,
                    identifier_bits: *bits,
                })
            })
            .collect()
    }

    /// The bank's end.
    pub fn end_of_module(&self, module: &ModuleFigures) -> Speaker {
        let data = &module.data;
        Speaker {
            name: Some(module.model.clone()),
            speaks: self.speaking(&module.speaks),
            socket: Some(Socket {
                connector: data.connector.clone(),
                high: data.high_pin,
                low: data.low_pin,
                reference: data.reference_pin,
            }),
        }
    }

    /// Both ends, without their sockets where a lead joins these wire to wire: unlike pins are then no hindrance.
    pub fn both_ends(&self, module: &ModuleFigures, monitor: &MonitorFigures, port: &PortFigures) -> [Speaker; 2] {
        let [mut here, mut there] = [self.end_of_module(module), self.end_of_port(monitor, port)];
        if compat::path(module, port, self.equipment.shelf()).is_ok() {
            (here.socket, there.socket) = (None, None);
        }
        [here, there]
    }

    /// The monitor's end.
    pub fn end_of_port(&self, monitor: &MonitorFigures, port: &PortFigures) -> Speaker {
        Speaker {
            name: Some(format!("{} {}", monitor.model, port.label)),
            speaks: self.speaking(&port.speaks),
            socket: Some(Socket {
                connector: port.connector.clone(),
                high: port.high_pin,
                low: port.low_pin,
                reference: port.reference_pin,
            }),
        }
    }
}
