//! What a bank must show: every total with its basis, from one plate and what each module says.

use super::stop;
use crate::core::bank::asks::{CELL_NOMINAL, MayAsk, may_ask};
use crate::core::bank::modules::{Bank, BankError, Module, Place, SocBasis};
use crate::core::bank::total::{Asked, SocMeaning, Totals, extremes_of_cell, total};
use crate::core::because::Because;
use crate::core::units::{AmpereHours, Amperes, Celsius, Count, Figure, Percent, Quantity, Volts};

/// How the modules sit: strings of `series` modules, `parallel` of them side by side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Series {
    pub series: u32,
    pub parallel: u32,
}

/// One module's figures, from its plate and its papers: alike for all.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Plate {
    pub capacity: Option<AmpereHours>,
    /// Left out, 3.2 V for each cell (Linden, from memory).
    pub nominal: Option<Volts>,
    /// Cells one after the other.
    pub cells: Option<u32>,
    pub soh: Option<Percent>,
    pub charge_limit: Option<Amperes>,
    pub discharge_limit: Option<Amperes>,
    pub charge_voltage_limit: Option<Volts>,
    pub discharge_voltage_limit: Option<Volts>,
    pub soc_basis: SocBasis,
}

/// What one module says now. Whatever is left out is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Said {
    pub soc: Option<Percent>,
    pub voltage: Option<Volts>,
    /// Positive is out of the module.
    pub current: Option<Amperes>,
    pub lowest_cell: Option<Volts>,
    pub highest_cell: Option<Volts>,
    pub temperature: Option<Celsius>,
    pub answering: Option<bool>,
    pub charge_held_off: Option<bool>,
    pub discharge_held_off: Option<bool>,
}

/// The bank; modules that nobody spoke of say nothing.
pub fn bank_of(how: Series, plate: &Plate, said: &[Said]) -> Result<Bank, BankError> {
    of_each(how, |index| (*plate, said.get(index as usize).copied().unwrap_or_default()))
}

/// The bank of modules each with a plate of its own, asked for by index from 0, string by string.
pub fn of_each(how: Series, each: impl Fn(u32) -> (Plate, Said)) -> Result<Bank, BankError> {
    let count = how.series.saturating_mul(how.parallel);
    // Refused before it is built: someone may have typed ten thousand.
    if count > crate::core::site::MOST_MODULES {
        return Err(BankError::TooManyModules { count: count as usize });
    }
    if count == 0 {
        return Err(BankError::NoModules);
    }
    let made = |index| {
        let (plate, said) = each(index);
        module(&plate, &said)
    };
    let modules: Vec<Module> = (0..count).map(made).collect();
    Bank::new(modules.chunks(how.series as usize).map(<[Module]>::to_vec).collect())
}

/// The bank when every module says the same.
pub fn of_alike(how: Series, plate: &Plate, said: Said) -> Result<Bank, BankError> {
    of_each(how, |_| (*plate, said))
}

fn module(plate: &Plate, said: &Said) -> Module {
    Module {
        capacity: plate.capacity,
        nominal: plate.nominal.or_else(|| {
            let cells = f64::from(plate.cells?);
            Volts::new(cells * CELL_NOMINAL.get()).ok()
        }),
        series_cells: plate.cells,
        soh: plate.soh,
        soc: said.soc,
        soc_basis: plate.soc_basis,
        voltage: said.voltage,
        current: said.current,
        charge_limit: plate.charge_limit,
        discharge_limit: plate.discharge_limit,
        charge_voltage_limit: plate.charge_voltage_limit,
        discharge_voltage_limit: plate.discharge_voltage_limit,
        // Lowest and highest: see `extremes`.
        cells: vec![said.lowest_cell, said.highest_cell],
        temperatures: vec![said.temperature],
        answering: said.answering,
        charge_held_off: said.charge_held_off,
        discharge_held_off: said.discharge_held_off,
    }
}

/// Which figures stand together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    Capacity,
    Charge,
    Live,
    Extremes,
    Limits,
    Time,
}

impl Group {
    pub const ALL: [Group; 6] =
        [Group::Capacity, Group::Charge, Group::Live, Group::Extremes, Group::Limits, Group::Time];

    /// The key of its name.
    pub fn key(self) -> &'static str {
        match self {
            Group::Capacity => "group-capacity",
            Group::Charge => "group-charge",
            Group::Live => "group-live",
            Group::Extremes => "group-extremes",
            Group::Limits => "group-limits",
            Group::Time => "group-time",
        }
    }
}

/// One figure that the bank must show.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    pub group: Group,
    /// The key of its name.
    pub name: &'static str,
    /// `None`: not known.
    pub figure: Option<Figure>,
    /// What it rests on.
    pub basis: Because,
}

impl Line {
    /// Keys of all names, in their order.
    pub const NAMES: [&'static str; 32] = [
        "total-capacity",
        "total-energy",
        "total-present",
        "total-soh",
        "total-soh-cautious",
        "total-soc-weighted",
        "total-soc-usable",
        "total-soc-cautious",
        "total-soc-nameplate",
        "total-held",
        "total-room",
        "total-voltage",
        "total-voltage-spread",
        "total-current",
        "total-current-spread",
        "total-power",
        "total-answering",
        "total-lowest-cell",
        "total-highest-cell",
        "total-cell-spread",
        "total-coldest",
        "total-hottest",
        "total-charge-limit",
        "total-charge-limit-shared",
        "total-charge-limit-missing",
        "total-discharge-limit",
        "total-discharge-limit-shared",
        "total-charge-voltage",
        "total-charge-voltage-cautious",
        "total-discharge-voltage",
        "total-to-floor",
        "total-to-full",
    ];
}

/// The names of the figures that matter most.
pub const HEADLINE: [&str; 5] =
    ["total-capacity", "total-held", "total-soc-weighted", "total-soc-usable", "total-voltage"];

/// All that the bank must show.
#[derive(Clone, Debug, PartialEq)]
pub struct Numbers {
    pub lines: Vec<Line>,
    /// Who is silent, who holds off.
    pub notes: Vec<Because>,
    pub sources: Vec<&'static str>,
}

/// Brings the bank together and says what each figure rests on.
pub fn must_show(bank: &Bank) -> Result<Numbers, BankError> {
    let totals = total(bank, Asked::default())?;
    Ok(numbers(bank, &totals, &may_ask(bank, &totals)?))
}

/// [`must_show`] of a bank whose totals and bounds are known.
pub(super) fn numbers(bank: &Bank, totals: &Totals, may: &MayAsk) -> Numbers {
    let totals = with_told_cells(bank, totals);
    Numbers {
        lines: lines(bank, &totals, may),
        notes: notes(bank, &totals, may),
        sources: vec!["charge-conservation", "sunspec-802", "rv-c", "aalborg-2019", "practice"],
    }
}

/// A module gives its lowest and its highest cell; the bank's lowest needs every lowest, but no highest.
fn with_told_cells(bank: &Bank, totals: &Totals) -> Totals {
    let (lowest_cell, _) = extremes_of_cell(bank, 0);
    let (_, highest_cell) = extremes_of_cell(bank, 1);
    let cell_spread = match (lowest_cell, highest_cell) {
        (Some(low), Some(high)) => Volts::new(high.value.get() - low.value.get()).ok(),
        _ => None,
    };
    Totals { lowest_cell, highest_cell, cell_spread, ..totals.clone() }
}

/// The number of a module, counted through string by string.
fn number_of(bank: &Bank, place: Place) -> usize {
    bank.modules().position(|(other, _)| other == place).map_or(1, |index| index + 1)
}

fn lines(bank: &Bank, totals: &Totals, may: &MayAsk) -> Vec<Line> {
    let strings = bank.strings();
    let several = strings.len() > 1;
    let in_series = strings.iter().any(|string| string.len() > 1);
    let mut list = Vec::new();
    let mut add = |group, name, figure: Option<Figure>, basis| list.push(Line { group, name, figure, basis });
    fn of<Q: Quantity>(quantity: Option<Q>) -> Option<Figure> {
        quantity.map(Into::into)
    }

    let nameplate = if in_series { Because::BasisLeastInString {} } else { Because::BasisNameplate {} };
    add(Group::Capacity, "total-capacity", of(totals.capacity), nameplate);
    add(Group::Capacity, "total-energy", of(totals.energy), Because::BasisEnergy {});
    add(Group::Capacity, "total-present", of(totals.present_capacity), Because::BasisPresent {});
    add(Group::Capacity, "total-soh", of(totals.soh), Because::BasisHealth {});
    add(Group::Capacity, "total-soh-cautious", of(totals.soh_cautious), Because::BasisHealthCautious {});

    let (soc, basis) = match totals.soc_meaning {
        SocMeaning::Weighted => ("total-soc-weighted", Because::BasisSocWeighted {}),
        SocMeaning::Usable => ("total-soc-usable", Because::BasisSocUsable {}),
    };
    add(Group::Charge, soc, of(totals.soc), basis);
    add(Group::Charge, "total-soc-cautious", of(totals.soc_cautious), Because::BasisSocCautious {});
    add(Group::Charge, "total-soc-nameplate", of(totals.soc_of_nameplate), Because::BasisSocNameplate {});
    add(Group::Charge, "total-held", of(totals.charge_held), Because::BasisHeld {});
    add(Group::Charge, "total-room", of(totals.headroom), Because::BasisRoom {});

    let voltage = if in_series { Because::BasisVoltageSum {} } else { Because::BasisVoltageMean {} };
    add(Group::Live, "total-voltage", of(totals.voltage), voltage);
    if several {
        add(Group::Live, "total-voltage-spread", of(totals.voltage_spread), Because::BasisSpread {});
    }
    add(Group::Live, "total-current", of(totals.current), Because::BasisCurrent {});
    if in_series {
        add(Group::Live, "total-current-spread", of(totals.current_spread), Because::BasisSpread {});
    }
    add(Group::Live, "total-power", of(totals.power), Because::BasisPower {});
    let answering = totals.answering.and_then(|count| Count::new(f64::from(count)).ok());
    let expected = totals.expected;
    let said = Because::BasisAnswering { answering: totals.answering.unwrap_or(expected), expected };
    add(Group::Live, "total-answering", of(answering), said);

    let where_is = |place: Option<Place>| Because::BasisWhere { at: stop(place.map_or(1, |at| number_of(bank, at))) };
    let cell =
        |cell: Option<crate::core::bank::total::Extreme<Volts>>| (of(cell.map(|c| c.value)), cell.map(|c| c.place));
    let (low, high) = (cell(totals.lowest_cell), cell(totals.highest_cell));
    add(Group::Extremes, "total-lowest-cell", low.0, where_is(low.1));
    add(Group::Extremes, "total-highest-cell", high.0, where_is(high.1));
    add(Group::Extremes, "total-cell-spread", of(totals.cell_spread), Because::BasisCellSpread {});
    let (cold, hot) = (totals.coldest, totals.hottest);
    add(Group::Extremes, "total-coldest", of(cold.map(|t| t.value)), where_is(cold.map(|t| t.place)));
    add(Group::Extremes, "total-hottest", of(hot.map(|t| t.value)), where_is(hot.map(|t| t.place)));

    let limits = [
        ("total-charge-limit", totals.charge_limit_sum, Because::BasisLimitSum {}),
        ("total-charge-limit-shared", totals.charge_limit_cautious, Because::BasisLimitShared {}),
        ("total-charge-limit-missing", may.current_one_missing, Because::BasisLimitMissing {}),
        ("total-discharge-limit", totals.discharge_limit_sum, Because::BasisLimitSum {}),
        ("total-discharge-limit-shared", totals.discharge_limit_cautious, Because::BasisLimitShared {}),
    ];
    for (name, limit, basis) in limits {
        add(Group::Limits, name, of(limit), basis);
    }
    let voltages = [
        ("total-charge-voltage", totals.charge_voltage_limit, Because::BasisVoltageLimit {}),
        (
            "total-charge-voltage-cautious",
            totals.charge_voltage_limit_cautious.filter(|_| in_series),
            Because::BasisVoltageLimitCautious {},
        ),
        ("total-discharge-voltage", totals.discharge_voltage_limit, Because::BasisVoltageLimit {}),
    ];
    for (name, limit, basis) in voltages {
        if in_series || !matches!(basis, Because::BasisVoltageLimitCautious {}) {
            add(Group::Limits, name, of(limit), basis);
        }
    }
    // No line where no current flows that way: such a time is not unknown, there is none.
    let flows = totals.current.map(Quantity::get);
    if flows.is_none_or(|current| current > 0.0) {
        add(Group::Time, "total-to-floor", of(totals.to_floor), Because::BasisToFloor {});
    }
    if flows.is_none_or(|current| current < 0.0) {
        add(Group::Time, "total-to-full", of(totals.to_full), Because::BasisToFull {});
    }
    list
}

fn notes(bank: &Bank, totals: &Totals, may: &MayAsk) -> Vec<Because> {
    let who = |places: &[Place]| {
        let numbers: Vec<String> = places.iter().map(|place| number_of(bank, *place).to_string()).collect();
        (u32::try_from(numbers.len()).unwrap_or(u32::MAX), numbers.join(", "))
    };
    let mut notes = Vec::new();
    if let Some((least, most)) = may.cells.filter(|(least, most)| least != most) {
        notes.push(Because::StringsUnlikeCells { least, most });
    }
    if !totals.silent.is_empty() {
        let (count, who) = who(&totals.silent);
        notes.push(Because::StringsNotJudged { count, who });
    }
    if !totals.charge_held_off_by.is_empty() {
        let (count, who) = who(&totals.charge_held_off_by);
        notes.push(Because::ChargeHeldOffBy { count, who });
    }
    if !totals.discharge_held_off_by.is_empty() {
        let (count, who) = who(&totals.discharge_held_off_by);
        notes.push(Because::DischargeHeldOffBy { count, who });
    }
    notes
}
