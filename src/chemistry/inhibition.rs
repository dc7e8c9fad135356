//! Saturation and inhibition factors, each with its derivative.
//!
//! The formulas continue smoothly through slightly negative concentrations, which an integrator may
//! try; a concentration near minus its constant is outside their range.

use std::f64::consts::LN_10;

use crate::lanes::Real;

/// Non-competitive inhibition: (`1/(1 + S/K)`, d/dS), S and K > 0 in the same unit.
///
/// Serves hydrogen, free ammonia, free sulphide and undissociated acids alike.
/// Source: Batstone et al. 2002 (from memory).
#[must_use]
#[inline(always)]
pub fn non_competitive<R: Real>(s: R, k: R) -> (R, R) {
    let value = k / (k + s);
    (value, -value / (k + s))
}

/// Saturation: (`S/(K + S)`, d/dS), S and K > 0 in the same unit.
///
/// Serves uptake and the shortage of inorganic nitrogen. Source: Monod 1949; Batstone et al. 2002
/// (from memory).
#[must_use]
#[inline(always)]
pub fn monod<R: Real>(s: R, k: R) -> (R, R) {
    let inverse = (k + s).recip();
    (s * inverse, k * inverse * inverse)
}

/// Saturation with substrate inhibition: (`S/(Ks + S + S^2/Ki)`, d/dS).
///
/// Greatest at `sqrt(Ks Ki)`. Source: Andrews 1968, Biotechnol. Bioeng. 10, 707 (from memory).
#[must_use]
#[inline(always)]
pub fn haldane<R: Real>(s: R, k_s: R, k_i: R) -> (R, R) {
    let inverse = (k_s + s + s * s / k_i).recip();
    (s * inverse, (k_s - s * s / k_i) * inverse * inverse)
}

/// Inhibition by a low pH, and where asked by a high one: the Hill form between two pH bounds on each side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhBand<R = f64> {
    bottom: Side<R>,
    top: Option<Side<R>>,
}

/// One side: `1/(1 + exp(n (x - ln_k)))` of `x` = ln H; n is above 0 at the bottom and below 0 at the top.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Side<R> {
    ln_k: R,
    n: R,
}

impl Side<f64> {
    /// 3 % is left at the lower bound and 97 % at the upper, or the other way round for `sense` -1.
    fn between(lower: f64, upper: f64, sense: f64) -> Option<Self> {
        let valid = lower.is_finite() && upper.is_finite() && lower < upper;
        valid.then(|| Self {
            ln_k: -0.5 * LN_10 * (upper + lower),
            n: sense * 3.0 / (upper - lower),
        })
    }
}

impl<R: Real> Side<R> {
    #[inline(always)]
    fn factor(&self, x: R) -> (R, R) {
        let value = ((self.n * (x - self.ln_k)).exp() + 1.0).recip();
        (value, -self.n * value * (-value + 1.0))
    }

    fn splat(of: &Side<f64>) -> Self {
        Self {
            ln_k: R::splat(of.ln_k),
            n: R::splat(of.n),
        }
    }

    fn put(&mut self, lane: usize, of: &Side<f64>) {
        self.ln_k.put(lane, of.ln_k);
        self.n.put(lane, of.n);
    }
}

impl PhBand {
    /// From the pH below which almost nothing runs and the pH above which almost nothing is lost.
    ///
    /// `K = 10^-(upper + lower)/2`, `n = 3/(upper - lower)`; 3 % is left at the lower bound, 97 % at
    /// the upper. `None` unless both are finite and lower < upper.
    /// Source: Rosen and Jeppsson 2006 (from memory).
    #[must_use]
    pub fn from_bounds(lower: f64, upper: f64) -> Option<Self> {
        let bottom = Side::between(lower, upper, 1.0)?;
        Some(Self { bottom, top: None })
    }

    /// The same with a high side: the pH up to which almost nothing is lost, and from which almost nothing runs.
    ///
    /// The mirror image of the low side, as in the two-sided forms of Angelidaki et al. 1993 and Batstone et al. 2002
    /// (from memory), which lose half at the middle of the bounds too. `None` unless both are finite and
    /// lower < upper.
    #[must_use]
    pub fn with_top(self, lower: f64, upper: f64) -> Option<Self> {
        let top = Side::between(lower, upper, -1.0)?;
        Some(Self {
            top: Some(top),
            ..self
        })
    }

    /// Hill exponent n of the low side.
    #[must_use]
    pub fn exponent(&self) -> f64 {
        self.bottom.n
    }
}

impl<R: Real> PhBand<R> {
    /// The same band in every lane.
    #[must_use]
    pub fn splat(of: &PhBand) -> Self {
        Self {
            bottom: Side::splat(&of.bottom),
            top: of.top.as_ref().map(Side::splat),
        }
    }

    /// Sets one lane; `false` if only one of the two has a high side.
    pub fn put(&mut self, lane: usize, of: &PhBand) -> bool {
        self.bottom.put(lane, &of.bottom);
        match (&mut self.top, &of.top) {
            (Some(own), Some(top)) => own.put(lane, top),
            (None, None) => {}
            _ => return false,
        }
        true
    }

    /// (`K^n/(H^n + K^n)`, d/dx) as a function of `x` = ln H; with a high side, the product of both.
    #[must_use]
    #[inline(always)]
    pub fn factor(&self, x: R) -> (R, R) {
        let (low, low_slope) = self.bottom.factor(x);
        match &self.top {
            None => (low, low_slope),
            Some(top) => {
                let (high, high_slope) = top.factor(x);
                (low * high, low_slope * high + low * high_slope)
            }
        }
    }
}
