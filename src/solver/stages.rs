//! The inner loops of a Rosenbrock step over blocks of four states, so that the compiler can use wide instructions.

use super::tableau::{STAGES, Tableau};

/// Four states; the last block is filled up with zeros.
pub(super) type Block = [f64; 4];

/// Blocks needed for `dim` states.
pub(super) fn blocks(dim: usize) -> usize {
    dim.div_ceil(4)
}

/// What does not change from stage to stage of one step.
pub(super) struct Shared<'a> {
    pub(super) y: &'a [Block],
    pub(super) dfdt: &'a [Block],
    /// 1 for a differential row, 0 for an algebraic one.
    pub(super) mass: &'a [Block],
    pub(super) h: f64,
}

/// Prepares stage `stage` (from 1): its argument in `argument`, and in `b` what is added to the right-hand side there.
///
/// `u` holds the vectors of the stages before, one after the other.
pub(super) fn prepare(
    tableau: &Tableau,
    stage: usize,
    shared: &Shared<'_>,
    u: &[Block],
    argument: &mut [Block],
    b: &mut [Block],
) {
    match stage {
        1 => combine::<1>(tableau, shared, u, argument, b),
        2 => combine::<2>(tableau, shared, u, argument, b),
        3 => combine::<3>(tableau, shared, u, argument, b),
        4 => combine::<4>(tableau, shared, u, argument, b),
        5 => combine::<5>(tableau, shared, u, argument, b),
        6 => combine::<6>(tableau, shared, u, argument, b),
        _ => combine::<7>(tableau, shared, u, argument, b),
    }
}

/// The sums over the `N` stages before; the number is a constant so that the inner loop is unrolled.
fn combine<const N: usize>(
    tableau: &Tableau,
    shared: &Shared<'_>,
    u: &[Block],
    argument: &mut [Block],
    b: &mut [Block],
) {
    let n = argument.len();
    let u: [&[Block]; N] = std::array::from_fn(|j| &u[j * n..][..n]);
    let (y, dfdt, mass, b) = (
        &shared.y[..n],
        &shared.dfdt[..n],
        &shared.mass[..n],
        &mut b[..n],
    );
    let c = first::<N>(&tableau.c[N]).map(|c| c / shared.h);
    let d = tableau.d[N] * shared.h;
    if N < tableau.first_tail {
        let a = first::<N>(&tableau.a[N]);
        for k in 0..n {
            let (mut sum, mut weighted) = (y[k], [0.0; 4]);
            for j in 0..N {
                for lane in 0..4 {
                    sum[lane] += a[j] * u[j][k][lane];
                    weighted[lane] += c[j] * u[j][k][lane];
                }
            }
            argument[k] = sum;
            for lane in 0..4 {
                b[k][lane] = mass[k][lane] * weighted[lane] + d * dfdt[k][lane];
            }
        }
    } else {
        // The argument of the stage before plus its vector; d is zero in these stages of every method.
        for k in 0..n {
            let mut weighted = [0.0; 4];
            for j in 0..N {
                for lane in 0..4 {
                    weighted[lane] += c[j] * u[j][k][lane];
                }
            }
            for lane in 0..4 {
                argument[k][lane] += u[N - 1][k][lane];
                b[k][lane] = mass[k][lane] * weighted[lane];
            }
        }
    }
}

fn first<const N: usize>(row: &[f64; STAGES]) -> [f64; N] {
    std::array::from_fn(|j| row[j])
}

/// What the end of a step shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Verdict {
    /// Root mean square of the estimated error in units of tolerance, [-].
    pub(super) error: f64,
    /// Whether every state is a finite number.
    pub(super) finite: bool,
}

/// Adds the last stage vector to its argument, giving the new state, and weighs it as the error.
pub(super) fn finish(
    y: &[Block],
    last: &[Block],
    atol: &[Block],
    rtol: f64,
    dim: usize,
    argument: &mut [Block],
) -> Verdict {
    let n = argument.len();
    let (y, last, atol) = (&y[..n], &last[..n], &atol[..n]);
    let (mut sum, mut zero) = ([0.0; 4], [0.0; 4]);
    for k in 0..n {
        for lane in 0..4 {
            let new = argument[k][lane] + last[k][lane];
            argument[k][lane] = new;
            let scaled =
                last[k][lane] / (atol[k][lane] + rtol * f64::max(y[k][lane].abs(), new.abs()));
            sum[lane] += scaled * scaled;
            // Zero for a finite number, not a number otherwise.
            zero[lane] += new * 0.0;
        }
    }
    let error = (sum.iter().sum::<f64>() / dim as f64).sqrt();
    Verdict {
        error,
        finite: zero.iter().sum::<f64>() == 0.0 && error.is_finite(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::tableau::{RODAS4, RODAS4P, RODAS5P};
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
        let y = [[1.0, -2.0, 3.0, 0.0]];
        let u: Vec<Block> = (0..8)
            .map(|j| [0.1, 0.2, -0.3, 0.4].map(|v| v * f64::from(j + 1)))
            .collect();
        let shared = Shared {
            y: &y,
            dfdt: &[[1.0, 2.0, 3.0, 4.0]],
            mass: &[[1.0, 1.0, 0.0, 1.0]],
            h: 0.5,
        };
        for t in [&RODAS4, &RODAS4P, &RODAS5P] {
            let (mut argument, mut b) = ([[0.0; 4]], [[0.0; 4]]);
            for i in 1..t.stages {
                prepare(t, i, &shared, &u, &mut argument, &mut b);
                for lane in 0..4 {
                    let sum =
                        |row: &[f64; STAGES]| (0..i).map(|j| row[j] * u[j][lane]).sum::<f64>();
                    let expected = y[0][lane] + sum(&t.a[i]);
                    assert!(
                        (argument[0][lane] - expected).abs() < 1e-12 * (1.0 + expected.abs()),
                        "stage {i}"
                    );
                    let expected = shared.mass[0][lane] * sum(&t.c[i]) / 0.5
                        + 0.5 * t.d[i] * shared.dfdt[0][lane];
                    assert!(
                        (b[0][lane] - expected).abs() < 1e-12 * (1.0 + expected.abs()),
                        "stage {i}"
                    );
                }
            }
        }
    }

    #[test]
    fn verdict_weighs_by_tolerance_and_sees_what_is_not_a_number() {
        let (y, atol) = ([[0.0, 10.0, 0.0, 0.0]], [[0.1, 1.0, 1.0, 1.0]]);
        let mut new = [[0.0, 20.0, 0.0, 0.0]];
        let verdict = finish(&y, &[[0.3, 8.0, 0.0, 0.0]], &atol, 0.25, 2, &mut new);
        assert_eq!(new[0], [0.3, 28.0, 0.0, 0.0]);
        let expected: f64 =
            ((0.3f64 / (0.1 + 0.25 * 0.3)).powi(2) + (8.0f64 / (1.0 + 0.25 * 28.0)).powi(2)) / 2.0;
        assert!((verdict.error - expected.sqrt()).abs() < 1e-15 && verdict.finite);
        for bad in [f64::NAN, f64::INFINITY] {
            assert!(!finish(&y, &[[0.3, bad, 0.0, 0.0]], &atol, 0.25, 2, &mut new).finite);
            let mut new = [[bad, 0.0, 0.0, 0.0]];
            assert!(!finish(&y, &[[0.0; 4]], &atol, 0.25, 2, &mut new).finite);
        }
    }
}
