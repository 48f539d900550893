//! The page itself: title, focus, printing, the clipboard, and the moments when it may go away.

use crate::app::device::boot;
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use web_sys::{
    CanvasRenderingContext2d, Element, HtmlCanvasElement, HtmlElement, HtmlImageElement, HtmlTextAreaElement,
};

fn document() -> Option<web_sys::Document> {
    web_sys::window()?.document()
}

pub fn set_title(title: &str) {
    if let Some(document) = document() {
        document.set_title(title);
    }
}

/// Whether all of the app's code is here: it comes in parts, and the first screen is drawn by the first of them.
pub fn is_whole() -> bool {
    boot::left_in("ohmsParts", "whole").is_none_or(|whole| whole.is_truthy())
}

/// Removes the first paint that `index.html` carries.
pub fn remove_first_paint() {
    if let Some(first) = document().and_then(|document| document.get_element_by_id("first")) {
        first.remove();
    }
}

/// The part of the window that the page moves in.
const PAGE: &str = "#main";

/// Puts the focus on the page itself, unless something in it has it already.
pub fn focus_page() {
    let Some(document) = document() else { return };
    if document.active_element().is_none_or(|active| active.tag_name() == "BODY") {
        focus_first(PAGE);
    }
}

/// Scrolls to the top of a screen.
pub fn to_top() {
    // With text at twice its size the window itself moves.
    if let Some(window) = web_sys::window() {
        window.scroll_to_with_x_and_y(0.0, 0.0);
    }
    if let Some(page) = document().and_then(|document| document.query_selector(PAGE).ok().flatten()) {
        page.set_scroll_top(0);
    }
}

/// Puts the focus on the heading of a new screen and scrolls to its top.
pub fn focus_heading() {
    to_top();
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

/// Puts the cursor into a field of many lines: so many UTF-16 units from its beginning, with that line in its middle.
pub fn put_cursor(selector: &str, unit: u32, line: u32, lines: u32) {
    let found = document().and_then(|document| document.query_selector(selector).ok().flatten());
    let Some(field) = found.and_then(|field| field.dyn_into::<HtmlTextAreaElement>().ok()) else { return };
    let _ = field.focus();
    let _ = field.set_selection_range(unit, unit);
    let share = f64::from(line.saturating_sub(1)) / f64::from(lines.max(1));
    let middle = f64::from(field.scroll_height()) * share - f64::from(field.client_height()) / 2.0;
    field.set_scroll_top(middle.max(0.0) as i32);
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

/// Every rule of the page's own style, as text: for a file that has to look alike without the app.
pub fn style() -> String {
    let Some(sheets) = document().map(|document| document.style_sheets()) else { return String::new() };
    let rules = (0..sheets.length()).filter_map(|index| {
        let sheet: web_sys::CssStyleSheet = sheets.get(index)?.dyn_into().ok()?;
        let rules = sheet.css_rules().ok()?;
        let texts: Vec<String> = (0..rules.length()).filter_map(|at| Some(rules.get(at)?.css_text())).collect();
        Some(texts.join("\n"))
    });
    rules.collect::<Vec<_>>().join("\n")
}

/// How often, and how long each time, pictures of a page are waited for: 3 s in all (common practice, no source).
const WAITS: (u32, i32) = (60, 50);

/// The inside of the element that the selector finds, as text of a page, each picture in it whole. None where it is not
/// there; a picture that does not come in time stays as it is.
pub async fn inside_whole(selector: &str) -> Option<String> {
    pause(0).await;
    let element = document()?.query_selector(selector).ok()??;
    let pictures = || -> Vec<HtmlImageElement> {
        let Ok(list) = element.query_selector_all("img") else { return Vec::new() };
        (0..list.length()).filter_map(|index| list.get(index)?.dyn_into().ok()).collect()
    };
    let is_coming = || element.query_selector(".picture-coming").ok().flatten().is_some();
    for _ in 0..WAITS.0 {
        if !is_coming() && pictures().iter().all(HtmlImageElement::complete) {
            break;
        }
        pause(WAITS.1).await;
    }
    let copy: Element = element.clone_node_with_deep(true).ok()?.dyn_into().ok()?;
    let copies = copy.query_selector_all("img").ok()?;
    for (index, picture) in pictures().iter().enumerate() {
        if let (Some(data), Some(Ok(into))) =
            (data_of(picture), copies.get(index as u32).map(|node| node.dyn_into::<Element>()))
        {
            let _ = into.set_attribute("src", &data);
        }
    }
    Some(copy.inner_html())
}

/// A picture as an address that holds it.
fn data_of(picture: &HtmlImageElement) -> Option<String> {
    let canvas: HtmlCanvasElement = document()?.create_element("canvas").ok()?.dyn_into().ok()?;
    canvas.set_width(picture.natural_width());
    canvas.set_height(picture.natural_height());
    let context: CanvasRenderingContext2d = canvas.get_context("2d").ok()??.dyn_into().ok()?;
    context.draw_image_with_html_image_element(picture, 0.0, 0.0).ok()?;
    canvas.to_data_url_with_type("image/jpeg").ok()
}

/// Puts a text on the clipboard, and says whether that worked.
pub async fn copy_asked(text: &str) -> bool {
    let Some(window) = web_sys::window() else { return false };
    let navigator = window.navigator();
    // Without a secure origin there is no clipboard at all, and the call would throw.
    if !js_sys::Reflect::get(&navigator, &"clipboard".into()).is_ok_and(|clipboard| clipboard.is_object()) {
        return false;
    }
    wasm_bindgen_futures::JsFuture::from(navigator.clipboard().write_text(text)).await.is_ok()
}

/// Loads the page anew.
pub fn reload() {
    if let Some(window) = web_sys::window() {
        let _ = window.location().reload();
    }
}

/// How the browser calls itself.
pub fn browser() -> String {
    web_sys::window().and_then(|window| window.navigator().user_agent().ok()).unwrap_or_default()
}
