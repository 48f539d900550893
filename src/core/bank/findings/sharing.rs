//! How the current divides among like modules as they are wired, and back from measured currents to what is odd.

use super::{practice, stop};
use crate::core::bank::odd::{GOOD, ODD, OddBranch, Share, odd_branch};
use crate::core::bank::sharing::{Branch, Circuit, Shared, SharingError, Wiring};
use crate::core::because::Because;
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{Amperes, Metres, Ohms, Percent, Quantity, SquareMillimetres, Volts};

/// A link lead, by its resistance or by what it is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lead {
    Resistance(Ohms),
    /// Copper, with a joint at either end.
    Copper {
        length: Metres,
        area: SquareMillimetres,
        joint: Ohms,
    },
}

/// Resistivity of annealed copper at 20 °C: 1/58 Ω·mm²/m (IEC 60028).
const RESISTIVITY: f64 = 1.0 / 58.0;

impl Lead {
    /// One pole of it. `None` beyond what the quantity can hold.
    pub fn ohms(&self) -> Option<Ohms> {
        match self {
            Lead::Resistance(ohms) => Some(*ohms),
            Lead::Copper { length, area, joint } => {
                Ohms::new(RESISTIVITY * length.get() / area.get() + 2.0 * joint.get()).ok()
            }
        }
    }
}

/// Like modules side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SharingPlan {
    pub modules: u32,
    pub wiring: Wiring,
    /// Of one module from pole to pole, its own leads, fuse and joints included.
    pub inner: Ohms,
    /// One link, one pole. Bars are taken without resistance.
    pub link: Lead,
    pub load: Amperes,
    /// What one module may give or take.
    pub limit: Option<Amperes>,
}

/// A voltage at rest; alike in all, so that any one gives the same currents.
const EMF: Volts = Volts::of(13.3);

impl SharingPlan {
    fn circuit(&self, wiring: Wiring) -> Result<Circuit, SharingError> {
        let link = match wiring {
            Wiring::Busbar => Ohms::of(0.0),
            _ => self.link.ohms().ok_or(SharingError::NoResistance)?,
        };
        let count = self.modules as usize;
        if count == 0 || self.modules > crate::core::site::MOST_MODULES {
            return Err(SharingError::ModuleCount { count });
        }
        let branch = Branch { emf: EMF, inner: self.inner, leads: Ohms::of(0.0) };
        Circuit::new(vec![branch; count], vec![(link, link); count - 1], wiring.taps(self.modules))
    }
}

/// What another wiring would make of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gain {
    pub wiring: Wiring,
    /// The greatest module current at the same load; a magnitude.
    pub most: Amperes,
    /// The bank current at which a module reaches its limit.
    pub at_limit: Option<Amperes>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct SharingFinding {
    pub judged: Judged,
    /// Of each module, in order.
    pub currents: Vec<Amperes>,
    /// The hardest-worked module, counted from 1.
    pub hardest: u32,
    pub mean: Amperes,
    /// Every wiring, the chosen one among them.
    pub gains: Vec<Gain>,
}

pub const WIRINGS: [Wiring; 4] = [Wiring::SameEnd, Wiring::Diagonal, Wiring::Middle, Wiring::Busbar];

/// Solves the plan and judges how evenly it shares.
pub fn share(plan: &SharingPlan) -> Result<SharingFinding, SharingError> {
    if plan.load.get() == 0.0 {
        return Err(SharingError::NoCurrent);
    }
    let shared = plan.circuit(plan.wiring)?.share(plan.load)?;
    let (hardest, most) = greatest(&shared);
    let mean = Amperes::new(plan.load.get() / f64::from(plan.modules))?;
    let over = most / mean.get().abs() - 1.0;
    let gains = WIRINGS.iter().map(|wiring| gain(plan, *wiring)).collect::<Result<Vec<Gain>, SharingError>>()?;
    let at = stop(hardest);
    // Above 125 % the share is told as its end: far outside any good sharing.
    let share = Percent::new((over * 100.0).clamp(0.0, 125.0))?;
    let limit = plan.limit.filter(|limit| most > limit.get().abs() * (1.0 + 1e-9));
    let (verdict, because) = match limit {
        Some(limit) => (Verdict::Fails, Because::ShareOverLimit { at, current: Amperes::new(most)?, limit }),
        None if over <= GOOD.get() + 1e-9 => (Verdict::Holds, Because::ShareEven { most: share }),
        None if over <= ODD.get() + 1e-9 => (Verdict::LookAgain, Because::ShareUneven { most: share, at }),
        None => (Verdict::Fails, Because::ShareUneven { most: share, at }),
    };
    let mut judged = practice(verdict, because);
    let here = gains.iter().find(|gain| gain.wiring == plan.wiring);
    if let (Some(limit), Some(bank)) = (plan.limit, here.and_then(|gain| gain.at_limit)) {
        let even = Amperes::new(limit.get().abs() * f64::from(plan.modules))?;
        judged.sum.push(Because::ShareReaches { at, limit, bank, even });
    }
    if verdict != Verdict::Holds && gains.iter().any(|gain| gain.most.get() < most * 0.98) {
        judged.next.push(Because::ShareRewire {});
    }
    let (modules, inner) = (plan.modules, plan.inner);
    match (plan.wiring, plan.link.ohms()) {
        (Wiring::Busbar, _) | (_, None) => judged.sum.push(Because::ShareSumBars { modules, inner }),
        (_, Some(link)) => {
            if let Lead::Copper { length, area, .. } = plan.link {
                judged.sum.push(Because::ShareLink { length, area, ohms: link });
            }
            judged.sum.push(Because::ShareSum { modules, inner, link });
        }
    }
    judged.sum.push(Because::ShareBand {});
    judged.sources = vec!["kirchhoff", "iec-60028", "practice"];
    Ok(SharingFinding { judged, currents: shared.currents, hardest: u32::try_from(hardest).unwrap_or(1), mean, gains })
}

/// The module with the greatest current, counted from 1, and that current's magnitude. Of equals the first.
fn greatest(shared: &Shared) -> (usize, f64) {
    let mut found = (1, 0.0);
    for (index, current) in shared.currents.iter().enumerate() {
        // Of modules that differ by rounding alone, the first.
        if current.get().abs() > found.1 * (1.0 + 1e-9) {
            found = (index + 1, current.get().abs());
        }
    }
    found
}

fn gain(plan: &SharingPlan, wiring: Wiring) -> Result<Gain, SharingError> {
    let (_, most) = greatest(&plan.circuit(wiring)?.share(plan.load)?);
    // Like voltages: every current grows with the load.
    let at_limit = plan.limit.and_then(|limit| Amperes::new(plan.load.get().abs() * limit.get().abs() / most).ok());
    Ok(Gain { wiring, most: Amperes::new(most)?, at_limit })
}

/// The currents as bars: the length of each and the place of the mean, as shares of the longest.
pub fn bars(finding: &SharingFinding) -> (Vec<f64>, f64) {
    let size = |current: &Amperes| current.get().abs();
    let most = finding.currents.iter().map(size).fold(size(&finding.mean), f64::max).max(f64::MIN_POSITIVE);
    (finding.currents.iter().map(|current| size(current) / most).collect(), size(&finding.mean) / most)
}

/// Measured currents held against the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    pub judged: Judged,
    pub found: OddBranch,
}

/// Which joint or module is odd, from the measured currents of all modules in order.
pub fn odd(plan: &SharingPlan, measured: &[Amperes]) -> Result<Measured, SharingError> {
    let found = odd_branch(&plan.circuit(plan.wiring)?, measured, None)?;
    let all_good = found.branches.iter().all(|branch| branch.share == Share::Good);
    let any_odd = found.branches.iter().any(|branch| branch.share == Share::Odd);
    let suspect = found.suspect.map(|number| number as usize);
    let of =
        |number: usize| Some((*measured.get(number.checked_sub(1)?)?, *found.branches.get(number.checked_sub(1)?)?));
    let mut judged = match suspect.and_then(|number| Some((number, of(number)?))) {
        Some((number, (current, branch))) => {
            let at = stop(number);
            let verdict = if any_odd { Verdict::Fails } else { Verdict::LookAgain };
            let mut judged = practice(verdict, Because::OddFound { at, current, expected: branch.should_be });
            // Less current than due: something resists more. More: the others do, or its voltage is higher.
            if current.get().abs() <= branch.should_be.get().abs() {
                judged.may_be = vec![Because::OddJoint { at }, Because::OddModule { at }];
            } else {
                judged.may_be = vec![Because::OddOtherJoint {}, Because::OddModule { at }];
            }
            judged.next = vec![Because::OddMillivolts {}];
            if let Some(ohms) = branch.resistance {
                judged.sum.push(Because::OddResistance { at, ohms, described: plan.inner });
            }
            judged
        }
        None if all_good => practice(Verdict::Holds, Because::OddNone {}),
        None => {
            let mut judged = practice(Verdict::LookAgain, Because::OddEither {});
            judged.next = vec![Because::OddTap {}, Because::OddMillivolts {}];
            judged
        }
    };
    judged.sum.push(Because::ShareBand {});
    judged.sources = vec!["kirchhoff", "practice"];
    Ok(Measured { judged, found })
}

/// The sentence where there is no answer.
pub fn no_answer(error: &SharingError) -> Judged {
    let because = match error {
        SharingError::NoCurrent => Because::OddNoCurrent {},
        _ => Because::ShareNoAnswer {},
    };
    practice(Verdict::NotDone, because)
}
