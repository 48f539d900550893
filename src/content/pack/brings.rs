//! What a pack brings, in brief.

use super::Pack;

/// A part of a pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Modules,
    Monitors,
    Leads,
    Terminators,
    Chargers,
    Connectors,
    Protocols,
    Sites,
    Steps,
    Checklists,
    Items,
    Guides,
    Alarms,
    Faults,
    Checks,
    Sources,
}

impl Part {
    /// A short name for authors.
    pub fn key(self) -> &'static str {
        match self {
            Part::Modules => "modules",
            Part::Monitors => "monitors",
            Part::Leads => "leads",
            Part::Terminators => "terminators",
            Part::Chargers => "chargers",
            Part::Connectors => "connectors",
            Part::Protocols => "protocols",
            Part::Sites => "sites",
            Part::Steps => "steps",
            Part::Checklists => "checklists",
            Part::Items => "items",
            Part::Guides => "guides",
            Part::Alarms => "alarms",
            Part::Faults => "faults",
            Part::Checks => "checks",
            Part::Sources => "sources",
        }
    }
}

/// The parts of a pack that are not empty, each with the names of its entries.
pub fn brings(pack: &Pack) -> Vec<(Part, Vec<String>)> {
    let equipment = &pack.equipment;
    let model = |maker: &str, model: &str| format!("{maker} {model}");
    let said = &pack.words;
    let steps = pack.steps.iter().flat_map(|stage| &stage.steps);
    let step = |key: &String| said.steps.step.get(key).map_or(key, |words| &words.action).clone();
    let list = |key: &String| said.checklists.list.get(key).map_or(key, |words| &words.title).clone();
    let item = |key: &String| said.checklists.item.get(key).map_or(key, |words| &words.text).clone();
    let fault = |key: &String| said.finder.faults.get(key).map_or(key, |words| &words.title).clone();
    let check = |key: &String| said.finder.checks.get(key).map_or(key, |words| &words.title).clone();
    let name = |kind: &str, key: &String| said.names.get(&format!("{kind}-{key}")).unwrap_or(key).clone();
    let all: Vec<(Part, Vec<String>)> = vec![
        (Part::Modules, equipment.modules.iter().map(|item| model(&item.maker, &item.model)).collect()),
        (Part::Monitors, equipment.monitors.iter().map(|item| model(&item.maker, &item.model)).collect()),
        (Part::Leads, equipment.leads.iter().map(|item| item.name.clone()).collect()),
        (Part::Terminators, equipment.terminators.iter().map(|item| item.name.clone()).collect()),
        (Part::Chargers, equipment.chargers.iter().map(|item| item.name.clone()).collect()),
        (Part::Connectors, pack.connectors.iter().map(|item| name("connector", &item.key)).collect()),
        (Part::Protocols, pack.protocols.iter().map(|item| name("protocol", &item.key)).collect()),
        (Part::Sites, pack.sites.iter().map(|site| site.name.clone()).collect()),
        (Part::Steps, steps.map(|entry| step(&entry.key)).collect()),
        (Part::Checklists, pack.checklists.lists.iter().map(|entry| list(&entry.key)).collect()),
        (Part::Items, pack.checklists.items.iter().map(|entry| item(&entry.key)).collect()),
        (Part::Guides, pack.guides.iter().map(|guide| guide.title.clone()).collect()),
        (Part::Alarms, pack.alarms.iter().map(|alarm| alarm.title.clone()).collect()),
        (Part::Faults, pack.finder.faults.iter().map(|entry| fault(&entry.key)).collect()),
        (Part::Checks, pack.finder.checks.iter().map(|entry| check(&entry.key)).collect()),
        (Part::Sources, pack.sources.values().map(|source| source.title.clone()).collect()),
    ];
    all.into_iter().filter(|(_, names)| !names.is_empty()).collect()
}
