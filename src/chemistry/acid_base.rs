//! Acid-base equilibrium of a liquor: charge balance with ideal or Davies activities.
//!
//! Each acid is a ladder of protonation levels `j = 0, 1, ..` of charge `z0 - j`. With `x = ln a_H` and the ionic
//! strength `I` as unknowns the ladder's weights are `w_j = prod K_m / a_H^j * gamma(z0)/gamma(z_j)`, and every
//! derivative is a covariance over the ladder. The two equations are
//!
//! ```text
//! F1 = strong + [H] - [OH] + sum_i C_i (z0 - mean j)            = 0      (charge)
//! F2 = 1/2 (spectators + [H] + [OH] + sum_i C_i mean z^2) - I   = 0      (ionic strength)
//! ```
//!
//! Source of the activity model: Davies (1962), `ln gamma_z = -A ln10 z^2 (sqrt I/(1 + sqrt I) - 0.3 I)`, neutral
//! species `log10 gamma = 0.1 I`; A(T) is passed in.

/// Most acids in one liquor.
pub const MAX_ACIDS: usize = 8;
/// Most protonation levels of one acid (phosphoric acid has four).
pub const MAX_LEVELS: usize = 4;

/// Davies' equation is used up to this ionic strength \[kmol/m3\] and held constant above: its last term would
/// otherwise make strong brines ever more ideal-looking without any measured support.
const IONIC_STRENGTH_CAP: f64 = 1.0;
/// Bounds of `x = ln a_H` in the safeguarded search: pH 0 to 16.
const X_BOUNDS: (f64, f64) = (-36.85, 0.0);
/// A Newton step this small leaves an error at machine precision, since convergence is quadratic.
const NEWTON_LAST_STEP: f64 = 1e-7;
/// Newton steps before the safeguarded search takes over.
const NEWTON_STEPS: usize = 25;
/// Below this an exponential is taken from its series, whose first missing term is below 1e-17.
const SERIES_RANGE: f64 = 1e-3;
/// A predicted change of `x` or `I` beyond this says that the former solution is no neighbour.
const NEIGHBOURHOOD: f64 = 0.5;

/// One protonation ladder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acid {
    /// Charge of the fully protonated form.
    pub top_charge: i8,
    /// Number of dissociation steps, 1..=3.
    pub steps: u8,
}

/// Temperature-dependent constants of a liquor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equilibria {
    /// Ion product of water.
    pub kw: f64,
    /// d ln Kw/dT \[1/K\].
    pub dln_kw: f64,
    /// Dissociation constants per acid and step.
    pub k: [[f64; MAX_LEVELS - 1]; MAX_ACIDS],
    /// d ln K/dT \[1/K\].
    pub dln_k: [[f64; MAX_LEVELS - 1]; MAX_ACIDS],
    /// Debye-Hueckel A (log10); 0 means ideal.
    pub a: f64,
    /// dA/dT \[1/K\].
    pub da: f64,
}

impl Default for Equilibria {
    fn default() -> Self {
        Self {
            kw: 1e-14,
            dln_kw: 0.0,
            k: [[1e-7; MAX_LEVELS - 1]; MAX_ACIDS],
            dln_k: [[0.0; MAX_LEVELS - 1]; MAX_ACIDS],
            a: 0.0,
            da: 0.0,
        }
    }
}

/// What the liquor holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Totals<'a> {
    /// Total of each acid, all levels \[kmol/m3\], in the order of the acids.
    pub acids: &'a [f64],
    /// Strong cations minus strong anions \[kmol charge/m3\].
    pub strong: f64,
    /// `sum z^2 c` of the strong ions \[kmol/m3\].
    pub spectators: f64,
}

/// No pH between 0 and 16 balances the charge.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("no pH between 0 and 16 balances the charge (strong ions {strong:.4} kmol/m3)")]
pub struct NoBalance {
    /// The strong-ion difference that could not be balanced \[kmol/m3\].
    pub strong: f64,
}

/// A solved liquor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Speciation {
    /// `ln a_H`.
    pub x: f64,
    /// Ionic strength \[kmol/m3\] (the solved unknown, also in the ideal case, where nothing depends on it).
    pub ionic: f64,
    /// Activity coefficient of monovalent ions.
    pub gamma1: f64,
    /// Activity coefficient of neutral species.
    pub gamma0: f64,
    /// d ln gamma0 / dI \[m3/kmol\].
    pub dln_gamma0: f64,
    /// Share of each level of each acid.
    pub share: [[f64; MAX_LEVELS]; MAX_ACIDS],
    /// Derivatives of (F1, F2) by (x, I) at the last Newton step, and the charge of water's own ions.
    newton: [[f64; 2]; 2],
    h_minus_oh: f64,
    h_plus_oh: f64,
    /// Mean charge, and mean squared charge, of each acid.
    mean_charge: [f64; MAX_ACIDS],
    mean_z2: [f64; MAX_ACIDS],
}

/// Derivatives of the balance at a solved liquor: what an exact Jacobian needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BalanceSlopes {
    /// Derivatives of (F1, F2) with respect to x, I, T.
    pub df: [[f64; 3]; 2],
    moments: [Moments; MAX_ACIDS],
    g: Gammas,
    dt1: f64,
}

impl BalanceSlopes {
    /// d(F1, F2)/dC of acid `i`.
    #[must_use]
    pub fn by_total(&self, i: usize) -> (f64, f64) {
        (self.moments[i].mean_charge, 0.5 * self.moments[i].mean_z2)
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Moments {
    mean_charge: f64,
    mean_z2: f64,
    /// Means over the ladder of d ln w/d(x, I, T).
    mean_slope: [f64; 3],
}

impl Speciation {
    /// pH, `-log10 a_H`.
    #[must_use]
    pub fn ph(&self) -> f64 {
        -self.x / std::f64::consts::LN_10
    }
}

/// A liquor: its acids, and whether activities are followed.
#[derive(Debug, Clone, PartialEq)]
pub struct AcidBase {
    acids: Vec<Acid>,
    davies: bool,
}

impl AcidBase {
    /// A liquor of up to [`MAX_ACIDS`] acids.
    ///
    /// # Panics
    /// If there are more acids than [`MAX_ACIDS`] or steps than fit: a fault of the network list, not of any input.
    #[must_use]
    pub fn new(acids: Vec<Acid>, davies: bool) -> Self {
        assert!(acids.len() <= MAX_ACIDS);
        assert!(
            acids
                .iter()
                .all(|a| (1..MAX_LEVELS as u8).contains(&a.steps))
        );
        Self { acids, davies }
    }

    /// Whether activities follow Davies' equation.
    #[must_use]
    pub fn is_davies(&self) -> bool {
        self.davies
    }

    /// Solves the charge balance, starting from `(x, I)` when a former solution is at hand.
    ///
    /// Accuracy: the last Newton step is below 1e-7 in `x`, so the error is at machine precision.
    ///
    /// # Errors
    /// [`NoBalance`] when no pH between 0 and 16 balances the charge, or a total is not finite.
    pub fn solve(
        &self,
        eq: &Equilibria,
        totals: &Totals<'_>,
        start: Option<(f64, f64)>,
    ) -> Result<Speciation, NoBalance> {
        let (mut x, mut ionic) = start.unwrap_or((-16.0, 0.1));
        let mut here = self.point(eq, x, ionic);
        for _ in 0..NEWTON_STEPS {
            let (f, d) = self.residual(eq, totals, &here, ionic);
            let Some((dx, di)) = self.newton_step(f, d) else {
                break;
            };
            // A full step from far away can leave the region where the model means anything.
            let cut = (2.0 / dx.abs().max(2.0)).min(if ionic + di < 0.0 {
                0.5 * ionic / di.abs()
            } else {
                1.0
            });
            x += cut * dx;
            ionic += cut * di;
            if !(x.is_finite() && ionic.is_finite()) {
                break;
            }
            here = self.moved(eq, &here, cut * dx, ionic);
            if dx.abs() < NEWTON_LAST_STEP && di.abs() < NEWTON_LAST_STEP && cut == 1.0 {
                if x < X_BOUNDS.0 || x > X_BOUNDS.1 {
                    break;
                }
                return Ok(self.shares(eq, &here, x, ionic, d));
            }
        }
        self.search(eq, totals)
    }

    /// As [`AcidBase::solve`], starting from where the solution `before` of a neighbouring liquor leads.
    ///
    /// What the totals changed by is known in charge without any exponential, since the shares of `before` are; this
    /// stands for the first Newton step.
    ///
    /// # Errors
    /// As [`AcidBase::solve`].
    pub fn solve_near(
        &self,
        eq: &Equilibria,
        totals: &Totals<'_>,
        before: &Speciation,
    ) -> Result<Speciation, NoBalance> {
        let mut f = [
            totals.strong + before.h_minus_oh,
            0.5 * (totals.spectators + before.h_plus_oh) - before.ionic,
        ];
        for (i, c) in totals.acids.iter().enumerate() {
            f[0] += c * before.mean_charge[i];
            f[1] += 0.5 * c * before.mean_z2[i];
        }
        let start = match self.newton_step(f, before.newton) {
            Some((dx, di))
                if dx.abs() < NEIGHBOURHOOD
                    && di.abs() < NEIGHBOURHOOD
                    && before.ionic + di > 0.0 =>
            {
                (before.x + dx, before.ionic + di)
            }
            _ => (before.x, before.ionic),
        };
        self.solve(eq, totals, Some(start))
    }

    fn newton_step(&self, f: [f64; 2], d: [[f64; 2]; 2]) -> Option<(f64, f64)> {
        if !self.davies {
            // F2 only reads I off; F1 does not depend on it.
            let dx = -f[0] / d[0][0];
            return (dx.is_finite()).then(|| (dx, -(f[1] + d[1][0] * dx) / d[1][1]));
        }
        let det = d[0][0] * d[1][1] - d[0][1] * d[1][0];
        let dx = -(f[0] * d[1][1] - f[1] * d[0][1]) / det;
        let di = -(d[0][0] * f[1] - d[1][0] * f[0]) / det;
        (dx.is_finite() && di.is_finite()).then_some((dx, di))
    }

    /// Nested search: bisection with Newton for `x` (F1 rises with `x` at fixed `I`), damped substitution for `I`.
    fn search(&self, eq: &Equilibria, totals: &Totals<'_>) -> Result<Speciation, NoBalance> {
        let none = NoBalance {
            strong: totals.strong,
        };
        let mut ionic = 0.1;
        for _ in 0..400 {
            let (mut lo, mut hi) = X_BOUNDS;
            let residual =
                |x: f64, ionic: f64| self.residual(eq, totals, &self.point(eq, x, ionic), ionic);
            if residual(lo, ionic).0[0] > 0.0 || residual(hi, ionic).0[0] < 0.0 {
                return Err(none);
            }
            let mut x = 0.5 * (lo + hi);
            for _ in 0..200 {
                let (f, d) = residual(x, ionic);
                if !f[0].is_finite() {
                    return Err(none);
                }
                if f[0] > 0.0 {
                    hi = x;
                } else {
                    lo = x;
                }
                let newton = x - f[0] / d[0][0];
                let next = if newton > lo && newton < hi {
                    newton
                } else {
                    0.5 * (lo + hi)
                };
                let step = (next - x).abs();
                x = next;
                if step < 1e-14 * x.abs() {
                    break;
                }
            }
            let (f, d) = residual(x, ionic);
            let gap = f[1];
            if gap.abs() <= 1e-13 * ionic.max(1e-6) {
                return Ok(self.shares(eq, &self.point(eq, x, ionic), x, ionic, d));
            }
            ionic += if self.davies { 0.7 * gap } else { gap };
            ionic = ionic.max(1e-12);
        }
        Err(none)
    }

    fn gammas(&self, eq: &Equilibria, ionic: f64) -> Gammas {
        if !self.davies {
            return Gammas::IDEAL;
        }
        let mut out = Gammas::logarithms(eq, ionic);
        out.g1 = out.ln1.exp();
        out.g0 = out.ln0.exp();
        out
    }

    fn point(&self, eq: &Equilibria, x: f64, ionic: f64) -> Point {
        Point {
            a: x.exp(),
            g: self.gammas(eq, ionic),
        }
    }

    /// The point a step `dx` further, at ionic strength `ionic`: exponentials from the former ones.
    fn moved(&self, eq: &Equilibria, from: &Point, dx: f64, ionic: f64) -> Point {
        let mut g = Gammas::IDEAL;
        if self.davies {
            g = Gammas::logarithms(eq, ionic);
            g.g1 = from.g.g1 * exp(g.ln1 - from.g.ln1);
            g.g0 = from.g.g0 * exp(g.ln0 - from.g.ln0);
        }
        Point {
            a: from.a * exp(dx),
            g,
        }
    }

    /// (F1, F2) and their derivatives by (x, I).
    fn residual(
        &self,
        eq: &Equilibria,
        totals: &Totals<'_>,
        here: &Point,
        ionic: f64,
    ) -> ([f64; 2], [[f64; 2]; 2]) {
        let g = &here.g;
        let inv_a = 1.0 / here.a;
        let inv_g1 = 1.0 / g.g1;
        let h = here.a * inv_g1;
        let oh = eq.kw * inv_a * inv_g1;
        let mut f = [
            totals.strong + h - oh,
            0.5 * (totals.spectators + h + oh) - ionic,
        ];
        let mut d = [
            [h + oh, (oh - h) * g.d1],
            [0.5 * (h - oh), -0.5 * (h + oh) * g.d1 - 1.0],
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
                let q = 1.0 / (1.0 + w);
                let p = w * q;
                let spread = c * p * q;
                let slope = turn * turn_slope;
                f[0] += c * (top - p);
                f[1] += 0.5 * c * (top + turn * p);
                d[0][0] += spread;
                d[1][0] -= 0.5 * turn * spread;
                d[0][1] -= spread * slope;
                d[1][1] += 0.5 * turn * spread * slope;
                continue;
            }
            if acid.steps == 2 && acid.top_charge == 0 {
                // Three levels, charges 0, -1, -2: carbonic acid.
                let w1 = k[0] * up[0];
                let g1_3 = inv_g1 * inv_g1 * inv_g1;
                let w2 = w1 * k[1] * inv_a * g1_3;
                let inv = 1.0 / (1.0 + w1 + w2);
                let (p1, p2) = (w1 * inv, w2 * inv);
                let (s1, s2) = (p1 * turn_slope, p2 * (g.d0 - 4.0 * g.d1));
                let (mean, square, es) = (p1 + 2.0 * p2, p1 + 4.0 * p2, s1 + s2);
                f[0] -= c * mean;
                f[1] += 0.5 * c * square;
                d[0][0] += c * (square - mean * mean);
                d[1][0] -= 0.5 * c * (p1 + 8.0 * p2 - square * mean);
                d[0][1] -= c * (s1 + 2.0 * s2 - mean * es);
                d[1][1] += 0.5 * c * (s1 + 4.0 * s2 - square * es);
                continue;
            }
            let (w, sum) = ladder(acid, k, inv_a, g);
            let inv = 1.0 / sum;
            let (mut ez, mut ez2) = (0.0, 0.0);
            let (mut ej, mut ezj, mut ez2j) = (0.0, 0.0, 0.0);
            let (mut es, mut ezs, mut ez2s) = (0.0, 0.0, 0.0);
            for (j, wj) in w.iter().enumerate().take(usize::from(acid.steps) + 1) {
                let p = wj * inv;
                let z = f64::from(acid.top_charge) - j as f64;
                let jf = j as f64;
                let s = g.slope(acid.top_charge) - g.slope(acid.top_charge - j as i8);
                ez += p * z;
                ez2 += p * z * z;
                ej += p * jf;
                ezj += p * z * jf;
                ez2j += p * z * z * jf;
                es += p * s;
                ezs += p * z * s;
                ez2s += p * z * z * s;
            }
            f[0] += c * ez;
            f[1] += 0.5 * c * ez2;
            d[0][0] -= c * (ezj - ez * ej);
            d[1][0] -= 0.5 * c * (ez2j - ez2 * ej);
            d[0][1] += c * (ezs - ez * es);
            d[1][1] += 0.5 * c * (ez2s - ez2 * es);
        }
        (f, d)
    }

    fn shares(
        &self,
        eq: &Equilibria,
        here: &Point,
        x: f64,
        ionic: f64,
        newton: [[f64; 2]; 2],
    ) -> Speciation {
        let g = &here.g;
        let inv_a = 1.0 / here.a;
        let (h, oh) = (here.a / g.g1, eq.kw * inv_a / g.g1);
        let mut out = Speciation {
            x,
            ionic,
            gamma1: g.g1,
            gamma0: g.g0,
            dln_gamma0: g.d0,
            share: [[0.0; MAX_LEVELS]; MAX_ACIDS],
            newton,
            h_minus_oh: h - oh,
            h_plus_oh: h + oh,
            mean_charge: [0.0; MAX_ACIDS],
            mean_z2: [0.0; MAX_ACIDS],
        };
        for (i, acid) in self.acids.iter().enumerate() {
            let (w, sum) = ladder(acid, &eq.k[i], inv_a, g);
            let inv = 1.0 / sum;
            let (mut mean, mut square) = (0.0, 0.0);
            for (j, w) in w.into_iter().enumerate() {
                let (p, z) = (w * inv, f64::from(acid.top_charge) - j as f64);
                out.share[i][j] = p;
                mean += p * z;
                square += p * z * z;
            }
            out.mean_charge[i] = mean;
            out.mean_z2[i] = square;
        }
        out
    }

    /// Derivatives of the balance at a solved liquor.
    #[must_use]
    pub fn slopes(&self, eq: &Equilibria, totals: &Totals<'_>, s: &Speciation) -> BalanceSlopes {
        let g = if self.davies {
            Gammas {
                g1: s.gamma1,
                g0: s.gamma0,
                ..Gammas::logarithms(eq, s.ionic)
            }
        } else {
            Gammas::IDEAL
        };
        let (h, oh) = (
            0.5 * (s.h_plus_oh + s.h_minus_oh),
            0.5 * (s.h_plus_oh - s.h_minus_oh),
        );
        // d ln gamma1 / dT at fixed I.
        let dt1 = if eq.a > 0.0 {
            g.ln1 * eq.da / eq.a
        } else {
            0.0
        };
        let d_h = [h, -h * g.d1, -h * dt1];
        let d_oh = [-oh, -oh * g.d1, oh * (eq.dln_kw - dt1)];
        let mut out = BalanceSlopes {
            df: [[0.0; 3]; 2],
            moments: [Moments::default(); MAX_ACIDS],
            g,
            dt1,
        };
        for v in 0..3 {
            out.df[0][v] = d_h[v] - d_oh[v];
            out.df[1][v] = 0.5 * (d_h[v] + d_oh[v]);
        }
        out.df[1][1] -= 1.0;
        for (i, acid) in self.acids.iter().enumerate() {
            let c = totals.acids[i];
            let mut m = Moments::default();
            let mut cov_z = [0.0; 3];
            let mut cov_z2 = [0.0; 3];
            for j in 0..=usize::from(acid.steps) {
                let p = s.share[i][j];
                let z = f64::from(acid.top_charge) - j as f64;
                let slope = level_slope(acid, j, &eq.dln_k[i], &g, dt1);
                m.mean_charge += p * z;
                m.mean_z2 += p * z * z;
                for v in 0..3 {
                    m.mean_slope[v] += p * slope[v];
                    cov_z[v] += p * z * slope[v];
                    cov_z2[v] += p * z * z * slope[v];
                }
            }
            for v in 0..3 {
                out.df[0][v] += c * (cov_z[v] - m.mean_charge * m.mean_slope[v]);
                out.df[1][v] += 0.5 * c * (cov_z2[v] - m.mean_z2 * m.mean_slope[v]);
            }
            out.moments[i] = m;
        }
        out
    }

    /// Derivatives of the share of `level` of acid `i` with respect to (x, I, T).
    #[must_use]
    pub fn share_slope(
        &self,
        eq: &Equilibria,
        s: &Speciation,
        b: &BalanceSlopes,
        i: usize,
        level: usize,
    ) -> [f64; 3] {
        let slope = level_slope(&self.acids[i], level, &eq.dln_k[i], &b.g, b.dt1);
        let p = s.share[i][level];
        std::array::from_fn(|v| p * (slope[v] - b.moments[i].mean_slope[v]))
    }

    /// Strong acid that a sample takes up to `end_ph` \[kmol/m3\]: alkalinity by titration in a closed vessel.
    ///
    /// The definition keeps the dissolved carbon dioxide in the sample, as in a quick burette titration.
    #[must_use]
    pub fn titration(
        &self,
        eq: &Equilibria,
        totals: &Totals<'_>,
        s: &Speciation,
        end_ph: f64,
    ) -> f64 {
        let x = -end_ph * std::f64::consts::LN_10;
        self.residual(eq, totals, &self.point(eq, x, s.ionic), s.ionic)
            .0[0]
    }

    /// Charge and ionic-strength residuals \[kmol/m3\] at a given `(x, I)`.
    #[must_use]
    pub fn residual_at(
        &self,
        eq: &Equilibria,
        totals: &Totals<'_>,
        x: f64,
        ionic: f64,
    ) -> (f64, f64) {
        let f = self
            .residual(eq, totals, &self.point(eq, x, ionic), ionic)
            .0;
        (f[0], f[1])
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Gammas {
    g1: f64,
    g0: f64,
    ln1: f64,
    ln0: f64,
    d1: f64,
    d0: f64,
}

/// Where a balance is taken.
#[derive(Debug, Clone, Copy)]
struct Point {
    /// Activity of H+.
    a: f64,
    g: Gammas,
}

/// `exp`, by its series where that is exact.
#[inline]
fn exp(v: f64) -> f64 {
    if v.abs() < SERIES_RANGE {
        1.0 + v * (1.0 + v * (0.5 + v * (1.0 / 6.0 + v * (1.0 / 24.0))))
    } else {
        v.exp()
    }
}

impl Gammas {
    const IDEAL: Self = Self {
        g1: 1.0,
        g0: 1.0,
        ln1: 0.0,
        ln0: 0.0,
        d1: 0.0,
        d0: 0.0,
    };

    /// Logarithms and slopes by Davies' equation; the coefficients themselves are left at one.
    fn logarithms(eq: &Equilibria, ionic: f64) -> Self {
        let ln10 = std::f64::consts::LN_10;
        let capped = ionic.clamp(0.0, IONIC_STRENGTH_CAP);
        let inside = if ionic < IONIC_STRENGTH_CAP { 1.0 } else { 0.0 };
        let s = capped.sqrt();
        let inverse = 1.0 / (1.0 + s);
        Self {
            g1: 1.0,
            g0: 1.0,
            ln1: -eq.a * ln10 * (s * inverse - 0.3 * capped),
            ln0: 0.1 * ln10 * capped,
            // The slope of sqrt(I)/(1 + sqrt(I)) is infinite at 0; the floor keeps distilled water solvable.
            d1: -eq.a * ln10 * (0.5 * inverse * inverse / s.max(1e-9) - 0.3) * inside,
            d0: 0.1 * ln10 * inside,
        }
    }

    fn of(&self, z: i8) -> f64 {
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
    fn slope(&self, z: i8) -> f64 {
        if z == 0 {
            self.d0
        } else {
            f64::from(z) * f64::from(z) * self.d1
        }
    }
}

#[inline]
fn ladder(
    acid: &Acid,
    k: &[f64; MAX_LEVELS - 1],
    inv_a: f64,
    g: &Gammas,
) -> ([f64; MAX_LEVELS], f64) {
    let mut w = [0.0; MAX_LEVELS];
    w[0] = 1.0;
    let mut bare = 1.0;
    let top = g.of(acid.top_charge);
    let mut sum = 1.0;
    for j in 1..=usize::from(acid.steps) {
        bare *= k[j - 1] * inv_a;
        w[j] = bare * top / g.of(acid.top_charge - j as i8);
        sum += w[j];
    }
    (w, sum)
}

/// d ln w_j / d(x, I, T).
fn level_slope(
    acid: &Acid,
    j: usize,
    dln_k: &[f64; MAX_LEVELS - 1],
    g: &Gammas,
    dt1: f64,
) -> [f64; 3] {
    let z0 = f64::from(acid.top_charge);
    let z = z0 - j as f64;
    [
        -(j as f64),
        g.slope(acid.top_charge) - g.slope(acid.top_charge - j as i8),
        dln_k[..j].iter().sum::<f64>() + (z0 * z0 - z * z) * dt1,
    ]
}
