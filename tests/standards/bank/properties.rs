//! What holds of any bank, and what explains a display.

use super::{live, module, near, totals, value};
use proptest::prelude::*;
use sixty_ohms::core::bank::explain::{Cause, explain};
use sixty_ohms::core::bank::modules::{Bank, Module, Place};
use sixty_ohms::core::bank::shown::{Agreement, Shown, What, compare};
use sixty_ohms::core::bank::total::{Asked, Totals, total, without_each};
use sixty_ohms::core::entry;
use sixty_ohms::core::units::{Figure, Percent, Quantity};

fn any_module() -> impl Strategy<Value = Module> {
    (20.0..400.0_f64, 50.0..100.0_f64, 0.0..100.0_f64, 12.0..14.0_f64, -50.0..50.0_f64).prop_map(
        |(capacity, soh, soc, volts, amperes)| Module {
            soh: Some(Percent::new(soh).unwrap()),
            ..live(capacity, soc, volts, amperes, (capacity / 2.0, capacity))
        },
    )
}

fn any_modules() -> impl Strategy<Value = Vec<Module>> {
    prop::collection::vec(any_module(), 1..=20)
}

type Part = fn(&Totals) -> Option<f64>;

/// The figures of a bank as plain numbers, with their names.
const FIGURES: [(&str, Part); 18] = [
    ("capacity", |t| value(t.capacity)),
    ("energy", |t| value(t.energy)),
    ("nominal", |t| value(t.nominal)),
    ("present", |t| value(t.present_capacity)),
    ("usable", |t| value(t.usable_capacity)),
    ("held", |t| value(t.charge_held)),
    ("headroom", |t| value(t.headroom)),
    ("soc", |t| value(t.soc)),
    ("soc of nameplate", |t| value(t.soc_of_nameplate)),
    ("cautious soc", |t| value(t.soc_cautious)),
    ("soh", |t| value(t.soh)),
    ("voltage", |t| value(t.voltage)),
    ("current", |t| value(t.current)),
    ("power", |t| value(t.power)),
    ("charge limit", |t| value(t.charge_limit_sum)),
    ("cautious charge limit", |t| value(t.charge_limit_cautious)),
    ("discharge limit", |t| value(t.discharge_limit_sum)),
    ("hours to floor", |t| value(t.to_floor)),
];

proptest! {
    #[test]
    fn totals_do_not_depend_on_order(modules in any_modules(), turn in 0_usize..20, series in any::<bool>()) {
        let build = if series { Bank::series } else { Bank::parallel };
        let mut turned = modules.clone();
        turned.reverse();
        turned.rotate_left(turn % modules.len());
        let (one, other) = (totals(build(modules)), totals(build(turned)));
        for (name, of) in FIGURES {
            match (of(&one), of(&other)) {
                (Some(a), Some(b)) => near(Some(a), b, 1e-9 * b.abs().max(1.0), name),
                (a, b) => prop_assert_eq!(a, b, "{}", name),
            }
        }
    }

    #[test]
    fn one_more_in_parallel_never_lowers_the_nameplate(modules in any_modules(), more in any_module()) {
        let before = totals(Bank::parallel(modules.clone()));
        let after = totals(Bank::parallel(modules.into_iter().chain([more]).collect()));
        for (name, of) in FIGURES.iter().filter(|(name, _)| ["capacity", "energy", "present"].contains(name)) {
            prop_assert!(of(&after) > of(&before), "{}", name);
        }
    }

    #[test]
    fn state_of_charge_lies_between_least_and_greatest(modules in any_modules(), series in any::<bool>()) {
        let all: Vec<f64> = modules.iter().filter_map(|module| module.soc.map(Quantity::get)).collect();
        let least = all.iter().copied().fold(f64::INFINITY, f64::min);
        let greatest = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let got = totals(if series { Bank::series(modules) } else { Bank::parallel(modules) });
        let soc = value(got.soc).unwrap();
        prop_assert!(soc >= least - 1e-9 && soc <= greatest + 1e-9, "{} not in {} to {}", soc, least, greatest);
        near(value(got.soc_cautious), least, 1e-9, "cautious");
        prop_assert!(value(got.charge_limit_cautious) <= value(got.charge_limit_sum).map(|sum| sum + 1e-9));
    }

    /// What one module does not tell is not known of the whole, in either arrangement; in parallel all else stays.
    #[test]
    fn unknown_in_unknown_out(modules in any_modules(), at in 0_usize..20, series in any::<bool>(), which in 0_usize..8) {
        type Forget = (fn(&mut Module), &'static str);
        let forget: [Forget; 8] = [
            (|m| m.capacity = None, "capacity, energy, present, usable, held, headroom, soc, soc of nameplate, soh, hours to floor"),
            (|m| m.nominal = None, "energy, nominal"),
            (|m| m.soh = None, "present, usable, held, headroom, soc, soc of nameplate, soh, hours to floor"),
            (|m| m.soc = None, "held, headroom, soc, cautious soc, soc of nameplate, hours to floor"),
            (|m| m.voltage = None, "voltage, power"),
            (|m| m.current = None, "current, power, hours to floor"),
            (|m| m.charge_limit = None, "charge limit, cautious charge limit"),
            (|m| m.discharge_limit = None, "discharge limit"),
        ];
        let build = if series { Bank::series } else { Bank::parallel };
        let before = totals(build(modules.clone()));
        let (change, lost) = forget[which];
        let mut modules = modules;
        let at = at % modules.len();
        change(&mut modules[at]);
        let after = totals(build(modules));
        for (name, of) in FIGURES {
            if lost.split(", ").any(|lost| lost == name) {
                prop_assert_eq!(of(&after), None, "{} without it", name);
            } else if !series {
                prop_assert_eq!(of(&after), of(&before), "{} does not need it", name);
            }
        }
    }

    /// What is heard without a string is what is heard when any one of its modules is silent, whoever else is silent or open.
    #[test]
    fn a_string_is_left_out_as_if_a_module_of_it_were_silent(
        modules in any_modules(), length in 1_usize..5, silent in 0_usize..40, open in 0_usize..40,
    ) {
        let mut modules = modules;
        if let Some(module) = modules.get_mut(silent) {
            module.answering = Some(false);
        }
        if let Some(module) = modules.get_mut(open) {
            (module.charge_held_off, module.discharge_held_off) = (Some(true), Some(true));
        }
        let bank = Bank::new(modules.chunks(length).map(<[Module]>::to_vec).collect()).unwrap();
        let without = without_each(&bank);
        prop_assert_eq!(without.len(), bank.strings().len());
        for (place, _) in bank.modules() {
            let known = totals(Ok(bank.with(place, |module| module.answering = Some(false))));
            let got = without[place.string as usize - 1].clone().unwrap();
            // Who answers is counted by what the modules say.
            let counted = Totals {
                answering: known.answering, strings_usable: known.strings_usable, silent: known.silent.clone(), ..got
            };
            prop_assert_eq!(counted, known);
        }
    }

    #[test]
    fn probabilities_add_up_to_one(modules in any_modules(), seen in prop::collection::vec((0_usize..12, 0.0..60.0_f64), 0..12)) {
        let mut shown = Shown::default();
        for (what, value) in seen {
            let what = What::ALL[what];
            let figure = Figure::new(what.kind(), value.round()).unwrap();
            shown.set(what, entry::Shown { figure, digit: 1.0 }).unwrap();
        }
        let all = explain(&Bank::parallel(modules).unwrap(), &shown).unwrap();
        near(Some(all.iter().map(|entry| entry.probability).sum()), 1.0, 1e-9, "sum");
        prop_assert!(all.iter().all(|entry| (0.0..=1.0).contains(&entry.probability)));
        prop_assert!(all.windows(2).all(|pair| pair[0].probability >= pair[1].probability));
    }
}

/// Three modules of 230 Ah, health 90 %, at 80 %, 20 A out of each; or two strings of two.
fn bank(series: bool) -> Bank {
    let one = Module { soh: Some(Percent::of(90.0)), ..live(230.0, 80.0, 13.2, 20.0, (100.0, 200.0)) };
    if series { Bank::new(vec![vec![one; 2]; 2]).unwrap() } else { Bank::parallel(vec![one; 3]).unwrap() }
}

fn display(figures: &[(What, f64, f64)]) -> Shown {
    let mut shown = Shown::default();
    for (what, value, digit) in figures {
        let figure = Figure::new(what.kind(), *value).unwrap();
        shown.set(*what, entry::Shown { figure, digit: *digit }).unwrap();
    }
    shown
}

/// What a display shows under each cause, worked by hand, and the cause that must come first (derived).
#[test]
fn each_cause_is_found() {
    use What::{Capacity, ChargeHeld, Current, Modules, Soc, Voltage};
    let show = |capacity: f64, held: f64, soc: f64, current: f64, modules: f64| {
        [
            (Capacity, capacity, 1.0),
            (ChargeHeld, held, 1.0),
            (Soc, soc, 1.0),
            (Voltage, 13.2, 0.1),
            (Current, current, 1.0),
            (Modules, modules, 1.0),
        ]
    };
    // 3 × 230 Ah × 0.9 × 0.8 = 497 Ah.
    let cases = [
        (show(690.0, 497.0, 80.0, 60.0, 3.0), Cause::NothingWrong),
        (show(460.0, 331.0, 80.0, 40.0, 2.0), Cause::ModuleSilent { module: None }),
        (show(460.0, 331.0, 80.0, 60.0, 3.0), Cause::ModuleInProtection { module: None }),
        (show(920.0, 662.0, 80.0, 60.0, 3.0), Cause::NameplateWrong { strings: Some(4) }),
        (show(690.0, 497.0, 72.0, 60.0, 3.0), Cause::OtherBasis),
        (show(230.0, 166.0, 80.0, 20.0, 1.0), Cause::OneModuleOnly { module: None }),
        (show(690.0, 497.0, 80.0, -60.0, 3.0), Cause::SignReversed),
        (show(690.0, 311.0, 50.0, 60.0, 3.0), Cause::NotCalibrated),
        (show(690.0, 373.0, 60.0, 5.0, 3.0), Cause::Stale),
        (show(180.0, 20.0, 11.0, 0.0, 7.0), Cause::OtherDevice),
    ];
    for (figures, cause) in cases {
        let all = explain(&bank(false), &display(&figures)).unwrap();
        let first = all.first().unwrap();
        assert_eq!(first.cause, cause, "{figures:?}");
        assert!(first.probability > 0.5, "{cause:?}: {}", first.probability);
    }
    // 24 V of two strings of two: 460 Ah; as if all four were side by side: 920 Ah, 662 Ah.
    let figures = [(Capacity, 920.0, 1.0), (ChargeHeld, 662.0, 1.0), (Voltage, 26.4, 0.1), (Modules, 4.0, 1.0)];
    let all = explain(&bank(true), &display(&figures)).unwrap();
    let of = |wanted: fn(&Cause) -> bool| all.iter().find(|entry| wanted(&entry.cause)).map(|entry| entry.probability);
    assert_eq!(all.first().map(|entry| entry.cause), Some(Cause::SeriesTakenForParallel));
    assert!(of(|cause| matches!(cause, Cause::NameplateWrong { .. })) > Some(0.1), "four strings look just the same");
}

/// Unlike modules tell which of them it is.
#[test]
fn an_unlike_module_is_named() {
    let modules = vec![module(100.0, 100.0, 80.0), module(200.0, 100.0, 80.0), module(300.0, 100.0, 80.0)];
    let bank = Bank::parallel(modules).unwrap();
    let shown = display(&[(What::Capacity, 400.0, 1.0), (What::Modules, 2.0, 1.0)]);
    let second = Some(Place { string: 2, module: 1 });
    let all = explain(&bank, &shown).unwrap();
    assert_eq!(all.first().map(|entry| entry.cause), Some(Cause::ModuleSilent { module: second }));
}

/// Agreement within the rounding of the display: half of its last digit (derived).
#[test]
fn figures_agree_within_their_rounding() {
    let totals = total(&bank(false), Asked::default()).unwrap();
    let cases = [
        ((What::Capacity, 690.0, 1.0), Agreement::Agrees),
        ((What::Capacity, 700.0, 100.0), Agreement::Agrees),
        ((What::Capacity, 689.0, 1.0), Agreement::Near),
        ((What::Capacity, 600.0, 1.0), Agreement::Differs),
        ((What::Modules, 2.0, 1.0), Agreement::Differs),
        ((What::Modules, 3.0, 1.0), Agreement::Agrees),
        ((What::LowestCell, 3.3, 0.1), Agreement::NotKnown),
    ];
    for (figure, agreement) in cases {
        let compared = compare(&totals, &display(&[figure]));
        assert_eq!(compared.first().map(|entry| entry.agreement), Some(agreement), "{figure:?}");
    }
}
