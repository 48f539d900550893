//! A kept picture on a page. Its address is given back when the page goes.

use crate::app::device::pictures::{self, Shown};
use crate::app::frame::app;
use crate::content::words as w;
use crate::core::job::photo::Photo;
use leptos::prelude::*;
use leptos::task::spawn_local;

enum Look {
    Coming,
    There(Shown),
    /// Not on this phone: the job came by a link, or from a backup without it.
    Missing,
}

#[component]
pub fn Picture(photo: Photo) -> impl IntoView {
    let app = app();
    let look = RwSignal::new_local(Look::Coming);
    let key = photo.key.clone();
    spawn_local(async move {
        let shown = pictures::bytes(&key).await.and_then(|jpeg| Shown::new(&jpeg));
        look.try_set(shown.map_or(Look::Missing, Look::There));
    });
    let (width, height) = (photo.width.max(1), photo.height.max(1));
    let says = if photo.shows.is_empty() { app.word(w::PHOTOS_UNNAMED).to_string() } else { photo.shows };
    move || {
        look.with(|look| match look {
            Look::Coming => view! { <div class="picture-coming"></div> }.into_any(),
            Look::There(shown) => view! {
                <img class="picture" src=shown.address() alt=says.clone() width=width height=height/>
            }
            .into_any(),
            Look::Missing => view! { <p class="picture-missing">{app.word(w::PHOTOS_MISSING)}</p> }.into_any(),
        })
    }
}
