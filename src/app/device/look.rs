//! Light or dark: as the phone, or as chosen.

use crate::app::device::local;

const SETTING: &str = "look";

/// The chosen look: "light", "dark", or "system".
pub fn chosen() -> String {
    local::setting(SETTING).filter(|look| look == "light" || look == "dark").unwrap_or_else(|| "system".into())
}

/// Keeps and shows a look.
pub fn choose(look: &str) {
    local::keep_setting(SETTING, look);
    show(look);
}

/// Shows a look: the style sheet reads it from the root element.
pub fn show(look: &str) {
    let root = web_sys::window().and_then(|window| window.document()).and_then(|document| document.document_element());
    if let Some(root) = root {
        let _ = root.set_attribute("data-look", look);
    }
}
