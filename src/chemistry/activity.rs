//! Activity coefficients, and the protonation ladders that they shift.

use super::acid_base::{Acid, Equilibria, MAX_LEVELS};
use crate::lanes::{LaneSet, Real};

/// Davies' equation is used up to this ionic strength \[kmol/m3\] and held constant above: its last term would
/// otherwise make strong brines ever more ideal-looking without any measured support.
const IONIC_STRENGTH_CAP: f64 = 1.0;
/// Below this an exponential is taken from its series, whose first missing term is below 1e-17.
const SERIES_RANGE: f64 = 1e-3;

/// Activity coefficients of neutral and singly charged species, their logarithms, and the slopes of these by I.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gammas<R> {
    pub(super) g1: R,
    pub(super) g0: R,
    pub(super) ln1: R,
    pub(super) ln0: R,
    pub(super) d1: R,
    pub(super) d0: R,
}

/// Where a balance is taken.
#[derive(Debug, Clone, Copy)]
pub(super) struct Point<R> {
    /// Activity of H+.
    pub(super) a: R,
    pub(super) g: Gammas<R>,
}

impl<R: Real> Point<R> {
    /// With the lanes of a set from another.
    pub(super) fn with(&self, of: LaneSet, other: &Self) -> Self {
        let pick = |own: R, other: R| R::pick(of, other, own);
        let (g, h) = (&self.g, &other.g);
        Self {
            a: pick(self.a, other.a),
            g: Gammas {
                g1: pick(g.g1, h.g1),
                g0: pick(g.g0, h.g0),
                ln1: pick(g.ln1, h.ln1),
                ln0: pick(g.ln0, h.ln0),
                d1: pick(g.d1, h.d1),
                d0: pick(g.d0, h.d0),
            },
        }
    }
}

/// `exp`, by its series where that is exact.
#[inline(always)]
pub(super) fn exp_near<R: Real>(v: R) -> R {
    let series = (((v * (1.0 / 24.0) + 1.0 / 6.0) * v + 0.5) * v + 1.0) * v + 1.0;
    let near = v.abs().below(R::splat(SERIES_RANGE));
    if near == R::all() {
        series
    } else {
        R::pick(near, series, v.exp())
    }
}

impl<R: Real> Gammas<R> {
    /// All ones.
    #[inline(always)]
    pub(super) fn ideal() -> Self {
        let (zero, one) = (R::splat(0.0), R::splat(1.0));
        Self {
            g1: one,
            g0: one,
            ln1: zero,
            ln0: zero,
            d1: zero,
            d0: zero,
        }
    }

    /// Logarithms and slopes by Davies' equation; the coefficients themselves are left at one.
    #[inline(always)]
    pub(super) fn logarithms(eq: &Equilibria<R>, ionic: R) -> Self {
        let ln10 = std::f64::consts::LN_10;
        let (zero, one) = (R::splat(0.0), R::splat(1.0));
        let cap = R::splat(IONIC_STRENGTH_CAP);
        let capped = ionic.larger(zero).smaller(cap);
        let inside = ionic.where_below(cap, one, zero);
        let s = capped.sqrt();
        let inverse = (s + 1.0).recip();
        let a = -eq.a * ln10;
        Self {
            g1: one,
            g0: one,
            ln1: a * (s * inverse - capped * 0.3),
            ln0: capped * (0.1 * ln10),
            // The slope of sqrt(I)/(1 + sqrt(I)) is infinite at 0; the floor keeps distilled water solvable.
            d1: a * (inverse * inverse * 0.5 / s.larger(R::splat(1e-9)) - 0.3) * inside,
            d0: inside * (0.1 * ln10),
        }
    }

    #[inline(always)]
    pub(super) fn of(&self, z: i8) -> R {
        match z.unsigned_abs() {
            0 => self.g0,
            1 => self.g1,
            2 => (self.g1 * self.g1) * (self.g1 * self.g1),
            _ => {
                let g3 = self.g1 * self.g1 * self.g1;
                g3 * g3 * g3
            }
        }
    }

    /// d ln gamma_z / dI.
    #[inline(always)]
    pub(super) fn slope(&self, z: i8) -> R {
        if z == 0 {
            self.d0
        } else {
            self.d1 * (f64::from(z) * f64::from(z))
        }
    }
}

/// Weights of the levels of an acid, and their sum.
#[inline(always)]
pub(super) fn ladder<R: Real>(
    acid: &Acid,
    k: &[R; MAX_LEVELS - 1],
    inv_a: R,
    g: &Gammas<R>,
) -> ([R; MAX_LEVELS], R) {
    let mut w = [R::splat(0.0); MAX_LEVELS];
    w[0] = R::splat(1.0);
    let mut bare = R::splat(1.0);
    let top = g.of(acid.top_charge);
    let mut sum = R::splat(1.0);
    for j in 1..=usize::from(acid.steps) {
        bare *= k[j - 1] * inv_a;
        w[j] = bare * top / g.of(acid.top_charge - j as i8);
        sum += w[j];
    }
    (w, sum)
}

/// d ln w_j / d(x, I, T).
#[inline(always)]
pub(super) fn level_slope<R: Real>(
    acid: &Acid,
    j: usize,
    dln_k: &[R; MAX_LEVELS - 1],
    g: &Gammas<R>,
    dt1: R,
) -> [R; 3] {
    let z0 = f64::from(acid.top_charge);
    let z = z0 - j as f64;
    let mut by_t = R::splat(0.0);
    for slope in &dln_k[..j] {
        by_t += *slope;
    }
    [
        R::splat(-(j as f64)),
        g.slope(acid.top_charge) - g.slope(acid.top_charge - j as i8),
        by_t + dt1 * (z0 * z0 - z * z),
    ]
}
