//! What a bank asks of its chargers, and what it may ask.

use super::{asked, bank, figure, magnitude, object, place, said};
use crate::read::quantity;
use serde_json::{Value, json};
use sixty_ohms::core::bank::asks::{may_ask, time_to_full};
use sixty_ohms::core::bank::findings::asks::{Asks, asks};
use sixty_ohms::core::bank::total::total;

pub fn charge_asked(inputs: &Value) -> Result<Value, String> {
    let described = object(inputs.get("bank").ok_or("\"bank\" is missing.")?, "bank")?;
    let bank = bank(described)?;
    let basis = asked(described)?;
    let wanted = Asks {
        voltage: quantity(inputs, "asked_V")?,
        current: magnitude(inputs, "asked_A")?,
        coldest_charge: quantity(inputs, "coldest_charge_C")?,
        hottest_charge: quantity(inputs, "hottest_charge_C")?,
    };
    let totals = total(&bank, basis).map_err(said)?;
    let may = may_ask(&bank, &totals).map_err(said)?;
    let efficiency = basis.efficiency.map_or(1.0, |share| f64::from(share) / 100.0);
    let judged = asks(&bank, &wanted).map_err(said)?;
    let because = judged.iter().flat_map(|judged| [&judged.because].into_iter().chain(&judged.also));
    Ok(json!({
        "verdict": judged.as_ref().map(|judged| judged.verdict.key()),
        "because": because.map(|because| because.key()).collect::<Vec<_>>(),
        "sum_A": figure(may.current),
        "shared_A": figure(may.current_shared),
        "if_whole_A": figure(may.current_if_whole),
        "one_missing_A": figure(may.current_one_missing),
        "missing": may.missing.map(|at| place(&bank, at)),
        "sum_V": figure(may.voltage),
        "weakest_V": figure(may.voltage_shared),
        "cells": may.cells.map(|(least, most)| [least, most]),
        "hours_to_full": figure(totals.to_full),
        "hours_to_full_as_asked": figure(wanted.current.and_then(|current| time_to_full(&totals, current, efficiency))),
    }))
}
