//! May these modules be joined? The verdict in sentences.

use super::practice;
use crate::core::bank::join::{Candidate, GAP_EACH_CELL, How, JoinReason, JoinVerdict, may_join};
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{Amperes, Ohms, Quantity, Volts};

#[derive(Clone, Debug, PartialEq)]
pub struct Joining {
    pub judged: Judged,
    /// The greatest current to expect at the moment of joining.
    pub equalising: Option<Amperes>,
}

/// Judges the joining of modules at rest: see [`may_join`].
pub fn join(modules: &[Candidate], how: How, cells: Option<u32>, lead: Option<Ohms>) -> Joining {
    let found = may_join(modules, how, cells, lead);
    let verdict = match found.verdict {
        JoinVerdict::May => Verdict::Holds,
        JoinVerdict::LookAgain => Verdict::LookAgain,
        JoinVerdict::MustNot => Verdict::Fails,
        JoinVerdict::NotKnown => Verdict::NotDone,
    };
    let because = match found.reason {
        JoinReason::FewerThanTwo => Because::JoinTooFew {},
        JoinReason::VoltageNotKnown => Because::JoinVoltageNotKnown {},
        JoinReason::CellsNotKnown => Because::JoinCellsNotKnown {},
        JoinReason::SocNotKnown => Because::JoinSocNotKnown {},
        JoinReason::VoltagesApart { gap, limit } => Because::JoinVoltagesApart { gap, limit },
        JoinReason::SocApart { gap, limit } => Because::JoinSocApart { gap, limit },
        JoinReason::SocNearlyApart { gap, limit } => Because::JoinSocNearlyApart { gap, limit },
        JoinReason::AllClose { gap, soc_gap } => Because::JoinAllClose { gap, apart: soc_gap },
        JoinReason::AllFull { lowest } => Because::JoinAllFull { lowest },
        JoinReason::NotAllFull { lowest } => Because::JoinNotAllFull { lowest },
    };
    let mut judged = practice(verdict, because);
    judged.sources = vec!["practice", "bpx-lfp"];
    if matches!(verdict, Verdict::Fails | Verdict::LookAgain) {
        judged.next = vec![Because::JoinChargeEach {}];
    }
    match how {
        How::Parallel => {
            let limit = cells.and_then(|cells| Volts::new(GAP_EACH_CELL.get() * f64::from(cells)).ok());
            if let (Some(cells), Some(limit)) = (cells, limit) {
                judged.sum.push(Because::JoinLimit { each: GAP_EACH_CELL, cells, limit });
            }
            if let Some(current) = found.equalising {
                judged.sum.push(Because::JoinEqualising { current });
                judged.sources.push("kirchhoff");
            }
            judged.sum.push(Because::JoinBothTests {});
        }
        How::Series => judged.sum.push(Because::JoinNoLoop {}),
    }
    Joining { judged, equalising: found.equalising.filter(|_| how == How::Parallel) }
}
