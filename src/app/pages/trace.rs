//! A job's bus, reading by reading.

use crate::app::frame::app;
use crate::app::pages::entries::{no_site, once_with_job, part_of, site_of};
use crate::app::pages::jobs::name_of;
use crate::app::parts::head::Head;
use crate::app::parts::icon::{Icon, icon};
use crate::app::parts::trace::{Trace, Tracing};
use crate::content::words as w;
use crate::core::job::Observation;
use leptos::prelude::*;

/// The key of the text that stands in the field.
const PENDING: &str = "ohms-anywhere";

#[component]
pub fn JobTrace(id: String) -> impl IntoView {
    let app = app();
    once_with_job(&id.clone(), move |job| {
        let back = name_of(app, &job);
        if job.site.site().is_err() {
            return no_site(app, app.word(w::TRACE_TITLE), back, id);
        }
        let (to_text, to_observe) = (id.clone(), id.clone());
        let tracing = Tracing {
            site: site_of(&id),
            observations: part_of(&id, |job| job.observations.clone()),
            text: part_of(&id, |job| job.pending.get(PENDING).cloned().unwrap_or_default()),
            on_text: Callback::new(move |typed: String| {
                app.store.change(&to_text, |job| {
                    match typed.is_empty() {
                        true => job.pending.remove(PENDING),
                        false => job.pending.insert(PENDING.into(), typed),
                    };
                });
            }),
            observe: Callback::new(move |seen: Observation| {
                app.store.change(&to_observe, |job| job.see(seen));
            }),
        };
        view! {
            <div class="page">
                <Head title=app.word(w::TRACE_TITLE) back/>
                <p class="caution">{icon(Icon::Caution)}<span>{app.word(w::MEASURE_CAUTION)}</span></p>
                <Trace tracing/>
            </div>
        }
        .into_any()
    })
}
