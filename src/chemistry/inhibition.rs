//! Saturation and inhibition factors, each with its derivative.
//!
//! The formulas continue smoothly through slightly negative concentrations, which an integrator may
//! try; a concentration near minus its constant is outside their range.

use std::f64::consts::LN_10;

/// Non-competitive inhibition: (`1/(1 + S/K)`, d/dS), S and K > 0 in the same unit.
///
/// Serves hydrogen, free ammonia, free sulphide and undissociated acids alike.
/// Source: Batstone et al. 2002 (from memory).
#[must_use]
pub fn non_competitive(s: f64, k: f64) -> (f64, f64) {
    let value = k / (k + s);
    (value, -value / (k + s))
}

/// Saturation: (`S/(K + S)`, d/dS), S and K > 0 in the same unit.
///
/// Serves uptake and the shortage of inorganic nitrogen. Source: Monod 1949; Batstone et al. 2002
/// (from memory).
#[must_use]
pub fn monod(s: f64, k: f64) -> (f64, f64) {
    let inverse = 1.0 / (k + s);
    (s * inverse, k * inverse * inverse)
}

/// Saturation with substrate inhibition: (`S/(Ks + S + S^2/Ki)`, d/dS).
///
/// Greatest at `sqrt(Ks Ki)`. Source: Andrews 1968, Biotechnol. Bioeng. 10, 707 (from memory).
#[must_use]
pub fn haldane(s: f64, k_s: f64, k_i: f64) -> (f64, f64) {
    let inverse = 1.0 / (k_s + s + s * s / k_i);
    (s * inverse, (k_s - s * s / k_i) * inverse * inverse)
}

/// Inhibition by a low pH: the Hill form between two pH bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhBand {
    ln_k: f64,
    n: f64,
}

impl PhBand {
    /// From the pH below which almost nothing runs and the pH above which almost nothing is lost.
    ///
    /// `K = 10^-(upper + lower)/2`, `n = 3/(upper - lower)`; 3 % is left at the lower bound, 97 % at
    /// the upper. `None` unless both are finite and lower < upper.
    /// Source: Rosen and Jeppsson 2006 (from memory).
    #[must_use]
    pub fn from_bounds(lower: f64, upper: f64) -> Option<Self> {
        let valid = lower.is_finite() && upper.is_finite() && lower < upper;
        valid.then(|| Self {
            ln_k: -0.5 * LN_10 * (upper + lower),
            n: 3.0 / (upper - lower),
        })
    }

    /// Hill exponent n.
    #[must_use]
    pub fn exponent(&self) -> f64 {
        self.n
    }

    /// (`K^n/(H^n + K^n)`, d/dx) as a function of `x` = ln H.
    #[must_use]
    pub fn factor(&self, x: f64) -> (f64, f64) {
        let value = 1.0 / (1.0 + (self.n * (x - self.ln_k)).exp());
        (value, -self.n * value * (1.0 - value))
    }
}
