//! A job without the sections that its person leaves out before handing it over.

use crate::core::job::link::Leave;
use crate::core::job::{Job, People, Subject};

/// The job without these sections. Photos stay as what they show; the pictures lie elsewhere.
pub fn without(job: &Job, leave: &Leave) -> Job {
    let mut rest = job.clone();
    if leave.people {
        rest.people = People::default();
        rest.observations.iter_mut().for_each(|seen| seen.by.clear());
    }
    if leave.notes {
        rest.notes.clear();
    }
    if leave.bank {
        rest.bank = Default::default();
        rest.bank_at = None;
    }
    if leave.power {
        rest.power = Default::default();
        rest.power_at = None;
    }
    if leave.story {
        rest.story = Default::default();
    }
    if leave.lists {
        rest.lists.clear();
        rest.observations.retain(|seen| !matches!(seen.of, Subject::Item { .. }));
    }
    if leave.pending {
        rest.pending.clear();
    }
    if leave.captions {
        rest.photos.clear();
    }
    rest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::job::link::{self, Opened};
    use crate::core::job::lists::Taken;
    use crate::core::job::{Moment, Observation, Seen};

    #[test]
    fn a_file_leaves_out_what_a_link_leaves_out() {
        let item = Subject::Item { list: "l".into(), item: "i".into() };
        let mut seen = Observation::new(item, Moment(4), Seen::Done, "");
        seen.by = "Kim".into();
        let card = Observation::new(Subject::Card("link.1".into()), Moment(5), Seen::Done, "");
        let mut job = Job { id: "a1".into(), notes: "as left".into(), ..Job::default() };
        job.observations = vec![seen, card];
        job.people.owner = "Lee".into();
        job.lists = vec![Taken { key: "l".into(), own: None }];
        job.pending.insert("name".into(), "half".into());
        job.power.put("cable.1.current", "150".into());
        job.power_at = Some(Moment(6));
        for leave in [
            Leave::NOTHING,
            Leave::default(),
            Leave { notes: true, ..Leave::NOTHING },
            Leave { lists: true, ..Leave::NOTHING },
            Leave { pending: true, ..Leave::NOTHING },
            Leave { bank: true, story: true, ..Leave::NOTHING },
            Leave { power: true, ..Leave::NOTHING },
        ] {
            let Ok(Opened::Job(linked, _)) = link::open_payload(&link::pack(&job, &leave).payload) else { panic!() };
            assert_eq!(*linked, without(&job, &leave), "{leave:?}");
        }
    }
}
