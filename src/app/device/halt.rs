//! After a panic: a plain page that says that the work is kept, and offers to reload. It does not call into the wasm.

use js_sys::{Function, Reflect};
use wasm_bindgen::{JsCast, JsValue};

/// Shows that page on any panic.
pub fn install() {
    std::panic::set_hook(Box::new(|info| {
        web_sys::console::error_1(&JsValue::from_str(&info.to_string()));
        let Some(window) = web_sys::window() else { return };
        if let Ok(halt) = Reflect::get(&window, &"ohmsHalt".into())
            && let Ok(halt) = halt.dyn_into::<Function>()
        {
            // If the static page itself is missing there is nothing left to show.
            let _ = halt.call0(&JsValue::NULL);
        }
    }));
}
