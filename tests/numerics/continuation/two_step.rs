//! The two-step model of Bernard et al. (2001), Biotechnol. Bioeng. 75, 424-438: acid formers, then methane formers that
//! are inhibited by the acids. Numbers in `tests/data/kinetics/bernard2001.json`, with their origin.

use std::sync::atomic::AtomicBool;

use marshgas::solver::continuation::{
    Branch, Direction, Family, LogStates, Options, SteadyState, follow, roots_at, stationary,
};
use serde_json::Value;

use super::family::{Closures, assert_derivatives};

fn data() -> Value {
    serde_json::from_str(include_str!("../../data/kinetics/bernard2001.json")).unwrap()
}

/// The model in the dilution rate `D`, [1/d], with states X1, X2 [g/L], S1 [g COD/L], S2 [mmol/L].
fn model(s1_in: f64, s2_in: f64) -> impl Family {
    let data = data();
    let get = |name: &str| data["parameters"][name].as_f64().unwrap();
    let (k1, k2, k3, alpha) = (get("k1"), get("k2"), get("k3"), get("alpha"));
    let (max1, half1) = (get("mu1max"), get("KS1"));
    let (max2, half2, inhibition) = (get("mu2max"), get("KS2"), get("KI2"));
    let growth = move |s1: f64, s2: f64| {
        let under = half2 + s2 + s2 * s2 / inhibition;
        let first = (
            max1 * s1 / (half1 + s1),
            max1 * half1 / (half1 + s1).powi(2),
        );
        (
            first,
            (
                max2 * s2 / under,
                max2 * (half2 - s2 * s2 / inhibition) / under.powi(2),
            ),
        )
    };
    Closures {
        scales: vec![0.1, 0.1, 1.0, 1.0],
        residual: move |y: &[f64], d: f64, f: &mut [f64]| {
            let [x1, x2, s1, s2] = [y[0], y[1], y[2], y[3]];
            let ((mu1, _), (mu2, _)) = growth(s1, s2);
            f[0] = (mu1 - alpha * d) * x1;
            f[1] = (mu2 - alpha * d) * x2;
            f[2] = d * (s1_in - s1) - k1 * mu1 * x1;
            f[3] = d * (s2_in - s2) + k2 * mu1 * x1 - k3 * mu2 * x2;
        },
        jacobian: move |y: &[f64], d: f64, j: &mut [f64], jp: &mut [f64]| {
            let [x1, x2, s1, s2] = [y[0], y[1], y[2], y[3]];
            let ((mu1, slope1), (mu2, slope2)) = growth(s1, s2);
            j.fill(0.0);
            j[0] = mu1 - alpha * d;
            j[2] = slope1 * x1;
            j[5] = mu2 - alpha * d;
            j[7] = slope2 * x2;
            j[8] = -k1 * mu1;
            j[10] = -d - k1 * slope1 * x1;
            j[12] = k2 * mu1;
            j[13] = -k3 * mu2;
            j[14] = k2 * slope1 * x1;
            j[15] = -d - k3 * slope2 * x2;
            jp.copy_from_slice(&[-alpha * x1, -alpha * x2, s1_in - s1, s2_in - s2]);
        },
    }
}

/// From a guess with life in it at D = 0.1, up over the fold and back.
fn branch(s1_in: f64, s2_in: f64, d_min: f64) -> Branch {
    let stop = AtomicBool::new(false);
    let mut family = model(s1_in, s2_in);
    assert_derivatives(&mut family, &[0.3, 0.4, 1.0, 5.0], 0.4);
    let start = healthy(&mut family, s1_in, s2_in);
    follow(
        &mut family,
        &start.y,
        0.1,
        &Options::new(d_min, 1.3, Direction::Up, &stop),
    )
    .unwrap()
}

fn healthy(family: &mut impl Family, s1_in: f64, s2_in: f64) -> SteadyState {
    // Nearly all of the feed eaten: the populations follow from the yields 1/k1 and 1/k3 and the retention by alpha.
    let guess = [s1_in / 21.0, (s2_in + 2.7 * s1_in) / 134.0, 0.3, 0.7];
    let found = stationary(family, 0.1, &guess, 1e-9).unwrap();
    assert!(
        found.stable && found.y.iter().all(|y| *y > 0.0),
        "{found:?}"
    );
    found
}

fn close(found: f64, wanted: f64, share: f64) -> bool {
    (found / wanted - 1.0).abs() <= share
}

/// The unstable root lies at up to 3532 mmol/L in the table. It is a state of the reactor only if the feed brings more
/// acid than that, so this feed is a device that makes the whole table reachable; the roots do not depend on it.
const RICH_FEED: f64 = 4000.0;

#[test]
fn the_critical_dilution_is_a_fold() {
    let wanted = data()["checks"]["D_crit_methanogens_1_per_d"]
        .as_f64()
        .unwrap();
    let peak = data()["checks"]["mu2_peak"]["S2_mmol_L"].as_f64().unwrap();
    for (s1_in, s2_in) in [(9.5, RICH_FEED), (9.5, 93.6), (30.0, 0.0)] {
        let branch = branch(s1_in, s2_in, 0.02);
        let folds: Vec<_> = branch.folds().collect();
        assert_eq!(folds.len(), 1, "{:?}", branch.specials);
        assert!(
            close(folds[0].state.p, wanted, 1e-5),
            "{} {wanted}",
            folds[0].state.p
        );
        assert!(
            close(folds[0].state.y[3], peak, 1e-5),
            "{} {peak}",
            folds[0].state.y[3]
        );
    }
}

#[test]
fn every_row_of_the_steady_state_table_is_met() {
    let branch = branch(9.5, RICH_FEED, 0.05);
    let table = data()["checks"]["steady"].as_array().unwrap().clone();
    assert_eq!(table.len(), 7);
    for row in table {
        let get = |name: &str| row[name].as_f64().unwrap();
        let roots = roots_at(&mut model(9.5, RICH_FEED), &branch, get("D"), 1e-9).unwrap();
        assert_eq!(roots.len(), 2, "at D = {}", get("D"));
        for (root, (name, stable)) in roots
            .iter()
            .zip([("S2_stable_mmol_L", true), ("S2_unstable_mmol_L", false)])
        {
            assert!(
                close(root.y[3], get(name), 1e-3),
                "{name} at D = {}: {} {}",
                get("D"),
                root.y[3],
                get(name)
            );
            assert!(
                close(root.y[2], get("S1_g_L"), 1e-3),
                "S1 at D = {}: {}",
                get("D"),
                root.y[2]
            );
            assert_eq!(root.stable, stable, "{root:?}");
            assert!(root.y.iter().all(|y| *y > 0.0), "{root:?}");
        }
    }
}

#[test]
fn behind_the_fold_the_methane_formers_are_washed_out() {
    let (s1_in, s2_in) = (9.5, 93.6);
    let branch = branch(s1_in, s2_in, 0.05);
    let exchange = branch.exchanges().next().unwrap();
    // There X2 = 0, so S2 is what the feed brings and the acid formers make; and mu2(S2) = alpha D still holds.
    let [_, x2, s1, s2] = exchange.state.y[..] else {
        panic!("{exchange:?}")
    };
    let get = |name: &str| data()["parameters"][name].as_f64().unwrap();
    assert!(x2.abs() < 1e-6, "{x2:e}");
    assert!(
        close(s2, s2_in + get("k2") / get("k1") * (s1_in - s1), 1e-6),
        "{s2}"
    );
    let mu2 = get("mu2max") * s2 / (get("KS2") + s2 + s2 * s2 / get("KI2"));
    assert!(
        close(exchange.state.p, mu2 / get("alpha"), 1e-6),
        "{} {}",
        exchange.state.p,
        mu2 / get("alpha")
    );
    assert!(exchange.state.p < branch.folds().next().unwrap().state.p);
}

#[test]
fn the_fold_in_logarithms_is_the_fold_in_plain_states() {
    let stop = AtomicBool::new(false);
    let mut logs = LogStates::new(model(9.5, RICH_FEED), vec![true; 4]).unwrap();
    let start = healthy(&mut model(9.5, RICH_FEED), 9.5, RICH_FEED);
    let u0 = logs.enter(&start.y).unwrap();
    let found = follow(
        &mut logs,
        &u0,
        0.1,
        &Options::new(0.05, 1.3, Direction::Up, &stop),
    )
    .unwrap();
    let plain = branch(9.5, RICH_FEED, 0.05);
    let (fold, wanted) = (found.folds().next().unwrap(), plain.folds().next().unwrap());
    assert!(
        close(fold.state.p, wanted.state.p, 1e-11),
        "{} {}",
        fold.state.p,
        wanted.state.p
    );
    let mut root = roots_at(&mut logs, &found, 0.35, 1e-9).unwrap().remove(1);
    logs.leave(&mut root);
    assert!(close(root.y[3], 823.6, 1e-3), "{root:?}");
}
