//! What `boot.js` leaves on the window: its head says what each is.

use js_sys::{Function, Reflect};
use wasm_bindgen::{JsCast, JsValue};

/// A value that it left.
pub fn left(name: &str) -> Option<JsValue> {
    Reflect::get(&web_sys::window()?.into(), &name.into()).ok()
}

/// A value of an object that it left.
pub fn left_in(name: &str, key: &str) -> Option<JsValue> {
    Reflect::get(&left(name)?, &key.into()).ok()
}

/// Calls a function that it left, with a text where it takes one.
pub fn call(name: &str, text: Option<&str>) {
    let Some(function) = left(name).and_then(|value| value.dyn_into::<Function>().ok()) else { return };
    // What such a function throws stays there: the app has nothing to add.
    let _ = match text {
        Some(text) => function.call1(&JsValue::NULL, &text.into()),
        None => function.call0(&JsValue::NULL),
    };
}
