//! The power side: cables, protection, inrush, chargers, joints, and the order of work; by itself and in a job.

mod book;
mod in_record;
mod order;

pub use in_record::{in_record, wrong};

use crate::app::device::page;
use crate::app::frame::{App, app};
use crate::app::pages::entries::{no_site, once_with_job};
use crate::app::pages::jobs::name_of;
use crate::app::parts::go_row::go_row;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::judged::JudgedView;
use crate::app::screen::{PowerPage, Screen};
use crate::content::words::{self as w, Word};
use crate::core::because::Arg;
use crate::core::power::sheet::Part;
use book::Book;
use leptos::prelude::*;
use order::{JobOrder, MeasureOrder};

/// The words of a page: title, one line about it, what it is for, the caution, and another sheet of its kind.
struct Words {
    title: Word,
    about: Word,
    lead: Word,
    caution: Word,
    add: Word,
}

fn words(part: Part) -> Words {
    let [title, about, lead, caution, add] = match part {
        Part::Cable => {
            [w::POWER_CABLE, w::POWER_CABLE_ABOUT, w::POWER_CABLE_LEAD, w::POWER_CABLE_CAUTION, w::POWER_ADD_CABLE]
        }
        Part::Protection => [
            w::POWER_PROTECTION,
            w::POWER_PROTECTION_ABOUT,
            w::POWER_PROTECTION_LEAD,
            w::POWER_PROTECTION_CAUTION,
            w::POWER_ADD_PROTECTION,
        ],
        Part::Inrush => {
            [w::POWER_INRUSH, w::POWER_INRUSH_ABOUT, w::POWER_INRUSH_LEAD, w::POWER_INRUSH_CAUTION, w::POWER_ADD_INRUSH]
        }
        Part::Charger => [
            w::POWER_CHARGER,
            w::POWER_CHARGER_ABOUT,
            w::POWER_CHARGER_LEAD,
            w::POWER_CHARGER_CAUTION,
            w::POWER_ADD_CHARGER,
        ],
        Part::Joint => {
            [w::POWER_JOINT, w::POWER_JOINT_ABOUT, w::POWER_JOINT_LEAD, w::POWER_JOINT_CAUTION, w::POWER_ADD_JOINT]
        }
    };
    Words { title, about, lead, caution, add }
}

fn row(screen: &Screen, page: PowerPage) -> impl IntoView + use<> {
    let app = app();
    let (title, about) = match page {
        PowerPage::Sheets(part) => {
            let words = words(part);
            (words.title, words.about)
        }
        PowerPage::Order => (w::POWER_ORDER, w::POWER_ORDER_ABOUT),
    };
    go_row(screen, app.word(title), app.word(about))
}

/// The rows of the list under Measure.
pub fn rows() -> impl IntoView {
    PowerPage::ALL.map(|page| row(&Screen::MeasurePower(page), page)).into_iter().collect_view()
}

/// What a sheet is called.
fn title_of(part: Part, id: &str, name: Option<&str>) -> String {
    let app = app();
    let speaker = app.speaker();
    let kind = speaker.name(&format!("power-sheet-{}", part.key()));
    match name {
        Some(name) => name.to_string(),
        None if id.is_empty() => app.word(w::POWER_SOURCES).to_string(),
        None => speaker.fill(w::POWER_NTH, &[("what", Arg::Name(kind.to_string())), ("n", Arg::Name(id.to_string()))]),
    }
}

#[component]
pub fn MeasurePower(page: PowerPage) -> impl IntoView {
    match page {
        PowerPage::Order => view! { <MeasureOrder/> }.into_any(),
        PowerPage::Sheets(part) => {
            let title = app().word(words(part).title);
            sheets(Book::by_itself(), part, view! { <Head title/> }.into_any())
        }
    }
}

#[component]
pub fn JobPower(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let rows = PowerPage::ALL.map(|page| row(&Screen::JobPowerPage(id.clone(), page), page));
        view! {
            <div class="page">
                <Head title=app.word(w::POWER_TITLE) back=name_of(app, &job)/>
                <p class="lead">{app.word(w::POWER_IN_JOB)}</p>
                <ul class="rows">{rows.into_iter().collect_view()}</ul>
                <p class="hint">{app.word(w::POWER_RULES)}</p>
            </div>
        }
        .into_any()
    })
}

#[component]
pub fn JobPowerPage(id: String, page: PowerPage) -> impl IntoView {
    let app = app();
    let PowerPage::Sheets(part) = page else { return view! { <JobOrder id/> }.into_any() };
    once_with_job(&id.clone(), move |job| {
        let title = app.word(words(part).title);
        let Ok(site) = job.site.site() else { return no_site(app, title, app.word(w::POWER_TITLE).to_string(), id) };
        let head = view! { <Head title back=app.word(w::POWER_TITLE)/> };
        sheets(Book::of_job(id, site), part, head.into_any())
    })
    .into_any()
}

/// All sheets of a kind, below each its verdict.
fn sheets(book: Book, part: Part, head: AnyView) -> AnyView {
    let app = app();
    let words = words(part);
    let least = RwSignal::new(0_u32);
    let ids = Memo::new(move |_| book.with(|sheet| sheet.ids_to(part, least.get())));
    let numbered = move || ids.with(|ids| ids.iter().filter(|id| id.parse::<u32>().is_ok()).count() as u32);
    let add = move |_| least.set(numbered() + 1);
    let more = move || {
        (numbered() < Part::MOST)
            .then(|| view! { <button type="button" class="quiet" on:click=add>{app.word(words.add)}</button> })
    };
    let all = (part == Part::Charger && book.is_of_job()).then(|| all_sources(app, book));
    view! {
        <div class="page page-power">
            {head}
            <p class="lead">{app.word(words.lead)}</p>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(words.caution)}</span></p>
            <For each=move || ids.get() key=|id| id.clone() children=move |id| sheet(app, book, part, id)/>
            {more}
            {all}
            <p class="hint">{app.word(w::POWER_RULES)}</p>
            <div class="foot">
                <button type="button" class="primary" on:click=move |_| page::show_first(".finding, .power-sheet")>
                    {app.word(w::POWER_SEE)}
                </button>
            </div>
        </div>
    }
    .into_any()
}

/// One sheet: what is asked at once, the rest behind a tap, and the verdict.
fn sheet(app: App, book: Book, part: Part, id: String) -> AnyView {
    let title = {
        let id = id.clone();
        move || book.with(|sheet| title_of(part, &id, sheet.name(part, &id)))
    };
    let first = part.first().iter().map(|ask| book.ask(part, &id, ask)).collect_view();
    let more = (!part.more().is_empty()).then(|| {
        // By itself all has to be typed; in a job the site fills most of it.
        let word = if book.is_of_job() { w::POWER_MORE_SITE } else { w::POWER_MORE };
        let fields = part.more().iter().map(|ask| book.ask(part, &id, ask)).collect_view();
        view! {
            <details class="rests more-fields" open=!book.is_of_job()>
                <summary>{app.word(word)}</summary>
                {fields}
            </details>
        }
    });
    let judged = {
        let id = id.clone();
        Memo::new(move |_| book.with(|sheet| sheet.judge(part, &id)))
    };
    let open = RwSignal::new(false);
    let verdict = move || match judged.get() {
        Some(judged) => view! { <JudgedView judged open/> }.into_any(),
        None if part == Part::Joint => ().into_any(),
        None => view! { <p class="hint">{app.word(w::POWER_FIRST)}</p> }.into_any(),
    };
    view! {
        <section class="power-sheet" id=format!("sheet.{}.{id}", part.key())>
            <h2>{title}</h2>
            {first}
            {more}
            <div class="verdict-block" aria-live="polite">{verdict}</div>
        </section>
    }
    .into_any()
}

/// All sources of the site against its modules.
fn all_sources(app: App, book: Book) -> AnyView {
    let judged = Memo::new(move |_| book.with(|sheet| sheet.all_sources()));
    let open = RwSignal::new(false);
    view! {
        <section class="power-sources">
            <h2>{app.word(w::POWER_SOURCES)}</h2>
            <div aria-live="polite">{move || judged.get().map(|judged| view! { <JudgedView judged open/> })}</div>
        </section>
    }
    .into_any()
}
