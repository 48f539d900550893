//! The shape of the content files, and of the one blob that the build makes of them.

#[path = "schema/checklists.rs"]
mod checklists;
#[path = "schema/sockets.rs"]
mod sockets;

pub use checklists::*;
pub use sockets::*;

use crate::content::late::Late;
use crate::content::tongue::{Tongue, Units};
use crate::core::codes::Vocabulary;
use crate::core::site::figures::{ChargerFigures, LeadFigures, ModuleFigures, MonitorFigures, TerminatorFigures};
use crate::core::units::Metres;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How a published source was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum SourceSeen {
    Read,
    Restated,
    FromMemory,
    Practice,
}

/// A published source.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Source {
    pub title: String,
    pub clause: String,
    pub seen: SourceSeen,
}

/// How many cards a step makes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Each {
    #[default]
    Once,
    Link,
    LooseTerminator,
    BuiltInTerminator,
    Module,
    /// A source of charge that does not follow the bank.
    DeafCharger,
    Adapter,
}

/// A condition of a step, or of an item of a checklist.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum When {
    SeveralInParallel,
    OtherEndAsked,
    WakeButton,
    WakeByItself,
    WakeSwitch,
    DedicatedPort,
    SettablePort,
    SeveralModules,
    InSeries,
    /// The data ports share their reference with the power negative.
    SharedReference,
    Charger,
    DeafCharger,
    LooseTerminator,
    NumberSwitches,
}

/// What the bus strip lights up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum LitPart {
    #[default]
    Nothing,
    Everything,
    Modules,
    Monitor,
    /// The lead that the card is about.
    Lead,
    BusLead,
    /// The terminator that the card is about.
    Terminator,
    Meter,
    MeterAtBank,
}

/// A step's shape.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Step {
    pub key: String,
    #[serde(default)]
    pub each: Each,
    #[serde(default)]
    pub when: Vec<When>,
    #[serde(default)]
    pub asks: Vec<crate::core::job::check::Check>,
    #[serde(default)]
    pub lit: LitPart,
    /// What is seen instead, where what should be seen is not: a symptom of the fault finder.
    #[serde(default)]
    pub if_not: Option<String>,
    /// Keys of modules and monitors that it is for; empty for all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub only: Vec<String>,
    /// In a pack: the step after which it comes; at the end of its stage without.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// A stage's shape.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Stage {
    pub key: String,
    #[serde(rename = "step")]
    pub steps: Vec<Step>,
}

/// `walk.toml`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Walk {
    #[serde(rename = "stage")]
    pub stages: Vec<Stage>,
}

/// The words of a step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StepWords {
    /// The one action.
    pub action: String,
    /// What should be seen or felt.
    pub see: String,
    /// Why it matters.
    pub why: String,
    /// The caution where the hand is.
    #[serde(default)]
    pub caution: String,
    /// The words on the button that ticks the card, where "Done" would be wrong.
    #[serde(default)]
    pub tick: String,
}

/// The words of a stage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StageWords {
    pub title: String,
    pub about: String,
}

/// `<language>/steps.toml`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct WalkWords {
    pub stage: BTreeMap<String, StageWords>,
    pub step: BTreeMap<String, StepWords>,
}

/// The words of a check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CheckWords {
    /// Its short name, for lists and the record.
    pub title: String,
    /// The label of its field: a question or a name.
    pub label: String,
    /// How to take the reading, one line.
    pub how: String,
    /// Words of the answers, by key, for checks that offer some.
    #[serde(default)]
    pub answers: BTreeMap<String, String>,
}

/// One block of a guide.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub enum Block {
    Heading(String),
    Text(String),
    List(Vec<String>),
    Caution(String),
}

/// A guide.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Guide {
    #[serde(default)]
    pub key: String,
    /// Its place in the list.
    pub order: u32,
    pub title: String,
    pub about: String,
    pub blocks: Vec<Block>,
    pub sources: Vec<String>,
}

/// How urgent an alarm is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Urgency {
    /// Stop now.
    Stop,
    /// Act before going on.
    Act,
    /// Know of it.
    Know,
}

impl Urgency {
    pub fn key(self) -> &'static str {
        match self {
            Urgency::Stop => "stop",
            Urgency::Act => "act",
            Urgency::Know => "know",
        }
    }
}

/// What an entry of the alarms is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum AlarmKind {
    /// Something is wrong.
    Alarm,
    /// Something is so, and that may be right.
    State,
    /// Charge or discharge is not permitted, or is cut.
    HoldOff,
}

impl AlarmKind {
    pub const ALL: [AlarmKind; 3] = [AlarmKind::Alarm, AlarmKind::State, AlarmKind::HoldOff];

    pub fn key(self) -> &'static str {
        match self {
            AlarmKind::Alarm => "alarm",
            AlarmKind::State => "state",
            AlarmKind::HoldOff => "hold-off",
        }
    }
}

/// A page of the app that leads on from an alarm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    BusVolts,
    BusOhms,
    Profile,
    Pins,
    Capture,
    Numbers,
    Rest,
    Join,
    Sharing,
}

/// An alarm, state or hold-off that a display may show.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Alarm {
    #[serde(default)]
    pub key: String,
    pub title: String,
    pub kind: AlarmKind,
    pub urgency: Urgency,
    /// In one sentence.
    pub meaning: String,
    /// Usual causes, likeliest first.
    pub causes: Vec<String>,
    pub first: String,
    pub do_not: String,
    /// May it go on meanwhile?
    pub go_on: String,
    /// When to stop and call.
    pub stop: String,
    /// Where to go next in the app, the best first.
    pub ways: Vec<Way>,
    /// Entries that are near, by key.
    #[serde(default)]
    pub see: Vec<String>,
    /// How displays may put it; the search reads these, the page does not show them.
    pub shown: Vec<String>,
    pub sources: Vec<String>,
    /// Its codes in open standards: see [`Vocabulary`].
    #[serde(default)]
    pub codes: BTreeMap<Vocabulary, Vec<u16>>,
}

/// The words for one list of codes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CodeWords {
    /// The standard and the place in it.
    pub title: String,
    /// How one code is written, with `{n}`; empty where the name says it.
    #[serde(default)]
    pub mark: String,
    pub source: String,
    /// What the standard calls each value.
    pub names: BTreeMap<u16, String>,
}

/// How the search reads words.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct SearchWords {
    /// Words that carry nothing.
    pub silent: Vec<String>,
    /// Words that tell little.
    pub faint: Vec<String>,
    /// Pairs that say the opposite of each other.
    pub opposite: Vec<[String; 2]>,
    /// What other words stand for: one or several words of the entries, and all that say the same.
    pub means: BTreeMap<String, Vec<String>>,
}

/// An invented demo site, by keys of equipment.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct DemoSite {
    pub key: String,
    /// In the language: `demo-<key>` of its names.
    #[serde(default)]
    pub name: String,
    pub module: String,
    pub series: u32,
    pub parallel: u32,
    pub monitor: String,
    pub port: String,
    pub link_lead: String,
    #[serde(rename = "link-length-m")]
    pub link_length: Metres,
    pub bus_lead: String,
    #[serde(rename = "bus-length-m")]
    pub bus_length: Metres,
    pub terminator: String,
    pub chargers: Vec<String>,
}

/// All equipment.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct Equipment {
    pub modules: Vec<ModuleFigures>,
    pub monitors: Vec<MonitorFigures>,
    pub leads: Vec<LeadFigures>,
    pub terminators: Vec<TerminatorFigures>,
    pub chargers: Vec<ChargerFigures>,
}

/// What an installer sees of a disagreement.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SymptomWords {
    pub title: String,
    pub looks: String,
    /// How to tell it from the others.
    pub find: String,
    pub sources: Vec<String>,
}

/// A fault of the fault finder in words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FaultWords {
    pub title: String,
    /// What it does.
    pub means: String,
    /// The way out.
    pub repair: String,
    #[serde(default)]
    pub caution: String,
}

/// A check of the fault finder in words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FinderCheckWords {
    pub title: String,
    /// The one thing to do or to answer.
    pub ask: String,
    #[serde(default)]
    pub caution: String,
    /// The exact words to choose from, by outcome.
    pub outcomes: BTreeMap<String, String>,
}

/// The fault finder's other words, by key.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct FinderOther {
    pub symptoms: BTreeMap<String, String>,
    /// Why a check is not offered now.
    pub facts: BTreeMap<String, String>,
    /// What to do when an outcome ends the search.
    pub ends: BTreeMap<String, String>,
    pub kinds: BTreeMap<String, String>,
    pub tools: BTreeMap<String, String>,
}

/// All words of the fault finder.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct FinderWords {
    pub faults: BTreeMap<String, FaultWords>,
    pub checks: BTreeMap<String, FinderCheckWords>,
    pub other: FinderOther,
}

/// All that depends on the language.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Language {
    pub tongue: Tongue,
    /// The words of the screens, by number: see `words`.
    #[serde(default)]
    pub words: Vec<String>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub because: Late<BTreeMap<String, String>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub problems: Late<BTreeMap<String, String>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub names: Late<BTreeMap<String, String>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub walk: Late<WalkWords>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub checklists: Late<ChecklistWords>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub checks: Late<BTreeMap<String, CheckWords>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub symptoms: Late<BTreeMap<String, SymptomWords>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub guides: Late<Vec<Guide>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub alarms: Late<Vec<Alarm>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub codes: Late<BTreeMap<Vocabulary, CodeWords>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub search: Late<SearchWords>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub finder: Late<FinderWords>,
}

/// The whole content, as the build packs it: in two files, of which the first holds what is not [`Late`].
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Content {
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub sources: Late<BTreeMap<String, Source>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub walk: Late<Walk>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub checklists: Late<Checklists>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub equipment: Late<Equipment>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub connectors: Late<Vec<Connector>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub protocols: Late<Vec<Protocol>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub demo: Late<Vec<DemoSite>>,
    #[serde(default, skip_serializing_if = "Late::is_absent")]
    pub finder: Late<crate::core::faults::finder::tables::Tables>,
    pub language: Language,
    /// As the person chose; never part of a file.
    #[serde(skip)]
    pub units: Units,
    /// A name of the packs that were put to it; 0 without. Never part of a file.
    #[serde(skip)]
    pub packs: u64,
}

impl Content {
    /// The two files: what the first screen says, and all the rest.
    pub fn parted(mut self) -> (Content, Content) {
        let (tongue, words) = (self.language.tongue, std::mem::take(&mut self.language.words));
        (Content { language: Language { tongue, words, ..Language::default() }, ..Content::default() }, self)
    }

    /// Whether the rest has come.
    pub fn is_whole(&self) -> bool {
        !self.finder.is_absent()
    }

    /// Puts in what came later: the other of the two files that the build writes.
    pub fn fill(&self, late: Content) {
        self.sources.fill(late.sources);
        self.walk.fill(late.walk);
        self.checklists.fill(late.checklists);
        self.equipment.fill(late.equipment);
        self.connectors.fill(late.connectors);
        self.protocols.fill(late.protocols);
        self.demo.fill(late.demo);
        self.finder.fill(late.finder);
        self.language.because.fill(late.language.because);
        self.language.problems.fill(late.language.problems);
        self.language.names.fill(late.language.names);
        self.language.walk.fill(late.language.walk);
        self.language.checklists.fill(late.language.checklists);
        self.language.checks.fill(late.language.checks);
        self.language.symptoms.fill(late.language.symptoms);
        self.language.guides.fill(late.language.guides);
        self.language.alarms.fill(late.language.alarms);
        self.language.codes.fill(late.language.codes);
        self.language.search.fill(late.language.search);
        self.language.finder.fill(late.language.finder);
    }

    pub fn connector(&self, key: &str) -> Option<&Connector> {
        self.connectors.iter().find(|connector| connector.key == key)
    }

    pub fn protocol(&self, key: &str) -> Option<&Protocol> {
        self.protocols.iter().find(|protocol| protocol.key == key)
    }
}
