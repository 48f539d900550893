//! Handing over: a job or one checklist as a link, as a code for another phone's camera, a job as a file.

mod file;

use crate::app::device::awake::Awake;
use crate::app::device::{address, page, save};
use crate::app::frame::{App, app};
use crate::app::pages::entries::{once_with_job, part_of};
use crate::app::pages::jobs::name_of;
use crate::app::parts::choice::{Boxes, Row};
use crate::app::parts::code::CodeView;
use crate::app::parts::head::Head;
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use crate::core::job::code::code;
use crate::core::job::fingerprint::{Fingerprint, fingerprint};
use crate::core::job::link::{self, Leave, Length, Packed};
use crate::core::job::{Job, Subject};
use file::FileButton;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// The sections that a person can leave out, with their words.
const SECTIONS: [(&str, Word, Word); 7] = [
    ("people", w::SHARE_PEOPLE, w::SHARE_PEOPLE_ABOUT),
    ("notes", w::SHARE_NOTES, w::SHARE_NOTES_ABOUT),
    ("bank", w::SHARE_BANK, w::SHARE_BANK_ABOUT),
    ("power", w::POWER_TITLE, w::POWER_SHARE),
    ("story", w::SHARE_STORY, w::SHARE_STORY_ABOUT),
    ("lists", w::SHARE_LISTS, w::SHARE_LISTS_ABOUT),
    ("pending", w::SHARE_PENDING, w::SHARE_PENDING_ABOUT),
];

fn section<'a>(leave: &'a mut Leave, key: &str) -> Option<&'a mut bool> {
    Some(match key {
        "people" => &mut leave.people,
        "notes" => &mut leave.notes,
        "bank" => &mut leave.bank,
        "power" => &mut leave.power,
        "story" => &mut leave.story,
        "lists" => &mut leave.lists,
        "pending" => &mut leave.pending,
        _ => return None,
    })
}

#[component]
pub fn Share(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |first| {
        let name = name_of(app, &first);
        let job = part_of(&id, Job::clone);
        let leave = RwSignal::new(Leave::default());
        let packed = Memo::new(move |_| job.with(|job| link::pack(job, &leave.get())));
        let rows = SECTIONS.iter().map(|(key, title, about)| Row::new(*key, app.word(*title), app.word(*about)));
        let rows = rows.collect();
        let with = Signal::derive(move || {
            let mut leave = leave.get();
            let goes = SECTIONS.iter().filter(|(key, ..)| section(&mut leave, key).is_some_and(|left| !*left));
            goes.map(|(key, ..)| key.to_string()).collect()
        });
        let photos = (!first.photos.is_empty()).then(|| view! { <p class="look-note">{app.word(w::SHARE_PHOTOS)}</p> });
        view! {
            <div class="page page-share">
                <Head title=app.word(w::SHARE_TITLE) back=name.clone()/>
                <p class="lead">{app.word(w::SHARE_LEAD)}</p>
                <Hand packed title=name/>
                {photos}
                <Boxes name="with" legend=app.word(w::SHARE_WITH) rows chosen=with on_toggle=move |key: String, goes| {
                    leave.update(|leave| if let Some(left) = section(leave, &key) { *left = !goes; });
                }/>
                <FileButton id leave/>
            </div>
        }
        .into_any()
    })
}

#[component]
pub fn ShareList(id: String, key: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let Some(taken) = job.lists.iter().find(|list| list.key == key).cloned() else {
            return view! { <div class="page"><Head title=app.word(w::LIST_NOT_FOUND)/></div> }.into_any();
        };
        let observations: Vec<_> = job
            .observations
            .iter()
            .filter(|seen| matches!(&seen.of, Subject::Item { list, .. } if *list == key))
            .cloned()
            .collect();
        let answers = RwSignal::new(Vec::<String>::new());
        let is = move |what: &str| answers.with(|chosen| chosen.iter().any(|one| one == what));
        let title = name_of(app, &job);
        let packed = Memo::new(move |_| {
            let with: &[_] = if is("answers") { &observations } else { &[] };
            link::pack_list(&taken, with, is("who"))
        });
        let rows = vec![
            Row::new("answers", app.word(w::SHARE_ANSWERS), app.word(w::SHARE_ANSWERS_ABOUT)),
            Row::new("who", app.word(w::SHARE_PEOPLE), app.word(w::SHARE_WHO_ABOUT)),
        ];
        view! {
            <div class="page page-share">
                <Head title=app.word(w::SHARE_LIST_TITLE) back=app.word(w::LISTS_TITLE)/>
                <p class="lead">{app.word(w::SHARE_LIST_LEAD)}</p>
                <Hand packed title/>
                <Boxes name="with" legend=app.word(w::SHARE_WITH) rows chosen=answers on_toggle=move |key: String, goes| {
                    answers.update(|chosen| {
                        chosen.retain(|one| *one != key);
                        if goes {
                            chosen.push(key);
                        }
                    });
                }/>
            </div>
        }
        .into_any()
    })
}

/// The code, the link's length, and the ways to give it.
#[component]
fn Hand(packed: Memo<Packed>, title: String) -> impl IntoView {
    let app = app();
    let base = StoredValue::new(address::base());
    let link = move || packed.with(|packed| packed.link(&base.get_value()));
    let length = Memo::new(move |_| packed.with(|packed| packed.length(&base.get_value())));
    let said = RwSignal::new(None::<Word>);
    // What was said of one link is not true of the next.
    Effect::new(move |_| {
        packed.track();
        said.set(None);
    });
    let picture = move || {
        let found = packed.with(|packed| code(&base.get_value(), packed));
        match found {
            Some(code) => {
                let awake = StoredValue::new_local(Some(Awake::hold()));
                on_cleanup(move || awake.set_value(None));
                view! { <CodeView code/> }.into_any()
            }
            None => view! { <p class="look-note">{app.word(w::SHARE_NO_CODE)}</p> }.into_any(),
        }
    };
    let line = move || {
        let count = Arg::Count(link().chars().count() as u32);
        let word = match length.get() {
            Length::Good | Length::Fair => w::SHARE_LENGTH,
            Length::Long => w::SHARE_LENGTH_LONG,
            Length::TooLong => w::SHARE_LENGTH_TOO_LONG,
        };
        app.speaker().fill(word, &[("n", count)])
    };
    let name = StoredValue::new(title);
    let share = move |_| {
        let (title, link) = (name.get_value(), untrack(link));
        spawn_local(async move {
            let word = if save::share_link(&title, &link).await { w::SHARE_SHARED } else { w::SHARE_NOT_SHARED };
            said.try_set(Some(word));
        });
    };
    let copy = move |_| {
        let link = untrack(link);
        spawn_local(async move {
            let word = if page::copy_asked(&link).await { w::SHARE_COPIED } else { w::SHARE_NOT_COPIED };
            said.try_set(Some(word));
        });
    };
    let buttons = move || {
        (length.get() != Length::TooLong).then(|| {
            let can_share = save::can_share_links();
            let copy_class = if can_share { "quiet" } else { "primary" };
            view! {
                <div class="pair-of-buttons">
                    <button type="button" class=copy_class on:click=copy>{app.word(w::SHARE_COPY)}</button>
                    {can_share.then(|| view! {
                        <button type="button" class="primary" on:click=share>{app.word(w::SHARE_SEND)}</button>
                    })}
                </div>
                {(!can_share).then(|| view! { <p class="hint">{app.word(w::SHARE_NO_SHEET)}</p> })}
                <details class="fold">
                    <summary>{app.word(w::SHARE_SHOW)}</summary>
                    <p class="link-text">{link}</p>
                </details>
            }
        })
    };
    view! {
        {picture}
        {buttons}
        <p role="status">{move || said.get().map(|word| app.word(word))}</p>
        <p class="small">{line}" "{app.word(w::SHARE_CODE_ABOUT)}</p>
    }
}

/// What stands on paper: all but the texts that are not taken yet, which no paper shows.
const PAPER: Leave = Leave { pending: true, captions: true, ..Leave::NOTHING };

/// The code of a printed record, or its fingerprint where the job fits none.
pub fn on_paper(app: App, job: &Job) -> AnyView {
    let (inside, word) = match code(&address::base(), &link::pack(job, &PAPER)) {
        Some(code) => (view! { <CodeView code/> }.into_any(), w::SHARE_PAPER_CODE),
        None => {
            let digits = on_paper_digits(job).digits;
            (view! { <p class="fingerprint">{digits}</p> }.into_any(), w::SHARE_PAPER_PRINT)
        }
    };
    view! { <div class="paper-code">{inside}<p class="small">{app.word(word)}</p></div> }.into_any()
}

/// The fingerprint of what stands on paper.
pub fn on_paper_digits(job: &Job) -> Fingerprint {
    fingerprint(job, &PAPER)
}
