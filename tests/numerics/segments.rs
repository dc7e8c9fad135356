//! Segments: exact ends, nothing beyond them, steps carried over jumps, the inside of steps, auxiliary unknowns.

use marshgas::solver::{Integrator, Method, Options, Pattern, RhsFailure, System};

use crate::problems::*;

const IMPLICIT: [Method; 3] = [Method::Rodas5P, Method::Rodas4, Method::Rodas4P];

#[test]
fn steps_join_and_end_exactly() {
    for method in Method::ALL {
        let mut system = moving();
        let mut integrator =
            Integrator::new(&system, Options::new(method, 1e-6, vec![1e-8; 2])).unwrap();
        let mut y = system.start.clone();
        // Thirds do not add up to a whole in binary.
        let ends: Vec<f64> = (0..=12).map(|k| f64::from(k) / 3.0).collect();
        let mut at = 0.0;
        let mut inside = vec![0.0; 2];
        for pair in ends.windows(2) {
            integrator
                .advance(&mut system, pair[0], pair[1], &mut y, &mut |step| {
                    assert_eq!(step.start(), at, "{method:?}");
                    assert!(step.end() > step.start());
                    at = step.end();
                    // The ends of a step are met exactly, and beyond them too.
                    for (t, expected) in
                        [(step.start(), step.y_start()), (step.end(), step.y_end())]
                    {
                        step.eval(t, &mut inside);
                        assert_eq!(inside, expected);
                    }
                    step.eval(step.end() + 1.0, &mut inside);
                    assert_eq!(inside, step.y_end());
                })
                .unwrap();
            assert_eq!(at, pair[1], "{method:?}");
        }
        let exact = moving_solution(4.0);
        for i in 0..2 {
            assert!(
                (y[i] - exact[i]).abs() < 1e-5 * exact[i],
                "{method:?}: {y:?}, {exact:?}"
            );
        }
        assert_eq!(integrator.statistics().segments, 12);
    }
}

#[test]
fn a_segment_of_no_length_does_nothing() {
    let mut system = moving();
    let mut integrator =
        Integrator::new(&system, Options::new(Method::Rodas4, 1e-6, vec![1e-8; 2])).unwrap();
    let mut y = vec![1.0, 2.0];
    integrator
        .advance(&mut system, 3.0, 3.0, &mut y, &mut |_| {
            panic!("no step was due")
        })
        .unwrap();
    assert_eq!(
        (y, system.calls, integrator.statistics().segments),
        (vec![1.0, 2.0], 0, 0)
    );
}

#[test]
fn negative_and_late_times_are_as_good_as_any() {
    for method in Method::ALL {
        for t0 in [-5.0, 0.0, 1e5] {
            let mut system = stirred_tank(50.0, 70.0, 0.15, 10.0);
            let options = Options::new(method, 1e-8, vec![1e-9]);
            let mut integrator = Integrator::new(&system, options).unwrap();
            let mut y = system.start.clone();
            integrator
                .advance(&mut system, t0, t0 + 7.0, &mut y, &mut |_| {})
                .unwrap();
            let steady = 70.0 / 10.0 / 0.25;
            let exact = steady + (50.0 - steady) * (-0.25f64 * 7.0).exp();
            assert!(
                (y[0] - exact).abs() < 1e-7 * exact,
                "{method:?} from {t0}: {} and {exact}",
                y[0]
            );
        }
    }
}

/// Notes the earliest and latest time it was asked for.
struct Watched {
    inner: Problem,
    earliest: f64,
    latest: f64,
}

impl System for Watched {
    fn dim(&self) -> usize {
        self.inner.dim()
    }
    fn rhs(&mut self, t: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
        self.earliest = self.earliest.min(t);
        self.latest = self.latest.max(t);
        self.inner.rhs(t, y, dy)
    }
    fn pattern(&self) -> &Pattern {
        self.inner.pattern()
    }
    fn jacobian(
        &mut self,
        t: f64,
        y: &[f64],
        dy: &mut [f64],
        dfdt: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), RhsFailure> {
        self.earliest = self.earliest.min(t);
        self.latest = self.latest.max(t);
        self.inner.jacobian(t, y, dy, dfdt, values)
    }
}

#[test]
fn the_right_hand_side_is_never_asked_outside_the_segment() {
    // Beyond a knot another piece of the weather begins.
    for method in Method::ALL {
        let mut system = Watched {
            inner: moving(),
            earliest: 0.0,
            latest: 0.0,
        };
        let mut integrator =
            Integrator::new(&system, Options::new(method, 1e-7, vec![1e-9; 2])).unwrap();
        let mut y = system.inner.start.clone();
        for k in 0..50 {
            let (t0, t1) = (f64::from(k) * 0.1, f64::from(k + 1) * 0.1);
            (system.earliest, system.latest) = (f64::INFINITY, f64::NEG_INFINITY);
            integrator
                .advance(&mut system, t0, t1, &mut y, &mut |_| {})
                .unwrap();
            assert!(
                system.earliest >= t0,
                "{method:?}: {} before {t0}",
                system.earliest
            );
            assert!(
                system.latest <= t1,
                "{method:?}: {} after {t1}",
                system.latest
            );
        }
    }
}

#[test]
fn the_longest_step_is_kept() {
    for method in Method::ALL {
        // Once the segment is a multiple of the step, once a little more.
        for (end, allowed) in [
            (10.0, 1e-9),
            (10.01, if method == Method::Dopri5 { 0.01 } else { 1e-9 }),
        ] {
            let mut system = stirred_tank(50.0, 70.0, 0.15, 10.0);
            let mut options = Options::new(method, 1e-3, vec![1e-3]);
            options.max_step = 0.25;
            let mut integrator = Integrator::new(&system, options).unwrap();
            integrator
                .advance(&mut system, 0.0, end, &mut [50.0], &mut |_| {})
                .unwrap();
            let s = integrator.statistics();
            assert!(
                s.largest_step <= 0.25 * (1.0 + allowed),
                "{method:?}: {}",
                s.largest_step
            );
            assert!(s.accepted >= 40);
        }
    }
}

#[test]
fn a_reset_integrator_repeats_itself_to_the_last_bit() {
    for method in Method::ALL {
        let mut system = kaps(0.1);
        let mut integrator =
            Integrator::new(&system, Options::new(method, 1e-5, vec![1e-7; 2])).unwrap();
        let mut run = |integrator: &mut Integrator| {
            let mut y = vec![1.5, 1.0];
            for k in 0..3 {
                integrator
                    .advance(
                        &mut system,
                        f64::from(k),
                        f64::from(k + 1),
                        &mut y,
                        &mut |_| {},
                    )
                    .unwrap();
                y[0] += 0.5;
            }
            (y, *integrator.statistics())
        };
        let first = run(&mut integrator);
        integrator.reset();
        assert_eq!(first, run(&mut integrator), "{method:?}");
    }
}

/// Accepted and rejected steps of a stiff system thrown off its slow path twenty times; with `fresh`, by a new
/// integrator each time.
fn daily(method: Method, fresh: bool) -> (u64, u64) {
    let mut system = kaps(1e-4);
    let options = Options::new(method, 1e-4, vec![1e-6; 2]);
    let mut integrator = Integrator::new(&system, options.clone()).unwrap();
    let (mut accepted, mut rejected) = (0, 0);
    for day in 0..20 {
        if fresh {
            integrator = Integrator::new(&system, options.clone()).unwrap();
        }
        integrator.reset_statistics();
        let mut y = vec![1.5, 1.0];
        let t0 = f64::from(day);
        integrator
            .advance(&mut system, t0, t0 + 1.0, &mut y, &mut |_| {})
            .unwrap();
        accepted += integrator.statistics().accepted;
        rejected += integrator.statistics().rejected();
    }
    (accepted, rejected)
}

#[test]
fn the_step_that_fitted_after_a_jump_is_carried_to_the_next() {
    for method in IMPLICIT {
        let (carried, fresh) = (daily(method, false), daily(method, true));
        println!("{method:?}: accepted and rejected {carried:?}, without carrying {fresh:?}");
        assert!(
            carried.0 + carried.1 < fresh.0 + fresh.1,
            "{method:?}: {carried:?} and {fresh:?}"
        );
    }
}

#[test]
fn cutting_a_smooth_stretch_costs_little() {
    for method in IMPLICIT {
        let count = |pieces: u32| {
            let mut system = hires();
            let mut integrator =
                Integrator::new(&system, Options::new(method, 1e-5, vec![1e-8; 8])).unwrap();
            let mut y = system.start.clone();
            for k in 0..pieces {
                let t = |k: u32| 300.0 * f64::from(k) / f64::from(pieces);
                integrator
                    .advance(&mut system, t(k), t(k + 1), &mut y, &mut |_| {})
                    .unwrap();
            }
            integrator.statistics().accepted
        };
        let (whole, cut) = (count(1), count(20));
        println!("{method:?}: {whole} steps in one piece, {cut} in twenty");
        assert!(cut <= whole + 2 * 20, "{method:?}: {whole} and {cut}");
    }
}

#[test]
fn auxiliary_unknowns_give_what_the_algebraic_system_gives() {
    for method in IMPLICIT {
        let mut reference = auxiliary_as_algebraic();
        // The unknown must not speak in the error norm, as it does not when it is auxiliary.
        let options = Options::new(method, 1e-9, vec![1e-11, 1e-11, 1e6]);
        let mut integrator = Integrator::new(&reference, options).unwrap();
        let mut expected = reference.start.clone();
        integrator
            .advance(&mut reference, 0.0, 3.0, &mut expected, &mut |_| {})
            .unwrap();
        let without = integrator.statistics().accepted;

        let mut system = Auxiliary::new();
        let mut integrator =
            Integrator::new(&system, Options::new(method, 1e-9, vec![1e-11; 2])).unwrap();
        let mut y = vec![1.0, 0.0];
        integrator
            .advance(&mut system, 0.0, 3.0, &mut y, &mut |_| {})
            .unwrap();
        for i in 0..2 {
            assert!(
                (y[i] - expected[i]).abs() < 1e-8,
                "{method:?}: {y:?} and {expected:?}"
            );
        }
        // The Jacobian is exact: eliminating costs no steps.
        let with = integrator.statistics().accepted;
        println!(
            "{method:?}: {with} steps with an auxiliary unknown, {without} with an algebraic state"
        );
        assert!(
            with <= without + without / 10,
            "{method:?}: {with} and {without} steps"
        );
    }
}

#[test]
fn algebraic_states_are_balanced_after_a_jump() {
    for method in IMPLICIT {
        let mut system = kaps(0.0);
        let mut integrator =
            Integrator::new(&system, Options::new(method, 1e-8, vec![1e-10; 2])).unwrap();
        // The differential state is set, the algebraic one left where it was, far from its square.
        let mut y = vec![0.01, 1.0];
        integrator
            .advance(&mut system, 0.0, 1.0, &mut y, &mut |_| {})
            .unwrap();
        let exact = kaps_solution(1.0);
        for i in 0..2 {
            assert!(
                (y[i] - exact[i]).abs() < 1e-7,
                "{method:?}: {y:?} and {exact:?}"
            );
        }
        y[1] = 1.0;
        integrator
            .advance(&mut system, 1.0, 2.0, &mut y, &mut |_| {})
            .unwrap();
        for i in 0..2 {
            assert!(
                (y[i] - exact[i]).abs() < 1e-7,
                "{method:?} after the jump: {y:?} and {exact:?}"
            );
        }
    }
}

#[test]
fn algebraic_rows_without_a_diagonal_are_solved_by_dense_pivoting() {
    for method in IMPLICIT {
        let mut system = crossed();
        let mut integrator =
            Integrator::new(&system, Options::new(method, 1e-7, vec![1e-9; 3])).unwrap();
        let mut y = system.start.clone();
        integrator
            .advance(&mut system, 0.0, 2.0, &mut y, &mut |_| {})
            .unwrap();
        let exact = [(-2.0f64).exp(), (-2.0f64).exp(), 2.0 * (-2.0f64).exp()];
        for i in 0..3 {
            assert!(
                (y[i] - exact[i]).abs() < 1e-6,
                "{method:?}: {y:?} and {exact:?}"
            );
        }
        let s = integrator.statistics();
        assert!(
            s.dense_factorisations > s.accepted && s.factorisations == 0,
            "{method:?}: {s:?}"
        );
    }
}
