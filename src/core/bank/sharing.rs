//! How modules side by side share a current, with the real resistance of the links between them.
//!
//! Each module is a source behind a resistance. Its posts are joined to the next module's by one positive and one
//! negative link; the load is taken at one positive and one negative post. The unknowns are the module currents: one
//! equation for the loop through each two neighbours (Kirchhoff's second law), one for the sum. So ideal bars (links
//! of 0 Ω) need no special case. Exact for constant sources; positive current is out of a module.

use crate::core::site::MOST_MODULES;
use crate::core::units::{Amperes, Ohms, OutOfRange, Quantity, Ratio, Volts};
use std::fmt;

/// One module with its own leads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Branch {
    /// Voltage at rest.
    pub emf: Volts,
    /// From pole to pole, switch and fuse included.
    pub inner: Ohms,
    /// Its own leads and joints, both poles together.
    pub leads: Ohms,
}

impl Branch {
    pub(super) fn ohms(&self) -> f64 {
        self.inner.get() + self.leads.get()
    }
}

/// Where the two main leads go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wiring {
    /// Both on module 1.
    SameEnd,
    /// Positive on module 1, negative on the last.
    Diagonal,
    /// On the two middle modules; both on the middle one of an odd number.
    Middle,
    /// Each module by its own equal pair to common bars, which are fed at one end.
    Busbar,
}

impl Wiring {
    /// The modules, counted from 1, that carry the positive and the negative main lead.
    pub fn taps(self, modules: u32) -> (u32, u32) {
        match self {
            Wiring::SameEnd | Wiring::Busbar => (1, 1),
            Wiring::Diagonal => (1, modules),
            Wiring::Middle => (modules.div_ceil(2), modules / 2 + 1),
        }
    }
}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SharingError {
    /// No module, or more than 64.
    ModuleCount {
        count: usize,
    },
    /// Not one link fewer than modules.
    LinkCount {
        modules: usize,
        links: usize,
    },
    /// The main lead is on a module that is not there; counted from 1.
    NoSuchModule {
        tap: u32,
        modules: usize,
    },
    /// Sources without resistance side by side: the currents have no bound, or no single answer.
    NoResistance,
    /// Not as many currents as modules.
    CurrentCount {
        modules: usize,
        currents: usize,
    },
    /// No current flows in all: there is nothing to share.
    NoCurrent,
    OutOfRange(OutOfRange),
}

impl fmt::Display for SharingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SharingError::ModuleCount { count } => {
                write!(f, "{count} modules cannot share a current: it takes 1 to {MOST_MODULES}")
            }
            SharingError::LinkCount { modules, links } => {
                write!(f, "{links} links do not fit {modules} modules: there is one between each two neighbours")
            }
            SharingError::NoSuchModule { tap, modules } => {
                write!(f, "A main lead is on module {tap}, but there are {modules}, counted from 1")
            }
            SharingError::NoResistance => write!(f, "Modules without any resistance side by side have no answer"),
            SharingError::CurrentCount { modules, currents } => {
                write!(f, "{currents} currents do not fit {modules} modules: each needs one")
            }
            SharingError::NoCurrent => write!(f, "No current flows in all, so there is nothing to share"),
            SharingError::OutOfRange(error) => write!(f, "The answer is beyond the range: {error}"),
        }
    }
}

impl std::error::Error for SharingError {}

impl From<OutOfRange> for SharingError {
    fn from(error: OutOfRange) -> Self {
        SharingError::OutOfRange(error)
    }
}

/// 1 to 64 modules side by side as they are wired.
#[derive(Clone, Debug, PartialEq)]
pub struct Circuit {
    branches: Vec<Branch>,
    /// Between each two neighbours: positive and negative link.
    links: Vec<(Ohms, Ohms)>,
    taps: (u32, u32),
}

/// How the current is shared.
#[derive(Clone, Debug, PartialEq)]
pub struct Shared {
    /// Of each module, in order.
    pub currents: Vec<Amperes>,
    /// Between the posts of each module, behind its own leads.
    pub posts: Vec<Volts>,
    /// Between the two main leads.
    pub tap: Volts,
    /// Module current ÷ mean; none without a load.
    pub largest_over_mean: Option<Ratio>,
    pub smallest_over_mean: Option<Ratio>,
}

impl Circuit {
    /// `links` are (positive, negative), one fewer than branches; `taps` the modules, from 1, with the positive and
    /// the negative main lead.
    pub fn new(branches: Vec<Branch>, links: Vec<(Ohms, Ohms)>, taps: (u32, u32)) -> Result<Circuit, SharingError> {
        let count = branches.len();
        if count == 0 || count > MOST_MODULES as usize {
            return Err(SharingError::ModuleCount { count });
        }
        if links.len() + 1 != count {
            return Err(SharingError::LinkCount { modules: count, links: links.len() });
        }
        for tap in [taps.0, taps.1] {
            if tap == 0 || tap as usize > count {
                return Err(SharingError::NoSuchModule { tap, modules: count });
            }
        }
        Ok(Circuit { branches, links, taps })
    }

    /// Modules each on its own pair of leads to ideal bars.
    pub fn ideal_bars(branches: Vec<Branch>) -> Result<Circuit, SharingError> {
        let links = vec![(Ohms::of(0.0), Ohms::of(0.0)); branches.len().saturating_sub(1)];
        Circuit::new(branches, links, (1, 1))
    }

    pub fn branches(&self) -> &[Branch] {
        &self.branches
    }

    /// Solves for a load; negative is a charging current. Without a load, modules at unlike voltages still drive
    /// current through each other.
    pub fn share(&self, load: Amperes) -> Result<Shared, SharingError> {
        let (count, amperes) = (self.branches.len(), load.get());
        let mut rows = Vec::with_capacity(count);
        for (k, ((here, next), (positive, negative))) in
            self.branches.iter().zip(self.branches.iter().skip(1)).zip(&self.links).enumerate()
        {
            // All that modules 1 to k give passes this link, less what the taps before it took.
            let (rp, rn) = (positive.get(), negative.get());
            let mut row: Vec<f64> = (0..count).map(|j| if j <= k { rp + rn } else { 0.0 }).collect();
            row[k] += here.ohms();
            row[k + 1] -= next.ohms();
            let taken = rp * self.before(self.taps.0, k) + rn * self.before(self.taps.1, k);
            row.push(here.emf.get() - next.emf.get() + amperes * taken);
            rows.push(row);
        }
        let mut all = vec![1.0; count];
        all.push(amperes);
        rows.push(all);
        let currents = solve(rows).ok_or(SharingError::NoResistance)?;

        let first = self.branches.first().zip(currents.first());
        let first = first.map_or(0.0, |(branch, current)| branch.emf.get() - branch.ohms() * current);
        let (drops, tap) = self.drops(&currents);
        let ratio = |pick: fn(f64, f64) -> f64| -> Result<Option<Ratio>, OutOfRange> {
            let mean = amperes / count as f64;
            let picked = currents.iter().map(|current| current / mean).reduce(pick);
            picked.filter(|ratio| ratio.is_finite()).map(Ratio::new).transpose()
        };
        Ok(Shared {
            posts: drops.iter().map(|drop| Volts::new(first + drop)).collect::<Result<_, _>>()?,
            tap: Volts::new(first + tap)?,
            largest_over_mean: ratio(f64::max)?,
            smallest_over_mean: ratio(f64::min)?,
            currents: currents.iter().map(|current| Amperes::new(*current)).collect::<Result<_, _>>()?,
        })
    }

    /// 1 if the tap lies at or before the module with this index from 0.
    fn before(&self, tap: u32, index: usize) -> f64 {
        if tap as usize <= index + 1 { 1.0 } else { 0.0 }
    }

    /// Voltage between the posts of each module less that of module 1, and that between the main leads less that of
    /// module 1, for given module currents.
    pub(super) fn drops(&self, currents: &[f64]) -> (Vec<f64>, f64) {
        let load: f64 = currents.iter().sum();
        let (mut positive, mut negative, mut given) = (0.0, 0.0, 0.0);
        let mut rails = vec![(0.0, 0.0)];
        for (k, ((rp, rn), current)) in self.links.iter().zip(currents).enumerate() {
            given += current;
            positive -= rp.get() * (given - load * self.before(self.taps.0, k));
            negative -= rn.get() * (load * self.before(self.taps.1, k) - given);
            rails.push((positive, negative));
        }
        let at = |tap: u32| rails.get(tap as usize - 1).copied().unwrap_or_default();
        let tap = at(self.taps.0).0 - at(self.taps.1).1;
        (rails.iter().map(|(positive, negative)| positive - negative).collect(), tap)
    }
}

/// Below this share of its row, a pivot is rounding and not a number.
const SMALLEST_PIVOT: f64 = 1e-13;

/// Gaussian elimination with scaled rows and partial pivoting. Each row holds its right-hand side last.
fn solve(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let count = rows.len();
    for row in &mut rows {
        let most = row.iter().take(count).fold(0.0_f64, |most, value| most.max(value.abs()));
        if most <= 0.0 {
            return None;
        }
        row.iter_mut().for_each(|value| *value /= most);
    }
    for column in 0..count {
        let pivot = (column..count).max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs()))?;
        rows.swap(column, pivot);
        if rows[column][column].abs() < SMALLEST_PIVOT {
            return None;
        }
        let (above, below) = rows.split_at_mut(column + 1);
        let lead = &above[column];
        for row in below {
            let factor = row[column] / lead[column];
            if factor != 0.0 {
                for (value, lead) in row.iter_mut().zip(lead).skip(column) {
                    *value -= factor * lead;
                }
            }
        }
    }
    let mut answer = vec![0.0; count];
    for index in (0..count).rev() {
        let known: f64 = (index + 1..count).map(|other| rows[index][other] * answer[other]).sum();
        answer[index] = (rows[index][count] - known) / rows[index][index];
    }
    answer.iter().all(|value: &f64| value.is_finite()).then_some(answer)
}
