//! One job of the list, and what can be done with it.

use super::name_in_brief;
use crate::app::device::{clock, page};
use crate::app::frame::{App, app};
use crate::app::parts::badge::Badge;
use crate::app::parts::icon::{Icon, icon};
use crate::app::screen::Screen;
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::assess::Verdict;
use crate::core::job::brief::Brief;
use leptos::prelude::*;
use std::sync::Arc;

/// `open` is the key of the job whose actions are shown.
pub fn row(app: App, open: RwSignal<Option<String>>, brief: Arc<Brief>) -> impl IntoView {
    let speaker = app.speaker();
    let name = name_in_brief(app, &brief);
    let begun = speaker.fill(w::JOBS_BEGUN, &[("when", Arg::Name(clock::say(brief.begun)))]);
    let place = (!brief.place.is_empty()).then(|| view! { <span class="row-about">{brief.place.clone()}</span> });
    let told = brief.told.as_ref();
    let line = told.map(|told| told.line.clone()).unwrap_or_default();
    // Where nothing was checked yet, the next thing to do says enough.
    let verdict = told.and_then(|told| told.verdict).filter(|verdict| *verdict != Verdict::NotDone);
    let id = StoredValue::new(brief.id.clone());
    let is_open = Memo::new(move |_| open.with(|open| id.with_value(|id| open.as_ref() == Some(id))));
    let label = speaker.fill(w::JOBS_ACTIONS, &[("name", Arg::Name(name.clone()))]);
    let (demo, archived) = (brief.demo, brief.archived);
    view! {
        <li>
            <div class="job-line">
                <a class="job-row" href=Screen::Job(brief.id.clone()).to_string()>
                    <span class="row-words">
                        <span class="row-title">
                            {name.clone()}
                            {demo.then(|| view! { <span class="mark">{app.word(w::JOBS_DEMO_MARK)}</span> })}
                        </span>
                        {place}
                        <span class="row-about">{line}</span>
                        <span class="row-foot">
                            {verdict.map(|verdict| view! { <Badge verdict/> })}
                            <span class="row-about row-when">{begun}</span>
                        </span>
                    </span>
                </a>
                <button type="button" class="more-button" aria-label=label aria-expanded=move || is_open.get().to_string()
                    on:click=move |_| {
                        open.set((!is_open.get_untracked()).then(|| id.get_value()));
                        request_animation_frame(|| page::show_first(".job-actions"));
                    }>
                    {icon(Icon::More)}
                </button>
            </div>
            {move || is_open.get().then(|| actions(open, id, archived))}
        </li>
    }
}

fn actions(open: RwSignal<Option<String>>, id: StoredValue<String>, archived: bool) -> impl IntoView {
    let app = app();
    let away = if archived {
        (w::JOBS_BRING_BACK, w::JOBS_BRING_BACK_ABOUT)
    } else {
        (w::JOBS_PUT_AWAY, w::JOBS_PUT_AWAY_ABOUT)
    };
    let copy = move |whole: bool| {
        open.set(None);
        let kept = app.store.job(&id.get_value());
        if let Some(job) = untrack(|| kept.map(|kept| kept.with(|kept| kept.job.clone()))) {
            app.store.add(copied(app, &job, whole));
        }
    };
    view! {
        <div class="job-actions">
            {action(w::JOBS_DUPLICATE, w::JOBS_DUPLICATE_ABOUT, move || copy(true))}
            {action(w::JOBS_DUPLICATE_SITE, w::JOBS_DUPLICATE_SITE_ABOUT, move || copy(false))}
            {action(away.0, away.1, move || {
                open.set(None);
                app.store.change(&id.get_value(), |job| job.archived = !archived);
            })}
            {action(w::JOBS_DELETE, w::JOBS_DELETE_ABOUT, move || {
                open.set(None);
                app.store.delete(&id.get_value());
                request_animation_frame(|| page::focus_first(".foot .undo:last-of-type button"));
            })}
        </div>
    }
}

fn action(title: Word, about: Word, act: impl Fn() + 'static) -> impl IntoView {
    let app = app();
    view! {
        <button type="button" class="job-action" on:click=move |_| act()>
            <span class="row-title">{app.word(title)}</span>
            <span class="row-about">{app.word(about)}</span>
        </button>
    }
}

/// A copy under a name of its own. Photos stay with the job that they were taken for.
fn copied(app: App, job: &Job, whole: bool) -> Job {
    let mut copy = if whole { job.copy() } else { job.copy_of_site() };
    let name = [("name", Arg::Name(super::name_of(app, job)))];
    copy.site.name = app.speaker().fill(w::JOBS_COPY_NAME, &name);
    copy
}
