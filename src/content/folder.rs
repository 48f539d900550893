//! Reads the content folder: every mistake in one run, each with its file, line and reason.
//!
//! Used by the build (a wrong file stops it) and by tests; the app carries only the packed result.

#[path = "folder/gap.rs"]
mod gap;
#[path = "folder/overlay.rs"]
mod overlay;

use crate::content::rules::checklists::{ITEMS, LISTS};
use crate::content::rules::finder::{ALARMS, CHECKS, FAULTS, SYMPTOMS};
use crate::content::rules::{self, Mistake, Reader};
use crate::content::schema::*;
use crate::content::tongue::Tongue;
use crate::core::codes::Vocabulary;
use crate::core::faults::finder::tables::{Check, Fault, Symptom, Tables, Words};
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The content with the names of its words, in the order of [`Language::words`].
pub struct Read {
    pub content: Content,
    pub word_keys: Vec<String>,
}

/// Reads and checks everything under the folder, in one language.
pub fn read(root: &Path, tongue: Tongue) -> Result<Read, Vec<Mistake>> {
    let mut folder = Folder { root: root.to_path_buf(), reader: Reader { tongue, ..Reader::default() } };
    let sources: Option<BTreeMap<String, Source>> = folder.file("sources.toml");
    let walk: Option<Walk> = folder.file("walk.toml");
    let demo: Option<DemoFile> = folder.file("demo.toml");
    let equipment = Equipment {
        modules: folder.folder("equipment/modules", |_, _| {}),
        monitors: folder.folder("equipment/monitors", |_, _| {}),
        leads: folder.folder("equipment/leads", |_, _| {}),
        terminators: folder.folder("equipment/terminators", |_, _| {}),
        chargers: folder.folder("equipment/chargers", |_, _| {}),
    };
    let connectors: Option<ConnectorFile> = folder.file("connectors.toml");
    let protocols: Option<ProtocolFile> = folder.file("protocols.toml");
    let words: Option<BTreeMap<String, BTreeMap<String, String>>> = folder.file("en/words.toml");
    let because: Option<BTreeMap<String, String>> = folder.file("en/because.toml");
    let problems: Option<BTreeMap<String, String>> = folder.file("en/problems.toml");
    let names: Option<BTreeMap<String, String>> = folder.file("en/names.toml");
    let walk_words: Option<WalkWords> = folder.file("en/steps.toml");
    let checks: Option<BTreeMap<String, CheckWords>> = folder.file("en/checks.toml");
    let checklists = lists(&mut folder);
    let checklist_words: Option<ChecklistWords> = folder.file("en/checklists.toml");
    let symptoms: Option<BTreeMap<String, SymptomWords>> = folder.file("en/symptoms.toml");
    let codes: Option<BTreeMap<Vocabulary, CodeWords>> = folder.file("en/codes.toml");
    let search: Option<SearchWords> = folder.file("en/search.toml");
    let mut guides: Vec<Guide> = folder.folder("en/guides", |guide: &mut Guide, key| guide.key = key);
    guides.sort_by_key(|guide| guide.order);
    let alarms: Vec<Alarm> = folder.folder("en/alarms", |alarm: &mut Alarm, key| alarm.key = key);

    let finder = tables(&mut folder);
    let said = finder_words(&mut folder);

    let whole = (|| {
        let words = words?;
        let flat: BTreeMap<String, String> = words
            .into_iter()
            .flat_map(|(section, words)| words.into_iter().map(move |(key, text)| (format!("{section}.{key}"), text)))
            .collect();
        let word_keys = flat.keys().cloned().collect();
        let language = Language {
            tongue,
            words: flat.into_values().collect(),
            because: because?.into(),
            problems: problems?.into(),
            names: names?.into(),
            walk: walk_words?.into(),
            checklists: checklist_words?.into(),
            checks: checks?.into(),
            symptoms: symptoms?.into(),
            guides: guides.into(),
            alarms: alarms.into(),
            codes: codes?.into(),
            search: search?.into(),
            finder: said?.into(),
        };
        let content = Content {
            sources: sources?.into(),
            walk: walk?.into(),
            checklists: checklists?.into(),
            equipment: equipment.into(),
            connectors: connectors?.connector.into(),
            protocols: protocols?.protocol.into(),
            demo: demo?.site.into(),
            finder: finder?.into(),
            language,
            units: Default::default(),
            packs: 0,
        };
        Some(Read { content, word_keys })
    })();
    let whole = whole.map(|mut read| {
        for site in read.content.demo.iter_mut() {
            site.name = read.content.language.names.get(&format!("demo-{}", site.key)).cloned().unwrap_or_default();
        }
        read
    });
    if let Some(read) = &whole {
        rules::hold(&read.content, &mut folder.reader);
    }
    match whole {
        Some(read) if folder.reader.mistakes.is_empty() => Ok(read),
        _ => Err(folder.reader.mistakes),
    }
}

/// The edition of the content, as its file says it: a day as ISO 8601 writes it. It is part of no language and of no pack.
pub fn edition(root: &Path) -> Result<String, Mistake> {
    let mut folder = Folder { root: root.to_path_buf(), reader: Reader::default() };
    let file: Option<Edition> = folder.parsed(EDITION);
    let Some(edition) = file else { return Err(folder.reader.mistakes.remove(0)) };
    if is_day(&edition.date) {
        return Ok(edition.date);
    }
    folder.reader.wrong(EDITION, "date =", format!("{:?} is no day such as 2026-01-31", edition.date));
    Err(folder.reader.mistakes.remove(0))
}

const EDITION: &str = "edition.toml";

fn is_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let number = |part: &str, digits| (part.len() == digits).then(|| part.parse::<u32>().ok()).flatten();
    match parts.as_slice() {
        [year, month, day] => {
            number(year, 4).is_some()
                && number(month, 2).is_some_and(|month| (1..=12).contains(&month))
                && number(day, 2).is_some_and(|day| (1..=31).contains(&day))
        }
        _ => false,
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Edition {
    date: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct DemoFile {
    site: Vec<DemoSite>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ConnectorFile {
    connector: Vec<Connector>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ProtocolFile {
    protocol: Vec<Protocol>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ItemFile {
    item: Vec<ChecklistItem>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct FaultFile {
    kinds: Vec<String>,
    fault: Vec<Fault>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct CheckFile {
    check: Vec<Check>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SymptomFile {
    symptom: Vec<Symptom>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct AlarmFile {
    default: String,
    alarm: BTreeMap<String, BTreeMap<String, Vec<String>>>,
}

/// Reads the files under the folder; keeps their texts, so that a mistake has its line.
struct Folder {
    root: PathBuf,
    reader: Reader,
}

impl Folder {
    /// A file of the English folder is read in the content's language: its texts in place of the English ones.
    fn file<T: DeserializeOwned>(&mut self, name: &str) -> Option<T> {
        let other = self.reader.in_tongue(name).filter(|other| other != name);
        let Some(other) = other else { return self.parsed(name) };
        let english: toml::Table = self.parsed(name)?;
        let said: toml::Table = self.parsed(&other)?;
        let mut wrong = Vec::new();
        let structure = overlay::structure_of(name.trim_start_matches("en/"));
        let whole = overlay::overlay(english, said, "", structure, &mut wrong);
        for (near, reason) in wrong {
            self.reader.wrong(&other, &format!("{near} ="), reason);
        }
        // By way of text: only so are numbers read where they are keys.
        match toml::to_string(&whole)
            .map_err(|error| error.to_string())
            .and_then(|text| toml::from_str(&text).map_err(|error| error.message().to_string()))
        {
            Ok(value) => Some(value),
            Err(error) => {
                self.reader.wrong(&other, "", error);
                None
            }
        }
    }

    fn parsed<T: DeserializeOwned>(&mut self, name: &str) -> Option<T> {
        let text = match std::fs::read_to_string(self.root.join(name)) {
            Ok(text) => gap::unbroken(&text),
            Err(error) => {
                self.mistake(name, 0, error.to_string());
                return None;
            }
        };
        let parsed = toml::from_str(&text);
        let line_at = |byte: usize| text[..byte.min(text.len())].matches('\n').count() + 1;
        let result = match parsed {
            Ok(value) => Some(value),
            Err(error) => {
                let line = error.span().map_or(0, |span| line_at(span.start));
                self.mistake(name, line, error.message().to_string());
                None
            }
        };
        self.reader.texts.insert(name.to_string(), text);
        result
    }

    fn mistake(&mut self, file: &str, line: usize, reason: String) {
        self.reader.mistakes.push(Mistake { file: file.into(), line, near: String::new(), reason });
    }

    /// Every file of a folder, by name; `keyed` may take the file's name as the entry's key.
    fn folder<T: DeserializeOwned>(&mut self, name: &str, keyed: impl Fn(&mut T, String)) -> Vec<T> {
        let mut files: Vec<String> = std::fs::read_dir(self.root.join(name))
            .into_iter()
            .flatten()
            .flatten()
            .filter_map(|entry| entry.file_name().into_string().ok())
            .filter(|file| file.ends_with(".toml"))
            .collect();
        files.sort();
        files
            .into_iter()
            .filter_map(|file| {
                let mut value: T = self.file(&format!("{name}/{file}"))?;
                keyed(&mut value, file.trim_end_matches(".toml").to_string());
                Some(value)
            })
            .collect()
    }
}

/// Every list and all items; none where a file cannot be read, which would make all that points to it wrong too.
fn lists(folder: &mut Folder) -> Option<Checklists> {
    let mistakes = folder.reader.mistakes.len();
    let mut lists: Vec<Checklist> = folder.folder(LISTS, |list: &mut Checklist, key| list.key = key);
    lists.sort_by_key(|list| list.order);
    let files: Vec<ItemFile> = folder.folder(ITEMS, |_, _| {});
    let items = files.into_iter().flat_map(|file| file.item).collect();
    (folder.reader.mistakes.len() == mistakes).then_some(Checklists { lists, items })
}

fn tables(folder: &mut Folder) -> Option<Tables> {
    let words: Option<Words> = folder.file("faults/numbers.toml");
    let faults: Option<FaultFile> = folder.file(FAULTS);
    let mistakes = folder.reader.mistakes.len();
    let checks: Vec<CheckFile> = folder.folder(CHECKS, |_, _| {});
    // A file that cannot be read would make all that points to it wrong too.
    let checks = (folder.reader.mistakes.len() == mistakes).then_some(checks);
    let symptoms: Option<SymptomFile> = folder.file(SYMPTOMS);
    let alarms: Option<AlarmFile> = folder.file(ALARMS);
    let (faults, alarms) = (faults?, alarms?);
    Some(Tables {
        words: words?,
        kinds: faults.kinds,
        faults: faults.fault,
        checks: checks?.into_iter().flat_map(|file| file.check).collect(),
        symptoms: symptoms?.symptom,
        alarm_default: alarms.default,
        alarms: alarms.alarm,
    })
}

fn finder_words(folder: &mut Folder) -> Option<FinderWords> {
    let faults = folder.file("en/finder/faults.toml");
    let checks = folder.file("en/finder/checks.toml");
    let other = folder.file("en/finder/words.toml");
    Some(FinderWords { faults: faults?, checks: checks?, other: other? })
}
