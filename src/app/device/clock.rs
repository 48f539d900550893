//! The time, and times as a person reads them.

use crate::core::job::Moment;
use js_sys::Intl::DateTimeFormat;
use js_sys::{Array, Date, Object, Reflect};
use wasm_bindgen::JsValue;

/// Now, by the phone's clock.
pub fn now() -> Moment {
    Moment(Date::now() as i64)
}

thread_local! {
    /// Made once: to make it takes longer than all else that a row of a list needs.
    static FORMAT: DateTimeFormat = format();
}

/// A moment in the phone's own way of writing dates and times.
pub fn say(moment: Moment) -> String {
    let date = Date::new(&JsValue::from_f64(moment.0 as f64));
    // A date far beyond any calendar has no words, and the browser would throw for it.
    if date.get_time().is_nan() {
        return String::new();
    }
    let said = FORMAT.with(|format| format.format().call1(&JsValue::UNDEFINED, &date));
    said.ok().and_then(|said| said.as_string()).unwrap_or_default()
}

fn format() -> DateTimeFormat {
    let options = Object::new();
    for (key, value) in
        [("day", "numeric"), ("month", "short"), ("year", "numeric"), ("hour", "2-digit"), ("minute", "2-digit")]
    {
        // Setting a field of a fresh object cannot fail.
        let _ = Reflect::set(&options, &key.into(), &value.into());
    }
    DateTimeFormat::new(&Array::of1(&locale().into()), &options)
}

/// As the page's language writes dates: `boot.js` has set it.
fn locale() -> &'static str {
    let root = web_sys::window().and_then(|window| window.document()).and_then(|document| document.document_element());
    let german = root.is_some_and(|root| root.get_attribute("lang").as_deref() == Some("de"));
    if german { "de-DE" } else { "en-GB" }
}

/// A day that ISO 8601 writes ("2026-01-31"), as the page's language writes days. The same day everywhere in the world.
pub fn say_day(iso: &str) -> String {
    let options = Object::new();
    for (key, value) in [("day", "numeric"), ("month", "long"), ("year", "numeric"), ("timeZone", "UTC")] {
        // Setting a field of a fresh object cannot fail.
        let _ = Reflect::set(&options, &key.into(), &value.into());
    }
    let date = Date::new(&JsValue::from_str(iso));
    if date.get_time().is_nan() {
        return iso.to_string();
    }
    let said = DateTimeFormat::new(&Array::of1(&locale().into()), &options).format().call1(&JsValue::UNDEFINED, &date);
    said.ok().and_then(|said| said.as_string()).unwrap_or_else(|| iso.to_string())
}

/// A new key: time and chance, short enough for an address.
pub fn new_key() -> String {
    let time = Date::now() as u64;
    let chance = (js_sys::Math::random() * f64::from(36u32.pow(4))) as u64;
    format!("{}{:0>4}", base36(time), base36(chance))
}

/// When a key was made, if [`new_key`] made it.
pub fn time_of_key(key: &str) -> Option<Moment> {
    let time = key.get(..key.len().checked_sub(4)?)?;
    i64::from_str_radix(time, 36).ok().map(Moment)
}

fn base36(mut number: u64) -> String {
    let mut digits = Vec::new();
    loop {
        digits.push(char::from_digit((number % 36) as u32, 36).unwrap_or('0'));
        number /= 36;
        if number == 0 {
            return digits.iter().rev().collect();
        }
    }
}

/// Does something, and leaves how long it took in the browser's own list of timings (User Timing), where a benchmark finds it.
pub fn timed<T>(name: &str, act: impl FnOnce() -> T) -> T {
    let performance = web_sys::window().and_then(|window| window.performance());
    let begin = format!("{name}-begin");
    if let Some(performance) = &performance {
        let _ = performance.mark(&begin);
    }
    let done = act();
    if let Some(performance) = &performance {
        let _ = performance.measure_with_start_mark(name, &begin);
        performance.clear_marks_with_mark_name(&begin);
    }
    done
}
