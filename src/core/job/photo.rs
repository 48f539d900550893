//! Photos as evidence: what a job knows of them. The pictures themselves lie beside it in the store.

use crate::core::job::Moment;
use serde::{Deserialize, Serialize};

/// One photo of a job.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
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
