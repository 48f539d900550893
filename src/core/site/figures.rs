//! The figures of equipment that sums rely on. A site carries its own copy, so that a job opened elsewhere can still be
//! assessed without that equipment's file.

use crate::core::units::{AmpereHours, Amperes, BitRate, Celsius, Metres, Ohms, OhmsPerMetre, Percent, Seconds, Volts};
use serde::{Deserialize, Serialize};

/// What a port speaks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Profile {
    /// Key of the protocol, as in the words of the language.
    pub protocol: String,
    #[serde(rename = "bit-rate-bit-per-s")]
    pub bit_rate: BitRate,
}

/// The data socket of a module.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct DataSocket {
    pub connector: String,
    pub high_pin: u8,
    pub low_pin: u8,
    pub reference_pin: u8,
    /// Is the port isolated from the poles?
    pub isolated: bool,
    pub built_in_terminator: bool,
}

/// How a module is woken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Wake {
    /// A button on the module.
    Button,
    /// A charger or a load, or the monitor's wake line.
    ByItself,
    /// A switch wired to the module.
    Switch,
}

impl Wake {
    pub const ALL: &'static [Wake] = &[Wake::Button, Wake::ByItself, Wake::Switch];

    pub fn key(self) -> &'static str {
        match self {
            Wake::Button => "button",
            Wake::ByItself => "by-itself",
            Wake::Switch => "switch",
        }
    }
}

/// A managed lithium iron phosphate module.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ModuleFigures {
    pub key: String,
    pub maker: String,
    pub model: String,
    pub cells_in_series: u32,
    #[serde(rename = "nominal-V")]
    pub nominal: Volts,
    #[serde(rename = "capacity-Ah")]
    pub capacity: AmpereHours,
    #[serde(rename = "charge-limit-A")]
    pub charge_limit: Amperes,
    #[serde(rename = "discharge-limit-A")]
    pub discharge_limit: Amperes,
    /// The highest voltage that the module may be charged to.
    #[serde(rename = "charge-voltage-limit-V")]
    pub charge_voltage_limit: Volts,
    /// The voltage below which it must not be discharged.
    #[serde(rename = "discharge-voltage-limit-V")]
    pub discharge_voltage_limit: Volts,
    #[serde(rename = "coldest-charge-C")]
    pub coldest_charge: Celsius,
    #[serde(rename = "hottest-charge-C")]
    pub hottest_charge: Celsius,
    /// Poles to poles, switch included.
    #[serde(rename = "resistance-ohm")]
    pub resistance: Ohms,
    pub most_in_series: u32,
    pub most_in_parallel: u32,
    pub wake: Wake,
    /// From waking to the first data.
    #[serde(rename = "wake-time-s")]
    pub wake_time: Seconds,
    pub data: DataSocket,
    pub speaks: Vec<Profile>,
}

/// Is a port made for one profile, or can it be set?
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum PortUse {
    Dedicated,
    Settable,
}

/// One port of a monitor.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct PortFigures {
    pub key: String,
    /// The label printed beside it.
    pub label: String,
    #[serde(rename = "use")]
    pub usage: PortUse,
    pub connector: String,
    pub high_pin: u8,
    pub low_pin: u8,
    pub reference_pin: u8,
    /// Sockets that are one port: a second one takes the terminator.
    pub sockets: u8,
    pub built_in_terminator: bool,
    pub speaks: Vec<Profile>,
}

/// A system monitor.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct MonitorFigures {
    pub key: String,
    pub maker: String,
    pub model: String,
    /// Where the source of battery data is chosen, as its own menus say it.
    pub source_menu: String,
    pub ports: Vec<PortFigures>,
}

/// What a lead is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum LeadUse {
    /// Module to module.
    Link,
    /// Bank to monitor.
    Bus,
}

/// A data lead.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct LeadFigures {
    pub key: String,
    pub name: String,
    #[serde(rename = "use")]
    pub usage: LeadUse,
    pub ends: [String; 2],
    /// Resistance of one conductor.
    #[serde(rename = "conductor-ohm-per-m")]
    pub conductor: OhmsPerMetre,
    /// Contacts of both plugs together, one conductor.
    #[serde(rename = "contacts-ohm")]
    pub contacts: Ohms,
    /// Lengths it is sold in.
    #[serde(rename = "lengths-m")]
    pub lengths: Vec<Metres>,
}

impl LeadFigures {
    /// Has the lead a plug for this connector?
    pub fn joins(&self, connector: &str) -> bool {
        self.ends.iter().any(|end| end == connector)
    }
}

/// A plug-in terminator.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct TerminatorFigures {
    pub key: String,
    pub name: String,
    pub connector: String,
    #[serde(rename = "resistance-ohm")]
    pub resistance: Ohms,
    #[serde(rename = "tolerance-percent")]
    pub tolerance: Percent,
}

/// A source of charge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ChargerFigures {
    pub key: String,
    pub name: String,
    /// Does it follow what the bank asks for over the bus?
    pub steered: bool,
    #[serde(rename = "current-A")]
    pub current: Amperes,
    #[serde(rename = "absorption-V")]
    pub absorption: Volts,
    #[serde(rename = "float-V")]
    pub float: Volts,
}
