//! Texts as past versions of the app kept them, in `tests/stored/`: one of every version, written by the app of that time.
//! They are never changed; a new version adds its own.

use serde_json::Value;
use sixty_ohms::core::job::backup;
use sixty_ohms::core::job::stored::{SetAside, VERSION, open};
use sixty_ohms::core::job::{Moment, Seen, Subject};
use std::fs;

fn text_of(version: u32) -> String {
    fs::read_to_string(format!("tests/stored/v{version}.json")).expect("a text of every version is there")
}

/// Everything in `old` is in `new` with the same value, but for the version.
fn assert_holds(new: &Value, old: &Value, place: &str) {
    match (new, old) {
        (Value::Object(new), Value::Object(old)) => {
            for (key, value) in old.iter().filter(|(key, _)| !place.is_empty() || *key != "v") {
                let found = new.get(key).unwrap_or_else(|| panic!("{place}/{key} is lost"));
                assert_holds(found, value, &format!("{place}/{key}"));
            }
        }
        (Value::Array(new), Value::Array(old)) => {
            assert_eq!(new.len(), old.len(), "{place}");
            for (index, (new, old)) in new.iter().zip(old).enumerate() {
                assert_holds(new, old, &format!("{place}/{index}"));
            }
        }
        _ => assert_eq!(new, old, "{place}"),
    }
}

#[test]
fn every_past_version_opens_and_nothing_in_it_is_lost() {
    for version in 1..=VERSION {
        let text = text_of(version);
        let stored = open(&text).unwrap_or_else(|why| panic!("version {version}: {why:?}"));
        let again = stored.text();
        assert_eq!(open(&again), Ok(stored), "version {version} comes back");
        let (new, old): (Value, Value) = (serde_json::from_str(&again).unwrap(), serde_json::from_str(&text).unwrap());
        assert_eq!(new["v"], VERSION);
        assert_holds(&new, &old, "");
        if version == VERSION {
            assert_eq!(again, text, "the present version is written as it was read");
        }
    }
}

#[test]
fn a_job_of_version_1_means_what_it_meant() {
    let stored = open(&text_of(1)).unwrap();
    assert_eq!((stored.rev, stored.saved_at), (27, Moment(1_760_001_060_000)));
    let job = &stored.job;
    assert_eq!(job.site.name, "Otter, Łódź – “the long one”");
    assert_eq!(job.observations.len(), 14);
    assert!(job.site.site().is_ok(), "the site is whole");
    assert_eq!(job.done("isolate"), Some(Moment(1_760_000_161_000)));
    assert_eq!(job.done("link.1"), None, "it was taken back");
    assert_eq!(job.alarms().count(), 2);
    assert_eq!(job.bank.text("m2-voltage"), "13,31 V");
    assert_eq!(job.story.told.len(), 4);
    assert_eq!(job.pending["check.shown-soc"], "8o");
    assert!(job.observations.iter().any(|seen| matches!(&seen.of, Subject::Hold(_))));
    assert!(job.people.is_empty() && job.lists.is_empty() && job.photos.is_empty() && !job.archived);
    assert_eq!((&stored.rest["seal"], &job.rest["later"]["torque"][0]), (&"kept as it came".into(), &9.into()));
}

#[test]
fn a_job_of_version_2_means_what_it_meant() {
    let job = open(&text_of(2)).unwrap().job;
    assert_eq!((job.people.by.as_str(), job.lists.len(), job.photos.len(), job.archived), ("Ada", 2, 1, true));
    let items: Vec<_> = job.observations.iter().filter(|seen| matches!(seen.of, Subject::Item { .. })).collect();
    assert_eq!(items.len(), 2);
    assert_eq!((&items[1].seen, items[1].note.as_str()), (&Seen::NotApplicable, "no shore power here"));
    assert_eq!(job.photos[0].shows, "terminator at the bank's end");
}

#[test]
fn no_cut_or_changed_text_is_taken_for_another_job() {
    let text = text_of(VERSION);
    for end in (0..text.len() - 1).filter(|end| text.is_char_boundary(*end)) {
        assert_eq!(open(&text[..end]), Err(SetAside::Broken), "cut after {end}");
    }
    let newer = text.replacen(&format!("\"v\":{VERSION}"), &format!("\"v\":{}", VERSION + 1), 1);
    assert_eq!(open(&newer), Err(SetAside::Newer));
}

#[test]
fn all_of_them_travel_in_a_backup() {
    let mut texts: Vec<(String, String)> = Vec::new();
    for version in 1..=VERSION {
        let stored = open(&text_of(version)).unwrap();
        texts.push((format!("{}-{version}", stored.job.id), text_of(version)));
    }
    texts.push(("of-tomorrow".into(), format!("{{\"v\":{},  \"job\":{{}}}}", VERSION + 1)));
    texts.push(("torn".into(), text_of(1)[..700].to_string()));
    let file = backup::head(Moment(0), &texts) + backup::TAIL;
    let read = backup::read(&file).unwrap();
    let plan = backup::plan(&read, &[]);
    let added = plan.iter().filter(|step| matches!(step, backup::Step::Add(_))).count();
    let aside: Vec<&str> = plan
        .iter()
        .filter_map(|step| match step {
            backup::Step::Aside(_, held) => Some(held.text.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(added, VERSION as usize);
    assert_eq!(aside, texts[VERSION as usize..].iter().map(|(_, text)| text.as_str()).collect::<Vec<_>>());
    assert!(
        backup::plan(&read, &texts).iter().all(|step| *step == backup::Step::Same),
        "the same again changes nothing"
    );
}
