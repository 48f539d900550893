//! Making a backup, taking one in, and knowing when the last one was made.

use crate::app::device::file::Readable;
use crate::app::device::save::{Given, Pieces};
use crate::app::device::{clock, local, pictures};
use crate::app::store::Store;
use crate::core::job::backup::{self, Backup, Due, Last, NotTaken, Step};
use crate::core::job::{Moment, Subject, csv};
use leptos::prelude::*;
use std::collections::BTreeSet;

const LAST: &str = "backup";

/// The largest file that is read: what a phone's memory bears three times over (common practice, no source). Photos that
/// would make a backup larger are left out, and counted.
const LARGEST: f64 = 200e6;

/// A backup, ready to be given away.
#[derive(Clone)]
pub struct Made {
    pub file: Given,
    pub jobs: u32,
    pub photos: u32,
    /// Photos that did not fit, or that are not on this phone.
    pub without: u32,
    last: Last,
}

/// Puts all jobs, all texts that are set aside and all photos into one file.
pub async fn make(store: Store) -> Option<Made> {
    let texts = store.texts();
    let last = Last {
        at: clock::now(),
        revs: untrack(|| store.revisions()).into_iter().map(|(key, rev, _)| (key, rev)).collect(),
    };
    let pieces = Pieces::default();
    let head = backup::head(last.at, &texts);
    let mut size = head.len();
    pieces.push(&head);
    let (mut photos, mut without) = (0, 0);
    for key in photo_keys(store) {
        let piece = pictures::bytes(&key).await.map(|jpeg| backup::photo(photos == 0, &key, &jpeg));
        match piece.filter(|piece| (size + piece.len()) as f64 <= LARGEST - 100.0) {
            Some(piece) => {
                size += piece.len();
                photos += 1;
                pieces.push(&piece);
            }
            None => without += 1,
        }
    }
    pieces.push(backup::TAIL);
    let file = pieces.done(format!("sixty-ohms-backup-{}.json", today()), "application/json")?;
    let aside = store.aside.with_untracked(Vec::len);
    Some(Made { file, jobs: (texts.len() - aside) as u32, photos, without, last })
}

impl Made {
    /// The file has left the app, as far as anybody can know.
    pub fn given(&self) {
        if let Ok(text) = serde_json::to_string(&self.last) {
            local::keep_setting(LAST, &text);
        }
    }
}

/// The last backup that left the app.
pub fn last() -> Option<Last> {
    serde_json::from_str(&local::setting(LAST)?).ok()
}

/// Is a backup due? Follows every change of the jobs.
pub fn due(store: Store) -> Due {
    let own = store.revisions();
    backup::due(clock::now(), last().as_ref(), own.iter().map(|(key, rev, begun)| (key.as_str(), *rev, *begun)))
}

/// A file that was opened for a restore, and what it would do.
#[derive(Clone)]
pub struct Opened {
    pub name: String,
    /// Without its photos.
    backup: Backup<'static>,
    pub counts: Counts,
    /// Pictures that are not on this phone yet: key and bytes.
    photos: Vec<(String, Vec<u8>)>,
}

/// How many of what a restore brings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    pub add: u32,
    pub forward: u32,
    pub beside: u32,
    pub same: u32,
    pub behind: u32,
    pub aside: u32,
    pub photos: u32,
}

impl Counts {
    /// Nothing would change.
    pub fn is_nothing(self) -> bool {
        self.add + self.forward + self.beside + self.aside + self.photos == 0
    }
}

/// Why a file is not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    NotReadable,
    TooLarge,
    NotTaken(NotTaken),
}

/// Opens a file and looks at what it would change. Nothing is changed.
pub async fn open(store: Store, file: Readable) -> Result<Opened, Refused> {
    if file.size() > LARGEST {
        return Err(Refused::TooLarge);
    }
    let bytes = file.whole(LARGEST as usize).await.ok_or(Refused::NotReadable)?;
    let text = String::from_utf8(bytes).map_err(|_| Refused::NotTaken(NotTaken::NotJson))?;
    let read = backup::read(&text).map_err(Refused::NotTaken)?;
    let here = pictures::keys().await;
    let is_new = |key: &str| !key.is_empty() && key.len() <= 64 && !here.contains(key);
    let photos = read.photos.iter().filter(|photo| is_new(&photo.key));
    let photos: Vec<_> = photos.filter_map(|photo| Some((photo.key.to_string(), photo.bytes()?))).collect();
    let counts = counted(&backup::plan(&read, &store.texts()), photos.len());
    let Backup { format, version, made_at, jobs, set_aside, .. } = read;
    let backup = Backup { format, version, made_at, jobs, set_aside, photos: Vec::new() };
    Ok(Opened { name: file.name, backup, counts, photos })
}

impl Opened {
    pub fn made_at(&self) -> Moment {
        self.backup.made_at
    }

    /// Does what was shown. What has changed here since then is not lost: the jobs are looked at again.
    pub async fn restore(self, store: Store) {
        for (key, jpeg) in &self.photos {
            pictures::keep(key, jpeg).await;
        }
        for step in backup::plan(&self.backup, &store.texts()) {
            match step {
                Step::Same | Step::Behind => {}
                Step::Add(stored) | Step::Forward(stored) => store.take_in(&stored.job.id, stored.text()),
                Step::Beside(mut stored) => {
                    stored.job.id = clock::new_key();
                    store.take_in(&stored.job.id, stored.text());
                }
                Step::Aside(_, held) => store.take_in(&held.key, held.text),
                Step::AsideBeside(_, held) => store.take_in(&clock::new_key(), held.text),
            }
        }
    }
}

fn counted(steps: &[Step], photos: usize) -> Counts {
    let mut counts = Counts { photos: photos as u32, ..Counts::default() };
    for step in steps {
        let count = match step {
            Step::Add(_) => &mut counts.add,
            Step::Same => &mut counts.same,
            Step::Forward(_) => &mut counts.forward,
            Step::Behind => &mut counts.behind,
            Step::Beside(_) => &mut counts.beside,
            Step::Aside(..) | Step::AsideBeside(..) => &mut counts.aside,
        };
        *count += 1;
    }
    counts
}

/// Days after which a picture that no text names is removed: long after any undo.
const UNNAMED_DAYS: i64 = 7;

/// Removes pictures that no job names any more, whatever store or version it is in.
pub async fn sweep(store: Store) {
    let texts: String = store.texts().into_iter().chain(local::all_jobs()).map(|(_, text)| text).collect();
    let before = clock::now().0 - UNNAMED_DAYS * 24 * 60 * 60 * 1000;
    let unnamed: Vec<String> = pictures::keys()
        .await
        .into_iter()
        .filter(|key| !texts.contains(key.as_str()) && clock::time_of_key(key).is_some_and(|at| at.0 < before))
        .collect();
    if !unnamed.is_empty() {
        pictures::remove(&unnamed).await;
    }
}

/// The readings of these jobs as a file for other programs. The mark at its head tells them that it is UTF-8.
pub fn table(store: Store, name: &dyn Fn(&Subject) -> String, only: Option<&str>) -> Option<Given> {
    let jobs = untrack(|| store.all());
    let chosen = jobs.iter().filter(|job| only.is_none_or(|key| job.id == key));
    let text = format!("\u{feff}{}", csv::readings(chosen, name));
    Given::text(format!("sixty-ohms-readings-{}.csv", today()), "text/csv", &text)
}

/// A text that is set aside, as it lies.
pub fn aside_file(key: &str, text: &str) -> Option<Given> {
    let plain: String = key.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').take(40).collect();
    Given::text(format!("sixty-ohms-set-aside-{plain}.txt"), "text/plain", text)
}

fn today() -> String {
    csv::iso(clock::now()).chars().take(10).collect()
}

/// Keys of all photos that jobs name.
pub fn photo_keys(store: Store) -> BTreeSet<String> {
    let jobs = untrack(|| store.all());
    jobs.iter().flat_map(|job| job.photos.iter().map(|photo| photo.key.clone())).collect()
}
