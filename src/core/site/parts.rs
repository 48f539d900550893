//! What to take along: computed from the site, so that nothing is left in the workshop.

use crate::core::site::figures::{LeadFigures, TerminatorFigures};
use crate::core::site::{End, Site};
use crate::core::units::Metres;

/// One line of the list.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    BusLead {
        lead: LeadFigures,
        length: Metres,
    },
    Adapter {
        lead: LeadFigures,
    },
    LinkLeads {
        lead: LeadFigures,
        count: u32,
        length: Metres,
    },
    Terminators {
        terminator: TerminatorFigures,
        count: u32,
    },
    /// Terminators that are inside a port and need not be taken.
    BuiltIn {
        end: End,
    },
    /// A way to the pins that leaves both terminators in place.
    PinAccess {
        connector: String,
    },
    Meter,
    InsulatedTools,
    EyeProtection,
    /// A load of known current, to prove the direction of the current.
    KnownLoad,
    Labels,
}

/// The list for a site, in the order in which it is packed.
pub fn parts(site: &Site) -> Vec<Part> {
    let mut list = Vec::new();
    if let Some(bus) = site.leads.last() {
        list.push(Part::BusLead { lead: bus.lead.clone(), length: bus.length });
        list.extend(bus.adapter.iter().map(|lead| Part::Adapter { lead: lead.clone() }));
    }
    // A chain of n modules needs one link lead fewer than modules.
    let links = site.modules() - 1;
    if let (true, Some(link)) = (links > 0, site.leads.first()) {
        list.push(Part::LinkLeads { lead: link.lead.clone(), count: links, length: link.length });
    }
    match End::BOTH.map(|end| site.loose_terminator(end)) {
        [Some(one), Some(other)] if one == other => {
            list.push(Part::Terminators { terminator: one.clone(), count: 2 });
        }
        both => {
            let one = |terminator: &TerminatorFigures| Part::Terminators { terminator: terminator.clone(), count: 1 };
            list.extend(both.into_iter().flatten().map(one));
        }
    }
    list.extend(End::BOTH.into_iter().filter(|end| site.built_in_terminator(*end)).map(|end| Part::BuiltIn { end }));
    list.push(Part::PinAccess { connector: site.port.connector.clone() });
    list.extend([Part::Meter, Part::InsulatedTools, Part::EyeProtection, Part::KnownLoad, Part::Labels]);
    list
}
