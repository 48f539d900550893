//! Codes of open standards in which a bank says what is wrong, so that a decoded field leads to its meaning.
//!
//! Sources: SunSpec information models 802 to 804 (event and status bits, enumerations); RV-C document of
//! 6 November 2023 (clauses beside each); J1939-73 and CiA 301 from memory.

use crate::core::bus::readings::{Field, Of, Tongue, Value};
use crate::core::bus::rvc::ChargeState;
use serde::{Deserialize, Serialize};

macro_rules! vocabularies {
    ($( $(#[$about:meta])* $name:ident = $key:literal: $values:expr ),* $(,)?) => {
        /// A list of codes in one standard.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[cfg_attr(test, derive(schemars::JsonSchema))]
        pub enum Vocabulary { $( $(#[$about])* #[serde(rename = $key)] $name ),* }

        impl Vocabulary {
            pub const ALL: &'static [Vocabulary] = &[$( Vocabulary::$name ),*];

            /// A short key, the same in every language.
            pub const fn key(self) -> &'static str {
                match self { $( Vocabulary::$name => $key ),* }
            }

            /// Every value of the list.
            pub const fn values(self) -> &'static [u16] {
                match self { $( Vocabulary::$name => $values ),* }
            }
        }
    };
}

const UP_TO_31: &[u16] = &[
    0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30,
    31,
];

vocabularies! {
    /// Bits of 802 `Evt1`, 803 `StrEvt1`, 804 `Evt1`.
    SunspecEvent = "sunspec-event": UP_TO_31,
    /// The bits in which 803 and 804 differ from 802.
    SunspecStringEvent = "sunspec-string-event": &[24],
    /// Bits of 803 `StrSt`, 804 `St`.
    SunspecStringStatus = "sunspec-string-status": &[0, 1],
    /// 803 `StrConFail`, 804 `ConFail`.
    SunspecConnectFailure = "sunspec-connect-failure": &[0, 1, 2, 3, 4, 5, 6, 7, 8],
    /// 803 `StrDisRsn`.
    SunspecDisabledReason = "sunspec-disabled-reason": &[0, 1, 2, 3, 4],
    /// `SetEna`, `SetCon`.
    SunspecSet = "sunspec-set": &[1, 2],
    /// Status 6 of a bank (6.5.7) and of a battery (6.49.6): ten times the byte plus its first bit, true at 01b.
    RvcStatus6 = "rv-c-status-6": &[20, 22, 24, 26, 30, 32, 34, 36, 40, 42, 44, 46],
    /// A pair of bits that is not 01b (table 3.2.3b).
    RvcPair = "rv-c-pair": &[0, 2, 3],
    /// Status 11 (6.5.12): 1 load bus off, 2 charge bus off, 4 in reserve.
    RvcStatus11 = "rv-c-status-11": &[1, 2, 4],
    /// What status 4 asks of the chargers (table 6.5.5b).
    RvcChargeState = "rv-c-charge-state": &[0, 1, 2, 3, 4, 5, 6, 7],
    /// Standard alarm instances of banks and batteries (6.5.22, 6.49.18); 128 stands for 128 to 253, free for makers.
    RvcAlarmInstance = "rv-c-alarm-instance": &[1, 100, 101, 102, 110, 111, 112, 113, 114, 115, 116, 120, 121, 122, 123, 128],
    /// The life of an alarm (6.47), in its order.
    RvcAlarmLife = "rv-c-alarm-life": &[0, 1, 2],
    /// Lamps of DM_RV (3.2.5) and DM1, by the first bit of their pair.
    RvcLamp = "rv-c-lamp": &[2, 4],
    /// Service points of a battery (table 6.49.17); 20 and 21 stand for 2/0 and 2/1.
    RvcBatteryPoint = "rv-c-battery-point": &[1, 2, 3, 4, 5, 6, 7, 20, 21],
    /// Service points of every device (table 7.3).
    RvcStandardPoint = "rv-c-standard-point": &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13],
    /// Voltage in BATTERY_SUMMARY (6.49.15).
    RvcSummaryVoltage = "rv-c-summary-voltage": &[0, 1, 2, 3, 4],
    /// Temperature in BATTERY_SUMMARY (6.49.15).
    RvcSummaryTemperature = "rv-c-summary-temperature": &[0, 1, 2, 3, 4],
    /// Voltage in CELL_DETAIL (6.49.16).
    RvcCellVoltage = "rv-c-cell-voltage": &[1, 2, 3],
    /// Temperature in CELL_DETAIL (6.49.16).
    RvcCellTemperature = "rv-c-cell-temperature": &[1, 2, 3],
    /// The balancing bit of CELL_DETAIL (6.49.16).
    RvcCellBalancing = "rv-c-cell-balancing": &[1],
    /// The main switch (6.42.2): 0 open, 1 closed, 2 last told to open, 3 last told to close, 4 bypass detected.
    RvcSwitch = "rv-c-switch": &[0, 1, 2, 3, 4],
    /// Failure modes of RV-C (table 3.2.5.8).
    RvcFailureMode = "rv-c-failure-mode": UP_TO_31,
    /// Failure modes of J1939 (J1939-73, from memory).
    J1939FailureMode = "j1939-failure-mode": UP_TO_31,
    /// CANopen emergencies by the group of their code (CiA 301, from memory).
    CanopenEmergency = "canopen-emergency": &[0x10, 0x20, 0x30, 0x40, 0x50, 0x60, 0x70, 0x80, 0x81, 0x82, 0x90, 0xF0, 0xFF],
}

/// One code of one list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Code {
    pub vocabulary: Vocabulary,
    pub value: u16,
}

impl Code {
    pub const fn new(vocabulary: Vocabulary, value: u16) -> Code {
        Code { vocabulary, value }
    }

    /// The codes of a SunSpec event field, lowest bit first. `model`: 802, 803 or 804.
    pub fn of_events(model: u16, bits: u32) -> Vec<Code> {
        (0..32u16)
            .filter(|bit| bits >> bit & 1 == 1)
            .map(|bit| match (model, bit) {
                (803 | 804, 24) => Code::new(Vocabulary::SunspecStringEvent, bit),
                _ => Code::new(Vocabulary::SunspecEvent, bit),
            })
            .collect()
    }

    /// An RV-C alarm instance; `None` where the document names none.
    pub fn of_instance(instance: u8) -> Option<Code> {
        let value = if (128..=253).contains(&instance) { 128 } else { u16::from(instance) };
        let code = Code::new(Vocabulary::RvcAlarmInstance, value);
        code.vocabulary.values().contains(&value).then_some(code)
    }

    /// A failure mode; `None` above 31.
    pub fn of_failure_mode(fmi: u8, tongue: Tongue) -> Option<Code> {
        let vocabulary = match tongue {
            Tongue::J1939 => Vocabulary::J1939FailureMode,
            Tongue::RvC => Vocabulary::RvcFailureMode,
        };
        (fmi <= 31).then_some(Code::new(vocabulary, u16::from(fmi)))
    }

    /// The group of a CANopen emergency; `None` for "no error" and for groups that are not used.
    pub fn of_emergency(code: u16) -> Option<Code> {
        let high = code >> 8;
        let values = Vocabulary::CanopenEmergency.values();
        let group = if values.contains(&high) { high } else { high & 0xF0 };
        values.contains(&group).then_some(Code::new(Vocabulary::CanopenEmergency, group))
    }

    /// A lamp of DM1 or DM_RV that is lit.
    pub fn of_lamp(red: bool) -> Code {
        Code::new(Vocabulary::RvcLamp, if red { 4 } else { 2 })
    }

    /// What a field of a message says, where it is an alarm, a state or a hold-off; `None` where it is plain fine.
    pub fn of_said(of: Of, field: Field, value: Value) -> Option<Code> {
        use Vocabulary::{RvcChargeState, RvcStatus6, RvcStatus11, RvcSwitch};
        let word = match value {
            Value::Word(word) => word,
            Value::Figure(_) | Value::Code(_) => return None,
        };
        let limit = |first: u16| match word {
            "reached" => Some(Code::new(RvcStatus6, first)),
            "opened" => Some(Code::new(RvcStatus6, first + 2)),
            _ => None,
        };
        let when = |said: &str, vocabulary, value| (word == said).then_some(Code::new(vocabulary, value));
        match field {
            Field::HighVoltage => limit(20),
            Field::LowVoltage => limit(24),
            Field::LowCharge => limit(30),
            Field::LowTemperature => limit(34),
            Field::HighTemperature => limit(40),
            Field::HighCurrent => limit(44),
            Field::DischargeOn => when("no", RvcStatus11, 1),
            Field::ChargeOn => when("no", RvcStatus11, 2),
            Field::Reserve => when("yes", RvcStatus11, 4),
            Field::AskedState => {
                let state = ChargeState::NAMED.iter().position(|state| state.key() == word)?;
                Some(Code::new(RvcChargeState, state as u16))
            }
            Field::Closed if matches!(of, Of::Switch { .. }) => when("no", RvcSwitch, 0),
            Field::LastCommand => when("open", RvcSwitch, 2),
            Field::Bypass => when("yes", RvcSwitch, 4),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::bus::readings::WORDS;

    #[test]
    fn events_become_codes_bit_by_bit() {
        let bits = |codes: Vec<Code>| codes.into_iter().map(|code| code.value).collect::<Vec<_>>();
        assert_eq!(bits(Code::of_events(802, 0x10)), vec![4]);
        assert_eq!(bits(Code::of_events(802, 0x8000_0001)), vec![0, 31]);
        assert_eq!(Code::of_events(804, 1 << 24), vec![Code::new(Vocabulary::SunspecStringEvent, 24)]);
    }

    #[test]
    fn gaps_of_the_instances_are_real() {
        assert_eq!(Code::of_instance(103), None);
        assert_eq!(Code::of_instance(200), Code::of_instance(128));
        assert_eq!(Code::of_instance(254), None);
    }

    #[test]
    fn emergencies_fall_into_groups() {
        let group = |code| Code::of_emergency(code).map(|code| code.value);
        assert_eq!([group(0x3210), group(0x8110), group(0x8600), group(0xFF01)], [0x30, 0x81, 0x80, 0xFF].map(Some));
        assert_eq!(group(0), None);
    }

    #[test]
    fn every_code_of_a_field_is_in_its_list() {
        let bank = Of::Bank { instance: Some(1) };
        let mut found = 0;
        for of in [bank, Of::Switch { instance: None }] {
            for field in Field::ALL {
                for word in WORDS {
                    if let Some(code) = Code::of_said(of, *field, Value::Word(word)) {
                        found += 1;
                        assert!(code.vocabulary.values().contains(&code.value), "{field:?} {word} gives {code:?}");
                    }
                }
            }
        }
        assert!(found > 20);
        let opened = Code::of_said(bank, Field::LowTemperature, Value::Word("opened"));
        assert_eq!(opened, Some(Code::new(Vocabulary::RvcStatus6, 36)));
        assert_eq!(Code::of_said(bank, Field::ChargeOn, Value::Word("yes")), None);
    }
}
