//! Which writes a kept job has in it, so that no tab writes over what another has written at the same moment.
//!
//! Two stores and any number of tabs know of each other only through what lies in the store, and that may be a moment
//! old. So each text carries how many writes of each tab it has in it (a version vector: Parker et al., *Detection of
//! mutual inconsistency in distributed systems*, IEEE TSE 9(3), 1983; cited from memory).

use serde_json::{Map, Value};

/// Tabs remembered in one text. Each start of the app is a tab: so many starts back a restored backup still knows that
/// the job here came after it. About 20 bytes each.
const REMEMBERED: usize = 32;

/// The writes that a text has in it: for each tab its last one, the tab that wrote last at the end.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lineage(Vec<(String, u64)>);

impl Lineage {
    /// The next text of `tab`: all that is in this one, and one more write.
    pub fn then(&self, tab: &str) -> Lineage {
        let next = self.count(tab) + 1;
        let mut writes: Vec<_> = self.0.iter().filter(|(of, _)| of != tab).cloned().collect();
        writes.push((tab.to_string(), next));
        let old = writes.len().saturating_sub(REMEMBERED);
        Lineage(writes.split_off(old))
    }

    /// Nothing is known of where the text came from.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether all that `tab` has written into `other` is in this one too.
    pub fn has_all_of(&self, tab: &str, other: &Lineage) -> bool {
        self.count(tab) >= other.count(tab)
    }

    /// Whether either has in it what the other wrote last: one came after the other.
    pub fn in_line_with(&self, other: &Lineage) -> bool {
        self.has_last_of(other) || other.has_last_of(self)
    }

    /// Whether this has in it what the other wrote last: it came after the other, or is the other.
    pub fn has_last_of(&self, other: &Lineage) -> bool {
        other.0.last().is_none_or(|(tab, count)| self.count(tab) >= *count)
    }

    fn count(&self, tab: &str) -> u64 {
        self.0.iter().find(|(of, _)| of == tab).map_or(0, |(_, count)| *count)
    }

    pub(super) fn to_value(&self) -> Value {
        self.0.iter().map(|(tab, count)| Value::from(vec![Value::from(tab.clone()), Value::from(*count)])).collect()
    }

    /// Reads what [`Lineage::to_value`] made; anything else counts as no lineage, since a job must not fail for it.
    pub(super) fn take_from(rest: &mut Map<String, Value>) -> Lineage {
        let read = |one: &Value| Some((one.get(0)?.as_str()?.to_string(), one.get(1)?.as_u64()?));
        let all =
            rest.remove("writes").and_then(|value| value.as_array()?.iter().map(read).collect::<Option<Vec<_>>>());
        Lineage(all.unwrap_or_default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_after_the_other_is_in_line_and_at_the_same_moment_is_not() {
        let start = Lineage::default().then("one");
        let (one, two) = (start.then("one"), start.then("two"));
        assert!(start.in_line_with(&one) && two.in_line_with(&start));
        assert!(!one.in_line_with(&two) && !two.in_line_with(&one));
        assert!(two.has_all_of("one", &start));
        assert!(!two.has_all_of("one", &one), "what one wrote last is not in two's");
        assert!(one.then("two").in_line_with(&one));
    }

    #[test]
    fn many_tabs_are_forgotten_in_order() {
        let all = (0..40).fold(Lineage::default(), |lineage, tab| lineage.then(&tab.to_string()));
        assert_eq!(all.0.len(), REMEMBERED);
        assert_eq!(all.count("39"), 1);
        assert_eq!(all.count("0"), 0);
    }

    #[test]
    fn a_lineage_comes_back_as_it_was_and_nonsense_is_none() {
        let lineage = Lineage::default().then("a").then("b").then("a");
        let read = |value: Value| Lineage::take_from(&mut Map::from_iter([("writes".to_string(), value)]));
        assert_eq!(read(lineage.to_value()), lineage);
        assert_eq!(read(serde_json::json!([["a", -1]])), Lineage::default());
        assert_eq!(read("x".into()), Lineage::default());
    }
}
