//! From the tables, and from what the site's networks and sums say, to the chance of each outcome under each fault.

use super::engine::Plan;
use super::physics::{Bus, By, Shape};
use super::tables::{Part, Tables};

/// The rows of each check under nothing wrong and each fault, and those of two faults of the network.
pub(super) fn fill(tables: &Tables, shape: &Shape, plan: &mut Plan) {
    let ohms = shape.ohm_rows(None, None);
    let healthy = |by: By| -> Vec<f64> {
        match by {
            By::PairOhmsMonitor => ohms[0].clone(),
            By::PairOhmsBank => ohms[1].clone(),
            By::ReferenceOhms => ohms[2].clone(),
            By::BusVolts => shape.volt_row(None, None),
            By::ShownModules | By::ShownCapacity | By::ShownVoltage => shape.shown_rows(None)[shown_index(by)].clone(),
        }
    };
    let under: Vec<_> = tables
        .faults
        .iter()
        .map(|fault| {
            (
                fault.bus.map(|bus| shape.ohm_rows(Some(bus), None)),
                fault.shown.map(|shown| shape.shown_rows(Some(shown))),
            )
        })
        .collect();
    for check in &tables.checks {
        let parts = |row: &str| tables.parts(check, row).unwrap_or_default();
        let default = parts(&check.default);
        let sums = check.by.map(healthy);
        let mut rows = vec![filled(&default, sums.as_deref())];
        for (fault, (ohms, shown)) in tables.faults.iter().zip(&under) {
            let own = match check.by {
                Some(By::PairOhmsMonitor) => ohms.as_ref().map(|ohms| ohms[0].clone()),
                Some(By::PairOhmsBank) => ohms.as_ref().map(|ohms| ohms[1].clone()),
                Some(By::ReferenceOhms) => ohms.as_ref().map(|ohms| ohms[2].clone()),
                Some(By::BusVolts) => {
                    (fault.bus.is_some() || fault.volts.is_some()).then(|| shape.volt_row(fault.bus, fault.volts))
                }
                Some(by) => shown.as_ref().map(|shown| shown[shown_index(by)].clone()),
                None => None,
            };
            let row = check.row_of(&fault.key).map(parts);
            let sums = own.as_deref().or(sums.as_deref());
            rows.push(filled(row.as_deref().unwrap_or(&default), sums));
        }
        plan.checks.push(rows);
    }
    pairs(tables, shape, plan);
}

/// The rows of two faults of the network: they are one network, neither is louder.
fn pairs(tables: &Tables, shape: &Shape, plan: &mut Plan) {
    let readings = [By::PairOhmsMonitor, By::PairOhmsBank, By::ReferenceOhms]
        .map(|by| tables.checks.iter().position(|check| check.by == Some(by)));
    let mut known: Vec<([Bus; 2], [Vec<f64>; 3])> = Vec::new();
    for (a, first) in tables.faults.iter().enumerate() {
        for (b, second) in tables.faults.iter().enumerate().skip(a + 1) {
            let (Some(one), Some(other)) = (first.bus, second.bus) else { continue };
            if first.family == second.family || plan.weights[a] * plan.weights[b] <= 0.0 {
                continue;
            }
            let at = known.iter().position(|(pair, _)| *pair == [one, other]).unwrap_or_else(|| {
                known.push(([one, other], shape.ohm_rows(Some(one), Some(other))));
                known.len() - 1
            });
            for (check, row) in readings.iter().zip(&known[at].1) {
                plan.pairs.extend(check.map(|check| (check, [a, b], row.clone())));
            }
        }
    }
}

fn shown_index(by: By) -> usize {
    match by {
        By::ShownModules => 0,
        By::ShownCapacity => 1,
        _ => 2,
    }
}

/// Share of what networks and sums say that may be anything: nobody thinks of everything (common practice, no source).
const UNTHOUGHT: f64 = 0.01;

/// The chances of a row: what its words leave open goes to the rest, or is shared out as the sums say.
pub(super) fn filled(parts: &[Part], sums: Option<&[f64]>) -> Vec<f64> {
    let given: f64 = parts.iter().map(|part| if let Part::Chance(chance) = part { *chance } else { 0.0 }).sum();
    let sum = |outcome: usize| sums.and_then(|sums| sums.get(outcome)).copied().unwrap_or(0.0);
    let shared: f64 = (0..parts.len()).filter(|outcome| parts[*outcome] == Part::Sum).map(sum).sum();
    let summed = parts.iter().filter(|part| **part == Part::Sum).count().max(1) as f64;
    let chance = |(outcome, part): (usize, &Part)| match part {
        Part::Chance(chance) => *chance,
        Part::Rest => 1.0 - given,
        Part::Sum if shared > 0.0 => (1.0 - given) * ((1.0 - UNTHOUGHT) * sum(outcome) / shared + UNTHOUGHT / summed),
        Part::Sum => (1.0 - given) / summed,
    };
    parts.iter().enumerate().map(chance).collect()
}

pub(super) fn alarm(tables: &Tables, key: &str) -> Vec<Vec<f64>> {
    let chance = |word: &str| tables.words.chance.get(word).copied().unwrap_or(0.0);
    let named = tables.alarms.get(key);
    let of = |fault: &String| {
        let word = named.and_then(|list| list.iter().find(|(_, faults)| faults.contains(fault)));
        word.map_or(tables.alarm_default.as_str(), |(word, _)| word)
    };
    let row = |shown: f64| vec![1.0 - shown, shown];
    let mut rows = vec![row(chance(&tables.alarm_default))];
    rows.extend(tables.faults.iter().map(|fault| row(chance(of(&fault.key)))));
    rows
}
