//! After a panic: a plain page that says that the work is kept, and offers to reload. It does not call into the wasm. What was
//! said of it is kept by `boot.js`, for whoever reports it.

use crate::app::device::local;
use js_sys::{Function, Reflect};
use wasm_bindgen::{JsCast, JsValue};

/// Shows that page on any panic.
pub fn install() {
    std::panic::set_hook(Box::new(|info| {
        web_sys::console::error_1(&JsValue::from_str(&info.to_string()));
        let Some(window) = web_sys::window() else { return };
        if let Ok(keep) = Reflect::get(&window, &"ohmsKeepError".into())
            && let Ok(keep) = keep.dyn_into::<Function>()
        {
            let _ = keep.call1(&JsValue::NULL, &JsValue::from_str(&info.to_string()));
        }
        if let Ok(halt) = Reflect::get(&window, &"ohmsHalt".into())
            && let Ok(halt) = halt.dyn_into::<Function>()
        {
            // If the static page itself is missing there is nothing left to show.
            let _ = halt.call0(&JsValue::NULL);
        }
    }));
}

/// The last error that was caught, after its time; as it was said, with whatever stands in it.
pub fn last_error() -> Option<String> {
    local::setting("error")
}
