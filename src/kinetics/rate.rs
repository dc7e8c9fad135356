//! Typed rate terms. A rate is `coefficient(T) * product of factors`; each factor knows its own derivatives.

use crate::chemistry::{Cardinal, PhBand, arrhenius};

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
        match self.law {
            TemperatureLaw::Constant => (1.0, 0.0),
            TemperatureLaw::Arrhenius { energy } => arrhenius(energy, REFERENCE_K, t_k),
            TemperatureLaw::Cardinal(cardinal) => {
                let (f, d) = cardinal.response(t_k);
                (f * self.scale, d * self.scale)
            }
        }
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
