//! The shape of connectors, and of what protocols fix on the wire.

use crate::core::units::BitRate;
use serde::{Deserialize, Serialize};

/// The outline of a connector's face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// Contacts above, latch below.
    Modular,
    /// Key above.
    Round,
    DSub,
    Terminal,
    Header,
}

/// What a contact is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    High,
    Low,
    Reference,
    ReferenceOptional,
    Shield,
    Supply,
    Free,
}

impl Role {
    pub const ALL: [Role; 7] =
        [Role::High, Role::Low, Role::Reference, Role::ReferenceOptional, Role::Shield, Role::Supply, Role::Free];

    pub fn key(self) -> &'static str {
        match self {
            Role::High => "high",
            Role::Low => "low",
            Role::Reference => "reference",
            Role::ReferenceOptional => "reference-optional",
            Role::Shield => "shield",
            Role::Supply => "supply",
            Role::Free => "free",
        }
    }
}

/// One contact of a connector.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Pin {
    pub n: u8,
    /// Across and down, in units of the drawing.
    pub at: [f64; 2],
    pub role: Role,
}

/// A connector's face, looked into from the front.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Connector {
    pub key: String,
    pub shape: Shape,
    pub pins: Vec<Pin>,
    pub sources: Vec<String>,
}

impl Connector {
    /// Width and height of the drawing.
    pub const SIZE: (f64, f64) = (200.0, 120.0);

    pub fn pin(&self, n: u8) -> Option<&Pin> {
        self.pins.iter().find(|pin| pin.n == n)
    }

    /// The pin that the source gives a role.
    pub fn role(&self, role: Role) -> Option<u8> {
        self.pins.iter().find(|pin| pin.role == role).map(|pin| pin.n)
    }

    /// Pin numbers row by row from above, each row from the left.
    pub fn rows(&self) -> Vec<Vec<u8>> {
        let mut pins: Vec<&Pin> = self.pins.iter().collect();
        pins.sort_by(|a, b| a.at[1].total_cmp(&b.at[1]).then(a.at[0].total_cmp(&b.at[0])));
        let mut rows: Vec<(f64, Vec<u8>)> = Vec::new();
        for pin in pins {
            match rows.last_mut() {
                Some((down, row)) if pin.at[1] - *down < 1.0 => row.push(pin.n),
                _ => rows.push((pin.at[1], vec![pin.n])),
            }
        }
        rows.into_iter().map(|(_, row)| row).collect()
    }
}

/// What a protocol runs over.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Carrier {
    #[default]
    Can,
    #[serde(rename = "rs-485")]
    Rs485,
}

/// What a protocol fixes on the wire.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Protocol {
    pub key: String,
    /// What it runs over.
    #[serde(default)]
    pub wire: Carrier,
    /// 11 or 29; the usual one first where both are allowed. None over RS-485.
    pub identifier_bits: Vec<u32>,
    #[serde(rename = "bit-rates-bit-per-s")]
    pub bit_rates: Vec<BitRate>,
    pub sources: Vec<String>,
}
