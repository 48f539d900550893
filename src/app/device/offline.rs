//! The offline state that `boot.js` keeps in `window.ohmsOffline`.

use crate::app::device::boot;
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;

/// How the app stands without signal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Offline {
    Unsupported,
    Storing,
    Ready,
    Update,
    Failed,
}

/// The state as it is now.
pub fn state() -> Offline {
    match told("state").as_deref() {
        Some("unsupported") => Offline::Unsupported,
        Some("ready") => Offline::Ready,
        Some("update") => Offline::Update,
        Some("failed") => Offline::Failed,
        _ => Offline::Storing,
    }
}

/// The version of the stored app, as far as it is known.
pub fn version() -> String {
    told("version").unwrap_or_default()
}

fn told(key: &str) -> Option<String> {
    boot::left_in("ohmsOffline", key)?.as_string()
}

/// Calls back whenever the state changes, for as long as the app lives.
pub fn on_change(changed: impl FnMut() + 'static) {
    let Some(window) = web_sys::window() else { return };
    let closure = Closure::<dyn FnMut()>::new(changed);
    let _ = window.add_event_listener_with_callback("ohms-offline", closure.as_ref().unchecked_ref());
    closure.forget();
}

/// Changes over to the version that waits; the page reloads.
pub fn change_over() {
    boot::call("ohmsApplyUpdate", None);
}
