//! The power side: conductors and cables, protection, inrush, what chargers are set to, joints.
//!
//! Each file holds one sum and, where it has one, its verdict as [`Judged`]; [`sheet`] is what a person types of them all,
//! by itself or in a job.

pub mod ampacity;
pub mod cable;
pub mod charger;
pub mod charger_steered;
pub mod conductor;
pub mod inrush;
pub mod joint;
pub mod protection;
pub mod sheet;
pub mod sheet_judged;
pub mod short_circuit;

use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;

/// Every source that these verdicts refer to; content is checked against it.
pub const SOURCES: &[&str] = &[
    "iec-60228",
    "iec-60028",
    "astm-b258",
    "nec-table-8",
    "cfr-183-425",
    "cfr-183-425-factors",
    "engine-space",
    "bs-7671-4e1a",
    "abyc-e-11-drop",
    "cfr-183-455",
    "abyc-e-11-post",
    "abyc-e-11-large",
    "iec-60364-4-43",
    "nec-continuous",
    "iec-60364-5-54",
    "kirchhoff",
    "bpx-lfp",
    "linden-lead-acid",
    "iso-16750-2",
    "rv-c",
    "charge-conservation",
    "practice",
];

/// Verdicts of several parts as one, the worst first; what is not known comes last. None where there is no part.
fn gathered(mut said: Vec<(Verdict, Because)>) -> Option<Judged> {
    let rank = |verdict: Verdict| match verdict {
        Verdict::Fails => 0,
        Verdict::LookAgain => 1,
        Verdict::Holds => 2,
        Verdict::NotDone => 3,
    };
    said.sort_by_key(|(verdict, _)| rank(*verdict));
    let mut all = said.into_iter();
    let (verdict, because) = all.next()?;
    let mut judged = Judged::new(verdict, because);
    judged.also = all.map(|(_, because)| because).collect();
    Some(judged)
}
