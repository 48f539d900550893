//! What goes into a link comes out of it, and nothing else does.

use crate::jobs;
use proptest::prelude::*;
use sixty_ohms::core::job::link::{self, Leave, Left, Opened};
use sixty_ohms::core::job::{Job, Subject};

const WITH_PEOPLE: Leave = Leave::NOTHING;

fn opened(text: &str) -> (Job, Left) {
    match link::open(text) {
        Ok(Opened::Job(job, left)) => (*job, left),
        other => panic!("{text:?} opens as {other:?}"),
    }
}

#[test]
fn the_demo_comes_back() {
    for job in [jobs::lark(), jobs::with_readings(jobs::draft("otter"), 40, jobs::NOTE), Job::default()] {
        let packed = link::pack(&job, &WITH_PEOPLE);
        assert!(!packed.over);
        assert_eq!(opened(&packed.letters()).0, job);
        assert_eq!(opened(&packed.digits()).0, job);
        assert_eq!(opened(&packed.link("https://example.org/ohms/")).0, job);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, ..ProptestConfig::default() })]

    #[test]
    fn every_job_comes_back_exactly(job in jobs::job()) {
        let packed = link::pack(&job, &WITH_PEOPLE);
        prop_assert!(!packed.over);
        let (again, left) = opened(&packed.letters());
        prop_assert_eq!(&again, &job);
        prop_assert_eq!(left.leave, WITH_PEOPLE);
        prop_assert_eq!(opened(&packed.digits()).0, job);
        // To the last bit, which equality of numbers does not see.
        prop_assert_eq!(link::pack(&again, &WITH_PEOPLE), packed);
    }

    #[test]
    fn what_is_left_out_is_not_there_and_the_rest_is(job in jobs::job(), bits in proptest::array::uniform8(any::<bool>())) {
        let [people, notes, bank, story, lists, pending, captions, power] = bits;
        let leave = Leave { people, notes, bank, story, lists, pending, captions, power };
        let mut expected = job.clone();
        if people {
            expected.people = Default::default();
            expected.observations.iter_mut().for_each(|seen| seen.by.clear());
        }
        if notes {
            expected.notes.clear();
        }
        if bank {
            (expected.bank, expected.bank_at) = Default::default();
        }
        if power {
            (expected.power, expected.power_at) = Default::default();
        }
        if story {
            expected.story = Default::default();
        }
        if lists {
            expected.lists.clear();
            expected.observations.retain(|seen| !matches!(seen.of, Subject::Item { .. }));
        }
        if pending {
            expected.pending.clear();
        }
        let (again, left) = opened(&link::pack(&job, &leave).letters());
        prop_assert_eq!(again, expected);
        prop_assert_eq!(left, Left { leave, photos: Vec::new() });
    }

    #[test]
    fn a_checklist_comes_back_alone(taken in jobs::taken(), mut seen in proptest::collection::vec(jobs::observation(), 0..12)) {
        for (index, seen) in seen.iter_mut().enumerate() {
            if let Subject::Item { list, .. } = &mut seen.of && index % 2 == 0 {
                *list = taken.key.clone();
            }
        }
        let packed = link::pack_list(&taken, &seen, true);
        let of_it = |of: &Subject| matches!(of, Subject::Item { list, .. } if *list == taken.key);
        let observations: Vec<_> = seen.iter().filter(|seen| of_it(&seen.of)).cloned().collect();
        prop_assert_eq!(link::open(&packed.letters()), Ok(Opened::Checklist { taken, observations }));
    }
}
