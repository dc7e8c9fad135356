//! Several tanks of one shape side by side.

use std::ops::Range;
use std::sync::Arc;

use super::{Corner, HeatBalance, OUTLET_OPENS_BAR, Tank, swings};
use crate::chemistry::Speciation;
use crate::digester::engine::AcidTotals;
use crate::digester::numbers::Numbers;
use crate::digester::plumbing::Plumbing;
use crate::kinetics::{Properties, Rates};
use crate::lanes::{LaneSet, Lanes, Real, WIDTH};
use crate::solver::{LaneSlopes, LaneSystem, Pattern};
use crate::units::R_BAR;

impl Tank<Lanes> {
    /// A tank in every lane.
    #[must_use]
    pub fn abreast(of: &Tank) -> Self {
        let network = &of.engines[0].network;
        let all = |numbers: &[f64]| numbers.iter().map(|v| Lanes::splat(*v)).collect();
        Self {
            engines: vec![Arc::clone(&of.engines[0]); WIDTH],
            numbers: Arc::new(Numbers::new(network)),
            layout: of.layout,
            liquid_m3: Lanes::splat(of.liquid_m3),
            gas_m3: Lanes::splat(of.gas_m3),
            coefficients: all(&of.coefficients),
            courses: vec![of.courses[0].clone(); WIDTH],
            plumbing: Plumbing::splat(&of.plumbing),
            corner: match of.corner {
                Corner::Rounded => Corner::Rounded,
                Corner::Pieces { .. } => Corner::Pieces { open: Lanes::all() },
            },
            heat: of.heat.as_ref().map(HeatBalance::splat),
            least: all(&of.least),
            taken_back: Lanes::splat(of.taken_back),
            rates: Rates::new(network),
            props: Properties::blank(),
            totals: AcidTotals::none(),
            liquor: Speciation::unknown(),
            stamp: of.stamp.clone(),
        }
    }

    /// Puts another tank into a lane. `false` if it is of another shape, which leaves the lane unusable.
    pub fn put(&mut self, lane: usize, of: &Tank) -> bool {
        let same = self.layout == of.layout
            && self.stamp == of.stamp
            && self.heat.is_some() == of.heat.is_some()
            && self.least.len() == of.least.len()
            && self.engine().properties.is_like(&of.engine().properties)
            && matches!(self.corner, Corner::Rounded) == matches!(of.corner, Corner::Rounded);
        if !same {
            return false;
        }
        self.engines[lane] = Arc::clone(&of.engines[0]);
        self.props.forget(lane);
        self.courses[lane].clone_from(&of.courses[0]);
        if let (Some(own), Some(heat)) = (&mut self.heat, &of.heat) {
            own.put(lane, heat);
        }
        let least = self.least.iter_mut().zip(&of.least);
        least.for_each(|(own, new)| own.put(lane, *new));
        self.taken_back.put(lane, of.taken_back);
        self.liquor.put(lane, &of.liquor);
        self.renew(lane, of);
        self.plumbing.put(lane, &of.plumbing)
            && Arc::make_mut(&mut self.numbers).put(lane, &of.engines[0].network)
    }

    /// Takes over what a jump can change in the tank of a lane.
    pub fn renew(&mut self, lane: usize, of: &Tank) {
        self.liquid_m3.put(lane, of.liquid_m3);
        self.gas_m3.put(lane, of.gas_m3);
        let coefficients = self.coefficients.iter_mut().zip(&of.coefficients);
        coefficients.for_each(|(own, new)| own.put(lane, *new));
        self.set_lane_open(lane, of.is_open());
    }

    /// Takes over the volumes of a tank in every lane.
    pub(in crate::digester) fn resize(&mut self, of: &Tank) {
        self.liquid_m3 = Lanes::splat(of.liquid_m3);
        self.gas_m3 = Lanes::splat(of.gas_m3);
    }

    /// Whether the piece of the outlet in force lets gas flow in a lane.
    #[must_use]
    pub fn is_lane_open(&self, lane: usize) -> bool {
        match self.corner {
            Corner::Pieces { open } => open.has(lane),
            Corner::Rounded => true,
        }
    }

    fn set_lane_open(&mut self, lane: usize, is_open: bool) {
        if let Corner::Pieces { open } = &mut self.corner {
            let one = LaneSet::one(lane);
            *open = if is_open {
                *open | one
            } else {
                open.without(one)
            };
        }
    }
}

impl LaneSystem for Tank<Lanes> {
    fn pattern(&self) -> &Pattern {
        self.stamp.pattern()
    }

    #[inline(always)]
    fn rhs(&mut self, of: LaneSet, t: Lanes, y: &[Lanes], dy: &mut [Lanes]) -> LaneSet {
        let refused = self.balance_for_rates(y, of);
        self.evaluate(y);
        self.write_rhs(t, y, dy);
        refused
    }

    #[inline(always)]
    fn jacobian(&mut self, of: LaneSet, t: Lanes, y: &[Lanes], out: LaneSlopes<'_>) -> LaneSet {
        let refused = self.balance_for_rates(y, of);
        let slopes = self.evaluate_slopes(y);
        self.write_rhs(t, y, out.dy);
        self.write_by_time(t, y, out.dfdt);
        self.write_jacobian(t, y, &slopes, &mut self.stamp.pass(out.values));
        refused
    }

    #[inline(always)]
    fn margin(&self, y: &[Lanes]) -> Lanes {
        self.outlet_margin(y)
    }

    fn lane_margin(&self, lane: usize, y: &[f64]) -> f64 {
        let Corner::Pieces { open } = self.corner else {
            return f64::INFINITY;
        };
        let t_k = y[self.layout.temperature()];
        let mut moles = 0.0;
        for g in 0..self.layout.gases {
            moles += y[self.layout.gas(g)];
        }
        let vapour = self.engines[lane].properties.vapour(t_k);
        let pressure = moles * R_BAR * t_k / self.gas_m3.lane(lane) + vapour;
        let plumbing = &self.plumbing;
        let over =
            pressure - plumbing.ambient_bar.lane(lane) - plumbing.back_pressure_bar.lane(lane);
        if open.has(lane) {
            over
        } else {
            OUTLET_OPENS_BAR - over
        }
    }

    fn margin_states(&self) -> Range<usize> {
        self.layout.headspace()
    }

    fn switch(&mut self, lane: usize) {
        if let Corner::Pieces { open } = self.corner {
            self.set_lane_open(lane, !open.has(lane));
        }
    }

    #[inline(always)]
    fn strays(&self, from: &[Lanes], to: &[Lanes]) -> LaneSet {
        let mut out = LaneSet::NONE;
        for ((least, from), to) in self.least.iter().zip(from).zip(to) {
            out = out | (to.below(*least) & to.below(*from));
        }
        for i in self.passed() {
            out = out | to[i].below(from[i] - self.taken_back);
        }
        out
    }

    #[inline(always)]
    fn turns(&self, from: &[Lanes], inside: &[Lanes], to: &[Lanes]) -> LaneSet {
        let mut out = LaneSet::NONE;
        for i in self.passed() {
            out = out | swings(from[i], inside[i], to[i], self.taken_back);
        }
        out
    }

    fn turning_states(&self) -> Range<usize> {
        self.passed()
    }
}
