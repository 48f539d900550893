//! A door for checking codes: reads JSON lines `{"address": TEXT, "payload": HEX}` and answers each with one line,
//! `{"letters", "digits", "version", "level", "rows"}`; a row is a text of `1` for dark and `0` for light. Where the payload
//! fits no code the last three are null.

use serde_json::{Value, json};
use sixty_ohms::core::job::code::{Code, code};
use sixty_ohms::core::job::link::Packed;
use std::io::BufRead;

fn main() {
    for line in std::io::stdin().lock().lines().map_while(Result::ok) {
        println!("{}", answer(&line).unwrap_or_else(|| json!({ "error": "This line is not as it should be." })));
    }
}

fn answer(line: &str) -> Option<Value> {
    let request: Value = serde_json::from_str(line).ok()?;
    let hex = request["payload"].as_str()?;
    let bytes = (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(hex.get(at..at + 2)?, 16).ok());
    let packed = Packed { payload: bytes.collect::<Option<Vec<u8>>>()?, over: false };
    let code = code(request["address"].as_str()?, &packed);
    Some(json!({
        "letters": packed.letters(),
        "digits": packed.digits(),
        "version": code.as_ref().map(|code| code.version),
        "level": code.as_ref().map(|code| format!("{:?}", code.level)),
        "rows": code.as_ref().map(rows),
    }))
}

fn rows(code: &Code) -> Vec<String> {
    let row = |row| (0..code.size).map(|column| if code.is_dark(column, row) { '1' } else { '0' }).collect();
    (0..code.size).map(row).collect()
}
