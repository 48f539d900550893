//! The fault finder: one check at a time, why this one, what each answer would mean; the three likeliest causes in view.

use crate::app::device::{clock, local, page};
use crate::app::frame::{App, app};
use crate::app::pages::entries::{once_with_job, part_of, site_of};
use crate::app::pages::jobs::name_of;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::finding::Rests;
use crate::app::parts::fold::fold;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::stretches::Stretches;
use crate::app::screen::Screen;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::faults::finder;
use crate::core::faults::finder::physics::Shape;
use crate::core::faults::finder::tables::Power;
use crate::core::faults::finder::{Advice, Cause, Event, Finder, Next, Reason, Report, Speaks, Why};
use crate::core::faults::{share, tied};
use crate::core::job::story::Story;
use crate::core::job::{Job, Moment, Observation};
use crate::core::site::Site;
use crate::core::site::plain::plain_site;
use crate::core::units::{Count, Metres};
use leptos::prelude::*;
use std::cell::RefCell;

/// Where the search without a job is kept: a phone that rings must not cost an answer.
const KEPT: &str = "story";

thread_local! {
    /// Laying out the model costs more than a question: it is kept for the site it was made for.
    static FINDER: RefCell<Option<(String, Shape, Finder<'static>)>> = const { RefCell::new(None) };
}

fn with_finder<T>(app: App, kind: &str, shape: &Shape, ask: impl FnOnce(&Finder<'static>) -> T) -> Option<T> {
    FINDER.with_borrow_mut(|kept| {
        if kept.as_ref().is_none_or(|(of, there, _)| of != kind || there != shape) {
            *kept = Some((kind.into(), shape.clone(), Finder::new(&app.content.finder, kind, shape.clone())));
        }
        kept.as_ref().map(|(_, _, finder)| ask(finder))
    })
}

/// A job whose site is not described yet is searched as a plain bank.
fn shape_of(site: Option<&Site>) -> Option<Shape> {
    match site {
        Some(site) => Some(Shape::of(site)),
        None => plain_site(Count::of(4.0), Metres::of(5.0)).map(|site| Shape::of(&site)),
    }
}

/// Where the search stands by all that the job knows, and whether that is nothing at all.
pub fn stands(app: App, job: &Job) -> Option<(bool, Report)> {
    stands_at(app, &shape_of(job.site.site().ok().as_ref())?, &job.story, &job.observations)
}

fn stands_at(app: App, shape: &Shape, story: &Story, seen: &[Observation]) -> Option<(bool, Report)> {
    with_finder(app, &story.kind, shape, |finder| {
        let events = story.events(finder, seen);
        (events.is_empty(), clock::timed("next-check", || finder.report(&events)))
    })
}

/// What the search works on, and where what is told goes.
#[derive(Clone, Copy)]
struct Search {
    shape: Memo<Option<Shape>>,
    observations: Memo<Vec<Observation>>,
    story: Memo<Story>,
    change: Callback<Story>,
}

impl Search {
    fn tell(self, events: Vec<Event>) {
        let mut story = self.story.get_untracked();
        story.tell(clock::now(), events);
        self.change.run(story);
        request_animation_frame(|| page::show_first(".find-now"));
    }
}

#[component]
pub fn Find() -> impl IntoView {
    let app = app();
    let kept = local::setting(KEPT).and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
    let story = RwSignal::new(kept);
    let search = Search {
        shape: Memo::new(|_| shape_of(None)),
        observations: Memo::new(|_| Vec::new()),
        story: Memo::new(move |_| story.get()),
        change: Callback::new(move |changed: Story| {
            if let Ok(text) = serde_json::to_string(&changed) {
                local::keep_setting(KEPT, &text);
            }
            story.set(changed);
        }),
    };
    let jobs = app
        .store
        .all()
        .into_iter()
        .take(3)
        .map(|job| go_row(&Screen::JobFind(job.id.clone()), &name_of(app, &job), app.word(w::FIND_IN_JOB)));
    let jobs = jobs.collect_view();
    view! {
        <div class="page">
            <Head title=app.word(w::FIND_TITLE)/>
            <FindView search/>
            <h2>{app.word(w::FIND_ELSE)}</h2>
            <ul class="rows">
                {go_row(&Screen::Alarms, app.word(w::FIND_ALARM), app.word(w::FIND_ALARM_ABOUT))}
                {jobs}
            </ul>
        </div>
    }
}

#[component]
pub fn JobFind(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let back = name_of(app, &job);
        let changed = id.clone();
        let site = site_of(&id);
        let search = Search {
            shape: Memo::new(move |_| site.with(|site| shape_of(site.as_ref()))),
            observations: part_of(&id, |job| job.observations.clone()),
            story: part_of(&id, |job| job.story.clone()),
            change: Callback::new(move |story: Story| app.store.change(&changed, |job| job.story = story)),
        };
        view! {
            <div class="page">
                <Head title=app.word(w::FIND_TITLE) back/>
                <FindView search/>
            </div>
        }
        .into_any()
    })
}

/// Which folds were opened; they stay so from answer to answer.
#[derive(Clone, Copy, Default)]
struct Folds {
    whys: Whys,
    not_now: RwSignal<bool>,
    also: RwSignal<bool>,
    kinds: RwSignal<bool>,
}

/// For each of the likeliest causes: was it opened what speaks for and against it?
pub type Whys = [RwSignal<bool>; finder::CAUSES];

#[component]
fn FindView(search: Search) -> impl IntoView {
    let app = app();
    let stands = Memo::new(move |_| {
        let shape = search.shape.get()?;
        search.observations.with(|seen| stands_at(app, &shape, &search.story.get(), seen))
    });
    // What stands behind the answers is drawn once the next check stands: the hand waits for that.
    let behind = RwSignal::new(stands.get_untracked());
    let stretches = Stretches::new();
    Effect::new(move |_| {
        let now = stands.get();
        let before = behind.get_untracked();
        if before.as_ref().is_none_or(|(empty, _)| *empty) {
            // Nothing of before stands there meanwhile.
            behind.set(now);
        } else if before != now {
            stretches.begin(move || {
                behind.try_set(now.clone());
                true
            });
        }
    });
    let folds = Folds::default();
    let now = move || {
        let (empty, report) = stands.get()?;
        Some(if empty {
            view! {
                <p class="lead">{app.word(w::FIND_LEAD)}</p>
                {symptoms(app, search)}
                {kinds(app, search, folds.kinds)}
            }
            .into_any()
        } else {
            advice(app, search, &report)
        })
    };
    let is_told = Memo::new(move |_| stands.with(|stands| stands.as_ref().is_some_and(|(empty, _)| !empty)));
    let rest = move || {
        let (_, report) = behind.get().filter(|(empty, _)| is_told.get() && !empty)?;
        let rest = view! {
            {causes(app, &report, folds.whys)}
            {not_now(app, &report, folds.not_now)}
            {fold("fold", app.word(w::FIND_ALSO), folds.also, move || symptoms(app, search))}
            {so_far(app, search)}
            {kinds(app, search, folds.kinds)}
        };
        Some(rest.into_any())
    };
    view! {
        <div class="find-now">
            <div class="find-next" aria-live="polite">{now}</div>
            {rest}
        </div>
    }
}

/// What may be seen, in plain words.
fn symptoms(app: App, search: Search) -> AnyView {
    let rows = app.content.finder.symptoms.iter().map(|symptom| {
        let title = app.content.language.finder.other.symptoms.get(&symptom.key).cloned().unwrap_or_default();
        let events: Vec<Event> = symptom
            .seen
            .iter()
            .map(|(check, outcome)| Event::Seen { check: check.clone(), outcome: outcome.clone() })
            .collect();
        answer(title, None, move || search.tell(events.clone()))
    });
    view! { <ul class="rows">{rows.collect_view()}</ul> }.into_any()
}

/// A large row that is an answer.
fn answer(title: String, about: Option<String>, given: impl Fn() + 'static) -> AnyView {
    view! {
        <li>
            <button type="button" class="job-row" on:click=move |_| given()>
                <span class="row-words">
                    <span class="row-title">{title}</span>
                    {about.map(|about| view! { <span class="row-about">{about}</span> })}
                </span>
                {icon(Icon::Go)}
            </button>
        </li>
    }
    .into_any()
}

fn name_of_fault(app: App, fault: Option<&str>) -> String {
    match fault {
        Some(key) => app.content.language.finder.faults.get(key).map(|words| words.title.clone()).unwrap_or_default(),
        None => app.word(w::FIND_NOTHING).to_string(),
    }
}

fn advice(app: App, search: Search, report: &Report) -> AnyView {
    let words = &app.content.language.finder;
    match &report.advice {
        Advice::Stop { outcome, .. } => {
            let text = words.other.ends.get(outcome).cloned().unwrap_or_default();
            view! { <p class="caution stop">{icon(Icon::Caution)}<strong>{text}</strong></p> }.into_any()
        }
        Advice::Look(next) => look(app, search, next, leading(app, report, next)),
        Advice::Repair { fault, probability, .. } => {
            let Some(told) = words.faults.get(fault) else { return ().into_any() };
            let repaired = fault.clone();
            let over =
                app.speaker().fill(w::FIND_REPAIR, &[("share", Arg::Name(app.speaker().figure(share(*probability))))]);
            let caution = caution(&told.caution);
            view! {
                <section class="next">
                    <p class="over">{over}</p>
                    <p class="next-action">{told.title.clone()}</p>
                    <p>{told.means.clone()}</p>
                    <p class="see"><strong>{told.repair.clone()}</strong></p>
                    {caution}
                    <button type="button" class="primary" on:click=move |_| {
                        search.tell(vec![Event::Repaired { fault: repaired.clone() }]);
                    }>{app.word(w::FIND_REPAIRED)}</button>
                </section>
            }
            .into_any()
        }
        Advice::NothingFound { probability } => {
            let text = app
                .speaker()
                .fill(w::FIND_NOTHING_FOUND, &[("share", Arg::Name(app.speaker().figure(share(*probability))))]);
            view! { <section class="next"><p class="next-action">{text}</p></section> }.into_any()
        }
    }
}

/// What is advised now, in one line.
pub fn next_line(app: App, advice: &Advice) -> Option<AnyView> {
    let words = &app.content.language.finder;
    let line = match advice {
        Advice::Stop { outcome, .. } => words.other.ends.get(outcome).cloned()?,
        Advice::Look(next) => {
            let check = Arg::Name(words.checks.get(&next.check)?.title.clone());
            let minutes = Arg::Count(next.minutes.round().max(1.0) as u32);
            app.speaker().fill(w::OVERVIEW_CHECK, &[("check", check), ("n", minutes)])
        }
        Advice::Repair { fault, .. } => {
            app.speaker().fill(w::OVERVIEW_REPAIR, &[("repair", Arg::Name(words.faults.get(fault)?.repair.clone()))])
        }
        Advice::NothingFound { .. } => return None,
    };
    Some(view! { <p class="overview-next">{line}</p> }.into_any())
}

fn caution(text: &str) -> Option<AnyView> {
    let text = text.to_string();
    (!text.is_empty()).then(|| view! { <p class="caution">{icon(Icon::Caution)}<span>{text}</span></p> }.into_any())
}

/// The likeliest causes, a line each; what speaks for them stands below the answers. Nothing beside the danger that is asked for
/// before all else.
fn leading(app: App, report: &Report, next: &Next) -> Option<AnyView> {
    if next.reason == Reason::First {
        return None;
    }
    let named = |cause: &Cause| {
        let share = app.speaker().figure(share(cause.probability));
        view! { <li><b>{share}</b><span>{name_of_fault(app, cause.fault.as_deref())}</span></li> }
    };
    let tie = tied(report.causes.iter().map(|cause| share(cause.probability)));
    let heading = if tie == u32::try_from(report.causes.len()).ok() { w::FIND_TIED } else { w::FIND_LEADING };
    let causes = report.causes.iter().map(named).collect_view();
    Some(view! { <div class="leading"><p>{app.word(heading)}":"</p><ul>{causes}</ul></div> }.into_any())
}

/// The next check: what to do, why, and the answers.
fn look(app: App, search: Search, next: &Next, leading: Option<AnyView>) -> AnyView {
    let speaker = app.speaker();
    let Some(words) = app.content.language.finder.checks.get(&next.check) else { return ().into_any() };
    let title = |key: &str| app.content.language.finder.checks.get(key).map(|w| w.title.clone()).unwrap_or_default();
    // That a check tells most is said with what its answers tell.
    let (why, answers) = match &next.reason {
        Reason::First => (Some(app.word(w::FIND_WHY_FIRST).to_string()), w::FIND_ANSWERS),
        Reason::TellsMost => (None, w::FIND_TELLS_MOST),
        Reason::Before(check) => {
            (Some(speaker.fill(w::FIND_WHY_BEFORE, &[("check", Arg::Name(title(check)))])), w::FIND_ANSWERS)
        }
        Reason::Proof => (Some(app.word(w::FIND_WHY_PROOF).to_string()), w::FIND_ANSWERS),
    };
    let minutes = Arg::Count(next.minutes.round().max(1.0) as u32);
    let over = speaker.fill(if next.again { w::FIND_AGAIN } else { w::FIND_NEXT }, &[("n", minutes)]);
    let switch = next.switch.map(|power| match power {
        Power::Off => app.word(w::FIND_SWITCH_OFF),
        Power::On => app.word(w::FIND_SWITCH_ON),
    });
    let outcomes = next.outcomes.iter().map(|meaning| {
        let text = words.outcomes.get(&meaning.outcome).cloned().unwrap_or_default();
        let then = match meaning.ends {
            true => app.word(w::FIND_ENDS).to_string(),
            false => speaker.fill(
                w::FIND_THEN,
                &[
                    ("cause", Arg::Name(name_of_fault(app, meaning.fault.as_deref()))),
                    ("share", Arg::Name(app.speaker().figure(share(meaning.probability)))),
                ],
            ),
        };
        let event = Event::Seen { check: next.check.clone(), outcome: meaning.outcome.clone() };
        answer(text, Some(then), move || search.tell(vec![event.clone()]))
    });
    let outcomes = outcomes.collect_view();
    let later = next.check.clone();
    view! {
        <section class="next">
            <p class="over">{over}</p>
            <p class="next-action">{words.title.clone()}</p>
            {switch.map(|text| view! { <p><strong>{text}</strong></p> })}
            <p class="see">{words.ask.clone()}</p>
            {caution(&words.caution)}
            {why.map(|why| view! { <p class="hint">{why}</p> })}
            {leading}
        </section>
        <p class="hint answers-about">{app.word(answers)}</p>
        <ul class="rows answers">{outcomes}</ul>
        <button type="button" class="quiet" on:click=move |_| search.tell(vec![Event::Later { check: later.clone() }])>
            {app.word(w::FIND_LATER)}
        </button>
    }
    .into_any()
}

/// The three likeliest causes, each with what speaks for and against it.
pub fn causes(app: App, report: &Report, whys_open: Whys) -> AnyView {
    let one = |(cause, open): (&Cause, RwSignal<bool>)| {
        let title = name_of_fault(app, cause.fault.as_deref());
        let means = cause.fault.as_ref().and_then(|key| app.content.language.finder.faults.get(key));
        let means = means.map(|words| view! { <p class="row-about">{words.means.clone()}</p> });
        let why = cause.why.clone();
        let whys = why.iter().any(|why| why.speaks().is_some()).then(|| {
            let list = move || {
                let whys = why.iter().filter_map(|why| reason(app, why)).take(5).collect_view();
                view! { <ul class="sum">{whys}</ul> }.into_any()
            };
            fold("rests", app.word(w::FIND_WHY), open, list)
        });
        view! {
            <li class="suspicion">
                <p><span class="row-title">{title}</span><span class="share">{app.speaker().figure(share(cause.probability))}</span></p>
                <meter min="0" max="1" value=cause.probability aria-hidden="true"></meter>
                {means}
                {whys}
            </li>
        }
    };
    view! {
        <h2>{app.word(w::FIND_CAUSES)}</h2>
        <ul class="suspicions">{report.causes.iter().zip(whys_open).map(one).collect_view()}</ul>
        <p class="hint">{app.word(w::FIND_SHARES)}</p>
        <Rests sum=Vec::new() sources=finder::SOURCES.to_vec()/>
    }
    .into_any()
}

/// What an observation is called: the check with its answer, or the alarm.
fn told_of(app: App, check: &str, outcome: Option<&str>) -> String {
    match outcome {
        None => {
            let alarm = app.content.language.alarms.iter().find(|alarm| alarm.key == check);
            alarm.map(|alarm| alarm.title.clone()).unwrap_or_default()
        }
        Some(outcome) => {
            let Some(words) = app.content.language.finder.checks.get(check) else { return String::new() };
            let answer = words.outcomes.get(outcome).map_or("", String::as_str);
            format!("{}: {answer}", words.title)
        }
    }
}

fn reason(app: App, why: &Why) -> Option<AnyView> {
    let word = match why.speaks()? {
        Speaks::StronglyFor => w::FIND_FOR_STRONGLY,
        Speaks::For => w::FIND_FOR,
        Speaks::Against => w::FIND_AGAINST,
        Speaks::StronglyAgainst => w::FIND_AGAINST_STRONGLY,
    };
    let of = told_of(app, &why.of, why.outcome.as_deref());
    Some(view! { <li><strong>{app.word(word)}": "</strong>{of}</li> }.into_any())
}

/// Checks that the present state forbids, with the reason.
fn not_now(app: App, report: &Report, open: RwSignal<bool>) -> Option<AnyView> {
    (!report.forbidden.is_empty()).then(|| {
        let words = &app.content.language.finder;
        let forbidden = report.forbidden.clone();
        let list = move || {
            let rows = forbidden.iter().map(|(check, fact)| {
                let title = words.checks.get(check).map(|words| words.title.clone()).unwrap_or_default();
                view! { <li><strong>{title}": "</strong>{words.other.facts.get(fact).cloned().unwrap_or_default()}</li> }
            });
            view! { <ul>{rows.collect_view()}</ul> }.into_any()
        };
        fold("fold", app.word(w::FIND_FORBIDDEN), open, list)
    })
}

/// What an event says.
pub fn told(app: App, event: &Event) -> String {
    let speaker = app.speaker();
    match event {
        Event::Seen { check, outcome } => told_of(app, check, Some(outcome)),
        Event::Alarm { alarm } => told_of(app, alarm, None),
        Event::Later { check } => {
            let title = app.content.language.finder.checks.get(check).map(|w| w.title.clone()).unwrap_or_default();
            speaker.fill(w::FIND_TOLD_LATER, &[("check", Arg::Name(title))])
        }
        Event::Repaired { fault } => {
            speaker.fill(w::FIND_TOLD_REPAIRED, &[("fault", Arg::Name(name_of_fault(app, Some(fault))))])
        }
    }
}

/// What was told so far, the last to be taken back.
fn so_far(app: App, search: Search) -> Option<AnyView> {
    let story = search.story.get_untracked();
    (!story.is_empty()).then(|| {
        let rows = story.told.iter().map(|one| told_row(app, one.at, &one.event)).collect_view();
        view! {
            <h2>{app.word(w::FIND_SO_FAR)}</h2>
            <ol class="record-cards">{rows}</ol>
            <button type="button" class="quiet" on:click=move |_| {
                let mut story = search.story.get_untracked();
                story.told.pop();
                search.change.run(story);
            }>{app.word(w::FIND_BACK)}</button>
        }
        .into_any()
    })
}

/// One line of the story.
pub fn told_row(app: App, at: Moment, event: &Event) -> AnyView {
    view! { <li><span>{told(app, event)}</span><span class="when">{clock::say(at)}</span></li> }.into_any()
}

/// What kind of site it is: what is common differs.
fn kinds(app: App, search: Search, open: RwSignal<bool>) -> AnyView {
    let words = &app.content.language.finder.other.kinds;
    let kinds = &app.content.finder.kinds;
    let first = kinds.first().cloned().unwrap_or_default();
    let chosen = Signal::derive(move || {
        let kind = search.story.with(|story| story.kind.clone());
        Some(if kind.is_empty() { first.clone() } else { kind })
    });
    let choice = move || {
        let rows = kinds.iter().map(|key| Row::new(key, words.get(key).cloned().unwrap_or_default(), "")).collect();
        view! {
            <Choice name="find-kind" legend=app.word(w::FIND_KIND_ABOUT) rows chosen error=no_error()
                on_choose=move |key| {
                    let mut story = search.story.get_untracked();
                    story.kind = key;
                    search.change.run(story);
                }/>
        }
        .into_any()
    };
    fold("fold", app.word(w::FIND_KIND), open, choice)
}
