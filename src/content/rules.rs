//! The rules of the content, on data: every mistake in one run, each with its file, line and reason. The build holds the
//! content folder against them, and the app every pack together with what it is added to.
//!
//! The place of a mistake is the file in which the entry stands, or would stand, in the content folder.

#[path = "rules/alarms.rs"]
mod alarms;
#[path = "rules/checklists.rs"]
pub mod checklists;
#[path = "rules/equipment.rs"]
mod equipment;
#[path = "rules/finder.rs"]
pub mod finder;

use crate::content::schema::*;
use crate::content::tongue::Tongue;
use crate::core::bank::findings;
use crate::core::because::Because;
use crate::core::faults;
use crate::core::job::assess::{SOURCES, Verdict};
use crate::core::job::check::{Asks, Check};
use crate::core::job::{hold, incoming, lists, merge, trace};
use crate::core::measure;
use crate::core::measure::profile::Symptom;
use crate::core::power;
use crate::core::site::figures::{LeadUse, Off};
use crate::core::site::{Problem, compat};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// One thing that is wrong in the content.
#[derive(Clone, Debug, PartialEq)]
pub struct Mistake {
    /// The file, from the content folder.
    pub file: String,
    /// Counted from 1; 0 where the whole file is meant.
    pub line: usize,
    /// A text of the line, or the key of the entry.
    pub near: String,
    pub reason: String,
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "content/{}:{}: {}", self.file, self.line, self.reason)
    }
}

/// Collects mistakes, and the texts of the files where the content is read from files.
#[derive(Default)]
pub struct Reader {
    pub mistakes: Vec<Mistake>,
    /// By the file's name. Empty for content that comes as data: mistakes then have no line.
    pub texts: BTreeMap<String, String>,
    /// The language of the content: its texts stand in the folder of its tag.
    pub tongue: Tongue,
}

impl Reader {
    /// Where the words of a file stand in the content's language. The words of the search are those of all languages.
    pub fn in_tongue(&self, name: &str) -> Option<String> {
        let rest = name.strip_prefix("en/").filter(|rest| *rest != "search.toml")?;
        Some(format!("{}/{rest}", self.tongue.tag()))
    }

    /// Notes a mistake at the first line of the file that contains the text.
    pub fn wrong(&mut self, file: &str, near: &str, reason: String) {
        let own = self.in_tongue(file).unwrap_or(file.into());
        let file = own.as_str();
        let line = self
            .texts
            .get(file)
            .and_then(|text| text.lines().position(|line| line.contains(near)))
            .map_or(0, |index| index + 1);
        self.mistakes.push(Mistake { file: file.into(), line, near: near.into(), reason });
    }
}

/// Holds the content against every rule.
pub fn hold(content: &Content, reader: &mut Reader) {
    for rule in RULES {
        rule(content, reader);
    }
}

type Rule = fn(&Content, &mut Reader);

/// The rules between files; each pushes a sentence for every breach.
const RULES: &[Rule] = &[
    every_reason_has_a_sentence,
    every_problem_has_a_sentence,
    every_check_has_words,
    every_step_has_words,
    every_step_is_for_something,
    every_guide_is_whole,
    equipment::makes_sense,
    every_check_is_asked_once,
    every_source_exists,
    every_name_exists,
    equipment_keys_are_unique_and_match,
    every_demo_is_a_site,
    every_text_is_there,
    every_connector_is_drawn,
    every_protocol_is_known,
    every_symptom_has_words,
    checklists::every_list_is_whole,
    checklists::every_item_is_whole,
    alarms::every_alarm_is_whole,
    alarms::every_code_has_one_alarm,
    alarms::every_search_word_stands_for_one_thing,
    finder::is_whole,
    finder::has_words,
];

fn every_reason_has_a_sentence(content: &Content, reader: &mut Reader) {
    let file = "en/because.toml";
    for (key, names) in Because::ALL {
        match content.language.because.get(*key) {
            None => reader.wrong(file, "", format!("there is no sentence for \"{key}\"")),
            Some(text) => {
                for name in placeholders(text) {
                    if !names.contains(&name.as_str()) {
                        let reason = format!("\"{key}\" has no figure {{{name}}}; it has {names:?}");
                        reader.wrong(file, &format!("{key} ="), reason);
                    }
                }
            }
        }
    }
    for key in content.language.because.keys() {
        if !Because::ALL.iter().any(|(known, _)| known == key) {
            reader.wrong(file, &format!("{key} ="), format!("nothing gives the reason \"{key}\""));
        }
    }
}

fn every_problem_has_a_sentence(content: &Content, reader: &mut Reader) {
    for problem in Problem::ALL {
        if !content.language.problems.contains_key(problem.key()) {
            reader.wrong("en/problems.toml", "", format!("there is no sentence for \"{}\"", problem.key()));
        }
    }
}

fn every_check_has_words(content: &Content, reader: &mut Reader) {
    let file = "en/checks.toml";
    for check in Check::ALL {
        let key = check.key();
        let Some(words) = content.language.checks.get(key) else {
            reader.wrong(file, "", format!("the check \"{key}\" has no words"));
            continue;
        };
        if let Asks::Answer(answers) = check.asks() {
            for answer in answers {
                if !words.answers.contains_key(*answer) {
                    reader.wrong(file, key, format!("the check \"{key}\" has no words for the answer \"{answer}\""));
                }
            }
        }
    }
    for key in content.language.checks.keys() {
        if Check::from_key(key).is_none() {
            reader.wrong(file, &format!("[{key}]"), format!("there is no check \"{key}\""));
        }
    }
}

/// Placeholders that a step's words may use.
pub const STEP_PLACEHOLDERS: &[&str] = &[
    "modules",
    "n",
    "next",
    "lead",
    "length",
    "port",
    "monitor",
    "terminator",
    "end",
    "high",
    "low",
    "reference",
    "far_end",
    "seconds",
    "off",
    "adapter",
    "protocol",
    "rate",
    "menu",
    "capacity",
];

fn every_step_has_words(content: &Content, reader: &mut Reader) {
    let file = "en/steps.toml";
    let words = &content.language.walk;
    let mut steps = BTreeSet::new();
    for stage in &content.walk.stages {
        if !words.stage.contains_key(&stage.key) {
            reader.wrong("walk.toml", &stage.key, format!("the stage \"{}\" has no words", stage.key));
        }
        for step in &stage.steps {
            let known = |key: &String| content.finder.symptoms.iter().any(|symptom| symptom.key == *key);
            if let Some(key) = step.if_not.as_ref().filter(|key| !known(key)) {
                reader.wrong("walk.toml", key, format!("there is no symptom \"{key}\""));
            }
            if !steps.insert(step.key.clone()) {
                reader.wrong("walk.toml", &step.key, format!("the step \"{}\" is there twice", step.key));
            }
            if !words.step.contains_key(&step.key) {
                reader.wrong("walk.toml", &step.key, format!("the step \"{}\" has no words", step.key));
            }
        }
    }
    for (key, step) in &words.step {
        if !steps.contains(key) {
            reader.wrong(file, &format!("[step.{key}]"), format!("there is no step \"{key}\""));
        }
        for text in [&step.action, &step.see, &step.why, &step.caution, &step.tick] {
            for name in placeholders(text) {
                if !STEP_PLACEHOLDERS.contains(&name.as_str()) {
                    reader.wrong(file, &format!("{{{name}}}"), format!("\"{key}\": nothing fills {{{name}}}"));
                }
            }
        }
    }
}

/// What a step is for, where it is not for all, is there.
fn every_step_is_for_something(content: &Content, reader: &mut Reader) {
    let equipment = &content.equipment;
    let is_there = |key: &str| equipment.module(key).is_some() || equipment.monitor(key).is_some();
    for step in content.walk.stages.iter().flat_map(|stage| &stage.steps) {
        for key in step.only.iter().filter(|key| !is_there(key)) {
            let reason = format!("\"{}\" is for \"{key}\", which is no module and no monitor", step.key);
            reader.wrong("walk.toml", &step.key, reason);
        }
    }
    for (key, words) in &content.language.walk.step {
        for (name, text) in [("action", &words.action), ("see", &words.see), ("why", &words.why)] {
            if text.trim().is_empty() {
                reader.wrong("en/steps.toml", &format!("[step.{key}]"), format!("\"{key}\": \"{name}\" has no text"));
            }
        }
    }
}

fn every_guide_is_whole(content: &Content, reader: &mut Reader) {
    for guide in &content.language.guides {
        let file = format!("en/guides/{}.toml", guide.key);
        for (name, text) in [("title", &guide.title), ("about", &guide.about)] {
            if text.trim().is_empty() {
                reader.wrong(&file, &format!("{name} ="), format!("\"{name}\" has no text"));
            }
        }
        if guide.blocks.is_empty() {
            reader.wrong(&file, "blocks", "\"blocks\" is empty".into());
        }
        let texts = guide.blocks.iter().flat_map(|block| match block {
            Block::Heading(text) | Block::Text(text) | Block::Caution(text) => std::slice::from_ref(text),
            Block::List(items) => items,
        });
        if texts.into_iter().any(|text| text.trim().is_empty()) {
            reader.wrong(&file, "blocks", "a block of \"blocks\" has no text".into());
        }
    }
}

fn every_check_is_asked_once(content: &Content, reader: &mut Reader) {
    let asked: Vec<Check> =
        content.walk.stages.iter().flat_map(|stage| &stage.steps).flat_map(|step| step.asks.iter().copied()).collect();
    for check in Check::ALL {
        match asked.iter().filter(|other| *other == check).count() {
            1 => {}
            count => reader.wrong("walk.toml", check.key(), format!("\"{}\" is asked {count} times", check.key())),
        }
    }
}

fn every_source_exists(content: &Content, reader: &mut Reader) {
    for key in [SOURCES, measure::SOURCES, findings::SOURCES, &trace::SOURCES, faults::finder::SOURCES, power::SOURCES]
        .into_iter()
        .flatten()
    {
        if !content.sources.contains_key(*key) {
            reader.wrong("sources.toml", "", format!("the core refers to \"{key}\", which is not there"));
        }
    }
    let guides = content.language.guides.iter().map(|guide| ("guides", &guide.key, &guide.sources));
    let alarms = content.language.alarms.iter().map(|alarm| ("alarms", &alarm.key, &alarm.sources));
    for (folder, key, sources) in guides.chain(alarms) {
        let file = format!("en/{folder}/{key}.toml");
        if sources.is_empty() {
            reader.wrong(&file, "sources", "it names no source".into());
        }
        for source in sources {
            if !content.sources.contains_key(source) {
                reader.wrong(&file, source, format!("the source \"{source}\" is not among the sources"));
            }
        }
    }
}

fn every_name_exists(content: &Content, reader: &mut Reader) {
    let names = &content.language.names;
    let mut needed: BTreeSet<String> = ["end-bank", "end-monitor", "stop-module", "stop-monitor", "open-path"]
        .into_iter()
        .map(str::to_string)
        .collect();
    needed.extend(Verdict::ALL.iter().map(|verdict| format!("verdict-{}", verdict.key())));
    needed.extend([Urgency::Stop, Urgency::Act, Urgency::Know].map(|urgency| format!("urgency-{}", urgency.key())));
    needed.extend(AlarmKind::ALL.map(|kind| format!("alarm-{}", kind.key())));
    let equipment = &content.equipment;
    let ports = equipment.monitors.iter().flat_map(|monitor| &monitor.ports);
    needed.extend(ports.clone().map(|port| format!("connector-{}", port.connector)));
    needed.extend(equipment.modules.iter().map(|module| format!("connector-{}", module.data.connector)));
    needed.extend(equipment.leads.iter().flat_map(|lead| lead.ends.iter().map(|end| format!("connector-{end}"))));
    needed.extend(equipment.terminators.iter().map(|terminator| format!("connector-{}", terminator.connector)));
    let spoken = ports.flat_map(|port| &port.speaks).chain(equipment.modules.iter().flat_map(|module| &module.speaks));
    needed.extend(spoken.map(|profile| format!("protocol-{}", profile.protocol)));
    needed.extend(measure::NAMES.iter().chain(trace::NAMES).chain(hold::NAMES).map(|name| name.to_string()));
    needed.extend(content.connectors.iter().map(|connector| format!("connector-{}", connector.key)));
    needed.extend(content.protocols.iter().map(|protocol| format!("protocol-{}", protocol.key)));
    needed.extend(Role::ALL.map(|role| format!("role-{}", role.key())));
    needed.extend(crate::core::bus::readings::name_keys());
    needed.extend(findings::names().map(str::to_string));
    needed.extend(power::sheet::names());
    needed.extend(incoming::Refused::all().map(incoming::Refused::key));
    needed.extend(merge::Field::named().map(|field| format!("merge-{}", field.key())));
    needed.extend(lists::KINDS.map(lists::name_of));
    needed.extend(content.demo.iter().map(|demo| format!("demo-{}", demo.key)));
    needed.extend(LeadUse::ALL.iter().map(|usage| format!("lead-{}", usage.key())));
    needed.extend(Off::ALL.iter().map(|off| off.name().to_string()));
    needed.extend(compat::Obstacle::KEYS.iter().map(|key| format!("way-{key}")));
    needed.extend(
        ["off-unsaid", "lead-crossing", "terminator-plug", "terminator-pins", "way-nowhere", "way-to-pin"]
            .map(String::from),
    );
    for name in needed {
        if !names.contains_key(&name) {
            reader.wrong("en/names.toml", "", format!("there is no name for \"{name}\""));
        }
    }
}

fn equipment_keys_are_unique_and_match(content: &Content, reader: &mut Reader) {
    let equipment = &content.equipment;
    let mut seen = BTreeSet::new();
    let keys = equipment
        .modules
        .iter()
        .map(|item| ("modules", &item.key))
        .chain(equipment.monitors.iter().map(|item| ("monitors", &item.key)))
        .chain(equipment.leads.iter().map(|item| ("leads", &item.key)))
        .chain(equipment.terminators.iter().map(|item| ("terminators", &item.key)))
        .chain(equipment.chargers.iter().map(|item| ("chargers", &item.key)));
    for (folder, key) in keys {
        let file = format!("equipment/{folder}/{key}.toml");
        if !reader.texts.is_empty() && !reader.texts.contains_key(&file) {
            reader.wrong(&file, "", format!("the key \"{key}\" is not the name of its file"));
        }
        if !seen.insert(key) {
            reader.wrong(&file, key, format!("the key \"{key}\" is there twice"));
        }
    }
}

fn every_demo_is_a_site(content: &Content, reader: &mut Reader) {
    for demo in &content.demo {
        match content.equipment.draft_of(demo) {
            Err(missing) => reader.wrong("demo.toml", &missing, format!("there is no equipment \"{missing}\"")),
            Ok(draft) => {
                if let Err(problems) = draft.site() {
                    let keys: Vec<&str> = problems.iter().map(|problem| problem.key()).collect();
                    reader.wrong("demo.toml", &demo.key, format!("\"{}\" is no site: {keys:?}", demo.key));
                }
            }
        }
    }
}

fn every_text_is_there(content: &Content, reader: &mut Reader) {
    let language = &content.language;
    for (file, texts) in [
        ("en/because.toml", &language.because),
        ("en/problems.toml", &language.problems),
        ("en/names.toml", &language.names),
    ] {
        for (key, text) in texts {
            if text.trim().is_empty() {
                reader.wrong(file, &format!("{key} ="), format!("\"{key}\" has no text"));
            }
        }
    }
    if language.words.iter().any(|text| text.trim().is_empty()) {
        reader.wrong("en/words.toml", "\"\"", "a word has no text".into());
    }
}

/// Sources of an entry: some, and all known.
fn sources_are_known(content: &Content, reader: &mut Reader, file: &str, key: &str, sources: &[String]) {
    if sources.is_empty() {
        reader.wrong(file, &format!("\"{key}\""), format!("\"{key}\" names no source"));
    }
    for source in sources.iter().filter(|source| !content.sources.contains_key(*source)) {
        reader.wrong(file, source, format!("the source \"{source}\" is not among the sources"));
    }
}

fn every_connector_is_drawn(content: &Content, reader: &mut Reader) {
    let file = "connectors.toml";
    let mut keys = BTreeSet::new();
    for connector in &content.connectors {
        let near = format!("\"{}\"", connector.key);
        if !keys.insert(&connector.key) {
            reader.wrong(file, &near, format!("the connector {near} is there twice"));
        }
        let numbers: BTreeSet<u8> = connector.pins.iter().map(|pin| pin.n).collect();
        if numbers.len() != connector.pins.len() {
            reader.wrong(file, &near, format!("{near} has a pin number twice"));
        }
        let (width, height) = Connector::SIZE;
        let outside = |pin: &&Pin| !(0.0..=width).contains(&pin.at[0]) || !(0.0..=height).contains(&pin.at[1]);
        if let Some(pin) = connector.pins.iter().find(outside) {
            reader.wrong(file, &near, format!("pin {} of {near} lies outside the drawing", pin.n));
        }
        for role in [Role::High, Role::Low, Role::Reference] {
            if connector.role(role).is_none() {
                reader.wrong(file, &near, format!("{near} has no pin for \"{}\"", role.key()));
            }
        }
        sources_are_known(content, reader, file, &connector.key, &connector.sources);
    }
    // Every connector that equipment has, with the pins that it names.
    let equipment = &content.equipment;
    let ports = equipment.monitors.iter().flat_map(|monitor| {
        let file = format!("equipment/monitors/{}.toml", monitor.key);
        monitor.ports.iter().map(move |p| (file.clone(), &p.connector, vec![p.high_pin, p.low_pin, p.reference_pin]))
    });
    let modules = equipment.modules.iter().map(|module| {
        let (file, data) = (format!("equipment/modules/{}.toml", module.key), &module.data);
        (file, &data.connector, vec![data.high_pin, data.low_pin, data.reference_pin])
    });
    let leads = equipment.leads.iter().flat_map(|lead| {
        let file = format!("equipment/leads/{}.toml", lead.key);
        lead.ends.iter().map(move |end| (file.clone(), end, Vec::new()))
    });
    let terminators = equipment
        .terminators
        .iter()
        .map(|item| (format!("equipment/terminators/{}.toml", item.key), &item.connector, Vec::new()));
    for (file, key, pins) in ports.chain(modules).chain(leads).chain(terminators) {
        match content.connector(key) {
            None => reader.wrong(&file, key, format!("the connector \"{key}\" is not among the connectors")),
            Some(connector) => {
                for n in pins.into_iter().filter(|n| connector.pin(*n).is_none()) {
                    reader.wrong(&file, &format!("-pin = {n}"), format!("\"{key}\" has no pin {n}"));
                }
            }
        }
    }
}

fn every_protocol_is_known(content: &Content, reader: &mut Reader) {
    let file = "protocols.toml";
    let mut keys = BTreeSet::new();
    for protocol in &content.protocols {
        let near = format!("\"{}\"", protocol.key);
        if !keys.insert(&protocol.key) {
            reader.wrong(file, &near, format!("the protocol {near} is there twice"));
        }
        let can = protocol.wire == Carrier::Can;
        if protocol.identifier_bits.is_empty() == can || protocol.identifier_bits.iter().any(|b| ![11, 29].contains(b))
        {
            reader.wrong(file, &near, format!("identifiers of {near} have 11 or 29 bits"));
        }
        if protocol.bit_rates.is_empty() {
            reader.wrong(file, &near, format!("{near} names no bit rate"));
        }
        sources_are_known(content, reader, file, &protocol.key, &protocol.sources);
    }
    let modules = content.equipment.modules.iter().map(|module| ("modules", &module.key, &module.speaks));
    let ports = content
        .equipment
        .monitors
        .iter()
        .flat_map(|monitor| monitor.ports.iter().map(move |port| ("monitors", &monitor.key, &port.speaks)));
    for (folder, key, speaks) in modules.chain(ports) {
        for profile in speaks.iter().filter(|profile| content.protocol(&profile.protocol).is_none()) {
            let reason = format!("the protocol \"{}\" is not among the protocols", profile.protocol);
            reader.wrong(&format!("equipment/{folder}/{key}.toml"), &profile.protocol, reason);
        }
    }
}

fn every_symptom_has_words(content: &Content, reader: &mut Reader) {
    let file = "en/symptoms.toml";
    for symptom in Symptom::ALL {
        if !content.language.symptoms.contains_key(symptom.key()) {
            reader.wrong(file, "", format!("the symptom \"{}\" has no words", symptom.key()));
        }
    }
    for (key, words) in &content.language.symptoms {
        if !Symptom::ALL.iter().any(|symptom| symptom.key() == key) {
            reader.wrong(file, &format!("[{key}]"), format!("there is no symptom \"{key}\""));
        }
        sources_are_known(content, reader, file, key, &words.sources);
    }
}

/// The names in braces of a text.
pub fn placeholders(text: &str) -> Vec<String> {
    let mut names = Vec::new();
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        let Some(close) = rest[open..].find('}') else {
            names.push(rest[open..].to_string());
            break;
        };
        let inner = &rest[open + 1..open + close];
        // In "{n:module|{n} modules}" the first brace to close is the inner one; its name is the same.
        names.push(inner.split(':').next().unwrap_or(inner).to_string());
        rest = &rest[open + close + 1..];
    }
    names
}
