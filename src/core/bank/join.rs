//! May these modules be joined as they are? And what would flow between them at the moment of joining.
//!
//! In parallel both tests count: the LFP curve is so flat that voltages may agree while the charge differs by tens of
//! per cent. Every threshold here is common practice without a source; the module maker's figures rule.

use crate::core::units::{Amperes, Ohms, Percent, Quantity, Volts};

/// Rest voltages may differ by this much for each cell in series: 0.05, 0.1 and 0.2 V for 4, 8 and 16 cells (common
/// practice, no source; the share of one cell derived).
pub const GAP_EACH_CELL: Volts = Volts::of(0.0125);
/// States of charge this close may be joined (common practice, no source: 5–10 %).
pub const SOC_CLOSE: Percent = Percent::of(5.0);
/// Beyond this they must not be (the same practice's upper end).
pub const SOC_APART: Percent = Percent::of(10.0);
/// From here on a module counts as charged to the full by itself (common practice, no source).
pub const FULL: Percent = Percent::of(99.0);

/// Differences of floating figures that are no differences.
const HAIR: f64 = 1e-9;

/// How they are to be joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    Parallel,
    Series,
}

/// A module at rest.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Candidate {
    /// Rest voltage from pole to pole.
    pub voltage: Option<Volts>,
    pub soc: Option<Percent>,
    /// Inner resistance from pole to pole.
    pub resistance: Option<Ohms>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JoinVerdict {
    May,
    /// Not clearly wrong: even them out first if at all possible.
    LookAgain,
    MustNot,
    NotKnown,
}

/// Why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum JoinReason {
    FewerThanTwo,
    VoltageNotKnown,
    CellsNotKnown,
    SocNotKnown,
    VoltagesApart { gap: Volts, limit: Volts },
    SocApart { gap: Percent, limit: Percent },
    SocNearlyApart { gap: Percent, limit: Percent },
    AllClose { gap: Volts, soc_gap: Percent },
    AllFull { lowest: Percent },
    NotAllFull { lowest: Percent },
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Join {
    pub verdict: JoinVerdict,
    pub reason: JoinReason,
    /// The greatest current through any module when all are joined at once with no load; a magnitude. In series there is
    /// no loop, and it is 0.
    pub equalising: Option<Amperes>,
}

/// Judges the joining of modules at rest. `cells` are the cells in series of each module, `lead` the whole loop of
/// leads between two modules, both poles.
pub fn may_join(modules: &[Candidate], how: How, cells: Option<u32>, lead: Option<Ohms>) -> Join {
    let (verdict, reason) = match how {
        _ if modules.len() < 2 => (JoinVerdict::NotKnown, JoinReason::FewerThanTwo),
        How::Parallel => in_parallel(modules, cells),
        How::Series => in_series(modules),
    };
    let equalising = match how {
        How::Parallel => equalising(modules, lead),
        How::Series => Some(Amperes::of(0.0)),
    };
    Join { verdict, reason, equalising }
}

fn in_parallel(modules: &[Candidate], cells: Option<u32>) -> (JoinVerdict, JoinReason) {
    let volts = |pick: fn(f64, f64) -> f64| modules.iter().filter_map(|m| m.voltage.map(Quantity::get)).reduce(pick);
    let gap = spread(volts(f64::max), volts(f64::min)).and_then(|gap| Volts::new(gap).ok());
    let limit = cells.and_then(|cells| Volts::new(GAP_EACH_CELL.get() * f64::from(cells)).ok());
    // What is known may settle it, whatever else is missing.
    if let (Some(gap), Some(limit)) = (gap, limit)
        && gap.get() > limit.get() + HAIR
    {
        return (JoinVerdict::MustNot, JoinReason::VoltagesApart { gap, limit });
    }
    let soc_gap = soc_gap(modules);
    if let Some(gap) = soc_gap
        && gap.get() > SOC_APART.get() + HAIR
    {
        return (JoinVerdict::MustNot, JoinReason::SocApart { gap, limit: SOC_APART });
    }
    if modules.iter().any(|m| m.voltage.is_none()) {
        return (JoinVerdict::NotKnown, JoinReason::VoltageNotKnown);
    }
    if limit.is_none() {
        return (JoinVerdict::NotKnown, JoinReason::CellsNotKnown);
    }
    match (gap, soc_gap) {
        (Some(gap), Some(soc_gap)) if modules.iter().all(|m| m.soc.is_some()) => {
            if soc_gap.get() > SOC_CLOSE.get() + HAIR {
                (JoinVerdict::LookAgain, JoinReason::SocNearlyApart { gap: soc_gap, limit: SOC_CLOSE })
            } else {
                (JoinVerdict::May, JoinReason::AllClose { gap, soc_gap })
            }
        }
        _ => (JoinVerdict::NotKnown, JoinReason::SocNotKnown),
    }
}

/// Charge each singly to full, let rest; then the same state of charge (common practice, no source).
fn in_series(modules: &[Candidate]) -> (JoinVerdict, JoinReason) {
    if let Some(gap) = soc_gap(modules)
        && gap.get() > SOC_CLOSE.get() + HAIR
    {
        return (JoinVerdict::MustNot, JoinReason::SocApart { gap, limit: SOC_CLOSE });
    }
    let known: Option<Vec<f64>> = modules.iter().map(|m| m.soc.map(Quantity::get)).collect();
    let lowest = known.and_then(|list| list.into_iter().reduce(f64::min)).and_then(|soc| Percent::new(soc).ok());
    match lowest {
        None => (JoinVerdict::NotKnown, JoinReason::SocNotKnown),
        Some(lowest) if lowest >= FULL => (JoinVerdict::May, JoinReason::AllFull { lowest }),
        Some(lowest) => (JoinVerdict::LookAgain, JoinReason::NotAllFull { lowest }),
    }
}

/// The difference among the states of charge that are known.
fn soc_gap(modules: &[Candidate]) -> Option<Percent> {
    let soc = |pick: fn(f64, f64) -> f64| modules.iter().filter_map(|m| m.soc.map(Quantity::get)).reduce(pick);
    spread(soc(f64::max), soc(f64::min)).and_then(|gap| Percent::new(gap).ok())
}

fn spread(high: Option<f64>, low: Option<f64>) -> Option<f64> {
    Some(high? - low?)
}

/// All joined at one point, each through its own resistance and half of the loop's leads. For two this is
/// (E1 − E2)/(R1 + R2 + lead); for more, no pair joined first drives more (derived).
fn equalising(modules: &[Candidate], lead: Option<Ohms>) -> Option<Amperes> {
    let half = lead?.get() / 2.0;
    let mut siemens = 0.0;
    let mut amperes = 0.0;
    let mut branches = Vec::new();
    for module in modules {
        let (volts, ohms) = (module.voltage?.get(), module.resistance?.get() + half);
        siemens += 1.0 / ohms;
        amperes += volts / ohms;
        branches.push((volts, ohms));
    }
    let joined = amperes / siemens;
    let greatest = branches.iter().map(|(volts, ohms)| ((volts - joined) / ohms).abs()).reduce(f64::max)?;
    // Two ideal sources: no finite answer, hence none.
    Amperes::new(greatest).ok()
}
