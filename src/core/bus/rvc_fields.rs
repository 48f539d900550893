//! Fields of RV-C messages and their scalings (RV-C table 5.3).
//!
//! All ones is no data, one less is out of range or in error, two less is reserved (RV-C table 3.2.3b). Two-bit flags:
//! 00 no, 01 yes, 10 error, 11 no data. A value beyond what its quantity may take is taken as no data too: senders are
//! met that send zero where they know nothing.

use crate::core::units::{
    AmpereHours, Amperes, CodedCelsius, CodedVolts, Percent, Quantity, Seconds, Volts, VoltsPerSecond, Watts,
};

/// The bytes of a message. Those that are not there read as ones: no data.
pub struct Fields([u8; 8]);

impl Fields {
    pub fn new(data: &[u8]) -> Fields {
        let mut bytes = [0xFF; 8];
        for (to, from) in bytes.iter_mut().zip(data) {
            *to = *from;
        }
        Fields(bytes)
    }

    pub fn byte(&self, at: usize) -> u8 {
        self.0.get(at).copied().unwrap_or(0xFF)
    }

    /// Two bytes, least significant first.
    pub fn word(&self, at: usize) -> u16 {
        u16::from_le_bytes([self.byte(at), self.byte(at + 1)])
    }

    /// Four bytes, least significant first.
    pub fn long(&self, at: usize) -> u32 {
        u32::from(self.word(at)) | u32::from(self.word(at + 2)) << 16
    }
}

/// A number without a unit: an instance, a code.
pub fn plain_8(raw: u8) -> Option<u8> {
    (raw < 253).then_some(raw)
}

fn known_16(raw: u16) -> Option<f64> {
    (raw < 65533).then(|| f64::from(raw))
}

fn known_32(raw: u32) -> Option<f64> {
    (raw < 4_294_967_293).then(|| f64::from(raw))
}

/// Two bits of a byte.
pub fn two_bits(byte: u8, bit: u32) -> Option<bool> {
    match byte.checked_shr(bit).unwrap_or(0xFF) & 3 {
        0 => Some(false),
        1 => Some(true),
        _ => None,
    }
}

/// 0.5 %, 0 to 125 %.
pub fn percent_8(raw: u8) -> Option<Percent> {
    Percent::new(f64::from(plain_8(raw)?) / 2.0).ok()
}

/// 0.05 V, 0 to 3212.5 V.
pub fn volts_16(raw: u16) -> Option<CodedVolts> {
    CodedVolts::new(known_16(raw)? / 20.0).ok()
}

/// 1 mV. Beyond the end of the 16-bit field it cannot be a bank's.
pub fn millivolts_32(raw: u32) -> Option<CodedVolts> {
    CodedVolts::new(known_32(raw)? / 1000.0).ok()
}

/// 1 mV.
pub fn millivolts_16(raw: u16) -> Option<Volts> {
    Volts::new(known_16(raw)? / 1000.0).ok()
}

/// 1 mV/s; 32000 is none.
pub fn rate_16(raw: u16) -> Option<VoltsPerSecond> {
    VoltsPerSecond::new((known_16(raw)? - 32_000.0) / 1000.0).ok()
}

/// 0.05 A; 0x7D00 is 0 A. All zero would be −1600 A: a sender that knows nothing.
pub fn amperes_16(raw: u16) -> Option<Amperes> {
    if raw == 0 {
        return None;
    }
    Amperes::new((known_16(raw)? - 32_000.0) / 20.0).ok()
}

/// 1 mA; 0x77359400 is 0 A. All zero would be −2 000 000 A, far outside what a current may be.
pub fn amperes_32(raw: u32) -> Option<Amperes> {
    Amperes::new((known_32(raw)? - 2.0e9) / 1000.0).ok()
}

/// 1/32 K from −273 °C.
pub fn celsius_16(raw: u16) -> Option<CodedCelsius> {
    CodedCelsius::new(known_16(raw)? / 32.0 - 273.0).ok()
}

/// 1 Ah.
pub fn hours_16(raw: u16) -> Option<AmpereHours> {
    AmpereHours::new(known_16(raw)?).ok()
}

/// 1 min.
pub fn minutes_16(raw: u16) -> Option<Seconds> {
    Seconds::new(known_16(raw)? * 60.0).ok()
}

/// 1 W.
pub fn watts_16(raw: u16) -> Option<Watts> {
    Watts::new(known_16(raw)?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_three_codes_at_the_top_are_no_values() {
        for raw in [253, 254, 255] {
            assert_eq!((plain_8(raw), percent_8(raw)), (None, None));
        }
        for raw in [65533, 65534, 65535] {
            assert_eq!((volts_16(raw), amperes_16(raw), celsius_16(raw)), (None, None, None));
            assert_eq!((hours_16(raw), minutes_16(raw), watts_16(raw)), (None, None, None));
            assert_eq!((millivolts_16(raw), rate_16(raw)), (None, None));
        }
        for raw in [u32::MAX - 2, u32::MAX - 1, u32::MAX] {
            assert_eq!((millivolts_32(raw), amperes_32(raw)), (None, None));
        }
    }

    #[test]
    fn zeros_and_ends_of_each_scale() {
        assert_eq!(percent_8(250).map(Quantity::get), Some(125.0));
        assert_eq!(percent_8(251), None);
        assert_eq!(volts_16(64_250).map(Quantity::get), Some(3212.5));
        assert_eq!(volts_16(64_251), None);
        assert_eq!(amperes_16(0x7D00).map(Quantity::get), Some(0.0));
        assert_eq!(amperes_16(0), None);
        assert_eq!(amperes_32(0x7735_9400).map(Quantity::get), Some(0.0));
        assert_eq!(amperes_32(0), None);
        assert_eq!(celsius_16(0x2220).map(Quantity::get), Some(0.0));
        assert_eq!(rate_16(32_000).map(Quantity::get), Some(0.0));
    }

    #[test]
    fn flags_know_yes_no_and_nothing() {
        let flags: Vec<_> = [0, 2, 4, 6].iter().map(|bit| two_bits(0b1110_0100, *bit)).collect();
        assert_eq!(flags, vec![Some(false), Some(true), None, None]);
    }
}
