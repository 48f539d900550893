//! The bank's numbers: what is installed, what the modules say, what the bank must show, and the display against it.

use super::modules::{Card, CardFields, Cards};
use super::parts::{Segments, at_least_one};
use super::result::{DisplayCheck, Totals};
use super::typed::{Typed, TypedField};
use crate::app::device::page;
use crate::app::frame::app;
use crate::app::parts::head::Head;
use crate::content::words as w;
use crate::core::bank::findings::numbers::{Plate, Series, bank_of, of_alike};
use crate::core::bank::modules::{Bank, BankError, SocBasis};
use crate::core::site::{MOST_MODULES, Problem};
use crate::core::units::Kind;
use leptos::prelude::*;

#[component]
pub fn BankNumbers() -> impl IntoView {
    let app = app();
    let parallel = Typed::new(Kind::Count).rule(at_least_one);
    let series = Typed::new(Kind::Count).rule(at_least_one).filled("1");
    let capacity = Typed::new(Kind::AmpereHours);
    let nominal = Typed::new(Kind::Volts);
    let soh = Typed::new(Kind::Percent);
    let charge_limit = Typed::new(Kind::Amperes).rule(|value| (value < 0.0).then_some(w::ENTRY_BELOW_ZERO));
    let discharge_limit = Typed::new(Kind::Amperes).rule(|value| (value < 0.0).then_some(w::ENTRY_BELOW_ZERO));
    let (charge_voltage, discharge_voltage) = (Typed::new(Kind::Volts), Typed::new(Kind::Volts));
    let basis = RwSignal::new("present");
    let way = RwSignal::new("alike");
    let alike = Card::empty();
    let cards: Vec<Card> = (0..MOST_MODULES).map(|_| Card::empty()).collect();
    let cards = StoredValue::new(cards);

    let said_how = move || Some(Series { series: series.count()?, parallel: parallel.count()? });
    let how = Memo::new(move |_| said_how().filter(|how| how.series.saturating_mul(how.parallel) <= MOST_MODULES));
    let bank = Memo::new(move |_| -> Option<Result<Bank, BankError>> {
        let plate = Plate {
            capacity: capacity.quantity(),
            nominal: nominal.quantity(),
            soh: soh.quantity(),
            charge_limit: charge_limit.quantity(),
            discharge_limit: discharge_limit.quantity(),
            charge_voltage_limit: charge_voltage.quantity(),
            discharge_voltage_limit: discharge_voltage.quantity(),
            soc_basis: if basis.get() == "nameplate" { SocBasis::Nameplate } else { SocBasis::Present },
        };
        let how = said_how()?;
        Some(if way.get() == "alike" {
            of_alike(how, &plate, alike.said())
        } else {
            let said: Vec<_> = cards.with_value(|cards| cards.iter().map(|card| card.said()).collect());
            bank_of(how, &plate, &said)
        })
    });
    let too_many = move || {
        let over = matches!(bank.get(), Some(Err(BankError::TooManyModules { .. })));
        over.then(|| view! { <p class="error" role="alert">{app.speaker().problem(Problem::TooManyModules)}</p> })
    };
    let bases = vec![
        ("present", app.word(w::BANK_PLATE_BASIS_PRESENT), app.word(w::BANK_PLATE_BASIS_PRESENT_ABOUT)),
        ("nameplate", app.word(w::BANK_PLATE_BASIS_NAMEPLATE), app.word(w::BANK_PLATE_BASIS_NAMEPLATE_ABOUT)),
    ];
    let ways = vec![
        ("alike", app.word(w::BANK_MODULE_ALIKE), app.word(w::BANK_MODULE_ALIKE_ABOUT)),
        ("singly", app.word(w::BANK_MODULE_SINGLY), app.word(w::BANK_MODULE_SINGLY_ABOUT)),
    ];
    view! {
        <div class="page page-bank">
            <Head title=app.word(w::BANK_NUMBERS)/>
            <p class="lead">{app.word(w::BANK_NUMBERS_LEAD)}</p>
            <h2>{app.word(w::BANK_PLATE_TITLE)}</h2>
            <TypedField id="parallel" label=app.word(w::BANK_PLATE_PARALLEL) typed=parallel/>
            <TypedField id="series" label=app.word(w::BANK_PLATE_SERIES) hint=app.word(w::SITE_SERIES_HINT) typed=series/>
            {too_many}
            <h2>{app.word(w::BANK_PLATE_EACH)}</h2>
            <div class="pair">
                <TypedField id="capacity" label=app.word(w::BANK_PLATE_CAPACITY) typed=capacity/>
                <TypedField id="nominal" label=app.word(w::BANK_PLATE_NOMINAL) typed=nominal/>
            </div>
            <TypedField id="soh" label=app.word(w::BANK_PLATE_SOH) hint=app.word(w::BANK_PLATE_SOH_HINT) typed=soh/>
            <details class="rests more-fields">
                <summary>{app.word(w::BANK_PLATE_LIMITS)}</summary>
                <TypedField id="charge-limit" label=app.word(w::BANK_PLATE_CHARGE_LIMIT) typed=charge_limit/>
                <TypedField id="discharge-limit" label=app.word(w::BANK_PLATE_DISCHARGE_LIMIT) typed=discharge_limit/>
                <TypedField id="charge-voltage" label=app.word(w::BANK_PLATE_CHARGE_VOLTAGE) typed=charge_voltage/>
                <TypedField id="discharge-voltage" label=app.word(w::BANK_PLATE_DISCHARGE_VOLTAGE) typed=discharge_voltage/>
            </details>
            <h2>{app.word(w::BANK_MODULE_TITLE)}</h2>
            <Segments name="basis" legend=app.word(w::BANK_PLATE_BASIS) options=bases chosen=basis/>
            <Segments name="way" legend=app.word(w::BANK_MODULE_ALL) options=ways chosen=way/>
            {move || match way.get() {
                "alike" => view! { <CardFields card=alike id="all"/> }.into_any(),
                _ => view! { <Cards cards how/> }.into_any(),
            }}
            <Totals bank/>
            <DisplayCheck bank/>
            <div class="foot">
                <button type="button" class="primary" on:click=move |_| page::show_first("#bank-result")>
                    {app.word(w::BANK_RESULT_SEE)}
                </button>
            </div>
        </div>
    }
}
