//! Typed rate terms. A rate is `coefficient(T) * product of factors`; each factor knows its own derivatives.

use crate::chemistry::{Cardinal, PhBand, arrhenius_lanes};
use crate::lanes::Real;

/// Temperature at which every biological parameter is given \[K\]: 35 C.
pub const REFERENCE_K: f64 = 308.15;

/// How a rate coefficient follows temperature, relative to 35 C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TemperatureLaw {
    /// Fixed (ADM1 in the BSM2 setting).
    Constant,
    /// Arrhenius with an activation energy \[J/mol\].
    Arrhenius {
        /// \[J/mol\]
        energy: f64,
    },
    /// Cardinal temperature model with inflection (Rosso et al. 1993).
    Cardinal(Cardinal),
}

impl TemperatureLaw {
    /// (factor, d factor/dT) relative to 35 C.
    #[must_use]
    pub fn factor(&self, t_k: f64) -> (f64, f64) {
        RelativeLaw::new(self).factor(t_k)
    }
}

/// A temperature law with what it is relative to worked out once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RelativeLaw {
    law: TemperatureLaw,
    scale: f64,
}

impl RelativeLaw {
    pub(super) fn new(law: &TemperatureLaw) -> Self {
        let scale = match law {
            TemperatureLaw::Cardinal(cardinal) => 1.0 / cardinal.response(REFERENCE_K).0,
            TemperatureLaw::Constant | TemperatureLaw::Arrhenius { .. } => 1.0,
        };
        Self { law: *law, scale }
    }

    /// (factor, d factor/dT) relative to 35 C.
    pub(super) fn factor(&self, t_k: f64) -> (f64, f64) {
        Self::factor_lanes(|_| self, t_k)
    }

    /// As [`RelativeLaw::factor`], with a law of each lane, all of one kind.
    #[inline(always)]
    pub(super) fn factor_lanes<'a, R: Real>(of: impl Fn(usize) -> &'a Self, t_k: R) -> (R, R) {
        match of(0).law {
            TemperatureLaw::Constant => (R::splat(1.0), R::splat(0.0)),
            TemperatureLaw::Arrhenius { .. } => {
                let energy = R::gather(|lane| match of(lane).law {
                    TemperatureLaw::Arrhenius { energy } => energy,
                    _ => f64::NAN,
                });
                arrhenius_lanes(energy, REFERENCE_K, t_k)
            }
            TemperatureLaw::Cardinal(_) => {
                let all = Cardinal::gather(|lane| match &of(lane).law {
                    TemperatureLaw::Cardinal(cardinal) => Some(cardinal),
                    _ => None,
                });
                let (f, d) = all.response(t_k);
                let scale = R::gather(|lane| of(lane).scale);
                (f * scale, d * scale)
            }
        }
    }

    /// Whether another law is of the same kind.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        std::mem::discriminant(&self.law) == std::mem::discriminant(&other.law)
    }
}

/// A rate constant: value at 35 C and its temperature law.
#[derive(Debug, Clone, PartialEq)]
pub struct Coefficient {
    /// Name of the parameter it comes from.
    pub name: String,
    /// Value at 35 C \[1/d\].
    pub value: f64,
    /// Index into the network's temperature laws.
    pub law: usize,
}

/// A concentration that can inhibit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Signal {
    /// A component as a whole.
    Component(usize),
    /// One protonation level of an acid \[kmol/m3\].
    Level {
        /// Index of the acid.
        acid: usize,
        /// 0 is the fully protonated form.
        level: usize,
    },
}

/// A factor of a rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Factor<R = f64> {
    /// The component itself.
    Amount(usize),
    /// A living group that takes something up; less than none of it, an integrator's error, takes up nothing. What it took
    /// up would be less than nothing too, and the error would grow as the living do.
    Living(usize),
    /// `s/(k + s)`.
    Saturation {
        /// Component.
        of: usize,
        /// Half-saturation constant.
        k: R,
    },
    /// `s/(k + s + s^2/k_i)`: too much of a substrate inhibits (Andrews 1968).
    Haldane {
        /// Component.
        of: usize,
        /// Half-saturation constant.
        k: R,
        /// Inhibition constant.
        k_i: R,
    },
    /// `a/(a + b)`: two substrates of one group share it.
    Share {
        /// This substrate.
        of: usize,
        /// The other one.
        other: usize,
    },
    /// Inhibition by a low or a high pH, as a function of `ln a_H`.
    Ph(PhBand<R>),
    /// `1/(1 + s/k)`.
    Inhibition {
        /// What inhibits.
        by: Signal,
        /// Concentration that halves the rate.
        k: R,
    },
}

/// What a rate can depend on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Var {
    /// A component.
    Component(usize),
    /// `ln a_H`.
    LnH,
    /// Ionic strength.
    Ionic,
    /// Temperature.
    Temperature,
}
