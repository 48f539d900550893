//! The offline state that `boot.js` keeps in `window.ohmsOffline`.

use js_sys::{Function, Reflect};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};

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
    let read = || {
        let kept = Reflect::get(&web_sys::window()?.into(), &"ohmsOffline".into()).ok()?;
        Reflect::get(&kept, &"state".into()).ok()?.as_string()
    };
    match read().as_deref() {
        Some("unsupported") => Offline::Unsupported,
        Some("ready") => Offline::Ready,
        Some("update") => Offline::Update,
        Some("failed") => Offline::Failed,
        _ => Offline::Storing,
    }
}

/// The version of the stored app, as far as it is known.
pub fn version() -> String {
    let read = || {
        let kept = Reflect::get(&web_sys::window()?.into(), &"ohmsOffline".into()).ok()?;
        Reflect::get(&kept, &"version".into()).ok()?.as_string()
    };
    read().unwrap_or_default()
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
    let Some(window) = web_sys::window() else { return };
    if let Ok(apply) = Reflect::get(&window, &"ohmsApplyUpdate".into())
        && let Ok(apply) = apply.dyn_into::<Function>()
    {
        let _ = apply.call0(&JsValue::NULL);
    }
}
