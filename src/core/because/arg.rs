//! What a sentence may contain.

use crate::core::site::{End, Stop};
use crate::core::units::{Figure, Quantity};

/// Something that a sentence may contain.
#[derive(Clone, Debug, PartialEq)]
pub enum Arg {
    Figure(Figure),
    Count(u32),
    End(End),
    Stop(Stop),
    /// A name that a person or an equipment file gave.
    Name(String),
    /// The key of a name in the words of the language.
    Named(Named),
}

/// The key of a name in the words of the language, for sentences.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named(pub String);

impl Named {
    pub fn new(key: impl Into<String>) -> Named {
        Named(key.into())
    }
}

impl From<Named> for Arg {
    fn from(named: Named) -> Arg {
        Arg::Named(named)
    }
}

impl<Q: Quantity> From<Q> for Arg {
    fn from(quantity: Q) -> Arg {
        Arg::Figure(quantity.into())
    }
}

impl From<Figure> for Arg {
    fn from(figure: Figure) -> Arg {
        Arg::Figure(figure)
    }
}

impl From<u32> for Arg {
    fn from(count: u32) -> Arg {
        Arg::Count(count)
    }
}

impl From<End> for Arg {
    fn from(end: End) -> Arg {
        Arg::End(end)
    }
}

impl From<Stop> for Arg {
    fn from(stop: Stop) -> Arg {
        Arg::Stop(stop)
    }
}

impl From<String> for Arg {
    fn from(name: String) -> Arg {
        Arg::Name(name)
    }
}
