//! How a job is kept: one JSON text each, with the version of its shape and a revision that counts its changes.

use crate::core::job::{Job, Moment};
use serde_json::{Map, Value};

/// The version of the shape that this app writes.
pub const VERSION: u32 = 1;

/// A job as it lies in a store.
#[derive(Clone, Debug, PartialEq)]
pub struct Stored {
    /// Counts the changes; of two copies the higher is the newer.
    pub rev: u64,
    pub saved_at: Moment,
    pub job: Job,
    /// Fields of the envelope that this version does not know: kept as they came.
    pub rest: Map<String, Value>,
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
        let mut job = self.job.rest.clone();
        // A job is plain data, so that it always becomes an object.
        if let Ok(Value::Object(known)) = serde_json::to_value(&self.job) {
            job.extend(known);
        }
        whole.insert("job".into(), Value::Object(job));
        Value::Object(whole).to_string()
    }
}

/// Reads a kept text.
pub fn open(text: &str) -> Result<Stored, SetAside> {
    let Ok(Value::Object(mut rest)) = serde_json::from_str(text) else { return Err(SetAside::Broken) };
    match rest.remove("v").and_then(|v| v.as_u64()) {
        Some(v) if v == u64::from(VERSION) => {}
        Some(v) if v > u64::from(VERSION) => return Err(SetAside::Newer),
        _ => return Err(SetAside::Broken),
    }
    let mut read = || {
        let rev = rest.remove("rev")?.as_u64()?;
        let saved_at = Moment(rest.remove("saved_at")?.as_i64()?);
        let job = rest.remove("job")?;
        let Value::Object(mut unknown) = job.clone() else { return None };
        let mut job: Job = serde_json::from_value(job).ok()?;
        if let Ok(Value::Object(known)) = serde_json::to_value(&job) {
            unknown.retain(|key, _| !known.contains_key(key));
        }
        job.rest = unknown;
        Some((rev, saved_at, job))
    };
    let (rev, saved_at, job) = read().ok_or(SetAside::Broken)?;
    Ok(Stored { rev, saved_at, job, rest })
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

#[cfg(test)]
mod tests {
    use super::*;

    fn stored(rev: u64) -> Stored {
        let job = Job { id: "a1".into(), notes: "as left".into(), ..Job::default() };
        Stored { rev, saved_at: Moment(5), job, rest: Map::new() }
    }

    #[test]
    fn a_job_comes_back_as_it_was() {
        let kept = stored(3);
        assert_eq!(open(&kept.text()), Ok(kept));
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
        assert_eq!(open(r#"{"v":2,"anything":true}"#), Err(SetAside::Newer));
        assert_eq!(open(r#"{"v":1,"rev":1,"saved_at":0,"job":{"site":{"series":-1}}}"#), Err(SetAside::Broken));
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
