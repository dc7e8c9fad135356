//! The two equations of the acid-base balance, with their slopes by (x, I).

use super::acid_base::{AcidBase, Equilibria, Totals};
use super::activity::{Point, ladder};
use crate::lanes::Real;

impl AcidBase {
    /// (F1, F2) and their derivatives by (x, I).
    #[inline(always)]
    pub(super) fn residual<R: Real>(
        &self,
        eq: &Equilibria<R>,
        totals: &Totals<'_, R>,
        here: &Point<R>,
        ionic: R,
    ) -> ([R; 2], [[R; 2]; 2]) {
        let g = &here.g;
        let inv_a = here.a.recip();
        let inv_g1 = g.g1.recip();
        let h = here.a * inv_g1;
        let oh = eq.kw * inv_a * inv_g1;
        let mut f = [
            totals.strong + h - oh,
            (totals.spectators + h + oh) * 0.5 - ionic,
        ];
        let mut d = [
            [h + oh, (oh - h) * g.d1],
            [(h - oh) * 0.5, (h + oh) * -0.5 * g.d1 - 1.0],
        ];
        // K/a_H times the coefficients of a step from neutral to singly charged, and of one the other way.
        let up = [inv_a * g.g0 * inv_g1, inv_a * g.g1 / g.g0];
        let turn_slope = g.d0 - g.d1;
        for ((acid, k), &c) in self.acids.iter().zip(&eq.k).zip(totals.acids) {
            if acid.steps == 1 && (acid.top_charge == 0 || acid.top_charge == 1) {
                // Two levels: the moments below in closed form, since nearly every acid is of this kind.
                let (up, top, turn) = if acid.top_charge == 0 {
                    (up[0], 0.0, 1.0)
                } else {
                    (up[1], 1.0, -1.0)
                };
                let w = k[0] * up;
                let q = (w + 1.0).recip();
                let p = w * q;
                let spread = c * p * q;
                let bent = spread * turn_slope;
                f[0] += c * (-p + top);
                f[1] += c * (p * turn + top) * 0.5;
                d[0][0] += spread;
                d[1][0] += spread * (-0.5 * turn);
                d[0][1] += bent * -turn;
                d[1][1] += bent * 0.5;
                continue;
            }
            if acid.steps == 2 && acid.top_charge == 0 {
                // Three levels, charges 0, -1, -2: carbonic acid.
                let w1 = k[0] * up[0];
                let g1_3 = inv_g1 * inv_g1 * inv_g1;
                let w2 = w1 * k[1] * inv_a * g1_3;
                let inv = (w1 + 1.0 + w2).recip();
                let (p1, p2) = (w1 * inv, w2 * inv);
                let (s1, s2) = (p1 * turn_slope, p2 * (g.d0 - g.d1 * 4.0));
                let (mean, square, es) = (p1 + p2 * 2.0, p1 + p2 * 4.0, s1 + s2);
                f[0] -= c * mean;
                f[1] += c * square * 0.5;
                d[0][0] += c * (square - mean * mean);
                d[1][0] -= c * (p1 + p2 * 8.0 - square * mean) * 0.5;
                d[0][1] -= c * (s1 + s2 * 2.0 - mean * es);
                d[1][1] += c * (s1 + s2 * 4.0 - square * es) * 0.5;
                continue;
            }
            let (w, sum) = ladder(acid, k, inv_a, g);
            let inv = sum.recip();
            let zero = R::splat(0.0);
            let (mut ez, mut ez2) = (zero, zero);
            let (mut ej, mut ezj, mut ez2j) = (zero, zero, zero);
            let (mut es, mut ezs, mut ez2s) = (zero, zero, zero);
            for (j, wj) in w.iter().enumerate().take(usize::from(acid.steps) + 1) {
                let p = *wj * inv;
                let z = f64::from(acid.top_charge) - j as f64;
                let jf = j as f64;
                let s = g.slope(acid.top_charge) - g.slope(acid.top_charge - j as i8);
                ez += p * z;
                ez2 += p * (z * z);
                ej += p * jf;
                ezj += p * (z * jf);
                ez2j += p * (z * z * jf);
                es += p * s;
                ezs += p * z * s;
                ez2s += p * (z * z) * s;
            }
            f[0] += c * ez;
            f[1] += c * ez2 * 0.5;
            d[0][0] -= c * (ezj - ez * ej);
            d[1][0] -= c * (ez2j - ez2 * ej) * 0.5;
            d[0][1] += c * (ezs - ez * es);
            d[1][1] += c * (ez2s - ez2 * es) * 0.5;
        }
        (f, d)
    }
}
