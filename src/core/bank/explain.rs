//! Why does the display show something else than the bank holds? Each cause is a changed bank, or the same bank read
//! otherwise; it predicts every figure, and how well it does so makes it likely (Bayes).
//!
//! A shown figure is taken as normally distributed around its prediction, with the error of [`What::error`]; a figure
//! that a cause says nothing of may lie anywhere. Some causes leave the state of charge open (figures grown old, a
//! gauge never set): there every state is tried, and the charge must fit it.

use super::modules::{Bank, BankError, Module, Place};
use super::shown::{Shown, What};
use super::total::{Asked, Totals, total, without_each};
use crate::core::entry;
use crate::core::units::Quantity;

/// A cause. Places are given where one module is clearly likelier than the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cause {
    NothingWrong,
    /// It does not answer on the bus, but still carries its part of the current.
    ModuleSilent {
        module: Option<Place>,
    },
    /// It has opened its switch and gives nothing.
    ModuleInProtection {
        module: Option<Place>,
    },
    /// The display is set for another number of strings, or another capacity altogether.
    NameplateWrong {
        strings: Option<u32>,
    },
    SeriesTakenForParallel,
    /// The state of charge shown is of the nameplate capacity, not of what the modules still hold.
    OtherBasis,
    /// The figures of a single module.
    OneModuleOnly {
        module: Option<Place>,
    },
    /// The figures of something else on the bus.
    OtherDevice,
    /// Figures grown old.
    Stale,
    SignReversed,
    /// The gauge has not seen a full charge yet.
    NotCalibrated,
}

impl Cause {
    /// The key of its sentence.
    pub fn key(self) -> &'static str {
        match self {
            Cause::NothingWrong => "nothing-wrong",
            Cause::ModuleSilent { .. } => "module-silent",
            Cause::ModuleInProtection { .. } => "module-in-protection",
            Cause::NameplateWrong { .. } => "nameplate-wrong",
            Cause::SeriesTakenForParallel => "series-taken-for-parallel",
            Cause::OtherBasis => "other-basis",
            Cause::OneModuleOnly { .. } => "one-module-only",
            Cause::OtherDevice => "other-device",
            Cause::Stale => "stale",
            Cause::SignReversed => "sign-reversed",
            Cause::NotCalibrated => "not-calibrated",
        }
    }

    /// How often it is met before anything is read, relative to the others (common practice, no source).
    fn prior(self) -> f64 {
        match self {
            Cause::NothingWrong => 0.55,
            Cause::ModuleSilent { .. } => 0.10,
            Cause::ModuleInProtection { .. } => 0.04,
            Cause::NameplateWrong { .. } => 0.08,
            Cause::SeriesTakenForParallel => 0.02,
            Cause::OtherBasis => 0.03,
            Cause::OneModuleOnly { .. } => 0.03,
            Cause::OtherDevice => 0.03,
            Cause::Stale => 0.02,
            Cause::SignReversed => 0.03,
            Cause::NotCalibrated => 0.07,
        }
    }

    /// The same cause without its detail.
    fn bare(self) -> Cause {
        match self {
            Cause::ModuleSilent { .. } => Cause::ModuleSilent { module: None },
            Cause::ModuleInProtection { .. } => Cause::ModuleInProtection { module: None },
            Cause::OneModuleOnly { .. } => Cause::OneModuleOnly { module: None },
            Cause::NameplateWrong { .. } => Cause::NameplateWrong { strings: None },
            other => other,
        }
    }
}

/// A cause with its share of the probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Explanation {
    pub cause: Cause,
    pub probability: f64,
}

/// Share of shown figures that are simply misread (common practice, no source).
const MISREAD: f64 = 0.02;
/// A cause's detail is told once it has this share of the cause (common practice, no source).
const CLEARLY: f64 = 0.6;
/// Steps of the states of charge that are tried, %.
const SOC_STEP: f64 = 0.25;

/// One way in which a cause may show itself.
struct Way {
    cause: Cause,
    /// Its share among the ways of its cause, before anything is read.
    weight: f64,
    figures: Figures,
    /// The state of charge is open; the charge shown is this many Ah for 100 %.
    open_soc: Option<Option<f64>>,
    /// Voltages and temperatures are of an earlier hour.
    old: bool,
}

/// Predictions in base units, in the order of [`What::ALL`]; `None`: anything.
type Figures = [Option<f64>; What::ALL.len()];

fn figures(totals: &Totals) -> Figures {
    What::ALL.map(|what| what.of(totals).map(|figure| figure.value()))
}

fn put(figures: &mut Figures, what: What, value: Option<f64>) {
    if let Some(slot) = What::ALL.iter().position(|other| *other == what).and_then(|at| figures.get_mut(at)) {
        *slot = value;
    }
}

fn take(figures: &Figures, what: What) -> Option<f64> {
    What::ALL.iter().position(|other| *other == what).and_then(|at| figures.get(at).copied().flatten())
}

/// The causes that would explain what the display shows, most probable first. The probabilities add up to 1.
///
/// `bank` is the bank as it is believed to be. An error only where its totals are beyond their range.
pub fn explain(bank: &Bank, shown: &Shown) -> Result<Vec<Explanation>, BankError> {
    let ways = ways(bank, shown)?;
    let weigh = |way: &Way| (way.cause.prior() * way.weight).ln() + log_likelihood(way, shown);
    let logs: Vec<f64> = ways.iter().map(weigh).collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // Each cause with its details, and the weight of each.
    let mut told: Vec<(Cause, Vec<(Cause, f64)>)> = Vec::new();
    for (way, log) in ways.iter().zip(logs) {
        let bare = way.cause.bare();
        let index = told.iter().position(|(cause, _)| *cause == bare).unwrap_or_else(|| {
            told.push((bare, Vec::new()));
            told.len() - 1
        });
        let details = &mut told[index].1;
        let weight = (log - most).exp();
        // The ways of a detail stand together: the last is looked at first.
        match details.iter_mut().rev().find(|(cause, _)| *cause == way.cause) {
            Some((_, sum)) => *sum += weight,
            None => details.push((way.cause, weight)),
        }
    }
    let mut explanations: Vec<Explanation> = Vec::new();
    for (bare, details) in told {
        let whole: f64 = details.iter().map(|(_, weight)| weight).sum();
        let clear = details.iter().find(|(_, weight)| *weight > CLEARLY * whole).map(|(cause, _)| *cause);
        explanations.push(Explanation { cause: clear.unwrap_or(bare), probability: whole });
    }
    let sum: f64 = explanations.iter().map(|entry| entry.probability).sum();
    for entry in &mut explanations {
        entry.probability /= sum;
    }
    explanations.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    Ok(explanations)
}

/// Every cause in every way it may show itself. The weights of one cause add up to 1 over its ways.
fn ways(bank: &Bank, shown: &Shown) -> Result<Vec<Way>, BankError> {
    let all = total(bank, Asked::default())?;
    let right = figures(&all);
    let answering = take(&right, What::Modules);
    let mut ways = Vec::new();
    let mut add = |cause, weight, figures| ways.push(Way { cause, weight, figures, open_soc: None, old: false });
    add(Cause::NothingWrong, 1.0, right);

    let each = 1.0 / f64::from(bank.count());
    let fewer = answering.map(|count| (count - 1.0).max(0.0));
    let heard_without = without_each(bank);
    // Like modules, as most banks have, show the same figures.
    let mut last: Option<(&Module, Option<Figures>)> = None;
    for (place, module) in bank.modules() {
        // A display either sums what it hears, or shows set and measured figures beside a smaller count.
        if let Some(Ok(heard)) = heard_without.get(place.string as usize - 1) {
            let mut summed = figures(heard);
            put(&mut summed, What::Capacity, heard.capacity_heard.map(Quantity::get));
            put(&mut summed, What::Modules, fewer);
            let mut set = right;
            put(&mut set, What::Modules, fewer);
            let cause = Cause::ModuleSilent { module: Some(place) };
            add(cause, 0.7 * each, summed);
            add(cause, 0.3 * each, set);
            // A string that has opened gives nothing, while all of its modules answer. Its capacity may still be shown.
            let mut opened = summed;
            put(&mut opened, What::Modules, answering);
            put(&mut opened, What::Current, take(&right, What::Current));
            put(&mut opened, What::Power, take(&right, What::Power));
            let cause = Cause::ModuleInProtection { module: Some(place) };
            add(cause, 0.7 * each, opened);
            put(&mut opened, What::Capacity, take(&right, What::Capacity));
            add(cause, 0.3 * each, opened);
        }
        let one = match last {
            Some((like, one)) if like == module => one,
            _ => {
                let one = Bank::parallel(vec![module.clone()]).and_then(|one| total(&one, Asked::default()));
                one.ok().as_ref().map(figures)
            }
        };
        last = Some((module, one));
        if let Some(mut single) = one.filter(|_| bank.count() > 1) {
            let cause = Cause::OneModuleOnly { module: Some(place) };
            put(&mut single, What::Modules, Some(1.0));
            add(cause, 0.5 * each, single);
            put(&mut single, What::Modules, answering);
            add(cause, 0.5 * each, single);
        }
    }

    let strings = bank.strings().len();
    let most = (2 * strings).max(strings + 4);
    let held = take(&right, What::ChargeHeld);
    for set in (1..=most).filter(|set| *set != strings) {
        let times = set as f64 / strings as f64;
        let mut scaled = right;
        put(&mut scaled, What::Capacity, take(&right, What::Capacity).map(|capacity| capacity * times));
        put(&mut scaled, What::ChargeHeld, held.map(|held| held * times));
        let cause = Cause::NameplateWrong { strings: u32::try_from(set).ok() };
        add(cause, 0.7 / (most - 1) as f64, scaled);
    }
    let mut free = right;
    put(&mut free, What::Capacity, None);
    let of_shown = shown.get(What::Capacity).map(|capacity| capacity.figure.value());
    let soc = take(&right, What::Soc);
    put(&mut free, What::ChargeHeld, of_shown.zip(soc).map(|(capacity, soc)| capacity * soc / 100.0));
    add(Cause::NameplateWrong { strings: None }, 0.3, free);

    if bank.strings().iter().any(|string| string.len() > 1) {
        let modules = bank.modules().map(|(_, module)| module.clone()).collect();
        if let Ok(flat) = Bank::parallel(modules).and_then(|flat| total(&flat, Asked::default())) {
            let mut summed = right;
            for what in [What::Capacity, What::ChargeHeld, What::Soc] {
                put(&mut summed, what, take(&figures(&flat), what));
            }
            add(Cause::SeriesTakenForParallel, 1.0, summed);
        }
    }
    // Only where the two bases differ is there anything to mistake.
    if let (Some(present), Some(nameplate)) = (all.soc, all.soc_of_nameplate)
        && (present.get() - nameplate.get()).abs() > 0.1
    {
        let mut other = right;
        put(&mut other, What::Soc, Some(nameplate.get()));
        add(Cause::OtherBasis, 1.0, other);
    }
    if let Some(current) = take(&right, What::Current).filter(|current| *current != 0.0) {
        let mut reversed = right;
        put(&mut reversed, What::Current, Some(-current));
        put(&mut reversed, What::Power, take(&right, What::Power).map(|power| -power));
        add(Cause::SignReversed, 1.0, reversed);
    }
    // Another device on the same poles sees the same voltage and perhaps the same current.
    let anything: Figures = [None; What::ALL.len()];
    let mut meter = anything;
    for what in [What::Voltage, What::Current, What::Power] {
        put(&mut meter, what, take(&right, what));
    }
    add(Cause::OtherDevice, 0.5, anything);
    add(Cause::OtherDevice, 0.5, meter);

    let full = all.present_capacity.map(Quantity::get);
    let mut earlier = right;
    put(&mut earlier, What::Current, None);
    put(&mut earlier, What::Power, None);
    ways.push(Way { cause: Cause::Stale, weight: 1.0, figures: earlier, open_soc: Some(full), old: true });
    ways.push(Way { cause: Cause::NotCalibrated, weight: 1.0, figures: right, open_soc: Some(full), old: false });
    Ok(ways)
}

/// How wide a figure may lie when nothing is said of it, in base units (common practice, no source).
fn width(what: What, shown: f64) -> f64 {
    match what {
        What::Capacity | What::ChargeHeld => (2.0 * shown.abs()).max(400.0),
        What::Soc | What::Soh => 100.0,
        What::Voltage => 60.0,
        What::Current => (2.0 * shown.abs()).max(400.0),
        What::Power => (2.0 * shown.abs()).max(10_000.0),
        What::Modules => 16.0,
        What::LowestCell | What::HighestCell => 1.65,
        What::Coldest | What::Hottest => 80.0,
    }
}

/// Standard deviation of a figure around its prediction, in base units.
fn spread(what: What, seen: &entry::Shown, old: bool) -> f64 {
    // Half the width of a uniform error; a count has hardly any.
    let now = (what.error(seen) / 3.0_f64.sqrt()).max(if what == What::Modules { 0.2 } else { 1e-3 });
    // How far a bank in use moves within hours (common practice, no source).
    match what {
        What::Voltage | What::LowestCell | What::HighestCell if old => now.max(0.03 * seen.figure.value().abs()),
        What::Coldest | What::Hottest if old => now.max(10.0),
        _ => now,
    }
}

fn log_likelihood(way: &Way, shown: &Shown) -> f64 {
    let density = |what: What, predicted: Option<f64>| -> f64 {
        let Some(seen) = shown.get(what) else { return 1.0 };
        let value = seen.figure.value();
        let flat = 1.0 / width(what, value);
        let Some(predicted) = predicted else { return flat };
        let spread = spread(what, &seen, way.old);
        let z = (value - predicted) / spread;
        let normal = (-0.5 * z * z).exp() / (spread * (2.0 * std::f64::consts::PI).sqrt());
        (1.0 - MISREAD) * normal + MISREAD * flat
    };
    let open = |what: What| way.open_soc.is_some() && matches!(what, What::Soc | What::ChargeHeld);
    let fixed = What::ALL
        .iter()
        .zip(&way.figures)
        .filter(|(what, _)| !open(**what))
        .map(|(what, predicted)| density(*what, *predicted).ln())
        .sum::<f64>();
    let Some(full) = way.open_soc else { return fixed };
    let steps = (100.0 / SOC_STEP) as u32;
    let tried = (0..=steps).map(|step| f64::from(step) * SOC_STEP);
    let fits =
        tried.map(|soc| density(What::Soc, Some(soc)) * density(What::ChargeHeld, full.map(|full| full * soc / 100.0)));
    fixed + (fits.sum::<f64>() / f64::from(steps + 1)).ln()
}
