//! The first store: `localStorage`, through gloo-storage. Synchronous, seen by other tabs, but a killed browser may lose
//! the last minute: the mirror covers that.
//!
//! Only `get`, `set` and `delete` of gloo-storage are used, under one prefix: its `get_all` fails on foreign keys, and
//! `clear` would wipe what other pages of the origin keep.

use gloo_storage::{LocalStorage, Storage};

const PREFIX: &str = "ohms.job.";

/// Does the store answer? It throws where storage is blocked, so that it is asked without gloo first.
pub fn answers() -> bool {
    let Some(Ok(Some(storage))) = web_sys::window().map(|window| window.local_storage()) else { return false };
    storage.length().is_ok()
}

/// The texts of all kept jobs, by job key. A text is returned as it lies there, readable or not.
pub fn all_jobs() -> Vec<(String, String)> {
    if !answers() {
        return Vec::new();
    }
    let storage = LocalStorage::raw();
    let count = storage.length().unwrap_or(0);
    (0..count)
        .filter_map(|index| storage.key(index).ok().flatten())
        .filter_map(|key| Some((key.strip_prefix(PREFIX)?.to_string(), storage.get_item(&key).ok().flatten()?)))
        .collect()
}

/// The text of one kept job.
pub fn job(key: &str) -> Option<String> {
    if !answers() {
        return None;
    }
    LocalStorage::raw().get_item(&format!("{PREFIX}{key}")).ok().flatten()
}

/// Writes one job's text. False when the store is full or refused.
pub fn keep_job(key: &str, text: &str) -> bool {
    answers() && LocalStorage::raw().set_item(&format!("{PREFIX}{key}"), text).is_ok()
}

/// A small setting, by name.
pub fn setting(name: &str) -> Option<String> {
    if !answers() {
        return None;
    }
    LocalStorage::get(format!("ohms.{name}")).ok()
}

/// Keeps a small setting. A refused one is forgotten: it is no work of anybody's.
pub fn keep_setting(name: &str, value: &str) {
    if answers() {
        let _ = LocalStorage::set(format!("ohms.{name}"), value);
    }
}

/// What is kept to draw the list of jobs soon: see the shelf. Nothing is lost with it.
const INDEX: &str = "ohms.index";

pub fn index() -> Option<String> {
    if !answers() {
        return None;
    }
    LocalStorage::raw().get_item(INDEX).ok().flatten()
}

/// Keeps the index where there is room for it; an old one goes first, since it would be wrong.
pub fn keep_index(text: &str) {
    if answers() {
        let storage = LocalStorage::raw();
        if storage.set_item(INDEX, text).is_err() {
            let _ = storage.remove_item(INDEX);
        }
    }
}

/// Gives up the index, to make room for a job.
pub fn drop_index() {
    if answers() {
        let _ = LocalStorage::raw().remove_item(INDEX);
    }
}

/// The text of the workbench as it was left.
pub fn draft() -> Option<String> {
    if !answers() {
        return None;
    }
    LocalStorage::raw().get_item(DRAFT).ok().flatten()
}

/// Keeps the text of the workbench. False when the store is full or refused.
pub fn keep_draft(text: &str) -> bool {
    answers() && LocalStorage::raw().set_item(DRAFT, text).is_ok()
}

const DRAFT: &str = "ohms.workbench";

/// Removes what stands in place of a deleted job, when its time is over.
pub fn remove_job(key: &str) {
    if answers() {
        let _ = LocalStorage::raw().remove_item(&format!("{PREFIX}{key}"));
    }
}
