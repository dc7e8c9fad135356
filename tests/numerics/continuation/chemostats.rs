//! Stirred tanks with one population: washout and the fold of self-inhibited growth in closed form.

use std::sync::atomic::AtomicBool;

use marshgas::solver::continuation::{
    Branch, Direction, End, Family, LogStates, Options, follow, follow_in_logs, roots_at,
    stationary,
};
use proptest::prelude::*;

use super::family::{Closures, assert_derivatives};

/// `S' = D (S_in - S) - mu X / Y`, `X' = (mu - D - k) X`, `mu = mu_max S / (K + S + S^2 / K_I)`; the parameter is `D`.
/// No self-inhibition with `K_I` infinite.
#[derive(Debug, Clone, Copy)]
struct Tank {
    mu_max: f64,
    half: f64,
    inhibition: f64,
    yields: f64,
    decay: f64,
    inflow: f64,
}

impl Tank {
    fn growth(&self, s: f64) -> f64 {
        self.mu_max * s / (self.half + s + s * s / self.inhibition)
    }

    fn slope(&self, s: f64) -> f64 {
        self.mu_max * (self.half - s * s / self.inhibition)
            / (self.half + s + s * s / self.inhibition).powi(2)
    }

    /// Dilution at which the population meets the empty tank.
    fn washout(&self) -> f64 {
        self.growth(self.inflow) - self.decay
    }

    /// Substrate and dilution at the fold.
    fn fold(&self) -> (f64, f64) {
        let s = (self.half * self.inhibition).sqrt();
        (
            s,
            self.mu_max / (1.0 + 2.0 * (self.half / self.inhibition).sqrt()) - self.decay,
        )
    }

    /// The steady state with the given substrate, and its dilution.
    fn state(&self, s: f64) -> ([f64; 2], f64) {
        let d = self.growth(s) - self.decay;
        (
            [s, self.yields * d * (self.inflow - s) / (d + self.decay)],
            d,
        )
    }

    fn family(self) -> impl Family {
        Closures {
            scales: vec![self.half, self.yields * self.inflow],
            residual: move |y: &[f64], d: f64, f: &mut [f64]| {
                let mu = self.growth(y[0]);
                f[0] = d * (self.inflow - y[0]) - mu * y[1] / self.yields;
                f[1] = (mu - d - self.decay) * y[1];
            },
            jacobian: move |y: &[f64], d: f64, j: &mut [f64], jp: &mut [f64]| {
                let (mu, slope) = (self.growth(y[0]), self.slope(y[0]));
                j.copy_from_slice(&[
                    -d - slope * y[1] / self.yields,
                    -mu / self.yields,
                    slope * y[1],
                    mu - d - self.decay,
                ]);
                jp.copy_from_slice(&[self.inflow - y[0], -y[1]]);
            },
        }
    }

    fn follow(self, s0: f64, d_max: f64) -> Branch {
        let (y0, d0) = self.state(s0);
        let stop = AtomicBool::new(false);
        follow(
            &mut self.family(),
            &y0,
            d0,
            &Options::new(0.5 * d0, d_max, Direction::Up, &stop),
        )
        .unwrap()
    }
}

const MONOD: Tank = Tank {
    mu_max: 0.4,
    half: 0.15,
    inhibition: f64::INFINITY,
    yields: 0.05,
    decay: 0.02,
    inflow: 10.0,
};
const HALDANE: Tank = Tank {
    mu_max: 0.74,
    half: 0.6,
    inhibition: 16.0,
    yields: 0.03,
    decay: 0.02,
    inflow: 20.0,
};

#[test]
fn derivatives_are_right() {
    assert_derivatives(&mut MONOD.family(), &[0.3, 0.2], 0.2);
    assert_derivatives(&mut HALDANE.family(), &[3.0, 0.2], 0.2);
    for logged in [[true, false], [false, true], [true, true]] {
        let mut logs = LogStates::new(HALDANE.family(), logged.to_vec()).unwrap();
        let u = logs.enter(&[3.0, 0.2]).unwrap();
        assert_derivatives(&mut logs, &u, 0.2);
    }
}

#[test]
fn a_population_is_washed_out_at_its_closed_form() {
    // Below zero biomass the branch runs on to infinite substrate at D = mu_max - k = 0.38.
    let branch = MONOD.follow(0.05, 0.6);
    assert_eq!(
        (branch.specials.len(), branch.end.clone()),
        (1, End::Unbounded { state: 0 })
    );
    assert!((branch.points.last().unwrap().state.p - 0.38).abs() < 1e-5);
    let washout = branch.exchanges().next().unwrap();
    assert!(
        (washout.state.p / MONOD.washout() - 1.0).abs() < 1e-7,
        "{}",
        washout.state.p
    );
    assert!(
        (washout.state.y[0] / MONOD.inflow - 1.0).abs() < 1e-5,
        "{:?}",
        washout.state.y
    );
    assert!(
        washout.state.y[1].abs() < 1e-5 * MONOD.yields * MONOD.inflow,
        "{:?}",
        washout.state.y
    );
    // At the washout itself, checked above, two branches cross and the point is only as sharp as its location.
    for point in branch.points.iter().filter(|point| *point != washout) {
        let (wanted, d) = MONOD.state(point.state.y[0]);
        let x = point.state.y[1];
        assert!((point.state.p / d - 1.0).abs() < 1e-9, "{point:?}");
        assert!((x - wanted[1]).abs() < 1e-9 * x.abs().max(1.0), "{point:?}");
        assert_eq!(point.state.stable, point.state.p < MONOD.washout());
    }
}

#[test]
fn the_empty_tank_exchanges_stability_at_the_same_dilution() {
    let stop = AtomicBool::new(false);
    let options = Options::new(0.1, 0.6, Direction::Down, &stop);
    let branch = follow(&mut MONOD.family(), &[MONOD.inflow, 0.0], 0.6, &options).unwrap();
    assert_eq!(
        (branch.specials.len(), branch.end.clone()),
        (1, End::OfRange)
    );
    let exchange = branch.exchanges().next().unwrap();
    assert!(
        (exchange.state.p / MONOD.washout() - 1.0).abs() < 1e-7,
        "{}",
        exchange.state.p
    );
    assert!(!branch.points.last().unwrap().state.stable && branch.points[0].state.stable);
}

#[test]
fn in_logarithms_the_population_dies_out_at_its_washout() {
    let (y0, d0) = MONOD.state(0.05);
    let stop = AtomicBool::new(false);
    let options = Options::new(0.5 * d0, 0.6, Direction::Up, &stop);
    let branch = follow_in_logs(&mut MONOD.family(), vec![true, true], &y0, d0, &options).unwrap();
    assert_eq!(branch.end, End::Boundary { state: 1 });
    let last = branch.points.last().unwrap();
    assert!(
        (last.state.p / MONOD.washout() - 1.0).abs() < 1e-8,
        "{}",
        last.state.p
    );
    assert!(last.state.y[1] > 0.0 && last.state.y[1] < 1e-9 && last.state.leading.0.abs() < 1e-8);
    // In plain states the tangent points along the change between neighbouring points.
    let (a, b) = (&branch.points[3], &branch.points[4]);
    for i in 0..2 {
        let chord = (b.state.y[i] - a.state.y[i]) / (b.state.p - a.state.p);
        let mean = 0.5 * (a.tangent_y[i] / a.tangent_p + b.tangent_y[i] / b.tangent_p);
        assert!((chord / mean - 1.0).abs() < 0.02, "{chord} {mean}");
    }
}

#[test]
fn self_inhibited_growth_folds_at_its_closed_form() {
    let branch = HALDANE.follow(0.1, 1.0);
    let (s, d) = HALDANE.fold();
    assert_eq!(branch.folds().count(), 1);
    let fold = &branch.folds().next().unwrap().state;
    // Down to rounding, in the state too: the root along the branch alone leaves it at about 1e-10.
    assert!((fold.p / d - 1.0).abs() < 1e-14, "{:e}", fold.p / d - 1.0);
    assert!(
        (fold.y[0] / s - 1.0).abs() < 1e-13,
        "{:e}",
        fold.y[0] / s - 1.0
    );
    assert!(fold.leading.0.abs() < 1e-14, "{:?}", fold.leading);
    // Behind the fold the unstable branch comes back to the empty tank at the growth rate of the raw feed.
    let washout = branch.exchanges().next().unwrap();
    assert!(
        (washout.state.p / HALDANE.washout() - 1.0).abs() < 1e-6,
        "{}",
        washout.state.p
    );
    // Between the two dilutions lie a stable and an unstable state, at the roots of a quadratic.
    let d = 0.45;
    let roots = roots_at(&mut HALDANE.family(), &branch, d, 1e-9).unwrap();
    let (a, b) = (
        (d + HALDANE.decay) / HALDANE.inhibition,
        d + HALDANE.decay - HALDANE.mu_max,
    );
    let c = (d + HALDANE.decay) * HALDANE.half;
    let root = |sign: f64| (-b + sign * (b * b - 4.0 * a * c).sqrt()) / (2.0 * a);
    assert_eq!(roots.len(), 2);
    for (found, (wanted, stable)) in roots.iter().zip([(root(-1.0), true), (root(1.0), false)]) {
        assert!(
            (found.y[0] / wanted - 1.0).abs() < 1e-9 && found.stable == stable,
            "{found:?} {wanted}"
        );
    }
}

#[test]
fn in_logarithms_the_fold_is_the_same() {
    let (y0, d0) = HALDANE.state(0.1);
    let stop = AtomicBool::new(false);
    let options = Options::new(0.5 * d0, 1.0, Direction::Up, &stop);
    let branch =
        follow_in_logs(&mut HALDANE.family(), vec![true, true], &y0, d0, &options).unwrap();
    let (s, d) = HALDANE.fold();
    let fold = branch.folds().next().unwrap();
    assert!(
        (fold.state.p / d - 1.0).abs() < 1e-10 && (fold.state.y[0] / s - 1.0).abs() < 1e-8,
        "{fold:?}"
    );
    assert_eq!(branch.end, End::Boundary { state: 1 });
    assert!((branch.points.last().unwrap().state.p / HALDANE.washout() - 1.0).abs() < 1e-8);
}

/// The tank above with a trace product `H` of about 1e-7 made by growth and taken up within a fraction of a second:
/// `H' = h mu X - v H / (K_H + H) X`.
fn with_trace() -> impl Family {
    let (made, uptake, half) = TRACE;
    Closures {
        scales: vec![HALDANE.half, HALDANE.yields * HALDANE.inflow, half],
        residual: move |y: &[f64], d: f64, f: &mut [f64]| {
            let mu = HALDANE.growth(y[0]);
            f[0] = d * (HALDANE.inflow - y[0]) - mu * y[1] / HALDANE.yields;
            f[1] = (mu - d - HALDANE.decay) * y[1];
            f[2] = made * mu * y[1] - uptake * y[2] / (half + y[2]) * y[1];
        },
        jacobian: move |y: &[f64], d: f64, j: &mut [f64], jp: &mut [f64]| {
            let (mu, slope) = (HALDANE.growth(y[0]), HALDANE.slope(y[0]));
            j.copy_from_slice(&[
                -d - slope * y[1] / HALDANE.yields,
                -mu / HALDANE.yields,
                0.0,
                slope * y[1],
                mu - d - HALDANE.decay,
                0.0,
                made * slope * y[1],
                made * mu - uptake * y[2] / (half + y[2]),
                -uptake * y[1] * half / (half + y[2]).powi(2),
            ]);
            jp.copy_from_slice(&[HALDANE.inflow - y[0], -y[1], 0.0]);
        },
    }
}

/// Product per growth, highest uptake in 1/d, and the concentration of half uptake.
const TRACE: (f64, f64, f64) = (12.0, 35.0, 7e-7);

#[test]
fn a_trace_product_with_fast_turnover_does_not_disturb() {
    let (made, uptake, half) = TRACE;
    let trace = |mu: f64| half * made * mu / (uptake - made * mu);
    let ([s0, x0], d0) = HALDANE.state(0.1);
    let y0 = [s0, x0, trace(d0 + HALDANE.decay)];
    assert_derivatives(&mut with_trace(), &y0, d0);
    let stop = AtomicBool::new(false);
    let options = Options::new(0.5 * d0, 1.0, Direction::Up, &stop);
    let plain = follow(&mut with_trace(), &y0, d0, &options).unwrap();
    let logs =
        follow_in_logs(&mut with_trace(), vec![true, true, true], &y0, d0, &options).unwrap();
    let (s, d) = HALDANE.fold();
    for fold in [plain.folds().next().unwrap(), logs.folds().next().unwrap()] {
        assert!(
            (fold.state.p / d - 1.0).abs() < 1e-10,
            "{:e}",
            fold.state.p / d - 1.0
        );
        assert!(
            (fold.state.y[0] / s - 1.0).abs() < 1e-8,
            "{:?}",
            fold.state.y
        );
        assert!(
            (fold.state.y[2] / trace(d + HALDANE.decay) - 1.0).abs() < 1e-8,
            "{:?}",
            fold.state.y
        );
    }
}

#[test]
fn a_steady_state_is_found_from_a_rough_guess() {
    let (wanted, d) = MONOD.state(0.12);
    let found = stationary(&mut MONOD.family(), d, &[1.0, 0.4], 1e-9).unwrap();
    assert!(
        found.stable && (found.y[0] / wanted[0] - 1.0).abs() < 1e-9,
        "{found:?}"
    );
    assert!((found.y[1] / wanted[1] - 1.0).abs() < 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn fold_and_washout_hold_for_any_kinetics(
        mu_max in 0.1..5.0_f64,
        ln_half in -7.0..3.0_f64,
        ratio in 1.5..400.0_f64,
        yields in 0.01..0.5_f64,
        decay in 0.0..0.1_f64,
        beyond in 1.3..8.0_f64,
    ) {
        let half = ln_half.exp();
        let inhibition = half * ratio;
        let decay = decay * mu_max;
        // The raw feed lies beyond the peak of the growth rate, so the fold is a state with life in it.
        let inflow = beyond * (half * inhibition).sqrt();
        let tank = Tank { mu_max, half, inhibition, yields, decay, inflow };
        let s0 = 0.25 * (half * inhibition).sqrt();
        prop_assume!(tank.state(s0).1 > 0.02 * mu_max);
        let (y0, d0) = tank.state(s0);
        let stop = AtomicBool::new(false);
        let options = Options::new(0.1 * d0.min(tank.washout().max(0.1 * d0)), 1.2 * mu_max, Direction::Up, &stop);
        let branch = follow(&mut tank.family(), &y0, d0, &options).unwrap();
        let (s, d) = tank.fold();
        let folds: Vec<_> = branch.folds().collect();
        prop_assert!(!folds.is_empty(), "{:?}", branch.end);
        prop_assert!((folds[0].state.p / d - 1.0).abs() < 1e-9, "{} {}", folds[0].state.p, d);
        prop_assert!((folds[0].state.y[0] / s - 1.0).abs() < 1e-7, "{} {}", folds[0].state.y[0], s);
        if tank.washout() > 0.15 * d0 {
            let exchange = branch.exchanges().next();
            prop_assert!(exchange.is_some(), "{:?}", branch.end);
            let p = exchange.unwrap().state.p;
            prop_assert!((p / tank.washout() - 1.0).abs() < 1e-5, "{} {}", p, tank.washout());
        }
    }
}
