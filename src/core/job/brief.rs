//! What a list of many jobs needs to know of each, so that none of them has to be opened: made of the job, kept beside
//! it, and thrown away as soon as it is of another text.

use crate::core::fold::fold;
use crate::core::job::assess::Verdict;
use crate::core::job::{Job, Moment};
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A job in brief.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Brief {
    pub id: String,
    pub name: String,
    pub place: String,
    pub begun: Moment,
    pub demo: bool,
    /// Put away.
    pub archived: bool,
    /// All that it is found by, folded: name, place, owner, equipment, notes, own checklists.
    pub found_by: String,
    /// Checklists that a person made: key and title.
    pub own_lists: Vec<(String, String)>,
    /// What follows from the job; none while nobody has worked it out.
    pub told: Option<Told>,
}

/// What follows from a job, as far as the list shows it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Told {
    /// The worst of what was checked; none where the site is not described.
    pub verdict: Option<Verdict>,
    pub all_done: bool,
    /// What comes next, in words.
    pub line: String,
}

impl Brief {
    /// All but what follows from the job.
    pub fn of(job: &Job) -> Brief {
        let site = &job.site;
        let mut parts: Vec<&str> = vec![&site.name, &job.people.place, &job.people.owner];
        parts.extend(site.module.iter().flat_map(|module| [module.maker.as_str(), &module.model]));
        parts.extend(site.monitor.iter().flat_map(|monitor| [monitor.maker.as_str(), &monitor.model]));
        parts.extend(site.chargers.iter().map(|charger| charger.name.as_str()));
        let own = job.lists.iter().filter_map(|taken| Some((taken.key.clone(), taken.own.as_ref()?.title.clone())));
        let own_lists: Vec<(String, String)> = own.collect();
        parts.extend(own_lists.iter().map(|(_, title)| title.as_str()));
        parts.push(&job.notes);
        let found_by = fold(&parts.join("\n"));
        Brief {
            id: job.id.clone(),
            name: site.name.trim().to_string(),
            place: job.people.place.trim().to_string(),
            begun: job.begun,
            demo: job.demo,
            archived: job.archived,
            found_by,
            own_lists,
            told: None,
        }
    }

    /// Does it hold every word that was typed? An empty text finds all.
    pub fn is_found(&self, words: &Words) -> bool {
        words.0.iter().all(|word| self.found_by.contains(word.as_str()))
    }
}

/// What was typed to find jobs by.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Words(Vec<String>);

impl Words {
    pub fn of(typed: &str) -> Words {
        Words(fold(typed).split_whitespace().map(str::to_string).collect())
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// Which jobs are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Filter {
    /// All that are not put away.
    #[default]
    All,
    /// Something is left to do.
    Open,
    /// Something that was checked fails.
    Fails,
    /// Everything is done.
    Done,
    Away,
}

impl Filter {
    pub const ALL: [Filter; 5] = [Filter::All, Filter::Open, Filter::Fails, Filter::Done, Filter::Away];

    pub fn key(self) -> &'static str {
        match self {
            Filter::All => "all",
            Filter::Open => "open",
            Filter::Fails => "fails",
            Filter::Done => "done",
            Filter::Away => "away",
        }
    }

    /// Is the job among these? One of which nothing is worked out yet counts as open.
    pub fn takes(self, brief: &Brief) -> bool {
        let told = brief.told.as_ref();
        match self {
            Filter::Away => brief.archived,
            _ if brief.archived => false,
            Filter::All => true,
            Filter::Open => told.is_none_or(|told| !told.all_done),
            Filter::Fails => told.is_some_and(|told| told.verdict == Some(Verdict::Fails)),
            Filter::Done => told.is_some_and(|told| told.all_done),
        }
    }
}

/// A number for a text: another text has, as good as surely, another one (FNV-1a, 64 bits; public domain).
pub fn print(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |print, byte| (print ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// The briefs of all jobs, as they are kept beside the jobs. Nothing in it is ever needed: whatever is wrong, missing or
/// of another text is made anew from the job itself.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Index {
    /// By job: the print of the text that the brief was made of, and the brief.
    pub of: BTreeMap<String, (u64, Arc<Brief>)>,
}

/// Counts the shapes of the kept index.
const SHAPE: u64 = 1;

impl Index {
    /// The text to keep. `made_by` names what worked out what follows from the jobs: app and content of one version.
    pub fn text(&self, made_by: &str) -> String {
        let briefs: Vec<Value> = self.of.values().map(|(print, brief)| to_value(*print, brief)).collect();
        let mut whole = Map::new();
        whole.insert("shape".into(), SHAPE.into());
        whole.insert("made_by".into(), made_by.into());
        whole.insert("jobs".into(), briefs.into());
        Value::Object(whole).to_string()
    }

    /// Reads a kept text. What cannot be read is left out; what another version has worked out is forgotten.
    pub fn read(text: &str, made_by: &str) -> Index {
        let Ok(Value::Object(mut whole)) = serde_json::from_str(text) else { return Index::default() };
        if whole.get("shape").and_then(Value::as_u64) != Some(SHAPE) {
            return Index::default();
        }
        let is_ours = whole.get("made_by").and_then(Value::as_str) == Some(made_by);
        let Some(Value::Array(jobs)) = whole.remove("jobs") else { return Index::default() };
        let briefs = jobs.into_iter().filter_map(from_value).map(|(print, mut brief)| {
            if !is_ours {
                brief.told = None;
            }
            (brief.id.clone(), (print, Arc::new(brief)))
        });
        Index { of: briefs.collect() }
    }

    /// The brief of a job, if it was made of this very text.
    pub fn take(&mut self, id: &str, text: &str) -> Option<(u64, Arc<Brief>)> {
        let (made_of, brief) = self.of.remove(id)?;
        (made_of == print(text)).then_some((made_of, brief))
    }
}

/// In a fixed order, since a thousand names of fields would be most of the text.
fn to_value(print: u64, brief: &Brief) -> Value {
    let flags = u64::from(brief.demo) + 2 * u64::from(brief.archived);
    let own: Vec<Value> = brief.own_lists.iter().map(|(key, title)| vec![key.clone(), title.clone()].into()).collect();
    let mut all: Vec<Value> = vec![
        format!("{print:x}").into(),
        brief.id.clone().into(),
        brief.name.clone().into(),
        brief.place.clone().into(),
        brief.begun.0.into(),
        flags.into(),
        brief.found_by.clone().into(),
        own.into(),
    ];
    if let Some(told) = &brief.told {
        all.push(told.verdict.map(Verdict::key).into());
        all.push(told.all_done.into());
        all.push(told.line.clone().into());
    }
    all.into()
}

fn from_value(value: Value) -> Option<(u64, Brief)> {
    let Value::Array(all) = value else { return None };
    let mut all = all.into_iter();
    let mut text = || match all.next()? {
        Value::String(text) => Some(text),
        _ => None,
    };
    let print = u64::from_str_radix(&text()?, 16).ok()?;
    let (id, name, place) = (text()?, text()?, text()?);
    let begun = Moment(all.next()?.as_i64()?);
    let flags = all.next()?.as_u64().filter(|flags| *flags < 4)?;
    let found_by = all.next()?.as_str()?.to_string();
    let own = |value: &Value| Some((value.get(0)?.as_str()?.to_string(), value.get(1)?.as_str()?.to_string()));
    let own_lists = all.next()?.as_array()?.iter().map(own).collect::<Option<Vec<_>>>()?;
    let told = match all.next() {
        None => None,
        Some(verdict) => {
            let verdict = match verdict {
                Value::Null => None,
                Value::String(key) => Some(*Verdict::ALL.iter().find(|verdict| verdict.key() == key)?),
                _ => return None,
            };
            Some(Told { verdict, all_done: all.next()?.as_bool()?, line: all.next()?.as_str()?.to_string() })
        }
    };
    let (demo, archived) = (flags & 1 == 1, flags & 2 == 2);
    Some((print, Brief { id, name, place, begun, demo, archived, found_by, own_lists, told }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::job::People;
    use proptest::prelude::*;

    fn job(name: &str, notes: &str) -> Job {
        let people = People { by: String::new(), owner: "Jürgen Łuk".into(), place: "Quay 7".into() };
        let mut job = Job { id: name.to_lowercase(), notes: notes.into(), people, begun: Moment(7), ..Job::default() };
        job.site.name = name.into();
        job
    }

    fn told(verdict: Option<Verdict>, all_done: bool) -> Option<Told> {
        Some(Told { verdict, all_done, line: "Next: “plug it”".into() })
    }

    #[test]
    fn a_job_is_found_by_any_of_its_words_whatever_their_accents() {
        let brief = Brief::of(&job("Señora", "The shunt sits behind the\nlocker."));
        for typed in ["", "senora", "SEÑO", "jurgen quay", "luk", "Locker shunt", "7"] {
            assert!(brief.is_found(&Words::of(typed)), "{typed}");
        }
        for typed in ["senorita", "quay 8"] {
            assert!(!brief.is_found(&Words::of(typed)), "{typed}");
        }
    }

    #[test]
    fn filters_part_the_jobs() {
        let mut brief = Brief::of(&job("A", ""));
        let taken = |brief: &Brief| Filter::ALL.into_iter().filter(|filter| filter.takes(brief)).collect::<Vec<_>>();
        assert_eq!(taken(&brief), [Filter::All, Filter::Open]);
        brief.told = told(Some(Verdict::Fails), false);
        assert_eq!(taken(&brief), [Filter::All, Filter::Open, Filter::Fails]);
        brief.told = told(Some(Verdict::Holds), true);
        assert_eq!(taken(&brief), [Filter::All, Filter::Done]);
        brief.archived = true;
        assert_eq!(taken(&brief), [Filter::Away]);
    }

    fn index(brief: &Brief, text: &str) -> Index {
        Index { of: BTreeMap::from([(brief.id.clone(), (print(text), Arc::new(brief.clone())))]) }
    }

    #[test]
    fn an_index_comes_back_and_counts_only_for_the_text_it_was_made_of() {
        let brief = Brief { told: told(Some(Verdict::LookAgain), false), ..Brief::of(&job("B", "x\ty\"z")) };
        let kept = index(&brief, "the text").text("app 1");
        let mut again = Index::read(&kept, "app 1");
        assert_eq!(again, index(&brief, "the text"));
        assert_eq!(again.clone().take("b", "another text"), None);
        assert_eq!(again.take("b", "the text").map(|(_, brief)| brief), Some(Arc::new(brief.clone())));
        // Another version's reasoning is forgotten, what stands in the job is not.
        let other = Index::read(&kept, "app 2").take("b", "the text").unwrap().1;
        assert_eq!(*other, Brief { told: None, ..brief });
    }

    #[test]
    fn nonsense_is_no_index() {
        let brief = Brief { told: told(None, false), ..Brief::of(&job("C", "")) };
        let kept = index(&brief, "t").text("app");
        for text in
            ["", "{", "[]", "{\"shape\":9}", "{\"shape\":1,\"jobs\":7}", &kept.replace("\"shape\":1", "\"shape\":2")]
        {
            assert_eq!(Index::read(text, "app"), Index::default(), "{text}");
        }
        // One broken row does not take the others with it.
        let spoilt = kept.replace("\"jobs\":[", "\"jobs\":[[1,2],null,");
        assert_eq!(Index::read(&spoilt, "app").of.len(), 1);
    }

    proptest! {
        #[test]
        fn any_text_is_some_index(text in ".{0,80}", cut in 0usize..400) {
            let _ = Index::read(&text, "app");
            let kept = index(&Brief { told: told(None, true), ..Brief::of(&job("D", "n")) }, "t").text("app");
            let cut: String = kept.chars().take(cut).collect();
            let _ = Index::read(&cut, "app");
        }
    }
}
