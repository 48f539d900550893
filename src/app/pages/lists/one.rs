//! One checklist: the item in hand, with its answer at the thumb, then all of them in one column.

use super::item::{Hand, ItemCard, ItemFoot, lines};
use super::{Ground, said, title_of};
use crate::app::device::clock;
use crate::app::frame::app;
use crate::app::pages::entries::once_with_job;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::checklist::{Item, List};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::lists::Taken;
use leptos::prelude::*;

#[component]
pub fn ListPage(id: String, key: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let Some(first) = Ground::new(job).list(app, &key) else {
            return view! {
                <div class="page">
                    <Head title=app.word(w::LIST_NOT_FOUND) back=app.word(w::LISTS_TITLE)/>
                    <div class="foot">
                        <a class="primary" href=Screen::Lists(id).to_string()>{app.word(w::LIST_TO_LISTS)}</a>
                    </div>
                </div>
            }
            .into_any();
        };
        view! { <Page id key first/> }.into_any()
    })
}

#[component]
fn Page(id: String, key: String, first: List<'static>) -> impl IntoView {
    let app = app();
    let ground = Ground::of(&id);
    let title = title_of(app, &first.title);
    let is_own = first.is_own;
    let list = {
        let key = key.clone();
        // Put away by another tab or by this one: it stays on the screen until it is left.
        Memo::new(move |_| ground.with(|ground| ground.list(app, &key)).unwrap_or_else(|| first.clone()))
    };
    let start = untrack(|| ground.with(|ground| list.with(|list| list.next(None, &ground.job, ground.made()))));
    let current =
        RwSignal::new(start.or_else(|| list.with_untracked(|list| list.items().next().map(|i| i.key.clone()))));
    // None where the list is empty, or the item in hand has left it: then the next open one comes to hand.
    let in_hand: Memo<Option<Item<'static>>> = Memo::new(move |_| {
        list.with(|list| {
            let item = current.with(|key| key.as_ref().and_then(|key| list.item(key).cloned()));
            item.or_else(|| list.items().next().cloned())
        })
    });
    let hand = Hand { id: StoredValue::new(id.clone()), ground, list, current, in_hand, error: RwSignal::new(None) };
    let away = RwSignal::new(None::<(usize, Taken)>);
    let counts = Memo::new(move |_| list.with(|list| ground.with(|ground| list.counts(&ground.job, ground.made()))));
    let body = move || {
        match away.get() {
        Some((at, taken)) => put_away(hand, away, at, taken).into_any(),
        None => view! {
            <div class="list-progress">
                <p class="small" role="status">{move || said(counts.get())}</p>
                <progress aria-hidden="true" max=move || f64::from(counts.get().all) value=move || f64::from(counts.get().done)></progress>
            </div>
            <Who hand/>
            {move || in_hand.get().map(|item| view! { <ItemCard hand item/> })}
            {move || in_hand.with(Option::is_none).then(|| view! { <p class="empty">{app.word(w::LIST_EMPTY)}</p> })}
            {lines(hand)}
            {ways(hand, is_own, away)}
            <ItemFoot hand/>
        }
        .into_any(),
    }
    };
    view! {
        <div class="page page-list">
            <Head title back=app.word(w::LISTS_TITLE)/>
            {body}
        </div>
    }
}

/// What can be done with the list as a whole.
fn ways(hand: Hand, is_own: bool, away: RwSignal<Option<(usize, Taken)>>) -> impl IntoView {
    let app = app();
    let key = move || hand.list.with(|list| list.key.clone());
    let is_fresh = move || hand.list.with(|list| list.fresh);
    let put_down = move |_| {
        let (id, key) = (hand.id.get_value(), key());
        app.store.change(&id, |job| {
            let at = job.lists.iter().position(|taken| taken.key == key);
            away.set(at.map(|at| (at, job.lists[at].clone())));
            job.put_down(&key);
        });
    };
    view! {
        <section class="list-ways">
            <ul class="rows">
                {go_row(&Screen::ShareList(hand.id.get_value(), untrack(key)), app.word(w::SHARE_LIST_TITLE), "")}
                {is_own.then(|| go_row(&Screen::ListEdit(hand.id.get_value(), untrack(key)), app.word(w::LIST_EDIT), ""))}
            </ul>
            {move || is_fresh().then(|| view! {
                <p class="hint">{app.word(w::LIST_ANEW_ABOUT)}</p>
                <button type="button" class="quiet wide" on:click=move |_| {
                    let key = untrack(key);
                    app.store.change(&hand.id.get_value(), |job| job.begin_anew(&key, clock::now()));
                    hand.go_to_next(None);
                }>{app.word(w::LIST_ANEW)}</button>
            })}
            <button type="button" class="quiet wide" on:click=put_down>{app.word(w::LIST_PUT_DOWN)}</button>
        </section>
    }
}

/// In place of a list that was just put away.
fn put_away(hand: Hand, away: RwSignal<Option<(usize, Taken)>>, at: usize, taken: Taken) -> impl IntoView {
    let app = app();
    view! {
        <p role="status">{app.word(w::LIST_PUT_DOWN_DONE)}</p>
        <div class="foot">
            <button type="button" class="quiet" on:click=move |_| {
                let taken = taken.clone();
                app.store.change(&hand.id.get_value(), |job| job.lists.insert(at.min(job.lists.len()), taken));
                away.set(None);
            }>{app.word(w::LIST_UNDO)}</button>
            <a class="primary" href=Screen::Lists(hand.id.get_value()).to_string()>{app.word(w::LIST_TO_LISTS)}</a>
        </div>
    }
}

/// Who does the work: asked once, then one line.
#[component]
fn Who(hand: Hand) -> impl IntoView {
    let app = app();
    let by = Memo::new(move |_| hand.ground.with(|ground| ground.job.people.by.clone()));
    let asking = RwSignal::new(by.with_untracked(|by| by.trim().is_empty()));
    let field = move || {
        view! {
            <div class="field list-who">
                <label for="who">{app.word(w::LIST_WHO)}</label>
                <p class="hint" id="who-hint">{app.word(w::LIST_WHO_HINT)}</p>
                <div class="entry">
                    <input id="who" type="text" autocomplete="name" enterkeyhint="done" aria-describedby="who-hint"
                        prop:value=move || by.get()
                        on:input=move |event| {
                            let text = event_target_value(&event);
                            app.store.change(&hand.id.get_value(), |job| job.people.by = text);
                        }
                        on:keydown=move |event| if event.key() == "Enter" { asking.set(false); }/>
                </div>
                {move || by.with(|by| !by.trim().is_empty()).then(|| view! {
                    <button type="button" class="quiet" on:click=move |_| asking.set(false)>{app.word(w::LIST_WHO_DONE)}</button>
                })}
            </div>
        }
    };
    let line = move || {
        let name = by.get();
        let name = if name.trim().is_empty() { app.word(w::LIST_NOBODY).to_string() } else { name };
        let said = app.speaker().fill(w::LIST_BY, &[("who", Arg::Name(name))]);
        view! {
            <button type="button" class="who-line" on:click=move |_| asking.set(true)>
                <span>{said}</span><span class="change">{app.word(w::LIST_CHANGE)}</span>
            </button>
        }
    };
    move || if asking.get() { field().into_any() } else { line().into_any() }
}
