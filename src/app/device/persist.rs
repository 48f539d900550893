//! Whether the browser promises to keep what is stored, how much room there is, and what kind of app this is.

use crate::app::device::local;
use js_sys::Reflect;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;
use web_sys::StorageManager;

const ASKED: &str = "persist-asked";

/// What the browser said to the request to keep what is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Promise {
    /// It was not asked yet: no job of one's own has been kept.
    NotAsked,
    Given,
    Refused,
    /// This browser knows no such request.
    Unknown,
}

/// Bytes in use and bytes there may be, both as the browser reckons.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    pub used: f64,
    pub of: f64,
}

fn manager() -> Option<StorageManager> {
    let navigator = web_sys::window()?.navigator();
    // Missing where the page did not come over https.
    Reflect::get(&navigator, &"storage".into()).ok()?.dyn_into().ok()
}

/// Asks the browser to keep what is stored, once in the life of the app on this phone.
pub async fn ask_once() {
    if local::setting(ASKED).is_some() {
        return;
    }
    ask().await;
}

/// Asks the browser to keep what is stored.
pub async fn ask() {
    local::keep_setting(ASKED, "yes");
    if let Some(asked) = manager().and_then(|manager| manager.persist().ok()) {
        // The answer is read when somebody wants to know it.
        let _ = JsFuture::from(asked).await;
    }
}

/// How it stands with that promise now.
pub async fn promise() -> Promise {
    let Some(asked) = manager().and_then(|manager| manager.persisted().ok()) else { return Promise::Unknown };
    match JsFuture::from(asked).await.ok().and_then(|answer| answer.as_bool()) {
        Some(true) => Promise::Given,
        Some(false) if local::setting(ASKED).is_none() => Promise::NotAsked,
        Some(false) => Promise::Refused,
        None => Promise::Unknown,
    }
}

/// How much room there is. None where the browser does not say.
pub async fn room() -> Option<Room> {
    let estimate = JsFuture::from(manager()?.estimate().ok()?).await.ok()?;
    let number = |name: &str| Reflect::get(&estimate, &name.into()).ok()?.as_f64();
    Some(Room { used: number("usage")?, of: number("quota")? })
}

/// Where the app runs, as far as its storage depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// A tab on an iPhone or iPad: the installed app does not see what is stored here.
    TabOnIos,
    /// The installed app there.
    AppOnIos,
    Elsewhere,
}

pub fn place() -> Place {
    let Some(window) = web_sys::window() else { return Place::Elsewhere };
    let navigator = window.navigator();
    let agent = navigator.user_agent().unwrap_or_default();
    // An iPad calls itself a Mac; no Mac has a touch screen.
    let is_ios = ["iPhone", "iPad", "iPod"].iter().any(|name| agent.contains(name))
        || (agent.contains("Macintosh") && navigator.max_touch_points() > 1);
    if !is_ios {
        return Place::Elsewhere;
    }
    let standalone = Reflect::get(&navigator, &"standalone".into()).is_ok_and(|value| value.is_truthy());
    if standalone { Place::AppOnIos } else { Place::TabOnIos }
}

/// Is this a tab of the phone's own browser there, whose share sheet puts a page on the home screen in two touches? Others call
/// themselves by their own names beside its name.
pub fn in_safari_tab() -> bool {
    let agent = web_sys::window().and_then(|window| window.navigator().user_agent().ok()).unwrap_or_default();
    let others = ["CriOS", "FxiOS", "EdgiOS", "OPiOS", "OPT/", "DuckDuckGo"];
    place() == Place::TabOnIos && agent.contains("Safari/") && !others.iter().any(|name| agent.contains(name))
}
