//! The camera, where the browser reads codes itself; else one line that says what does.

use crate::app::device::scan::{self, Camera};
use crate::app::frame::app;
use crate::content::words as w;
use leptos::html::Video;
use leptos::prelude::*;
use leptos::task::spawn_local;

#[derive(Clone, Copy, PartialEq)]
enum Stage {
    Off,
    On,
    Refused,
}

#[component]
pub fn Scan(take: Callback<String>) -> impl IntoView {
    let app = app();
    if !scan::can() {
        return view! { <p class="hint">{app.word(w::ARRIVE_NO_SCAN)}</p> }.into_any();
    }
    let stage = RwSignal::new(Stage::Off);
    let video = NodeRef::<Video>::new();
    let goes_on = move || stage.try_get_untracked() == Some(Stage::On);
    let begin = move |_| {
        stage.set(Stage::On);
        request_animation_frame(move || {
            let Some(Some(video)) = video.try_get_untracked() else { return };
            spawn_local(async move {
                let Some(camera) = Camera::open(&video).await else {
                    stage.try_set(Stage::Refused);
                    return;
                };
                if let Some(text) = camera.look(&video, goes_on).await {
                    drop(camera);
                    stage.try_set(Stage::Off);
                    take.run(text);
                }
            });
        });
    };
    let body = move || {
        match stage.get() {
        Stage::On => view! {
            <video node_ref=video class="camera" playsinline="" muted="" aria-label=app.word(w::ARRIVE_CAMERA)></video>
            <button type="button" class="quiet wide" on:click=move |_| stage.set(Stage::Off)>{app.word(w::ARRIVE_CAMERA_OFF)}</button>
        }
        .into_any(),
        now => view! {
            <button type="button" class="quiet wide" on:click=begin>{app.word(w::ARRIVE_SCAN)}</button>
            {(now == Stage::Refused).then(|| view! { <p class="error" role="alert">{app.word(w::ARRIVE_CAMERA_REFUSED)}</p> })}
        }
        .into_any(),
    }
    };
    view! { <div class="scan">{body}</div> }.into_any()
}
