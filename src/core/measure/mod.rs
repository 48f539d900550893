//! Verdicts on figures that are typed in by hand, without a job: pure functions, each with its reason, its sum and its
//! sources.

pub mod length;
pub mod profile;
pub mod rs485;
pub mod volts;

/// Every source that these verdicts refer to; content is checked against it.
pub const SOURCES: &[&str] = &[
    "iso-11898-2-2003",
    "ti-slvs-levels",
    "ti-bus-length",
    "cia-301",
    "ecss-stub",
    "an96116",
    "an96116-lengths",
    "microchip-delay",
    "ti-spruin7c",
    "iec-60028",
    "astm-b258",
    "cia-303-1-cables",
    "cia-303-1",
    "sae-j1939-11",
    "sae-j1939-14",
    "sae-j1939-15",
    "devicenet",
    "rv-c-overview",
    "iso-11898-1",
    "ti-sn75als174",
    "modbus-serial",
    "tia-485",
    "rs485-polarity",
    "practice",
];

/// Every name that these verdicts refer to; content is checked against it.
pub const NAMES: &[&str] = &[
    "wire-high",
    "wire-low",
    "volts-idle-line",
    "volts-state-asleep_or_off",
    "volts-state-awake_idle",
    "volts-state-working",
    "volts-state-swapped",
    "volts-state-stuck_dominant",
    "volts-state-H_at_reference",
    "volts-state-L_at_reference",
    "volts-state-H_at_supply",
    "volts-state-L_at_supply",
    "volts-state-H_or_L_at_supply",
    "volts-state-wrong_reference",
    "volts-state-unclear",
    "limit-canopen",
    "limit-iso11898",
    "limit-transceivers",
    "limit-j1939-11",
    "limit-j1939-15",
    "limit-j1939-14",
    "limit-devicenet-thick",
    "limit-devicenet-thin",
    "limit-rv-c",
    "limit-timing",
    "limit-resistance",
    "limit-edge",
    "limit-drive",
    "what-trunk",
    "what-trunk-timing",
    "what-trunk-resistance",
    "what-drop",
    "what-drop-edge",
    "what-drops",
    "what-devices",
    "protocol-unknown",
    "line-first",
    "line-second",
];
