//! Starts, ends, refusals and failures.

use std::sync::atomic::{AtomicBool, Ordering};

use marshgas::solver::RhsFailure;
use marshgas::solver::continuation::{
    Cause, ContinuationFailure, Direction, End, Family, LogStates, Options, follow, roots_at,
    stationary,
};

use super::family::{Closures, scalar};

static GO: AtomicBool = AtomicBool::new(false);

fn line() -> impl Family {
    scalar(|y, p| p - y, |_, _| -1.0, |_, _| 1.0)
}

/// `y' = p - y` with a wall: states above 1.5 are refused in the given way.
struct Walled<W>(W);

impl<W: Fn() -> RhsFailure> Walled<W> {
    fn check(&self, y: f64) -> Result<(), RhsFailure> {
        if y > 1.5 { Err((self.0)()) } else { Ok(()) }
    }
}

impl<W: Fn() -> RhsFailure> Family for Walled<W> {
    fn dim(&self) -> usize {
        1
    }

    fn residual(&mut self, y: &[f64], p: f64, f: &mut [f64]) -> Result<(), RhsFailure> {
        f[0] = p - y[0];
        self.check(y[0])
    }

    fn jacobian(
        &mut self,
        y: &[f64],
        _: f64,
        dfdy: &mut [f64],
        dfdp: &mut [f64],
    ) -> Result<(), RhsFailure> {
        dfdy[0] = -1.0;
        dfdp[0] = 1.0;
        self.check(y[0])
    }

    fn scale(&self, _: usize) -> f64 {
        1.0
    }
}

#[test]
fn both_ends_of_the_range_are_met_exactly() {
    for (direction, end) in [(Direction::Up, 2.0), (Direction::Down, -1.0)] {
        let branch = follow(
            &mut line(),
            &[0.0],
            0.3,
            &Options::new(-1.0, 2.0, direction, &GO),
        )
        .unwrap();
        let last = &branch.points.last().unwrap().state;
        assert_eq!((last.p, branch.end), (end, End::OfRange));
        assert!((last.y[0] - end).abs() < 1e-14);
    }
}

#[test]
fn a_start_on_the_end_of_the_range_is_a_branch_of_one_point() {
    let branch = follow(
        &mut line(),
        &[0.0],
        2.0,
        &Options::new(-1.0, 2.0, Direction::Up, &GO),
    )
    .unwrap();
    assert_eq!((branch.points.len(), branch.end), (1, End::OfRange));
    assert_eq!(branch.points[0].state.leading, (-1.0, 0.0));
}

#[test]
fn a_wall_ends_the_branch_close_to_it_with_its_reason() {
    let mut walled = Walled(|| RhsFailure::Recoverable("wall".into()));
    let branch = follow(
        &mut walled,
        &[0.0],
        0.0,
        &Options::new(0.0, 2.0, Direction::Up, &GO),
    )
    .unwrap();
    assert_eq!(
        branch.end,
        End::StepTooSmall {
            cause: Cause::Refused("wall".into())
        }
    );
    let last = branch.points.last().unwrap().state.p;
    assert!(last <= 1.5 && last > 1.5 - 1e-6, "{last}");
    assert!(branch.work.refused_corrector > 0);
}

#[test]
fn a_fatal_refusal_is_a_failure() {
    let mut walled = Walled(|| RhsFailure::Fatal("broken".into()));
    let failure = follow(
        &mut walled,
        &[0.0],
        0.0,
        &Options::new(0.0, 2.0, Direction::Up, &GO),
    )
    .unwrap_err();
    let ContinuationFailure::Fatal { p, message } = failure else {
        panic!("{failure:?}")
    };
    assert!(message == "broken" && p > 1.4, "{p}");
}

#[test]
fn a_state_that_leaves_its_region_ends_the_branch() {
    struct Bounded<F>(F);
    impl<F: Family> Family for Bounded<F> {
        fn dim(&self) -> usize {
            self.0.dim()
        }
        fn residual(&mut self, y: &[f64], p: f64, f: &mut [f64]) -> Result<(), RhsFailure> {
            self.0.residual(y, p, f)
        }
        fn jacobian(
            &mut self,
            y: &[f64],
            p: f64,
            dfdy: &mut [f64],
            dfdp: &mut [f64],
        ) -> Result<(), RhsFailure> {
            self.0.jacobian(y, p, dfdy, dfdp)
        }
        fn scale(&self, i: usize) -> f64 {
            self.0.scale(i)
        }
        fn boundary(&self, y: &[f64], _: f64) -> Option<usize> {
            (y[0] > 1.0).then_some(0)
        }
    }
    let branch = follow(
        &mut Bounded(line()),
        &[0.0],
        0.0,
        &Options::new(0.0, 2.0, Direction::Up, &GO),
    )
    .unwrap();
    assert_eq!(branch.end, End::Boundary { state: 0 });
    let outside = branch
        .points
        .iter()
        .filter(|point| point.state.y[0] > 1.0)
        .count();
    assert_eq!(outside, 1);
}

#[test]
fn the_caller_can_stop_and_can_limit_the_points() {
    let stop = AtomicBool::new(false);
    stop.store(true, Ordering::Relaxed);
    let branch = follow(
        &mut line(),
        &[0.0],
        0.0,
        &Options::new(0.0, 2.0, Direction::Up, &stop),
    )
    .unwrap();
    assert_eq!((branch.points.len(), branch.end), (1, End::Stopped));
    let options = Options {
        max_points: 3,
        ..Options::new(0.0, 2.0, Direction::Up, &GO)
    };
    let branch = follow(&mut line(), &[0.0], 0.0, &options).unwrap();
    assert_eq!((branch.points.len(), branch.end), (4, End::TooManyPoints));
}

#[test]
fn a_sharp_bend_shortens_the_steps_and_is_passed() {
    // y = sqrt(p^2 + 1e-6): the slope turns from -1 to 1 within about 1e-3.
    let mut family = scalar(
        |y, p| (p * p + 1e-6).sqrt() - y,
        |_, _| -1.0,
        |_, p| p / (p * p + 1e-6).sqrt(),
    );
    let branch = follow(
        &mut family,
        &[1.0],
        -1.0,
        &Options::new(-1.0, 1.0, Direction::Up, &GO),
    )
    .unwrap();
    assert_eq!((branch.end, branch.specials.len()), (End::OfRange, 0));
    assert!(branch.work.refused_turn + branch.work.refused_corrector > 0);
    let bend = branch
        .points
        .iter()
        .filter(|point| point.state.p.abs() < 2e-3)
        .count();
    assert!(bend >= 5, "{bend}");
}

#[test]
fn where_newton_hangs_the_motion_in_time_leads_on() {
    // y' = -(y^3 - 3 y + 3): Newton from 2 hangs at the place where the fold was; the only state lies at the other side.
    let mut family = scalar(
        |y, p| -(y.powi(3) - 3.0 * y + p),
        |y, _| -3.0 * y * y + 3.0,
        |_, _| -1.0,
    );
    let found = stationary(&mut family, 3.0, &[2.0], 1e-10).unwrap();
    // Cardano: -(u + 1/u) with u^3 = (3 + sqrt 5) / 2.
    let u = (0.5 * (3.0 + 5_f64.sqrt())).cbrt();
    assert!(
        (found.y[0] + u + 1.0 / u).abs() < 1e-12 && found.stable,
        "{found:?}"
    );
}

#[test]
fn an_unstable_state_near_the_guess_is_found_too() {
    let mut family = scalar(
        |y, p| -(y.powi(3) - 3.0 * y + p),
        |y, _| -3.0 * y * y + 3.0,
        |_, _| -1.0,
    );
    let found = stationary(&mut family, 0.0, &[0.1], 1e-10).unwrap();
    assert!(
        found.y[0].abs() < 1e-12
            && !found.stable
            && found.leading == (3.0, 0.0)
            && found.unstable == 1
    );
}

#[test]
fn without_a_steady_state_there_is_no_result() {
    let mut family = scalar(|y, _| 1.0 + y * y, |y, _| 2.0 * y, |_, _| 0.0);
    let failure = stationary(&mut family, 0.0, &[0.3], 1e-9).unwrap_err();
    assert!(
        matches!(failure, ContinuationFailure::NoSteadyState { p: 0.0, .. }),
        "{failure:?}"
    );
    let failure = follow(
        &mut family,
        &[0.3],
        0.0,
        &Options::new(0.0, 1.0, Direction::Up, &GO),
    )
    .unwrap_err();
    assert!(
        failure.to_string().contains("try a guess nearer"),
        "{failure}"
    );
}

#[test]
fn a_start_on_a_crossing_has_no_direction() {
    let mut family = scalar(|y, p| p * y - y * y, |y, p| p - 2.0 * y, |y, _| y);
    let failure = follow(
        &mut family,
        &[0.0],
        0.0,
        &Options::new(-1.0, 1.0, Direction::Up, &GO),
    )
    .unwrap_err();
    let singular = matches!(
        failure,
        ContinuationFailure::NoDirection { .. }
            | ContinuationFailure::NoSteadyState {
                cause: Cause::Singular,
                ..
            }
    );
    assert!(singular, "{failure:?}");
}

#[test]
fn numbers_that_are_not_finite_are_named_by_row() {
    let mut family = Closures {
        scales: vec![1.0, 1.0],
        residual: |y: &[f64], p: f64, f: &mut [f64]| {
            f.copy_from_slice(&[p - y[0], (y[0] - 1.0).ln()])
        },
        jacobian: |_: &[f64], _: f64, j: &mut [f64], jp: &mut [f64]| {
            j.copy_from_slice(&[-1.0, 0.0, 1.0, 0.0]);
            jp.copy_from_slice(&[1.0, 0.0]);
        },
    };
    let failure = stationary(&mut family, 0.5, &[0.5, 0.0], 1e-9).unwrap_err();
    assert_eq!(
        failure,
        ContinuationFailure::NoSteadyState {
            p: 0.5,
            cause: Cause::NotFinite { row: 1 }
        }
    );
}

#[test]
fn unsuitable_options_are_refused_by_name() {
    let good = Options::new(0.0, 2.0, Direction::Up, &GO);
    let cases = [
        (
            Options {
                p_min: f64::NAN,
                ..good.clone()
            },
            0.5,
            "smallest parameter",
        ),
        (
            Options {
                p_max: 0.0,
                ..good.clone()
            },
            0.0,
            "largest parameter",
        ),
        (
            Options {
                p_max: f64::INFINITY,
                ..good.clone()
            },
            0.0,
            "largest parameter",
        ),
        (good.clone(), 2.5, "starting parameter"),
        (good.clone(), f64::NAN, "starting parameter"),
        (
            Options {
                max_step: 1.5,
                ..good.clone()
            },
            0.5,
            "longest step",
        ),
        (
            Options {
                min_step: 0.0,
                ..good.clone()
            },
            0.5,
            "shortest step",
        ),
        (
            Options {
                first_step: 0.2,
                ..good.clone()
            },
            0.5,
            "first step",
        ),
        (
            Options {
                max_points: 0,
                ..good.clone()
            },
            0.5,
            "largest number of points",
        ),
        (
            Options {
                tolerance: 0.1,
                ..good.clone()
            },
            0.5,
            "tolerance",
        ),
    ];
    for (options, p0, named) in cases {
        let failure = follow(&mut line(), &[0.0], p0, &options).unwrap_err();
        let ContinuationFailure::Range { what, .. } = failure else {
            panic!("{failure:?}")
        };
        assert_eq!(what, named);
    }
    let wrong_length = follow(&mut line(), &[0.0, 1.0], 0.5, &good).unwrap_err();
    assert_eq!(
        wrong_length,
        ContinuationFailure::Length {
            what: "the guess",
            given: 2,
            dim: 1
        }
    );
    let not_finite = stationary(&mut line(), 0.5, &[f64::NAN], 1e-9).unwrap_err();
    assert!(
        not_finite
            .to_string()
            .starts_with("guess of state 0 is NaN"),
        "{not_finite}"
    );
    let branch = follow(&mut line(), &[0.5], 0.5, &good).unwrap();
    assert!(roots_at(&mut line(), &branch, 1.0, 0.5).is_err());
}

#[test]
fn logarithms_ask_for_positive_states() {
    assert!(LogStates::new(line(), vec![true, false]).is_err());
    let logs = LogStates::new(line(), vec![true]).unwrap();
    let failure = logs.enter(&[0.0]).unwrap_err();
    assert!(
        failure
            .to_string()
            .contains("above 0, since its logarithm is taken"),
        "{failure}"
    );
    assert!(logs.enter(&[1.0, 2.0]).is_err());
}
