//! The power side in the record of a job, and what does not hold of it in the one view.

use super::book::answered;
use super::title_of;
use crate::app::device::clock;
use crate::app::frame::app;
use crate::app::parts::badge::Badge;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::assess::Verdict;
use crate::core::power::sheet::{Ask, Part, Sheet};
use crate::core::power::sheet_judged::Found;
use crate::core::site::Site;
use leptos::prelude::*;

/// Everything that was said, with its verdicts; nothing where nobody said anything.
pub fn in_record(job: &Job, site: &Site, found: &[Found]) -> Option<AnyView> {
    if found.is_empty() {
        return None;
    }
    let app = app();
    let when = job.power_at.map(|at| {
        let args = [("when", Arg::Name(clock::say(at)))];
        view! { <p class="small">{app.speaker().fill(w::POWER_RECORD_AT, &args)}</p> }
    });
    let sheet = Sheet { table: &job.power, site: Some(site) };
    let rows = found.iter().map(|found| row(found, &line(&sheet, found.part, &found.id))).collect_view();
    Some(
        view! {
            <h2>{app.word(w::POWER_TITLE)}</h2>
            {when}
            <ul class="record-checks record-power">{rows}</ul>
            <p class="small">{app.word(w::POWER_RULES)}</p>
        }
        .into_any(),
    )
}

/// What does not hold, worst first.
pub fn wrong(found: &[Found]) -> Vec<AnyView> {
    let is_open = |found: &&Found| matches!(found.judged.verdict, Verdict::Fails | Verdict::LookAgain);
    let mut open: Vec<&Found> = found.iter().filter(is_open).collect();
    open.sort_by_key(|found| std::cmp::Reverse(found.judged.verdict));
    open.into_iter().map(|found| row(found, "")).collect()
}

fn row(found: &Found, reading: &str) -> AnyView {
    let speaker = app().speaker();
    let also =
        found.judged.also.iter().map(|because| view! { <p class="record-because">{speaker.because(because)}</p> });
    view! {
        <li class="record-check">
            <p class="record-title">{title_of(found.part, &found.id, found.name.as_deref())}</p>
            <p class="record-verdict"><Badge verdict=found.judged.verdict not_done=w::BANK_NOT_KNOWN/></p>
            {(!reading.is_empty()).then(|| view! { <p class="record-window">{reading.to_string()}</p> })}
            <p class="record-because">{speaker.because(&found.judged.because)}</p>
            {also.collect_view()}
        </li>
    }
    .into_any()
}

/// What was typed and chosen on a sheet, in one line.
fn line(sheet: &Sheet, part: Part, id: &str) -> String {
    let speaker = app().speaker();
    let said = part.asks().iter().filter_map(|ask| {
        let name = speaker.name(&format!("power-{}", ask.key()));
        let text = match ask {
            Ask::Name => return None,
            Ask::Figure(asked) => speaker.figure(sheet.shown(part, id, *asked)?.figure),
            Ask::Choose(question, reads) => {
                let said = sheet.text(part, id, question.key);
                let known = question.answers.iter().find(|answer| **answer == said && said != "unknown")?;
                answered(*question, *reads, known)
            }
        };
        Some(format!("{name}: {text}"))
    });
    said.collect::<Vec<String>>().join("; ")
}
