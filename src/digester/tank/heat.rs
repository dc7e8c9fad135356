//! The temperature as a state: a heat balance in the tank's right-hand side, with its part of the exact Jacobian.
//!
//! ```text
//! c V dT/dt = air + ground + sun + heater - evaporation + reaction + steady stream      [kWh/d]
//! evaporation = gas leaving * vapour density(T) * heat of evaporation
//! reaction    = V sum rates * (heat of combustion used up by the row)
//! ```
//!
//! Each flow is also a state of its own, so that the books can be closed. A dose is a jump and not in here.

use super::{Layout, Tank, positive_part};
use crate::digester::jacobian::Sink;
use crate::kinetics::{Network, Var};
use crate::thermal::{
    CAPACITY_KWH_PER_M3_K, EVAPORATION_KWH_PER_KG, Flow, Surroundings, combustion_kwh_per_kg_cod,
};
use crate::units::{R_BAR, ZERO_C, molar_mass};

/// Places of the flows among [`Layout::heat`]. The first four are those of [`Surroundings::flows`].
pub(crate) mod flows {
    pub(crate) const AIR: usize = 0;
    pub(crate) const GROUND: usize = 1;
    pub(crate) const SUN: usize = 2;
    pub(crate) const HEATER: usize = 3;
    pub(crate) const EVAPORATION: usize = 4;
    pub(crate) const REACTION: usize = 5;
    pub(crate) const STREAM: usize = 6;
    /// No flow: the temperature over time.
    pub(crate) const WARMTH: usize = 7;
}

use flows::{EVAPORATION, REACTION, STREAM, WARMTH};

/// What a tank's temperature depends on besides its own state.
#[derive(Debug, Clone)]
pub struct HeatBalance {
    /// Weather, faces, heater.
    surroundings: Surroundings,
    /// Heat of each process \[kWh per unit of rate\].
    process_heat: Vec<f64>,
    /// Temperature of a steady stream \[C\].
    stream_c: f64,
}

impl HeatBalance {
    /// The balance of a network's tank in its surroundings; a steady stream comes with `stream_c`.
    #[must_use]
    pub fn new(network: &Network, surroundings: Surroundings, stream_c: f64) -> Self {
        let held: Vec<f64> = network
            .components
            .iter()
            .map(|c| match c.cod {
                0.0 => 0.0,
                cod => cod * combustion_kwh_per_kg_cod(c.name),
            })
            .collect();
        let process_heat = network
            .processes
            .iter()
            .map(|p| -p.row.iter().map(|&(i, v)| v * held[i]).sum::<f64>())
            .collect();
        Self {
            surroundings,
            process_heat,
            stream_c,
        }
    }
}

/// Vapour that leaves with the gas: heat \[kWh/d\], by each headspace gas \[kWh/d/kmol\], by temperature \[kWh/d/K\].
struct Evaporation {
    value: f64,
    by_gas: f64,
    by_k: f64,
}

impl Tank {
    /// Lets the temperature follow a heat balance in place of the course.
    #[must_use]
    pub fn with_heat(mut self, heat: HeatBalance) -> Self {
        self.layout.heat = true;
        self.heat = Some(heat);
        self.record_pattern();
        self
    }

    /// Whether the temperature follows a heat balance.
    #[must_use]
    pub fn has_heat(&self) -> bool {
        self.heat.is_some()
    }

    /// Heat that a kelvin of the liquor takes \[kWh/K\].
    #[must_use]
    pub fn capacity(&self) -> f64 {
        CAPACITY_KWH_PER_M3_K * self.liquid_m3
    }

    /// Flow of a steady stream \[kWh/d\].
    fn stream(&self, heat: &HeatBalance, celsius: f64) -> Flow {
        let per_k = self
            .plumbing
            .inflow
            .as_ref()
            .map_or(0.0, |(q, _)| q * CAPACITY_KWH_PER_M3_K);
        Flow {
            value: per_k * (heat.stream_c - celsius),
            by_k: -per_k,
            by_day: 0.0,
        }
    }

    fn evaporation(&self, y: &[f64]) -> Evaporation {
        let p = &self.props;
        let pressure = self.pressure(y);
        let ambient = self.plumbing.ambient_bar;
        let (out, out_slope) =
            self.outlet_shape(pressure - ambient - self.plumbing.back_pressure_bar);
        let (leak, leak_slope) = positive_part(pressure - ambient);
        let (pipe, hole) = (
            self.plumbing.pipe,
            if self.layout.leak {
                self.leak_conductance()
            } else {
                0.0
            },
        );
        let flow = pipe * out + hole * leak;
        let by_pressure = pipe * out_slope + hole * leak_slope;
        // Heat in a cubic metre of wet gas, and its slope by temperature.
        let per_bar = EVAPORATION_KWH_PER_KG * molar_mass::H2O / (R_BAR * p.t_k);
        let (held, held_slope) = (
            per_bar * p.vapour,
            per_bar * (p.vapour_slope - p.vapour / p.t_k),
        );
        let pressure_by_t = (pressure - p.vapour) / p.t_k + p.vapour_slope;
        Evaporation {
            value: -flow * held,
            by_gas: -by_pressure * held * R_BAR * p.t_k / self.gas_m3,
            by_k: -flow * held_slope - by_pressure * pressure_by_t * held,
        }
    }

    pub(super) fn write_heat(&self, heat: &HeatBalance, t: f64, y: &[f64], dy: &mut [f64]) {
        let l = &self.layout;
        let celsius = y[l.temperature()] - ZERO_C;
        let mut flows = [0.0; Layout::HEATS - 1];
        for (flow, of) in flows.iter_mut().zip(heat.surroundings.flows(t, celsius)) {
            *flow = of.value;
        }
        flows[EVAPORATION] = self.evaporation(y).value;
        let made: f64 = heat
            .process_heat
            .iter()
            .zip(&self.rates.rate)
            .map(|(h, r)| h * r)
            .sum();
        flows[REACTION] = self.liquid_m3 * made;
        flows[STREAM] = self.stream(heat, celsius).value;
        let mut sum = 0.0;
        for (k, flow) in flows.into_iter().enumerate() {
            dy[l.heat(k)] = flow;
            sum += flow;
        }
        dy[l.heat(WARMTH)] = celsius;
        dy[l.temperature()] = sum / self.capacity();
    }

    pub(super) fn write_heat_by_time(
        &self,
        heat: &HeatBalance,
        t: f64,
        y: &[f64],
        dfdt: &mut [f64],
    ) {
        let l = &self.layout;
        let mut sum = 0.0;
        let celsius = y[l.temperature()] - ZERO_C;
        for (k, flow) in heat.surroundings.flows(t, celsius).iter().enumerate() {
            dfdt[l.heat(k)] = flow.by_day;
            sum += flow.by_day;
        }
        dfdt[l.temperature()] = sum / self.capacity();
    }

    pub(super) fn write_heat_jacobian(
        &self,
        heat: &HeatBalance,
        t: f64,
        y: &[f64],
        j: &mut impl Sink,
    ) {
        let l = &self.layout;
        let (col_x, col_i, col_t) = (l.dim(), l.dim() + 1, l.temperature());
        let davies = self.engine.acid_base.is_davies();
        let per_kwh = 1.0 / self.capacity();
        let mut put = |flow: usize, column: usize, slope: f64| {
            j.add(l.heat(flow), column, slope);
            j.add(col_t, column, slope * per_kwh);
        };
        let celsius = y[col_t] - ZERO_C;
        for (k, flow) in heat.surroundings.flows(t, celsius).iter().enumerate() {
            put(k, col_t, flow.by_k);
        }
        put(STREAM, col_t, self.stream(heat, celsius).by_k);
        let evaporation = self.evaporation(y);
        for g in 0..l.gases {
            put(EVAPORATION, l.gas(g), evaporation.by_gas);
        }
        put(EVAPORATION, col_t, evaporation.by_k);
        for (p, heat) in heat.process_heat.iter().enumerate() {
            let (vars, slopes) = self.rates.slopes(p);
            for (var, slope) in vars.iter().zip(slopes) {
                let column = match *var {
                    Var::Component(i) => i,
                    Var::LnH => col_x,
                    Var::Ionic if davies => col_i,
                    Var::Ionic => continue,
                    Var::Temperature => col_t,
                };
                put(REACTION, column, self.liquid_m3 * heat * slope);
            }
        }
        j.add(l.heat(WARMTH), col_t, 1.0);
    }
}
