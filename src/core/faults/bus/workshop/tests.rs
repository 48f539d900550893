//! The quick ways against the line itself.

use super::*;
use crate::core::bus::line::{Device, Drop, Line, Run, Spot, Terminator};
use crate::core::bus::termination::Meter;
use crate::core::faults::bus::networks::{needs_middle, slot};
use crate::core::faults::bus::{Reading, Side, all, changed, runs};
use crate::core::units::{Metres, Ohms, OhmsPerMetre, Quantity};

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
    let mut compared = 0;
    for line in [line(None), line(Some(0.07))] {
        let at = |place: f64| Spot::Trunk(Metres::new(place).unwrap());
        let spots = [at(0.0), at(10.0), at(35.0), at(38.0), Spot::Drop(0), Spot::Drop(1)];
        let (plain, middles) = (Layout::new(&line, &spots, false), Layout::new(&line, &spots, true));
        let mut workshop = Workshop::default();
        for fault in all(&line) {
            let layout = if needs_middle(fault) { &middles } else { &plain };
            let change = Change::new(layout, fault, 1.0);
            workshop.turn();
            for state in states(&line) {
                let expected = changed(&line, fault, state).readings(&spots);
                for (spot, expected) in spots.iter().zip(expected) {
                    for (pair, expected) in [
                        (Pair::HighLow, expected.pair),
                        (Pair::HighReference, expected.high_to_reference),
                        (Pair::LowReference, expected.low_to_reference),
                    ] {
                        let mut forecast = Forecast::default();
                        let place = (layout.place(*spot), pair);
                        workshop.read((layout, &change), (state, DEVICE), place, &mut forecast);
                        let ohm = forecast.ohm;
                        let mut slow = Forecast::default();
                        let mut bench = Bench::default();
                        bench.solve(layout, &change, state, DEVICE);
                        bench.read(layout, &change, place.0, pair, &mut slow);
                        let what = format!("{fault:?} {state:?} {spot:?} {pair:?}");
                        let (Some(got), Some(expected)) = (ohm, expected.map(Quantity::get)) else {
                            assert_eq!(ohm, expected.map(Quantity::get), "{what}");
                            continue;
                        };
                        // A reference without resistance has 1 nΩ a piece here.
                        assert!((got - expected).abs() <= 1e-9 * expected + 1e-7, "{what}: {got}, {expected}");
                        for (quick, slow) in forecast.shifts.iter().zip(&slow.shifts) {
                            assert!((quick - slow).abs() <= 1e-6 * slow.abs() + 1e-7, "{what}: {quick}, {slow}");
                        }
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
            other => {
                line.terminators[other - slot::TERMINATORS].ohms =
                    scale(120.0 + 4.0 * (other - slot::TERMINATORS) as f64)
            }
        }
        line.pair_at(end).unwrap().get()
    };
    for (fault, slots) in [(BusFault::Nothing, vec![0, 1, 5, 6]), (touch, vec![0, 1, 2, 3, 5, 6])] {
        let layout = Layout::new(&line, &[end], true);
        let change = Change::new(&layout, fault, 0.7);
        let mut bench = Bench::default();
        bench.solve(&layout, &change, State::AllPlugged, DEVICE);
        let reading = Reading::pair(end, None, Ohms::of(0.1), Meter::USUAL);
        let mut forecast = Forecast::default();
        bench.read(&layout, &change, layout.place(reading.at), reading.pair, &mut forecast);
        for slot in slots {
            let slope = (longer(fault, step, slot) - longer(fault, -step, slot)) / (2.0 * step);
            let got = forecast.shifts[slot] / change.spreads[slot];
            assert!((got - slope).abs() <= 1e-5 * slope.abs() + 1e-7, "{fault:?} {slot}: {got}, {slope}");
        }
    }
}
