//! Checklists of a job: those in use, one of them item by item, and those that a person makes.

mod edit;
mod in_record;
mod item;
mod one;
mod overview;

pub use edit::ListEdit;
pub use in_record::in_record;
pub use item::when_and_who;
pub use one::ListPage;
pub use overview::Lists;

use crate::app::frame::{App, app};
use crate::app::pages::entries::part_of;
use crate::content::checklist::{Counts, List, Made, list};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::assess::Assessment;
use crate::core::site::Site;
use leptos::prelude::*;
use std::collections::BTreeMap;

/// A job with what follows from it, as far as lists need it; derived anew on each change of what was seen, and not while
/// somebody types.
#[derive(Clone, Default, PartialEq)]
struct Ground {
    /// Without the texts that stand in fields.
    job: Job,
    made: Option<(Site, Assessment)>,
}

impl Ground {
    fn new(job: Job) -> Ground {
        let made = job.site.site().ok().map(|site| {
            let assessment = job.assess(&site);
            (site, assessment)
        });
        Ground { job, made }
    }

    fn of(id: &str) -> Memo<Ground> {
        let job = part_of(id, |job| Job { pending: BTreeMap::new(), ..job.clone() });
        Memo::new(move |_| Ground::new(job.get()))
    }

    fn made(&self) -> Option<Made<'_>> {
        self.made.as_ref().map(|(site, assessment)| Made { site, assessment })
    }

    /// A list that the job has in use.
    fn list(&self, app: App, key: &str) -> Option<List<'static>> {
        let taken = self.job.lists.iter().find(|taken| taken.key == key)?;
        list(app.content, taken, self.made())
    }
}

/// The title of a list, or words for one that has none.
fn title_of(app: App, title: &str) -> String {
    let title = title.trim();
    if title.is_empty() { app.word(w::LISTS_UNTITLED).to_string() } else { title.to_string() }
}

/// How far a list has come, in words.
fn said(counts: Counts) -> String {
    let speaker = app().speaker();
    let Counts { all, done, fails, look_again, not_applicable } = counts;
    let mut parts = vec![speaker.fill(w::LISTS_PROGRESS, &[("done", done.into()), ("all", all.into())])];
    let kinds = [(w::LISTS_FAILS, fails), (w::LISTS_LOOK_AGAIN, look_again), (w::LISTS_NOT_APPLICABLE, not_applicable)];
    for (word, n) in kinds.into_iter().filter(|(_, n)| *n > 0) {
        parts.push(speaker.fill(word, &[("n", Arg::Count(n))]));
    }
    parts.join(", ")
}
