//! How it looks, and whose hand it is for: as the phone, or as chosen. `boot.js` shows both before anything is drawn.

use crate::app::device::{boot, local};

const LOOK: &str = "look";
const HAND: &str = "hand";

/// The looks, as the style sheet knows them. The first is the phone's own, light or dark.
pub const LOOKS: [&str; 4] = ["system", "light", "dark", "sun"];

/// The hands: bare, and in gloves, where all that is touched is larger.
pub const HANDS: [&str; 2] = ["bare", "gloves"];

/// The chosen look, one of [`LOOKS`].
pub fn chosen() -> &'static str {
    kept(LOOK, &LOOKS)
}

/// The chosen hand, one of [`HANDS`].
pub fn hand() -> &'static str {
    kept(HAND, &HANDS)
}

/// What is kept under a name, or the first of what there is.
fn kept(name: &str, known: &[&'static str]) -> &'static str {
    let kept = local::setting(name);
    known.iter().copied().find(|one| Some(*one) == kept.as_deref()).unwrap_or(known[0])
}

/// Keeps and shows a look.
pub fn choose(look: &str) {
    local::keep_setting(LOOK, look);
    show();
}

/// Keeps and shows a hand.
pub fn choose_hand(hand: &str) {
    local::keep_setting(HAND, hand);
    show();
}

/// Shows what is chosen: the style sheet reads it from the root element.
pub fn show() {
    let root = web_sys::window().and_then(|window| window.document()).and_then(|document| document.document_element());
    if let Some(root) = root {
        let _ = root.set_attribute("data-look", chosen());
        let _ = root.set_attribute("data-hand", hand());
        boot::call("ohmsColourBar", None);
    }
}
