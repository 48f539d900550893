//! After a panic: a plain page that says that the work is kept, and offers to reload. It does not call into the wasm. What was
//! said of it is kept by `boot.js`, for whoever reports it.

use crate::app::device::{boot, local};
use wasm_bindgen::JsValue;

/// Shows that page on any panic.
pub fn install() {
    std::panic::set_hook(Box::new(|info| {
        web_sys::console::error_1(&JsValue::from_str(&info.to_string()));
        boot::call("ohmsKeepError", Some(&info.to_string()));
        // If the static page itself is missing there is nothing left to show.
        boot::call("ohmsHalt", None);
    }));
}

/// The last error that was caught, after its time; as it was said, with whatever stands in it.
pub fn last_error() -> Option<String> {
    local::setting("error")
}
