//! Reading inputs: each helper says in a sentence what is wrong and where.

use serde_json::Value;
use sixty_ohms::core::units::Quantity;

/// A number that may be left out or null.
pub fn number(inputs: &Value, key: &str) -> Result<Option<f64>, String> {
    match inputs.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(value) => match value.as_f64() {
            Some(number) if number.is_finite() => Ok(Some(number)),
            _ => Err(format!("\"{key}\" must be a number.")),
        },
    }
}

/// A whole number from 1 on that may be left out.
pub fn whole(inputs: &Value, key: &str) -> Result<Option<u32>, String> {
    match number(inputs, key)? {
        None => Ok(None),
        Some(count) if count >= 1.0 && count.fract() == 0.0 && count <= 1e6 => Ok(Some(count as u32)),
        Some(_) => Err(format!("\"{key}\" must be a whole number, 1 or more.")),
    }
}

/// A quantity's number, or null.
pub fn figure(value: Option<impl Quantity>) -> Value {
    value.map_or(Value::Null, |value| Value::from(value.get()))
}

/// A quantity that may be left out or null.
pub fn quantity<Q: Quantity>(inputs: &Value, key: &str) -> Result<Option<Q>, String> {
    number(inputs, key)?.map(|value| Q::new(value).map_err(|error| format!("\"{key}\": {error}."))).transpose()
}

/// A quantity that must be there.
pub fn needed_quantity<Q: Quantity>(inputs: &Value, key: &str) -> Result<Q, String> {
    quantity(inputs, key)?.ok_or_else(|| format!("\"{key}\" is missing."))
}

/// A list of objects or numbers that may be left out.
pub fn list<'a>(inputs: &'a Value, key: &str) -> Result<&'a [Value], String> {
    match inputs.get(key) {
        None | Some(Value::Null) => Ok(&[]),
        Some(Value::Array(list)) => Ok(list),
        Some(_) => Err(format!("\"{key}\" must be a list.")),
    }
}

/// A list of numbers that must be there.
pub fn numbers(inputs: &Value, key: &str) -> Result<Vec<f64>, String> {
    if inputs.get(key).is_none_or(Value::is_null) {
        return Err(format!("\"{key}\" is missing."));
    }
    list(inputs, key)?
        .iter()
        .map(|value| {
            value.as_f64().filter(|v| v.is_finite()).ok_or_else(|| format!("\"{key}\" must hold numbers only."))
        })
        .collect()
}

/// A text that must be there.
pub fn text<'a>(inputs: &'a Value, key: &str) -> Result<&'a str, String> {
    inputs.get(key).and_then(Value::as_str).ok_or_else(|| format!("\"{key}\" must be a text."))
}

/// A yes or no that may be left out.
pub fn flag(inputs: &Value, key: &str) -> Result<Option<bool>, String> {
    match inputs.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(Value::Bool(value)) => Ok(Some(*value)),
        Some(_) => Err(format!("\"{key}\" must be true or false.")),
    }
}
