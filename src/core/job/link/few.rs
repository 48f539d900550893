//! A list of the wire with a limit: its length is looked at before anything is kept.

use serde::de::{Error, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::marker::PhantomData;

/// At most `MOST` of them. Packing does not count: [`super::Packed::over`] says when there are more.
#[derive(Clone, Debug, PartialEq)]
pub struct Few<T, const MOST: usize>(pub Vec<T>);

impl<T, const MOST: usize> Default for Few<T, MOST> {
    fn default() -> Self {
        Few(Vec::new())
    }
}

impl<T, const MOST: usize> Few<T, MOST> {
    pub fn is_over(&self) -> bool {
        self.0.len() > MOST
    }
}

impl<T, const MOST: usize> FromIterator<T> for Few<T, MOST> {
    fn from_iter<I: IntoIterator<Item = T>>(all: I) -> Self {
        Few(all.into_iter().collect())
    }
}

impl<T: Serialize, const MOST: usize> Serialize for Few<T, MOST> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.0.serialize(serializer)
    }
}

impl<'de, T: Deserialize<'de>, const MOST: usize> Deserialize<'de> for Few<T, MOST> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct All<T, const MOST: usize>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>, const MOST: usize> Visitor<'de> for All<T, MOST> {
            type Value = Vec<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "at most {MOST}")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut sequence: A) -> Result<Vec<T>, A::Error> {
                if sequence.size_hint().is_none_or(|length| length > MOST) {
                    return Err(A::Error::custom("too many"));
                }
                let mut all = Vec::new();
                while let Some(one) = sequence.next_element()? {
                    all.push(one);
                }
                Ok(all)
            }
        }
        deserializer.deserialize_seq(All::<T, MOST>(PhantomData)).map(Few)
    }
}
