//! Sums of the bus as a network of resistors.

use crate::Sum;
use crate::read::{list, needed_quantity, number, quantity, text};
use serde_json::{Value, json};
use sixty_ohms::core::bus::line::{Break, Device, Drop, Line, Readings, Run, Short, Spot, Terminator, Wire};
use sixty_ohms::core::bus::termination::Meter;
use sixty_ohms::core::faults::bus::next::next;
use sixty_ohms::core::faults::bus::prior::WRONG_VALUES;
use sixty_ohms::core::faults::bus::{Along, BusFault, OtherCheck, Pair, Place, Reading, Side, State, explain, stop_at};
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
        about: "Which faults of the bus explain the readings, and which reading would tell most next. The trunk is cut into runs \
                at every terminator, node and drop; a fault is named by the run or the place it is at.",
        inputs: "site (as bus_reading, without faults; what its nodes read is not used, only where they are), observations: [{at_m or \
                 drop, pair: \"H-L\"|\"H-ref\"|\"L-ref\" (H-L if left out), ohm (null: open), meter_percent, meter_digits_ohm (the whole part \
                 in ohms), state}]; state: null or \"all plugged, everything off\", {plug_pulled_at_m, towards: \"start\"|\"end\"}, \
                 {terminator_pulled: 1}, {bridged_at: \"start\"|\"end\"}",
        result: "faults: [{kind, where, probability, no_resistance_test: null or the check that shows it}], most probable first; \
                 kind: healthy, terminator_missing, all_terminators_missing, terminator_extra, two_terminators_extra, \
                 terminator_value, terminator_misplaced, H_open, L_open, both_open, reference_open, H_L_short, H_ref_short, \
                 L_ref_short, H_supply_short, L_supply_short, H_L_swapped, meter_on_powered_bus; where: {at_m} or {drop}, \
                 {from_m, to_m}, null; next: {at_m or drop, pair, state, information_bits, minutes} or null",
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

const PAIRS: [(&str, Pair); 3] =
    [("H-L", Pair::HighLow), ("H-ref", Pair::HighReference), ("L-ref", Pair::LowReference)];
const PLUGGED: &str = "all plugged, everything off";

fn side(value: &Value, key: &str) -> Result<Side, String> {
    match text(value, key)? {
        "start" => Ok(Side::Start),
        "end" => Ok(Side::End),
        other => Err(format!("\"{key}\" cannot be \"{other}\": start or end.")),
    }
}

fn state(line: &Line, seen: &Value) -> Result<State, String> {
    let state = match seen.get("state") {
        None | Some(Value::Null) => return Ok(State::AllPlugged),
        Some(Value::String(text)) if text == PLUGGED => return Ok(State::AllPlugged),
        Some(state @ Value::Object(_)) => state,
        Some(_) => return Err(format!("\"state\" must be null, \"{PLUGGED}\" or an object; see --help.")),
    };
    if state.get("bridged_at").is_some() {
        return Ok(State::EndBridged { side: side(state, "bridged_at")? });
    }
    if let Some(number) = number(state, "terminator_pulled")? {
        let known = number >= 1.0 && number.fract() == 0.0 && number <= line.terminators.len() as f64;
        let wrong = || format!("\"terminator_pulled\": there is no terminator {number}; they count from 1.");
        return known.then(|| State::TerminatorPulled { terminator: number as usize - 1 }).ok_or_else(wrong);
    }
    let at: Metres = needed_quantity(state, "plug_pulled_at_m")?;
    let towards = side(state, "towards")?;
    // A millimetre: positions are typed.
    let stop = (0..=line.runs.len()).find(|stop| (stop_at(line, *stop).get() - at.get()).abs() < 1e-3);
    let run = match (stop, towards) {
        (Some(stop), Side::End) if stop < line.runs.len() => State::PlugPulled { run: stop, side: Side::Start },
        (Some(stop), Side::Start) if stop > 0 => State::PlugPulled { run: stop - 1, side: Side::End },
        _ => return Err(format!("\"plug_pulled_at_m\": no lead goes from {} m towards there.", at.get())),
    };
    Ok(run)
}

fn observation(line: &Line, seen: &Value) -> Result<Reading, String> {
    let share: Percent = quantity(seen, "meter_percent")?.unwrap_or(Meter::USUAL.share);
    let pair = match seen.get("pair") {
        None | Some(Value::Null) => Pair::HighLow,
        Some(_) => {
            let name = text(seen, "pair")?;
            let known = PAIRS.iter().find(|(known, _)| *known == name);
            known.ok_or_else(|| format!("\"pair\" cannot be \"{name}\": H-L, H-ref or L-ref."))?.1
        }
    };
    let at = spot(seen)?;
    match at {
        // The runs' lengths add up to the trunk but for rounding.
        Spot::Trunk(at) if at.get() > line.length().get() + 1e-6 => {
            return Err("\"observations\": at_m lies beyond the trunk's end.".into());
        }
        Spot::Drop(drop) if drop >= line.drops.len() => {
            return Err(format!("\"observations\": there is no drop {}.", drop + 1));
        }
        _ => {}
    }
    Ok(Reading {
        at,
        pair,
        state: state(line, seen)?,
        ohms: quantity(seen, "ohm")?,
        // The key gives the whole digits part in ohms: one "digit" of that size.
        digit: quantity(seen, "meter_digits_ohm")?.unwrap_or(Ohms::of(0.2)),
        meter: Meter { share, digits: 1 },
    })
}

fn bus_faults(inputs: &Value) -> Result<Value, String> {
    let line = line(inputs.get("site").ok_or("\"site\" is missing.")?)?.in_runs();
    let readings: Vec<Reading> =
        list(inputs, "observations")?.iter().map(|seen| observation(&line, seen)).collect::<Result<_, _>>()?;
    let faults: Vec<Value> = explain(&line, &readings)
        .iter()
        .map(|ranked| {
            let (kind, place) = describe(&line, ranked.fault);
            let other = ranked.fault.class().other_check().map(|check| match check {
                OtherCheck::ContinuityPinToPin => "continuity from pin to pin",
                OtherCheck::Looking => "looking where the terminators sit",
                OtherCheck::VoltsFirst => "volts on both wires before any ohms",
            });
            json!({ "kind": kind, "where": place, "probability": ranked.probability, "no_resistance_test": other })
        })
        .collect();
    let next = next(&line, &readings).map(|next| {
        let mut told = spotted(next.at);
        told["pair"] = json!(PAIRS.iter().find(|(_, pair)| *pair == next.pair).map(|(name, _)| *name));
        told["state"] = match next.state {
            State::AllPlugged => json!(PLUGGED),
            State::PlugPulled { run, side: Side::Start } => {
                json!({ "plug_pulled_at_m": place(&line, run), "towards": "end" })
            }
            State::PlugPulled { run, side: Side::End } => {
                json!({ "plug_pulled_at_m": place(&line, run + 1), "towards": "start" })
            }
            State::TerminatorPulled { terminator } => json!({ "terminator_pulled": terminator + 1 }),
            State::EndBridged { side: Side::Start } => json!({ "bridged_at": "start" }),
            State::EndBridged { side: Side::End } => json!({ "bridged_at": "end" }),
        };
        told["information_bits"] = json!(next.tells);
        told["minutes"] = json!(next.takes.get() / 60.0);
        told
    });
    Ok(json!({ "faults": faults, "next": next }))
}

fn spotted(spot: Spot) -> Value {
    match spot {
        Spot::Trunk(at) => json!({ "at_m": at.get() }),
        Spot::Drop(index) => json!({ "drop": index + 1 }),
    }
}

/// Where a stop lies, m, without the rounding of a sum of lengths.
fn place(line: &Line, stop: usize) -> f64 {
    (stop_at(line, stop).get() * 1e9).round() / 1e9
}

/// The fault's kind, and where it is.
fn describe(line: &Line, fault: BusFault) -> (&'static str, Value) {
    let stop = |index: usize| json!({ "at_m": place(line, index) });
    let run = |index: usize| json!({ "from_m": place(line, index), "to_m": place(line, index + 1) });
    let along = |at: Along| match at {
        Along::Stop(index) => stop(index),
        Along::Run(index) => run(index),
    };
    let fitted = |index: usize| spotted(line.terminators[index].at);
    match fault {
        BusFault::Nothing => ("healthy", Value::Null),
        BusFault::TerminatorMissing { terminator } => ("terminator_missing", fitted(terminator)),
        BusFault::AllTerminatorsMissing => ("all_terminators_missing", Value::Null),
        BusFault::TerminatorExtra { stop: index } => ("terminator_extra", stop(index)),
        BusFault::TwoTerminatorsExtra { stops } => {
            let [first, second] = [stops.0, stops.1].map(|index| place(line, index));
            ("two_terminators_extra", json!({ "at_m": first, "and_at_m": second }))
        }
        BusFault::TerminatorValue { terminator, class } => {
            let mut place = fitted(terminator);
            place["ohm"] = json!(WRONG_VALUES[class].ohms.get());
            ("terminator_value", place)
        }
        BusFault::TerminatorMisplaced { terminator, to } => {
            let to = match to {
                Place::Stop(index) => stop(index),
                Place::Drop(index) => json!({ "drop": index + 1 }),
            };
            ("terminator_misplaced", json!({ "from": fitted(terminator), "to": to }))
        }
        BusFault::WireOpen { wire, run: index } => {
            let kind = match wire {
                Wire::High => "H_open",
                Wire::Low => "L_open",
                Wire::Reference => "reference_open",
            };
            (kind, run(index))
        }
        BusFault::BothOpen { run: index } => ("both_open", run(index)),
        BusFault::WiresTouch { run: index } => ("H_L_short", run(index)),
        BusFault::WireToReference { wire: Wire::Low, at } => ("L_ref_short", along(at)),
        BusFault::WireToReference { at, .. } => ("H_ref_short", along(at)),
        BusFault::WireToSupply { wire: Wire::Low, at } => ("L_supply_short", along(at)),
        BusFault::WireToSupply { at, .. } => ("H_supply_short", along(at)),
        BusFault::Swapped { device } => ("H_L_swapped", spotted(line.devices[device].at)),
        BusFault::MeterOnPoweredBus => ("meter_on_powered_bus", Value::Null),
    }
}
