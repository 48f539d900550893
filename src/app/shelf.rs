//! The jobs in brief, and those that nobody has opened yet: what the list of jobs is drawn from.
//!
//! A job's text is taken apart only when somebody asks for the job. Its brief comes out of the kept index, where that was
//! made of this very text, and else out of the text itself.

use crate::app::device::{clock, local};
use crate::content::{self, Content};
use crate::core::job::Job;
use crate::core::job::brief::{Brief, Index, print};
use crate::core::job::stored::{self, SetAside, Stored};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A brief, and of which text and which revision it was made.
struct Known {
    brief: Arc<Brief>,
    rev: Option<u64>,
    /// The print of the job's text as it is kept now; none while nobody has seen it.
    kept: Option<u64>,
}

#[derive(Default)]
struct Shelf {
    asleep: BTreeMap<String, String>,
    known: BTreeMap<String, Known>,
    /// In the order of the list; none after a change.
    sorted: Option<Arc<Vec<Arc<Brief>>>>,
    /// Something became known since the index was kept.
    is_new: bool,
    /// The name of what the briefs say: see [`Content::says`].
    says: String,
}

thread_local! {
    static SHELF: RefCell<Shelf> = RefCell::new(Shelf::default());
}

fn with<T>(act: impl FnOnce(&mut Shelf) -> T) -> T {
    SHELF.with_borrow_mut(act)
}

/// The index as it was kept.
pub fn kept_index(content: &Content) -> Index {
    let says = content.says();
    let index = local::index().map(|text| Index::read(&text, &says)).unwrap_or_default();
    with(|shelf| shelf.says = says);
    index
}

/// What follows from jobs is worked out anew, with another content.
pub fn say_anew(content: &Content) {
    with(|shelf| {
        for known in shelf.known.values_mut() {
            known.brief = Arc::new(Brief { told: None, ..(*known.brief).clone() });
        }
        shelf.says = content.says();
        shelf.sorted = None;
        shelf.is_new = true;
    });
}

/// Puts a job on the shelf without opening it, if the index knows this very text.
pub fn put_unopened(index: &mut Index, id: &str, text: String) -> Result<(), String> {
    let Some((kept, brief)) = index.take(id, &text) else { return Err(text) };
    with(|shelf| {
        shelf.known.insert(id.to_string(), Known { brief, rev: None, kept: Some(kept) });
        shelf.asleep.insert(id.to_string(), text);
        shelf.sorted = None;
    });
    Ok(())
}

/// Notes the brief of a job that is open, where it is of another revision than the one that is known.
pub fn note(id: &str, rev: u64, job: &Job) {
    with(|shelf| {
        let known = shelf.known.get(id);
        if known.is_some_and(|known| known.rev == Some(rev)) {
            return;
        }
        let kept = known.and_then(|known| known.kept);
        let mut brief = Brief::of(job);
        // The key that it lies under counts, whatever stands in it.
        brief.id = id.to_string();
        shelf.known.insert(id.to_string(), Known { brief: Arc::new(brief), rev: Some(rev), kept });
        shelf.sorted = None;
        shelf.is_new = true;
    });
}

/// Notes the text under which an open job is kept now.
pub fn note_text(id: &str, rev: u64, text: &str) {
    let kept = Some(print(text));
    with(|shelf| {
        if let Some(known) = shelf.known.get_mut(id) {
            // A brief of another revision must not be kept for this text.
            known.kept = kept.filter(|_| known.rev == Some(rev));
            shelf.is_new = true;
        }
    });
}

/// Takes a job that nobody has opened off the shelf, and opens it. None where it is not there; an error, with its text,
/// where it cannot be read after all: the index said what it should not have.
pub fn open(id: &str) -> Option<Result<Stored, (SetAside, String)>> {
    let text = with(|shelf| shelf.asleep.remove(id))?;
    let opened = stored::open(&text);
    match &opened {
        Ok(stored) => {
            with(|shelf| {
                if let Some(known) = shelf.known.get_mut(id) {
                    known.rev = Some(stored.rev);
                }
            });
        }
        Err(_) => forget(id),
    }
    Some(opened.map_err(|why| (why, text)))
}

/// The revision of a job, open or not; of one that nobody has opened it is read out of its text, without the job.
pub fn revision(id: &str) -> Option<u64> {
    #[derive(serde::Deserialize)]
    struct Envelope {
        rev: u64,
    }
    with(|shelf| {
        let known = shelf.known.get(id).and_then(|known| known.rev);
        let asleep = || Some(serde_json::from_str::<Envelope>(shelf.asleep.get(id)?).ok()?.rev);
        known.or_else(asleep)
    })
}

/// Forgets a job that is there no longer.
pub fn forget(id: &str) {
    with(|shelf| {
        shelf.asleep.remove(id);
        shelf.known.remove(id);
        shelf.sorted = None;
        shelf.is_new = true;
    });
}

/// The keys of all jobs that nobody has opened.
pub fn unopened() -> Vec<String> {
    with(|shelf| shelf.asleep.keys().cloned().collect())
}

/// Every job in brief, the one begun last first.
pub fn briefs() -> Arc<Vec<Arc<Brief>>> {
    with(|shelf| {
        if let Some(sorted) = &shelf.sorted {
            return sorted.clone();
        }
        let mut all: Vec<Arc<Brief>> = shelf.known.values().map(|known| known.brief.clone()).collect();
        all.sort_by(|a, b| b.begun.cmp(&a.begun).then_with(|| a.id.cmp(&b.id)));
        let all = Arc::new(all);
        shelf.sorted = Some(all.clone());
        all
    })
}

/// Works out what follows from jobs of which that is not known, in the order of the list, for so many milliseconds and
/// at least for one. `job` gives a job that is open. Returns how many are left, and which cannot be read after all.
pub fn tell(content: &Content, milliseconds: i64, job: impl Fn(&str) -> Option<Job>) -> (usize, Vec<String>) {
    let mut unreadable = Vec::new();
    let end = clock::now().0 + milliseconds;
    let untold: Vec<String> =
        briefs().iter().filter(|brief| brief.told.is_none()).map(|brief| brief.id.clone()).collect();
    let mut left = untold.len();
    for id in untold {
        // A job that is asleep stays so: only its text is looked into.
        let opened = || {
            let text = with(|shelf| shelf.asleep.get(&id).cloned())?;
            stored::open(&text).ok().map(|stored| stored.job)
        };
        let told = job(&id).or_else(opened).map(|job| content::brief::tell(content, &job));
        match told {
            Some(told) => with(|shelf| {
                if let Some(known) = shelf.known.get_mut(&id) {
                    known.brief = Arc::new(Brief { told: Some(told), ..(*known.brief).clone() });
                }
                shelf.sorted = None;
                shelf.is_new = true;
            }),
            None => unreadable.push(id),
        }
        left -= 1;
        if clock::now().0 >= end {
            break;
        }
    }
    (left, unreadable)
}

/// Keeps the index for the next start: of every job whose brief is of the text that is kept.
pub fn keep() {
    let index = with(|shelf| {
        if !std::mem::take(&mut shelf.is_new) {
            return None;
        }
        let of = shelf.known.iter().filter_map(|(id, known)| Some((id.clone(), (known.kept?, known.brief.clone()))));
        Some(Index { of: of.collect() }.text(&shelf.says))
    });
    if let Some(text) = index {
        local::keep_index(&text);
    }
}
