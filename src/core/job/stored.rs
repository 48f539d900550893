//! How a job is kept: one JSON text each, with the version of its shape and a revision that counts its changes.

use crate::core::job::lineage::Lineage;
use crate::core::job::{Job, Moment, fields, migrate};
use serde_json::{Map, Value};

/// The version of the shape that this app writes.
pub const VERSION: u32 = 2;

/// A job as it lies in a store.
#[derive(Clone, Debug, PartialEq)]
pub struct Stored {
    /// Counts the changes; of two copies the higher is the newer.
    pub rev: u64,
    pub saved_at: Moment,
    pub writes: Lineage,
    pub job: Job,
    /// Fields of the envelope that this version does not know: kept as they came.
    pub rest: Map<String, Value>,
}

/// The JSON of [`Stored::text`], for the published schema.
#[cfg(test)]
#[derive(schemars::JsonSchema)]
#[allow(dead_code)]
pub struct Shape {
    /// The version of the shape.
    v: u32,
    /// Counts the changes; of two copies the higher is the newer.
    rev: u64,
    saved_at: Moment,
    /// Which writes of which tab it has in it, the last one at the end.
    #[schemars(default)]
    writes: Vec<(String, u64)>,
    job: Job,
}

/// Why a kept text is set aside: it stays as it is, and is never written over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SetAside {
    /// Made by a newer version of the app.
    Newer,
    /// Not readable as a job.
    Broken,
}

impl Stored {
    /// The text to keep.
    pub fn text(&self) -> String {
        let mut whole = self.rest.clone();
        whole.insert("v".into(), VERSION.into());
        whole.insert("rev".into(), self.rev.into());
        whole.insert("saved_at".into(), self.saved_at.0.into());
        whole.insert("writes".into(), self.writes.to_value());
        let mut job = self.job.rest.clone();
        // A job is plain data, so that it always becomes an object.
        if let Ok(Value::Object(known)) = serde_json::to_value(&self.job) {
            job.extend(known);
        }
        whole.insert("job".into(), Value::Object(job));
        Value::Object(whole).to_string()
    }
}

/// In an envelope: the job was deleted.
const GONE: &str = "gone";

impl Stored {
    /// What is kept in place of a job that was deleted after this was read: one more write of it, with nothing in it.
    ///
    /// To take a text out of two stores is two steps, and a browser may be killed between them: then the job would come
    /// back out of the other store. As a write it is the newer of the two, and an edit made at the same moment in
    /// another tab parts from it like from any other write, and is kept.
    pub fn gone(id: &str, rev: u64, writes: &Lineage, tab: &str, at: Moment) -> Stored {
        let job = Job { id: id.to_string(), ..Job::default() };
        let rest = Map::from_iter([(GONE.to_string(), true.into())]);
        Stored { rev: rev + 1, saved_at: at, writes: writes.then(tab), job, rest }
    }

    /// Was the job deleted?
    pub fn is_gone(&self) -> bool {
        self.rest.get(GONE).and_then(Value::as_bool) == Some(true)
    }
}

/// Reads a kept text.
pub fn open(text: &str) -> Result<Stored, SetAside> {
    let Ok(Value::Object(whole)) = serde_json::from_str(text) else { return Err(SetAside::Broken) };
    let version = whole.get("v").and_then(Value::as_u64).ok_or(SetAside::Broken)?;
    if version > u64::from(VERSION) {
        return Err(SetAside::Newer);
    }
    let mut rest = migrate::bring_up(version, whole).ok_or(SetAside::Broken)?;
    rest.remove("v");
    let mut read = || {
        let rev = rest.remove("rev")?.as_u64()?;
        let saved_at = Moment(rest.remove("saved_at")?.as_i64()?);
        let Value::Object(job) = rest.remove("job")? else { return None };
        let names = fields::names::<Job>();
        let (known, unknown) = job.into_iter().partition::<Map<_, _>, _>(|(name, _)| names.contains(&name.as_str()));
        // Read out of it, not beside it: a copy would double what a large text takes.
        let job = Job { rest: unknown, ..serde_json::from_value(known.into()).ok()? };
        Some((rev, saved_at, job))
    };
    let (rev, saved_at, job) = read().ok_or(SetAside::Broken)?;
    let writes = Lineage::take_from(&mut rest);
    Ok(Stored { rev, saved_at, writes, job, rest })
}

/// Of two kept texts of one job, the one that counts.
///
/// A text that cannot be read never wins over one that can, and never hides it; of two that can be read the higher
/// revision wins. One made by a newer version wins over all: to go on with the older copy would split the job.
pub fn newer(one: Option<String>, other: Option<String>) -> Option<String> {
    match (one, other) {
        (None, only) | (only, None) => only,
        (Some(one), Some(other)) => {
            let rank = |text: &str| match open(text) {
                Err(SetAside::Broken) => (0, 0),
                Ok(stored) => (1, stored.rev),
                Err(SetAside::Newer) => (2, 0),
            };
            if rank(&other) > rank(&one) { Some(other) } else { Some(one) }
        }
    }
}

/// What a text that is to be written meets in a store.
#[derive(Clone, Debug, PartialEq)]
pub enum Meets {
    /// Nothing, or a text that is in it already: it may be written.
    Older,
    /// A text that has it in it already: writing it would set the job back.
    Later,
    /// A text that was written at the same moment: both are jobs.
    Parted(Box<Stored>),
    /// A text that cannot be read here: it stays.
    Aside(SetAside),
}

/// What `mine` meets. The clock is not asked: it may have been set back.
pub fn meets(there: Option<&str>, mine: &Stored) -> Meets {
    let Some(there) = there else { return Meets::Older };
    match open(there) {
        Err(why) => Meets::Aside(why),
        Ok(there) if mine.writes.has_last_of(&there.writes) => Meets::Older,
        Ok(there) if there.writes.has_last_of(&mine.writes) => Meets::Later,
        Ok(there) => Meets::Parted(Box::new(there)),
    }
}

/// A job on its way into a store, with its text.
#[derive(Clone, Debug, PartialEq)]
pub struct Mine {
    pub stored: Stored,
    pub text: String,
    /// The text that the same tab wrote last: what was then in that job is in this one.
    pub before: Option<String>,
}

impl Mine {
    pub fn new(stored: Stored, before: Option<String>) -> Mine {
        Mine { text: stored.text(), stored, before }
    }

    /// [`meets`]. The text that was written last is known without being read: jobs are written while somebody types, and
    /// a large one takes a slow phone some milliseconds to read.
    pub fn meets(&self, there: Option<&str>) -> Meets {
        if there.is_some() && there == self.before.as_deref() { Meets::Older } else { meets(there, &self.stored) }
    }
}

/// Of two kept texts of one job that were written at the same moment, neither after the other, the one that
/// [`newer`] does not choose: it is a job of its own. None where one came after the other.
pub fn parted(one: &str, other: &str) -> Option<Stored> {
    let (first, second) = (open(one).ok()?, open(other).ok()?);
    let apart = first.job != second.job && !first.writes.in_line_with(&second.writes);
    apart.then_some(if second.rev > first.rev { first } else { second })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stored(rev: u64) -> Stored {
        let job = Job { id: "a1".into(), notes: "as left".into(), ..Job::default() };
        Stored { rev, saved_at: Moment(5), writes: Lineage::default().then("tab"), job, rest: Map::new() }
    }

    #[test]
    fn a_job_comes_back_as_it_was() {
        let kept = stored(3);
        assert_eq!(open(&kept.text()), Ok(kept));
    }

    #[test]
    fn what_was_written_last_is_met_as_when_it_is_read() {
        let first = stored(3);
        let next = Stored { rev: 4, writes: first.writes.then("tab"), ..first.clone() };
        let (with, without) = (Mine::new(next.clone(), Some(first.text())), Mine::new(next, None));
        let other = Stored { rev: 4, writes: first.writes.then("other tab"), ..first.clone() };
        for there in [None, Some(first.text()), Some(other.text()), Some("{".to_string())] {
            assert_eq!(with.meets(there.as_deref()), without.meets(there.as_deref()), "{there:?}");
        }
    }

    #[test]
    fn unknown_fields_survive() {
        let text = r#"{"v":1,"rev":2,"saved_at":0,"later":7,"job":{"id":"x","torque":{"Nm":9}}}"#;
        let kept = open(text).unwrap();
        let again: Value = serde_json::from_str(&kept.text()).unwrap();
        assert_eq!(again["later"], 7);
        assert_eq!(again["job"]["torque"]["Nm"], 9);
    }

    #[test]
    fn what_cannot_be_read_is_set_aside() {
        assert_eq!(open("{"), Err(SetAside::Broken));
        assert_eq!(open(r#"{"v":99,"anything":true}"#), Err(SetAside::Newer));
        assert_eq!(open(r#"{"v":1,"rev":1,"saved_at":0,"job":{"site":{"series":-1}}}"#), Err(SetAside::Broken));
    }

    #[test]
    fn of_two_written_at_the_same_moment_both_are_jobs() {
        let start = stored(1);
        let written = |tab: &str, notes: &str, rev| {
            let job = Job { notes: notes.into(), ..start.job.clone() };
            Stored { rev, writes: start.writes.then(tab), job, ..start.clone() }
        };
        let (one, two) = (written("one", "mine", 2), written("two", "other", 2));
        assert_eq!(newer(Some(one.text()), Some(two.text())), Some(one.text()));
        assert_eq!(parted(&one.text(), &two.text()), Some(two.clone()));
        assert_eq!(parted(&written("one", "mine", 3).text(), &two.text()), Some(two));
        assert_eq!(parted(&start.text(), &one.text()), None);
        assert_eq!(parted(&one.text(), &one.text()), None);
    }

    #[test]
    fn a_text_is_never_written_over_one_that_it_does_not_hold() {
        let start = stored(1);
        let one = Stored { rev: 2, writes: start.writes.then("one"), ..start.clone() };
        let two = Stored { rev: 9, writes: start.writes.then("two"), ..start.clone() };
        assert_eq!(meets(None, &one), Meets::Older);
        assert_eq!(meets(Some(&start.text()), &one), Meets::Older);
        assert_eq!(meets(Some(&one.text()), &one), Meets::Older, "written again is no harm");
        assert_eq!(meets(Some(&one.text()), &start), Meets::Later);
        assert_eq!(meets(Some(&two.text()), &one), Meets::Parted(Box::new(two)));
        assert_eq!(meets(Some("{"), &one), Meets::Aside(SetAside::Broken));
        assert_eq!(meets(Some(r#"{"v":99}"#), &one), Meets::Aside(SetAside::Newer));
    }

    #[test]
    fn a_clock_that_was_set_back_does_not_make_a_text_older() {
        let old = Stored { saved_at: Moment(2_000_000_000_000), ..stored(7) };
        let new = Stored { rev: 8, saved_at: Moment(5), writes: old.writes.then("tab"), ..old.clone() };
        assert_eq!(newer(Some(old.text()), Some(new.text())), Some(new.text()));
        assert_eq!(newer(Some(new.text()), Some(old.text())), Some(new.text()));
        assert_eq!(meets(Some(&old.text()), &new), Meets::Older);
        assert_eq!(parted(&old.text(), &new.text()), None);
    }

    #[test]
    fn a_deleted_job_stays_deleted_whichever_store_knows_of_it() {
        let job = stored(3);
        let gone = Stored::gone("a1", job.rev, &job.writes, "tab", Moment(9));
        assert!(gone.is_gone() && !job.is_gone());
        assert_eq!(open(&gone.text()), Ok(gone.clone()));
        for (one, other) in [(job.text(), gone.text()), (gone.text(), job.text())] {
            assert_eq!(newer(Some(one.clone()), Some(other.clone())), Some(gone.text()));
            assert_eq!(parted(&one, &other), None);
        }
        // What another tab wrote at the same moment is a job of its own.
        let edit = Job { notes: "more".into(), ..job.job.clone() };
        let edited = Stored { rev: 4, writes: job.writes.then("other"), job: edit, ..job };
        assert_eq!(parted(&gone.text(), &edited.text()), Some(edited));
    }

    #[test]
    fn the_higher_revision_counts() {
        let (old, new) = (stored(1).text(), stored(2).text());
        assert_eq!(newer(Some(old.clone()), Some(new.clone())), Some(new.clone()));
        assert_eq!(newer(Some(new.clone()), Some(old.clone())), Some(new));
        assert_eq!(newer(Some("{".into()), Some(old.clone())), Some(old.clone()));
        assert_eq!(newer(None, Some(old.clone())), Some(old));
    }
}
