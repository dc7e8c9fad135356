//! What all tanks of a network share: its lists, acid-base solver and property table.

use std::sync::Arc;

use super::numbers::Numbers;
use crate::chemistry::{Acid, AcidBase, MAX_ACIDS, Totals};
use crate::kinetics::{Component, Network, PropertyTable};
use crate::lanes::Real;

/// Rounds `|strong ions|` at zero \[kmol/m3\].
const SPECTATOR_ROUNDING: f64 = 1e-6;
/// A network with its acid-base solver and property table, shared by all tanks and runs.
#[derive(Debug)]
pub struct Engine {
    /// The network.
    pub network: Network,
    /// Its acid-base solver.
    pub acid_base: AcidBase,
    /// Its properties by temperature.
    pub properties: PropertyTable,
    /// (component, charge) of the strong ions.
    pub(super) ions: Vec<(usize, f64)>,
    /// What its right-hand side runs through.
    pub(super) numbers: Arc<Numbers<f64>>,
}

impl Engine {
    /// Prepares a network.
    #[must_use]
    pub fn new(network: Network, davies: bool) -> Self {
        let acids: Vec<Acid> = network.acids.iter().map(|a| a.acid).collect();
        let acid_base = AcidBase::new(acids, davies);
        let properties = PropertyTable::new(&network, davies);
        let charged = |(i, c): (usize, &Component)| (c.charge != 0.0).then_some((i, c.charge));
        let ions = network
            .components
            .iter()
            .enumerate()
            .filter_map(charged)
            .collect();
        Self {
            numbers: Arc::new(Numbers::new(&network)),
            network,
            acid_base,
            properties,
            ions,
        }
    }
}

/// `|q|` of a strong ion with its corner rounded, and its slope.
#[inline(always)]
pub(super) fn spectator<R: Real>(q: R) -> (R, R) {
    let root = (q * q + SPECTATOR_ROUNDING * SPECTATOR_ROUNDING).sqrt();
    (root, q / root)
}

/// Acid totals and strong ions of a state.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AcidTotals<R = f64> {
    acids: [R; MAX_ACIDS],
    count: usize,
    strong: R,
    spectators: R,
}

impl Engine {
    /// What the acid-base solver needs of a state.
    #[inline(always)]
    pub(crate) fn acid_totals<R: Real>(&self, c: &[R]) -> AcidTotals<R> {
        let mut out = AcidTotals::none();
        out.count = self.network.acids.len();
        for (total, a) in out.acids.iter_mut().zip(&self.network.acids) {
            *total = c[a.component] * a.kmol_per_unit;
        }
        for &(i, charge) in &self.ions {
            out.strong += c[i] * charge;
            out.spectators += spectator(c[i] * charge).0;
        }
        out
    }
}

impl<R: Real> AcidTotals<R> {
    /// Of pure water.
    pub(super) fn none() -> Self {
        let zero = R::splat(0.0);
        Self {
            acids: [zero; MAX_ACIDS],
            count: 0,
            strong: zero,
            spectators: zero,
        }
    }

    #[inline(always)]
    pub(crate) fn borrow(&self) -> Totals<'_, R> {
        Totals {
            acids: &self.acids[..self.count],
            strong: self.strong,
            spectators: self.spectators,
        }
    }
}
