//! Isolation and order of work: the cards of the walkthrough that lead to and from a dead bank.

use crate::app::device::clock;
use crate::app::frame::{App, app};
use crate::app::pages::entries::{no_site, with_job};
use crate::app::pages::jobs::name_of;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use crate::content::walk::cards;
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use crate::core::job::Job;
use leptos::prelude::*;

/// The steps in their order, by what they come before.
const GROUPS: [(Word, &[&str]); 3] = [
    (w::POWER_ORDER_BEFORE, &["who-may", "sources-off", "loads-off", "switch-open", "modules-off", "prove-dead"]),
    (w::POWER_ORDER_JOINING, &["polarity", "string-before-link", "negatives-joined"]),
    (w::POWER_ORDER_CLOSING, &["closing-order", "switch-closed"]),
];

/// To be read without a job.
#[component]
pub fn MeasureOrder() -> impl IntoView {
    let app = app();
    let groups = GROUPS.map(|(title, steps)| {
        let steps = steps.iter().map(|step| read(app, step)).collect_view();
        view! { <h2>{app.word(title)}</h2><ol class="order">{steps}</ol> }
    });
    view! {
        <div class="page page-power">
            <Head title=app.word(w::POWER_ORDER)/>
            <p class="lead">{app.word(w::POWER_ORDER_LEAD)}</p>
            {groups.into_iter().collect_view()}
            <p class="hint">{app.word(w::POWER_RULES)}</p>
        </div>
    }
}

/// One step in full.
fn read(app: App, step: &str) -> Option<AnyView> {
    let speaker = app.speaker();
    let words = speaker.language.walk.step.get(step)?;
    // Without a site nobody knows how many: "all modules".
    let fill = |text: &str| speaker.template(text, &[("modules", Arg::Name(String::new()))]).replace("  ", " ");
    let caution = (!words.caution.is_empty()).then(|| {
        view! { <p class="caution">{icon(Icon::Caution)}<span>{fill(&words.caution)}</span></p> }
    });
    Some(
        view! {
            <li>
                <p class="row-title">{fill(&words.action)}</p>
                {caution}
                <p>{fill(&words.see)}</p>
                <p class="why">{fill(&words.why)}</p>
            </li>
        }
        .into_any(),
    )
}

/// The cards of a job, each with the way to it and whether it was ticked.
#[component]
pub fn JobOrder(id: String) -> impl IntoView {
    let app = app();
    with_job(id, move |job| drawn(app, &job))
}

fn drawn(app: App, job: &Job) -> AnyView {
    let back = name_of(app, job);
    let Ok(site) = job.site.site() else { return no_site(app, app.word(w::POWER_ORDER), back, job.id.clone()) };
    let speaker = app.speaker();
    let all = cards(app.content, &site, &job.assess(&site));
    let groups = GROUPS.map(|(title, steps)| {
        let of_group = all.iter().filter(|card| steps.contains(&card.step.as_str()));
        let rows = of_group.map(|card| {
            let when = job.done(&card.key).map(clock::say);
            let about = when.unwrap_or_else(|| app.word(w::RECORD_NOT_DONE).to_string());
            go_row(&Screen::Card(job.id.clone(), card.key.clone()), &card.spoken(&speaker).action, &about)
        });
        view! { <h2>{app.word(title)}</h2><ul class="rows">{rows.collect_view()}</ul> }
    });
    view! {
        <div class="page page-power">
            <Head title=app.word(w::POWER_ORDER) back=app.word(w::POWER_TITLE)/>
            {groups.into_iter().collect_view()}
            <p class="hint">{app.word(w::POWER_RULES)}</p>
        </div>
    }
    .into_any()
}
