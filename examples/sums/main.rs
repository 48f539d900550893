//! A door for checking: reads JSON lines `{"sum": NAME, "inputs": {…}}` and answers each with one line,
//! `{"result": {…}}` or `{"error": "a sentence"}`. Run with `--help` for the sums and their keys.

mod bank;
mod bus;
mod finder;
mod kept;
mod power;
mod read;
mod signal;
mod words;

use serde_json::{Value, json};
use std::io::{BufRead, Write};

/// One sum behind the door.
pub struct Sum {
    pub name: &'static str,
    pub about: &'static str,
    pub inputs: &'static str,
    pub result: &'static str,
    pub run: fn(&Value) -> Result<Value, String>,
}

fn all() -> impl Iterator<Item = &'static Sum> {
    [bus::SUMS, signal::SUMS, bank::SUMS, power::SUMS, words::SUMS, finder::SUMS, kept::SUMS].into_iter().flatten()
}

fn main() {
    if std::env::args().any(|arg| arg == "--help" || arg == "-h") {
        println!("{}", help());
        return;
    }
    let stdin = std::io::stdin().lock();
    let mut stdout = std::io::stdout().lock();
    for line in stdin.split(b'\n') {
        let Ok(line) = line else { break };
        let line = String::from_utf8_lossy(&line);
        if line.trim().is_empty() {
            continue;
        }
        let answer = answer(&line).unwrap_or_else(|error| json!({ "error": error }));
        // A closed pipe is the reader's way of saying that it has seen enough.
        if writeln!(stdout, "{answer}").is_err() {
            break;
        }
    }
}

fn answer(line: &str) -> Result<Value, String> {
    let request: Value = serde_json::from_str(line).map_err(|error| format!("This line is not JSON: {error}."))?;
    let name = request.get("sum").and_then(Value::as_str).ok_or("The key \"sum\" must name a sum.")?;
    let empty = json!({});
    let inputs = request.get("inputs").unwrap_or(&empty);
    if !inputs.is_object() {
        return Err("The key \"inputs\" must hold an object.".into());
    }
    let sum = all().find(|sum| sum.name == name).ok_or_else(|| format!("There is no sum \"{name}\"; see --help."))?;
    Ok(json!({ "result": (sum.run)(inputs)? }))
}

fn help() -> String {
    let mut text = String::from(
        "Reads JSON lines {\"sum\": NAME, \"inputs\": {…}} from standard input and writes one line for each:\n\
         {\"result\": {…}} or {\"error\": \"a sentence\"}. Units stand in the keys. Positive current is out of the bank.\n\
         Indices count from 1. An input that is not known is left out or null; what depends on it comes back null.\n",
    );
    for sum in all() {
        text += &format!("\n{}\n  {}\n  inputs: {}\n  result: {}\n", sum.name, sum.about, sum.inputs, sum.result);
    }
    text
}
