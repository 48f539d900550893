//! The words of the screens, one constant for each: a word that is missing does not compile.

/// A word of the screens, by its place in the language's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word(pub u16);

include!(concat!(env!("OUT_DIR"), "/words.rs"));
