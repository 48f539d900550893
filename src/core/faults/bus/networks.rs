//! Changed networks, solved quickly: each fault is solved in the same memory.

use crate::core::bus::line::Wire;
use crate::core::bus::network::Envelope;
use crate::core::faults::bus::layout::Layout;
use crate::core::faults::bus::prior::{ONE_PERCENT, SUPPLY, TOUCH, WRONG_VALUES};
use crate::core::faults::bus::{Along, BRIDGE, BusFault, Pair, Place, Side, State};
use crate::core::units::Quantity;

/// Nothing conducts better, Ω: a conductance must stay a number. Far below anything a meter sees, and elimination without
/// subtraction loses no digits by it.
pub(super) const LEAST: f64 = 1e-9;

/// Does the fault lie inside a run, so that the layout needs its middle?
pub(super) fn needs_middle(fault: BusFault) -> bool {
    matches!(
        fault,
        BusFault::WiresTouch { .. }
            | BusFault::WireToReference { at: Along::Run(_), .. }
            | BusFault::WireToSupply { at: Along::Run(_), .. }
    )
}

/// A terminator as fitted under a fault.
#[derive(Clone, Copy)]
pub(super) struct Fitted {
    pub(super) slot: usize,
    pub(super) place: usize,
    pub(super) ohm: f64,
}

/// A touch of two conductors.
#[derive(Clone, Copy)]
pub(super) struct Touch {
    pub(super) between: (Wire, Wire),
    pub(super) place: usize,
    pub(super) ohm: f64,
    /// It lies in the middle of this run, more or less.
    pub(super) run: Option<usize>,
}

/// A fault as a change of the layout.
pub(super) struct Change {
    pub(super) fitted: Vec<Fitted>,
    pub(super) open: Option<(usize, [bool; 3])>,
    pub(super) touch: Option<Touch>,
    /// Standard deviations of the logarithms of what all readings share, by [`slot`].
    pub(super) spreads: Vec<f64>,
}

fn index_of(wire: Wire) -> usize {
    match wire {
        Wire::High => 0,
        Wire::Low => 1,
        Wire::Reference => 2,
    }
}

/// Where each uncertain part stands in a list of sensitivities; the terminators follow, then two extra ones.
pub(super) mod slot {
    pub const CABLE: usize = 0;
    pub const DEVICES: usize = 1;
    pub const TOUCH: usize = 2;
    pub const PLACE: usize = 3;
    /// Reckoned as exact: the reference, a bridge.
    pub const EXACT: usize = 4;
    pub const TERMINATORS: usize = 5;
}

/// All cable together (common practice, no source).
const CABLE_SPREAD: f64 = 0.05;
/// Where along its run a touch is: anywhere, 1/√12.
const PLACE_SPREAD: f64 = 0.288_675_134_594_812_9;

impl Change {
    pub(super) fn new(layout: &Layout, fault: BusFault, device_spread: f64) -> Change {
        let count = layout.terminators.len();
        let mut spreads = vec![CABLE_SPREAD, device_spread, 0.0, PLACE_SPREAD, 0.0];
        spreads.resize(slot::TERMINATORS + count + 2, ONE_PERCENT);
        let fitted = layout.terminators.iter().enumerate();
        let fitted = fitted.map(|(slot, &(place, ohm))| Fitted { slot, place, ohm }).collect();
        let mut change = Change { fitted, open: None, touch: None, spreads };
        let mut extra = |index: usize, stop: usize| {
            let place = layout.stops[stop];
            change.fitted.push(Fitted { slot: count + index, place, ohm: layout.usual });
        };
        let along = |at: Along| match at {
            Along::Stop(stop) => (layout.stops[stop], None),
            Along::Run(run) => (layout.middles[run].unwrap_or(layout.stops[run]), Some(run)),
        };
        let (touch, rough) = match fault {
            BusFault::Nothing | BusFault::Swapped { .. } | BusFault::MeterOnPoweredBus => return change,
            BusFault::TerminatorMissing { terminator } => {
                change.fitted.retain(|t| t.slot != terminator);
                return change;
            }
            BusFault::AllTerminatorsMissing => {
                change.fitted.clear();
                return change;
            }
            BusFault::TerminatorExtra { stop } => {
                extra(0, stop);
                return change;
            }
            BusFault::TwoTerminatorsExtra { stops } => {
                extra(0, stops.0);
                extra(1, stops.1);
                return change;
            }
            BusFault::TerminatorValue { terminator, class } => {
                let wrong = WRONG_VALUES[class];
                change.fitted[terminator].ohm = wrong.ohms.get();
                change.spreads[slot::TERMINATORS + terminator] = wrong.spread;
                return change;
            }
            BusFault::TerminatorMisplaced { terminator, to } => {
                change.fitted[terminator].place = match to {
                    Place::Stop(stop) => layout.stops[stop],
                    Place::Drop(drop) => layout.drops[drop],
                };
                return change;
            }
            BusFault::WireOpen { wire, run } => {
                change.open = Some((run, [0, 1, 2].map(|index| index == index_of(wire))));
                return change;
            }
            BusFault::BothOpen { run } => {
                change.open = Some((run, [true, true, false]));
                return change;
            }
            BusFault::WiresTouch { run } => (((Wire::High, Wire::Low), along(Along::Run(run))), TOUCH),
            BusFault::WireToReference { wire, at } => (((wire, Wire::Reference), along(at)), TOUCH),
            BusFault::WireToSupply { wire, at } => (((wire, Wire::Reference), along(at)), SUPPLY),
        };
        let (between, (place, run)) = touch;
        change.touch = Some(Touch { between, place, ohm: rough.ohms.get(), run });
        change.spreads[slot::TOUCH] = rough.spread;
        change
    }
}

/// A resistor between two rows, and the slot of what it belongs to.
struct Part {
    a: usize,
    b: usize,
    siemens: f64,
    slot: usize,
}

/// What a meter shows, and how far it depends on each uncertain part.
#[derive(Clone, Debug, Default)]
pub(super) struct Forecast {
    /// `None` where no path exists.
    pub(super) ohm: Option<f64>,
    /// dR for one standard deviation of each part, by [`slot`], Ω.
    pub(super) shifts: Vec<f64>,
    /// dR for the logarithm of all devices, Ω: their part of the reading.
    pub(super) devices: f64,
}

/// Memory for one network after another.
#[derive(Default)]
pub(super) struct Bench {
    envelope: Envelope,
    parts: Vec<Part>,
    column: Vec<f64>,
    /// Joints a place: two if the reference is the ground.
    joints: usize,
    /// The row that stands for the ground: one beyond the others.
    ground: usize,
}

impl Bench {
    /// Solves the layout with a change and a state, every device having this from each wire to the reference, Ω.
    pub(super) fn solve(&mut self, layout: &Layout, change: &Change, state: State, device: f64) {
        let pulled = match state {
            State::PlugPulled { run, side } => Some((run, side)),
            _ => None,
        };
        let cut = pulled.is_some() || change.open.is_some_and(|(_, wires)| wires[2]);
        self.joints = if layout.solid && !cut { 2 } else { 3 };
        self.parts.clear();
        let joints = self.joints;
        self.ground = layout.places * joints;
        let ground = self.ground;
        let row = |place: usize, wire: usize| if wire < joints { place * joints + wire } else { ground };
        let mut add = |a: usize, b: usize, ohm: f64, slot: usize| {
            self.parts.push(Part { a, b, siemens: 1.0 / ohm.max(LEAST), slot });
        };
        for piece in &layout.pieces {
            let mut open = [false; 3];
            if let (Some(run), Some((broken, wires))) = (piece.run, change.open)
                && run == broken
            {
                open = wires;
            }
            if let Some((run, side)) = pulled
                && piece.run == Some(run)
                && (if side == Side::Start { piece.first } else { piece.last })
            {
                open = [true; 3];
            }
            for (wire, open) in open.into_iter().enumerate().take(joints) {
                if !open {
                    let (ohm, slot) = if wire < 2 { (piece.ohm, slot::CABLE) } else { (piece.reference, slot::EXACT) };
                    add(row(piece.from, wire), row(piece.to, wire), ohm, slot);
                }
            }
        }
        for &place in &layout.devices {
            add(row(place, 0), row(place, 2), device, slot::DEVICES);
            add(row(place, 1), row(place, 2), device, slot::DEVICES);
        }
        for fitted in &change.fitted {
            if (State::TerminatorPulled { terminator: fitted.slot }) != state || fitted.slot >= layout.terminators.len()
            {
                add(row(fitted.place, 0), row(fitted.place, 1), fitted.ohm, slot::TERMINATORS + fitted.slot);
            }
        }
        if let Some(touch) = change.touch {
            let joint = |wire: Wire| row(touch.place, index_of(wire));
            add(joint(touch.between.0), joint(touch.between.1), touch.ohm, slot::TOUCH);
        }
        if let State::EndBridged { side } = state {
            let place = if side == Side::Start { 0 } else { layout.end };
            add(row(place, 0), row(place, 1), BRIDGE.get(), slot::EXACT);
        }

        let inside = |part: &&Part| part.a != ground && part.b != ground;
        self.envelope.reset(ground, self.parts.iter().filter(inside).map(|part| (part.a, part.b)));
        for part in &self.parts {
            if inside(&part) {
                self.envelope.join(part.a, part.b, part.siemens);
            } else if part.a != part.b {
                self.envelope.ground(part.a.min(part.b), part.siemens);
            }
        }
        self.envelope.factor();
    }

    /// The row of a conductor at a place.
    fn row(&self, place: usize, wire: usize) -> usize {
        if wire < self.joints { place * self.joints + wire } else { self.ground }
    }

    pub(super) fn rows(&self, place: usize, pair: Pair) -> (usize, usize) {
        let row = |wire: usize| self.row(place, wire);
        match pair {
            Pair::HighLow => (row(0), row(1)),
            Pair::HighReference => (row(0), row(2)),
            Pair::LowReference => (row(1), row(2)),
        }
    }

    /// The volts at every row for 1 A between two rows of the network solved last. `false` where no path joins them.
    pub(super) fn volts(&self, (plus, minus): (usize, usize), column: &mut Vec<f64>) -> bool {
        column.clear();
        column.resize(self.ground + 1, 0.0);
        column[plus] += 1.0;
        column[minus] -= 1.0;
        column[self.ground] = 0.0;
        self.envelope.solve(&mut column[..self.ground])
    }

    /// What the meter shows at a place of the network solved last.
    pub(super) fn read(&mut self, layout: &Layout, change: &Change, place: usize, pair: Pair, forecast: &mut Forecast) {
        let rows = self.rows(place, pair);
        let mut column = std::mem::take(&mut self.column);
        let whole = self.volts(rows, &mut column);
        forecast.empty(change);
        if whole {
            forecast.ohm = Some(across(&column, rows).max(0.0));
            self.share_out(layout, change, &column, forecast);
            forecast.scale(change);
        }
        self.column = column;
    }

    /// Adds the watts of each part to what it belongs to.
    pub(super) fn share_out(&self, layout: &Layout, change: &Change, column: &[f64], forecast: &mut Forecast) {
        for part in &self.parts {
            let across = across(column, (part.a, part.b));
            forecast.shifts[part.slot] += across * across * part.siemens;
        }
        // The pieces of cable on either side of a touch tell how its place in the run counts.
        if let Some(Touch { place, run: Some(run), .. }) = change.touch {
            let beside = |row: usize| row == self.row(place, 0) || row == self.row(place, 1);
            for part in self.parts.iter().filter(|part| part.slot == slot::CABLE) {
                let sign = if beside(part.b) { 1.0 } else { -1.0 };
                if beside(part.a) || beside(part.b) {
                    let current = across(column, (part.a, part.b)) * part.siemens;
                    forecast.shifts[slot::PLACE] += sign * current * current * layout.run_ohm[run];
                }
            }
        }
    }
}

pub(super) fn across(column: &[f64], (a, b): (usize, usize)) -> f64 {
    column[a] - column[b]
}

impl Forecast {
    pub(super) fn empty(&mut self, change: &Change) {
        self.ohm = None;
        self.devices = 0.0;
        self.shifts.clear();
        self.shifts.resize(change.spreads.len(), 0.0);
    }

    pub(super) fn scale(&mut self, change: &Change) {
        self.devices = self.shifts[slot::DEVICES];
        for (shift, spread) in self.shifts.iter_mut().zip(&change.spreads) {
            *shift *= spread;
        }
    }
}
