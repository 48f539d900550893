//! The jobs in memory, and the way they are kept: each change goes to both stores a moment later.
//!
//! Nothing is written over that this tab has not seen: a job that another tab has changed meanwhile is kept beside ours.

use crate::app::device::mirror::Mirror;
use crate::app::device::{clock, local, page};
use crate::app::shelf;
use crate::content::Content;
use crate::core::job::brief::Brief;
use crate::core::job::lineage::Lineage;
use crate::core::job::stored::{self, SetAside, Stored};
use crate::core::job::{Job, Moment, Observation, Seen, Subject};
use leptos::prelude::*;
use serde_json::{Map, Value};
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use std::sync::Arc;
use std::time::Duration;

/// A moment without changes before a job is written.
const SETTLE: Duration = Duration::from_millis(250);
/// Quiet after the last change before the index is kept: nothing is lost with it.
const INDEX_SETTLE: Duration = Duration::from_secs(4);
/// For how long a deletion can be undone.
const UNDO: Duration = Duration::from_secs(12);
/// What stands in place of a deleted job goes after a month, when every store has long written it out (common
/// practice, no source), in milliseconds.
const GONE_FOR: i64 = 30 * 24 * 3600 * 1000;

/// A job in memory.
#[derive(Clone, Debug)]
pub struct Kept {
    pub job: Job,
    rev: u64,
    /// The revision that this tab last read or wrote, and what it had in it.
    base: (u64, Lineage),
    rest: Map<String, Value>,
}

impl Kept {
    /// Goes on after another tab has deleted the job: as the write after that one.
    fn outlive(&mut self, gone: Stored) {
        self.rev = self.rev.max(gone.rev + 1);
        self.base = (gone.rev, gone.writes);
    }
}

impl From<Stored> for Kept {
    fn from(stored: Stored) -> Kept {
        let Stored { rev, writes, job, rest, .. } = stored;
        Kept { job, rev, base: (rev, writes), rest }
    }
}

/// A kept text that is left as it lies.
#[derive(Clone, Debug, PartialEq)]
pub struct Aside {
    pub key: String,
    pub why: SetAside,
    pub text: String,
}

/// What went wrong with keeping.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    NothingKept,
    OtherTab,
}

/// Which of the two stores answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Health {
    pub local: bool,
    pub mirror: bool,
}

/// All jobs.
#[derive(Clone, Copy)]
pub struct Store {
    jobs: RwSignal<BTreeMap<String, ArcRwSignal<Kept>>>,
    pub aside: RwSignal<Vec<Aside>>,
    pub trouble: RwSignal<Option<Trouble>>,
    pub health: RwSignal<Health>,
    /// Deleted, but still there while it can be undone: the keys, the last one at the end.
    pub going: RwSignal<Vec<String>>,
    /// Counts what becomes known of jobs that are not open, and those that go.
    briefed: RwSignal<u32>,
}

thread_local! {
    static INDEX_TURN: Cell<u32> = const { Cell::new(0) };
    static MIRROR: RefCell<Option<Rc<Mirror>>> = const { RefCell::new(None) };
    static CHANGED: RefCell<BTreeSet<String>> = const { RefCell::new(BTreeSet::new()) };
    /// This tab's name in what it writes.
    static TAB: String = clock::new_key();
}

/// Everything that both stores hold, read before the first screen is drawn.
pub struct Loaded {
    jobs: BTreeMap<String, Kept>,
    aside: Vec<Aside>,
    health: Health,
}

/// Reads both stores; of two copies of a job the newer counts.
pub async fn load() -> Loaded {
    let mut texts: BTreeMap<String, Option<String>> = BTreeMap::new();
    let mut lagging: Vec<(String, String)> = Vec::new();
    let mut parted: Vec<Kept> = Vec::new();
    for (key, text) in local::all_jobs() {
        texts.insert(key, Some(text));
    }
    let mirror = Mirror::open().await.ok();
    let mirrored = match &mirror {
        Some(mirror) => mirror.all().await.ok(),
        None => None,
    };
    let health = Health { local: local::answers(), mirror: mirrored.is_some() };
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
                let _ = mirror.keep(&key, newer).await;
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
            let _ = mirror.keep(&key, &text).await;
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
    let mut index = shelf::kept_index();
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

/// Keeps a text in the first store; where there is no room for it, the index gives way.
fn keep_local(id: &str, text: &str) -> bool {
    local::keep_job(id, text) || {
        local::drop_index();
        local::keep_job(id, text)
    }
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

/// Keeps a text in the second store, and says whether that worked.
async fn mirror(id: &str, text: &str) -> bool {
    let mirror = MIRROR.with(|slot| slot.borrow().clone());
    match mirror {
        Some(mirror) => mirror.keep(id, text).await.is_ok(),
        None => false,
    }
}

impl Store {
    pub fn new(loaded: Loaded) -> Store {
        let jobs = loaded.jobs.into_iter().map(|(key, kept)| (key, ArcRwSignal::new(kept))).collect();
        let store = Store {
            jobs: RwSignal::new(jobs),
            aside: RwSignal::new(loaded.aside),
            trouble: RwSignal::new(None),
            health: RwSignal::new(loaded.health),
            going: RwSignal::new(Vec::new()),
            briefed: RwSignal::new(0),
        };
        page::on_leave(move || {
            for id in store.going.get_untracked() {
                store.delete_now(&id);
            }
            store.flush();
            store.brief();
            shelf::keep();
        });
        store.keep_index_soon();
        store.flush();
        page::on_foreign_write(move |key| {
            if let Some(id) = key.strip_prefix("ohms.job.") {
                store.take_foreign(id);
            }
        });
        store
    }

    /// The job, if it is on this phone. Reading it follows its changes.
    pub fn job(self, id: &str) -> Option<ArcRwSignal<Kept>> {
        self.open(id);
        if self.going.with(|going| going.iter().any(|going| going == id)) {
            return None;
        }
        self.jobs.with(|jobs| jobs.get(id).cloned())
    }

    /// Opens a job that nobody has asked for yet. One that cannot be read is set aside.
    fn open(self, id: &str) {
        match shelf::open(id) {
            None => return,
            Some(Ok(stored)) => self.jobs.update_untracked(|jobs| {
                jobs.insert(id.to_string(), ArcRwSignal::new(stored.into()));
            }),
            Some(Err((why, text))) => self.aside.update(|aside| aside.push(Aside { key: id.into(), why, text })),
        }
        // Whoever follows the briefs follows this job's changes from here on.
        self.briefed.update(|turn| *turn += 1);
    }

    /// All jobs in brief, the one begun last first, without those that are going. Reading it follows every change.
    pub fn briefs(self) -> Arc<Vec<Arc<Brief>>> {
        self.briefed.track();
        self.jobs.with(|jobs| jobs.values().for_each(|kept| kept.track()));
        self.brief();
        let all = shelf::briefs();
        self.going.with(|going| match going.is_empty() {
            true => all,
            false => Arc::new(all.iter().filter(|brief| !going.contains(&brief.id)).cloned().collect()),
        })
    }

    /// Brings the briefs up to the jobs that are open.
    fn brief(self) {
        self.jobs.with_untracked(|jobs| {
            for (id, kept) in jobs {
                kept.with_untracked(|kept| shelf::note(id, kept.rev, &kept.job));
            }
        });
    }

    /// Works out what follows from some of the jobs of which that is not known yet, for so many milliseconds; how many
    /// are left.
    pub fn tell_some(self, content: &Content, milliseconds: i64) -> usize {
        self.brief();
        let open = |id: &str| {
            let kept = self.jobs.with_untracked(|jobs| jobs.get(id).cloned())?;
            Some(kept.with_untracked(|kept| kept.job.clone()))
        };
        let (left, unreadable) = shelf::tell(content, milliseconds, open);
        unreadable.iter().for_each(|id| self.open(id));
        self.briefed.update(|turn| *turn += 1);
        if left == 0 {
            self.keep_index_soon();
        }
        left
    }

    /// Keeps the index when nothing has changed for a while.
    fn keep_index_soon(self) {
        let turn = INDEX_TURN.get().wrapping_add(1);
        INDEX_TURN.set(turn);
        let keep = move || {
            if INDEX_TURN.get() == turn {
                self.brief();
                shelf::keep();
            }
        };
        set_timeout(keep, INDEX_SETTLE);
    }

    /// Deletes a job, so that it can be undone for a while.
    pub fn delete(self, id: &str) {
        self.open(id);
        self.going.update(|going| going.push(id.to_string()));
        let id = id.to_string();
        set_timeout(move || self.delete_now(&id), UNDO);
    }

    /// The jobs that are going, in brief. Reading it follows them.
    pub fn going_briefs(self) -> Vec<Arc<Brief>> {
        let all = shelf::briefs();
        self.going
            .with(|going| going.iter().filter_map(|id| all.iter().find(|brief| brief.id == *id).cloned()).collect())
    }

    /// Brings a job back that is going.
    pub fn undo_delete(self, id: &str) {
        self.going.update(|going| going.retain(|going| going != id));
    }

    /// Deletes a job that is going, in both stores. What another tab has written meanwhile stays.
    fn delete_now(self, id: &str) {
        if !self.going.try_with_untracked(|going| going.iter().any(|going| going == id)).unwrap_or(false) {
            return;
        }
        CHANGED.with(|changed| changed.borrow_mut().remove(id));
        self.undo_delete(id);
        let Some(kept) = self.jobs.with_untracked(|jobs| jobs.get(id).cloned()) else { return };
        let (rev, base) = kept.with_untracked(|kept| (kept.rev, kept.base.clone()));
        let there = local::job(id).and_then(|text| stored::open(&text).ok());
        if let Some(there) = there.filter(|there| base != (there.rev, there.writes.clone())) {
            kept.set(there.into());
            return self.trouble.set(Some(Trouble::OtherTab));
        }
        let gone = TAB.with(|tab| Stored::gone(id, rev.max(base.0), &base.1, tab, clock::now()));
        let text = gone.text();
        local::keep_job(id, &text);
        self.drop_from_memory(id);
        let id = id.to_string();
        leptos::task::spawn_local(async move {
            mirror(&id, &text).await;
        });
        self.keep_index_soon();
    }

    fn drop_from_memory(self, id: &str) {
        shelf::forget(id);
        self.jobs.update(|jobs| {
            jobs.remove(id);
        });
        self.briefed.update(|turn| *turn += 1);
    }

    /// Every job, opened: for what takes all of them, as a backup does. Reading it follows every change.
    pub fn all(self) -> Vec<Job> {
        for id in shelf::unopened() {
            self.open(&id);
        }
        let mut all: Vec<Job> =
            self.jobs.with(|jobs| jobs.values().map(|kept| kept.with(|kept| kept.job.clone())).collect());
        all.sort_by(|a, b| b.begun.cmp(&a.begun).then_with(|| a.id.cmp(&b.id)));
        all
    }

    /// Takes a new job in and returns its key.
    pub fn add(self, mut job: Job) -> String {
        if job.id.is_empty() {
            job.id = clock::new_key();
        }
        job.begun = clock::now();
        let id = job.id.clone();
        let kept = Kept { job, rev: 1, base: Default::default(), rest: Map::new() };
        self.jobs.update(|jobs| {
            jobs.insert(id.clone(), ArcRwSignal::new(kept));
        });
        self.changed(&id);
        id
    }

    /// Changes a job and has it kept.
    pub fn change(self, id: &str, change: impl FnOnce(&mut Job)) {
        self.open(id);
        let Some(kept) = self.jobs.with_untracked(|jobs| jobs.get(id).cloned()) else { return };
        kept.update(|kept| {
            change(&mut kept.job);
            kept.rev += 1;
        });
        self.changed(id);
    }

    /// Notes what was seen, now.
    pub fn observe(self, id: &str, of: Subject, seen: Seen, typed: String) {
        self.change(id, |job| job.observations.push(Observation::new(of, clock::now(), seen, typed)));
    }

    fn changed(self, id: &str) {
        CHANGED.with(|changed| changed.borrow_mut().insert(id.to_string()));
        set_timeout(move || self.flush(), SETTLE);
        self.keep_index_soon();
    }

    /// Writes all that has changed. Called a moment after a change, and at once when the page is left.
    pub fn flush(self) {
        let ids = CHANGED.with(|changed| std::mem::take(&mut *changed.borrow_mut()));
        for id in ids {
            self.write(&id);
        }
    }

    fn write(self, id: &str) {
        let Some(kept) = self.jobs.try_with_untracked(|jobs| jobs.get(id).cloned()).flatten() else { return };
        let there = local::job(id).map(|text| stored::open(&text).map_err(|why| Aside { key: id.into(), why, text }));
        match there {
            // Deleted by another tab while it was changed here: what was changed stays, as the write after that one.
            Some(Ok(there)) if there.is_gone() => kept.update_untracked(|kept| kept.outlive(there)),
            Some(Ok(there)) if kept.with_untracked(|kept| kept.base != (there.rev, there.writes.clone())) => {
                return self.part_from(kept, Ok(there));
            }
            Some(Err(unreadable)) => return self.part_from(kept, Err(unreadable)),
            _ => {}
        }
        let stored = kept.with_untracked(|kept| Stored {
            rev: kept.rev,
            saved_at: clock::now(),
            writes: TAB.with(|tab| kept.base.1.then(tab)),
            job: kept.job.clone(),
            rest: kept.rest.clone(),
        });
        let text = stored.text();
        let in_local = keep_local(id, &text);
        shelf::note(id, stored.rev, &stored.job);
        shelf::note_text(id, stored.rev, &text);
        kept.update_untracked(|kept| kept.base = (stored.rev, stored.writes));
        let id = id.to_string();
        leptos::task::spawn_local(async move {
            let in_mirror = mirror(&id, &text).await;
            let trouble = (!in_local && !in_mirror).then_some(Trouble::NothingKept);
            if trouble.is_some() || self.trouble.try_get_untracked() == Some(Some(Trouble::NothingKept)) {
                self.trouble.try_set(trouble);
            }
            self.health.try_set(Health { local: in_local, mirror: in_mirror });
        });
    }

    /// Another tab has written this job meanwhile: ours goes on under a key of its own, and both are kept.
    fn part_from(self, kept: ArcRwSignal<Kept>, theirs: Result<Stored, Aside>) {
        let mut ours = kept.get_untracked();
        let id = std::mem::replace(&mut ours.job.id, clock::new_key());
        ours.base = Default::default();
        let new_id = ours.job.id.clone();
        self.jobs.update(|jobs| {
            jobs.insert(new_id.clone(), ArcRwSignal::new(ours));
            if theirs.is_err() {
                jobs.remove(&id);
                shelf::forget(&id);
            }
        });
        match theirs {
            Ok(theirs) => {
                let text = theirs.text();
                kept.set(theirs.into());
                // The second store may have ours under the old key still.
                leptos::task::spawn_local(async move {
                    mirror(&id, &text).await;
                });
            }
            Err(unreadable) => self.aside.update(|aside| aside.push(unreadable)),
        }
        self.trouble.set(Some(Trouble::OtherTab));
        self.changed(&new_id);
    }

    /// Takes what another tab has written. Changes of this tab that are not kept yet meet it when they are written.
    fn take_foreign(self, id: &str) {
        let Some(Ok(theirs)) = local::job(id).map(|text| stored::open(&text)) else { return };
        if CHANGED.with(|changed| changed.borrow().contains(id)) {
            return;
        }
        self.open(id);
        match self.jobs.with_untracked(|jobs| jobs.get(id).cloned()) {
            // Deleted there at the moment when it was changed here.
            Some(kept)
                if theirs.is_gone() && TAB.with(|tab| !theirs.writes.has_all_of(tab, &kept.get_untracked().base.1)) =>
            {
                kept.update_untracked(|kept| kept.outlive(theirs));
                self.changed(id);
            }
            // Both wrote at the same moment, and theirs came to lie over ours.
            Some(kept) if TAB.with(|tab| !theirs.writes.has_all_of(tab, &kept.get_untracked().base.1)) => {
                self.part_from(kept, Ok(theirs));
            }
            _ if theirs.is_gone() => self.drop_from_memory(id),
            Some(kept) => kept.set(theirs.into()),
            None => self.jobs.update(|jobs| {
                jobs.insert(id.to_string(), ArcRwSignal::new(theirs.into()));
            }),
        }
    }
}
