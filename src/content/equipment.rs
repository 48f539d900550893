//! Finding equipment by key, and building a demo's draft of it.

use crate::content::schema::{DemoSite, Equipment};
use crate::core::site::Draft;
use crate::core::site::figures::{
    ChargerFigures, LeadFigures, LeadUse, ModuleFigures, MonitorFigures, TerminatorFigures,
};

impl Equipment {
    pub fn module(&self, key: &str) -> Option<&ModuleFigures> {
        self.modules.iter().find(|item| item.key == key)
    }

    pub fn monitor(&self, key: &str) -> Option<&MonitorFigures> {
        self.monitors.iter().find(|item| item.key == key)
    }

    pub fn lead(&self, key: &str) -> Option<&LeadFigures> {
        self.leads.iter().find(|item| item.key == key)
    }

    pub fn terminator(&self, key: &str) -> Option<&TerminatorFigures> {
        self.terminators.iter().find(|item| item.key == key)
    }

    pub fn charger(&self, key: &str) -> Option<&ChargerFigures> {
        self.chargers.iter().find(|item| item.key == key)
    }

    /// Fills in what the choices made so far leave only one sensible answer for: leads and terminators with the right
    /// plugs, a port where there is but one. What was chosen and fits is kept.
    pub fn suit(&self, draft: &mut Draft) {
        if let Some(monitor) = &draft.monitor
            && draft.chosen_port().is_none()
        {
            draft.port = match monitor.ports.as_slice() {
                [only] => Some(only.key.clone()),
                _ => None,
            };
        }
        if let Some(module) = &draft.module {
            let fits = |lead: &LeadFigures| lead.joins(&module.data.connector);
            let pick = |usage: LeadUse, chosen: &Option<LeadFigures>| match chosen {
                Some(lead) if fits(lead) => Some(lead.clone()),
                _ => self.leads.iter().find(|lead| lead.usage == usage && fits(lead)).cloned(),
            };
            draft.link_lead = pick(LeadUse::Link, &draft.link_lead);
            draft.bus_lead = pick(LeadUse::Bus, &draft.bus_lead);
            let terminator_fits = |terminator: &TerminatorFigures| terminator.connector == module.data.connector;
            if !draft.terminator.as_ref().is_some_and(terminator_fits) {
                draft.terminator = self.terminators.iter().find(|terminator| terminator_fits(terminator)).cloned();
            }
        }
    }

    /// The demo's site as a draft; an unknown key as the error.
    pub fn draft_of(&self, demo: &DemoSite) -> Result<Draft, String> {
        let missing = |key: &str| key.to_string();
        Ok(Draft {
            name: demo.name.clone(),
            module: Some(self.module(&demo.module).ok_or_else(|| missing(&demo.module))?.clone()),
            series: Some(demo.series),
            parallel: Some(demo.parallel),
            monitor: Some(self.monitor(&demo.monitor).ok_or_else(|| missing(&demo.monitor))?.clone()),
            port: Some(demo.port.clone()),
            link_lead: Some(self.lead(&demo.link_lead).ok_or_else(|| missing(&demo.link_lead))?.clone()),
            link_length: Some(demo.link_length),
            bus_lead: Some(self.lead(&demo.bus_lead).ok_or_else(|| missing(&demo.bus_lead))?.clone()),
            bus_length: Some(demo.bus_length),
            terminator: Some(self.terminator(&demo.terminator).ok_or_else(|| missing(&demo.terminator))?.clone()),
            terminated_at_bank: Some(true),
            terminated_at_monitor: Some(true),
            chargers: demo
                .chargers
                .iter()
                .map(|key| self.charger(key).cloned().ok_or_else(|| missing(key)))
                .collect::<Result<_, _>>()?,
        })
    }
}
