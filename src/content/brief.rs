//! What the list of jobs says of one: what comes next, and the worst of what was checked.

use crate::content::checklist::{Counts, Made, list};
use crate::content::schema::Content;
use crate::content::speak::Speaker;
use crate::content::walk::Progress;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::assess::{Assessment, Verdict};
use crate::core::job::brief::Told;
use crate::core::site::Site;

/// Works a job out: its cards, its checks, and the checklists that it goes by. It costs an assessment.
pub fn tell(content: &Content, job: &Job) -> Told {
    let speaker = Speaker::of(content);
    let Ok(site) = job.site.site() else {
        return Told { verdict: None, all_done: false, line: speaker.word(w::JOBS_DESCRIBE).to_string() };
    };
    let assessment = job.assess(&site);
    let progress = Progress::of(content, &site, job, &assessment);
    let lists = lists(content, job, &site, &assessment);
    let open = lists.iter().find(|(_, counts)| counts.done < counts.all);
    let line = match (progress.next, open) {
        (Some(next), _) => {
            let action = progress.cards[next].spoken(&speaker).action;
            speaker.fill(w::JOBS_NEXT, &[("action", Arg::Name(action))])
        }
        (None, Some((title, counts))) => {
            let args = [("title", Arg::Name(title.clone())), ("done", counts.done.into()), ("all", counts.all.into())];
            speaker.fill(w::JOBS_LIST_OPEN, &args)
        }
        (None, None) => speaker.word(w::JOBS_ALL_DONE).to_string(),
    };
    let of_lists = lists.iter().map(|(_, counts)| match counts {
        Counts { fails: 1.., .. } => Verdict::Fails,
        Counts { look_again: 1.., .. } => Verdict::LookAgain,
        _ => Verdict::Holds,
    });
    let of_checks = Some(assessment.worst()).filter(|verdict| *verdict != Verdict::NotDone);
    // A list on which nothing was read says nothing of the job.
    let of_lists = of_lists.max().filter(|verdict| *verdict > Verdict::Holds);
    let verdict = of_checks.max(of_lists).unwrap_or(Verdict::NotDone);
    Told { verdict: Some(verdict), all_done: progress.next.is_none() && open.is_none(), line }
}

/// The titles of the lists in use, with how far each has come.
fn lists(content: &Content, job: &Job, site: &Site, assessment: &Assessment) -> Vec<(String, Counts)> {
    let made = Some(Made { site, assessment });
    let lists = job.lists.iter().filter_map(|taken| list(content, taken, made));
    lists.map(|list| (list.title.clone(), list.counts(job, made))).collect()
}
