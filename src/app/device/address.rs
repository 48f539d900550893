//! The address bar.

use crate::app::screen::Screen;
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;

/// The screen that the address names.
pub fn current() -> Screen {
    let hash = web_sys::window().and_then(|window| window.location().hash().ok()).unwrap_or_default();
    Screen::parse(&hash)
}

/// Goes to a screen, with a step in the browser's history.
pub fn go(screen: &Screen) {
    if let Some(window) = web_sys::window() {
        // Refused only for addresses of another origin, which a hash never is.
        let _ = window.location().set_hash(&screen.to_string());
    }
}

/// Calls back on every change of the address, for as long as the app lives.
pub fn on_change(changed: impl FnMut() + 'static) {
    let Some(window) = web_sys::window() else { return };
    let closure = Closure::<dyn FnMut()>::new(changed);
    let _ = window.add_event_listener_with_callback("hashchange", closure.as_ref().unchecked_ref());
    closure.forget();
}

/// The address of the app itself, without what stands after the `#`.
pub fn base() -> String {
    let Some(window) = web_sys::window() else { return String::new() };
    let href = window.location().href().unwrap_or_default();
    href.split('#').next().unwrap_or_default().to_string()
}

/// Puts another address in the place of the present one, without a step in the history: a link that was taken in must not
/// be taken in again by going back.
pub fn replace(screen: &Screen) {
    if let Some(window) = web_sys::window() {
        let _ = window.location().replace(&screen.to_string());
    }
}
