//! The jobs as texts: for a backup out of the memory, whatever the stores say, and for taking a backup in.

use super::{Aside, CHANGED, Health, Kept, Store, TAB, UNDER_WAY, opened};
use crate::app::device::{clock, local};
use crate::app::shelf;
use crate::core::job::Moment;
use crate::core::job::stored::{self, Stored};
use leptos::prelude::*;

impl Store {
    /// The text of every job and every text that is set aside, by key. What is typed this moment is in it.
    pub fn texts(self) -> Vec<(String, String)> {
        self.flush();
        self.open_all();
        let text = |kept: &Kept| Stored {
            rev: kept.rev,
            saved_at: clock::now(),
            // Writes that no store took count too: the text is out in the world.
            writes: if kept.base.1.is_empty() { TAB.with(|tab| kept.base.1.then(tab)) } else { kept.base.1.clone() },
            job: kept.job.clone(),
            rest: kept.rest.clone(),
        };
        let jobs = self.jobs.with_untracked(|jobs| {
            jobs.iter()
                .map(|(key, kept)| (key.clone(), kept.with_untracked(|kept| text(kept).text())))
                .collect::<Vec<_>>()
        });
        let aside = self.aside.get_untracked().into_iter().map(|aside| (aside.key, aside.text));
        jobs.into_iter().chain(aside).collect()
    }

    /// Key, revision and beginning of each job of one's own. Reading it follows every change.
    pub fn revisions(self) -> Vec<(String, u64, Moment)> {
        let briefs = self.briefs();
        let own = briefs.iter().filter(|brief| !brief.demo);
        own.filter_map(|brief| Some((brief.id.clone(), shelf::revision(&brief.id)?, brief.begun))).collect()
    }

    /// Takes a text in under a key, as it is, and keeps it in both stores. What is there under the key is replaced: the
    /// caller knows that the text has it in it.
    pub fn take_in(self, key: &str, text: String) {
        CHANGED.with(|changed| changed.borrow_mut().remove(key));
        match stored::open(&text) {
            Ok(stored) => self.take_job(key, stored),
            Err(why) => self.aside.update(|aside| aside.push(Aside { key: key.into(), why, text: text.clone() })),
        }
        let in_local = local::keep_job(key, &text);
        UNDER_WAY.set(UNDER_WAY.get() + 1);
        let key = key.to_string();
        leptos::task::spawn_local(async move {
            let in_mirror = match opened() {
                Some(mirror) => mirror.put(&key, &text).await.is_some(),
                None => false,
            };
            UNDER_WAY.set(UNDER_WAY.get() - 1);
            self.written(Health { local: in_local, mirror: in_mirror });
        });
    }

    fn take_job(self, key: &str, stored: Stored) {
        self.open(key);
        match self.jobs.with_untracked(|jobs| jobs.get(key).cloned()) {
            Some(kept) => kept.set(stored.into()),
            None => self.jobs.update(|jobs| {
                jobs.insert(key.to_string(), ArcRwSignal::new(stored.into()));
            }),
        }
    }
}
