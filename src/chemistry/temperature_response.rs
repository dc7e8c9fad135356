//! How fast biology runs at a temperature, relative to a reference.

use crate::lanes::Real;
use crate::units::{R_J, kelvin};

/// Cardinal temperatures of a living group: below the lowest and above the highest it stands still.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cardinal<R = f64> {
    min_k: R,
    opt_k: R,
    max_k: R,
}

impl Cardinal {
    /// From temperatures in C. `None` unless they are finite, min < opt < max, and the optimum lies
    /// above the middle of the range, which the model needs.
    #[must_use]
    pub fn from_celsius(min: f64, opt: f64, max: f64) -> Option<Self> {
        let valid = min.is_finite() && max.is_finite() && opt < max && opt > 0.5 * (min + max);
        valid.then(|| Self {
            min_k: kelvin(min),
            opt_k: kelvin(opt),
            max_k: kelvin(max),
        })
    }
}

impl<R: Real> Cardinal<R> {
    /// Those of each lane; no number where there is none.
    #[must_use]
    #[inline(always)]
    pub fn gather<'a>(of: impl Fn(usize) -> Option<&'a Cardinal>) -> Self {
        let each = |number: fn(&Cardinal) -> f64| R::gather(|i| of(i).map_or(f64::NAN, number));
        Self {
            min_k: each(|c| c.min_k),
            opt_k: each(|c| c.opt_k),
            max_k: each(|c| c.max_k),
        }
    }

    /// Cardinal temperature model with inflection: (rate/rate at the optimum, d/dT \[1/K\]).
    ///
    /// `(T-Tmax)(T-Tmin)^2 / {(Topt-Tmin) [(Topt-Tmin)(T-Topt) - (Topt-Tmax)(Topt+Tmin-2T)]}`
    /// between Tmin and Tmax, zero outside. Smooth but at Tmax, where the slope jumps to zero (at the
    /// two ends the slope outside is given). Source: Rosso, Lobry and Flandrois 1993,
    /// J. Theor. Biol. 162, 447 (from memory).
    #[must_use]
    #[inline(always)]
    pub fn response(&self, t_k: R) -> (R, R) {
        let zero = R::splat(0.0);
        let rise = self.opt_k - self.min_k;
        let fall = self.max_k - self.opt_k;
        let above = t_k - self.min_k;
        let below = t_k - self.max_k;
        let top = below * above * above;
        let d_top = above * (above + below * 2.0);
        let bottom =
            rise * (rise * (t_k - self.opt_k) + fall * (self.opt_k + self.min_k - t_k * 2.0));
        let d_bottom = rise * (rise - fall * 2.0);
        let value = top / bottom;
        let slope = (d_top - value * d_bottom) / bottom;
        let lives = self.min_k.below(t_k) & t_k.below(self.max_k);
        (R::pick(lives, value, zero), R::pick(lives, slope, zero))
    }
}

/// Arrhenius: (rate/rate at `reference_k`, d/dT \[1/K\]) for an activation energy \[J/mol\].
///
/// `exp(E/R (1/Tref - 1/T))`. Source: textbook form (Arrhenius 1889).
///
/// # Examples
///
/// ```
/// use marshgas::chemistry::arrhenius;
/// let (relative, _) = arrhenius(64_000.0, 308.15, 293.15);
/// assert!((relative - 0.279).abs() < 5e-4);
/// ```
#[must_use]
pub fn arrhenius(activation_j_per_mol: f64, reference_k: f64, t_k: f64) -> (f64, f64) {
    arrhenius_lanes(activation_j_per_mol, reference_k, t_k)
}

/// As [`arrhenius`], lane by lane.
#[must_use]
#[inline(always)]
pub fn arrhenius_lanes<R: Real>(activation_j_per_mol: R, reference_k: f64, t_k: R) -> (R, R) {
    let per_r = activation_j_per_mol * (1.0 / R_J);
    let value = Real::exp(per_r * (-t_k.recip() + 1.0 / reference_k));
    (value, value * per_r / (t_k * t_k))
}
