//! Current sharing against closed forms, numpy, ngspice, and a dense nodal solve here.

use super::{near, value};
use nalgebra::{DMatrix, DVector};
use sixty_ohms::core::bank::odd::{Share, odd_branch};
use sixty_ohms::core::bank::sharing::{Branch, Circuit, Shared, SharingError, Wiring};
use sixty_ohms::core::units::{Amperes, Ohms, Quantity, Volts};

fn branch(emf: f64, inner: f64, leads: f64) -> Branch {
    Branch { emf: Volts::new(emf).unwrap(), inner: Ohms::new(inner).unwrap(), leads: Ohms::new(leads).unwrap() }
}

fn alike(count: usize, ohms: f64, link: f64, taps: (u32, u32)) -> Circuit {
    let link = Ohms::new(link).unwrap();
    Circuit::new(vec![branch(13.3, ohms, 0.0); count], vec![(link, link); count - 1], taps).unwrap()
}

fn currents(shared: &Shared) -> Vec<f64> {
    shared.currents.iter().map(|current| current.get()).collect()
}

/// Section 3.3 [X]: numpy and ngspice 39 print the same digits. Circuit, load, module currents, tap voltage.
#[test]
fn worked_examples() {
    let bars = |branches: Vec<Branch>| Circuit::ideal_bars(branches).unwrap();
    let fed_bars = {
        let gap = Ohms::of(0.000_02);
        Circuit::new(vec![branch(13.3, 0.008, 0.001); 4], vec![(gap, gap); 3], Wiring::Busbar.taps(4)).unwrap()
    };
    let unlike = vec![branch(13.3, 0.008, 0.0), branch(13.3, 0.008, 0.0), branch(13.3, 0.012, 0.0)];
    let unequal = vec![branch(13.35, 0.009, 0.0), branch(13.25, 0.009, 0.0), branch(13.3, 0.009, 0.0)];
    let pair = vec![branch(13.6, 0.009, 0.0), branch(13.2, 0.009, 0.0)];
    let by = |wiring: Wiring| alike(4, 0.008, 0.0004, wiring.taps(4));
    let cases: [(&str, Circuit, f64, &[f64], f64); 8] = [
        ("same end", by(Wiring::SameEnd), 200.0, &[65.24, 51.77, 43.47, 39.52], 12.778),
        ("diagonal", by(Wiring::Diagonal), 200.0, &[52.38, 47.62, 47.62, 52.38], 12.761),
        ("middle", by(Wiring::Middle), 200.0, &[47.62, 52.38, 52.38, 47.62], 12.841),
        ("ideal bars", bars(vec![branch(13.3, 0.008, 0.001); 4]), 200.0, &[50.0; 4], 12.850),
        ("bars fed at one end", fed_bars, 200.0, &[50.77, 50.11, 49.67, 49.45], 12.843),
        ("unlike resistance", bars(unlike), 150.0, &[56.25, 56.25, 37.50], 12.850),
        ("unlike voltage", bars(unequal), 60.0, &[25.56, 14.44, 20.00], 13.120),
        ("two joined", bars(pair), 0.0, &[22.22, -22.22], 13.400),
    ];
    for (name, circuit, load, wanted, tap) in cases {
        let shared = circuit.share(Amperes::new(load).unwrap()).unwrap();
        for (got, wanted) in currents(&shared).iter().zip(wanted) {
            near(Some(*got), *wanted, 0.005_01, name);
        }
        near(Some(shared.tap.get()), tap, 0.000_501, name);
    }
}

/// The table of section 3.2 [X], largest over mean: N, then same end for ρ = 0.05, 0.10, 0.20, then diagonal.
const LARGEST: [(usize, [f64; 3], [f64; 3]); 7] = [
    (2, [1.024, 1.048, 1.091], [1.000, 1.000, 1.000]),
    (3, [1.080, 1.152, 1.281], [1.008, 1.016, 1.031]),
    (4, [1.163, 1.305, 1.542], [1.024, 1.048, 1.091]),
    (5, [1.271, 1.494, 1.846], [1.048, 1.093, 1.175]),
    (6, [1.399, 1.711, 2.177], [1.080, 1.152, 1.281]),
    (7, [1.545, 1.946, 2.521], [1.118, 1.223, 1.404]),
    (8, [1.704, 2.195, 2.872], [1.163, 1.305, 1.542]),
];

#[test]
fn largest_over_mean() {
    for (count, same_end, diagonal) in LARGEST {
        for (wiring, row) in [(Wiring::SameEnd, same_end), (Wiring::Diagonal, diagonal)] {
            for (rho, wanted) in [0.05, 0.10, 0.20].into_iter().zip(row) {
                let circuit = alike(count, 0.008, 0.008 * rho / 2.0, wiring.taps(count as u32));
                let shared = circuit.share(Amperes::of(100.0)).unwrap();
                near(value(shared.largest_over_mean), wanted, 0.000_501, &format!("{count} {wiring:?} {rho}"));
            }
        }
    }
}

/// The closed forms of section 3.2 (derived; checked there against numpy and ngspice), 1 to 64 modules.
#[test]
fn closed_forms() {
    for count in [1_usize, 2, 3, 4, 5, 7, 8, 16, 33, 64] {
        for rho in [0.001, 0.05, 0.2, 1.0] {
            let theta = (1.0_f64 + rho / 2.0).acosh();
            let (n, load) = (count as f64, 240.0);
            let same_end =
                |k: f64| load * 2.0 * (theta / 2.0).sinh() * ((n - k + 0.5) * theta).cosh() / (n * theta).sinh();
            let diagonal = |k: f64| {
                load * (theta / 2.0).sinh() * ((k - (n + 1.0) / 2.0) * theta).cosh() / (n * theta / 2.0).sinh()
            };
            let check = |wiring: Wiring, form: &dyn Fn(f64) -> f64| {
                let circuit = alike(count, 0.008, 0.008 * rho / 2.0, wiring.taps(count as u32));
                let shared = circuit.share(Amperes::new(load).unwrap()).unwrap();
                for (index, got) in currents(&shared).iter().enumerate() {
                    let wanted = form(index as f64 + 1.0);
                    near(Some(*got), wanted, 1e-9 * load, &format!("{wiring:?}, {count} modules, ρ {rho}"));
                }
            };
            check(Wiring::SameEnd, &same_end);
            check(Wiring::Diagonal, &diagonal);
        }
    }
}

/// Ideal busbar of section 3.2 (derived): V = (ΣE/R − I)/Σ(1/R), I_k = (E_k − V)/R_k.
#[test]
fn ideal_busbar() {
    let given = [(13.35, 0.007), (13.25, 0.009), (13.30, 0.015), (13.28, 0.011)];
    let load = 75.0;
    let circuit = Circuit::ideal_bars(given.map(|(emf, ohms)| branch(emf, ohms, 0.0)).to_vec()).unwrap();
    let shared = circuit.share(Amperes::new(load).unwrap()).unwrap();
    let siemens: f64 = given.iter().map(|(_, ohms)| 1.0 / ohms).sum();
    let volts = (given.iter().map(|(emf, ohms)| emf / ohms).sum::<f64>() - load) / siemens;
    near(Some(shared.tap.get()), volts, 1e-11, "bar");
    for ((emf, ohms), got) in given.iter().zip(currents(&shared)) {
        near(Some(got), (emf - volts) / ohms, 1e-9, "branch");
    }
}

/// Module currents and tap voltage by dense nodal analysis: 2N posts, the negative tap as ground.
fn nodal(branches: &[Branch], links: &[(Ohms, Ohms)], taps: (usize, usize), load: f64) -> (Vec<f64>, f64) {
    let count = branches.len();
    let mut matrix = DMatrix::<f64>::zeros(2 * count, 2 * count);
    let mut source = DVector::<f64>::zeros(2 * count);
    let mut join = |a: usize, b: usize, ohms: f64| {
        for (row, column, sign) in [(a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0)] {
            matrix[(row, column)] += sign / ohms;
        }
    };
    for (k, branch) in branches.iter().enumerate() {
        let ohms = branch.inner.get() + branch.leads.get();
        join(k, count + k, ohms);
        source[k] += branch.emf.get() / ohms;
        source[count + k] -= branch.emf.get() / ohms;
    }
    for (k, (positive, negative)) in links.iter().enumerate() {
        join(k, k + 1, positive.get());
        join(count + k, count + k + 1, negative.get());
    }
    source[taps.0 - 1] -= load;
    source[count + taps.1 - 1] += load;
    let ground = count + taps.1 - 1;
    matrix.row_mut(ground).fill(0.0);
    matrix[(ground, ground)] = 1.0;
    source[ground] = 0.0;
    let volts = matrix.lu().solve(&source).unwrap();
    let current = |k: usize| {
        let branch = &branches[k];
        (branch.emf.get() - volts[k] + volts[count + k]) / (branch.inner.get() + branch.leads.get())
    };
    ((0..count).map(current).collect(), volts[taps.0 - 1])
}

proptest::proptest! {
    /// Any circuit against the nodal solve; and the currents add up to the load.
    #[test]
    fn any_circuit(
        branches in proptest::collection::vec((12.8..13.6_f64, 0.003..0.02_f64, 0.0..0.002_f64), 1..40),
        links in proptest::collection::vec((0.00005..0.001_f64, 0.00005..0.001_f64), 40),
        taps in (0.0..1.0_f64, 0.0..1.0_f64),
        load in -300.0..300.0_f64,
    ) {
        let count = branches.len();
        let branches: Vec<Branch> = branches.into_iter().map(|(emf, inner, leads)| branch(emf, inner, leads)).collect();
        let links: Vec<(Ohms, Ohms)> =
            links.into_iter().take(count - 1).map(|(p, n)| (Ohms::new(p).unwrap(), Ohms::new(n).unwrap())).collect();
        let tap = |share: f64| (share * count as f64) as usize + 1;
        let taps = (tap(taps.0), tap(taps.1));
        let (wanted, tap) = nodal(&branches, &links, taps, load);
        let circuit = Circuit::new(branches, links, (taps.0 as u32, taps.1 as u32)).unwrap();
        let shared = circuit.share(Amperes::new(load).unwrap()).unwrap();
        let got = currents(&shared);
        for (got, wanted) in got.iter().zip(wanted) {
            near(Some(*got), wanted, 1e-7, "module current");
        }
        near(Some(shared.tap.get()), tap, 1e-9, "tap voltage");
        near(Some(got.iter().sum()), load, 1e-8, "sum");
    }
}

/// Section 3.4 (derived): 1 mΩ extra on one of four 8 mΩ branches takes its share from 25.0 to 22.9 %. Back from those
/// currents to the branch.
#[test]
fn the_poor_joint_is_found() {
    let good = branch(13.3, 0.008, 0.0);
    let poor = branch(13.3, 0.008, 0.001);
    let real = Circuit::ideal_bars(vec![good, good, poor, good]).unwrap();
    let measured = real.share(Amperes::of(200.0)).unwrap();
    near(measured.currents.get(2).map(|current| current.get() / 200.0), 0.229, 0.0005, "share");

    // The middle wiring of section 3.3 with a joint of 5 mΩ at module 2.
    let link = (Ohms::of(0.0004), Ohms::of(0.0004));
    let wired = |branches: Vec<Branch>| Circuit::new(branches, vec![link; 3], Wiring::Middle.taps(4)).unwrap();
    let real = wired(vec![good, branch(13.3, 0.008, 0.005), good, good]);
    let measured = real.share(Amperes::of(200.0)).unwrap();
    for tap in [None, Some(measured.tap)] {
        let found = odd_branch(&wired(vec![good; 4]), &measured.currents, tap).unwrap();
        assert_eq!((found.suspect, found.branches[1].share), (Some(2), Share::Odd), "{tap:?}");
        near(value(found.branches[1].resistance), 0.013, 1e-9, "its resistance");
        near(value(found.branches[0].resistance), 0.008, 1e-9, "the others'");
    }
    // As described: nobody is suspect, though the ends carry less than the middle.
    let healthy = wired(vec![good; 4]).share(Amperes::of(200.0)).unwrap();
    assert_eq!(odd_branch(&wired(vec![good; 4]), &healthy.currents, None).unwrap().suspect, None);
    // Two alone cannot say which of them it is.
    let two = Circuit::ideal_bars(vec![good; 2]).unwrap();
    let uneven = [Amperes::of(30.0), Amperes::of(70.0)];
    assert_eq!(odd_branch(&two, &uneven, None).unwrap().suspect, None);
    assert_eq!(
        odd_branch(&two, &[Amperes::of(30.0)], None),
        Err(SharingError::CurrentCount { modules: 2, currents: 1 })
    );
    assert_eq!(odd_branch(&two, &[Amperes::of(1.0), Amperes::of(-1.0)], None), Err(SharingError::NoCurrent));
}

#[test]
fn what_has_no_answer_says_so() {
    let ideal = branch(13.3, 0.0, 0.0);
    let answer = Circuit::ideal_bars(vec![ideal; 2]).unwrap().share(Amperes::of(10.0));
    assert_eq!(answer, Err(SharingError::NoResistance));
    assert_eq!(Circuit::ideal_bars(vec![]), Err(SharingError::ModuleCount { count: 0 }));
    assert_eq!(Circuit::ideal_bars(vec![ideal; 65]), Err(SharingError::ModuleCount { count: 65 }));
    assert_eq!(Circuit::new(vec![ideal; 3], vec![], (1, 1)), Err(SharingError::LinkCount { modules: 3, links: 0 }));
    let off = Circuit::new(vec![ideal], vec![], (1, 2));
    assert_eq!(off, Err(SharingError::NoSuchModule { tap: 2, modules: 1 }));
}
