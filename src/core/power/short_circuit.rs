//! The current of a short circuit: like modules side by side, each behind its own resistance, then a common path.

use crate::core::because::Because;
use crate::core::units::{FaultAmperes, Ohms, Quantity, Volts};

/// A bank as a source of current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bank {
    /// Of a string: its modules' voltages added.
    pub emf: Volts,
    /// Of a string: its modules' resistances added, switch and fuse included.
    pub inner: Ohms,
    /// Strings, or single modules, side by side.
    pub parallel: u32,
    /// Both leads and joints of one string.
    pub leads: Ohms,
    /// From the bus to the fault, both ways.
    pub path: Ohms,
}

/// What may flow. In the first milliseconds an electronic switch has not opened yet, and is not counted on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prospective {
    /// A fault right at the bus.
    pub at_bus: FaultAmperes,
    /// A fault at the end of the common path.
    pub at_end: FaultAmperes,
    /// What one string gives of a fault at the bus.
    pub each: FaultAmperes,
    /// What all the others drive into a fault inside one string.
    pub into_one: FaultAmperes,
    /// The source's resistance at the bus.
    pub source: Ohms,
}

/// I = E / (R of the source + R of the path). `None` where nothing limits the current, no string is there, or the current is
/// beyond what the quantity can hold.
pub fn prospective(bank: Bank) -> Option<Prospective> {
    let (strings, emf) = (f64::from(bank.parallel), bank.emf.get().abs());
    let each = bank.inner.get() + bank.leads.get();
    if bank.parallel == 0 || each <= 0.0 {
        return None;
    }
    let amperes = |ohms: f64| FaultAmperes::new(emf / ohms).ok();
    let others = strings - 1.0;
    let into_one = if others > 0.0 { emf / (each / others + bank.leads.get()) } else { 0.0 };
    Some(Prospective {
        at_bus: amperes(each / strings)?,
        at_end: amperes(each / strings + bank.path.get())?,
        each: amperes(each)?,
        into_one: FaultAmperes::new(into_one).ok()?,
        source: Ohms::new(each / strings).ok()?,
    })
}

/// The sum in words.
pub fn sum(bank: Bank, found: Prospective) -> Vec<Because> {
    let mut sum = vec![
        Because::ShortSource { parallel: bank.parallel, inner: bank.inner, leads: bank.leads, source: found.source },
        Because::ShortAtBus { emf: bank.emf, source: found.source, current: found.at_bus },
    ];
    if bank.path.get() > 0.0 {
        sum.push(Because::ShortAtEnd { path: bank.path, current: found.at_end });
    }
    if bank.parallel > 1 {
        sum.push(Because::ShortIntoOne { current: found.into_one, each: found.each });
    }
    sum
}
