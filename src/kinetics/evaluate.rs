//! Rates of a network at a state, with exact derivatives; no allocation after construction.

use super::equations::Equations;
use super::network::Network;
use super::rate::{Factor, Signal, TemperatureLaw, Var};
use crate::chemistry::{
    AcidBase, BalanceSlopes, Equilibria, Speciation, haldane, monod, non_competitive,
};
use crate::lanes::Real;

/// Everything a rate needs besides the concentrations.
#[derive(Debug, Clone, Copy)]
pub struct Conditions<'a, R = f64> {
    /// Factor of each temperature law at the temperature.
    pub law: &'a [R],
    /// Its slope by temperature \[1/K\].
    pub law_slope: &'a [R],
    /// Equilibrium constants at the temperature.
    pub equilibria: &'a Equilibria<R>,
    /// Acid-base solver of the network.
    pub acid_base: &'a AcidBase,
    /// Solved acid-base balance.
    pub speciation: &'a Speciation<R>,
}

/// Rates and their derivatives.
#[derive(Debug, Clone)]
pub struct Rates<R = f64> {
    /// Rate of each process \[unit/m3/d\].
    pub rate: Vec<R>,
    /// Value of each factor.
    factor: Vec<R>,
    /// Partial derivatives of each factor, concatenated.
    partial: Vec<R>,
    /// Where a factor's partials start.
    partial_start: Vec<usize>,
    /// What each process depends on, concatenated.
    deps: Vec<Var>,
    /// Where the temperature stands among them, by process.
    temperature: Vec<Option<usize>>,
    /// Where a process's dependencies start (one more entry than processes).
    dep_start: Vec<usize>,
    /// (factor position within the process, partial index, dependency slot) per process, concatenated.
    chain: Vec<(u8, u16, u16)>,
    chain_start: Vec<usize>,
    /// d rate / d dependency, parallel to `deps`.
    pub slope: Vec<R>,
}

/// Most factors of one process.
pub(super) const MAX_FACTORS: usize = 8;

impl<R: Real> Rates<R> {
    /// Prepares the index lists of a network.
    #[must_use]
    pub fn new(network: &Network) -> Self {
        let mut partial_start = Vec::new();
        let mut count = 0;
        for f in &network.factors {
            partial_start.push(count);
            count += network.dependencies(f).len();
        }
        let (mut deps, mut dep_start, mut chain, mut chain_start) =
            (vec![], vec![0], vec![], vec![0]);
        let mut temperature = Vec::new();
        for p in &network.processes {
            let mut own: Vec<Var> = Vec::new();
            for (position, &f) in p.factors.iter().enumerate() {
                for (q, var) in network
                    .dependencies(&network.factors[f])
                    .into_iter()
                    .enumerate()
                {
                    let slot = own.iter().position(|v| *v == var).unwrap_or_else(|| {
                        own.push(var);
                        own.len() - 1
                    });
                    chain.push((
                        position as u8,
                        (partial_start[f] + q) as u16,
                        (deps.len() + slot) as u16,
                    ));
                }
            }
            let law = network.coefficients[p.coefficient].law;
            if network.laws[law] != TemperatureLaw::Constant && !own.contains(&Var::Temperature) {
                own.push(Var::Temperature);
            }
            let by_law = own.iter().position(|v| *v == Var::Temperature);
            temperature.push(by_law.map(|slot| deps.len() + slot));
            deps.extend(own);
            dep_start.push(deps.len());
            chain_start.push(chain.len());
        }
        Self {
            rate: vec![R::splat(0.0); network.processes.len()],
            factor: vec![R::splat(0.0); network.factors.len()],
            partial: vec![R::splat(0.0); count],
            partial_start,
            slope: vec![R::splat(0.0); deps.len()],
            deps,
            temperature,
            dep_start,
            chain,
            chain_start,
        }
    }

    /// What process `p` depends on, and the slopes.
    #[must_use]
    #[inline(always)]
    pub fn slopes(&self, p: usize) -> (&[Var], &[R]) {
        let range = self.dep_start[p]..self.dep_start[p + 1];
        (&self.deps[range.clone()], &self.slope[range])
    }

    /// Evaluates all rates. `coefficient` are the values at 35 C (a vessel may carry its own hydrolysis constants).
    #[inline(always)]
    pub fn evaluate(
        &mut self,
        network: &Network,
        equations: &Equations<R>,
        c: &[R],
        coefficient: &[R],
        at: &Conditions<'_, R>,
    ) {
        for (value, f) in self.factor.iter_mut().zip(&equations.factors) {
            *value = factor_value(network, f, c, at);
        }
        for (rate, p) in self.rate.iter_mut().zip(&network.processes) {
            let k = coefficient[p.coefficient] * at.law[network.coefficients[p.coefficient].law];
            *rate = p.factors.iter().fold(k, |r, &f| r * self.factor[f]);
        }
    }

    /// Evaluates all rates and their slopes.
    #[inline(always)]
    pub fn evaluate_with_slopes(
        &mut self,
        network: &Network,
        equations: &Equations<R>,
        c: &[R],
        coefficient: &[R],
        at: &Conditions<'_, R>,
        balance: &BalanceSlopes<R>,
    ) {
        self.evaluate(network, equations, c, coefficient, at);
        for (f, &start) in equations.factors.iter().zip(&self.partial_start) {
            factor_partials(network, f, c, at, balance, &mut self.partial[start..]);
        }
        let zero = R::splat(0.0);
        self.slope.fill(zero);
        for (i, p) in network.processes.iter().enumerate() {
            let law = network.coefficients[p.coefficient].law;
            let k = coefficient[p.coefficient] * at.law[law];
            // Product of all other factors, by prefix and suffix.
            let mut others = [zero; MAX_FACTORS];
            let mut run = k;
            for (o, &f) in others.iter_mut().zip(&p.factors) {
                *o = run;
                run *= self.factor[f];
            }
            let bare = run;
            run = R::splat(1.0);
            for (position, &f) in p.factors.iter().enumerate().rev() {
                others[position] *= run;
                run *= self.factor[f];
            }
            for &(position, partial, slot) in
                &self.chain[self.chain_start[i]..self.chain_start[i + 1]]
            {
                self.slope[usize::from(slot)] +=
                    others[usize::from(position)] * self.partial[usize::from(partial)];
            }
            if let Some(slot) = self.temperature[i] {
                // Where nothing grows, nothing changes with the temperature either.
                let relative = at.law_slope[law] / at.law[law];
                self.slope[slot] += bare * zero.where_below(at.law[law], relative, zero);
            }
        }
    }
}

#[inline(always)]
fn signal<R: Real>(network: &Network, by: Signal, c: &[R], at: &Conditions<'_, R>) -> R {
    match by {
        Signal::Component(i) => c[i],
        Signal::Level { acid, level } => {
            let total = &network.acids[acid];
            c[total.component] * total.kmol_per_unit * at.speciation.share[acid][level]
        }
    }
}

#[inline(always)]
fn factor_value<R: Real>(network: &Network, f: &Factor<R>, c: &[R], at: &Conditions<'_, R>) -> R {
    match *f {
        Factor::Amount(i) => c[i],
        Factor::Living(i) => c[i].larger(R::splat(0.0)),
        Factor::Saturation { of, k } => monod(c[of], k).0,
        Factor::Haldane { of, k, k_i } => haldane(c[of], k, k_i).0,
        Factor::Share { of, other } => c[of] / (c[of] + c[other] + SHARE_FLOOR),
        Factor::Ph(band) => band.factor(at.speciation.x).0,
        Factor::Inhibition { by, k } => non_competitive(signal(network, by, c, at), k).0,
    }
}

/// Keeps `a/(a + b)` finite where both substrates are absent. Source: Rosen and Jeppsson (2006) use the same 1e-6.
const SHARE_FLOOR: f64 = 1e-6;

#[inline(always)]
fn factor_partials<R: Real>(
    network: &Network,
    f: &Factor<R>,
    c: &[R],
    at: &Conditions<'_, R>,
    balance: &BalanceSlopes<R>,
    out: &mut [R],
) {
    match *f {
        Factor::Amount(_) => out[0] = R::splat(1.0),
        Factor::Living(i) => {
            let (none, one) = (R::splat(0.0), R::splat(1.0));
            out[0] = none.where_below(c[i], one, none);
        }
        Factor::Saturation { of, k } => out[0] = monod(c[of], k).1,
        Factor::Haldane { of, k, k_i } => out[0] = haldane(c[of], k, k_i).1,
        Factor::Share { of, other } => {
            let sum = c[of] + c[other] + SHARE_FLOOR;
            out[0] = (c[other] + SHARE_FLOOR) / (sum * sum);
            out[1] = -c[of] / (sum * sum);
        }
        Factor::Ph(band) => out[0] = band.factor(at.speciation.x).1,
        Factor::Inhibition { by, k } => {
            let slope = non_competitive(signal(network, by, c, at), k).1;
            match by {
                Signal::Component(_) => out[0] = slope,
                Signal::Level { acid, level } => {
                    let total = &network.acids[acid];
                    let share = at.speciation.share[acid][level];
                    let [dx, di, dt] = at.acid_base.share_slope(
                        at.equilibria,
                        at.speciation,
                        balance,
                        acid,
                        level,
                    );
                    let amount = c[total.component] * total.kmol_per_unit;
                    out[0] = slope * share * total.kmol_per_unit;
                    out[1] = slope * amount * dx;
                    out[2] = slope * amount * di;
                    out[3] = slope * amount * dt;
                }
            }
        }
    }
}
