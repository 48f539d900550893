//! The pages, one file each. A page computes nothing: it draws what core and content say.

mod about;
mod alarms;
mod arrive;
mod bank;
mod capture;
mod card;
mod entries;
mod find;
mod home;
mod job;
mod jobs;
mod keeping;
mod licences;
mod lists;
mod measure;
mod notes;
mod overview;
mod packs;
mod parts;
mod photos;
mod power;
mod read;
mod record;
mod share;
mod site;
mod trace;
mod workbench;

use crate::app::screen::Screen;
use leptos::prelude::*;

/// Draws one page in a function of its own. In one piece with the others it would have to be on the phone before the
/// first of them can be shown: `tools/parts.mjs` divides the app by functions.
#[inline(never)]
fn drawn<V: IntoView + 'static>(page: impl FnOnce() -> V) -> AnyView {
    page().into_any()
}

/// Draws a screen.
pub fn draw(screen: &Screen) -> AnyView {
    match screen.clone() {
        Screen::Home => drawn(move || view! { <home::Home/> }),
        Screen::Jobs => drawn(move || view! { <jobs::Jobs/> }),
        Screen::Job(id) => drawn(move || view! { <job::JobPage id/> }),
        Screen::Site(id) => drawn(move || view! { <site::SiteSummary id/> }),
        Screen::SitePart(id, part) => drawn(move || view! { <site::SiteQuestion id part/> }),
        Screen::Card(id, key) => drawn(move || view! { <card::CardPage id key/> }),
        Screen::JobBank(id) => drawn(move || view! { <bank::JobBank id/> }),
        Screen::JobPower(id) => drawn(move || view! { <power::JobPower id/> }),
        Screen::JobPowerPage(id, page) => drawn(move || view! { <power::JobPowerPage id page/> }),
        Screen::MeasurePower(page) => drawn(move || view! { <power::MeasurePower page/> }),
        Screen::Record(id) => drawn(move || view! { <record::Record id/> }),
        Screen::Notes(id) => drawn(move || view! { <notes::Notes id/> }),
        Screen::Share(id) => drawn(move || view! { <share::Share id/> }),
        Screen::ShareList(id, key) => drawn(move || view! { <share::ShareList id key/> }),
        Screen::TakeIn => drawn(move || view! { <arrive::TakeIn/> }),
        Screen::Arrived(payload) => drawn(move || view! { <arrive::Arrived payload/> }),
        Screen::Overview(id) => drawn(move || view! { <overview::OverviewPage id/> }),
        Screen::Lists(id) => drawn(move || view! { <lists::Lists id/> }),
        Screen::List(id, key) => drawn(move || view! { <lists::ListPage id key/> }),
        Screen::ListEdit(id, key) => drawn(move || view! { <lists::ListEdit id key/> }),
        Screen::Find => drawn(move || view! { <find::Find/> }),
        Screen::JobFind(id) => drawn(move || view! { <find::JobFind id/> }),
        Screen::JobProfile(id) => drawn(move || view! { <measure::JobProfile id/> }),
        Screen::Trace(id) => drawn(move || view! { <trace::JobTrace id/> }),
        Screen::Measure => drawn(move || view! { <measure::Measure/> }),
        Screen::MeasureOhms => drawn(move || view! { <measure::MeasureOhms/> }),
        Screen::MeasureVolts => drawn(move || view! { <measure::MeasureVolts/> }),
        Screen::MeasureLength => drawn(move || view! { <measure::MeasureLength/> }),
        Screen::MeasureProfile => drawn(move || view! { <measure::MeasureProfile/> }),
        Screen::MeasureRs485 => drawn(move || view! { <measure::MeasureRs485/> }),
        Screen::MeasureTogether => drawn(move || view! { <measure::MeasureTogether/> }),
        Screen::MeasurePins => drawn(move || view! { <measure::MeasurePins/> }),
        Screen::MeasureCapture => drawn(move || view! { <capture::Capture/> }),
        Screen::BankNumbers => drawn(move || view! { <bank::BankNumbers/> }),
        Screen::BankRest => drawn(move || view! { <bank::BankRest/> }),
        Screen::BankJoin => drawn(move || view! { <bank::BankJoin/> }),
        Screen::BankSharing => drawn(move || view! { <bank::BankSharing/> }),
        Screen::Alarms => drawn(move || view! { <alarms::Alarms/> }),
        Screen::Alarm(key) => drawn(move || view! { <alarms::AlarmPage key/> }),
        Screen::Read => drawn(move || view! { <read::Read/> }),
        Screen::Guide(key) => drawn(move || view! { <read::GuidePage key/> }),
        Screen::Keeping => drawn(move || view! { <keeping::Keeping/> }),
        Screen::Packs => drawn(move || view! { <packs::Packs/> }),
        Screen::PackArrived(payload) => drawn(move || view! { <packs::Packs payload/> }),
        Screen::Workbench => drawn(move || view! { <workbench::Workbench/> }),
        Screen::Photos(id) => drawn(move || view! { <photos::Photos id/> }),
        Screen::About => drawn(move || view! { <about::About/> }),
        Screen::Licences => drawn(move || view! { <licences::LicencesPage/> }),
        Screen::Parts => drawn(move || view! { <parts::Parts/> }),
        Screen::Unknown => drawn(move || view! { <read::Nowhere/> }),
    }
}
