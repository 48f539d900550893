//! Sums of modules side by side as a circuit.

use super::{figure, quantities, said, whole};
use crate::read::{quantity, text};
use serde_json::{Value, json};
use sixty_ohms::core::bank::odd::{Share, odd_branch};
use sixty_ohms::core::bank::sharing::{Branch, Circuit, Wiring};
use sixty_ohms::core::units::{Amperes, Ohms, Quantity, Volts};

/// The circuit described, or `None` where a part of it is not known.
fn circuit(inputs: &Value) -> Result<Option<Circuit>, String> {
    let emf: Vec<Option<Volts>> = quantities(inputs, "emf_V")?;
    let count = emf.len();
    let each = |key: &str| -> Result<Vec<Option<Ohms>>, String> {
        let ohms = quantities::<Ohms>(inputs, key)?;
        if ohms.len() == count {
            return Ok(ohms);
        }
        if inputs.get(key).is_none_or(Value::is_null) {
            return Ok(vec![None; count]);
        }
        Err(format!("\"{key}\" must hold one resistance for each of the {count} modules."))
    };
    let (inner, leads) = (each("module_resistance_ohm")?, each("own_lead_resistance_both_poles_ohm")?);
    let wiring = match text(inputs, "wiring")? {
        "same_end" => Wiring::SameEnd,
        "diagonal" => Wiring::Diagonal,
        "middle" => Wiring::Middle,
        "busbar" => Wiring::Busbar,
        other => return Err(format!("\"wiring\" cannot be \"{other}\": same_end, diagonal, middle or busbar.")),
    };
    let between = count.saturating_sub(1);
    let links = |own: &str| -> Result<Vec<Option<Ohms>>, String> {
        let given = |key: &str| inputs.get(key).is_some_and(|value| !value.is_null());
        let key = if given(own) { own } else { "link_resistance_each_polarity_ohm" };
        let links = quantities(inputs, key)?;
        match (given(key), wiring) {
            (false, Wiring::Busbar) => Ok(vec![Some(Ohms::of(0.0)); between]),
            (false, _) => Ok(vec![None; between]),
            (true, Wiring::Busbar) if links.is_empty() => Ok(vec![Some(Ohms::of(0.0)); between]),
            (true, _) => Ok(links),
        }
    };
    let (positive, negative) = (links("positive_link_resistance_ohm")?, links("negative_link_resistance_ohm")?);
    if positive.len() != negative.len() {
        return Err("There must be as many positive as negative links.".into());
    }
    let (first, second) = wiring.taps(u32::try_from(count).unwrap_or(u32::MAX));
    let taps = (
        whole(inputs, "positive_tap_module")?.unwrap_or(first),
        whole(inputs, "negative_tap_module")?.unwrap_or(second),
    );
    let mut branches = Vec::new();
    for ((emf, inner), leads) in emf.into_iter().zip(inner).zip(leads) {
        let (Some(emf), Some(inner), Some(leads)) = (emf, inner, leads) else { return Ok(None) };
        branches.push(Branch { emf, inner, leads });
    }
    let mut pairs = Vec::new();
    for pair in positive.into_iter().zip(negative) {
        let (Some(positive), Some(negative)) = pair else { return Ok(None) };
        pairs.push((positive, negative));
    }
    Circuit::new(branches, pairs, taps).map(Some).map_err(said)
}

pub fn sharing(inputs: &Value) -> Result<Value, String> {
    let load: Option<Amperes> = quantity(inputs, "load_current_A")?;
    let (Some(circuit), Some(load)) = (circuit(inputs)?, load) else {
        return Ok(json!({
            "module_current_A": null, "tap_voltage_V": null, "largest_over_mean": null, "smallest_over_mean": null,
            "module_voltage_V": null,
        }));
    };
    let shared = circuit.share(load).map_err(said)?;
    Ok(json!({
        "module_current_A": shared.currents.iter().map(|current| current.get()).collect::<Vec<_>>(),
        "tap_voltage_V": shared.tap.get(),
        "largest_over_mean": figure(shared.largest_over_mean),
        "smallest_over_mean": figure(shared.smallest_over_mean),
        "module_voltage_V": shared.posts.iter().map(|volts| volts.get()).collect::<Vec<_>>(),
    }))
}

pub fn sharing_odd(inputs: &Value) -> Result<Value, String> {
    let measured: Option<Vec<Amperes>> = quantities(inputs, "module_current_A")?.into_iter().collect();
    let (Some(circuit), Some(measured)) = (circuit(inputs)?, measured) else {
        return Ok(json!({ "suspect_module": null, "modules": null }));
    };
    let found = odd_branch(&circuit, &measured, quantity(inputs, "tap_voltage_V")?).map_err(said)?;
    let modules: Vec<Value> = found
        .branches
        .iter()
        .map(|branch| {
            let share = match branch.share {
                Share::Good => "good",
                Share::Uneven => "uneven",
                Share::Odd => "odd",
            };
            json!({
                "should_be_A": branch.should_be.get(),
                "off": branch.off.get(),
                "share": share,
                "resistance_ohm": figure(branch.resistance),
            })
        })
        .collect();
    Ok(json!({ "suspect_module": found.suspect, "modules": modules }))
}
