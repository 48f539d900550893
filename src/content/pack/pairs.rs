//! Which modules and monitors go together, and what is in the way of those that do not: for authors.

use crate::content::schema::{Content, Equipment};
use crate::core::site::figures::{LeadFigures, LeadUse, ModuleFigures, MonitorFigures};
use crate::core::site::{Draft, Problem, Site};
use crate::core::units::Metres;

/// A module and a monitor, by port.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    pub module: String,
    pub monitor: String,
    /// The label of each port, with nothing in the way, or with all that is.
    pub ports: Vec<(String, Vec<Problem>)>,
}

impl Pair {
    pub fn has_path(&self) -> bool {
        self.ports.iter().any(|(_, problems)| problems.is_empty())
    }
}

/// Length of a lead that names none, m (common practice, no source).
const LENGTH: f64 = 5.0;

/// Every pair that has one of the pack's modules or monitors, by keys; all pairs of the content without keys.
pub fn pairs(content: &Content, own: &[String]) -> Vec<Pair> {
    let equipment = &content.equipment;
    let all =
        equipment.modules.iter().flat_map(|module| equipment.monitors.iter().map(move |monitor| (module, monitor)));
    let wanted = |key: &String| own.contains(key);
    all.filter(|(module, monitor)| own.is_empty() || wanted(&module.key) || wanted(&monitor.key))
        .map(|(module, monitor)| Pair {
            module: module.key.clone(),
            monitor: monitor.key.clone(),
            ports: monitor
                .ports
                .iter()
                .map(|port| {
                    let draft = draft(equipment, module, monitor, &port.key, 1);
                    (port.label.clone(), draft.site().err().unwrap_or_default())
                })
                .collect(),
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
    // A lead from the one socket to the other, where there is one.
    let both = |lead: &&LeadFigures| {
        let port = draft.chosen_port().map_or("", |port| &port.connector);
        lead.usage == LeadUse::Bus && lead.joins(&module.data.connector) && lead.joins(port)
    };
    if let Some(lead) = equipment.leads.iter().find(both) {
        draft.bus_lead = Some(lead.clone());
    }
    let length = |lead: &Option<LeadFigures>| {
        let sold = lead.as_ref().and_then(|lead| lead.lengths.first().copied());
        Some(sold.unwrap_or(Metres::of(LENGTH)))
    };
    draft.link_length = length(&draft.link_lead);
    draft.bus_length = length(&draft.bus_lead);
    draft
}
