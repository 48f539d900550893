//! Sums of the bus as a network of resistors.

use crate::Sum;
use crate::read::{list, needed_quantity, number, quantity, text};
use serde_json::{Value, json};
use sixty_ohms::core::bus::line::{Break, Device, Drop, Line, Readings, Run, Short, Spot, Terminator, Wire};
use sixty_ohms::core::bus::termination::Meter;
use sixty_ohms::core::faults::bus::{BusFault, PairReading, explain};
use sixty_ohms::core::units::{Metres, Ohms, OhmsPerMetre, Percent, Quantity};

pub const SUMS: &[Sum] = &[
    Sum {
        name: "bus_reading",
        about: "What a meter reads with everything off, anywhere along a bus, healthy or broken.",
        inputs: "trunk_m, ohm_per_m_one_conductor, terminators: [{at_m or drop, ohm}]; optional nodes: [{at_m or drop, \
                 differential_ohm | each_wire_to_reference_ohm}], drops: [{at_m, length_m}], breaks: [{wire: \"H\"|\"L\"|\"both\", \
                 from_m, to_m}], shorts: [{between: \"H-L\"|\"H-ref\"|\"L-ref\", at_m, ohm}], reference_ohm_per_m, meters: [{at_m} or \
                 {drop: 1}] (one at 0 m if left out)",
        result: "readings: [{H_L_ohm, H_ref_ohm, L_ref_ohm}], null where no path exists",
        run: bus_reading,
    },
    Sum {
        name: "bus_faults",
        about: "Which faults of the bus explain the readings between the data wires.",
        inputs: "site (as bus_reading, without faults), observations: [{at_m, pair: \"H-L\", ohm (null: open), meter_percent, \
                 meter_digits_ohm}]",
        result: "faults: [{kind, where, probability}], most probable first; next: {at_m, pair, state} or null",
        run: bus_faults,
    },
];

fn spot(value: &Value) -> Result<Spot, String> {
    match number(value, "drop")? {
        Some(drop) if drop >= 1.0 && drop.fract() == 0.0 => Ok(Spot::Drop(drop as usize - 1)),
        Some(_) => Err("\"drop\" counts from 1.".into()),
        None => Ok(Spot::Trunk(needed_quantity(value, "at_m")?)),
    }
}

/// Reads the description of a bus.
pub fn line(inputs: &Value) -> Result<Line, String> {
    let length: Metres = needed_quantity(inputs, "trunk_m")?;
    let per_metre: OhmsPerMetre = needed_quantity(inputs, "ohm_per_m_one_conductor")?;
    let inside = |at: Metres, key: &str| {
        if at <= length { Ok(at) } else { Err(format!("\"{key}\": {} m lies beyond the trunk's end.", at.get())) }
    };
    let mut line = Line {
        runs: vec![Run { length, per_metre, contacts: Ohms::of(0.0) }],
        reference_per_metre: quantity(inputs, "reference_ohm_per_m")?,
        ..Line::default()
    };
    for drop in list(inputs, "drops")? {
        line.drops.push(Drop {
            at: inside(needed_quantity(drop, "at_m")?, "drops")?,
            length: needed_quantity(drop, "length_m")?,
            per_metre,
        });
    }
    let drops = line.drops.len();
    let placed = |value: &Value, key: &str| match spot(value)? {
        Spot::Trunk(at) => Ok(Spot::Trunk(inside(at, key)?)),
        Spot::Drop(index) if index < drops => Ok(Spot::Drop(index)),
        Spot::Drop(index) => Err(format!("\"{key}\": there is no drop {}.", index + 1)),
    };
    for terminator in list(inputs, "terminators")? {
        line.terminators
            .push(Terminator { at: placed(terminator, "terminators")?, ohms: needed_quantity(terminator, "ohm")? });
    }
    for node in list(inputs, "nodes")? {
        let each: Option<Ohms> = quantity(node, "each_wire_to_reference_ohm")?;
        line.devices.push(Device {
            at: placed(node, "nodes")?,
            between_wires: quantity(node, "differential_ohm")?,
            high_to_reference: each,
            low_to_reference: each,
        });
    }
    for gap in list(inputs, "breaks")? {
        let from = inside(needed_quantity(gap, "from_m")?, "breaks")?;
        let to = inside(needed_quantity(gap, "to_m")?, "breaks")?;
        if to <= from {
            return Err("\"breaks\": from_m must be less than to_m.".into());
        }
        let wires: &[Wire] = match text(gap, "wire")? {
            "H" => &[Wire::High],
            "L" => &[Wire::Low],
            "both" => &[Wire::High, Wire::Low],
            "ref" => &[Wire::Reference],
            other => return Err(format!("\"wire\" cannot be \"{other}\": H, L, both or ref.")),
        };
        line.breaks.extend(wires.iter().map(|wire| Break { wire: *wire, from, to }));
    }
    for short in list(inputs, "shorts")? {
        let between = match text(short, "between")? {
            "H-L" => (Wire::High, Wire::Low),
            "H-ref" => (Wire::High, Wire::Reference),
            "L-ref" => (Wire::Low, Wire::Reference),
            other => return Err(format!("\"between\" cannot be \"{other}\": H-L, H-ref or L-ref.")),
        };
        line.shorts.push(Short {
            between,
            at: inside(needed_quantity(short, "at_m")?, "shorts")?,
            ohms: quantity(short, "ohm")?.unwrap_or(Ohms::of(0.0)),
        });
    }
    Ok(line)
}

fn bus_reading(inputs: &Value) -> Result<Value, String> {
    let line = line(inputs)?;
    let meters = list(inputs, "meters")?;
    let spots: Vec<Spot> = if meters.is_empty() {
        vec![Spot::Trunk(Metres::of(0.0))]
    } else {
        meters.iter().map(spot).collect::<Result<_, _>>()?
    };
    for spot in &spots {
        match spot {
            Spot::Trunk(at) if *at > line.length() => {
                return Err("\"meters\": a meter lies beyond the trunk's end.".into());
            }
            Spot::Drop(index) if *index >= line.drops.len() => {
                return Err(format!("\"meters\": there is no drop {}.", index + 1));
            }
            _ => {}
        }
    }
    let ohm = |ohms: Option<Ohms>| ohms.map(Quantity::get);
    let readings: Vec<Value> = line
        .readings(&spots)
        .into_iter()
        .map(|Readings { pair, high_to_reference, low_to_reference }| {
            json!({ "H_L_ohm": ohm(pair), "H_ref_ohm": ohm(high_to_reference), "L_ref_ohm": ohm(low_to_reference) })
        })
        .collect();
    Ok(json!({ "readings": readings }))
}

fn bus_faults(inputs: &Value) -> Result<Value, String> {
    let line = line(inputs.get("site").ok_or("\"site\" is missing.")?)?;
    let mut readings = Vec::new();
    for seen in list(inputs, "observations")? {
        let share: Percent = quantity(seen, "meter_percent")?.unwrap_or(Meter::USUAL.share);
        // The key gives the whole digits part in ohms: one "digit" of that size.
        let digit = number(seen, "meter_digits_ohm")?.unwrap_or(0.2).max(0.0);
        if seen.get("pair").is_some_and(|pair| pair != "H-L") {
            return Err("\"pair\": only H-L is weighed here.".into());
        }
        readings.push(PairReading {
            at: Spot::Trunk(needed_quantity(seen, "at_m")?),
            ohms: quantity(seen, "ohm")?,
            digit,
            meter: Meter { share, digits: 1 },
        });
    }
    let ranked = explain(&line, &readings);
    let end = line.length();
    let faults: Vec<Value> = ranked
        .iter()
        .map(|ranked| {
            let (kind, place) = describe(&line, ranked.fault);
            json!({ "kind": kind, "where": place, "probability": ranked.probability })
        })
        .collect();
    let unseen = [Metres::of(0.0), end].into_iter().find(|at| !readings.iter().any(|seen| seen.at == Spot::Trunk(*at)));
    let next = unseen.map(|at| json!({ "at_m": at.get(), "pair": "H-L", "state": "all plugged, everything off" }));
    Ok(json!({ "faults": faults, "next": next }))
}

fn describe(line: &Line, fault: BusFault) -> (&'static str, Value) {
    let run = |index: usize| {
        let from = line.runs.iter().take(index).fold(0.0, |sum, run| sum + run.length.get());
        json!({ "from_m": from, "to_m": from + line.runs[index].length.get() })
    };
    match fault {
        BusFault::Nothing => ("healthy", Value::Null),
        BusFault::TerminatorMissing { terminator } => {
            let at = match line.terminators[terminator].at {
                Spot::Trunk(at) => json!({ "at_m": at.get() }),
                Spot::Drop(index) => json!({ "drop": index + 1 }),
            };
            ("terminator_missing", at)
        }
        BusFault::AllTerminatorsMissing => ("all_terminators_missing", Value::Null),
        BusFault::TerminatorExtra => ("terminator_extra", Value::Null),
        BusFault::TwoTerminatorsExtra => ("two_terminators_extra", Value::Null),
        BusFault::WireOpen { wire: Wire::High, run: index } => ("H_open", run(index)),
        BusFault::WireOpen { run: index, .. } => ("L_open", run(index)),
        BusFault::WiresTouch { run: index } => ("H_L_short", run(index)),
    }
}
