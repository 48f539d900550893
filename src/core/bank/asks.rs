//! What a bank may ask of its chargers: the current and the voltage that its modules allow together, with one of them
//! missing, and the time that a current takes to fill it.

use super::modules::{Bank, BankError, Place};
use super::total::{Totals, charge_limit_if_whole, charge_limits_one_missing};
use crate::core::units::{Amperes, Hours, Quantity, Volts};

/// The highest voltage of a cell while charging (BPX example cell; Linden, from memory).
pub const CELL_MOST: Volts = Volts::of(3.65);
/// Below this a cell is neither filled nor balanced (common practice, no source: 3.40 to 3.45 V).
pub const CELL_FILLS: Volts = Volts::of(3.40);
/// Nominal voltage of a cell (Linden, from memory).
pub const CELL_NOMINAL: Volts = Volts::of(3.2);

/// The bounds of a charger's settings. `None` is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MayAsk {
    /// All limits of the strings that answer and take charge: never more than this.
    pub current: Option<Amperes>,
    /// Strings × least limit: right while the sharing is not known.
    pub current_shared: Option<Amperes>,
    /// The sum as if every module answered and took charge.
    pub current_if_whole: Option<Amperes>,
    /// What is left of `current_shared` once any one module is missing: the least over all modules.
    pub current_one_missing: Option<Amperes>,
    /// The module whose absence leaves that least.
    pub missing: Option<Place>,
    /// Sum of the modules' limits in a string; of strings the least.
    pub voltage: Option<Volts>,
    /// Modules × least limit.
    pub voltage_shared: Option<Volts>,
    /// Cells one after the other in the shortest and in the longest string.
    pub cells: Option<(u32, u32)>,
}

/// Cells in series of each string; none unless every module says its own or its nominal voltage.
fn cells(bank: &Bank) -> Option<(u32, u32)> {
    let of_string = |string: &Vec<super::modules::Module>| -> Option<u32> {
        string
            .iter()
            .map(|module| {
                module.series_cells.or_else(|| {
                    let cells = module.nominal?.get() / CELL_NOMINAL.get();
                    // A plate says 12 V or 13 V for four cells: what is far from a whole number is not guessed at.
                    let whole = cells.round();
                    (whole >= 1.0 && (cells - whole).abs() < 0.3).then_some(whole as u32)
                })
            })
            .sum()
    };
    let all = bank.strings().iter().map(of_string).collect::<Option<Vec<u32>>>()?;
    Some((all.iter().copied().min()?, all.iter().copied().max()?))
}

/// The bounds of a bank whose totals are known.
pub fn may_ask(bank: &Bank, totals: &Totals) -> Result<MayAsk, BankError> {
    let mut one_missing: Option<(Amperes, Place)> = None;
    let mut all_known = true;
    // A string is missing with any of its modules: the first stands for all.
    let mut places: Vec<Place> = bank.modules().map(|(place, _)| place).collect();
    places.dedup_by_key(|place| place.string);
    for (place, left) in places.into_iter().zip(charge_limits_one_missing(bank)?) {
        match left {
            Some(limit) if one_missing.is_none_or(|(least, _)| limit < least) => one_missing = Some((limit, place)),
            Some(_) => {}
            None => all_known = false,
        }
    }
    let one_missing = one_missing.filter(|_| all_known);
    Ok(MayAsk {
        current: totals.charge_limit_sum,
        current_shared: totals.charge_limit_cautious,
        current_if_whole: charge_limit_if_whole(bank)?,
        current_one_missing: one_missing.map(|(limit, _)| limit),
        missing: one_missing.map(|(_, place)| place),
        voltage: totals.charge_voltage_limit,
        voltage_shared: totals.charge_voltage_limit_cautious,
        cells: cells(bank),
    })
}

/// How long a current takes to fill what it can reach of the bank, without the taper at the end; none while nothing flows in.
pub fn time_to_full(totals: &Totals, current: Amperes, efficiency: f64) -> Option<Hours> {
    let room = totals.usable_headroom?.get();
    if current.get() > 0.0 { Hours::new(room / (current.get() * efficiency)).ok() } else { None }
}
