//! What enters, leaves and stays: the bookkeeping behind closures and the fate of the COD.

use super::outcome::{Closure, Fate};
use crate::kinetics::{Component, GasForm, GasKind, Group, Load, Network};

/// Largest relative gap of a balance in a run.
///
/// The integrator conserves every linear balance to rounding; 1e-6 leaves room for twenty years of doses.
pub(super) const CLOSURE_LIMIT: f64 = 1e-6;
/// Smallest amount that a gap is compared with \[kg, kmol or m3\]: keeps a balance of nothing (no sulphur at all, say)
/// from dividing rounding by rounding.
const LEAST_ENTERED: f64 = 1e-12;

/// Amounts of one place: components in their units, gases in kmol, volume in m3.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stock {
    components: Vec<f64>,
    gases: Vec<f64>,
    volume: f64,
}

impl Stock {
    pub(super) fn empty(network: &Network) -> Self {
        Self {
            components: vec![0.0; network.components.len()],
            gases: vec![0.0; network.gases.len()],
            volume: 0.0,
        }
    }

    pub(super) fn add_load(&mut self, load: &Load) {
        for (a, b) in self.components.iter_mut().zip(&load.amount) {
            *a += b;
        }
        self.volume += load.volume_m3;
    }

    pub(super) fn add_liquor(&mut self, concentrations: &[f64], m3: f64) {
        for (a, c) in self.components.iter_mut().zip(concentrations) {
            *a += c * m3;
        }
        self.volume += m3;
    }

    pub(super) fn add_stream(&mut self, concentrations: impl Iterator<Item = f64>, m3: f64) {
        for (a, c) in self.components.iter_mut().zip(concentrations) {
            *a += c * m3;
        }
        self.volume += m3;
    }

    /// Amounts that were summed elsewhere; of a stream of no flow there are none.
    pub(super) fn add_amounts(&mut self, amounts: impl Iterator<Item = f64>, m3: f64) {
        for (a, amount) in self.components.iter_mut().zip(amounts) {
            *a += amount;
        }
        self.volume += m3;
    }

    pub(super) fn add_gas(&mut self, g: usize, kmol: f64) {
        self.gases[g] += kmol;
    }

    pub(super) fn gas(&self, network: &Network, kind: GasKind) -> f64 {
        network
            .gases
            .iter()
            .zip(&self.gases)
            .filter(|(g, _)| g.kind == kind)
            .map(|(_, n)| n)
            .sum()
    }

    /// All amounts, and so all sums, by size.
    fn sizes(&self) -> Self {
        let size = |amounts: &[f64]| amounts.iter().map(|a| a.abs()).collect();
        Self {
            components: size(&self.components),
            gases: size(&self.gases),
            volume: self.volume.abs(),
        }
    }

    /// Sum of a content over components and gases (a gas counts as its dissolved form).
    fn sum(&self, network: &Network, content: impl Fn(&Component) -> f64) -> f64 {
        let liquor: f64 = self
            .components
            .iter()
            .zip(&network.components)
            .map(|(a, c)| a * content(c))
            .sum();
        let gas: f64 = self
            .gases
            .iter()
            .zip(&network.gases)
            .map(|(n, g)| match g.form {
                GasForm::Component { index, per_kmol } => {
                    n * per_kmol * content(&network.components[index])
                }
                GasForm::Acid(a) => {
                    let total = &network.acids[a];
                    n / total.kmol_per_unit * content(&network.components[total.component])
                }
                GasForm::None => 0.0,
            })
            .sum();
        liquor + gas
    }

    fn cod_of(&self, network: &Network, wanted: impl Fn(Group) -> bool) -> f64 {
        self.components
            .iter()
            .zip(&network.components)
            .filter(|(_, c)| wanted(c.group))
            .map(|(a, c)| a * c.cod)
            .sum()
    }
}

/// The books of a run.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ledger {
    pub(super) start: Stock,
    pub(super) fed: Stock,
    pub(super) overflow: Stock,
    pub(super) sent: Stock,
    pub(super) leaked: Stock,
    pub(super) left: Stock,
}

impl Ledger {
    pub(super) fn new(network: &Network) -> Self {
        let empty = Stock::empty(network);
        Self {
            start: empty.clone(),
            fed: empty.clone(),
            overflow: empty.clone(),
            sent: empty.clone(),
            leaked: empty.clone(),
            left: empty,
        }
    }

    pub(super) fn fate(&self, network: &Network) -> Fate {
        let cod = |s: &Stock| s.sum(network, |c| c.cod);
        let only = |kind: GasKind, per_kmol: f64| self.sent.gas(network, kind) * per_kmol;
        let out = |g: Group| self.overflow.cod_of(network, |x| x == g);
        Fate {
            start: cod(&self.start),
            fed: cod(&self.fed),
            methane: only(GasKind::CH4, crate::units::COD_CH4),
            hydrogen: only(GasKind::H2, crate::units::COD_H2),
            leaked: cod(&self.leaked),
            out_degradable: out(Group::Degradable),
            out_dissolved: out(Group::Dissolved),
            out_living: out(Group::Living),
            out_inert: out(Group::Inert),
            left: cod(&self.left),
        }
    }

    pub(super) fn closures(&self, network: &Network) -> Vec<Closure> {
        type Content = fn(&Component) -> f64;
        let elements: [(&str, &str, Content); 5] = [
            ("COD", "kg", |c| c.cod),
            ("carbon", "kmol", |c| c.carbon),
            ("nitrogen", "kmol", |c| c.nitrogen),
            ("sulphur", "kmol", |c| c.sulfur),
            ("strong charge", "kmol", |c| c.charge),
        ];
        let mut out: Vec<Closure> = elements
            .into_iter()
            .map(|(name, unit, content)| {
                let size = |s: &Stock| s.sizes().sum(network, |c| content(c).abs());
                self.closure(name, unit, |s| s.sum(network, content), size)
            })
            .collect();
        let volume = |s: &Stock| s.volume;
        out.push(self.closure("liquor volume", "m3", volume, volume));
        let air = |s: &Stock| s.gas(network, GasKind::Air);
        out.push(self.closure("air", "kmol", air, air));
        out
    }

    fn closure(
        &self,
        quantity: &str,
        unit: &str,
        amount: impl Fn(&Stock) -> f64,
        size: impl Fn(&Stock) -> f64,
    ) -> Closure {
        let entered = amount(&self.start) + amount(&self.fed);
        let accounted =
            amount(&self.overflow) + amount(&self.sent) + amount(&self.leaked) + amount(&self.left);
        // By size: what carries either sign can cancel to nothing without being nothing.
        let scale = size(&self.start) + size(&self.fed);
        Closure {
            quantity: quantity.to_owned(),
            unit: unit.to_owned(),
            entered,
            accounted,
            relative_gap: (accounted - entered).abs() / scale.max(LEAST_ENTERED),
            limit: CLOSURE_LIMIT,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinetics::{Parameters, four_stage};

    #[test]
    fn a_gap_is_told_as_a_share_of_what_entered() {
        let network = four_stage(&Parameters::four_stage()).unwrap();
        let mut ledger = Ledger::new(&network);
        let liquor = vec![1.0; network.components.len()];
        ledger.start.add_liquor(&liquor, 1.5);
        ledger.fed.add_liquor(&liquor, 0.5);
        ledger.overflow.add_liquor(&liquor, 0.5);
        ledger.left.add_liquor(&liquor, 1.498);
        for closure in ledger.closures(&network) {
            let expected = if closure.quantity == "air" {
                0.0
            } else {
                0.001
            };
            assert!(
                (closure.relative_gap - expected).abs() < 1e-12,
                "{closure:?}"
            );
        }
    }
}
