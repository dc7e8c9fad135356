//! The numbers of a network's rates and rows, of one network or of several of one shape side by side.

use super::network::Network;
use super::rate::{Factor, Signal};
use crate::chemistry::PhBand;
use crate::lanes::Real;

/// Factors and rows of a network as the evaluator runs through them.
#[derive(Debug, Clone, PartialEq)]
pub struct Equations<R = f64> {
    /// The factors, in the network's order.
    pub factors: Vec<Factor<R>>,
    /// (component, change per unit of rate) of each process.
    pub rows: Vec<Vec<(usize, R)>>,
}

impl<R: Real> Equations<R> {
    /// The same network in every lane.
    #[must_use]
    pub fn new(network: &Network) -> Self {
        let row = |row: &Vec<(usize, f64)>| row.iter().map(|&(i, v)| (i, R::splat(v))).collect();
        Self {
            factors: network.factors.iter().map(splat).collect(),
            rows: network.processes.iter().map(|p| row(&p.row)).collect(),
        }
    }

    /// Sets one lane; `false` if the network is of another shape, which leaves the lane unusable.
    pub fn put(&mut self, lane: usize, network: &Network) -> bool {
        if self.factors.len() != network.factors.len() || self.rows.len() != network.processes.len()
        {
            return false;
        }
        let mut own = self.factors.iter_mut().zip(&network.factors);
        let factors = own.all(|(own, other)| put(own, lane, other));
        let mut rows = self.rows.iter_mut().zip(&network.processes);
        factors
            && rows.all(|(own, other)| {
                own.len() == other.row.len()
                    && own.iter_mut().zip(&other.row).all(|(own, other)| {
                        own.1.put(lane, other.1);
                        own.0 == other.0
                    })
            })
    }
}

fn splat<R: Real>(factor: &Factor) -> Factor<R> {
    let s = R::splat;
    match *factor {
        Factor::Amount(i) => Factor::Amount(i),
        Factor::Living(i) => Factor::Living(i),
        Factor::Saturation { of, k } => Factor::Saturation { of, k: s(k) },
        Factor::Haldane { of, k, k_i } => Factor::Haldane {
            of,
            k: s(k),
            k_i: s(k_i),
        },
        Factor::Share { of, other } => Factor::Share { of, other },
        Factor::Ph(band) => Factor::Ph(PhBand::splat(&band)),
        Factor::Inhibition { by, k } => Factor::Inhibition { by, k: s(k) },
    }
}

/// Sets one lane of a factor; `false` if the two are of different kinds or of different things.
fn put<R: Real>(own: &mut Factor<R>, lane: usize, from: &Factor) -> bool {
    let same = |a: Signal, b: Signal| a == b;
    match (own, *from) {
        (Factor::Amount(i), Factor::Amount(j)) | (Factor::Living(i), Factor::Living(j)) => *i == j,
        (Factor::Saturation { of, k }, Factor::Saturation { of: j, k: new }) => {
            k.put(lane, new);
            *of == j
        }
        (
            Factor::Haldane { of, k, k_i },
            Factor::Haldane {
                of: j,
                k: new,
                k_i: new_i,
            },
        ) => {
            k.put(lane, new);
            k_i.put(lane, new_i);
            *of == j
        }
        (Factor::Share { of, other }, Factor::Share { of: i, other: j }) => (*of, *other) == (i, j),
        (Factor::Ph(own), Factor::Ph(new)) => own.put(lane, &new),
        (Factor::Inhibition { by, k }, Factor::Inhibition { by: other, k: new }) => {
            k.put(lane, new);
            same(*by, other)
        }
        _ => false,
    }
}
