//! Steady states, reduced Jacobians and eigenvalues against closed forms.

use marshgas::solver::{
    Integrator, JacobianFailure, Method, Options, Pattern, RhsFailure, SteadyFailure,
    SteadyOptions, System, eigenvalues, reduced_jacobian, steady_state,
};

use crate::problems::*;
use crate::tables::{number, parameters, rows};

const RTOL: f64 = 1e-10;

fn options(dim: usize) -> SteadyOptions {
    SteadyOptions::new(RTOL, vec![1e-12; dim], 1e-2)
}

#[test]
fn tanks_settle_where_the_closed_forms_say() {
    let mut tried = 0;
    for row in rows("closed_forms.csv") {
        if number(&row, "t_d") < 1e8 {
            continue;
        }
        let map = parameters(&row);
        let p = |key: &str| map[key][0];
        let (mut system, index) = match row["form"].as_str() {
            "first_order_stirred_tank" => (stirred_tank(p("S0"), p("S_in"), p("k"), p("HRT")), 0),
            "growth_stirred_tank_steady" => (
                growth([p("S_in"), p("K"), p("mu"), p("kd"), p("Y"), p("HRT")]),
                usize::from(row["quantity"] == "X"),
            ),
            _ => continue,
        };
        let mut y = system.start.clone();
        let dim = y.len();
        let iterations = steady_state(&mut system, 0.0, &mut y, &options(dim)).unwrap();
        let expected = number(&row, "value");
        println!("{}: {} after {iterations}", row["form"], y[index]);
        assert!(
            (y[index] - expected).abs() < 1e-9 * expected,
            "{row:?}: {y:?}"
        );
        assert!(iterations < 60, "{row:?}: {iterations} iterations");
        tried += 1;
    }
    assert_eq!(tried, 12);
}

#[test]
fn a_washed_out_tank_is_steady_without_life() {
    // Retention far below what growth can follow: S = S_in, X = 0.
    let mut system = growth([10.0, 1.0, 0.3, 0.02, 0.1, 2.0]);
    let mut y = system.start.clone();
    steady_state(&mut system, 0.0, &mut y, &options(2)).unwrap();
    assert!((y[0] - 10.0).abs() < 1e-8 && y[1].abs() < 1e-9, "{y:?}");
    let values = eigenvalues(&mut system, 0.0, &y).unwrap();
    // -D, and growth at S_in less decay and D.
    let growing: f64 = 0.3 * 10.0 / 11.0 - 0.02 - 0.5;
    for (found, expected) in values.iter().zip([growing, -0.5]) {
        assert!(
            (found.0 - expected).abs() < 1e-8 && found.1 == 0.0,
            "{values:?}"
        );
    }
}

#[test]
fn seeds_grow_and_the_living_state_is_found_not_the_dead_one() {
    // Both are steady; the pseudo-transient goes where the system goes.
    let mut system = growth([14.31, 1.127, 0.5734, 0.01824, 0.0309, 54.17]);
    let mut y = vec![14.31, 1e-6];
    steady_state(&mut system, 0.0, &mut y, &options(2)).unwrap();
    assert!((y[1] - 0.221219419954).abs() < 1e-9, "{y:?}");
    let values = eigenvalues(&mut system, 0.0, &y).unwrap();
    assert!(values.iter().all(|v| v.0 < 0.0), "stable: {values:?}");
    let dead = eigenvalues(&mut system, 0.0, &[14.31, 0.0]).unwrap();
    assert!(dead[0].0 > 0.0, "unstable: {dead:?}");
}

#[test]
fn a_steady_state_is_where_a_long_integration_ends() {
    let mut system = hires();
    let mut y = system.start.clone();
    let iterations = steady_state(&mut system, 0.0, &mut y, &options(8)).unwrap();
    let mut integrator =
        Integrator::new(&system, Options::new(Method::Rodas5P, 1e-9, vec![1e-13; 8])).unwrap();
    let mut late = system.start.clone();
    integrator
        .advance(&mut system, 0.0, 1e7, &mut late, &mut |_| {})
        .unwrap();
    println!("{iterations} iterations: {y:?} and {late:?}");
    for i in 0..8 {
        assert!(
            (y[i] - late[i]).abs() < 1e-7 * late[i].abs(),
            "{y:?} and {late:?}"
        );
    }
}

#[test]
fn algebraic_states_settle_too() {
    let mut system = kaps(0.0);
    let mut y = vec![0.5, 1.0];
    let tolerant = SteadyOptions::new(1e-8, vec![1e-8; 2], 0.1);
    steady_state(&mut system, 0.0, &mut y, &tolerant).unwrap();
    assert!(y[0].abs() < 1e-7 && y[1].abs() < 1e-7, "{y:?}");
    // y2' = y1 - y2 - y2^2 with y1 = y2^2: one eigenvalue, -1.
    let values = eigenvalues(&mut system, 0.0, &[0.25, 0.5]).unwrap();
    assert_eq!(values.len(), 1);
    assert!((values[0].0 + 1.0).abs() < 1e-14, "{values:?}");
}

#[test]
fn auxiliary_unknowns_are_eliminated() {
    let mut system = Auxiliary::new();
    let (t, y) = (0.7, [0.8, 0.3]);
    let found = reduced_jacobian(&mut system, t, &y).unwrap();
    // By central differences of the right-hand side, which solves for the unknown itself.
    for j in 0..2 {
        let h = 1e-6;
        let (mut up, mut down, mut at) = ([0.0; 2], [0.0; 2], y);
        at[j] = y[j] + h;
        system.rhs(t, &at, &mut up).unwrap();
        at[j] = y[j] - h;
        system.rhs(t, &at, &mut down).unwrap();
        for i in 0..2 {
            let expected = (up[i] - down[i]) / (2.0 * h);
            assert!(
                (found[2 * i + j] - expected).abs() < 1e-8,
                "({i}, {j}): {found:?}, {expected}"
            );
        }
    }
}

#[test]
fn eigenvalues_of_known_matrices() {
    // Van der Pol at the origin: lambda^2 - mu lambda + 1 = 0.
    for mu in [0.5f64, 5.0, 1000.0] {
        let values = eigenvalues(&mut van_der_pol(mu), 0.0, &[0.0, 0.0]).unwrap();
        let inner = mu * mu - 4.0;
        let expected = if inner < 0.0 {
            [
                (0.5 * mu, 0.5 * (-inner).sqrt()),
                (0.5 * mu, -0.5 * (-inner).sqrt()),
            ]
        } else {
            let large = 0.5 * (mu + inner.sqrt());
            // The product is one; the difference of near numbers would lose digits.
            [(large, 0.0), (1.0 / large, 0.0)]
        };
        for (found, expected) in values.iter().zip(expected) {
            let close = |a: f64, b: f64| (a - b).abs() < 1e-12 * mu;
            assert!(
                close(found.0, expected.0) && close(found.1, expected.1),
                "{mu}: {values:?}"
            );
        }
    }
    // Triangular over ten decades: the diagonal.
    let values = eigenvalues(&mut chain(1.0, 1e6, 1e-4), 0.0, &[1.0, 0.0, 0.0]).unwrap();
    for (found, expected) in values.iter().zip([0.0, -1e-4, -1e6]) {
        assert!(
            (found.0 - expected).abs() <= 1e-10 * f64::abs(expected) + 1e-15,
            "{values:?}"
        );
    }
}

#[test]
fn failures_are_named() {
    // Nothing is steady: y' = k (y_inf - y) without k.
    let mut system = chain(1.0, 1.0, 1.0);
    system.parameters = vec![0.0, 0.0];
    let mut y = vec![1.0, 1.0, 1.0];
    assert!(
        steady_state(&mut system, 0.0, &mut y, &options(2))
            .is_err_and(|e| e.to_string().contains("3 states"))
    );
    let bad = steady_state(&mut system, 0.0, &mut [f64::NAN, 1.0, 1.0], &options(3)).unwrap_err();
    assert!(
        bad.to_string().contains("chain 1 is not a finite number"),
        "{bad}"
    );
    struct Drift(Pattern);
    impl System for Drift {
        fn dim(&self) -> usize {
            1
        }
        fn rhs(&mut self, _: f64, _: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
            dy[0] = 1.0;
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
            _: &mut [f64],
            values: &mut [f64],
        ) -> Result<(), RhsFailure> {
            values.fill(f64::NAN);
            self.rhs(t, y, dy)
        }
    }
    let mut drift = Drift(Pattern {
        dim: 1,
        aux: 0,
        entries: vec![],
    });
    let mut y = [1.0];
    let failure = steady_state(&mut drift, 0.0, &mut y, &options(1)).unwrap_err();
    println!("{failure}");
    assert!(
        matches!(&failure, SteadyFailure::NotConverged { worst, .. } if worst[0].name == "y[0]"),
        "{failure:?}"
    );
    let mut broken = Drift(Pattern {
        dim: 1,
        aux: 0,
        entries: vec![(0, 0)],
    });
    let failure = eigenvalues(&mut broken, 0.0, &[1.0]).unwrap_err();
    assert_eq!(failure, JacobianFailure::NotFinite { row: "y[0]".into() });
    let mut loose = Drift(Pattern {
        dim: 1,
        aux: 1,
        entries: vec![],
    });
    assert_eq!(
        reduced_jacobian(&mut loose, 0.0, &[1.0]),
        Err(JacobianFailure::Singular)
    );
}
