//! A right-hand side in two pieces: a step ends where one goes over to the other.

use marshgas::solver::{Integrator, Method, Options, Pattern, RhsFailure, System};

/// Inflow at a time, and its slope.
type Inflow = fn(f64) -> (f64, f64);

/// A vessel fills by `1` or as told, from level 1 on it also drains by `RATE (y - 1)`; the second state counts what drained.
const RATE: f64 = 1e4;

struct Overflow {
    open: bool,
    inflow: Inflow,
    pattern: Pattern,
}

impl Overflow {
    fn new() -> Self {
        Self::filled_by(|_| (1.0, 0.0))
    }

    fn filled_by(inflow: Inflow) -> Self {
        Self {
            open: false,
            inflow,
            pattern: Pattern {
                dim: 2,
                aux: 0,
                entries: vec![(0, 0), (1, 0), (1, 1)],
            },
        }
    }
}

impl System for Overflow {
    fn dim(&self) -> usize {
        2
    }

    fn rhs(&mut self, t: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
        let drained = if self.open { RATE * (y[0] - 1.0) } else { 0.0 };
        dy[0] = (self.inflow)(t).0 - drained;
        dy[1] = drained;
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
        dfdt.copy_from_slice(&[(self.inflow)(t).1, 0.0]);
        let slope = if self.open { RATE } else { 0.0 };
        values.copy_from_slice(&[-slope, slope, 0.0]);
        self.rhs(t, y, dy)
    }

    fn margin(&self, y: &[f64]) -> f64 {
        1e-9 + if self.open { y[0] - 1.0 } else { 1.0 - y[0] }
    }

    fn switch(&mut self) {
        self.open = !self.open;
    }
}

#[test]
fn the_corner_is_met_and_costs_one_step() {
    for method in [Method::Rodas5P, Method::Rodas4, Method::Rodas4P] {
        let mut system = Overflow::new();
        let mut options = Options::new(method, 1e-6, vec![1e-8; 2]);
        options.first_step = Some(0.3);
        let mut integrator = Integrator::new(&system, options).unwrap();
        // From 0.35: full at t = 0.65, then y = 1 + (1 - exp(-RATE (t - 0.65)))/RATE.
        let mut y = vec![0.35, 0.0];
        let mut corners = Vec::new();
        integrator
            .advance(&mut system, 0.0, 2.0, &mut y, &mut |step| {
                if (step.y_end()[0] - 1.0).abs() < 1e-7 {
                    corners.push(step.end());
                }
            })
            .unwrap();
        assert!(system.open);
        assert_eq!(integrator.statistics().crossings, 1, "{method:?}");
        assert!((corners[0] - 0.65).abs() < 1e-8, "{method:?}: {corners:?}");
        assert!(
            (y[0] - (1.0 + 1.0 / RATE)).abs() < 1e-6,
            "{method:?}: {y:?}"
        );
        assert!((y[0] + y[1] - 2.35).abs() < 1e-12, "nothing is lost: {y:?}");
    }
}

#[test]
fn a_start_beyond_the_corner_begins_with_the_other_piece() {
    let mut system = Overflow::new();
    let mut integrator =
        Integrator::new(&system, Options::new(Method::Rodas5P, 1e-6, vec![1e-8; 2])).unwrap();
    let mut y = vec![1.5, 0.0];
    integrator
        .advance(&mut system, 0.0, 1.0, &mut y, &mut |_| {})
        .unwrap();
    assert!(system.open && integrator.statistics().crossings == 0);
    assert!((y[0] - (1.0 + 1.0 / RATE)).abs() < 1e-6, "{y:?}");
}

/// So late and so near that the time of the start and that of the corner are one number.
#[test]
fn a_corner_next_to_the_start_is_met() {
    for method in [Method::Rodas5P, Method::Rodas4, Method::Rodas4P] {
        let mut system = Overflow::new();
        let mut options = Options::new(method, 1e-6, vec![1e-8; 2]);
        options.first_step = Some(0.3);
        let mut integrator = Integrator::new(&system, options).unwrap();
        let start = 1.0 + 1e-9 - 1e-14;
        assert!(system.margin(&[start]) > 0.0);
        let mut y = vec![start, 0.0];
        integrator
            .advance(&mut system, 700.0, 701.0, &mut y, &mut |_| {})
            .unwrap();
        assert!(system.open && integrator.statistics().crossings == 1);
        assert!((y[0] - (1.0 + 1.0 / RATE)).abs() < 1e-6, "{y:?}");
        assert!((y[0] + y[1] - 2.0).abs() < 1e-8, "nothing is lost: {y:?}");
    }
}

/// The level rises above the corner and sinks again while one step passes: at its end nothing shows.
#[test]
fn a_corner_passed_and_left_within_one_step_is_met() {
    for method in [Method::Rodas5P, Method::Rodas4, Method::Rodas4P] {
        // Unhindered, y = 4.8 (t - t^2): 1.2 at its highest, of which 0.2 must drain.
        let mut system = Overflow::filled_by(|t| (4.8 - 9.6 * t, -9.6));
        let mut options = Options::new(method, 1e-6, vec![1e-8; 2]);
        options.first_step = Some(1.0);
        let mut integrator = Integrator::new(&system, options).unwrap();
        let mut y = vec![0.0, 0.0];
        integrator
            .advance(&mut system, 0.0, 1.0, &mut y, &mut |_| {})
            .unwrap();
        assert!(integrator.statistics().crossings >= 1, "{method:?}");
        assert!((y[1] - 0.2).abs() < 1e-4, "{method:?}: {y:?}");
        assert!((y[0] + y[1]).abs() < 1e-9, "nothing is lost: {y:?}");
    }
}
