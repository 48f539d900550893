//! How long may a bus be? By the published tables, by the time a bit leaves for the signal's way, and by the cable's
//! resistance. The shortest of those that are known binds.

use crate::core::units::{
    BitRate, Fraction, Metres, Ohms, OhmsPerMetre, Quantity, Reach, Seconds, SecondsPerMetre, Volts,
};
use std::fmt;

/// How sure a published figure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Read in the named source.
    Checked,
    /// Known from the named source, not read again.
    FromMemory,
}

/// One row of a table of lengths. `None`: the table does not say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    pub bit_rate: BitRate,
    pub trunk: Option<Metres>,
    /// The longest single stub.
    pub stub: Option<Metres>,
    /// All stubs together.
    pub all_stubs: Option<Metres>,
    pub nodes: Option<u32>,
}

/// A published table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Table {
    pub key: &'static str,
    pub source: &'static str,
    pub standing: Standing,
    /// From the fastest to the slowest.
    pub rows: &'static [Row],
}

const fn row(bit_rate: f64, trunk: f64) -> Row {
    Row { bit_rate: BitRate::of(bit_rate), trunk: Some(Metres::of(trunk)), stub: None, all_stubs: None, nodes: None }
}

const fn full(bit_rate: f64, trunk: f64, stub: f64, all_stubs: Option<f64>, nodes: Option<u32>) -> Row {
    let all_stubs = match all_stubs {
        Some(metres) => Some(Metres::of(metres)),
        None => None,
    };
    Row { stub: Some(Metres::of(stub)), all_stubs, nodes, ..row(bit_rate, trunk) }
}

/// All tables.
pub const TABLES: &[Table] = &[
    Table {
        key: "canopen",
        source: "CiA 301; CiA website, \"CANopen lower layers\"",
        standing: Standing::Checked,
        rows: &[
            full(1.0e6, 25.0, 1.5, Some(7.5), None),
            full(800e3, 50.0, 2.5, Some(12.5), None),
            full(500e3, 100.0, 5.5, Some(27.5), None),
            full(250e3, 250.0, 11.0, Some(55.0), None),
            full(125e3, 500.0, 22.0, Some(110.0), None),
            full(50e3, 1000.0, 55.0, Some(275.0), None),
            full(20e3, 2500.0, 137.5, Some(687.5), None),
            full(10e3, 5000.0, 275.0, Some(1375.0), None),
        ],
    },
    Table {
        key: "iso11898",
        source: "ISO 11898-2 base case, as TI data sheets quote it (SLLSF80B); 30 nodes from memory",
        standing: Standing::Checked,
        rows: &[full(1.0e6, 40.0, 0.3, None, Some(30))],
    },
    Table {
        key: "transceivers",
        source: "Philips AN96116 (1996), table 3, high-speed mode",
        standing: Standing::Checked,
        rows: &[row(1.0e6, 30.0), row(500e3, 100.0), row(250e3, 250.0), row(125e3, 500.0), row(62.5e3, 1000.0)],
    },
    Table {
        key: "j1939-11",
        source: "SAE J1939-11:1999, shielded pair; 30 nodes checked, the rest from memory",
        standing: Standing::FromMemory,
        rows: &[full(250e3, 40.0, 1.0, None, Some(30))],
    },
    Table {
        key: "j1939-15",
        source: "SAE J1939-15, unshielded pair",
        standing: Standing::FromMemory,
        rows: &[full(250e3, 40.0, 3.0, None, Some(10))],
    },
    Table {
        key: "j1939-14",
        source: "SAE J1939-14 (weak)",
        standing: Standing::FromMemory,
        rows: &[full(500e3, 56.4, 1.67, None, Some(30))],
    },
    Table {
        key: "devicenet-thick",
        source: "ODVA DeviceNet / IEC 62026-3, thick trunk",
        standing: Standing::FromMemory,
        rows: &[
            full(500e3, 100.0, 6.0, Some(39.0), Some(64)),
            full(250e3, 250.0, 6.0, Some(78.0), Some(64)),
            full(125e3, 500.0, 6.0, Some(156.0), Some(64)),
        ],
    },
    Table {
        key: "devicenet-thin",
        source: "ODVA DeviceNet / IEC 62026-3, thin trunk",
        standing: Standing::FromMemory,
        rows: &[
            full(500e3, 100.0, 6.0, Some(39.0), Some(64)),
            full(250e3, 100.0, 6.0, Some(78.0), Some(64)),
            full(125e3, 100.0, 6.0, Some(156.0), Some(64)),
        ],
    },
    Table {
        // A secondary text says 6 m for the drop; the website's 6 ft is the smaller.
        key: "rv-c",
        source: "RV-C website, protocol overview: 6 ft drops, one node each; no trunk length given",
        standing: Standing::Checked,
        rows: &[Row {
            bit_rate: BitRate::of(250e3),
            trunk: None,
            stub: Some(Metres::of(1.83)),
            all_stubs: None,
            nodes: None,
        }],
    },
];

/// Why there is no length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoLength {
    /// The table ends at a lower bit rate.
    FasterThanTable,
    /// The time or voltage left is nothing, even without cable.
    NothingLeft,
    /// A part of the sum is zero where it divides.
    Zero(&'static str),
    /// The propagation segment does not fit into the bit.
    Segment,
}

impl fmt::Display for NoLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoLength::FasterThanTable => f.write_str("The table ends at a lower bit rate"),
            NoLength::NothingLeft => f.write_str("Nothing is left for the cable: not even a bus of no length works"),
            NoLength::Zero(what) => write!(f, "The {what} must be above zero"),
            NoLength::Segment => {
                f.write_str("The propagation segment must be at least one quantum and shorter than the bit")
            }
        }
    }
}

impl std::error::Error for NoLength {}

impl Table {
    /// The table with this key.
    pub fn named(key: &str) -> Option<&'static Table> {
        TABLES.iter().find(|table| table.key == key)
    }

    /// The row for a bit rate. Between two rows the faster one counts: its lengths are the shorter, so they hold too.
    pub fn at(&self, bit_rate: BitRate) -> Result<Row, NoLength> {
        self.rows.iter().rev().find(|row| row.bit_rate >= bit_rate).copied().ok_or(NoLength::FasterThanTable)
    }
}

/// What a bit leaves for the signal's way there and back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Propagation {
    pub bit_rate: BitRate,
    pub quanta_per_bit: u32,
    pub propagation_quanta: u32,
    /// One node's loop delay, transceiver and isolation included: 150–255 ns (ISO 11898 allows 255 ns).
    pub node_delay: Seconds,
    pub cable: SecondsPerMetre,
}

/// Cable delay: 5 ns/m (ISO 11898-2; TI manuals SPRUIN7C, SPRUIW9C).
pub const CABLE_DELAY: SecondsPerMetre = SecondsPerMetre::of(5e-9);

/// The greatest loop delay of a transceiver: 255 ns (ISO 11898, as Microchip's propagation-delay document gives it).
pub const NODE_DELAY_GREATEST: Seconds = Seconds::of(255e-9);

/// L = (T_propagation / 2 − T_node) / delay per metre (bus reference 2.2, from TI and Microchip manuals).
pub fn by_timing(given: Propagation) -> Result<Reach, NoLength> {
    if given.propagation_quanta == 0 || given.propagation_quanta >= given.quanta_per_bit {
        return Err(NoLength::Segment);
    }
    if given.cable.get() == 0.0 {
        return Err(NoLength::Zero("delay of the cable"));
    }
    let bit = 1.0 / given.bit_rate.get();
    let segment = bit * f64::from(given.propagation_quanta) / f64::from(given.quanta_per_bit);
    reach((segment / 2.0 - given.node_delay.get()) / given.cable.get())
}

/// What drivers give, receivers need and nodes load: the worst of each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// Least output of a driver. AN96116: 1.5 V.
    pub out: Volts,
    /// Receivers are sure to see a dominant bit above this. AN96116: 1.0 V.
    pub threshold: Volts,
    /// Least terminator. AN96116: 118 Ω.
    pub terminator: Ohms,
    /// Least differential input resistance of a node. AN96116: 20 kΩ.
    pub node_input: Ohms,
    pub nodes: u32,
    /// One conductor.
    pub per_metre: OhmsPerMetre,
}

impl Drive {
    /// Siemens at the far end: its terminator and all nodes but the sender, gathered there as the worst case.
    fn load(&self) -> Result<f64, NoLength> {
        for (value, what) in [
            (self.out.get(), "driver's output"),
            (self.terminator.get(), "terminator"),
            (self.node_input.get(), "input resistance of a node"),
        ] {
            if value <= 0.0 {
                return Err(NoLength::Zero(what));
            }
        }
        Ok(1.0 / self.terminator.get() + f64::from(self.nodes.saturating_sub(1)) / self.node_input.get())
    }

    /// The differential voltage at the far end of a bus of this length (AN96116 eq. 8–10).
    pub fn at_end(&self, length: Metres) -> Result<Volts, NoLength> {
        let volt = self.out.get() / (1.0 + 2.0 * self.per_metre.get() * length.get() * self.load()?);
        Ok(Volts::new(volt).unwrap_or(self.out))
    }

    /// The greatest length at which the far end still has its threshold and `margin` of what the driver gives beyond it
    /// (AN96116 eq. 11; `margin` is 0.2 there).
    pub fn reach(&self, margin: Fraction) -> Result<Reach, NoLength> {
        let load = self.load()?;
        if self.per_metre.get() == 0.0 {
            return Err(NoLength::Zero("conductor's resistance"));
        }
        let needed = self.threshold.get() + margin.get() * (self.out.get() - self.threshold.get());
        if needed <= 0.0 {
            return Err(NoLength::Zero("voltage that a receiver needs"));
        }
        reach((self.out.get() / needed - 1.0) / load / (2.0 * self.per_metre.get()))
    }

    /// How many nodes a driver carries whose least load is `least`: n = 1 + R_in · (1/R_L − 2/R_T) (AN96116 section 5.2).
    pub fn nodes_carried(&self, least: Ohms) -> Result<u32, NoLength> {
        self.load()?;
        if least.get() <= 0.0 {
            return Err(NoLength::Zero("least load of a driver"));
        }
        let nodes = 1.0 + self.node_input.get() * (1.0 / least.get() - 2.0 / self.terminator.get());
        if nodes < 1.0 { Err(NoLength::NothingLeft) } else { Ok(nodes.min(1e6) as u32) }
    }
}

/// The longest stub without a terminator for signals with this edge: a third of the critical length, which is
/// t_rise / (2 · delay per metre) (CiA 301 4.2.0, as the ECSS glossary quotes it). Returns (critical length, stub).
pub fn stub_by_edge(edge: Seconds, cable: SecondsPerMetre) -> Result<(Reach, Reach), NoLength> {
    if cable.get() == 0.0 {
        return Err(NoLength::Zero("delay of the cable"));
    }
    let critical = edge.get() / (2.0 * cable.get());
    Ok((reach(critical)?, reach(critical / 3.0)?))
}

/// Cable and terminators for a length of trunk, networks below 64 nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cable {
    /// Up to this length.
    pub up_to: Metres,
    /// The greatest resistance of one conductor.
    pub per_metre: OhmsPerMetre,
    /// Least and greatest terminator.
    pub terminators: (Ohms, Ohms),
}

/// CiA 303-1 (v1.8.0, 2012), direct-current table: from memory. Third parties restate two cells differently (127 Ω from
/// 40 to 300 m; 20 mΩ/m beyond 600 m, which the table's own 0.75 mm² does not reach).
pub const CABLES: &[Cable] = &[
    cable(40.0, 0.070, 124.0, 124.0),
    cable(300.0, 0.060, 150.0, 300.0),
    cable(600.0, 0.040, 150.0, 300.0),
    cable(1000.0, 0.026, 150.0, 300.0),
];

const fn cable(up_to: f64, per_metre: f64, least: f64, greatest: f64) -> Cable {
    Cable {
        up_to: Metres::of(up_to),
        per_metre: OhmsPerMetre::of(per_metre),
        terminators: (Ohms::of(least), Ohms::of(greatest)),
    }
}

/// The row for a length; `None` beyond 1000 m.
pub fn cable_for(length: Metres) -> Option<&'static Cable> {
    CABLES.iter().find(|cable| length <= cable.up_to)
}

fn reach(metres: f64) -> Result<Reach, NoLength> {
    if metres < 0.0 {
        return Err(NoLength::NothingLeft);
    }
    let (_, longest) = Reach::KIND.range();
    Reach::new(metres.min(longest)).map_err(|_| NoLength::NothingLeft)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_run_from_fast_to_slow_and_short_to_long() {
        for table in TABLES {
            for pair in table.rows.windows(2) {
                assert!(pair[0].bit_rate > pair[1].bit_rate, "{}", table.key);
                assert!(pair[0].trunk <= pair[1].trunk, "{}", table.key);
            }
        }
    }

    #[test]
    fn between_two_rows_the_faster_counts() {
        let table = Table::named("canopen").unwrap();
        assert_eq!(table.at(BitRate::of(100e3)).unwrap().trunk, Some(Metres::of(500.0)));
        assert_eq!(table.at(BitRate::of(1000.0)).unwrap().trunk, Some(Metres::of(5000.0)));
        let rv = Table::named("rv-c").unwrap();
        assert_eq!(rv.at(BitRate::of(500e3)), Err(NoLength::FasterThanTable));
    }

    #[test]
    fn says_when_nothing_is_left() {
        let given = Propagation {
            bit_rate: BitRate::of(1e6),
            quanta_per_bit: 16,
            propagation_quanta: 4,
            node_delay: NODE_DELAY_GREATEST,
            cable: CABLE_DELAY,
        };
        assert_eq!(by_timing(given), Err(NoLength::NothingLeft));
        assert_eq!(by_timing(Propagation { propagation_quanta: 16, ..given }), Err(NoLength::Segment));
        let no_delay = Propagation { cable: SecondsPerMetre::of(0.0), ..given };
        assert_eq!(by_timing(no_delay), Err(NoLength::Zero("delay of the cable")));
    }
}
