//! The sums `backup` and `readings`: files that the app writes of kept jobs.

use crate::Sum;
use serde_json::{Value, json};
use sixty_ohms::core::job::backup::{self, Step};
use sixty_ohms::core::job::{Job, Moment, csv, stored};

pub const SUMS: &[Sum] = &[
    Sum {
        name: "backup",
        about: "The backup file of some kept texts, and what restoring it over others would do",
        inputs: "made_at, texts: [[key, text]], photos: [[key, [byte]]], here: [[key, text]], all optional",
        result: "file (the text), steps (add, same, forward, behind, beside, aside, aside-beside)",
        run: back_up,
    },
    Sum {
        name: "readings",
        about: "The table of readings of some kept jobs",
        inputs: "texts: [text]",
        result: "table (the text)",
        run: readings,
    },
];

fn back_up(inputs: &Value) -> Result<Value, String> {
    let made_at = Moment(inputs.get("made_at").and_then(Value::as_i64).unwrap_or_default());
    let mut file = backup::head(made_at, &pairs(inputs, "texts")?);
    let photos: Vec<(String, Vec<u8>)> = taken(inputs, "photos")?;
    for (index, (key, bytes)) in photos.iter().enumerate() {
        file += &backup::photo(index == 0, key, bytes);
    }
    file += backup::TAIL;
    let read = backup::read(&file).map_err(|why| format!("Its own file is not read: {why:?}."))?;
    let steps: Vec<&str> = backup::plan(&read, &pairs(inputs, "here")?)
        .iter()
        .map(|step| match step {
            Step::Add(_) => "add",
            Step::Same => "same",
            Step::Forward(_) => "forward",
            Step::Behind => "behind",
            Step::Beside(_) => "beside",
            Step::Aside(..) => "aside",
            Step::AsideBeside(..) => "aside-beside",
        })
        .collect();
    Ok(json!({ "file": file, "steps": steps }))
}

fn readings(inputs: &Value) -> Result<Value, String> {
    let texts: Vec<String> = taken(inputs, "texts")?;
    let jobs: Vec<Job> = texts
        .iter()
        .map(|text| stored::open(text).map(|stored| stored.job).map_err(|why| format!("A text is not read: {why:?}.")))
        .collect::<Result<_, _>>()?;
    let name = |of: &_| serde_json::to_string(of).unwrap_or_default();
    Ok(json!({ "table": csv::readings(jobs.iter(), &name) }))
}

fn pairs(inputs: &Value, key: &str) -> Result<Vec<(String, String)>, String> {
    taken(inputs, key)
}

fn taken<T: serde::de::DeserializeOwned>(inputs: &Value, key: &str) -> Result<Vec<T>, String> {
    match inputs.get(key) {
        None | Some(Value::Null) => Ok(Vec::new()),
        Some(value) => serde_json::from_value(value.clone()).map_err(|error| format!("\"{key}\": {error}.")),
    }
}
