//! The language and the units: as the phone is set, or as chosen; and the content that `boot.js` fetched in that language.

use crate::app::device::{boot, local};
use crate::content::{self, Content, Tongue, Units};
use js_sys::Intl::DateTimeFormat;
use js_sys::{Array, Date, Object, Promise, Reflect};
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use wasm_bindgen_futures::JsFuture;

/// Told by `boot.js` when `window.ohmsContentRest` is there.
const REST_IS_HERE: &str = "ohms-content";

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
        if tag.ends_with("US") && is_american() { Units::Us } else { Units::Metric }
    })
}

/// Whether the phone is in an American time zone. Their clocks are behind that of Greenwich: with others the name, which a
/// browser takes long to find, is not asked for.
fn is_american() -> bool {
    let is_west = Date::new_0().get_timezone_offset() > 0.0;
    is_west && {
        let zone = zone_of_phone();
        ["America/", "US/", "Pacific/Honolulu"].iter().any(|known| zone.starts_with(known))
    }
}

/// The phone's time zone, as the tz database names it.
fn zone_of_phone() -> String {
    let options = DateTimeFormat::new(&Array::new(), &Object::new()).resolved_options();
    Reflect::get(&options, &"timeZone".into()).ok().and_then(|zone| zone.as_string()).unwrap_or_default()
}

pub fn choose_units(units: Units) {
    local::keep_setting(UNITS, units.key());
}

/// The content's first part, as `boot.js` left it.
pub fn content() -> Option<Content> {
    content::packed(&boot::left("ohmsContent")?.as_string()?)
}

/// Puts in the rest of the content: now, if `boot.js` has it, else as soon as it says so.
pub fn await_rest(content: &'static Content) {
    let put_in = move || {
        let text = boot::left("ohmsContentRest").and_then(|text| text.as_string());
        if let Some(rest) = text.and_then(|text| content::packed(&text)) {
            content.fill(rest);
        }
    };
    put_in();
    if content.is_whole() {
        return;
    }
    let Some(window) = web_sys::window() else { return };
    let closure = Closure::<dyn FnMut()>::new(put_in);
    let _ = window.add_event_listener_with_callback(REST_IS_HERE, closure.as_ref().unchecked_ref());
    closure.forget();
}

/// Returns when the rest of the content is in.
pub async fn rest_of(content: &Content) {
    while !content.is_whole() {
        let here = Promise::new(&mut |here, _| {
            if let Some(window) = web_sys::window() {
                let _ = window.add_event_listener_with_callback(REST_IS_HERE, &here);
            }
        });
        let _ = JsFuture::from(here).await;
    }
}
