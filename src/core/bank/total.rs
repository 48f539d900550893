//! The bank as one: every figure of its modules brought together.
//!
//! Each string is first reduced to one module by the rules of a series, then the strings are added by the rules of
//! parallel modules (derived from the conservation of charge and energy; SunSpec 802–804 hold the same figures).
//! Strings with a silent module are not judged: live figures are those of the strings that answer, and
//! [`Totals::partial`] says so. What a known plate gives (capacity, energy, nominal voltage) counts them all.

use super::limits;
use super::modules::{Bank, BankError, Module, Place, SocBasis, number};
use crate::core::units::{AmpereHours, Amperes, Celsius, Hours, Percent, Quantity, Volts, WattHours, Watts};

/// What the totals rest on beside the bank itself.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    /// Modules that ought to answer; left out, as many as the bank has.
    pub expected: Option<u32>,
    /// State of charge at which discharging ends; left out, 0 %.
    pub floor: Option<Percent>,
    /// Share of the charge put in that can be taken out; left out, 100 %. For LFP at least 99 % (Aalborg University,
    /// Batteries 2019 5(3) 57, figures from memory).
    pub efficiency: Option<Percent>,
}

/// The least or greatest of a measured quantity, and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extreme<Q> {
    pub value: Q,
    pub place: Place,
    /// The cell or the sensor within its module, counted from 1.
    pub index: u32,
}

/// What the state of charge of the whole means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SocMeaning {
    /// Charge held ÷ present capacity: modules side by side.
    Weighted,
    /// Charge to the first empty module ÷ what lies between first empty and first full: some modules are in series.
    Usable,
}

/// A bank's figures. `None` is not known. Charge in Ah of the whole bank, voltages from pole to pole.
#[derive(Clone, Debug, PartialEq)]
pub struct Totals {
    /// Nameplate capacity of all modules, silent ones too.
    pub capacity: Option<AmpereHours>,
    /// Nameplate capacity of the strings that answer.
    pub capacity_heard: Option<AmpereHours>,
    pub energy: Option<WattHours>,
    /// Where strings differ, the voltage that makes capacity × voltage the energy.
    pub nominal: Option<Volts>,
    /// Ah between empty and full; in series from the first module empty to the first module full.
    pub present_capacity: Option<AmpereHours>,
    /// The same, without strings that have opened their switch.
    pub usable_capacity: Option<AmpereHours>,
    pub charge_held: Option<AmpereHours>,
    /// Ah that can still be put in, never below 0.
    pub headroom: Option<AmpereHours>,
    /// The same, without strings that have opened their switch: what a charger can reach.
    pub usable_headroom: Option<AmpereHours>,
    /// Of the present capacity.
    pub soc: Option<Percent>,
    pub soc_meaning: SocMeaning,
    pub soc_of_nameplate: Option<Percent>,
    /// The least of all modules, of their present capacity.
    pub soc_cautious: Option<Percent>,
    pub soh: Option<Percent>,
    /// The least of all modules.
    pub soh_cautious: Option<Percent>,
    /// Mean of the strings.
    pub voltage: Option<Volts>,
    /// Greatest less least string: above some tenths of a volt, look at the wiring or the measurement.
    pub voltage_spread: Option<Volts>,
    pub current: Option<Amperes>,
    /// The greatest difference within one string, where the current must be the same everywhere.
    pub current_spread: Option<Amperes>,
    pub power: Option<Watts>,
    pub charge_limit_sum: Option<Amperes>,
    /// Strings × least limit: safe while the sharing is not known.
    pub charge_limit_cautious: Option<Amperes>,
    pub discharge_limit_sum: Option<Amperes>,
    pub discharge_limit_cautious: Option<Amperes>,
    /// In series the sum: right if each module keeps its own limit.
    pub charge_voltage_limit: Option<Volts>,
    /// In series modules × least limit: right whatever each module does.
    pub charge_voltage_limit_cautious: Option<Volts>,
    pub discharge_voltage_limit: Option<Volts>,
    pub discharge_voltage_limit_cautious: Option<Volts>,
    pub answering: Option<u32>,
    pub expected: u32,
    /// Strings whose modules all answer and have not opened their switch.
    pub strings_usable: Option<u32>,
    /// Is a string left out of the live figures because a module of it is silent?
    pub partial: bool,
    pub charge_permitted: Option<bool>,
    pub discharge_permitted: Option<bool>,
    pub charge_held_off_by: Vec<Place>,
    pub discharge_held_off_by: Vec<Place>,
    pub silent: Vec<Place>,
    pub lowest_cell: Option<Extreme<Volts>>,
    pub highest_cell: Option<Extreme<Volts>>,
    pub cell_spread: Option<Volts>,
    pub coldest: Option<Extreme<Celsius>>,
    pub hottest: Option<Extreme<Celsius>>,
    /// Until the floor at this current; none while nothing flows out. Peukert's exponent is taken as 1.
    pub to_floor: Option<Hours>,
    /// Until full at this current; none while nothing flows in. The taper at the end is not in it.
    pub to_full: Option<Hours>,
}

/// Brings the bank together. An error only where a total is beyond what its quantity may be.
pub fn total(bank: &Bank, asked: Asked) -> Result<Totals, BankError> {
    total_of(bank, &strands(bank), asked)
}

/// What would be heard without each string in turn: the totals as if a module of it were silent. Only what the modules that
/// answer are counted by is left as it is.
pub fn without_each(bank: &Bank) -> Vec<Result<Totals, BankError>> {
    let mut all = strands(bank);
    let without = |index: usize| {
        let silent = std::mem::replace(&mut all[index].silent, true);
        let totals = total_of(bank, &all, Asked::default());
        all[index].silent = silent;
        totals
    };
    (0..bank.strings().len()).map(without).collect()
}

fn strands(bank: &Bank) -> Vec<Strand> {
    bank.strings().iter().map(|modules| Strand::of(modules)).collect()
}

/// [`total`] of a bank with the strings that it was reduced to.
fn total_of(bank: &Bank, all: &[Strand], asked: Asked) -> Result<Totals, BankError> {
    let heard: Vec<&Strand> = all.iter().filter(|string| !string.silent).collect();
    let closed: Vec<&Strand> = heard.iter().copied().filter(|string| !string.open).collect();
    let of_all: Vec<&Strand> = all.iter().collect();

    let capacity = sum(&of_all, |s| s.capacity);
    let energy = sum(&of_all, |s| s.energy);
    let present = sum(&heard, |s| s.usable());
    let held = sum(&heard, |s| s.held);
    let capacity_heard = sum(&heard, |s| s.capacity);
    // An open string is a part of the bank that neither gives nor takes: nothing is 0 here, not unknown.
    let usable =
        |of: fn(&Strand) -> Option<f64>| if closed.is_empty() { heard.first().map(|_| 0.0) } else { sum(&closed, of) };
    let usable_capacity = usable(Strand::usable);
    let current = sum(&heard, |s| s.current);
    let voltage = |fold: fn(f64, f64) -> f64| known(&heard, |s| s.voltage, fold);
    let (charge_limit_sum, charge_limit_cautious) = limit_of(&heard, |s| s.charge_limit)?;
    let (discharge_limit_sum, discharge_limit_cautious) = limit_of(&heard, |s| s.discharge_limit)?;
    let floor = asked.floor.map_or(0.0, |floor| floor.get() / 100.0);
    let efficiency = asked.efficiency.map_or(1.0, |share| share.get() / 100.0);
    let above_floor = both(usable(|s| s.held), usable_capacity, |held, capacity| (held - floor * capacity).max(0.0));
    let room = usable(|s| s.headroom);

    let is_heard = |place: Place| all.get(place.string as usize - 1).is_some_and(|string| !string.silent);
    let cells = readings(bank, is_heard, |module| &module.cells);
    let temperatures = readings(bank, is_heard, |module| &module.temperatures);
    let (lowest_cell, highest_cell) = extremes(&cells);
    let (coldest, hottest) = extremes(&temperatures);
    let places = |wanted: fn(&Module) -> bool| -> Vec<Place> {
        bank.modules().filter(|(_, module)| wanted(module)).map(|(place, _)| place).collect()
    };

    Ok(Totals {
        capacity: checked(capacity)?,
        capacity_heard: checked(capacity_heard)?,
        energy: checked(energy)?,
        nominal: checked(nominal(&of_all, energy, capacity))?,
        present_capacity: checked(present)?,
        usable_capacity: checked(usable_capacity)?,
        charge_held: checked(held)?,
        headroom: checked(sum(&heard, |s| s.headroom))?,
        usable_headroom: checked(room)?,
        soc: checked(share(held, present))?,
        soc_meaning: if bank.strings().iter().any(|s| s.len() > 1) { SocMeaning::Usable } else { SocMeaning::Weighted },
        soc_of_nameplate: checked(share(held, capacity_heard))?,
        soc_cautious: checked(known(&heard, |s| s.least_soc, f64::min).map(|s| s * 100.0))?,
        soh: checked(share(sum(&heard, |s| s.present), capacity_heard))?,
        soh_cautious: checked(known(&heard, |s| s.least_soh, f64::min).map(|h| h * 100.0))?,
        voltage: checked(voltage(add).map(|sum| sum / heard.len() as f64))?,
        voltage_spread: checked(both(voltage(f64::max), voltage(f64::min), |high, low| high - low))?,
        current: checked(current)?,
        current_spread: checked(known(&heard, |s| s.current_spread, f64::max))?,
        power: checked(sum(&heard, |s| both(s.voltage, s.current, |v, i| v * i)))?,
        charge_limit_sum,
        charge_limit_cautious,
        discharge_limit_sum,
        discharge_limit_cautious,
        charge_voltage_limit: checked(known(&heard, |s| s.charge_voltage, f64::min))?,
        charge_voltage_limit_cautious: checked(known(&heard, |s| s.charge_voltage_cautious, f64::min))?,
        discharge_voltage_limit: checked(known(&heard, |s| s.discharge_voltage, f64::max))?,
        discharge_voltage_limit_cautious: checked(known(&heard, |s| s.discharge_voltage_cautious, f64::max))?,
        answering: bank.modules().map(|(_, module)| Some(u32::from(module.answering?))).sum(),
        expected: asked.expected.unwrap_or(bank.count()),
        strings_usable: all.iter().map(Strand::is_usable).map(|usable| usable.map(u32::from)).sum(),
        partial: heard.len() < all.len(),
        charge_permitted: any(heard.iter().map(|s| s.charge_permitted)),
        discharge_permitted: any(heard.iter().map(|s| s.discharge_permitted)),
        charge_held_off_by: places(|module| module.charge_held_off == Some(true)),
        discharge_held_off_by: places(|module| module.discharge_held_off == Some(true)),
        silent: places(|module| module.answering == Some(false)),
        cell_spread: match (&lowest_cell, &highest_cell) {
            (Some(low), Some(high)) => Some(Volts::new(high.value.get() - low.value.get())?),
            _ => None,
        },
        lowest_cell,
        highest_cell,
        coldest,
        hottest,
        to_floor: hours(above_floor, current, 1.0),
        to_full: hours(room, current.map(|current| -current), efficiency),
    })
}

/// How much current a string allows.
#[derive(Clone, Copy, Debug, PartialEq)]
enum StringLimit {
    /// A module of it holds off, so that the string is off the bus that way.
    HeldOff,
    Limit(Option<f64>),
}

/// A string as one module. `None` is not known.
#[derive(Clone, Debug)]
struct Strand {
    /// A string of one.
    alone: bool,
    capacity: Option<f64>,
    energy: Option<f64>,
    nominal: Option<f64>,
    /// Least present capacity.
    present: Option<f64>,
    held: Option<f64>,
    headroom: Option<f64>,
    least_soc: Option<f64>,
    least_soh: Option<f64>,
    voltage: Option<f64>,
    current: Option<f64>,
    current_spread: Option<f64>,
    charge_limit: StringLimit,
    discharge_limit: StringLimit,
    charge_voltage: Option<f64>,
    charge_voltage_cautious: Option<f64>,
    discharge_voltage: Option<f64>,
    discharge_voltage_cautious: Option<f64>,
    charge_permitted: Option<bool>,
    discharge_permitted: Option<bool>,
    /// A module is known not to answer.
    silent: bool,
    /// A module has opened its switch.
    open: bool,
    /// Do all modules answer?
    answers: Option<bool>,
}

impl Strand {
    fn of(modules: &[Module]) -> Strand {
        let figures: Vec<Charge> = modules.iter().map(Charge::of).collect();
        type Fold = fn(f64, f64) -> f64;
        let of = |get: fn(&Module) -> Option<f64>, fold: Fold| folded(modules.iter().map(get), fold);
        let charge = |get: fn(&Charge) -> Option<f64>| folded(figures.iter().map(get), f64::min);
        let times = modules.len() as f64;
        let capacity = of(|m| m.capacity.map(Quantity::get), f64::min);
        let nominal = of(|m| m.nominal.map(Quantity::get), add);
        let current = |fold: Fold| of(|m| m.current.map(Quantity::get), fold);
        let upper = |fold: Fold| of(|m| m.charge_voltage_limit.map(Quantity::get), fold);
        let lower = |fold: Fold| of(|m| m.discharge_voltage_limit.map(Quantity::get), fold);
        // One module that holds off stops the whole string, whatever the others allow.
        let limit = |held: fn(&Module) -> Option<bool>, get: fn(&Module) -> Option<f64>| {
            if modules.iter().any(|m| held(m) == Some(true)) {
                StringLimit::HeldOff
            } else {
                StringLimit::Limit(of(get, f64::min))
            }
        };
        Strand {
            alone: modules.len() == 1,
            capacity,
            energy: both(capacity, nominal, |capacity, nominal| capacity * nominal),
            nominal,
            present: charge(|c| c.present),
            held: charge(|c| c.held),
            headroom: charge(|c| c.headroom),
            least_soc: charge(|c| c.soc),
            least_soh: of(|m| m.soh.map(|soh| soh.get() / 100.0), f64::min),
            voltage: of(|m| m.voltage.map(Quantity::get), add),
            current: current(add).map(|sum| sum / times),
            current_spread: both(current(f64::max), current(f64::min), |high, low| high - low),
            charge_limit: limit(|m| m.charge_held_off, |m| m.charge_limit.map(Quantity::get)),
            discharge_limit: limit(|m| m.discharge_held_off, |m| m.discharge_limit.map(Quantity::get)),
            charge_voltage: upper(add),
            charge_voltage_cautious: upper(f64::min).map(|v| v * times),
            discharge_voltage: lower(add),
            discharge_voltage_cautious: lower(f64::max).map(|v| v * times),
            charge_permitted: every(modules.iter().map(|m| m.charge_held_off.map(|held| !held))),
            discharge_permitted: every(modules.iter().map(|m| m.discharge_held_off.map(|held| !held))),
            silent: is_silent(modules),
            open: modules.iter().any(Module::is_open),
            answers: every(modules.iter().map(|m| m.answering)),
        }
    }

    /// Ah between the first module empty and the first module full; of one module alone its present capacity, which
    /// needs no state of charge.
    fn usable(&self) -> Option<f64> {
        if self.alone { self.present } else { both(self.held, self.headroom, |held, headroom| held + headroom) }
    }

    fn is_usable(&self) -> Option<bool> {
        if self.open { Some(false) } else { self.answers }
    }
}

/// The charge of one module, Ah, and its state of charge as a share of the present capacity.
struct Charge {
    present: Option<f64>,
    held: Option<f64>,
    headroom: Option<f64>,
    soc: Option<f64>,
}

impl Charge {
    fn of(module: &Module) -> Charge {
        let capacity = module.capacity.map(Quantity::get);
        let soh = module.soh.map(|soh| soh.get() / 100.0);
        let given = module.soc.map(|soc| soc.get() / 100.0);
        let present = both(soh, capacity, |soh, capacity| soh * capacity);
        let (held, soc) = match module.soc_basis {
            SocBasis::Present => (both(given, present, |soc, present| soc * present), given),
            SocBasis::Nameplate => (
                both(given, capacity, |soc, capacity| soc * capacity),
                both(given, soh, |soc, soh| soc / soh).filter(|soc| soc.is_finite()),
            ),
        };
        // A display may round to a hair above full.
        let headroom = both(present, held, |present, held| (present - held).max(0.0));
        Charge { present, held, headroom, soc }
    }
}

fn both(a: Option<f64>, b: Option<f64>, f: impl Fn(f64, f64) -> f64) -> Option<f64> {
    Some(f(a?, b?))
}

fn add(a: f64, b: f64) -> f64 {
    a + b
}

/// A list brought together, if all of it is known and there is any.
fn folded(mut list: impl Iterator<Item = Option<f64>>, fold: fn(f64, f64) -> f64) -> Option<f64> {
    let first = list.next()??;
    list.try_fold(first, |so_far, figure| Some(fold(so_far, figure?)))
}

/// One figure of all strings.
fn known(strings: &[&Strand], of: impl Fn(&Strand) -> Option<f64>, fold: fn(f64, f64) -> f64) -> Option<f64> {
    folded(strings.iter().map(|string| of(string)), fold)
}

fn sum(strings: &[&Strand], of: impl Fn(&Strand) -> Option<f64>) -> Option<f64> {
    known(strings, of, add)
}

/// Per cent of one in the other; not known where there is nothing to share.
fn share(part: Option<f64>, whole: Option<f64>) -> Option<f64> {
    both(part, whole, |part, whole| part / whole * 100.0).filter(|share| share.is_finite())
}

fn checked<Q: Quantity>(value: Option<f64>) -> Result<Option<Q>, BankError> {
    Ok(value.map(Q::new).transpose()?)
}

fn nominal(strings: &[&Strand], energy: Option<f64>, capacity: Option<f64>) -> Option<f64> {
    let nominal = |fold: fn(f64, f64) -> f64| known(strings, |string| string.nominal, fold);
    let (low, high) = (nominal(f64::min)?, nominal(f64::max)?);
    if low == high {
        Some(low)
    } else {
        both(energy, capacity, |energy, capacity| energy / capacity).filter(|nominal| nominal.is_finite())
    }
}

/// True as soon as one is, false only when all are.
fn any(list: impl Iterator<Item = Option<bool>>) -> Option<bool> {
    let (mut there, mut known) = (false, true);
    for item in list {
        match item {
            Some(true) => return Some(true),
            Some(false) => there = true,
            None => known = false,
        }
    }
    (there && known).then_some(false)
}

/// False as soon as one is, true only when all are.
fn every(list: impl Iterator<Item = Option<bool>>) -> Option<bool> {
    any(list.map(|item| item.map(|item| !item))).map(|item| !item)
}

type TwoLimits = (Option<Amperes>, Option<Amperes>);

/// Sum and cautious bound of the strings that answer. One that holds off is off the bus: it adds nothing and does not
/// bind the others. If all hold off, the limit is 0 A.
fn limit_of(heard: &[&Strand], of: fn(&Strand) -> StringLimit) -> Result<TwoLimits, BankError> {
    let mut taking = Vec::new();
    for strand in heard {
        match of(strand) {
            StringLimit::HeldOff => {}
            StringLimit::Limit(None) => return Ok((None, None)),
            StringLimit::Limit(Some(limit)) => taking.push(Some(Amperes::new(limit)?)),
        }
    }
    match limits::in_parallel(&taking, None) {
        Ok(limit) => Ok((limit.sum, limit.safe)),
        Err(limits::LimitError::OutOfRange(error)) => Err(error.into()),
        // Nobody answers: not known. All hold off: nothing.
        Err(_) if heard.is_empty() => Ok((None, None)),
        Err(_) => Ok((Some(Amperes::of(0.0)), Some(Amperes::of(0.0)))),
    }
}

/// What is left of [`Totals::charge_limit_cautious`] without each string in turn; without any string there is nothing to charge.
pub(super) fn charge_limits_one_missing(bank: &Bank) -> Result<Vec<Option<Amperes>>, BankError> {
    let all = strands(bank);
    let without = |missing: usize| {
        let others = all.iter().enumerate().filter(|(index, strand)| *index != missing && !strand.silent);
        let left: Vec<&Strand> = others.map(|(_, strand)| strand).collect();
        if left.is_empty() { Ok(Some(Amperes::of(0.0))) } else { Ok(limit_of(&left, |strand| strand.charge_limit)?.1) }
    };
    (0..all.len()).map(without).collect()
}

/// Every reading of the strings that answer, with its place; not known unless every module gives all of its own.
fn readings<Q: Quantity>(
    bank: &Bank,
    is_heard: impl Fn(Place) -> bool,
    of: impl Fn(&Module) -> &[Option<Q>],
) -> Option<Vec<Extreme<Q>>> {
    let mut list = Vec::new();
    for (place, module) in bank.modules().filter(|(place, _)| is_heard(*place)) {
        let values = of(module);
        if values.is_empty() {
            return None;
        }
        for (index, value) in values.iter().enumerate() {
            list.push(Extreme { value: (*value)?, place, index: number(index) });
        }
    }
    Some(list)
}

/// A module is known not to answer.
fn is_silent(modules: &[Module]) -> bool {
    modules.iter().any(|module| module.answering == Some(false))
}

/// The least and the greatest where each module tells one of its cells, counted from 0; of equals the first.
pub(super) fn extremes_of_cell(bank: &Bank, cell: usize) -> (Option<Extreme<Volts>>, Option<Extreme<Volts>>) {
    let silent: Vec<bool> = bank.strings().iter().map(|modules| is_silent(modules)).collect();
    let is_heard = |place: Place| !silent[place.string as usize - 1];
    extremes(&readings(bank, is_heard, |module| module.cells.get(cell..=cell).unwrap_or_default()))
}

/// [`Totals::charge_limit_sum`] if every module answered and none held off.
pub(super) fn charge_limit_if_whole(bank: &Bank) -> Result<Option<Amperes>, BankError> {
    let of_string = |modules: &Vec<Module>| {
        let limits = modules.iter().map(|module| module.charge_limit.map(Quantity::get));
        folded(limits, f64::min)
    };
    checked(folded(bank.strings().iter().map(of_string), add))
}

/// The least and the greatest; of equals the first.
fn extremes<Q: Quantity>(list: &Option<Vec<Extreme<Q>>>) -> (Option<Extreme<Q>>, Option<Extreme<Q>>) {
    let list = list.as_deref().unwrap_or_default();
    let pick = |better: fn(f64, f64) -> bool| {
        list.iter().copied().reduce(|a, b| if better(b.value.get(), a.value.get()) { b } else { a })
    };
    (pick(|b, a| b < a), pick(|b, a| b > a))
}

/// How long a charge lasts at a current; none while the current does not flow that way.
fn hours(charge: Option<f64>, current: Option<f64>, efficiency: f64) -> Option<Hours> {
    let (charge, current) = (charge?, current?);
    if current > 0.0 { Hours::new(charge / (current * efficiency)).ok() } else { None }
}
