//! The timing of one bit: quanta, sample point, and how far two clocks may drift apart.

use crate::core::units::{BitRate, Hertz, Metres, Percent, Quantity, Seconds, SecondsPerMetre};
use std::fmt;

/// A controller's setting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    pub clock: Hertz,
    pub prescaler: u32,
    /// Propagation segment and phase segment 1 together, quanta.
    pub segment1: u32,
    /// Phase segment 2, quanta.
    pub segment2: u32,
    /// Resynchronisation jump width, quanta.
    pub jump: u32,
}

/// What the signal has to cross.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Path {
    /// One node's loop delay.
    pub node_delay: Seconds,
    pub length: Metres,
    pub cable: SecondsPerMetre,
}

/// What a setting gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timing {
    pub bit_rate: BitRate,
    pub quanta: u32,
    pub quantum: Seconds,
    pub sample_point: Percent,
    /// Between 8 and 25 quanta, with segments and jump inside the classical limits.
    pub classical: bool,
    /// The jump is no longer than either phase segment.
    pub jump_fits: bool,
}

/// How a setting serves a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    pub propagation_quanta: u32,
    /// What is left of segment 1; below one, the path is too long.
    pub phase1_quanta: i64,
    /// How far each clock may be off, the smaller of conditions I and II; `None` where the path is too long.
    pub tolerance: Option<Percent>,
    pub condition1: Option<Percent>,
    pub condition2: Option<Percent>,
}

/// Why a setting is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoSetting {
    /// A part is zero, or beyond every controller.
    Part(&'static str, u32, u32),
    /// The bit rate lies outside what a classical bus runs at.
    BitRate,
    /// The wanted sample point lies outside 1 to 99 %.
    SamplePoint,
    /// No prescaler gives the rate within the allowed error.
    None,
}

impl fmt::Display for NoSetting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoSetting::Part(part, low, high) => write!(f, "The {part} must lie between {low} and {high}"),
            NoSetting::BitRate => f.write_str("The bit rate would lie outside 1 kbit/s to 1 Mbit/s"),
            NoSetting::SamplePoint => f.write_str("The sample point must lie between 1 and 99 %"),
            NoSetting::None => f.write_str("No setting of this clock comes within 0.5 % of the bit rate"),
        }
    }
}

impl std::error::Error for NoSetting {}

/// Quanta per bit: 8 … 25 (Bosch CAN 2.0; TI manual SPRUIN7C).
pub const QUANTA: (u32, u32) = (8, 25);
/// Propagation and phase 1 are 1…8 each, so segment 1 is 2…16; phase 2 is 1…8; the jump 1…4 (Bosch CAN 2.0, from memory).
const CLASSICAL: (u32, u32, u32) = (16, 8, 4);
/// Registers of today's controllers end here (from memory): prescaler, segment 1, segment 2, jump.
const GREATEST: [(&str, u32); 4] = [("prescaler", 1024), ("tseg1", 512), ("tseg2", 256), ("sjw", 256)];
/// A search allows the rate to miss by this much: the most that a classical bus could ever bear is 1.58 % for both clocks
/// (Bosch; TI), so 0.5 % leaves room for them (own judgement).
const RATE_ERROR: f64 = 0.005;
/// Prescalers that a search tries: classical controllers have six bits (from memory).
const SEARCH_PRESCALERS: u32 = 64;

impl Setting {
    /// Rate, quantum and sample point of this setting.
    ///
    /// t_q = prescaler / clock; a bit is 1 + segment 1 + segment 2 quanta; the sample point follows segment 1 (Bosch
    /// CAN 2.0; python-can's documentation of its bit timing).
    pub fn timing(&self) -> Result<Timing, NoSetting> {
        let parts = [self.prescaler, self.segment1, self.segment2, self.jump];
        for (value, (part, greatest)) in parts.into_iter().zip(GREATEST) {
            if value == 0 || value > greatest {
                return Err(NoSetting::Part(part, 1, greatest));
            }
        }
        let quanta = 1 + self.segment1 + self.segment2;
        let quantum = f64::from(self.prescaler) / self.clock.get();
        let bit_rate = self.clock.get() / f64::from(self.prescaler * quanta);
        let (segment1, segment2, jump) = CLASSICAL;
        Ok(Timing {
            bit_rate: BitRate::new(bit_rate).map_err(|_| NoSetting::BitRate)?,
            quanta,
            quantum: Seconds::new(quantum).map_err(|_| NoSetting::BitRate)?,
            sample_point: Percent::new(100.0 * f64::from(1 + self.segment1) / f64::from(quanta))
                .map_err(|_| NoSetting::SamplePoint)?,
            classical: (QUANTA.0..=QUANTA.1).contains(&quanta)
                && (2..=segment1).contains(&self.segment1)
                && self.segment2 <= segment2
                && self.jump <= jump,
            jump_fits: self.jump <= self.segment2,
        })
    }

    /// How this setting serves a path there and back: T = 2 · (node delay + cable delay · length) must fit in the
    /// propagation segment (TI SPRUIN7C; Microchip, "Propagation delay").
    ///
    /// Tolerances: condition I, df ≤ min(PS1, PS2) / (2 · (13 · quanta − PS2)); condition II, df ≤ SJW / (20 · quanta)
    /// (Bosch CAN specification 1991; TI SPRUIX1B).
    pub fn fit(&self, path: Path) -> Result<Fit, NoSetting> {
        let timing = self.timing()?;
        let there_and_back = 2.0 * (path.node_delay.get() + path.cable.get() * path.length.get());
        // A whole number of quanta may come out a hair above itself.
        let propagation = (there_and_back / timing.quantum.get() - 1e-9).ceil().clamp(0.0, 1e9);
        let phase1 = i64::from(self.segment1) - propagation as i64;
        let (quanta, phase2) = (f64::from(timing.quanta), f64::from(self.segment2));
        let percent = |share: f64| Percent::new(100.0 * share).ok();
        let condition1 =
            if phase1 >= 1 { percent(phase2.min(phase1 as f64) / (2.0 * (13.0 * quanta - phase2))) } else { None };
        let condition2 = percent(f64::from(self.jump) / (20.0 * quanta));
        let tolerance = match (condition1, condition2) {
            (Some(first), Some(second)) => Some(if first < second { first } else { second }),
            _ => None,
        };
        Ok(Fit { propagation_quanta: propagation as u32, phase1_quanta: phase1, tolerance, condition1, condition2 })
    }
}

/// The best setting for a rate and a sample point, 8 to 25 quanta: first the least error of the rate, then of the sample
/// point, then the most quanta. The jump is the longest that fits, 4 at most.
pub fn best(clock: Hertz, bit_rate: BitRate, sample_point: Percent) -> Result<Setting, NoSetting> {
    let wanted = sample_point.get();
    if !(1.0..=99.0).contains(&wanted) {
        return Err(NoSetting::SamplePoint);
    }
    let mut best: Option<(f64, f64, Setting)> = None;
    for prescaler in 1..=SEARCH_PRESCALERS {
        for quanta in (QUANTA.0..=QUANTA.1).rev() {
            let rate = clock.get() / f64::from(prescaler * quanta);
            let rate_error = (rate / bit_rate.get() - 1.0).abs();
            if rate_error > RATE_ERROR {
                continue;
            }
            let sample = (wanted / 100.0 * f64::from(quanta)).round() as u32;
            // Segment 1 needs a quantum each for propagation and phase 1, phase 2 one of its own.
            let (most1, most2, most_jump) = CLASSICAL;
            let low = quanta.saturating_sub(1 + most2).max(2);
            let high = (quanta - 2).min(most1);
            let segment1 = sample.saturating_sub(1).clamp(low, high.max(low));
            let segment2 = quanta - 1 - segment1;
            if segment1 > most1 || segment2 == 0 || segment2 > most2 {
                continue;
            }
            let setting = Setting { clock, prescaler, segment1, segment2, jump: segment2.min(most_jump) };
            let sample_error = (100.0 * f64::from(1 + segment1) / f64::from(quanta) - wanted).abs();
            // Errors that differ only by rounding are equal; the earlier setting has more quanta.
            let better = best.as_ref().is_none_or(|(rate_best, sample_best, _)| {
                rate_error < rate_best - 1e-12 || (rate_error < rate_best + 1e-12 && sample_error < sample_best - 1e-9)
            });
            if better {
                best = Some((rate_error, sample_error, setting));
            }
        }
    }
    best.map(|(_, _, setting)| setting).ok_or(NoSetting::None)
}

/// The sample point that CANopen asks for: as near as possible to 87.5 % (CiA 301; *CAN System Engineering*, table 4.1).
pub const CANOPEN_SAMPLE_POINT: Percent = Percent::of(87.5);

/// Where CANopen allows it: 85–90 % up to 500 kbit/s, 75–90 % above (CiA 301; *CAN System Engineering*, table 4.1).
pub fn canopen_sample_window(bit_rate: BitRate) -> (Percent, Percent) {
    let low = if bit_rate <= BitRate::of(500e3) { Percent::of(85.0) } else { Percent::of(75.0) };
    (low, Percent::of(90.0))
}

/// The sample point that the Linux kernel picks by itself (`calc_bittiming.c`).
pub fn kernel_sample_point(bit_rate: BitRate) -> Percent {
    if bit_rate > BitRate::of(800e3) {
        Percent::of(75.0)
    } else if bit_rate > BitRate::of(500e3) {
        Percent::of(80.0)
    } else {
        Percent::of(87.5)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_out_of_range_is_named() {
        let setting = Setting { clock: Hertz::of(8e6), prescaler: 0, segment1: 13, segment2: 2, jump: 1 };
        assert_eq!(setting.timing(), Err(NoSetting::Part("prescaler", 1, 1024)));
        let fast = Setting { clock: Hertz::of(1e9), prescaler: 1, ..setting };
        assert_eq!(fast.timing(), Err(NoSetting::BitRate));
    }

    #[test]
    fn the_best_setting_hits_rate_and_sample_point() {
        let setting = best(Hertz::of(16e6), BitRate::of(500e3), Percent::of(87.5)).unwrap();
        assert_eq!((setting.prescaler, setting.segment1, setting.segment2, setting.jump), (2, 13, 2, 2));
        assert_eq!(best(Hertz::of(1e6), BitRate::of(1e6), Percent::of(80.0)), Err(NoSetting::None));
        assert_eq!(best(Hertz::of(16e6), BitRate::of(500e3), Percent::of(0.0)), Err(NoSetting::SamplePoint));
    }

    #[test]
    fn a_path_too_long_has_no_tolerance() {
        let setting = Setting { clock: Hertz::of(8e6), prescaler: 1, segment1: 13, segment2: 2, jump: 2 };
        let path = |metres| Path {
            node_delay: Seconds::of(250e-9),
            length: Metres::new(metres).unwrap(),
            cable: SecondsPerMetre::of(5e-9),
        };
        assert_eq!(setting.fit(path(100.0)).unwrap().phase1_quanta, 1);
        let fit = setting.fit(path(120.0)).unwrap();
        assert_eq!((fit.phase1_quanta, fit.tolerance), (-1, None));
    }
}
