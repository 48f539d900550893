//! The sum `diagnose`: a story of the fault finder, or a model of the caller's own in bare numbers.

use crate::Sum;
use crate::read::{flag, list, number, numbers, quantity, text};
use serde_json::{Value, json};
use sixty_ohms::content::built_in;
use sixty_ohms::core::faults::finder::engine::{Engine, Plan, Step};
use sixty_ohms::core::faults::finder::physics::Shape;
use sixty_ohms::core::faults::finder::{Advice, Event, Finder, Next, Reason};
use sixty_ohms::core::site::plain::plain;
use sixty_ohms::core::units::Metres;

pub const SUMS: &[Sum] = &[Sum {
    name: "diagnose",
    about: "The likeliest causes of what was seen, each with what speaks for it, and the check that tells most for its minutes",
    inputs: "site: {kind (van|boat|cabin|new|yearly), series, parallel, bus_m, link_m, charger}, all optional; \
             observations: [{check, outcome} or {check, value} (ohms, Ah, V, a count; null is an open path) or {symptom} or {alarm} or \
             {cannot_now: check} or {repaired: fault}], in order. Or model: {weights, families, nothing, two, error, repair_fails, \
             checks: [[row with nothing wrong, row of each fault]]}, steps: [{check, outcome} or {repaired}], indices from 0",
    result: "faults: [{id, probability}], nothing_wrong, causes: [{id, probability, why: [{of, outcome, bits}]}], next: {check, reason, \
             minutes, information_bits, outcomes} or repair: {id, probability, proof} or stop: {check, outcome}, spent_minutes, \
             forbidden: [{check, fact}]. For a model: hypotheses, posterior, information_bits of each check, speaks_bits \
             of each check for each fault and for nothing wrong",
    run: diagnose,
}];

fn diagnose(inputs: &Value) -> Result<Value, String> {
    if let Some(model) = inputs.get("model") {
        return bare(model, list(inputs, "steps")?);
    }
    let content = built_in();
    let empty = json!({});
    let site = inputs.get("site").unwrap_or(&empty);
    let count = |key: &str, usual: u32| -> Result<u32, String> {
        match number(site, key)? {
            None => Ok(usual),
            Some(n) if (1.0..=64.0).contains(&n) && n.fract() == 0.0 => Ok(n as u32),
            Some(_) => Err(format!("\"{key}\" must be a whole number from 1 to 64.")),
        }
    };
    let (series, parallel) = (count("series", 1)?, count("parallel", 3)?);
    let mut draft = plain(series * parallel, quantity(site, "bus_m")?.unwrap_or(Metres::of(5.0)));
    draft.link_length = Some(quantity(site, "link_m")?.unwrap_or(Metres::of(0.5)));
    (draft.series, draft.parallel) = (Some(series), Some(parallel));
    if let Some(module) = &mut draft.module {
        module.most_in_series = series;
    }
    let built = draft.site().map_err(|problems| format!("\"site\" is no site: {problems:?}."))?;
    let mut shape = Shape::of(&built);
    shape.charger = flag(site, "charger")?.unwrap_or(true);
    let tables = &content.finder;
    let kind = if site.get("kind").is_some() { text(site, "kind")? } else { "van" };
    if !tables.kinds.iter().any(|known| known == kind) {
        return Err(format!("\"kind\" must be one of {:?}.", tables.kinds));
    }
    let finder = Finder::new(tables, kind, shape);
    let mut events = Vec::new();
    for seen in list(inputs, "observations")? {
        events.extend(read(&finder, seen)?);
    }

    let report = finder.report(&events);
    let (_, marginals) = finder.probabilities(&events);
    let mut faults: Vec<(&String, f64)> =
        tables.faults.iter().map(|fault| &fault.key).zip(marginals).filter(|(_, p)| *p > 0.0).collect();
    faults.sort_by(|a, b| b.1.total_cmp(&a.1));
    let list: Vec<Value> = faults.iter().map(|(id, p)| json!({ "id": id, "probability": p })).collect();
    let causes: Vec<Value> = report
        .causes
        .iter()
        .map(|cause| {
            let why = |why: &sixty_ohms::core::faults::finder::Why| json!({ "of": why.of, "outcome": why.outcome, "bits": why.bits });
            json!({ "id": cause.fault, "probability": cause.probability, "why": cause.why.iter().map(why).collect::<Vec<_>>() })
        })
        .collect();
    let forbidden: Vec<Value> =
        report.forbidden.iter().map(|(check, fact)| json!({ "check": check, "fact": fact })).collect();
    let mut result = json!({
        "faults": list, "nothing_wrong": finder.probabilities(&events).0, "causes": causes, "next": null,
        "spent_minutes": report.spent, "forbidden": forbidden,
    });
    match report.advice {
        Advice::Look(next) => result["next"] = told(&next),
        Advice::Stop { check, outcome } => result["stop"] = json!({ "check": check, "outcome": outcome }),
        Advice::Repair { fault, probability, proof } => {
            result["repair"] = json!({ "id": fault, "probability": probability, "proof": proof });
        }
        Advice::NothingFound { probability } => result["nothing_found"] = json!({ "probability": probability }),
    }
    Ok(result)
}

fn told(next: &Next) -> Value {
    let outcomes = next.outcomes.iter().map(|meaning| {
        json!({ "outcome": meaning.outcome, "chance": meaning.chance, "likeliest": meaning.fault,
                "probability": meaning.probability, "ends_the_search": meaning.ends })
    });
    let (reason, before) = match &next.reason {
        Reason::First => ("comes before all others", None),
        Reason::TellsMost => ("tells most for its minutes", None),
        Reason::Proof => ("shows whether the repair has cured", None),
        Reason::Before(check) => ("must come before another", Some(check)),
    };
    json!({ "check": next.check, "reason": reason, "before": before, "minutes": next.minutes, "information_bits": next.bits,
            "again": next.again, "outcomes": outcomes.collect::<Vec<_>>() })
}

fn read(finder: &Finder<'_>, seen: &Value) -> Result<Vec<Event>, String> {
    let tables = finder.tables;
    let has = |key: &str| seen.get(key).is_some();
    let check = |key: &str| -> Result<String, String> {
        let check = text(seen, key)?;
        tables.check(check).map(|_| check.to_string()).ok_or_else(|| format!("There is no check \"{check}\"."))
    };
    if has("symptom") {
        let key = text(seen, "symptom")?;
        let symptom = tables.symptoms.iter().find(|symptom| symptom.key == key);
        let symptom = symptom.ok_or_else(|| format!("There is no symptom \"{key}\"."))?;
        let event =
            |(check, outcome): (&String, &String)| Event::Seen { check: check.clone(), outcome: outcome.clone() };
        return Ok(symptom.seen.iter().map(event).collect());
    }
    Ok(vec![if has("alarm") {
        let alarm = text(seen, "alarm")?;
        if !tables.alarms.contains_key(alarm) {
            return Err(format!("The alarm \"{alarm}\" speaks for no fault."));
        }
        Event::Alarm { alarm: alarm.into() }
    } else if has("cannot_now") {
        Event::Later { check: check("cannot_now")? }
    } else if has("repaired") {
        let fault = text(seen, "repaired")?;
        tables.fault(fault).ok_or_else(|| format!("There is no fault \"{fault}\"."))?;
        Event::Repaired { fault: fault.into() }
    } else {
        let check = check("check")?;
        let outcome = if has("outcome") {
            let outcome = text(seen, "outcome")?;
            let known = &tables.checks[tables.check(&check).unwrap_or(0)].outcomes;
            if !known.iter().any(|other| other == outcome) {
                return Err(format!("\"{check}\" has the outcomes {known:?}."));
            }
            outcome
        } else {
            finder.outcome_of(&check, number(seen, "value")?).ok_or_else(|| format!("\"{check}\" takes no figure."))?
        };
        Event::Seen { check, outcome: outcome.into() }
    }])
}

/// The engine alone.
fn bare(model: &Value, steps: &[Value]) -> Result<Value, String> {
    let needed = |key: &str| number(model, key)?.ok_or_else(|| format!("\"{key}\" is missing."));
    let weights = numbers(model, "weights")?;
    let families: Vec<usize> = numbers(model, "families")?.iter().map(|family| *family as usize).collect();
    if families.len() != weights.len() || !weights.iter().any(|weight| *weight > 0.0) {
        return Err("\"families\" must be as many as \"weights\", and one weight above 0.".into());
    }
    let mut checks = Vec::new();
    for check in list(model, "checks")? {
        let rows: Vec<Vec<f64>> =
            serde_json::from_value(check.clone()).map_err(|_| "A check must be rows of numbers.")?;
        let outcomes = rows.first().map_or(0, Vec::len);
        if rows.len() != weights.len() + 1 || outcomes == 0 || rows.iter().any(|row| row.len() != outcomes) {
            return Err("A check must have a row for nothing wrong and for each fault, all of one length.".into());
        }
        checks.push(rows);
    }
    let count = checks.len();
    let plan = Plan {
        families,
        nothing: needed("nothing")?,
        two: needed("two")?,
        error: needed("error")?,
        repair_fails: needed("repair_fails")?,
        weights,
        checks,
        pairs: Vec::new(),
    };
    let index = |step: &Value, key: &str| Ok::<_, String>(number(step, key)?.map(|n| n as usize));
    let mut told = Vec::new();
    for step in steps {
        told.push(match (index(step, "repaired")?, index(step, "check")?, index(step, "outcome")?) {
            (Some(fault), ..) => Step::Repaired { fault },
            (_, Some(check), Some(outcome)) => Step::Answer { check, outcome },
            _ => return Err("A step must have \"check\" and \"outcome\", or \"repaired\".".into()),
        });
    }
    let engine = Engine::new(&plan);
    let belief = engine.believe(&told);
    let hypotheses: Vec<Vec<usize>> = engine.hypotheses.iter().map(|h| h.iter().flatten().copied().collect()).collect();
    let causes: Vec<Option<usize>> = (0..plan.weights.len()).map(Some).chain([None]).collect();
    let speaks = |check: usize| engine.speaks(&belief, check, &causes);
    Ok(json!({
        "hypotheses": hypotheses,
        "posterior": belief.now,
        "information_bits": (0..count).map(|check| engine.tells(&belief, check)).collect::<Vec<_>>(),
        "speaks_bits": (0..count).map(speaks).collect::<Vec<_>>(),
    }))
}
