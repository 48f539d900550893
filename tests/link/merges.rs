//! Two versions of one job: nothing is lost, and a choice is kept.

use crate::jobs;
use proptest::prelude::*;
use sixty_ohms::core::bank::table::Table;
use sixty_ohms::core::job::link::Leave;
use sixty_ohms::core::job::merge::{Choices, Compared, Field, Side, Value, compare, merge};
use sixty_ohms::core::job::{Job, Moment, Observation, Seen, Subject};
use sixty_ohms::core::units::Metres;

/// Each of these, as often as it is there, is in the others: all that is said of it is said there.
fn is_within(few: &[Observation], all: &[Observation]) -> bool {
    let says = |more: &str, less: &str| less.is_empty() || more == less;
    let mut free: Vec<&Observation> = all.iter().collect();
    few.iter().all(|one| {
        let same = |other: &&Observation| {
            let about = other.of == one.of && other.at == one.at && other.seen == one.seen;
            about && says(&other.typed, &one.typed) && says(&other.by, &one.by) && says(&other.note, &one.note)
        };
        let equal = free.iter().position(|other| *other == one);
        equal.or_else(|| free.iter().position(same)).map(|index| free.swap_remove(index)).is_some()
    })
}

fn differences(mine: &Job, theirs: &Job) -> Compared {
    compare(mine, theirs, &Leave::NOTHING)
}

/// A job and what became of it in other hands.
fn two() -> impl Strategy<Value = (Job, Job)> {
    let other = (jobs::job(), proptest::collection::vec(any::<(bool, bool)>(), 30), any::<[bool; 4]>());
    (jobs::job(), other).prop_map(|(mine, (mut theirs, common, [site, notes, bank, lists]))| {
        theirs.id = mine.id.clone();
        // Some of what was seen is seen by both, with or without a name.
        for (index, (is_common, named)) in common.into_iter().enumerate() {
            let Some(seen) = mine.observations.get(index).filter(|_| is_common) else { continue };
            let by = if named { seen.by.clone() } else { String::new() };
            theirs.observations.insert(index.min(theirs.observations.len()), Observation { by, ..seen.clone() });
        }
        if site {
            theirs.site = mine.site.clone();
        }
        if notes {
            theirs.notes = mine.notes.clone();
        }
        if bank {
            theirs.bank = mine.bank.clone();
        }
        if lists {
            theirs.lists = mine.lists.iter().cloned().chain(theirs.lists).collect();
        }
        (mine, theirs)
    })
}

/// A table field with nothing in it is no field.
fn trimmed(mut job: Job) -> Job {
    job.bank = job.bank.fields().filter(|(_, text)| !text.is_empty()).map(|(k, t)| (k.into(), t.into())).collect();
    job
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 50, ..ProptestConfig::default() })]

    #[test]
    fn a_job_merged_with_itself_is_itself(job in jobs::job()) {
        let compared = differences(&job, &job);
        prop_assert_eq!(&compared, &Compared::default());
        prop_assert!(compared.brings_nothing());
        prop_assert_eq!(merge(&job, &job, &Choices::new()), job);
    }

    #[test]
    fn nothing_that_was_seen_is_lost((mine, theirs) in two()) {
        let compared = differences(&mine, &theirs);
        for choices in [Choices::new(), compared.all(Side::Mine), compared.all(Side::Theirs)] {
            let merged = merge(&mine, &theirs, &choices);
            prop_assert!(is_within(&mine.observations, &merged.observations));
            prop_assert!(is_within(&theirs.observations, &merged.observations));
            prop_assert_eq!(merged.observations.len(), mine.observations.len() + compared.only_theirs.len());
            prop_assert_eq!(merged.observations.len(), theirs.observations.len() + compared.only_mine.len());
            prop_assert!(mine.story.told.iter().chain(&theirs.story.told).all(|told| merged.story.told.contains(told)));
            let lists = mine.lists.iter().chain(&theirs.lists);
            prop_assert!(lists.into_iter().all(|list| merged.lists.iter().any(|kept| kept.key == list.key)));
        }
    }

    #[test]
    fn each_list_keeps_its_order((mine, theirs) in two()) {
        let merged = merge(&mine, &theirs, &Choices::new());
        let places = |of: &[Observation]| {
            let mut from = 0;
            of.iter().all(|one| {
                let about = |other: &Observation| other.of == one.of && other.at == one.at && other.seen == one.seen;
                let place = merged.observations[from..].iter().position(about);
                from += place.map_or(0, |place| place + 1);
                place.is_some()
            })
        };
        prop_assert!(places(&mine.observations));
    }

    #[test]
    fn mine_stays_and_fills_up((mine, theirs) in two()) {
        let merged = merge(&mine, &theirs, &Choices::new());
        for difference in differences(&mine, &merged).differences {
            prop_assert_eq!(difference.mine, Value::Nothing, "{:?}", difference.field);
        }
        // A second time there is nothing left to take.
        prop_assert_eq!(merge(&merged, &theirs, &Choices::new()), merged);
    }

    #[test]
    fn all_theirs_gives_their_fields((mine, theirs) in two()) {
        let (mine, theirs) = (trimmed(mine), trimmed(theirs));
        let compared = differences(&mine, &theirs);
        let merged = merge(&mine, &theirs, &compared.all(Side::Theirs));
        prop_assert_eq!(differences(&merged, &theirs).differences, vec![]);
        prop_assert_eq!(&merged.site, &theirs.site);
        prop_assert_eq!(&merged.bank, &theirs.bank);
        prop_assert_eq!((&merged.notes, &merged.people, &merged.pending), (&theirs.notes, &theirs.people, &theirs.pending));
    }
}

fn seen(at: i64, note: &str, by: &str) -> Observation {
    let seen = Observation::new(Subject::Card("link.1".into()), Moment(at), Seen::Done, "");
    Observation { note: note.into(), by: by.into(), ..seen }
}

#[test]
fn what_one_does_not_say_is_taken_from_the_other() {
    let with = |observations: Vec<Observation>| Job { observations, ..Job::default() };
    let check = |mine: Vec<Observation>, theirs: Vec<Observation>, expected: Vec<Observation>| {
        assert_eq!(merge(&with(mine), &with(theirs), &Choices::new()).observations, expected);
    };
    check(vec![seen(1, "", "Ada")], vec![seen(1, "tight", "")], vec![seen(1, "tight", "Ada")]);
    check(vec![seen(1, "loose", "")], vec![seen(1, "tight", "")], vec![seen(1, "loose", ""), seen(1, "tight", "")]);
    check(vec![seen(1, "", ""), seen(9, "", "")], vec![seen(5, "", "")], [1, 5, 9].map(|at| seen(at, "", "")).into());
    // A clock set back: what was seen after is not put before.
    check(
        vec![seen(9, "", ""), seen(2, "", "")],
        vec![seen(9, "", ""), seen(1, "", "")],
        [9, 1, 2].map(|at| seen(at, "", "")).into(),
    );
}

#[test]
fn a_choice_for_one_field_is_for_that_field() {
    let mine = Job { notes: "mine".into(), site: jobs::draft("otter"), ..Job::default() };
    let mut theirs = Job { notes: "theirs".into(), ..mine.clone() };
    theirs.site.bus_length = Some(Metres::of(12.0));
    theirs.site.module.as_mut().unwrap().most_in_parallel += 1;
    let compared = differences(&mine, &theirs);
    let fields: Vec<&str> = compared.differences.iter().map(|difference| difference.field.key()).collect();
    assert_eq!(fields, ["module", "bus-length", "notes"]);
    assert_eq!(compared.differences[1].theirs, Value::Figure(Metres::of(12.0).into()));
    assert!(compared.differences[0].is_in_figures() && !compared.differences[1].is_in_figures());
    let merged = merge(&mine, &theirs, &Choices::from([(Field::BusLength, Side::Theirs)]));
    assert_eq!((merged.site.bus_length, merged.notes.as_str()), (theirs.site.bus_length, "mine"));
    assert_eq!(merged.site.module, mine.site.module);
    let both = |mine: &Job| merge(mine, &theirs, &Choices::from([(Field::Notes, Side::Both)]));
    assert_eq!(both(&mine).notes, "mine\n\ntheirs");
    assert_eq!(both(&both(&mine)).notes, "mine\n\ntheirs");
}

#[test]
fn what_was_left_out_is_no_difference() {
    let people = sixty_ohms::core::job::People { by: "Ada".into(), ..Default::default() };
    let bank: Table = [("soc".to_string(), "80".to_string())].into_iter().collect();
    let mine = Job { notes: "mine".into(), people, bank, ..Job::default() };
    let theirs = Job::default();
    assert_eq!(differences(&mine, &theirs).differences.len(), 3);
    let left = Leave { notes: true, bank: true, ..Leave::default() };
    assert!(compare(&mine, &theirs, &left).brings_nothing());
    assert_eq!(merge(&mine, &theirs, &Choices::new()), mine);
}
