//! The temperature as a state: a heat balance in the tank's right-hand side, with its part of the exact Jacobian.
//!
//! ```text
//! c V dT/dt = air + ground + sun + heater - evaporation + reaction + steady stream      [kWh/d]
//! evaporation = gas leaving * vapour density(T) * heat of evaporation
//! reaction    = V sum rates * (heat of combustion used up by the row)
//! ```
//!
//! Each flow is also a state of its own, so that the books can be closed. A dose is a jump and not in here.

use super::flows::positive_part;
use super::{Layout, Tank};
use crate::digester::jacobian::Sink;
use crate::kinetics::Network;
use crate::lanes::Real;
use crate::thermal::{
    CAPACITY_KWH_PER_M3_K, EVAPORATION_KWH_PER_KG, Surroundings, combustion_kwh_per_kg_cod,
};
use crate::units::{R_BAR, ZERO_C, molar_mass};

/// Flows that [`Surroundings::flows`] gives.
const SURROUNDING: usize = 4;

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
pub struct HeatBalance<R = f64> {
    /// Weather, faces, heater of each lane.
    surroundings: Vec<Surroundings>,
    /// Heat of each process \[kWh per unit of rate\].
    process_heat: Vec<R>,
    /// Temperature of a steady stream \[C\].
    stream_c: R,
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
            surroundings: vec![surroundings],
            process_heat,
            stream_c,
        }
    }
}

impl<R: Real> HeatBalance<R> {
    /// The same in every lane.
    pub(super) fn splat(of: &HeatBalance) -> Self {
        let each = |h: &f64| R::splat(*h);
        Self {
            surroundings: vec![of.surroundings[0].clone(); R::LANES],
            process_heat: of.process_heat.iter().map(each).collect(),
            stream_c: R::splat(of.stream_c),
        }
    }

    /// Sets one lane.
    pub(super) fn put(&mut self, lane: usize, of: &HeatBalance) {
        self.surroundings[lane].clone_from(&of.surroundings[0]);
        self.stream_c.put(lane, of.stream_c);
        let own = self.process_heat.iter_mut().zip(&of.process_heat);
        own.for_each(|(own, new)| own.put(lane, *new));
    }

    /// The flows between the liquor and what is around it, lane by lane.
    #[inline(always)]
    fn flows(&self, t: R, celsius: R) -> [HeatFlow<R>; SURROUNDING] {
        let mut out = [HeatFlow {
            value: R::splat(0.0),
            by_k: R::splat(0.0),
            by_day: R::splat(0.0),
        }; SURROUNDING];
        for (lane, surroundings) in self.surroundings.iter().enumerate() {
            let flows = surroundings.flows(t.lane(lane), celsius.lane(lane));
            for (out, flow) in out.iter_mut().zip(flows) {
                out.value.put(lane, flow.value);
                out.by_k.put(lane, flow.by_k);
                out.by_day.put(lane, flow.by_day);
            }
        }
        out
    }
}

/// A flow of heat \[kWh/d\], with its slopes by the liquor's temperature and by time.
#[derive(Debug, Clone, Copy)]
struct HeatFlow<R> {
    value: R,
    by_k: R,
    by_day: R,
}

/// Vapour that leaves with the gas: heat \[kWh/d\], by each headspace gas \[kWh/d/kmol\], by temperature \[kWh/d/K\].
struct Evaporation<R> {
    value: R,
    by_gas: R,
    by_k: R,
}

impl<R: Real> Tank<R> {
    /// Heat that a kelvin of the liquor takes \[kWh/K\].
    #[must_use]
    #[inline(always)]
    pub fn capacity(&self) -> R {
        self.liquid_m3 * CAPACITY_KWH_PER_M3_K
    }

    /// Flow of a steady stream \[kWh/d\].
    #[inline(always)]
    fn stream(&self, heat: &HeatBalance<R>, celsius: R) -> HeatFlow<R> {
        let zero = R::splat(0.0);
        let inflow = self.plumbing.inflow.as_ref();
        let per_k = inflow.map_or(zero, |(q, _)| *q * CAPACITY_KWH_PER_M3_K);
        HeatFlow {
            value: per_k * (heat.stream_c - celsius),
            by_k: -per_k,
            by_day: zero,
        }
    }

    #[inline(always)]
    fn evaporation(&self, y: &[R]) -> Evaporation<R> {
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
                R::splat(0.0)
            },
        );
        let flow = pipe * out + hole * leak;
        let by_pressure = pipe * out_slope + hole * leak_slope;
        // Heat in a cubic metre of wet gas, and its slope by temperature.
        let per_bar = R::splat(EVAPORATION_KWH_PER_KG * molar_mass::H2O) / (p.t_k * R_BAR);
        let (held, held_slope) = (
            per_bar * p.vapour,
            per_bar * (p.vapour_slope - p.vapour / p.t_k),
        );
        let pressure_by_t = (pressure - p.vapour) / p.t_k + p.vapour_slope;
        Evaporation {
            value: -flow * held,
            by_gas: -by_pressure * held * (p.t_k * R_BAR) / self.gas_m3,
            by_k: -flow * held_slope - by_pressure * pressure_by_t * held,
        }
    }

    #[inline(always)]
    pub(super) fn write_heat(&self, heat: &HeatBalance<R>, t: R, y: &[R], dy: &mut [R]) {
        let l = &self.layout;
        let celsius = y[l.temperature()] - ZERO_C;
        let mut flows = [R::splat(0.0); Layout::HEATS - 1];
        for (flow, of) in flows.iter_mut().zip(heat.flows(t, celsius)) {
            *flow = of.value;
        }
        flows[EVAPORATION] = self.evaporation(y).value;
        let mut made = R::splat(0.0);
        for (h, r) in heat.process_heat.iter().zip(&self.rates.rate) {
            made += *h * *r;
        }
        flows[REACTION] = self.liquid_m3 * made;
        flows[STREAM] = self.stream(heat, celsius).value;
        let mut sum = R::splat(0.0);
        for (k, flow) in flows.into_iter().enumerate() {
            dy[l.heat(k)] = flow;
            sum += flow;
        }
        dy[l.heat(WARMTH)] = celsius;
        dy[l.temperature()] = sum / self.capacity();
    }

    #[inline(always)]
    pub(super) fn write_heat_by_time(&self, heat: &HeatBalance<R>, t: R, y: &[R], dfdt: &mut [R]) {
        let l = &self.layout;
        let mut sum = R::splat(0.0);
        let celsius = y[l.temperature()] - ZERO_C;
        for (k, flow) in heat.flows(t, celsius).iter().enumerate() {
            dfdt[l.heat(k)] = flow.by_day;
            sum += flow.by_day;
        }
        dfdt[l.temperature()] = sum / self.capacity();
    }

    #[inline(always)]
    pub(super) fn write_heat_jacobian(
        &self,
        heat: &HeatBalance<R>,
        t: R,
        y: &[R],
        j: &mut impl Sink<R>,
    ) {
        let l = &self.layout;
        let col_t = l.temperature();
        let davies = self.engines[0].acid_base.is_davies();
        let per_kwh = self.capacity().recip();
        let mut put = |flow: usize, column: usize, slope: R| {
            j.add(l.heat(flow), column, slope);
            j.add(col_t, column, slope * per_kwh);
        };
        let celsius = y[col_t] - ZERO_C;
        for (k, flow) in heat.flows(t, celsius).iter().enumerate() {
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
                let Some(column) = l.column(*var, davies) else {
                    continue;
                };
                put(REACTION, column, self.liquid_m3 * *heat * *slope);
            }
        }
        j.add(l.heat(WARMTH), col_t, R::splat(1.0));
    }
}
