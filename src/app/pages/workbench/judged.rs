//! A text of the workbench, held against everything.

use crate::app::frame::App;
use crate::content::pack::{Mistake, Pack, Together, level};

/// What came of a text.
pub struct Judged {
    pub stands: Result<Right, Vec<Mistake>>,
}

/// A pack without a mistake, and the content with it.
pub struct Right {
    pub pack: Pack,
    pub together: Together,
    pub level: Option<f64>,
}

impl Judged {
    pub fn of(app: App, text: &str) -> Judged {
        let stands = app.packs.check(text).map(|(pack, together)| {
            let texts = level::texts(&pack);
            Right { level: level::lix(texts.iter().map(String::as_str)), pack, together }
        });
        Judged { stands }
    }

    pub fn mistakes(&self) -> &[Mistake] {
        self.stands.as_ref().err().map_or(&[], Vec::as_slice)
    }

    pub fn key(&self) -> Option<String> {
        self.stands.as_ref().ok().map(|right| right.pack.key.clone())
    }
}

impl Right {
    /// The keys of the pack's modules and monitors.
    pub fn own(&self) -> Vec<String> {
        let equipment = &self.pack.equipment;
        let modules = equipment.modules.iter().map(|item| item.key.clone());
        modules.chain(equipment.monitors.iter().map(|item| item.key.clone())).collect()
    }
}
