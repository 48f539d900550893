//! Resistances between any two joints of a network of resistors, by nodal analysis.
//!
//! A bus is nearly a ladder, so the node matrix is narrow when joints are numbered along it. It is factored in envelope
//! (skyline) storage, which costs time in proportion to the length of the bus; the joint with the most neighbours (the
//! reference rail) is taken as the ground, which removes the only wide row. Tests compare it with a dense solver.

use crate::core::units::{Ohms, Quantity};

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

    /// Adds a resistor; 0 Ω joins the two ideally.
    pub fn resistor(&mut self, a: usize, b: usize, ohms: Ohms) {
        let ohm = ohms.get();
        if ohm > 0.0 {
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
            if same.root(a) == same.root(b) {
                continue;
            }
            if let Some(a) = row[a] {
                matrix.add(a, a, siemens);
            }
            if let Some(b) = row[b] {
                matrix.add(b, b, siemens);
            }
            if let (Some(a), Some(b)) = (row[a], row[b]) {
                matrix.add(a, b, -siemens);
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

/// A symmetric positive definite matrix, stored row by row from its first entry to the diagonal.
#[derive(Clone, Debug)]
struct Envelope {
    first: Vec<usize>,
    start: Vec<usize>,
    values: Vec<f64>,
}

impl Envelope {
    fn new(rows: usize, entries: impl Iterator<Item = (usize, usize)>) -> Self {
        let mut first: Vec<usize> = (0..rows).collect();
        for (a, b) in entries {
            let (low, high) = (a.min(b), a.max(b));
            first[high] = first[high].min(low);
        }
        let mut start = Vec::with_capacity(rows + 1);
        let mut length = 0;
        for (row, first) in first.iter().enumerate() {
            start.push(length);
            length += row - first + 1;
        }
        start.push(length);
        Envelope { first, start, values: vec![0.0; length] }
    }

    fn rows(&self) -> usize {
        self.first.len()
    }

    fn add(&mut self, a: usize, b: usize, value: f64) {
        let (low, high) = (a.min(b), a.max(b));
        let at = self.start[high] + low - self.first[high];
        self.values[at] += value;
    }

    /// Cholesky factors in place; fill stays inside the envelope.
    fn factor(&mut self) {
        for i in 0..self.rows() {
            let first_i = self.first[i];
            for j in first_i..i {
                let from = first_i.max(self.first[j]);
                let mut value = self.values[self.start[i] + j - first_i];
                for k in from..j {
                    value -= self.values[self.start[i] + k - first_i] * self.values[self.start[j] + k - self.first[j]];
                }
                let pivot = self.values[self.start[j + 1] - 1];
                self.values[self.start[i] + j - first_i] = value / pivot;
            }
            let (from, to) = (self.start[i], self.start[i + 1] - 1);
            let squares: f64 = self.values[from..to].iter().map(|v| v * v).sum();
            self.values[to] = (self.values[to] - squares).max(f64::MIN_POSITIVE).sqrt();
        }
    }

    fn solve(&self, column: &mut [f64]) {
        for i in 0..self.rows() {
            let first = self.first[i];
            let mut value = column[i];
            for k in first..i {
                value -= self.values[self.start[i] + k - first] * column[k];
            }
            column[i] = value / self.values[self.start[i + 1] - 1];
        }
        for i in (0..self.rows()).rev() {
            let first = self.first[i];
            column[i] /= self.values[self.start[i + 1] - 1];
            for k in first..i {
                column[k] -= self.values[self.start[i] + k - first] * column[i];
            }
        }
    }
}
