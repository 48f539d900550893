//! Verdicts on figures typed in by hand, against published values (bus reference sections 1.6, 2, 3, 6.1, 7).

use sixty_ohms::content::built_in;
use sixty_ohms::content::schema::Role;
use sixty_ohms::core::because::Because;
use sixty_ohms::core::bus::copper::{area_of_gauge, resistance};
use sixty_ohms::core::bus::rs485::Bias;
use sixty_ohms::core::entry::{Entry, Shown, Unreadable, read, read_in};
use sixty_ohms::core::job::assess::Verdict;
use sixty_ohms::core::judged::Judged;
use sixty_ohms::core::measure::length::{Compared, Plan, compare};
use sixty_ohms::core::measure::profile::{Agreement, Speaker, Speaking, Symptom, agree};
use sixty_ohms::core::measure::rs485::{Load, Pair, Terminated, judge_idle, judge_polarity, pair_reading};
use sixty_ohms::core::measure::{NAMES, SOURCES, volts};
use sixty_ohms::core::units::{BitRate, Celsius, Count, Kind, Metres, Ohms, Quantity, SquareMillimetres, Volts};

fn shown(text: &str) -> Shown {
    match read(text, Kind::Volts) {
        Ok(Entry::Figure(shown)) => shown,
        other => panic!("{text}: {other:?}"),
    }
}

fn volts_of(high: &str, low: &str) -> Judged {
    volts::judge(shown(high), shown(low)).unwrap()
}

/// Levels: ISO 11898-2; TI SLLSF17B. Averages: bus reference 1.6.
#[test]
fn two_readings_on_the_data_wires() {
    for (source, high, low, verdict, key) in [
        ("TI: asleep within 0.1 V", "0.00", "0.01", Verdict::LookAgain, "volts-asleep"),
        ("ISO: recessive 2.5 V", "2.500", "2.498", Verdict::LookAgain, "volts-idle"),
        ("bus 1.6: 30 % load", "2.65", "2.35", Verdict::Holds, "volts-working"),
        ("bus 1.6: 30 % load, swapped", "2.35", "2.65", Verdict::Fails, "volts-swapped"),
        ("ISO: dominant, nominal", "3.50", "1.50", Verdict::Fails, "volts-stuck"),
        ("a wire at the reference", "1.20", "0.00", Verdict::Fails, "volts-wire-at-reference"),
        ("above 4.5 V only from a supply", "13.3", "12.4", Verdict::Fails, "volts-wire-at-supply"),
        ("both alike", "13.30", "13.30", Verdict::Fails, "volts-both-at-supply"),
        ("below the reference", "-6.0", "-6.0", Verdict::LookAgain, "volts-wrong-reference"),
        ("no pattern", "1.20", "1.10", Verdict::LookAgain, "volts-unclear"),
    ] {
        let judged = volts_of(high, low);
        assert_eq!((judged.verdict, judged.because.key()), (verdict, key), "{source}: {high}, {low}");
        assert!(!judged.next.is_empty() && !judged.sources.is_empty(), "{source}");
        assert_eq!(judged.lines.len(), 2);
    }
}

/// A difference of 40 mV in steps of 10 mV is within the meter's own error: nothing is proved by it. In steps of 1 mV it is.
#[test]
fn what_the_meter_cannot_tell_is_looked_at_again() {
    let coarse = volts_of("2.52", "2.48");
    assert_eq!((coarse.verdict, coarse.because.key()), (Verdict::LookAgain, "volts-working"));
    assert!(coarse.may_be.iter().any(|b| b.key() == "volts-or"), "{:?}", coarse.may_be);
    assert_eq!(coarse.next[0], Because::VoltsBetween {});
    let fine = volts_of("2.520", "2.480");
    assert_eq!((fine.verdict, fine.may_be), (Verdict::Holds, vec![]));
}

/// Bus reference 1.6: at 30 % load 2.62–2.65 V and 2.35–2.38 V, for dominant shares of 0.4 to 0.5.
#[test]
fn the_load_behind_an_average() {
    let (least, _) = volts::load_between(Volts::of(0.30)).unwrap();
    let (_, greatest) = volts::load_between(Volts::of(0.24)).unwrap();
    assert!((least.get() - 30.0).abs() < 1e-9 && (greatest.get() - 30.0).abs() < 1e-9);
    assert_eq!(volts::load_between(Volts::of(1.01)), None);
    assert_eq!(volts_of("2.80", "2.20").because.key(), "volts-busy");
    assert_eq!(volts_of("3.10", "1.90").because.key(), "volts-beyond-load");
}

/// IEC 60028 and ASTM B258: bus reference 3.1, mΩ/m at 20 °C.
#[test]
fn copper_by_area_and_gauge() {
    let milli = |area, at| 1000.0 * resistance(area, Celsius::of(at)).unwrap().get();
    for (area, expected) in [
        (0.14, 123.0),
        (0.22, 78.0),
        (0.25, 69.0),
        (0.34, 51.0),
        (0.5, 34.5),
        (0.6, 28.7),
        (0.75, 23.0),
        (1.0, 17.2),
        (1.5, 11.5),
    ] {
        let found = milli(SquareMillimetres::new(area).unwrap(), 20.0);
        assert!((found / expected - 1.0).abs() < 0.006, "{area} mm²: {found}");
    }
    for (gauge, area, expected) in [
        (26, 0.129, 134.0),
        (24, 0.205, 84.0),
        (23, 0.258, 67.0),
        (22, 0.326, 53.0),
        (20, 0.518, 33.0),
        (18, 0.823, 21.0),
        (16, 1.31, 13.0),
    ] {
        let found = area_of_gauge(gauge).unwrap();
        assert!((found.get() / area - 1.0).abs() < 0.005, "AWG {gauge}: {found:?}");
        assert!((milli(found, 20.0) - expected).abs() < 0.55, "AWG {gauge}: {}", milli(found, 20.0));
    }
    // + 0.39 % for each kelvin.
    let (cold, warm) = (milli(SquareMillimetres::of(1.0), 20.0), milli(SquareMillimetres::of(1.0), 60.0));
    assert!((warm / cold - 1.157).abs() < 0.001);
}

fn plan(kbit: f64, trunk: f64, drop: f64, devices: f64) -> Plan {
    Plan {
        bit_rate: BitRate::new(kbit * 1e3).unwrap(),
        trunk: Metres::new(trunk).unwrap(),
        drop: Metres::new(drop).unwrap(),
        devices: Count::new(devices).unwrap(),
        area: area_of_gauge(24).unwrap(),
        temperature: Celsius::of(20.0),
    }
}

fn most(compared: &Compared, name: &str) -> (Option<f64>, Option<f64>, Option<u32>) {
    let limit = compared.limits.iter().find(|limit| limit.name == name).unwrap_or_else(|| panic!("{name}"));
    (limit.trunk.map(Quantity::get), limit.drop.map(Quantity::get), limit.devices)
}

/// Bus reference 2.1, 2.2 and 1.3: the limits at 500 and 250 kbit/s.
#[test]
fn tables_and_sums_side_by_side() {
    let fast = compare(plan(500.0, 5.0, 0.0, 4.0)).unwrap();
    assert_eq!(most(&fast, "limit-canopen"), (Some(100.0), Some(5.5), None));
    let (timing, _, _) = most(&fast, "limit-timing");
    assert!((timing.unwrap() - 86.5).abs() < 0.3, "{timing:?}");
    let (_, stub, _) = most(&fast, "limit-edge");
    assert!((stub.unwrap() - 1.67).abs() < 0.01, "{stub:?}");
    assert_eq!(most(&fast, "limit-drive").2, Some(106));
    assert_eq!(most(&fast, "limit-j1939-14").0, Some(56.4));
    assert!(!fast.limits.iter().any(|limit| limit.name == "limit-rv-c"), "RV-C runs at 250 kbit/s only");
    // A base case at 1 Mbit/s says nothing of 500 kbit/s.
    assert!(!fast.limits.iter().any(|limit| limit.name == "limit-iso11898"));
    assert_eq!(
        most(&compare(plan(1000.0, 5.0, 0.0, 4.0)).unwrap(), "limit-iso11898"),
        (Some(40.0), Some(0.3), Some(30))
    );
    let slow = compare(plan(250.0, 5.0, 0.0, 4.0)).unwrap();
    assert!((most(&slow, "limit-timing").0.unwrap() - 224.0).abs() < 0.5);
    assert_eq!(most(&slow, "limit-rv-c"), (None, Some(1.83), None));
    assert_eq!(most(&slow, "limit-j1939-11"), (Some(40.0), Some(1.0), Some(30)));
}

#[test]
fn the_limit_that_binds_is_named_with_what_is_to_spare() {
    let verdict = |plan| {
        let judged = compare(plan).unwrap().judged;
        (judged.verdict, format!("{:?}", judged.because), judged.next)
    };
    let (holds, because, next) = verdict(plan(500.0, 80.0, 0.0, 4.0));
    assert_eq!(holds, Verdict::Holds);
    assert!(because.contains("LengthHolds") && because.contains("what-trunk-timing"), "{because}");
    assert_eq!(next, vec![Because::LengthNothingToChange {}]);
    // Between the sum with slow ports (86.5 m) and the table (100 m): worth a second look.
    let (again, because, next) = verdict(plan(500.0, 95.0, 0.0, 4.0));
    assert_eq!(again, Verdict::LookAgain);
    assert!(because.contains("what-trunk-timing"), "{because}");
    assert!(next.contains(&Because::LengthSlower { rate: BitRate::of(250e3) }), "{next:?}");
    // Beyond quick ports (107.5 m) as well.
    assert_eq!(verdict(plan(500.0, 110.0, 0.0, 4.0)).0, Verdict::Fails);
    // Drops: 1.67 m by steep edges, 5.5 m by the table.
    assert_eq!(verdict(plan(500.0, 10.0, 1.0, 4.0)).0, Verdict::Holds);
    let (again, because, _) = verdict(plan(500.0, 10.0, 2.0, 4.0));
    assert!(again == Verdict::LookAgain && because.contains("what-drop-edge"), "{because}");
    let (fails, because, _) = verdict(plan(500.0, 10.0, 6.0, 4.0));
    assert!(fails == Verdict::Fails && because.contains("\"what-drop\""), "{because}");
    // All drops together: 27.5 m.
    let (again, because, _) = verdict(plan(500.0, 10.0, 1.5, 20.0));
    assert!(again == Verdict::LookAgain && because.contains("what-drops"), "{because}");
    // Devices: 64 by the tables, 106 by the driver (AN96116 section 5.2).
    assert_eq!(verdict(plan(500.0, 10.0, 0.0, 64.0)).0, Verdict::Holds);
    assert_eq!(verdict(plan(500.0, 10.0, 0.0, 65.0)).0, Verdict::LookAgain);
    assert_eq!(verdict(plan(500.0, 10.0, 0.0, 107.0)).0, Verdict::Fails);
}

/// AN96116 table 6 as bus reference 3.2 computes it: DeviceNet thick, 22.6 mΩ/m, 32 nodes: 803 m.
#[test]
fn resistance_binds_only_on_long_cable() {
    let mut long = plan(50.0, 900.0, 0.0, 32.0);
    long.area = SquareMillimetres::new(1.0 / 58.0 / 0.0226).unwrap();
    let compared = compare(long).unwrap();
    let (reach, _, _) = most(&compared, "limit-resistance");
    assert!((reach.unwrap() - 803.0).abs() < 1.0, "{reach:?}");
    assert_eq!(compared.judged.verdict, Verdict::Fails);
    let thicker = compared.judged.next.iter().find_map(|because| match because {
        Because::LengthThicker { area } => Some(*area),
        _ => None,
    });
    // What it asks for is enough, and hardly more than that.
    long.area = thicker.unwrap();
    long.trunk = Metres::of(899.9);
    assert_eq!(compare(long).unwrap().judged.verdict, Verdict::Holds);
    long.trunk = Metres::of(900.1);
    assert_eq!(compare(long).unwrap().judged.verdict, Verdict::Fails);
}

fn speaks(protocol: Option<&str>, kbit: f64, bits: u32) -> Speaker {
    let speaking = Speaking {
        protocol: protocol.map(str::to_string),
        bit_rate: BitRate::new(kbit * 1e3).unwrap(),
        identifier_bits: bits,
    };
    Speaker { name: None, speaks: vec![speaking], socket: None }
}

fn of(agreement: &Agreement) -> (Verdict, &'static str, Vec<Symptom>) {
    (agreement.judged.verdict, agreement.judged.because.key(), agreement.symptoms.clone())
}

/// Bit rates and identifiers of bus reference 6.1.
#[test]
fn two_ends_agree_or_differ() {
    let battery = speaks(Some("battery-11-bit"), 500.0, 11);
    let rv_c = speaks(Some("rv-c"), 250.0, 29);
    let found = agree(&battery, &rv_c).unwrap();
    let all = vec![Symptom::WrongBitRate, Symptom::OtherIdentifierLength, Symptom::OtherProtocol];
    assert_eq!(of(&found), (Verdict::Fails, "rates-differ", all));
    assert_eq!(found.judged.also.len(), 2);
    assert_eq!(of(&agree(&battery, &battery).unwrap()), (Verdict::Holds, "profiles-agree", vec![]));
    // RV-C and J1939 share rate and identifiers: only the protocol tells.
    let j1939 = speaks(Some("j1939"), 250.0, 29);
    let found = agree(&rv_c, &j1939).unwrap();
    assert_eq!(of(&found), (Verdict::Fails, "protocols-differ", vec![Symptom::OtherProtocol]));
    // What is not known proves nothing.
    let unknown = speaks(None, 250.0, 29);
    assert_eq!(of(&agree(&rv_c, &unknown).unwrap()), (Verdict::LookAgain, "profiles-as-far", vec![]));
    let longer = speaks(None, 500.0, 29);
    let found = agree(&battery, &longer).unwrap();
    assert_eq!(of(&found), (Verdict::Fails, "identifiers-differ", vec![Symptom::OtherIdentifierLength]));
    let nothing = Speaker { name: None, speaks: vec![], socket: None };
    assert_eq!(agree(&battery, &nothing), None);
}

#[test]
fn ends_of_the_content() {
    let content = built_in();
    let module = |key: &str| content.end_of_module(content.equipment.module(key).unwrap());
    let port = |monitor: &str, key: &str| {
        let monitor = content.equipment.monitor(monitor).unwrap();
        content.end_of_port(monitor, monitor.ports.iter().find(|port| port.key == key).unwrap())
    };
    let fixed = agree(&module("plain-12-230"), &port("window-2", "battery")).unwrap();
    assert_eq!(of(&fixed), (Verdict::Holds, "profiles-agree", vec![]));
    assert_eq!(fixed.judged.next.iter().map(Because::key).collect::<Vec<_>>(), ["profile-fixed", "profile-fixed"]);
    let settable = agree(&module("plain-12-105-i"), &port("window-5", "data-1")).unwrap();
    assert_eq!(settable.judged.verdict, Verdict::Holds);
    assert!(settable.judged.next.iter().all(|because| because.key() == "profile-set"));
    let wrong = agree(&module("plain-12-230"), &port("window-5", "coach")).unwrap();
    assert_eq!(wrong.judged.verdict, Verdict::Fails);
    // Another plug: a lead that is made for the pair.
    let other = agree(&module("plain-24-100"), &port("window-5", "data-1")).unwrap();
    assert_eq!(other.judged.verdict, Verdict::LookAgain);
    assert!(other.judged.also.iter().any(|because| because.key() == "sockets-differ"));
    // The same plug with other pins outranks a profile that agrees.
    let mut twisted = port("window-2", "battery");
    twisted.socket.as_mut().unwrap().high = 4;
    let found = agree(&module("plain-12-230"), &twisted).unwrap();
    assert_eq!(of(&found), (Verdict::Fails, "pins-differ", vec![Symptom::OtherPinout]));
}

fn bias(ohms: f64, loads: f64) -> Bias {
    let side = Ohms::new(ohms).unwrap();
    Bias {
        supply: Volts::of(5.0),
        pull_up: side,
        pull_down: side,
        terminators: vec![Ohms::of(120.0); 2],
        unit_loads: Count::new(loads).unwrap(),
    }
}

/// Bus reference 7: 5 V, 680 Ω: 211 mV; with 32 unit loads 183 mV; 620 Ω and 32: 200 mV; largest 720 Ω and 621 Ω.
#[test]
fn the_idle_voltage_of_a_biased_pair() {
    let of = |ohms, loads| {
        let judged = judge_idle(&bias(ohms, loads));
        (judged.verdict, judged.because.key(), judged.lines[0].reading.value())
    };
    let (verdict, key, idle) = of(680.0, 0.0);
    // 211 mV is enough, but not with a supply and resistors that are off by 5 % each.
    assert_eq!((verdict, key), (Verdict::LookAgain, "idle-barely"));
    assert!((idle - 0.211).abs() < 0.0005, "{idle}");
    let (verdict, key, idle) = of(680.0, 32.0);
    assert_eq!((verdict, key), (Verdict::Fails, "idle-too-low"));
    assert!((idle - 0.183).abs() < 0.0005, "{idle}");
    assert!((of(620.0, 32.0).2 - 0.200).abs() < 0.0005);
    assert_eq!(of(470.0, 32.0).0, Verdict::Holds);
    let largest = |loads| {
        judge_idle(&bias(680.0, loads)).sum.into_iter().find_map(|because| match because {
            Because::IdleLargest { largest } => Some(largest.get()),
            _ => None,
        })
    };
    assert!((largest(0.0).unwrap() - 720.0).abs() < 0.5 && (largest(32.0).unwrap() - 621.0).abs() < 0.6);
    // A driver carries 32 unit loads (TI SN75ALS174).
    assert!(judge_idle(&bias(300.0, 33.0)).also.iter().any(|because| because.key() == "idle-too-many-loads"));
    assert!(judge_idle(&bias(300.0, 32.0)).also.is_empty());
    assert_eq!(
        judge_idle(&Bias {
            pull_up: Ohms::of(0.0),
            pull_down: Ohms::of(0.0),
            terminators: vec![Ohms::of(0.0)],
            ..bias(0.0, 0.0)
        })
        .verdict,
        Verdict::Fails
    );
}

/// Bus reference 7: with bias a little below 60 Ω; with terminators behind capacitors kilohms to open.
#[test]
fn ohms_between_the_lines_of_rs485() {
    let reads = |pair: Pair| match pair_reading(&pair.bias().unwrap()) {
        Because::PairReads { reading } => Some(reading.get()),
        _ => None,
    };
    let pair = Pair {
        supply: Volts::of(5.0),
        pull_up: Ohms::of(680.0),
        pull_down: Ohms::of(680.0),
        terminated: Terminated::BothEnds,
        receivers: Count::of(0.0),
        load: Load::Whole,
    };
    // 60 Ω beside 1360 Ω.
    assert!((reads(pair).unwrap() - 57.46).abs() < 0.01);
    assert!((reads(Pair { terminated: Terminated::WithCapacitor, ..pair }).unwrap() - 1360.0).abs() < 1e-6);
    let eighths = Pair { receivers: Count::of(8.0), load: Load::Eighth, ..pair };
    assert_eq!(eighths.bias().unwrap().unit_loads, Count::of(1.0));
    let bare = Pair { pull_up: Ohms::of(0.0), pull_down: Ohms::of(0.0), terminated: Terminated::Nowhere, ..pair };
    assert_eq!(reads(bare), None);
}

/// Bus reference 7: the line that idles higher by at least 0.2 V is the positive one.
#[test]
fn which_line_is_which() {
    let of = |first: &str, second: &str| {
        let judged = judge_polarity(shown(first), shown(second)).unwrap();
        let plus =
            judged.because.args().into_iter().find(|(name, _)| *name == "plus").map(|(_, arg)| format!("{arg:?}"));
        (judged.verdict, judged.because.key(), plus)
    };
    let (verdict, key, plus) = of("2.61", "2.29");
    assert_eq!((verdict, key), (Verdict::Holds, "line-is-plus"));
    assert!(plus.unwrap().contains("line-first"));
    assert!(of("2.29", "2.61").2.unwrap().contains("line-second"));
    assert_eq!(of("2.50", "2.30").1, "line-border");
    assert_eq!((of("2.50", "2.45").0, of("2.50", "2.45").1), (Verdict::LookAgain, "line-unclear"));
}

/// Pins for CAN: CiA 303-1 (bus reference 4).
#[test]
fn pins_of_the_connectors() {
    let content = built_in();
    for (key, high, low, reference) in [
        ("d-sub-9", 7, 2, 3),
        ("rj45", 1, 2, 3),
        ("rj10", 2, 3, 4),
        ("m12-a-5", 4, 5, 3),
        ("mini-5", 4, 5, 3),
        ("terminal-5", 4, 2, 1),
        ("header-10", 4, 3, 5),
    ] {
        let connector = content.connector(key).unwrap_or_else(|| panic!("{key}"));
        let found = [Role::High, Role::Low, Role::Reference].map(|role| connector.role(role));
        assert_eq!(found, [Some(high), Some(low), Some(reference)], "{key}");
    }
    // A socket of nine: the row of five runs from right to left, as seen from the front.
    assert_eq!(content.connector("d-sub-9").unwrap().rows(), [vec![5, 4, 3, 2, 1], vec![9, 8, 7, 6]]);
    assert_eq!(content.connector("m12-a-5").unwrap().rows(), [vec![1, 2], vec![5], vec![4, 3]]);
}

#[test]
fn identifier_lengths_and_rates_of_protocols() {
    let content = built_in();
    for (key, bits, rate) in
        [("rv-c", 29, 250e3), ("battery-11-bit", 11, 500e3), ("j1939", 29, 250e3), ("canopen", 11, 1e6)]
    {
        let protocol = content.protocol(key).unwrap_or_else(|| panic!("{key}"));
        assert_eq!((protocol.identifier_bits[0], protocol.bit_rates[0].get()), (bits, rate), "{key}");
    }
    assert_eq!(content.protocol("canopen").unwrap().bit_rates.len(), 8);
}

#[test]
fn bare_numbers_take_the_fields_unit() {
    let rate = |text: &str| match read_in(text, Kind::BitRate, "kbit/s") {
        Ok(Entry::Figure(shown)) => Ok(shown.figure.value()),
        Ok(Entry::BeyondRange) => panic!("{text}"),
        Err(why) => Err(why),
    };
    assert_eq!(rate("500"), Ok(500e3));
    assert_eq!(rate(" 62,5 "), Ok(62.5e3));
    assert_eq!(rate("250 kbit/s"), Ok(250e3));
    assert_eq!(rate("1 Mbit/s"), Ok(1e6));
    assert!(matches!(rate("1001"), Err(Unreadable::OutOfRange { .. })));
    assert_eq!(rate(""), Err(Unreadable::Empty));
    assert_eq!(rate(&"7".repeat(10_000)), Err(Unreadable::TooLong));
    // With the unit it is longer than a field reads: no guess which digits count.
    assert_eq!(rate(&"7".repeat(40)), Err(Unreadable::TooLong));
}

/// Every source and name that a verdict gives is in the lists that content is checked against.
#[test]
fn verdicts_keep_to_the_lists() {
    let limits = compare(plan(125.0, 5.0, 0.0, 4.0)).unwrap();
    let slow = compare(plan(250.0, 5.0, 0.0, 4.0)).unwrap();
    let judged = [
        limits.judged.clone(),
        volts_of("2.65", "2.35"),
        judge_idle(&bias(680.0, 1.0)),
        judge_polarity(shown("2.61"), shown("2.29")).unwrap(),
        agree(&speaks(None, 500.0, 11), &speaks(None, 500.0, 11)).unwrap().judged,
    ];
    for key in judged.iter().flat_map(|judged| &judged.sources) {
        assert!(SOURCES.contains(key), "{key}");
    }
    for limit in limits.limits.iter().chain(&slow.limits) {
        assert!(SOURCES.contains(&limit.source) && NAMES.contains(&limit.name), "{limit:?}");
    }
    for name in judged.iter().flat_map(|judged| &judged.lines).map(|line| line.name) {
        assert!(NAMES.contains(&name), "{name}");
    }
}
