//! The packs that are kept, and the content with them. A pack that does not go with this version, or with another pack, is set
//! aside with its reason: it lies as it was, and the app goes on without it.

use crate::app::device::{local, packs, tongue};
use crate::app::shelf;
use crate::content::Content;
use crate::content::pack::{self, Mistake, Pack, Together};
use leptos::prelude::*;
use std::sync::Arc;

/// The setting that says that there are packs, so that an app without any does not wait for them.
const THERE: &str = "packs";

/// A pack as it is kept.
#[derive(Clone)]
pub struct Kept {
    pub key: String,
    pub text: Arc<str>,
    pub stands: Result<Arc<Pack>, Arc<Vec<Mistake>>>,
}

/// What the start found.
pub struct Loaded {
    plain: &'static Together,
    kept: Vec<Kept>,
    content: &'static Content,
}

impl Loaded {
    /// The content with the packs that go with it.
    pub fn content(&self) -> &'static Content {
        self.content
    }
}

/// What was last done.
#[derive(Clone)]
pub enum Said {
    Kept(String),
    Removed(String),
}

/// The packs, for pages.
#[derive(Clone, Copy)]
pub struct Packs {
    plain: StoredValue<&'static Together>,
    pub kept: RwSignal<Vec<Kept>>,
    /// The content that the pages speak. Another one has the whole frame drawn anew.
    pub content: RwSignal<&'static Content>,
    pub said: RwSignal<Option<Said>>,
}

/// Puts the packs that are kept to the content.
pub async fn load(content: Content) -> Loaded {
    let plain: &'static Together = Box::leak(Box::new(Together::of(content)));
    tongue::await_rest(&plain.content);
    let texts = match local::setting(THERE) {
        Some(_) => {
            tongue::rest_of(&plain.content).await;
            packs::all().await.unwrap_or_default()
        }
        None => Vec::new(),
    };
    loaded(plain, texts)
}

fn loaded(plain: &'static Together, texts: Vec<(String, String)>) -> Loaded {
    if texts.is_empty() {
        return Loaded { plain, kept: Vec::new(), content: &plain.content };
    }
    let (together, kept) = put_together(plain, texts.into_iter().map(|(key, text)| (key, text.into())).collect());
    Loaded { plain, kept, content: &Box::leak(Box::new(together)).content }
}

/// All packs that go together. One may need another, whatever their order: they are gone through until no more come in.
fn put_together(plain: &Together, mut texts: Vec<(String, Arc<str>)>) -> (Together, Vec<Kept>) {
    let mut together = plain.clone();
    let mut kept = Vec::new();
    loop {
        let mut out = Vec::new();
        let before = texts.len();
        for (key, text) in texts {
            match pack::open(&together, &text) {
                Ok((pack, with)) => {
                    together = with;
                    kept.push(Kept { key, text, stands: Ok(Arc::new(pack)) });
                }
                Err(mistakes) => out.push((key, text, mistakes)),
            }
        }
        if out.is_empty() || out.len() == before {
            kept.extend(out.into_iter().map(|(key, text, why)| Kept { key, text, stands: Err(Arc::new(why)) }));
            kept.sort_by(|a, b| a.key.cmp(&b.key));
            return (together, kept);
        }
        texts = out.into_iter().map(|(key, text, _)| (key, text)).collect();
    }
}

impl Packs {
    pub fn new(loaded: Loaded) -> Packs {
        let is_none = loaded.kept.is_empty();
        let packs = Packs {
            plain: StoredValue::new(loaded.plain),
            kept: RwSignal::new(loaded.kept),
            content: RwSignal::new(loaded.content),
            said: RwSignal::new(None),
        };
        if is_none {
            // A killed browser may have lost the setting: what lies there is taken up all the same.
            set_timeout(move || leptos::task::spawn_local(packs.look_again()), std::time::Duration::from_secs(3));
        }
        packs
    }

    async fn look_again(self) {
        if let Some(texts) = packs::all().await.filter(|texts| !texts.is_empty()) {
            local::keep_setting(THERE, "there");
            self.take(texts.into_iter().map(|(key, text)| (key, text.into())).collect());
        }
    }

    /// The content with all packs that are kept but the one of this key.
    pub fn others(self, key: &str) -> Together {
        let texts = self.texts(key);
        put_together(self.plain.get_value(), texts).0
    }

    fn texts(self, but: &str) -> Vec<(String, Arc<str>)> {
        self.kept.with_untracked(|kept| {
            let others = kept.iter().filter(|pack| pack.key != but);
            others.map(|pack| (pack.key.clone(), pack.text.clone())).collect()
        })
    }

    /// Is a pack of this key kept?
    pub fn has(self, key: &str) -> bool {
        self.kept.with(|kept| kept.iter().any(|pack| pack.key == key))
    }

    /// Holds a text against the content and the packs that are kept, and changes nothing.
    pub fn check(self, text: &str) -> Result<(Pack, Together), Vec<Mistake>> {
        let key = pack::read(text)?.key;
        pack::open(&self.others(&key), text)
    }

    /// Keeps a pack that was checked, and takes it up. False where the browser did not commit it: nothing is changed then.
    pub async fn keep(self, pack: &Pack, text: &str) -> bool {
        if !packs::keep(&pack.key, text).await {
            return false;
        }
        local::keep_setting(THERE, "there");
        let mut texts = self.texts(&pack.key);
        texts.push((pack.key.clone(), text.into()));
        self.said.set(Some(Said::Kept(pack.title.clone())));
        self.take(texts);
        true
    }

    /// Removes a pack. False where the browser did not commit it: nothing is changed then.
    pub async fn remove(self, key: &str, title: String) -> bool {
        if !packs::remove(key).await {
            return false;
        }
        self.said.set(Some(Said::Removed(title)));
        self.take(self.texts(key));
        true
    }

    fn take(self, mut texts: Vec<(String, Arc<str>)>) {
        texts.sort();
        let (together, kept) = put_together(self.plain.get_value(), texts);
        let content: &'static Content = &Box::leak(Box::new(together)).content;
        // What the list of jobs knows was worked out with the other content.
        shelf::say_anew(content);
        self.kept.set(kept);
        self.content.set(content);
    }
}
