//! The 29-bit identifier of J1939 and RV-C, trouble codes and the name of a node.

use std::fmt;

/// The parts of a J1939 identifier: priority in bits 28–26, extended data page 25, data page 24, PDU format 23–16, PDU
/// specific 15–8, source address 7–0 (Linux `Documentation/networking/j1939.rst`).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parts {
    /// 0 is the highest.
    pub priority: u8,
    pub pdu_format: u8,
    pub pdu_specific: u8,
    /// Parameter group, 18 bits. With a PDU format below 240 its low byte is 0.
    pub pgn: u32,
    /// Whom it is for, with a PDU format below 240; 255 is everybody. `None`: a broadcast by its nature.
    pub destination: Option<u8>,
    pub source_address: u8,
}

/// From this PDU format on, the PDU specific byte is part of the group (Linux `j1939.rst`).
const BROADCAST_FROM: u32 = 240;

/// Splits a 29-bit identifier; `None` when it has more bits.
pub fn split(identifier: u32) -> Option<Parts> {
    if identifier > 0x1FFF_FFFF {
        return None;
    }
    let byte = |shift: u32| (identifier >> shift & 0xFF) as u8;
    let addressed = (identifier >> 16 & 0xFF) < BROADCAST_FROM;
    let group = identifier >> 8 & 0x3_FFFF;
    Some(Parts {
        priority: (identifier >> 26) as u8,
        pdu_format: byte(16),
        pdu_specific: byte(8),
        pgn: if addressed { group & 0x3_FF00 } else { group },
        destination: addressed.then(|| byte(8)),
        source_address: byte(0),
    })
}

/// A trouble code of a DM1 message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// Suspect parameter number, 19 bits.
    pub spn: u32,
    /// Failure mode, 0 to 31.
    pub fmi: u8,
    /// How often, 0 to 126; 127 says that the sender does not count (SAE J1939-73, from memory).
    pub occurrence: u8,
    /// False: the byte order of today. True: one of three older ones; the number is then not sure.
    pub conversion_method: bool,
}

impl Trouble {
    /// Reads four bytes as J1939 sends them: low byte of the number first; its three high bits above the failure mode;
    /// the conversion bit above the occurrence (can-j1939 2.0.12, as bus reference 6.4 checked it).
    pub fn from_j1939(bytes: [u8; 4]) -> Trouble {
        let [low, middle, high, count] = bytes;
        Trouble {
            spn: u32::from(high >> 5) << 16 | u32::from(middle) << 8 | u32::from(low),
            fmi: high & 0x1F,
            occurrence: count & 0x7F,
            conversion_method: count & 0x80 != 0,
        }
    }

    /// Reads four bytes as RV-C sends them: high byte of the number first, its three low bits above the failure mode
    /// (RV-C 3.2.5, as an open transcription gives it).
    pub fn from_rvc(bytes: [u8; 4]) -> Trouble {
        let [high, middle, low, count] = bytes;
        Trouble {
            spn: u32::from(high) << 11 | u32::from(middle) << 3 | u32::from(low >> 5),
            fmi: low & 0x1F,
            occurrence: count & 0x7F,
            conversion_method: count & 0x80 != 0,
        }
    }

    /// "No fault": number 7FFFF and failure mode 31 (RV-C website, conformance note).
    pub fn is_none(&self) -> bool {
        self.spn == 0x7_FFFF && self.fmi == 31
    }
}

/// Which document names the failure modes: 20 to 22 differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Speech {
    J1939,
    RvC,
}

/// Key of a failure mode (0 to 31), the same in every language. Alike in both documents but for 20 to 22
/// (RV-C table 3.2.5.8; two open enumerations of J1939).
pub fn failure_mode(fmi: u8, speech: Speech) -> &'static str {
    match (fmi, speech) {
        (0, _) => "far_too_high",
        (1, _) => "far_too_low",
        (2, _) => "erratic",
        (3, _) => "voltage_high_or_shorted_to_supply",
        (4, _) => "voltage_low_or_shorted_to_ground",
        (5, _) => "current_low_or_open",
        (6, _) => "current_high_or_grounded",
        (7, _) => "mechanism_does_not_follow",
        (8, _) => "wrong_frequency_or_pulse",
        (9, _) => "updates_late",
        (10, _) => "changes_too_fast",
        (11, _) => "cause_unknown",
        (12, _) => "device_faulty",
        (13, _) => "out_of_calibration",
        (14, Speech::J1939) => "special",
        (14, Speech::RvC) => "none_of_these",
        (15, _) => "a_little_too_high",
        (16, _) => "moderately_too_high",
        (17, _) => "a_little_too_low",
        (18, _) => "moderately_too_low",
        (19, _) => "bad_data_received",
        (20, Speech::J1939) => "drifted_high",
        (20, Speech::RvC) => "device_silent",
        (21, Speech::J1939) => "drifted_low",
        (21, Speech::RvC) => "device_silent_because_of_another",
        (22, Speech::RvC) => "reversed_polarity",
        (31, _) => "not_available_or_present",
        _ => "reserved",
    }
}

/// The 64-bit name that a node claims its address with, high to low (can-j1939 2.0.12). The lower name wins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Name {
    pub arbitrary_address: bool,
    pub industry_group: u8,
    pub system_instance: u8,
    pub system: u8,
    pub function: u8,
    pub function_instance: u8,
    pub unit_instance: u8,
    pub manufacturer: u16,
    pub identity: u32,
}

impl Name {
    /// Reads eight bytes, least significant first.
    pub fn from_bytes(bytes: [u8; 8]) -> Name {
        let word = u64::from_le_bytes(bytes);
        let field = |shift: u32, width: u32| word >> shift & ((1u64 << width) - 1);
        Name {
            arbitrary_address: field(63, 1) == 1,
            industry_group: field(60, 3) as u8,
            system_instance: field(56, 4) as u8,
            system: field(49, 7) as u8,
            function: field(40, 8) as u8,
            function_instance: field(35, 5) as u8,
            unit_instance: field(32, 3) as u8,
            manufacturer: field(21, 11) as u16,
            identity: field(0, 21) as u32,
        }
    }
}

impl fmt::Display for Parts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:05X}", self.pgn)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addressed_groups_end_in_zero() {
        let request = split(0x18EA_FF80).unwrap();
        assert_eq!((request.pgn, request.destination), (0xEA00, Some(0xFF)));
        let broadcast = split(0x18FE_CA80).unwrap();
        assert_eq!((broadcast.pgn, broadcast.destination), (65226, None));
        assert_eq!(split(0x2000_0000), None);
    }

    #[test]
    fn both_byte_orders_of_a_trouble_code() {
        let spn = 0x5_1234u32;
        let j1939 = Trouble::from_j1939([0x34, 0x12, 5 << 5 | 3, 0x81]);
        assert_eq!((j1939.spn, j1939.fmi, j1939.occurrence, j1939.conversion_method), (spn, 3, 1, true));
        let rvc = Trouble::from_rvc([(spn >> 11) as u8, (spn >> 3) as u8, (spn << 5) as u8 | 3, 127]);
        assert_eq!((rvc.spn, rvc.fmi, rvc.occurrence), (spn, 3, 127));
        assert!(Trouble::from_rvc([0xFF; 4]).is_none() && Trouble::from_j1939([0xFF; 4]).is_none());
    }

    #[test]
    fn a_name_falls_into_its_fields() {
        let word: u64 =
            1 << 63 | 4 << 60 | 2 << 56 | 0x55 << 49 | 0xAB << 40 | 9 << 35 | 5 << 32 | 0x3C5 << 21 | 0x1_2345;
        let name = Name::from_bytes(word.to_le_bytes());
        assert!(name.arbitrary_address);
        assert_eq!((name.industry_group, name.system_instance, name.system), (4, 2, 0x55));
        assert_eq!((name.function, name.function_instance, name.unit_instance), (0xAB, 9, 5));
        assert_eq!((name.manufacturer, name.identity), (0x3C5, 0x1_2345));
    }
}
