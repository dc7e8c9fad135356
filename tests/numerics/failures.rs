//! Every way to fail is named: the time, the states, what to try.

use marshgas::solver::{
    Failure, Integrator, Method, Options, Pattern, RhsFailure, SetupFailure, ShrinkCause, System,
};

use crate::problems::*;

/// `y1' = 1`, `y2' = y1^power` until `y1` passes a limit; beyond it the answer given.
struct Moody {
    pattern: Pattern,
    power: i32,
    limit: f64,
    beyond: Result<f64, RhsFailure>,
}

impl Moody {
    fn new(power: i32, limit: f64, beyond: Result<f64, RhsFailure>) -> Self {
        Self {
            pattern: Pattern {
                dim: 2,
                aux: 0,
                entries: vec![(1, 0)],
            },
            power,
            limit,
            beyond,
        }
    }

    fn refusing(limit: f64) -> Self {
        Self::new(
            1,
            limit,
            Err(RhsFailure::Recoverable("clock out of range".into())),
        )
    }
}

impl System for Moody {
    fn dim(&self) -> usize {
        2
    }
    fn rhs(&mut self, _: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
        let way = if y[0] > self.limit {
            self.beyond.clone()?
        } else {
            y[0].powi(self.power)
        };
        dy.copy_from_slice(&[1.0, way]);
        Ok(())
    }
    fn pattern(&self) -> &Pattern {
        &self.pattern
    }
    fn jacobian(
        &mut self,
        t: f64,
        y: &[f64],
        dy: &mut [f64],
        dfdt: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), RhsFailure> {
        dfdt.fill(0.0);
        values[0] = f64::from(self.power) * y[0].powi(self.power - 1);
        self.rhs(t, y, dy)
    }
    fn name(&self, i: usize) -> String {
        ["clock", "way"][i].to_string()
    }
}

fn run<S: System>(mut system: S, method: Method, y: &mut [f64], end: f64) -> Result<(), Failure> {
    let options = Options::new(method, 1e-6, vec![1e-8; y.len()]);
    let mut integrator = Integrator::new(&system, options).unwrap();
    integrator.advance(&mut system, 0.0, end, y, &mut |_| {})
}

#[test]
fn setup_refuses_what_cannot_work() {
    let system = kaps(1.0);
    let refused = |change: fn(&mut Options)| {
        let mut options = Options::new(Method::Rodas5P, 1e-6, vec![1e-8; 2]);
        change(&mut options);
        Integrator::new(&system, options).unwrap_err().to_string()
    };
    type Case = (fn(&mut Options), &'static str);
    let cases: [Case; 9] = [
        (
            |o| o.atol = vec![1e-8; 3],
            "3 absolute tolerances for 2 states",
        ),
        (
            |o| o.atol[1] = 0.0,
            "absolute tolerance of kaps 2 is 0; it must be finite and above 0",
        ),
        (
            |o| o.atol[0] = f64::NAN,
            "absolute tolerance of kaps 1 is NaN",
        ),
        (
            |o| o.rtol = 0.0,
            "relative tolerance is 0; it must be within 1e-13 and 0.1",
        ),
        (|o| o.rtol = f64::NAN, "relative tolerance is NaN"),
        (|o| o.first_step = Some(0.0), "first step is 0"),
        (|o| o.max_step = -1.0, "longest step is -1"),
        (|o| o.max_step = f64::NAN, "longest step is NaN"),
        (
            |o| o.max_steps = 0,
            "largest number of steps is 0; it must be at least 1",
        ),
    ];
    for (change, expected) in cases {
        let message = refused(change);
        assert!(
            message.contains(expected),
            "{message:?} does not say {expected:?}"
        );
    }
}

#[test]
fn setup_refuses_a_faulty_pattern() {
    struct Bare(Pattern);
    impl System for Bare {
        fn dim(&self) -> usize {
            2
        }
        fn rhs(&mut self, _: f64, _: &[f64], _: &mut [f64]) -> Result<(), RhsFailure> {
            Ok(())
        }
        fn pattern(&self) -> &Pattern {
            &self.0
        }
        fn jacobian(
            &mut self,
            _: f64,
            _: &[f64],
            _: &mut [f64],
            _: &mut [f64],
            _: &mut [f64],
        ) -> Result<(), RhsFailure> {
            Ok(())
        }
    }
    let refused = |dim, entries: &[(u16, u16)]| {
        let system = Bare(Pattern {
            dim,
            aux: 1,
            entries: entries.to_vec(),
        });
        Integrator::new(&system, Options::new(Method::Rodas4, 1e-3, vec![1e-3; 2])).unwrap_err()
    };
    assert_eq!(
        refused(3, &[]),
        SetupFailure::Dimension { dim: 2, pattern: 3 }
    );
    let outside = SetupFailure::Pattern {
        row: 0,
        column: 3,
        size: 3,
        problem: "lies outside the matrix",
    };
    assert_eq!(refused(2, &[(0, 3), (1, 1)]), outside);
    let twice = SetupFailure::Pattern {
        row: 1,
        column: 2,
        size: 3,
        problem: "stands twice",
    };
    assert_eq!(refused(2, &[(1, 2), (0, 0), (1, 2)]), twice);
}

#[test]
fn the_explicit_method_refuses_algebraic_rows() {
    let failure = Integrator::new(
        &kaps(0.0),
        Options::new(Method::Dopri5, 1e-6, vec![1e-8; 2]),
    )
    .unwrap_err();
    assert_eq!(
        failure,
        SetupFailure::AlgebraicRow {
            method: "Dopri5",
            name: "kaps 1".into()
        }
    );
}

#[test]
fn misuse_is_told_and_leaves_the_state_alone() {
    for method in Method::ALL {
        for (y, t0, t1, expected) in [
            (vec![1.0; 3], 0.0, 1.0, "3 values"),
            (vec![1.0; 2], 1.0, 0.0, "from 1 to 0"),
            (vec![1.0; 2], f64::NAN, 1.0, "NaN"),
            (vec![1.0; 2], 0.0, f64::INFINITY, "inf"),
            (
                vec![1.0, f64::NAN],
                0.0,
                1.0,
                "kaps 2 is not a finite number",
            ),
        ] {
            let mut system = kaps(1.0);
            let mut integrator =
                Integrator::new(&system, Options::new(method, 1e-6, vec![1e-8; 2])).unwrap();
            let mut copy = y.clone();
            let failure = integrator
                .advance(&mut system, t0, t1, &mut copy, &mut |_| {})
                .unwrap_err();
            let message = failure.to_string();
            assert!(
                message.contains(expected),
                "{message:?} does not say {expected:?}"
            );
            assert_eq!(format!("{y:?}"), format!("{copy:?}"));
            assert_eq!(system.calls, 0);
        }
    }
}

#[test]
fn a_refused_state_that_a_shorter_step_avoids_is_no_failure() {
    // Refused beyond the end only: a guess that reaches too far must come back.
    for method in Method::ALL {
        let mut y = [0.0, 0.0];
        let late = Err(RhsFailure::Recoverable("too late".into()));
        run(Moody::new(6, 1.0 + 1e-12, late), method, &mut y, 1.0).unwrap();
        assert!((y[1] - 1.0 / 7.0).abs() < 1e-6, "{method:?}: {y:?}");
    }
}

#[test]
fn a_state_refused_for_good_stops_with_its_reason_and_the_last_good_state() {
    for method in Method::ALL {
        let mut y = [0.0, 0.0];
        let failure = run(Moody::refusing(0.5), method, &mut y, 1.0).unwrap_err();
        let Failure::StepTooSmall { at, cause } = &failure else {
            panic!("{method:?}: {failure:?}")
        };
        assert_eq!(
            *cause,
            ShrinkCause::Refused("clock out of range".into()),
            "{method:?}"
        );
        assert!((at.time - 0.5).abs() < 1e-6, "{method:?}: {at:?}");
        assert!(
            (y[0] - at.time).abs() < 1e-12,
            "{method:?}: the state is the last good one, {y:?} at {at:?}"
        );
        let message = failure.to_string();
        assert!(
            message.contains("clock out of range") && message.contains("time 0.5"),
            "{message}"
        );
    }
}

#[test]
fn a_fatal_right_hand_side_stops_at_once() {
    for method in Method::ALL {
        let mut y = [0.0, 0.0];
        let failure = run(
            Moody::new(1, 0.5, Err(RhsFailure::Fatal("the tank burst".into()))),
            method,
            &mut y,
            1.0,
        )
        .unwrap_err();
        let Failure::RightHandSide { at, message } = &failure else {
            panic!("{method:?}: {failure:?}")
        };
        assert_eq!(message, "the tank burst");
        assert!(
            at.time <= 0.5 && (y[0] - at.time).abs() < 1e-12,
            "{method:?}: {at:?}, {y:?}"
        );
    }
}

#[test]
fn a_start_that_is_refused_is_named() {
    for method in Method::ALL {
        let failure = run(Moody::refusing(-1.0), method, &mut [0.0, 0.0], 1.0).unwrap_err();
        assert!(
            matches!(&failure, Failure::RightHandSide { message, .. } if message == "clock out of range"),
            "{failure:?}"
        );
    }
}

#[test]
fn a_right_hand_side_that_is_not_a_number_names_the_state() {
    for method in [Method::Rodas5P, Method::Rodas4, Method::Rodas4P] {
        let mut y = [0.0, 0.0];
        let failure = run(Moody::new(1, 0.5, Ok(f64::NAN)), method, &mut y, 1.0).unwrap_err();
        let Failure::StepTooSmall { cause, .. } = &failure else {
            panic!("{method:?}: {failure:?}")
        };
        assert_eq!(
            *cause,
            ShrinkCause::NotFinite { name: "way".into() },
            "{method:?}"
        );
        assert!(
            failure
                .to_string()
                .contains("way stopped being a finite number"),
            "{failure}"
        );
        assert!(y.iter().all(|v| v.is_finite()));
    }
    let failure = run(
        Moody::new(1, 0.5, Ok(f64::NAN)),
        Method::Dopri5,
        &mut [0.0, 0.0],
        1.0,
    )
    .unwrap_err();
    assert!(
        matches!(failure, Failure::StepTooSmall { .. }),
        "{failure:?}"
    );
}

#[test]
fn a_solution_that_ends_names_the_time_and_the_worst_states() {
    // y1' = 1, y2' = y1 y2^2 blows up at t = 1 from y = (0, 2); the other state is harmless.
    for method in [Method::Rodas5P, Method::Rodas4, Method::Rodas4P] {
        let system = problem(
            "bursting",
            &[0.0, 2.0],
            &[],
            vec![(1, 0), (1, 1)],
            |_, _, y, dy| dy.copy_from_slice(&[1.0, y[0] * y[1] * y[1]]),
            |_, _, y, _, v| v.copy_from_slice(&[y[1] * y[1], 2.0 * y[0] * y[1]]),
        );
        let failure = run(system, method, &mut [0.0, 2.0], 2.0).unwrap_err();
        let at = failure.situation().unwrap();
        assert!((at.time - 1.0).abs() < 1e-3, "{method:?}: {failure}");
        assert_eq!(at.worst.len(), 2);
        assert_eq!(at.worst[0].name, "bursting 2", "{failure}");
        let message = failure.to_string();
        assert!(
            message.contains("bursting 2") && message.contains("try"),
            "{message}"
        );
    }
}

#[test]
fn too_many_steps_is_named_with_the_limit() {
    for method in Method::ALL {
        let mut system = van_der_pol(10.0);
        let mut options = Options::new(method, 1e-8, vec![1e-8; 2]);
        options.max_steps = 20;
        let mut integrator = Integrator::new(&system, options).unwrap();
        let mut y = system.start.clone();
        let failure = integrator
            .advance(&mut system, 0.0, 20.0, &mut y, &mut |_| {})
            .unwrap_err();
        assert!(
            matches!(failure, Failure::TooManySteps { limit: 20, .. }),
            "{method:?}: {failure:?}"
        );
        assert!(
            failure.to_string().contains("more than 20 steps"),
            "{failure}"
        );
        assert_ne!(
            y, system.start,
            "{method:?}: the last good state is handed back"
        );
    }
}

#[test]
fn the_explicit_method_says_when_it_is_out_of_its_depth() {
    let mut y = [1.0, 0.0, 0.0];
    let failure = run(robertson([0.04, 3e7, 1e4]), Method::Dopri5, &mut y, 1e11).unwrap_err();
    assert!(matches!(failure, Failure::Stiff { .. }), "{failure:?}");
    assert!(
        failure.to_string().contains("use an implicit one"),
        "{failure}"
    );
}

#[test]
fn algebraic_rows_without_a_solution_are_named() {
    let mut system = problem(
        "torn",
        &[0.0, 0.7],
        &[],
        vec![(1, 1)],
        |_, _, y, dy| dy.copy_from_slice(&[1.0, y[1] * y[1] + 1.0]),
        |_, _, y, _, v| v[0] = 2.0 * y[1],
    );
    system.algebraic[1] = true;
    let failure = run(system, Method::Rodas5P, &mut [0.0, 0.7], 1.0).unwrap_err();
    assert!(
        matches!(&failure, Failure::Unsettled { name, .. } if name == "torn 2"),
        "{failure:?}"
    );
}

#[test]
fn an_integrator_goes_on_after_a_failure() {
    for method in Method::ALL {
        let mut system = Moody::refusing(0.5);
        let mut integrator =
            Integrator::new(&system, Options::new(method, 1e-6, vec![1e-8; 2])).unwrap();
        integrator
            .advance(&mut system, 0.0, 1.0, &mut [0.0, 0.0], &mut |_| {})
            .unwrap_err();
        let mut y = [0.0, 0.0];
        integrator
            .advance(&mut system, 0.0, 0.4, &mut y, &mut |_| {})
            .unwrap();
        assert!((y[1] - 0.08).abs() < 1e-7, "{method:?}: {y:?}");
    }
}

/// A tank that drains at an even pace and has no law that would end it.
struct Drain(Pattern);

impl System for Drain {
    fn dim(&self) -> usize {
        1
    }
    fn rhs(&mut self, _: f64, _: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
        dy[0] = -1.0;
        Ok(())
    }
    fn pattern(&self) -> &Pattern {
        &self.0
    }
    fn jacobian(
        &mut self,
        t: f64,
        y: &[f64],
        dy: &mut [f64],
        dfdt: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), RhsFailure> {
        dfdt.fill(0.0);
        values[0] = 0.0;
        self.rhs(t, y, dy)
    }
    fn strays(&self, from: &[f64], to: &[f64]) -> Option<usize> {
        (to[0] < -0.01 && to[0] < from[0]).then_some(0)
    }
    fn name(&self, _: usize) -> String {
        "level".to_owned()
    }
}

#[test]
fn a_step_that_leaves_less_than_nothing_is_shortened_up_to_the_brink() {
    let system = || {
        Drain(Pattern {
            dim: 1,
            aux: 0,
            entries: vec![(0, 0)],
        })
    };
    let mut y = [1.0];
    let failure = run(system(), Method::Rodas5P, &mut y, 2.0).unwrap_err();
    let Failure::StepTooSmall { at, cause } = &failure else {
        panic!("{failure:?}")
    };
    let ShrinkCause::Refused(told) = cause else {
        panic!("{failure:?}")
    };
    assert!(told.starts_with("level at -1.000e-2"), "{told}");
    // Level 0 at 1, the brink at 1.01.
    assert!((at.time - 1.01).abs() < 1e-9 && (y[0] + 0.01).abs() < 1e-9);
    // What ends short of it is left alone.
    let mut y = [0.5];
    run(system(), Method::Rodas5P, &mut y, 0.505).unwrap();
    assert!((y[0] + 0.005).abs() < 1e-9);
}
