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

/// Draws a screen.
pub fn draw(screen: &Screen) -> AnyView {
    match screen.clone() {
        Screen::Home => view! { <home::Home/> }.into_any(),
        Screen::Jobs => view! { <jobs::Jobs/> }.into_any(),
        Screen::Job(id) => view! { <job::JobPage id/> }.into_any(),
        Screen::Site(id) => view! { <site::SiteSummary id/> }.into_any(),
        Screen::SitePart(id, part) => view! { <site::SiteQuestion id part/> }.into_any(),
        Screen::Card(id, key) => view! { <card::CardPage id key/> }.into_any(),
        Screen::JobBank(id) => view! { <bank::JobBank id/> }.into_any(),
        Screen::JobPower(id) => view! { <power::JobPower id/> }.into_any(),
        Screen::JobPowerPage(id, page) => view! { <power::JobPowerPage id page/> }.into_any(),
        Screen::MeasurePower(page) => view! { <power::MeasurePower page/> }.into_any(),
        Screen::Record(id) => view! { <record::Record id/> }.into_any(),
        Screen::Notes(id) => view! { <notes::Notes id/> }.into_any(),
        Screen::Share(id) => view! { <share::Share id/> }.into_any(),
        Screen::ShareList(id, key) => view! { <share::ShareList id key/> }.into_any(),
        Screen::TakeIn => view! { <arrive::TakeIn/> }.into_any(),
        Screen::Arrived(payload) => view! { <arrive::Arrived payload/> }.into_any(),
        Screen::Overview(id) => view! { <overview::OverviewPage id/> }.into_any(),
        Screen::Lists(id) => view! { <lists::Lists id/> }.into_any(),
        Screen::List(id, key) => view! { <lists::ListPage id key/> }.into_any(),
        Screen::ListEdit(id, key) => view! { <lists::ListEdit id key/> }.into_any(),
        Screen::Find => view! { <find::Find/> }.into_any(),
        Screen::JobFind(id) => view! { <find::JobFind id/> }.into_any(),
        Screen::JobProfile(id) => view! { <measure::JobProfile id/> }.into_any(),
        Screen::Trace(id) => view! { <trace::JobTrace id/> }.into_any(),
        Screen::Measure => view! { <measure::Measure/> }.into_any(),
        Screen::MeasureOhms => view! { <measure::MeasureOhms/> }.into_any(),
        Screen::MeasureVolts => view! { <measure::MeasureVolts/> }.into_any(),
        Screen::MeasureLength => view! { <measure::MeasureLength/> }.into_any(),
        Screen::MeasureProfile => view! { <measure::MeasureProfile/> }.into_any(),
        Screen::MeasureRs485 => view! { <measure::MeasureRs485/> }.into_any(),
        Screen::MeasureTogether => view! { <measure::MeasureTogether/> }.into_any(),
        Screen::MeasurePins => view! { <measure::MeasurePins/> }.into_any(),
        Screen::MeasureCapture => view! { <capture::Capture/> }.into_any(),
        Screen::BankNumbers => view! { <bank::BankNumbers/> }.into_any(),
        Screen::BankRest => view! { <bank::BankRest/> }.into_any(),
        Screen::BankJoin => view! { <bank::BankJoin/> }.into_any(),
        Screen::BankSharing => view! { <bank::BankSharing/> }.into_any(),
        Screen::Alarms => view! { <alarms::Alarms/> }.into_any(),
        Screen::Alarm(key) => view! { <alarms::AlarmPage key/> }.into_any(),
        Screen::Read => view! { <read::Read/> }.into_any(),
        Screen::Guide(key) => view! { <read::GuidePage key/> }.into_any(),
        Screen::Keeping => view! { <keeping::Keeping/> }.into_any(),
        Screen::Packs => view! { <packs::Packs/> }.into_any(),
        Screen::PackArrived(payload) => view! { <packs::Packs payload/> }.into_any(),
        Screen::Workbench => view! { <workbench::Workbench/> }.into_any(),
        Screen::Photos(id) => view! { <photos::Photos id/> }.into_any(),
        Screen::About => view! { <about::About/> }.into_any(),
        Screen::Licences => view! { <licences::LicencesPage/> }.into_any(),
        Screen::Parts => view! { <parts::Parts/> }.into_any(),
        Screen::Unknown => view! { <read::Nowhere/> }.into_any(),
    }
}
