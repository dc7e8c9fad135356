//! Families of steady states given by closures.

use marshgas::solver::RhsFailure;
use marshgas::solver::continuation::Family;

/// A family from a residual and its derivatives, all `Fn`.
pub(crate) struct Closures<R, J> {
    pub(crate) scales: Vec<f64>,
    pub(crate) residual: R,
    pub(crate) jacobian: J,
}

impl<R, J> Family for Closures<R, J>
where
    R: Fn(&[f64], f64, &mut [f64]),
    J: Fn(&[f64], f64, &mut [f64], &mut [f64]),
{
    fn dim(&self) -> usize {
        self.scales.len()
    }

    fn residual(&mut self, y: &[f64], p: f64, f: &mut [f64]) -> Result<(), RhsFailure> {
        (self.residual)(y, p, f);
        Ok(())
    }

    fn jacobian(
        &mut self,
        y: &[f64],
        p: f64,
        dfdy: &mut [f64],
        dfdp: &mut [f64],
    ) -> Result<(), RhsFailure> {
        (self.jacobian)(y, p, dfdy, dfdp);
        Ok(())
    }

    fn scale(&self, i: usize) -> f64 {
        self.scales[i]
    }
}

/// `y' = f(y, p)` in one state of size one, with its two derivatives.
pub(crate) fn scalar(
    f: impl Fn(f64, f64) -> f64,
    dfdy: impl Fn(f64, f64) -> f64,
    dfdp: impl Fn(f64, f64) -> f64,
) -> impl Family {
    Closures {
        scales: vec![1.0],
        residual: move |y: &[f64], p: f64, out: &mut [f64]| out[0] = f(y[0], p),
        jacobian: move |y: &[f64], p: f64, jy: &mut [f64], jp: &mut [f64]| {
            jy[0] = dfdy(y[0], p);
            jp[0] = dfdp(y[0], p);
        },
    }
}

/// Asserts that the derivatives of a family agree with central differences of its residual at a point.
pub(crate) fn assert_derivatives(family: &mut impl Family, y: &[f64], p: f64) {
    let n = family.dim();
    let (mut dfdy, mut dfdp) = (vec![0.0; n * n], vec![0.0; n]);
    family.jacobian(y, p, &mut dfdy, &mut dfdp).unwrap();
    for j in 0..=n {
        let size = if j < n { y[j].abs() } else { p.abs() };
        let h = 1e-6 * size;
        let mut side = |sign: f64| {
            let (mut y, mut p, mut f) = (y.to_vec(), p, vec![0.0; n]);
            if j < n {
                y[j] += sign * h
            } else {
                p += sign * h
            }
            family.residual(&y, p, &mut f).unwrap();
            f
        };
        let (ahead, behind) = (side(1.0), side(-1.0));
        for i in 0..n {
            let given = if j < n { dfdy[i * n + j] } else { dfdp[i] };
            let seen = (ahead[i] - behind[i]) / (2.0 * h);
            let rounding = 1e-15 * ahead[i].abs().max(1e-3) / h;
            assert!(
                (given - seen).abs() <= 1e-6 * given.abs().max(seen.abs()) + rounding + 1e-9 / size,
                "row {i}, column {j}: {given} given, {seen} by differences"
            );
        }
    }
}
