//! Content that comes after the start. The first screen needs a few words; what all other screens say is fetched while it is
//! being read, and put in here before anything else can be touched. Each value is read out of its JSON when it is first used:
//! a screen waits for none but its own.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::Value;
use serde_json::value::RawValue;
use std::ops::{Deref, DerefMut};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

const EARLY: &str = "the content is here before a screen that needs it";
const PACKED: &str = "the build packs what it has read";

/// A value that is there once the whole content is. Used like the value itself.
///
/// # Panics
///
/// When it is used before: the app shows no screen that needs it until then. And when its JSON is not of its shape, which the
/// build has seen to.
#[derive(Debug)]
pub struct Late<T> {
    read: OnceLock<T>,
    /// Goes only when `read` is set, so that whoever looks here first and there second finds the value in one of the two.
    unread: Mutex<Option<Arc<RawValue>>>,
}

impl<T> Late<T> {
    pub fn is_absent(&self) -> bool {
        self.waiting().is_none() && self.read.get().is_none()
    }

    fn waiting(&self) -> MutexGuard<'_, Option<Arc<RawValue>>> {
        self.unread.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Puts the value in, if it is not there yet and the other has one.
    pub fn fill(&self, with: Late<T>) {
        if !self.is_absent() {
            return;
        }
        match with.read.into_inner() {
            Some(value) => drop(self.read.set(value)),
            None => *self.waiting() = with.unread.into_inner().ok().flatten(),
        }
    }
}

impl<T: DeserializeOwned> Late<T> {
    // One for each value, and not one more wherever it is used.
    #[inline(never)]
    fn value(&self) -> &T {
        if let Some(value) = self.read.get() {
            return value;
        }
        let value = self.read.get_or_init(|| {
            let json = self.waiting().clone().expect(EARLY);
            // By way of a value, as all JSON here: one set of readers in the module instead of one for each way in.
            let value: Value = serde_json::from_str(json.get()).expect(PACKED);
            serde_json::from_value(value).expect(PACKED)
        });
        *self.waiting() = None;
        value
    }

    /// The value itself. Panics as all use of it, before it is there.
    pub fn here(self) -> T {
        self.value();
        self.read.into_inner().expect(EARLY)
    }
}

// Nothing, where `T`'s own default would look like an empty value that has come.
impl<T> Default for Late<T> {
    fn default() -> Late<T> {
        Late { read: OnceLock::new(), unread: Mutex::new(None) }
    }
}

impl<T> From<T> for Late<T> {
    fn from(value: T) -> Late<T> {
        Late { read: OnceLock::from(value), unread: Mutex::new(None) }
    }
}

impl<T: Clone> Clone for Late<T> {
    fn clone(&self) -> Late<T> {
        let unread = Mutex::new(self.waiting().clone());
        Late { read: self.read.clone(), unread }
    }
}

impl<T: PartialEq + DeserializeOwned> PartialEq for Late<T> {
    fn eq(&self, other: &Late<T>) -> bool {
        match (self.is_absent(), other.is_absent()) {
            (false, false) => **self == **other,
            (one, other) => one == other,
        }
    }
}

impl<T: DeserializeOwned> Deref for Late<T> {
    type Target = T;

    fn deref(&self) -> &T {
        self.value()
    }
}

impl<T: DeserializeOwned> DerefMut for Late<T> {
    fn deref_mut(&mut self) -> &mut T {
        self.value();
        self.read.get_mut().expect(EARLY)
    }
}

impl<'a, T: DeserializeOwned> IntoIterator for &'a Late<T>
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

impl<T: Serialize + DeserializeOwned> Serialize for Late<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.deref().serialize(serializer)
    }
}

impl<'de, T> Deserialize<'de> for Late<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Late<T>, D::Error> {
        let json = Box::<RawValue>::deserialize(deserializer)?;
        Ok(Late { read: OnceLock::new(), unread: Mutex::new(Some(Arc::from(json))) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Barrier;
    use std::thread;

    #[test]
    fn it_comes_when_it_is_first_used_whichever_way_that_is() {
        let unread = || serde_json::from_str::<Late<Vec<u8>>>("[1, 2]").unwrap();
        assert_eq!(unread().len(), 2);
        assert_eq!(unread().here(), [1, 2]);
        assert_eq!(unread(), Late::from(vec![1, 2]));
        assert_eq!(serde_json::to_string(&unread()).unwrap(), "[1,2]");
        let mut more = unread().clone();
        more.push(3);
        assert_eq!(*more, [1, 2, 3]);
        let late = Late::<Vec<u8>>::default();
        assert!(late.is_absent());
        late.fill(unread());
        late.fill(Late::from(vec![9]));
        assert_eq!(*late, [1, 2]);
    }

    /// Is being read for as long as the test wants.
    static MOMENTS: Barrier = Barrier::new(2);

    #[derive(Clone, Debug, PartialEq)]
    struct Slow(u8);

    impl<'de> Deserialize<'de> for Slow {
        fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Slow, D::Error> {
            MOMENTS.wait();
            MOMENTS.wait();
            u8::deserialize(deserializer).map(Slow)
        }
    }

    #[test]
    fn a_copy_that_is_made_while_it_is_being_read_has_it_too() {
        let late: Late<Slow> = serde_json::from_str("7").unwrap();
        thread::scope(|threads| {
            let reads = threads.spawn(|| late.value());
            MOMENTS.wait();
            let there = [late.is_absent(), late.clone().is_absent()];
            MOMENTS.wait();
            assert_eq!(*reads.join().unwrap(), Slow(7));
            assert_eq!(there, [false, false]);
        });
    }
}
