//! What others wrote that is in the app: each package with its licence and, when it is opened, the texts.

use crate::app::device::copy;
use crate::app::frame::{App, app};
use crate::app::parts::head::Head;
use crate::content::licences::{Licences, Package};
use crate::content::words as w;
use crate::core::because::Arg;
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::sync::Arc;

/// Written by `tools/licences.mjs` when the app is built.
const FILE: &str = "licences.json";

/// The list: on its way, not to be had, or there.
#[derive(Clone)]
enum Fetched {
    Coming,
    Failed,
    There(Arc<Licences>),
}

#[component]
pub fn LicencesPage() -> impl IntoView {
    let app = app();
    let fetched = RwSignal::new(Fetched::Coming);
    spawn_local(async move {
        let list = copy::text_of(FILE).await.as_deref().and_then(Licences::read);
        fetched.try_set(list.map_or(Fetched::Failed, |list| Fetched::There(Arc::new(list))));
    });
    let list = move || match fetched.get() {
        Fetched::Coming => view! { <p class="hint">{app.word(w::LICENCES_COMING)}</p> }.into_any(),
        Fetched::Failed => view! { <p class="look-note" role="status">{app.word(w::LICENCES_FAILED)}</p> }.into_any(),
        Fetched::There(list) => draw(app, &list),
    };
    view! {
        <div class="page page-licences">
            <Head title=app.word(w::LICENCES_TITLE) back=app.word(w::ABOUT_TITLE)/>
            <p class="lead">{app.word(w::LICENCES_LEAD)}</p>
            {list}
        </div>
    }
}

fn draw(app: App, list: &Arc<Licences>) -> AnyView {
    let count = app.speaker().fill(w::LICENCES_COUNT, &[("n", Arg::Count(list.packages.len() as u32))]);
    let rows = list.packages.iter().map(|package| row(app, list.clone(), package.clone())).collect_view();
    view! {
        <p class="small">{count}</p>
        <div class="folds licences">{rows}</div>
    }
    .into_any()
}

/// A package; its texts are drawn when it is opened for the first time.
fn row(app: App, list: Arc<Licences>, package: Package) -> impl IntoView {
    let opened = RwSignal::new(false);
    let (name, version, licence) = (package.name.clone(), package.version.clone(), package.licence.clone());
    let inside = move || opened.get().then(|| inside(app, &list, &package));
    view! {
        <details class="fold" on:toggle=move |_| opened.set(true)>
            <summary>
                <span class="row-words">
                    <span class="row-title">{name}" "<span class="licence-version">{version}</span></span>
                    <span class="row-about">{licence}</span>
                </span>
            </summary>
            {inside}
        </details>
    }
}

fn inside(app: App, list: &Licences, package: &Package) -> impl IntoView + use<> {
    let by = (!package.by.is_empty())
        .then(|| app.speaker().fill(w::LICENCES_BY, &[("names", Arg::Name(package.by.clone()))]));
    let lent = package.lent.then(|| app.word(w::LICENCES_LENT));
    let texts = list.texts_of(package).into_iter();
    view! {
        {by.map(|by| view! { <p class="small">{by}</p> })}
        {lent.map(|lent| view! { <p class="small">{lent}</p> })}
        {texts.map(|text| view! { <p class="licence-text" lang="en">{text}</p> }).collect_view()}
    }
}
