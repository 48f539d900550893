//! Deleting a job, so that it can be undone for a while and then stays deleted.

use super::{CHANGED, Store, TAB, Trouble, mirror};
use crate::app::device::{clock, local};
use crate::app::shelf;
use crate::core::job::brief::Brief;
use crate::core::job::stored::{self, Mine, Stored};
use leptos::prelude::*;
use std::sync::Arc;
use std::time::Duration;

/// For how long a deletion can be undone.
const UNDO: Duration = Duration::from_secs(12);

impl Store {
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
    pub(super) fn delete_now(self, id: &str) {
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
        let gone = Mine::new(gone, None);
        local::keep_job(id, &gone.text);
        self.drop_from_memory(id);
        let id = id.to_string();
        leptos::task::spawn_local(async move {
            mirror(&id, &gone, false).await;
        });
        self.keep_index_soon();
    }

    pub(super) fn drop_from_memory(self, id: &str) {
        shelf::forget(id);
        self.jobs.update(|jobs| {
            jobs.remove(id);
        });
        self.briefed.update(|turn| *turn += 1);
    }
}
