//! The page itself: title, focus, printing, the clipboard, and the moments when it may go away.

use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use web_sys::HtmlElement;

fn document() -> Option<web_sys::Document> {
    web_sys::window()?.document()
}

pub fn set_title(title: &str) {
    if let Some(document) = document() {
        document.set_title(title);
    }
}

/// Removes the first paint that `index.html` carries.
pub fn remove_first_paint() {
    if let Some(first) = document().and_then(|document| document.get_element_by_id("first")) {
        first.remove();
    }
}

/// Puts the focus on the heading of a new screen and scrolls to its top.
pub fn focus_heading() {
    if let Some(window) = web_sys::window() {
        window.scroll_to_with_x_and_y(0.0, 0.0);
    }
    focus_first("main h1");
}

/// Puts the focus on the first element that the selector finds.
pub fn focus_first(selector: &str) {
    let found = document().and_then(|document| document.query_selector(selector).ok().flatten());
    if let Some(element) = found.and_then(|element| element.dyn_into::<HtmlElement>().ok()) {
        let _ = element.focus();
    }
}

/// Brings into view the element of the first selector in the list that finds one.
pub fn show_first(selectors: &str) {
    let Some(document) = document() else { return };
    let found = selectors.split(", ").find_map(|selector| document.query_selector(selector).ok().flatten());
    if let Some(element) = found {
        element.scroll_into_view();
    }
}

/// Opens the print sheet. False where the browser has none.
pub fn print() -> bool {
    web_sys::window().is_some_and(|window| window.print().is_ok())
}

/// Puts a text on the clipboard; whether it worked comes later, and where it fails the text stays on screen.
pub fn copy(text: &str) {
    if let Some(window) = web_sys::window() {
        let _ = window.navigator().clipboard().write_text(text);
    }
}

/// Calls back when the page is about to be hidden or left.
pub fn on_leave(leaving: impl Fn() + Clone + 'static) {
    let (Some(window), Some(document)) = (web_sys::window(), document()) else { return };
    let hidden = {
        let leaving = leaving.clone();
        let document = document.clone();
        Closure::<dyn FnMut()>::new(move || {
            if document.visibility_state() == web_sys::VisibilityState::Hidden {
                leaving();
            }
        })
    };
    let gone = Closure::<dyn FnMut()>::new(leaving);
    let _ = document.add_event_listener_with_callback("visibilitychange", hidden.as_ref().unchecked_ref());
    let _ = window.add_event_listener_with_callback("pagehide", gone.as_ref().unchecked_ref());
    hidden.forget();
    gone.forget();
}

/// Calls back with the key when another tab has written to `localStorage`.
pub fn on_foreign_write(mut written: impl FnMut(String) + 'static) {
    let Some(window) = web_sys::window() else { return };
    let closure = Closure::<dyn FnMut(web_sys::StorageEvent)>::new(move |event: web_sys::StorageEvent| {
        if let Some(key) = event.key() {
            written(key);
        }
    });
    let _ = window.add_event_listener_with_callback("storage", closure.as_ref().unchecked_ref());
    closure.forget();
}

/// Waits, ms.
pub async fn pause(time: i32) {
    let turn = js_sys::Promise::new(&mut |done, _| {
        if let Some(window) = web_sys::window() {
            let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(&done, time);
        }
    });
    let _ = wasm_bindgen_futures::JsFuture::from(turn).await;
}
