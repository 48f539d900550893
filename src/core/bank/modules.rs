//! A bank as its modules report it: strings of modules in series, strings side by side.
//!
//! Parallel modules are strings of one; a single series string is a bank of one string. Whatever is not known is `None`,
//! and stays so in every sum that needs it.

use crate::core::site::MOST_MODULES;
use crate::core::units::{AmpereHours, Amperes, Celsius, OutOfRange, Percent, Volts};
use std::fmt;

/// What 100 % of a state of charge means. RV-C 6.5.3 takes the nameplate, 6.5.12 the present capacity: the document
/// contradicts itself, so a figure must come with its basis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SocBasis {
    /// The capacity that the module still has.
    #[default]
    Present,
    /// The capacity it was sold with.
    Nameplate,
}

/// One module as it is known: its plate, and what it last reported.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Module {
    /// Nameplate capacity.
    pub capacity: Option<AmpereHours>,
    pub nominal: Option<Volts>,
    /// Cells one after the other.
    pub series_cells: Option<u32>,
    /// Present capacity as a share of the nameplate.
    pub soh: Option<Percent>,
    pub soc: Option<Percent>,
    pub soc_basis: SocBasis,
    pub voltage: Option<Volts>,
    /// Positive is out of the module.
    pub current: Option<Amperes>,
    /// The greatest current it takes in; a magnitude.
    pub charge_limit: Option<Amperes>,
    /// The greatest current it gives; a magnitude.
    pub discharge_limit: Option<Amperes>,
    pub charge_voltage_limit: Option<Volts>,
    pub discharge_voltage_limit: Option<Volts>,
    /// Voltage of each cell, from the negative pole. Empty: no cell is known.
    pub cells: Vec<Option<Volts>>,
    /// Each temperature sensor. Empty: none is known.
    pub temperatures: Vec<Option<Celsius>>,
    /// Does it answer on the bus?
    pub answering: Option<bool>,
    pub charge_held_off: Option<bool>,
    pub discharge_held_off: Option<bool>,
}

impl Module {
    /// Has the module opened its switch: off the power bus both ways? Only what it says counts.
    pub fn is_open(&self) -> bool {
        self.charge_held_off == Some(true) && self.discharge_held_off == Some(true)
    }
}

/// Where a module sits. Both count from 1, as SunSpec 802 and 803 do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    pub string: u32,
    /// Within its string.
    pub module: u32,
}

/// Why there is no bank, or no figure for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BankError {
    NoModules,
    /// The string with this number, from 1, has no module.
    EmptyString {
        string: u32,
    },
    TooManyModules {
        count: usize,
    },
    /// A total lies beyond what its quantity may be.
    OutOfRange(OutOfRange),
}

impl fmt::Display for BankError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            BankError::NoModules => write!(f, "A bank needs at least one module"),
            BankError::EmptyString { string } => write!(f, "String {string} has no module"),
            BankError::TooManyModules { count } => {
                write!(f, "{count} modules are more than the {MOST_MODULES} that one bank may have")
            }
            BankError::OutOfRange(error) => write!(f, "The bank as a whole is beyond the range: {error}"),
        }
    }
}

impl std::error::Error for BankError {}

impl From<OutOfRange> for BankError {
    fn from(error: OutOfRange) -> Self {
        BankError::OutOfRange(error)
    }
}

/// A bank of 1 to 64 modules, no string empty. The modules need not be alike, nor the strings equally long.
#[derive(Clone, Debug, PartialEq)]
pub struct Bank {
    strings: Vec<Vec<Module>>,
}

impl Bank {
    /// Modules side by side.
    pub fn parallel(modules: Vec<Module>) -> Result<Bank, BankError> {
        Bank::new(modules.into_iter().map(|module| vec![module]).collect())
    }

    /// Modules one after the other.
    pub fn series(modules: Vec<Module>) -> Result<Bank, BankError> {
        if modules.is_empty() { Err(BankError::NoModules) } else { Bank::new(vec![modules]) }
    }

    /// Strings side by side, each of modules one after the other.
    pub fn new(strings: Vec<Vec<Module>>) -> Result<Bank, BankError> {
        let count = strings.iter().map(Vec::len).sum::<usize>();
        if strings.is_empty() {
            Err(BankError::NoModules)
        } else if let Some(empty) = strings.iter().position(Vec::is_empty) {
            Err(BankError::EmptyString { string: number(empty) })
        } else if count > MOST_MODULES as usize {
            Err(BankError::TooManyModules { count })
        } else {
            Ok(Bank { strings })
        }
    }

    pub fn strings(&self) -> &[Vec<Module>] {
        &self.strings
    }

    /// How many modules it has.
    pub fn count(&self) -> u32 {
        // At most 64 by construction.
        self.strings.iter().map(Vec::len).sum::<usize>() as u32
    }

    /// Every module with its place, string by string.
    pub fn modules(&self) -> impl Iterator<Item = (Place, &Module)> {
        self.strings.iter().enumerate().flat_map(|(string, modules)| {
            modules.iter().enumerate().map(move |(module, figures)| (place(string, module), figures))
        })
    }

    /// The same bank with every module changed.
    pub fn each(&self, change: impl Fn(&mut Module)) -> Bank {
        let mut bank = self.clone();
        bank.strings.iter_mut().flatten().for_each(change);
        bank
    }

    /// The same bank with one module changed; unchanged when there is no such place.
    pub fn with(&self, at: Place, change: impl Fn(&mut Module)) -> Bank {
        let mut bank = self.clone();
        for (string, modules) in bank.strings.iter_mut().enumerate() {
            for (module, figures) in modules.iter_mut().enumerate() {
                if place(string, module) == at {
                    change(figures);
                }
            }
        }
        bank
    }
}

/// The place for two indices that count from 0.
fn place(string: usize, module: usize) -> Place {
    Place { string: number(string), module: number(module) }
}

/// An index from 0 as people count. Indices stay far below the type's end: a bank has at most 64 modules.
pub(super) fn number(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX - 1) + 1
}
