//! The photos of a job: taken or chosen, made smaller, kept on this phone.

pub mod in_record;
mod picture;

use crate::app::device::file::Readable;
use crate::app::device::shrink::shrink;
use crate::app::device::{clock, pictures};
use crate::app::frame::{App, app};
use crate::app::pages::entries::{once_with_job, part_of};
use crate::app::pages::jobs::name_of;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use crate::core::job::photo::Photo;
use leptos::prelude::*;
use leptos::task::spawn_local;
use picture::Picture;

/// Why a photo is not there, or not kept.
#[derive(Clone, Debug, PartialEq)]
struct Told(Word, String);

#[component]
pub fn Photos(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let keys = part_of(&id, |job| job.photos.iter().map(|photo| photo.key.clone()).collect::<Vec<_>>());
        let told = RwSignal::new(None::<Told>);
        let busy = RwSignal::new(false);
        let gone = RwSignal::new(None::<(usize, Photo)>);
        let take = {
            let id = id.clone();
            move |files: Vec<Readable>| {
                let id = id.clone();
                busy.set(true);
                told.set(None);
                spawn_local(async move {
                    for file in files {
                        let wrong = add(app, &id, file).await;
                        if wrong.is_some() {
                            told.try_set(wrong);
                        }
                    }
                    busy.try_set(false);
                });
            }
        };
        let rows = {
            let id = id.clone();
            move || {
                if keys.with(Vec::is_empty) {
                    return view! {
                        <div class="empty">
                            <p class="empty-title">{app.word(w::PHOTOS_NONE)}</p>
                            <p>{app.word(w::PHOTOS_NONE_ABOUT)}</p>
                        </div>
                    }
                    .into_any();
                }
                let id = id.clone();
                view! {
                    <ul class="photos">
                        <For each=move || keys.get() key=String::clone children=move |key| {
                            view! { <PhotoRow id=id.clone() key gone/> }
                        }/>
                    </ul>
                }
                .into_any()
            }
        };
        view! {
            <div class="page page-photos">
                <Head title=app.word(w::PHOTOS_TITLE) back=name_of(app, &job)/>
                <p class="hint">{app.word(w::PHOTOS_ABOUT)}</p>
                <p class="error" role="alert">
                    {move || told.get().map(|Told(word, name)| app.speaker().fill(word, &[("name", Arg::Name(name))]))}
                </p>
                {rows}
                <Undo id gone/>
                <div class="foot">
                    {file_button("quiet", app.word(w::PHOTOS_CHOOSE), false, take.clone())}
                    {file_button("primary", app.word(w::PHOTOS_TAKE), true, take)}
                </div>
                <p role="status" class="small">{move || busy.get().then(|| app.word(w::PHOTOS_BUSY))}</p>
            </div>
        }
        .into_any()
    })
}

/// Makes a picture smaller, keeps it, then names it in the job: a job never names what is not there.
async fn add(app: App, id: &str, file: Readable) -> Option<Told> {
    let Some(small) = shrink(file.blob()).await else { return Some(Told(w::PHOTOS_UNREADABLE, file.name)) };
    let key = clock::new_key();
    let kept = pictures::keep(&key, &small.jpeg).await;
    let (at, bytes) = (clock::now(), small.jpeg.len() as u32);
    let photo = Photo { key, at, shows: String::new(), width: small.width, height: small.height, bytes };
    app.store.change(id, |job| job.photos.push(photo));
    (!kept).then_some(Told(w::PHOTOS_NOT_KEPT, file.name))
}

fn file_button(
    class: &'static str,
    label: &'static str,
    camera: bool,
    on_files: impl Fn(Vec<Readable>) + 'static,
) -> impl IntoView {
    view! {
        <label class=format!("{class} file")>
            <input type="file" accept="image/*" multiple=!camera capture=camera.then_some("environment")
                on:change=move |event| {
                    let files = Readable::all_chosen(&event);
                    if !files.is_empty() {
                        on_files(files);
                    }
                }/>
            {camera.then(|| icon(Icon::Camera))}
            <span>{label}</span>
        </label>
    }
}

/// One photo: the picture, what it shows, when it was taken in.
#[component]
fn PhotoRow(id: String, key: String, gone: RwSignal<Option<(usize, Photo)>>) -> impl IntoView {
    let app = app();
    let of = key.clone();
    let photo = part_of(&id, move |job| job.photos.iter().find(|photo| photo.key == of).cloned().unwrap_or_default());
    let field = format!("shows-{key}");
    let first = photo.get_untracked();
    let (id_typed, key_typed) = (id.clone(), key.clone());
    let remove = move |_| {
        let mut removed = None;
        app.store.change(&id, |job| {
            if let Some(index) = job.photos.iter().position(|photo| photo.key == key) {
                removed = Some((index, job.photos.remove(index)));
            }
        });
        gone.set(removed);
    };
    view! {
        <li class="photo">
            <Picture photo=first.clone()/>
            <div class="field">
                <label for=field.clone()>{app.word(w::PHOTOS_SHOWS)}</label>
                <div class="entry">
                    <input id=field type="text" autocomplete="off" enterkeyhint="done"
                        prop:value=move || photo.with(|photo| photo.shows.clone())
                        on:input=move |event| {
                            let text = event_target_value(&event);
                            app.store.change(&id_typed, |job| {
                                if let Some(photo) = job.photos.iter_mut().find(|photo| photo.key == key_typed) {
                                    photo.shows = text;
                                }
                            });
                        }/>
                </div>
            </div>
            <div class="photo-foot">
                <p class="when">{clock::say(first.at)}</p>
                <button type="button" class="quiet" on:click=remove>{app.word(w::PHOTOS_REMOVE)}</button>
            </div>
        </li>
    }
}

/// The photo that was removed last, to have it back: its picture is still there.
#[component]
fn Undo(id: String, gone: RwSignal<Option<(usize, Photo)>>) -> impl IntoView {
    let app = app();
    move || {
        let id = id.clone();
        gone.get().map(|(index, photo)| {
            view! {
                <div class="notice" role="status">
                    <p>{app.word(w::PHOTOS_REMOVED)}</p>
                    <button type="button" class="quiet" on:click=move |_| {
                        let photo = photo.clone();
                        app.store.change(&id, |job| job.photos.insert(index.min(job.photos.len()), photo));
                        gone.set(None);
                    }>{app.word(w::PHOTOS_UNDO)}</button>
                </div>
            }
        })
    }
}
