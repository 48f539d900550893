//! Jobs to pack: those of the demo, and any others.

use proptest::prelude::*;
use sixty_ohms::content::built_in;
use sixty_ohms::content::walk::cards;
use sixty_ohms::core::bank::table::Table;
use sixty_ohms::core::entry::{Entry, Shown, read};
use sixty_ohms::core::faults::bus::Pair;
use sixty_ohms::core::faults::finder::Event;
use sixty_ohms::core::job::assess::assess;
use sixty_ohms::core::job::check::{Asks, Check};
use sixty_ohms::core::job::hold::{Doing, Hold};
use sixty_ohms::core::job::lists::{OwnItem, OwnList, Taken};
use sixty_ohms::core::job::story::{Story, Told};
use sixty_ohms::core::job::{Job, Moment, Observation, People, Seen, Subject};
use sixty_ohms::core::site::figures::*;
use sixty_ohms::core::site::{Draft, End, Stop};
use sixty_ohms::core::units::{Figure, Kind, Quantity};
use std::collections::BTreeMap;

/// 24 November 2026, in the morning.
pub const BEGUN: i64 = 1_795_510_800_417;

pub fn draft(key: &str) -> Draft {
    let content = built_in();
    let demo = content.demo.iter().find(|demo| demo.key == key).expect("the demo is in the content");
    content.equipment.draft_of(demo).expect("its equipment is there")
}

/// Steps of time as a person makes them: half a minute to four minutes, to the millisecond.
pub struct Clock(i64, u64);

impl Clock {
    pub fn new() -> Clock {
        Clock(BEGUN, 60)
    }

    pub fn next(&mut self) -> Moment {
        self.1 ^= self.1 << 13;
        self.1 ^= self.1 >> 7;
        self.1 ^= self.1 << 17;
        self.0 += 30_000 + (self.1 % 210_000) as i64;
        Moment(self.0)
    }
}

pub fn typed(of: Subject, kind: Kind, text: &str, at: Moment) -> Observation {
    let seen = match read(text, kind).expect("it can be read") {
        Entry::Figure(shown) => Seen::Figure(shown),
        Entry::BeyondRange => Seen::BeyondRange,
    };
    Observation::new(of, at, seen, text)
}

fn checked(check: Check, text: &str, at: Moment) -> Observation {
    match check.asks() {
        Asks::Number { kind, .. } => typed(Subject::Check(check), kind, text, at),
        Asks::Answer(_) => Observation::new(Subject::Check(check), at, Seen::Answer(text.into()), ""),
    }
}

const LARK: [(Check, &str); 12] = [
    (Check::PairVolts, "0.002"),
    (Check::HighToReferenceVolts, "0.01"),
    (Check::LowToReferenceVolts, "-0.01"),
    (Check::PairOhmsAtMonitor, "60.4"),
    (Check::PairOhmsAtBank, "60.6"),
    (Check::ShownModules, "3"),
    (Check::ShownCapacity, "690"),
    (Check::FirstFullCharge, "yes"),
    (Check::ShownSoc, "98"),
    (Check::ShownCharge, "676"),
    (Check::ShownVoltage, "13.42"),
    (Check::CurrentDirection, "out"),
];

/// *Lark* complete: every check answered, every card ticked.
pub fn lark() -> Job {
    let site = draft("lark");
    let whole = site.site().expect("Lark is whole");
    let mut clock = Clock::new();
    let mut observations: Vec<Observation> = Vec::new();
    let content = built_in();
    for card in cards(&content, &whole, &assess(&whole, &[])) {
        if card.asks.is_empty() {
            observations.push(Observation::new(Subject::Card(card.key), clock.next(), Seen::Done, ""));
        }
        for (check, text) in LARK.into_iter().filter(|(check, _)| card.asks.contains(check)) {
            observations.push(checked(check, text, clock.next()));
        }
    }
    let there = |check: Check| observations.iter().any(|seen| seen.of == Subject::Check(check));
    let rest: Vec<_> = LARK.into_iter().filter(|(check, _)| !there(*check)).collect();
    for (check, text) in rest {
        observations.push(checked(check, text, clock.next()));
    }
    Job { id: "lark".into(), begun: Moment(BEGUN), demo: true, site, observations, ..Job::default() }
}

/// Readings on a site with four modules: every check, then ohms at every place, the second time round with a digit more.
pub fn with_readings(site: Draft, readings: usize, note: &str) -> Job {
    let whole = site.site().expect("the site is whole");
    let mut clock = Clock::new();
    let mut observations: Vec<Observation> = LARK.map(|(check, text)| checked(check, text, clock.next())).into();
    for round in 0.. {
        for place in 0..=whole.modules() {
            let at = if place == 0 { Stop::Monitor } else { Stop::Module(place) };
            for (pair, text) in [(Pair::HighLow, 604 + round * 7 + place), (Pair::HighReference, 48_200 + place * 13)] {
                let hold = Hold { at, pair, doing: if round == 0 { Doing::Nothing } else { Doing::LeadPulled(round) } };
                let text = format!("{}.{}", text / 10, text % 10);
                observations.push(typed(Subject::Hold(hold), Kind::Ohms, &text, clock.next()));
            }
        }
        if observations.len() >= readings {
            break;
        }
    }
    observations.truncate(readings);
    let id = "mif1x2c9k7qe".into();
    Job { id, begun: Moment(BEGUN), site, observations, notes: note.into(), ..Job::default() }
}

pub const NOTE: &str =
    "Module 3 had its terminator left in from the bench; taken out, 60.4 ohms at both ends after that.";

/// Equipment that nobody has packed into a table: every name and key is another one.
pub fn foreign() -> Draft {
    let mut site = draft("otter");
    site.name = "Barge Quellwasser, rear cabin".into();
    if let Some(module) = &mut site.module {
        (module.key, module.maker, module.model) =
            ("torvund-280-h".into(), "Torvund Energi".into(), "Kraft 280 H".into());
    }
    if let Some(monitor) = &mut site.monitor {
        (monitor.key, monitor.maker, monitor.model) =
            ("helmsight-7".into(), "Kestrel & Dunn".into(), "Helmsight 7".into());
        monitor.source_menu = "Settings > DC system > Battery source".into();
        monitor.ports[0].label = "NET 2".into();
    }
    for (lead, key) in [(&mut site.link_lead, "tv-jumper"), (&mut site.bus_lead, "tv-backbone")] {
        if let Some(lead) = lead {
            (lead.key, lead.name) = (key.into(), format!("Torvund {key} cord"));
        }
    }
    if let Some(terminator) = &mut site.terminator {
        (terminator.key, terminator.name) = ("tv-endcap".into(), "Torvund end cap".into());
    }
    for charger in &mut site.chargers {
        (charger.key, charger.name) = ("brisk-60".into(), "Brisk 60 mains unit".into());
    }
    site
}

/// Text as people and machines write it, without control characters.
fn text() -> BoxedStrategy<String> {
    prop_oneof![
        4 => "[ -~]{0,30}",
        2 => "\\PC{0,12}",
        1 => Just(String::new()),
        1 => "(terminator|module|the |rj45|lead, |\n|\t|Ω|é|日){0,12}",
        1 => Just("battery-11-bit".to_string()),
    ]
    .boxed()
}

fn key() -> BoxedStrategy<String> {
    prop_oneof![3 => "[a-z]{1,8}(-[a-z0-9]{1,6}){0,2}", 1 => text()].boxed()
}

fn moment() -> impl Strategy<Value = Moment> {
    prop_oneof![4 => (0i64..4_000_000_000_000).prop_map(Moment), 1 => any::<i64>().prop_map(Moment)]
}

/// A value that the kind may take: plainly written, or any.
fn number(kind: Kind) -> impl Strategy<Value = f64> {
    let (low, high) = kind.range();
    prop_oneof![
        2 => (0i32..20_000, 0i32..4).prop_map(|(digits, decimals)| f64::from(digits) / 10f64.powi(decimals)),
        1 => low..=high,
        1 => Just(low),
    ]
    .prop_map(move |value| value.clamp(low, high))
}

fn quantity<Q: Quantity + std::fmt::Debug + 'static>() -> BoxedStrategy<Q> {
    number(Q::KIND).prop_map(|value| Q::new(value).expect("it was clamped")).boxed()
}

fn kind() -> impl Strategy<Value = Kind> {
    proptest::sample::select(Kind::ALL)
}

fn shown() -> impl Strategy<Value = Shown> {
    let digit = prop_oneof![4 => proptest::sample::select(vec![1.0, 0.1, 0.01, 0.001]), 1 => 0.0..1e9];
    kind()
        .prop_flat_map(move |kind| (Just(kind), number(kind), digit.clone()))
        .prop_map(|(kind, value, digit)| Shown { figure: Figure::new(kind, value).expect("it was clamped"), digit })
}

fn end() -> impl Strategy<Value = End> {
    proptest::sample::select(&End::BOTH[..])
}

fn hold() -> impl Strategy<Value = Hold> {
    let at = prop_oneof![Just(Stop::Monitor), (0u32..9).prop_map(Stop::Module), any::<u32>().prop_map(Stop::Module)];
    let pair = proptest::sample::select(vec![Pair::HighLow, Pair::HighReference, Pair::LowReference]);
    let doing = prop_oneof![
        Just(Doing::Nothing),
        end().prop_map(Doing::TerminatorPulled),
        end().prop_map(Doing::Bridged),
        (0u32..9).prop_map(Doing::LeadPulled),
        any::<u32>().prop_map(Doing::LeadPulled),
    ];
    (at, pair, doing).prop_map(|(at, pair, doing)| Hold { at, pair, doing })
}

fn subject() -> BoxedStrategy<Subject> {
    prop_oneof![
        4 => proptest::sample::select(Check::ALL).prop_map(Subject::Check),
        2 => hold().prop_map(Subject::Hold),
        1 => key().prop_map(Subject::Card),
        1 => key().prop_map(Subject::Alarm),
        2 => (key(), key()).prop_map(|(list, item)| Subject::Item { list, item }),
    ]
    .boxed()
}

pub fn observation() -> BoxedStrategy<Observation> {
    // Mostly what a field makes of a typed text, in every way of writing it.
    let typed =
        (kind(), "-?[0-9]{1,4}([.,][0-9]{0,4})?( ?(k|m)?Ω)?").prop_map(|(kind, text)| match read(&text, kind) {
            Ok(Entry::Figure(shown)) => (Seen::Figure(shown), text),
            _ => (Seen::BeyondRange, text),
        });
    let seen = prop_oneof![
        4 => typed,
        1 => (shown().prop_map(Seen::Figure), text()),
        1 => (Just(Seen::BeyondRange), Just("OL".to_string())),
        1 => (key().prop_map(Seen::Answer), text()),
        1 => (Just(Seen::Done), Just(String::new())),
        1 => (Just(Seen::NotApplicable), text()),
        1 => (Just(Seen::Withdrawn), text()),
    ];
    let rare = || prop_oneof![4 => Just(String::new()), 1 => text()];
    (subject(), moment(), seen, rare(), rare())
        .prop_map(|(of, at, (seen, typed), by, note)| Observation { of, at, seen, typed, by, note })
        .boxed()
}

fn profiles() -> impl Strategy<Value = Vec<Profile>> {
    let one = (key(), quantity()).prop_map(|(protocol, bit_rate)| Profile { protocol, bit_rate });
    proptest::collection::vec(one, 0..3)
}

fn module() -> BoxedStrategy<ModuleFigures> {
    let names = (key(), text(), text(), key());
    let counts = (any::<u32>(), 0u32..20, 0u32..20);
    let limits = (quantity(), quantity(), quantity(), quantity(), quantity(), quantity());
    let rest = (quantity(), quantity(), quantity(), quantity(), proptest::sample::select(Wake::ALL));
    let socket = (any::<[u8; 3]>(), any::<[bool; 2]>());
    use proptest::option::of;
    let one = |all: &'static [Off]| proptest::sample::select(all);
    let more = (of(one(Off::ALL)), of(quantity()), of(proptest::sample::select(Numbering::ALL)), of(quantity()));
    (names, counts, limits, rest, socket, profiles(), more)
        .prop_map(|(names, counts, limits, rest, socket, speaks, more)| {
            let ([high_pin, low_pin, reference_pin], [isolated, built_in_terminator]) = socket;
            ModuleFigures {
                key: names.0,
                maker: names.1,
                model: names.2,
                cells_in_series: counts.0,
                nominal: limits.0,
                capacity: limits.1,
                charge_limit: limits.2,
                discharge_limit: limits.3,
                charge_voltage_limit: limits.4,
                discharge_voltage_limit: limits.5,
                coldest_charge: rest.0,
                hottest_charge: rest.1,
                resistance: rest.2,
                most_in_series: counts.1,
                most_in_parallel: counts.2,
                wake: rest.4,
                wake_time: rest.3,
                off: more.0,
                off_time: more.1,
                numbering: more.2,
                longest_link: more.3,
                data: DataSocket {
                    connector: names.3,
                    high_pin,
                    low_pin,
                    reference_pin,
                    isolated,
                    built_in_terminator,
                },
                speaks,
            }
        })
        .boxed()
}

fn port() -> BoxedStrategy<PortFigures> {
    let usage = proptest::sample::select(vec![PortUse::Dedicated, PortUse::Settable]);
    (key(), text(), usage, key(), any::<[u8; 4]>(), any::<bool>(), profiles())
        .prop_map(
            |(
                key,
                label,
                usage,
                connector,
                [high_pin, low_pin, reference_pin, sockets],
                built_in_terminator,
                speaks,
            )| {
                PortFigures {
                    key,
                    label,
                    usage,
                    connector,
                    high_pin,
                    low_pin,
                    reference_pin,
                    sockets,
                    built_in_terminator,
                    speaks,
                }
            },
        )
        .boxed()
}

fn lead() -> BoxedStrategy<LeadFigures> {
    let usage = proptest::sample::select(LeadUse::ALL);
    let lengths = proptest::collection::vec(quantity(), 0..4);
    let wires = proptest::collection::vec(any::<[u8; 2]>(), 0..4);
    (key(), text(), usage, [key(), key()], wires, quantity(), quantity(), lengths)
        .prop_map(|(key, name, usage, ends, wires, conductor, contacts, lengths)| LeadFigures {
            key,
            name,
            usage,
            ends,
            wires,
            conductor,
            contacts,
            lengths,
        })
        .boxed()
}

fn site() -> BoxedStrategy<Draft> {
    use proptest::option::of;
    let monitor = (key(), text(), text(), text(), proptest::collection::vec(port(), 0..3))
        .prop_map(|(key, maker, model, source_menu, ports)| MonitorFigures { key, maker, model, source_menu, ports });
    let terminator = || {
        (key(), text(), key(), of(any::<[u8; 2]>()), quantity(), quantity()).prop_map(
            |(key, name, connector, pins, resistance, tolerance)| TerminatorFigures {
                key,
                name,
                connector,
                pins,
                resistance,
                tolerance,
            },
        )
    };
    let charger = (key(), text(), any::<bool>(), quantity(), quantity(), quantity()).prop_map(
        |(key, name, steered, current, absorption, float)| ChargerFigures {
            key,
            name,
            steered,
            current,
            absorption,
            float,
        },
    );
    let bank = (text(), of(module()), of(any::<u32>()), of(0u32..9), of(monitor), of(key()));
    let leads = (of(lead()), of(quantity()), of(lead()), of(quantity()), of(lead()));
    let plugs = (of(terminator()), of(terminator()));
    let ends = (plugs, any::<Option<bool>>(), any::<Option<bool>>(), proptest::collection::vec(charger, 0..3));
    (bank, leads, ends)
        .prop_map(|(bank, leads, ends)| Draft {
            name: bank.0,
            module: bank.1,
            series: bank.2,
            parallel: bank.3,
            monitor: bank.4,
            port: bank.5,
            link_lead: leads.0,
            link_length: leads.1,
            bus_lead: leads.2,
            bus_length: leads.3,
            adapter: leads.4,
            terminator: ends.0.0,
            monitor_terminator: ends.0.1,
            terminated_at_bank: ends.1,
            terminated_at_monitor: ends.2,
            chargers: ends.3,
        })
        .boxed()
}

pub fn taken() -> BoxedStrategy<Taken> {
    use proptest::option::of;
    let item = (key(), text(), of(kind()), of(-1e6..1e6), of(0.0..100.0))
        .prop_map(|(key, text, kind, low, high)| OwnItem { key, text, kind, low, high });
    let own = (text(), proptest::collection::vec(item, 0..5)).prop_map(|(title, items)| OwnList { title, items });
    (key(), of(own)).prop_map(|(key, own)| Taken { key, own }).boxed()
}

fn story() -> BoxedStrategy<Story> {
    let event = prop_oneof![
        (key(), key()).prop_map(|(check, outcome)| Event::Seen { check, outcome }),
        key().prop_map(|alarm| Event::Alarm { alarm }),
        key().prop_map(|check| Event::Later { check }),
        key().prop_map(|fault| Event::Repaired { fault }),
    ];
    let told = (moment(), event).prop_map(|(at, event)| Told { at, event });
    (key(), proptest::collection::vec(told, 0..5)).prop_map(|(kind, told)| Story { kind, told }).boxed()
}

/// Any job that a link can hold: without pictures, not put away, without fields of a newer app.
pub fn job() -> BoxedStrategy<Job> {
    let value = || prop_oneof![2 => "-?[0-9]{1,6}([.,][0-9]{1,8})?", 1 => text()];
    let field = prop_oneof![key(), "all-[a-z]{0,8}", "m[0-9]{1,3}-[a-z-]{0,9}", "m0?[0-9]{0,11}-x"];
    let bank = proptest::collection::btree_map(field, value(), 0..8);
    let power = (
        proptest::collection::btree_map("[a-z]{1,9}\\.[a-z0-9-]{1,9}\\.[a-z-]{1,9}", value(), 0..5),
        proptest::option::of(moment()),
    );
    let people = (text(), text(), text()).prop_map(|(by, owner, place)| People { by, owner, place });
    let head = (key(), moment(), any::<bool>(), site());
    let seen = (bank, proptest::option::of(moment()), proptest::collection::vec(observation(), 0..30));
    let said = (text(), people, proptest::collection::vec(taken(), 0..3), story());
    (head, seen, said, proptest::collection::btree_map(key(), value(), 0..4), power)
        .prop_map(|(head, seen, said, pending, power)| Job {
            id: head.0,
            begun: head.1,
            demo: head.2,
            site: head.3,
            bank: table(seen.0),
            bank_at: seen.1,
            observations: seen.2,
            notes: said.0,
            people: said.1,
            lists: said.2,
            story: said.3,
            pending,
            power: table(power.0),
            power_at: power.1,
            ..Job::default()
        })
        .boxed()
}

fn table(fields: BTreeMap<String, String>) -> Table {
    fields.into_iter().collect()
}
