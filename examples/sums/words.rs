//! What is found in the content.

use crate::Sum;
use serde_json::{Value, json};
use sixty_ohms::content::search::{Search, codes_of};
use sixty_ohms::content::{Tongue, built_in_as};

pub const SUMS: &[Sum] = &[Sum {
    name: "alarm_search",
    about: "The alarms, states and hold-offs that fit what a display shows, best first.",
    inputs: "query; optional language (\"en\", \"de\")",
    result: "results: [{id, title, kind, severity, meaning, codes: [{list, value}], found_by: {list, value}}]",
    run: alarm_search,
}];

fn alarm_search(inputs: &Value) -> Result<Value, String> {
    let query = inputs.get("query").and_then(Value::as_str).ok_or("The input \"query\" must be a text.")?;
    let tongue = match inputs.get("language") {
        None | Some(Value::Null) => Tongue::English,
        Some(language) => {
            let named = |tongue: &Tongue| language.as_str() == Some(tongue.tag());
            Tongue::ALL.into_iter().find(named).ok_or("The languages are \"en\" and \"de\".")?
        }
    };
    let content = built_in_as(tongue);
    let results: Vec<Value> = Search::new(&content.language)
        .find(query)
        .into_iter()
        .map(|found| {
            let alarm = found.alarm;
            let codes: Vec<Value> =
                codes_of(alarm).map(|code| json!({ "list": code.vocabulary.key(), "value": code.value })).collect();
            json!({
                "id": alarm.key,
                "title": alarm.title,
                "kind": alarm.kind.key(),
                "severity": alarm.urgency.key(),
                "meaning": alarm.meaning,
                "codes": codes,
                "found_by": found.code.map(|code| json!({ "list": code.vocabulary.key(), "value": code.value })),
            })
        })
        .collect();
    Ok(json!({ "results": results }))
}
