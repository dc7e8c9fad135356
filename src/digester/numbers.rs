//! The numbers of an engine that a right-hand side runs through, of one engine or of several side by side.

use crate::kinetics::{Equations, Network};
use crate::lanes::Real;

/// Share of a constant by which a stage of a step may undershoot zero. At minus one whole constant `s/(k + s)` and
/// `k/(k + s)` have their pole, and beyond it uptake would feed on its own deficit.
const LEAST_SHARE: f64 = -0.5;

/// Factors, rows, rows by component, and the floors.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Numbers<R> {
    pub(super) equations: Equations<R>,
    /// (component, concentration) of each saturating substrate below which its rate law no longer means anything.
    pub(super) floors: Vec<(usize, R)>,
    /// What changes each component: how many processes, and (process, change per unit of rate) of each in turn.
    pub(super) change_counts: Vec<u16>,
    pub(super) changes: Vec<(u16, R)>,
}

impl<R: Real> Numbers<R> {
    /// The same network in every lane.
    pub(super) fn new(network: &Network) -> Self {
        let mut change_counts = Vec::new();
        let mut all = Vec::new();
        for component in 0..network.components.len() {
            let before = all.len();
            all.extend(changes_of(network, component));
            change_counts.push((all.len() - before) as u16);
        }
        let floors = floors(network);
        Self {
            equations: Equations::new(network),
            floors: floors.map(|(i, k)| (i, R::splat(k))).collect(),
            change_counts,
            changes: all.into_iter().map(|(p, v)| (p, R::splat(v))).collect(),
        }
    }

    /// Sets one lane; `false` if the network is of another shape, which leaves the lane unusable.
    pub(super) fn put(&mut self, lane: usize, network: &Network) -> bool {
        let changes = (0..network.components.len()).flat_map(|i| changes_of(network, i));
        self.equations.put(lane, network)
            && put(&mut self.changes, lane, changes)
            && put(&mut self.floors, lane, floors(network))
    }
}

/// Sets a lane of a list of (index, number); `false` if the other has other indices.
fn put<I: PartialEq, R: Real>(
    own: &mut [(I, R)],
    lane: usize,
    mut other: impl Iterator<Item = (I, f64)>,
) -> bool {
    let same = own.iter_mut().all(|own| match other.next() {
        Some((i, value)) => {
            own.1.put(lane, value);
            own.0 == i
        }
        None => false,
    });
    same && other.next().is_none()
}

/// (process, change per unit of rate) of all that changes a component.
fn changes_of(network: &Network, component: usize) -> impl Iterator<Item = (u16, f64)> + '_ {
    let processes = network.processes.iter().enumerate();
    processes.flat_map(move |(p, process)| {
        let own = process.row.iter().filter(move |(i, _)| *i == component);
        own.map(move |&(_, v)| (p as u16, v))
    })
}

/// The lowest concentration of each component at which every law that weighs it can be evaluated.
fn floors(network: &Network) -> impl Iterator<Item = (usize, f64)> {
    let constants = network.smallest_constants().into_iter();
    constants.map(|(i, k)| (i, LEAST_SHARE * k))
}
