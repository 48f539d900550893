//! What holds of any cable, bank and switch.

use super::{Class, Conductor, Insulation, Laying, Plan, Run, drop, rating, smallest};
use proptest::prelude::*;
use sixty_ohms::core::power::inrush::{Inrush, closing};
use sixty_ohms::core::power::short_circuit::{Bank, prospective};
use sixty_ohms::core::units::*;

fn sizes() -> impl Strategy<Value = Vec<Conductor>> {
    prop_oneof![
        Just(Conductor::metric(Class::Fixed)),
        Just(Conductor::metric(Class::Flexible)),
        Just(Conductor::american()),
    ]
}

fn run() -> impl Strategy<Value = (Vec<Conductor>, Run)> {
    (sizes(), 0usize..15, 0.05..10.0f64, 0.1..200.0f64, -20.0..105.0f64).prop_map(
        |(sizes, at, length, current, warm)| {
            let run = Run {
                conductor: sizes[at],
                length: Metres::new(length).unwrap(),
                current: Amperes::new(current).unwrap(),
                temperature: Celsius::new(warm).unwrap(),
            };
            (sizes, run)
        },
    )
}

fn laying() -> impl Strategy<Value = Option<Laying>> {
    proptest::option::of((0usize..7, any::<bool>(), 1u32..30).prop_map(|(class, engine_space, bundled)| Laying {
        insulation: Insulation::ALL[class],
        engine_space,
        bundled,
    }))
}

proptest! {
    #[test]
    fn drop_grows_with_length_current_and_warmth((_, run) in run(), more in 1.001..3.0f64) {
        let at = |run: Run| drop(run).unwrap().drop.get();
        let longer = Run { length: Metres::new(run.length.get() * more).unwrap(), ..run };
        let stronger = Run { current: Amperes::new(run.current.get() * more).unwrap(), ..run };
        let warmer = Run { temperature: Celsius::new(run.temperature.get() + more).unwrap(), ..run };
        prop_assert!(at(longer) > at(run) && at(stronger) > at(run) && at(warmer) > at(run));
        // Twice the length, twice the drop; the sign of the current says nothing.
        let twice = Run { length: Metres::new(run.length.get() * 2.0).unwrap(), ..run };
        prop_assert!((at(twice) / at(run) - 2.0).abs() < 1e-12);
        let back = Run { current: Amperes::new(-run.current.get()).unwrap(), ..run };
        prop_assert_eq!(at(back), at(run));
    }

    #[test]
    fn drop_falls_and_rating_grows_with_area((sizes, run) in run(), laying in laying()) {
        let mut last: Option<(f64, f64)> = None;
        for conductor in sizes {
            let now = drop(Run { conductor, ..run }).unwrap().drop.get();
            let carries = laying.and_then(|laying| rating(conductor, laying)).map_or(0.0, |rating| rating.current.get());
            if let Some((before, carried)) = last {
                prop_assert!(now < before, "{conductor:?}");
                // The last metric size has no rating in the table that was read.
                prop_assert!(carries == 0.0 || carries >= carried, "{conductor:?}");
            }
            last = Some((now, carries));
        }
    }

    #[test]
    fn the_smallest_holds_and_the_next_smaller_does_not(
        (sizes, run) in run(), laying in laying(), system in 10.0..60.0f64, limit in 0.5..10.0f64,
    ) {
        let plan = Plan {
            run,
            system: Volts::new(system).unwrap(),
            limit: Percent::new(limit).unwrap(),
            laying,
            cells: None,
        };
        let with = |conductor| Plan { run: Run { conductor, ..run }, ..plan };
        match smallest(&sizes, plan) {
            Some((found, binding)) => {
                prop_assert!(with(found).holds());
                let index = sizes.iter().position(|size| *size == found).unwrap();
                prop_assert_eq!(index == 0, binding.key() == "smallest");
                if index > 0 {
                    let below = with(sizes[index - 1]);
                    prop_assert!(!below.holds());
                    prop_assert_eq!(binding.key() == "drop", !below.drop_holds());
                }
            }
            None => prop_assert!(sizes.iter().all(|size| !with(*size).holds())),
        }
    }

    #[test]
    fn more_strings_give_more_and_more_path_gives_less(
        emf in 10.0..60.0f64, inner in 0.001..0.05f64, leads in 0.0..0.01f64, path in 0.0..0.01f64, parallel in 1u32..16,
    ) {
        let bank = Bank {
            emf: Volts::new(emf).unwrap(),
            inner: Ohms::new(inner).unwrap(),
            parallel,
            leads: Ohms::new(leads).unwrap(),
            path: Ohms::new(path).unwrap(),
        };
        let (one, more) = (prospective(bank), prospective(Bank { parallel: parallel + 1, ..bank }));
        // Beyond what the quantity holds there is no answer.
        if let (Some(one), Some(more)) = (one, more) {
            prop_assert!(more.at_bus > one.at_bus && one.at_end <= one.at_bus);
            prop_assert!(one.into_one < one.at_bus);
            prop_assert!((one.each.get() * f64::from(parallel) / one.at_bus.get() - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_longer_wait_leaves_less(
        farads in 0.0001..0.1f64, volts in 10.0..60.0f64, path in 0.005..0.1f64, ohms in 1.0..200.0f64, wait in 0.0..20.0f64,
    ) {
        let given = |wait: f64| Inrush {
            capacitance: Farads::new(farads).unwrap(),
            voltage: Volts::new(volts).unwrap(),
            path: Ohms::new(path).unwrap(),
            resistor: Some(Ohms::new(ohms).unwrap()),
            wait: Some(Seconds::new(wait).unwrap()),
            limit: None,
        };
        let (now, later) = (closing(given(wait)).unwrap(), closing(given(wait + 1.0)).unwrap());
        let (now_charged, later_charged) = (now.precharge.unwrap(), later.precharge.unwrap());
        prop_assert!(later_charged.gap <= now_charged.gap && now_charged.second <= now.peak);
        prop_assert!(now_charged.first < now.peak);
    }
}
