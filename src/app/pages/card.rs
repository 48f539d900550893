//! One card: one action or one question, what should be seen, and the tick or the reading that is kept with its time.

use crate::app::device::awake::Awake;
use crate::app::device::{address, clock, page, voice};
use crate::app::frame::{App, app};
use crate::app::pages::entries::{once_with_job, part_of, site_of};
use crate::app::pages::jobs::name_of;
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::explain::explain_later;
use crate::app::parts::field::NumberField;
use crate::app::parts::finding::FindingView;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::pins::Pins;
use crate::app::parts::strip::LiveStrip;
use crate::app::screen::Screen;
use crate::content::schema::Shape;
use crate::content::walk::{Card, Progress, Spoken};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::entry::{self, Entry};
use crate::core::faults::finder::Event;
use crate::core::job::assess::{Assessment, Finding, Verdict};
use crate::core::job::check::{self, Asks, Check};
use crate::core::job::strip::draw;
use crate::core::job::{Job, Moment, Observation, Seen, Subject};
use crate::core::site::Site;
use crate::core::site::parts::{Part, parts};
use crate::core::units::Kind;
use leptos::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

/// A browser that still has no voice then has none (common practice, no source).
const VOICES_LATE: Duration = Duration::from_millis(1000);

/// What a card's page needs to know of its job; derived anew on each change.
struct Standing {
    job: Job,
    site: Arc<Site>,
    assessment: Assessment,
    progress: Progress,
    index: usize,
    /// The key of the card after this one.
    after: Option<String>,
}

impl Standing {
    /// A card may leave the site while it is shown, as when a reading is corrected: it keeps its place of `before` until left,
    /// and shows the job as it is now.
    fn of(job: Job, site: Arc<Site>, key: &str, before: Option<&Standing>) -> Option<Standing> {
        let assessment = job.assess_at_once(&site);
        let progress = Progress::of(app().content, &site, &job, &assessment);
        let (progress, index, after) = match progress.index(key) {
            Some(index) => {
                let after = progress.cards.get(index + 1).map(|card| card.key.clone());
                (progress, index, after)
            }
            None => {
                let before = before?;
                let mut later = before.progress.cards.iter().skip(before.index + 1);
                let after = later.find(|card| progress.index(&card.key).is_some()).map(|card| card.key.clone());
                (before.progress.clone(), before.index, after)
            }
        };
        Some(Standing { job, site, assessment, progress, index, after })
    }

    fn card(&self) -> &Card {
        &self.progress.cards[self.index]
    }

    /// The screen after this card.
    fn after(&self) -> Screen {
        let id = self.job.id.clone();
        match &self.after {
            Some(key) => Screen::Card(id, key.clone()),
            None => Screen::Job(id),
        }
    }
}

#[component]
pub fn CardPage(id: String, key: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let site = site_of(&id);
        let site = Memo::new(move |_| site.get().map(Arc::new));
        let known = site.get_untracked().and_then(|site| Standing::of(job.clone(), site, &key, None));
        let Some(first) = known.map(Arc::new) else {
            return view! {
                <div class="page">
                    <Head title=app.word(w::CARD_NOT_FOUND) back=name_of(app, &job)/>
                    <div class="foot">
                        <a class="primary" href=Screen::Job(id).to_string()>{app.word(w::CARD_TO_JOB)}</a>
                    </div>
                </div>
            }
            .into_any();
        };
        let job = part_of(&id, Job::clone);
        let explained = RwSignal::new(());
        let new = {
            let first = first.clone();
            move |before: Option<&Arc<Standing>>| {
                explained.track();
                let before = before.unwrap_or(&first);
                let now = site.get().and_then(|site| Standing::of(job.get(), site, &key, Some(before)));
                now.map_or_else(|| before.clone(), Arc::new)
            }
        };
        // The job has changed, or what explains it is known: asking whether anything follows from that takes as long.
        let standing = Memo::new_with_compare(new, |_, _| true);
        let open = move |_: Option<&_>| {
            standing.with(|now| {
                let open = || (Site::clone(&now.site), now.job.observations.clone());
                (!now.assessment.explained).then(open)
            })
        };
        explain_later(Memo::new(open), explained);
        view! { <CardView first standing/> }.into_any()
    })
}

#[component]
fn CardView(first: Arc<Standing>, standing: Memo<Arc<Standing>>) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let card = first.card().clone();
    let spoken = card.spoken(&speaker);
    let of_stage: Vec<&Card> = first.progress.cards.iter().filter(|other| other.stage == card.stage).collect();
    let place = of_stage.iter().position(|other| other.key == card.key).unwrap_or(0) as u32 + 1;
    let stage = speaker.language.walk.stage.get(&card.stage).map(|words| words.title.clone()).unwrap_or_default();
    let over = speaker.fill(
        w::CARD_STEP,
        &[("stage", Arg::Name(stage)), ("n", place.into()), ("all", (of_stage.len() as u32).into())],
    );
    let lit = card.lit;
    let shown = Memo::new(move |_| standing.with(|now| (now.site.clone(), now.assessment.suspect)));
    let drawn = Signal::derive(move || shown.with(|(site, suspect)| draw(site, lit, *suspect)));
    let strip = view! { <div class="plate"><LiveStrip strip=drawn/></div> };
    let list = (card.step == "take-along").then(|| view! { <TakeAlong site=Site::clone(&first.site)/> });
    let pins = (card.step == "reach-pins").then(|| {
        let port = &first.site.port;
        let is_modular = app.content.connector(&port.connector).is_some_and(|c| c.shape == Shape::Modular);
        view! {
            <div class="plate">
                <Pins connector=port.connector.clone() high=port.high_pin low=port.low_pin reference=port.reference_pin/>
            </div>
            <p class="hint">{app.word(w::PINS_LEAD)}" "{app.word(w::PINS_NUMBERS)}</p>
            {is_modular.then(|| view! { <p class="hint">{app.word(w::PINS_NOT_ONE)}</p> })}
        }
    });
    let caution = spoken.caution.clone().map(|text| {
        view! { <p class="caution">{icon(Icon::Caution)}<span>{text}</span></p> }
    });
    let errors = RwSignal::new(BTreeMap::<Check, String>::new());
    let asks = card.asks.iter().map(|check| view! { <Ask check=*check standing errors/> }).collect_view();
    let awake = StoredValue::new_local(Some(Awake::hold()));
    on_cleanup(move || {
        awake.set_value(None);
        voice::hush();
    });
    let aloud = read_aloud(app, &spoken);
    let back = name_of(app, &first.job);
    let is_number = card.asks.iter().any(|check| check.part() == check::Part::Numbers);
    let bank = is_number.then(|| {
        let row = go_row(&Screen::JobBank(first.job.id.clone()), app.word(w::JOB_BANK), app.word(w::JOB_BANK_ABOUT));
        view! { <ul class="rows">{row}</ul> }
    });
    view! {
        <div class="page page-card">
            <Head title=spoken.action over back/>
            {strip}
            {list}
            <p class="see"><strong>{app.word(w::CARD_SEE)}": "</strong>{spoken.see}</p>
            {pins}
            {caution}
            {asks}
            <p class="why"><strong>{app.word(w::CARD_WHY)}": "</strong>{spoken.why}</p>
            {if_not(app, &card.step, first.job.id.clone())}
            {aloud}
            {(!Awake::is_there()).then(|| view! { <p class="hint">{app.word(w::CARD_NO_AWAKE)}</p> })}
            {bank}
            <Foot standing errors tick=spoken.tick/>
        </div>
    }
}

/// A key that has this card read aloud, and each one after it, until it is pressed again: for hands that are busy.
fn read_aloud(app: App, spoken: &Spoken) -> AnyView {
    if !voice::is_there() {
        return view! { <p class="hint">{app.word(w::CARD_NO_SPEECH)}</p> }.into_any();
    }
    let caution = spoken.caution.clone().map(|text| format!("{}: {text}", app.word(w::CARD_CAUTION)));
    let see = format!("{}: {}", app.word(w::CARD_SEE), spoken.see);
    // The caution before the action: a hand moves when it hears what to do.
    let texts: Vec<String> = caution.into_iter().chain([spoken.action.clone(), see]).collect();
    let mute = RwSignal::new(false);
    let on = RwSignal::new(voice::is_on());
    let say = move || {
        mute.set(!voice::say(&texts, app.content.language.tongue.tag()));
        let look_again = move || {
            if on.try_get_untracked() == Some(true) && voice::has_none() {
                mute.try_set(true);
            }
        };
        set_timeout(look_again, VOICES_LATE);
    };
    if voice::is_on() {
        say();
    }
    let turn = move |_| {
        voice::turn(!on.get_untracked());
        on.set(voice::is_on());
        if voice::is_on() {
            say();
        } else {
            mute.set(false);
        }
    };
    let label = move || app.word(if on.get() { w::CARD_QUIET } else { w::CARD_ALOUD });
    let no_voice = move || mute.get().then(|| view! { <p class="hint">{app.word(w::CARD_NO_VOICE)}</p> });
    view! {
            <button type="button" class="quiet aloud" aria-pressed=move || on.get().to_string() on:click=turn>
                {icon(Icon::Aloud)}<span>{label}</span>
            </button>
            <div aria-live="polite">{no_voice}</div>
    }
    .into_any()
}

/// The way out where what should be seen is not: into the fault finder, with what is seen instead.
fn if_not(app: App, step: &str, job: String) -> Option<AnyView> {
    let steps = || app.content.walk.stages.iter().flat_map(|stage| &stage.steps);
    let key = steps().find(|known| known.key == step)?.if_not.as_ref()?;
    let symptom = app.content.finder.symptoms.iter().find(|symptom| symptom.key == *key)?;
    let seen = symptom.seen.iter();
    let events: Vec<Event> =
        seen.map(|(check, outcome)| Event::Seen { check: check.clone(), outcome: outcome.clone() }).collect();
    let find = move |_| {
        let events = events.clone();
        app.store.change(&job, |job| job.story.tell(clock::now(), events));
        address::go(&Screen::JobFind(job.clone()));
    };
    let title = app.content.language.finder.other.symptoms.get(key).cloned().unwrap_or_default();
    Some(
        view! {
            <button type="button" class="quiet if-not" on:click=find>
                <span>{app.word(w::CARD_IF_NOT)}": "{title}</span>
                {icon(Icon::Go)}
            </button>
        }
        .into_any(),
    )
}

/// One check of the card: its field, or its answers, and the finding below.
#[component]
fn Ask(check: Check, standing: Memo<Arc<Standing>>, errors: RwSignal<BTreeMap<Check, String>>) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let id = standing.with_untracked(|now| now.job.id.clone());
    let words = speaker.language.checks.get(check.key()).cloned();
    let (label, how) = words.as_ref().map(|words| (words.label.clone(), words.how.clone())).unwrap_or_default();
    let finding = Memo::new(move |_| standing.with(|now| now.assessment.of(check).cloned()));
    let waits = move || standing.with(|now| now.job.pending.contains_key(check.key()));
    let open = RwSignal::new(false);
    let shown = move || {
        finding.get().filter(|finding| finding.verdict != Verdict::NotDone && !waits()).map(|finding: Finding| {
            let at = finding.at.map(|at| {
                view! { <p class="when">{speaker.fill(w::CARD_TAKEN_AT, &[("when", Arg::Name(clock::say(at)))])}</p> }
            });
            // A reading of ohms that does not hold is where the search begins.
            let is_ohms = standing.with(|now| check.hold(&now.site).is_some());
            let to_trace = (is_ohms && finding.verdict != Verdict::Holds).then(|| {
                let to = Screen::Trace(standing.with(|now| now.job.id.clone()));
                view! { <ul class="rows">{go_row(&to, app.word(w::TRACE_TITLE), app.word(w::TRACE_ABOUT))}</ul> }
            });
            view! { <FindingView finding open/>{to_trace}{at} }
        })
    };
    let field = match check.asks() {
        Asks::Number { kind, signed } => {
            let text = Signal::derive(move || {
                standing.with(|now| match now.job.pending.get(check.key()) {
                    Some(text) => text.clone(),
                    None => now.job.last(&Subject::Check(check)).map(|seen| seen.typed.clone()).unwrap_or_default(),
                })
            });
            let error = Signal::derive(move || errors.with(|errors| errors.get(&check).cloned()));
            let window = finding.with_untracked(|finding| finding.as_ref().and_then(|finding| finding.window));
            let window = window.filter(|_| kind == Kind::Ohms || kind == Kind::Volts).map(|window| {
                speaker.fill(w::CARD_WINDOW, &[("low", window.low.into()), ("high", window.high.into())])
            });
            let hint = window.map_or(how.clone(), |window| format!("{how} {window}."));
            let enter_id = id.clone();
            view! {
                <NumberField
                    id=check.key()
                    label
                    hint
                    unit=kind.symbol()
                    signed
                    whole=kind == Kind::Count
                    large=true
                    text
                    error
                    on_text=move |typed: String| {
                        errors.update(|errors| { errors.remove(&check); });
                        app.store.change(&id, |job| { job.pending.insert(check.key().into(), typed); });
                    }
                    on_enter=Callback::new(move |()| {
                        hold(&enter_id, &[check], errors);
                    })
                />
            }
            .into_any()
        }
        Asks::Answer(keys) => {
            let rows = keys
                .iter()
                .map(|key| {
                    let title = words.as_ref().and_then(|words| words.answers.get(*key)).cloned().unwrap_or_default();
                    Row::new(*key, title, "")
                })
                .collect();
            let chosen = Signal::derive(move || {
                standing.with(|now| match now.job.last(&Subject::Check(check)).map(|seen| &seen.seen) {
                    Some(Seen::Answer(key)) => Some(key.clone()),
                    _ => None,
                })
            });
            view! {
                <Choice
                    name=check.key()
                    legend=label
                    hint=how
                    rows
                    chosen
                    error=Signal::derive(move || errors.with(|errors| errors.get(&check).cloned()))
                    on_choose=move |key: String| {
                        errors.update(|errors| { errors.remove(&check); });
                        app.store.observe(&id, Subject::Check(check), Seen::Answer(key), String::new());
                    }
                />
            }
            .into_any()
        }
    };
    view! {
        <section class="ask">
            {field}
            <div aria-live="polite">{shown}</div>
        </section>
    }
}

/// Takes the texts that stand in the fields of these checks as readings; a sentence stays at each that cannot be read.
fn hold(id: &str, checks: &[Check], errors: RwSignal<BTreeMap<Check, String>>) {
    let app = app();
    let speaker = app.speaker();
    let at = clock::now();
    let mut wrong = BTreeMap::new();
    app.store.change(id, |job| {
        for check in checks {
            let subject = Subject::Check(*check);
            let Asks::Number { kind, .. } = check.asks() else {
                if job.last(&subject).is_none() {
                    wrong.insert(*check, app.word(w::ENTRY_CHOOSE).to_string());
                }
                continue;
            };
            let typed = match job.pending.get(check.key()) {
                Some(typed) => typed.clone(),
                // Nothing new stands in the field: what was taken before still counts.
                None if job.last(&subject).is_some() => continue,
                None => String::new(),
            };
            match entry::read(&typed, kind) {
                Ok(entry) => {
                    let seen = match entry {
                        Entry::Figure(shown) => Seen::Figure(shown),
                        Entry::BeyondRange => Seen::BeyondRange,
                    };
                    job.pending.remove(check.key());
                    job.see(Observation::new(subject, at, seen, typed));
                }
                Err(why) => {
                    wrong.insert(*check, speaker.unreadable(&why));
                }
            }
        }
    });
    let all_read = wrong.is_empty();
    errors.set(wrong);
    // What matters most comes into view: the field that needs another look, else the first reading that does not hold.
    request_animation_frame(move || {
        if all_read {
            page::show_first(".ask:has(.finding-fails), .ask:has(.finding-look-again), .ask:has(.finding)");
        } else {
            page::focus_first("[aria-invalid=true], fieldset .error:not(:empty) ~ label input");
        }
    });
}

/// What is the one thing to do.
#[derive(Clone, PartialEq)]
enum ToDo {
    /// The action, which is then ticked.
    Tick,
    /// It was ticked then: the next card.
    Ticked(Moment),
    /// What stands in the fields is to be taken.
    Check,
    /// All is taken. After a failure the advice is the next thing; going on stays possible.
    Next { fails: bool },
}

impl ToDo {
    fn of(now: &Standing) -> ToDo {
        let card = now.card();
        if card.asks.is_empty() {
            return now.job.done(&card.key).map_or(ToDo::Tick, ToDo::Ticked);
        }
        let taken = |check: &Check| {
            now.job.last(&Subject::Check(*check)).is_some() && !now.job.pending.contains_key(check.key())
        };
        let fails = |check: &Check| now.assessment.of(*check).is_some_and(|f| f.verdict == Verdict::Fails);
        if card.asks.iter().all(taken) { ToDo::Next { fails: card.asks.iter().any(fails) } } else { ToDo::Check }
    }
}

/// The one thing to do, at the thumb.
#[component]
fn Foot(
    standing: Memo<Arc<Standing>>,
    errors: RwSignal<BTreeMap<Check, String>>,
    tick: Option<String>,
) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let to_do = Memo::new(move |_| standing.with(|now| (ToDo::of(now), now.after())));
    let primary = move || {
        let (to_do, after) = to_do.get();
        let (id, card) = standing.with_untracked(|now| (now.job.id.clone(), now.card().clone()));
        match to_do {
            ToDo::Ticked(at) => view! {
                <button type="button" class="quiet" on:click=move |_| {
                    app.store.observe(&id, Subject::Card(card.key.clone()), Seen::Withdrawn, String::new());
                }>{app.word(w::CARD_UNDO)}</button>
                <a class="primary" href=after.to_string()>
                    <span>{app.word(w::CARD_NEXT)}</span>
                    <span class="primary-about">
                        {speaker.fill(w::CARD_DONE_AT, &[("when", Arg::Name(clock::say(at)))])}
                    </span>
                </a>
            }
            .into_any(),
            ToDo::Tick => {
                let label = tick.clone().unwrap_or_else(|| app.word(w::CARD_DONE).to_string());
                view! {
                    <button type="button" class="primary" on:click=move |_| {
                        app.store.observe(&id, Subject::Card(card.key.clone()), Seen::Done, String::new());
                        address::go(&after);
                    }>{icon(Icon::Holds)}<span>{label}</span></button>
                }
                .into_any()
            }
            ToDo::Next { fails } => {
                let class = if fails { "quiet" } else { "primary" };
                view! { <a class=class href=after.to_string()>{app.word(w::CARD_NEXT)}</a> }.into_any()
            }
            ToDo::Check => view! {
                <button type="button" class="primary" on:click=move |_| {
                    hold(&id, &card.asks, errors);
                }>{app.word(w::CARD_CHECK)}</button>
            }
            .into_any(),
        }
    };
    view! { <div class="foot">{primary}</div> }
}

/// What to take along, and what to isolate first.
#[component]
fn TakeAlong(site: Site) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let line = |part: &Part| -> (String, Option<&'static str>) {
        let plain = |word| (app.word(word).to_string(), None);
        match part {
            Part::BusLead { lead, length } => {
                let args = [("name", speaker.lead(lead).into()), ("length", (*length).into())];
                (speaker.fill(w::PARTS_BUS_LEAD, &args), None)
            }
            Part::Adapter { lead } => (speaker.fill(w::PARTS_ADAPTER, &[("name", speaker.lead(lead).into())]), None),
            Part::LinkLeads { lead, count, length } => (
                speaker.fill(
                    w::PARTS_LINK_LEADS,
                    &[("count", (*count).into()), ("name", speaker.lead(lead).into()), ("length", (*length).into())],
                ),
                Some(app.word(w::PARTS_LINK_LEADS_ABOUT)),
            ),
            Part::Terminators { terminator, count } => (
                speaker.fill(
                    w::PARTS_TERMINATORS,
                    &[("count", (*count).into()), ("name", speaker.terminator(terminator).into())],
                ),
                Some(app.word(w::PARTS_TERMINATORS_ABOUT)),
            ),
            Part::BuiltIn { end } => (speaker.fill(w::PARTS_BUILT_IN, &[("end", (*end).into())]), None),
            Part::PinAccess { connector } => {
                let name = speaker.name(&format!("connector-{connector}")).to_string();
                let text = speaker.fill(w::PARTS_PIN_ACCESS, &[("connector", Arg::Name(name))]);
                (text, Some(app.word(w::PARTS_PIN_ACCESS_ABOUT)))
            }
            Part::Meter => (app.word(w::PARTS_METER).into(), Some(app.word(w::PARTS_METER_ABOUT))),
            Part::InsulatedTools => plain(w::PARTS_TOOLS),
            Part::EyeProtection => plain(w::PARTS_EYES),
            Part::KnownLoad => (app.word(w::PARTS_LOAD).into(), Some(app.word(w::PARTS_LOAD_ABOUT))),
            Part::Labels => plain(w::PARTS_LABELS),
        }
    };
    let items = parts(&site)
        .iter()
        .map(|part| {
            let (text, about) = line(part);
            view! {
                <li>
                    <span>{text}</span>
                    {about.map(|about| view! { <span class="row-about">{about}</span> })}
                </li>
            }
        })
        .collect_view();
    view! {
        <ul class="take-along">{items}</ul>
        <p class="caution">
            {icon(Icon::Caution)}
            <span><strong>{app.word(w::PARTS_FIRST)}": "</strong>{app.word(w::PARTS_FIRST_ABOUT)}</span>
        </p>
    }
}
