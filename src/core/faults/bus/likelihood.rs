//! How well a fault explains the readings: see the model at the head of [`super`].

use crate::core::bus::line::{Line, Spot};
use crate::core::faults::bus::layout::Layout;
use crate::core::faults::bus::networks::{Change, Forecast, needs_middle};
use crate::core::faults::bus::prior::weighted;
use crate::core::faults::bus::workshop::Workshop;
use crate::core::faults::bus::{BusFault, Class, Ranked, Reading};
use crate::core::units::Quantity;

/// What each device of a bus may be like while it is off.
struct Devices {
    /// From each wire to the reference, Ω.
    ohm: f64,
    spread: f64,
}

/// 5–50 kΩ from each wire to the reference (ISO 11898, 1993/2003; TI SN65LBC031), uniform by the logarithm: the root of
/// 5 kΩ × 50 kΩ; ln(10)/√12.
const STANDARD: Devices = Devices { ohm: 15_811.388_300_841_896, spread: 0.664_699_061_636_066 };
/// Ports that are isolated or let go when unpowered (from memory).
const HIGH: Devices = Devices { ohm: 1.0e6, spread: 1.5 };

/// Something for each case of what all devices of a bus may be like together: [`STANDARD`]; [`HIGH`]; or they let go
/// altogether, so that what leads mostly through them is an open path.
pub(super) type Cases<T> = [T; 3];
/// How often each is met (common practice, no source).
const PARTS: Cases<f64> = [0.7, 0.2, 0.1];
/// A reading leads mostly through the devices above this part (common practice, no source).
const MOSTLY: f64 = 0.5;
/// Junctions make the devices' part of a reading vary by this, as a logarithm (from memory).
const JUNCTIONS: f64 = 0.7;
/// Share of readings that are simply wrong: a slipped probe, a misread digit (common practice, no source).
const MISTAKE: f64 = 0.02;
/// Part of the mistakes that show "open".
const MISTAKEN_OPEN: f64 = 0.1;
/// What no reading is more exact than, by its logarithm.
const EXACT: f64 = 1e-4;
/// Where hand-held meters end, on the scale: 40 MΩ (common practice, no source), ln(4·10⁷ + 10).
const METER_END: f64 = 17.504_390_262_078_18;
/// Below this, Ω, differences count more than ratios.
const BEND: f64 = 10.0;
/// What a powered bus shows: about so much, with such a spread, and "open" so often (bus reference 1.5; common practice).
const POWERED: (f64, f64, f64) = (70.0, 1.0, 0.05);

const ROOT_3: f64 = 1.732_050_807_568_877_2;
const ROOT_2_PI: f64 = 2.506_628_274_631_000_5;

fn scaled(ohm: f64) -> f64 {
    (ohm + BEND).ln()
}

/// Density of a mistaken figure, anywhere on the scale from nothing to the meter's end.
const MISTAKEN_FIGURE: f64 = (1.0 - MISTAKEN_OPEN) / (METER_END - std::f64::consts::LN_10);

/// Density of the normal distribution.
fn normal(difference: f64, spread: f64) -> f64 {
    let z = difference / spread;
    // Below 10⁻³⁰⁰: far less than any mistake.
    if z * z > 1400.0 {
        return 0.0;
    }
    (-0.5 * z * z).exp() / (spread * ROOT_2_PI)
}

/// Probability that the meter shows an open path: see the model.
fn open_chance(centre: f64, spread: f64) -> f64 {
    1.0 / (1.0 + (1.702 * (METER_END - centre) / spread).exp())
}

/// What one reading should be under a fault, on the scale.
#[derive(Clone)]
pub(super) struct Expected {
    /// `None` where no path exists.
    pub(super) centre: Option<f64>,
    /// For one standard deviation of each shared part.
    pub(super) shifts: Vec<f64>,
    /// Variance of its own.
    pub(super) own: f64,
    /// It leads mostly through the devices.
    through_devices: bool,
}

impl Expected {
    fn new(forecast: &mut Forecast, digit: f64, meter_error: impl Fn(f64, f64) -> f64) -> Expected {
        let Some(ohm) = forecast.ohm else {
            return Expected::open(std::mem::take(&mut forecast.shifts));
        };
        let slope = 1.0 / (ohm + BEND);
        let meter = slope * meter_error(ohm, digit) / ROOT_3;
        let junctions = slope * forecast.devices * JUNCTIONS;
        let mut shifts = std::mem::take(&mut forecast.shifts);
        shifts.iter_mut().for_each(|shift| *shift *= slope);
        let own = meter * meter + junctions * junctions + EXACT * EXACT;
        Expected { centre: Some(scaled(ohm)), shifts, own, through_devices: forecast.devices > MOSTLY * ohm }
    }

    fn open(shifts: Vec<f64>) -> Expected {
        Expected { centre: None, shifts, own: EXACT * EXACT, through_devices: false }
    }

    /// The same where the devices let go altogether.
    fn let_go(&self) -> Expected {
        if self.through_devices { Expected::open(Vec::new()) } else { self.clone() }
    }

    pub(super) fn with(&self, other: &Expected) -> f64 {
        self.shifts.iter().zip(&other.shifts).map(|(a, b)| a * b).sum()
    }

    fn variance(&self) -> f64 {
        self.own + self.with(self)
    }
}

/// The readings taken so far under one fault and one case of devices, ready for more.
#[derive(Default)]
pub(super) struct Chain {
    pub(super) log: f64,
    /// Those that are figures with a path: what was expected, its row of the Cholesky factor, its standardised difference.
    links: Vec<(Expected, Vec<f64>, f64)>,
}

impl Chain {
    /// Centre and spread of another reading, given those before.
    pub(super) fn next(&self, expected: &Expected, centre: f64) -> (f64, f64, Vec<f64>) {
        let mut row: Vec<f64> = Vec::with_capacity(self.links.len() + 1);
        let (mut centre, mut variance) = (centre, expected.variance());
        for (earlier, factor, difference) in &self.links {
            let known: f64 = row.iter().zip(factor).map(|(a, b)| a * b).sum();
            let entry = (expected.with(earlier) - known) / factor[row.len()];
            row.push(entry);
            centre += entry * difference;
            variance -= entry * entry;
        }
        let spread = variance.max(expected.own).sqrt();
        row.push(spread);
        (centre, spread, row)
    }

    fn take(&mut self, expected: Expected, seen: Option<f64>) {
        let chance = match (expected.centre, seen) {
            (None, None) => (1.0 - MISTAKE) + MISTAKE * MISTAKEN_OPEN,
            (None, Some(_)) => MISTAKE * MISTAKEN_FIGURE,
            (Some(centre), None) => {
                (1.0 - MISTAKE) * open_chance(centre, expected.variance().sqrt()) + MISTAKE * MISTAKEN_OPEN
            }
            (Some(centre), Some(ohm)) => {
                let (centre, spread, row) = self.next(&expected, centre);
                let difference = scaled(ohm) - centre;
                let fits = (1.0 - MISTAKE) * normal(difference, spread);
                let density = fits + MISTAKE * MISTAKEN_FIGURE;
                // What looks like a mistake tells nothing of the other readings.
                self.links.push((expected, row, difference / spread * fits / density));
                density
            }
        };
        self.log += chance.ln();
    }
}

/// A line with its readings.
pub(super) struct Model {
    pub(super) readings: Vec<Reading>,
    pub(super) plain: Layout,
    /// With a place in the middle of each run.
    middles: Layout,
}

impl Model {
    pub(super) fn new(line: &Line, readings: Vec<Reading>) -> Model {
        let spots: Vec<Spot> = readings.iter().map(|reading| reading.at).collect();
        let (plain, middles) = (Layout::new(line, &spots, false), Layout::new(line, &spots, true));
        Model { readings, plain, middles }
    }

    pub(super) fn layout(&self, fault: BusFault) -> &Layout {
        if needs_middle(fault) { &self.middles } else { &self.plain }
    }

    /// What readings should be under a fault and each case of devices that is asked for, none for the others; those of one
    /// state should follow each other.
    pub(super) fn expected(
        &self,
        workshop: &mut Workshop,
        fault: BusFault,
        asked: Cases<bool>,
        readings: &[Reading],
    ) -> Cases<Vec<Expected>> {
        let [standard, high, open] = asked;
        let mut solved = |is_asked: bool, devices| {
            if is_asked { self.solved(workshop, fault, devices, readings) } else { Vec::new() }
        };
        let (standard, of_high) = (solved(standard, &STANDARD), solved(high || open, &HIGH));
        let open = if open { of_high.iter().map(Expected::let_go).collect() } else { Vec::new() };
        [standard, if high { of_high } else { Vec::new() }, open]
    }

    fn solved(
        &self,
        workshop: &mut Workshop,
        fault: BusFault,
        devices: &Devices,
        readings: &[Reading],
    ) -> Vec<Expected> {
        let layout = self.layout(fault);
        let change = Change::new(layout, fault, devices.spread);
        let mut forecast = Forecast::default();
        workshop.turn();
        let expect = |reading: &Reading| {
            let place = (layout.place(reading.at), reading.pair);
            workshop.read((layout, &change), (reading.state, devices.ohm), place, &mut forecast);
            Expected::new(&mut forecast, reading.digit.get(), |ohm, digit| reading.meter.error(ohm, digit))
        };
        readings.iter().map(expect).collect()
    }

    /// The readings taken under a fault, for each case of devices.
    pub(super) fn chains(&self, workshop: &mut Workshop, fault: BusFault) -> Cases<Chain> {
        let mut chains = PARTS.map(|part| Chain { log: part.ln(), links: Vec::new() });
        let expected = self.expected(workshop, fault, [true; PARTS.len()], &self.readings);
        for (chain, expected) in chains.iter_mut().zip(expected) {
            for (expected, reading) in expected.into_iter().zip(&self.readings) {
                chain.take(expected, reading.ohms.map(Quantity::get));
            }
        }
        chains
    }

    fn log_likelihood(&self, workshop: &mut Workshop, fault: BusFault) -> f64 {
        if fault == BusFault::MeterOnPoweredBus {
            return self.readings.iter().map(|reading| powered(reading.ohms.map(Quantity::get)).ln()).sum();
        }
        let logs = self.chains(workshop, fault).map(|chain| chain.log);
        let most = logs.into_iter().fold(f64::NEG_INFINITY, f64::max);
        most + logs.iter().map(|log| (log - most).exp()).sum::<f64>().ln()
    }
}

/// Faults that are weighed in one stretch (common practice, no source).
const STRETCH: usize = 128;

/// [`super::explain`], a stretch at a time: on a large bus it takes a slow phone longer than a hand should wait.
pub struct Explaining {
    model: Model,
    /// Faults that are not weighed yet, with how likely they are before any reading.
    open: std::vec::IntoIter<(BusFault, f64)>,
    workshop: Workshop,
    /// How well the whole bus explains the readings.
    whole: Option<f64>,
    /// By the logarithm of its probability, up to a common part.
    weighed: Vec<(BusFault, f64)>,
}

impl Explaining {
    pub fn new(line: &Line, readings: Vec<Reading>) -> Explaining {
        let (model, open) = (Model::new(line, readings), weighted(line).into_iter());
        Explaining { model, open, workshop: Workshop::default(), whole: None, weighed: Vec::new() }
    }

    /// Goes a stretch on. The answer, once it is known, as [`super::explain`] gives it.
    pub fn go_on(&mut self) -> Option<Vec<Ranked>> {
        let (model, workshop) = (&self.model, &mut self.workshop);
        for (fault, weight) in self.open.by_ref().take(STRETCH) {
            let log = match fault.class() {
                // No change of the network: solved once.
                Class::Nothing | Class::Swapped => {
                    *self.whole.get_or_insert_with(|| model.log_likelihood(workshop, BusFault::Nothing))
                }
                _ => model.log_likelihood(workshop, fault),
            };
            self.weighed.push((fault, weight.ln() + log));
        }
        self.open.as_slice().is_empty().then(|| ranked(&self.weighed))
    }
}

/// All faults, most probable first.
fn ranked(weighed: &[(BusFault, f64)]) -> Vec<Ranked> {
    let most = weighed.iter().map(|(_, log)| *log).fold(f64::NEG_INFINITY, f64::max);
    let mut ranked: Vec<Ranked> =
        weighed.iter().map(|&(fault, log)| Ranked { fault, probability: (log - most).exp() }).collect();
    let sum: f64 = ranked.iter().map(|r| r.probability).sum();
    for entry in &mut ranked {
        entry.probability /= sum;
    }
    ranked.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    ranked
}

/// Density of a figure, or probability of "open", on a bus that was not off.
fn powered(seen: Option<f64>) -> f64 {
    let (about, spread, open) = POWERED;
    match seen {
        None => open,
        Some(ohm) => (1.0 - open) * normal(scaled(ohm) - about.ln(), spread),
    }
}

/// What another reading would show under one fault and one case of devices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Outlook {
    /// Centre and spread on the scale; `None` where no path exists.
    pub(super) figure: Option<(f64, f64)>,
    /// Probability of "open".
    pub(super) open: f64,
    /// Density of a mistaken figure.
    mistaken: f64,
    sure: f64,
}

impl Outlook {
    pub(super) fn of(chain: &Chain, expected: &Expected) -> Outlook {
        let figure = expected.centre.map(|centre| {
            let (centre, spread, _) = chain.next(expected, centre);
            (centre, spread)
        });
        let open = figure.map_or(1.0, |(centre, spread)| open_chance(centre, spread));
        Outlook {
            figure,
            open: (1.0 - MISTAKE) * open + MISTAKE * MISTAKEN_OPEN,
            mistaken: MISTAKE * MISTAKEN_FIGURE,
            sure: 1.0 - MISTAKE,
        }
    }

    pub(super) fn powered() -> Outlook {
        let (about, spread, open) = POWERED;
        Outlook { figure: Some((about.ln(), spread)), open, mistaken: 0.0, sure: 1.0 - open }
    }

    /// Density of a figure at a point of the scale.
    pub(super) fn density(&self, at: f64) -> f64 {
        self.mistaken + self.figure.map_or(0.0, |(centre, spread)| self.sure * normal(at - centre, spread))
    }
}
