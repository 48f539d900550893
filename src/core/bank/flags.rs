//! The two-bit flags of RV-C, and what a bank says for all its sources.

/// A two-bit flag (RV-C table 3.2.3b; limits and disconnects of status 6, 6.5.7).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flag {
    /// 00b: not in that condition.
    No,
    /// 01b: in that condition.
    Yes,
    /// 10b: error.
    Error,
    /// 11b: no data.
    NoData,
}

impl Flag {
    /// From its two bits, 0 to 3.
    pub fn from_bits(bits: u8) -> Option<Flag> {
        match bits {
            0 => Some(Flag::No),
            1 => Some(Flag::Yes),
            2 => Some(Flag::Error),
            3 => Some(Flag::NoData),
            _ => None,
        }
    }

    pub fn bits(self) -> u8 {
        match self {
            Flag::No => 0,
            Flag::Yes => 1,
            Flag::Error => 2,
            Flag::NoData => 3,
        }
    }
}

/// One condition for the whole bank: shown only when all sources are in it (RV-C 6.5.7).
///
/// The document does not say how errors and missing data combine; this does (derived): one source that is certainly not
/// in the condition settles it. Otherwise the whole is known only when every source is; an error is passed on before
/// missing data, because somebody has to look at it. No source at all is no data.
pub fn for_all(sources: &[Flag]) -> Flag {
    if sources.contains(&Flag::No) {
        Flag::No
    } else if sources.contains(&Flag::Error) {
        Flag::Error
    } else if sources.is_empty() || sources.contains(&Flag::NoData) {
        Flag::NoData
    } else {
        Flag::Yes
    }
}
