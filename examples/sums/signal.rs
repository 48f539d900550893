//! Sums of levels, timing, frames and the open protocols.

use crate::Sum;
use crate::read::{flag, list, needed_quantity, number, numbers, quantity, text};
use serde_json::{Map, Value, json};
use sixty_ohms::core::bus::capture::{Capture, Plausible};
use sixty_ohms::core::bus::frame::{self, Content, Data, Frame, Identifier, Message};
use sixty_ohms::core::bus::j1939::{self, Speech, Trouble};
use sixty_ohms::core::bus::length::{CABLE_DELAY, Drive, NoLength, Propagation, TABLES, Table, by_timing};
use sixty_ohms::core::bus::levels::{self, DOMINANT_SHARE, Levels};
use sixty_ohms::core::bus::rs485::{Bias, idle};
use sixty_ohms::core::bus::rvc::{self, About, Body, LIMIT_KEYS, Until};
use sixty_ohms::core::bus::short::{Trunk, place, place_from_start};
use sixty_ohms::core::bus::timing::{Path, Setting, best};
use sixty_ohms::core::units::{
    BitRate, Count, Fraction, Hertz, Metres, Ohms, OhmsPerMetre, Percent, Quantity, Seconds, SecondsPerMetre, Volts,
};

pub const SUMS: &[Sum] = &[
    Sum {
        name: "bus_short_distance",
        about: "Where along the trunk the two wires touch, from a reading at each end with everything off.",
        inputs: "ohm_per_m_one_conductor, trunk_m, reading_at_0_ohm, reading_at_end_ohm (left out: the touch is taken as 0 Ω), \
                 terminator_ohm (at each end)",
        result: "from_start_m, short_ohm",
        run: short_distance,
    },
    Sum {
        name: "bus_length",
        about: "The greatest length of a trunk: by table, by timing, by resistance. The least of those given binds.",
        inputs: "table: bitrate, protocol (canopen, iso11898, transceivers, j1939-11, j1939-14, j1939-15, devicenet-thick, \
                 devicenet-thin, rv-c); timing: bitrate, quanta_per_bit, propagation_quanta, node_delay_ns, ns_per_m (5); \
                 resistance: ohm_per_m_one_conductor, nodes, safety_share (0.2), v_out_min (1.5), v_threshold_max (1.0), \
                 terminator_min_ohm (118), node_input_min_ohm (20000)",
        result: "max_m, binding (table, timing, resistance), table_m, timing_m, resistance_m; from a table also stub_m, \
                 all_stubs_m, nodes, source",
        run: length,
    },
    Sum {
        name: "bus_end_voltage",
        about: "The differential voltage that reaches the far end of a trunk.",
        inputs: "length_m, ohm_per_m_one_conductor, nodes, v_out_min (1.5), terminator_min_ohm (118), node_input_min_ohm (20000)",
        result: "end_V",
        run: end_voltage,
    },
    Sum {
        name: "bus_levels",
        about: "What a slow meter shows on a powered bus; or what two readings mean.",
        inputs: "bus_load (0 to 1), dominant_share (0.45), recessive_V (2.5), dominant_high_V (3.5), dominant_low_V (1.5); or \
                 high_V, low_V",
        result: "high_V, low_V, difference_V; or state, could_also_be, bus_load_percent (a rough guide)",
        run: bus_levels,
    },
    Sum {
        name: "bit_timing",
        about: "What a controller's setting gives; or the best setting of 8 to 25 quanta for a rate and a sample point.",
        inputs: "f_clock, prescaler, tseg1, tseg2, sjw; or f_clock, bitrate, sample_point_percent; both: node_delay_ns, bus_m, \
                 ns_per_m (5)",
        result: "bitrate, sample_point_percent, quantum_ns, quanta_per_bit, propagation_quanta, phase1_quanta, \
                 oscillator_tolerance_percent (null where the bus is too long), condition_1_percent, condition_2_percent, \
                 prescaler, tseg1, tseg2, sjw, classical",
        run: bit_timing,
    },
    Sum {
        name: "frame",
        about: "Checksum, stuff bits and length of a frame.",
        inputs: "identifier (\"0x123\"), extended, data (hex); or remote: true with length",
        result: "crc15, stuff_bits, bits_unstuffed_no_gap, bits_on_wire_with_3_bit_gap, bits_least, bits_most",
        run: frame_bits,
    },
    Sum {
        name: "bus_load",
        about: "The share of time that a bus is busy.",
        inputs: "bitrate, messages: [{bytes, extended, period_s}]",
        result: "percent (worst stuffing), percent_least (none)",
        run: bus_load,
    },
    Sum {
        name: "rvc",
        about: "What an RV-C message says.",
        inputs: "identifier (29 bits), data (hex)",
        result: "priority, dgn, source_address, name, instance, device_priority or dc_instance, and what the message holds",
        run: rvc_message,
    },
    Sum {
        name: "j1939_id",
        about: "The parts of a 29-bit identifier; or of a trouble code.",
        inputs: "identifier; or trouble_code (4 bytes hex), protocol (\"j1939\", \"rvc\")",
        result: "priority, pdu_format, pdu_specific, pgn, destination (null: broadcast), source_address; or spn, fmi, \
                 fmi_meaning, occurrence, conversion_method",
        run: j1939_id,
    },
    Sum {
        name: "rs485_bias",
        about: "The idle voltage of an RS-485 pair with bias resistors.",
        inputs: "supply_V, pull_up_ohm, pull_down_ohm, terminators_ohm: [], unit_loads",
        result: "idle_V, at_least_200_mV, largest_each_side_ohm",
        run: rs485_bias,
    },
    Sum {
        name: "capture",
        about: "Who sends how often in a capture, and how busy the bus is.",
        inputs: "text (lines of the form \"(seconds) interface ID#DATA\"), bitrate",
        result: "lines, problems: [{line, what}], problem_count, interfaces: [{name, frames, seconds, load_mean_percent, \
                 load_busiest_percent, plausible, talkers: [{identifier, extended, count, mean_s, least_s, greatest_s, \
                 jitter_s, silence_s}]}]",
        run: capture,
    },
];

/// A sentence from an error of the core.
fn sentence(error: impl std::fmt::Display) -> String {
    format!("{error}.")
}

fn get<Q: Quantity>(value: Option<Q>) -> Option<f64> {
    value.map(Quantity::get)
}

/// A quantity given in a smaller unit than its own.
fn scaled<Q: Quantity>(inputs: &Value, key: &str, factor: f64) -> Result<Option<Q>, String> {
    number(inputs, key)?
        .map(|value| Q::new(value * factor).map_err(|error| format!("\"{key}\" is out of range: {error}.")))
        .transpose()
}

fn whole(inputs: &Value, key: &str) -> Result<Option<u32>, String> {
    match number(inputs, key)? {
        None => Ok(None),
        Some(value) if value.fract() == 0.0 && (0.0..=1e9).contains(&value) => Ok(Some(value as u32)),
        Some(_) => Err(format!("\"{key}\" must be a whole number from 0.")),
    }
}

fn needed_whole(inputs: &Value, key: &str) -> Result<u32, String> {
    whole(inputs, key)?.ok_or_else(|| format!("\"{key}\" is missing."))
}

/// An identifier as hexadecimal text, with or without 0x, or as a number.
fn identifier(inputs: &Value) -> Result<u32, String> {
    match inputs.get("identifier") {
        None | Some(Value::Null) => Err("\"identifier\" is missing.".into()),
        Some(Value::String(text)) => {
            let digits = text.trim();
            let digits = digits.strip_prefix("0x").or(digits.strip_prefix("0X")).unwrap_or(digits);
            if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
                return Err("\"identifier\" must be hexadecimal, as in \"0x123\".".into());
            }
            u32::from_str_radix(digits, 16).map_err(|_| "\"identifier\" has more than 29 bits.".into())
        }
        Some(_) => needed_whole(inputs, "identifier"),
    }
}

fn data(inputs: &Value) -> Result<Data, String> {
    Data::from_hex(text(inputs, "data")?)
        .ok_or_else(|| "\"data\" must be at most 8 bytes in hexadecimal, two digits each.".into())
}

fn short_distance(inputs: &Value) -> Result<Value, String> {
    let trunk = Trunk {
        length: needed_quantity(inputs, "trunk_m")?,
        per_metre: needed_quantity(inputs, "ohm_per_m_one_conductor")?,
        terminator: needed_quantity(inputs, "terminator_ohm")?,
    };
    let at_start: Ohms = needed_quantity(inputs, "reading_at_0_ohm")?;
    let found = match quantity(inputs, "reading_at_end_ohm")? {
        Some(at_end) => place(trunk, at_start, at_end),
        None => place_from_start(trunk, at_start),
    }
    .map_err(sentence)?;
    Ok(json!({ "from_start_m": found.from_start.get(), "short_ohm": found.touch.get() }))
}

/// A table by its key, forgiving of case, spaces and dashes.
fn table(name: &str) -> Option<&'static Table> {
    let flat = |text: &str| -> String {
        text.chars().filter(|c| c.is_ascii_alphanumeric()).collect::<String>().to_ascii_lowercase()
    };
    let name = match flat(name).as_str() {
        "iso118982" => "iso11898".to_string(),
        "j1939" => "j193911".to_string(),
        "devicenet" => "devicenetthick".to_string(),
        "an96116" => "transceivers".to_string(),
        other => other.to_string(),
    };
    TABLES.iter().find(|table| flat(table.key) == name)
}

fn drive(inputs: &Value) -> Result<Drive, String> {
    Ok(Drive {
        out: quantity(inputs, "v_out_min")?.unwrap_or(Volts::of(1.5)),
        threshold: quantity(inputs, "v_threshold_max")?.unwrap_or(Volts::of(1.0)),
        terminator: quantity(inputs, "terminator_min_ohm")?.unwrap_or(Ohms::of(118.0)),
        node_input: quantity(inputs, "node_input_min_ohm")?.unwrap_or(Ohms::of(20_000.0)),
        nodes: needed_whole(inputs, "nodes")?,
        per_metre: needed_quantity::<OhmsPerMetre>(inputs, "ohm_per_m_one_conductor")?,
    })
}

fn length(inputs: &Value) -> Result<Value, String> {
    let given = |key: &str| inputs.get(key).is_some_and(|value| !value.is_null());
    let mut result = Map::new();
    let mut limits: Vec<(&str, f64)> = Vec::new();
    if given("protocol") {
        let name = text(inputs, "protocol")?;
        let table = table(name).ok_or_else(|| {
            let keys: Vec<_> = TABLES.iter().map(|table| table.key).collect();
            format!("\"protocol\" cannot be \"{name}\": {}.", keys.join(", "))
        })?;
        let row = table.at(needed_quantity::<BitRate>(inputs, "bitrate")?).map_err(sentence)?;
        result.insert("stub_m".into(), json!(get(row.stub)));
        result.insert("all_stubs_m".into(), json!(get(row.all_stubs)));
        result.insert("nodes".into(), json!(row.nodes));
        result.insert("row_bitrate".into(), json!(row.bit_rate.get()));
        result.insert("source".into(), json!(table.source));
        result.insert("table_m".into(), json!(get(row.trunk)));
        limits.extend(get(row.trunk).map(|metres| ("table", metres)));
    }
    if given("quanta_per_bit") || given("propagation_quanta") {
        let timing = by_timing(Propagation {
            bit_rate: needed_quantity(inputs, "bitrate")?,
            quanta_per_bit: needed_whole(inputs, "quanta_per_bit")?,
            propagation_quanta: needed_whole(inputs, "propagation_quanta")?,
            node_delay: scaled::<Seconds>(inputs, "node_delay_ns", 1e-9)?.ok_or("\"node_delay_ns\" is missing.")?,
            cable: scaled(inputs, "ns_per_m", 1e-9)?.unwrap_or(CABLE_DELAY),
        });
        limits.push(("timing", none_left(timing.map(Quantity::get))?));
    }
    if given("ohm_per_m_one_conductor") {
        let margin = quantity(inputs, "safety_share")?.unwrap_or(Fraction::of(0.2));
        limits.push(("resistance", none_left(drive(inputs)?.reach(margin).map(Quantity::get))?));
    }
    if limits.is_empty() && result.is_empty() {
        return Err("Give a \"protocol\", \"quanta_per_bit\" or \"ohm_per_m_one_conductor\".".into());
    }
    for (name, metres) in &limits {
        result.insert(format!("{name}_m"), json!(metres));
    }
    let binding = limits.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    result.insert("max_m".into(), json!(binding.map(|(_, metres)| metres)));
    result.insert("binding".into(), json!(binding.map(|(name, _)| name)));
    Ok(Value::Object(result))
}

/// Nothing left is a length of nothing; every other refusal is an error.
fn none_left(length: Result<f64, NoLength>) -> Result<f64, String> {
    match length {
        Err(NoLength::NothingLeft) => Ok(0.0),
        other => other.map_err(sentence),
    }
}

fn end_voltage(inputs: &Value) -> Result<Value, String> {
    let volts = drive(inputs)?.at_end(needed_quantity(inputs, "length_m")?).map_err(sentence)?;
    Ok(json!({ "end_V": volts.get() }))
}

fn bus_levels(inputs: &Value) -> Result<Value, String> {
    let (high, low): (Option<Volts>, Option<Volts>) = (quantity(inputs, "high_V")?, quantity(inputs, "low_V")?);
    match (high, low) {
        (Some(high), Some(low)) => {
            let state = levels::state(high, low);
            let difference = Volts::new(high.get() - low.get()).ok();
            let load = difference.filter(|_| state == levels::State::Working).and_then(levels::load_from);
            Ok(json!({
                "state": state.key(), "could_also_be": state.twins(), "difference_V": get(difference),
                "bus_load_percent": get(load),
            }))
        }
        (None, None) => {
            let level = |key: &str, usual: Volts| Ok::<_, String>(quantity(inputs, key)?.unwrap_or(usual));
            let levels = Levels {
                recessive: level("recessive_V", Levels::NOMINAL.recessive)?,
                dominant_high: level("dominant_high_V", Levels::NOMINAL.dominant_high)?,
                dominant_low: level("dominant_low_V", Levels::NOMINAL.dominant_low)?,
            };
            let share = quantity(inputs, "dominant_share")?.unwrap_or(DOMINANT_SHARE);
            let average = levels::average(levels, needed_quantity(inputs, "bus_load")?, share)
                .ok_or("\"bus_load\" and \"dominant_share\" must lie between 0 and 1.")?;
            Ok(json!({
                "high_V": average.high.get(), "low_V": average.low.get(), "difference_V": average.difference.get(),
            }))
        }
        _ => Err("Both \"high_V\" and \"low_V\" are needed.".into()),
    }
}

fn bit_timing(inputs: &Value) -> Result<Value, String> {
    let clock: Hertz = needed_quantity(inputs, "f_clock")?;
    let setting = if inputs.get("prescaler").is_some_and(|value| !value.is_null()) {
        Setting {
            clock,
            prescaler: needed_whole(inputs, "prescaler")?,
            segment1: needed_whole(inputs, "tseg1")?,
            segment2: needed_whole(inputs, "tseg2")?,
            jump: whole(inputs, "sjw")?.unwrap_or(1),
        }
    } else {
        let rate: BitRate = needed_quantity(inputs, "bitrate")?;
        best(clock, rate, needed_quantity::<Percent>(inputs, "sample_point_percent")?).map_err(sentence)?
    };
    let timing = setting.timing().map_err(sentence)?;
    let node_delay = scaled::<Seconds>(inputs, "node_delay_ns", 1e-9)?;
    let length: Option<Metres> = quantity(inputs, "bus_m")?;
    let cable = scaled::<SecondsPerMetre>(inputs, "ns_per_m", 1e-9)?.unwrap_or(CABLE_DELAY);
    let fit = match (node_delay, length) {
        (Some(node_delay), Some(length)) => Some(setting.fit(Path { node_delay, length, cable }).map_err(sentence)?),
        _ => None,
    };
    Ok(json!({
        "bitrate": timing.bit_rate.get(),
        "sample_point_percent": timing.sample_point.get(),
        "quantum_ns": timing.quantum.get() * 1e9,
        "quanta_per_bit": timing.quanta,
        "propagation_quanta": fit.map(|fit| fit.propagation_quanta),
        "phase1_quanta": fit.map(|fit| fit.phase1_quanta),
        "phase2_quanta": setting.segment2,
        "oscillator_tolerance_percent": get(fit.and_then(|fit| fit.tolerance)),
        "condition_1_percent": get(fit.and_then(|fit| fit.condition1)),
        "condition_2_percent": get(fit.and_then(|fit| fit.condition2)),
        "prescaler": setting.prescaler, "tseg1": setting.segment1, "tseg2": setting.segment2, "sjw": setting.jump,
        "classical": timing.classical, "sjw_fits": timing.jump_fits,
    }))
}

fn frame_bits(inputs: &Value) -> Result<Value, String> {
    let value = identifier(inputs)?;
    let extended = flag(inputs, "extended")?.unwrap_or(value > 0x7FF);
    let identifier = if extended { Identifier::extended(value) } else { Identifier::base(value) }
        .ok_or_else(|| format!("\"identifier\" has more than {} bits.", if extended { 29 } else { 11 }))?;
    let content = if flag(inputs, "remote")? == Some(true) {
        let length = whole(inputs, "length")?.unwrap_or(0);
        Content::Remote(u8::try_from(length).ok().filter(|n| *n <= 8).ok_or("\"length\" must be 0 to 8.")?)
    } else {
        Content::Data(data(inputs)?)
    };
    let bits = Frame { identifier, content }.bits();
    let count = match content {
        Content::Data(data) => data.as_slice().len() as u8,
        Content::Remote(_) => 0,
    };
    let bounds = frame::bounds(count, extended);
    Ok(json!({
        "crc15": format!("0x{:04X}", bits.crc15), "stuff_bits": bits.stuff, "bits_unstuffed_no_gap": bits.unstuffed,
        "bits_on_wire_with_3_bit_gap": bits.on_wire(), "bits_least": bounds.map(|b| b.least), "bits_most": bounds.map(|b| b.most),
    }))
}

fn bus_load(inputs: &Value) -> Result<Value, String> {
    let bit_rate: BitRate = needed_quantity(inputs, "bitrate")?;
    let mut messages = Vec::new();
    for message in list(inputs, "messages")? {
        messages.push(Message {
            bytes: u8::try_from(needed_whole(message, "bytes")?).map_err(|_| "\"bytes\" must be 0 to 8.")?,
            extended: flag(message, "extended")?.unwrap_or(false),
            period: needed_quantity(message, "period_s")?,
        });
    }
    let load = frame::load(bit_rate, &messages).map_err(sentence)?;
    Ok(json!({ "percent": 100.0 * load.most.get(), "percent_least": 100.0 * load.least.get() }))
}

fn rvc_message(inputs: &Value) -> Result<Value, String> {
    let data = data(inputs)?;
    let message = rvc::decode(identifier(inputs)?, data.as_slice()).ok_or("\"identifier\" has more than 29 bits.")?;
    let mut result = json!({
        "priority": message.parts.priority,
        "dgn": format!("{:05X}", message.parts.dgn),
        "source_address": message.parts.source_address,
        "name": (!message.name.is_empty()).then_some(message.name),
    });
    let (about, body) = match message.body {
        Body::Output { about, voltage, current } => {
            (Some(about), json!({ "volt": get(voltage), "amp_as_coded": get(current) }))
        }
        Body::Charge { about, temperature, state_of_charge, time_remaining, until } => (
            Some(about),
            json!({
                "degC": get(temperature), "soc_percent": get(state_of_charge),
                "minutes_left": get(time_remaining).map(|seconds| seconds / 60.0),
                "until": match until { Until::Empty => Some("empty"), Until::Full => Some("full"), Until::Unknown => None },
            }),
        ),
        Body::Health { about, state_of_health, capacity_remaining, relative_capacity, ripple } => (
            Some(about),
            json!({
                "soh_percent": get(state_of_health), "capacity_remaining_Ah": get(capacity_remaining),
                "relative_capacity_percent": get(relative_capacity), "ripple_mV": get(ripple).map(|volt| (1e3 * volt).round()),
            }),
        ),
        Body::Request { about, state, state_code, voltage, current, battery_type } => (
            Some(about),
            json!({
                "desired_state": state.map(|state| state.key()), "desired_state_code": state_code,
                "desired_volt": get(voltage), "desired_amp": get(current), "battery_type_code": battery_type,
                "iron_phosphate": battery_type.map(|code| code == rvc::IRON_PHOSPHATE),
            }),
        ),
        Body::Precise { about, voltage, rate } => {
            (Some(about), json!({ "volt": get(voltage), "mV_per_s": get(rate).map(|rate| (1e3 * rate).round()) }))
        }
        Body::Limits { about, limits } => {
            let flags = LIMIT_KEYS.iter().zip(limits).flat_map(|(key, limit)| {
                [
                    (format!("{key}_limit"), json!(limit.reached)),
                    (format!("{key}_disconnected"), json!(limit.disconnected)),
                ]
            });
            (Some(about), Value::Object(flags.collect()))
        }
        Body::Switches { about, discharge_on, charge_on, charge_detected, reserve, full_capacity, power } => (
            Some(about),
            json!({
                "discharge_on": discharge_on, "charge_on": charge_on, "charge_detected": charge_detected,
                "reserve": reserve, "full_capacity_Ah": get(full_capacity), "power_W": get(power),
            }),
        ),
        Body::Disconnect { instance, closed, last_command_close, bypass_detected, voltage, current } => (
            None,
            json!({
                "instance": instance, "closed": closed, "last_command_close": last_command_close,
                "bypass_detected": bypass_detected, "volt": get(voltage), "amp_as_coded": get(current),
            }),
        ),
        Body::Diagnostic { operating_status, yellow_lamp, red_lamp, default_address, trouble } => (
            None,
            json!({
                "operating_status_code": operating_status, "yellow_lamp": yellow_lamp, "red_lamp": red_lamp,
                "default_address": default_address, "no_fault": trouble.is_none(), "spn": trouble.spn, "fmi": trouble.fmi,
                "fmi_meaning": j1939::failure_mode(trouble.fmi, Speech::RvC), "occurrence": trouble.occurrence,
            }),
        ),
        Body::Other => (None, json!({})),
    };
    let about = match about {
        Some(About::Source { instance, device_priority }) => {
            json!({ "instance": instance, "device_priority": device_priority })
        }
        Some(About::Battery { instance, source_instance }) => {
            json!({ "instance": instance, "dc_instance": source_instance })
        }
        None => json!({}),
    };
    if let Value::Object(result) = &mut result {
        for part in [about, body] {
            if let Value::Object(part) = part {
                result.extend(part);
            }
        }
    }
    Ok(result)
}

fn j1939_id(inputs: &Value) -> Result<Value, String> {
    if inputs.get("trouble_code").is_some_and(|value| !value.is_null()) {
        let data = Data::from_hex(text(inputs, "trouble_code")?);
        let bytes = data.and_then(|data| <[u8; 4]>::try_from(data.as_slice()).ok());
        let bytes = bytes.ok_or("\"trouble_code\" must be 4 bytes in hexadecimal.")?;
        let speech = match inputs.get("protocol").and_then(Value::as_str) {
            None | Some("j1939") => Speech::J1939,
            Some("rvc") => Speech::RvC,
            Some(other) => return Err(format!("\"protocol\" cannot be \"{other}\": j1939 or rvc.")),
        };
        let trouble = match speech {
            Speech::J1939 => Trouble::from_j1939(bytes),
            Speech::RvC => Trouble::from_rvc(bytes),
        };
        return Ok(json!({
            "spn": trouble.spn, "fmi": trouble.fmi, "fmi_meaning": j1939::failure_mode(trouble.fmi, speech),
            "occurrence": trouble.occurrence, "conversion_method": u8::from(trouble.conversion_method),
        }));
    }
    let parts = j1939::split(identifier(inputs)?).ok_or("\"identifier\" has more than 29 bits.")?;
    Ok(json!({
        "priority": parts.priority, "pdu_format": parts.pdu_format, "pdu_specific": parts.pdu_specific, "pgn": parts.pgn,
        "pgn_hex": format!("{:05X}", parts.pgn), "destination": parts.destination, "source_address": parts.source_address,
    }))
}

fn rs485_bias(inputs: &Value) -> Result<Value, String> {
    let terminators =
        if list(inputs, "terminators_ohm")?.is_empty() { vec![] } else { numbers(inputs, "terminators_ohm")? };
    let terminators: Result<Vec<Ohms>, _> = terminators.into_iter().map(Ohms::new).collect();
    let bias = Bias {
        supply: needed_quantity(inputs, "supply_V")?,
        pull_up: needed_quantity(inputs, "pull_up_ohm")?,
        pull_down: needed_quantity(inputs, "pull_down_ohm")?,
        terminators: terminators.map_err(|error| format!("\"terminators_ohm\": {error}."))?,
        unit_loads: quantity(inputs, "unit_loads")?.unwrap_or(Count::of(0.0)),
    };
    let idle = idle(&bias).map_err(sentence)?;
    Ok(json!({
        "idle_V": idle.difference.get(), "at_least_200_mV": idle.enough,
        "largest_each_side_ohm": get(idle.largest_each_side),
    }))
}

fn capture(inputs: &Value) -> Result<Value, String> {
    let bit_rate: Option<BitRate> = quantity(inputs, "bitrate")?;
    let mut capture = Capture::new();
    capture.feed(text(inputs, "text")?.as_bytes());
    let report = capture.finish();
    let interfaces: Vec<Value> = report
        .interfaces
        .iter()
        .map(|traffic| {
            let loads = bit_rate.map(|rate| traffic.loads(rate));
            let talkers: Vec<Value> = traffic
                .talkers
                .iter()
                .map(|(id, talker)| {
                    let intervals = talker.intervals;
                    json!({
                        "identifier": format!("0x{:X}", id.value()), "extended": id.is_extended(), "count": talker.count,
                        "mean_s": get(intervals.map(|i| i.mean)), "least_s": get(intervals.map(|i| i.least)),
                        "greatest_s": get(intervals.map(|i| i.greatest)), "jitter_s": get(intervals.map(|i| i.jitter)),
                        "silence_s": talker.silence.get(),
                    })
                })
                .collect();
            json!({
                "name": traffic.name(), "frames": traffic.frames(), "flexible": traffic.flexible(),
                "errors": traffic.errors(), "seconds": traffic.duration().get(),
                "load_mean_percent": loads.as_ref().map(|loads| 100.0 * loads.mean.get()),
                "load_busiest_percent": loads.as_ref().map(|loads| 100.0 * loads.busiest.get()),
                "plausible": bit_rate.map(|rate| match traffic.plausible(rate) {
                    Plausible::No => "no",
                    Plausible::Crowded => "crowded",
                    Plausible::Yes => "yes",
                    Plausible::Unknown => "unknown",
                }),
                "talkers": talkers,
            })
        })
        .collect();
    let problems: Vec<Value> =
        report.problems.iter().map(|(line, what)| json!({ "line": line, "what": what.to_string() })).collect();
    Ok(json!({
        "lines": report.lines, "interfaces": interfaces, "problems": problems, "problem_count": report.problem_count,
    }))
}
