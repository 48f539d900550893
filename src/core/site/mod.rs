//! What is installed: the figures of the equipment, and the site that is built of it.
//!
//! A [`Draft`] is what a person has said so far, any part of it missing. A [`Site`] is whole and consistent; only
//! [`Draft::site`] makes one, and says everything that stands in the way.

pub mod compat;
pub mod figures;
pub mod parts;
pub mod plain;

use crate::core::bus::line::{Device, Line, Run, Spot, Terminator};
use crate::core::units::{AmpereHours, Metres, Ohms, Quantity, Volts, WattHours};
use figures::{ChargerFigures, LeadFigures, ModuleFigures, MonitorFigures, PortFigures, Profile, TerminatorFigures};
use serde::{Deserialize, Serialize};

/// The most modules that one site may have.
pub const MOST_MODULES: u32 = 64;

/// What a person has said of a site so far.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Draft {
    pub name: String,
    pub module: Option<ModuleFigures>,
    /// Modules in each string.
    pub series: Option<u32>,
    /// Strings, or single modules, side by side.
    pub parallel: Option<u32>,
    pub monitor: Option<MonitorFigures>,
    /// Key of the monitor's port that the bank is plugged into.
    pub port: Option<String>,
    pub link_lead: Option<LeadFigures>,
    /// Length of each link lead.
    pub link_length: Option<Metres>,
    pub bus_lead: Option<LeadFigures>,
    /// Length of the lead from the bank to the monitor.
    pub bus_length: Option<Metres>,
    /// A short piece between the bus lead and the port, where their plugs differ.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub adapter: Option<LeadFigures>,
    /// For the bank's end, and for the monitor's where that one has none of its own.
    pub terminator: Option<TerminatorFigures>,
    /// For the monitor's end, where another one is needed there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub monitor_terminator: Option<TerminatorFigures>,
    /// Is there a terminator at the bank's free end?
    pub terminated_at_bank: Option<bool>,
    /// Is there a terminator at the monitor's end?
    pub terminated_at_monitor: Option<bool>,
    pub chargers: Vec<ChargerFigures>,
}

/// What keeps a draft from being a site. Each has a sentence and points to a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Problem {
    NoModule,
    NoSeries,
    NoParallel,
    TooManyModules,
    TooManyInSeries,
    TooManyInParallel,
    SeriesNeedsIsolatedPorts,
    NoMonitor,
    NoPort,
    NoCommonProfile,
    NoLinkLead,
    NoLinkLength,
    NoBusLead,
    NoBusLength,
    LeadDoesNotFitModule,
    LeadDoesNotFitPort,
    NoTerminator,
    LinkTooLong,
    LinkCrossed,
    BusLeadCrossed,
    TerminatorDoesNotFitModule,
    TerminatorDoesNotFitPort,
    NoSocketForTerminator,
    NotSaidWhetherTerminatedAtBank,
    NotSaidWhetherTerminatedAtMonitor,
}

impl Problem {
    pub const ALL: &'static [Problem] = &[
        Problem::NoModule,
        Problem::NoSeries,
        Problem::NoParallel,
        Problem::TooManyModules,
        Problem::TooManyInSeries,
        Problem::TooManyInParallel,
        Problem::SeriesNeedsIsolatedPorts,
        Problem::NoMonitor,
        Problem::NoPort,
        Problem::NoCommonProfile,
        Problem::NoLinkLead,
        Problem::NoLinkLength,
        Problem::NoBusLead,
        Problem::NoBusLength,
        Problem::LeadDoesNotFitModule,
        Problem::LeadDoesNotFitPort,
        Problem::NoTerminator,
        Problem::LinkTooLong,
        Problem::LinkCrossed,
        Problem::BusLeadCrossed,
        Problem::TerminatorDoesNotFitModule,
        Problem::TerminatorDoesNotFitPort,
        Problem::NoSocketForTerminator,
        Problem::NotSaidWhetherTerminatedAtBank,
        Problem::NotSaidWhetherTerminatedAtMonitor,
    ];

    /// The key of its sentence.
    pub fn key(self) -> &'static str {
        match self {
            Problem::NoModule => "no-module",
            Problem::NoSeries => "no-series",
            Problem::NoParallel => "no-parallel",
            Problem::TooManyModules => "too-many-modules",
            Problem::TooManyInSeries => "too-many-in-series",
            Problem::TooManyInParallel => "too-many-in-parallel",
            Problem::SeriesNeedsIsolatedPorts => "series-needs-isolated-ports",
            Problem::NoMonitor => "no-monitor",
            Problem::NoPort => "no-port",
            Problem::NoCommonProfile => "no-common-profile",
            Problem::NoLinkLead => "no-link-lead",
            Problem::NoLinkLength => "no-link-length",
            Problem::NoBusLead => "no-bus-lead",
            Problem::NoBusLength => "no-bus-length",
            Problem::LeadDoesNotFitModule => "lead-does-not-fit-module",
            Problem::LeadDoesNotFitPort => "lead-does-not-fit-port",
            Problem::NoTerminator => "no-terminator",
            Problem::LinkTooLong => "link-too-long",
            Problem::LinkCrossed => "link-crossed",
            Problem::BusLeadCrossed => "bus-lead-crossed",
            Problem::TerminatorDoesNotFitModule => "terminator-does-not-fit-module",
            Problem::TerminatorDoesNotFitPort => "terminator-does-not-fit-port",
            Problem::NoSocketForTerminator => "no-socket-for-terminator",
            Problem::NotSaidWhetherTerminatedAtBank => "not-said-whether-terminated-at-bank",
            Problem::NotSaidWhetherTerminatedAtMonitor => "not-said-whether-terminated-at-monitor",
        }
    }
}

/// Something that the bus passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stop {
    /// A module, counted from 1, the one next to the monitor first.
    Module(u32),
    Monitor,
}

/// One end of the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// The last module, with the bank's free socket.
    Bank,
    Monitor,
}

impl End {
    pub const BOTH: [End; 2] = [End::Monitor, End::Bank];

    pub fn key(self) -> &'static str {
        match self {
            End::Bank => "bank",
            End::Monitor => "monitor",
        }
    }

    pub fn other(self) -> End {
        match self {
            End::Bank => End::Monitor,
            End::Monitor => End::Bank,
        }
    }
}

/// One lead as it lies in the bus.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidLead {
    pub lead: LeadFigures,
    pub length: Metres,
    /// Behind it, at the monitor.
    pub adapter: Option<LeadFigures>,
}

impl LaidLead {
    /// As a run of the bus. An adapter is so short that only its contacts count beside the lead.
    fn run(&self) -> Run {
        let more = self.adapter.as_ref().map_or(0.0, |adapter| adapter.contacts.get());
        let contacts = Ohms::new(self.lead.contacts.get() + more).unwrap_or(self.lead.contacts);
        Run { length: self.length, per_metre: self.lead.conductor, contacts }
    }
}

/// A whole, consistent site: a chain of modules with the monitor at one end of the bus.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    pub name: String,
    pub module: ModuleFigures,
    pub series: u32,
    pub parallel: u32,
    pub monitor: MonitorFigures,
    pub port: PortFigures,
    pub profile: Profile,
    /// Leads along the bus from the bank's free end to the monitor: the link leads, then the bus lead.
    pub leads: Vec<LaidLead>,
    pub terminator: Option<TerminatorFigures>,
    pub monitor_terminator: Option<TerminatorFigures>,
    pub terminated_at_bank: bool,
    pub terminated_at_monitor: bool,
    pub chargers: Vec<ChargerFigures>,
}

impl Draft {
    /// How many modules the draft names, if it says.
    pub fn modules(&self) -> Option<u32> {
        Some(self.series?.saturating_mul(self.parallel?))
    }

    /// The port that the bank is plugged into, if the draft names one that the monitor has.
    pub fn chosen_port(&self) -> Option<&PortFigures> {
        let key = self.port.as_ref()?;
        self.monitor.as_ref()?.ports.iter().find(|port| port.key == *key)
    }

    /// Does the end carry a terminator of its own that nobody has to plug in?
    pub fn built_in_terminator(&self, end: End) -> bool {
        match end {
            End::Bank => self.module.as_ref().is_some_and(|m| m.data.built_in_terminator),
            End::Monitor => self.chosen_port().is_some_and(|p| p.built_in_terminator),
        }
    }

    /// The site, or everything that is missing or does not go together.
    pub fn site(&self) -> Result<Site, Vec<Problem>> {
        let mut problems = Vec::new();
        let mut miss = |problem: Problem| problems.push(problem);

        if self.module.is_none() {
            miss(Problem::NoModule);
        }
        let series = self.series.filter(|n| *n > 0);
        let parallel = self.parallel.filter(|n| *n > 0);
        if series.is_none() {
            miss(Problem::NoSeries);
        }
        if parallel.is_none() {
            miss(Problem::NoParallel);
        }
        let count = series.unwrap_or(1).saturating_mul(parallel.unwrap_or(1));
        if count > MOST_MODULES {
            miss(Problem::TooManyModules);
        }
        if let Some(module) = &self.module {
            if series.is_some_and(|n| n > module.most_in_series) {
                miss(Problem::TooManyInSeries);
            }
            if parallel.is_some_and(|n| n > module.most_in_parallel) {
                miss(Problem::TooManyInParallel);
            }
            if series.is_some_and(|n| n > 1) && !module.data.isolated {
                miss(Problem::SeriesNeedsIsolatedPorts);
            }
        }
        if self.monitor.is_none() {
            miss(Problem::NoMonitor);
        } else if self.chosen_port().is_none() {
            miss(Problem::NoPort);
        }
        let profile = self.common_profile();
        if self.module.is_some() && self.chosen_port().is_some() && profile.is_none() {
            miss(Problem::NoCommonProfile);
        }
        if count > 1 {
            if self.link_lead.is_none() {
                miss(Problem::NoLinkLead);
            }
            if self.link_length.is_none() {
                miss(Problem::NoLinkLength);
            }
        }
        if self.bus_lead.is_none() {
            miss(Problem::NoBusLead);
        }
        if self.bus_length.is_none() {
            miss(Problem::NoBusLength);
        }
        self.leads_that_do_not_join(count).into_iter().for_each(&mut miss);
        let at_bank = self.built_in_terminator(End::Bank).then_some(true).or(self.terminated_at_bank);
        let at_monitor = self.built_in_terminator(End::Monitor).then_some(true).or(self.terminated_at_monitor);
        if at_bank.is_none() {
            miss(Problem::NotSaidWhetherTerminatedAtBank);
        }
        if at_monitor.is_none() {
            miss(Problem::NotSaidWhetherTerminatedAtMonitor);
        }
        let loose = (at_bank == Some(true) && !self.built_in_terminator(End::Bank))
            || (at_monitor == Some(true) && !self.built_in_terminator(End::Monitor));
        if loose && self.terminator.is_none() && self.monitor_terminator.is_none() {
            miss(Problem::NoTerminator);
        }
        self.terminators_that_do_not_fit(at_bank, at_monitor).into_iter().for_each(&mut miss);

        let whole = || {
            let adapter = self.adapter.clone().filter(|_| self.needs_adapter());
            let bus = LaidLead { lead: self.bus_lead.clone()?, length: self.bus_length?, adapter };
            let mut leads = Vec::new();
            for _ in 1..count {
                leads.push(LaidLead { lead: self.link_lead.clone()?, length: self.link_length?, adapter: None });
            }
            leads.push(bus);
            Some(Site {
                name: self.name.clone(),
                module: self.module.clone()?,
                series: series?,
                parallel: parallel?,
                monitor: self.monitor.clone()?,
                port: self.chosen_port()?.clone(),
                profile: profile?,
                leads,
                terminator: self.terminator.clone(),
                monitor_terminator: self.monitor_terminator.clone(),
                terminated_at_bank: at_bank?,
                terminated_at_monitor: at_monitor?,
                chargers: self.chargers.clone(),
            })
        };
        if !problems.is_empty() {
            return Err(problems);
        }
        whole().ok_or(problems)
    }

    pub(super) fn common_profile(&self) -> Option<Profile> {
        let module = self.module.as_ref()?;
        let port = self.chosen_port()?;
        port.speaks.iter().find(|profile| module.speaks.contains(profile)).cloned()
    }
}

impl Site {
    pub fn modules(&self) -> u32 {
        self.series * self.parallel
    }

    /// The stops along the bus from the bank's free end to the monitor.
    pub fn stops(&self) -> Vec<Stop> {
        (1..=self.modules()).rev().map(Stop::Module).chain([Stop::Monitor]).collect()
    }

    /// The stop at an end.
    pub fn stop_at(&self, end: End) -> Stop {
        match end {
            End::Bank => Stop::Module(self.modules()),
            End::Monitor => Stop::Monitor,
        }
    }

    /// The ends that have a terminator, in the order of [`Site::line`].
    pub fn terminated_ends(&self) -> impl Iterator<Item = End> {
        End::BOTH.into_iter().filter(|end| self.terminated(*end))
    }

    pub fn terminated(&self, end: End) -> bool {
        match end {
            End::Bank => self.terminated_at_bank,
            End::Monitor => self.terminated_at_monitor,
        }
    }

    pub fn built_in_terminator(&self, end: End) -> bool {
        match end {
            End::Bank => self.module.data.built_in_terminator,
            End::Monitor => self.port.built_in_terminator,
        }
    }

    /// Terminators that are plugged in by hand.
    pub fn loose_terminators(&self) -> u32 {
        let loose = |end: &&End| self.terminated(**end) && !self.built_in_terminator(**end);
        End::BOTH.iter().filter(loose).count() as u32
    }

    /// The terminator that is plugged in by hand at an end, if one is.
    pub fn loose_terminator(&self, end: End) -> Option<&TerminatorFigures> {
        if !self.terminated(end) || self.built_in_terminator(end) {
            return None;
        }
        match end {
            End::Bank => self.terminator.as_ref(),
            End::Monitor => self.monitor_terminator.as_ref().or(self.terminator.as_ref()),
        }
    }

    /// Length of the bus from end to end.
    pub fn bus_length(&self) -> Metres {
        let sum = self.leads.iter().map(|lead| lead.length.get()).sum();
        Metres::new(sum).unwrap_or(Metres::of(5000.0))
    }

    /// Where an end lies along the bus, counted from the bank's free end.
    pub fn spot(&self, end: End) -> Spot {
        match end {
            End::Bank => Spot::Trunk(Metres::of(0.0)),
            End::Monitor => Spot::Trunk(self.bus_length()),
        }
    }

    /// The bus as a network, with terminators and devices of the given resistance. A device is taken as half its
    /// differential resistance from each wire to the reference (ISO 11898: 10–100 kΩ and 5–50 kΩ).
    pub fn line(&self, terminator: Ohms, device: Ohms) -> Line {
        let runs: Vec<Run> = self.leads.iter().map(LaidLead::run).collect();
        let half = Ohms::new(device.get() / 2.0).ok();
        let mut at = 0.0;
        let mut devices = Vec::new();
        for (index, _) in self.stops().iter().enumerate() {
            let here = Metres::new(at).unwrap_or(Metres::of(5000.0));
            devices.push(Device {
                at: Spot::Trunk(here),
                between_wires: None,
                high_to_reference: half,
                low_to_reference: half,
            });
            at += self.leads.get(index).map_or(0.0, |laid| laid.length.get());
        }
        let terminators =
            self.terminated_ends().map(|end| Terminator { at: self.spot(end), ohms: terminator }).collect();
        Line { runs, devices, terminators, ..Line::default() }
    }

    /// Nameplate capacity of the bank: strings side by side add, modules in a string do not.
    pub fn capacity(&self) -> AmpereHours {
        AmpereHours::new(self.module.capacity.get() * f64::from(self.parallel)).unwrap_or(AmpereHours::of(100_000.0))
    }

    /// Nominal voltage of the bank: modules in a string add.
    pub fn nominal(&self) -> Volts {
        Volts::new(self.module.nominal.get() * f64::from(self.series)).unwrap_or(Volts::of(1000.0))
    }

    /// Nameplate energy.
    pub fn energy(&self) -> WattHours {
        WattHours::new(self.capacity().get() * self.nominal().get()).unwrap_or(WattHours::of(1.0e8))
    }

    /// Cells in series from pole to pole of the bank.
    pub fn cells_in_series(&self) -> u32 {
        self.module.cells_in_series * self.series
    }
}
