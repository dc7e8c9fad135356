//! The inner loops of a Rosenbrock step, plain enough for the compiler to use wide instructions.

use std::ops::Range;

use super::tableau::Tableau;
use crate::lanes::{LaneSet, Real};

/// What does not change from stage to stage of one step.
pub(super) struct Shared<'a, R = f64> {
    pub(super) y: &'a [R],
    pub(super) dfdt: &'a [R],
    /// 1 for a differential row, 0 for an algebraic one.
    pub(super) mass: &'a [f64],
    pub(super) h: R,
}

/// Prepares stage `stage` (from 1): its argument in `argument`, and in `b` what is added to the right-hand side there.
///
/// `u` holds the vectors of the stages before, one after the other.
#[inline(always)]
pub(super) fn prepare<R: Real>(
    tableau: &Tableau,
    stage: usize,
    shared: &Shared<'_, R>,
    u: &[R],
    argument: &mut [R],
    b: &mut [R],
) {
    match stage {
        1 => combine::<R, 1>(tableau, shared, u, argument, b),
        2 => combine::<R, 2>(tableau, shared, u, argument, b),
        3 => combine::<R, 3>(tableau, shared, u, argument, b),
        4 => combine::<R, 4>(tableau, shared, u, argument, b),
        5 => combine::<R, 5>(tableau, shared, u, argument, b),
        6 => combine::<R, 6>(tableau, shared, u, argument, b),
        _ => combine::<R, 7>(tableau, shared, u, argument, b),
    }
}

/// The sums over the `N` stages before; the number is a constant so that the inner loop is unrolled.
#[inline(always)]
fn combine<R: Real, const N: usize>(
    tableau: &Tableau,
    shared: &Shared<'_, R>,
    u: &[R],
    argument: &mut [R],
    b: &mut [R],
) {
    let n = argument.len();
    let u: [&[R]; N] = std::array::from_fn(|j| &u[j * n..][..n]);
    let (y, dfdt, mass, b) = (
        &shared.y[..n],
        &shared.dfdt[..n],
        &shared.mass[..n],
        &mut b[..n],
    );
    let per_step = shared.h.recip();
    let a: [f64; N] = std::array::from_fn(|j| tableau.a[N][j]);
    let c: [R; N] = std::array::from_fn(|j| per_step * tableau.c[N][j]);
    let d = shared.h * tableau.d[N];
    if N < tableau.first_tail {
        for i in 0..n {
            let (mut sum, mut weighted) = (y[i], R::splat(0.0));
            for j in 0..N {
                sum += u[j][i] * a[j];
                weighted += c[j] * u[j][i];
            }
            argument[i] = sum;
            b[i] = weighted * mass[i] + d * dfdt[i];
        }
    } else {
        // The argument of the stage before plus its vector; d is zero in these stages of every method.
        for i in 0..n {
            let mut weighted = R::splat(0.0);
            for j in 0..N {
                weighted += c[j] * u[j][i];
            }
            argument[i] += u[N - 1][i];
            b[i] = weighted * mass[i];
        }
    }
}

/// What the end of a step shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Verdict<R = f64> {
    /// Root mean square of the estimated error in units of tolerance, [-].
    pub(super) error: R,
    /// The lanes in which every state and the error are finite numbers.
    pub(super) finite: LaneSet,
}

/// Adds the last stage vector to its argument, giving the new state, and weighs it as the error.
#[inline(always)]
pub(super) fn finish<R: Real>(
    y: &[R],
    last: &[R],
    atol: &[R],
    rtol: R,
    argument: &mut [R],
) -> Verdict<R> {
    let n = argument.len();
    let (y, last, atol) = (&y[..n], &last[..n], &atol[..n]);
    // Four running sums, since one would make every addition wait for the one before.
    let zero = R::splat(0.0);
    let (mut sums, mut zeros) = ([zero; 4], [zero; 4]);
    for i in 0..n {
        let new = argument[i] + last[i];
        argument[i] = new;
        let scaled = last[i] / (atol[i] + rtol * y[i].abs().larger(new.abs()));
        sums[i % 4] += scaled * scaled;
        // Zero for a finite number, not a number otherwise.
        zeros[i % 4] += new * 0.0;
    }
    let of = |sums: [R; 4]| (sums[0] + sums[1]) + (sums[2] + sums[3]);
    let error = (of(sums) * (1.0 / n as f64)).sqrt();
    Verdict {
        error,
        finite: of(zeros).finite() & error.finite(),
    }
}

/// The ends of a step, and its stage vectors one after the other.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ends<'a, R = f64> {
    pub(super) start: &'a [R],
    pub(super) end: &'a [R],
    pub(super) u: &'a [R],
}

/// Writes some states at the share `x` of a step, by the method's own polynomial.
#[inline(always)]
pub(super) fn inside<R: Real>(
    tableau: &Tableau,
    x: R,
    states: Range<usize>,
    step: &Ends<'_, R>,
    out: &mut [R],
) {
    let rest = -x + 1.0;
    for i in states.clone() {
        out[i] = rest * step.start[i] + x * step.end[i];
    }
    let [h1, h2, h3] = &tableau.inside;
    for (j, u) in step.u.chunks_exact(step.start.len()).enumerate() {
        let weight = x * rest * (x * (x * h3[j] + h2[j]) + h1[j]);
        let out = out[states.clone()].iter_mut();
        out.zip(&u[states.clone()])
            .for_each(|(out, u)| *out += weight * *u);
    }
}

#[cfg(test)]
mod tests {
    use super::super::tableau::{RODAS4, RODAS4P, RODAS5P, STAGES};
    use super::*;

    #[test]
    fn tail_stages_match_the_tableau() {
        // The short cut assumes ones for the stages since the one before the tail, the row before it, and no d.
        for t in [&RODAS4, &RODAS4P, &RODAS5P] {
            for i in t.first_tail..t.stages {
                for j in 0..i - 1 {
                    assert_eq!(t.a[i][j], t.a[i - 1][j]);
                }
                assert_eq!(t.a[i][i - 1], 1.0);
                assert_eq!(t.d[i], 0.0);
            }
        }
    }

    #[test]
    fn stage_sums_are_those_of_the_tableau() {
        let y = [1.0, -2.0, 3.0];
        let u: Vec<f64> = (0..24)
            .map(|k| f64::from(k % 3 - 1) + 0.1 * f64::from(k / 3))
            .collect();
        let shared = Shared {
            y: &y,
            dfdt: &[1.0, 2.0, 3.0],
            mass: &[1.0, 0.0, 1.0],
            h: 0.5,
        };
        for t in [&RODAS4, &RODAS4P, &RODAS5P] {
            let (mut argument, mut b) = ([0.0; 3], [0.0; 3]);
            for stage in 1..t.stages {
                prepare(t, stage, &shared, &u, &mut argument, &mut b);
                for i in 0..3 {
                    let sum = |row: &[f64; STAGES]| {
                        (0..stage).map(|j| row[j] * u[3 * j + i]).sum::<f64>()
                    };
                    let expected = y[i] + sum(&t.a[stage]);
                    assert!(
                        (argument[i] - expected).abs() < 1e-12 * (1.0 + expected.abs()),
                        "stage {stage}"
                    );
                    let expected =
                        shared.mass[i] * sum(&t.c[stage]) / 0.5 + 0.5 * t.d[stage] * shared.dfdt[i];
                    assert!(
                        (b[i] - expected).abs() < 1e-12 * (1.0 + expected.abs()),
                        "stage {stage}"
                    );
                }
            }
        }
    }

    #[test]
    fn verdict_weighs_by_tolerance_and_sees_what_is_not_a_number() {
        let (y, atol) = ([0.0, 10.0], [0.1, 1.0]);
        let mut new = [0.0, 20.0];
        let verdict = finish(&y, &[0.3, 8.0], &atol, 0.25, &mut new);
        assert_eq!(new, [0.3, 28.0]);
        let expected: f64 =
            ((0.3f64 / (0.1 + 0.25 * 0.3)).powi(2) + (8.0f64 / (1.0 + 0.25 * 28.0)).powi(2)) / 2.0;
        assert!((verdict.error - expected.sqrt()).abs() < 1e-15 && !verdict.finite.is_empty());
        for bad in [f64::NAN, f64::INFINITY] {
            let judged = |last: &[f64; 2], new: &[f64; 2]| {
                finish(&y, last, &atol, 0.25, &mut new.clone()).finite
            };
            assert!(judged(&[0.3, bad], &new).is_empty());
            assert!(judged(&[0.0, 0.0], &[bad, 0.0]).is_empty());
        }
    }
}
