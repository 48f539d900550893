//! The language and the units: as the phone is set, or as chosen; and the content that `boot.js` fetched in that language.

use crate::app::device::local;
use crate::content::{Tongue, Units};
use js_sys::Reflect;

const TONGUE: &str = "tongue";
const UNITS: &str = "units";

/// The chosen language; `None` where the phone's own counts.
pub fn chosen() -> Option<Tongue> {
    local::setting(TONGUE).as_deref().and_then(Tongue::of)
}

/// Keeps a language. It is spoken from the next start on, which reads its file.
pub fn choose(tongue: Option<Tongue>) {
    local::keep_setting(TONGUE, tongue.map_or("", Tongue::tag));
}

/// The units: chosen, or as the phone's region has them (United States, Liberia, Myanmar: from memory).
pub fn units() -> Units {
    let chosen = local::setting(UNITS);
    let known = Units::ALL.into_iter().find(|units| Some(units.key()) == chosen.as_deref());
    known.unwrap_or_else(|| {
        let tag = web_sys::window().and_then(|window| window.navigator().language()).unwrap_or_default();
        match tag.rsplit(['-', '_']).next() {
            Some("US" | "LR" | "MM") => Units::Us,
            _ => Units::Metric,
        }
    })
}

pub fn choose_units(units: Units) {
    local::keep_setting(UNITS, units.key());
}

/// The text of the content's file, as `boot.js` left it in `window.ohmsContent`.
pub fn content() -> Option<String> {
    Reflect::get(&web_sys::window()?.into(), &"ohmsContent".into()).ok()?.as_string()
}
