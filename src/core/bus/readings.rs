//! What the messages of open protocols said, kept as they come: the latest figures of every source, faults, and nodes.
//!
//! RV-C sources and batteries by instance and address, DM1 and DM_RV by address, CANopen heartbeats and emergencies by node.
//! What is kept is bounded whatever comes; messages beyond the bounds are counted. A field that a message leaves out or marks
//! as not known leaves the earlier figure standing, with its time.

use crate::core::bus::canopen::{self, NodeState};
use crate::core::bus::capture_line::{self, Moment};
use crate::core::bus::dbc;
use crate::core::bus::frame::Identifier;
use crate::core::bus::j1939::{self, Speech, Trouble, failure_mode};
use crate::core::bus::rvc::{self, About, Body, ChargeState, LIMIT_KEYS, Limit, Until};
use crate::core::units::{Figure, Quantity};
use std::collections::BTreeMap;

/// Sources kept.
pub const MOST_SOURCES: usize = 256;
/// Senders of trouble codes kept.
pub const MOST_SENDERS: usize = 64;
/// Trouble codes kept for each sender, and emergency codes for each node.
pub const MOST_CODES: usize = 16;

/// What figures are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Of {
    /// A whole bank; 1 is the main house bank (RV-C table 6.5.2b).
    Bank { instance: Option<u8> },
    /// One battery of a bank.
    Battery { bank: Option<u8>, instance: Option<u8> },
    /// A main switch.
    Switch { instance: Option<u8> },
}

/// Who says it, of what.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Voice {
    pub of: Of,
    /// The sender's address on the bus.
    pub address: u8,
}

macro_rules! fields {
    ($( $name:ident = $key:literal ),* $(,)?) => {
        /// A thing that is said of a source.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Field { $( $name ),* }

        impl Field {
            /// In the order in which they are shown.
            pub const ALL: &'static [Field] = &[$( Field::$name ),*];

            /// A short key, the same in every language.
            pub const fn key(self) -> &'static str {
                match self { $( Field::$name => $key ),* }
            }
        }
    };
}

fields! {
    StateOfCharge = "state-of-charge",
    PreciseVoltage = "precise-voltage",
    Voltage = "voltage",
    Current = "current",
    Remaining = "remaining",
    Capacity = "capacity",
    RelativeCapacity = "relative-capacity",
    StateOfHealth = "state-of-health",
    TimeToEmpty = "time-to-empty",
    TimeToFull = "time-to-full",
    Temperature = "temperature",
    Power = "power",
    Ripple = "ripple",
    AskedState = "asked-state",
    AskedVoltage = "asked-voltage",
    AskedCurrent = "asked-current",
    BatteryType = "battery-type",
    DischargeOn = "discharge-on",
    ChargeOn = "charge-on",
    ChargeDetected = "charge-detected",
    Reserve = "reserve",
    HighVoltage = "high-voltage",
    LowVoltage = "low-voltage",
    LowCharge = "low-charge",
    LowTemperature = "low-temperature",
    HighTemperature = "high-temperature",
    HighCurrent = "high-current",
    Closed = "closed",
    LastCommand = "last-command",
    Bypass = "bypass",
}

/// The fields of the six limits, in the order of [`LIMIT_KEYS`].
const LIMITS: [Field; LIMIT_KEYS.len()] = [
    Field::HighVoltage,
    Field::LowVoltage,
    Field::LowCharge,
    Field::LowTemperature,
    Field::HighTemperature,
    Field::HighCurrent,
];

/// What a field holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    Figure(Figure),
    /// One of [`WORDS`].
    Word(&'static str),
    /// A number without a name.
    Code(u8),
}

/// Every word that a [`Value`] may be.
pub const WORDS: &[&str] = &[
    "yes",
    "no",
    "clear",
    "reached",
    "opened",
    "close",
    "open",
    "undefined",
    "do_not_charge",
    "bulk",
    "absorption",
    "overcharge",
    "equalise",
    "float",
    "constant_voltage_or_current",
];

/// Every key under which content must have a name for what a capture may hold.
pub fn name_keys() -> Vec<String> {
    let problems = capture_line::Problem::ALL.map(|problem| format!("log-problem-{}", problem.key()));
    let descriptions = dbc::Problem::ALL.map(|problem| format!("dbc-problem-{}", problem.key()));
    let states = STATES.map(|state| format!("log-node-{state}"));
    let modes = (0..=31u8).flat_map(|mode| {
        [Speech::J1939, Speech::RvC].map(|speech| format!("log-fault-{}", failure_mode(mode, speech)))
    });
    let mut keys: Vec<String> = problems.into_iter().chain(descriptions).chain(states).chain(modes).collect();
    keys.extend(Field::ALL.iter().map(|field| format!("log-field-{}", field.key())));
    keys.extend(WORDS.iter().map(|word| format!("log-value-{word}")));
    keys
}

/// Keys of the states of a node.
const STATES: [&str; 5] = ["boot-up", "stopped", "operational", "pre-operational", "other"];

/// The key of a node's state.
pub const fn state_key(state: NodeState) -> &'static str {
    match state {
        NodeState::BootUp => STATES[0],
        NodeState::Stopped => STATES[1],
        NodeState::Operational => STATES[2],
        NodeState::PreOperational => STATES[3],
        NodeState::Other(_) => STATES[4],
    }
}

/// Something said, with its time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Said {
    pub value: Value,
    pub at: Moment,
    /// The group of the message, 17 bits.
    pub group: u32,
}

/// What one sender says of one source.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Source {
    pub messages: u64,
    /// Only the highest may speak for an instance (RV-C table 6.5.2b).
    pub device_priority: Option<u8>,
    pub said: BTreeMap<Field, Said>,
}

impl Source {
    /// A figure of the given kind.
    pub fn figure<Q: Quantity>(&self, field: Field) -> Option<(Q, Said)> {
        let said = self.said.get(&field)?;
        match said.value {
            Value::Figure(figure) => Some((figure.as_quantity()?, *said)),
            Value::Word(_) | Value::Code(_) => None,
        }
    }
}

/// The faults that one sender reports.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults {
    pub messages: u64,
    /// Faults in several frames (J1939 transport), which are announced and not read.
    pub in_parts: u64,
    /// As the last message gave them.
    pub yellow_lamp: Option<bool>,
    pub red_lamp: Option<bool>,
    /// Each suspect parameter number with its failure mode: how often it came. "No fault" is none of them.
    pub codes: BTreeMap<(u32, u8), u64>,
}

/// One CANopen node.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Node {
    pub heartbeats: u64,
    pub state: Option<NodeState>,
    /// Emergencies by error code, with the last error register and how often; code 0 says that a fault is gone.
    pub emergencies: BTreeMap<u16, (u8, u64)>,
}

/// All of it, for one interface.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    pub sources: BTreeMap<Voice, Source>,
    pub faults: BTreeMap<(u8, Tongue), Faults>,
    pub nodes: BTreeMap<u8, Node>,
    /// Messages and codes for which there was no room.
    pub beyond: u64,
}

/// In which protocol faults are reported.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tongue {
    J1939,
    RvC,
}

impl Tongue {
    /// Which document names its failure modes.
    pub const fn speech(self) -> Speech {
        match self {
            Tongue::J1939 => Speech::J1939,
            Tongue::RvC => Speech::RvC,
        }
    }
}

/// J1939 DM1 (SAE J1939-73; bus reference 6.4).
const DM1: u32 = 0xFECA;
/// J1939 transport, connection management, and its "announce to all" (Linux `j1939.rst`; the control byte from memory).
const TRANSPORT: u32 = 0xEC00;
const ANNOUNCE: u8 = 32;

impl Readings {
    /// Takes a data frame.
    pub fn add(&mut self, at: Moment, identifier: Identifier, data: &[u8]) {
        if !identifier.is_extended() {
            return self.add_canopen(identifier, data);
        }
        let Some(parts) = j1939::split(identifier.value()) else { return };
        match parts.pgn {
            DM1 => self.add_dm1(parts.source_address, data),
            TRANSPORT if data.first() == Some(&ANNOUNCE) && data.get(5..8) == Some(&[0xCA, 0xFE, 0]) => {
                if let Some(faults) = self.sender(parts.source_address, Tongue::J1939) {
                    faults.in_parts += 1;
                }
            }
            _ => self.add_rvc(at, identifier, data),
        }
    }

    fn sender(&mut self, address: u8, tongue: Tongue) -> Option<&mut Faults> {
        let key = (address, tongue);
        if !self.faults.contains_key(&key) && self.faults.len() >= MOST_SENDERS {
            self.beyond += 1;
            return None;
        }
        Some(self.faults.entry(key).or_default())
    }

    /// One trouble code in one frame: two lamp bytes, then the code (bus reference 6.4). Lamps, from memory: bits 4–5 of the
    /// first byte red, 2–3 yellow. Number 0 with failure mode 0 says "no fault" too (from memory).
    fn add_dm1(&mut self, address: u8, data: &[u8]) {
        let Some(&[lamps, _, a, b, c, d]) = data.get(..6) else { return };
        let trouble = Trouble::from_j1939([a, b, c, d]);
        let none = trouble.is_none() || (trouble.spn == 0 && trouble.fmi == 0);
        let lamp = |bit: u32| match lamps >> bit & 3 {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        };
        self.add_trouble(address, Tongue::J1939, (lamp(2), lamp(4)), (!none).then_some((trouble.spn, trouble.fmi)));
    }

    fn add_trouble(
        &mut self,
        address: u8,
        tongue: Tongue,
        (yellow, red): (Option<bool>, Option<bool>),
        code: Option<(u32, u8)>,
    ) {
        let Some(faults) = self.sender(address, tongue) else { return };
        faults.messages += 1;
        (faults.yellow_lamp, faults.red_lamp) = (yellow, red);
        let Some(code) = code else { return };
        if faults.codes.contains_key(&code) || faults.codes.len() < MOST_CODES {
            *faults.codes.entry(code).or_default() += 1;
        } else {
            self.beyond += 1;
        }
    }

    fn add_canopen(&mut self, identifier: Identifier, data: &[u8]) {
        match canopen::decode(identifier, data) {
            Some(canopen::Message::Heartbeat { node, state }) => {
                let node = self.nodes.entry(node).or_default();
                node.heartbeats += 1;
                node.state = Some(state);
            }
            Some(canopen::Message::Emergency { node, code, register, .. }) => {
                let node = self.nodes.entry(node).or_default();
                if node.emergencies.contains_key(&code) || node.emergencies.len() < MOST_CODES {
                    let (last, count) = node.emergencies.entry(code).or_default();
                    *last = register;
                    *count += 1;
                } else {
                    self.beyond += 1;
                }
            }
            _ => {}
        }
    }

    fn add_rvc(&mut self, at: Moment, identifier: Identifier, data: &[u8]) {
        let Some(message) = rvc::decode(identifier.value(), data) else { return };
        let address = message.parts.source_address;
        let (of, priority) = match message.body {
            Body::Other => return,
            Body::Diagnostic { yellow_lamp, red_lamp, trouble, .. } => {
                let code = (!trouble.is_none()).then_some((trouble.spn, trouble.fmi));
                return self.add_trouble(address, Tongue::RvC, (yellow_lamp, red_lamp), code);
            }
            Body::Disconnect { instance, .. } => (Of::Switch { instance }, None),
            Body::Output { about, .. }
            | Body::Charge { about, .. }
            | Body::Health { about, .. }
            | Body::Request { about, .. }
            | Body::Precise { about, .. }
            | Body::Limits { about, .. }
            | Body::Switches { about, .. } => match about {
                About::Source { instance, device_priority } => (Of::Bank { instance }, device_priority),
                About::Battery { instance, source_instance } => (Of::Battery { bank: source_instance, instance }, None),
            },
        };
        let voice = Voice { of, address };
        if !self.sources.contains_key(&voice) && self.sources.len() >= MOST_SOURCES {
            self.beyond += 1;
            return;
        }
        let source = self.sources.entry(voice).or_default();
        source.messages += 1;
        source.device_priority = priority.or(source.device_priority);
        let group = message.parts.dgn;
        let mut note = |field: Field, value: Option<Value>| {
            if let Some(value) = value {
                source.said.insert(field, Said { value, at, group });
            }
        };
        match message.body {
            Body::Output { voltage, current, .. } => {
                note(Field::Voltage, figure(voltage));
                note(Field::Current, figure(current));
            }
            Body::Charge { temperature, state_of_charge, time_remaining, until, .. } => {
                note(Field::Temperature, figure(temperature));
                note(Field::StateOfCharge, figure(state_of_charge));
                match until {
                    Until::Empty => note(Field::TimeToEmpty, figure(time_remaining)),
                    Until::Full => note(Field::TimeToFull, figure(time_remaining)),
                    Until::Unknown => {}
                }
            }
            Body::Health { state_of_health, capacity_remaining, relative_capacity, ripple, .. } => {
                note(Field::StateOfHealth, figure(state_of_health));
                note(Field::Remaining, figure(capacity_remaining));
                note(Field::RelativeCapacity, figure(relative_capacity));
                note(Field::Ripple, figure(ripple));
            }
            Body::Request { state, state_code, voltage, current, battery_type, .. } => {
                let state = match (state, state_code) {
                    (Some(ChargeState::Other(code)), _) => Some(Value::Code(code)),
                    (state, _) => state.map(|state| Value::Word(state.key())),
                };
                note(Field::AskedState, state);
                note(Field::AskedVoltage, figure(voltage));
                note(Field::AskedCurrent, figure(current));
                note(Field::BatteryType, battery_type.map(Value::Code));
            }
            Body::Precise { voltage, .. } => note(Field::PreciseVoltage, figure(voltage)),
            Body::Limits { limits, .. } => {
                for (field, limit) in LIMITS.into_iter().zip(limits) {
                    note(field, of_limit(limit));
                }
            }
            Body::Switches { discharge_on, charge_on, charge_detected, reserve, full_capacity, power, .. } => {
                note(Field::DischargeOn, flag(discharge_on));
                note(Field::ChargeOn, flag(charge_on));
                note(Field::ChargeDetected, flag(charge_detected));
                note(Field::Reserve, flag(reserve));
                note(Field::Capacity, figure(full_capacity));
                note(Field::Power, figure(power));
            }
            Body::Disconnect { closed, last_command_close, bypass_detected, voltage, current, .. } => {
                note(Field::Closed, flag(closed));
                let command = last_command_close.map(|close| Value::Word(if close { "close" } else { "open" }));
                note(Field::LastCommand, command);
                note(Field::Bypass, flag(bypass_detected));
                note(Field::Voltage, figure(voltage));
                note(Field::Current, figure(current));
            }
            Body::Diagnostic { .. } | Body::Other => {}
        }
    }

    pub fn is_empty(&self) -> bool {
        self.sources.is_empty() && self.faults.is_empty() && self.nodes.is_empty()
    }

    /// Those who speak for a whole bank, the one to believe first: the main house bank, then the highest priority.
    pub fn banks(&self) -> Vec<Voice> {
        let mut banks: Vec<(Voice, &Source)> = self
            .sources
            .iter()
            .filter(|(voice, _)| matches!(voice.of, Of::Bank { .. }))
            .map(|(v, s)| (*v, s))
            .collect();
        // The order by instance and address stands where nothing else tells.
        banks.sort_by_key(|(voice, source)| {
            let main = voice.of == Of::Bank { instance: Some(1) };
            (!main, std::cmp::Reverse(source.device_priority))
        });
        banks.into_iter().map(|(voice, _)| voice).collect()
    }

    /// How many batteries of a bank speak; those that name no bank count for each.
    pub fn batteries(&self, bank: Option<u8>) -> usize {
        let mut found: Vec<u8> = self
            .sources
            .keys()
            .filter_map(|voice| match voice.of {
                Of::Battery { bank: of, instance: Some(instance) } if of == bank || of.is_none() => Some(instance),
                _ => None,
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found.len()
    }
}

fn figure<Q: Quantity>(value: Option<Q>) -> Option<Value> {
    value.map(|value| Value::Figure(value.into()))
}

fn flag(value: Option<bool>) -> Option<Value> {
    value.map(|value| Value::Word(if value { "yes" } else { "no" }))
}

/// Opened outranks reached; both unknown is nothing said.
fn of_limit(limit: Limit) -> Option<Value> {
    match (limit.reached, limit.disconnected) {
        (_, Some(true)) => Some(Value::Word("opened")),
        (Some(true), _) => Some(Value::Word("reached")),
        (Some(false), _) | (_, Some(false)) => Some(Value::Word("clear")),
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::units::{AmpereHours, Amperes, CodedVolts, Percent};

    fn readings(frames: &[(u32, &[u8])]) -> Readings {
        let mut readings = Readings::default();
        for (n, (id, data)) in frames.iter().enumerate() {
            let id = Identifier::base(*id).or(Identifier::extended(*id)).unwrap();
            readings.add(Moment::from_micros(n as u64), id, data);
        }
        readings
    }

    #[test]
    fn what_is_not_known_leaves_the_earlier_figure() {
        let said = readings(&[
            (0x19FF_FD80, &[1, 120, 0x0A, 0x01, 0x9C, 0xF7, 0x35, 0x77]),
            (0x19FF_FD80, &[1, 120, 0x0B, 0x01, 0xFF, 0xFF, 0xFF, 0xFF]),
        ]);
        let source = &said.sources[&Voice { of: Of::Bank { instance: Some(1) }, address: 0x80 }];
        let (volts, when) = source.figure::<CodedVolts>(Field::Voltage).unwrap();
        assert!((volts.get() - 13.35).abs() < 1e-9 && when.at == Moment::from_micros(1));
        let (amperes, when) = source.figure::<Amperes>(Field::Current).unwrap();
        assert!((amperes.get() - 25.5).abs() < 1e-9 && when.at == Moment::from_micros(0));
        assert_eq!((source.messages, source.device_priority), (2, Some(120)));
    }

    #[test]
    fn the_main_bank_by_the_highest_priority_comes_first() {
        let output = |priority: u8, instance: u8| [instance, priority, 0x0A, 0x01, 0, 0x94, 0x35, 0x77];
        let said =
            readings(&[(0x19FF_FD10, &output(120, 3)), (0x19FF_FD20, &output(40, 1)), (0x19FF_FD30, &output(120, 1))]);
        let order: Vec<u8> = said.banks().iter().map(|voice| voice.address).collect();
        assert_eq!(order, vec![0x30, 0x20, 0x10]);
    }

    #[test]
    fn batteries_are_counted_once_each() {
        let said = readings(&[
            (0x19FE_9580, &[1, 1, 0x0A, 1, 0, 0, 0, 0]),
            (0x19FE_9481, &[1, 1, 0x0A, 1, 0, 0, 0, 0]),
            (0x19FE_9582, &[2, 0xFF, 0x0A, 1, 0, 0, 0, 0]),
            (0x19FE_9583, &[3, 2, 0x0A, 1, 0, 0, 0, 0]),
        ]);
        assert_eq!((said.batteries(Some(1)), said.batteries(Some(2)), said.batteries(Some(7))), (2, 2, 1));
    }

    #[test]
    fn faults_of_both_protocols() {
        let dm1 = [0b0001_0000, 0xFF, 0x34, 0x12, 5 << 5 | 3, 0x01, 0xFF, 0xFF];
        let clear = [0, 0xFF, 0, 0, 0, 0, 0xFF, 0xFF];
        let said = readings(&[
            (0x18FE_CA80, &dm1),
            (0x18FE_CA81, &clear),
            (0x19FE_CA80, &[0b0101_0101, 70, 0, 8, 0b0010_0001, 1, 0xFF, 0xFF]),
            (0x19FE_CA82, &[0x05, 70, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF]),
            (0x1CEC_FF83, &[32, 14, 0, 2, 0xFF, 0xCA, 0xFE, 0]),
        ]);
        let j1939 = &said.faults[&(0x80, Tongue::J1939)];
        assert_eq!(j1939.codes.keys().collect::<Vec<_>>(), vec![&(0x5_1234, 3)]);
        assert_eq!((j1939.yellow_lamp, j1939.red_lamp), (Some(false), Some(true)));
        assert!(said.faults[&(0x81, Tongue::J1939)].codes.is_empty());
        let rvc = &said.faults[&(0x80, Tongue::RvC)];
        assert_eq!(rvc.codes.keys().collect::<Vec<_>>(), vec![&(8 << 3 | 1, 1)]);
        assert_eq!((rvc.yellow_lamp, rvc.red_lamp), (Some(true), Some(true)));
        assert!(said.faults[&(0x82, Tongue::RvC)].codes.is_empty());
        assert_eq!(said.faults[&(0x83, Tongue::J1939)].in_parts, 1);
    }

    #[test]
    fn nodes_keep_their_last_state_and_every_code() {
        let said = readings(&[
            (0x705, &[0]),
            (0x705, &[5]),
            (0x085, &[0x10, 0x42, 9, 0, 0, 0, 0, 0]),
            (0x085, &[0x00, 0x00, 0, 0, 0, 0, 0, 0]),
            (0x085, &[0x10, 0x42, 1, 0, 0, 0, 0, 0]),
        ]);
        let node = &said.nodes[&5];
        assert_eq!((node.heartbeats, node.state), (2, Some(NodeState::Operational)));
        assert_eq!(node.emergencies, BTreeMap::from([(0, (0, 1)), (0x4210, (1, 2))]));
    }

    #[test]
    fn limits_and_switches_become_words() {
        let said = readings(&[
            (0x19FE_C780, &[1, 120, 0b1111_0101, 0b1111_1101, 0b1111_1111, 0xFF, 0xFF, 0xFF]),
            (0x19FE_A580, &[1, 120, 0b1111_0001, 0xB2, 0x02, 0xFF, 0xFF, 0xFF]),
        ]);
        let source = said.sources.values().next().unwrap();
        let word = |field: Field| source.said.get(&field).map(|said| said.value);
        assert_eq!(word(Field::HighVoltage), Some(Value::Word("opened")));
        assert_eq!(word(Field::LowCharge), Some(Value::Word("reached")));
        assert_eq!(word(Field::HighCurrent), None);
        assert_eq!(
            (word(Field::DischargeOn), word(Field::ChargeOn)),
            (Some(Value::Word("yes")), Some(Value::Word("no")))
        );
        assert_eq!(source.figure::<AmpereHours>(Field::Capacity).map(|f| f.0), Some(AmpereHours::of(690.0)));
        assert_eq!(source.figure::<Percent>(Field::Capacity), None);
    }

    #[test]
    fn what_is_kept_is_bounded() {
        let mut said = Readings::default();
        let at = Moment::default();
        for n in 0..2000u32 {
            let id = |group: u32| Identifier::extended(6 << 26 | group << 8 | n & 0xFF).unwrap();
            said.add(at, id(0x1FFFD), &[(n >> 3) as u8, 120, 0, 0, 0, 0, 0, 0]);
            said.add(at, id(0x0FECA), &[0, 0, n as u8, (n >> 3) as u8, n as u8, 1, 0, 0]);
            let node = Identifier::base(0x081 + n % 127).unwrap();
            said.add(at, node, &[n as u8, (n >> 8) as u8, 0, 0, 0, 0, 0, 0]);
        }
        assert_eq!((said.sources.len(), said.faults.len(), said.nodes.len()), (MOST_SOURCES, MOST_SENDERS, 127));
        assert!(said.nodes.values().all(|node| node.emergencies.len() <= MOST_CODES));
        assert!(said.beyond > 1000);
    }

    #[test]
    fn every_word_of_the_charge_state_is_listed() {
        for code in 0..=7 {
            assert!(WORDS.contains(&ChargeState::from_code(code).key()), "{code}");
        }
    }
}
