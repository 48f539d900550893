//! What to take along: computed from the site, so that nothing is left in the workshop.

use crate::core::site::{End, Site};
use crate::core::units::Metres;

/// One line of the list.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    BusLead {
        name: String,
        length: Metres,
    },
    LinkLeads {
        name: String,
        count: u32,
        length: Metres,
    },
    Terminators {
        name: String,
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
        list.push(Part::BusLead { name: bus.lead.name.clone(), length: bus.length });
    }
    // A chain of n modules needs one link lead fewer than modules.
    let links = site.modules() - 1;
    if let (true, Some(link)) = (links > 0, site.leads.first()) {
        list.push(Part::LinkLeads { name: link.lead.name.clone(), count: links, length: link.length });
    }
    if let (true, Some(terminator)) = (site.loose_terminators() > 0, &site.terminator) {
        list.push(Part::Terminators { name: terminator.name.clone(), count: site.loose_terminators() });
    }
    list.extend(End::BOTH.into_iter().filter(|end| site.built_in_terminator(*end)).map(|end| Part::BuiltIn { end }));
    list.push(Part::PinAccess { connector: site.port.connector.clone() });
    list.extend([Part::Meter, Part::InsulatedTools, Part::EyeProtection, Part::KnownLoad, Part::Labels]);
    list
}
