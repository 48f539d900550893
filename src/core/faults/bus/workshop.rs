//! Faults that only add a resistor, without a network of their own.

use crate::core::bus::line::Wire;
use crate::core::faults::bus::layout::Layout;
use crate::core::faults::bus::networks::{Bench, Change, Forecast, LEAST, across, slot};
use crate::core::faults::bus::{BusFault, Pair, State};

/// A resistor that a fault adds and nothing else.
struct Added {
    place: usize,
    pair: Pair,
    ohm: f64,
    /// What it belongs to.
    slot: usize,
}

impl Change {
    /// The resistors that a fault adds, if that is all it does.
    fn added(&self, layout: &Layout) -> [Option<Added>; 2] {
        if let Some(touch) = self.touch {
            let pair = match touch.between {
                (Wire::High, Wire::Low) => Pair::HighLow,
                (Wire::High, _) => Pair::HighReference,
                _ => Pair::LowReference,
            };
            return [Some(Added { place: touch.place, pair, ohm: touch.ohm, slot: slot::TOUCH }), None];
        }
        let extra = |index: usize| {
            let fitted = self.fitted.get(layout.terminators.len() + index)?;
            let slot = slot::TERMINATORS + fitted.slot;
            Some(Added { place: fitted.place, pair: Pair::HighLow, ohm: fitted.ohm, slot })
        };
        [extra(0), extra(1)]
    }
}

/// The bus without a fault in one state and one case of devices, from which every fault that only adds a resistor follows
/// without another solution: a resistor r between two joints k carries i = V/(r + R) of the 1 A of a meter, V being what
/// the meter's current makes between them and R their own resistance, and each volt falls by i times what 1 A at k makes.
struct Base {
    middles: bool,
    state: State,
    device: f64,
    bench: Bench,
    /// Volts for 1 A at each place and pair; `None` where no path joins the pair.
    columns: Vec<Option<Option<Vec<f64>>>>,
}

/// Benches for one line: that of whatever was solved last, and those that are kept.
#[derive(Default)]
pub(super) struct Workshop {
    last: Bench,
    /// What `last` holds belongs to this state of the fault at hand.
    solved: Option<State>,
    bases: Vec<Base>,
    volts: Vec<f64>,
    second: Vec<f64>,
}

impl Workshop {
    /// Turns to another fault or case of devices.
    pub(super) fn turn(&mut self) {
        self.solved = None;
    }

    /// What the meter shows at a place under a change and a state.
    pub(super) fn read(
        &mut self,
        (layout, change): (&Layout, &Change),
        (state, device): (State, f64),
        (place, pair): (usize, Pair),
        forecast: &mut Forecast,
    ) {
        let added = change.added(layout);
        if added[0].is_some() && self.read_added((layout, change), added, (state, device), (place, pair), forecast) {
            return;
        }
        if self.solved != Some(state) {
            self.last.solve(layout, change, state, device);
            self.solved = Some(state);
        }
        self.last.read(layout, change, place, pair, forecast);
    }

    /// `false` where an added resistor makes a path that was not there.
    fn read_added(
        &mut self,
        (layout, change): (&Layout, &Change),
        added: [Option<Added>; 2],
        (state, device): (State, f64),
        meter: (usize, Pair),
        forecast: &mut Forecast,
    ) -> bool {
        let middles = layout.with_middles;
        let known = |base: &Base| base.middles == middles && base.state == state && base.device == device;
        let index = self.bases.iter().position(known).unwrap_or_else(|| {
            let mut bench = Bench::default();
            bench.solve(layout, &Change::new(layout, BusFault::Nothing, 0.0), state, device);
            let columns = vec![None; 3 * layout.places];
            self.bases.push(Base { middles, state, device, bench, columns });
            self.bases.len() - 1
        });
        let Base { bench, columns, .. } = &mut self.bases[index];
        let at = |(place, pair): (usize, Pair)| 3 * place + pair as usize;
        let joints = added.iter().flatten().map(|added| (added.place, added.pair));
        for (place, pair) in joints.chain([meter]) {
            columns[at((place, pair))].get_or_insert_with(|| {
                let mut column = Vec::new();
                bench.volts(bench.rows(place, pair), &mut column).then_some(column)
            });
        }
        let column = |key: (usize, Pair)| columns[at(key)].as_ref().and_then(Option::as_ref);
        let Some(unchanged) = column(meter) else { return false };
        self.volts.clone_from(unchanged);
        // The resistor added before, which the next one's own volts must take into account.
        let mut before: Option<(&Vec<f64>, (usize, usize), f64)> = None;
        forecast.empty(change);
        for added in added.iter().flatten() {
            let rows = bench.rows(added.place, added.pair);
            let Some(own) = column((added.place, added.pair)) else { return false };
            self.second.clone_from(own);
            if let Some((first, first_rows, whole)) = before {
                let share = across(&self.second, first_rows) / whole;
                self.second.iter_mut().zip(first).for_each(|(volt, first)| *volt -= share * first);
            }
            let whole = added.ohm.max(LEAST) + across(&self.second, rows);
            let current = across(&self.volts, rows) / whole;
            self.volts.iter_mut().zip(&self.second).for_each(|(volt, second)| *volt -= current * second);
            before = Some((own, rows, whole));
        }
        for added in added.iter().flatten() {
            let across = across(&self.volts, bench.rows(added.place, added.pair));
            forecast.shifts[added.slot] += across * across / added.ohm.max(LEAST);
        }
        forecast.ohm = Some(across(&self.volts, bench.rows(meter.0, meter.1)).max(0.0));
        bench.share_out(layout, change, &self.volts, forecast);
        forecast.scale(change);
        true
    }
}

#[cfg(test)]
mod tests;
