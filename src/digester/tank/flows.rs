//! The right-hand side: pH, rates, streams, gas transfer, outlet, leak.

use super::{Corner, OUTLET_OPENS_BAR, Tank};
use crate::chemistry::{BalanceSlopes, Speciation};
use crate::digester::engine::Engine;
use crate::kinetics::{Conditions, GasForm, Properties, PropertyTable};
use crate::lanes::{LaneSet, Real};
use crate::thermal::TemperatureCourse;
use crate::units::R_BAR;

/// Half-width of the rounding of the outlet's corner \[bar\]: 0.1 Pa, far below any pressure a tank shows.
const OUTLET_ROUNDING_BAR: f64 = 1e-6;
/// A leak is given at the store's pressure; an open bag counts as this much \[bar\].
const LEAST_LEAK_PRESSURE_BAR: f64 = 1e-3;
/// Temperatures outside this range \[K\] are a sign of a step gone astray.
const SANE_KELVIN: (f64, f64) = (200.0, 400.0);

/// Whether a temperature \[K\] can be computed with.
pub(super) fn is_sane(t_k: f64) -> bool {
    (SANE_KELVIN.0..SANE_KELVIN.1).contains(&t_k)
}

impl<R: Real> Tank<R> {
    /// Solves the acid-base balance at a state in the lanes of a set; returns those that have none.
    #[inline(always)]
    pub(in crate::digester) fn balance(&mut self, y: &[R], of: LaneSet) -> LaneSet {
        let t = y[self.layout.temperature()];
        let (coldest, hottest) = (R::splat(SANE_KELVIN.0), R::splat(SANE_KELVIN.1));
        let sound = t.below(hottest).without(t.below(coldest));
        let refused = of.without(sound);
        let of = of.without(refused);
        if of.is_empty() {
            return refused;
        }
        if self.props.t_k != t {
            let engines = &self.engines;
            PropertyTable::fill_lanes(|lane| &engines[lane].properties, t, &mut self.props);
        }
        let engine = &self.engines[0];
        self.totals = engine.acid_totals(y);
        let (equilibria, totals) = (&self.props.equilibria, self.totals.borrow());
        refused
            | engine
                .acid_base
                .solve_near(equilibria, &totals, of, &mut self.liquor)
    }

    /// As [`Tank::balance`], and refuses states at which a rate law means nothing.
    #[inline(always)]
    pub(super) fn balance_for_rates(&mut self, y: &[R], of: LaneSet) -> LaneSet {
        let mut refused = LaneSet::NONE;
        for &(i, floor) in &self.numbers.floors {
            refused = refused | (of & y[i].below(floor));
        }
        let of = of.without(refused);
        if of.is_empty() {
            return refused;
        }
        refused | self.balance(y, of)
    }

    /// Rates at the state last balanced.
    #[inline(always)]
    pub(super) fn evaluate(&mut self, y: &[R]) {
        let engine = &self.engines[0];
        self.rates.evaluate(
            &engine.network,
            &self.numbers.equations,
            y,
            &self.coefficients,
            &conditions(engine, &self.props, &self.liquor),
        );
    }

    /// Rates and their slopes at the state last balanced.
    #[inline(always)]
    pub(super) fn evaluate_slopes(&mut self, y: &[R]) -> BalanceSlopes<R> {
        let engines = &self.engines;
        PropertyTable::fill_slopes(|lane| &engines[lane].properties, &mut self.props);
        let engine = &self.engines[0];
        let (equilibria, totals) = (&self.props.equilibria, self.totals.borrow());
        let slopes = engine.acid_base.slopes(equilibria, &totals, &self.liquor);
        self.rates.evaluate_with_slopes(
            &engine.network,
            &self.numbers.equations,
            y,
            &self.coefficients,
            &conditions(engine, &self.props, &self.liquor),
            &slopes,
        );
        slopes
    }

    /// Pressure of the headspace \[bar\] at the state last speciated.
    #[must_use]
    #[inline(always)]
    pub fn pressure(&self, y: &[R]) -> R {
        let props = &self.props;
        self.moles(y) * R_BAR * props.t_k / self.gas_m3 + props.vapour
    }

    /// Gas in the headspace \[kmol\].
    #[inline(always)]
    fn moles(&self, y: &[R]) -> R {
        let mut sum = R::splat(0.0);
        for g in 0..self.layout.gases {
            sum += y[self.layout.gas(g)];
        }
        sum
    }

    /// Gas flow to the store \[m3/d, as in the headspace\] at the state last speciated, by the piece in force.
    #[must_use]
    #[inline(always)]
    pub fn outlet_flow(&self, y: &[R]) -> R {
        let over = self.pressure(y) - self.plumbing.ambient_bar - self.plumbing.back_pressure_bar;
        self.plumbing.pipe * self.outlet_shape(over).0
    }

    /// (flow per conductance, slope) of the outlet: the over-pressure, or its positive part.
    #[inline(always)]
    pub(super) fn outlet_shape(&self, over: R) -> (R, R) {
        let (zero, one) = (R::splat(0.0), R::splat(1.0));
        match self.corner {
            _ if self.plumbing.returns => (over, one),
            Corner::Rounded => positive_part(over),
            Corner::Pieces { open } => (R::pick(open, over, zero), R::pick(open, one, zero)),
        }
    }

    #[inline(always)]
    pub(super) fn leak_conductance(&self) -> R {
        let least = R::splat(LEAST_LEAK_PRESSURE_BAR);
        self.plumbing.leak / self.plumbing.back_pressure_bar.larger(least)
    }

    /// How far the piece of the outlet in force is from handing over \[bar\].
    #[inline(always)]
    pub(super) fn outlet_margin(&self, y: &[R]) -> R {
        let Corner::Pieces { open } = self.corner else {
            return R::splat(f64::INFINITY);
        };
        let t_k = y[self.layout.temperature()];
        let vapour = R::gather(|i| self.engines[i].properties.vapour(t_k.lane(i)));
        let pressure = self.moles(y) * R_BAR * t_k / self.gas_m3 + vapour;
        let over = pressure - self.plumbing.ambient_bar - self.plumbing.back_pressure_bar;
        R::pick(open, over, -over + OUTLET_OPENS_BAR)
    }

    /// What of a gas goes along with a flow through the outlet, and its slope. Where gas flows back, less than none of a
    /// gas, an integrator's error, must not bring more of itself: it would grow with every breath.
    #[inline(always)]
    pub(super) fn passing(&self, n: R, out: R) -> (R, R) {
        let (zero, one) = (R::splat(0.0), R::splat(1.0));
        if !self.plumbing.returns {
            return (n, one);
        }
        let back = out.where_below(zero, one, zero);
        let none = n.where_below(zero, back, zero);
        (n * (one - none), one - none)
    }

    #[inline(always)]
    pub(super) fn share_out(&self, particulate: bool) -> R {
        if particulate {
            -self.plumbing.held_back + 1.0
        } else {
            R::splat(1.0)
        }
    }

    #[inline(always)]
    pub(super) fn write_rhs(&self, t: R, y: &[R], dy: &mut [R]) {
        let zero = R::splat(0.0);
        let network = &self.engines[0].network;
        let l = &self.layout;
        let (reactions, others) = dy.split_at_mut(l.components);
        let mut changes = &self.numbers.changes[..];
        for (dy, &count) in reactions.iter_mut().zip(&self.numbers.change_counts) {
            let (own, rest) = changes.split_at(usize::from(count));
            changes = rest;
            let mut sum = zero;
            for &(p, v) in own {
                sum += v * self.rates.rate[usize::from(p)];
            }
            *dy = sum;
        }
        others.fill(zero);
        if let Some((q, incoming)) = &self.plumbing.inflow {
            let d = *q / self.liquid_m3;
            for (i, c) in network.components.iter().enumerate() {
                let leaves = self.share_out(c.particulate) * y[i];
                dy[i] += d * (incoming[i] - leaves);
                dy[l.drained(i)] = *q * leaves;
            }
        }
        let over_volume = self.props.t_k * R_BAR / self.gas_m3;
        let out = self.outlet_flow(y) / self.gas_m3;
        let leak = if l.leak {
            let over = self.pressure(y) - self.plumbing.ambient_bar;
            self.leak_conductance() * positive_part(over).0 / self.gas_m3
        } else {
            zero
        };
        let s = &self.liquor;
        for (g, gas) in network.gases.iter().enumerate() {
            let n = y[l.gas(g)];
            let dissolved = match gas.form {
                GasForm::Component { index, per_kmol } => {
                    Some((y[index] * (1.0 / per_kmol), index, per_kmol))
                }
                GasForm::Acid(a) => {
                    let total = &network.acids[a];
                    Some((
                        y[total.component] * total.kmol_per_unit * s.share[a][0],
                        total.component,
                        1.0 / total.kmol_per_unit,
                    ))
                }
                GasForm::None => None,
            };
            if let Some((dissolved, component, per_kmol)) = dissolved {
                let balance = self.props.henry[g] * n * over_volume / s.gamma0;
                let flux = self.plumbing.kla * (dissolved - balance);
                dy[component] -= flux * per_kmol;
                dy[l.gas(g)] += flux * self.liquid_m3;
            }
            let sent = self.passing(n, out).0 * out;
            dy[l.gas(g)] -= sent + n * leak;
            dy[l.sent(g)] = sent;
            if l.leak {
                dy[l.leaked(g)] = n * leak;
            }
        }
        match &self.heat {
            None => dy[l.temperature()] = self.course_at(t, 1),
            Some(heat) => self.write_heat(heat, t, y, dy),
        }
    }

    /// The partial derivative of the right-hand side by time.
    #[inline(always)]
    pub(super) fn write_by_time(&self, t: R, y: &[R], dfdt: &mut [R]) {
        dfdt.fill(R::splat(0.0));
        match &self.heat {
            None => dfdt[self.layout.temperature()] = self.course_at(t, 2),
            Some(heat) => self.write_heat_by_time(heat, t, y, dfdt),
        }
    }

    /// Slope (`order` 1) or curvature (2) of the courses of the temperature.
    #[inline(always)]
    fn course_at(&self, t: R, order: usize) -> R {
        let (_, slope, curvature) = TemperatureCourse::at_lanes(&self.courses, t);
        if order == 1 { slope } else { curvature }
    }
}

/// `max(d, 0)` with its corner rounded, and its slope.
#[inline(always)]
pub(super) fn positive_part<R: Real>(d: R) -> (R, R) {
    let square = OUTLET_ROUNDING_BAR * OUTLET_ROUNDING_BAR;
    let root = (d * d + square).sqrt();
    // Below zero `d + root` would cancel; the same value by its conjugate does not.
    let sum = R::splat(0.0).where_below(d, d + root, R::splat(square) / (root - d));
    (sum * 0.5, sum * 0.5 / root)
}

#[inline(always)]
fn conditions<'a, R: Real>(
    engine: &'a Engine,
    props: &'a Properties<R>,
    s: &'a Speciation<R>,
) -> Conditions<'a, R> {
    Conditions {
        law: &props.law,
        law_slope: &props.law_slope,
        equilibria: &props.equilibria,
        acid_base: &engine.acid_base,
        speciation: s,
    }
}
