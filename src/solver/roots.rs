//! Roots of a function of one number.

/// Why no root was found.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RootFailure {
    /// The ends are not finite or in the wrong order.
    #[error("the bracket from {a} to {b} is not one")]
    Bracket {
        /// Lower end.
        a: f64,
        /// Upper end.
        b: f64,
    },
    /// The function has the same sign at both ends.
    #[error("the function is {fa} at {a} and {fb} at {b}: no change of sign")]
    SameSign {
        /// Lower end.
        a: f64,
        /// Upper end.
        b: f64,
        /// Function at the lower end.
        fa: f64,
        /// Function at the upper end.
        fb: f64,
    },
    /// The function is not a number.
    #[error("the function is not a number at {x}")]
    NotANumber {
        /// Where.
        x: f64,
    },
}

/// Root of a continuous function between `a` and `b`, where its signs differ, to within `tolerance`, [unit of `x`],
/// or to the last digit if that is coarser.
///
/// Brent's method (Brent, Algorithms for Minimization without Derivatives, 1973, chapter 4): inverse quadratic
/// interpolation and secant steps, with bisection where they do not help, so that it never fails on a bracket.
///
/// # Errors
/// [`RootFailure`] when the ends do not bracket a root or the function is not a number somewhere.
pub fn root(
    mut f: impl FnMut(f64) -> f64,
    a: f64,
    b: f64,
    tolerance: f64,
) -> Result<f64, RootFailure> {
    let mut at = |x: f64| {
        let value = f(x);
        if value.is_nan() {
            Err(RootFailure::NotANumber { x })
        } else {
            Ok(value)
        }
    };
    if !(a.is_finite() && b.is_finite() && a <= b) {
        return Err(RootFailure::Bracket { a, b });
    }
    let (fa, fb) = (at(a)?, at(b)?);
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if fa.signum() == fb.signum() {
        return Err(RootFailure::SameSign { a, b, fa, fb });
    }
    // `best` has the smallest value so far, `before` was the best before, `other` lies beyond the root.
    let (mut before, mut f_before) = (a, fa);
    let (mut best, mut f_best) = (b, fb);
    let (mut other, mut f_other) = (a, fa);
    let mut step = best - before;
    let mut step_before = step;
    loop {
        if f_best.signum() == f_other.signum() {
            (other, f_other) = (before, f_before);
            step = best - before;
            step_before = step;
        }
        if f_other.abs() < f_best.abs() {
            (before, f_before) = (best, f_best);
            (best, f_best) = (other, f_other);
            (other, f_other) = (before, f_before);
        }
        let smallest = 2.0 * f64::EPSILON * best.abs() + 0.5 * tolerance.max(0.0);
        let half = 0.5 * (other - best);
        if half.abs() <= smallest || f_best == 0.0 {
            return Ok(best);
        }
        let interpolated = interpolate((before, f_before), (best, f_best), (other, f_other));
        if step_before.abs() >= smallest
            && f_before.abs() > f_best.abs()
            && interpolated.is_finite()
            && interpolated * half.signum() > 0.0
            && interpolated.abs() < (1.5 * half).abs() - 0.5 * smallest
            && interpolated.abs() < 0.5 * step_before.abs()
        {
            step_before = step;
            step = interpolated;
        } else {
            step = half;
            step_before = half;
        }
        (before, f_before) = (best, f_best);
        best += if step.abs() > smallest {
            step
        } else {
            smallest * half.signum()
        };
        f_best = at(best)?;
    }
}

/// Step from `best` by inverse quadratic interpolation through three points, or by the secant through two.
fn interpolate(before: (f64, f64), best: (f64, f64), other: (f64, f64)) -> f64 {
    let s = best.1 / before.1;
    if before.0 == other.0 {
        (other.0 - best.0) * s / (s - 1.0)
    } else {
        let (q, r) = (before.1 / other.1, best.1 / other.1);
        let p = s * ((other.0 - best.0) * q * (q - r) - (best.0 - before.0) * (r - 1.0));
        -p / ((q - 1.0) * (r - 1.0) * (s - 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_forms() {
        type Case = (fn(f64) -> f64, f64, f64, f64);
        let cases: [Case; 7] = [
            (|x| x * x - 2.0, 0.0, 2.0, std::f64::consts::SQRT_2),
            (|x| x.cos() - x, 0.0, 1.0, 0.739_085_133_215_160_6),
            (|x| x.exp() - 5.0, -20.0, 20.0, 5f64.ln()),
            // Omega constant, x exp x = 1.
            (|x| x * x.exp() - 1.0, 0.0, 1.0, 0.567_143_290_409_783_8),
            // Flat at the root, steep, and a jump.
            (|x| (x - 1.0).powi(3), 0.0, 3.0, 1.0),
            (|x| (1e6 * (x - 0.3)).tanh(), -1.0, 1.0, 0.3),
            (|x| if x < 0.7 { -1.0 } else { 1.0 }, 0.0, 1.0, 0.7),
        ];
        for (i, (f, a, b, expected)) in cases.into_iter().enumerate() {
            let mut calls = 0;
            let found = root(
                |x| {
                    calls += 1;
                    f(x)
                },
                a,
                b,
                1e-14,
            )
            .unwrap();
            // A triple root is known only to the cube root of the rounding of the function.
            let allowed = if i == 4 { 1e-5 } else { 1e-13 };
            assert!((found - expected).abs() < allowed, "case {i}: {found}");
            assert!(calls < 200, "case {i}: {calls} calls");
        }
    }

    #[test]
    fn smooth_functions_take_few_calls() {
        let mut calls = 0;
        root(
            |x| {
                calls += 1;
                x.exp() - 2.0 - x
            },
            0.0,
            2.0,
            1e-14,
        )
        .unwrap();
        // Bisection would take 47.
        assert!(calls <= 12, "{calls}");
    }

    #[test]
    fn roots_at_the_ends_and_reversed_signs() {
        assert_eq!(root(|x| x, 0.0, 1.0, 0.0), Ok(0.0));
        assert_eq!(root(|x| x - 1.0, 0.0, 1.0, 0.0), Ok(1.0));
        let falling = root(|x| 1.0 - x, 0.0, 3.0, 0.0).unwrap();
        assert!((falling - 1.0).abs() < 1e-15);
    }

    #[test]
    fn failures_are_named() {
        assert_eq!(
            root(|x| x, 1.0, 0.0, 0.0),
            Err(RootFailure::Bracket { a: 1.0, b: 0.0 })
        );
        assert!(matches!(
            root(|x| x, f64::NAN, 1.0, 0.0),
            Err(RootFailure::Bracket { .. })
        ));
        let same = root(|x| x * x + 1.0, -1.0, 2.0, 0.0).unwrap_err();
        assert_eq!(
            same,
            RootFailure::SameSign {
                a: -1.0,
                b: 2.0,
                fa: 2.0,
                fb: 5.0
            }
        );
        let hole = root(|x| if x == 1.0 { f64::NAN } else { x - 0.9 }, 0.0, 1.0, 0.0);
        assert_eq!(hole, Err(RootFailure::NotANumber { x: 1.0 }));
    }
}
