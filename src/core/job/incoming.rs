//! What comes in from outside as text: a link, a message with one, a record as a file, a backup. Told apart here, trusted
//! nowhere.

use crate::core::job::backup::{self, NotTaken};
use crate::core::job::link::{self, Broken, Leave, Left, Opened};
use crate::core::job::lists::Taken;
use crate::core::job::record_file::{self, NoJob};
use crate::core::job::stored::{self, SetAside};
use crate::core::job::{Job, Observation, Subject};

/// What a text turned out to be.
#[derive(Clone, Debug, PartialEq)]
pub enum Incoming {
    /// A job, and what its sender kept.
    Job(Box<Job>, Left),
    Checklist {
        taken: Taken,
        observations: Vec<Observation>,
    },
    /// A backup of many jobs: it has a page of its own.
    Backup,
}

/// Why it is nothing that can be taken in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    Link(Broken),
    File(NoJob),
    /// The job in a file cannot be read.
    Job(SetAside),
}

impl Refused {
    /// The key of its sentence among the names.
    pub fn key(self) -> String {
        match self {
            Refused::Link(broken) => format!("link-problem-{}", broken.key()),
            Refused::File(none) => format!("file-problem-{}", none.key()),
            Refused::Job(SetAside::Newer) => "job-problem-newer".into(),
            Refused::Job(SetAside::Broken) => "job-problem-broken".into(),
        }
    }

    /// All that there are, for the check of the names.
    pub fn all() -> impl Iterator<Item = Refused> {
        let links = Broken::ALL.iter().map(|broken| Refused::Link(*broken));
        let files = NoJob::ALL.iter().map(|none| Refused::File(*none));
        links.chain(files).chain([SetAside::Newer, SetAside::Broken].map(Refused::Job))
    }
}

/// Reads a text of anybody's.
pub fn read(text: &str) -> Result<Incoming, Refused> {
    let start = text.trim_start();
    if start.starts_with('<') {
        return of_stored(record_file::find(text).map_err(Refused::File)?);
    }
    if start.starts_with('{') {
        return match backup::read(text) {
            Ok(_) | Err(NotTaken::Newer) => Ok(Incoming::Backup),
            Err(NotTaken::NotJson | NotTaken::NotABackup) => of_stored(text),
        };
    }
    match link::open(text).map_err(Refused::Link)? {
        Opened::Job(job, left) => Ok(Incoming::Job(job, left)),
        Opened::Checklist { taken, observations } => Ok(Incoming::Checklist { taken, observations }),
    }
}

fn of_stored(text: &str) -> Result<Incoming, Refused> {
    let stored = stored::open(text).map_err(Refused::Job)?;
    // What waits in the sender's fields, and whether the job is put away there, is the sender's own affair.
    let job = Job { archived: false, ..stored.job };
    Ok(Incoming::Job(Box::new(job), Left { leave: Leave::NOTHING, photos: Vec::new() }))
}

/// Takes a checklist up in a job. A different one of the same key gets `other_key`, so that neither is lost; observations
/// that are there already are not doubled. Returns the key under which it is there.
pub fn take_list(job: &mut Job, taken: &Taken, observations: &[Observation], other_key: &str) -> String {
    let there = job.lists.iter().find(|list| list.key == taken.key);
    let key = match there {
        Some(list) if list.own != taken.own => other_key.to_string(),
        _ => taken.key.clone(),
    };
    if !job.lists.iter().any(|list| list.key == key) {
        job.lists.push(Taken { key: key.clone(), ..taken.clone() });
    }
    for seen in observations {
        let mut seen = seen.clone();
        if let Subject::Item { list, .. } = &mut seen.of {
            list.clone_from(&key);
        }
        if !job.observations.contains(&seen) {
            job.observations.push(seen);
        }
    }
    key
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::job::lists::OwnList;
    use crate::core::job::stored::Stored;
    use crate::core::job::{Moment, Seen};

    fn own(title: &str) -> Taken {
        Taken { key: "mine".into(), own: Some(OwnList { title: title.into(), items: Vec::new() }) }
    }

    fn ticked(list: &str) -> Observation {
        Observation::new(Subject::Item { list: list.into(), item: "a".into() }, Moment(4), Seen::Done, "")
    }

    #[test]
    fn each_kind_of_text_is_told() {
        let job = Job { id: "a1".into(), notes: "as left".into(), ..Job::default() };
        let kept = Stored {
            rev: 3,
            saved_at: Moment(5),
            writes: Default::default(),
            job: job.clone(),
            rest: Default::default(),
        };
        let of = |text: &str| match read(text) {
            Ok(Incoming::Job(job, _)) => job.notes.clone(),
            other => format!("{other:?}"),
        };
        assert_eq!(of(&link::pack(&job, &Leave::NOTHING).link("https://example.org/")), "as left");
        assert_eq!(of(&kept.text()), "as left");
        assert_eq!(of(&record_file::embed("<!doctype html><body></body>", &kept.text())), "as left");
        assert_eq!(read("<html></html>"), Err(Refused::File(NoJob::NotThere)));
        assert_eq!(read("{\"v\":99}"), Err(Refused::Job(SetAside::Newer)));
        assert_eq!(read("good morning"), Err(Refused::Link(Broken::NotALink)));
        assert_eq!(read(&backup::head(Moment(1), &[("a1".into(), kept.text())])), Err(Refused::Job(SetAside::Broken)));
    }

    #[test]
    fn another_list_of_the_same_key_does_not_take_its_place() {
        let mut job = Job { lists: vec![own("one")], ..Job::default() };
        assert_eq!(take_list(&mut job, &own("one"), &[ticked("mine")], "new"), "mine");
        assert_eq!(take_list(&mut job, &own("one"), &[ticked("mine")], "new"), "mine");
        assert_eq!(job.observations, [ticked("mine")]);
        assert_eq!(take_list(&mut job, &own("two"), &[ticked("mine")], "new"), "new");
        assert_eq!(job.lists.len(), 2);
        assert_eq!(job.observations, [ticked("mine"), ticked("new")]);
    }
}
