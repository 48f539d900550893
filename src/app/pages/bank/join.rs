//! May these modules be joined?

use super::parts::{Segments, cell_count, two_or_more};
use super::typed::{Typed, TypedField};
use crate::app::frame::app;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::judged::JudgedView;
use crate::content::words as w;
use crate::core::bank::findings::join::{Joining, join};
use crate::core::bank::join::{Candidate, How};
use crate::core::site::{MOST_MODULES, Problem};
use crate::core::units::Kind;
use leptos::prelude::*;

/// What is typed of one module.
#[derive(Clone, Copy)]
struct Row {
    voltage: Typed,
    soc: Typed,
}

#[component]
pub fn BankJoin() -> impl IntoView {
    let app = app();
    let how = RwSignal::new("parallel");
    let count = Typed::new(Kind::Count).rule(two_or_more).filled("2");
    let cells = Typed::new(Kind::Count).rule(cell_count).filled("4");
    let resistance = Typed::new(Kind::Ohms).unit("mΩ");
    let lead = Typed::new(Kind::Ohms).unit("mΩ");
    let above_full = |value: f64| (value > 100.0).then_some(w::BANK_ABOVE_FULL);
    let rows: Vec<Row> = (0..MOST_MODULES)
        .map(|_| Row { voltage: Typed::new(Kind::Volts), soc: Typed::new(Kind::Percent).rule(above_full) })
        .collect();
    let rows = StoredValue::new(rows);
    let shown = Memo::new(move |_| count.count().filter(|count| *count <= MOST_MODULES));
    let found = Memo::new(move |_| -> Option<Joining> {
        let shown = shown.get()? as usize;
        let inner = resistance.quantity();
        let modules: Vec<Candidate> = rows.with_value(|rows| {
            let candidate =
                |row: &Row| Candidate { voltage: row.voltage.quantity(), soc: row.soc.quantity(), resistance: inner };
            rows.iter().take(shown).map(candidate).collect()
        });
        let how = if how.get() == "series" { How::Series } else { How::Parallel };
        Some(join(&modules, how, cells.count(), lead.quantity()))
    });
    let too_many = move || {
        let over = count.count().is_some_and(|count| count > MOST_MODULES);
        over.then(|| view! { <p class="error" role="alert">{app.speaker().problem(Problem::TooManyModules)}</p> })
    };
    let cards = move || {
        (1..=shown.get().unwrap_or(0))
            .filter_map(|n| Some((n, rows.with_value(|rows| rows.get(n as usize - 1).copied())?)))
            .map(|(n, row)| {
                view! {
                    <section class="module-row">
                        <h2>{app.speaker().fill(w::BANK_JOIN_MODULE, &[("n", n.into())])}</h2>
                        <div class="pair">
                            <TypedField id=format!("voltage-{n}") label=app.word(w::BANK_JOIN_VOLTAGE) typed=row.voltage/>
                            <TypedField id=format!("soc-{n}") label=app.word(w::BANK_JOIN_SOC) typed=row.soc/>
                        </div>
                    </section>
                }
            })
            .collect_view()
    };
    let open = RwSignal::new(false);
    let current = move || {
        found.get().and_then(|found| found.equalising).map(|current| {
            view! {
                <p class="big-figure">
                    <strong>{app.speaker().fill(w::BANK_JOIN_CURRENT, &[("current", current.into())])}</strong>
                    <span>{app.word(w::BANK_JOIN_CURRENT_ABOUT)}</span>
                </p>
            }
        })
    };
    let ways = vec![
        ("parallel", app.word(w::BANK_JOIN_PARALLEL), app.word(w::BANK_JOIN_PARALLEL_ABOUT)),
        ("series", app.word(w::BANK_JOIN_SERIES), app.word(w::BANK_JOIN_SERIES_ABOUT)),
    ];
    view! {
        <div class="page">
            <Head title=app.word(w::BANK_JOIN)/>
            <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::BANK_JOIN_CAUTION)}</span></p>
            <Segments name="how" legend=app.word(w::BANK_JOIN_HOW) options=ways chosen=how on_choose=move |key| how.set(key)/>
            <TypedField id="count" label=app.word(w::BANK_JOIN_COUNT) typed=count/>
            {too_many}
            {cards}
            {move || (how.get() == "parallel").then(|| view! {
                <TypedField id="cells" label=app.word(w::BANK_JOIN_CELLS) typed=cells/>
                <TypedField id="resistance" label=app.word(w::BANK_JOIN_RESISTANCE) hint=app.word(w::BANK_JOIN_RESISTANCE_HINT) typed=resistance/>
                <TypedField id="lead" label=app.word(w::BANK_JOIN_LEAD) typed=lead/>
            })}
            <div class="verdict-block" aria-live="polite">
                {move || found.get().map(|found| view! { <JudgedView judged=found.judged open/> })}
                {current}
            </div>
        </div>
    }
}
