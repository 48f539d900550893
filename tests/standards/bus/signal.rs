//! Levels, lengths, bit timing and the RS-485 idle voltage against published figures.

use super::{Random, equal, metres, ohms, pair, shows, terminated};
use sixty_ohms::core::bus::length::{
    CABLE_DELAY, CABLES, Drive, NODE_DELAY_GREATEST, Propagation, Standing, Table, by_timing, cable_for, stub_by_edge,
};
use sixty_ohms::core::bus::levels::{Levels, State, average, state};
use sixty_ohms::core::bus::line::{Line, Terminator, Wire};
use sixty_ohms::core::bus::rs485::{Bias, idle};
use sixty_ohms::core::bus::timing::{
    CANOPEN_SAMPLE_POINT, Path, QUANTA, Setting, best, canopen_sample_window, kernel_sample_point,
};
use sixty_ohms::core::units::{
    BitRate, Count, Fraction, Hertz, Metres, OhmsPerMetre, Percent, Quantity, Seconds, SecondsPerMetre, Volts,
};

/// Bus reference 1.6: averages of a slow meter. Computed from nominal levels (ISO 11898-2).
#[test]
fn a_slow_meter_averages() {
    let seen = |load: f64, share: f64, high: &str, low: &str| {
        let average = average(Levels::NOMINAL, Fraction::new(load).unwrap(), Fraction::new(share).unwrap()).unwrap();
        shows("bus 1.6", &format!("high at {load} · {share}"), average.high.get(), high);
        shows("bus 1.6", &format!("low at {load} · {share}"), average.low.get(), low);
        equal("high − low", "difference", average.difference.get(), average.high.get() - average.low.get());
    };
    seen(0.30, 0.4, "2.62", "2.38");
    seen(0.30, 0.5, "2.65", "2.35");
    seen(0.05, 0.4, "2.52", "2.48");
    seen(0.0, 0.45, "2.50", "2.50");
    seen(1.0, 1.0, "3.5", "1.5");
}

/// Bus reference 1.6: levels of ISO 11898-2 and of TI data sheets (SLLSF17B), each at the edges of its range.
#[test]
fn levels_at_their_edges() {
    for (source, high, low, expected) in [
        ("TI: asleep, −0.1 … +0.1 V", 0.1, 0.1, State::AsleepOrOff),
        ("TI: asleep, −0.1 … +0.1 V", -0.1, -0.1, State::AsleepOrOff),
        ("ISO 11898-2: recessive 2.0 V", 2.0, 2.0, State::AwakeIdle),
        ("ISO 11898-2: recessive 3.0 V", 3.0, 3.0, State::AwakeIdle),
        ("TI: recessive difference +12 mV", 2.506, 2.494, State::AwakeIdle),
        ("TI notes: 3.3 V parts rest nearer 2.3 V", 2.3, 2.3, State::AwakeIdle),
        ("bus 1.6: 30 % load", 2.65, 2.35, State::Working),
        ("bus 1.6: 5 % load", 2.52, 2.48, State::Working),
        ("bus 1.6: high below low is swapped", 2.35, 2.65, State::Swapped),
        ("ISO 11898-2: dominant, nominal", 3.5, 1.5, State::StuckDominant),
        ("ISO 11898-2: least dominant difference 1.5 V", 2.75, 1.25, State::StuckDominant),
        ("greatest dominant high 4.5 V", 12.8, 12.5, State::AtSupply(Some(Wire::High))),
        ("bus 1.5: low wire at the reference", 0.9, 0.0, State::AtReference(Wire::Low)),
    ] {
        assert_eq!(state(Volts::new(high).unwrap(), Volts::new(low).unwrap()), expected, "{source}");
    }
}

/// Bus reference 2.1: CiA website, "CANopen lower layers" (checked): bit rate, trunk, stub, all stubs, bit time.
#[test]
fn lengths_of_canopen() {
    let table = Table::named("canopen").unwrap();
    assert_eq!(table.standing, Standing::Checked);
    for (rate, trunk, stub, all_stubs, micros) in [
        (1.0e6, 25.0, 1.5, 7.5, "1"),
        (800e3, 50.0, 2.5, 12.5, "1.25"),
        (500e3, 100.0, 5.5, 27.5, "2"),
        (250e3, 250.0, 11.0, 55.0, "4"),
        (125e3, 500.0, 22.0, 110.0, "8"),
        (50e3, 1000.0, 55.0, 275.0, "20"),
        (20e3, 2500.0, 137.5, 687.5, "50"),
        (10e3, 5000.0, 275.0, 1375.0, "100"),
    ] {
        let row = table.at(BitRate::new(rate).unwrap()).unwrap();
        let got = [row.trunk, row.stub, row.all_stubs].map(|length| length.map(Quantity::get));
        assert_eq!(got, [Some(trunk), Some(stub), Some(all_stubs)], "CiA 301 at {rate} bit/s");
        shows("bit time", "µs", 1e6 / row.bit_rate.get(), micros);
    }
}

/// Bus reference 2.1, other systems: rate, trunk, stub, all stubs, nodes; 0 where the table is silent.
#[test]
fn lengths_of_other_systems() {
    for (key, source, rows) in [
        ("iso11898", "ISO 11898-2, TI SLLSF80B", &[(1e6, 40.0, 0.3, 0.0, 30)][..]),
        (
            "transceivers",
            "Philips AN96116, table 3",
            &[
                (1e6, 30.0, 0.0, 0.0, 0),
                (500e3, 100.0, 0.0, 0.0, 0),
                (250e3, 250.0, 0.0, 0.0, 0),
                (125e3, 500.0, 0.0, 0.0, 0),
                (62.5e3, 1000.0, 0.0, 0.0, 0),
            ],
        ),
        ("j1939-11", "SAE J1939-11:1999", &[(250e3, 40.0, 1.0, 0.0, 30)]),
        ("j1939-15", "SAE J1939-15, from memory", &[(250e3, 40.0, 3.0, 0.0, 10)]),
        ("j1939-14", "SAE J1939-14, from memory", &[(500e3, 56.4, 1.67, 0.0, 30)]),
        (
            "devicenet-thick",
            "IEC 62026-3, from memory",
            &[(500e3, 100.0, 6.0, 39.0, 64), (250e3, 250.0, 6.0, 78.0, 64), (125e3, 500.0, 6.0, 156.0, 64)],
        ),
        (
            "devicenet-thin",
            "IEC 62026-3, from memory",
            &[(500e3, 100.0, 6.0, 39.0, 64), (250e3, 100.0, 6.0, 78.0, 64), (125e3, 100.0, 6.0, 156.0, 64)],
        ),
        ("rv-c", "RV-C website: 6 ft", &[(250e3, 0.0, 1.83, 0.0, 0)]),
    ] {
        let table = Table::named(key).unwrap();
        assert_eq!(table.rows.len(), rows.len(), "{source}");
        for &(rate, trunk, stub, all_stubs, nodes) in rows {
            let row = table.at(BitRate::new(rate).unwrap()).unwrap();
            let known = |value: f64| (value > 0.0).then_some(value);
            assert_eq!(row.trunk.map(Quantity::get), known(trunk), "{source}: trunk at {rate}");
            assert_eq!(row.stub.map(Quantity::get), known(stub), "{source}: stub at {rate}");
            assert_eq!(row.all_stubs.map(Quantity::get), known(all_stubs), "{source}: all stubs at {rate}");
            assert_eq!(row.nodes.unwrap_or(0), nodes, "{source}: nodes at {rate}");
        }
    }
    // CiA 301 4.2.0, as the ECSS glossary quotes it: an edge of 50 ns makes 5 m critical, a third of it is 1.67 m.
    let (critical, stub) = stub_by_edge(Seconds::of(50e-9), CABLE_DELAY).unwrap();
    shows("CiA 301 4.2.0", "critical length", critical.get(), "5");
    shows("CiA 301 4.2.0", "stub", stub.get(), "1.67");
}

/// Bus reference 2.2: 16 quanta, 11 of them for propagation. Computed from the rule of TI and Microchip manuals.
#[test]
fn lengths_by_timing() {
    assert_eq!(NODE_DELAY_GREATEST, Seconds::of(255e-9));
    for (rate, segment, by_delay) in [
        (1e6, "687.5", [(150.0, "38.8"), (215.0, "25.8"), (255.0, "17.8")]),
        (500e3, "1375", [(150.0, "107.5"), (215.0, "94.5"), (255.0, "86.5")]),
        (250e3, "2750", [(150.0, "245"), (215.0, "232"), (255.0, "224")]),
        (125e3, "5500", [(150.0, "520"), (215.0, "507"), (255.0, "499")]),
    ] {
        shows("bus 2.2", "T_propseg, ns", 11.0 / 16.0 * 1e9 / rate, segment);
        for (delay, printed) in by_delay {
            let given = Propagation {
                bit_rate: BitRate::new(rate).unwrap(),
                quanta_per_bit: 16,
                propagation_quanta: 11,
                node_delay: Seconds::new(delay * 1e-9).unwrap(),
                cable: CABLE_DELAY,
            };
            shows("bus 2.2", &format!("{rate} bit/s, {delay} ns"), by_timing(given).unwrap().get(), printed);
        }
    }
}

fn setting(clock: f64, prescaler: u32, segment1: u32, segment2: u32, jump: u32) -> Setting {
    Setting { clock: Hertz::new(clock).unwrap(), prescaler, segment1, segment2, jump }
}

fn path(nanos: f64, length: f64) -> Path {
    Path { node_delay: Seconds::new(nanos * 1e-9).unwrap(), length: metres(length), cable: CABLE_DELAY }
}

/// Bus reference 2.3: worked examples of makers' manuals. Where a printed figure does not follow from the formula, the
/// formula's is used and the reference says so.
#[test]
fn bit_timing_examples() {
    // TI SPRUIN7C: 1 Mbit/s from 10 MHz; driver 90 ns, receiver 40 ns, line 220 ns. Printed 0.35 %; the formula gives 0.388 %.
    let long = Path { cable: SecondsPerMetre::of(5.5e-9), ..path(130.0, 40.0) };
    let fast = setting(10e6, 1, 8, 1, 1);
    let fit = fast.fit(long).unwrap();
    assert_eq!((fast.timing().unwrap().quanta, fit.propagation_quanta, fit.phase1_quanta), (10, 7, 1), "SPRUIN7C");
    shows("TI SPRUIN7C, by the formula", "tolerance", fit.tolerance.unwrap().get(), "0.388");

    // ST UM0404: 1 Mbit/s, phases of 1 and 2 of 10 quanta: 0.39 %.
    let fit = setting(10e6, 1, 7, 2, 1).fit(path(100.0, 40.0)).unwrap();
    assert_eq!((fit.propagation_quanta, fit.phase1_quanta), (6, 1), "UM0404");
    shows("ST UM0404", "tolerance, printed", fit.tolerance.unwrap().get(), "0.39");
    shows("ST UM0404, by the formula", "tolerance", fit.tolerance.unwrap().get(), "0.391");

    // TI SPRUIW9C: 100 kbit/s from 2 MHz by 2; 200 + 80 + 220 ns make one quantum. Printed 1.58 %, the formula gives 1.587 %.
    let slow = setting(2e6, 2, 5, 4, 4);
    let fit = slow.fit(Path { cable: SecondsPerMetre::of(5.5e-9), ..path(280.0, 40.0) }).unwrap();
    equal("TI SPRUIW9C", "bit rate", slow.timing().unwrap().bit_rate.get(), 100e3);
    assert_eq!((fit.propagation_quanta, fit.phase1_quanta), (1, 4), "SPRUIW9C");
    shows("TI SPRUIW9C, by the formula", "tolerance", fit.tolerance.unwrap().get(), "1.587");

    // Microchip: 500 kbit/s, 25 ns quanta, 80 a bit, 80 %; T = 2 · (255 + 200) = 910 ns, 47 quanta chosen. The note prints a
    // segment 1 of 64; 63 is what makes 80.
    let modern = setting(40e6, 1, 63, 16, 16);
    let timing = modern.timing().unwrap();
    assert_eq!((timing.quanta, timing.classical), (80, false), "Microchip");
    equal("Microchip", "sample point", timing.sample_point.get(), 80.0);
    equal("Microchip", "bit rate", timing.bit_rate.get(), 500e3);
    let need = modern.fit(path(255.0, 40.0)).unwrap();
    assert_eq!(need.propagation_quanta, 37, "36.4 quanta, rounded up");
    // With the 47 quanta that the note chose, phases of 16 and 16 are left.
    let chosen = modern.fit(path(587.5, 0.0)).unwrap();
    assert_eq!((chosen.propagation_quanta, chosen.phase1_quanta), (47, 16), "Microchip");
    shows("Microchip, by the formula", "tolerance", chosen.tolerance.unwrap().get(), "0.78");

    for (length, jump, phase1, printed) in [(40.0, 2, 5, "0.485"), (40.0, 1, 5, "0.3125"), (100.0, 2, 1, "0.243")] {
        let fit = setting(8e6, 1, 13, 2, jump).fit(path(250.0, length)).unwrap();
        assert_eq!(fit.phase1_quanta, phase1, "bus 2.3, {length} m");
        shows("bus 2.3", &format!("{length} m, jump {jump}"), fit.tolerance.unwrap().get(), printed);
    }

    // Bosch: the best possible is 1.58 %, with propagation 1, both phases and the jump 4.
    let best_possible = setting(1e6, 1, 5, 4, 4).fit(path(250.0, 40.0)).unwrap();
    assert!((1.58..1.59).contains(&best_possible.tolerance.unwrap().get()), "Bosch");
}

/// Bus reference 2.3: rules of Bosch CAN 2.0, CiA 301 and the Linux kernel.
#[test]
fn bit_timing_rules() {
    assert_eq!(QUANTA, (8, 25), "Bosch CAN 2.0");
    assert_eq!(CANOPEN_SAMPLE_POINT, Percent::of(87.5), "CiA 301");
    for (rate, low, kernel) in [(10e3, 85.0, 87.5), (500e3, 85.0, 87.5), (800e3, 75.0, 80.0), (1e6, 75.0, 75.0)] {
        let rate = BitRate::new(rate).unwrap();
        assert_eq!(canopen_sample_window(rate), (Percent::new(low).unwrap(), Percent::of(90.0)), "CiA 301, table 4.1");
        assert_eq!(kernel_sample_point(rate).get(), kernel, "Linux calc_bittiming.c");
    }
}

/// Every search result is a classical setting that gives what it says.
#[test]
fn the_best_setting_is_one() {
    let mut random = Random::new(875);
    let mut found = 0;
    for _ in 0..300 {
        let clock = [8e6, 12e6, 16e6, 20e6, 24e6, 36e6, 40e6, 42e6, 48e6, 80e6][random.below(10)];
        let rate = [10e3, 20e3, 50e3, 83_333.0, 100e3, 125e3, 250e3, 500e3, 800e3, 1e6][random.below(10)];
        let wanted = 50.0 + random.below(450) as f64 / 10.0;
        let (clock, rate, wanted) =
            (Hertz::new(clock).unwrap(), BitRate::new(rate).unwrap(), Percent::new(wanted).unwrap());
        let Ok(setting) = best(clock, rate, wanted) else { continue };
        found += 1;
        let timing = setting.timing().unwrap();
        assert!(timing.classical && timing.jump_fits, "{setting:?}");
        assert!((timing.bit_rate.get() / rate.get() - 1.0).abs() <= 0.005, "{setting:?}");
        // No other setting of the same clock is nearer in rate, or as near in rate and nearer in sample point.
        for prescaler in 1..=64 {
            for segment1 in 2..=16 {
                for segment2 in 1..=8 {
                    let other = Setting { prescaler, segment1, segment2, jump: 1, clock };
                    let Ok(seen) = other.timing() else { continue };
                    if !seen.classical {
                        continue;
                    }
                    let miss = |t: f64, w: f64| (t - w).abs();
                    let nearer = miss(seen.bit_rate.get(), rate.get()) - miss(timing.bit_rate.get(), rate.get());
                    let closer =
                        miss(seen.sample_point.get(), wanted.get()) - miss(timing.sample_point.get(), wanted.get());
                    assert!(
                        nearer > -1e-6 * rate.get().max(1.0) && (nearer > 1e-6 || closer > -1e-6),
                        "{other:?} beats {setting:?} for {wanted:?}"
                    );
                }
            }
        }
    }
    assert!(found > 150, "{found}");
}

/// Bus reference 3.1: CiA 303-1 (from memory). A long bus built to it reads 75–150 Ω, not 60 Ω.
#[test]
fn cables_of_cia_303() {
    for (length, per_metre, low, high) in [
        (40.0, 0.070, 124.0, 124.0),
        (300.0, 0.060, 150.0, 300.0),
        (600.0, 0.040, 150.0, 300.0),
        (1000.0, 0.026, 150.0, 300.0),
    ] {
        let cable = cable_for(metres(length)).unwrap();
        assert_eq!(cable.per_metre.get(), per_metre, "CiA 303-1, {length} m");
        assert_eq!((cable.terminators.0.get(), cable.terminators.1.get()), (low, high), "CiA 303-1, {length} m");
    }
    assert_eq!(cable_for(metres(1000.5)), None);
    for cable in CABLES.iter().skip(1) {
        for (terminator, reading) in [(cable.terminators.0, 75.0), (cable.terminators.1, 150.0)] {
            let line = terminated(0.0, 0.0);
            let terminators = line.terminators.iter().map(|t| Terminator { ohms: terminator, ..*t }).collect();
            equal("bus 3.1", "reading without cable", pair(&Line { terminators, ..line }, 0.0), reading);
        }
    }
}

/// AN96116's figures: 1.5 V out, 1.0 V threshold, 118 Ω, 20 kΩ.
fn drive(nodes: u32, per_metre: f64) -> Drive {
    Drive {
        out: Volts::of(1.5),
        threshold: Volts::of(1.0),
        terminator: ohms(118.0),
        node_input: ohms(20e3),
        nodes,
        per_metre: OhmsPerMetre::new(per_metre).unwrap(),
    }
}

/// Bus reference 3.2 and 1.3: Philips AN96116 eq. 8–11 (checked); lengths computed, AN96116 table 6 rounds them (from memory).
#[test]
fn lengths_by_resistance() {
    for (cable, per_metre, row, rounded) in [
        ("DeviceNet thin", 0.092, ["197", "170", "147"], Some([200.0, 170.0, 150.0])),
        ("DeviceNet thick", 0.0226, ["803", "692", "599"], Some([800.0, 690.0, 600.0])),
        ("70 mΩ/m", 0.070, ["259", "223", "193"], None),
    ] {
        for (index, (nodes, printed)) in [32, 64, 100].into_iter().zip(row).enumerate() {
            let drive = drive(nodes, per_metre);
            let reach = drive.reach(Fraction::of(0.2)).unwrap().get();
            shows("bus 3.2", &format!("{cable}, {nodes} nodes"), reach, printed);
            if let Some(rounded) = rounded {
                assert!(
                    (reach / rounded[index] - 1.0).abs() < 0.025,
                    "AN96116 table 6: {cable}, {nodes} nodes: {reach}"
                );
            }
            // At that length the far end has the threshold and a fifth of what the driver gives beyond it.
            let end = drive.at_end(Metres::new(reach).unwrap()).unwrap();
            equal("AN96116 eq. 8", "voltage at the end", end.get(), 1.1);
        }
    }
    for (terminator, printed) in [(118.0, 106), (120.0, 112)] {
        let drive = Drive { terminator: ohms(terminator), ..drive(2, 0.07) };
        assert_eq!(drive.nodes_carried(ohms(45.0)).unwrap(), printed, "AN96116 section 5.2 with {terminator} Ω");
    }
}

/// Bus reference 7: 5 V, the same bias resistor on each side, two terminators of 120 Ω. Computed.
#[test]
fn idle_voltage_of_rs485() {
    let pair = |bias: f64, loads: f64| {
        idle(&Bias {
            supply: Volts::of(5.0),
            pull_up: ohms(bias),
            pull_down: ohms(bias),
            terminators: vec![ohms(120.0); 2],
            unit_loads: Count::new(loads).unwrap(),
        })
        .unwrap()
    };
    for (bias, loads, millivolts, enough) in
        [(680.0, 0.0, "211", true), (680.0, 32.0, "183", false), (620.0, 32.0, "200", true)]
    {
        let idle = pair(bias, loads);
        shows("bus 7", &format!("{bias} Ω, {loads} loads"), 1e3 * idle.difference.get(), millivolts);
        assert_eq!(idle.enough, enough, "bus 7: {bias} Ω, {loads} loads");
    }
    shows("bus 7", "largest, no loads", pair(680.0, 0.0).largest_each_side.unwrap().get(), "720");
    shows("bus 7", "largest, 32 loads", pair(680.0, 32.0).largest_each_side.unwrap().get(), "621");
}
