//! The assessment: a pure function of a site and of what was seen.

use crate::core::bank::findings::Held;
use crate::core::bank::table::Table;
use crate::core::because::Because;
use crate::core::entry::Shown;
use crate::core::faults::bus::Ranked;
use crate::core::job::bank;
use crate::core::job::bus::{ohms, suspect, volts};
use crate::core::job::check::Check;
use crate::core::job::numbers;
use crate::core::job::trace::{explain, explain_at_once};
use crate::core::job::{Moment, Observation, Seen, Subject, latest};
use crate::core::judged::Judged;
use crate::core::power::sheet_judged::Found;
use crate::core::site::plain::plain_site;
use crate::core::site::{End, Site};
use crate::core::units::{Count, Figure, Metres, Volts};

/// What became of a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    Holds,
    LookAgain,
    Fails,
    NotDone,
}

impl Verdict {
    pub const ALL: &'static [Verdict] = &[Verdict::Holds, Verdict::LookAgain, Verdict::Fails, Verdict::NotDone];

    pub fn key(self) -> &'static str {
        match self {
            Verdict::Holds => "holds",
            Verdict::LookAgain => "look-again",
            Verdict::Fails => "fails",
            Verdict::NotDone => "not-done",
        }
    }
}

/// What a reading is held against, for the window line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    pub low: Figure,
    pub high: Figure,
    /// Outer limits: beyond them it fails.
    pub outer: Option<(Figure, Figure)>,
    /// How far the reading may be off, in its base unit.
    pub error: f64,
}

/// The outcome of one check.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    pub check: Check,
    pub verdict: Verdict,
    pub because: Because,
    /// What it may be, likeliest first.
    pub may_be: Vec<Because>,
    /// What to do or to look at next.
    pub next: Vec<Because>,
    /// The sum behind it, line by line.
    pub sum: Vec<Because>,
    /// Keys of the published sources it rests on.
    pub sources: Vec<&'static str>,
    pub window: Option<Window>,
    pub seen: Option<Seen>,
    pub at: Option<Moment>,
}

impl Finding {
    pub(crate) fn new(check: Check, verdict: Verdict, because: Because) -> Self {
        Finding {
            check,
            verdict,
            because,
            may_be: Vec::new(),
            next: Vec::new(),
            sum: Vec::new(),
            sources: Vec::new(),
            window: None,
            seen: None,
            at: None,
        }
    }

    /// The verdict with all that it rests on, as it is drawn beside figures that no check asks for.
    pub fn judged(&self) -> Judged {
        Judged {
            may_be: self.may_be.clone(),
            next: self.next.clone(),
            sum: self.sum.clone(),
            sources: self.sources.clone(),
            ..Judged::new(self.verdict, self.because.clone())
        }
    }

    /// Takes another verdict over. The window belonged to the old one.
    pub(super) fn take(&mut self, judged: Judged) {
        let Judged { verdict, because, may_be, next, sum, sources, .. } = judged;
        *self = Finding { verdict, because, may_be, next, sum, sources, window: None, ..self.clone() };
    }
}

/// All that follows from a site and what was seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Assessment {
    /// One finding for each check that applies, in the order in which they are made.
    pub findings: Vec<Finding>,
    /// All three voltages hold, so that ohms count.
    pub quiet: bool,
    /// The faults of the bus that would explain the ohms seen, most probable first; empty before any is seen.
    pub bus_faults: Vec<Ranked>,
    /// They are worked out. The verdicts do not need them, but what a finding says beside its verdict does.
    pub explained: bool,
    /// The place of the bus under suspicion.
    pub suspect: Option<Suspect>,
    /// The bank by its modules; none where its figures lie beyond what a bank can be.
    pub bank: Option<Held>,
    /// What was said of the power side.
    pub power: Vec<Found>,
}

/// A part of the bus that the readings point to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Suspect {
    End(End),
    /// The terminators, and not a lead.
    Ends,
    /// The lead with this index, counted from the bank's free end.
    Lead(usize),
    Whole,
}

impl Assessment {
    pub fn of(&self, check: Check) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.check == check)
    }

    /// The worst verdict among the checks done; `NotDone` if none is.
    pub fn worst(&self) -> Verdict {
        self.verdicts().filter(|verdict| *verdict != Verdict::NotDone).max().unwrap_or(Verdict::NotDone)
    }

    /// Every verdict: of the checks, and of what stands beside them.
    fn verdicts(&self) -> impl Iterator<Item = Verdict> {
        self.findings
            .iter()
            .map(|finding| finding.verdict)
            .chain(self.bank.iter().flat_map(bank::beside).map(|judged| judged.verdict))
            .chain(self.power.iter().map(|found| found.judged.verdict))
    }

    pub fn count(&self, verdict: Verdict) -> usize {
        self.verdicts().filter(|other| *other == verdict).count()
    }
}

/// Every key of `content/sources` that the core refers to; content is checked against it.
pub const SOURCES: &[&str] = &[
    "iso-11898-2-2003",
    "iso-11898-1993",
    "an96116",
    "ti-slrs048a",
    "can-trouble-band",
    "ti-slvs-levels",
    "practice",
    "rv-c",
    "sunspec-802",
    "bpx-lfp",
    "linden",
];

/// Assesses a site by what was seen.
pub fn assess(site: &Site, observations: &[Observation]) -> Assessment {
    assess_all(site, observations, &Table::default())
}

/// Assesses a site by what was seen and by what its modules say.
pub fn assess_all(site: &Site, observations: &[Observation], table: &Table) -> Assessment {
    assess_with(site, observations, table, Some(explain(site, observations)))
}

/// [`assess_all`], without working out now what explains the bus where that takes long.
pub(super) fn assess_at_once(site: &Site, observations: &[Observation], table: &Table) -> Assessment {
    assess_with(site, observations, table, explain_at_once(site, observations))
}

fn assess_with(site: &Site, observations: &[Observation], table: &Table, faults: Option<Vec<Ranked>>) -> Assessment {
    let bus = assess_bus(site, observations, faults);
    let mut findings = bus.findings;
    findings.extend(of_display(site, observations));
    let bank = bank::held(site, observations, table, &mut findings);
    Assessment { findings, bank, ..bus }
}

/// The checks that ask for what the display shows, each held against the site.
pub(super) fn of_display(site: &Site, observations: &[Observation]) -> Vec<Finding> {
    let mut findings = numbers::findings(site, &|check| latest(observations, &Subject::Check(check)));
    put_seen(&mut findings, observations);
    findings
}

fn put_seen(findings: &mut [Finding], observations: &[Observation]) {
    for finding in findings {
        if let Some(observation) = latest(observations, &Subject::Check(finding.check)) {
            finding.seen = Some(observation.seen.clone());
            finding.at = Some(observation.at);
        }
    }
}

/// What follows for the bus alone: its volts and its ohms, with `faults` as what explains them where that is known.
pub(super) fn assess_bus(site: &Site, observations: &[Observation], faults: Option<Vec<Ranked>>) -> Assessment {
    let seen = |check: Check| latest(observations, &Subject::Check(check));
    let mut findings = Vec::new();
    for check in [Check::PairVolts, Check::HighToReferenceVolts, Check::LowToReferenceVolts] {
        findings.push(volts(check, seen(check)));
    }
    let quiet = findings.iter().all(|finding| finding.verdict == Verdict::Holds);

    let monitor = ohms(site, Check::PairOhmsAtMonitor, &seen, quiet, faults.as_deref());
    let bank_is_asked = seen(Check::PairOhmsAtBank).is_some()
        || monitor.next.iter().any(|next| matches!(next, Because::MeasureOtherEnd { .. }));
    findings.push(monitor);
    if bank_is_asked {
        findings.push(ohms(site, Check::PairOhmsAtBank, &seen, quiet, faults.as_deref()));
    }
    put_seen(&mut findings, observations);
    let explained = faults.is_some();
    let faults = faults.unwrap_or_default();
    let suspect = suspect(site, &faults);
    Assessment { findings, quiet, bus_faults: faults, explained, suspect, bank: None, power: Vec::new() }
}

pub(crate) fn figure_of(seen: Option<&Observation>) -> Option<Shown> {
    match seen?.seen {
        Seen::Figure(shown) => Some(shown),
        _ => None,
    }
}

/// One reading between the data wires, at an end of a plain bus that is described by its devices and its length alone.
///
/// The leads are taken as AWG 24 copper, 84 mΩ/m (IEC 60028), with contacts of 10 mΩ (CiA 303-1, from memory). `None` when
/// there is no device, or more than a site may have.
pub fn quick_ohms(devices: Count, length: Metres, seen: Seen) -> Option<Finding> {
    let site = plain_site(devices, length)?;
    let mut observations = quiet_volts();
    let of = Subject::Check(Check::PairOhmsAtMonitor);
    observations.push(Observation::new(of, Moment(0), seen, ""));
    assess(&site, &observations).of(Check::PairOhmsAtMonitor).cloned()
}

/// The three voltages of a bus that is quiet: for readings of ohms that are held without a job.
pub fn quiet_volts() -> Vec<Observation> {
    let shown = Shown { figure: Volts::of(0.0).into(), digit: 0.001 };
    [Check::PairVolts, Check::HighToReferenceVolts, Check::LowToReferenceVolts]
        .map(|check| Observation::new(Subject::Check(check), Moment(0), Seen::Figure(shown), ""))
        .to_vec()
}
