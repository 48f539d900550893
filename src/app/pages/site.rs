//! The site: one question a page, and the summary with its way back to each.

use crate::app::frame::{App, app};
use crate::app::pages::entries::{once_with_job, part_of, with_job};
use crate::app::pages::jobs::name_of;
use crate::app::parts::choice::{Boxes, Choice, Row};
use crate::app::parts::field::{NumberField, no_error};
use crate::app::parts::head::Head;
use crate::app::parts::strip::BusStrip;
use crate::app::screen::{Screen, SitePart};
use crate::content::format;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::entry::{self, Entry};
use crate::core::job::Job;
use crate::core::job::strip::{Lit, draw};
use crate::core::site::figures::{LeadUse, PortFigures, PortUse};
use crate::core::site::{Draft, End};
use crate::core::units::{Figure, Kind};
use leptos::prelude::*;

fn title_of(part: SitePart) -> w::Word {
    match part {
        SitePart::Name => w::SITE_PART_NAME,
        SitePart::Modules => w::SITE_PART_MODULES,
        SitePart::Monitor => w::SITE_PART_MONITOR,
        SitePart::Leads => w::SITE_PART_LEADS,
        SitePart::Terminators => w::SITE_PART_TERMINATORS,
        SitePart::Chargers => w::SITE_PART_CHARGERS,
    }
}

#[component]
pub fn SiteSummary(id: String) -> impl IntoView {
    let app = app();
    with_job(id, move |job| {
        let site = job.site.site();
        let strip = site.as_ref().ok().map(|site| {
            view! { <div class="plate"><BusStrip strip=draw(site, Lit::Everything, None)/></div> }
        });
        let rows = SitePart::ALL
            .into_iter()
            .map(|part| {
                let lines = lines(app, &job.site, part);
                let lines = if lines.is_empty() { vec![app.word(w::SITE_NOT_SAID).to_string()] } else { lines };
                view! {
                    <li>
                        <a class="job-row" href=Screen::SitePart(job.id.clone(), part).to_string()>
                            <span class="row-words">
                                <span class="row-over">{app.word(title_of(part))}</span>
                                {lines.into_iter().map(|line| view! { <span class="row-line">{line}</span> }).collect_view()}
                            </span>
                            <span class="change">{app.word(w::SITE_CHANGE)}</span>
                        </a>
                    </li>
                }
            })
            .collect_view();
        let missing = site.as_ref().err().map(|problems| {
            let items =
                problems.iter().map(|problem| view! { <li>{app.speaker().problem(*problem)}</li> }).collect_view();
            view! { <section class="missing"><h2>{app.word(w::SITE_STILL)}</h2><ul>{items}</ul></section> }
        });
        let done = site.is_ok().then(|| {
            view! {
                <div class="foot">
                    <a class="primary" href=Screen::Job(job.id.clone()).to_string()>{app.word(w::SITE_DONE)}</a>
                </div>
            }
        });
        view! {
            <div class="page">
                <Head title=app.word(w::SITE_SUMMARY) back=name_of(app, &job)/>
                {strip}
                {missing}
                <ul class="rows">{rows}</ul>
                {done}
            </div>
        }
        .into_any()
    })
}

/// What was said of a part, in lines.
fn lines(app: App, site: &Draft, part: SitePart) -> Vec<String> {
    let speaker = app.speaker();
    let length = |length: Option<crate::core::units::Metres>| {
        length.map_or_else(|| app.word(w::SITE_NOT_SAID).to_string(), |length| speaker.figure(length))
    };
    match part {
        SitePart::Name => Some(site.name.trim().to_string()).filter(|name| !name.is_empty()).into_iter().collect(),
        SitePart::Modules => {
            let mut lines: Vec<String> =
                site.module.iter().map(|module| format!("{}, {}", module.model, module.maker)).collect();
            if let (Some(series), Some(parallel)) = (site.series, site.parallel) {
                let word = if series > 1 { w::SITE_ARRANGEMENT_SERIES } else { w::SITE_ARRANGEMENT_PARALLEL };
                lines.push(speaker.fill(word, &[("series", series.into()), ("parallel", parallel.into())]));
            }
            lines
        }
        SitePart::Monitor => {
            let mut lines: Vec<String> =
                site.monitor.iter().map(|monitor| format!("{}, {}", monitor.model, monitor.maker)).collect();
            lines.extend(site.chosen_port().map(|port| port_line(app, port)));
            lines
        }
        SitePart::Leads => {
            let mut lines = Vec::new();
            if site.modules().is_some_and(|count| count > 1)
                && let Some(lead) = &site.link_lead
            {
                lines.push(format!("{}, {}", speaker.lead(lead), length(site.link_length)));
            }
            if let Some(lead) = &site.bus_lead {
                lines.push(format!("{}, {}", speaker.lead(lead), length(site.bus_length)));
            }
            lines.extend(site.adapter.iter().map(|adapter| speaker.lead(adapter)));
            lines
        }
        SitePart::Terminators => [End::Bank, End::Monitor]
            .into_iter()
            .filter_map(|end| {
                let said = match end {
                    End::Bank => site.terminated_at_bank,
                    End::Monitor => site.terminated_at_monitor,
                };
                let word = if site.built_in_terminator(end) {
                    w::RECORD_TERMINATOR_INSIDE
                } else if said? {
                    w::RECORD_TERMINATOR_YES
                } else {
                    w::RECORD_TERMINATOR_NO
                };
                Some(speaker.fill(word, &[("end", end.into())]))
            })
            .collect(),
        SitePart::Chargers if site.chargers.is_empty() => vec![app.word(w::SITE_NONE).to_string()],
        SitePart::Chargers => site.chargers.iter().map(|charger| charger.name.clone()).collect(),
    }
}

fn port_line(app: App, port: &PortFigures) -> String {
    let speaker = app.speaker();
    match port.usage {
        PortUse::Dedicated => {
            let protocols: Vec<&str> =
                port.speaks.iter().map(|profile| speaker.name(&format!("protocol-{}", profile.protocol))).collect();
            let args = [("label", port.label.clone().into()), ("protocol", Arg::Name(protocols.join(", ")))];
            speaker.fill(w::SITE_PORT_DEDICATED, &args)
        }
        PortUse::Settable => speaker.fill(w::SITE_PORT_SETTABLE, &[("label", port.label.clone().into())]),
    }
}

#[component]
pub fn SiteQuestion(id: String, part: SitePart) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let next = part.next().map_or(Screen::Site(id.clone()), |part| Screen::SitePart(id.clone(), part));
        let question = match part {
            SitePart::Name => view! { <NameQuestion id=id.clone() name=job.site.name.clone()/> }.into_any(),
            SitePart::Modules => view! { <ModulesQuestion id=id.clone()/> }.into_any(),
            SitePart::Monitor => view! { <MonitorQuestion id=id.clone()/> }.into_any(),
            SitePart::Leads => view! { <LeadsQuestion id=id.clone()/> }.into_any(),
            SitePart::Terminators => view! { <TerminatorsQuestion id=id.clone()/> }.into_any(),
            SitePart::Chargers => view! { <ChargersQuestion id=id.clone()/> }.into_any(),
        };
        view! {
            <div class="page page-question">
                <Head title=app.word(title_of(part)) over=name_of(app, &job) back=app.word(w::SITE_SUMMARY)/>
                {question}
                <div class="foot"><a class="primary" href=next.to_string()>{app.word(w::SITE_NEXT)}</a></div>
            </div>
        }
        .into_any()
    })
}

#[component]
fn NameQuestion(id: String, name: String) -> impl IntoView {
    let app = app();
    view! {
        <div class="field">
            <label for="site-name">{app.word(w::SITE_NAME)}</label>
            <p class="hint" id="site-name-hint">{app.word(w::SITE_NAME_HINT)}</p>
            <div class="entry">
                <input id="site-name" type="text" autocomplete="off" aria-describedby="site-name-hint" prop:value=name
                    on:input=move |event| {
                        let text = event_target_value(&event);
                        app.store.change(&id, |job| job.site.name = text);
                    }/>
            </div>
        </div>
    }
}

/// A number of the site: the text is kept as typed; the value counts as soon as it can be read.
#[component]
fn SiteNumber(
    id: String,
    field: &'static str,
    label: w::Word,
    #[prop(optional)] hint: Option<w::Word>,
    kind: Kind,
    read: fn(&Draft) -> Option<f64>,
    write: fn(&mut Draft, Option<Figure>),
) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let text = part_of(&id, move |job: &Job| {
        let kept = job.pending.get(field).cloned();
        kept.or_else(|| read(&job.site).map(|value| format::number(value, 3, app.speaker().style))).unwrap_or_default()
    });
    let error = Signal::derive(move || {
        let text = text.get();
        if text.trim().is_empty() {
            return None;
        }
        match entry::read(&text, kind) {
            Ok(Entry::Figure(_)) => None,
            Ok(Entry::BeyondRange) => Some(app.word(w::ENTRY_NOT_A_NUMBER).to_string()),
            Err(why) => Some(speaker.unreadable(&why)),
        }
    });
    view! {
        <NumberField
            id=field
            label=app.word(label)
            hint=hint.map(|hint| app.word(hint).to_string()).unwrap_or_default()
            unit=kind.symbol()
            whole=kind == Kind::Count
            text
            error
            on_text=move |typed: String| {
                let figure = match entry::read(&typed, kind) {
                    Ok(Entry::Figure(shown)) => Some(shown.figure),
                    _ => None,
                };
                app.store.change(&id, |job| {
                    job.pending.insert(field.into(), typed);
                    write(&mut job.site, figure);
                });
            }
        />
    }
}

#[component]
fn ModulesQuestion(id: String) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let rows = app
        .content
        .equipment
        .modules
        .iter()
        .map(|module| {
            let about = format!(
                "{}: {}, {}, {}",
                module.maker,
                speaker.figure(module.nominal),
                speaker.figure(module.capacity),
                speaker.name(&format!("connector-{}", module.data.connector))
            );
            Row::new(module.key.clone(), module.model.clone(), about)
        })
        .collect();
    let chosen = part_of(&id, |job: &Job| job.site.module.as_ref().map(|module| module.key.clone()));
    let choose = {
        let id = id.clone();
        move |key: String| {
            app.store.change(&id, |job| {
                job.site.module = app.content.equipment.module(&key).cloned();
                app.content.equipment.suit(&mut job.site);
            });
        }
    };
    view! {
        <Choice name="module" legend=app.word(w::SITE_MODULE) hint=app.word(w::SITE_INVENTED) rows chosen error=no_error() on_choose=choose/>
        <SiteNumber id=id.clone() field="parallel" label=w::SITE_PARALLEL kind=Kind::Count
            read=|site| site.parallel.map(f64::from) write=|site, figure| site.parallel = whole(figure)/>
        <SiteNumber id field="series" label=w::SITE_SERIES hint=w::SITE_SERIES_HINT kind=Kind::Count
            read=|site| site.series.map(f64::from) write=|site, figure| site.series = whole(figure)/>
    }
}

/// A count, from a figure that is whole by its kind.
fn whole(figure: Option<Figure>) -> Option<u32> {
    figure.map(|figure| figure.value() as u32)
}

#[component]
fn MonitorQuestion(id: String) -> impl IntoView {
    let app = app();
    let rows = app
        .content
        .equipment
        .monitors
        .iter()
        .map(|monitor| {
            let ports: Vec<&str> = monitor.ports.iter().map(|port| port.label.as_str()).collect();
            Row::new(monitor.key.clone(), monitor.model.clone(), format!("{}: {}", monitor.maker, ports.join(", ")))
        })
        .collect();
    let chosen = part_of(&id, |job: &Job| job.site.monitor.as_ref().map(|monitor| monitor.key.clone()));
    let choose = {
        let id = id.clone();
        move |key: String| {
            app.store.change(&id, |job| {
                job.site.monitor = app.content.equipment.monitor(&key).cloned();
                app.content.equipment.suit(&mut job.site);
            });
        }
    };
    let ports = {
        let id = id.clone();
        move || {
            let monitor = chosen.get().and_then(|key| app.content.equipment.monitor(&key))?;
            let rows = monitor
                .ports
                .iter()
                .map(|port| {
                    let connector = app.speaker().name(&format!("connector-{}", port.connector));
                    Row::new(port.key.clone(), port_line(app, port), connector)
                })
                .collect::<Vec<_>>();
            let chosen = part_of(&id, |job: &Job| job.site.port.clone());
            let id = id.clone();
            Some(view! {
                <Choice name="port" legend=app.word(w::SITE_PORT) rows chosen error=no_error() on_choose=move |key: String| {
                    app.store.change(&id, |job| {
                        job.site.port = Some(key);
                        app.content.equipment.suit(&mut job.site);
                    });
                }/>
            })
        }
    };
    view! {
        <Choice name="monitor" legend=app.word(w::SITE_MONITOR) rows chosen error=no_error() on_choose=choose/>
        {ports}
    }
}

#[component]
fn LeadsQuestion(id: String) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let rows = |usage: LeadUse| {
        app.content
            .equipment
            .leads
            .iter()
            .filter(|lead| lead.usage == usage)
            .map(|lead| {
                let lengths: Vec<String> = lead.lengths.iter().map(|length| speaker.figure(*length)).collect();
                Row::new(lead.key.clone(), speaker.lead(lead), lengths.join(", "))
            })
            .collect::<Vec<_>>()
    };
    let (link_rows, bus_rows) = (rows(LeadUse::Link), rows(LeadUse::Bus));
    let several = part_of(&id, |job: &Job| job.site.modules().is_none_or(|count| count > 1));
    let link_id = id.clone();
    let links = move || {
        several.get().then(|| {
            let chosen = part_of(&link_id, |job: &Job| job.site.link_lead.as_ref().map(|lead| lead.key.clone()));
            let id = link_id.clone();
            view! {
                <Choice name="link-lead" legend=app.word(w::SITE_LINK_LEAD) rows=link_rows.clone() chosen error=no_error()
                    on_choose=move |key: String| {
                        app.store.change(&id, |job| job.site.link_lead = app.content.equipment.lead(&key).cloned());
                    }/>
                <SiteNumber id=link_id.clone() field="link-length" label=w::SITE_LINK_LENGTH kind=Kind::Metres
                    read=|site| site.link_length.map(f64::from)
                    write=|site, figure| site.link_length = figure.and_then(Figure::as_quantity)/>
            }
        })
    };
    let chosen = part_of(&id, |job: &Job| job.site.bus_lead.as_ref().map(|lead| lead.key.clone()));
    let choose = {
        let id = id.clone();
        move |key: String| {
            app.store.change(&id, |job| {
                job.site.bus_lead = app.content.equipment.lead(&key).cloned();
                app.content.equipment.suit_adapter(&mut job.site);
            });
        }
    };
    view! {
        {links}
        <Choice name="bus-lead" legend=app.word(w::SITE_BUS_LEAD) rows=bus_rows chosen error=no_error() on_choose=choose/>
        <SiteNumber id field="bus-length" label=w::SITE_BUS_LENGTH kind=Kind::Metres
            read=|site| site.bus_length.map(f64::from)
            write=|site, figure| site.bus_length = figure.and_then(Figure::as_quantity)/>
    }
}

#[component]
fn TerminatorsQuestion(id: String) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let end_question = |end: End| {
        let (name, word) = match end {
            End::Bank => ("at-bank", w::SITE_AT_BANK),
            End::Monitor => ("at-monitor", w::SITE_AT_MONITOR),
        };
        let built_in = part_of(&id, move |job: &Job| job.site.built_in_terminator(end));
        let chosen = part_of(&id, move |job: &Job| {
            let said = match end {
                End::Bank => job.site.terminated_at_bank,
                End::Monitor => job.site.terminated_at_monitor,
            };
            said.map(|said| if said { "yes" } else { "no" }.to_string())
        });
        let id = id.clone();
        move || {
            if built_in.get() {
                let text = speaker.fill(w::PARTS_BUILT_IN, &[("end", end.into())]);
                return view! { <p class="hint">{text}</p> }.into_any();
            }
            let id = id.clone();
            let rows = vec![Row::new("yes", app.word(w::SITE_YES), ""), Row::new("no", app.word(w::SITE_NO), "")];
            view! {
                <Choice name legend=app.word(word) rows chosen error=no_error() on_choose=move |key: String| {
                    let said = Some(key == "yes");
                    app.store.change(&id, |job| match end {
                        End::Bank => job.site.terminated_at_bank = said,
                        End::Monitor => job.site.terminated_at_monitor = said,
                    });
                }/>
            }
            .into_any()
        }
    };
    let rows = app
        .content
        .equipment
        .terminators
        .iter()
        .map(|terminator| {
            let about = format!("{}, ±{}", speaker.figure(terminator.resistance), speaker.figure(terminator.tolerance));
            Row::new(terminator.key.clone(), speaker.terminator(terminator), about)
        })
        .collect();
    let chosen = part_of(&id, |job: &Job| job.site.terminator.as_ref().map(|terminator| terminator.key.clone()));
    let choose = {
        let id = id.clone();
        move |key: String| {
            app.store.change(&id, |job| job.site.terminator = app.content.equipment.terminator(&key).cloned());
        }
    };
    view! {
        {end_question(End::Bank)}
        {end_question(End::Monitor)}
        <Choice name="terminator" legend=app.word(w::SITE_TERMINATOR) rows chosen error=no_error() on_choose=choose/>
    }
}

#[component]
fn ChargersQuestion(id: String) -> impl IntoView {
    let app = app();
    let speaker = app.speaker();
    let rows = app
        .content
        .equipment
        .chargers
        .iter()
        .map(|charger| {
            let listens = if charger.steered { w::SITE_STEERED } else { w::SITE_NOT_STEERED };
            let about = format!("{}, {}", speaker.figure(charger.current), app.word(listens));
            Row::new(charger.key.clone(), charger.name.clone(), about)
        })
        .collect();
    let chosen = part_of(&id, |job: &Job| -> Vec<String> {
        job.site.chargers.iter().map(|charger| charger.key.clone()).collect()
    });
    view! {
        <Boxes name="chargers" legend=app.word(w::SITE_CHARGERS) hint=app.word(w::SITE_CHARGERS_HINT) rows chosen
            on_toggle=move |key: String, on: bool| {
                app.store.change(&id, |job| {
                    job.site.chargers.retain(|charger| charger.key != key);
                    if let (true, Some(charger)) = (on, app.content.equipment.charger(&key)) {
                        job.site.chargers.push(charger.clone());
                    }
                });
            }/>
    }
}
