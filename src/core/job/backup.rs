//! All jobs in one file, and what would change if it were brought back. Nothing here is destroyed by a restore: what
//! stands against what is here is kept beside it.
//!
//! The file is JSON: its name and version, then each job as its stored text, then texts that could not be read, as they
//! lie, then the photos. `public/schema/backup.schema.json` describes it; it is written from these types.

use crate::core::job::stored::{self, SetAside, Stored};
use crate::core::job::{Job, Moment};
use data_encoding::BASE64;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::borrow::Cow;

/// Names the format in the file.
pub const FORMAT: &str = "sixty-ohms-backup";
/// The version of the file's shape. The jobs in it carry one of their own.
pub const VERSION: u32 = 1;

/// The file as it is read and written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Backup<'a> {
    /// Always "sixty-ohms-backup".
    pub format: String,
    pub version: u32,
    pub made_at: Moment,
    #[serde(default)]
    pub jobs: Vec<HeldJob>,
    #[serde(default)]
    pub set_aside: Vec<HeldText>,
    #[serde(default, borrow)]
    pub photos: Vec<HeldPhoto<'a>>,
}

/// A job, and the key that it is kept under.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct HeldJob {
    pub key: String,
    /// The stored text as JSON.
    #[cfg_attr(test, schemars(with = "crate::core::job::stored::Shape"))]
    pub stored: Value,
}

/// A text that could not be read where the backup was made: as it lay in the store.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct HeldText {
    pub key: String,
    pub text: String,
}

/// The picture of a photo that a job names.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct HeldPhoto<'a> {
    #[serde(borrow)]
    pub key: Cow<'a, str>,
    /// The bytes of a JPEG picture.
    #[serde(borrow)]
    pub base64: Cow<'a, str>,
}

impl HeldPhoto<'_> {
    /// The picture. None where the text holds no JPEG: nothing else is ever put into the store.
    pub fn bytes(&self) -> Option<Vec<u8>> {
        const JPEG: [u8; 3] = [0xFF, 0xD8, 0xFF];
        BASE64.decode(self.base64.as_bytes()).ok().filter(|bytes| bytes.starts_with(&JPEG))
    }
}

/// The file from its beginning to the first photo. `texts` are what is kept, by key, readable or not.
pub fn head(made_at: Moment, texts: &[(String, String)]) -> String {
    let (mut jobs, mut aside) = (Vec::new(), Vec::new());
    for (key, text) in texts {
        let stored = stored::open(text).ok().and_then(|_| serde_json::from_str(text).ok());
        match stored {
            Some(stored) => jobs.push(line(&HeldJob { key: key.clone(), stored })),
            None => aside.push(line(&HeldText { key: key.clone(), text: text.clone() })),
        }
    }
    let (jobs, aside) = (jobs.join(",\n"), aside.join(",\n"));
    format!(
        "{{\"format\":\"{FORMAT}\",\"version\":{VERSION},\"made_at\":{},\n\"jobs\":[\n{jobs}\n],\n\"set_aside\":[\n{aside}\n],\n\"photos\":[\n",
        made_at.0
    )
}

/// One photo in the file, after [`head`]. A JPEG, as it lies in the store.
pub fn photo(first: bool, key: &str, jpeg: &[u8]) -> String {
    let held = HeldPhoto { key: key.into(), base64: BASE64.encode(jpeg).into() };
    format!("{}{}", if first { "" } else { ",\n" }, line(&held))
}

/// The end of the file.
pub const TAIL: &str = "\n]}\n";

fn line(held: &impl Serialize) -> String {
    // Plain data with texts for keys, which always becomes JSON.
    serde_json::to_string(held).unwrap_or_default()
}

/// Why a file is not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotTaken {
    /// No JSON, or cut off.
    NotJson,
    /// JSON of something else.
    NotABackup,
    /// Made by a newer version of the app.
    Newer,
}

/// Reads a file. The photos borrow from its text.
pub fn read(text: &str) -> Result<Backup<'_>, NotTaken> {
    #[derive(Deserialize)]
    struct Named<'a> {
        #[serde(default, borrow)]
        format: Cow<'a, str>,
        #[serde(default)]
        version: u64,
    }
    // Mail and some editors put a mark before the text.
    let text = text.trim_start_matches('\u{feff}');
    let named: Named = serde_json::from_str(text).map_err(|error| match error.classify() {
        serde_json::error::Category::Data => NotTaken::NotABackup,
        _ => NotTaken::NotJson,
    })?;
    match named.version {
        _ if named.format != FORMAT => Err(NotTaken::NotABackup),
        0 => Err(NotTaken::NotABackup),
        version if version > u64::from(VERSION) => Err(NotTaken::Newer),
        _ => serde_json::from_str(text).map_err(|_| NotTaken::NotABackup),
    }
}

/// What one text of the file does to what is here.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// It is not here yet.
    Add(Stored),
    /// It is here, the same.
    Same,
    /// It came after the one here, and has it in it: the one here is brought up to it.
    Forward(Stored),
    /// The one here came after it, and has it in it.
    Behind,
    /// Neither came after the other: it comes beside the one here, under a new key.
    Beside(Stored),
    /// It cannot be read here: kept as it is.
    Aside(SetAside, HeldText),
    /// As before, and under its key there is something else: under a new one.
    AsideBeside(SetAside, HeldText),
}

/// What a restore would do, in the order of the file.
pub fn plan(backup: &Backup, here: &[(String, String)]) -> Vec<Step> {
    let jobs = backup.jobs.iter().map(|held| (&held.key, Cow::Owned(held.stored.to_string())));
    let aside = backup.set_aside.iter().map(|held| (&held.key, Cow::Borrowed(held.text.as_str())));
    let opened: Vec<(&str, Stored)> =
        here.iter().filter_map(|(key, text)| Some((key.as_str(), stored::open(text).ok()?))).collect();
    let mut steps: Vec<Step> = Vec::new();
    for (key, text) in jobs.chain(aside) {
        let step = match stored::open(&text) {
            Ok(theirs) => step(key, theirs, here, &opened, &steps),
            Err(why) => {
                let held = HeldText { key: key.clone(), text: text.into_owned() };
                match here.iter().find(|(known, _)| *known == held.key) {
                    // Beside, and the same again beside that, would make one more at each restore.
                    _ if here.iter().any(|(_, text)| same_text(text, &held.text)) => Step::Same,
                    None => Step::Aside(why, held),
                    Some(_) => Step::AsideBeside(why, held),
                }
            }
        };
        steps.push(step);
    }
    steps
}

fn step(key: &str, mut theirs: Stored, here: &[(String, String)], opened: &[(&str, Stored)], before: &[Step]) -> Step {
    // The key is what counts; a job that names another one inside would be found under neither.
    theirs.job.id = key.to_string();
    let is_again = |step: &Step| match step {
        Step::Add(other) | Step::Forward(other) | Step::Beside(other) => same_job(&other.job, &theirs.job),
        _ => false,
    };
    if before.iter().any(is_again) || opened.iter().any(|(_, mine)| same_job(&mine.job, &theirs.job)) {
        return Step::Same;
    }
    match opened.iter().find(|(known, _)| *known == key) {
        Some((_, mine)) => {
            // Of a text without a past nobody knows whether it came before.
            let after =
                |one: &Stored, other: &Stored| !other.writes.is_empty() && one.writes.has_last_of(&other.writes);
            match (after(mine, &theirs), after(&theirs, mine)) {
                (true, false) => Step::Behind,
                (false, true) => Step::Forward(theirs),
                _ => Step::Beside(theirs),
            }
        }
        // A text lies there that cannot be read, or an earlier line of the file has taken the key.
        None if here.iter().any(|(known, _)| known == key) || before.iter().any(|step| takes(step, key)) => {
            Step::Beside(theirs)
        }
        None => Step::Add(theirs),
    }
}

fn takes(step: &Step, key: &str) -> bool {
    match step {
        Step::Add(stored) => stored.job.id == key,
        Step::Aside(_, held) => held.key == key,
        _ => false,
    }
}

/// The same but for its key: a job that was kept beside another is known again.
fn same_job(one: &Job, other: &Job) -> bool {
    let bare = |job: &Job| Job { id: String::new(), ..job.clone() };
    one.begun == other.begun && bare(one) == bare(other)
}

/// The same text, or the same JSON: a text that went through a file as JSON may have its fields in another order.
fn same_text(one: &str, other: &str) -> bool {
    let json = |text: &str| serde_json::from_str::<Value>(text).ok();
    one == other || json(one).is_some_and(|one| Some(one) == json(other))
}

/// What stands in the way of calling everything backed up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Due {
    /// Jobs that changed since the last backup, or were never in one.
    pub changed: u32,
    /// Whole days since the last backup; since the first job was begun where there is none. None where a clock was set back.
    pub days: Option<u32>,
    /// Time to say so.
    pub now: bool,
}

/// Days and jobs after which a backup is called for (common practice, no source).
const AFTER_DAYS: u32 = 7;
const AFTER_JOBS: u32 = 3;

/// The last backup: when, and which revision of which job was in it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Last {
    pub at: Moment,
    pub revs: std::collections::BTreeMap<String, u64>,
}

/// Is a backup due? `jobs`: key, revision and beginning of each job of one's own.
pub fn due<'a>(now: Moment, last: Option<&Last>, jobs: impl Iterator<Item = (&'a str, u64, Moment)>) -> Due {
    const DAY: i64 = 24 * 60 * 60 * 1000;
    let rev_then = |key: &str| last.and_then(|last| last.revs.get(key)).copied();
    let changed: Vec<Moment> =
        jobs.filter(|(key, rev, _)| rev_then(key) != Some(*rev)).map(|(_, _, begun)| begun).collect();
    let since = last.map(|last| last.at).or_else(|| changed.iter().min().copied());
    let days = since.and_then(|since| u32::try_from((now.0.checked_sub(since.0)?).div_euclid(DAY)).ok());
    let count = changed.len() as u32;
    let now = count >= AFTER_JOBS || (count > 0 && days.is_some_and(|days| days >= AFTER_DAYS));
    Due { changed: count, days, now }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::job::lineage::Lineage;
    use proptest::prelude::*;

    fn stored(key: &str, notes: &str, tabs: &[&str]) -> Stored {
        let writes = tabs.iter().fold(Lineage::default(), |writes, tab| writes.then(tab));
        let job = Job { id: key.into(), begun: Moment(7), notes: notes.into(), ..Job::default() };
        Stored { rev: tabs.len() as u64, saved_at: Moment(5), writes, job, rest: Default::default() }
    }

    fn held(all: &[&Stored]) -> Vec<(String, String)> {
        all.iter().map(|stored| (stored.job.id.clone(), stored.text())).collect()
    }

    fn file(texts: &[(String, String)]) -> String {
        head(Moment(1_760_000_000_000), texts) + TAIL
    }

    /// What restoring `file` does to what is here.
    fn planned(file: &str, here: &[(String, String)]) -> Vec<Step> {
        plan(&read(file).unwrap(), here)
    }

    #[test]
    fn what_is_new_comes_in_and_what_is_the_same_stays() {
        let (one, two) = (stored("a", "one", &["t"]), stored("b", "two", &["t"]));
        let file = file(&held(&[&one, &two]));
        assert_eq!(planned(&file, &[]), [Step::Add(one.clone()), Step::Add(two.clone())]);
        assert_eq!(planned(&file, &held(&[&one])), [Step::Same, Step::Add(two)]);
        // The same job under another number of writes is still the same.
        let touched = Stored { rev: 9, writes: one.writes.then("u"), ..one };
        assert_eq!(planned(&file, &held(&[&touched]))[0], Step::Same);
    }

    #[test]
    fn what_came_after_brings_forward_and_what_came_before_changes_nothing() {
        let before = stored("a", "one", &["t"]);
        let after = stored("a", "one, and more", &["t", "u"]);
        assert_eq!(planned(&file(&held(&[&after])), &held(&[&before])), [Step::Forward(after.clone())]);
        assert_eq!(planned(&file(&held(&[&before])), &held(&[&after])), [Step::Behind]);
    }

    #[test]
    fn what_parted_comes_beside_and_only_once() {
        let mine = stored("a", "mine", &["t", "u"]);
        let theirs = stored("a", "theirs", &["t", "v"]);
        let bare = stored("a", "nobody knows which came first", &[]);
        let file = file(&held(&[&theirs, &bare]));
        let here = held(&[&mine]);
        assert_eq!(planned(&file, &here), [Step::Beside(theirs.clone()), Step::Beside(bare.clone())]);
        let beside = Stored { job: Job { id: "new".into(), ..theirs.job.clone() }, ..theirs };
        assert_eq!(planned(&file, &held(&[&mine, &beside]))[0], Step::Same);
        let unknown = stored("a", "mine, of an old app", &[]);
        assert_eq!(planned(&super::tests::file(&held(&[&bare])), &held(&[&unknown])), [Step::Beside(bare)]);
    }

    #[test]
    fn a_text_that_cannot_be_read_travels_as_it_lies() {
        let broken = ("x".to_string(), "{\"half".to_string());
        let newer = ("y".to_string(), r#"{"v":99, "b":1, "a":[2.50]}"#.to_string());
        let file = file(&[broken.clone(), newer.clone()]);
        let aside = |(key, text): &(String, String)| HeldText { key: key.clone(), text: text.clone() };
        let both = [Step::Aside(SetAside::Broken, aside(&broken)), Step::Aside(SetAside::Newer, aside(&newer))];
        assert_eq!(planned(&file, &[]), both);
        assert_eq!(planned(&file, &[broken.clone(), newer.clone()]), [Step::Same, Step::Same]);
        let other = (broken.0.clone(), "something else".to_string());
        assert_eq!(planned(&file, &[other])[0], Step::AsideBeside(SetAside::Broken, aside(&broken)));
        // And nothing comes to lie over it.
        let job = stored("x", "one", &["t"]);
        assert_eq!(planned(&super::tests::file(&held(&[&job])), &[broken]), [Step::Beside(job)]);
    }

    #[test]
    fn a_job_named_twice_in_a_file_is_kept_twice() {
        let (one, other) = (stored("a", "one", &["t"]), stored("a", "other", &["u"]));
        let file = file(&held(&[&one, &one, &other]));
        assert_eq!(planned(&file, &[]), [Step::Add(one), Step::Same, Step::Beside(other)]);
    }

    #[test]
    fn photos_come_back_as_they_were_and_nothing_else_does() {
        let jpeg = [&[0xFF, 0xD8, 0xFF, 0xE0][..], &[7; 1000]].concat();
        let file = head(Moment(0), &[]) + &photo(true, "p1", &jpeg) + &photo(false, "p2", b"<svg>") + TAIL;
        let backup = read(&file).unwrap();
        assert_eq!(backup.photos.iter().map(HeldPhoto::bytes).collect::<Vec<_>>(), [Some(jpeg), None]);
        assert!(matches!(backup.photos[0].base64, Cow::Borrowed(_)), "a photo is not held in the memory twice");
    }

    #[test]
    fn a_file_that_is_no_backup_is_told_from_one_that_is_newer_or_cut_off() {
        let whole = file(&held(&[&stored("a", "one", &["t"])]));
        assert!(read(&format!("\u{feff}{whole}")).is_ok());
        for end in 0..whole.len() - 1 {
            assert_eq!(read(&whole[..end]).err(), Some(NotTaken::NotJson), "cut after {end}");
        }
        for (text, why) in [
            ("[1]", NotTaken::NotABackup),
            ("{}", NotTaken::NotABackup),
            (r#"{"format":"sixty-ohms-backup","version":0}"#, NotTaken::NotABackup),
            (r#"{"format":"sixty-ohms-backup","version":1,"made_at":0,"jobs":7}"#, NotTaken::NotABackup),
            (r#"{"format":"sixty-ohms-backup","version":2,"jobs":7}"#, NotTaken::Newer),
        ] {
            assert_eq!(read(text).err(), Some(why), "{text}");
        }
    }

    #[test]
    fn a_backup_is_due_after_three_jobs_or_a_week() {
        const DAY: i64 = 86_400_000;
        let last = Last { at: Moment(10 * DAY), revs: [("a".to_string(), 3)].into() };
        let due = |now: i64, last: Option<&Last>, jobs: &[(&'static str, u64)]| {
            due(Moment(now), last, jobs.iter().map(|(key, rev)| (*key, *rev, Moment(9 * DAY))))
        };
        assert_eq!(due(40 * DAY, Some(&last), &[("a", 3)]), Due { changed: 0, days: Some(30), now: false });
        assert_eq!(due(17 * DAY - 1, Some(&last), &[("a", 4)]), Due { changed: 1, days: Some(6), now: false });
        assert!(due(17 * DAY, Some(&last), &[("a", 4)]).now);
        assert!(due(10 * DAY, Some(&last), &[("a", 4), ("b", 1), ("c", 1)]).now);
        assert!(!due(15 * DAY, None, &[("a", 1)]).now && due(16 * DAY, None, &[("a", 1)]).now);
        assert_eq!(
            due(DAY, Some(&last), &[("b", 1)]),
            Due { changed: 1, days: None, now: false },
            "the clock was set back"
        );
        assert_eq!(due(i64::MIN, Some(&last), &[("b", 1)]).days, None);
        assert_eq!(due(DAY, None, &[]), Due::default());
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".{0,200}") {
            if let Ok(backup) = read(&text) {
                plan(&backup, &[]);
            }
        }

        #[test]
        fn a_changed_file_is_read_or_refused(at in 0usize..400, byte in 0x20u8..0x7f) {
            let mut bytes = file(&held(&[&stored("a", "one", &["t"]), &stored("b", "two", &["u"])])).into_bytes();
            let at = at % bytes.len();
            bytes[at] = byte;
            if let Ok(backup) = read(std::str::from_utf8(&bytes).unwrap()) {
                plan(&backup, &[]);
            }
        }
    }
}
