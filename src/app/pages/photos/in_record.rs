//! The photos in the record.

use super::picture::Picture;
use crate::app::device::clock;
use crate::app::frame::App;
use crate::content::words as w;
use crate::core::job::Job;
use leptos::prelude::*;

/// Each photo with what it shows and when it was taken in; nothing where there are none.
pub fn in_record(app: App, job: &Job) -> Option<impl IntoView + use<>> {
    let photos = job.photos.clone();
    (!photos.is_empty()).then(|| {
        let rows = photos.into_iter().map(|photo| {
            let (shows, at) = (photo.shows.clone(), clock::say(photo.at));
            view! {
                <li class="record-photo">
                    <Picture photo/>
                    <p>{shows}</p>
                    <p class="when">{at}</p>
                </li>
            }
        });
        view! { <h2>{app.word(w::PHOTOS_TITLE)}</h2><ul class="record-photos">{rows.collect_view()}</ul> }
    })
}
