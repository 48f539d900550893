//! What the display shows against what the bank must show, and what would cause exactly the disagreement.

use super::{practice, stop};
use crate::core::bank::explain::{Cause, explain};
use crate::core::bank::modules::{Bank, BankError, Place};
use crate::core::bank::shown::{Agreement, Comparison, Shown, What, compare};
use crate::core::bank::total::{Asked, Totals, total};
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{AmpereHours, Figure, Quantity, Volts};

/// One shown figure, judged.
#[derive(Clone, Debug, PartialEq)]
pub struct ShownFinding {
    pub what: What,
    /// Held against the bank's own figure, and not only against the other figures shown.
    pub by_modules: bool,
    pub judged: Judged,
}

impl Display {
    /// The worst of all that could be judged; *not done* where nothing could.
    pub fn worst(&self) -> Verdict {
        let known = self.findings.iter().map(|finding| finding.judged.verdict);
        known.filter(|verdict| *verdict != Verdict::NotDone).max().unwrap_or(Verdict::NotDone)
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct Display {
    pub findings: Vec<ShownFinding>,
    /// What would explain a disagreement, likeliest first, each with the check that tells. Empty while all agree.
    pub causes: Vec<(Because, Because)>,
}

/// Causes below this share of the probability are left out; and no more than so many are told (common practice, no
/// source).
const WORTH_TELLING: f64 = 0.04;
const MOST: usize = 4;

/// Holds what is shown against the bank.
pub fn display(bank: &Bank, shown: &Shown) -> Result<Display, BankError> {
    display_of(bank, &total(bank, Asked::default())?, shown)
}

/// [`display`] of a bank whose totals are known.
pub(super) fn display_of(bank: &Bank, totals: &Totals, shown: &Shown) -> Result<Display, BankError> {
    let compared = compare(totals, shown);
    let disagrees = compared.iter().any(|one| matches!(one.agreement, Agreement::Near | Agreement::Differs));
    let causes = if disagrees {
        explain(bank, shown)?
            .into_iter()
            .filter(|explanation| explanation.probability >= WORTH_TELLING)
            .take(MOST)
            .map(|explanation| told(bank, explanation.cause))
            .collect()
    } else {
        Vec::new()
    };
    let mut findings: Vec<ShownFinding> = compared.iter().map(judged).collect();
    for finding in findings.iter_mut().filter(|finding| finding.judged.verdict == Verdict::NotDone) {
        if let Some(judged) = by_itself(totals, shown, finding.what) {
            finding.judged = judged;
        }
    }
    Ok(Display { findings, causes })
}

/// A figure that no module tells of, against the other figures that the display shows.
fn by_itself(totals: &Totals, shown: &Shown, what: What) -> Option<Judged> {
    let seen = shown.get(what)?;
    let other = |what: What| shown.get(what);
    let (verdict, because) = match what {
        // The share that the display shows, of the capacity: what its remaining charge must be, within both roundings.
        What::ChargeHeld | What::Soc => {
            let (charge, soc) = (other(What::ChargeHeld)?, other(What::Soc)?);
            let capacity = totals.present_capacity.or(totals.capacity)?.get();
            let expected = AmpereHours::new(capacity * soc.figure.value() / 100.0).ok()?;
            let error = What::ChargeHeld.error(&charge) + capacity * What::Soc.error(&soc) / 100.0;
            let (charge, soc) = (charge.figure.as_quantity()?, soc.figure.as_quantity()?);
            let gap = AmpereHours::get(charge) - expected.get();
            match (gap.abs() <= error, totals.present_capacity.is_some() || gap > 0.0) {
                (true, _) => (Verdict::Holds, Because::ChargeAgrees { shown: charge, soc, expected }),
                (false, true) => (Verdict::Fails, Because::ChargeDiffers { shown: charge, soc, expected }),
                // Less may be the health of the modules, which nobody told.
                (false, false) => (Verdict::LookAgain, Because::ChargeDiffers { shown: charge, soc, expected }),
            }
        }
        What::Power => {
            let (volts, amperes) = (other(What::Voltage)?, other(What::Current)?);
            let (v, i) = (volts.figure.value(), amperes.figure.value());
            let expected = Figure::new(what.kind(), v * i).ok()?;
            let error = what.error(&seen) + i.abs() * volts.digit / 2.0 + v.abs() * amperes.digit / 2.0;
            if (seen.figure.value() - expected.value()).abs() <= error {
                (Verdict::Holds, Because::ShownAgrees { shown: seen.figure, expected })
            } else {
                let because = Because::ShownProduct {
                    shown: seen.figure,
                    voltage: volts.figure,
                    current: amperes.figure,
                    expected,
                };
                (Verdict::Fails, because)
            }
        }
        What::Voltage => {
            let (low, high) = (totals.discharge_voltage_limit?, totals.charge_voltage_limit?);
            let (shown, error) = (seen.figure.as_quantity::<Volts>()?, what.error(&seen));
            if (low.get() - error..=high.get() + error).contains(&shown.get()) {
                (Verdict::Holds, Because::VoltageInside { shown, low, high })
            } else {
                (Verdict::Fails, Because::VoltageOutside { shown, low, high })
            }
        }
        _ => return None,
    };
    Some(Judged { sources: vec!["charge-conservation", "practice"], ..Judged::new(verdict, because) })
}

fn judged(compared: &Comparison) -> ShownFinding {
    let shown = compared.shown.figure;
    let error = Figure::new(compared.what.kind(), compared.error).ok();
    let (verdict, because) = match (compared.expected, error, compared.agreement) {
        (Some(expected), _, Agreement::Agrees) => (Verdict::Holds, Because::ShownAgrees { shown, expected }),
        (Some(expected), Some(error), Agreement::Near) => {
            (Verdict::LookAgain, Because::ShownNear { shown, expected, error })
        }
        (Some(expected), _, _) if compared.error == 0.0 => (Verdict::Fails, Because::ShownIsNot { shown, expected }),
        (Some(expected), Some(error), _) => (Verdict::Fails, Because::ShownOff { shown, expected, error }),
        _ => (Verdict::NotDone, Because::ShownUnknown { shown }),
    };
    let mut judged = practice(verdict, because);
    if let (Some(error), true) = (error, compared.expected.is_some() && compared.error > 0.0) {
        judged.sum.push(Because::ShownWithin { error });
    }
    judged.sources = match compared.what {
        What::Capacity => vec!["sunspec-802", "charge-conservation"],
        What::ChargeHeld | What::Soc => vec!["rv-c", "charge-conservation"],
        _ => vec!["practice"],
    };
    ShownFinding { what: compared.what, by_modules: compared.expected.is_some(), judged }
}

/// A cause as sentence, and the check that tells.
fn told(bank: &Bank, cause: Cause) -> (Because, Because) {
    let at = |place: Place| stop(bank.modules().position(|(other, _)| other == place).map_or(1, |index| index + 1));
    match cause {
        Cause::NothingWrong => (Because::CauseNothing {}, Because::TellRead {}),
        Cause::ModuleSilent { module: Some(place) } => {
            (Because::CauseSilentAt { at: at(place) }, Because::TellSilent {})
        }
        Cause::ModuleSilent { module: None } => (Because::CauseSilent {}, Because::TellSilent {}),
        Cause::ModuleInProtection { module: Some(place) } => {
            (Because::CauseProtectionAt { at: at(place) }, Because::TellProtection {})
        }
        Cause::ModuleInProtection { module: None } => (Because::CauseProtection {}, Because::TellProtection {}),
        Cause::NameplateWrong { strings: Some(strings) } => {
            (Because::CauseStrings { strings }, Because::SetNameplate {})
        }
        Cause::NameplateWrong { strings: None } => (Because::CauseNameplate {}, Because::SetNameplate {}),
        Cause::SeriesTakenForParallel => (Because::CauseSeriesAdded {}, Because::SetNameplate {}),
        Cause::OtherBasis => (Because::CauseOtherBasis {}, Because::TellBasis {}),
        Cause::OneModuleOnly { .. } => (Because::CauseOneModule {}, Because::ChooseSource {}),
        Cause::OtherDevice => (Because::CauseOtherDevice {}, Because::TellDevice {}),
        Cause::Stale => (Because::CauseStale {}, Because::TellStale {}),
        Cause::SignReversed => (Because::CauseSign {}, Because::TurnShunt {}),
        Cause::NotCalibrated => (Because::CauseUncalibrated {}, Because::ChargeFullOnce {}),
    }
}
