//! Photos as evidence: what a job knows of them. The pictures themselves lie beside it in the store.

use crate::core::job::Moment;
use serde::{Deserialize, Serialize};

/// One photo of a job.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Photo {
    /// Key of the picture in the store.
    pub key: String,
    pub at: Moment,
    /// What it shows, in the person's words.
    pub shows: String,
    /// Size as kept, picture points and bytes.
    pub width: u32,
    pub height: u32,
    pub bytes: u32,
}

/// The longest side of a picture that is kept: enough to read a label (common practice, no source).
pub const LONGEST_SIDE: u32 = 1600;

/// The size to keep of a picture of this size, in picture points: in proportion, never larger than it was.
pub fn fitted(width: u32, height: u32) -> (u32, u32) {
    let longest = width.max(height);
    if longest <= LONGEST_SIDE {
        return (width.max(1), height.max(1));
    }
    let side = |side: u32| ((f64::from(side) * f64::from(LONGEST_SIDE) / f64::from(longest)).round() as u32).max(1);
    (side(width), side(height))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_keeps_its_shape_and_is_never_made_larger() {
        assert_eq!(fitted(4000, 3000), (1600, 1200));
        assert_eq!(fitted(3000, 4000), (1200, 1600));
        assert_eq!(fitted(800, 600), (800, 600));
        assert_eq!(fitted(1601, 1), (1600, 1));
        assert_eq!(fitted(0, 0), (1, 1));
        assert_eq!(fitted(u32::MAX, u32::MAX), (1600, 1600));
    }
}
