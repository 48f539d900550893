//! The copy of the app on this phone, as the worker keeps it: how many files, and the text of one.

use crate::app::device::offline;
use js_sys::{Array, Function, Promise, Reflect};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::Cache;

/// How many files of this version are stored. None where there is no copy, or the browser does not say.
pub async fn files() -> Option<u32> {
    let version = offline::version();
    let window = web_sys::window()?;
    // Missing where the page did not come over https; the call would throw.
    if version.is_empty() || !Reflect::get(&window, &"caches".into()).is_ok_and(|caches| caches.is_object()) {
        return None;
    }
    let caches = window.caches().ok()?;
    let names: Array = JsFuture::from(caches.keys()).await.ok()?.dyn_into().ok()?;
    // The worker's own way of naming: see the head of `sw.js`.
    let begin = format!("ohms-{version}@");
    let name = names.iter().filter_map(|name| name.as_string()).find(|name| name.starts_with(&begin))?;
    let cache: Cache = JsFuture::from(caches.open(&name)).await.ok()?.dyn_into().ok()?;
    let keys: Array = JsFuture::from(cache.keys()).await.ok()?.dyn_into().ok()?;
    Some(keys.length())
}

/// The text of a file of the app, from the copy where there is one. None where neither copy nor signal gives it.
pub async fn text_of(file: &str) -> Option<String> {
    let response = JsFuture::from(web_sys::window()?.fetch_with_str(&format!("./{file}"))).await.ok()?;
    let is_ok = Reflect::get(&response, &"ok".into()).ok()?.as_bool()?;
    let text: Function = Reflect::get(&response, &"text".into()).ok()?.dyn_into().ok()?;
    let coming: Promise = text.call0(&response).ok()?.dyn_into().ok()?;
    let text = JsFuture::from(coming).await.ok().filter(|_| is_ok)?;
    JsValue::as_string(&text)
}
