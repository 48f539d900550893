//! What the display shows against what the bank must show, and what would cause exactly the disagreement.

use super::{practice, stop};
use crate::core::bank::explain::{Cause, explain};
use crate::core::bank::modules::{Bank, BankError, Place};
use crate::core::bank::shown::{Agreement, Comparison, Shown, What, compare};
use crate::core::bank::total::{Asked, total};
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::Figure;

/// One shown figure, judged.
#[derive(Clone, Debug, PartialEq)]
pub struct ShownFinding {
    pub what: What,
    pub judged: Judged,
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
    let totals = total(bank, Asked::default())?;
    let compared = compare(&totals, shown);
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
    Ok(Display { findings: compared.iter().map(judged).collect(), causes })
}

fn judged(compared: &Comparison) -> ShownFinding {
    let shown = compared.shown.figure;
    let error = Figure::new(compared.what.kind(), compared.error).ok();
    let (verdict, because) = match (compared.expected, error, compared.agreement) {
        (Some(expected), _, Agreement::Agrees) => (Verdict::Holds, Because::ShownAgrees { shown, expected }),
        (Some(expected), Some(error), Agreement::Near) => {
            (Verdict::LookAgain, Because::ShownNear { shown, expected, error })
        }
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
    ShownFinding { what: compared.what, judged }
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
