//! Does the display tell the truth? Each figure it shows against what this bank must show.

use crate::core::because::Because;
use crate::core::job::Observation;
use crate::core::job::Seen;
use crate::core::job::assess::{Finding, Verdict, Window, figure_of};
use crate::core::job::check::Check;
use crate::core::site::Site;
use crate::core::units::{AmpereHours, Figure, Percent, Quantity, Volts};

/// Findings for every number that the display shows.
pub fn findings<'a>(site: &Site, seen: &dyn Fn(Check) -> Option<&'a Observation>) -> Vec<Finding> {
    let calibrated = answer(seen(Check::FirstFullCharge)) == Some("yes");
    let soc = figure_of(seen(Check::ShownSoc));
    let charge = figure_of(seen(Check::ShownCharge));
    vec![
        modules(site, seen(Check::ShownModules)),
        capacity(site, seen(Check::ShownCapacity)),
        first_full_charge(seen(Check::FirstFullCharge)),
        state_of_charge(site, soc, charge, calibrated),
        charge_held(site, soc, charge, calibrated),
        voltage(site, seen(Check::ShownVoltage)),
        direction(seen(Check::CurrentDirection)),
    ]
}

type Shown = crate::core::entry::Shown;

fn answer(seen: Option<&Observation>) -> Option<&str> {
    match &seen?.seen {
        Seen::Answer(key) => Some(key),
        _ => None,
    }
}

fn not_done(check: Check) -> Finding {
    Finding::new(check, Verdict::NotDone, Because::NotDone {})
}

fn modules(site: &Site, seen: Option<&Observation>) -> Finding {
    let Some(shown) = figure_of(seen) else { return not_done(Check::ShownModules) };
    // A count is whole and at most 10 000 by its type.
    let shown = shown.figure.value() as u32;
    let expected = site.modules();
    let (verdict, because) = match shown.cmp(&expected) {
        std::cmp::Ordering::Equal => (Verdict::Holds, Because::AnswersAll { shown }),
        std::cmp::Ordering::Less => {
            (Verdict::Fails, Because::AnswersTooFew { shown, expected, missing: expected - shown })
        }
        std::cmp::Ordering::Greater => (Verdict::Fails, Because::AnswersTooMany { shown, expected }),
    };
    let mut finding = Finding::new(Check::ShownModules, verdict, because);
    finding.sources = vec!["practice"];
    if verdict != Verdict::Holds {
        finding.next = vec![Because::FindSilentModule {}];
    }
    finding
}

/// The sum behind the nameplate capacity.
fn sum_of_capacity(site: &Site) -> Because {
    let (each, sum) = (site.module.capacity, site.capacity());
    if site.series > 1 {
        Because::SumInSeries { series: site.series, parallel: site.parallel, each, sum }
    } else {
        Because::SumInParallel { parallel: site.parallel, each, sum }
    }
}

fn capacity(site: &Site, seen: Option<&Observation>) -> Finding {
    let check = Check::ShownCapacity;
    let expected: Figure = site.capacity().into();
    let Some(shown) = figure_of(seen) else {
        let mut finding = not_done(check);
        finding.sum = vec![sum_of_capacity(site)];
        return finding;
    };
    let half = shown.digit / 2.0;
    let each: Figure = site.module.capacity.into();
    let value = shown.figure.value();
    let whole = value / each.value();
    let strings = whole.round();
    let is_whole = strings >= 1.0 && agree(value, strings * each.value(), half * strings.max(1.0));
    let (figure, count) = (shown.figure, strings as u32);
    let (verdict, because, next) = if agree(value, expected.value(), half) {
        (Verdict::Holds, Because::ShownAgrees { shown: figure, expected }, vec![])
    } else if site.series > 1 && agree(value, each.value() * f64::from(site.modules()), half) {
        (Verdict::Fails, Because::SeriesTakenForParallel { shown: figure, expected }, vec![Because::SetNameplate {}])
    } else if is_whole && count == 1 && site.parallel > 2 {
        (
            Verdict::Fails,
            Because::OneModuleOnly { shown: figure, expected },
            vec![Because::ChooseSource {}, Because::FindSilentModule {}],
        )
    } else if is_whole && count < site.parallel {
        (
            Verdict::Fails,
            Because::ModulesMissing { shown: figure, expected, missing: site.parallel - count, each },
            vec![Because::FindSilentModule {}, Because::SetNameplate {}],
        )
    } else if is_whole && count > site.parallel {
        (
            Verdict::Fails,
            Because::ModulesTooMany { shown: figure, expected, extra: count - site.parallel, each },
            vec![Because::SetNameplate {}],
        )
    } else {
        (
            Verdict::Fails,
            Because::ShownDiffers { shown: figure, expected },
            vec![Because::SetNameplate {}, Because::ChooseSource {}],
        )
    };
    let mut finding = Finding::new(check, verdict, because);
    finding.next = next;
    finding.sum = vec![sum_of_capacity(site)];
    if let Ok(error) = Figure::new(expected.kind(), half) {
        finding.sum.push(Because::RoundedWithin { error });
    }
    finding.sources = vec!["sunspec-802", "practice"];
    finding.window = rounded(expected, shown.digit);
    finding
}

fn first_full_charge(seen: Option<&Observation>) -> Finding {
    let check = Check::FirstFullCharge;
    let mut finding = match answer(seen) {
        Some("yes") => Finding::new(check, Verdict::Holds, Because::Calibrated {}),
        Some(_) => {
            let mut finding = Finding::new(check, Verdict::LookAgain, Because::NotCalibrated {});
            finding.next = vec![Because::ChargeFullOnce {}];
            finding
        }
        None => return not_done(check),
    };
    finding.sources = vec!["practice"];
    finding
}

/// What the remaining charge must be for a state of charge, and how far rounding may move it.
fn charge_from(site: &Site, soc: Shown) -> (f64, f64) {
    let capacity = site.capacity().get();
    (capacity * soc.figure.value() / 100.0, capacity * soc.digit / 200.0)
}

fn state_of_charge(site: &Site, soc: Option<Shown>, charge: Option<Shown>, calibrated: bool) -> Finding {
    let check = Check::ShownSoc;
    let Some((soc, shown)) = soc.and_then(|soc| Some((soc, soc.figure.as_quantity::<Percent>()?))) else {
        return not_done(check);
    };
    let capacity = site.capacity().get();
    let mut finding = if shown.get() > 100.0 + soc.digit / 2.0 {
        let mut finding = Finding::new(check, Verdict::Fails, Because::SocTooMuch { shown });
        finding.next = vec![Because::ChooseSource {}];
        finding
    } else if let Some(charge) = charge {
        let (expected_charge, room) = charge_from(site, soc);
        let fits = agree(charge.figure.value(), expected_charge, room + charge.digit / 2.0);
        let expected = Percent::new((charge.figure.value() / capacity * 100.0).clamp(0.0, 125.0)).unwrap_or(shown);
        let (verdict, because) = match (fits, calibrated) {
            (true, true) => (Verdict::Holds, Because::SocAgrees { shown, expected }),
            (true, false) => (Verdict::Holds, Because::SocPlausible { shown }),
            (false, true) => (Verdict::Fails, Because::SocDiffers { shown, expected }),
            (false, false) => (Verdict::LookAgain, Because::SocNotCalibrated { shown, expected }),
        };
        let mut finding = Finding::new(check, verdict, because);
        if !fits {
            finding.next = if calibrated { vec![Because::SetNameplate {}] } else { vec![Because::ChargeFullOnce {}] };
        }
        finding
    } else {
        Finding::new(check, Verdict::LookAgain, Because::SocNeedsCharge { shown })
    };
    finding.sources = vec!["sunspec-802", "rv-c", "practice"];
    finding
}

fn charge_held(site: &Site, soc: Option<Shown>, charge: Option<Shown>, calibrated: bool) -> Finding {
    let check = Check::ShownCharge;
    let read = charge.and_then(|charge| Some((charge, charge.figure.as_quantity::<AmpereHours>()?)));
    let Some((charge, shown)) = read else { return not_done(check) };
    let capacity = site.capacity();
    let half = charge.digit / 2.0;
    if shown.get() > capacity.get() + half {
        let mut finding = Finding::new(check, Verdict::Fails, Because::ChargeTooMuch { shown, capacity });
        finding.next = vec![Because::SetNameplate {}, Because::ChooseSource {}];
        finding.sum = vec![sum_of_capacity(site)];
        finding.sources = vec!["practice"];
        return finding;
    }
    let Some((soc, soc_shown)) = soc.and_then(|soc| Some((soc, soc.figure.as_quantity::<Percent>()?))) else {
        let mut finding = Finding::new(check, Verdict::LookAgain, Because::ChargeNeedsSoc {});
        finding.sources = vec!["practice"];
        return finding;
    };
    let (expected_value, room) = charge_from(site, soc);
    let error = room + half;
    let expected = AmpereHours::new(expected_value).unwrap_or(capacity);
    let softened = if calibrated { Verdict::Fails } else { Verdict::LookAgain };
    let fewer = (1..site.parallel).find(|missing| {
        let share = f64::from(site.parallel - missing) / f64::from(site.parallel);
        agree(shown.get(), expected_value * share, room * share + half)
    });
    let mut finding = if agree(shown.get(), expected_value, error) {
        Finding::new(check, Verdict::Holds, Because::ChargeAgrees { shown, soc: soc_shown, expected })
    } else if let Some(missing) = fewer {
        let mut finding = Finding::new(check, softened, Because::ChargeOfFewer { shown, soc: soc_shown, missing });
        finding.next = vec![Because::FindSilentModule {}];
        finding
    } else {
        let mut finding = Finding::new(check, softened, Because::ChargeDiffers { shown, soc: soc_shown, expected });
        finding.next = vec![if calibrated { Because::SetNameplate {} } else { Because::ChargeFullOnce {} }];
        finding
    };
    finding.sum = vec![sum_of_capacity(site), Because::ChargeFromSoc { soc: soc_shown, capacity, sum: expected }];
    if let Ok(error) = AmpereHours::new(error) {
        finding.sum.push(Because::RoundedWithin { error: error.into() });
    }
    finding.sources = vec!["rv-c", "practice"];
    finding.window = AmpereHours::new((expected_value - error).max(0.0))
        .ok()
        .zip(AmpereHours::new(expected_value + error).ok())
        .map(|(low, high)| Window { low: low.into(), high: high.into(), outer: None, error: 0.0 });
    finding
}

/// Displays and their sensors are taken as good for 0.5 % of the voltage (common practice, no source).
pub(super) const VOLTAGE_SHARE: f64 = 0.005;

fn voltage(site: &Site, seen: Option<&Observation>) -> Finding {
    let check = Check::ShownVoltage;
    let Some((entry, shown)) = figure_of(seen).and_then(|entry| Some((entry, entry.figure.as_quantity::<Volts>()?)))
    else {
        return not_done(check);
    };
    let series = f64::from(site.series);
    let limits = |times: f64| {
        (site.module.discharge_voltage_limit.get() * times, site.module.charge_voltage_limit.get() * times)
    };
    let error = shown.get().abs() * VOLTAGE_SHARE + entry.digit / 2.0;
    let inside = |(low, high): (f64, f64)| shown.get() >= low - error && shown.get() <= high + error;
    let (low, high) = limits(series);
    let (Ok(low_volt), Ok(high_volt)) = (Volts::new(low), Volts::new(high)) else { return not_done(check) };
    let mut finding = if inside((low, high)) {
        let because = Because::VoltageInside { shown, low: low_volt, high: high_volt };
        Finding::new(check, Verdict::Holds, because)
    } else if site.series > 1 && inside(limits(1.0)) {
        let because = Because::VoltageOfOneModule { shown, expected: site.nominal() };
        let mut finding = Finding::new(check, Verdict::Fails, because);
        finding.next = vec![Because::ChooseSource {}];
        finding
    } else {
        let because = Because::VoltageOutside { shown, low: low_volt, high: high_volt };
        let mut finding = Finding::new(check, Verdict::Fails, because);
        finding.next = vec![Because::ChooseSource {}];
        finding
    };
    finding.sum = vec![Because::CellsWindow { cells: site.cells_in_series(), low: low_volt, high: high_volt }];
    finding.sources = vec!["bpx-lfp", "linden", "practice"];
    finding.window = Some(Window { low: low_volt.into(), high: high_volt.into(), outer: None, error });
    finding
}

fn direction(seen: Option<&Observation>) -> Finding {
    let check = Check::CurrentDirection;
    let (verdict, because, next) = match answer(seen) {
        Some("out") => (Verdict::Holds, Because::CurrentOut {}, vec![]),
        Some("in") => (Verdict::Fails, Because::CurrentReversed {}, vec![Because::TurnShunt {}]),
        Some("zero") => {
            let next = vec![Because::RaiseLoad {}, Because::ChooseSource {}];
            (Verdict::LookAgain, Because::CurrentZero {}, next)
        }
        _ => return not_done(check),
    };
    let mut finding = Finding::new(check, verdict, because);
    finding.next = next;
    finding.sources = vec!["rv-c", "practice"];
    finding
}

/// A figure's window as the display rounds it: half a last digit either way.
fn rounded(expected: Figure, digit: f64) -> Option<Window> {
    let half = digit / 2.0;
    let (least, greatest) = expected.kind().range();
    Some(Window {
        low: Figure::new(expected.kind(), (expected.value() - half).max(least)).ok()?,
        high: Figure::new(expected.kind(), (expected.value() + half).min(greatest)).ok()?,
        outer: None,
        error: 0.0,
    })
}

/// True when two figures agree within half a last digit, with a hair for rounding of binary numbers.
fn agree(shown: f64, expected: f64, half_digit: f64) -> bool {
    (shown - expected).abs() <= half_digit + 1e-9 * expected.abs().max(1.0)
}
