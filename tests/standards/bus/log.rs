//! Logs read as a stream, and what their messages say, against the examples of the bus reference and another reader.

use proptest::prelude::*;
use sixty_ohms::core::bus::capture::{Capture, Report};
use sixty_ohms::core::bus::dbc::Dbc;
use sixty_ohms::core::bus::frame::Identifier;
use sixty_ohms::core::bus::readings::{Field, Of, Readings, Value, Voice};
use sixty_ohms::core::job::check::Check;
use sixty_ohms::core::job::take::offers;
use sixty_ohms::core::units::{Amperes, BitRate, CodedCelsius, CodedVolts, Percent, Quantity};

fn report(text: &str) -> Report {
    let mut capture = Capture::new();
    capture.feed(text.as_bytes());
    capture.finish()
}

/// Bus reference 6.3, decode examples (computed there from RV-C table 5.3), and 6.4 and 6.5 as frames of CiA 301.
const EXAMPLES: &str = "\
(10.000000) can0 19FFFD80#01780A019CF73577
(10.100000) can0 19FFFC80#01784025A0FFFFFF
(10.200000) can0 19FEC980#0178021C01E880F3
(10.300000) can0 19FFFD81#0114200100000000
(10.400000) can0 705#05
(10.500000) can0 18FECA80#0540FFFFFFFFFFFF
";

fn of_bank(readings: &Readings, address: u8) -> &sixty_ohms::core::bus::readings::Source {
    &readings.sources[&Voice { of: Of::Bank { instance: Some(1) }, address }]
}

#[test]
fn the_examples_of_the_reference() {
    let report = report(EXAMPLES);
    assert_eq!((report.lines, report.problem_count), (6, 0));
    let readings = report.interfaces[0].readings();
    let bank = of_bank(readings, 0x80);
    assert_eq!((bank.messages, bank.device_priority), (3, Some(120)));
    let volts = |field: Field| bank.figure::<CodedVolts>(field).map(|(volts, _)| volts.get());
    assert!((volts(Field::Voltage).unwrap() - 13.30).abs() < 1e-9);
    assert!((volts(Field::AskedVoltage).unwrap() - 14.20).abs() < 1e-9);
    let amperes = |field: Field| bank.figure::<Amperes>(field).map(|(amperes, _)| amperes.get());
    assert!((amperes(Field::Current).unwrap() - 25.500).abs() < 1e-9);
    assert!((amperes(Field::AskedCurrent).unwrap() - 50.0).abs() < 1e-9);
    assert_eq!(bank.figure::<CodedCelsius>(Field::Temperature).map(|(c, _)| c.get()), Some(25.0));
    let (charge, said) = bank.figure::<Percent>(Field::StateOfCharge).unwrap();
    assert_eq!((charge, said.group, said.at.micros()), (Percent::of(80.0), 0x1FFFC, 10_100_000));
    assert_eq!(bank.said.get(&Field::TimeToEmpty), None, "no data");
    assert_eq!(bank.said[&Field::AskedState].value, Value::Word("bulk"));
    assert_eq!(bank.said[&Field::BatteryType].value, Value::Code(3));
    // The fourth example is of a sender that sends zero where it knows nothing.
    let poor = of_bank(readings, 0x81);
    assert!((poor.figure::<CodedVolts>(Field::Voltage).unwrap().0.get() - 14.40).abs() < 1e-9);
    assert_eq!(poor.said.get(&Field::Current), None);
    assert_eq!(readings.nodes[&5].heartbeats, 1);
    let faults = readings.faults.values().next().unwrap();
    assert!(faults.codes.is_empty() && faults.messages == 1);
    // What a job is offered of it: the sender with a priority of 120 goes before the one of 20.
    let voice = readings.banks()[0];
    assert_eq!(voice.address, 0x80);
    let offered: Vec<Check> = offers(readings, voice).iter().map(|offer| offer.check).collect();
    assert_eq!(offered, vec![Check::ShownSoc, Check::ShownVoltage, Check::CurrentDirection]);
}

/// A line of a log: sound, odd, or none at all.
fn line() -> impl Strategy<Value = Vec<u8>> {
    let sound = (0u64..5_000_000, 0usize..3, any::<u32>(), any::<bool>(), prop::collection::vec(any::<u8>(), 0..=8))
        .prop_map(|(at, interface, id, extended, data)| {
            let groups = [0x1FFFD, 0x1FFFC, 0x1FFFB, 0x1FEC8, 0x1FEC7, 0x1FEA5, 0x1FECA, 0x0FECA, 0x1FE95];
            let id = match (extended, id % 3) {
                (true, 0) => format!("{:08X}", id & 0x1FFF_FFFF),
                (true, _) => format!("{:08X}", 6 << 26 | groups[id as usize % groups.len()] << 8 | id >> 28),
                (false, 0) => format!("{:03X}", id & 0x7FF),
                (false, n) => format!("{:03X}", if n == 1 { 0x700 } else { 0x080 } | id >> 25),
            };
            let data: String = data.iter().map(|byte| format!("{byte:02X}")).collect();
            format!("({}.{:06}) can{interface} {id}#{data}", at / 1_000_000, at % 1_000_000).into_bytes()
        });
    prop_oneof![
        8 => sound,
        1 => prop::collection::vec(any::<u8>(), 0..400),
        1 => Just(b"(1.0) can0 123#R4".to_vec()),
        1 => Just(b"(1.0) can0 123##1AABB".to_vec()),
        1 => Just(Vec::new()),
    ]
}

fn all_of(report: &Report) -> String {
    let interfaces = report.interfaces.iter().map(|traffic| {
        let counts = (traffic.name(), traffic.frames(), traffic.flexible(), traffic.errors());
        format!("{counts:?}{:?}{:?}{:?}", traffic.talkers, traffic.loads(BitRate::of(250e3)), traffic.readings())
    });
    let interfaces: Vec<String> = interfaces.collect();
    format!("{}{:?}{}{interfaces:?}", report.lines, report.problems, report.problem_count)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whole, byte by byte or cut anywhere: everything that is kept of a log is the same.
    #[test]
    fn a_log_reads_alike_however_it_is_cut(
        lines in prop::collection::vec(line(), 0..60),
        cuts in prop::collection::vec(any::<prop::sample::Index>(), 0..20),
        ends in any::<bool>(),
    ) {
        let mut bytes = lines.join(&b'\n');
        if ends {
            bytes.push(b'\n');
        }
        let mut whole = Capture::new();
        whole.feed(&bytes);
        let whole = all_of(&whole.finish());
        let mut single = Capture::new();
        bytes.iter().for_each(|byte| single.feed(&[*byte]));
        prop_assert_eq!(&all_of(&single.finish()), &whole);
        let mut places: Vec<usize> = cuts.iter().map(|cut| cut.index(bytes.len() + 1)).collect();
        places.sort_unstable();
        let mut cut = Capture::new();
        let mut from = 0;
        for place in places {
            cut.feed(&bytes[from..place]);
            from = place;
        }
        cut.feed(&bytes[from..]);
        prop_assert_eq!(&all_of(&cut.finish()), &whole);
    }

    #[test]
    fn any_bytes_are_some_description(bytes in prop::collection::vec(any::<u8>(), 0..2000)) {
        let dbc = Dbc::read(&bytes);
        for id in dbc.messages.keys() {
            dbc.decode(*id, &[0xFF; 8]);
        }
    }

    /// Lines that look nearly right, put together from the pieces of right ones.
    #[test]
    fn near_descriptions_never_stop_it(
        pieces in prop::collection::vec(prop::sample::select(vec![
            "BO_ ", "SG_ ", "VAL_ ", "SIG_VALTYPE_ ", "291 ", "2147483649 ", "Name", ": ", "8 A", "0|8", "63|64", "511|1", "@1+ ",
            "@0- ", "(1,0) ", "(1e308,1e308) ", "[0|1] ", "\"V\" ", "\"", "m1 ", "M ", "m1M ", " ;", "\n", "\n", " ",
        ]), 0..80),
    ) {
        let dbc = Dbc::read(pieces.concat().as_bytes());
        for id in dbc.messages.keys() {
            dbc.decode(*id, &[0xFF; 8]);
            dbc.decode(*id, &[]);
        }
    }

    /// Signals as our reader and the crate can-dbc 10 see them, over random descriptions.
    #[test]
    fn descriptions_read_as_another_reader_reads_them(
        messages in prop::collection::vec((any::<bool>(), 0u32..0x7FF, prop::collection::vec(
            (0u16..64, 1u8..=32, any::<bool>(), any::<bool>(), -1000i32..1000, -1000i32..1000, 0u8..4), 1..6)), 1..6),
    ) {
        let mut text = String::from("VERSION \"\"\n\nNS_ :\n\nBS_:\n\nBU_: A B\n\n");
        for (index, (extended, id, signals)) in messages.iter().enumerate() {
            let id = if *extended { 1u32 << 31 | id << 8 | index as u32 } else { (id & 0x7F) << 4 | index as u32 };
            text += &format!("BO_ {id} Message{index}: 8 A\n");
            for (n, (start, bits, little, signed, factor, offset, when)) in signals.iter().enumerate() {
                let mark = match when { 0 if n == 0 => "M ".into(), 1 => format!("m{n} "), _ => String::new() };
                let sign = if *signed { '-' } else { '+' };
                let (factor, offset) = (f64::from(*factor) / 100.0, f64::from(*offset) / 10.0);
                text += &format!(
                    " SG_ Signal{n} {mark}: {start}|{bits}@{}{sign} ({factor},{offset}) [0|0] \"V{n}\" B\n",
                    u8::from(*little)
                );
            }
            text.push('\n');
        }
        let ours = Dbc::read(text.as_bytes());
        let theirs = can_dbc::Dbc::try_from(text.as_str()).expect("the description is sound");
        prop_assert_eq!((ours.problem_count, ours.messages.len()), (0, theirs.messages.len()));
        for their in &theirs.messages {
            let id = match their.id {
                can_dbc::MessageId::Standard(id) => Identifier::base(u32::from(id)),
                can_dbc::MessageId::Extended(id) => Identifier::extended(id),
            };
            let our = ours.message_of(id.unwrap()).expect("it is there");
            prop_assert_eq!(&our.name, &their.name);
            prop_assert_eq!(our.signals.len(), their.signals.len());
            for (our, their) in our.signals.iter().zip(&their.signals) {
                let fields = (&our.name, u64::from(our.start), u64::from(our.bits), &our.unit, our.factor, our.offset);
                prop_assert_eq!(
                    fields,
                    (&their.name, their.start_bit, their.size, &their.unit, their.factor, their.offset)
                );
                prop_assert_eq!(our.little_endian, their.byte_order == can_dbc::ByteOrder::LittleEndian);
            }
        }
    }
}

/// Why can-dbc is not what the app reads with: of a file with one line that it does not know it gives nothing.
#[test]
fn one_odd_line_costs_one_line() {
    let text =
        "BO_ 1 One: 8 A\n SG_ X : 0|8@1+ (1,0) [0|0] \"V\" B\n\nBO_ 2 Two: 8 A\n SG_ Y : 0|8@7+ (1,0) [0|0] \"V\" B\n";
    let ours = Dbc::read(text.as_bytes());
    assert_eq!((ours.messages.len(), ours.problem_count), (2, 1));
    assert!(can_dbc::Dbc::try_from(text).is_err());
}
