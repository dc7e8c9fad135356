//! The steady states of one tank under an averaged stream, as a family in one parameter.
//!
//! A hand-fed tank is never at rest. Its average is: the daily mixture enters as a steady stream of the same amount,
//! and as much leaves. The rows of the tank that have no steady state of their own (the prescribed temperature, gas
//! sent and leaked) are left out, and so is the air of the start, which is long gone. pH and ionic strength, which the
//! tank solves for inside, are eliminated from its augmented Jacobian by their Schur complement.

use crate::digester::{Reading, Tank};
use crate::kinetics::GasKind;
use crate::solver::continuation::Family;
use crate::solver::{RhsFailure, System as _};
use crate::units::{NORM_M3_PER_KMOL, kelvin};

/// A state this share of its typical size below zero lies outside biology: the branch ends.
const BELOW_ZERO: f64 = 1e-3;
/// Smallest typical size of a component, in its integration tolerances.
const LEAST_TOLERANCES: f64 = 100.0;
/// Smallest typical size of a gas, as a share of all gas.
const LEAST_GAS_SHARE: f64 = 1e-6;

/// What the parameter of a branch is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Along {
    /// An amount of feed a day; each unit dilutes by so much \[1/d per unit\]. The temperature is fixed \[C\].
    Feed {
        /// \[1/d per unit of feed\]
        per_unit: f64,
        /// \[C\]
        temperature_c: f64,
    },
    /// The retention time \[d\] of a fixed mixture; `share` of the stream is mixed in. The temperature is fixed \[C\].
    Retention {
        /// 0..1
        share: f64,
        /// \[C\]
        temperature_c: f64,
    },
    /// The temperature \[C\] at a fixed dilution \[1/d\].
    Temperature {
        /// \[1/d\]
        dilution: f64,
    },
}

impl Along {
    /// (dilution \[1/d\], its slope by the parameter, temperature \[C\]) at a parameter value.
    fn at(self, p: f64) -> (f64, f64, f64) {
        match self {
            Self::Feed {
                per_unit,
                temperature_c,
            } => (per_unit * p, per_unit, temperature_c),
            Self::Retention {
                share,
                temperature_c,
            } => (share / p, -share / (p * p), temperature_c),
            Self::Temperature { dilution } => (dilution, 0.0, p),
        }
    }
}

/// Steady states of a tank in one parameter.
#[derive(Debug, Clone)]
pub struct SteadyTank {
    tank: Tank,
    along: Along,
    /// Concentrations of the stream, by component.
    incoming: Vec<f64>,
    /// Share of each component's concentration that leaves.
    leaves: Vec<f64>,
    /// Positions of the states in the tank's state vector.
    kept: Vec<usize>,
    /// Position of each row or column of the tank's Jacobian among the kept states.
    place: Vec<Option<usize>>,
    scales: Vec<f64>,
    may_be_negative: Vec<bool>,
    full: Vec<f64>,
    slope: Vec<f64>,
    dfdt: Vec<f64>,
    values: Vec<f64>,
}

impl SteadyTank {
    /// The family of a tank without a stream of its own; `incoming` holds the stream's concentration of each component.
    #[must_use]
    pub fn new(tank: Tank, incoming: Vec<f64>, along: Along) -> Self {
        let engine = std::sync::Arc::clone(tank.engine());
        let network = &engine.network;
        let layout = *tank.layout();
        let gases = (0..layout.gases)
            .filter(|&g| network.gases[g].kind != GasKind::Air)
            .map(|g| layout.gas(g));
        let kept: Vec<usize> = (0..layout.components).chain(gases).collect();
        let mut place = vec![None; layout.dim()];
        for (i, &k) in kept.iter().enumerate() {
            place[k] = Some(i);
        }
        let held_back = tank.plumbing().held_back;
        let leaves = network
            .components
            .iter()
            .map(|c| if c.particulate { 1.0 - held_back } else { 1.0 })
            .collect();
        Self {
            scales: vec![1.0; kept.len()],
            may_be_negative: kept
                .iter()
                .map(|&k| network.components.get(k).is_some_and(|c| c.charge != 0.0))
                .collect(),
            full: vec![0.0; layout.dim()],
            slope: vec![0.0; layout.dim()],
            dfdt: vec![0.0; layout.dim()],
            values: vec![0.0; tank.pattern().entries.len()],
            tank,
            along,
            incoming,
            leaves,
            kept,
            place,
        }
    }

    /// Takes the typical sizes from a state of the tank.
    pub fn scale_by(&mut self, full: &[f64]) {
        let engine = std::sync::Arc::clone(self.tank.engine());
        let layout = *self.tank.layout();
        let gas: f64 = (0..layout.gases).map(|g| full[layout.gas(g)].abs()).sum();
        for (scale, &k) in self.scales.iter_mut().zip(&self.kept) {
            let least = engine
                .network
                .components
                .get(k)
                .map_or(LEAST_GAS_SHARE * gas, |c| LEAST_TOLERANCES * c.tolerance);
            *scale = full[k].abs().max(least).max(f64::MIN_POSITIVE);
        }
    }

    /// The kept states of a tank's state.
    #[must_use]
    pub fn reduce(&self, full: &[f64]) -> Vec<f64> {
        self.kept.iter().map(|&k| full[k]).collect()
    }

    /// The tank's state of a steady state at a parameter value; what was left out is zero.
    #[must_use]
    pub fn expand(&self, y: &[f64], p: f64) -> Vec<f64> {
        let mut full = vec![0.0; self.full.len()];
        for (&k, &v) in self.kept.iter().zip(y) {
            full[k] = v;
        }
        full[self.tank.layout().temperature()] = kelvin(self.along.at(p).2);
        full
    }

    /// What a person sees of a steady state.
    ///
    /// # Errors
    /// [`RhsFailure`] if the state allows no pH.
    pub fn read(&mut self, y: &[f64], p: f64) -> Result<Reading, RhsFailure> {
        let full = self.expand(y, p);
        self.tank.read(&full)
    }

    /// Methane that leaves a steady state, to the store and through the leak \[norm litres/d\].
    ///
    /// # Errors
    /// [`RhsFailure`] if the state allows no pH.
    pub fn methane_nl_d(&mut self, y: &[f64], p: f64) -> Result<f64, RhsFailure> {
        let full = self.expand(y, p);
        self.tank.speciate(&full)?;
        let flow = self.tank.outlet_flow(&full) + self.tank.leak_flow(&full);
        let layout = *self.tank.layout();
        let moles: f64 = (0..layout.gases)
            .filter(|&g| self.tank.engine().network.gases[g].kind == GasKind::CH4)
            .map(|g| full[layout.gas(g)])
            .sum();
        Ok(flow * moles / self.tank.gas_m3 * NORM_M3_PER_KMOL * 1000.0)
    }

    /// What the parameter is.
    #[must_use]
    pub fn along(&self) -> Along {
        self.along
    }

    fn enter(&mut self, y: &[f64], p: f64) -> (f64, f64) {
        let (dilution, by_p, temperature_c) = self.along.at(p);
        self.full.fill(0.0);
        for (&k, &v) in self.kept.iter().zip(y) {
            self.full[k] = v;
        }
        self.full[self.tank.layout().temperature()] = kelvin(temperature_c);
        (dilution, by_p)
    }
}

impl Family for SteadyTank {
    fn dim(&self) -> usize {
        self.kept.len()
    }

    fn residual(&mut self, y: &[f64], p: f64, f: &mut [f64]) -> Result<(), RhsFailure> {
        let (dilution, _) = self.enter(y, p);
        self.tank.rhs(0.0, &self.full, &mut self.slope)?;
        for (f, &k) in f.iter_mut().zip(&self.kept) {
            *f = self.slope[k];
        }
        for (i, (incoming, leaves)) in self.incoming.iter().zip(&self.leaves).enumerate() {
            f[i] += dilution * (incoming - leaves * y[i]);
        }
        Ok(())
    }

    fn jacobian(
        &mut self,
        y: &[f64],
        p: f64,
        dfdy: &mut [f64],
        dfdp: &mut [f64],
    ) -> Result<(), RhsFailure> {
        let (dilution, by_p) = self.enter(y, p);
        self.tank.jacobian(
            0.0,
            &self.full,
            &mut self.slope,
            &mut self.dfdt,
            &mut self.values,
        )?;
        let n = self.kept.len();
        let dim = self.full.len();
        let temperature = self.tank.layout().temperature();
        // One column more than states: that of the temperature.
        let width = n + 1;
        let pattern = self.tank.pattern();
        let mut rows = vec![0.0; n * width];
        let mut by_aux = vec![[0.0; 2]; n];
        let mut aux = [[0.0; 2]; 2];
        let mut aux_rows = vec![[0.0; 2]; width];
        for (&(row, column), &value) in pattern.entries.iter().zip(&self.values) {
            let (row, column) = (usize::from(row), usize::from(column));
            let to = match column {
                c if c >= dim => None,
                c if c == temperature => Some(n),
                c => match self.place[c] {
                    Some(c) => Some(c),
                    None => continue,
                },
            };
            match (row.checked_sub(dim), to) {
                (Some(a), Some(c)) => aux_rows[c][a] += value,
                (Some(a), None) => aux[a][column - dim] += value,
                (None, to) => {
                    let Some(r) = self.place[row] else { continue };
                    match to {
                        Some(c) => rows[r * width + c] += value,
                        None => by_aux[r][column - dim] += value,
                    }
                }
            }
        }
        // How the auxiliary unknowns answer to each column: -H^-1 G.
        let answers: Vec<[f64; 2]> = aux_rows
            .iter()
            .map(|g| {
                if pattern.aux == 1 {
                    [-g[0] / aux[0][0], 0.0]
                } else {
                    let det = aux[0][0] * aux[1][1] - aux[0][1] * aux[1][0];
                    [
                        -(aux[1][1] * g[0] - aux[0][1] * g[1]) / det,
                        -(aux[0][0] * g[1] - aux[1][0] * g[0]) / det,
                    ]
                }
            })
            .collect();
        let is_temperature = matches!(self.along, Along::Temperature { .. });
        for r in 0..n {
            let whole = |c: usize| {
                let (b, z) = (by_aux[r], answers[c]);
                rows[r * width + c] + b[0] * z[0] + b[1] * z[1]
            };
            for c in 0..n {
                dfdy[r * n + c] = whole(c);
            }
            dfdp[r] = if is_temperature { whole(n) } else { 0.0 };
        }
        for (i, (incoming, leaves)) in self.incoming.iter().zip(&self.leaves).enumerate() {
            dfdy[i * n + i] -= dilution * leaves;
            dfdp[i] += by_p * (incoming - leaves * y[i]);
        }
        Ok(())
    }

    fn scale(&self, i: usize) -> f64 {
        self.scales[i]
    }

    fn boundary(&self, y: &[f64], _p: f64) -> Option<usize> {
        y.iter()
            .zip(&self.scales)
            .zip(&self.may_be_negative)
            .position(|((&y, scale), &free)| !free && y < -BELOW_ZERO * scale)
    }
}
