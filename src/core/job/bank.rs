//! The bank of a job, module by module: the site's arrangement and plate, what the modules say, and what the display shows.
//!
//! The same sums as without a job ([`crate::core::bank::findings`]). Where the modules tell a figure that a check of the
//! job asks for, the check is judged by the modules and no longer by the site alone.

use crate::core::bank::findings::Held;
use crate::core::bank::shown::{Shown, What};
use crate::core::bank::table::Table;
use crate::core::job::assess::{Finding, figure_of};
use crate::core::job::check::Check;
use crate::core::job::{Observation, Subject, latest};
use crate::core::judged::Judged;
use crate::core::remember::Last;
use crate::core::site::Site;
use std::cell::RefCell;

/// The check that asks for a shown figure.
pub fn check_of(what: What) -> Option<Check> {
    match what {
        What::Modules => Some(Check::ShownModules),
        What::Capacity => Some(Check::ShownCapacity),
        What::Soc => Some(Check::ShownSoc),
        What::ChargeHeld => Some(Check::ShownCharge),
        What::Voltage => Some(Check::ShownVoltage),
        _ => None,
    }
}

/// What the display shows: the job's readings, and what else was typed.
fn shown_of(observations: &[Observation], table: &Table) -> Shown {
    let mut shown = Shown::default();
    let typed = table.display();
    for what in What::ALL {
        let figure = match check_of(what) {
            Some(check) => figure_of(latest(observations, &Subject::Check(check))),
            None => typed.get(what),
        };
        if let Some(figure) = figure {
            // A reading of another kind than its check asks for is none.
            let _ = shown.set(what, figure);
        }
    }
    shown
}

/// The bank held against its display, and whether all its modules have the capacity that the site tells of: only plates of
/// their own change the sum. None where the figures lie beyond what a bank can be.
type Summed = Option<(Held, bool)>;

thread_local! {
    /// Most keys change nothing of the bank.
    static SUMMED: RefCell<Last<(Site, Table, Shown), Summed>> = const { RefCell::new(Last::NOTHING) };
}

/// What is not remembered is worked out, and remembered where it is asked for: not for a hand that types the bank's own figures,
/// whose every key makes another bank.
fn summed(site: &Site, observations: &[Observation], table: &Table, remember: bool) -> Summed {
    let shown = shown_of(observations, table);
    let is_same = |(of, texts, figures): &(Site, Table, Shown)| texts == table && *figures == shown && of == site;
    if let Some(known) = SUMMED.with_borrow(|last| last.get(is_same)) {
        return known;
    }
    let sum = || {
        let bank = table.bank(Some(site))?.ok()?;
        let alike = bank.modules().all(|(_, module)| module.capacity == Some(site.module.capacity));
        Some((Held::of(&bank, &shown, &table.asks(Some(site))).ok()?, alike))
    };
    let summed = sum();
    if remember {
        SUMMED.with_borrow_mut(|last| last.put((site.clone(), table.clone(), shown), summed.clone()));
    }
    summed
}

/// Holds the display against the bank, and lets the modules speak in the checks. None where the modules' figures lie
/// beyond what a bank can be.
pub fn held(site: &Site, observations: &[Observation], table: &Table, findings: &mut [Finding]) -> Option<Held> {
    Some(let_speak(summed(site, observations, table, true)?, findings))
}

/// [`held`] on the bank's own page; `findings` are those of the display.
pub(super) fn held_anew(
    site: &Site,
    observations: &[Observation],
    table: &Table,
    findings: &mut [Finding],
) -> Option<Held> {
    Some(let_speak(summed(site, observations, table, false)?, findings))
}

fn let_speak((mut held, alike): (Held, bool), findings: &mut [Finding]) -> Held {
    for found in &mut held.display.findings {
        let check = check_of(found.what);
        let Some(finding) = findings.iter_mut().find(|finding| Some(finding.check) == check) else { continue };
        let told = match found.what {
            What::Soc | What::ChargeHeld | What::Voltage => found.by_modules,
            What::Capacity => !alike,
            _ => false,
        };
        if told {
            finding.take(found.judged.clone());
        } else {
            found.judged = finding.judged();
        }
    }
    held
}

/// What is judged and no check asks for.
pub fn beside(held: &Held) -> impl Iterator<Item = &Judged> {
    let shown = held.display.findings.iter().filter(|finding| check_of(finding.what).is_none());
    shown.map(|finding| &finding.judged).chain(&held.asks)
}
