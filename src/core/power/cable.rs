//! A cable out and back: what it drops, whether it may carry its current, and the smallest that does both.

use super::ampacity::{Laying, Rating, rating};
use super::conductor::Conductor;
use super::gathered;
use crate::core::because::Because;
use crate::core::job::assess::{Verdict, Window};
use crate::core::judged::{Judged, Line};
use crate::core::units::{Amperes, Celsius, Fraction, Metres, Ohms, Percent, Quantity, Volts, Watts};

/// A cable and the current in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    pub conductor: Conductor,
    /// One way; the current goes out and comes back.
    pub length: Metres,
    /// Its sign says nothing here.
    pub current: Amperes,
    /// Of the copper.
    pub temperature: Celsius,
}

/// What a current does in a cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dropped {
    /// Out and back.
    pub resistance: Ohms,
    pub drop: Volts,
    pub heat: Watts,
}

/// The drop of a cable; `None` beyond what the quantities can hold.
pub fn drop(run: Run) -> Option<Dropped> {
    let resistance = run.conductor.resistance(run.temperature)?.get() * 2.0 * run.length.get();
    let current = run.current.get().abs();
    Some(Dropped {
        resistance: Ohms::new(resistance).ok()?,
        drop: Volts::new(resistance * current).ok()?,
        heat: Watts::new(resistance * current * current).ok()?,
    })
}

/// A cable with what is asked of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    pub run: Run,
    /// Nominal voltage of the system.
    pub system: Volts,
    /// The drop that is allowed, of the nominal voltage.
    pub limit: Percent,
    /// Left out: only the drop is asked about.
    pub laying: Option<Laying>,
    /// Cells in series of the bank, for what a charger at the far end sees.
    pub cells: Option<u32>,
}

impl Plan {
    fn with(self, conductor: Conductor) -> Plan {
        Plan { run: Run { conductor, ..self.run }, ..self }
    }

    /// The greatest drop allowed.
    fn most(self) -> f64 {
        self.system.get().abs() * self.limit.get() / 100.0
    }

    /// Is the drop within its limit?
    pub fn drop_holds(self) -> bool {
        drop(self.run).is_some_and(|found| found.drop.get() <= self.most() * (1.0 + 1e-12))
    }

    /// May it carry the current? None where nothing was said of how it lies, or no table covers it.
    pub fn rating_holds(self) -> Option<bool> {
        let rated = rating(self.run.conductor, self.laying?)?;
        Some(rated.current.get() >= self.run.current.get().abs() * (1.0 - 1e-12))
    }

    /// Does it do all that is asked? A cable that no table covers does not.
    pub fn holds(self) -> bool {
        self.drop_holds() && (self.laying.is_none() || self.rating_holds() == Some(true))
    }
}

/// What rules the next smaller size out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Binding {
    Drop,
    Rating,
    /// Nothing: there is no smaller one.
    Smallest,
}

impl Binding {
    pub fn key(self) -> &'static str {
        match self {
            Binding::Drop => "drop",
            Binding::Rating => "rating",
            Binding::Smallest => "smallest",
        }
    }
}

/// The smallest of these conductors (given small to large) that does all that is asked; `None` if none does.
pub fn smallest(sizes: &[Conductor], plan: Plan) -> Option<(Conductor, Binding)> {
    let index = sizes.iter().position(|conductor| plan.with(*conductor).holds())?;
    let binding = match index.checked_sub(1).map(|below| plan.with(sizes[below])) {
        None => Binding::Smallest,
        Some(below) if !below.drop_holds() => Binding::Drop,
        Some(_) => Binding::Rating,
    };
    Some((sizes[index], binding))
}

/// Judges a cable. `None` beyond what the quantities can hold, or at a system of no voltage.
pub fn judge(plan: Plan) -> Option<Judged> {
    let found = drop(plan.run)?;
    let share = Fraction::new(found.drop.get() / plan.system.get().abs()).ok()?;
    let limit = plan.limit;
    let most = Volts::new(plan.most()).ok()?;
    let mut said = vec![if plan.drop_holds() {
        (Verdict::Holds, Because::CableDropHolds { drop: found.drop, share, limit })
    } else {
        (Verdict::Fails, Because::CableDropOver { drop: found.drop, share, limit })
    }];
    let rated = plan.laying.and_then(|laying| rating(plan.run.conductor, laying));
    let current = magnitude(plan.run.current);
    said.push(match (&rated, plan.rating_holds()) {
        (Some(rated), Some(true)) => (Verdict::Holds, Because::CableRatingHolds { current, rating: rated.current }),
        (Some(rated), _) => (Verdict::Fails, Because::CableRatingOver { current, rating: rated.current }),
        _ => (Verdict::LookAgain, Because::CableRatingUnknown {}),
    });
    let mut judged = gathered(said)?;
    if let Some(cells) = plan.cells.filter(|cells| *cells > 0)
        && let Ok(each) = Volts::new(found.drop.get() / f64::from(cells))
    {
        judged.also.push(Because::CableCharger { drop: found.drop, cells, each });
    }
    judged.next = next(plan);
    judged.sum = sum(plan, found, share, rated.as_ref());
    judged.sources = sources(plan, rated.as_ref());
    judged.lines = lines(plan, found.drop, most, rated.as_ref());
    Some(judged)
}

fn magnitude(current: Amperes) -> Amperes {
    Amperes::new(current.get().abs()).unwrap_or(current)
}

fn lines(plan: Plan, drop: Volts, most: Volts, rated: Option<&Rating>) -> Vec<Line> {
    let verdict = |holds: bool| if holds { Verdict::Holds } else { Verdict::Fails };
    let window = |low: crate::core::units::Figure, high| Window { low, high, outer: None, error: 0.0 };
    let mut lines = vec![Line {
        name: "power-line-drop",
        window: window(Volts::of(0.0).into(), most.into()),
        reading: drop.into(),
        verdict: verdict(plan.drop_holds()),
    }];
    if let Some(rated) = rated {
        lines.push(Line {
            name: "power-line-current",
            window: window(Amperes::of(0.0).into(), rated.current.into()),
            reading: magnitude(plan.run.current).into(),
            verdict: verdict(plan.rating_holds() == Some(true)),
        });
    }
    lines
}

/// What to change where it does not hold: the smallest size that would.
fn next(plan: Plan) -> Vec<Because> {
    if plan.drop_holds() && plan.rating_holds() == Some(true) {
        return Vec::new();
    }
    let mut next = Vec::new();
    match smallest(&plan.run.conductor.kin(), plan) {
        // The one in hand is judged by its drop alone where nothing is known of how it lies.
        Some((found, _)) if found == plan.run.conductor => {}
        Some((found, _)) if found.area() > plan.run.conductor.area() => {
            let size = found.name();
            next.push(match plan.with(found).rating_holds() {
                Some(_) => Because::CableTake { size },
                // Nothing is claimed of what was not held against anything.
                None => Because::CableTakeForDrop { size },
            });
        }
        Some(_) => {}
        None => next.push(Because::CableNoneTakes {}),
    }
    if plan.rating_holds().is_none() {
        next.push(Because::CableAskMaker {});
    }
    next
}

fn sum(plan: Plan, found: Dropped, share: Fraction, rated: Option<&Rating>) -> Vec<Because> {
    let Run { conductor, length, temperature, .. } = plan.run;
    let current = magnitude(plan.run.current);
    let mut sum = Vec::new();
    if let Some(per_metre) = conductor.resistance(temperature) {
        let size = conductor.name();
        sum.push(match conductor {
            Conductor::American(_) => {
                Because::CableCopperGauge { size, area: conductor.area(), temperature, per_metre }
            }
            Conductor::Metric { .. } => Because::CableCopper { size, temperature, per_metre },
        });
    }
    sum.push(Because::CableLoop { length, resistance: found.resistance });
    sum.push(Because::CableDropSum { current, resistance: found.resistance, drop: found.drop });
    sum.push(Because::CableShareSum { drop: found.drop, system: plan.system, share });
    sum.push(Because::CableHeat { heat: found.heat });
    if let Some(rated) = rated {
        sum.push(Because::CableRatingSum {
            table: rated.table,
            column: rated.column.key().to_string(),
            engine: rated.engine,
            bundle: rated.bundle,
            rating: rated.current,
        });
    }
    sum
}

fn sources(plan: Plan, rated: Option<&Rating>) -> Vec<&'static str> {
    let mut sources = match plan.run.conductor {
        Conductor::Metric { .. } => vec!["iec-60228", "iec-60028"],
        Conductor::American(_) => vec!["astm-b258", "iec-60028", "nec-table-8"],
    };
    sources.push("abyc-e-11-drop");
    sources.extend(rated.iter().flat_map(|rated| &rated.sources));
    sources
}
