//! What a bank may ask of its chargers, against the tables of the bank's reference.

use super::{live, near, value};
use proptest::prelude::*;
use sixty_ohms::core::bank::asks::{MayAsk, may_ask, time_to_full};
use sixty_ohms::core::bank::findings::asks::{Asks, asks};
use sixty_ohms::core::bank::modules::{Bank, Module, Place};
use sixty_ohms::core::bank::total::{Asked, total};
use sixty_ohms::core::job::assess::Verdict;
use sixty_ohms::core::units::{Amperes, Celsius, Quantity, Volts};

/// 100 Ah of four cells, 60 %, 14.4 V at most, so many amperes in.
fn module(limit: f64) -> Module {
    Module {
        series_cells: Some(4),
        charge_voltage_limit: Some(Volts::of(14.4)),
        temperatures: vec![Some(Celsius::of(20.0))],
        ..live(100.0, 60.0, 13.2, -10.0, (limit, 100.0))
    }
}

fn may(bank: &Bank) -> MayAsk {
    may_ask(bank, &total(bank, Asked::default()).unwrap()).unwrap()
}

/// Table 1.1, the rows of the limits, and 1.2: "limits cut to n_ans/N".
#[test]
fn limits_and_one_module_missing() {
    let alike = Bank::parallel(vec![module(50.0); 4]).unwrap();
    let found = may(&alike);
    near(value(found.current), 200.0, 1e-9, "Σ limit");
    near(value(found.current_shared), 200.0, 1e-9, "n × least");
    near(value(found.current_one_missing), 150.0, 1e-9, "three of four");
    near(value(found.voltage), 14.4, 1e-9, "parallel: the least");
    // Unlike: Σ 190, 4 × 30; without the weakest 3 × 50, without another 3 × 30.
    let unlike = Bank::parallel([50.0, 50.0, 30.0, 60.0].map(module).to_vec()).unwrap();
    let found = may(&unlike);
    near(value(found.current), 190.0, 1e-9, "Σ limit");
    near(value(found.current_shared), 120.0, 1e-9, "n × least");
    near(value(found.current_one_missing), 90.0, 1e-9, "n − 1 times the least that stays");
    // Series: the least; Σ of the voltages; any module missing leaves no string.
    let string = Bank::series([50.0, 30.0].map(module).to_vec()).unwrap();
    let found = may(&string);
    near(value(found.current), 30.0, 1e-9, "series");
    near(value(found.current_one_missing), 0.0, 1e-9, "the string is unusable");
    assert_eq!((found.missing, found.cells), (Some(Place { string: 1, module: 1 }), Some((8, 8))));
    near(value(found.voltage), 28.8, 1e-9, "Σ");
    // One already silent: what is left, and what it would be whole.
    let silent = alike.with(Place { string: 2, module: 1 }, |module| module.answering = Some(false));
    let found = may(&silent);
    near(value(found.current), 150.0, 1e-9, "of those that answer");
    near(value(found.current_if_whole), 200.0, 1e-9, "if all answered");
}

fn verdict(bank: &Bank, volts: f64, amperes: f64) -> (Verdict, Vec<&'static str>) {
    let asked = Asks { voltage: Volts::new(volts).ok(), current: Amperes::new(amperes).ok(), ..Asks::default() };
    let judged = asks(bank, &asked).unwrap().unwrap();
    let all = [&judged.because].into_iter().chain(&judged.also).map(|because| because.key()).collect();
    (judged.verdict, all)
}

/// Sections 2.1 (3.65 V a cell: 14.6 V for four), 2.4 (charging ends at 0 °C, less below 5 °C, above 45 °C) and 2.5.
#[test]
fn what_is_asked_is_judged() {
    use Verdict::{Fails, Holds, LookAgain, NotDone};
    let bank = Bank::parallel([50.0, 50.0, 30.0].map(module).to_vec()).unwrap();
    let no_limit = Bank::parallel(vec![Module { charge_voltage_limit: None, ..module(50.0) }]).unwrap();
    let at =
        |celsius: f64| bank.with(Place { string: 3, module: 1 }, |m| m.temperatures = vec![Celsius::new(celsius).ok()]);
    let off = Bank::parallel(vec![Module { charge_held_off: Some(true), ..module(50.0) }; 2]).unwrap();
    let one_off = bank.with(Place { string: 1, module: 1 }, |m| m.charge_held_off = Some(true));
    let unknown = Bank::parallel(vec![Module { charge_limit: None, ..module(1.0) }; 2]).unwrap();
    for (bank, volts, amperes, wanted, first) in [
        (&bank, 14.2, 90.0, Holds, "ask-current-fits"),
        (&bank, 14.2, 91.0, LookAgain, "ask-over-shared"),
        (&bank, 14.2, 130.0, LookAgain, "ask-over-shared"),
        (&bank, 14.2, 131.0, Fails, "ask-over-sum"),
        (&bank, 14.5, 60.0, Fails, "ask-volts-over"),
        (&bank, 13.5, 60.0, LookAgain, "ask-volts-low"),
        (&no_limit, 14.6, 50.0, Holds, "ask-current-fits"),
        (&no_limit, 14.7, 50.0, Fails, "ask-volts-over-cells"),
        (&at(0.0), 14.2, 60.0, Fails, "ask-too-cold"),
        (&at(4.9), 14.2, 60.0, LookAgain, "ask-nearly-cold"),
        (&at(5.0), 14.2, 60.0, Holds, "ask-current-fits"),
        (&at(45.5), 14.2, 60.0, Fails, "ask-too-hot"),
        (&at(-10.0), 14.2, 0.0, Holds, "ask-current-fits"),
        (&off, 14.2, 60.0, Fails, "ask-held-off"),
        (&one_off, 14.2, 100.0, Fails, "ask-for-missing"),
        (&one_off, 14.2, 131.0, Fails, "ask-over-sum"),
        (&unknown, 14.2, 60.0, NotDone, "ask-current-unknown"),
    ] {
        let (verdict, because) = verdict(bank, volts, amperes);
        assert_eq!((verdict, because[0]), (wanted, first), "{volts} V, {amperes} A: {because:?}");
    }
    let string =
        Bank::series(vec![module(50.0), Module { charge_voltage_limit: Some(Volts::of(14.0)), ..module(50.0) }]);
    assert_eq!(verdict(&string.unwrap(), 28.2, 10.0).1[0], "ask-volts-over-weakest");
    assert_eq!(asks(&bank, &Asks::default()).unwrap(), None, "nothing asked, nothing judged");
}

/// Table 1.1: headroom/(I·η). 3 × 40 Ah at 60 A, 80 %: 2.5 h. Nothing flows in: no time.
#[test]
fn when_it_is_full() {
    let totals = total(&Bank::parallel(vec![module(50.0); 3]).unwrap(), Asked::default()).unwrap();
    near(value(time_to_full(&totals, Amperes::of(60.0), 0.8)), 2.5, 1e-9, "as asked");
    near(value(totals.to_full), 4.0, 1e-9, "at the present 30 A");
    assert_eq!(time_to_full(&totals, Amperes::of(0.0), 1.0), None);
}

proptest! {
    /// A module less never allows more, and the bounds stand in their order.
    #[test]
    fn bounds_in_their_order(limits in prop::collection::vec(1.0..200.0_f64, 1..=12), series in any::<bool>()) {
        let modules = limits.into_iter().map(module).collect();
        let found = may(&if series { Bank::series(modules) } else { Bank::parallel(modules) }.unwrap());
        let of = |limit: Option<Amperes>| limit.unwrap().get();
        prop_assert!(of(found.current_shared) <= of(found.current) + 1e-9);
        prop_assert!(of(found.current_one_missing) <= of(found.current) + 1e-9);
        prop_assert_eq!(found.current, found.current_if_whole);
    }

    /// What is allowed if all answer is what the same bank allows with all answering.
    #[test]
    fn silent_or_held_off_is_as_if_it_were_not(
        modules in prop::collection::vec((1.0..200.0_f64, 0..3_u8, any::<bool>()), 2..=12),
        series in 1..=3_usize,
    ) {
        let modules: Vec<Module> = modules
            .into_iter()
            .map(|(limit, says, off)| Module {
                answering: [None, Some(true), Some(false)][usize::from(says)],
                charge_held_off: Some(off),
                ..module(limit)
            })
            .collect();
        let bank = Bank::new(modules.chunks(series).map(<[Module]>::to_vec).collect()).unwrap();
        let whole = bank.each(|module| {
            module.answering = Some(true);
            module.charge_held_off = Some(false);
        });
        prop_assert_eq!(may(&bank).current_if_whole, total(&whole, Asked::default()).unwrap().charge_limit_sum);
    }
}
