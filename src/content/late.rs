//! Content that comes after the start. The first screen needs a few words; what all other screens say is fetched while it is
//! being read, and put in here before anything else can be touched.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::ops::{Deref, DerefMut};
use std::sync::OnceLock;

const EARLY: &str = "the content is here before a screen that needs it";

/// A value that is there once the whole content is. Used like the value itself.
///
/// # Panics
///
/// When it is used before: the app shows no screen that needs it until then.
#[derive(Clone, Debug, PartialEq)]
pub struct Late<T>(OnceLock<T>);

impl<T> Late<T> {
    pub fn is_absent(&self) -> bool {
        self.0.get().is_none()
    }

    /// The value itself. Panics as all use of it, before it is there.
    pub fn here(self) -> T {
        self.0.into_inner().expect(EARLY)
    }

    /// Puts the value in, if it is not there yet and the other has one.
    pub fn fill(&self, with: Late<T>) {
        if let Some(value) = with.0.into_inner() {
            let _ = self.0.set(value);
        }
    }
}

// Nothing, where `T`'s own default would look like an empty value that has come.
impl<T> Default for Late<T> {
    fn default() -> Late<T> {
        Late(OnceLock::new())
    }
}

impl<T> From<T> for Late<T> {
    fn from(value: T) -> Late<T> {
        Late(OnceLock::from(value))
    }
}

impl<T> Deref for Late<T> {
    type Target = T;

    fn deref(&self) -> &T {
        self.0.get().expect(EARLY)
    }
}

impl<T> DerefMut for Late<T> {
    fn deref_mut(&mut self) -> &mut T {
        self.0.get_mut().expect(EARLY)
    }
}

impl<'a, T> IntoIterator for &'a Late<T>
where
    &'a T: IntoIterator,
{
    type Item = <&'a T as IntoIterator>::Item;
    type IntoIter = <&'a T as IntoIterator>::IntoIter;

    fn into_iter(self) -> Self::IntoIter {
        let value: &'a T = self;
        value.into_iter()
    }
}

impl<T: Serialize> Serialize for Late<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.deref().serialize(serializer)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Late<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Late<T>, D::Error> {
        T::deserialize(deserializer).map(Late::from)
    }
}
