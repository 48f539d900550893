//! Do two ends go together: over which lead and port, at which profile, with which terminators; or what is in the way.
//!
//! A [`Draft`] asks this of its own leads and terminators; [`ways`] asks it of all that there are.

use super::figures::{LeadFigures, LeadUse, ModuleFigures, MonitorFigures, PortFigures, Profile, TerminatorFigures};
use super::{Draft, End, Problem};

/// What may be chosen from.
#[derive(Clone, Copy, Debug)]
pub struct Shelf<'a> {
    pub leads: &'a [LeadFigures],
    pub terminators: &'a [TerminatorFigures],
}

/// How one end of a bus is terminated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ended<'a> {
    /// It carries its own.
    Inside,
    Plug(&'a TerminatorFigures),
}

/// A way from the bank to a port.
#[derive(Clone, Debug, PartialEq)]
pub struct Way<'a> {
    pub port: &'a PortFigures,
    pub profile: &'a Profile,
    pub bus: &'a LeadFigures,
    pub adapter: Option<&'a LeadFigures>,
    /// None where the maker allows no second module.
    pub link: Option<&'a LeadFigures>,
    pub at_bank: Ended<'a>,
    pub at_monitor: Ended<'a>,
}

/// What is in the way between a module and a port.
#[derive(Clone, Debug, PartialEq)]
pub enum Obstacle<'a> {
    /// They speak nothing in common.
    NoCommonProfile,
    /// No lead and no adapter has plugs for both.
    NoLead,
    /// Leads have the plugs, but their wires end on other pins: the port's pin for the bank's high wire, and where it ends.
    Crossed { lead: &'a LeadFigures, wanted: u8, got: Option<u8> },
    /// No link lead joins two of these modules.
    NoLink,
    /// No terminator fits the end, and it has none of its own.
    NoTerminator { end: End },
    /// The port's only socket takes the bus lead, and it has no terminator of its own.
    NoSocket,
}

impl Obstacle<'_> {
    pub fn key(&self) -> &'static str {
        match self {
            Obstacle::NoCommonProfile => "no-common-profile",
            Obstacle::NoLead => "no-lead",
            Obstacle::Crossed { .. } => "crossed",
            Obstacle::NoLink => "no-link",
            Obstacle::NoTerminator { .. } => "no-terminator",
            Obstacle::NoSocket => "no-socket",
        }
    }

    pub const KEYS: &'static [&'static str] =
        &["no-common-profile", "no-lead", "crossed", "no-link", "no-terminator", "no-socket"];
}

/// A port with the ways to it, or with all that is in the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Reached<'a> {
    pub port: &'a PortFigures,
    /// One for each profile that both speak.
    pub ways: Result<Vec<Way<'a>>, Vec<Obstacle<'a>>>,
}

/// The ways from a module to each port of a monitor, in the order of the ports.
pub fn ways<'a>(module: &'a ModuleFigures, monitor: &'a MonitorFigures, shelf: Shelf<'a>) -> Vec<Reached<'a>> {
    monitor.ports.iter().map(|port| Reached { port, ways: ways_to(module, port, shelf) }).collect()
}

fn ways_to<'a>(
    module: &'a ModuleFigures,
    port: &'a PortFigures,
    shelf: Shelf<'a>,
) -> Result<Vec<Way<'a>>, Vec<Obstacle<'a>>> {
    let mut obstacles = Vec::new();
    let profiles: Vec<&Profile> = port.speaks.iter().filter(|profile| module.speaks.contains(profile)).collect();
    if profiles.is_empty() {
        obstacles.push(Obstacle::NoCommonProfile);
    }
    let path = path(module, port, shelf).map_err(|obstacle| obstacles.push(obstacle)).ok();
    let link = link(module, shelf);
    if link.is_none() && module.most_in_series * module.most_in_parallel > 1 {
        obstacles.push(Obstacle::NoLink);
    }
    let at_bank = ended(module.data.built_in_terminator, &bank_socket(module), shelf);
    if at_bank.is_none() {
        obstacles.push(Obstacle::NoTerminator { end: End::Bank });
    }
    let at_monitor = ended(port.built_in_terminator, &port_socket(port), shelf);
    if !port.built_in_terminator && port.sockets < 2 {
        obstacles.push(Obstacle::NoSocket);
    } else if at_monitor.is_none() {
        obstacles.push(Obstacle::NoTerminator { end: End::Monitor });
    }
    match (path, at_bank, at_monitor) {
        (Some((bus, adapter)), Some(at_bank), Some(at_monitor)) if obstacles.is_empty() => {
            let way = |profile| Way { port, profile, bus, adapter, link, at_bank, at_monitor };
            Ok(profiles.into_iter().map(way).collect())
        }
        _ => Err(obstacles),
    }
}

/// A socket with its data pins: high, low, reference.
struct Socket<'a> {
    connector: &'a str,
    pins: [u8; 3],
}

fn bank_socket(module: &ModuleFigures) -> Socket<'_> {
    let data = &module.data;
    Socket { connector: &data.connector, pins: [data.high_pin, data.low_pin, data.reference_pin] }
}

fn port_socket(port: &PortFigures) -> Socket<'_> {
    Socket { connector: &port.connector, pins: [port.high_pin, port.low_pin, port.reference_pin] }
}

/// Where the pins of one socket end at the other over a lead laid in one way.
fn carried(lead: &LeadFigures, pins: [Option<u8>; 3], from_first: bool) -> [Option<u8>; 3] {
    pins.map(|pin| pin.and_then(|pin| lead.through(pin, from_first)))
}

fn link<'a>(module: &ModuleFigures, shelf: Shelf<'a>) -> Option<&'a LeadFigures> {
    let fits = |lead: &&LeadFigures| lead.usage == LeadUse::Link && links(lead, module);
    shelf.leads.iter().find(fits)
}

/// Does a lead join two of these modules, wire to wire?
pub fn links(lead: &LeadFigures, module: &ModuleFigures) -> bool {
    let socket = bank_socket(module);
    let pins = socket.pins.map(Some);
    lead.ways(socket.connector, socket.connector).any(|from_first| carried(lead, pins, from_first) == pins)
}

/// Does a lead, with an adapter behind it, join the bank to the port, wire to wire? If not, where the port's pin for the high wire is
/// and where the bank's high wire ends; `None` where the plugs do not even fit.
pub fn joined(
    bus: &LeadFigures,
    adapter: Option<&LeadFigures>,
    module: &ModuleFigures,
    port: &PortFigures,
) -> Option<Result<(), (u8, Option<u8>)>> {
    let (bank, port) = (bank_socket(module), port_socket(port));
    let mut ends: Vec<[Option<u8>; 3]> = Vec::new();
    match adapter {
        None => {
            ends.extend(bus.ways(bank.connector, port.connector).map(|way| carried(bus, bank.pins.map(Some), way)));
        }
        Some(adapter) => {
            // An adapter has a socket of its first kind, and a plug of its second.
            for way in bus.ways(bank.connector, &adapter.ends[0]) {
                if adapter.ends[1] == port.connector {
                    ends.push(carried(adapter, carried(bus, bank.pins.map(Some), way), true));
                }
            }
        }
    }
    let first = ends.first()?;
    let wanted = port.pins.map(Some);
    Some(if ends.contains(&wanted) { Ok(()) } else { Err((port.pins[0], first[0])) })
}

/// A bus lead, with an adapter where no lead alone will do.
pub fn path<'a>(
    module: &ModuleFigures,
    port: &PortFigures,
    shelf: Shelf<'a>,
) -> Result<(&'a LeadFigures, Option<&'a LeadFigures>), Obstacle<'a>> {
    let of = |usage: LeadUse| shelf.leads.iter().filter(move |lead| lead.usage == usage);
    let mut crossed = None;
    let alone = of(LeadUse::Bus).map(|bus| (bus, None));
    let behind = of(LeadUse::Bus).flat_map(|bus| of(LeadUse::Adapter).map(move |adapter| (bus, Some(adapter))));
    for (bus, adapter) in alone.chain(behind) {
        match joined(bus, adapter, module, port) {
            Some(Ok(())) => return Ok((bus, adapter)),
            Some(Err((wanted, got))) if crossed.is_none() => {
                crossed = Some(Obstacle::Crossed { lead: bus, wanted, got });
            }
            _ => {}
        }
    }
    Err(crossed.unwrap_or(Obstacle::NoLead))
}

fn ended<'a>(inside: bool, socket: &Socket<'_>, shelf: Shelf<'a>) -> Option<Ended<'a>> {
    if inside {
        return Some(Ended::Inside);
    }
    let [high, low, _] = socket.pins;
    shelf.terminators.iter().find(|plug| plug.ends(socket.connector, high, low)).map(Ended::Plug)
}

impl Draft {
    /// Is there an adapter to be used: do bus lead and port differ without one?
    pub(super) fn needs_adapter(&self) -> bool {
        match (&self.bus_lead, &self.module, self.chosen_port()) {
            (Some(bus), Some(module), Some(port)) => joined(bus, None, module, port) != Some(Ok(())),
            _ => false,
        }
    }

    /// What is wrong with the leads of so many modules.
    pub(super) fn leads_that_do_not_join(&self, modules: u32) -> Vec<Problem> {
        let Some(module) = &self.module else { return Vec::new() };
        let mut problems = Vec::new();
        let connector = &module.data.connector;
        let link = self.link_lead.as_ref().filter(|_| modules > 1);
        let bus_fits = self.bus_lead.as_ref().is_none_or(|lead| lead.joins(connector));
        if !bus_fits || link.is_some_and(|lead| !lead.joins(connector)) {
            problems.push(Problem::LeadDoesNotFitModule);
        }
        if link.is_some_and(|lead| lead.joins(connector) && !links(lead, module)) {
            problems.push(Problem::LinkCrossed);
        }
        let too_long = |most| self.link_length.is_some_and(|length| length > most);
        if modules > 1 && module.longest_link.is_some_and(too_long) {
            problems.push(Problem::LinkTooLong);
        }
        if let (true, Some(bus), Some(port)) = (bus_fits, &self.bus_lead, self.chosen_port()) {
            let adapter = self.adapter.as_ref().filter(|_| self.needs_adapter());
            match joined(bus, adapter, module, port) {
                Some(Ok(())) => {}
                Some(Err(_)) => problems.push(Problem::BusLeadCrossed),
                None => problems.push(Problem::LeadDoesNotFitPort),
            }
        }
        problems
    }

    /// What is wrong with the terminators, where they are said to be there.
    pub(super) fn terminators_that_do_not_fit(&self, at_bank: Option<bool>, at_monitor: Option<bool>) -> Vec<Problem> {
        let mut problems = Vec::new();
        if let (Some(true), Some(module), Some(plug)) = (at_bank, &self.module, &self.terminator)
            && !self.built_in_terminator(End::Bank)
            && !plug.ends(&module.data.connector, module.data.high_pin, module.data.low_pin)
        {
            problems.push(Problem::TerminatorDoesNotFitModule);
        }
        if let (Some(true), Some(port)) = (at_monitor, self.chosen_port())
            && !port.built_in_terminator
        {
            let plug = self.monitor_terminator.as_ref().or(self.terminator.as_ref());
            if port.sockets < 2 {
                problems.push(Problem::NoSocketForTerminator);
            } else if plug.is_some_and(|plug| !plug.ends(&port.connector, port.high_pin, port.low_pin)) {
                problems.push(Problem::TerminatorDoesNotFitPort);
            }
        }
        problems
    }
}
