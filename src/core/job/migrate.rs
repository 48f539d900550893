//! From an older shape of a stored job to the present one, a step at a time: plain functions over JSON, so that a step
//! stays true when the types move on. A step is never changed once an app that writes its result was published;
//! `tests/stored/` holds a text of every version.

use crate::core::job::stored::VERSION;
use serde_json::{Map, Value};

/// A step changes the whole text: the envelope, and in it the job.
type Step = fn(&mut Map<String, Value>);

/// The steps in order: the first leads from version 1 to 2.
const STEPS: [Step; VERSION as usize - 1] = [one_to_two];

/// Brings a text of version `from` to the present one, its number included. None where no step leads from there.
pub fn bring_up(from: u64, mut whole: Map<String, Value>) -> Option<Map<String, Value>> {
    let first = usize::try_from(from).ok()?.checked_sub(1)?;
    for step in STEPS.get(first..)? {
        step(&mut whole);
    }
    whole.insert("v".into(), VERSION.into());
    Some(whole)
}

/// Version 2 knows who saw a thing and notes on it, items of checklists, people, lists, photos and jobs put away. All of
/// these may be missing. What an unknown version-1 field of the same name held is kept under another name, so that it is
/// neither lost nor taken for what it is not.
fn one_to_two(whole: &mut Map<String, Value>) {
    const NEW: [&str; 4] = ["people", "lists", "photos", "archived"];
    let Some(Value::Object(job)) = whole.get_mut("job") else { return };
    for name in NEW {
        if let Some(unknown) = job.remove(name) {
            job.insert(format!("{name}-before-2"), unknown);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn brought(from: u64, whole: Value) -> Option<Value> {
        bring_up(from, whole.as_object().unwrap().clone()).map(Value::Object)
    }

    #[test]
    fn one_becomes_two_and_nothing_is_lost() {
        let one = json!({"v": 1, "rev": 3, "job": {"notes": "as left", "people": 7, "torque": 9}});
        let two = json!({"v": 2, "rev": 3, "job": {"notes": "as left", "people-before-2": 7, "torque": 9}});
        assert_eq!(brought(1, one), Some(two));
    }

    #[test]
    fn the_present_version_stays_and_no_step_leads_from_elsewhere() {
        let present = json!({"v": VERSION, "job": {"people": {"by": "Ada"}}});
        assert_eq!(brought(VERSION.into(), present.clone()), Some(present));
        assert_eq!(brought(0, json!({})), None);
        assert_eq!(brought(u64::from(VERSION) + 1, json!({})), None);
        assert_eq!(brought(u64::MAX, json!({})), None);
    }
}
