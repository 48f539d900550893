//! The jobs in memory, and the way they are kept: each change goes to both stores a moment later.
//!
//! Nothing is written over that this tab has not seen: a job that another tab has changed meanwhile is kept beside ours.

mod going;
mod load;
mod texts;

pub use load::{Loaded, load};

use crate::app::device::mirror::Mirror;
use crate::app::device::{clock, local, page, persist};
use crate::app::{keeping, shelf};
use crate::content::Content;
use crate::core::job::brief::Brief;
use crate::core::job::lineage::Lineage;
use crate::core::job::stored::{self, Meets, Mine, SetAside, Stored};
use crate::core::job::{Job, Observation, Seen, Subject};
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

/// When pictures that no job names are looked for: after the start has become quiet.
const SWEEP: Duration = Duration::from_secs(20);

/// A job in memory.
#[derive(Clone, Debug)]
pub struct Kept {
    pub job: Job,
    rev: u64,
    /// The revision that this tab last read or wrote, and what it had in it.
    base: (u64, Lineage),
    /// The text that this tab last wrote.
    text: Option<String>,
    rest: Map<String, Value>,
}

impl Kept {
    /// Goes on after another tab has deleted the job: as the write after that one.
    fn outlive(&mut self, gone: Stored) {
        self.rev = self.rev.max(gone.rev + 1);
        self.base = (gone.rev, gone.writes);
    }

    /// Whether this job has all in it that lies there: it was read, or written by this tab; or a full store did not take
    /// what came after it.
    fn has(&self, there: &Stored) -> bool {
        let (rev, writes) = &self.base;
        if there.writes.is_empty() { *rev == there.rev } else { writes.has_last_of(&there.writes) }
    }
}

impl From<Stored> for Kept {
    fn from(stored: Stored) -> Kept {
        let Stored { rev, writes, job, rest, .. } = stored;
        Kept { job, rev, base: (rev, writes), text: None, rest }
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
    /// Only the store that a killed browser may lose takes anything.
    HalfKept,
    OtherTab,
}

/// Which of the two stores answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Health {
    pub local: bool,
    pub mirror: bool,
}

/// How it stands with the latest change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Nothing was changed since the start.
    Quiet,
    Keeping,
    /// The second store, which a killed browser does not lose, has confirmed it.
    Kept,
    /// Only the first store has it: it may be lost when the browser is killed within a minute.
    InOne,
    Nowhere,
}

/// All jobs.
#[derive(Clone, Copy)]
pub struct Store {
    jobs: RwSignal<BTreeMap<String, ArcRwSignal<Kept>>>,
    pub aside: RwSignal<Vec<Aside>>,
    pub trouble: RwSignal<Option<Trouble>>,
    pub health: RwSignal<Health>,
    pub mark: RwSignal<Mark>,
    /// How many backups left the app since the start.
    pub backed_up: RwSignal<u32>,
    /// Deleted, but still there while it can be undone: the keys, the last one at the end.
    pub going: RwSignal<Vec<String>>,
    /// Counts what becomes known of jobs that are not open, and those that go.
    briefed: RwSignal<u32>,
}

thread_local! {
    /// Writes that the second store has not confirmed yet.
    static UNDER_WAY: Cell<u32> = const { Cell::new(0) };
    static INDEX_TURN: Cell<u32> = const { Cell::new(0) };
    static HALF_TOLD: Cell<bool> = const { Cell::new(false) };
    static MIRROR: RefCell<Option<Rc<Mirror>>> = const { RefCell::new(None) };
    static CHANGED: RefCell<BTreeSet<String>> = const { RefCell::new(BTreeSet::new()) };
    /// This tab's name in what it writes.
    static TAB: String = clock::new_key();
}

/// Keeps a text in the first store; where there is no room for it, the index gives way.
fn keep_local(id: &str, text: &str) -> bool {
    local::keep_job(id, text) || {
        local::drop_index();
        local::keep_job(id, text)
    }
}

/// The second store, if it was there at the start.
fn opened() -> Option<Rc<Mirror>> {
    MIRROR.with(|slot| slot.borrow().clone())
}

/// Keeps a job in the second store; None where the store does not take it. Where another tab has written there at the
/// same moment, that tab learns of it through the first store and gives way: it is waited for a little.
async fn mirror(id: &str, mine: &Mine, over_parted: bool) -> Option<Meets> {
    for wait in [100, 300, 1000, 0] {
        let meets = match opened()?.keep(id, mine, over_parted).await {
            Some(meets) => meets,
            // A browser closes a database when the disk was full, or when it stood in the background: open it anew.
            None => {
                let again = Mirror::open().await.map(Rc::new)?;
                MIRROR.with(|slot| *slot.borrow_mut() = Some(again.clone()));
                again.keep(id, mine, over_parted).await?
            }
        };
        if wait == 0 || !matches!(meets, Meets::Parted(_)) {
            return Some(meets);
        }
        page::pause(wait).await;
    }
    None
}

impl Store {
    pub fn new(loaded: Loaded) -> Store {
        let jobs = loaded.jobs.into_iter().map(|(key, kept)| (key, ArcRwSignal::new(kept))).collect();
        let store = Store {
            jobs: RwSignal::new(jobs),
            aside: RwSignal::new(loaded.aside),
            trouble: RwSignal::new((!loaded.health.local && !loaded.health.mirror).then_some(Trouble::NothingKept)),
            health: RwSignal::new(loaded.health),
            mark: RwSignal::new(Mark::Quiet),
            backed_up: RwSignal::new(0),
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
        set_timeout(move || leptos::task::spawn_local(keeping::sweep(store)), SWEEP);
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

    /// Opens every job.
    fn open_all(self) {
        for id in shelf::unopened() {
            self.open(&id);
        }
    }

    /// Every job, opened: for what takes all of them, as a backup does. Reading it follows every change.
    pub fn all(self) -> Vec<Job> {
        self.open_all();
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
        let kept = Kept { job, rev: 1, base: Default::default(), text: None, rest: Map::new() };
        self.jobs.update(|jobs| {
            jobs.insert(id.clone(), ArcRwSignal::new(kept));
        });
        self.changed(&id);
        id
    }

    /// Takes a job in that was made elsewhere, with its beginning; under a key of its own where that key is taken here.
    pub fn add_made(self, mut job: Job) -> String {
        self.open(&job.id);
        let taken = |id: &str| self.jobs.with_untracked(|jobs| jobs.contains_key(id));
        let aside = |id: &str| self.aside.with_untracked(|aside| aside.iter().any(|aside| aside.key == id));
        if job.id.is_empty() || taken(&job.id) || aside(&job.id) {
            job.id = clock::new_key();
        }
        let id = job.id.clone();
        let kept = Kept { job, rev: 1, base: Default::default(), text: None, rest: Map::new() };
        self.jobs.update(|jobs| {
            jobs.insert(id.clone(), ArcRwSignal::new(kept));
        });
        self.changed(&id);
        id
    }

    /// A job as it goes into a file: what another phone keeps of it begins there.
    pub fn as_file(self, job: Job) -> Stored {
        Stored { rev: 1, saved_at: clock::now(), writes: Lineage::default(), job, rest: Map::new() }
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
        self.change(id, |job| job.see(Observation::new(of, clock::now(), seen, typed)));
    }

    fn changed(self, id: &str) {
        CHANGED.with(|changed| changed.borrow_mut().insert(id.to_string()));
        self.mark.set(Mark::Keeping);
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
        let before = kept.with_untracked(|kept| kept.text.clone());
        let there = local::job(id).filter(|text| before.as_ref() != Some(text));
        let there = there.map(|text| stored::open(&text).map_err(|why| Aside { key: id.into(), why, text }));
        match there {
            // Deleted by another tab while it was changed here: what was changed stays, as the write after that one.
            Some(Ok(there)) if there.is_gone() => kept.update_untracked(|kept| kept.outlive(there)),
            Some(Ok(there)) if kept.with_untracked(|kept| !kept.has(&there)) => {
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
        let mine = Mine::new(stored, before);
        let Mine { stored, text, .. } = &mine;
        let in_local = keep_local(id, text);
        shelf::note(id, stored.rev, &stored.job);
        shelf::note_text(id, stored.rev, text);
        kept.update_untracked(|kept| {
            kept.base = (stored.rev, stored.writes.clone());
            kept.text = Some(text.clone());
        });
        let id = id.to_string();
        UNDER_WAY.set(UNDER_WAY.get() + 1);
        leptos::task::spawn_local(async move {
            let stored = &mine.stored;
            if !stored.job.demo {
                leptos::task::spawn_local(persist::ask_once());
            }
            let meets = mirror(&id, &mine, false).await;
            UNDER_WAY.set(UNDER_WAY.get() - 1);
            let still_ours = kept.with_untracked(|kept| kept.base.1.has_last_of(&stored.writes));
            if !still_ours {
                // Another tab's came in its place meanwhile, and ours is written under a key of its own.
                return self
                    .written(self.health.try_get_untracked().unwrap_or(Health { local: in_local, mirror: false }));
            }
            match meets {
                // Deleted elsewhere while it was changed here: what was changed stays, as the write after that one.
                Some(Meets::Parted(theirs)) if theirs.is_gone() => {
                    kept.update_untracked(|kept| kept.outlive(*theirs));
                    return self.changed(&id);
                }
                Some(Meets::Parted(theirs)) => return self.part_from(kept, Ok(*theirs)),
                Some(Meets::Aside(why)) => {
                    let text = local::job(&id).unwrap_or_default();
                    return self.part_from(kept, Err(Aside { key: id, why, text }));
                }
                _ => {}
            }
            self.written(Health { local: in_local, mirror: meets.is_some() });
        });
    }

    /// Says how the last write went, when nothing waits to be written after it.
    fn written(self, health: Health) {
        let shown = self.trouble.try_get_untracked().flatten();
        let of_keeping = matches!(shown, Some(Trouble::NothingKept | Trouble::HalfKept));
        match health {
            Health { local: false, mirror: false } => self.trouble.try_set(Some(Trouble::NothingKept)),
            Health { mirror: true, .. } => {
                HALF_TOLD.set(false);
                if of_keeping { self.trouble.try_set(None) } else { None }
            }
            // Told once: who has closed it knows, and the mark goes on saying it.
            _ if !HALF_TOLD.replace(true) || of_keeping => self.trouble.try_set(Some(Trouble::HalfKept)),
            _ => None,
        };
        self.health.try_set(health);
        if UNDER_WAY.get() == 0 && CHANGED.with(|changed| changed.borrow().is_empty()) {
            self.mark.try_set(match health {
                Health { mirror: true, .. } => Mark::Kept,
                Health { local: true, .. } => Mark::InOne,
                _ => Mark::Nowhere,
            });
        }
    }

    /// Another tab has written this job meanwhile: ours goes on under a key of its own, and both are kept.
    fn part_from(self, kept: ArcRwSignal<Kept>, theirs: Result<Stored, Aside>) {
        let mut ours = kept.get_untracked();
        let id = std::mem::replace(&mut ours.job.id, clock::new_key());
        ours.base = Default::default();
        ours.text = None;
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
                kept.set(theirs.clone().into());
                // The second store may have ours under the old key still.
                leptos::task::spawn_local(async move {
                    mirror(&id, &Mine::new(theirs, None), true).await;
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
