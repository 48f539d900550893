//! Where everything of a line sits, laid out once for all its faults.

use crate::core::bus::line::{Line, SAME_PLACE, Spot};
use crate::core::faults::bus::{metres_of_stop, middle_of, runs};
use crate::core::units::Quantity;

/// A piece of trunk or a whole drop.
pub(super) struct Piece {
    pub(super) from: usize,
    pub(super) to: usize,
    /// `None` for a drop.
    pub(super) run: Option<usize>,
    /// Which ends of its run it has.
    pub(super) first: bool,
    pub(super) last: bool,
    /// One data conductor, and the reference, Ω.
    pub(super) ohm: f64,
    pub(super) reference: f64,
}

/// Where everything sits. Places are numbered along the trunk, the end of a drop right after the place it leaves.
pub(super) struct Layout {
    pub(super) places: usize,
    pub(super) pieces: Vec<Piece>,
    pub(super) devices: Vec<usize>,
    /// Place and Ω.
    pub(super) terminators: Vec<(usize, f64)>,
    pub(super) usual: f64,
    pub(super) stops: Vec<usize>,
    /// The middle of each run, if it is laid out.
    pub(super) middles: Vec<Option<usize>>,
    /// One data conductor of each run, Ω.
    pub(super) run_ohm: Vec<f64>,
    pub(super) drops: Vec<usize>,
    pub(super) end: usize,
    /// Place and metres along the trunk.
    pub(super) trunk: Vec<(usize, f64)>,
    /// The reference has no resistance.
    pub(super) solid: bool,
    pub(super) with_middles: bool,
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
            with_middles,
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
