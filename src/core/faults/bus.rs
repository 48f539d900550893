//! Faults of the bus as changed networks, and how well each explains the meter's readings.
//!
//! Each fault is the site's own bus with one thing changed. A reading under a fault is taken as normally distributed
//! around what the changed network gives; parts that several readings share (a terminator seen from both ends) make
//! those readings vary together. The posterior follows by Bayes.

use crate::core::bus::line::{Break, Line, Short, Spot, Terminator, Wire};
use crate::core::bus::termination::Meter;
use crate::core::units::{Metres, Ohms, OhmsPerMetre, Quantity};

/// A fault of the bus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BusFault {
    Nothing,
    /// The terminator with this index in the line is not there.
    TerminatorMissing {
        terminator: usize,
    },
    AllTerminatorsMissing,
    /// One terminator too many, somewhere along the trunk.
    TerminatorExtra,
    TwoTerminatorsExtra,
    /// One wire is open in the run with this index.
    WireOpen {
        wire: Wire,
        run: usize,
    },
    /// The two wires touch in the run with this index.
    WiresTouch {
        run: usize,
    },
}

/// One reading between the two data wires with everything off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairReading {
    pub at: Spot,
    /// `None`: the meter shows that the path is open.
    pub ohms: Option<Ohms>,
    /// Worth of the last digit, Ω.
    pub digit: f64,
    pub meter: Meter,
}

/// A fault with its share of the probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ranked {
    pub fault: BusFault,
    pub probability: f64,
}

/// How often each is met before anything is measured, relative to each other (common practice, no source).
fn prior(fault: BusFault, runs: usize) -> f64 {
    let each_run = 1.0 / runs.max(1) as f64;
    match fault {
        BusFault::Nothing => 0.60,
        BusFault::TerminatorMissing { .. } => 0.10,
        BusFault::AllTerminatorsMissing => 0.04,
        BusFault::TerminatorExtra => 0.05,
        BusFault::TwoTerminatorsExtra => 0.01,
        BusFault::WireOpen { .. } => 0.04 * each_run,
        BusFault::WiresTouch { .. } => 0.02 * each_run,
    }
}

/// Standard deviation of a terminator, as a share: ±1 % parts, taken as uniform.
const TERMINATOR_SPREAD: f64 = 0.01 / 1.732;
/// Devices lie anywhere between 10 and 100 kΩ; the logarithm is taken as uniform.
const DEVICE_MIDDLE: f64 = 31_623.0;
const DEVICE_SPREAD_LOG: f64 = std::f64::consts::LN_10 / 3.464;
/// Share of readings that are simply wrong: a slipped probe, a misread digit (common practice, no source).
const MISTAKE: f64 = 0.02;

/// All single faults of the line.
pub fn all(line: &Line) -> Vec<BusFault> {
    let mut list = vec![BusFault::Nothing];
    list.extend((0..line.terminators.len()).map(|terminator| BusFault::TerminatorMissing { terminator }));
    if line.terminators.len() > 1 {
        list.push(BusFault::AllTerminatorsMissing);
    }
    list.push(BusFault::TerminatorExtra);
    list.push(BusFault::TwoTerminatorsExtra);
    for run in 0..line.runs.len() {
        list.push(BusFault::WireOpen { wire: Wire::High, run });
        list.push(BusFault::WireOpen { wire: Wire::Low, run });
        list.push(BusFault::WiresTouch { run });
    }
    list
}

/// The line with the fault in it.
pub fn with_fault(line: &Line, fault: BusFault) -> Line {
    let mut line = line.clone();
    let (length, ohms) = (line.length(), line.terminators.first().map_or(Ohms::of(120.0), |t| t.ohms));
    let middle = Metres::new(length.get() / 2.0).unwrap_or(length);
    let extra = Terminator { at: Spot::Trunk(middle), ohms };
    match fault {
        BusFault::Nothing => {}
        BusFault::TerminatorMissing { terminator } => {
            if terminator < line.terminators.len() {
                line.terminators.remove(terminator);
            }
        }
        BusFault::AllTerminatorsMissing => line.terminators.clear(),
        BusFault::TerminatorExtra => line.terminators.push(extra),
        BusFault::TwoTerminatorsExtra => line.terminators.extend([extra, extra]),
        BusFault::WireOpen { wire, run } => {
            let (from, to) = ends_of(&line, run);
            line.breaks.push(Break { wire, from, to });
        }
        BusFault::WiresTouch { run } => {
            let (from, to) = ends_of(&line, run);
            let at = Metres::new((from.get() + to.get()) / 2.0).unwrap_or(from);
            line.shorts.push(Short { between: (Wire::High, Wire::Low), at, ohms: Ohms::of(0.05) });
        }
    }
    line
}

fn ends_of(line: &Line, run: usize) -> (Metres, Metres) {
    let start = line.runs.iter().take(run).fold(0.0, |sum, run| sum + run.length.get());
    let length = line.runs.get(run).map_or(0.0, |run| run.length.get());
    let end = line.length();
    (Metres::new(start).unwrap_or(end), Metres::new(start + length).unwrap_or(end))
}

/// The faults that explain the readings, most probable first. The probabilities add up to 1.
///
/// The line is the healthy bus as described. Its terminators count with their own resistance; its devices are taken as
/// 10–100 kΩ each, whatever the line says.
pub fn explain(line: &Line, readings: &[PairReading]) -> Vec<Ranked> {
    let mut ranked: Vec<Ranked> = all(line)
        .into_iter()
        .map(|fault| {
            let log = prior(fault, line.runs.len()).ln() + log_likelihood(line, fault, readings);
            Ranked { fault, probability: log }
        })
        .collect();
    let most = ranked.iter().map(|r| r.probability).fold(f64::NEG_INFINITY, f64::max);
    for entry in &mut ranked {
        entry.probability = (entry.probability - most).exp();
    }
    let sum: f64 = ranked.iter().map(|r| r.probability).sum();
    for entry in &mut ranked {
        entry.probability /= sum;
    }
    ranked.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    ranked
}

/// What the meter would show at each spot if every device had this differential resistance, Ω.
fn predicted(line: &Line, device: f64, spots: &[Spot]) -> Vec<Option<f64>> {
    let mut line = line.clone();
    let half = Ohms::new(device / 2.0).ok();
    for device in &mut line.devices {
        (device.between_wires, device.high_to_reference, device.low_to_reference) = (None, half, half);
    }
    line.readings(spots).into_iter().map(|reading| reading.pair.map(Quantity::get)).collect()
}

/// Beyond this a meter shows an open path: where hand-held meters end (common practice, no source).
const METER_END: f64 = 4.0e7;

fn log_likelihood(line: &Line, fault: BusFault, readings: &[PairReading]) -> f64 {
    let spots: Vec<Spot> = readings.iter().map(|reading| reading.at).collect();
    let faulty = with_fault(line, fault);
    let centre = predicted(&faulty, DEVICE_MIDDLE, &spots);

    // Sensitivity of every reading to each uncertain part, one standard deviation at a time.
    let mut shifts: Vec<Vec<f64>> = Vec::new();
    let shift = |moved: Vec<Option<f64>>| -> Vec<f64> {
        moved.iter().zip(&centre).map(|(moved, centre)| moved.unwrap_or(0.0) - centre.unwrap_or(0.0)).collect()
    };
    for index in 0..faulty.terminators.len() {
        let mut moved = faulty.clone();
        let ohm = moved.terminators[index].ohms.get() * (1.0 + TERMINATOR_SPREAD);
        moved.terminators[index].ohms = Ohms::new(ohm).unwrap_or(moved.terminators[index].ohms);
        shifts.push(shift(predicted(&moved, DEVICE_MIDDLE, &spots)));
    }
    shifts.push(shift(predicted(&faulty, DEVICE_MIDDLE * DEVICE_SPREAD_LOG.exp(), &spots)));
    // Cable: 5 % for temperature and make, alike in all leads (common practice, no source).
    let mut moved = faulty.clone();
    for run in &mut moved.runs {
        run.per_metre = OhmsPerMetre::new(run.per_metre.get() * 1.05).unwrap_or(run.per_metre);
    }
    shifts.push(shift(predicted(&moved, DEVICE_MIDDLE, &spots)));

    // Readings one after the other, each conditioned on those before (a Cholesky step a reading).
    let count = readings.len();
    let mut covariance = vec![vec![0.0; count]; count];
    let mut residual = vec![0.0; count];
    let mut finite = vec![false; count];
    let mut log = 0.0;
    for (i, reading) in readings.iter().enumerate() {
        let open = centre[i].is_none_or(|ohm| ohm > METER_END);
        match (open, reading.ohms) {
            (true, None) => {}
            (true, Some(_)) | (false, None) => log += MISTAKE.ln() - 6.0,
            (false, Some(seen)) => {
                finite[i] = true;
                residual[i] = seen.get() - centre[i].unwrap_or(0.0);
                let meter = reading.meter.error(seen.get(), reading.digit) / 1.732;
                covariance[i][i] += meter.max(1e-6).powi(2);
            }
        }
    }
    for i in 0..count {
        for j in 0..count {
            covariance[i][j] += shifts.iter().map(|shift| shift[i] * shift[j]).sum::<f64>();
        }
    }
    let kept: Vec<usize> = (0..count).filter(|i| finite[*i]).collect();
    log + robust_normal(&covariance, &residual, &kept)
}

/// Logarithm of the normal density of the kept residuals, mixed reading by reading with a wide density for mistakes.
fn robust_normal(covariance: &[Vec<f64>], residual: &[f64], kept: &[usize]) -> f64 {
    let count = kept.len();
    let mut factor = vec![vec![0.0; count]; count];
    let mut whitened = vec![0.0; count];
    let mut log = 0.0;
    for i in 0..count {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| factor[i][k] * factor[j][k]).sum();
            let value = covariance[kept[i]][kept[j]] - sum;
            factor[i][j] = if i == j { value.max(1e-12).sqrt() } else { value / factor[j][j] };
        }
        let known: f64 = (0..i).map(|k| factor[i][k] * whitened[k]).sum();
        let spread = factor[i][i];
        let z = (residual[kept[i]] - known) / spread;
        let density = (-0.5 * z * z).exp() / (spread * 2.506_628);
        // A mistaken reading may fall anywhere from nothing to some kΩ: a flat density over a decade around it.
        let seen = residual[kept[i]].abs().max(1.0);
        let mixed = (1.0 - MISTAKE) * density + MISTAKE / (50.0 * seen.max(20.0));
        log += mixed.ln();
        // A reading taken for a mistake tells nothing about the next one.
        whitened[i] = if z.abs() < 6.0 { z } else { 0.0 };
    }
    log
}
