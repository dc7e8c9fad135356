//! A network: components, processes, acids, gases, and the check that every process row balances.

use super::component::Component;
use super::evaluate::MAX_FACTORS;
use super::influent::MAX_POOLS;
use super::properties::{MAX_GASES, MAX_LAWS};
use super::rate::{Coefficient, Factor, Signal, TemperatureLaw, Var};
use crate::chemistry::{Acid, ConstantSet, MAX_ACIDS};

/// Gases over the liquor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum GasKind {
    /// Hydrogen.
    H2,
    /// Methane.
    CH4,
    /// Carbon dioxide.
    CO2,
    /// Hydrogen sulphide.
    H2S,
    /// Air that was there when the lid closed.
    Air,
}

/// How a gas is dissolved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GasForm {
    /// As a component of its own.
    Component {
        /// Index.
        index: usize,
        /// Units of the component per kmol.
        per_kmol: f64,
    },
    /// As the fully protonated form of an acid.
    Acid(usize),
    /// Not dissolved.
    None,
}

/// A gas of the headspace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gas {
    /// Which.
    pub kind: GasKind,
    /// Its dissolved form.
    pub form: GasForm,
}

/// The total of an acid as a component.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidTotal {
    /// Component that holds the total.
    pub component: usize,
    /// kmol per unit of the component.
    pub kmol_per_unit: f64,
    /// Which constants it uses.
    pub constants: AcidKind,
    /// Ladder.
    pub acid: Acid,
}

/// Acids the engine knows constants of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AcidKind {
    /// CO2(aq), HCO3-, CO3--.
    Carbonic,
    /// NH4+, NH3.
    Ammonium,
    /// H2S, HS-, (S-- is left out: pK2 above 12).
    Sulfidic,
    /// Acetic acid.
    Acetic,
    /// Propionic acid.
    Propionic,
    /// Butyric acid.
    Butyric,
    /// Valeric acid.
    Valeric,
}

/// One process: a row of the stoichiometric matrix and its rate.
#[derive(Debug, Clone, PartialEq)]
pub struct Process {
    /// Name for people.
    pub name: String,
    /// (component, change per unit of rate), the closing components included.
    pub row: Vec<(usize, f64)>,
    /// Index of the rate coefficient.
    pub coefficient: usize,
    /// Indices of the factors.
    pub factors: Vec<usize>,
}

/// The gap of one process row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Continuity {
    /// COD \[kg\].
    pub cod: f64,
    /// Carbon \[kmol\].
    pub carbon: f64,
    /// Nitrogen \[kmol\].
    pub nitrogen: f64,
    /// Sulphur \[kmol\].
    pub sulfur: f64,
    /// Strong charge \[kmol\].
    pub charge: f64,
}

impl Continuity {
    /// Largest gap by size; infinite where one is no number.
    #[must_use]
    pub fn worst(&self) -> f64 {
        [
            self.cod,
            self.carbon,
            self.nitrogen,
            self.sulfur,
            self.charge,
        ]
        .iter()
        .fold(0.0, |m, v| {
            if v.is_nan() {
                f64::INFINITY
            } else {
                v.abs().max(m)
            }
        })
    }
}

/// A process row that does not balance.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("process `{process}` does not balance: COD {cod:.3e}, C {carbon:.3e}, N {nitrogen:.3e}, S {sulfur:.3e}, charge {charge:.3e}",
    cod = gap.cod, carbon = gap.carbon, nitrogen = gap.nitrogen, sulfur = gap.sulfur, charge = gap.charge)]
pub struct Unbalanced {
    /// Its name.
    pub process: String,
    /// The gap.
    pub gap: Continuity,
}

/// A list of parameters from which no network can be built.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NetworkFault {
    /// A process row does not balance.
    #[error(transparent)]
    Unbalanced(#[from] Unbalanced),
    /// Cardinal temperatures out of order.
    #[error(
        "`T_min_{group}`, `T_opt_{group}`, `T_max_{group}` must rise, with the optimum above the middle of the range, and 35 C inside it"
    )]
    Temperatures {
        /// Group of the names.
        group: &'static str,
    },
    /// Shares of what becomes of a substrate that leave less than nothing for the last product, or something where
    /// there is no last product.
    #[error("the shares {} sum to {}, {}", names.join(", "), (sum * 1e9).round() / 1e9, if *sum > 1.0 { "more than 1" } else { "less than 1, and nothing takes the rest" })]
    Shares {
        /// Their names.
        names: Vec<&'static str>,
        /// Their sum.
        sum: f64,
    },
    /// More of something than the engine has room for.
    #[error("a network may have at most {most} {what}, this one has {count}")]
    TooMany {
        /// What.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many there may be.
        most: usize,
    },
    /// pH bounds out of order.
    #[error("`{low}` must be below `{high}`")]
    PhBounds {
        /// Name of the lower bound.
        low: &'static str,
        /// Name of the upper bound.
        high: &'static str,
    },
}

/// Largest gap of a row; rows are sums of about ten terms of order one.
const ROW_LIMIT: f64 = 1e-12;

/// A reaction network, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    /// Name.
    pub name: &'static str,
    /// Components, in the order of the state vector.
    pub components: Vec<Component>,
    /// Processes.
    pub processes: Vec<Process>,
    /// Factors shared by the processes.
    pub factors: Vec<Factor>,
    /// Rate coefficients.
    pub coefficients: Vec<Coefficient>,
    /// Temperature laws.
    pub laws: Vec<TemperatureLaw>,
    /// Acids of the liquor.
    pub acids: Vec<AcidTotal>,
    /// Gases of the headspace.
    pub gases: Vec<Gas>,
    /// Hydrolysis pools whose constants come with the material: fast carbohydrate, fibre, protein, fat; or none.
    pub pools: Vec<Pool>,
    /// Constants.
    pub constants: ConstantSet,
}

/// A hydrolysis pool whose constant comes with the material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pool {
    /// Component.
    pub component: usize,
    /// Rate coefficient.
    pub coefficient: usize,
}

impl Network {
    /// Index of a component by name.
    #[must_use]
    pub fn index(&self, name: &str) -> Option<usize> {
        self.components.iter().position(|c| c.name == name)
    }

    /// The smallest constant above zero that a rate weighs each component against \[unit\], in the order of the factors: a
    /// rate law means something only where the component is known far better than that.
    #[must_use]
    pub fn smallest_constants(&self) -> Vec<(usize, f64)> {
        let mut smallest: Vec<(usize, f64)> = Vec::new();
        for factor in &self.factors {
            let (of, k) = match *factor {
                Factor::Saturation { of, k } | Factor::Haldane { of, k, .. } => (of, k),
                Factor::Inhibition {
                    by: Signal::Component(of),
                    k,
                } if k > 0.0 => (of, k),
                _ => continue,
            };
            match smallest.iter_mut().find(|(i, _)| *i == of) {
                Some((_, known)) => *known = known.min(k),
                None => smallest.push((of, k)),
            }
        }
        smallest
    }

    /// Gap of a process row.
    #[must_use]
    pub fn continuity(&self, process: &Process) -> Continuity {
        let sum = |f: fn(&Component) -> f64| {
            process
                .row
                .iter()
                .map(|&(i, v)| v * f(&self.components[i]))
                .sum::<f64>()
        };
        Continuity {
            cod: sum(|c| c.cod),
            carbon: sum(|c| c.carbon),
            nitrogen: sum(|c| c.nitrogen),
            sulfur: sum(|c| c.sulfur),
            charge: sum(|c| c.charge),
        }
    }

    /// The components a factor depends on, with the acid-base and temperature variables.
    #[must_use]
    pub fn dependencies(&self, factor: &Factor) -> Vec<Var> {
        match *factor {
            Factor::Amount(i)
            | Factor::Living(i)
            | Factor::Saturation { of: i, .. }
            | Factor::Haldane { of: i, .. } => vec![Var::Component(i)],
            Factor::Share { of, other } => vec![Var::Component(of), Var::Component(other)],
            Factor::Ph(_) => vec![Var::LnH],
            Factor::Inhibition {
                by: Signal::Component(i),
                ..
            } => vec![Var::Component(i)],
            Factor::Inhibition {
                by: Signal::Level { acid, .. },
                ..
            } => {
                vec![
                    Var::Component(self.acids[acid].component),
                    Var::LnH,
                    Var::Ionic,
                    Var::Temperature,
                ]
            }
        }
    }
}

/// Builds a network; [`Builder::finish`] checks it.
#[derive(Debug)]
pub struct Builder {
    network: Network,
    closing: Closing,
    /// What limits every process that takes up a component.
    limiting: Vec<(usize, Factor)>,
}

/// Components that close carbon, nitrogen and sulphur of each row.
#[derive(Debug, Clone, Copy, Default)]
struct Closing {
    carbon: Option<usize>,
    nitrogen: Option<usize>,
    sulfur: Option<usize>,
}

impl Builder {
    /// An empty network.
    #[must_use]
    pub fn new(name: &'static str, constants: ConstantSet) -> Self {
        Self {
            network: Network {
                name,
                components: Vec::new(),
                processes: Vec::new(),
                factors: Vec::new(),
                coefficients: Vec::new(),
                laws: vec![TemperatureLaw::Constant],
                acids: Vec::new(),
                gases: Vec::new(),
                pools: Vec::new(),
                constants,
            },
            closing: Closing::default(),
            limiting: Vec::new(),
        }
    }

    /// Adds a component and returns its index.
    pub fn component(&mut self, component: Component) -> usize {
        self.network.components.push(component);
        self.network.components.len() - 1
    }

    /// Names the components that close carbon, nitrogen and sulphur of each row.
    pub fn close_with(
        &mut self,
        carbon: Option<usize>,
        nitrogen: Option<usize>,
        sulfur: Option<usize>,
    ) {
        self.closing = Closing {
            carbon,
            nitrogen,
            sulfur,
        };
    }

    /// From here on every process whose completed row takes up this component carries `s/(k + s)` of it, so that
    /// none can take up what is not there.
    pub fn limit_uptake(&mut self, of: usize, k: f64) {
        self.limiting.push((of, Factor::Saturation { of, k }));
    }

    /// Adds an acid and returns its index.
    pub fn acid(
        &mut self,
        component: usize,
        kmol_per_unit: f64,
        constants: AcidKind,
        top_charge: i8,
        steps: u8,
    ) -> usize {
        self.network.acids.push(AcidTotal {
            component,
            kmol_per_unit,
            constants,
            acid: Acid { top_charge, steps },
        });
        self.network.acids.len() - 1
    }

    /// Adds a gas.
    pub fn gas(&mut self, kind: GasKind, form: GasForm) {
        self.network.gases.push(Gas { kind, form });
    }

    /// Adds a temperature law (or finds it) and returns its index.
    pub fn law(&mut self, law: TemperatureLaw) -> usize {
        find_or_push(&mut self.network.laws, law)
    }

    /// Adds a rate coefficient and returns its index.
    pub fn coefficient(&mut self, name: impl Into<String>, value: f64, law: usize) -> usize {
        self.network.coefficients.push(Coefficient {
            name: name.into(),
            value,
            law,
        });
        self.network.coefficients.len() - 1
    }

    /// Declares that a pool's hydrolysis constant comes with the material.
    pub fn pool(&mut self, component: usize, coefficient: usize) {
        self.network.pools.push(Pool {
            component,
            coefficient,
        });
    }

    /// Adds a process; the closing components complete its row.
    pub fn process(
        &mut self,
        name: impl Into<String>,
        row: &[(usize, f64)],
        coefficient: usize,
        factors: &[Factor],
    ) {
        let factors = factors
            .iter()
            .map(|f| find_or_push(&mut self.network.factors, *f))
            .collect();
        let mut merged: Vec<(usize, f64)> = Vec::with_capacity(row.len() + 3);
        for &(i, v) in row {
            add_to(&mut merged, i, v);
        }
        let process = Process {
            name: name.into(),
            row: merged,
            coefficient,
            factors,
        };
        let gap = self.network.continuity(&process);
        let mut process = process;
        let c = &self.network.components;
        for (closing, gap, content) in [
            (
                self.closing.carbon,
                gap.carbon,
                (|c: &Component| c.carbon) as fn(&Component) -> f64,
            ),
            (self.closing.nitrogen, gap.nitrogen, |c| c.nitrogen),
            (self.closing.sulfur, gap.sulfur, |c| c.sulfur),
        ] {
            if let Some(i) = closing {
                add_to(&mut process.row, i, -gap / content(&c[i]));
            }
        }
        process.row.retain(|&(_, v)| v != 0.0);
        for &(of, factor) in &self.limiting {
            // What rounding leaves of a row is no uptake.
            if process.row.iter().any(|&(i, v)| i == of && v < -ROW_LIMIT) {
                let factor = find_or_push(&mut self.network.factors, factor);
                if !process.factors.contains(&factor) {
                    process.factors.push(factor);
                }
            }
        }
        self.network.processes.push(process);
    }

    /// Checks every row and every size, and hands the network over.
    ///
    /// # Errors
    /// [`NetworkFault::Unbalanced`] for the first row whose COD, C, N, S or charge does not close to 1e-12,
    /// [`NetworkFault::TooMany`] for lists that the evaluator has no room for.
    pub fn finish(self) -> Result<Network, NetworkFault> {
        let n = &self.network;
        let factors = n.processes.iter().map(|p| p.factors.len()).max();
        for (what, count, most) in [
            ("factors in a process", factors.unwrap_or(0), MAX_FACTORS),
            ("gases", n.gases.len(), MAX_GASES),
            ("temperature laws", n.laws.len(), MAX_LAWS),
            ("acids", n.acids.len(), MAX_ACIDS),
            ("pools", n.pools.len(), MAX_POOLS),
        ] {
            if count > most {
                return Err(NetworkFault::TooMany { what, count, most });
            }
        }
        for p in &self.network.processes {
            let gap = self.network.continuity(p);
            if gap.worst() > ROW_LIMIT {
                return Err(NetworkFault::Unbalanced(Unbalanced {
                    process: p.name.clone(),
                    gap,
                }));
            }
        }
        Ok(self.network)
    }
}

fn find_or_push<T: PartialEq>(list: &mut Vec<T>, item: T) -> usize {
    list.iter().position(|x| *x == item).unwrap_or_else(|| {
        list.push(item);
        list.len() - 1
    })
}

fn add_to(row: &mut Vec<(usize, f64)>, i: usize, v: f64) {
    match row.iter_mut().find(|(j, _)| *j == i) {
        Some((_, old)) => *old += v,
        None => row.push((i, v)),
    }
}
