//! Readings, short circuits and the network's solver against published figures and independent sums.
//!
//! Each table names its source. "Computed" is a figure of the bus reference that was worked out there with a nodal
//! solver of its own; it is compared to its last printed digit.

mod faults;
mod frames;
mod log;
mod signal;

use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use sixty_ohms::core::bus::line::{Break, Device, Drop, Line, Readings, Run, Short, Spot, Terminator, Wire};
use sixty_ohms::core::bus::network::Network;
use sixty_ohms::core::bus::short::{Trunk, place};
use sixty_ohms::core::units::{Metres, Ohms, OhmsPerMetre, Quantity};

/// The value shows as the printed figure: within half of its last digit.
fn shows(source: &str, what: &str, value: f64, printed: &str) {
    let expected: f64 = printed.parse().unwrap();
    let decimals = printed.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let half = 0.5 * 10f64.powi(-(decimals as i32));
    assert!((value - expected).abs() <= half * (1.0 + 1e-9), "{source}: {what}: {value}, printed {printed}");
}

/// Equal to nine digits.
fn equal(source: &str, what: &str, value: f64, expected: f64) {
    let scale = expected.abs().max(1e-12);
    assert!((value - expected).abs() <= 1e-9 * scale, "{source}: {what}: {value}, expected {expected}");
}

fn ohms(value: f64) -> Ohms {
    Ohms::new(value).unwrap()
}

fn metres(value: f64) -> Metres {
    Metres::new(value).unwrap()
}

fn at(place: f64) -> Spot {
    Spot::Trunk(metres(place))
}

fn terminator(place: f64, ohm: f64) -> Terminator {
    Terminator { at: at(place), ohms: ohms(ohm) }
}

fn device(place: f64, differential: f64) -> Device {
    Device { at: at(place), between_wires: Some(ohms(differential)), high_to_reference: None, low_to_reference: None }
}

fn trunk(length: f64, per_metre: f64) -> Line {
    let per_metre = OhmsPerMetre::new(per_metre).unwrap();
    Line { runs: vec![Run { length: metres(length), per_metre, contacts: ohms(0.0) }], ..Line::default() }
}

fn terminated(length: f64, per_metre: f64) -> Line {
    Line { terminators: vec![terminator(0.0, 120.0), terminator(length, 120.0)], ..trunk(length, per_metre) }
}

fn pair(line: &Line, place: f64) -> f64 {
    line.pair_at(at(place)).unwrap().get()
}

fn parallel(a: f64, b: f64) -> f64 {
    1.0 / (1.0 / a + 1.0 / b)
}

/// Bus reference 1.2: 120 Ω parts at their nominal value, ±1 %, ±5 %, and over the range of ISO 11898-2:2003 (100–130 Ω).
/// Computed there.
#[test]
fn terminators_from_none_to_five() {
    const TABLE: [(usize, [(f64, &str); 7]); 5] = [
        (
            1,
            [
                (120.0, "120"),
                (118.8, "118.8"),
                (121.2, "121.2"),
                (114.0, "114"),
                (126.0, "126"),
                (100.0, "100"),
                (130.0, "130"),
            ],
        ),
        (
            2,
            [
                (120.0, "60"),
                (118.8, "59.4"),
                (121.2, "60.6"),
                (114.0, "57"),
                (126.0, "63"),
                (100.0, "50"),
                (130.0, "65"),
            ],
        ),
        (
            3,
            [
                (120.0, "40"),
                (118.8, "39.6"),
                (121.2, "40.4"),
                (114.0, "38"),
                (126.0, "42"),
                (100.0, "33.3"),
                (130.0, "43.3"),
            ],
        ),
        (
            4,
            [
                (120.0, "30"),
                (118.8, "29.7"),
                (121.2, "30.3"),
                (114.0, "28.5"),
                (126.0, "31.5"),
                (100.0, "25"),
                (130.0, "32.5"),
            ],
        ),
        (
            5,
            [
                (120.0, "24"),
                (118.8, "23.8"),
                (121.2, "24.2"),
                (114.0, "22.8"),
                (126.0, "25.2"),
                (100.0, "20"),
                (130.0, "26"),
            ],
        ),
    ];
    for (count, row) in TABLE {
        for (each, printed) in row {
            let line = Line { terminators: vec![terminator(0.0, each); count], ..trunk(0.0, 0.0) };
            shows("bus 1.2", &format!("{count} of {each} Ω"), pair(&line, 0.0), printed);
        }
    }
    assert_eq!(trunk(0.0, 0.0).pair_at(at(0.0)), None, "nothing plugged in is open");
    for nodes in [1, 2, 10, 50] {
        let line = Line { devices: vec![device(0.0, 50e3); nodes], ..trunk(0.0, 0.0) };
        equal("bus 1.2", "only nodes: R_diff/N", pair(&line, 0.0), 50e3 / nodes as f64);
    }
    let least =
        Line { terminators: vec![terminator(0.0, 100.0); 2], devices: vec![device(0.0, 30e3); 30], ..trunk(0.0, 0.0) };
    shows("bus 1.2, floor from standards", "100 Ω each, 30 nodes of 30 kΩ", pair(&least, 0.0), "47.6");
}

/// Bus reference 1.3: two 120 Ω with N nodes. Node resistances: ISO 11898 (1993/2003); TI SN65LBC031; readings computed.
#[test]
fn nodes_lower_the_reading() {
    const COUNTS: [usize; 7] = [2, 5, 10, 20, 30, 64, 100];
    const TABLE: [(f64, [&str; 7]); 4] = [
        (10e3, ["59.3", "58.3", "56.6", "53.6", "50.8", "43.4", "37.5"]),
        (20e3, ["59.6", "59.1", "58.3", "56.6", "55.0", "50.3", "46.2"]),
        (30e3, ["59.8", "59.4", "58.8", "57.7", "56.6", "53.2", "50.0"]),
        (100e3, ["59.9", "59.8", "59.6", "59.3", "58.9", "57.8", "56.6"]),
    ];
    for (each, row) in TABLE {
        for (count, printed) in COUNTS.into_iter().zip(row) {
            let line = Line { devices: vec![device(0.0, each); count], ..terminated(0.0, 0.0) };
            shows("bus 1.3", &format!("{count} nodes of {each} Ω"), pair(&line, 0.0), printed);
            equal("60 ∥ R/N", "closed form", pair(&line, 0.0), parallel(60.0, each / count as f64));
        }
    }
}

/// Bus reference 1.4: cable between two 120 Ω. Computed (nodal).
#[test]
fn cable_raises_the_reading() {
    for (per_metre, length, turns, end, middle) in [
        (0.070, 10.0, "1.4", "60.3", "60.3"),
        (0.070, 40.0, "5.6", "61.4", "61.4"),
        (0.060, 100.0, "12", "62.9", "63.0"),
        (0.060, 250.0, "30", "66.7", "67.5"),
        (0.040, 500.0, "40", "68.6", "70.0"),
        (0.026, 1000.0, "52", "70.7", "73.0"),
    ] {
        let line = terminated(length, per_metre);
        let what = format!("{length} m of {per_metre} Ω/m");
        shows("bus 1.4", &format!("{what}, loop"), 2.0 * line.conductor().get(), turns);
        shows("bus 1.4", &format!("{what}, end"), pair(&line, 0.0), end);
        shows("bus 1.4", &format!("{what}, other end"), pair(&line, length), end);
        shows("bus 1.4", &format!("{what}, middle"), pair(&line, length / 2.0), middle);
        let cable = 2.0 * per_metre * length;
        equal("R_T ∥ (R_T + 2ρL)", &what, pair(&line, 0.0), parallel(120.0, 120.0 + cable));
        equal("(R_T + ρL) / 2", &what, pair(&line, length / 2.0), (120.0 + cable / 2.0) / 2.0);
        let one = Line { terminators: vec![terminator(0.0, 120.0)], ..line.clone() };
        equal("R_T", "one terminator, near end", pair(&one, 0.0), 120.0);
        equal("R_T + 2ρL", "one terminator, far end", pair(&one, length), 120.0 + cable);
    }
    let one = Line { terminators: vec![terminator(0.0, 120.0)], ..trunk(40.0, 0.07) };
    shows("bus 1.4", "one terminator, far end of 40 m", pair(&one, 40.0), "125.6");

    let per_metre = OhmsPerMetre::of(0.07);
    let drop = Drop { at: metres(12.0), length: metres(3.0), per_metre };
    let line = Line { drops: vec![drop], ..terminated(40.0, 0.07) };
    let reading = line.pair_at(Spot::Drop(0)).unwrap().get();
    equal("bus 1.4: trunk reading + 2ρs", "drop of 3 m", reading, pair(&line, 12.0) + 2.0 * 0.07 * 3.0);
}

/// The worked bus of bus reference 1.5: 40 m of 70 mΩ/m, nodes at 0, 20 and 40 m with 15 kΩ from each wire to the
/// reference.
fn worked() -> Line {
    let each = Some(ohms(15e3));
    let node = |place| Device { at: at(place), between_wires: None, high_to_reference: each, low_to_reference: each };
    Line { devices: vec![node(0.0), node(20.0), node(40.0)], ..terminated(40.0, 0.07) }
}

/// Bus reference 1.5: pair at both ends, and each wire to the reference at 0 m. Computed there (nodal).
#[test]
fn faults_of_the_worked_bus() {
    type Row = (&'static str, Line, [Option<&'static str>; 4]);
    let touch = |between, place| Short { between, at: metres(place), ohms: ohms(0.0) };
    let high_break = Break { wire: Wire::High, from: metres(10.0), to: metres(20.0) };
    // The reference's open wire lies between 10 m and the node at 20 m.
    let table: Vec<Row> = vec![
        ("healthy", worked(), [Some("61.0"), Some("61.0"), Some("2.5k"), Some("2.5k")]),
        (
            "terminator at 40 m missing",
            Line { terminators: vec![terminator(0.0, 120.0)], ..worked() },
            [Some("118.6"), Some("124.1"), Some("2.5k"), Some("2.5k")],
        ),
        (
            "both missing",
            Line { terminators: vec![], ..worked() },
            [Some("10.0k"), Some("10.0k"), Some("5k"), Some("5k")],
        ),
        (
            "third terminator at 20 m",
            Line {
                terminators: vec![terminator(0.0, 120.0), terminator(20.0, 120.0), terminator(40.0, 120.0)],
                ..worked()
            },
            [Some("41.4"), Some("41.4"), Some("2.5k"), Some("2.5k")],
        ),
        (
            "high wire broken between 10 and 20 m",
            Line { breaks: vec![high_break], ..worked() },
            [Some("119.2"), Some("118.7"), Some("2.6k"), Some("2.5k")],
        ),
        (
            "high wire to the reference at 20 m",
            Line { shorts: vec![touch((Wire::High, Wire::Reference), 20.0)], ..worked() },
            [Some("60.7"), Some("60.7"), Some("1.4"), Some("60.7")],
        ),
        (
            "low wire to the reference at 20 m",
            Line { shorts: vec![touch((Wire::Low, Wire::Reference), 20.0)], ..worked() },
            [Some("60.7"), Some("60.7"), Some("60.7"), Some("1.4")],
        ),
    ];
    for (fault, line, printed) in table {
        let ends = line.readings(&[at(0.0), at(40.0)]);
        let got = [ends[0].pair, ends[1].pair, ends[0].high_to_reference, ends[0].low_to_reference];
        for ((got, printed), column) in got.into_iter().zip(printed).zip(["H-L 0 m", "H-L 40 m", "H-ref", "L-ref"]) {
            let (Some(got), Some(printed)) = (got, printed) else { panic!("{fault}: {column}: no path") };
            let (got, printed) = match printed.strip_suffix('k') {
                Some(kilo) => (got.get() / 1000.0, kilo),
                None => (got.get(), printed),
            };
            shows("bus 1.5", &format!("{fault}: {column}"), got, printed);
        }
    }
}

/// Bus reference 1.5: a touch at d reads 120 ∥ 2ρd at the start and 120 ∥ 2ρ(L − d) at the end; 1.4 Ω is 10 m.
#[test]
fn a_touch_tells_its_distance() {
    let bus = Trunk { length: metres(40.0), per_metre: OhmsPerMetre::of(0.07), terminator: ohms(120.0) };
    for distance in [2.5, 10.0, 20.0, 35.0] {
        let short = Short { between: (Wire::High, Wire::Low), at: metres(distance), ohms: ohms(0.0) };
        let line = Line { shorts: vec![short], ..terminated(40.0, 0.07) };
        let (start, end) = (pair(&line, 0.0), pair(&line, 40.0));
        equal("bus 1.5: 120 ∥ 2ρd", "start", start, parallel(120.0, 0.14 * distance));
        equal("bus 1.5: 120 ∥ 2ρ(L − d)", "end", end, parallel(120.0, 0.14 * (40.0 - distance)));
        let found = place(bus, ohms(start), ohms(end)).unwrap();
        equal("network, there and back", "distance", found.from_start.get(), distance);
    }
    let rough = place(bus, ohms(1.4), ohms(4.1)).unwrap().from_start.get();
    shows("bus 1.5: d ≈ R/(2ρ)", "1.4 Ω", rough, "10");
}

/// A small generator for tests that must repeat: xorshift64*, from Vigna, "An experimental exploration of Marsaglia's
/// xorshift generators" (from memory).
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Random {
        Random(seed.max(1))
    }

    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    pub fn below(&mut self, end: usize) -> usize {
        (self.next() >> 11) as usize % end
    }

    /// Evenly on a logarithmic scale.
    fn ohm(&mut self, low: f64, high: f64) -> f64 {
        let share = (self.next() >> 11) as f64 / (1u64 << 53) as f64;
        (low.ln() + share * (high / low).ln()).exp()
    }
}

/// The resistance between two joints by a dense solve of the node matrix, joint `b` grounded; `None` where no path is.
fn dense(joints: usize, parts: &[(usize, usize, f64)], a: usize, b: usize) -> Option<f64> {
    let mut reached = vec![false; joints];
    reached[b] = true;
    for _ in 0..joints {
        for &(x, y, _) in parts {
            if reached[x] || reached[y] {
                (reached[x], reached[y]) = (true, true);
            }
        }
    }
    if !reached[a] {
        return None;
    }
    // Joints of other pieces are held at the ground by an equation of their own.
    let mut matrix = DMatrix::<f64>::zeros(joints, joints);
    for joint in (0..joints).filter(|joint| *joint == b || !reached[*joint]) {
        matrix[(joint, joint)] = 1.0;
    }
    for &(x, y, ohm) in parts.iter().filter(|(x, ..)| reached[*x]) {
        for (from, to) in [(x, y), (y, x)] {
            if from != b {
                matrix[(from, from)] += 1.0 / ohm;
                matrix[(from, to)] -= 1.0 / ohm;
            }
        }
    }
    let mut current = DVector::<f64>::zeros(joints);
    if a != b {
        current[a] = 1.0;
    }
    matrix.lu().solve(&current).map(|volt| volt[a])
}

#[test]
fn the_solver_agrees_with_a_dense_one() {
    let mut random = Random::new(6120);
    let (mut open, mut joined) = (0, 0);
    for case in 0..400 {
        let joints = 2 + random.below(30);
        let count = 1 + random.below(2 * joints);
        let parts: Vec<(usize, usize, f64)> = (0..count)
            .map(|_| (random.below(joints), random.below(joints), random.ohm(0.1, 10e3)))
            .filter(|(a, b, _)| a != b)
            .collect();
        let mut network = Network::new();
        (0..joints).for_each(|_| _ = network.joint());
        for &(a, b, ohm) in &parts {
            network.resistor(a, b, ohms(ohm));
        }
        let solved = network.solve();
        for _ in 0..5 {
            let (a, b) = (random.below(joints), random.below(joints));
            let got = solved.between(a, b).map(Quantity::get);
            match (got, dense(joints, &parts, a, b)) {
                (None, None) => open += 1,
                (Some(got), Some(expected)) => {
                    joined += 1;
                    let scale = expected.abs().max(1.0);
                    assert!((got - expected).abs() < 1e-9 * scale, "network {case}: {got} Ω, dense {expected} Ω");
                }
                other => panic!("network {case}: one sees a path, the other none: {other:?}"),
            }
        }
    }
    assert!(open > 100 && joined > 1000, "both kinds occur: {open} open, {joined} joined");
}

/// Ladders of parts from a micro-ohm to 100 MΩ, against series and parallel sums: no digits are lost between unlike
/// neighbours.
#[test]
fn ladders_of_unlike_parts_keep_their_digits() {
    let mut random = Random::new(1_000_003);
    for case in 0..200 {
        let mut network = Network::new();
        let ground = network.joint();
        let mut joint = network.joint();
        let mut resistance = random.ohm(1e-6, 1e8);
        network.resistor(joint, ground, ohms(resistance));
        for _ in 0..1 + random.below(40) {
            let (rung, rail) = (random.ohm(1e-6, 1e8), random.ohm(1e-6, 1e6));
            let next = network.joint();
            network.resistor(joint, next, ohms(rail));
            network.resistor(next, ground, ohms(rung));
            resistance = parallel(resistance + rail, rung);
            joint = next;
        }
        let got = network.solve().between(joint, ground).unwrap().get();
        assert!((got / resistance - 1.0).abs() < 1e-12, "ladder {case}: {got} Ω, by hand {resistance} Ω");
    }
}

/// A bus as the properties want it: places as shares of the trunk.
fn any_line() -> impl Strategy<Value = Line> {
    let part = (0.0..=1.0f64, 50.0..500.0f64);
    let node = (0.0..=1.0f64, 5e3..100e3f64);
    (
        1.0..500.0f64,
        0.005..0.2f64,
        prop::collection::vec(part, 0..5),
        prop::collection::vec(node, 0..8),
        prop::option::of((0.0..=1.0f64, 0.0..50.0f64)),
        prop::option::of((0.0..0.9f64, prop::bool::ANY)),
    )
        .prop_map(|(length, per_metre, terminators, nodes, touch, gap)| Line {
            terminators: terminators.iter().map(|(share, ohm)| terminator(share * length, *ohm)).collect(),
            devices: nodes
                .iter()
                .map(|(share, ohm)| Device {
                    at: at(share * length),
                    between_wires: None,
                    high_to_reference: Some(ohms(*ohm)),
                    low_to_reference: Some(ohms(*ohm)),
                })
                .collect(),
            shorts: touch
                .iter()
                .map(|(share, ohm)| Short {
                    between: (Wire::High, Wire::Low),
                    at: metres(share * length),
                    ohms: ohms(*ohm),
                })
                .collect(),
            breaks: gap
                .iter()
                .map(|(share, high)| Break {
                    wire: if *high { Wire::High } else { Wire::Low },
                    from: metres(share * length),
                    to: metres((share + 0.1) * length),
                })
                .collect(),
            ..trunk(length, per_metre)
        })
}

fn values(readings: &[Readings]) -> Vec<f64> {
    let infinite = |ohms: Option<Ohms>| ohms.map_or(f64::INFINITY, Quantity::get);
    readings.iter().flat_map(|r| [r.pair, r.high_to_reference, r.low_to_reference]).map(infinite).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Rayleigh's monotonicity law: one resistor more never raises a reading.
    #[test]
    fn a_terminator_more_never_raises_a_reading(line in any_line(), share in 0.0..=1.0f64, ohm in 1.0..1e4f64) {
        let length = line.length().get();
        let spots = [at(0.0), at(length / 2.0), at(length)];
        let mut more = line.clone();
        more.terminators.push(terminator(share * length, ohm));
        for (before, after) in values(&line.readings(&spots)).into_iter().zip(values(&more.readings(&spots))) {
            prop_assert!(after <= before * (1.0 + 1e-9), "{before} Ω became {after} Ω");
        }
    }

    /// A bus that is its own mirror image reads alike from both ends.
    #[test]
    fn a_symmetric_bus_reads_alike_from_both_ends(line in any_line()) {
        let length = line.length().get();
        let mut both = Line { breaks: vec![], shorts: vec![], ..line.clone() };
        let mirrored = |spot: Spot| match spot {
            Spot::Trunk(place) => at((length - place.get()).max(0.0)),
            other => other,
        };
        both.terminators.extend(line.terminators.iter().map(|t| Terminator { at: mirrored(t.at), ..*t }));
        both.devices.extend(line.devices.iter().map(|d| Device { at: mirrored(d.at), ..*d }));
        let ends = both.readings(&[at(0.0), at(length)]);
        for (start, end) in values(&ends[..1]).into_iter().zip(values(&ends[1..])) {
            prop_assert!(start == end || (start - end).abs() <= 1e-9 * start, "{start} Ω and {end} Ω");
        }
    }
}
