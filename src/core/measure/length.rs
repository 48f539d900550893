//! Is a bus too long for its bit rate? The published tables and the timing sum side by side, and which of them binds.

use crate::core::because::{Because, Named};
use crate::core::bus::copper;
use crate::core::bus::length::{
    CABLE_DELAY, Drive, NODE_DELAY_GREATEST, NoLength, Propagation, Row, TABLES, Table, by_timing, cable_for,
    stub_by_edge,
};
use crate::core::job::assess::Verdict;
use crate::core::judged::Judged;
use crate::core::units::{
    BitRate, Celsius, Count, Figure, Fraction, Metres, Ohms, OhmsPerMetre, Quantity, Reach, Seconds, SquareMillimetres,
    Volts,
};

/// A bus as it is planned or built.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    pub bit_rate: BitRate,
    pub trunk: Metres,
    /// The longest branch.
    pub drop: Metres,
    pub devices: Count,
    pub area: SquareMillimetres,
    pub temperature: Celsius,
}

/// One row of the comparison: what one table or sum allows at this bit rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Key of its name.
    pub name: &'static str,
    pub source: &'static str,
    /// Does it take part in the verdict? Tables of one system bind only a bus of that system.
    pub counts: bool,
    pub trunk: Option<Reach>,
    pub drop: Option<Reach>,
    pub devices: Option<u32>,
    pub trunk_over: bool,
    pub drop_over: bool,
    pub devices_over: bool,
}

/// The verdict with the rows it rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    pub judged: Judged,
    pub limits: Vec<Limit>,
}

/// Loop delay of quick transceivers, 150 ns (TI switching tables: 190 to 235 ns at most; 150 ns is the lower end of bus reference 2.2).
const NODE_DELAY_QUICK: Seconds = Seconds::of(150e-9);
/// Quanta of a bit, and those for the way there and back, at a sample point of 87.5 % (bus reference 2.2).
const QUANTA: (u32, u32) = (16, 11);
/// A steep edge of today's transceivers (CiA 301 4.2.0, as the ECSS glossary quotes it).
const EDGE: Seconds = Seconds::of(50e-9);
/// The least load that a driver still drives: 45 Ω (TI data sheets; AN96116 section 5.2).
const LEAST_LOAD: Ohms = Ohms::of(45.0);
/// AN96116 equation 11 asks for a fifth of the driver's surplus.
const MARGIN: Fraction = Fraction::of(0.2);
/// CiA 303-1 and the tables built on it speak of networks below 64 nodes.
const USUAL_DEVICES: u32 = 64;

/// Criteria that a slower bit rate eases.
const RATE_BOUND: &[&str] = &["what-trunk", "what-trunk-timing", "what-drop", "what-drops"];

/// One criterion of the verdict.
#[derive(Clone, Copy, Debug)]
struct Held {
    what: &'static str,
    given: Figure,
    most: Figure,
    /// What becomes of the verdict when it is exceeded.
    grade: Verdict,
}

impl Held {
    fn ratio(&self) -> f64 {
        self.given.value() / self.most.value().max(1e-9)
    }

    fn is_over(&self) -> bool {
        self.ratio() > 1.0 + 1e-9
    }

    fn verdict(&self) -> Verdict {
        if self.is_over() { self.grade } else { Verdict::Holds }
    }

    fn because(&self) -> Because {
        let (what, given, most) = (Named::new(self.what), self.given, self.most);
        let apart = Figure::new(most.kind(), (most.value() - given.value()).abs()).unwrap_or(most);
        if self.is_over() {
            Because::LengthOver { what, given, most, over: apart }
        } else {
            Because::LengthHolds { what, given, most, left: apart }
        }
    }
}

/// Holds the plan against every limit. `None` where the copper's resistance is beyond all cable.
pub fn compare(plan: Plan) -> Option<Compared> {
    let per_metre = copper::resistance(plan.area, plan.temperature).filter(|ohm| ohm.get() > 0.0)?;
    let held = criteria(plan, per_metre);
    let worst = worst_of(&held)?;
    let verdict = held.iter().map(Held::verdict).max().unwrap_or(Verdict::Holds);
    let mut judged = Judged::new(verdict, worst.because());
    judged.also = held.iter().filter(|h| h.is_over() && h.what != worst.what).map(Held::because).collect();
    judged.next = changes(plan, per_metre, &held);
    judged.sum = sum(plan, per_metre);
    judged.sources = vec![
        "cia-301",
        "microchip-delay",
        "ti-spruin7c",
        "ecss-stub",
        "an96116-lengths",
        "ti-bus-length",
        "iec-60028",
        "astm-b258",
        "cia-303-1-cables",
    ];
    Some(Compared { judged, limits: limits(plan, per_metre) })
}

/// The criterion to name: the one that fails worst, else the one that comes closest.
fn worst_of(held: &[Held]) -> Option<Held> {
    held.iter().copied().max_by(|a, b| a.verdict().cmp(&b.verdict()).then(a.ratio().total_cmp(&b.ratio())))
}

fn timing(bit_rate: BitRate, node_delay: Seconds) -> Option<Reach> {
    let given = Propagation {
        bit_rate,
        quanta_per_bit: QUANTA.0,
        propagation_quanta: QUANTA.1,
        node_delay,
        cable: CABLE_DELAY,
    };
    match by_timing(given) {
        Ok(reach) => Some(reach),
        Err(NoLength::NothingLeft) => Reach::new(0.0).ok(),
        Err(_) => None,
    }
}

fn drive(devices: Count, per_metre: OhmsPerMetre) -> Drive {
    Drive {
        out: Volts::of(1.5),
        threshold: Volts::of(1.0),
        terminator: Ohms::of(118.0),
        node_input: Ohms::of(20_000.0),
        nodes: devices.get() as u32,
        per_metre,
    }
}

fn edge_stub() -> Option<Reach> {
    stub_by_edge(EDGE, CABLE_DELAY).ok().map(|(_, stub)| stub)
}

fn reach_of(metres: Metres) -> Option<Reach> {
    Reach::new(metres.get()).ok()
}

fn criteria(plan: Plan, per_metre: OhmsPerMetre) -> Vec<Held> {
    let canopen = Table::named("canopen").and_then(|table| table.at(plan.bit_rate).ok());
    let mut held = Vec::new();
    let mut hold = |what, given: Option<Figure>, most: Option<Figure>, grade| {
        if let (Some(given), Some(most)) = (given, most) {
            held.push(Held { what, given, most, grade });
        }
    };
    let trunk = reach_of(plan.trunk).map(Figure::from);
    let drop = reach_of(plan.drop).map(Figure::from);
    let table = |metres: Option<Metres>| metres.and_then(reach_of).map(Figure::from);
    let table_trunk = table(canopen.and_then(|row| row.trunk));
    let sum_trunk = timing(plan.bit_rate, NODE_DELAY_GREATEST).map(Figure::from);
    // The table and the sum with slow parts are each worth a second look; what not even quick parts reach fails.
    let quick = timing(plan.bit_rate, NODE_DELAY_QUICK).map_or(0.0, Quantity::get);
    let hard = quick.max(table_trunk.map_or(0.0, Figure::value));
    let grade = if plan.trunk.get() > hard { Verdict::Fails } else { Verdict::LookAgain };
    hold("what-trunk", trunk, table_trunk, grade);
    hold("what-trunk-timing", trunk, sum_trunk, grade);
    let reach = drive(plan.devices, per_metre).reach(MARGIN).ok().map(Figure::from);
    hold("what-trunk-resistance", trunk, reach, Verdict::Fails);
    hold("what-drop", drop, table(canopen.and_then(|row| row.stub)), Verdict::Fails);
    hold("what-drop-edge", drop, edge_stub().map(Figure::from), Verdict::LookAgain);
    let drops = Reach::new(plan.drop.get() * plan.devices.get()).ok().map(Figure::from);
    hold("what-drops", drops, table(canopen.and_then(|row| row.all_stubs)), Verdict::LookAgain);
    let devices = Some(Figure::from(plan.devices));
    let count = |n: u32| Count::new(f64::from(n)).ok().map(Figure::from);
    let carried = drive(plan.devices, per_metre).nodes_carried(LEAST_LOAD).ok();
    let grade =
        if carried.is_some_and(|n| plan.devices.get() > f64::from(n)) { Verdict::Fails } else { Verdict::LookAgain };
    hold("what-devices", devices, count(USUAL_DEVICES), grade);
    held
}

/// The source key of each table.
fn source_of(table: &str) -> &'static str {
    match table {
        "canopen" => "cia-301",
        "iso11898" => "ti-bus-length",
        "transceivers" => "an96116-lengths",
        "j1939-11" => "sae-j1939-11",
        "j1939-14" => "sae-j1939-14",
        "j1939-15" => "sae-j1939-15",
        "rv-c" => "rv-c-overview",
        _ => "devicenet",
    }
}

fn name_of(table: &str) -> &'static str {
    match table {
        "canopen" => "limit-canopen",
        "iso11898" => "limit-iso11898",
        "transceivers" => "limit-transceivers",
        "j1939-11" => "limit-j1939-11",
        "j1939-14" => "limit-j1939-14",
        "j1939-15" => "limit-j1939-15",
        "devicenet-thick" => "limit-devicenet-thick",
        "devicenet-thin" => "limit-devicenet-thin",
        _ => "limit-rv-c",
    }
}

/// What every table and sum allows at this bit rate; those that take part in the verdict first.
pub fn limits(plan: Plan, per_metre: OhmsPerMetre) -> Vec<Limit> {
    let row = |name, source, counts, trunk: Option<Reach>, drop: Option<Reach>, devices: Option<u32>| {
        let over = |given: Metres, most: Option<Reach>| most.is_some_and(|most| given.get() > most.get() + 1e-9);
        Limit {
            name,
            source,
            counts,
            trunk,
            drop,
            devices,
            trunk_over: over(plan.trunk, trunk),
            drop_over: over(plan.drop, drop),
            devices_over: devices.is_some_and(|most| plan.devices.get() > f64::from(most)),
        }
    };
    let sums = drive(plan.devices, per_metre);
    let mut rows = vec![
        row("limit-timing", "microchip-delay", true, timing(plan.bit_rate, NODE_DELAY_GREATEST), None, None),
        row("limit-edge", "ecss-stub", true, None, edge_stub(), None),
        row("limit-resistance", "an96116-lengths", true, sums.reach(MARGIN).ok(), None, None),
        row("limit-drive", "an96116-lengths", true, None, None, sums.nodes_carried(LEAST_LOAD).ok()),
    ];
    for table in TABLES {
        let counts = table.key == "canopen";
        // A table of one system speaks of that system's bit rates only.
        let fits = |found: &Row| counts || found.bit_rate == plan.bit_rate;
        if let Some(found) = table.at(plan.bit_rate).ok().filter(fits) {
            let (trunk, drop) = (found.trunk.and_then(reach_of), found.stub.and_then(reach_of));
            let limit = row(name_of(table.key), source_of(table.key), counts, trunk, drop, found.nodes);
            rows.insert(if counts { 0 } else { rows.len() }, limit);
        }
    }
    rows
}

/// The usual bit rates, fast to slow (CiA 301).
pub fn usual_rates() -> Vec<BitRate> {
    Table::named("canopen").map_or_else(Vec::new, |table| table.rows.iter().map(|row| row.bit_rate).collect())
}

fn changes(plan: Plan, per_metre: OhmsPerMetre, held: &[Held]) -> Vec<Because> {
    let over: Vec<&Held> = held.iter().filter(|h| h.is_over()).collect();
    if over.is_empty() {
        return vec![Because::LengthNothingToChange {}];
    }
    let most = |keys: &[&str]| {
        let mosts = over.iter().filter(|h| keys.contains(&h.what)).map(|h| h.most.value());
        Reach::new(mosts.fold(f64::INFINITY, f64::min)).ok()
    };
    let mut next = Vec::new();
    if let Some(most) = most(&["what-trunk", "what-trunk-timing"]) {
        next.push(Because::LengthShorterTrunk { most });
    }
    if let Some(most) = most(&["what-drop", "what-drop-edge"]) {
        next.push(Because::LengthShorterDrop { most });
    } else if over.iter().any(|h| h.what == "what-drops")
        && let Some(sum) = most(&["what-drops"])
        && let Ok(most) = Reach::new(sum.get() / plan.devices.get().max(1.0))
    {
        next.push(Because::LengthShorterDrop { most });
    }
    if over.iter().any(|h| h.what == "what-devices") {
        next.push(Because::LengthFewerDevices { most: USUAL_DEVICES });
    }
    if over.iter().any(|h| h.what == "what-trunk-resistance")
        && let Some(area) = thick_enough(plan, per_metre)
    {
        next.push(Because::LengthThicker { area });
    }
    let slower = usual_rates().into_iter().filter(|rate| *rate < plan.bit_rate).find(|rate| {
        let there = criteria(Plan { bit_rate: *rate, ..plan }, per_metre);
        there.iter().all(|h| !h.is_over() || !RATE_BOUND.contains(&h.what))
    });
    let slower = slower.filter(|_| over.iter().any(|h| RATE_BOUND.contains(&h.what)));
    if let Some(rate) = slower {
        next.push(Because::LengthSlower { rate });
    }
    next
}

/// The least area whose reach by resistance is the trunk.
fn thick_enough(plan: Plan, per_metre: OhmsPerMetre) -> Option<SquareMillimetres> {
    let reach = drive(plan.devices, per_metre).reach(MARGIN).ok()?;
    let needed = OhmsPerMetre::new(per_metre.get() * reach.get() / plan.trunk.get()).ok()?;
    copper::area_for(needed, plan.temperature)
}

fn sum(plan: Plan, per_metre: OhmsPerMetre) -> Vec<Because> {
    let mut sum = Vec::new();
    if let Some(most) = timing(plan.bit_rate, NODE_DELAY_GREATEST) {
        sum.push(Because::LengthTiming { rate: plan.bit_rate, most });
    }
    if let Some(most) = timing(plan.bit_rate, NODE_DELAY_QUICK) {
        sum.push(Because::LengthTimingGood { most });
    }
    sum.push(Because::LengthCopper { area: plan.area, temperature: plan.temperature, per_metre });
    if let Ok(most) = drive(plan.devices, per_metre).reach(MARGIN) {
        sum.push(Because::LengthResistance { most });
    }
    if let Some(cable) = cable_for(plan.trunk) {
        sum.push(Because::LengthCable { most: cable.per_metre, per_metre });
        if cable.terminators.0.get() > 130.0 {
            sum.push(Because::LengthBigTerminators {});
        }
    }
    if let Ok(all) = Reach::new(plan.drop.get() * plan.devices.get()) {
        sum.push(Because::LengthAllDrops { drops: plan.devices.get() as u32, drop: plan.drop, sum: all });
    }
    sum
}
