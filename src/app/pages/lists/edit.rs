//! The making of one's own checklist: its title, and its items one at a time.

use super::title_of;
use crate::app::device::{clock, page};
use crate::app::frame::app;
use crate::app::pages::entries::{once_with_job, part_of};
use crate::app::parts::field::NumberField;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::format;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::entry::{self, Entry, Unreadable};
use crate::core::job::Job;
use crate::core::job::lists::{self, OwnItem, OwnList};
use crate::core::units::Kind;
use leptos::prelude::*;

/// The list that is made.
#[derive(Clone, Copy)]
struct Making {
    id: StoredValue<String>,
    key: StoredValue<String>,
    own: Memo<Option<OwnList>>,
    /// Key of the item that is open.
    current: RwSignal<Option<String>>,
    /// What was deleted last, and where it stood.
    deleted: RwSignal<Option<(usize, OwnItem)>>,
}

fn own_of<'a>(job: &'a mut Job, key: &str) -> Option<&'a mut OwnList> {
    job.lists.iter_mut().find(|taken| taken.key == key)?.own.as_mut()
}

impl Making {
    fn change(self, change: impl FnOnce(&mut OwnList)) {
        app().store.change(&self.id.get_value(), |job| {
            if let Some(own) = own_of(job, &self.key.get_value()) {
                change(own);
            }
        });
    }

    fn change_item(self, item: &str, change: impl FnOnce(&mut OwnItem)) {
        self.change(|own| {
            if let Some(item) = own.items.iter_mut().find(|known| known.key == item) {
                change(item);
            }
        });
    }

    /// The keys of all items, in order: what the column follows, so that typing draws nothing anew.
    fn keys(self) -> Memo<Vec<String>> {
        Memo::new(move |_| {
            self.own.with(|own| own.iter().flat_map(|own| &own.items).map(|item| item.key.clone()).collect())
        })
    }

    fn item(self, key: &str) -> Option<OwnItem> {
        self.own.with(|own| own.as_ref()?.items.iter().find(|item| item.key == key).cloned())
    }

    fn open(self, key: Option<String>) {
        self.current.set(key);
        request_animation_frame(|| page::show_first(".item-card"));
    }

    fn add(self) {
        let key = clock::new_key();
        let item = OwnItem { key: key.clone(), ..OwnItem::default() };
        self.change(|own| own.items.push(item));
        self.current.set(Some(key));
        request_animation_frame(|| {
            page::show_first(".item-card");
            page::focus_first("#own-text");
        });
    }

    fn step(self, key: &str, by: isize) {
        self.change(|own| {
            let Some(at) = own.items.iter().position(|item| item.key == key) else { return };
            if let Some(to) = at.checked_add_signed(by).filter(|to| *to < own.items.len()) {
                own.items.swap(at, to);
            }
        });
    }

    fn delete(self, key: &str) {
        self.change(|own| {
            let Some(at) = own.items.iter().position(|item| item.key == key) else { return };
            self.deleted.set(Some((at, own.items.remove(at))));
        });
        self.current.set(None);
        request_animation_frame(|| page::focus_first(".undo button"));
    }

    fn undo(self) {
        let Some((at, item)) = self.deleted.get_untracked() else { return };
        let key = item.key.clone();
        self.change(|own| own.items.insert(at.min(own.items.len()), item));
        self.deleted.set(None);
        self.open(Some(key));
    }
}

#[component]
pub fn ListEdit(id: String, key: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let own = job.lists.iter().find(|taken| taken.key == key).and_then(|taken| taken.own.clone());
        let Some(own) = own else {
            return view! {
                <div class="page">
                    <Head title=app.word(w::LIST_NOT_FOUND) back=app.word(w::FRAME_BACK)/>
                    <div class="foot">
                        <a class="primary" href=Screen::Lists(id).to_string()>{app.word(w::LIST_TO_LISTS)}</a>
                    </div>
                </div>
            }
            .into_any();
        };
        let list_key = key.clone();
        let followed = part_of(&id, move |job| {
            job.lists.iter().find(|taken| taken.key == list_key).and_then(|taken| taken.own.clone())
        });
        let first = own.items.first().map(|item| item.key.clone());
        let making = Making {
            id: StoredValue::new(id.clone()),
            key: StoredValue::new(key.clone()),
            own: followed,
            current: RwSignal::new(first),
            deleted: RwSignal::new(None),
        };
        let back = title_of(app, &own.title);
        view! { <Body making back to_list=Screen::List(id, key).to_string()/> }.into_any()
    })
}

#[component]
fn Body(making: Making, back: String, to_list: String) -> impl IntoView {
    let app = app();
    let title =
        Memo::new(move |_| making.own.with(|own| own.as_ref().map(|own| own.title.clone()).unwrap_or_default()));
    let keys = making.keys();
    let in_hand = Memo::new(move |_| making.current.get().filter(|key| keys.with(|keys| keys.contains(key))));
    let undo = move || {
        making.deleted.get().map(|(_, item)| {
            let text = said_of(&item);
            view! {
                <div class="notice undo" role="status">
                    <p>{app.speaker().fill(w::OWN_DELETED, &[("text", Arg::Name(text))])}</p>
                    <button type="button" class="quiet" on:click=move |_| making.undo()>{app.word(w::LIST_UNDO)}</button>
                </div>
            }
        })
    };
    view! {
        <div class="page page-own">
            <Head title=app.word(w::OWN_TITLE) back/>
            <div class="field">
                <label for="own-name">{app.word(w::OWN_NAME)}</label>
                <p class="hint" id="own-name-hint">{app.word(w::OWN_NAME_HINT)}</p>
                <div class="entry">
                    <input id="own-name" type="text" autocomplete="off" aria-describedby="own-name-hint" prop:value=move || title.get()
                        on:input=move |event| {
                            let text = event_target_value(&event);
                            making.change(|own| own.title = text);
                        }/>
                </div>
            </div>
            {undo}
            {move || in_hand.get().map(|key| view! { <ItemFields making key keys/> })}
            {move || keys.with(|keys| keys.is_empty()).then(|| view! { <p class="empty">{app.word(w::LIST_EMPTY)}</p> })}
            <ol class="rows item-lines">
                <For each=move || keys.get() key=|key| key.clone() children=move |key| row(making, in_hand, key)/>
            </ol>
            <div class="foot">
                <button type="button" class="quiet" on:click=move |_| making.add()>{app.word(w::OWN_ADD)}</button>
                <a class="primary" href=to_list>{app.word(w::OWN_DONE)}</a>
            </div>
        </div>
    }
}

/// An item in words: what it says, or that it says nothing yet.
fn said_of(item: &OwnItem) -> String {
    let text = item.text.trim();
    if text.is_empty() { app().word(w::OWN_NO_TEXT).to_string() } else { text.to_string() }
}

fn row(making: Making, in_hand: Memo<Option<String>>, key: String) -> impl IntoView {
    let app = app();
    let stored = StoredValue::new(key);
    let item = Memo::new(move |_| stored.with_value(|key| making.item(key)).unwrap_or_default());
    let is_current =
        move || in_hand.with(|current| stored.with_value(|key| current.as_ref() == Some(key))).then_some("true");
    let asks = move || {
        item.with(|item| match item.kind {
            None => app.word(w::OWN_TICK).to_string(),
            Some(kind) => name_of(kind),
        })
    };
    view! {
        <li>
            <button type="button" class="item-line" aria-current=is_current on:click=move |_| making.open(Some(stored.get_value()))>
                <span class="row-words">
                    <span class="row-line">{move || item.with(said_of)}</span>
                    <span class="row-about">{asks}</span>
                </span>
            </button>
        </li>
    }
}

/// The name of a quantity, with its unit where it has one.
fn name_of(kind: Kind) -> String {
    let name = app().speaker().name(&lists::name_of(kind));
    if kind.symbol().is_empty() { name.to_string() } else { format!("{name}, {}", kind.symbol()) }
}

#[component]
fn ItemFields(making: Making, key: String, keys: Memo<Vec<String>>) -> impl IntoView {
    let app = app();
    let stored = StoredValue::new(key);
    let item = Memo::new(move |_| stored.with_value(|key| making.item(key)).unwrap_or_default());
    let at = Memo::new(move |_| {
        keys.with(|keys| stored.with_value(|key| keys.iter().position(|known| known == key)).unwrap_or(0))
    });
    let over = move || {
        let args = [("n", Arg::Count(at.get() as u32 + 1)), ("all", Arg::Count(keys.with(Vec::len) as u32))];
        app.speaker().fill(w::OWN_ITEM, &args)
    };
    let kind = Memo::new(move |_| item.with(|item| item.kind));
    let segment = move |of: Option<Kind>| {
        let (title, about) = match of {
            None => (app.word(w::OWN_TICK), ""),
            Some(kind) => (app.speaker().name(&lists::name_of(kind)), kind.symbol()),
        };
        view! {
            <label class="segment">
                <input type="radio" name="own-asks" prop:checked=move || kind.get() == of
                    on:change=move |_| stored.with_value(|key| making.change_item(key, |item| {
                        item.kind = of;
                        item.low = None;
                        item.high = None;
                    }))/>
                <span class="segment-title">{title}</span>
                {(!about.is_empty()).then(|| view! { <span class="segment-about">{about}</span> })}
            </label>
        }
    };
    let limits = move || {
        kind.get().map(|kind| {
            view! {
                <fieldset class="segments own-limits">
                    <legend>{app.word(w::OWN_LIMITS)}</legend>
                    <p class="hint">{app.word(w::OWN_LIMITS_HINT)}</p>
                    <div class="pair">
                        <div>{limit(making, stored, kind, Side::Low)}</div>
                        <div>{limit(making, stored, kind, Side::High)}</div>
                    </div>
                </fieldset>
            }
        })
    };
    let is_last = move || at.get() + 1 >= keys.with(Vec::len);
    view! {
        <section class="item-card" aria-label=over>
            <p class="over">{over}</p>
            <div class="field">
                <label for="own-text">{app.word(w::OWN_TEXT)}</label>
                <textarea id="own-text" rows="2" prop:value=move || item.with(|item| item.text.clone())
                    on:input=move |event| {
                        let text = event_target_value(&event);
                        stored.with_value(|key| making.change_item(key, |item| item.text = text));
                    }></textarea>
            </div>
            <fieldset class="segments" id="own-asks">
                <legend>{app.word(w::OWN_ASKS)}</legend>
                <div class="segment-row own-kinds">{segment(None)}{lists::KINDS.map(|kind| segment(Some(kind))).collect_view()}</div>
            </fieldset>
            {limits}
            <div class="card-steps">
                <button type="button" class="quiet" disabled=move || at.get() == 0
                    on:click=move |_| stored.with_value(|key| making.step(key, -1))>{app.word(w::OWN_UP)}</button>
                <button type="button" class="quiet" disabled=is_last
                    on:click=move |_| stored.with_value(|key| making.step(key, 1))>{app.word(w::OWN_DOWN)}</button>
                <button type="button" class="quiet"
                    on:click=move |_| making.delete(&stored.get_value())>{app.word(w::OWN_DELETE)}</button>
            </div>
        </section>
    }
}

/// Which of the two limits.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Low,
    High,
}

impl Side {
    fn key(self) -> &'static str {
        match self {
            Side::Low => "low",
            Side::High => "high",
        }
    }

    fn of(self, item: &OwnItem) -> Option<f64> {
        match self {
            Side::Low => item.low,
            Side::High => item.high,
        }
    }

    fn set(self, item: &mut OwnItem, value: Option<f64>) {
        match self {
            Side::Low => item.low = value,
            Side::High => item.high = value,
        }
    }
}

/// The field of a limit. Its text waits in the job; what can be read of it counts at once.
fn limit(making: Making, item: StoredValue<String>, kind: Kind, side: Side) -> impl IntoView {
    let app = app();
    let name = item.with_value(|key| format!("own.{}.{key}.{}.{}", making.key.get_value(), kind.name(), side.key()));
    let pending = name.clone();
    let waiting = part_of(&making.id.get_value(), move |job| job.pending.get(&pending).cloned());
    let kept = move || item.with_value(|key| making.item(key));
    let text = Signal::derive(move || {
        let value =
            || kept().and_then(|item| side.of(&item)).map(|value| format::number(value, 6, app.speaker().style));
        waiting.get().or_else(value).unwrap_or_default()
    });
    let error = Signal::derive(move || {
        let why = match entry::read(&text.get(), kind) {
            Err(Unreadable::Empty) | Ok(Entry::Figure(_)) => None,
            Ok(Entry::BeyondRange) => Some(Unreadable::NotANumber),
            Err(why) => Some(why),
        };
        let item = kept().unwrap_or_default();
        let upside_down = side == Side::High && matches!((item.low, item.high), (Some(low), Some(high)) if low > high);
        why.map(|why| app.speaker().unreadable(&why))
            .or_else(|| upside_down.then(|| app.word(w::OWN_UPSIDE_DOWN).to_string()))
    });
    let on_text = move |typed: String| {
        let value = match entry::read(&typed, kind) {
            Ok(Entry::Figure(shown)) => Some(shown.figure.value()),
            _ => None,
        };
        app.store.change(&making.id.get_value(), |job| {
            job.pending.insert(name.clone(), typed);
            let own = own_of(job, &making.key.get_value());
            let known = own.and_then(|own| own.items.iter_mut().find(|known| item.with_value(|key| known.key == *key)));
            if let Some(known) = known {
                side.set(known, value);
            }
        });
    };
    let label = app.word(if side == Side::Low { w::OWN_LOW } else { w::OWN_HIGH });
    view! {
        <NumberField id=format!("own-{}", side.key()) label unit=kind.symbol() signed=kind.range().0 < 0.0
            whole=kind == Kind::Count text error on_text/>
    }
}
