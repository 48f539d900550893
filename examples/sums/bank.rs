//! Sums of the bank's numbers.

mod charge;
mod circuit;

use crate::Sum;
use crate::read::{figure, flag, list, number, quantity, text, whole};
use serde_json::{Map, Value, json};
use sixty_ohms::core::bank::explain::{Cause, explain};
use sixty_ohms::core::bank::flags::{Flag, for_all};
use sixty_ohms::core::bank::join::{Candidate, How, Join, JoinReason, JoinVerdict, may_join};
use sixty_ohms::core::bank::limits::{CurrentLimit, in_parallel, in_series};
use sixty_ohms::core::bank::modules::{Bank, Module, Place, SocBasis};
use sixty_ohms::core::bank::rest::{self, OnCurve};
use sixty_ohms::core::bank::shown::{Agreement, Comparison, Shown, What, compare};
use sixty_ohms::core::bank::sunspec::{Point, PointType};
use sixty_ohms::core::bank::total::{Asked, Extreme, SocMeaning, Totals, total};
use sixty_ohms::core::entry;
use sixty_ohms::core::units::{Amperes, Figure, Percent, Quantity, Ratio, Volts};

pub const SUMS: &[Sum] = &[
    Sum {
        name: "bank_total",
        about: "The figures of a whole bank from those of its modules.",
        inputs: "topology: parallel|series|series_then_parallel; modules: [{..}], or strings: [[{..}]]; a module: capacity_Ah, \
                 nominal_V, soh_percent, soc_percent, soc_basis: present (if left out)|nameplate, voltage_V, current_A, \
                 charge_limit_A, discharge_limit_A, charge_voltage_limit_V, discharge_voltage_limit_V, cell_V: [], \
                 temperature_C: [], answering, charge_held_off, discharge_held_off; optional expected_modules (as many as \
                 there are), floor_soc_percent (0), coulombic_efficiency (1)",
        result: "capacity_Ah, present_capacity_Ah, energy_Wh, charge_held_Ah, headroom_Ah, usable_capacity_Ah, soc_percent and \
                 more, each null where it is not known",
        run: bank_total,
    },
    Sum {
        name: "bank_reconcile",
        about: "Each figure that a display shows against the bank's, and what would explain the differences.",
        inputs: "bank (as bank_total); shown: {capacity_Ah, charge_held_Ah, soc_percent, soh_percent, voltage_V, current_A, power_W, \
                 modules_answering, min_cell_V, max_cell_V, min_temperature_C, max_temperature_C}; optional shown_digit: \
                 {the same keys: worth of the last digit}, else taken from the number as written",
        result: "verdicts: [{what, verdict: holds|look_again|fails|not_known, because, shown, expected, error}]; explanations: \
                 [{kind, probability}], most probable first",
        run: bank_reconcile,
    },
    Sum {
        name: "bank_limits",
        about: "How much current a bank may be asked for.",
        inputs: "modules: [{charge_limit_A, discharge_limit_A}]; optional share_of_total: [] (0 to 1, together 1), topology: \
                 parallel (if left out)|series",
        result: "bank_charge_limit_A, sum_of_limits_A, binding_module; the same for discharge",
        run: bank_limits,
    },
    Sum {
        name: "charge_asked",
        about: "Is what a bank asks of its chargers what it may ask, and when will it be full?",
        inputs: "bank (as bank_total; a module may say series_cells); asked_V, asked_A, optional coldest_charge_C (0), \
                 hottest_charge_C (45)",
        result: "verdict: holds|look-again|fails|not-done (null: nothing asked), because: [], sum_A, shared_A, if_whole_A, \
                 one_missing_A, missing, sum_V, weakest_V, cells: [least, most], hours_to_full, hours_to_full_as_asked",
        run: charge::charge_asked,
    },
    Sum {
        name: "sunspec_point",
        about: "The value of a point of SunSpec models 802 to 805.",
        inputs: "name, raw, sf (power of ten); optional type, model (802 to 805; else the first that has the name)",
        result: "value (null: not implemented, or its scale factor is not known), unit as the model writes it",
        run: sunspec_point,
    },
    Sum {
        name: "rvc_aggregate",
        about: "Two-bit flags of several sources as one: set only when all are; one known 0 settles it, an error (2) outlives no \
                data (3).",
        inputs: "flags: [[0..3]], a list for each source, one flag for each condition",
        result: "aggregate: [], one for each condition",
        run: rvc_aggregate,
    },
    Sum {
        name: "rest_voltage",
        about: "Rest voltage of LFP cells against state of charge, 25 °C, both ways.",
        inputs: "soc_percent, optional series (cells); or pack_V, series, meter_error_V (of the pack's reading)",
        result: "cell_V, pack_V; or soc_percent, soc_percent_low, soc_percent_high, standing: inside|below|above",
        run: rest_voltage,
    },
    Sum {
        name: "may_join",
        about: "May these modules, at rest, be joined as they are?",
        inputs: "modules: [{voltage_V, soc_percent, resistance_ohm}], series_cells (of one module), lead_ohm (the whole loop), \
                 topology: parallel (if left out)|series",
        result: "verdict: may|look_again|must_not|not_known, equalising_A, because",
        run: may_join_sum,
    },
    Sum {
        name: "sharing",
        about: "How modules side by side share a current.",
        inputs: "wiring: same_end|diagonal|middle|busbar; emf_V: [], module_resistance_ohm: [], \
                 own_lead_resistance_both_poles_ohm: [], link_resistance_each_polarity_ohm: [] (N - 1; for busbar 0 if left out), \
                 or positive_link_resistance_ohm and negative_link_resistance_ohm; optional positive_tap_module and \
                 negative_tap_module; load_current_A",
        result: "module_current_A: [], tap_voltage_V, largest_over_mean, smallest_over_mean, module_voltage_V: []",
        run: circuit::sharing,
    },
    Sum {
        name: "sharing_odd",
        about: "From measured module currents: which branch is not as described.",
        inputs: "as sharing without load_current_A; module_current_A: [], optional tap_voltage_V",
        result: "suspect_module (null: none, or it cannot be told); modules: [{should_be_A, off, share: good|uneven|odd, \
                 resistance_ohm}]",
        run: circuit::sharing_odd,
    },
];

/// The sentence of a core error.
fn said(error: impl std::fmt::Display) -> String {
    format!("{error}.")
}

/// A list of quantities; an entry may be null.
fn quantities<Q: Quantity>(inputs: &Value, key: &str) -> Result<Vec<Option<Q>>, String> {
    let read = |value: &Value| match value {
        Value::Null => Ok(None),
        value => match value.as_f64() {
            Some(number) => Q::new(number).map(Some).map_err(|error| format!("\"{key}\": {error}.")),
            None => Err(format!("\"{key}\" must hold numbers only.")),
        },
    };
    list(inputs, key)?.iter().map(read).collect()
}

fn object<'a>(value: &'a Value, key: &str) -> Result<&'a Value, String> {
    if value.is_object() { Ok(value) } else { Err(format!("\"{key}\" must hold objects.")) }
}

fn module(value: &Value) -> Result<Module, String> {
    let value = object(value, "modules")?;
    Ok(Module {
        capacity: quantity(value, "capacity_Ah")?,
        nominal: quantity(value, "nominal_V")?,
        series_cells: whole(value, "series_cells")?,
        soh: quantity(value, "soh_percent")?,
        soc: quantity(value, "soc_percent")?,
        soc_basis: match value.get("soc_basis").filter(|basis| !basis.is_null()) {
            None => SocBasis::default(),
            Some(_) => match text(value, "soc_basis")? {
                "present" => SocBasis::Present,
                "nameplate" => SocBasis::Nameplate,
                other => return Err(format!("\"soc_basis\" cannot be \"{other}\": present or nameplate.")),
            },
        },
        voltage: quantity(value, "voltage_V")?,
        current: quantity(value, "current_A")?,
        charge_limit: magnitude(value, "charge_limit_A")?,
        discharge_limit: magnitude(value, "discharge_limit_A")?,
        charge_voltage_limit: quantity(value, "charge_voltage_limit_V")?,
        discharge_voltage_limit: quantity(value, "discharge_voltage_limit_V")?,
        cells: quantities(value, "cell_V")?,
        temperatures: quantities(value, "temperature_C")?,
        answering: flag(value, "answering")?,
        charge_held_off: flag(value, "charge_held_off")?,
        discharge_held_off: flag(value, "discharge_held_off")?,
    })
}

/// A limit: never below zero.
fn magnitude(value: &Value, key: &str) -> Result<Option<Amperes>, String> {
    match quantity::<Amperes>(value, key)? {
        Some(limit) if limit.get() < 0.0 => Err(format!("\"{key}\" is a magnitude: it cannot be below zero.")),
        limit => Ok(limit),
    }
}

fn bank(inputs: &Value) -> Result<Bank, String> {
    let modules = |value: &[Value]| value.iter().map(module).collect::<Result<Vec<Module>, String>>();
    let strings = list(inputs, "strings")?;
    let flat = modules(list(inputs, "modules")?)?;
    if !strings.is_empty() && !flat.is_empty() {
        return Err("Give \"modules\" or \"strings\", not both.".into());
    }
    let mut read = Vec::new();
    for string in strings {
        read.push(modules(string.as_array().ok_or("\"strings\" must hold lists of modules.")?)?);
    }
    match text(inputs, "topology")? {
        "parallel" if strings.is_empty() => Bank::parallel(flat),
        "series" if strings.is_empty() => Bank::series(flat),
        "series" if read.len() == 1 => Bank::new(read),
        "parallel" if read.iter().all(|string| string.len() == 1) => Bank::new(read),
        "series_then_parallel" if flat.is_empty() => Bank::new(read),
        topology @ ("parallel" | "series" | "series_then_parallel") => {
            return Err(format!("\"{topology}\" does not go with these modules and strings."));
        }
        other => {
            return Err(format!("\"topology\" cannot be \"{other}\": parallel, series or series_then_parallel."));
        }
    }
    .map_err(said)
}

fn asked(inputs: &Value) -> Result<Asked, String> {
    let efficiency = match number(inputs, "coulombic_efficiency")? {
        None => None,
        Some(share) if share > 0.0 && share <= 1.0 => Some(Percent::new(share * 100.0).map_err(said)?),
        Some(_) => return Err("\"coulombic_efficiency\" must be above 0 and at most 1.".into()),
    };
    let floor: Option<Percent> = quantity(inputs, "floor_soc_percent")?;
    if floor.is_some_and(|floor| floor.get() > 100.0) {
        return Err("\"floor_soc_percent\" cannot be above 100.".into());
    }
    Ok(Asked { expected: whole(inputs, "expected_modules")?, floor, efficiency })
}

/// Places as the modules were given: of a flat list the module's number in it.
fn place(bank: &Bank, at: Place) -> Value {
    if bank.strings().iter().all(|string| string.len() == 1) {
        json!({ "module": at.string })
    } else {
        json!({ "string": at.string, "module": at.module })
    }
}

fn extreme<Q: Quantity>(bank: &Bank, found: Option<Extreme<Q>>, index: &str) -> (Value, Value) {
    let Some(found) = found else { return (Value::Null, Value::Null) };
    let mut at = place(bank, found.place);
    at[index] = json!(found.index);
    (json!(found.value.get()), at)
}

fn bank_total(inputs: &Value) -> Result<Value, String> {
    let bank = bank(inputs)?;
    let totals = total(&bank, asked(inputs)?).map_err(said)?;
    Ok(totals_json(&bank, &totals))
}

fn totals_json(bank: &Bank, t: &Totals) -> Value {
    let places = |list: &[Place]| list.iter().map(|at| place(bank, *at)).collect::<Vec<Value>>();
    let mut out = Map::new();
    let mut put = |key: &str, value: Value| out.insert(key.into(), value);
    put("capacity_Ah", figure(t.capacity));
    put("capacity_answering_Ah", figure(t.capacity_heard));
    put("present_capacity_Ah", figure(t.present_capacity));
    put("usable_capacity_Ah", figure(t.usable_capacity));
    put("energy_Wh", figure(t.energy));
    put("nominal_V", figure(t.nominal));
    put("charge_held_Ah", figure(t.charge_held));
    put("headroom_Ah", figure(t.headroom));
    put("soc_percent", figure(t.soc));
    put("soc_percent_of_nameplate", figure(t.soc_of_nameplate));
    put("soc_percent_cautious", figure(t.soc_cautious));
    let meaning = match t.soc_meaning {
        SocMeaning::Weighted => "charge held of present capacity",
        SocMeaning::Usable => "charge to first empty of what lies between first empty and first full",
    };
    put("soc_meaning", json!(meaning));
    put("soh_percent", figure(t.soh));
    put("soh_percent_cautious", figure(t.soh_cautious));
    put("voltage_V", figure(t.voltage));
    put("voltage_spread_V", figure(t.voltage_spread));
    put("current_A", figure(t.current));
    put("current_spread_in_string_A", figure(t.current_spread));
    put("power_W", figure(t.power));
    put("charge_limit_sum_A", figure(t.charge_limit_sum));
    put("charge_limit_cautious_A", figure(t.charge_limit_cautious));
    put("discharge_limit_sum_A", figure(t.discharge_limit_sum));
    put("discharge_limit_cautious_A", figure(t.discharge_limit_cautious));
    put("charge_voltage_limit_V", figure(t.charge_voltage_limit));
    put("charge_voltage_limit_cautious_V", figure(t.charge_voltage_limit_cautious));
    put("discharge_voltage_limit_V", figure(t.discharge_voltage_limit));
    put("discharge_voltage_limit_cautious_V", figure(t.discharge_voltage_limit_cautious));
    put("modules_answering", json!(t.answering));
    put("modules_expected", json!(t.expected));
    put("strings_usable", json!(t.strings_usable));
    put("of_those_answering", json!(t.partial));
    put("charge_permitted", json!(t.charge_permitted));
    put("discharge_permitted", json!(t.discharge_permitted));
    put("charge_held_off_by", json!(places(&t.charge_held_off_by)));
    put("discharge_held_off_by", json!(places(&t.discharge_held_off_by)));
    put("silent", json!(places(&t.silent)));
    let (value, at) = extreme(bank, t.lowest_cell, "cell");
    put("min_cell_V", value);
    put("min_cell_at", at);
    let (value, at) = extreme(bank, t.highest_cell, "cell");
    put("max_cell_V", value);
    put("max_cell_at", at);
    put("cell_spread_mV", t.cell_spread.map_or(Value::Null, |spread| json!(spread.get() * 1000.0)));
    let (value, at) = extreme(bank, t.coldest, "sensor");
    put("min_temperature_C", value);
    put("min_temperature_at", at);
    let (value, at) = extreme(bank, t.hottest, "sensor");
    put("max_temperature_C", value);
    put("max_temperature_at", at);
    put("hours_to_floor", figure(t.to_floor));
    put("hours_to_full", figure(t.to_full));
    Value::Object(out)
}

/// The keys of a display's figures.
const SHOWN: [(&str, What); What::ALL.len()] = [
    ("capacity_Ah", What::Capacity),
    ("charge_held_Ah", What::ChargeHeld),
    ("soc_percent", What::Soc),
    ("soh_percent", What::Soh),
    ("voltage_V", What::Voltage),
    ("current_A", What::Current),
    ("power_W", What::Power),
    ("modules_answering", What::Modules),
    ("min_cell_V", What::LowestCell),
    ("max_cell_V", What::HighestCell),
    ("min_temperature_C", What::Coldest),
    ("max_temperature_C", What::Hottest),
];

/// Worth of the last digit of a number as it was written: 0.1 for 53.1, 1 for 53.
fn last_digit(written: &Value) -> f64 {
    let text = written.to_string();
    let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len().min(12));
    10_f64.powi(-(decimals as i32))
}

fn bank_reconcile(inputs: &Value) -> Result<Value, String> {
    let described = object(inputs.get("bank").ok_or("\"bank\" is missing.")?, "bank")?;
    let bank = bank(described)?;
    let written = object(inputs.get("shown").ok_or("\"shown\" is missing.")?, "shown")?;
    let nothing = json!({});
    let digits = inputs.get("shown_digit").unwrap_or(&nothing);
    let mut shown = Shown::default();
    for (key, what) in SHOWN {
        let Some(value) = number(written, key)? else { continue };
        let figure = Figure::new(what.kind(), value).map_err(|error| format!("\"{key}\": {error}."))?;
        let digit = number(digits, key)?.unwrap_or_else(|| written.get(key).map_or(1.0, last_digit));
        shown
            .set(what, entry::Shown { figure, digit: digit.max(0.0) })
            .map_err(|_| format!("\"{key}\" is misplaced."))?;
    }
    let totals = total(&bank, asked(described)?).map_err(said)?;
    let verdicts: Vec<Value> = compare(&totals, &shown).iter().map(verdict).collect();
    let explanations: Vec<Value> = explain(&bank, &shown)
        .map_err(said)?
        .iter()
        .map(|entry| {
            let mut out = json!({ "kind": entry.cause.key().replace('-', "_"), "probability": entry.probability });
            match entry.cause {
                Cause::ModuleSilent { module: Some(at) }
                | Cause::ModuleInProtection { module: Some(at) }
                | Cause::OneModuleOnly { module: Some(at) } => out["at"] = place(&bank, at),
                Cause::NameplateWrong { strings: Some(count) } => out["set_for_strings"] = json!(count),
                _ => {}
            }
            out
        })
        .collect();
    Ok(json!({ "verdicts": verdicts, "explanations": explanations }))
}

fn verdict(compared: &Comparison) -> Value {
    let key = SHOWN.iter().find(|(_, what)| *what == compared.what).map_or("", |(key, _)| *key);
    let (shown, error) = (compared.shown.figure.value(), compared.error);
    let unit = compared.what.kind().symbol();
    let (verdict, how) = match compared.agreement {
        Agreement::Agrees => ("holds", "which is within"),
        Agreement::Near => ("look_again", "which is within twice"),
        Agreement::Differs => ("fails", "which is beyond twice"),
        Agreement::NotKnown => ("not_known", ""),
    };
    let because = match compared.expected.map(Figure::value) {
        Some(expected) => {
            format!(
                "Shown {shown} {unit}, the bank's own is {expected:.3} {unit}, {how} the error of {error:.3} {unit}."
            )
        }
        None => format!("Shown {shown} {unit}, but the bank's own is not known."),
    };
    let expected = compared.expected.map(Figure::value);
    json!({ "what": key, "verdict": verdict, "because": because, "shown": shown, "expected": expected, "error": error })
}

fn bank_limits(inputs: &Value) -> Result<Value, String> {
    let modules = list(inputs, "modules")?;
    let limits = |key: &str| -> Result<Vec<Option<Amperes>>, String> {
        modules.iter().map(|value| magnitude(object(value, "modules")?, key)).collect()
    };
    let shares: Option<Vec<Ratio>> = match inputs.get("share_of_total").filter(|shares| !shares.is_null()) {
        None => None,
        // A share that is not known leaves the sharing not known.
        Some(_) => quantities(inputs, "share_of_total")?.into_iter().collect(),
    };
    let how = how(inputs)?;
    let limit = |key: &str| -> Result<CurrentLimit, String> {
        let limits = limits(key)?;
        match how {
            How::Parallel => in_parallel(&limits, shares.as_deref()),
            How::Series => in_series(&limits),
        }
        .map_err(said)
    };
    let (charge, discharge) = (limit("charge_limit_A")?, limit("discharge_limit_A")?);
    Ok(json!({
        "bank_charge_limit_A": figure(charge.safe),
        "sum_of_limits_A": figure(charge.sum),
        "binding_module": charge.binding,
        "bank_discharge_limit_A": figure(discharge.safe),
        "sum_of_discharge_limits_A": figure(discharge.sum),
        "binding_module_discharge": discharge.binding,
    }))
}

/// Parallel unless said otherwise.
fn how(inputs: &Value) -> Result<How, String> {
    match inputs.get("topology").filter(|topology| !topology.is_null()) {
        None => Ok(How::Parallel),
        Some(_) => match text(inputs, "topology")? {
            "parallel" => Ok(How::Parallel),
            "series" => Ok(How::Series),
            other => Err(format!("\"topology\" cannot be \"{other}\": parallel or series.")),
        },
    }
}

/// A whole number, as registers hold them.
fn integer(inputs: &Value, key: &str) -> Result<Option<i64>, String> {
    match number(inputs, key)? {
        None => Ok(None),
        Some(value) if value.fract() == 0.0 && value.abs() < 1e15 => Ok(Some(value as i64)),
        Some(_) => Err(format!("\"{key}\" must be a whole number.")),
    }
}

fn sunspec_point(inputs: &Value) -> Result<Value, String> {
    let model = match integer(inputs, "model")? {
        None => None,
        Some(model) => Some(u16::try_from(model).map_err(|_| "\"model\" must be 802 to 805.")?),
    };
    let name = text(inputs, "name")?;
    let point = Point::find(name, model).map_err(|error| format!("\"{name}\": {error}."))?;
    if inputs.get("type").is_some_and(|kind| !kind.is_null()) {
        let kind = text(inputs, "type")?;
        if PointType::ALL.iter().all(|known| known.name() != kind) {
            return Err(format!("\"type\" cannot be \"{kind}\"; {name} is {}.", point.kind.name()));
        }
        if kind != point.kind.name() {
            return Err(format!("{name} is {} in model {}, not {kind}.", point.kind.name(), point.model));
        }
    }
    let raw = integer(inputs, "raw")?;
    let value = match raw {
        None => None,
        Some(raw) => point.value(raw, integer(inputs, "sf")?).map_err(|error| format!("{name}: {error}."))?,
    };
    Ok(json!({
        "value": value.map(|value| value.number()),
        "unit": point.unit.name(),
        "model": point.model,
        "type": point.kind.name(),
        "scale_factor": point.scale,
    }))
}

fn rvc_aggregate(inputs: &Value) -> Result<Value, String> {
    let mut sources: Vec<Vec<Flag>> = Vec::new();
    for source in list(inputs, "flags")? {
        let source = source.as_array().ok_or("\"flags\" must hold lists.")?;
        let read = |value: &Value| match value {
            Value::Null => Ok(Flag::NoData),
            value => value
                .as_u64()
                .and_then(|bits| Flag::from_bits(u8::try_from(bits).ok()?))
                .ok_or_else(|| String::from("\"flags\": a flag must be 0, 1, 2 or 3.")),
        };
        sources.push(source.iter().map(read).collect::<Result<_, String>>()?);
    }
    let count = sources.first().map_or(0, Vec::len);
    if sources.iter().any(|source| source.len() != count) {
        return Err("\"flags\": every source must have as many flags as the first.".into());
    }
    let of =
        |index: usize| for_all(&sources.iter().filter_map(|source| source.get(index).copied()).collect::<Vec<_>>());
    Ok(json!({ "aggregate": (0..count).map(|index| of(index).bits()).collect::<Vec<_>>() }))
}

fn rest_voltage(inputs: &Value) -> Result<Value, String> {
    let series = whole(inputs, "series")?;
    if let Some(pack) = quantity::<Volts>(inputs, "pack_V")? {
        if quantity::<Percent>(inputs, "soc_percent")?.is_some() {
            return Err("Give \"soc_percent\" or \"pack_V\", not both.".into());
        }
        let Some(series) = series else {
            return Ok(
                json!({ "cell_V": null, "soc_percent": null, "soc_percent_low": null, "soc_percent_high": null }),
            );
        };
        let soc = rest::soc(pack, series).map_err(said)?.get();
        let error: Option<Volts> = quantity(inputs, "meter_error_V")?;
        let range = error.map(|error| rest::soc_range(pack, series, error)).transpose().map_err(said)?;
        let standing = range.map(|range| match range.standing {
            OnCurve::Inside => "inside",
            OnCurve::Below => "below",
            OnCurve::Above => "above",
        });
        return Ok(json!({
            "cell_V": pack.get() / f64::from(series),
            "soc_percent": soc,
            "soc_percent_low": range.map(|range| range.low.get()),
            "soc_percent_high": range.map(|range| range.high.get()),
            "standing": standing,
        }));
    }
    let Some(soc) = quantity::<Percent>(inputs, "soc_percent")? else {
        return Ok(json!({ "cell_V": null, "pack_V": null }));
    };
    let pack = series.map(|series| rest::pack(soc, series)).transpose().map_err(said)?;
    Ok(json!({ "cell_V": rest::cell(soc).map_err(said)?.get(), "pack_V": figure(pack) }))
}

fn may_join_sum(inputs: &Value) -> Result<Value, String> {
    let mut modules = Vec::new();
    for value in list(inputs, "modules")? {
        let value = object(value, "modules")?;
        modules.push(Candidate {
            voltage: quantity(value, "voltage_V")?,
            soc: quantity(value, "soc_percent")?,
            resistance: quantity(value, "resistance_ohm")?,
        });
    }
    let join = may_join(&modules, how(inputs)?, whole(inputs, "series_cells")?, quantity(inputs, "lead_ohm")?);
    let verdict = match join.verdict {
        JoinVerdict::May => "may",
        JoinVerdict::LookAgain => "look_again",
        JoinVerdict::MustNot => "must_not",
        JoinVerdict::NotKnown => "not_known",
    };
    Ok(json!({ "verdict": verdict, "equalising_A": figure(join.equalising), "because": joined(&join) }))
}

fn joined(join: &Join) -> String {
    match join.reason {
        JoinReason::FewerThanTwo => "It takes two modules to join.".into(),
        JoinReason::VoltageNotKnown => "The rest voltage of a module is not known.".into(),
        JoinReason::CellsNotKnown => "The number of cells in series is not known.".into(),
        JoinReason::SocNotKnown => {
            "The state of charge of a module is not known, and voltage alone can hide it.".into()
        }
        JoinReason::VoltagesApart { gap, limit } => {
            format!("The rest voltages are {:.3} V apart, more than {:.3} V.", gap.get(), limit.get())
        }
        JoinReason::SocApart { gap, limit } => {
            format!("The states of charge are {:.1} points apart, more than {:.0}.", gap.get(), limit.get())
        }
        JoinReason::SocNearlyApart { gap, limit } => {
            format!("The states of charge are {:.1} points apart; {:.0} or less is better.", gap.get(), limit.get())
        }
        JoinReason::AllClose { gap, soc_gap } => {
            format!(
                "Rest voltages lie within {:.3} V and states of charge within {:.1} points.",
                gap.get(),
                soc_gap.get()
            )
        }
        JoinReason::AllFull { lowest } => format!("All are full; the lowest is at {:.1} %.", lowest.get()),
        JoinReason::NotAllFull { lowest } => {
            format!("Charge each singly to full first; the lowest is at {:.1} %.", lowest.get())
        }
    }
}
