//! One tank between two doses: the right-hand side and its exact Jacobian.
//!
//! ```text
//! dC/dt  = sum rows * rates + (q/V)(C_in - keep C) - transfer
//! dn/dt  = V transfer - n/V_g (outlet + leak)              headspace, kmol
//! dT/dt  = slope of the prescribed course, or the heat balance (`heat`)
//! ```
//!
//! pH and ionic strength are solved inside (see [`crate::chemistry::AcidBase`]) and appear as auxiliary unknowns in
//! the Jacobian. Gas transfer and outlet follow Batstone et al. (2002) and Rosen and Jeppsson (2006).

use std::sync::Arc;

use super::engine::{AcidTotals, Engine, spectator};
use super::jacobian::{Sink, Stamp};
use super::layout::Layout;
use super::plumbing::Plumbing;
use crate::chemistry::{BalanceSlopes, NoBalance, Speciation};
use crate::kinetics::{Conditions, GasForm, Properties, Rates, Var};
use crate::solver::{Pattern, RhsFailure, System};
use crate::thermal::TemperatureCourse;
use crate::units::R_BAR;

mod heat;

pub use heat::HeatBalance;
pub(crate) use heat::flows as heat_flows;

/// Half-width of the rounding of the outlet's corner \[bar\]: 0.1 Pa, far below any pressure a tank shows.
const OUTLET_ROUNDING_BAR: f64 = 1e-6;
/// The outlet opens this far above the store's pressure \[bar\]: 0.1 Pa. It closes where the flow ends; were both at
/// one pressure, a tank that rests there would open and close without end.
const OUTLET_OPENS_BAR: f64 = 1e-6;
/// A leak is given at the store's pressure; an open bag counts as this much \[bar\].
const LEAST_LEAK_PRESSURE_BAR: f64 = 1e-3;
/// Temperatures outside this range \[K\] are a sign of a step gone astray.
const SANE_KELVIN: (f64, f64) = (200.0, 400.0);

/// How the outlet's corner at the store's pressure is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Corner {
    /// As one rounded function.
    Rounded,
    /// As two pieces, the integrator stopping where one goes over to the other.
    Pieces {
        /// Whether gas flows.
        open: bool,
    },
}

/// A tank as a system of differential equations.
#[derive(Debug, Clone)]
pub struct Tank {
    engine: Arc<Engine>,
    layout: Layout,
    /// Liquid volume \[m3\]; changes only between segments.
    pub liquid_m3: f64,
    /// Gas volume \[m3\]; changes only between segments.
    pub gas_m3: f64,
    /// Rate coefficients at 35 C; the hydrolysis ones follow what was fed.
    pub coefficients: Vec<f64>,
    /// Course of the temperature.
    pub course: TemperatureCourse,
    plumbing: Plumbing,
    corner: Corner,
    heat: Option<HeatBalance>,
    /// The least that a step may leave of each component and gas, as a rule a little below zero; or empty.
    least: Vec<f64>,
    /// What a step may take back of a gas that was sent \[kmol\].
    taken_back: f64,
    rates: Rates,
    props: Properties,
    /// Acid totals of the state last speciated.
    totals: AcidTotals,
    /// The liquor last speciated; the next one starts from it.
    liquor: Option<Speciation>,
    stamp: Stamp,
}

impl Tank {
    /// Assembles a tank.
    #[must_use]
    pub fn new(
        engine: Arc<Engine>,
        plumbing: Plumbing,
        course: TemperatureCourse,
        liquid_m3: f64,
        gas_m3: f64,
    ) -> Self {
        let layout = Layout::new(
            &engine.network,
            plumbing.leak > 0.0,
            plumbing.inflow.is_some(),
        );
        let aux = if engine.acid_base.is_davies() { 2 } else { 1 };
        let mut tank = Self {
            rates: Rates::new(&engine.network),
            coefficients: engine
                .network
                .coefficients
                .iter()
                .map(|c| c.value)
                .collect(),
            layout,
            liquid_m3,
            gas_m3,
            course,
            plumbing,
            corner: Corner::Rounded,
            heat: None,
            least: Vec::new(),
            taken_back: f64::INFINITY,
            props: Properties::blank(),
            totals: AcidTotals::default(),
            liquor: None,
            stamp: Stamp::new(layout.dim(), aux),
            engine,
        };
        tank.record_pattern();
        tank
    }

    /// Walks once through the Jacobian at a harmless state to learn its pattern.
    fn record_pattern(&mut self) {
        let mut y = vec![1e-3; self.layout.dim()];
        y[self.layout.temperature()] = crate::kinetics::REFERENCE_K;
        if let Ok(s) = self.speciate(&y) {
            let slopes = self.evaluate_slopes(&y, &s);
            let mut stamp = Stamp::new(self.layout.dim(), self.stamp.pattern().aux);
            self.write_jacobian(0.0, &y, &s, &slopes, &mut stamp);
            self.stamp = stamp;
        }
        self.liquor = None;
    }

    /// Layout of the state vector.
    #[must_use]
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The engine it runs on.
    #[must_use]
    pub fn engine(&self) -> &Arc<Engine> {
        &self.engine
    }

    /// Volumes, pipes and streams.
    #[must_use]
    pub fn plumbing(&self) -> &Plumbing {
        &self.plumbing
    }

    /// Solves the acid-base balance at a state.
    ///
    /// # Errors
    /// [`RhsFailure::Recoverable`] if the state allows none.
    pub fn speciate(&mut self, y: &[f64]) -> Result<Speciation, RhsFailure> {
        let t = y[self.layout.temperature()];
        if !(SANE_KELVIN.0..SANE_KELVIN.1).contains(&t) {
            return Err(RhsFailure::Recoverable(format!(
                "a temperature of {t:.1} K"
            )));
        }
        if self.props.t_k != t {
            self.engine.properties.fill(t, &mut self.props);
        }
        self.totals = self.engine.acid_totals(y);
        let (equilibria, totals) = (&self.props.equilibria, self.totals.borrow());
        let acid_base = &self.engine.acid_base;
        let s = match &self.liquor {
            Some(before) => acid_base.solve_near(equilibria, &totals, before),
            None => acid_base.solve(equilibria, &totals, None),
        }
        .map_err(recoverable)?;
        self.liquor = Some(s);
        Ok(s)
    }

    /// Solves the acid-base balance at a state at which the rate laws mean something.
    fn speciate_for_rates(&mut self, y: &[f64]) -> Result<Speciation, RhsFailure> {
        match self.engine.floors.iter().find(|(i, floor)| y[*i] < *floor) {
            Some(&(i, _)) => {
                let name = self.name(i);
                Err(RhsFailure::Recoverable(format!("{name} at {:.3e}", y[i])))
            }
            None => self.speciate(y),
        }
    }

    /// Temperature-dependent properties at the state last speciated.
    #[must_use]
    pub fn properties(&self) -> &Properties {
        &self.props
    }

    fn evaluate_slopes(&mut self, y: &[f64], s: &Speciation) -> BalanceSlopes {
        let Self {
            engine,
            rates,
            coefficients,
            props,
            totals,
            ..
        } = self;
        let slopes = engine
            .acid_base
            .slopes(&props.equilibria, &totals.borrow(), s);
        rates.evaluate_with_slopes(
            &engine.network,
            y,
            coefficients,
            &conditions(engine, props, s),
            &slopes,
        );
        slopes
    }

    /// Pressure of the headspace \[bar\] at the state last speciated.
    #[must_use]
    pub fn pressure(&self, y: &[f64]) -> f64 {
        let props = &self.props;
        let moles: f64 = (0..self.layout.gases).map(|g| y[self.layout.gas(g)]).sum();
        moles * R_BAR * props.t_k / self.gas_m3 + props.vapour
    }

    /// Writes the outlet's corner as two pieces, between which an implicit integrator stops. For a run in time only:
    /// the piece in force belongs to the state.
    #[must_use]
    pub fn in_pieces(mut self) -> Self {
        if !self.plumbing.returns {
            self.corner = Corner::Pieces { open: true };
        }
        self
    }

    /// Has the integrator shorten steps that would leave less than this of the components and gases, in the order of
    /// the state.
    #[must_use]
    pub fn held_above(mut self, least: Vec<f64>) -> Self {
        self.least = least;
        self
    }

    /// Has the integrator shorten steps that would take back more than this of a gas that was sent \[kmol\]: where the
    /// pieces of the outlet meet inside a step, gas flows back in the open one. Without pieces it does nothing.
    #[must_use]
    pub fn keeping_sent(mut self, taken_back: f64) -> Self {
        if matches!(self.corner, Corner::Pieces { .. }) {
            self.taken_back = taken_back;
        }
        self
    }

    /// The first component or gas of which a state holds less than the least.
    #[must_use]
    pub fn below_least(&self, y: &[f64]) -> Option<(usize, f64)> {
        let mut all = y.iter().zip(&self.least).enumerate();
        all.find_map(|(i, (y, least))| (y < least).then_some((i, *least)))
    }

    /// Whether the piece of the outlet in force lets gas flow.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.corner != Corner::Pieces { open: false }
    }

    /// Puts the piece of the outlet in force that held at a state of the past; without pieces it does nothing.
    /// Returns which was in force.
    pub fn set_open(&mut self, is_open: bool) -> bool {
        match &mut self.corner {
            Corner::Pieces { open } => std::mem::replace(open, is_open),
            Corner::Rounded => is_open,
        }
    }

    /// Gas flow to the store \[m3/d, as in the headspace\] at the state last speciated, by the piece in force.
    #[must_use]
    pub fn outlet_flow(&self, y: &[f64]) -> f64 {
        self.plumbing.pipe * self.outlet_shape(self.over_pressure(y)).0
    }

    /// Gas flow through the leak \[m3/d, as in the headspace\] at the state last speciated.
    #[must_use]
    pub fn leak_flow(&self, y: &[f64]) -> f64 {
        self.leak_conductance() * positive_part(self.pressure(y) - self.plumbing.ambient_bar).0
    }

    /// Pressure of the headspace above that of the store \[bar\] at the state last speciated.
    fn over_pressure(&self, y: &[f64]) -> f64 {
        self.pressure(y) - self.plumbing.ambient_bar - self.plumbing.back_pressure_bar
    }

    /// (flow per conductance, slope) of the outlet: the over-pressure, or its positive part.
    fn outlet_shape(&self, over: f64) -> (f64, f64) {
        match self.corner {
            _ if self.plumbing.returns => (over, 1.0),
            Corner::Rounded => positive_part(over),
            Corner::Pieces { open: true } => (over, 1.0),
            Corner::Pieces { open: false } => (0.0, 0.0),
        }
    }

    fn leak_conductance(&self) -> f64 {
        self.plumbing.leak / self.plumbing.back_pressure_bar.max(LEAST_LEAK_PRESSURE_BAR)
    }

    fn share_out(&self, particulate: bool) -> f64 {
        if particulate {
            1.0 - self.plumbing.held_back
        } else {
            1.0
        }
    }

    fn write_rhs(&self, t: f64, y: &[f64], s: &Speciation, dy: &mut [f64]) {
        let network = &self.engine.network;
        let l = &self.layout;
        let (reactions, others) = dy.split_at_mut(l.components);
        let mut changes = &self.engine.changes[..];
        for (dy, &count) in reactions.iter_mut().zip(&self.engine.change_counts) {
            let (own, rest) = changes.split_at(usize::from(count));
            changes = rest;
            *dy = own
                .iter()
                .map(|&(p, v)| v * self.rates.rate[usize::from(p)])
                .sum();
        }
        others.fill(0.0);
        if let Some((q, incoming)) = &self.plumbing.inflow {
            let d = q / self.liquid_m3;
            for (i, c) in network.components.iter().enumerate() {
                let leaves = self.share_out(c.particulate) * y[i];
                dy[i] += d * (incoming[i] - leaves);
                dy[l.drained(i)] = q * leaves;
            }
        }
        let over_volume = R_BAR * self.props.t_k / self.gas_m3;
        let pressure = self.pressure(y);
        let ambient = self.plumbing.ambient_bar;
        let out = self.outlet_flow(y) / self.gas_m3;
        let leak = if l.leak {
            self.leak_conductance() * positive_part(pressure - ambient).0 / self.gas_m3
        } else {
            0.0
        };
        for (g, gas) in network.gases.iter().enumerate() {
            let n = y[l.gas(g)];
            let (dissolved, component, per_kmol) = match gas.form {
                GasForm::Component { index, per_kmol } => (y[index] / per_kmol, index, per_kmol),
                GasForm::Acid(a) => {
                    let total = &network.acids[a];
                    (
                        y[total.component] * total.kmol_per_unit * s.share[a][0],
                        total.component,
                        1.0 / total.kmol_per_unit,
                    )
                }
                GasForm::None => (0.0, 0, 0.0),
            };
            if per_kmol > 0.0 {
                let flux = self.plumbing.kla
                    * (dissolved - self.props.henry[g] * n * over_volume / s.gamma0);
                dy[component] -= flux * per_kmol;
                dy[l.gas(g)] += flux * self.liquid_m3;
            }
            dy[l.gas(g)] -= n * (out + leak);
            dy[l.sent(g)] = n * out;
            if l.leak {
                dy[l.leaked(g)] = n * leak;
            }
        }
        match &self.heat {
            None => dy[l.temperature()] = self.course.at(t).1,
            Some(heat) => self.write_heat(heat, t, y, dy),
        }
    }

    fn write_jacobian(
        &self,
        t: f64,
        y: &[f64],
        s: &Speciation,
        slopes: &BalanceSlopes,
        j: &mut impl Sink,
    ) {
        let engine = &self.engine;
        let l = &self.layout;
        let (col_x, col_i, col_t) = (l.dim(), l.dim() + 1, l.temperature());
        let davies = engine.acid_base.is_davies();
        let network = &engine.network;

        for (p, process) in network.processes.iter().enumerate() {
            let (vars, slopes) = self.rates.slopes(p);
            for (var, slope) in vars.iter().zip(slopes) {
                let column = match *var {
                    Var::Component(i) => i,
                    Var::LnH => col_x,
                    Var::Ionic if davies => col_i,
                    Var::Ionic => continue,
                    Var::Temperature => col_t,
                };
                j.add_column(&process.row, column, *slope);
            }
        }
        if let Some((q, _)) = &self.plumbing.inflow {
            for (i, c) in network.components.iter().enumerate() {
                let leaves = self.share_out(c.particulate);
                j.add(i, i, -q / self.liquid_m3 * leaves);
                j.add(l.drained(i), i, q * leaves);
            }
        }
        self.write_gas_jacobian(y, s, slopes, j);
        if let Some(heat) = &self.heat {
            self.write_heat_jacobian(heat, t, y, j);
        }

        let row = l.dim();
        let rows = if davies { 2 } else { 1 };
        for (a, total) in network.acids.iter().enumerate() {
            let by = slopes.by_total(a);
            for (r, by) in [by.0, by.1].into_iter().enumerate().take(rows) {
                j.add(row + r, total.component, by * total.kmol_per_unit);
            }
        }
        for &(i, charge) in &engine.ions {
            let by = [charge, 0.5 * spectator(charge * y[i]).1 * charge];
            for (r, by) in by.into_iter().enumerate().take(rows) {
                j.add(row + r, i, by);
            }
        }
        for r in 0..rows {
            j.add(row + r, col_x, slopes.df[r][0]);
            if davies {
                j.add(row + r, col_i, slopes.df[r][1]);
            }
            j.add(row + r, col_t, slopes.df[r][2]);
        }
    }

    fn write_gas_jacobian(
        &self,
        y: &[f64],
        s: &Speciation,
        slopes: &BalanceSlopes,
        j: &mut impl Sink,
    ) {
        let engine = &self.engine;
        let l = &self.layout;
        let (col_x, col_i, col_t) = (l.dim(), l.dim() + 1, l.temperature());
        let davies = engine.acid_base.is_davies();
        let network = &engine.network;
        let (p, kla, v) = (&self.props, self.plumbing.kla, self.liquid_m3);
        let over_volume = R_BAR * p.t_k / self.gas_m3;
        let pressure = self.pressure(y);
        let pressure_by_t = (pressure - p.vapour) / p.t_k + p.vapour_slope;
        let ambient = self.plumbing.ambient_bar;
        let (shape, shape_slope) =
            self.outlet_shape(pressure - ambient - self.plumbing.back_pressure_bar);
        let (leak_shape, leak_slope) = positive_part(pressure - ambient);
        let out = (
            self.plumbing.pipe * shape / self.gas_m3,
            self.plumbing.pipe * shape_slope / self.gas_m3,
        );
        let conductance = self.leak_conductance() / self.gas_m3;
        let leak = (conductance * leak_shape, conductance * leak_slope);

        for (g, gas) in network.gases.iter().enumerate() {
            let n = y[l.gas(g)];
            let (henry, henry_slope) = (
                p.henry[g] * over_volume / s.gamma0,
                p.henry_slope[g] * over_volume / s.gamma0,
            );
            // Columns and slopes of the flux kla (dissolved - henry n).
            let by_t = -kla * n * (henry_slope + henry / p.t_k);
            let by_i = kla * n * henry * s.dln_gamma0;
            let mut flux = |component: usize, per_kmol: f64, own: f64, acid: Option<[f64; 3]>| {
                let mut put = |column: usize, slope: f64| {
                    j.add(component, column, -slope * per_kmol);
                    j.add(l.gas(g), column, slope * v);
                };
                put(component, kla * own);
                put(l.gas(g), -kla * henry);
                let by_acid = acid.unwrap_or_default();
                if acid.is_some() {
                    put(col_x, kla * by_acid[0]);
                }
                if davies {
                    put(col_i, by_i + kla * by_acid[1]);
                }
                put(col_t, by_t + kla * by_acid[2]);
            };
            match gas.form {
                GasForm::Component { index, per_kmol } => {
                    flux(index, per_kmol, 1.0 / per_kmol, None)
                }
                GasForm::Acid(a) => {
                    let total = &network.acids[a];
                    let amount = y[total.component] * total.kmol_per_unit;
                    let slope = engine
                        .acid_base
                        .share_slope(&p.equilibria, s, slopes, a, 0)
                        .map(|d| amount * d);
                    flux(
                        total.component,
                        1.0 / total.kmol_per_unit,
                        total.kmol_per_unit * s.share[a][0],
                        Some(slope),
                    );
                }
                GasForm::None => {}
            }
            for other in 0..l.gases {
                let own = if other == g { 1.0 } else { 0.0 };
                let by_out = own * out.0 + n * out.1 * over_volume;
                let by_leak = own * leak.0 + n * leak.1 * over_volume;
                j.add(l.gas(g), l.gas(other), -by_out);
                j.add(l.sent(g), l.gas(other), by_out);
                if l.leak {
                    j.add(l.gas(g), l.gas(other), -by_leak);
                    j.add(l.leaked(g), l.gas(other), by_leak);
                }
            }
            let (out_t, leak_t) = (n * out.1 * pressure_by_t, n * leak.1 * pressure_by_t);
            j.add(l.gas(g), col_t, -out_t);
            j.add(l.sent(g), col_t, out_t);
            if l.leak {
                j.add(l.gas(g), col_t, -leak_t);
                j.add(l.leaked(g), col_t, leak_t);
            }
        }
    }
}

impl System for Tank {
    fn dim(&self) -> usize {
        self.layout.dim()
    }

    fn rhs(&mut self, t: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
        let s = self.speciate_for_rates(y)?;
        let Self {
            engine,
            rates,
            coefficients,
            props,
            ..
        } = self;
        rates.evaluate(
            &engine.network,
            y,
            coefficients,
            &conditions(engine, props, &s),
        );
        self.write_rhs(t, y, &s, dy);
        Ok(())
    }

    fn pattern(&self) -> &Pattern {
        self.stamp.pattern()
    }

    fn jacobian(
        &mut self,
        t: f64,
        y: &[f64],
        dy: &mut [f64],
        dfdt: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), RhsFailure> {
        let s = self.speciate_for_rates(y)?;
        let slopes = self.evaluate_slopes(y, &s);
        self.write_rhs(t, y, &s, dy);
        dfdt.fill(0.0);
        match &self.heat {
            None => dfdt[self.layout.temperature()] = self.course.at(t).2,
            Some(heat) => self.write_heat_by_time(heat, t, y, dfdt),
        }
        self.write_jacobian(t, y, &s, &slopes, &mut self.stamp.pass(values));
        Ok(())
    }

    fn margin(&self, y: &[f64]) -> f64 {
        let Corner::Pieces { open } = self.corner else {
            return f64::INFINITY;
        };
        let t_k = y[self.layout.temperature()];
        let moles: f64 = (0..self.layout.gases).map(|g| y[self.layout.gas(g)]).sum();
        let pressure = moles * R_BAR * t_k / self.gas_m3 + self.engine.properties.vapour(t_k);
        let over = pressure - self.plumbing.ambient_bar - self.plumbing.back_pressure_bar;
        if open { over } else { OUTLET_OPENS_BAR - over }
    }

    fn strays(&self, from: &[f64], to: &[f64]) -> Option<usize> {
        // Where less was left before, whatever comes nearer is welcome.
        let mut all = self.least.iter().zip(from).zip(to);
        let low = all.position(|((least, from), to)| to < least && to < from);
        let mut sent = (0..self.layout.gases).map(|g| self.layout.sent(g));
        low.or_else(|| sent.find(|&i| to[i] < from[i] - self.taken_back))
    }

    fn switch(&mut self) {
        if let Corner::Pieces { open } = &mut self.corner {
            *open = !*open;
        }
    }

    fn name(&self, i: usize) -> String {
        let l = &self.layout;
        let gas = |g: usize| format!("{:?}", self.engine.network.gases[g].kind);
        match i {
            i if i < l.components => self.engine.network.components[i].name.to_owned(),
            i if i < l.temperature() => format!("headspace {}", gas(i - l.components)),
            i if i == l.temperature() => "temperature".to_owned(),
            i if i < l.leaked(0) => format!("sent {}", gas(i - l.sent(0))),
            i if i < l.drained(0) => format!("leaked {}", gas(i - l.leaked(0))),
            i if i >= l.heat(0) => "heat passed".to_owned(),
            i => format!(
                "drained {}",
                self.engine.network.components[i - l.drained(0)].name
            ),
        }
    }
}

/// `max(d, 0)` with its corner rounded, and its slope.
fn positive_part(d: f64) -> (f64, f64) {
    let square = OUTLET_ROUNDING_BAR * OUTLET_ROUNDING_BAR;
    let root = (d * d + square).sqrt();
    // Below zero `d + root` would cancel; the same value by its conjugate does not.
    let sum = if d > 0.0 {
        d + root
    } else {
        square / (root - d)
    };
    (0.5 * sum, 0.5 * sum / root)
}

fn conditions<'a>(engine: &'a Engine, props: &'a Properties, s: &'a Speciation) -> Conditions<'a> {
    Conditions {
        law: &props.law,
        law_slope: &props.law_slope,
        equilibria: &props.equilibria,
        acid_base: &engine.acid_base,
        speciation: s,
    }
}

fn recoverable(e: NoBalance) -> RhsFailure {
    RhsFailure::Recoverable(e.to_string())
}
