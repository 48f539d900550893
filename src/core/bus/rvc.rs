//! RV-C messages of batteries: what a frame with a 29-bit identifier says, with every scaling undone.
//!
//! All messages carry 8 bytes, least significant byte first, unused bits as ones (RV-C website, conformance note).
//! Bytes that a short frame lacks count as "no data". A value that the sender marks as not known, in error or out of
//! range is `None`, and so is one that cannot be. The sign of currents: positive is out of the source (RV-C table
//! 6.5.2b). Clause numbers are of the document dated 6 November 2023.

use crate::core::bus::j1939::Trouble;
use crate::core::bus::rvc_fields::{
    Fields, amperes_16, amperes_32, celsius_16, hours_16, millivolts_16, millivolts_32, minutes_16, percent_8, plain_8,
    rate_16, two_bits, volts_16, watts_16,
};
use crate::core::units::{
    AmpereHours, Amperes, CodedCelsius, CodedVolts, Percent, Seconds, Volts, VoltsPerSecond, Watts,
};

/// The parts of an RV-C identifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parts {
    /// 0 is the highest; status messages use 6.
    pub priority: u8,
    /// Data group number, 17 bits.
    pub dgn: u32,
    pub source_address: u8,
}

/// Splits a 29-bit identifier: priority in bits 28–26, group in 24–8, source address in 7–0. `None` when it has more bits.
pub fn split(identifier: u32) -> Option<Parts> {
    (identifier <= 0x1FFF_FFFF).then_some(Parts {
        priority: (identifier >> 26) as u8,
        dgn: identifier >> 8 & 0x1_FFFF,
        source_address: (identifier & 0xFF) as u8,
    })
}

/// The first two bytes of a message about a source or a battery; `None` is "no data".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// The whole bank, as one device sees it (6.5).
    Source { instance: Option<u8>, device_priority: Option<u8> },
    /// One battery of the bank (6.49).
    Battery { instance: Option<u8>, source_instance: Option<u8> },
}

/// What the chargers are asked to do (table 6.5.5b).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChargeState {
    /// The charger decides.
    Undefined,
    DoNotCharge,
    Bulk,
    Absorption,
    Overcharge,
    Equalise,
    Float,
    ConstantVoltageOrCurrent,
    Other(u8),
}

impl ChargeState {
    pub const fn from_code(code: u8) -> ChargeState {
        match code {
            0 => ChargeState::Undefined,
            1 => ChargeState::DoNotCharge,
            2 => ChargeState::Bulk,
            3 => ChargeState::Absorption,
            4 => ChargeState::Overcharge,
            5 => ChargeState::Equalise,
            6 => ChargeState::Float,
            7 => ChargeState::ConstantVoltageOrCurrent,
            other => ChargeState::Other(other),
        }
    }

    /// The states that have a name, by their value.
    pub const NAMED: [ChargeState; 8] = [
        ChargeState::Undefined,
        ChargeState::DoNotCharge,
        ChargeState::Bulk,
        ChargeState::Absorption,
        ChargeState::Overcharge,
        ChargeState::Equalise,
        ChargeState::Float,
        ChargeState::ConstantVoltageOrCurrent,
    ];

    /// A short key, the same in every language.
    pub const fn key(self) -> &'static str {
        match self {
            ChargeState::Undefined => "undefined",
            ChargeState::DoNotCharge => "do_not_charge",
            ChargeState::Bulk => "bulk",
            ChargeState::Absorption => "absorption",
            ChargeState::Overcharge => "overcharge",
            ChargeState::Equalise => "equalise",
            ChargeState::Float => "float",
            ChargeState::ConstantVoltageOrCurrent => "constant_voltage_or_current",
            ChargeState::Other(_) => "other",
        }
    }
}

/// Battery type of iron phosphate (table 6.5.5b). One open transcription has 4.
pub const IRON_PHOSPHATE: u8 = 3;

/// What the time remaining leads to (table 6.5.3b; "no data" counts as "to empty").
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Until {
    Empty,
    Full,
    /// A code that the table does not use.
    Unknown,
}

/// A limit of status 6: reached, and the switch that opened for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limit {
    pub reached: Option<bool>,
    pub disconnected: Option<bool>,
}

/// What a message says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Body {
    /// Status 1 (6.5.2).
    Output { about: About, voltage: Option<CodedVolts>, current: Option<Amperes> },
    /// Status 2 (6.5.3).
    Charge {
        about: About,
        temperature: Option<CodedCelsius>,
        /// Of the as-designed capacity by 6.5.3, of the present one by 6.5.12: the document contradicts itself.
        state_of_charge: Option<Percent>,
        time_remaining: Option<Seconds>,
        until: Until,
    },
    /// Status 3 (6.5.4).
    Health {
        about: About,
        state_of_health: Option<Percent>,
        capacity_remaining: Option<AmpereHours>,
        relative_capacity: Option<Percent>,
        ripple: Option<Volts>,
    },
    /// Status 4 (6.5.5).
    Request {
        about: About,
        state: Option<ChargeState>,
        state_code: Option<u8>,
        voltage: Option<CodedVolts>,
        current: Option<Amperes>,
        battery_type: Option<u8>,
    },
    /// Status 5 (6.5.6).
    Precise { about: About, voltage: Option<CodedVolts>, rate: Option<VoltsPerSecond> },
    /// Status 6 (6.5.7): high voltage, low voltage, low state of charge, low temperature, high temperature, high current.
    Limits { about: About, limits: [Limit; 6] },
    /// Status 11 (6.5.12).
    Switches {
        about: About,
        discharge_on: Option<bool>,
        charge_on: Option<bool>,
        charge_detected: Option<bool>,
        reserve: Option<bool>,
        full_capacity: Option<AmpereHours>,
        power: Option<Watts>,
    },
    /// The main switch (6.42.2).
    Disconnect {
        instance: Option<u8>,
        closed: Option<bool>,
        last_command_close: Option<bool>,
        bypass_detected: Option<bool>,
        voltage: Option<CodedVolts>,
        current: Option<Amperes>,
    },
    /// DM_RV (3.2.5).
    Diagnostic {
        /// 0 off by fault, 1 running by hand or off by hand, 4 off in order, 5 on in order.
        operating_status: u8,
        yellow_lamp: Option<bool>,
        red_lamp: Option<bool>,
        default_address: u8,
        trouble: Trouble,
    },
    /// A group that is not read here.
    Other,
}

/// Keys of the six limits, in the order of [`Body::Limits`].
pub const LIMIT_KEYS: [&str; 6] =
    ["high_voltage", "low_voltage", "low_soc", "low_temperature", "high_temperature", "high_current"];

/// A message with its sender.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Message {
    pub parts: Parts,
    /// The group's name; empty for one that is not read here.
    pub name: &'static str,
    pub body: Body,
}

/// The kinds of message behind the two families of groups.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Status(u8),
    Disconnect,
    Diagnostic,
}

/// Groups that are read: bus reference 6.3 (numbers from open transcriptions and the RV-C document), true for one battery.
const GROUPS: &[(u32, &str, Kind, bool)] = &[
    (0x1FFFD, "DC source status 1", Kind::Status(1), false),
    (0x1FFFC, "DC source status 2", Kind::Status(2), false),
    (0x1FFFB, "DC source status 3", Kind::Status(3), false),
    (0x1FEC9, "DC source status 4", Kind::Status(4), false),
    (0x1FEC8, "DC source status 5", Kind::Status(5), false),
    (0x1FEC7, "DC source status 6", Kind::Status(6), false),
    (0x1FEA5, "DC source status 11", Kind::Status(11), false),
    (0x1FE95, "battery status 1", Kind::Status(1), true),
    (0x1FE94, "battery status 2", Kind::Status(2), true),
    (0x1FE93, "battery status 3", Kind::Status(3), true),
    (0x1FE92, "battery status 4", Kind::Status(4), true),
    (0x1FE91, "battery status 5", Kind::Status(5), true),
    (0x1FE90, "battery status 6", Kind::Status(6), true),
    (0x1FE8B, "battery status 11", Kind::Status(11), true),
    (0x1FED0, "DC disconnect status", Kind::Disconnect, false),
    (0x1FECA, "diagnostic message", Kind::Diagnostic, false),
];

/// Reads a message. `None` when the identifier has more than 29 bits.
pub fn decode(identifier: u32, data: &[u8]) -> Option<Message> {
    let parts = split(identifier)?;
    let fields = Fields::new(data);
    let Some((_, name, kind, battery)) = GROUPS.iter().find(|(dgn, ..)| *dgn == parts.dgn) else {
        return Some(Message { parts, name: "", body: Body::Other });
    };
    let first = plain_8(fields.byte(0));
    let second = plain_8(fields.byte(1));
    let about = if *battery {
        About::Battery { instance: first, source_instance: second }
    } else {
        About::Source { instance: first, device_priority: second }
    };
    let flag = |byte: usize, bit: u32| two_bits(fields.byte(byte), bit);
    let body = match kind {
        Kind::Status(1) => {
            Body::Output { about, voltage: volts_16(fields.word(2)), current: amperes_32(fields.long(4)) }
        }
        Kind::Status(2) => Body::Charge {
            about,
            temperature: celsius_16(fields.word(2)),
            state_of_charge: percent_8(fields.byte(4)),
            time_remaining: minutes_16(fields.word(5)),
            until: match fields.byte(7) & 3 {
                1 => Until::Full,
                2 => Until::Unknown,
                _ => Until::Empty,
            },
        },
        Kind::Status(3) => Body::Health {
            about,
            state_of_health: percent_8(fields.byte(2)),
            capacity_remaining: hours_16(fields.word(3)),
            relative_capacity: percent_8(fields.byte(5)),
            ripple: millivolts_16(fields.word(6)),
        },
        Kind::Status(4) => {
            let state_code = plain_8(fields.byte(2));
            Body::Request {
                about,
                state: state_code.map(ChargeState::from_code),
                state_code,
                voltage: volts_16(fields.word(3)),
                current: amperes_16(fields.word(5)),
                battery_type: Some(fields.byte(7) & 0x0F).filter(|code| *code != 0x0F),
            }
        }
        Kind::Status(5) => {
            Body::Precise { about, voltage: millivolts_32(fields.long(2)), rate: rate_16(fields.word(6)) }
        }
        Kind::Status(6) => {
            let limit = |index: usize| {
                let (byte, bit) = (2 + index / 2, 4 * (index % 2) as u32);
                Limit { reached: flag(byte, bit), disconnected: flag(byte, bit + 2) }
            };
            Body::Limits { about, limits: std::array::from_fn(limit) }
        }
        Kind::Status(_) => Body::Switches {
            about,
            discharge_on: flag(2, 0),
            charge_on: flag(2, 2),
            charge_detected: flag(2, 4),
            reserve: flag(2, 6),
            full_capacity: hours_16(fields.word(3)),
            power: watts_16(fields.word(5)),
        },
        Kind::Disconnect => Body::Disconnect {
            instance: first,
            closed: flag(1, 0),
            last_command_close: flag(1, 2),
            bypass_detected: flag(1, 4),
            voltage: volts_16(fields.word(2)),
            current: amperes_32(fields.long(4)),
        },
        Kind::Diagnostic => Body::Diagnostic {
            operating_status: fields.byte(0) & 0x0F,
            yellow_lamp: flag(0, 4),
            red_lamp: flag(0, 6),
            default_address: fields.byte(1),
            trouble: Trouble::from_rvc([fields.byte(2), fields.byte(3), fields.byte(4), fields.byte(5)]),
        },
    };
    Some(Message { parts, name, body })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_frames_lack_data_not_sense() {
        let message = decode(0x19FF_FD80, &[1, 120, 10]).unwrap();
        let about = About::Source { instance: Some(1), device_priority: Some(120) };
        assert_eq!(message.body, Body::Output { about, voltage: None, current: None });
        assert!(decode(0x19FF_FD80, &[]).is_some());
        assert_eq!(decode(0xFFFF_FFFF, &[]), None);
    }

    #[test]
    fn limits_take_their_bits() {
        // High voltage reached, its switch closed; low temperature in error; all else no data.
        let body = decode(0x19FE_C780, &[1, 120, 0b1111_0001, 0b1110_1111, 0xFF, 0xFF, 0xFF, 0xFF]).unwrap().body;
        let Body::Limits { limits, .. } = body else { panic!("{body:?}") };
        let open = Limit { reached: None, disconnected: None };
        assert_eq!(limits[0], Limit { reached: Some(true), disconnected: Some(false) });
        assert_eq!(&limits[1..], &[open; 5]);
    }

    #[test]
    fn a_battery_names_its_source() {
        let body = decode(0x19FE_9580, &[3, 1, 0x0A, 0x01, 0x00, 0x94, 0x35, 0x77]).unwrap().body;
        let Body::Output { about, current, .. } = body else { panic!("{body:?}") };
        assert_eq!(about, About::Battery { instance: Some(3), source_instance: Some(1) });
        assert_eq!(current, Some(Amperes::of(0.0)));
    }

    #[test]
    fn the_diagnostic_message_is_high_byte_first() {
        let body = decode(0x19FE_CA80, &[0b0101_0101, 70, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF]).unwrap().body;
        let Body::Diagnostic { operating_status, yellow_lamp, red_lamp, default_address, trouble } = body else {
            panic!("{body:?}")
        };
        assert_eq!((operating_status, default_address), (5, 70));
        assert_eq!((yellow_lamp, red_lamp), (Some(true), Some(true)));
        assert!(trouble.is_none());
    }
}
