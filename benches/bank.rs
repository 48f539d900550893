//! How fast the sums of the bank are.
//!
//!     cargo bench --no-default-features --bench bank
//!     cargo bench --no-default-features --bench bank -- --json
//!
//! The second form prints the least seconds of each sum over the same 64 modules as `tests/crosscheck/bench_bank.py`, and
//! the currents it finds, for that script to hold against numpy's.

use divan::{Bencher, black_box};
use sixty_ohms::core::bank::asks::may_ask;
use sixty_ohms::core::bank::explain::explain;
use sixty_ohms::core::bank::findings::numbers::must_show;
use sixty_ohms::core::bank::modules::{Bank, Module};
use sixty_ohms::core::bank::sharing::{Branch, Circuit, Wiring};
use sixty_ohms::core::bank::shown::{Shown, What};
use sixty_ohms::core::bank::total::{Asked, total};
use sixty_ohms::core::entry;
use sixty_ohms::core::units::{AmpereHours, Amperes, Celsius, Figure, Ohms, Percent, Quantity, Volts};
use std::time::Instant;

fn main() {
    if std::env::args().any(|argument| argument == "--json") {
        let (bank, circuit) = (bank(64), circuit(64));
        let load = Amperes::of(300.0);
        let currents: Vec<f64> =
            circuit.share(load).expect("it has an answer").currents.iter().map(|i| i.get()).collect();
        let held = total(&bank, Asked::default()).expect("in range").charge_held.expect("known").get();
        let total = least(|| total(black_box(&bank), Asked::default()));
        let share = least(|| black_box(&circuit).share(load));
        println!(
            "{{\"total\": {total}, \"share\": {share}, \"charge_held_Ah\": {held}, \"currents_A\": {currents:?}}}"
        );
        return;
    }
    divan::main();
}

/// Least seconds of one run, over a few hundred.
fn least<T>(what: impl Fn() -> T) -> f64 {
    let time = |_| {
        let start = Instant::now();
        black_box(what());
        start.elapsed().as_secs_f64()
    };
    (0..500).map(time).fold(f64::INFINITY, f64::min)
}

/// Figures that differ from module to module and need no chance: `tests/crosscheck/bench_bank.py` has the same.
fn vary(index: usize, low: f64, step: f64) -> f64 {
    low + step * (index * 7 % 13) as f64
}

fn module(index: usize) -> Module {
    let cell = |cell: usize| Volts::new(vary(index + cell, 3.28, 0.002)).ok();
    Module {
        capacity: AmpereHours::new(vary(index, 100.0, 10.0)).ok(),
        nominal: Some(Volts::of(12.8)),
        soh: Percent::new(vary(index, 85.0, 1.0)).ok(),
        soc: Percent::new(vary(index, 50.0, 2.0)).ok(),
        voltage: Volts::new(vary(index, 13.2, 0.01)).ok(),
        current: Amperes::new(vary(index, 4.0, 0.5)).ok(),
        charge_limit: Some(Amperes::of(50.0)),
        discharge_limit: Some(Amperes::of(100.0)),
        cells: (0..4).map(cell).collect(),
        temperatures: vec![Celsius::new(vary(index, 15.0, 0.5)).ok()],
        answering: Some(true),
        ..Module::default()
    }
}

fn bank(count: usize) -> Bank {
    Bank::parallel((0..count).map(module).collect()).expect("1 to 64 modules")
}

fn circuit(count: usize) -> Circuit {
    let ohms = |value: f64| Ohms::new(value).expect("in range");
    let branch = |index: usize| Branch {
        emf: Volts::new(vary(index, 13.2, 0.01)).expect("in range"),
        inner: ohms(vary(index, 0.006, 0.0005)),
        leads: ohms(0.001),
    };
    let link = |index: usize| (ohms(vary(index, 0.0003, 0.00002)), ohms(vary(index + 1, 0.0003, 0.00002)));
    let taps = Wiring::Diagonal.taps(count as u32);
    Circuit::new((0..count).map(branch).collect(), (0..count - 1).map(link).collect(), taps).expect("it is a circuit")
}

#[divan::bench(args = [4, 16, 64])]
fn aggregate(bencher: Bencher, modules: usize) {
    let bank = bank(modules);
    bencher.bench_local(|| total(black_box(&bank), Asked::default()));
}

#[divan::bench(args = [4, 16, 64])]
fn share(bencher: Bencher, modules: usize) {
    let circuit = circuit(modules);
    bencher.bench_local(|| black_box(&circuit).share(Amperes::of(300.0)));
}

/// Every line of the page, with the bound for each module missing.
#[divan::bench(args = [4, 64])]
fn every_figure(bencher: Bencher, modules: usize) {
    let bank = bank(modules);
    bencher.bench_local(|| must_show(black_box(&bank)));
}

#[divan::bench(args = [4, 64])]
fn bounds_of_chargers(bencher: Bencher, modules: usize) {
    let bank = bank(modules);
    let totals = total(&bank, Asked::default()).expect("in range");
    bencher.bench_local(|| may_ask(black_box(&bank), &totals));
}

/// All causes of a display that is one module short.
#[divan::bench(args = [4, 64])]
fn explanations(bencher: Bencher, modules: usize) {
    let (bank, less) = (bank(modules), bank(modules - 1));
    let totals = total(&less, Asked::default()).expect("in range");
    let mut shown = Shown::default();
    for what in [What::Capacity, What::ChargeHeld, What::Soc, What::Voltage, What::Modules] {
        let value = what.of(&totals).expect("known").value().round();
        let figure = Figure::new(what.kind(), value).expect("in range");
        shown.set(what, entry::Shown { figure, digit: 1.0 }).expect("of its kind");
    }
    bencher.bench_local(|| explain(black_box(&bank), black_box(&shown)));
}
