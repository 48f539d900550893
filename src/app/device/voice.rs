//! Reading a card aloud, with a voice of the phone's own, so that it works without a signal.

use std::cell::Cell;
use wasm_bindgen::JsCast;
use web_sys::{SpeechSynthesis, SpeechSynthesisUtterance, SpeechSynthesisVoice};

thread_local! {
    /// Is each card that is opened read aloud?
    static ALOUD: Cell<bool> = const { Cell::new(false) };
}

/// Whether cards are read aloud as they are opened.
pub fn is_on() -> bool {
    ALOUD.get()
}

pub fn turn(on: bool) {
    ALOUD.set(on);
    if !on {
        hush();
    }
}

fn synthesis() -> Option<SpeechSynthesis> {
    // Asked for by name first: where it is missing, the binding would throw.
    let window = web_sys::window()?;
    js_sys::Reflect::get(&window, &"speechSynthesis".into()).ok()?.dyn_into().ok()
}

/// Can this browser speak at all?
pub fn is_there() -> bool {
    synthesis().is_some()
}

/// Whether this browser lists no voice at all. Some list theirs only a moment after they were first asked.
pub fn has_none() -> bool {
    synthesis().is_none_or(|synthesis| synthesis.get_voices().length() == 0)
}

/// Speaks the texts in this language (a BCP 47 tag) one after another, in place of what is being said. False where the phone has
/// voices, but none of its own for the language: one that needs a signal is not used.
pub fn say(texts: &[String], tag: &str) -> bool {
    let Some(synthesis) = synthesis() else { return false };
    synthesis.cancel();
    let voices: Vec<SpeechSynthesisVoice> =
        synthesis.get_voices().iter().filter_map(|voice| voice.dyn_into().ok()).collect();
    let own = voices.iter().find(|voice| voice.local_service() && voice.lang().to_lowercase().starts_with(tag));
    // Some browsers list their voices only later: the language alone then chooses.
    if own.is_none() && !voices.is_empty() {
        return false;
    }
    for text in texts.iter().filter(|text| !text.is_empty()) {
        let Ok(said) = SpeechSynthesisUtterance::new_with_text(text) else { return false };
        said.set_lang(tag);
        said.set_voice(own);
        synthesis.speak(&said);
    }
    true
}

/// Ends what is being said.
pub fn hush() {
    if let Some(synthesis) = synthesis() {
        synthesis.cancel();
    }
}
