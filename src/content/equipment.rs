//! Finding equipment by key, and building a demo's draft of it.

use crate::content::schema::{DemoSite, Equipment};
use crate::core::site::figures::{
    ChargerFigures, LeadFigures, LeadUse, ModuleFigures, MonitorFigures, TerminatorFigures,
};
use crate::core::site::{Draft, compat};

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
        let Some(module) = draft.module.clone() else { return };
        let data = &module.data;
        if !draft.link_lead.as_ref().is_some_and(|lead| compat::links(lead, &module)) {
            let fits = |lead: &&LeadFigures| lead.usage == LeadUse::Link && compat::links(lead, &module);
            draft.link_lead = self.leads.iter().find(fits).cloned();
        }
        let plug = |chosen: &Option<TerminatorFigures>, connector: &str, high: u8, low: u8| {
            let fits = |terminator: &&TerminatorFigures| terminator.ends(connector, high, low);
            chosen.as_ref().filter(fits).or_else(|| self.terminators.iter().find(fits)).cloned()
        };
        draft.terminator = plug(&draft.terminator, &data.connector, data.high_pin, data.low_pin);
        let Some(port) = draft.chosen_port().cloned() else {
            // Until a port is chosen: any lead that fits the bank.
            if !draft.bus_lead.as_ref().is_some_and(|lead| lead.joins(&data.connector)) {
                let fits = |lead: &&LeadFigures| lead.usage == LeadUse::Bus && lead.joins(&data.connector);
                draft.bus_lead = self.leads.iter().find(fits).cloned();
            }
            return;
        };
        let joins = |bus: &LeadFigures, adapter| compat::joined(bus, adapter, &module, &port) == Some(Ok(()));
        let kept = draft.bus_lead.as_ref().filter(|bus| joins(bus, None) || joins(bus, draft.adapter.as_ref()));
        if kept.is_none() {
            let found = compat::path(&module, &port, self.shelf()).ok();
            draft.bus_lead = found.map(|(bus, _)| bus.clone());
            draft.adapter = found.and_then(|(_, adapter)| adapter.cloned());
        }
        let other = !draft.terminator.as_ref().is_some_and(|t| t.ends(&port.connector, port.high_pin, port.low_pin));
        draft.monitor_terminator = match other && !port.built_in_terminator {
            true => plug(&draft.monitor_terminator, &port.connector, port.high_pin, port.low_pin),
            false => None,
        };
    }

    /// The adapter that the chosen bus lead needs, if there is one for it.
    pub fn suit_adapter(&self, draft: &mut Draft) {
        let (Some(module), Some(port), Some(bus)) = (&draft.module, draft.chosen_port(), &draft.bus_lead) else {
            return;
        };
        let joins = |adapter: Option<&LeadFigures>| compat::joined(bus, adapter, module, port) == Some(Ok(()));
        let adapters = || self.leads.iter().filter(|lead| lead.usage == LeadUse::Adapter);
        draft.adapter = if joins(None) { None } else { adapters().find(|lead| joins(Some(lead))).cloned() };
    }

    /// What a way between two ends may be made of.
    pub fn shelf(&self) -> compat::Shelf<'_> {
        compat::Shelf { leads: &self.leads, terminators: &self.terminators }
    }

    /// The demo's site as a draft; an unknown key as the error.
    pub fn draft_of(&self, demo: &DemoSite) -> Result<Draft, String> {
        let missing = |key: &str| key.to_string();
        let mut draft = Draft {
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
            ..Draft::default()
        };
        self.suit(&mut draft);
        Ok(draft)
    }
}
