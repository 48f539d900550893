//! Charger settings and joints by bank reference 5 and 6.8.

use super::near;
use sixty_ohms::core::entry::{Entry, read};
use sixty_ohms::core::job::assess::Verdict;
use sixty_ohms::core::power::charger::{Bank, Settings, compensated, judge};
use sixty_ohms::core::power::charger_steered::{Following, Guard, Sources, alternator, follows, limits, sources};
use sixty_ohms::core::power::joint::{self, Read};
use sixty_ohms::core::units::*;

const BANK: Bank = Bank {
    cells: 4,
    most: Some(Volts::of(14.4)),
    coldest: None,
    capacity: Some(AmpereHours::of(200.0)),
    limit: Some(Amperes::of(100.0)),
};

fn said(set: Settings, bank: Bank) -> (Verdict, &'static str) {
    let judged = judge(&set, &bank).unwrap();
    (judged.verdict, judged.because.key())
}

fn volts(value: f64) -> Option<Volts> {
    Some(Volts::new(value).unwrap())
}

#[test]
fn absorption_float_and_restart_by_the_table() {
    use Verdict::*;
    // Section 5 [practice], for 4, 8 and 16 cells; never above 3.65 V a cell [B].
    for (cells, factor) in [(4, 1.0), (8, 2.0), (16, 4.0)] {
        let bank = Bank { cells, most: None, ..BANK };
        let by_maker = Bank { most: volts(14.6 * factor), ..bank };
        let at = |value: f64| Settings { absorption: volts(value * factor), ..Settings::default() };
        assert_eq!(said(at(13.8), bank), (Holds, "charger-absorption-holds"));
        assert_eq!(said(at(14.2), bank), (Holds, "charger-absorption-holds"));
        assert_eq!(said(at(14.4), bank), (LookAgain, "charger-absorption-high"), "3.60 V only if the maker says");
        assert_eq!(said(at(14.4), by_maker), (Holds, "charger-absorption-holds"));
        assert_eq!(said(at(14.6), by_maker), (LookAgain, "charger-absorption-high"));
        assert_eq!(said(at(14.7), by_maker), (Fails, "charger-absorption-over"));
        assert_eq!(said(at(13.7), bank), (LookAgain, "charger-absorption-gentle"));
        assert_eq!(said(at(13.5), bank), (LookAgain, "charger-absorption-low"));
        let float = |value: f64| Settings { float: volts(value * factor), ..Settings::default() };
        assert_eq!(said(float(13.32), bank), (Holds, "charger-float-holds"));
        assert_eq!(said(float(13.6), bank), (Holds, "charger-float-holds"));
        // Gel and AGM float 13.5 to 13.8 V, held for ever: ageing.
        assert_eq!(said(float(13.8), bank), (LookAgain, "charger-float-high"));
        assert_eq!(said(float(14.2), bank), (Fails, "charger-float-over"));
        assert_eq!(said(float(13.0), bank), (LookAgain, "charger-float-low"));
        let restart = |value: f64| Settings { restart: volts(value * factor), ..Settings::default() };
        assert_eq!(said(restart(13.0), bank), (Holds, "charger-restart-holds"));
        assert_eq!(said(restart(13.2), bank), (Holds, "charger-restart-holds"));
        assert_eq!(said(restart(13.4), bank), (LookAgain, "charger-restart-high"));
        assert_eq!(said(restart(12.8), bank), (LookAgain, "charger-restart-low"));
    }
    // Flooded profile of 14.8 V: 3.70 V a cell [derived].
    let flooded = Settings { absorption: volts(14.8), ..Settings::default() };
    assert_eq!(said(flooded, BANK), (Fails, "charger-absorption-over"));
    near(BANK.cell(Volts::of(14.8)).unwrap().get(), 3.70, 1e-9, "a flooded profile");
}

#[test]
fn lead_acid_rules_and_what_they_do_to_the_cells() {
    use Verdict::*;
    // Compensation of -18 to -30 mV/K for 12 V adds 0.45 to 0.75 V at 0 °C: 14.4 V becomes 14.85 to 15.15 V, 3.71 to 3.79 V a cell;
    // at 45 °C it takes 0.36 to 0.60 V off (coefficients: Linden, from memory; the rest derived).
    for (by, cold, cell, off) in [(-0.018, 14.85, 3.71, 0.36), (-0.030, 15.15, 3.79, 0.60)] {
        let by = VoltsPerKelvin::new(by).unwrap();
        let at = |degrees: f64| compensated(Volts::of(14.4), by, Celsius::new(degrees).unwrap()).unwrap();
        near(at(0.0).get(), cold, 1e-9, "at 0 °C");
        near(BANK.cell(at(0.0)).unwrap().get(), cell, 0.005, "a cell at 0 °C");
        near(14.4 - at(45.0).get(), off, 1e-9, "at 45 °C");
        let set = Settings { absorption: volts(14.4), compensation: Some(by), ..Settings::default() };
        assert_eq!(said(set, BANK), (Fails, "charger-compensation-over"));
    }
    let none = Settings { compensation: Some(VoltsPerKelvin::of(0.0)), ..Settings::default() };
    assert_eq!(said(none, BANK), (Holds, "charger-compensation-none"));
    // Equalising at 15.5 to 16.0 V: 3.88 to 4.00 V a cell (values from memory).
    near(BANK.cell(Volts::of(15.5)).unwrap().get(), 3.88, 0.006, "equalising");
    near(BANK.cell(Volts::of(16.0)).unwrap().get(), 4.00, 1e-9, "equalising");
    let equalise = Settings { equalise: Some(true), equalise_voltage: volts(15.5), ..Settings::default() };
    assert_eq!(said(equalise, BANK), (Fails, "charger-equalise-volts"));
    assert_eq!(said(Settings { equalise: Some(false), ..Settings::default() }, BANK).0, Holds);
}

#[test]
fn currents_times_and_the_cold() {
    use Verdict::*;
    let ampere = |value: f64| Some(Amperes::new(value).unwrap());
    // Tail 2 to 5 % of the Ah: 4 to 10 A for 200 Ah; current up to 0.5 C and the modules' limits; 0.5 to 2 h [practice].
    for (tail, verdict) in [(3.9, LookAgain), (4.0, Holds), (10.0, Holds), (10.1, LookAgain)] {
        assert_eq!(said(Settings { tail: ampere(tail), ..Settings::default() }, BANK).0, verdict, "{tail} A");
    }
    let current = |value: f64| Settings { current: ampere(value), ..Settings::default() };
    assert_eq!(said(current(100.0), BANK), (Holds, "charger-current-holds"));
    assert_eq!(said(current(101.0), BANK), (Fails, "charger-current-over"));
    let strong = Bank { limit: ampere(300.0), ..BANK };
    assert_eq!(said(current(101.0), strong), (LookAgain, "charger-current-high"));
    let hours = |value: f64| Settings { absorption_time: Some(Hours::new(value).unwrap()), ..Settings::default() };
    assert_eq!((said(hours(2.0), BANK).0, said(hours(2.5), BANK).0), (Holds, LookAgain));
    // A stop at 0 to 5 °C, where charging ends at 0 °C [practice, 2.4].
    let stop = |degrees: f64| Settings { cold_stop: Some(Celsius::new(degrees).unwrap()), ..Settings::default() };
    for (degrees, verdict) in [(-1.0, Fails), (0.0, Holds), (5.0, Holds), (6.0, LookAgain)] {
        assert_eq!(said(stop(degrees), BANK).0, verdict, "{degrees} °C");
    }
    assert_eq!(said(Settings { has_cold_stop: Some(false), ..Settings::default() }, BANK).0, LookAgain);
    assert_eq!(judge(&Settings::default(), &BANK), None);
}

#[test]
fn sources_together_and_those_that_follow() {
    use Verdict::*;
    let ampere = |value: f64| Some(Amperes::new(value).unwrap());
    let (limit, one_missing) = limits(Amperes::of(50.0), 3).unwrap();
    assert_eq!((limit.get(), one_missing.get()), (150.0, 100.0));
    let with = |unsteered: &[f64], steered: &[f64]| {
        let unsteered: Vec<_> = unsteered.iter().map(|amps| ampere(*amps)).collect();
        let currents = unsteered.iter().copied().chain(steered.iter().map(|amps| ampere(*amps))).collect();
        let judged = sources(&Sources { currents, unsteered, limit, one_missing }).unwrap();
        (judged.verdict, judged.because.key())
    };
    assert_eq!(with(&[60.0, 40.0], &[]), (Holds, "sources-hold"));
    assert_eq!(with(&[60.0, 50.0], &[]), (LookAgain, "sources-over-missing"));
    assert_eq!(with(&[60.0], &[80.0]), (LookAgain, "sources-steered-must"));
    assert_eq!(with(&[100.0, 60.0], &[]), (Fails, "sources-over"));
    let seen =
        |asked, given| Following { asked_current: ampere(asked), given_current: ampere(given), ..Following::default() };
    assert_eq!(follows(&seen(20.0, 20.9)).unwrap().verdict, Holds);
    assert_eq!(follows(&seen(20.0, 30.0)).unwrap().verdict, Fails);
    assert_eq!(follows(&seen(0.0, 0.9)).unwrap().verdict, Holds);
    assert_eq!(follows(&Following::default()), None);
    // ISO 16750-2 without suppression: 79 to 101 V and 151 to 202 V (two public copies agree); RV-C: 2 s [R].
    for (system, low, high) in [(12.8, "79", "101"), (25.6, "151", "202")] {
        let judged = alternator(Some(Guard::Nothing), volts(system));
        assert_eq!(judged.verdict, Fails);
        let text = format!("{:?}", judged.also);
        assert!(text.contains(low) && text.contains(high), "{text}");
    }
    assert!(alternator(Some(Guard::Nothing), volts(51.2)).also.is_empty(), "no pulse is published for 48 V");
    assert!(format!("{:?}", alternator(Some(Guard::Told), None).because).contains("Seconds(2.0)"));
}

fn at(millivolts: &str, amps: f64) -> Read {
    let Ok(Entry::Figure(voltage)) = read(&format!("{millivolts} mV"), Kind::Volts) else { panic!() };
    Read { voltage, current: Amperes::new(amps).unwrap() }
}

#[test]
fn joints_by_hand() {
    use Verdict::*;
    // 1 mΩ × 50 A = 2.5 W (3.4 [derived]): 50 mV at 50 A.
    let found = joint::joint(at("50", 50.0)).unwrap();
    near(found.resistance.get() * 1e3, 1.0, 1e-9, "mΩ");
    near(found.heat.get(), 2.5, 1e-9, "W");
    // 0.1 mΩ is good, and the odd one out is bad [practice, 6.8].
    let said = |read: Read, siblings: &[Read]| {
        let judged = joint::judge(read, siblings).unwrap();
        (judged.verdict, judged.because.key())
    };
    let like = [at("5.0", 100.0), at("5.4", 100.0)];
    assert_eq!(said(at("5.1", 100.0), &like), (Holds, "joint-good"));
    assert_eq!(said(at("30.0", 100.0), &like), (Fails, "joint-odd"));
    assert_eq!(said(at("30.0", 100.0), &like[..1]).0, LookAgain, "one sibling does not tell");
    assert_eq!(said(at("30.0", 100.0), &[]), (LookAgain, "joint-over-good"));
    // A meter of whole millivolts at 15 A: ±0.13 mΩ; it does not tell 0.07 from 0.1.
    assert_eq!(said(at("1", 15.0), &[]), (LookAgain, "joint-straddles"));
    assert_eq!(joint::joint(at("5", 0.0)), None);
}
