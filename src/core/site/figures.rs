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

/// How a module is switched off by its own control.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Off {
    /// Its button is held.
    Button,
    /// Its switch, or the one wired to it, is opened.
    Switch,
    /// It has no control: it falls asleep when nothing is asked of it for a while.
    ByItself,
}

impl Off {
    pub const ALL: &'static [Off] = &[Off::Button, Off::Switch, Off::ByItself];

    /// The key of the words for it.
    pub fn name(self) -> &'static str {
        match self {
            Off::Button => "off-button",
            Off::Switch => "off-switch",
            Off::ByItself => "off-by-itself",
        }
    }
}

/// How a module comes to its number on the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Numbering {
    /// The modules agree among themselves.
    ByItself,
    /// Switches on each module, set before it wakes.
    Switches,
}

impl Numbering {
    pub const ALL: &'static [Numbering] = &[Numbering::ByItself, Numbering::Switches];
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
    /// How it is switched off; not said by jobs of before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub off: Option<Off>,
    /// From switching off to silence on the bus.
    #[serde(default, rename = "off-time-s", skip_serializing_if = "Option::is_none")]
    pub off_time: Option<Seconds>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub numbering: Option<Numbering>,
    /// The longest lead allowed between two modules.
    #[serde(default, rename = "longest-link-m", skip_serializing_if = "Option::is_none")]
    pub longest_link: Option<Metres>,
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
    /// A short piece between the bus lead and a socket of another kind.
    Adapter,
}

impl LeadUse {
    pub const ALL: &'static [LeadUse] = &[LeadUse::Link, LeadUse::Bus, LeadUse::Adapter];

    pub fn key(self) -> &'static str {
        match self {
            LeadUse::Link => "link",
            LeadUse::Bus => "bus",
            LeadUse::Adapter => "adapter",
        }
    }
}

/// A data lead.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct LeadFigures {
    pub key: String,
    /// What its maker calls it; where nothing is said, it is called by its ends.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    #[serde(rename = "use")]
    pub usage: LeadUse,
    pub ends: [String; 2],
    /// Which pin of the first end is joined to which of the second. Where nothing is said, pins of the same number are.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub wires: Vec<[u8; 2]>,
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

    /// The plug at the other end of one that fits this connector.
    pub fn beyond(&self, connector: &str) -> Option<&str> {
        let [one, other] = &self.ends;
        if one == connector {
            Some(other)
        } else if other == connector {
            Some(one)
        } else {
            None
        }
    }

    /// Does it join pins of the same number, as far as is said?
    pub fn is_straight(&self) -> bool {
        self.wires.iter().all(|[one, other]| one == other)
    }

    /// The pin at the far plug that a pin at the near one is joined to; `from_first`: the near plug is the first end. `None` where
    /// the lead has no wire there.
    pub fn through(&self, pin: u8, from_first: bool) -> Option<u8> {
        if self.wires.is_empty() {
            return Some(pin);
        }
        let wire = self.wires.iter().find(|wire| wire[usize::from(!from_first)] == pin)?;
        Some(wire[usize::from(from_first)])
    }

    /// The ways to lay it from a socket of one kind to one of another: from its first end, from its second.
    pub fn ways(&self, from: &str, to: &str) -> impl Iterator<Item = bool> {
        let [one, other] = &self.ends;
        let as_it_is = (one == from && other == to).then_some(true);
        let turned = (other == from && one == to && !(one == other && self.is_straight())).then_some(false);
        as_it_is.into_iter().chain(turned)
    }
}

/// A plug-in terminator.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct TerminatorFigures {
    pub key: String,
    /// What its maker calls it; where nothing is said, it is called by its plug.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    pub connector: String,
    /// The two pins that it joins; not said by jobs of before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pins: Option<[u8; 2]>,
    #[serde(rename = "resistance-ohm")]
    pub resistance: Ohms,
    #[serde(rename = "tolerance-percent")]
    pub tolerance: Percent,
}

impl TerminatorFigures {
    /// Does it end a bus at this socket?
    pub fn ends(&self, connector: &str, high: u8, low: u8) -> bool {
        self.connector == connector && self.pins.is_none_or(|pins| pins == [high, low] || pins == [low, high])
    }
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
