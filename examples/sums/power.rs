//! Sums of the power side.

use crate::Sum;
use crate::read::{figure, flag, list, needed_quantity, number, quantity, text, whole};
use serde_json::{Value, json};
use sixty_ohms::core::because::Because;
use sixty_ohms::core::entry::Shown;
use sixty_ohms::core::judged::Judged;
use sixty_ohms::core::power::ampacity::{Insulation, Laying, rating};
use sixty_ohms::core::power::cable::{self, Plan, Run, smallest};
use sixty_ohms::core::power::charger::{self, Bank, Settings, compensated};
use sixty_ohms::core::power::charger_steered::{self, Following, Guard, Sources};
use sixty_ohms::core::power::conductor::{Class, Conductor, Gauge};
use sixty_ohms::core::power::inrush::{self, Inrush};
use sixty_ohms::core::power::joint::{self, Read};
use sixty_ohms::core::power::protection::{self, Material, Protection, Way, adiabatic};
use sixty_ohms::core::power::short_circuit::{self, prospective};
use sixty_ohms::core::units::{Celsius, Ohms, Percent, Quantity, SquareMillimetres, Volts};

pub const SUMS: &[Sum] = &[
    Sum {
        name: "conductor",
        about: "A copper conductor: a gauge by ASTM B258, or a metric size of a class by IEC 60228.",
        inputs: "awg: 18 to \"4/0\" (30 is the finest); or area_mm2 and class: 1, 2, 5 or 6; optional conductor_temperature_C (20)",
        result: "diameter_mm and circular_mil (null for metric sizes), area_mm2, ohm_per_km_20C, ohm_per_km, standard (is it a size \
                 of the tables? others by 1/58 ohm mm2/m)",
        run: conductor,
    },
    Sum {
        name: "cable",
        about: "What a current does in a cable out and back, and whether it may.",
        inputs: "awg, or area_mm2 and class; one_way_length_m, current_A, conductor_temperature_C (20), system_V; optional \
                 limit_percent, insulation_C: 60|75|80|90|105|125|200, bundled (2), engine_space, cells",
        result: "loop_resistance_ohm, voltage_drop_V, voltage_drop_percent, heat_W, each_cell_V, rating_A (null: no table covers it), \
                 verdict and because (null without limit_percent)",
        run: cable_sum,
    },
    Sum {
        name: "smallest_conductor",
        about: "The smallest conductor whose drop, and whose rating where insulation is given, hold.",
        inputs: "class (5 if left out), one_way_length_m, current_A, conductor_temperature_C (20), system_V, limit_percent (3); optional \
                 insulation_C, bundled, engine_space",
        result: "area_mm2, awg, binding: drop|rating|smallest (what rules the next smaller metric size out), binding_awg; null \
                 where no size of the table does",
        run: smallest_conductor,
    },
    Sum {
        name: "short_circuit",
        about: "The current of a short circuit of like modules side by side.",
        inputs: "emf_V, module_resistance_ohm, modules_parallel (1), own_lead_resistance_both_poles_ohm (0), common_path_ohm (0); \
                 optional modules_series (1; the emf and the resistance are one module's)",
        result: "at_bus_A, at_end_of_path_A, per_module_at_bus_A, into_one_A, source_ohm",
        run: short_circuit_sum,
    },
    Sum {
        name: "protection",
        about: "A fuse or breaker against its load, cable, place, voltage and the short circuit.",
        inputs: "load_A, continuous, cable_rating_A, rating_A, system_V, highest_V, voltage_rating_V, interrupt_rating_A, distance_m, \
                 way: bare|sheathed|post, each_has_own, capacity_Ah, area_mm2, material: pvc|xlpe, clearing_s; emf_V and the rest \
                 of short_circuit; all optional",
        result: "verdict, because: [], least_A, most_A, prospective_A, let_through_A2s, borne_A2s",
        run: protection_sum,
    },
    Sum {
        name: "inrush",
        about: "The capacitors of an inverter behind a switch that closes.",
        inputs: "capacitance_F, voltage_V, path_ohm; optional resistor_ohm, wait_s (5 R C), limit_A",
        result: "peak_A, energy_J, through_A2s, first_A, precharge_s, gap_V, second_A, resistor_W, verdict, because: []",
        run: inrush_sum,
    },
    Sum {
        name: "charger_settings",
        about: "A charger's settings against a bank.",
        inputs: "cells; optional highest_V, coldest_C, capacity_Ah, limit_A; absorption_V, float_V, restart_V, \
                 compensation_mV_per_K (whole bank), equalise, equalise_V, has_cold_stop, cold_stop_C, current_A, tail_A, \
                 absorption_h; or follows: {asked_A, given_A, asked_V, given_V}; or alternator: \
                 unknown|nothing|converter|told|suppressed with system_V; or sources: [{current_A, steered}] with string_limit_A \
                 and strings",
        result: "verdict, because: [], cell_V: {absorption, float, restart, equalise}, compensated_V: {cold_0C, warm_45C}, highest_V",
        run: charger_settings,
    },
    Sum {
        name: "joint",
        about: "Joints by the millivolts across them.",
        inputs: "joints: [{millivolt, current_A, digit_millivolt (0.1)}]",
        result: "joints: [{resistance_ohm, heat_W, error_ohm, verdict, because: []}]",
        run: joint_sum,
    },
];

fn beyond() -> String {
    "This lies beyond what the quantities can hold, or nothing limits it.".into()
}

fn gauge_of(inputs: &Value) -> Result<Option<Gauge>, String> {
    let written = match inputs.get("awg") {
        None | Some(Value::Null) => return Ok(None),
        Some(Value::String(text)) => text.clone(),
        Some(other) => other.to_string(),
    };
    Gauge::parse(&written).map(Some).ok_or_else(|| "\"awg\" must be 30 to 1, or \"1/0\" to \"4/0\".".into())
}

fn class_of(inputs: &Value) -> Result<Option<Class>, String> {
    let Some(number) = whole(inputs, "class")? else { return Ok(None) };
    Class::of(number).map(Some).ok_or_else(|| "\"class\" must be 1, 2, 5 or 6.".into())
}

fn conductor_of(inputs: &Value) -> Result<Conductor, String> {
    if let Some(gauge) = gauge_of(inputs)? {
        return Ok(Conductor::American(gauge));
    }
    let area: SquareMillimetres = needed_quantity(inputs, "area_mm2")?;
    Ok(Conductor::Metric { area, class: class_of(inputs)?.ok_or("\"class\" is missing.")? })
}

fn temperature_of(inputs: &Value) -> Result<Celsius, String> {
    Ok(quantity(inputs, "conductor_temperature_C")?.unwrap_or(Celsius::of(20.0)))
}

fn laying_of(inputs: &Value) -> Result<Option<Laying>, String> {
    let Some(degrees) = number(inputs, "insulation_C")? else { return Ok(None) };
    let insulation =
        Insulation::parse(&degrees.to_string()).ok_or("\"insulation_C\" must be 60, 75, 80, 90, 105, 125 or 200.")?;
    let engine_space = flag(inputs, "engine_space")?.unwrap_or(false);
    Ok(Some(Laying { insulation, engine_space, bundled: whole(inputs, "bundled")?.unwrap_or(2) }))
}

fn keys<'a>(judged: &'a Judged) -> Vec<&'static str> {
    [&judged.because].into_iter().chain(&judged.also).map(|because: &'a Because| because.key()).collect()
}

fn with_verdict(mut result: Value, judged: Option<&Judged>) -> Value {
    result["verdict"] = json!(judged.map(|judged| judged.verdict.key()));
    result["because"] = json!(judged.map(keys));
    result
}

fn conductor(inputs: &Value) -> Result<Value, String> {
    let conductor = conductor_of(inputs)?;
    let diameter = match conductor {
        Conductor::American(gauge) => Some(gauge.diameter().get() * 1000.0),
        Conductor::Metric { .. } => None,
    };
    let at_20 = conductor.resistance(Celsius::of(20.0)).ok_or_else(beyond)?;
    let warm = conductor.resistance(temperature_of(inputs)?).ok_or_else(beyond)?;
    Ok(json!({
        "diameter_mm": diameter,
        "area_mm2": conductor.area().get(),
        // A mil is a thousandth of an inch.
        "circular_mil": diameter.map(|mm| (mm / 0.0254).powi(2)),
        "ohm_per_km_20C": at_20.get() * 1000.0,
        "ohm_per_km": warm.get() * 1000.0,
        "standard": conductor.is_standard(),
    }))
}

fn run_of(inputs: &Value, conductor: Conductor) -> Result<Run, String> {
    Ok(Run {
        conductor,
        length: needed_quantity(inputs, "one_way_length_m")?,
        current: needed_quantity(inputs, "current_A")?,
        temperature: temperature_of(inputs)?,
    })
}

fn cable_sum(inputs: &Value) -> Result<Value, String> {
    let run = run_of(inputs, conductor_of(inputs)?)?;
    let found = cable::drop(run).ok_or_else(beyond)?;
    let system: Option<Volts> = quantity(inputs, "system_V")?;
    let laying = laying_of(inputs)?;
    let cells = whole(inputs, "cells")?;
    let judged = match (system, quantity::<Percent>(inputs, "limit_percent")?) {
        (Some(system), Some(limit)) => cable::judge(Plan { run, system, limit, laying, cells }),
        _ => None,
    };
    let share = system.filter(|system| system.get() != 0.0).map(|system| found.drop.get() / system.get().abs() * 100.0);
    let result = json!({
        "loop_resistance_ohm": found.resistance.get(),
        "voltage_drop_V": found.drop.get(),
        "voltage_drop_percent": share,
        "heat_W": found.heat.get(),
        "each_cell_V": cells.map(|cells| found.drop.get() / f64::from(cells)),
        "rating_A": figure(laying.and_then(|laying| rating(run.conductor, laying)).map(|rating| rating.current)),
    });
    Ok(with_verdict(result, judged.as_ref()))
}

fn smallest_conductor(inputs: &Value) -> Result<Value, String> {
    let class = class_of(inputs)?.unwrap_or(Class::Flexible);
    let metric = Conductor::metric(class);
    let plan = Plan {
        run: run_of(inputs, metric[0])?,
        system: needed_quantity(inputs, "system_V")?,
        limit: quantity(inputs, "limit_percent")?.unwrap_or(Percent::of(3.0)),
        laying: laying_of(inputs)?,
        cells: None,
    };
    let (in_metric, in_gauge) = (smallest(&metric, plan), smallest(&Conductor::american(), plan));
    let gauge = in_gauge.and_then(|(conductor, _)| match conductor {
        Conductor::American(gauge) => Some(gauge.name()),
        Conductor::Metric { .. } => None,
    });
    Ok(json!({
        "area_mm2": in_metric.map(|(conductor, _)| conductor.area().get()),
        "awg": gauge,
        "binding": in_metric.map(|(_, binding)| binding.key()),
        "binding_awg": in_gauge.map(|(_, binding)| binding.key()),
    }))
}

fn bank_of(inputs: &Value) -> Result<Option<short_circuit::Bank>, String> {
    let (Some(emf), Some(inner)) =
        (quantity::<Volts>(inputs, "emf_V")?, quantity::<Ohms>(inputs, "module_resistance_ohm")?)
    else {
        return Ok(None);
    };
    let series = f64::from(whole(inputs, "modules_series")?.unwrap_or(1));
    Ok(Some(short_circuit::Bank {
        emf: Volts::new(emf.get() * series).map_err(|error| format!("\"emf_V\": {error}."))?,
        inner: Ohms::new(inner.get() * series).map_err(|error| format!("\"module_resistance_ohm\": {error}."))?,
        parallel: whole(inputs, "modules_parallel")?.unwrap_or(1),
        leads: quantity(inputs, "own_lead_resistance_both_poles_ohm")?.unwrap_or(Ohms::of(0.0)),
        path: quantity(inputs, "common_path_ohm")?.unwrap_or(Ohms::of(0.0)),
    }))
}

fn short_circuit_sum(inputs: &Value) -> Result<Value, String> {
    let bank = bank_of(inputs)?.ok_or("\"emf_V\" and \"module_resistance_ohm\" must be there.")?;
    let found = prospective(bank).ok_or_else(beyond)?;
    Ok(json!({
        "at_bus_A": found.at_bus.get(),
        "at_end_of_path_A": found.at_end.get(),
        "per_module_at_bus_A": found.each.get(),
        "into_one_A": found.into_one.get(),
        "source_ohm": found.source.get(),
    }))
}

/// A word of a few, which may be left out.
fn word<T>(inputs: &Value, key: &str, parse: fn(&str) -> Option<T>) -> Result<Option<T>, String> {
    if inputs.get(key).is_none_or(Value::is_null) {
        return Ok(None);
    }
    parse(text(inputs, key)?).map(Some).ok_or_else(|| format!("\"{key}\" is none of its words; see --help."))
}

fn protection_sum(inputs: &Value) -> Result<Value, String> {
    let given = Protection {
        load: quantity(inputs, "load_A")?,
        continuous: flag(inputs, "continuous")?.unwrap_or(false),
        cable: quantity(inputs, "cable_rating_A")?,
        rating: quantity(inputs, "rating_A")?,
        system: quantity(inputs, "system_V")?,
        highest: quantity(inputs, "highest_V")?,
        voltage: quantity(inputs, "voltage_rating_V")?,
        interrupt: quantity(inputs, "interrupt_rating_A")?,
        bank: bank_of(inputs)?,
        distance: quantity(inputs, "distance_m")?,
        way: word(inputs, "way", Way::parse)?,
        each_has_own: flag(inputs, "each_has_own")?,
        capacity: quantity(inputs, "capacity_Ah")?,
        area: quantity(inputs, "area_mm2")?,
        material: word(inputs, "material", Material::parse)?,
        clearing: quantity(inputs, "clearing_s")?,
    };
    let (least, most) = protection::window(&given);
    let current = given.bank.and_then(prospective).map(|found| found.at_bus);
    let heat = (|| adiabatic(current?, given.clearing?, given.area?, given.material?))();
    let result = json!({
        "least_A": figure(least),
        "most_A": figure(most),
        "prospective_A": figure(current),
        "let_through_A2s": figure(heat.map(|(through, _)| through)),
        "borne_A2s": figure(heat.map(|(_, borne)| borne)),
    });
    Ok(with_verdict(result, protection::judge(&given).as_ref()))
}

fn inrush_sum(inputs: &Value) -> Result<Value, String> {
    let given = Inrush {
        capacitance: needed_quantity(inputs, "capacitance_F")?,
        voltage: needed_quantity(inputs, "voltage_V")?,
        path: needed_quantity(inputs, "path_ohm")?,
        resistor: quantity(inputs, "resistor_ohm")?,
        wait: quantity(inputs, "wait_s")?,
        limit: quantity(inputs, "limit_A")?,
    };
    let found = inrush::closing(given).ok_or_else(beyond)?;
    let charged = found.precharge;
    let result = json!({
        "peak_A": found.peak.get(),
        "energy_J": found.energy.get(),
        "through_A2s": found.through.get(),
        "first_A": figure(charged.map(|charged| charged.first)),
        "precharge_s": figure(charged.map(|charged| charged.time)),
        "gap_V": figure(charged.map(|charged| charged.gap)),
        "second_A": figure(charged.map(|charged| charged.second)),
        "resistor_W": figure(charged.map(|charged| charged.power)),
    });
    Ok(with_verdict(result, inrush::judge(given).as_ref()))
}

fn charger_settings(inputs: &Value) -> Result<Value, String> {
    if let Some(seen) = inputs.get("follows").filter(|seen| seen.is_object()) {
        let seen = Following {
            asked_current: quantity(seen, "asked_A")?,
            given_current: quantity(seen, "given_A")?,
            asked_voltage: quantity(seen, "asked_V")?,
            given_voltage: quantity(seen, "given_V")?,
        };
        return Ok(with_verdict(json!({}), charger_steered::follows(&seen).as_ref()));
    }
    if inputs.get("alternator").is_some_and(Value::is_string) {
        let judged =
            charger_steered::alternator(Guard::parse(text(inputs, "alternator")?), quantity(inputs, "system_V")?);
        return Ok(with_verdict(json!({}), Some(&judged)));
    }
    if inputs.get("sources").is_some_and(Value::is_array) {
        return all_sources(inputs);
    }
    let bank = Bank {
        cells: whole(inputs, "cells")?.ok_or("\"cells\" is missing.")?,
        most: quantity(inputs, "highest_V")?,
        coldest: quantity(inputs, "coldest_C")?,
        capacity: quantity(inputs, "capacity_Ah")?,
        limit: quantity(inputs, "limit_A")?,
    };
    let millivolts: Option<f64> = number(inputs, "compensation_mV_per_K")?;
    let compensation = millivolts.map(|by| Quantity::new(by / 1000.0)).transpose();
    let set = Settings {
        absorption: quantity(inputs, "absorption_V")?,
        float: quantity(inputs, "float_V")?,
        restart: quantity(inputs, "restart_V")?,
        compensation: compensation.map_err(|error| format!("\"compensation_mV_per_K\": {error}."))?,
        equalise: flag(inputs, "equalise")?,
        equalise_voltage: quantity(inputs, "equalise_V")?,
        has_cold_stop: flag(inputs, "has_cold_stop")?,
        cold_stop: quantity(inputs, "cold_stop_C")?,
        current: quantity(inputs, "current_A")?,
        tail: quantity(inputs, "tail_A")?,
        absorption_time: quantity(inputs, "absorption_h")?,
    };
    let cell = |volts: Option<Volts>| figure(volts.and_then(|volts| bank.cell(volts)));
    let at = |degrees: Celsius| figure((|| compensated(set.absorption?, set.compensation?, degrees))());
    let result = json!({
        "cell_V": {
            "absorption": cell(set.absorption),
            "float": cell(set.float),
            "restart": cell(set.restart),
            "equalise": cell(set.equalise_voltage),
        },
        "compensated_V": { "cold_0C": at(Celsius::of(0.0)), "warm_45C": at(Celsius::of(45.0)) },
        "highest_V": figure(bank.highest()),
    });
    Ok(with_verdict(result, charger::judge(&set, &bank).as_ref()))
}

fn all_sources(inputs: &Value) -> Result<Value, String> {
    let strings = whole(inputs, "strings")?.ok_or("\"strings\" is missing.")?;
    let (limit, one_missing) =
        charger_steered::limits(needed_quantity(inputs, "string_limit_A")?, strings).ok_or_else(beyond)?;
    let (mut currents, mut unsteered) = (Vec::new(), Vec::new());
    for source in list(inputs, "sources")? {
        let current = quantity(source, "current_A")?;
        currents.push(current);
        if flag(source, "steered")? != Some(true) {
            unsteered.push(current);
        }
    }
    let judged = charger_steered::sources(&Sources { currents, unsteered, limit, one_missing });
    let result = json!({ "limit_A": limit.get(), "one_missing_A": one_missing.get() });
    Ok(with_verdict(result, judged.as_ref()))
}

fn joint_sum(inputs: &Value) -> Result<Value, String> {
    let read = |of: &Value| -> Result<Read, String> {
        let volts = number(of, "millivolt")?.ok_or("\"millivolt\" is missing.")? / 1000.0;
        let volts = Volts::new(volts).map_err(|error| format!("\"millivolt\": {error}."))?;
        let digit = number(of, "digit_millivolt")?.unwrap_or(0.1) / 1000.0;
        if digit < 0.0 {
            return Err("\"digit_millivolt\" must not be below zero.".into());
        }
        Ok(Read { voltage: Shown { figure: volts.into(), digit }, current: needed_quantity(of, "current_A")? })
    };
    let all = list(inputs, "joints")?.iter().map(read).collect::<Result<Vec<Read>, String>>()?;
    let judged = all.iter().enumerate().map(|(index, one)| {
        let siblings: Vec<Read> =
            all.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, read)| *read).collect();
        let found = joint::joint(*one);
        let result = json!({
            "resistance_ohm": figure(found.map(|found| found.resistance)),
            "heat_W": figure(found.map(|found| found.heat)),
            "error_ohm": figure(found.map(|found| found.error)),
        });
        with_verdict(result, joint::judge(*one, &siblings).as_ref())
    });
    Ok(json!({ "joints": judged.collect::<Vec<Value>>() }))
}
