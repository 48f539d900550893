//! Reading both stores at the start.

use super::{Aside, CHANGED, Health, Kept, MIRROR};
use crate::app::device::mirror::Mirror;
use crate::app::device::{clock, local, tongue};
use crate::app::shelf;
use crate::content::Content;
use crate::core::job::Moment;
use crate::core::job::stored;
use std::collections::BTreeMap;
use std::rc::Rc;

/// What stands in place of a deleted job goes after a month, when every store has long written it out (common
/// practice, no source), in milliseconds.
const GONE_FOR: i64 = 30 * 24 * 3600 * 1000;

/// Everything that both stores hold, read before the first screen is drawn.
pub struct Loaded {
    pub(super) jobs: BTreeMap<String, Kept>,
    pub(super) aside: Vec<Aside>,
    pub(super) health: Health,
}

/// Reads both stores; of two copies of a job the newer counts.
pub async fn load(content: &Content) -> Loaded {
    let mut texts: BTreeMap<String, Option<String>> = BTreeMap::new();
    let mut lagging: Vec<(String, String)> = Vec::new();
    let mut parted: Vec<Kept> = Vec::new();
    for (key, text) in local::all_jobs() {
        texts.insert(key, Some(text));
    }
    let mirror = Mirror::open().await;
    let mirrored = match &mirror {
        Some(mirror) => mirror.all().await.ok(),
        None => None,
    };
    let health = Health { local: local::answers(), mirror: mirrored.is_some() };
    if !texts.is_empty() || mirrored.as_ref().is_some_and(|texts| !texts.is_empty()) {
        tongue::rest_of(content).await;
    }
    // Deleted jobs of which the second store does not know yet.
    let mut going: Vec<(String, String)> = Vec::new();
    for (key, text) in mirrored.into_iter().flatten() {
        let first = texts.remove(&key).flatten();
        if first.as_ref() == Some(&text) {
            texts.insert(key, first);
            continue;
        }
        let older = text.clone();
        let other = first.as_deref().and_then(|first| stored::parted(first, &text)).filter(|other| !other.is_gone());
        let newer = stored::newer(first.clone(), Some(text));
        if let Some(mut other) = other {
            other.job.id = clock::new_key();
            parted.push(Kept { base: Default::default(), ..other.into() });
            if let (Some(mirror), Some(newer)) = (&mirror, &newer) {
                // So that the two are parted once. Where it fails, a copy too many is the lesser evil.
                let _ = mirror.put(&key, newer).await;
            }
        }
        if let (Some(newer), true) = (&newer, newer != first) {
            lagging.push((key.clone(), newer.clone()));
        }
        if let Some(newer) = newer.as_ref().filter(|newer| **newer != older && is_gone(newer)) {
            going.push((key.clone(), newer.clone()));
        }
        texts.insert(key, newer);
    }
    for (key, text) in going {
        if let Some(mirror) = &mirror {
            let _ = mirror.put(&key, &text).await;
        }
    }
    // A browser killed in the middle leaves the first store behind: bring it up to the mirror.
    for (key, text) in lagging {
        let reads = stored::open(&text).is_ok() && local::job(&key).is_none_or(|old| stored::open(&old).is_ok());
        // A store that is full is not asked again for each of a thousand jobs: the mirror has them.
        if reads && !local::keep_job(&key, &text) {
            break;
        }
    }
    MIRROR.with(|slot| *slot.borrow_mut() = mirror.map(Rc::new));

    for kept in &parted {
        CHANGED.with(|changed| changed.borrow_mut().insert(kept.job.id.clone()));
    }
    let jobs = parted.into_iter().map(|kept| (kept.job.id.clone(), kept)).collect();
    let mut loaded = Loaded { jobs, aside: Vec::new(), health };
    let mut index = shelf::kept_index(content);
    for (key, text) in texts {
        let Some(text) = text else { continue };
        // Only what was read before, letter by letter, waits to be read until somebody asks for it.
        let Err(text) = shelf::put_unopened(&mut index, &key, text) else { continue };
        match stored::open(&text) {
            Ok(stored) if stored.is_gone() => forget_gone(&key, stored.saved_at),
            Ok(stored) => {
                shelf::note(&key, stored.rev, &stored.job);
                shelf::note_text(&key, stored.rev, &text);
                loaded.jobs.insert(key, stored.into());
            }
            Err(why) => loaded.aside.push(Aside { key, why, text }),
        }
    }
    loaded
}

/// Is it what stands in place of a deleted job?
fn is_gone(text: &str) -> bool {
    stored::open(text).is_ok_and(|stored| stored.is_gone())
}

/// Removes what stands in place of a deleted job, once its time is over: out of the second store first.
fn forget_gone(key: &str, since: Moment) {
    if clock::now().0 - since.0 < GONE_FOR {
        return;
    }
    let key = key.to_string();
    leptos::task::spawn_local(async move {
        let mirror = MIRROR.with(|slot| slot.borrow().clone());
        let is_out = match mirror {
            Some(mirror) => mirror.remove(&key).await.is_ok(),
            None => false,
        };
        if is_out {
            local::remove_job(&key);
        }
    });
}
