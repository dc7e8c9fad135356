//! Where each quantity stands in a tank's state vector.

use std::ops::Range;

use crate::kinetics::{Network, Var};

/// Positions in the state vector: components, headspace gases, temperature, gas sent out, gas leaked,
/// liquor drained, heat passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// Number of components (concentrations, from position 0).
    pub components: usize,
    /// Number of gases.
    pub gases: usize,
    /// Whether leaked gas is counted.
    pub leak: bool,
    /// Whether a steady stream drains, so that what it takes is counted.
    pub stream: bool,
    /// Whether the temperature follows a heat balance, so that its flows are counted.
    pub heat: bool,
}

impl Layout {
    /// Layout for a network.
    #[must_use]
    pub fn new(network: &Network, leak: bool, stream: bool) -> Self {
        Self {
            components: network.components.len(),
            gases: network.gases.len(),
            leak,
            stream,
            heat: false,
        }
    }

    /// Headspace gas `g` \[kmol\].
    #[must_use]
    pub fn gas(&self, g: usize) -> usize {
        self.components + g
    }

    /// The headspace gases and the temperature: all that the pressure depends on.
    #[must_use]
    pub fn headspace(&self) -> Range<usize> {
        self.components..self.temperature() + 1
    }

    /// Temperature \[K\].
    #[must_use]
    pub fn temperature(&self) -> usize {
        self.components + self.gases
    }

    /// Gas `g` sent to the store since the start \[kmol\].
    #[must_use]
    pub fn sent(&self, g: usize) -> usize {
        self.temperature() + 1 + g
    }

    /// Gas `g` leaked since the start \[kmol\]; only with a leak.
    #[must_use]
    pub fn leaked(&self, g: usize) -> usize {
        self.sent(self.gases) + g
    }

    /// Component `i` drained by a steady stream since the start \[its unit\]; only with a stream.
    #[must_use]
    pub fn drained(&self, i: usize) -> usize {
        self.leaked(if self.leak { self.gases } else { 0 }) + i
    }

    /// Heat flow `k` since the start \[kWh\], in the order of [`Self::HEATS`]; only with a heat balance.
    #[must_use]
    pub fn heat(&self, k: usize) -> usize {
        self.drained(if self.stream { self.components } else { 0 }) + k
    }

    /// Flows that a heat balance counts: through air faces, through ground faces, sun, heater, evaporation (negative),
    /// reaction, steady stream; last the temperature over time \[K d above 0 C\].
    pub const HEATS: usize = 8;

    /// Column of the Jacobian that belongs to what a rate depends on: a state, or an auxiliary unknown behind them;
    /// `None` for an ionic strength that is not followed.
    #[inline(always)]
    pub(crate) fn column(&self, var: Var, davies: bool) -> Option<usize> {
        match var {
            Var::Component(i) => Some(i),
            Var::LnH => Some(self.dim()),
            Var::Ionic => davies.then(|| self.dim() + 1),
            Var::Temperature => Some(self.temperature()),
        }
    }

    /// Length of the state vector.
    #[must_use]
    pub fn dim(&self) -> usize {
        self.heat(if self.heat { Self::HEATS } else { 0 })
    }
}
