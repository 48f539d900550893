//! The bank by its modules, in the record of a job.

use super::modules::line;
use super::result::{causes, headline, word_of};
use crate::app::device::clock;
use crate::app::frame::app;
use crate::app::parts::badge::Badge;
use crate::content::words as w;
use crate::core::bank::findings::Held;
use crate::core::bank::table::{Item, Of};
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::bank::check_of;
use crate::core::judged::Judged;
use leptos::prelude::*;

/// What the modules said, what the bank had to show, what no check asks for, and what would explain a disagreement.
/// Nothing where nobody spoke of modules and nothing disagrees.
pub fn in_record(job: &Job, held: &Held) -> Option<AnyView> {
    if job.bank.is_empty() && held.display.causes.is_empty() {
        return None;
    }
    let app = app();
    let speaker = app.speaker();
    let when = job.bank_at.map(|at| {
        let args = [("when", Arg::Name(clock::say(at)))];
        view! { <p class="small">{speaker.fill(w::RECORD_BANK_AT, &args)}</p> }
    });
    let modules = job.bank.modules().into_iter().map(|of| {
        let name = match of {
            Of::Module(n) => speaker.fill(w::BANK_JOIN_MODULE, &[("n", n.into())]),
            Of::All | Of::Bank => app.word(w::BANK_MODULE_ALL).to_string(),
        };
        view! { <li><span>{name}</span><span>{line(&job.bank, of)}</span></li> }
    });
    let row = |title: String, reading: String, judged: &Judged| {
        let also = judged.also.iter().map(|because| view! { <p class="record-because">{speaker.because(because)}</p> });
        view! {
            <li class="record-check">
                <p class="record-title">{title}</p>
                <p class="record-verdict"><Badge verdict=judged.verdict not_done=w::BANK_NOT_KNOWN/></p>
                <p class="record-reading">{reading}</p>
                <p class="record-because">{speaker.because(&judged.because)}</p>
                {also.collect_view()}
            </li>
        }
    };
    let reading = |of: Item| job.bank.shown(Of::Bank, of).map(|shown| speaker.figure(shown.figure));
    let beside = held.display.findings.iter().filter(|finding| check_of(finding.what).is_none()).map(|finding| {
        let reading = reading(Item::shown(finding.what)).unwrap_or_default();
        row(app.word(word_of(finding.what)).to_string(), reading, &finding.judged)
    });
    let asked = held.asks.iter().map(|judged| {
        let both = [Item::ASKED_VOLTAGE, Item::ASKED_CURRENT].into_iter().filter_map(reading);
        row(app.word(w::BANK_RESULT_CHARGERS).to_string(), both.collect::<Vec<String>>().join(", "), judged)
    });
    let causes = if held.display.causes.is_empty() { None } else { causes(&held.display) };
    Some(
        view! {
            <h2>{app.word(w::RECORD_BANK)}</h2>
            {when}
            {headline(&held.numbers)}
            <ul class="record-cards record-modules">{modules.collect_view()}</ul>
            <ul class="record-checks">{beside.chain(asked).collect_view()}</ul>
            {causes}
        }
        .into_any(),
    )
}
