//! Points of the SunSpec battery models 802 (base), 803 (bank), 804 (string) and 805 (module): value = raw × 10^scale.
//!
//! Source: SunSpec information models, models repository, json/model_802 to model_805, commit 7abdf89 (Apache-2.0).
//! The header (ID, L), padding and the serial number are left out.

use crate::core::units::{Figure, Kind, OutOfRange};
use std::fmt;

use self::PointType::{Bitfield32, Enum16, Int16, Sunssf, Uint16, Uint32};
use self::PointUnit::{AmpereHours, Amperes, Celsius, Nothing, Percent, PercentOfRating, Volts, WattHours, Watts};

/// How a point's registers are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PointType {
    Uint16,
    Int16,
    Uint32,
    Enum16,
    Bitfield32,
    /// A scale factor: a power of ten.
    Sunssf,
}

impl PointType {
    pub const ALL: &'static [PointType] = &[
        PointType::Uint16,
        PointType::Int16,
        PointType::Uint32,
        PointType::Enum16,
        PointType::Bitfield32,
        PointType::Sunssf,
    ];

    /// As the models write it.
    pub fn name(self) -> &'static str {
        match self {
            PointType::Uint16 => "uint16",
            PointType::Int16 => "int16",
            PointType::Uint32 => "uint32",
            PointType::Enum16 => "enum16",
            PointType::Bitfield32 => "bitfield32",
            PointType::Sunssf => "sunssf",
        }
    }

    /// The raw value that says "not implemented" (SunSpec; checked in pysunspec2 1.3.7).
    pub fn not_implemented(self) -> i64 {
        match self {
            PointType::Uint16 | PointType::Enum16 => 0xFFFF,
            PointType::Int16 | PointType::Sunssf => -0x8000,
            PointType::Uint32 | PointType::Bitfield32 => 0xFFFF_FFFF,
        }
    }

    /// Least and greatest raw value.
    pub fn range(self) -> (i64, i64) {
        match self {
            PointType::Uint16 | PointType::Enum16 => (0, 0xFFFF),
            PointType::Int16 | PointType::Sunssf => (-0x8000, 0x7FFF),
            PointType::Uint32 | PointType::Bitfield32 => (0, 0xFFFF_FFFF),
        }
    }
}

/// What a point is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PointUnit {
    AmpereHours,
    WattHours,
    Watts,
    /// Per cent of the rated energy, WHRtg.
    PercentOfRating,
    Percent,
    Volts,
    Amperes,
    Celsius,
    /// A count, a code, bits or a power of ten.
    Nothing,
}

impl PointUnit {
    /// As the models write it; `None` without a unit.
    pub fn name(self) -> Option<&'static str> {
        Some(match self {
            PointUnit::AmpereHours => "Ah",
            PointUnit::WattHours => "Wh",
            PointUnit::Watts => "W",
            PointUnit::PercentOfRating => "%WHRtg",
            PointUnit::Percent => "%",
            PointUnit::Volts => "V",
            PointUnit::Amperes => "A",
            PointUnit::Celsius => "C",
            PointUnit::Nothing => return None,
        })
    }

    /// The quantity here; `None` for counts, codes and bits.
    pub fn kind(self) -> Option<Kind> {
        Some(match self {
            PointUnit::AmpereHours => Kind::AmpereHours,
            PointUnit::WattHours => Kind::WattHours,
            PointUnit::Watts => Kind::Watts,
            PointUnit::PercentOfRating | PointUnit::Percent => Kind::Percent,
            PointUnit::Volts => Kind::Volts,
            PointUnit::Amperes => Kind::Amperes,
            PointUnit::Celsius => Kind::Celsius,
            PointUnit::Nothing => return None,
        })
    }
}

/// One point of one model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Point {
    pub model: u16,
    pub name: &'static str,
    pub kind: PointType,
    pub unit: PointUnit,
    /// The point that holds its power of ten; `None`: it is not scaled.
    pub scale: Option<&'static str>,
}

/// A point's value: `raw` × 10^`exponent` in `unit`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PointValue {
    pub raw: i64,
    /// −10 to 10.
    pub exponent: i32,
    pub unit: PointUnit,
}

impl PointValue {
    /// The number in `unit`; for counts, codes, bits and powers of ten the number itself.
    pub fn number(&self) -> f64 {
        // Raw values have at most 32 bits, which a double holds exactly; dividing keeps decimals such as 85.5 exact.
        let (raw, power) = (self.raw as f64, 10_f64.powi(self.exponent.abs()));
        if self.exponent < 0 { raw / power } else { raw * power }
    }

    /// The value as a quantity; `None` without a unit, an error where it cannot be true of a bank.
    pub fn figure(&self) -> Option<Result<Figure, OutOfRange>> {
        self.unit.kind().map(|kind| Figure::new(kind, self.number()))
    }
}

/// Why a point cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PointError {
    NoSuchPoint,
    /// The raw value does not fit its type.
    RawOutside {
        raw: i64,
        kind: PointType,
    },
    /// A power of ten beyond −10 to 10 (SunSpec information model specification, from memory).
    ScaleOutside {
        scale: i64,
    },
    /// The point has no scale factor, yet one other than 0 came with it.
    NotScaled,
}

impl fmt::Display for PointError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PointError::NoSuchPoint => write!(f, "Models 802 to 805 have no such point"),
            PointError::RawOutside { raw, kind } => write!(f, "The raw value {raw} does not fit {}", kind.name()),
            PointError::ScaleOutside { scale } => write!(f, "The scale factor {scale} is outside -10 to 10"),
            PointError::NotScaled => write!(f, "This point has no scale factor"),
        }
    }
}

impl std::error::Error for PointError {}

impl Point {
    /// The point with this name: of the given model, or of the first of 802 to 805 that has it.
    pub fn find(name: &str, model: Option<u16>) -> Result<Point, PointError> {
        Point::all()
            .find(|point| point.name == name && model.is_none_or(|model| model == point.model))
            .ok_or(PointError::NoSuchPoint)
    }

    /// Every point, model by model.
    pub fn all() -> impl Iterator<Item = Point> {
        POINTS.iter().flat_map(|&(model, kind, unit, scale, names)| {
            let scale = if scale.is_empty() { None } else { Some(scale) };
            names.split(' ').map(move |name| Point { model, name, kind, unit, scale })
        })
    }

    /// The value of a raw register and its scale factor. `None`: not implemented, or scaled by a factor that is not
    /// known. A 16-bit signed register may come as 0 to 65535.
    pub fn value(&self, raw: i64, scale: Option<i64>) -> Result<Option<PointValue>, PointError> {
        let (low, high) = self.kind.range();
        let raw = if low < 0 && (0x8000..=0xFFFF).contains(&raw) { raw - 0x1_0000 } else { raw };
        if raw < low || raw > high {
            return Err(PointError::RawOutside { raw, kind: self.kind });
        }
        let exponent = match scale {
            Some(scale) if scale == PointType::Sunssf.not_implemented() => None,
            Some(scale) => match i32::try_from(scale) {
                Ok(small) if (-10..=10).contains(&small) => Some(small),
                _ => return Err(PointError::ScaleOutside { scale }),
            },
            None => None,
        };
        let exponent = match (self.scale, exponent) {
            (None, None | Some(0)) => Some(0),
            (None, Some(_)) => return Err(PointError::NotScaled),
            (Some(_), exponent) => exponent,
        };
        if raw == self.kind.not_implemented() {
            return Ok(None);
        }
        Ok(exponent.map(|exponent| PointValue { raw, exponent, unit: self.unit }))
    }
}

/// Model, type, unit, scale factor, names.
const POINTS: &[(u16, PointType, PointUnit, &str, &str)] = &[
    // 802
    (802, Uint16, AmpereHours, "AHRtg_SF", "AHRtg"),
    (802, Uint16, WattHours, "WHRtg_SF", "WHRtg"),
    (802, Uint16, Watts, "WChaDisChaMax_SF", "WChaRteMax WDisChaRteMax"),
    (802, Uint16, PercentOfRating, "DisChaRte_SF", "DisChaRte"),
    (802, Uint16, PercentOfRating, "SoC_SF", "SoCMax SoCMin SocRsvMax SoCRsvMin SoC"),
    (802, Uint16, Percent, "DoD_SF", "DoD"),
    (802, Uint16, Percent, "SoH_SF", "SoH"),
    (802, Uint32, Nothing, "", "NCyc WarrDt"),
    (802, Enum16, Nothing, "", "ChaSt LocRemCtl Typ State StateVnd ReqInvState SetOp"),
    (802, Enum16, Nothing, "", "SetInvState"),
    (802, Uint16, Nothing, "", "Hb CtrlHb AlmRst CellVMaxStr CellVMaxMod CellVMinStr"),
    (802, Uint16, Nothing, "", "CellVMinMod"),
    (802, Bitfield32, Nothing, "", "Evt1 Evt2 EvtVnd1 EvtVnd2"),
    (802, Uint16, Volts, "V_SF", "V VMax VMin"),
    (802, Uint16, Volts, "CellV_SF", "CellVMax CellVMin CellVAvg"),
    (802, Int16, Amperes, "A_SF", "A"),
    (802, Uint16, Amperes, "AMax_SF", "AChaMax ADisChaMax"),
    (802, Int16, Watts, "W_SF", "W ReqW"),
    (802, Sunssf, Nothing, "", "AHRtg_SF WHRtg_SF WChaDisChaMax_SF DisChaRte_SF SoC_SF"),
    (802, Sunssf, Nothing, "", "DoD_SF SoH_SF V_SF CellV_SF A_SF AMax_SF W_SF"),
    // 803
    (803, Uint16, Nothing, "", "NStr NStrCon ModTmpMaxStr ModTmpMaxMod ModTmpMinStr"),
    (803, Uint16, Nothing, "", "ModTmpMinMod StrVMaxStr StrVMinStr StrAMaxStr"),
    (803, Uint16, Nothing, "", "StrAMinStr NCellBal StrNMod StrCellVMaxMod"),
    (803, Uint16, Nothing, "", "StrCellVMinMod StrModTmpMaxMod StrModTmpMinMod"),
    (803, Int16, Celsius, "ModTmp_SF", "ModTmpMax ModTmpMin ModTmpAvg StrModTmpMax StrModTmpMin"),
    (803, Int16, Celsius, "ModTmp_SF", "StrModTmpAvg"),
    (803, Uint16, Volts, "V_SF", "StrVMax StrVMin StrVAvg"),
    (803, Int16, Amperes, "A_SF", "StrAMax StrAMin StrAAvg StrA"),
    (803, Sunssf, Nothing, "", "CellV_SF ModTmp_SF A_SF SoH_SF SoC_SF V_SF"),
    (803, Bitfield32, Nothing, "", "StrSt StrConSt StrEvt1 StrEvt2 StrEvtVnd1 StrEvtVnd2"),
    (803, Enum16, Nothing, "", "StrConFail StrDisRsn StrSetEna StrSetCon"),
    (803, Uint16, Percent, "SoC_SF", "StrSoC"),
    (803, Uint16, Percent, "SoH_SF", "StrSoH"),
    (803, Uint16, Volts, "CellV_SF", "StrCellVMax StrCellVMin StrCellVAvg"),
    // 804
    (804, Uint16, Nothing, "", "Idx NMod NCellBal CellVMaxMod CellVMinMod ModTmpMaxMod"),
    (804, Uint16, Nothing, "", "ModTmpMinMod ModNCell ModCellVMaxCell ModCellVMinCell"),
    (804, Uint16, Nothing, "", "ModCellTmpMaxCell ModCellTmpMinCell"),
    (804, Bitfield32, Nothing, "", "St ConSt Evt1 Evt2 EvtVnd1 EvtVnd2"),
    (804, Enum16, Nothing, "", "ConFail SetEna SetCon"),
    (804, Uint16, Percent, "SoC_SF", "SoC ModSoC"),
    (804, Uint16, Percent, "DoD_SF", "DoD"),
    (804, Uint32, Nothing, "", "NCyc"),
    (804, Uint16, Percent, "SoH_SF", "SoH ModSoH"),
    (804, Int16, Amperes, "A_SF", "A"),
    (804, Uint16, Volts, "V_SF", "V"),
    (804, Uint16, Volts, "CellV_SF", "CellVMax CellVMin CellVAvg ModCellVMax ModCellVMin"),
    (804, Uint16, Volts, "CellV_SF", "ModCellVAvg"),
    (804, Int16, Celsius, "ModTmp_SF", "ModTmpMax ModTmpMin ModTmpAvg ModCellTmpMax"),
    (804, Int16, Celsius, "ModTmp_SF", "ModCellTmpMin ModCellTmpAvg"),
    (804, Sunssf, Nothing, "", "SoC_SF SoH_SF DoD_SF A_SF V_SF CellV_SF ModTmp_SF"),
    // 805
    (805, Uint16, Nothing, "", "StrIdx ModIdx NCell CellVMaxCell CellVMinCell"),
    (805, Uint16, Nothing, "", "CellTmpMaxCell CellTmpMinCell NCellBal"),
    (805, Uint16, Percent, "SoC_SF", "SoC"),
    (805, Uint16, Percent, "DoD_SF", "DoD"),
    (805, Uint16, Percent, "SoH_SF", "SoH"),
    (805, Uint32, Nothing, "", "NCyc"),
    (805, Uint16, Volts, "V_SF", "V"),
    (805, Uint16, Volts, "CellV_SF", "CellVMax CellVMin CellVAvg CellV"),
    (805, Int16, Celsius, "Tmp_SF", "CellTmpMax CellTmpMin CellTmpAvg CellTmp"),
    (805, Sunssf, Nothing, "", "SoC_SF SoH_SF DoD_SF V_SF CellV_SF Tmp_SF"),
    (805, Bitfield32, Nothing, "", "CellSt"),
];
