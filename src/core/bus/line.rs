//! A bus as it is wired: a trunk of two data wires and the reference, with everything that hangs on it, and what a meter
//! reads anywhere along it. Healthy or broken, it is the same sum.

use crate::core::bus::network::{Network, Solved};
use crate::core::units::{Metres, Ohms, OhmsPerMetre, Quantity};

/// Places nearer to each other than this, in metres, are one and the same: a rounding of sums of lengths.
pub(crate) const SAME_PLACE: f64 = 1e-6;

/// One conductor of the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wire {
    High,
    Low,
    Reference,
}

/// A length of trunk between two plugs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    pub length: Metres,
    /// One conductor.
    pub per_metre: OhmsPerMetre,
    /// Contacts of the run, one conductor, both plugs together.
    pub contacts: Ohms,
}

impl Run {
    /// Resistance of one conductor from end to end, contacts included.
    fn ohm(&self) -> f64 {
        self.length.get() * self.per_metre.get() + self.contacts.get()
    }
}

/// Where something sits: along the trunk from its start, or at the end of a drop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spot {
    Trunk(Metres),
    /// The end of the drop with this index, from 0.
    Drop(usize),
}

/// A branch off the trunk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drop {
    pub at: Metres,
    pub length: Metres,
    pub per_metre: OhmsPerMetre,
}

/// A terminator (a split one reads the same: direct current does not pass its capacitor).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terminator {
    pub at: Spot,
    pub ohms: Ohms,
}

/// A device's input resistances while it is off; `None` is a path that does not exist.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Device {
    pub at: Spot,
    pub between_wires: Option<Ohms>,
    pub high_to_reference: Option<Ohms>,
    pub low_to_reference: Option<Ohms>,
}

/// A conductor that is open somewhere between two points of the trunk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Break {
    pub wire: Wire,
    pub from: Metres,
    pub to: Metres,
}

/// An unwanted connection between two conductors at a point of the trunk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Short {
    pub between: (Wire, Wire),
    pub at: Metres,
    pub ohms: Ohms,
}

/// A bus, whole or faulty. Positions beyond the trunk are taken as its end.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line {
    pub runs: Vec<Run>,
    /// Resistance of the reference conductor; `None` is a reference without resistance, in one piece unless it is broken.
    pub reference_per_metre: Option<OhmsPerMetre>,
    pub drops: Vec<Drop>,
    pub terminators: Vec<Terminator>,
    pub devices: Vec<Device>,
    pub breaks: Vec<Break>,
    pub shorts: Vec<Short>,
}

/// What a meter reads at one point; `None` is an open path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Readings {
    pub pair: Option<Ohms>,
    pub high_to_reference: Option<Ohms>,
    pub low_to_reference: Option<Ohms>,
}

impl Line {
    /// Length of the whole trunk.
    pub fn length(&self) -> Metres {
        let sum = self.runs.iter().map(|run| run.length.get()).sum();
        Metres::new(sum).unwrap_or(Metres::of(5000.0))
    }

    /// Resistance of one conductor from the start of the trunk to its end, contacts included.
    pub fn conductor(&self) -> Ohms {
        positive(self.runs.iter().map(Run::ohm).sum())
    }

    /// Resistance of one conductor from the start of the trunk to the point, Ω. Contacts are spread along their run.
    pub(crate) fn ohm_to(&self, at: f64) -> f64 {
        let mut start = 0.0;
        let mut ohm = 0.0;
        for run in &self.runs {
            let length = run.length.get();
            if at >= start + length {
                ohm += run.ohm();
            } else if at > start {
                ohm += run.ohm() * (at - start) / length;
            }
            start += length;
        }
        ohm
    }

    /// The same bus with a run of its own between any two neighbouring places of the trunk where something sits.
    pub fn in_runs(&self) -> Line {
        let length = self.length().get();
        let placed = self.terminators.iter().map(|t| t.at).chain(self.devices.iter().map(|d| d.at));
        let mut points: Vec<f64> = placed
            .filter_map(|spot| match spot {
                Spot::Trunk(at) => Some(at),
                Spot::Drop(_) => None,
            })
            .chain(self.drops.iter().map(|drop| drop.at))
            .map(|at| at.get().clamp(0.0, length))
            .chain([length])
            .collect();
        points.sort_by(f64::total_cmp);
        points.dedup_by(|next, before| *next - *before < SAME_PLACE);
        let mut line = Line { runs: Vec::new(), ..self.clone() };
        let mut start = 0.0;
        for run in &self.runs {
            let whole = run.length.get();
            let end = start + whole;
            let inside = points.iter().copied().filter(|at| *at > start + SAME_PLACE && *at < end - SAME_PLACE);
            let mut from = start;
            for to in inside.chain([end]) {
                let share = if whole > 0.0 { (to - from) / whole } else { 1.0 };
                line.runs.push(Run {
                    length: Metres::new(whole * share).unwrap_or(run.length),
                    per_metre: run.per_metre,
                    contacts: positive(run.contacts.get() * share),
                });
                from = to;
            }
            start = end;
        }
        line
    }

    /// The bus as a network, ready to be read at the given spots.
    pub fn probe(&self, meters: &[Spot]) -> Probe {
        let length = self.length().get();
        let clamp = |at: Metres| at.get().clamp(0.0, length);

        let mut points: Vec<f64> = vec![0.0, length];
        let spots = self
            .terminators
            .iter()
            .map(|t| t.at)
            .chain(self.devices.iter().map(|d| d.at))
            .chain(meters.iter().copied());
        points.extend(spots.filter_map(|spot| match spot {
            Spot::Trunk(at) => Some(clamp(at)),
            Spot::Drop(_) => None,
        }));
        points.extend(self.drops.iter().map(|drop| clamp(drop.at)));
        points.extend(self.breaks.iter().flat_map(|gap| [clamp(gap.from), clamp(gap.to)]));
        points.extend(self.shorts.iter().map(|short| clamp(short.at)));
        points.sort_by(f64::total_cmp);
        points.dedup();

        let mut net = Network::new();
        // A reference without resistance is one joint, unless a break leaves it in pieces.
        let broken = self.breaks.iter().any(|gap| gap.wire == Wire::Reference);
        let reference_per_metre = self.reference_per_metre.or(broken.then_some(OhmsPerMetre::of(0.0)));
        let solid_reference = reference_per_metre.is_none().then(|| net.joint());
        let triple = |net: &mut Network| [net.joint(), net.joint(), solid_reference.unwrap_or_else(|| net.joint())];

        // Joints are numbered along the trunk, each drop's end right after its branch point.
        let mut drop_ends = vec![[0; 3]; self.drops.len()];
        let mut trunk: Vec<[usize; 3]> = Vec::with_capacity(points.len());
        for &at in &points {
            let here = triple(&mut net);
            for (drop, end) in self.drops.iter().zip(&mut drop_ends) {
                if clamp(drop.at) == at {
                    *end = triple(&mut net);
                    let ohm = drop.length.get() * drop.per_metre.get();
                    for wire in 0..2 {
                        net.resistor(here[wire], end[wire], positive(ohm));
                    }
                    if let Some(per_metre) = reference_per_metre {
                        net.resistor(here[2], end[2], positive(drop.length.get() * per_metre.get()));
                    }
                }
            }
            trunk.push(here);
        }
        for (pair, ends) in points.windows(2).zip(trunk.windows(2)) {
            let ohm = self.ohm_to(pair[1]) - self.ohm_to(pair[0]);
            let middle = (pair[0] + pair[1]) / 2.0;
            for (index, wire) in [Wire::High, Wire::Low, Wire::Reference].into_iter().enumerate() {
                let open = self
                    .breaks
                    .iter()
                    .any(|gap| gap.wire == wire && clamp(gap.from) <= middle && middle <= clamp(gap.to));
                if open {
                    continue;
                }
                match (wire, reference_per_metre) {
                    (Wire::Reference, None) => {}
                    (Wire::Reference, Some(per_metre)) => {
                        net.resistor(ends[0][2], ends[1][2], positive((pair[1] - pair[0]) * per_metre.get()));
                    }
                    _ => net.resistor(ends[0][index], ends[1][index], positive(ohm)),
                }
            }
        }

        let joints_at = |spot: Spot| match spot {
            Spot::Trunk(at) => {
                let at = clamp(at);
                let index = points.iter().position(|point| *point == at).unwrap_or(0);
                trunk[index]
            }
            Spot::Drop(index) => drop_ends.get(index).copied().unwrap_or(trunk[0]),
        };
        for terminator in &self.terminators {
            let [high, low, _] = joints_at(terminator.at);
            net.resistor(high, low, terminator.ohms);
        }
        for device in &self.devices {
            let [high, low, reference] = joints_at(device.at);
            for (a, b, ohms) in [
                (high, low, device.between_wires),
                (high, reference, device.high_to_reference),
                (low, reference, device.low_to_reference),
            ] {
                if let Some(ohms) = ohms {
                    net.resistor(a, b, ohms);
                }
            }
        }
        for short in &self.shorts {
            let here = joints_at(Spot::Trunk(short.at));
            let joint = |wire: Wire| match wire {
                Wire::High => here[0],
                Wire::Low => here[1],
                Wire::Reference => here[2],
            };
            net.resistor(joint(short.between.0), joint(short.between.1), short.ohms);
        }

        Probe { solved: net.solve(), meters: meters.iter().map(|spot| joints_at(*spot)).collect() }
    }

    /// What a meter reads at each of the given spots.
    pub fn readings(&self, meters: &[Spot]) -> Vec<Readings> {
        let probe = self.probe(meters);
        (0..meters.len()).map(|meter| probe.read(meter)).collect()
    }

    /// The reading between the two data wires at one spot.
    pub fn pair_at(&self, spot: Spot) -> Option<Ohms> {
        self.readings(&[spot])[0].pair
    }
}

/// A bus that is solved, with the joints under each meter.
pub struct Probe {
    solved: Solved,
    meters: Vec<[usize; 3]>,
}

impl Probe {
    pub fn read(&self, meter: usize) -> Readings {
        let [high, low, reference] = self.meters[meter];
        Readings {
            pair: self.solved.between(high, low),
            high_to_reference: self.solved.between(high, reference),
            low_to_reference: self.solved.between(low, reference),
        }
    }
}

/// A computed resistance as a quantity: rounding below zero is zero, anything beyond the range is its end.
fn positive(ohm: f64) -> Ohms {
    Ohms::new(ohm.max(0.0)).unwrap_or(Ohms::of(1.0e8))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(length: f64, per_metre: f64) -> Run {
        Run {
            length: Metres::new(length).unwrap(),
            per_metre: OhmsPerMetre::new(per_metre).unwrap(),
            contacts: Ohms::of(0.0),
        }
    }

    #[test]
    fn two_terminators_at_the_ends() {
        let line = Line {
            runs: vec![run(4.0, 0.07), run(6.0, 0.07)],
            terminators: vec![
                Terminator { at: Spot::Trunk(Metres::of(0.0)), ohms: Ohms::of(120.0) },
                Terminator { at: Spot::Trunk(Metres::of(10.0)), ohms: Ohms::of(120.0) },
            ],
            ..Line::default()
        };
        let expected = 1.0 / (1.0 / 120.0 + 1.0 / 121.4);
        let got = line.pair_at(Spot::Trunk(Metres::of(0.0))).unwrap().get();
        assert!((got - expected).abs() < 1e-9, "{got}");
    }
}
