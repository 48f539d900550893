//! The language and the units: as the phone is set, or as chosen; and the content that `boot.js` fetched in that language.

use crate::app::device::local;
use crate::content::{Tongue, Units};
use js_sys::Intl::DateTimeFormat;
use js_sys::{Array, Object, Reflect};

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

/// The units: chosen, else those of the United States on a phone that is both set to that region and in an American time zone. The
/// region alone says little: phones all over the world are set to the English of the United States.
pub fn units() -> Units {
    let chosen = local::setting(UNITS);
    let known = Units::ALL.into_iter().find(|units| Some(units.key()) == chosen.as_deref());
    known.unwrap_or_else(|| {
        let tag = web_sys::window().and_then(|window| window.navigator().language()).unwrap_or_default();
        let there = tag.ends_with("US")
            && ["America/", "US/", "Pacific/Honolulu"].iter().any(|zone| zone_of_phone().starts_with(zone));
        if there { Units::Us } else { Units::Metric }
    })
}

/// The phone's time zone, as the tz database names it.
fn zone_of_phone() -> String {
    let options = DateTimeFormat::new(&Array::new(), &Object::new()).resolved_options();
    Reflect::get(&options, &"timeZone".into()).ok().and_then(|zone| zone.as_string()).unwrap_or_default()
}

pub fn choose_units(units: Units) {
    local::keep_setting(UNITS, units.key());
}

/// The text of the content's file, as `boot.js` left it in `window.ohmsContent`.
pub fn content() -> Option<String> {
    Reflect::get(&web_sys::window()?.into(), &"ohmsContent".into()).ok()?.as_string()
}
