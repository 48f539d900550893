//! What pages of a job share: finding the job, and fields whose text is kept until it can be read.

use crate::app::frame::{App, app};
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::job::Job;
use crate::core::site::Site;
use leptos::prelude::*;

/// Draws a page of a job again on each change of it; a page of words where there is no such job.
pub fn with_job(id: String, draw: impl Fn(Job) -> AnyView + Send + 'static) -> impl IntoView {
    let app = app();
    move || match app.store.job(&id) {
        Some(kept) => draw(kept.with(|kept| kept.job.clone())),
        None => view! { <NoSuchJob/> }.into_any(),
    }
}

/// Draws a page of a job once; the page follows changes by itself, so that fields keep their focus.
pub fn once_with_job(id: &str, draw: impl FnOnce(Job) -> AnyView) -> AnyView {
    let app = app();
    match app.store.job(id) {
        Some(kept) => draw(kept.with_untracked(|kept| kept.job.clone())),
        None => view! { <NoSuchJob/> }.into_any(),
    }
}

/// A part of a job as a signal that changes only when the part does.
pub fn part_of<T: Default + PartialEq + Clone + Send + Sync + 'static>(
    id: &str,
    read: impl Fn(&Job) -> T + Send + Sync + 'static,
) -> Memo<T> {
    let kept = app().store.job(id);
    Memo::new(move |_| kept.as_ref().map(|kept| kept.with(|kept| read(&kept.job))).unwrap_or_default())
}

/// A job's site, if it is whole. It stays as it is while readings are taken, and a large one takes a while to be put
/// together: that is done when its description changes, and not at every key.
pub fn site_of(id: &str) -> Memo<Option<Site>> {
    let draft = part_of(id, |job| job.site.clone());
    Memo::new(move |_| draft.with(|draft| draft.site().ok()))
}

/// The page in place of one that needs a whole site: the way to the questions that are open.
pub fn no_site(app: App, title: &'static str, back: String, id: String) -> AnyView {
    view! {
        <div class="page">
            <Head title back/>
            <p class="empty">{app.word(w::RECORD_INCOMPLETE)}</p>
            <div class="foot"><a class="primary" href=Screen::Site(id).to_string()>{app.word(w::JOB_GO)}</a></div>
        </div>
    }
    .into_any()
}

#[component]
fn NoSuchJob() -> impl IntoView {
    let app = app();
    view! {
        <div class="page">
            <Head title=app.word(w::JOB_NOT_FOUND)/>
            <p>{app.word(w::JOB_NOT_FOUND_ABOUT)}</p>
            <div class="foot"><a class="primary" href=Screen::Jobs.to_string()>{app.word(w::JOB_TO_JOBS)}</a></div>
        </div>
    }
}
