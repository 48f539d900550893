//! Faults of the bus: the worked bus of bus reference 1.5, and what must hold on any bus.

use super::{at, metres, ohms, terminated, terminator, trunk, worked};
use proptest::prelude::*;
use sixty_ohms::core::bus::line::{Device, Drop, Line, Run, Spot, Terminator, Wire};
use sixty_ohms::core::bus::termination::Meter;
use sixty_ohms::core::faults::bus::next::next;
use sixty_ohms::core::faults::bus::prior::WRONG_VALUES;
use sixty_ohms::core::faults::bus::{
    Along, BusFault, Class, OtherCheck, Pair, Place, Ranked, Reading, Side, State, all, changed, classes, explain,
    stop_at,
};
use sixty_ohms::core::units::{Ohms, OhmsPerMetre, Quantity};

const DIGIT: Ohms = Ohms::of(0.1);

fn reading(place: f64, pair: Pair, ohm: f64) -> Reading {
    let digit = if ohm >= 1000.0 { ohms(10.0) } else { DIGIT };
    Reading { at: at(place), pair, state: State::AllPlugged, ohms: Some(ohms(ohm)), digit, meter: Meter::USUAL }
}

fn with(state: State, reading: Reading) -> Reading {
    Reading { state, ..reading }
}

/// Columns of the table: between the wires at 0 m and at 40 m, then each wire to the reference at 0 m.
fn row(ohm: [f64; 4]) -> Vec<Reading> {
    let places = [(0.0, Pair::HighLow), (40.0, Pair::HighLow), (0.0, Pair::HighReference), (0.0, Pair::LowReference)];
    places.iter().zip(ohm).map(|((place, pair), ohm)| reading(*place, *pair, ohm)).collect()
}

fn share(ranked: &[Ranked], wanted: impl Fn(BusFault) -> bool) -> f64 {
    ranked.iter().filter(|r| wanted(r.fault)).map(|r| r.probability).sum()
}

fn of(ranked: &[Ranked], class: Class) -> f64 {
    share(ranked, |fault| fault.class() == class)
}

/// Bus reference 1.5, as printed there (computed, nodal): each row names its own kind of fault. Cut at its nodes, the bus
/// has stops at 0, 20 and 40 m and two runs.
#[test]
fn each_row_of_the_worked_bus_names_its_fault() {
    let line = worked().in_runs();
    assert_eq!(line.runs.len(), 2);
    for (what, printed, class) in [
        ("healthy", [61.0, 61.0, 2500.0, 2500.0], Class::Nothing),
        ("terminator at 40 m missing", [118.6, 124.1, 2500.0, 2500.0], Class::TerminatorMissing),
        ("both missing", [10_000.0, 10_000.0, 5000.0, 5000.0], Class::AllTerminatorsMissing),
        ("third terminator at 20 m", [41.4, 41.4, 2500.0, 2500.0], Class::TerminatorExtra),
        ("fourth as well", [31.2, 31.9, 2500.0, 2500.0], Class::TwoTerminatorsExtra),
        ("H broken between 10 and 20 m", [119.2, 118.7, 2600.0, 2500.0], Class::WireOpen),
        ("H to ground at 20 m", [60.7, 60.7, 1.4, 60.7], Class::WireToReference),
        // "As the supply line to ground", here 35 Ω; the other wire 60 Ω more.
        ("H to supply", [60.7, 60.7, 35.0, 95.7], Class::WireToSupply),
    ] {
        let ranked = explain(&line, &row(printed));
        assert_eq!(classes(&ranked)[0].0, class, "{what}: {:?}", &classes(&ranked)[..3]);
        assert!(of(&ranked, class) > 0.5, "{what}: {}", of(&ranked, class));
    }
}

#[test]
fn the_place_follows_from_the_readings() {
    let line = worked().in_runs();
    let best = |printed| explain(&line, &row(printed))[0].fault;
    // The higher end is the one without.
    assert_eq!(best([118.6, 124.1, 2500.0, 2500.0]), BusFault::TerminatorMissing { terminator: 1 });
    assert_eq!(best([124.1, 118.6, 2500.0, 2500.0]), BusFault::TerminatorMissing { terminator: 0 });
    assert_eq!(best([41.4, 41.4, 2500.0, 2500.0]), BusFault::TerminatorExtra { stop: 1 });
    let touch = |wire| BusFault::WireToReference { wire, at: Along::Stop(1) };
    assert_eq!(best([60.7, 60.7, 1.4, 60.7]), touch(Wire::High));
    assert_eq!(best([60.7, 60.7, 60.7, 1.4]), touch(Wire::Low));
    // Bus reference 1.5: a touch at d reads 120 ∥ 2ρd and 120 ∥ 2ρ(L − d); 10 and 30 m.
    for (place, run) in [(10.0, 0), (30.0, 1), (4.0, 0), (37.0, 1)] {
        let loops = [0.14 * place, 0.14 * (40.0 - place)].map(|ohm| super::parallel(120.0, ohm));
        let seen = [reading(0.0, Pair::HighLow, loops[0]), reading(40.0, Pair::HighLow, loops[1])];
        assert_eq!(explain(&line, &seen)[0].fault, BusFault::WiresTouch { run }, "{place} m");
    }
}

/// Bus reference 1.5, last column: what ~120 Ω at both ends leaves open, bridging one end decides: a whole cable then reads
/// 2ρL at the other.
#[test]
fn bridging_an_end_tells_an_open_wire_from_a_missing_terminator() {
    // On 4 m the ends read alike, so that a missing terminator and an open wire are twins.
    let line = terminated(4.0, 0.07);
    let ends = [reading(0.0, Pair::HighLow, 119.8), reading(4.0, Pair::HighLow, 119.8)];
    let twins = explain(&line, &ends);
    let (missing, open) = (of(&twins, Class::TerminatorMissing), of(&twins, Class::WireOpen));
    assert!(missing > 0.1 && open > 0.1, "missing {missing}, open {open}");
    let bridge = |ohm| with(State::EndBridged { side: Side::Start }, reading(4.0, Pair::HighLow, ohm));
    let whole = explain(&line, &[ends.to_vec(), vec![bridge(0.6)]].concat());
    assert!(of(&whole, Class::TerminatorMissing) > 0.9, "{:?}", &classes(&whole)[..2]);
    let broken = explain(&line, &[ends.to_vec(), vec![bridge(119.8)]].concat());
    assert!(of(&broken, Class::WireOpen) + of(&broken, Class::BothOpen) > 0.9, "{:?}", &classes(&broken)[..2]);
}

/// Bus reference 1.5: "pull one plug at a time: jumps to 60". Cut between the stops, the part with the extra one reads it.
#[test]
fn pulling_plugs_finds_the_extra_terminator() {
    let line = Line { runs: vec![run(3.0); 4], ..terminated(12.0, 0.07) };
    let pulled = |run, ohm| with(State::PlugPulled { run, side: Side::Start }, reading(0.0, Pair::HighLow, ohm));
    let all_in = reading(0.0, Pair::HighLow, 40.4);
    let before = explain(&line, &[all_in]);
    assert!(of(&before, Class::TerminatorExtra) > 0.5);
    // With everything after stop 2 gone one terminator is seen, with everything after stop 3 gone two: it is at stop 3.
    let after = explain(&line, &[all_in, pulled(2, 119.6), pulled(3, 60.5)]);
    let there = share(&after, |fault| fault == BusFault::TerminatorExtra { stop: 3 });
    assert!(there > 0.9, "{there}: {:?}", &after[..3]);
}

/// Bus reference 1.5: no resistance test finds a device with its wires the wrong way round.
#[test]
fn what_no_resistance_test_shows_keeps_its_share() {
    let line = worked().in_runs();
    let healthy = row([61.0, 61.0, 2500.0, 2500.0]);
    let ratio = |readings: &[Reading]| {
        let ranked = explain(&line, readings);
        of(&ranked, Class::Swapped) / share(&ranked, |fault| fault == BusFault::Nothing)
    };
    assert!((ratio(&healthy) / ratio(&[]) - 1.0).abs() < 1e-12);
    assert_eq!(Class::Swapped.other_check(), Some(OtherCheck::ContinuityPinToPin));
    assert_eq!(Class::TerminatorMisplaced.other_check(), Some(OtherCheck::Looking));
    // "A right reading does not prove the right place": on 4 m the misplaced terminator keeps its share too.
    let short = Line { runs: vec![run(2.0); 2], ..terminated(4.0, 0.07) };
    let seen = [reading(0.0, Pair::HighLow, 60.1), reading(4.0, Pair::HighLow, 60.1)];
    let misplaced = |readings: &[Reading]| {
        let ranked = explain(&short, readings);
        share(&ranked, |f| matches!(f, BusFault::TerminatorMisplaced { to: Place::Stop(1), .. }))
            / share(&ranked, |fault| fault == BusFault::Nothing)
    };
    assert!((misplaced(&seen) / misplaced(&[]) - 1.0).abs() < 0.2);
}

#[test]
fn devices_that_let_go_of_the_bus_are_no_fault() {
    // Bus reference 1.5, cautions: isolated ports and parts that let go when unpowered read from kΩ to beyond the range.
    let line = worked().in_runs();
    for ground in [Some(900.0), Some(8_000.0), Some(60_000.0), Some(900_000.0), None] {
        let mut seen = row([61.0, 61.0, 1.0, 1.0]);
        for wire in &mut seen[2..] {
            wire.ohms = ground.map(ohms);
            wire.digit = ohms(ground.unwrap_or(1.0) / 1000.0);
        }
        let ranked = explain(&line, &seen);
        assert_eq!(ranked[0].fault, BusFault::Nothing, "{ground:?}: {:?}", &ranked[..3]);
    }
}

#[test]
fn the_next_reading_is_the_one_that_tells() {
    // One end of a long bus reads one terminator: the other end tells which is missing.
    let line = worked().in_runs();
    let seen = reading(0.0, Pair::HighLow, 118.6);
    let asked = next(&line, &[seen]).unwrap();
    assert_eq!((asked.at, asked.pair, asked.state), (at(40.0), Pair::HighLow, State::AllPlugged), "{asked:?}");
    // Both ends of a short bus read 60 Ω: between the wires nothing more is to be learnt, to the reference there is.
    let short = terminated(4.0, 0.07);
    let seen = [reading(0.0, Pair::HighLow, 60.2), reading(4.0, Pair::HighLow, 60.2)];
    let asked = next(&short, &seen);
    assert!(asked.is_none_or(|next| next.pair != Pair::HighLow || next.state != State::AllPlugged), "{asked:?}");
    // An extra one somewhere: only pulling something tells where.
    let line = Line { runs: vec![run(1.0); 6], ..terminated(6.0, 0.07) };
    let extra = reading(0.0, Pair::HighLow, 40.2);
    let asked = next(&line, &[extra, reading(6.0, Pair::HighLow, 40.2)]).unwrap();
    assert!(matches!(asked.state, State::PlugPulled { .. } | State::TerminatorPulled { .. }), "{asked:?}");
    // What was asked for and answered is not asked for again.
    let again = Reading { at: asked.at, pair: asked.pair, state: asked.state, ..extra };
    let later = next(&line, &[extra, again]);
    assert!(later.is_none_or(|n| (n.at, n.pair, n.state) != (asked.at, asked.pair, asked.state)), "{later:?}");
}

#[test]
fn a_line_without_anything_is_answered() {
    for line in [Line::default(), trunk(0.0, 0.07), Line { terminators: vec![terminator(0.0, 0.0)], ..trunk(5.0, 0.0) }]
    {
        for seen in
            [vec![], vec![reading(0.0, Pair::HighLow, 60.0)], vec![Reading::pair(at(9.0), None, DIGIT, Meter::USUAL)]]
        {
            let ranked = explain(&line, &seen);
            let sum: f64 = ranked.iter().map(|r| r.probability).sum();
            assert!((sum - 1.0).abs() < 1e-9, "{sum}");
            next(&line, &seen);
        }
    }
}

fn run(length: f64) -> Run {
    Run { length: metres(length), per_metre: OhmsPerMetre::of(0.07), contacts: ohms(0.01) }
}

/// A site as the model takes it: runs with a device at each stop, a terminator at either end.
#[derive(Clone, Debug)]
struct Any {
    line: Line,
    /// What its parts really are: terminators, devices from each wire to the reference, cable.
    real: Line,
    /// The meter's error of each reading, from -1 to 1.
    errors: Vec<f64>,
    fault: prop::sample::Index,
    /// What is read where.
    places: Vec<(prop::sample::Index, usize)>,
}

fn any_site() -> impl Strategy<Value = Any> {
    let lengths = prop::collection::vec(prop_oneof![0.1..3.0f64, 3.0..60.0f64], 1..6);
    let parts = (0.02..0.13f64, prop::collection::vec(-1.0..=1.0f64, 3), 0.0..=1.0f64, prop::bool::ANY);
    let errors = prop::collection::vec(-1.0..=1.0f64, 6);
    let places = prop::collection::vec((any::<prop::sample::Index>(), 0..3usize), 1..=6);
    (lengths, parts, errors, any::<prop::sample::Index>(), places).prop_map(
        |(lengths, parts, errors, fault, places)| {
            let (per_metre, shares, device, with_drop) = parts;
            let build = |terminators: [f64; 2], each: f64, cable: f64| {
                let per_metre = OhmsPerMetre::new(per_metre * cable).unwrap();
                let runs: Vec<Run> = lengths
                    .iter()
                    .map(|l| Run { length: metres(*l), per_metre, contacts: ohms(0.02 * cable) })
                    .collect();
                let mut line = Line { runs, ..Line::default() };
                let each = Some(ohms(each));
                let device = |at| Device { at, between_wires: None, high_to_reference: each, low_to_reference: each };
                line.devices = (0..=lengths.len()).map(|stop| device(Spot::Trunk(stop_at(&line, stop)))).collect();
                if with_drop {
                    line.drops = vec![Drop { at: stop_at(&line, 1), length: metres(1.5), per_metre }];
                    line.devices.push(device(Spot::Drop(0)));
                }
                let end = Spot::Trunk(line.length());
                line.terminators = [at(0.0), end]
                    .into_iter()
                    .zip(terminators)
                    .map(|(at, ohm)| Terminator { at, ohms: ohms(ohm) })
                    .collect();
                line
            };
            let line = build([120.0, 120.0], 15_000.0, 1.0);
            let real = build(
                [120.0 * (1.0 + 0.01 * shares[0]), 120.0 * (1.0 + 0.01 * shares[1])],
                5_000.0 * 10f64.powf(device),
                1.0 + 0.08 * shares[2],
            );
            Any { line, real, errors, fault, places }
        },
    )
}

/// What the meter shows on the real bus with the fault in it.
fn simulate(site: &Any, fault: BusFault) -> Vec<Reading> {
    let stops = site.line.runs.len() + 1;
    let ends = [(0, 0), (stops - 1, 0)];
    let chosen = site.places.iter().map(|(place, pair)| (place.index(stops), *pair));
    let mut seen: Vec<Reading> = Vec::new();
    for ((stop, pair), error) in ends.into_iter().chain(chosen).zip(&site.errors) {
        let (spot, pair) =
            (Spot::Trunk(stop_at(&site.line, stop)), [Pair::HighLow, Pair::HighReference, Pair::LowReference][pair]);
        let shown = changed(&site.real, fault, State::AllPlugged).readings(&[spot])[0];
        let shown = match pair {
            Pair::HighLow => shown.pair,
            Pair::HighReference => shown.high_to_reference,
            Pair::LowReference => shown.low_to_reference,
        };
        let shown = shown.map(Quantity::get).filter(|ohm| *ohm < 4e7);
        // A meter of 6000 counts.
        let digit = 10f64.powf((shown.unwrap_or(1.0).max(60.0) / 6000.0).log10().ceil()).max(0.1);
        let off = |ohm: f64| (ohm + error * Meter::USUAL.error(ohm, digit)).max(0.0);
        let shown = shown.map(|ohm| ohms((off(ohm) / digit).round() * digit));
        seen.push(Reading {
            at: spot,
            pair,
            state: State::AllPlugged,
            ohms: shown,
            digit: ohms(digit),
            meter: Meter::USUAL,
        });
    }
    seen
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    /// Whatever is read, the explanations share out all of the probability.
    #[test]
    fn explanations_add_up_to_one(
        line in super::any_line(),
        seen in prop::collection::vec((0.0..=1.0f64, 0..3usize, 0..4usize, prop::option::of(0.0..1e6f64)), 0..5),
    ) {
        let line = line.in_runs();
        let length = line.length().get();
        let state = |which: usize| [
            State::AllPlugged,
            State::PlugPulled { run: 0, side: Side::End },
            State::TerminatorPulled { terminator: 0 },
            State::EndBridged { side: Side::End },
        ][which];
        let readings: Vec<Reading> = seen
            .iter()
            .map(|&(share, pair, which, ohm)| Reading {
                at: at(share * length),
                pair: [Pair::HighLow, Pair::HighReference, Pair::LowReference][pair],
                state: state(which),
                ohms: ohm.map(ohms),
                digit: DIGIT,
                meter: Meter::USUAL,
            })
            .collect();
        let ranked = explain(&line, &readings);
        let sum: f64 = ranked.iter().map(|fault| fault.probability).sum();
        prop_assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        prop_assert!(ranked.iter().all(|fault| (0.0..=1.0).contains(&fault.probability)));
        prop_assert!(ranked.windows(2).all(|pair| pair[0].probability >= pair[1].probability));
    }

    /// However many readings are taken, the fault that is there stays possible.
    #[test]
    fn the_true_fault_stays_possible(site in any_site()) {
        let faults = all(&site.line);
        let fault = faults[site.fault.index(faults.len())];
        prop_assume!(fault != BusFault::MeterOnPoweredBus);
        let seen = simulate(&site, fault);
        for count in [1, 2, seen.len()] {
            let ranked = explain(&site.line, &seen[..count]);
            let there = share(&ranked, |known| known == fault);
            prop_assert!(there > 1e-6, "{fault:?} has {there} after {count}; first {:?}", &ranked[..2]);
        }
    }

    /// Where the loop of the whole bus is more than the meter and the parts can hide, both ends name the end that lacks its
    /// terminator.
    #[test]
    fn both_ends_of_a_long_bus_name_the_end(site in any_site(), end in 0..2usize) {
        prop_assume!(2.0 * site.line.conductor().get() > 8.0);
        let seen = simulate(&site, BusFault::TerminatorMissing { terminator: end });
        let ranked = explain(&site.line, &seen[..2]);
        prop_assert_eq!(ranked[0].fault, BusFault::TerminatorMissing { terminator: end }, "{:?}", &ranked[..3]);
    }
}

#[test]
fn classes_of_wrong_terminators_share_one_weight() {
    let sum: f64 = WRONG_VALUES.iter().map(|wrong| wrong.part).sum();
    assert!((sum - 1.0).abs() < 1e-12, "{sum}");
}
