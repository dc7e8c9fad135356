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

use super::activity::{Gammas, Point, exp_near, ladder, level_slope};
use crate::lanes::{LaneSet, Real};

/// Most acids in one liquor.
pub const MAX_ACIDS: usize = 8;
/// Most protonation levels of one acid (phosphoric acid has four).
pub const MAX_LEVELS: usize = 4;

/// Bounds of `x = ln a_H` in the safeguarded search: pH 0 to 16.
const X_BOUNDS: (f64, f64) = (-36.85, 0.0);
/// A Newton step this small leaves an error at machine precision, since convergence is quadratic.
const NEWTON_LAST_STEP: f64 = 1e-7;
/// Ionic strength of nothing \[kmol/m3\]: pure water alone has 1e-7.
const LEAST_IONIC: f64 = 1e-12;
/// Newton steps before the safeguarded search takes over.
const NEWTON_STEPS: usize = 25;
/// Where the search starts when nothing is known.
const FAR_START: (f64, f64) = (-16.0, 0.1);
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
pub struct Equilibria<R = f64> {
    /// Ion product of water.
    pub kw: R,
    /// d ln Kw/dT \[1/K\].
    pub dln_kw: R,
    /// Dissociation constants per acid and step.
    pub k: [[R; MAX_LEVELS - 1]; MAX_ACIDS],
    /// d ln K/dT \[1/K\].
    pub dln_k: [[R; MAX_LEVELS - 1]; MAX_ACIDS],
    /// Debye-Hueckel A (log10); 0 means ideal.
    pub a: R,
    /// dA/dT \[1/K\].
    pub da: R,
}

impl<R: Real> Default for Equilibria<R> {
    fn default() -> Self {
        let zero = R::splat(0.0);
        Self {
            kw: R::splat(1e-14),
            dln_kw: zero,
            k: [[R::splat(1e-7); MAX_LEVELS - 1]; MAX_ACIDS],
            dln_k: [[zero; MAX_LEVELS - 1]; MAX_ACIDS],
            a: zero,
            da: zero,
        }
    }
}

impl<R: Real> Equilibria<R> {
    /// Those of one lane.
    fn lane(&self, lane: usize) -> Equilibria {
        Equilibria {
            kw: self.kw.lane(lane),
            dln_kw: self.dln_kw.lane(lane),
            k: self.k.map(|k| k.map(|k| k.lane(lane))),
            dln_k: self.dln_k.map(|k| k.map(|k| k.lane(lane))),
            a: self.a.lane(lane),
            da: self.da.lane(lane),
        }
    }
}

/// What the liquor holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Totals<'a, R = f64> {
    /// Total of each acid, all levels \[kmol/m3\], in the order of the acids.
    pub acids: &'a [R],
    /// Strong cations minus strong anions \[kmol charge/m3\].
    pub strong: R,
    /// `sum z^2 c` of the strong ions \[kmol/m3\].
    pub spectators: R,
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
pub struct Speciation<R = f64> {
    /// `ln a_H`.
    pub x: R,
    /// Ionic strength \[kmol/m3\] (the solved unknown, also in the ideal case, where nothing depends on it).
    pub ionic: R,
    /// Activity coefficient of monovalent ions.
    pub gamma1: R,
    /// Activity coefficient of neutral species.
    pub gamma0: R,
    /// d ln gamma0 / dI \[m3/kmol\].
    pub dln_gamma0: R,
    /// Share of each level of each acid.
    pub share: [[R; MAX_LEVELS]; MAX_ACIDS],
    /// Derivatives of (F1, F2) by (x, I) at the last Newton step, and the charge of water's own ions.
    newton: [[R; 2]; 2],
    h_minus_oh: R,
    h_plus_oh: R,
    /// Mean charge, and mean squared charge, of each acid.
    mean_charge: [R; MAX_ACIDS],
    mean_z2: [R; MAX_ACIDS],
    /// Lanes that hold a solution.
    known: LaneSet,
}

/// Derivatives of the balance at a solved liquor: what an exact Jacobian needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BalanceSlopes<R = f64> {
    /// Derivatives of (F1, F2) with respect to x, I, T.
    pub df: [[R; 3]; 2],
    moments: [Moments<R>; MAX_ACIDS],
    g: Gammas<R>,
    dt1: R,
}

impl<R: Real> BalanceSlopes<R> {
    /// d(F1, F2)/dC of acid `i`.
    #[must_use]
    #[inline(always)]
    pub fn by_total(&self, i: usize) -> (R, R) {
        (self.moments[i].mean_charge, self.moments[i].mean_z2 * 0.5)
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Moments<R> {
    mean_charge: R,
    mean_z2: R,
    /// Means over the ladder of d ln w/d(x, I, T).
    mean_slope: [R; 3],
}

impl<R: Real> Speciation<R> {
    /// Nothing solved yet.
    #[must_use]
    pub fn unknown() -> Self {
        let zero = R::splat(0.0);
        Self {
            x: zero,
            ionic: zero,
            gamma1: zero,
            gamma0: zero,
            dln_gamma0: zero,
            share: [[zero; MAX_LEVELS]; MAX_ACIDS],
            newton: [[zero; 2]; 2],
            h_minus_oh: zero,
            h_plus_oh: zero,
            mean_charge: [zero; MAX_ACIDS],
            mean_z2: [zero; MAX_ACIDS],
            known: LaneSet::NONE,
        }
    }

    /// Goes through all numbers of two solutions side by side.
    #[inline(always)]
    fn zip<Q: Real>(&mut self, other: &Speciation<Q>, mut each: impl FnMut(&mut R, Q)) {
        each(&mut self.x, other.x);
        each(&mut self.ionic, other.ionic);
        each(&mut self.gamma1, other.gamma1);
        each(&mut self.gamma0, other.gamma0);
        each(&mut self.dln_gamma0, other.dln_gamma0);
        each(&mut self.h_minus_oh, other.h_minus_oh);
        each(&mut self.h_plus_oh, other.h_plus_oh);
        let own = self.share.as_flattened_mut().iter_mut();
        let own = own.chain(self.newton.as_flattened_mut());
        let own = own.chain(&mut self.mean_charge).chain(&mut self.mean_z2);
        let others = other.share.as_flattened().iter();
        let others = others.chain(other.newton.as_flattened());
        let others = others.chain(&other.mean_charge).chain(&other.mean_z2);
        own.zip(others).for_each(|(own, other)| each(own, *other));
    }

    /// Takes the lanes of a set from another.
    fn take(&mut self, of: LaneSet, from: &Self) {
        self.zip(from, |own, new| *own = R::pick(of, new, *own));
        self.known = (self.known.without(of)) | (from.known & of);
    }

    /// Sets one lane.
    pub fn put(&mut self, lane: usize, from: &Speciation) {
        self.zip(from, |own, new| own.put(lane, new));
        let one = LaneSet::one(lane);
        self.known = if from.known.is_empty() {
            self.known.without(one)
        } else {
            self.known | one
        };
    }

    /// One lane.
    #[must_use]
    pub fn lane(&self, lane: usize) -> Speciation {
        let mut out = Speciation::unknown();
        out.zip(self, |own, new| *own = new.lane(lane));
        if self.known.has(lane) {
            out.known = f64::all();
        }
        out
    }
}

impl<R: Real> Speciation<R> {
    /// pH, `-log10 a_H`.
    #[must_use]
    pub fn ph(&self) -> R {
        -self.x * std::f64::consts::LOG10_E
    }
}

/// A liquor: its acids, and whether activities are followed.
#[derive(Debug, Clone, PartialEq)]
pub struct AcidBase {
    pub(super) acids: Vec<Acid>,
    pub(super) davies: bool,
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
        let mut out = Speciation::unknown();
        let start = start.unwrap_or(FAR_START);
        let lost = self.solve_lanes(eq, totals, start, f64::all(), &mut out);
        if lost.is_empty() {
            Ok(out)
        } else {
            Err(NoBalance {
                strong: totals.strong,
            })
        }
    }

    /// As [`AcidBase::solve`], in the lanes `of`: writes these into `out` and returns those without a balance.
    ///
    /// Where `out` holds the solution of a neighbouring liquor, the search starts where that one leads. What the
    /// totals changed by is known in charge without any exponential, since the shares of `out` are; this stands for
    /// the first Newton step.
    #[inline(always)]
    pub fn solve_near<R: Real>(
        &self,
        eq: &Equilibria<R>,
        totals: &Totals<'_, R>,
        of: LaneSet,
        out: &mut Speciation<R>,
    ) -> LaneSet {
        let mut f = [
            totals.strong + out.h_minus_oh,
            (totals.spectators + out.h_plus_oh) * 0.5 - out.ionic,
        ];
        for (i, c) in totals.acids.iter().enumerate() {
            f[0] += *c * out.mean_charge[i];
            f[1] += *c * out.mean_z2[i] * 0.5;
        }
        let (dx, di) = self.newton_step(f, out.newton);
        let reach = R::splat(NEIGHBOURHOOD);
        let ionic = out.ionic + di;
        let near = dx.abs().below(reach) & di.abs().below(reach) & R::splat(0.0).below(ionic);
        let mut start = (
            R::pick(near, out.x + dx, out.x),
            R::pick(near, ionic, out.ionic),
        );
        if out.known != R::all() {
            start.0 = R::pick(out.known, start.0, R::splat(FAR_START.0));
            start.1 = R::pick(out.known, start.1, R::splat(FAR_START.1));
        }
        self.solve_lanes(eq, totals, start, of, out)
    }

    #[inline(always)]
    fn solve_lanes<R: Real>(
        &self,
        eq: &Equilibria<R>,
        totals: &Totals<'_, R>,
        start: (R, R),
        of: LaneSet,
        out: &mut Speciation<R>,
    ) -> LaneSet {
        let (one, small) = (R::splat(1.0), R::splat(NEWTON_LAST_STEP));
        let (mut x, mut ionic) = start;
        let mut here = self.point(eq, x, ionic);
        let mut newton = [[R::splat(0.0); 2]; 2];
        // Lanes still on their way, and lanes that no full set of Newton steps brings there.
        let (mut open, mut lost) = (of, LaneSet::NONE);
        for _ in 0..NEWTON_STEPS {
            let (f, d) = self.residual(eq, totals, &here, ionic);
            let (dx, di) = self.newton_step(f, d);
            // A full step from far away can leave the region where the model means anything.
            let two = R::splat(2.0);
            let mut cut = two / dx.abs().larger(two);
            // Without activities the ionic strength is only read off, and less than none of an acid may make it negative.
            if self.davies {
                let half_way = ionic * 0.5 / di.abs();
                let room = (ionic + di).where_below(R::splat(0.0), half_way, one);
                cut = cut.smaller(room);
            }
            let (next_x, next_ionic) = (x + cut * dx, ionic + cut * di);
            let sound = next_x.finite() & next_ionic.finite();
            lost = lost | open.without(sound);
            open = open & sound;
            let next = self.moved(eq, &here, cut * dx, next_ionic);
            if open == R::all() {
                (x, ionic, here, newton) = (next_x, next_ionic, next, d);
            } else {
                x = R::pick(open, next_x, x);
                ionic = R::pick(open, next_ionic, ionic);
                here = here.with(open, &next);
                for (row, new) in newton.iter_mut().zip(d) {
                    for (old, new) in row.iter_mut().zip(new) {
                        *old = R::pick(open, new, *old);
                    }
                }
            }
            let arrived = (dx.abs().below(small) & di.abs().below(small)).without(cut.below(one));
            open = open.without(arrived);
            if open.is_empty() {
                break;
            }
        }
        let outside = x.below(R::splat(X_BOUNDS.0)) | R::splat(X_BOUNDS.1).below(x);
        lost = lost | open | (of & outside);
        if of == R::all() {
            self.shares(eq, &here, (x, ionic), newton, out);
        } else {
            let mut all = *out;
            self.shares(eq, &here, (x, ionic), newton, &mut all);
            out.take(of, &all);
        }
        if lost.is_empty() {
            return lost;
        }
        self.search_lanes(eq, totals, lost, out)
    }

    /// Searches lane by lane where Newton's method failed; returns the lanes without a balance.
    #[cold]
    #[inline(never)]
    fn search_lanes<R: Real>(
        &self,
        eq: &Equilibria<R>,
        totals: &Totals<'_, R>,
        of: LaneSet,
        out: &mut Speciation<R>,
    ) -> LaneSet {
        let mut lost = LaneSet::NONE;
        for lane in (0..R::LANES).filter(|&lane| of.has(lane)) {
            let acids: Vec<f64> = totals.acids.iter().map(|c| c.lane(lane)).collect();
            let own = Totals {
                acids: &acids,
                strong: totals.strong.lane(lane),
                spectators: totals.spectators.lane(lane),
            };
            // Less than none of an acid, an integrator's error, may leave several pH; none of it leaves one.
            let none_at_least: Vec<f64> = acids.iter().map(|c| c.max(0.0)).collect();
            let cleaned = Totals {
                acids: &none_at_least,
                ..own
            };
            let eq = eq.lane(lane);
            let found = self.search(&eq, &own);
            match found.or_else(|| self.search(&eq, &cleaned)) {
                Some(found) => out.put(lane, &found),
                None => {
                    out.known = out.known.without(LaneSet::one(lane));
                    lost = lost | LaneSet::one(lane);
                }
            }
        }
        lost
    }

    /// Newton's step for (x, I); not finite where there is none.
    #[inline(always)]
    fn newton_step<R: Real>(&self, f: [R; 2], d: [[R; 2]; 2]) -> (R, R) {
        if !self.davies {
            // F2 only reads I off; F1 does not depend on it.
            let dx = -f[0] / d[0][0];
            return (dx, -(f[1] + d[1][0] * dx) / d[1][1]);
        }
        let det = d[0][0] * d[1][1] - d[0][1] * d[1][0];
        let dx = -(f[0] * d[1][1] - f[1] * d[0][1]) / det;
        let di = -(d[0][0] * f[1] - d[1][0] * f[0]) / det;
        (dx, di)
    }

    /// Nested search: bisection with Newton for `x` (F1 rises with `x` at fixed `I`), damped substitution for `I`.
    fn search(&self, eq: &Equilibria, totals: &Totals<'_>) -> Option<Speciation> {
        let mut ionic = 0.1;
        for _ in 0..400 {
            let (mut lo, mut hi) = X_BOUNDS;
            let residual =
                |x: f64, ionic: f64| self.residual(eq, totals, &self.point(eq, x, ionic), ionic);
            if residual(lo, ionic).0[0] > 0.0 || residual(hi, ionic).0[0] < 0.0 {
                return None;
            }
            let mut x = 0.5 * (lo + hi);
            for _ in 0..200 {
                let (f, d) = residual(x, ionic);
                if !f[0].is_finite() {
                    return None;
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
            // Less than none of an acid, which is an integrator's error, leaves the barest water no ionic strength at all.
            let none = ionic <= LEAST_IONIC && gap < 0.0;
            if none || gap.abs() <= 1e-13 * ionic.max(1e-6) {
                let mut out = Speciation::unknown();
                self.shares(eq, &self.point(eq, x, ionic), (x, ionic), d, &mut out);
                return Some(out);
            }
            ionic += if self.davies { 0.7 * gap } else { gap };
            ionic = ionic.max(LEAST_IONIC);
        }
        None
    }

    #[inline(always)]
    fn point<R: Real>(&self, eq: &Equilibria<R>, x: R, ionic: R) -> Point<R> {
        let mut g = Gammas::ideal();
        if self.davies {
            g = Gammas::logarithms(eq, ionic);
            g.g1 = g.ln1.exp();
            g.g0 = g.ln0.exp();
        }
        Point { a: x.exp(), g }
    }

    /// The point a step `dx` further, at ionic strength `ionic`: exponentials from the former ones.
    #[inline(always)]
    fn moved<R: Real>(&self, eq: &Equilibria<R>, from: &Point<R>, dx: R, ionic: R) -> Point<R> {
        let mut g = Gammas::ideal();
        if self.davies {
            g = Gammas::logarithms(eq, ionic);
            g.g1 = from.g.g1 * exp_near(g.ln1 - from.g.ln1);
            g.g0 = from.g.g0 * exp_near(g.ln0 - from.g.ln0);
        }
        Point {
            a: from.a * exp_near(dx),
            g,
        }
    }

    #[inline(always)]
    fn shares<R: Real>(
        &self,
        eq: &Equilibria<R>,
        here: &Point<R>,
        (x, ionic): (R, R),
        newton: [[R; 2]; 2],
        out: &mut Speciation<R>,
    ) {
        let g = &here.g;
        let inv_a = here.a.recip();
        let (h, oh) = (here.a / g.g1, eq.kw * inv_a / g.g1);
        out.x = x;
        out.ionic = ionic;
        out.gamma1 = g.g1;
        out.gamma0 = g.g0;
        out.dln_gamma0 = g.d0;
        out.newton = newton;
        out.h_minus_oh = h - oh;
        out.h_plus_oh = h + oh;
        out.known = R::all();
        for (i, acid) in self.acids.iter().enumerate() {
            let (w, sum) = ladder(acid, &eq.k[i], inv_a, g);
            let inv = sum.recip();
            let (mut mean, mut square) = (R::splat(0.0), R::splat(0.0));
            for (j, w) in w.into_iter().enumerate() {
                let (p, z) = (w * inv, f64::from(acid.top_charge) - j as f64);
                out.share[i][j] = p;
                mean += p * z;
                square += p * (z * z);
            }
            out.mean_charge[i] = mean;
            out.mean_z2[i] = square;
        }
    }

    /// Derivatives of the balance at a solved liquor.
    #[must_use]
    #[inline(always)]
    pub fn slopes<R: Real>(
        &self,
        eq: &Equilibria<R>,
        totals: &Totals<'_, R>,
        s: &Speciation<R>,
    ) -> BalanceSlopes<R> {
        let zero = R::splat(0.0);
        let g = if self.davies {
            Gammas {
                g1: s.gamma1,
                g0: s.gamma0,
                ..Gammas::logarithms(eq, s.ionic)
            }
        } else {
            Gammas::ideal()
        };
        let (h, oh) = (
            (s.h_plus_oh + s.h_minus_oh) * 0.5,
            (s.h_plus_oh - s.h_minus_oh) * 0.5,
        );
        // d ln gamma1 / dT at fixed I.
        let dt1 = zero.where_below(eq.a, g.ln1 * eq.da / eq.a, zero);
        let d_h = [h, -h * g.d1, -h * dt1];
        let d_oh = [-oh, -oh * g.d1, oh * (eq.dln_kw - dt1)];
        let nothing = Moments {
            mean_charge: zero,
            mean_z2: zero,
            mean_slope: [zero; 3],
        };
        let mut out = BalanceSlopes {
            df: [[zero; 3]; 2],
            moments: [nothing; MAX_ACIDS],
            g,
            dt1,
        };
        for v in 0..3 {
            out.df[0][v] = d_h[v] - d_oh[v];
            out.df[1][v] = (d_h[v] + d_oh[v]) * 0.5;
        }
        out.df[1][1] = out.df[1][1] - 1.0;
        for (i, acid) in self.acids.iter().enumerate() {
            let c = totals.acids[i];
            let mut m = nothing;
            let mut cov_z = [zero; 3];
            let mut cov_z2 = [zero; 3];
            for j in 0..=usize::from(acid.steps) {
                let p = s.share[i][j];
                let z = f64::from(acid.top_charge) - j as f64;
                let slope = level_slope(acid, j, &eq.dln_k[i], &g, dt1);
                let (pz, pz2) = (p * z, p * (z * z));
                m.mean_charge += pz;
                m.mean_z2 += pz2;
                for v in 0..3 {
                    m.mean_slope[v] += p * slope[v];
                    cov_z[v] += pz * slope[v];
                    cov_z2[v] += pz2 * slope[v];
                }
            }
            for v in 0..3 {
                out.df[0][v] += c * (cov_z[v] - m.mean_charge * m.mean_slope[v]);
                out.df[1][v] += c * (cov_z2[v] - m.mean_z2 * m.mean_slope[v]) * 0.5;
            }
            out.moments[i] = m;
        }
        out
    }

    /// Derivatives of the share of `level` of acid `i` with respect to (x, I, T).
    #[must_use]
    #[inline(always)]
    pub fn share_slope<R: Real>(
        &self,
        eq: &Equilibria<R>,
        s: &Speciation<R>,
        b: &BalanceSlopes<R>,
        i: usize,
        level: usize,
    ) -> [R; 3] {
        let slope = level_slope(&self.acids[i], level, &eq.dln_k[i], &b.g, b.dt1);
        let p = s.share[i][level];
        std::array::from_fn(|v| p * (slope[v] - b.moments[i].mean_slope[v]))
    }

    /// Strong acid that a sample takes up to `end_ph` \[kmol/m3\]: alkalinity by titration in a closed vessel.
    ///
    /// The definition keeps the dissolved carbon dioxide in the sample, as in a quick burette titration.
    #[must_use]
    #[inline(always)]
    pub fn titration<R: Real>(
        &self,
        eq: &Equilibria<R>,
        totals: &Totals<'_, R>,
        s: &Speciation<R>,
        end_ph: f64,
    ) -> R {
        let x = R::splat(-end_ph * std::f64::consts::LN_10);
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
