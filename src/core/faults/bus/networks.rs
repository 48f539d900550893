//! Changed networks, solved quickly: the places are laid out once for a line, and each fault is solved in the same memory.

use crate::core::bus::line::{Line, SAME_PLACE, Spot, Wire};
use crate::core::bus::network::Envelope;
use crate::core::faults::bus::prior::{ONE_PERCENT, SUPPLY, TOUCH, WRONG_VALUES};
use crate::core::faults::bus::{Along, BRIDGE, BusFault, Pair, Place, Side, State, metres_of_stop, middle_of, runs};
use crate::core::units::Quantity;

/// Nothing conducts better, Ω: a conductance must stay a number. Far below anything a meter sees, and elimination without
/// subtraction loses no digits by it.
const LEAST: f64 = 1e-9;

/// A piece of trunk or a whole drop.
struct Piece {
    from: usize,
    to: usize,
    /// `None` for a drop.
    run: Option<usize>,
    /// Which ends of its run it has.
    first: bool,
    last: bool,
    /// One data conductor, and the reference, Ω.
    ohm: f64,
    reference: f64,
}

/// Where everything sits. Places are numbered along the trunk, the end of a drop right after the place it leaves.
pub(super) struct Layout {
    places: usize,
    pieces: Vec<Piece>,
    devices: Vec<usize>,
    /// Place and Ω.
    terminators: Vec<(usize, f64)>,
    usual: f64,
    stops: Vec<usize>,
    /// The middle of each run, if it is laid out.
    middles: Vec<Option<usize>>,
    /// One data conductor of each run, Ω.
    run_ohm: Vec<f64>,
    drops: Vec<usize>,
    end: usize,
    /// Place and metres along the trunk.
    trunk: Vec<(usize, f64)>,
    /// The reference has no resistance.
    solid: bool,
}

impl Layout {
    /// Lays the line out with a place under each spot, and in the middle of each run if asked.
    pub(super) fn new(line: &Line, spots: &[Spot], with_middles: bool) -> Layout {
        let length = line.length().get();
        let along = |spot: Spot| match spot {
            Spot::Trunk(at) => Some(at.get().clamp(0.0, length)),
            Spot::Drop(_) => None,
        };
        let mut points: Vec<f64> = (0..=line.runs.len()).map(|stop| metres_of_stop(line, stop)).collect();
        points.extend(line.terminators.iter().filter_map(|t| along(t.at)));
        points.extend(line.devices.iter().filter_map(|d| along(d.at)));
        points.extend(line.drops.iter().filter_map(|drop| along(Spot::Trunk(drop.at))));
        points.extend(spots.iter().filter_map(|spot| along(*spot)));
        if with_middles {
            points.extend(runs(line).map(|run| middle_of(line, run).get()));
        }
        points.sort_by(f64::total_cmp);
        points.dedup_by(|next, before| *next - *before < SAME_PLACE);

        let mut pieces = Vec::new();
        let mut trunk: Vec<(usize, f64)> = Vec::with_capacity(points.len());
        let mut drops = vec![0; line.drops.len()];
        let mut places = 0;
        let reference = line.reference_per_metre.map_or(0.0, Quantity::get);
        for &at in &points {
            let here = places;
            places += 1;
            if let Some(&(before, start)) = trunk.last() {
                let run = run_at(line, (start + at) / 2.0);
                let (from, to) = (metres_of_stop(line, run), metres_of_stop(line, run + 1));
                pieces.push(Piece {
                    from: before,
                    to: here,
                    run: Some(run),
                    first: start - from < SAME_PLACE,
                    last: to - at < SAME_PLACE,
                    ohm: line.ohm_to(at) - line.ohm_to(start),
                    reference: reference * (at - start),
                });
            }
            for (drop, end) in line.drops.iter().zip(&mut drops) {
                if along(Spot::Trunk(drop.at)).is_some_and(|from| (from - at).abs() < SAME_PLACE) {
                    *end = places;
                    places += 1;
                    let ohm = drop.length.get() * drop.per_metre.get();
                    let reference = reference * drop.length.get();
                    pieces.push(Piece { from: here, to: *end, run: None, first: false, last: false, ohm, reference });
                }
            }
            trunk.push((here, at));
        }
        let mut layout = Layout {
            places,
            pieces,
            devices: Vec::new(),
            terminators: Vec::new(),
            usual: line.terminators.first().map_or(120.0, |t| t.ohms.get()),
            stops: Vec::new(),
            middles: Vec::new(),
            run_ohm: Vec::new(),
            drops,
            end: trunk.last().map_or(0, |(place, _)| *place),
            trunk,
            solid: line.reference_per_metre.is_none(),
        };
        layout.devices = line.devices.iter().map(|d| layout.place(d.at)).collect();
        layout.terminators = line.terminators.iter().map(|t| (layout.place(t.at), t.ohms.get())).collect();
        layout.stops = (0..=line.runs.len()).map(|stop| layout.nearest(metres_of_stop(line, stop))).collect();
        let ohm_at = |stop: usize| line.ohm_to(metres_of_stop(line, stop));
        layout.run_ohm = (0..line.runs.len()).map(|run| ohm_at(run + 1) - ohm_at(run)).collect();
        layout.middles = vec![None; line.runs.len()];
        if with_middles {
            for run in runs(line) {
                layout.middles[run] = Some(layout.nearest(middle_of(line, run).get()));
            }
        }
        layout
    }

    fn nearest(&self, at: f64) -> usize {
        let gap = |entry: &&(usize, f64)| (entry.1 - at).abs();
        self.trunk.iter().min_by(|a, b| gap(a).total_cmp(&gap(b))).map_or(0, |(place, _)| *place)
    }

    /// The place under a spot; that of the start for a drop that is not there.
    pub(super) fn place(&self, spot: Spot) -> usize {
        match spot {
            Spot::Trunk(at) => self.nearest(at.get()),
            Spot::Drop(drop) => self.drops.get(drop).copied().unwrap_or(0),
        }
    }
}

/// The run that a point inside it lies in.
fn run_at(line: &Line, at: f64) -> usize {
    let mut end = 0.0;
    for (index, run) in line.runs.iter().enumerate() {
        end += run.length.get();
        if at < end {
            return index;
        }
    }
    line.runs.len().saturating_sub(1)
}

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
struct Fitted {
    slot: usize,
    place: usize,
    ohm: f64,
}

/// A touch of two conductors.
#[derive(Clone, Copy)]
struct Touch {
    between: (Wire, Wire),
    place: usize,
    ohm: f64,
    /// It lies in the middle of this run, more or less.
    run: Option<usize>,
}

/// A fault as a change of the layout.
pub(super) struct Change {
    fitted: Vec<Fitted>,
    open: Option<(usize, [bool; 3])>,
    touch: Option<Touch>,
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
    pub const TERMINATORS: usize = 4;
}

/// All cable together (common practice, no source).
const CABLE_SPREAD: f64 = 0.05;
/// Where along its run a touch is: anywhere, 1/√12.
const PLACE_SPREAD: f64 = 0.288_675_134_594_812_9;

impl Change {
    pub(super) fn new(layout: &Layout, fault: BusFault, device_spread: f64) -> Change {
        let count = layout.terminators.len();
        let mut spreads = vec![CABLE_SPREAD, device_spread, 0.0, PLACE_SPREAD];
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

/// What a resistor belongs to.
#[derive(Clone, Copy)]
enum Owner {
    Cable,
    /// A piece of cable next to the touch, with dR for the touch's place in its run, for each watt: + before it, - after.
    Beside(f64),
    Device,
    Touch,
    Terminator(usize),
    /// Reckoned as exact: the reference, a bridge.
    Exact,
}

/// A resistor between two rows; `None` is the ground.
struct Part {
    a: Option<usize>,
    b: Option<usize>,
    siemens: f64,
    owner: Owner,
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
        let row = |place: usize, wire: usize| (wire < joints).then_some(place * joints + wire);
        let mut add = |a: Option<usize>, b: Option<usize>, ohm: f64, owner: Owner| {
            self.parts.push(Part { a, b, siemens: 1.0 / ohm.max(LEAST), owner });
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
            let beside = change.touch.filter(|touch| touch.run.is_some() && touch.run == piece.run);
            let beside = beside.and_then(|touch| Some((touch, *layout.run_ohm.get(touch.run?)?)));
            let owner = match beside {
                Some((touch, whole)) if piece.to == touch.place => Owner::Beside(whole / piece.ohm.max(LEAST)),
                Some((touch, whole)) if piece.from == touch.place => Owner::Beside(-whole / piece.ohm.max(LEAST)),
                _ => Owner::Cable,
            };
            for (wire, open) in open.into_iter().enumerate().take(joints) {
                if !open {
                    let (ohm, owner) = if wire < 2 { (piece.ohm, owner) } else { (piece.reference, Owner::Exact) };
                    add(row(piece.from, wire), row(piece.to, wire), ohm, owner);
                }
            }
        }
        for &place in &layout.devices {
            add(row(place, 0), row(place, 2), device, Owner::Device);
            add(row(place, 1), row(place, 2), device, Owner::Device);
        }
        for fitted in &change.fitted {
            if (State::TerminatorPulled { terminator: fitted.slot }) != state || fitted.slot >= layout.terminators.len()
            {
                add(row(fitted.place, 0), row(fitted.place, 1), fitted.ohm, Owner::Terminator(fitted.slot));
            }
        }
        if let Some(touch) = change.touch {
            let joint = |wire: Wire| row(touch.place, index_of(wire));
            add(joint(touch.between.0), joint(touch.between.1), touch.ohm, Owner::Touch);
        }
        if let State::EndBridged { side } = state {
            let place = if side == Side::Start { 0 } else { layout.end };
            add(row(place, 0), row(place, 1), BRIDGE.get(), Owner::Exact);
        }

        let entries = self.parts.iter().filter_map(|part| Some((part.a?, part.b?)));
        self.envelope.reset(layout.places * joints, entries);
        for part in &self.parts {
            match (part.a, part.b) {
                (Some(a), Some(b)) => self.envelope.join(a, b, part.siemens),
                (Some(row), None) | (None, Some(row)) => self.envelope.ground(row, part.siemens),
                (None, None) => {}
            }
        }
        self.envelope.factor();
    }

    /// What the meter shows at a place of the network solved last.
    pub(super) fn read(&mut self, change: &Change, place: usize, pair: Pair, forecast: &mut Forecast) {
        let joints = self.joints;
        let row = |wire: usize| (wire < joints).then_some(place * joints + wire);
        let (plus, minus) = match pair {
            Pair::HighLow => (row(0), row(1)),
            Pair::HighReference => (row(0), row(2)),
            Pair::LowReference => (row(1), row(2)),
        };
        self.column.clear();
        self.column.resize(self.envelope.rows(), 0.0);
        for (row, current) in [(plus, 1.0), (minus, -1.0)] {
            if let Some(row) = row {
                self.column[row] += current;
            }
        }
        let whole = self.envelope.solve(&mut self.column);
        let column = &self.column;
        let volt = |row: Option<usize>| row.map_or(0.0, |row| column[row]);
        forecast.shifts.clear();
        forecast.shifts.resize(change.spreads.len(), 0.0);
        forecast.devices = 0.0;
        forecast.ohm = whole.then(|| (volt(plus) - volt(minus)).max(0.0));
        if !whole {
            return;
        }
        for part in &self.parts {
            let across = volt(part.a) - volt(part.b);
            let watts = across * across * part.siemens;
            let slot = match part.owner {
                Owner::Cable => slot::CABLE,
                Owner::Beside(each_watt) => {
                    forecast.shifts[slot::PLACE] += watts * each_watt;
                    slot::CABLE
                }
                Owner::Device => slot::DEVICES,
                Owner::Touch => slot::TOUCH,
                Owner::Terminator(index) => slot::TERMINATORS + index,
                Owner::Exact => continue,
            };
            forecast.shifts[slot] += watts;
        }
        forecast.devices = forecast.shifts[slot::DEVICES];
        for (shift, spread) in forecast.shifts.iter_mut().zip(&change.spreads) {
            *shift *= spread;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::bus::line::{Device, Drop, Run, Terminator};
    use crate::core::faults::bus::{Reading, all, changed};
    use crate::core::units::{Metres, Ohms, OhmsPerMetre};

    const DEVICE: f64 = 20_000.0;

    fn line(reference: Option<f64>) -> Line {
        let at = |place: f64| Spot::Trunk(Metres::new(place).unwrap());
        let run = |length: f64, contacts: f64| Run {
            length: Metres::new(length).unwrap(),
            per_metre: OhmsPerMetre::of(0.07),
            contacts: Ohms::new(contacts).unwrap(),
        };
        let each = Ohms::new(DEVICE).ok();
        let device = |at| Device { at, between_wires: None, high_to_reference: each, low_to_reference: each };
        let drop = |place: f64, length: f64| Drop {
            at: Metres::new(place).unwrap(),
            length: Metres::new(length).unwrap(),
            per_metre: OhmsPerMetre::of(0.09),
        };
        Line {
            runs: vec![run(10.0, 0.01), run(0.0, 0.0), run(25.0, 0.02), run(3.0, 0.0)],
            reference_per_metre: reference.map(|ohm| OhmsPerMetre::new(ohm).unwrap()),
            drops: vec![drop(10.0, 2.0), drop(17.0, 4.0)],
            terminators: vec![
                Terminator { at: at(0.0), ohms: Ohms::of(120.0) },
                Terminator { at: at(38.0), ohms: Ohms::of(124.0) },
            ],
            devices: vec![device(at(0.0)), device(at(35.0)), device(Spot::Drop(1)), device(at(38.0))],
            ..Line::default()
        }
    }

    fn states(line: &Line) -> Vec<State> {
        let mut list = vec![State::AllPlugged];
        for side in [Side::Start, Side::End] {
            list.extend(runs(line).map(|run| State::PlugPulled { run, side }));
            list.push(State::EndBridged { side });
        }
        list.extend((0..line.terminators.len()).map(|terminator| State::TerminatorPulled { terminator }));
        list
    }

    /// The quick way gives what the line itself reads, for every fault in every state at every place.
    #[test]
    fn quick_networks_are_the_changed_lines() {
        let mut bench = Bench::default();
        let mut compared = 0;
        for line in [line(None), line(Some(0.07))] {
            let at = |place: f64| Spot::Trunk(Metres::new(place).unwrap());
            let spots = [at(0.0), at(10.0), at(35.0), at(38.0), Spot::Drop(0), Spot::Drop(1)];
            let (plain, middles) = (Layout::new(&line, &spots, false), Layout::new(&line, &spots, true));
            for fault in all(&line) {
                let layout = if needs_middle(fault) { &middles } else { &plain };
                let change = Change::new(layout, fault, 1.0);
                for state in states(&line) {
                    bench.solve(layout, &change, state, DEVICE);
                    let expected = changed(&line, fault, state).readings(&spots);
                    for (spot, expected) in spots.iter().zip(expected) {
                        for (pair, expected) in [
                            (Pair::HighLow, expected.pair),
                            (Pair::HighReference, expected.high_to_reference),
                            (Pair::LowReference, expected.low_to_reference),
                        ] {
                            let mut forecast = Forecast::default();
                            bench.read(&change, layout.place(*spot), pair, &mut forecast);
                            let what = format!("{fault:?} {state:?} {spot:?} {pair:?}");
                            let (Some(got), Some(expected)) = (forecast.ohm, expected.map(Quantity::get)) else {
                                assert_eq!(forecast.ohm, expected.map(Quantity::get), "{what}");
                                continue;
                            };
                            // A reference without resistance has 1 nΩ a piece here.
                            assert!((got - expected).abs() <= 1e-9 * expected + 1e-7, "{what}: {got}, {expected}");
                            compared += 1;
                        }
                    }
                }
            }
        }
        assert!(compared > 10_000, "{compared}");
    }

    /// Cohn's theorem against a small step of the part itself.
    #[test]
    fn sensitivities_are_derivatives() {
        let line = line(None);
        let end = Spot::Trunk(Metres::of(38.0));
        let touch = BusFault::WiresTouch { run: 2 };
        let step = 1e-4;
        let longer = |fault: BusFault, by: f64, what: usize| {
            let mut line = changed(&line, fault, State::AllPlugged);
            let scale = |ohm: f64| Ohms::new(ohm * (1.0 + by)).unwrap();
            match what {
                slot::CABLE => {
                    let more = |ohm: OhmsPerMetre| OhmsPerMetre::new(ohm.get() * (1.0 + by)).unwrap();
                    for run in &mut line.runs {
                        (run.per_metre, run.contacts) = (more(run.per_metre), scale(run.contacts.get()));
                    }
                    line.drops.iter_mut().for_each(|drop| drop.per_metre = more(drop.per_metre));
                }
                slot::DEVICES => {
                    for device in &mut line.devices {
                        device.high_to_reference = device.high_to_reference.map(|ohm| scale(ohm.get()));
                        device.low_to_reference = device.high_to_reference;
                    }
                }
                slot::TOUCH => line.shorts.iter_mut().for_each(|short| short.ohms = scale(short.ohms.get())),
                slot::PLACE => {
                    line.shorts[0].at = Metres::new(line.shorts[0].at.get() + by * line.runs[2].length.get()).unwrap();
                }
                other => line.terminators[other - slot::TERMINATORS].ohms = scale(120.0 + 4.0 * (other - 4) as f64),
            }
            line.pair_at(end).unwrap().get()
        };
        for (fault, slots) in [(BusFault::Nothing, vec![0, 1, 4, 5]), (touch, vec![0, 1, 2, 3, 4, 5])] {
            let layout = Layout::new(&line, &[end], true);
            let change = Change::new(&layout, fault, 0.7);
            let mut bench = Bench::default();
            bench.solve(&layout, &change, State::AllPlugged, DEVICE);
            let reading = Reading::pair(end, None, Ohms::of(0.1), crate::core::bus::termination::Meter::USUAL);
            let mut forecast = Forecast::default();
            bench.read(&change, layout.place(reading.at), reading.pair, &mut forecast);
            for slot in slots {
                let slope = (longer(fault, step, slot) - longer(fault, -step, slot)) / (2.0 * step);
                let got = forecast.shifts[slot] / change.spreads[slot];
                assert!((got - slope).abs() <= 1e-5 * slope.abs() + 1e-7, "{fault:?} {slot}: {got}, {slope}");
            }
        }
    }
}
