//! Which modules and monitors go together, and what is in the way of those that do not: for authors.

use crate::content::schema::{Content, Equipment};
use crate::content::speak::Speaker;
use crate::core::site::compat::{Reached, ways};
use crate::core::site::figures::{LeadFigures, ModuleFigures, MonitorFigures};
use crate::core::site::{Draft, Site};
use crate::core::units::Metres;

/// A module and a monitor, by port.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    pub module: String,
    pub monitor: String,
    /// The label of each port, with nothing in the way, or with a sentence for all that is.
    pub ports: Vec<(String, Vec<String>)>,
}

impl Pair {
    pub fn has_path(&self) -> bool {
        self.ports.iter().any(|(_, obstacles)| obstacles.is_empty())
    }
}

/// Length of a lead that names none, m (common practice, no source).
const LENGTH: f64 = 5.0;

/// Every pair that has one of these modules or monitors, by keys; all pairs of the content without keys.
pub fn pairs(content: &Content, own: &[String]) -> Vec<Pair> {
    let equipment = &content.equipment;
    let speaker = Speaker::of(content);
    let said = |reached: Reached<'_>| {
        let obstacles = reached.ways.err().unwrap_or_default();
        (reached.port.label.clone(), obstacles.iter().map(|obstacle| speaker.obstacle(obstacle)).collect())
    };
    let all =
        equipment.modules.iter().flat_map(|module| equipment.monitors.iter().map(move |monitor| (module, monitor)));
    let wanted = |key: &String| own.contains(key);
    all.filter(|(module, monitor)| own.is_empty() || wanted(&module.key) || wanted(&monitor.key))
        .map(|(module, monitor)| Pair {
            module: module.key.clone(),
            monitor: monitor.key.clone(),
            ports: ways(module, monitor, equipment.shelf()).into_iter().map(said).collect(),
        })
        .collect()
}

/// A plain site of so many modules of a kind side by side, on the first port of the monitor on which that goes; none where
/// nothing goes.
pub fn site(content: &Content, module: &str, monitor: &str, modules: u32) -> Option<Site> {
    let equipment = &content.equipment;
    let (module, monitor) = (equipment.module(module)?, equipment.monitor(monitor)?);
    let drafts = monitor.ports.iter().map(|port| draft(equipment, module, monitor, &port.key, modules));
    drafts.filter_map(|draft| draft.site().ok()).next()
}

fn draft(equipment: &Equipment, module: &ModuleFigures, monitor: &MonitorFigures, port: &str, modules: u32) -> Draft {
    let mut draft = Draft {
        module: Some(module.clone()),
        series: Some(1),
        parallel: Some(modules),
        monitor: Some(monitor.clone()),
        port: Some(port.to_string()),
        terminated_at_bank: Some(true),
        terminated_at_monitor: Some(true),
        ..Draft::default()
    };
    equipment.suit(&mut draft);
    let shortest = |lead: &Option<LeadFigures>| {
        let sold = lead.iter().flat_map(|lead| &lead.lengths).copied();
        Some(sold.min_by(|a, b| f64::from(*a).total_cmp(&f64::from(*b))).unwrap_or(Metres::of(LENGTH)))
    };
    draft.link_length = shortest(&draft.link_lead);
    draft.bus_length = shortest(&draft.bus_lead);
    draft
}
