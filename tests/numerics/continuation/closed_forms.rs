//! Special points whose place is known in closed form.

use std::f64::consts::PI;
use std::sync::atomic::AtomicBool;

use marshgas::solver::RhsFailure;
use marshgas::solver::continuation::{
    Direction, End, Family, Options, SpecialKind, follow, roots_at,
};

use super::family::{Closures, assert_derivatives, scalar};

/// `y' = -(y^3 - 3 y + p)`: folds at p = 2, y = 1 and p = -2, y = -1.
fn cubic() -> impl Family {
    scalar(
        |y, p| -(y.powi(3) - 3.0 * y + p),
        |y, _| -3.0 * y * y + 3.0,
        |_, _| -1.0,
    )
}

#[test]
fn the_cubic_folds_at_plus_and_minus_two() {
    let stop = AtomicBool::new(false);
    let branch = follow(
        &mut cubic(),
        &[2.2],
        -4.0,
        &Options::new(-4.0, 4.0, Direction::Up, &stop),
    )
    .unwrap();
    assert_eq!(branch.end, End::OfRange);
    assert_eq!(branch.points.last().unwrap().state.p, 4.0);
    let folds: Vec<_> = branch.folds().collect();
    assert_eq!((folds.len(), branch.specials.len()), (2, 2));
    for (fold, (p, y)) in folds.iter().zip([(2.0, 1.0), (-2.0, -1.0)]) {
        assert!(
            (fold.state.p - p).abs() < 1e-10 * 2.0,
            "p {:e}",
            fold.state.p - p
        );
        assert!(
            (fold.state.y[0] - y).abs() < 1e-8,
            "y {:e}",
            fold.state.y[0] - y
        );
        assert!(fold.state.leading.0.abs() < 1e-8 && fold.tangent_p.abs() < 1e-8);
    }
    // Stable outside the folds, unstable between them.
    for point in branch
        .points
        .iter()
        .filter(|point| (point.state.y[0].abs() - 1.0).abs() > 1e-6)
    {
        assert_eq!(
            point.state.stable,
            point.state.y[0].abs() > 1.0,
            "{:?}",
            point.state
        );
        assert_eq!(point.state.unstable, usize::from(!point.state.stable));
    }
}

#[test]
fn the_roots_of_the_cubic_are_found_at_any_parameter() {
    let stop = AtomicBool::new(false);
    let branch = follow(
        &mut cubic(),
        &[2.2],
        -4.0,
        &Options::new(-4.0, 4.0, Direction::Up, &stop),
    )
    .unwrap();
    for k in 0..3 {
        // y = 2 cos(x) solves y^3 - 3 y = 2 cos(3 x), so p = -2 cos(3 x).
        let x = 0.1 + 0.27 * f64::from(k);
        let p = -2.0 * (3.0 * x).cos();
        let mut wanted = [x, x + 2.0 * PI / 3.0, x + 4.0 * PI / 3.0].map(|x| 2.0 * x.cos());
        wanted.sort_by(|a, b| b.total_cmp(a));
        let roots = roots_at(&mut cubic(), &branch, p, 1e-9).unwrap();
        assert_eq!(roots.len(), 3, "at {p}");
        for (root, wanted) in roots.iter().zip(wanted) {
            assert!((root.y[0] - wanted).abs() < 1e-12, "{} {wanted}", root.y[0]);
            assert_eq!((root.p, root.stable), (p, wanted.abs() > 1.0));
        }
    }
    assert_eq!(roots_at(&mut cubic(), &branch, 3.0, 1e-9).unwrap().len(), 1);
    assert_eq!(roots_at(&mut cubic(), &branch, 4.0, 1e-9).unwrap().len(), 1);
    assert!(
        roots_at(&mut cubic(), &branch, 4.5, 1e-9)
            .unwrap()
            .is_empty()
    );
    // Two roots 2e-5 apart just inside the fold, one point on the fold itself and the other root.
    let (near, fold) = (2.0 - 3e-10, branch.folds().next().unwrap().state.p);
    let near = roots_at(&mut cubic(), &branch, near, 1e-9).unwrap();
    assert_eq!(near.len(), 3);
    assert!(
        (near[0].y[0] - 1.0 - 1e-5).abs() < 1e-9 && (near[1].y[0] - 1.0 + 1e-5).abs() < 1e-9,
        "{near:?}"
    );
    assert_eq!(
        roots_at(&mut cubic(), &branch, fold, 1e-9).unwrap().len(),
        2
    );
}

#[test]
fn every_fold_of_a_winding_branch_is_found() {
    // y' = p - y - 2 sin y: folds where cos y = -1/2.
    let mut family = scalar(
        |y, p| p - y - 2.0 * y.sin(),
        |y, _| -1.0 - 2.0 * y.cos(),
        |_, _| 1.0,
    );
    let stop = AtomicBool::new(false);
    let branch = follow(
        &mut family,
        &[0.0],
        0.0,
        &Options::new(-1.0, 40.0, Direction::Up, &stop),
    )
    .unwrap();
    assert_eq!(branch.end, End::OfRange);
    let last = branch.points.last().unwrap().state.y[0];
    let mut wanted: Vec<f64> = (0..10)
        .flat_map(|k| [2.0, 4.0].map(|third| third * PI / 3.0 + 2.0 * PI * f64::from(k)))
        .collect();
    wanted.retain(|&y| y < last);
    assert!(wanted.len() >= 12);
    let folds: Vec<f64> = branch.folds().map(|point| point.state.y[0]).collect();
    assert_eq!(
        (folds.len(), branch.specials.len()),
        (wanted.len(), wanted.len())
    );
    for (found, wanted) in folds.iter().zip(&wanted) {
        assert!((found - wanted).abs() < 1e-8, "{found} {wanted}");
    }
}

#[test]
fn the_brusselator_starts_to_swing_at_its_hopf_point() {
    // x' = a - (b + 1) x + x^2 y, y' = b x - x^2 y (Prigogine & Lefever 1968): b = 1 + a^2, frequency a.
    for a in [0.5, 1.0, 2.0] {
        let mut family = Closures {
            scales: vec![1.0, 1.0],
            residual: move |y: &[f64], b: f64, f: &mut [f64]| {
                f[0] = a - (b + 1.0) * y[0] + y[0] * y[0] * y[1];
                f[1] = b * y[0] - y[0] * y[0] * y[1];
            },
            jacobian: |y: &[f64], b: f64, j: &mut [f64], jp: &mut [f64]| {
                j.copy_from_slice(&[
                    -(b + 1.0) + 2.0 * y[0] * y[1],
                    y[0] * y[0],
                    b - 2.0 * y[0] * y[1],
                    -y[0] * y[0],
                ]);
                jp.copy_from_slice(&[-y[0], y[0]]);
            },
        };
        assert_derivatives(&mut family, &[1.3, 0.7], 1.9);
        let stop = AtomicBool::new(false);
        let branch = follow(
            &mut family,
            &[a, 0.3 / a],
            0.3,
            &Options::new(0.3, 8.0, Direction::Up, &stop),
        )
        .unwrap();
        assert_eq!(
            (branch.specials.len(), branch.end.clone()),
            (1, End::OfRange)
        );
        let hopf = branch.hopf_points().next().unwrap();
        let SpecialKind::Hopf { frequency } = branch.specials[0].kind else {
            panic!("{:?}", branch.specials)
        };
        assert!(
            (hopf.state.p / (1.0 + a * a) - 1.0).abs() < 1e-8,
            "b {}",
            hopf.state.p
        );
        assert!((frequency / a - 1.0).abs() < 1e-8, "frequency {frequency}");
        for point in branch
            .points
            .iter()
            .filter(|point| (point.state.p - 1.0 - a * a).abs() > 1e-6)
        {
            assert_eq!(
                point.state.unstable,
                if point.state.p < 1.0 + a * a { 0 } else { 2 }
            );
        }
    }
}

/// `y' = p y - y^3`, refused within 1e-9 of its crossing, where no tangent is to be had.
struct Pitchfork;

impl Family for Pitchfork {
    fn dim(&self) -> usize {
        1
    }

    fn residual(&mut self, y: &[f64], p: f64, f: &mut [f64]) -> Result<(), RhsFailure> {
        f[0] = p * y[0] - y[0].powi(3);
        if p.abs() < 1e-9 {
            Err(RhsFailure::Recoverable("crossing".into()))
        } else {
            Ok(())
        }
    }

    fn jacobian(
        &mut self,
        y: &[f64],
        p: f64,
        j: &mut [f64],
        jp: &mut [f64],
    ) -> Result<(), RhsFailure> {
        j[0] = p - 3.0 * y[0] * y[0];
        jp[0] = y[0];
        Ok(())
    }

    fn scale(&self, _: usize) -> f64 {
        1.0
    }
}

#[test]
fn a_pitchfork_is_an_exchange_on_its_straight_branch() {
    let stop = AtomicBool::new(false);
    for p0 in [-1.0, -0.77] {
        let options = Options::new(-1.0, 1.0, Direction::Up, &stop);
        let branch = follow(&mut Pitchfork, &[0.0], p0, &options).unwrap();
        assert_eq!(
            (branch.specials.len(), branch.end.clone()),
            (1, End::OfRange)
        );
        let exchange = branch.exchanges().next().unwrap();
        assert!(exchange.state.p.abs() < 1e-6, "{:e}", exchange.state.p);
        assert!(branch.points.iter().all(|point| point.state.y[0] == 0.0));
    }
}

#[test]
fn an_end_of_the_range_just_before_a_fold_is_met_on_the_near_side() {
    let stop = AtomicBool::new(false);
    let p_max = 2.0 - 3e-10;
    let branch = follow(
        &mut cubic(),
        &[2.2],
        -4.0,
        &Options::new(-4.0, p_max, Direction::Up, &stop),
    )
    .unwrap();
    let last = &branch.points.last().unwrap().state;
    assert_eq!(
        (branch.end, branch.specials.len(), last.p),
        (End::OfRange, 0, p_max)
    );
    assert!(
        (last.y[0] - 1.0 - 1e-5).abs() < 1e-9 && last.stable,
        "{last:?}"
    );
}

#[test]
fn an_end_of_the_range_on_a_fold_leaves_the_fold_in() {
    let stop = AtomicBool::new(false);
    let options = Options::new(-4.0, 2.0, Direction::Up, &stop);
    let branch = follow(&mut cubic(), &[2.2], -4.0, &options).unwrap();
    let last = &branch.points.last().unwrap().state;
    assert_eq!(
        (branch.end, branch.specials.len(), last.p),
        (End::OfRange, 2, 2.0)
    );
    // y^3 - 3 y + 2 = (y - 1)^2 (y + 2).
    assert!((last.y[0] + 2.0).abs() < 1e-12 && last.stable, "{last:?}");
}

#[test]
fn a_closed_branch_is_walked_once() {
    // y' = 1 - y^2 - p^2 / 4 - y p / 4: an ellipse, with folds where y = -p / 8, p^2 = 64 / 15.
    let mut family = scalar(
        |y, p| 1.0 - y * y - 0.25 * p * p - 0.25 * y * p,
        |y, p| -2.0 * y - 0.25 * p,
        |y, p| -0.5 * p - 0.25 * y,
    );
    let stop = AtomicBool::new(false);
    let fine = Options::new(-5.0, 5.0, Direction::Down, &stop);
    let coarse = Options {
        first_step: 0.3,
        max_step: 0.5,
        ..fine.clone()
    };
    for options in [fine, coarse] {
        let branch = follow(&mut family, &[1.0], 0.3, &options).unwrap();
        assert_eq!(branch.end, End::Closed);
        let (first, last) = (
            &branch.points[0].state,
            &branch.points.last().unwrap().state,
        );
        assert!((first.y[0] - last.y[0]).abs() < 1e-5 && (first.p - last.p).abs() < 1e-5);
        let folds: Vec<f64> = branch.folds().map(|point| point.state.p).collect();
        let wanted = (64.0_f64 / 15.0).sqrt();
        assert_eq!(branch.specials.len(), 2);
        assert!(
            (folds[0] + wanted).abs() < 1e-9 && (folds[1] - wanted).abs() < 1e-9,
            "{folds:?}"
        );
        assert_eq!(roots_at(&mut family, &branch, 0.3, 1e-9).unwrap().len(), 2);
        // Only the coarse walk tries steps that turn too far.
        assert_eq!(
            branch.work.refused_turn > 0,
            options.max_step > 0.1,
            "{:?}",
            branch.work
        );
    }
}

#[test]
fn special_points_of_every_sort_within_one_step_are_told_apart() {
    // Three motions side by side with p on the fold's curve p = 2 - (x - 1)^2 near x = 1: a fold at x = 1,
    // a population z' = (x - 1.0003) z on its empty branch (exchange at x = 1.0003), and an oscillator damped by
    // x - 0.9996 (Hopf point there). Steps are thousands of times longer than these distances.
    let mut family = Closures {
        scales: vec![1.0; 4],
        residual: |y: &[f64], p: f64, f: &mut [f64]| {
            f[0] = -(p - 2.0 + (y[0] - 1.0).powi(2));
            f[1] = (1.0003 - y[0]) * y[1] - y[1] * y[1];
            f[2] = (0.9996 - y[0]) * y[2] - 3.0 * y[3];
            f[3] = (0.9996 - y[0]) * y[3] + 3.0 * y[2];
        },
        jacobian: |y: &[f64], _: f64, j: &mut [f64], jp: &mut [f64]| {
            j.fill(0.0);
            j[0] = -2.0 * (y[0] - 1.0);
            j[4] = -y[1];
            j[5] = 1.0003 - y[0] - 2.0 * y[1];
            j[8] = -y[2];
            j[10] = 0.9996 - y[0];
            j[11] = -3.0;
            j[12] = -y[3];
            j[14] = 3.0;
            j[15] = 0.9996 - y[0];
            jp.fill(0.0);
            jp[0] = -1.0;
        },
    };
    assert_derivatives(&mut family, &[1.3, 0.2, 0.3, 0.4], 1.1);
    let stop = AtomicBool::new(false);
    let options = Options {
        max_step: 0.5,
        first_step: 0.3,
        ..Options::new(0.0, 3.0, Direction::Up, &stop)
    };
    let branch = follow(&mut family, &[2.2, 0.0, 0.0, 0.0], 0.56, &options).unwrap();
    let met: Vec<(SpecialKind, f64)> = branch
        .specials
        .iter()
        .map(|s| (s.kind, branch.points[s.index].state.y[0]))
        .collect();
    assert_eq!(met.len(), 3, "{met:?}");
    assert!(
        met[0].0 == SpecialKind::Exchange && (met[0].1 - 1.0003).abs() < 1e-6,
        "{met:?}"
    );
    assert!(
        met[1].0 == SpecialKind::Fold && (met[1].1 - 1.0).abs() < 1e-8,
        "{met:?}"
    );
    let SpecialKind::Hopf { frequency } = met[2].0 else {
        panic!("{met:?}")
    };
    assert!(
        (frequency - 3.0).abs() < 1e-6 && (met[2].1 - 0.9996).abs() < 1e-6,
        "{met:?}"
    );
}

#[test]
fn units_and_stiffness_do_not_move_a_fold() {
    // Ten states: the cubic's fold in hidden x, rates from 1e-2 to 1e7, mixed, and in units from 1e-7 to 1e2.
    const N: usize = 10;
    let rate = |i: usize| 10_f64.powi(i as i32 - 2);
    let unit = |i: usize| 10_f64.powi(i as i32 - 7);
    // y_i = unit_i (x_i + x_0 / 2 + x_{i-1} / 4 beyond the first), undone from the top down.
    let hidden = move |y: &[f64]| {
        let mut x = [0.0; N];
        for i in 0..N {
            x[i] = y[i] / unit(i);
            if i > 0 {
                x[i] -= 0.5 * x[0] + 0.25 * x[i - 1];
            }
        }
        x
    };
    let seen = move |x: &[f64]| -> Vec<f64> {
        (0..N)
            .map(|i| {
                unit(i)
                    * if i > 0 {
                        x[i] + 0.5 * x[0] + 0.25 * x[i - 1]
                    } else {
                        x[i]
                    }
            })
            .collect()
    };
    let mut family = Closures {
        scales: (0..N).map(unit).collect(),
        residual: move |y: &[f64], p: f64, f: &mut [f64]| {
            let x = hidden(y);
            let mut dx = [0.0; N];
            dx[0] = -(x[0].powi(3) - 3.0 * x[0] + p);
            for i in 1..N {
                dx[i] = -rate(i) * (x[i] - 1.0 - x[0] * x[i - 1]);
            }
            f.copy_from_slice(&seen(&dx));
        },
        jacobian: move |y: &[f64], _: f64, j: &mut [f64], jp: &mut [f64]| {
            let x = hidden(y);
            for column in 0..N {
                let mut e = [0.0; N];
                e[column] = 1.0;
                let ex = hidden(&e);
                let mut dx = [0.0; N];
                dx[0] = (3.0 - 3.0 * x[0] * x[0]) * ex[0];
                for i in 1..N {
                    dx[i] = -rate(i) * (ex[i] - ex[0] * x[i - 1] - x[0] * ex[i - 1]);
                }
                for (i, value) in seen(&dx).into_iter().enumerate() {
                    j[i * N + column] = value;
                }
            }
            let mut dx = [0.0; N];
            dx[0] = -1.0;
            jp.copy_from_slice(&seen(&dx));
        },
    };
    // At a given x_0 the others follow: x_i = 1 + x_0 x_{i-1}.
    let state = |first: f64| {
        let mut x = [first; N];
        for i in 1..N {
            x[i] = 1.0 + first * x[i - 1];
        }
        seen(&x)
    };
    let first: f64 = 1.2;
    let p0 = 3.0 * first - first.powi(3);
    let stop = AtomicBool::new(false);
    let branch = follow(
        &mut family,
        &state(first),
        p0,
        &Options::new(-3.0, 3.0, Direction::Up, &stop),
    )
    .unwrap();
    assert_eq!(branch.end, End::OfRange);
    let folds: Vec<_> = branch.folds().collect();
    assert_eq!((folds.len(), branch.specials.len()), (2, 2));
    for (fold, (p, x)) in folds.iter().zip([(2.0, 1.0), (-2.0, -1.0)]) {
        assert!(
            (fold.state.p / p - 1.0).abs() < 1e-10,
            "p {:e}",
            fold.state.p / p - 1.0
        );
        for (found, wanted) in fold.state.y.iter().zip(state(x)) {
            assert!((found / wanted - 1.0).abs() < 1e-7, "{found} {wanted}");
        }
        // The size of the matrix, 1e7 and more, times the rounding.
        assert!(
            fold.state.leading.0.abs() < 1e-7,
            "{:?}",
            fold.state.leading
        );
    }
}
