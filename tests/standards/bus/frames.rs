//! Frames to the bit, bus load, and what messages of open protocols say, against published figures.

use super::{Random, equal, shows};
use proptest::prelude::*;
use sixty_ohms::core::bus::canopen::{self, NodeState};
use sixty_ohms::core::bus::capture::Capture;
use sixty_ohms::core::bus::frame::{Content, Data, Frame, Identifier, Message, bounds, crc15, load};
use sixty_ohms::core::bus::j1939::{self, Speech, failure_mode};
use sixty_ohms::core::bus::rvc::{self, About, Body, ChargeState, IRON_PHOSPHATE};
use sixty_ohms::core::units::{BitRate, Quantity, Seconds};

fn identifier(value: u32, extended: bool) -> Identifier {
    if extended { Identifier::extended(value) } else { Identifier::base(value) }.unwrap()
}

/// Bus reference 5.1: ISO 11898-1; Linux `length.h`; can-utils `canframelen.h` (checked).
#[test]
fn lengths_of_frames() {
    const BASE: [(u32, u32); 9] =
        [(47, 55), (55, 65), (63, 75), (71, 85), (79, 95), (87, 105), (95, 115), (103, 125), (111, 135)];
    const EXTENDED: [(u32, u32); 9] =
        [(67, 80), (75, 90), (83, 100), (91, 110), (99, 120), (107, 130), (115, 140), (123, 150), (131, 160)];
    for (extended, table) in [(false, BASE), (true, EXTENDED)] {
        for (bytes, (least, most)) in (0..=8).zip(table) {
            let got = bounds(bytes, extended).unwrap();
            assert_eq!((got.least, got.most), (least, most), "{bytes} bytes, extended: {extended}");
        }
    }
    assert_eq!(bounds(9, false), None);
}

/// Bus reference 5.1, concrete frames: computed, equal to can-utils' exact count.
#[test]
fn concrete_frames() {
    for (id, extended, data, crc, stuff, unstuffed, on_wire) in [
        (0x123, false, "0011223344556677", 0x0BD4, 2, 108, 113),
        (0x705, false, "05", 0x68BF, 4, 52, 59),
        (0x000, false, "0000000000000000", 0x145B, 16, 108, 127),
        (0x19FF_FD80, true, "01780A019CF73577", 0x2906, 10, 128, 141),
        (0x18FE_CA80, true, "0540FFFFFFFFFFFF", 0x1403, 15, 128, 146),
    ] {
        let content = Content::Data(Data::from_hex(data).unwrap());
        let bits = Frame { identifier: identifier(id, extended), content }.bits();
        let got = (bits.crc15, bits.stuff, bits.unstuffed, bits.on_wire());
        assert_eq!(got, (crc, stuff, unstuffed, on_wire), "{id:X}#{data}");
    }
}

/// CRC catalogue, CRC-15/CAN: check("123456789") = 0x059E.
#[test]
fn checksum_of_the_catalogue() {
    let bits = b"123456789".iter().flat_map(|byte| (0..8).rev().map(move |bit| byte >> bit & 1 == 1));
    assert_eq!(crc15(bits), 0x059E);
}

/// Davis et al. 2007: no frame has more stuff bits than the bound; Tindell's older one (130 for 8 bytes) is too small.
#[test]
fn no_frame_exceeds_its_bound() {
    let mut random = Random::new(11_898);
    let mut greatest = 0;
    for _ in 0..20_000 {
        let extended = random.below(2) == 1;
        let id = random.next() as u32 & if extended { 0x1FFF_FFFF } else { 0x7FF };
        let count = random.below(9);
        // Long runs are where stuff bits are, so bytes lean to all zeros and all ones.
        let bytes: Vec<u8> = (0..count).map(|_| [0x00, 0xFF, 0x0F, random.next() as u8][random.below(4)]).collect();
        let content = Content::Data(Data::new(&bytes).unwrap());
        let bits = Frame { identifier: identifier(id, extended), content }.bits();
        let bounds = bounds(count as u8, extended).unwrap();
        assert!((bounds.least..=bounds.most).contains(&bits.on_wire()), "{id:X} {bytes:?}");
        greatest = greatest.max(bits.stuff);
    }
    assert!(greatest >= 15, "{greatest}");
}

/// Bus reference 5.2: worst stuffing.
#[test]
fn loads_of_a_bus() {
    let each = |count: usize, bytes: u8, extended: bool, period: f64| {
        vec![Message { bytes, extended, period: Seconds::new(period).unwrap() }; count]
    };
    let source = [each(3, 8, true, 0.5), each(1, 8, true, 5.0)].concat();
    for (what, rate, messages, printed) in [
        ("6 base frames a second", 500e3, each(6, 8, false, 1.0), "0.16"),
        ("8 base frames each 100 ms", 500e3, each(8, 8, false, 0.1), "2.2"),
        ("one RV-C source", 250e3, source, "0.40"),
        ("20 nodes, 10 extended frames a second", 250e3, each(200, 8, true, 1.0), "12.8"),
    ] {
        let load = load(BitRate::new(rate).unwrap(), &messages).unwrap();
        shows("bus 5.2", what, 100.0 * load.most.get(), printed);
        assert!(load.least < load.most, "{what}");
    }
    for (rate, extended, least, most) in [(500e3, false, "3704", "4505"), (250e3, true, "1563", "1908")] {
        let one = load(BitRate::new(rate).unwrap(), &each(1, 8, extended, 1.0)).unwrap();
        shows("bus 5.2", "frames a second, worst stuffing", 1.0 / one.most.get(), least);
        shows("bus 5.2", "frames a second, no stuffing", 1.0 / one.least.get(), most);
    }
}

/// Bus reference 6.2: Linux `j1939.rst`, can-j1939 2.0.12, RV-C decoders.
#[test]
fn identifiers_of_29_bits() {
    let rv = rvc::split(0x19FF_FD80).unwrap();
    assert_eq!((rv.priority, rv.dgn, rv.source_address), (6, 0x1FFFD, 0x80), "RV-C");
    for (id, priority, pgn, destination, address) in [
        (0x18EA_FF80, 6, 59904, Some(255), 0x80),
        (0x18EE_FF01, 6, 60928, Some(255), 0x01),
        (0x1CEC_0A80, 7, 60416, Some(0x0A), 0x80),
        (0x1CEB_0A80, 7, 60160, Some(0x0A), 0x80),
        (0x18FE_CA80, 6, 65226, None, 0x80),
    ] {
        let parts = j1939::split(id).unwrap();
        let got = (parts.priority, parts.pgn, parts.destination, parts.source_address);
        assert_eq!(got, (priority, pgn, destination, address), "{id:X}");
    }
}

/// Bus reference 6.3, decode examples: computed from RV-C table 5.3; signs and codes of RV-C tables 6.5.2b and 6.5.5b.
#[test]
fn messages_of_a_battery() {
    let read = |id: u32, data: &str| rvc::decode(id, Data::from_hex(data).unwrap().as_slice()).unwrap().body;
    let bms = |about: About| {
        assert_eq!(about, About::Source { instance: Some(1), device_priority: Some(120) });
    };

    let Body::Output { about, voltage, current } = read(0x19FF_FD80, "01780A019CF73577") else { panic!() };
    bms(about);
    equal("status 1", "0x010A", voltage.unwrap().get(), 13.30);
    equal("status 1", "0x7735F79C, out of the bank", current.unwrap().get(), 25.5);

    let Body::Charge { about, temperature, state_of_charge, time_remaining, .. } =
        read(0x19FF_FC80, "01784025A0FFFFFF")
    else {
        panic!()
    };
    bms(about);
    equal("status 2", "0x2540", temperature.unwrap().get(), 25.0);
    equal("status 2", "0xA0", state_of_charge.unwrap().get(), 80.0);
    assert_eq!(time_remaining, None, "no data");

    let Body::Request { about, state, voltage, current, battery_type, .. } = read(0x19FE_C980, "0178021C01E880F3")
    else {
        panic!()
    };
    bms(about);
    assert_eq!((state, battery_type), (Some(ChargeState::Bulk), Some(IRON_PHOSPHATE)));
    equal("status 4", "0x011C", voltage.unwrap().get(), 14.20);
    equal("status 4", "0x80E8", current.unwrap().get(), 50.0);

    let Body::Output { voltage, current, .. } = read(0x19FF_FD80, "0114200100000000") else { panic!() };
    equal("status 1", "0x0120", voltage.unwrap().get(), 14.40);
    assert_eq!(current, None, "−2 000 000 A cannot be");
}

/// Bus reference 6.3: codes of the desired charge state (RV-C table 6.5.5b).
#[test]
fn charge_states() {
    for (code, state) in [
        (0, ChargeState::Undefined),
        (1, ChargeState::DoNotCharge),
        (2, ChargeState::Bulk),
        (3, ChargeState::Absorption),
        (4, ChargeState::Overcharge),
        (5, ChargeState::Equalise),
        (6, ChargeState::Float),
        (7, ChargeState::ConstantVoltageOrCurrent),
    ] {
        let body = rvc::decode(0x19FE_C980, &[1, 120, code]).unwrap().body;
        assert!(matches!(body, Body::Request { state: Some(seen), .. } if seen == state), "{code}");
    }
    let none = rvc::decode(0x19FE_C980, &[1, 120, 255]).unwrap().body;
    assert!(matches!(none, Body::Request { state: None, .. }), "255 is no data");
}

/// Bus reference 6.4: failure modes. 0–19 and 31 are alike in three sources; 20–22 depend on the protocol.
#[test]
fn failure_modes() {
    for fmi in (0..=13).chain(15..=19).chain([31]) {
        assert_eq!(failure_mode(fmi, Speech::J1939), failure_mode(fmi, Speech::RvC), "{fmi}");
    }
    for (fmi, j1939, rvc) in [
        (20, "drifted_high", "device_silent"),
        (21, "drifted_low", "device_silent_because_of_another"),
        (22, "reserved", "reversed_polarity"),
        (25, "reserved", "reserved"),
    ] {
        assert_eq!((failure_mode(fmi, Speech::J1939), failure_mode(fmi, Speech::RvC)), (j1939, rvc), "{fmi}");
    }
}

/// Bus reference 6.5: heartbeat codes (documentation of a CANopen driver).
#[test]
fn heartbeats() {
    for (code, state) in
        [(0, NodeState::BootUp), (4, NodeState::Stopped), (5, NodeState::Operational), (127, NodeState::PreOperational)]
    {
        let seen = canopen::decode(identifier(0x705, false), &[code]);
        assert_eq!(seen, Some(canopen::Message::Heartbeat { node: 5, state }), "{code}");
    }
}

proptest! {
    /// Any bytes at all are read without a panic, and alike however they are cut.
    #[test]
    fn captures_read_alike_however_they_are_cut(
        bytes in prop::collection::vec(prop_oneof![any::<u8>(), prop::sample::select(b"(01.) can0#ABF\n".to_vec())], 0..600),
        size in 1..50usize,
    ) {
        let (mut whole, mut cut) = (Capture::new(), Capture::new());
        whole.feed(&bytes);
        bytes.chunks(size).for_each(|chunk| cut.feed(chunk));
        let (whole, cut) = (whole.finish(), cut.finish());
        prop_assert_eq!(whole.lines, cut.lines);
        prop_assert_eq!(whole.problems, cut.problems);
        prop_assert_eq!(whole.interfaces.len(), cut.interfaces.len());
    }

    /// Any identifier and any data are read without a panic; values stay inside what their fields can say.
    #[test]
    fn any_message_is_read(id in any::<u32>(), group in prop::sample::select(vec![0x1FFFDu32, 0x1FFFC, 0x1FFFB, 0x1FEC9,
        0x1FEC8, 0x1FEC7, 0x1FEA5, 0x1FE95, 0x1FE90, 0x1FED0, 0x1FECA]), data in prop::collection::vec(any::<u8>(), 0..9)) {
        prop_assert_eq!(rvc::decode(id, &data).is_some(), id <= 0x1FFF_FFFF);
        let message = rvc::decode(6 << 26 | group << 8 | (id & 0xFF), &data).unwrap();
        prop_assert!(!message.name.is_empty());
        prop_assert_eq!(message.parts.dgn, group);
        if let Body::Output { voltage, current, .. } = message.body {
            prop_assert!(voltage.is_none_or(|v| (0.0..=3212.5).contains(&v.get())));
            prop_assert!(current.is_none_or(|a| a.get().abs() <= 20_000.0));
        }
    }
}
