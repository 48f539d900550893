//! The item in hand: what it asks for, its verdict at once, its note; and the column of all items.

use super::Ground;
use crate::app::device::{clock, page};
use crate::app::frame::app;
use crate::app::pages::entries::part_of;
use crate::app::parts::badge::Badge;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::NumberField;
use crate::app::parts::finding::{FindingView, Rests};
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::window_line::WindowLine;
use crate::app::screen::Screen;
use crate::content::checklist::{Asks, Item, List, Standing, State};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::entry::{self, Entry};
use crate::core::job::assess::Verdict;
use crate::core::job::check::{self, Check};
use crate::core::job::checklist::Limits;
use crate::core::job::{Job, Observation, Seen};
use crate::core::units::{Figure, Kind};
use leptos::prelude::*;

/// The list that is shown, and the item of it that is in hand.
#[derive(Clone, Copy)]
pub struct Hand {
    pub id: StoredValue<String>,
    pub ground: Memo<Ground>,
    pub list: Memo<List<'static>>,
    pub current: RwSignal<Option<String>>,
    pub in_hand: Memo<Option<Item<'static>>>,
    /// The sentence at the field of the item in hand.
    pub error: RwSignal<Option<String>>,
}

impl Hand {
    fn standing(self, item: &Item<'static>) -> Standing {
        self.list.with(|list| self.ground.with(|ground| list.standing(item, &ground.job, ground.made())))
    }

    /// Takes an item to hand and shows it.
    fn take(self, key: Option<String>) {
        self.error.set(None);
        self.current.set(key);
        request_animation_frame(|| {
            page::show_first(".item-card");
            page::focus_first(".item-card h2");
        });
    }

    /// Takes the next open item to hand; where there is none, the present one stays.
    pub fn go_to_next(self, after: Option<&str>) {
        let next =
            untrack(|| self.list.with(|list| self.ground.with(|ground| list.next(after, &ground.job, ground.made()))));
        if let Some(key) = next {
            self.take(Some(key));
        }
    }

    fn change(self, change: impl FnOnce(&mut Job)) {
        crate::app::frame::app().store.change(&self.id.get_value(), change);
    }

    /// Notes what became of an item, with the note that waits for it.
    fn note(self, item: &Item<'static>, of: crate::core::job::Subject, seen: Seen, typed: String) {
        let pending = self.pending(item, "note");
        self.change(|job| {
            let note = job.pending.remove(&pending).unwrap_or_default();
            job.note(of, seen, typed, note, clock::now());
        });
    }

    /// The name under which a text of an item waits: the reading of a check as on its card.
    fn pending(self, item: &Item<'static>, what: &str) -> String {
        match (&item.asks, what) {
            (Asks::Check(check), "") => check.key().to_string(),
            (_, "") => self.list.with_untracked(|list| format!("list.{}.{}", list.key, item.key)),
            _ => self.list.with_untracked(|list| format!("list.{}.{}.{what}", list.key, item.key)),
        }
    }

    /// The text that waits under a name.
    fn waiting(self, name: String) -> Memo<Option<String>> {
        part_of(&self.id.get_value(), move |job| job.pending.get(&name).cloned())
    }
}

/// What stands below the field: everything of a standing but its note, which may change at every key.
#[derive(Clone, PartialEq)]
struct Shown(Standing);

impl Shown {
    fn of(mut standing: Standing) -> Shown {
        if standing.state != State::NotApplicable
            && let Some(seen) = &mut standing.seen
        {
            seen.note.clear();
        }
        Shown(standing)
    }
}

#[component]
pub fn ItemCard(hand: Hand, item: Item<'static>) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let over = hand.list.with_untracked(|list| {
        let part = list.parts.iter().find(|part| part.items.iter().any(|other| other.key == item.key))?;
        let n = part.items.iter().position(|other| other.key == item.key)? as u32 + 1;
        let title = if part.title.is_empty() { list.title.clone() } else { part.title.clone() };
        let args = [("part", Arg::Name(title)), ("n", n.into()), ("all", (part.items.len() as u32).into())];
        Some(speaker.fill(w::LIST_PART_AT, &args))
    });
    let stored = StoredValue::new(item.clone());
    let shown = Memo::new(move |_| Shown::of(stored.with_value(|item| hand.standing(item))));
    let is_tick = item.asks == Asks::Tick;
    let caution = item.caution.clone().map(|text| {
        view! { <p class="caution">{icon(Icon::Caution)}<span>{text}</span></p> }
    });
    let see = (is_tick && !item.how.is_empty()).then(|| {
        view! { <p class="see"><strong>{app.word(w::LIST_SEE)}": "</strong>{item.how.clone()}</p> }
    });
    let why = (!item.why.is_empty()).then(|| {
        view! { <p class="why"><strong>{app.word(w::CARD_WHY)}": "</strong>{item.why.clone()}</p> }
    });
    let ask = match item.asks.clone() {
        Asks::Tick => ().into_any(),
        Asks::Check(check) => check_field(hand, &item, check).into_any(),
        Asks::Read(asked) => number_field(hand, &item, asked.kind, asked.signed, String::new()).into_any(),
    };
    view! {
        <section class="item-card" aria-label=app.word(w::LIST_ITEMS)>
            {over.map(|over| view! { <p class="over">{over}</p> })}
            <h2 tabindex="-1">{item.text.clone()}</h2>
            {see}
            {caution}
            {ask}
            <div aria-live="polite">{move || outcome(hand, stored, shown.get())}</div>
            {why}
            {is_tick.then(|| view! { <Rests sum=Vec::new() sources=item.sources.clone()/> })}
            <Aside hand item=item/>
        </section>
    }
}

fn check_field(hand: Hand, item: &Item<'static>, check: Check) -> impl IntoView + use<> {
    let app = app();
    let words = app.speaker().language.checks.get(check.key());
    let label = words.map(|words| words.label.clone()).unwrap_or_default();
    match check.asks() {
        check::Asks::Number { kind, signed } => number_field(hand, item, kind, signed, label).into_any(),
        check::Asks::Answer(keys) => {
            let title = |key: &str| words.and_then(|words| words.answers.get(key)).cloned().unwrap_or_default();
            let rows = keys.iter().map(|key| Row::new(*key, title(key), "")).collect();
            let stored = StoredValue::new(item.clone());
            let chosen = Signal::derive(move || {
                match stored.with_value(|item| hand.standing(item)).seen.map(|seen| seen.seen) {
                    Some(Seen::Answer(key)) => Some(key),
                    _ => None,
                }
            });
            let on_choose = move |key: String| {
                stored.with_value(|item| hand.note(item, item.of.clone(), Seen::Answer(key), String::new()));
            };
            let hint = item.how.clone();
            view! { <Choice name=check.key() legend=label hint rows chosen error=hand.error on_choose/> }.into_any()
        }
    }
}

fn number_field(hand: Hand, item: &Item<'static>, kind: Kind, signed: bool, label: String) -> impl IntoView + use<> {
    let app = app();
    let label = if label.is_empty() { app.word(w::LIST_READING).to_string() } else { label };
    let pending = hand.pending(item, "");
    let waiting = hand.waiting(pending.clone());
    let stored = StoredValue::new(item.clone());
    let text = Signal::derive(move || {
        waiting.get().unwrap_or_else(|| {
            let standing = stored.with_value(|item| hand.standing(item));
            standing.seen.filter(|seen| seen.seen != Seen::NotApplicable).map(|seen| seen.typed).unwrap_or_default()
        })
    });
    let must = stored.with_value(|item| must(&untrack(|| hand.standing(item)), kind));
    let hint = [item.how.clone(), must.unwrap_or_default()].into_iter().filter(|part| !part.is_empty());
    let hint = hint.collect::<Vec<String>>().join(" ");
    view! {
        <NumberField
            id=format!("item-{}", item.key)
            label
            hint
            unit=kind.symbol()
            signed
            whole=kind == Kind::Count
            large=true
            text
            error=hand.error
            on_text=move |typed: String| {
                hand.error.set(None);
                let pending = pending.clone();
                app.store.change(&hand.id.get_value(), |job| { job.pending.insert(pending, typed); });
            }
            on_enter=Callback::new(move |()| stored.with_value(|item| read(hand, item, kind)))
        />
    }
}

/// What the reading must be, for the line above its field.
fn must(standing: &Standing, kind: Kind) -> Option<String> {
    let speaker = app().speaker();
    let window = standing.finding.as_ref().and_then(|finding| finding.window);
    let of_check = window.filter(|_| kind == Kind::Ohms || kind == Kind::Volts).map(|window| {
        let args = [("low", window.low.into()), ("high", window.high.into())];
        format!("{}.", speaker.fill(w::CARD_WINDOW, &args))
    });
    let Limits { low, high, .. } = standing.limits;
    let figure = |value: f64| Figure::new(kind, value).ok().map(Arg::Figure);
    let own = match (low.and_then(figure), high.and_then(figure)) {
        (Some(low), Some(high)) => Some(speaker.fill(w::LIST_MUST, &[("low", low), ("high", high)])),
        (None, Some(high)) => Some(speaker.fill(w::LIST_MUST_MOST, &[("high", high)])),
        (Some(low), None) => Some(speaker.fill(w::LIST_MUST_LEAST, &[("low", low)])),
        (None, None) => None,
    };
    of_check.or(own)
}

/// Takes the text in the field as a reading; a sentence stays there where it cannot be read.
fn read(hand: Hand, item: &Item<'static>, kind: Kind) {
    let pending = hand.pending(item, "");
    let app = app();
    let kept = app.store.job(&hand.id.get_value());
    let typed = kept.and_then(|kept| kept.with_untracked(|kept| kept.job.pending.get(&pending).cloned()));
    let typed = typed.unwrap_or_default();
    match entry::read(&typed, kind) {
        Ok(entry) => {
            let seen = match entry {
                Entry::Figure(shown) => Seen::Figure(shown),
                Entry::BeyondRange => Seen::BeyondRange,
            };
            hand.error.set(None);
            hand.note(item, item.of.clone(), seen, typed);
            hand.change(|job| {
                job.pending.remove(&pending);
            });
            request_animation_frame(|| page::show_first(".item-card > .field, .item-card"));
        }
        Err(why) => {
            hand.error.set(Some(app.speaker().unreadable(&why)));
            request_animation_frame(|| page::focus_first(".item-card [aria-invalid=true]"));
        }
    }
}

/// What became of the item: its verdict with the reason, or that it is done, or does not apply; who, and when.
fn outcome(hand: Hand, item: StoredValue<Item<'static>>, Shown(standing): Shown) -> AnyView {
    let app = app();
    let speaker = app.speaker();
    let pending = item.with_value(|item| hand.pending(item, ""));
    if item.with_value(|item| item.asks != Asks::Tick) && hand.waiting(pending).get().is_some() {
        // What stands in the field is not what was judged.
        return ().into_any();
    }
    let Some(seen) = &standing.seen else {
        return standing.earlier.as_ref().map(|earlier| earlier_line(item, earlier)).into_any();
    };
    let body = match (standing.state, &standing.finding, &standing.judged) {
        (State::NotApplicable, _, _) => {
            let why = speaker.fill(w::LIST_BECAUSE, &[("why", Arg::Name(seen.note.clone()))]);
            view! { <p class="item-state">{icon(Icon::NotDone)}<span><strong>{app.word(w::LIST_NOT_APPLICABLE)}</strong>", "{why}</span></p> }
                .into_any()
        }
        (State::Judged(_), Some(finding), _) => view! { <FindingView finding=finding.clone()/> }.into_any(),
        (State::Judged(verdict), None, Some((because, window))) => {
            let reading = match &seen.seen {
                Seen::Figure(shown) => Some(shown.figure),
                _ => None,
            };
            let line =
                window.filter(|_| reading.is_some()).map(|window| view! { <WindowLine window reading verdict/> });
            let sources = item.with_value(|item| item.sources.clone());
            view! {
                <div class=format!("finding finding-{}", verdict.key())>
                    <p class="verdict"><Badge verdict/></p>
                    {line}
                    <p class="because">{speaker.because(because)}</p>
                    <Rests sum=Vec::new() sources/>
                </div>
            }
            .into_any()
        }
        _ => view! { <p class="item-state item-done">{icon(Icon::Holds)}<strong>{app.word(w::LIST_DONE)}</strong></p> }
            .into_any(),
    };
    view! { {body}<p class="when">{when_and_who(seen)}</p> }.into_any()
}

/// When something was seen, and by whom where that was said.
pub fn when_and_who(seen: &Observation) -> String {
    let when = clock::say(seen.at);
    if seen.by.is_empty() {
        return when;
    }
    app().speaker().fill(w::LIST_DONE_BY, &[("when", Arg::Name(when)), ("who", Arg::Name(seen.by.clone()))])
}

/// What was read, in words; empty for a tick.
pub fn reading_of(item: &Item<'_>, seen: &Seen) -> String {
    let speaker = app().speaker();
    match (&item.asks, seen) {
        (Asks::Check(check), seen) => speaker.seen(*check, seen),
        (_, Seen::Figure(shown)) => speaker.figure(shown.figure),
        (_, Seen::BeyondRange) => speaker.name("open-path").to_string(),
        _ => String::new(),
    }
}

fn earlier_line(item: StoredValue<Item<'static>>, earlier: &Observation) -> Option<AnyView> {
    let reading = item.with_value(|item| reading_of(item, &earlier.seen));
    (!reading.is_empty()).then(|| {
        let args = [("reading", Arg::Name(reading)), ("when", Arg::Name(clock::say(earlier.at)))];
        view! { <p class="hint">{app().speaker().fill(w::LIST_EARLIER, &args)}</p> }.into_any()
    })
}

/// Behind a tap: the note, and the reason why the item does not apply.
#[component]
fn Aside(hand: Hand, item: Item<'static>) -> impl IntoView {
    let app = app();
    let (note_name, why_name) = (hand.pending(&item, "note"), hand.pending(&item, "because"));
    let (note_waits, why_waits) = (hand.waiting(note_name.clone()), hand.waiting(why_name.clone()));
    let stored = StoredValue::new(item);
    let standing = Memo::new(move |_| stored.with_value(|item| hand.standing(item)));
    let is_aside = move || standing.with(|standing| standing.state == State::NotApplicable);
    let note = move || {
        let kept = standing.with(|standing| standing.seen.as_ref().map(|seen| seen.note.clone()));
        kept.or_else(|| note_waits.get()).unwrap_or_default()
    };
    let write_note = move |event| {
        let text = event_target_value(&event);
        let counts = untrack(|| {
            stored.with_value(|item| {
                hand.list.with(|list| hand.ground.with(|ground| list.counts_at(item, &ground.job.observations)))
            })
        });
        hand.change(|job| match counts.and_then(|at| job.observations.get_mut(at)) {
            Some(seen) => seen.note = text,
            None => {
                job.pending.insert(note_name.clone(), text);
            }
        });
    };
    let missing = RwSignal::new(false);
    let set_aside = {
        let why_name = why_name.clone();
        move |_| {
            let why = untrack(|| why_waits.get()).unwrap_or_default().trim().to_string();
            if why.is_empty() {
                missing.set(true);
                page::focus_first("#item-because");
                return;
            }
            let of = stored.with_value(|item| hand.list.with_untracked(|list| list.subject(item)));
            hand.change(|job| {
                job.pending.remove(&why_name);
                job.note(of, Seen::NotApplicable, String::new(), why, clock::now());
            });
            let key = stored.with_value(|item| item.key.clone());
            hand.go_to_next(Some(&key));
        }
    };
    let write_why = move |event| {
        missing.set(false);
        let text = event_target_value(&event);
        hand.change(|job| {
            job.pending.insert(why_name.clone(), text);
        });
    };
    let because = move || {
        let (write_why, set_aside) = (write_why.clone(), set_aside.clone());
        (!is_aside()).then(|| view! {
            <div class="field">
                <label for="item-because">{app.word(w::LIST_DOES_NOT_APPLY)}</label>
                <p class="error" id="item-because-error" role="alert">{move || missing.get().then(|| app.word(w::LIST_BECAUSE_MISSING))}</p>
                <div class="entry">
                    <input id="item-because" type="text" autocomplete="off" aria-describedby="item-because-error"
                        aria-invalid=move || missing.get().then_some("true")
                        prop:value=move || why_waits.get().unwrap_or_default() on:input=write_why/>
                </div>
                <button type="button" class="quiet" on:click=set_aside>{app.word(w::LIST_NOT_APPLICABLE)}</button>
            </div>
        })
    };
    let is_open = untrack(|| !is_aside() && !note().is_empty() || why_waits.get().is_some());
    view! {
        <details class="rests item-aside" open=is_open>
            <summary>{app.word(w::LIST_MORE)}</summary>
            {move || (!is_aside()).then(|| {
                let write_note = write_note.clone();
                view! {
                    <div class="field">
                        <label for="item-note">{app.word(w::LIST_NOTE)}</label>
                        <p class="hint" id="item-note-hint">{app.word(w::LIST_NOTE_HINT)}</p>
                        <textarea id="item-note" rows="3" aria-describedby="item-note-hint" prop:value=note on:input=write_note></textarea>
                    </div>
                }
            })}
            {because}
        </details>
    }
}

/// The one thing to do with the item in hand, at the thumb.
#[component]
pub fn ItemFoot(hand: Hand) -> impl IntoView {
    let app = app();
    let buttons = move || {
        let item = hand.in_hand.get()?;
        let standing = hand.standing(&item);
        let waits = item.asks != Asks::Tick && hand.waiting(hand.pending(&item, "")).get().is_some();
        let is_answered = standing.state != State::Open && !waits;
        Some(if is_answered {
            answered(hand, item, &standing).into_any()
        } else {
            open(hand, item, &standing).into_any()
        })
    };
    let no_item = move || {
        hand.in_hand.with(Option::is_none).then(|| {
            let key = hand.list.with(|list| list.key.clone());
            view! { <a class="primary" href=Screen::ListEdit(hand.id.get_value(), key).to_string()>{app.word(w::LIST_EDIT)}</a> }
        })
    };
    view! { <div class="foot">{buttons}{no_item}</div> }
}

fn open(hand: Hand, item: Item<'static>, standing: &Standing) -> impl IntoView + use<> {
    let app = app();
    let kind = match &item.asks {
        Asks::Tick => None,
        Asks::Read(asked) => Some(asked.kind),
        Asks::Check(check) => match check.asks() {
            check::Asks::Number { kind, .. } => Some(kind),
            // An answer is taken when it is chosen; what is left to do is to go on.
            check::Asks::Answer(_) => return to_next(hand, &item, "quiet").into_any(),
        },
    };
    let label = match &item.asks {
        Asks::Tick => item.tick.clone().unwrap_or_else(|| app.word(w::LIST_DONE).to_string()),
        Asks::Read(_) if standing.limits == Limits::default() => app.word(w::LIST_KEEP).to_string(),
        Asks::Read(_) => app.word(w::LIST_HOLD).to_string(),
        Asks::Check(_) => app.word(w::CARD_CHECK).to_string(),
    };
    let mark = kind.is_none().then(|| icon(Icon::Holds));
    view! {
        <button type="button" class="primary" on:click=move |_| match kind {
            Some(kind) => read(hand, &item, kind),
            None => {
                hand.note(&item, item.of.clone(), Seen::Done, String::new());
                hand.go_to_next(Some(&item.key));
            }
        }>{mark}<span>{label}</span></button>
    }
    .into_any()
}

fn answered(hand: Hand, item: Item<'static>, standing: &Standing) -> impl IntoView + use<> {
    let app = app();
    let of = if standing.state == State::NotApplicable {
        hand.list.with(|list| list.subject(&item))
    } else {
        item.of.clone()
    };
    // After a failure the advice is the next thing; going on stays possible.
    let class = if standing.state == State::Judged(Verdict::Fails) { "quiet" } else { "primary" };
    let next = to_next(hand, &item, class);
    view! {
        <button type="button" class="quiet" on:click=move |_| {
            hand.note(&item, of.clone(), Seen::Withdrawn, String::new());
        }>{app.word(w::LIST_BACK)}</button>
        {next}
    }
}

/// On to the next open item; where none is left, to all lists.
fn to_next(hand: Hand, item: &Item<'static>, class: &'static str) -> impl IntoView + use<> {
    let app = app();
    let key = item.key.clone();
    let next = hand.list.with(|list| hand.ground.with(|ground| list.next(Some(&key), &ground.job, ground.made())));
    match next.filter(|next| *next != key) {
        Some(_) => view! {
            <button type="button" class=class on:click=move |_| hand.go_to_next(Some(&key))>{app.word(w::LIST_NEXT)}</button>
        }
        .into_any(),
        None => view! {
            <a class=class href=Screen::Lists(hand.id.get_value()).to_string()>{app.word(w::LIST_TO_LISTS)}</a>
        }
        .into_any(),
    }
}

/// All items in one column, part by part; a touch takes one to hand.
pub fn lines(hand: Hand) -> impl IntoView {
    move || {
        hand.list.with(|list| {
            let parts = list.parts.iter().filter(|part| !part.items.is_empty()).map(|part| {
                let rows = part.items.iter().map(|item| line(hand, item)).collect_view();
                let title = part.title.clone();
                view! {
                    {(!title.is_empty()).then(|| view! { <h2>{title}</h2> })}
                    <ol class="rows item-lines">{rows}</ol>
                }
            });
            parts.collect_view()
        })
    }
}

fn line(hand: Hand, item: &Item<'static>) -> impl IntoView + use<> {
    let app = app();
    let (stored, key) = (StoredValue::new(item.clone()), StoredValue::new(item.key.clone()));
    let standing = Memo::new(move |_| stored.with_value(|item| hand.standing(item)));
    let is_current = move || {
        let in_hand =
            hand.in_hand.with(|item| item.as_ref().is_some_and(|item| key.with_value(|key| *key == item.key)));
        in_hand.then_some("true")
    };
    let (class, drawn) = (move || mark_of(standing.get().state).0, move || icon(mark_of(standing.get().state).1));
    let about = move || {
        standing.with(|standing| {
            let seen = standing.seen.as_ref()?;
            let reading = stored.with_value(|item| reading_of(item, &seen.seen));
            let state = match standing.state {
                State::NotApplicable => app.word(w::LIST_NOT_APPLICABLE).to_string(),
                State::Judged(verdict) => app.speaker().verdict(verdict).to_string(),
                State::Done | State::Open => String::new(),
            };
            let parts = [reading, state, seen.note.clone()].into_iter().filter(|part| !part.is_empty());
            let said = parts.collect::<Vec<String>>().join(" · ");
            (!said.is_empty()).then(|| view! { <span class="row-about">{said}</span> })
        })
    };
    view! {
        <li class=class>
            <button type="button" class="item-line" aria-current=is_current on:click=move |_| hand.take(Some(key.get_value()))>
                {drawn}
                <span class="row-words"><span class="row-line">{item.text.clone()}</span>{about}</span>
            </button>
        </li>
    }
}

/// How the state of an item is drawn.
fn mark_of(state: State) -> (&'static str, Icon) {
    match state {
        State::Open => ("item-open", Icon::NotDone),
        State::Done | State::Judged(Verdict::Holds) => ("item-whole", Icon::Holds),
        State::Judged(Verdict::LookAgain) => ("item-look-again", Icon::LookAgain),
        State::Judged(Verdict::Fails) => ("item-fails", Icon::Fails),
        State::Judged(Verdict::NotDone) => ("item-open", Icon::NotDone),
        State::NotApplicable => ("item-aside-line", Icon::Aside),
    }
}
