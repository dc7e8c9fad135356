//! What all tanks of a network share: its lists, acid-base solver and property table.

use crate::chemistry::{Acid, AcidBase, MAX_ACIDS, Totals};
use crate::kinetics::{Component, Factor, Network, PropertyTable};

/// Rounds `|strong ions|` at zero \[kmol/m3\].
const SPECTATOR_ROUNDING: f64 = 1e-6;
/// Share of the half-saturation constant by which a stage of a step may undershoot zero. At minus one whole constant
/// `s/(k + s)` has its pole, and beyond it uptake would feed on its own deficit.
const LEAST_SATURATION: f64 = -0.5;

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
    /// (component, concentration) of each saturating substrate below which its rate law no longer means anything.
    pub(super) floors: Vec<(usize, f64)>,
    /// What changes each component: how many processes, and (process, change per unit of rate) of each in turn.
    pub(super) change_counts: Vec<u16>,
    pub(super) changes: Vec<(u16, f64)>,
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
        let floors = substrate_floors(&network);
        let (mut change_counts, mut changes) = (Vec::new(), Vec::new());
        for component in 0..network.components.len() {
            let before = changes.len();
            for (p, process) in network.processes.iter().enumerate() {
                let own = process.row.iter().filter(|(i, _)| *i == component);
                changes.extend(own.map(|&(_, v)| (p as u16, v)));
            }
            change_counts.push((changes.len() - before) as u16);
        }
        Self {
            network,
            acid_base,
            properties,
            floors,
            ions,
            change_counts,
            changes,
        }
    }
}

/// The lowest concentration of each substrate with a saturation at which the law can be evaluated.
fn substrate_floors(network: &Network) -> Vec<(usize, f64)> {
    let mut floors: Vec<(usize, f64)> = Vec::new();
    for factor in &network.factors {
        let (Factor::Saturation { of, k } | Factor::Haldane { of, k, .. }) = *factor else {
            continue;
        };
        let floor = LEAST_SATURATION * k;
        match floors.iter_mut().find(|(i, _)| *i == of) {
            Some((_, known)) => *known = known.max(floor),
            None => floors.push((of, floor)),
        }
    }
    floors
}

/// `|q|` of a strong ion with its corner rounded, and its slope.
pub(super) fn spectator(q: f64) -> (f64, f64) {
    let root = (q * q + SPECTATOR_ROUNDING * SPECTATOR_ROUNDING).sqrt();
    (root, q / root)
}

/// Acid totals and strong ions of a state.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct AcidTotals {
    acids: [f64; MAX_ACIDS],
    count: usize,
    strong: f64,
    spectators: f64,
}

impl Engine {
    pub(super) fn acid_totals(&self, c: &[f64]) -> AcidTotals {
        let mut acids = [0.0; MAX_ACIDS];
        for (total, a) in acids.iter_mut().zip(&self.network.acids) {
            *total = c[a.component] * a.kmol_per_unit;
        }
        let (mut strong, mut spectators) = (0.0, 0.0);
        for &(i, charge) in &self.ions {
            strong += charge * c[i];
            spectators += spectator(charge * c[i]).0;
        }
        AcidTotals {
            acids,
            count: self.network.acids.len(),
            strong,
            spectators,
        }
    }
}

impl AcidTotals {
    pub(crate) fn borrow(&self) -> Totals<'_> {
        Totals {
            acids: &self.acids[..self.count],
            strong: self.strong,
            spectators: self.spectators,
        }
    }
}
