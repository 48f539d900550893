//! A job that came in: what it is, what it would change, then keep it, merge it, or just look.

use crate::app::device::address;
use crate::app::frame::App;
use crate::app::pages::jobs::name_of;
use crate::app::pages::overview::overview;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::head::Head;
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::job::Job;
use crate::core::job::link::Left;
use crate::core::job::merge::{Choices, Compared, Difference, Field, Side, Value, compare, merge};
use leptos::prelude::*;

pub fn arrived(app: App, job: Job, left: Left) -> AnyView {
    let mine = app.store.job(&job.id).map(|kept| kept.with_untracked(|kept| kept.job.clone()));
    let choice = match mine {
        None => new(app, &job),
        Some(mine) => known(app, mine, &job, &left),
    };
    let photos = (!left.photos.is_empty())
        .then(|| app.speaker().fill(w::ARRIVE_PHOTOS, &[("n", Arg::Count(left.photos.len() as u32))]));
    view! {
        <Head title=name_of(app, &job) over=app.word(w::ARRIVE_JOB) back=app.word(w::JOBS_TITLE)/>
        {choice}
        {photos.map(|photos| view! { <p class="hint">{photos}</p> })}
        {overview(app, &job)}
    }
    .into_any()
}

/// What it holds, in numbers.
fn holds(app: App, job: &Job) -> String {
    let counts = [
        (job.observations.len(), w::ARRIVE_HOLDS_SEEN),
        (job.story.told.len(), w::ARRIVE_HOLDS_TOLD),
        (job.lists.len(), w::ARRIVE_HOLDS_LISTS),
    ];
    let there = counts.into_iter().filter(|(count, _)| *count > 0);
    let words = there.map(|(count, word)| app.speaker().fill(word, &[("n", Arg::Count(count as u32))]));
    words.collect::<Vec<_>>().join(" · ")
}

fn new(app: App, job: &Job) -> AnyView {
    let kept = job.clone();
    let keep = move |_| go_to(&app.store.add_made(kept.clone()));
    view! {
        <div class="plate preview"><p>{holds(app, job)}</p><p class="hint">{app.word(w::ARRIVE_NEW)}</p></div>
        <div class="foot"><button type="button" class="primary" on:click=keep>{app.word(w::ARRIVE_KEEP)}</button></div>
    }
    .into_any()
}

/// Goes to the job, in the place of the link.
fn go_to(id: &str) {
    address::replace(&Screen::Job(id.to_string()));
}

fn known(app: App, mine: Job, theirs: &Job, left: &Left) -> AnyView {
    let compared = compare(&mine, theirs, &left.leave);
    let id = mine.id.clone();
    if compared.brings_nothing() {
        return view! {
            <div class="plate preview"><p>{app.word(w::ARRIVE_SAME)}</p></div>
            <div class="foot"><a class="primary" href=Screen::Job(id).to_string()>{app.word(w::ARRIVE_TO_MINE)}</a></div>
        }
        .into_any();
    }
    let choices = RwSignal::new(Choices::new());
    let asked = compared.differences.iter().filter(|one| one.is_conflict()).map(|one| question(app, one, choices));
    let asked = asked.collect_view();
    let other = theirs.clone();
    let beside = move |_| go_to(&app.store.add_made(other.clone()));
    let theirs = theirs.clone();
    let into_mine = move |_| {
        // Compared anew: mine may have changed while this page was open.
        app.store.change(&id, |mine| *mine = merge(mine, &theirs, &choices.get_untracked()));
        go_to(&id);
    };
    view! {
        <div class="plate preview">
            <p class="row-title">{app.word(w::ARRIVE_KNOWN)}</p>
            <ul class="plain-list">{brings(app, &compared)}</ul>
        </div>
        {asked}
        <button type="button" class="quiet wide" on:click=beside>{app.word(w::ARRIVE_BESIDE)}</button>
        <div class="foot"><button type="button" class="primary" on:click=into_mine>{app.word(w::ARRIVE_MERGE)}</button></div>
    }
    .into_any()
}

/// What merging would bring, line by line.
fn brings(app: App, compared: &Compared) -> AnyView {
    let speaker = app.speaker();
    let filled = compared.differences.iter().filter(|one| !one.is_conflict() && one.usual == Side::Theirs).count();
    let conflicts = compared.differences.iter().filter(|one| one.is_conflict()).count();
    [
        (compared.only_theirs.len(), w::ARRIVE_BRINGS_SEEN),
        (compared.told.len(), w::ARRIVE_BRINGS_TOLD),
        (compared.lists.len(), w::ARRIVE_BRINGS_LISTS),
        (filled, w::ARRIVE_BRINGS_FIELDS),
        (compared.only_mine.len(), w::ARRIVE_MINE_ONLY),
        (conflicts, w::ARRIVE_CONFLICTS),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(count, word)| view! { <li>{speaker.fill(word, &[("n", Arg::Count(count as u32))])}</li> })
    .collect_view()
    .into_any()
}

/// One conflict, side by side.
fn question(app: App, difference: &Difference, choices: RwSignal<Choices>) -> AnyView {
    let speaker = app.speaker();
    let field = difference.field.clone();
    let name = speaker.name(&format!("merge-{}", field.key())).to_string();
    let legend = match &field {
        Field::List(key) | Field::Bank(key) | Field::Power(key) | Field::Pending(key) => format!("{name} ({key})"),
        _ => name,
    };
    let about = |value: &Value| match difference.is_in_figures() {
        true => format!("{} {}", said(app, value), app.word(w::ARRIVE_IN_FIGURES)),
        false => said(app, value),
    };
    let mut rows = vec![
        Row::new("mine", app.word(w::ARRIVE_MINE), about(&difference.mine)),
        Row::new("theirs", app.word(w::ARRIVE_THEIRS), about(&difference.theirs)),
    ];
    if field == Field::Notes {
        rows.push(Row::new("both", app.word(w::ARRIVE_BOTH), app.word(w::ARRIVE_BOTH_ABOUT)));
    }
    let usual = difference.usual;
    let chosen = {
        let field = field.clone();
        Signal::derive(move || {
            let side = choices.with(|choices| choices.get(&field).copied()).unwrap_or(usual);
            Some(key_of(side).to_string())
        })
    };
    view! {
        <Choice name=format!("merge-{legend}") legend rows chosen error=no_error() on_choose=move |key: String| {
            let side = [Side::Mine, Side::Theirs, Side::Both].into_iter().find(|side| key_of(*side) == key);
            choices.update(|choices| if let Some(side) = side { choices.insert(field.clone(), side); });
        }/>
    }
    .into_any()
}

fn key_of(side: Side) -> &'static str {
    match side {
        Side::Mine => "mine",
        Side::Theirs => "theirs",
        Side::Both => "both",
    }
}

fn said(app: App, value: &Value) -> String {
    match value {
        Value::Nothing => app.word(w::SITE_NOT_SAID).to_string(),
        Value::Text(text) => text.clone(),
        Value::Count(count) => count.to_string(),
        Value::Figure(figure) => app.speaker().figure(*figure),
        Value::Yes(true) => app.word(w::ARRIVE_YES).to_string(),
        Value::Yes(false) => app.word(w::ARRIVE_NO).to_string(),
        Value::Equipment { key, name } if name.is_empty() => app.content.called(key),
        Value::Equipment { name, .. } => name.clone(),
        Value::Several(list) => list.join(", "),
    }
}
