//! The names of the fields of a plain type, as serde has them.

use serde::de::value::Error;
use serde::de::{Deserialize, Deserializer, Error as _, Visitor};
use serde::forward_to_deserialize_any;
use std::cell::Cell;

/// The names under which `T` reads its fields; none for what is not a struct.
pub fn names<'de, T: Deserialize<'de>>() -> &'static [&'static str] {
    let asked = Cell::new(&[][..]);
    // Always an error: nothing is read.
    let _ = T::deserialize(Asked(&asked));
    asked.get()
}

/// Answers nothing, and remembers what it was asked for.
struct Asked<'a>(&'a Cell<&'static [&'static str]>);

impl<'de> Deserializer<'de> for Asked<'_> {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Error> {
        Err(Error::custom("not a struct"))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &str,
        fields: &'static [&'static str],
        _: V,
    ) -> Result<V::Value, Error> {
        self.0.set(fields);
        Err(Error::custom("only asked"))
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct newtype_struct
        seq tuple tuple_struct map enum identifier ignored_any
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::job::Job;

    #[test]
    fn they_are_those_of_the_kept_text() {
        let names = names::<Job>();
        let Ok(serde_json::Value::Object(kept)) = serde_json::to_value(Job::default()) else { panic!() };
        for (name, _) in &kept {
            assert!(names.contains(&name.as_str()), "{name}");
        }
        // Left out of a kept text while they are empty.
        assert!(names.contains(&"bank") && names.contains(&"archived"));
        // Never in it.
        assert!(!names.contains(&"rest"));
        assert!(super::names::<u8>().is_empty());
    }
}
