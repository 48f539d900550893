//! Resistances between any two joints of a network of resistors, by nodal analysis.
//!
//! A bus is nearly a ladder, so the node matrix is narrow when joints are numbered along it. It is factored in envelope
//! (skyline) storage, which costs time in proportion to the length of the bus; the joint with the most neighbours (the
//! reference rail) is taken as the ground, which removes the only wide row. Joints are eliminated without a single
//! subtraction, so that a millimetre of cable and a device of megohms can stand side by side without loss of digits.
//! Tests compare it with a dense solver and with ladders that have a closed form.

use crate::core::units::{Ohms, Quantity};

/// Below this a resistor is a wire: its conductance must stay a number that can be reckoned with.
const IDEAL: f64 = 1.0e-12;

/// A network of resistors between numbered joints.
#[derive(Clone, Debug, Default)]
pub struct Network {
    joints: usize,
    /// Resistors as (joint, joint, siemens).
    parts: Vec<(usize, usize, f64)>,
    /// Joints that are one and the same: ideal wires and shorts of 0 Ω.
    wires: Vec<(usize, usize)>,
}

impl Network {
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a joint and returns its number. Number joints along the bus: neighbours near each other keep the sum fast.
    pub fn joint(&mut self) -> usize {
        self.joints += 1;
        self.joints - 1
    }

    /// Adds a resistor; 0 Ω joins the two ideally, and so does anything below [`IDEAL`].
    pub fn resistor(&mut self, a: usize, b: usize, ohms: Ohms) {
        let ohm = ohms.get();
        if ohm > IDEAL {
            self.parts.push((a, b, 1.0 / ohm));
        } else {
            self.wires.push((a, b));
        }
    }

    /// Solves the network once; any number of readings can then be asked of it.
    pub fn solve(&self) -> Solved {
        let mut same = Sets::new(self.joints);
        for &(a, b) in &self.wires {
            same.join(a, b);
        }
        let mut connected = same.clone();
        for &(a, b, _) in &self.parts {
            connected.join(a, b);
        }

        // One ground for each separate piece of the network.
        let mut neighbours = vec![0usize; self.joints];
        for &(a, b, _) in &self.parts {
            neighbours[same.root(a)] += 1;
            neighbours[same.root(b)] += 1;
        }
        let mut ground = vec![usize::MAX; self.joints];
        for joint in 0..self.joints {
            let piece = connected.root(joint);
            let joint = same.root(joint);
            let known = ground[piece];
            if known == usize::MAX || neighbours[joint] > neighbours[known] {
                ground[piece] = joint;
            }
        }

        let mut row = vec![None; self.joints];
        let mut rows = 0;
        for joint in 0..self.joints {
            let root = same.root(joint);
            if root == joint && ground[connected.root(joint)] != joint {
                row[joint] = Some(rows);
                rows += 1;
            }
        }
        for joint in 0..self.joints {
            row[joint] = row[same.root(joint)];
        }

        let mut matrix = Envelope::new(rows, self.parts.iter().filter_map(|&(a, b, _)| Some((row[a]?, row[b]?))));
        for &(a, b, siemens) in &self.parts {
            match (row[a], row[b]) {
                (Some(a), Some(b)) if a == b => {}
                (Some(a), Some(b)) => matrix.join(a, b, siemens),
                (Some(joint), None) | (None, Some(joint)) => matrix.ground(joint, siemens),
                (None, None) => {}
            }
        }
        matrix.factor();

        let piece = (0..self.joints).map(|joint| connected.root(joint)).collect();
        Solved { matrix, row, piece }
    }
}

/// A solved network.
#[derive(Clone, Debug)]
pub struct Solved {
    matrix: Envelope,
    /// The row of each joint; `None` is a ground.
    row: Vec<Option<usize>>,
    /// The separate piece of the network that each joint lies in.
    piece: Vec<usize>,
}

impl Solved {
    /// The resistance between two joints; `None` where no path joins them, or one beyond any meter.
    pub fn between(&self, a: usize, b: usize) -> Option<Ohms> {
        if self.piece[a] != self.piece[b] {
            return None;
        }
        let mut column = vec![0.0; self.matrix.rows()];
        if let Some(row) = self.row[a] {
            column[row] += 1.0;
        }
        if let Some(row) = self.row[b] {
            column[row] -= 1.0;
        }
        self.matrix.solve(&mut column);
        let volt = |joint: usize| self.row[joint].map_or(0.0, |row| column[row]);
        // Rounding may leave a hair below zero for a short.
        Ohms::new((volt(a) - volt(b)).max(0.0)).ok()
    }
}

/// Disjoint sets of joints.
#[derive(Clone, Debug)]
struct Sets(Vec<usize>);

impl Sets {
    fn new(count: usize) -> Self {
        Sets((0..count).collect())
    }

    fn root(&self, mut joint: usize) -> usize {
        while self.0[joint] != joint {
            joint = self.0[joint];
        }
        joint
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        // The lower number stays the root, so that numbering along the bus is kept.
        self.0[a.max(b)] = a.min(b);
    }
}

/// Conductances between rows, stored row by row from the first entry up to the diagonal, and from each row to the ground.
/// Once factored, the entries are shares: how much of an eliminated row's current goes on to this one.
///
/// A piece of the network without a path to the ground keeps its last row as a ground of its own: nothing is left to
/// join that row to when its turn comes, and its pivot is exactly 0.
#[derive(Clone, Debug, Default)]
pub(crate) struct Envelope {
    first: Vec<usize>,
    start: Vec<usize>,
    values: Vec<f64>,
    ground: Vec<f64>,
    /// All conductance at a row when it is eliminated.
    pivot: Vec<f64>,
    /// The last row that may be joined to each.
    last: Vec<usize>,
}

impl Envelope {
    fn new(rows: usize, entries: impl Iterator<Item = (usize, usize)>) -> Self {
        let mut envelope = Envelope::default();
        envelope.reset(rows, entries);
        envelope
    }

    /// Empties it for another network of so many rows, joined at the given pairs; its memory is used again.
    pub(crate) fn reset(&mut self, rows: usize, entries: impl Iterator<Item = (usize, usize)>) {
        self.first.clear();
        self.first.extend(0..rows);
        for (a, b) in entries {
            let (low, high) = (a.min(b), a.max(b));
            self.first[high] = self.first[high].min(low);
        }
        self.start.clear();
        let mut length = 0;
        for (row, first) in self.first.iter().enumerate() {
            self.start.push(length);
            length += row - first;
        }
        self.start.push(length);
        self.last.clear();
        self.last.extend(0..rows);
        for (high, first) in self.first.iter().enumerate() {
            self.last[*first..high].fill(high);
        }
        for (values, length) in [(&mut self.values, length), (&mut self.ground, rows), (&mut self.pivot, rows)] {
            values.clear();
            values.resize(length, 0.0);
        }
    }

    pub(crate) fn rows(&self) -> usize {
        self.first.len()
    }

    /// Where the entry of two rows is kept; the lower number must not lie before the higher row's first entry.
    fn at(&self, high: usize, low: usize) -> usize {
        self.start[high] + low - self.first[high]
    }

    /// A conductance between two different rows.
    pub(crate) fn join(&mut self, a: usize, b: usize, siemens: f64) {
        let at = self.at(a.max(b), a.min(b));
        self.values[at] += siemens;
    }

    /// A conductance from a row to the ground.
    pub(crate) fn ground(&mut self, row: usize, siemens: f64) {
        self.ground[row] += siemens;
    }

    /// Eliminates row after row: its neighbours are joined to each other and to the ground in its stead (star to mesh).
    /// Sums of positive numbers only; what is added stays inside the envelope.
    pub(crate) fn factor(&mut self) {
        for row in 0..self.rows() {
            let ground = self.ground[row];
            let mut pivot = ground;
            for other in row + 1..=self.last[row] {
                if self.first[other] <= row {
                    pivot += self.values[self.at(other, row)];
                }
            }
            for high in row + 1..=self.last[row] {
                if self.first[high] > row {
                    continue;
                }
                let at = self.at(high, row);
                // Rows that are not joined, though they might be, cost nothing.
                if self.values[at] == 0.0 {
                    continue;
                }
                let share = self.values[at] / pivot;
                self.values[at] = share;
                self.ground[high] += share * ground;
                // Entries below are shares by now, those above still conductances.
                for low in row + 1..high {
                    if self.first[low] <= row {
                        let other = self.values[self.at(low, row)] * pivot;
                        self.join(high, low, share * other);
                    }
                }
            }
            self.pivot[row] = pivot;
        }
    }

    /// Turns the currents into each row into its voltage. `false` where a current finds no way back: a piece without a
    /// path to the ground must be given as much as is taken from it.
    pub(crate) fn solve(&self, column: &mut [f64]) -> bool {
        let mut whole = true;
        for row in 0..self.rows() {
            let before: f64 =
                self.shares(row).iter().zip(&column[self.first[row]..row]).map(|(share, value)| share * value).sum();
            column[row] += before;
        }
        for (value, pivot) in column.iter_mut().zip(&self.pivot) {
            if *pivot > 0.0 {
                *value /= pivot;
            } else {
                // Currents are units here: what is left of a balanced one is rounding.
                whole &= value.abs() < 0.5;
                *value = 0.0;
            }
        }
        for row in (0..self.rows()).rev() {
            let value = column[row];
            for (entry, share) in column[self.first[row]..row].iter_mut().zip(self.shares(row)) {
                *entry += share * value;
            }
        }
        whole
    }

    fn shares(&self, row: usize) -> &[f64] {
        &self.values[self.start[row]..self.start[row + 1]]
    }
}
