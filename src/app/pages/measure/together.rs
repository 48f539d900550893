//! Do module and monitor go together: from two choices the way between them, or what is in it; and all pairs at a glance.

use crate::app::device::page;
use crate::app::frame::{App, app};
use crate::app::parts::choice::{Choice, Row};
use crate::app::parts::field::no_error;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::site::compat::{Reached, Way, ways};
use leptos::prelude::*;

#[component]
pub fn MeasureTogether() -> impl IntoView {
    let app = app();
    let equipment = &app.content.equipment;
    let (module, monitor) = (RwSignal::new(None::<String>), RwSignal::new(None::<String>));
    let module_row = |m: &crate::core::site::figures::ModuleFigures| {
        let about = format!("{}: {}", m.maker, app.speaker().connector(&m.data.connector));
        Row::new(&m.key, &m.model, about)
    };
    let modules = equipment.modules.iter().map(module_row).collect();
    let monitors = equipment.monitors.iter().map(|m| Row::new(&m.key, &m.model, &m.maker)).collect();
    let found = move || {
        let (module, monitor) = (equipment.module(&module.get()?)?, equipment.monitor(&monitor.get()?)?);
        let title = app.speaker().fill(
            w::TOGETHER_OF,
            &[("module", module.model.clone().into()), ("monitor", monitor.model.clone().into())],
        );
        let ports = ways(module, monitor, equipment.shelf());
        Some(view! {
            <section class="together-found" aria-live="polite">
                <h2>{title}</h2>
                {ports.iter().map(|reached| port_view(app, reached)).collect_view()}
            </section>
        })
    };
    view! {
        <div class="page">
            <Head title=app.word(w::TOGETHER_TITLE)/>
            <p class="lead">{app.word(w::TOGETHER_LEAD_IN)}</p>
            {matrix(app, module, monitor)}
            {found}
            <details class="fold">
                <summary>{app.word(w::TOGETHER_BY_LIST)}</summary>
                <Choice name="module" legend=app.word(w::SITE_MODULE) rows=modules chosen=module error=no_error()
                    on_choose=move |key| module.set(Some(key))/>
                <Choice name="monitor" legend=app.word(w::SITE_MONITOR) rows=monitors chosen=monitor error=no_error()
                    on_choose=move |key| monitor.set(Some(key))/>
            </details>
            <p class="hint">{app.word(w::SITE_INVENTED)}</p>
        </div>
    }
}

/// One port: the ways to it, or what is in the way.
fn port_view(app: App, reached: &Reached<'_>) -> AnyView {
    let speaker = app.speaker();
    let label = speaker.fill(w::TOGETHER_PORT, &[("port", Arg::Name(reached.port.label.clone()))]);
    let list =
        |lines: Vec<String>| view! { <ul>{lines.into_iter().map(|l| view! { <li>{l}</li> }).collect_view()}</ul> };
    match &reached.ways {
        Ok(ways) => view! {
            <div class="reach reach-open">
                <h3>{icon(Icon::Holds)}<span>{label}" "{app.word(w::TOGETHER_YES)}</span></h3>
                {ways.iter().map(|way: &Way<'_>| list(speaker.way(way))).collect_view()}
            </div>
        }
        .into_any(),
        Err(obstacles) => view! {
            <div class="reach">
                <h3>{icon(Icon::Fails)}<span>{label}" "{app.word(w::TOGETHER_NO)}</span></h3>
                {list(obstacles.iter().map(|obstacle| speaker.obstacle(obstacle)).collect())}
            </div>
        }
        .into_any(),
    }
}

/// All pairs. A cell shows the pair.
fn matrix(app: App, module: RwSignal<Option<String>>, monitor: RwSignal<Option<String>>) -> AnyView {
    let equipment = &app.content.equipment;
    let head =
        equipment.monitors.iter().map(|m| view! { <th scope="col"><span>{m.model.clone()}</span></th> }).collect_view();
    let rows = equipment
        .modules
        .iter()
        .map(|row| {
            let cells = equipment
                .monitors
                .iter()
                .map(|column| {
                    let goes = ways(row, column, equipment.shelf()).iter().any(|reached| reached.ways.is_ok());
                    let (mark, word) = if goes { (Icon::Holds, w::TOGETHER_YES) } else { (Icon::Fails, w::TOGETHER_NO) };
                    let (row_key, column_key) = (row.key.clone(), column.key.clone());
                    let is_chosen = {
                        let (row_key, column_key) = (row_key.clone(), column_key.clone());
                        move || {
                            module.with(|key| key.as_ref() == Some(&row_key))
                                && monitor.with(|key| key.as_ref() == Some(&column_key))
                        }
                    };
                    let label = format!("{}, {}: {}", row.model, column.model, app.word(word));
                    view! {
                        <td>
                            <button type="button" class="duo" class:duo-open=goes aria-pressed=move || is_chosen().to_string()
                                aria-label=label on:click=move |_| {
                                    module.set(Some(row_key.clone()));
                                    monitor.set(Some(column_key.clone()));
                                    request_animation_frame(|| page::show_first(".together-found"));
                                }>{icon(mark)}</button>
                        </td>
                    }
                })
                .collect_view();
            view! { <tr><th scope="row">{row.model.clone()}</th>{cells}</tr> }
        })
        .collect_view();
    view! {
        <div class="pairs-frame" tabindex="0" role="region" aria-label=app.word(w::TOGETHER_ALL)>
            <table class="pairs">
                <caption>{app.word(w::TOGETHER_ALL)}</caption>
                <thead><tr><td></td>{head}</tr></thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
    }
    .into_any()
}
