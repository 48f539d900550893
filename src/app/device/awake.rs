//! Keeps the screen on while something on it is read with both hands busy, or by another phone's camera.

use js_sys::{Function, Promise, Reflect};
use std::cell::{Cell, RefCell};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::VisibilityState;

thread_local! {
    /// How many parts of the page want it.
    static WANTED: Cell<u32> = const { Cell::new(0) };
    static HELD: RefCell<Option<JsValue>> = const { RefCell::new(None) };
    static LISTENS: Cell<bool> = const { Cell::new(false) };
}

/// As long as one of these lives the screen stays on, where the browser can.
pub struct Awake;

impl Awake {
    /// Whether this browser can do it at all.
    pub fn is_there() -> bool {
        lock().is_some()
    }

    pub fn hold() -> Awake {
        WANTED.set(WANTED.get() + 1);
        listen();
        ask();
        Awake
    }
}

impl Drop for Awake {
    fn drop(&mut self) {
        WANTED.set(WANTED.get() - 1);
        if WANTED.get() == 0
            && let Some(held) = HELD.take()
        {
            call(&held, "release", &JsValue::UNDEFINED);
        }
    }
}

/// Calls a method that gives a promise; none where there is no such method, as in browsers without this facility.
fn call(of: &JsValue, method: &str, with: &JsValue) -> Option<Promise> {
    let method: Function = Reflect::get(of, &method.into()).ok()?.dyn_into().ok()?;
    method.call1(of, with).ok()?.dyn_into().ok()
}

fn lock() -> Option<JsValue> {
    let navigator = web_sys::window()?.navigator();
    Reflect::get(&navigator, &"wakeLock".into()).ok().filter(JsValue::is_object)
}

fn ask() {
    let Some(asked) = lock().and_then(|lock| call(&lock, "request", &"screen".into())) else { return };
    wasm_bindgen_futures::spawn_local(async move {
        let Ok(held) = JsFuture::from(asked).await else { return };
        if WANTED.get() == 0 {
            call(&held, "release", &JsValue::UNDEFINED);
        } else {
            HELD.replace(Some(held));
        }
    });
}

/// The browser lets go whenever the page is hidden: asked again when it is back (W3C Screen Wake Lock API, from memory).
fn listen() {
    let Some(document) = web_sys::window().and_then(|window| window.document()) else { return };
    if LISTENS.replace(true) {
        return;
    }
    let back = {
        let document = document.clone();
        Closure::<dyn FnMut()>::new(move || {
            if document.visibility_state() == VisibilityState::Visible && WANTED.get() > 0 {
                ask();
            }
        })
    };
    let _ = document.add_event_listener_with_callback("visibilitychange", back.as_ref().unchecked_ref());
    back.forget();
}
