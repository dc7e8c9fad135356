//! A dose is a jump of the state: mix, then overflow.

use super::tank::Tank;
use crate::kinetics::Load;
use crate::units::{ZERO_C, kelvin};

/// What a vessel does with a dose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlet {
    /// Liquid volume at the outlet's level \[m3\].
    pub level_m3: f64,
    /// Share of the particles that the outlet leaves behind.
    pub held_back: f64,
    /// Share of a dose that leaves unmixed.
    pub short_circuit: f64,
}

impl Outlet {
    /// What overflows when so much is put in, and how much of that is the dose unmixed \[m3\].
    fn spill(&self, before_m3: f64, dose_m3: f64) -> (f64, f64) {
        let spill = (before_m3 + dose_m3 - self.level_m3).max(0.0);
        (spill, (self.short_circuit * dose_m3).min(spill))
    }
}

impl Tank {
    /// Like [`Tank::dose`], with the load's temperature \[C\]; returns that of the overflow besides.
    ///
    /// Heat is mixed as volume is. A tank whose temperature follows a course keeps to it.
    pub fn dose_warm(
        &mut self,
        y: &mut [f64],
        load: &Load,
        outlet: &Outlet,
        celsius: f64,
    ) -> (Load, f64) {
        let before = self.liquid_m3;
        let (spill, unmixed) = outlet.spill(before, load.volume_m3);
        let place = self.layout().temperature();
        if self.has_heat() {
            let mixed = load.volume_m3 - unmixed;
            y[place] = (before * y[place] + mixed * kelvin(celsius)) / (before + mixed);
        }
        let own = y[place] - ZERO_C;
        let out_c = if spill > 0.0 {
            (unmixed * celsius + (spill - unmixed) * own) / spill
        } else {
            own
        };
        (self.dose(y, load, outlet), out_c)
    }

    /// Puts a load into the tank and returns what overflows.
    ///
    /// The level rises until the outlet overflows; then the same volume is displaced. Of an overflowing dose the
    /// short-circuit share leaves as it came; the rest is mixed in first. Particles held back stay in the tank.
    pub fn dose(&mut self, y: &mut [f64], load: &Load, outlet: &Outlet) -> Load {
        let engine = std::sync::Arc::clone(self.engine());
        let network = &engine.network;
        let mut out = Load::empty(network);
        let before = self.liquid_m3;
        let (spill, unmixed) = outlet.spill(before, load.volume_m3);
        let part = if load.volume_m3 > 0.0 {
            unmixed / load.volume_m3
        } else {
            0.0
        };
        out.add(load, part);
        let mixed_volume = before + load.volume_m3 - unmixed;
        let mixed_spill = spill - unmixed;
        let after = mixed_volume - mixed_spill;

        self.mix_pool_speeds(y, load, 1.0 - part);
        for (i, c) in network.components.iter().enumerate() {
            let amount = y[i] * before + (1.0 - part) * load.amount[i];
            let leaves = if c.particulate {
                1.0 - outlet.held_back
            } else {
                1.0
            };
            let gone = amount / mixed_volume * mixed_spill * leaves;
            out.amount[i] += gone;
            y[i] = (amount - gone) / after;
        }
        for (p, pool) in network.pools.iter().enumerate() {
            let mixed = out.amount[pool.component] - part * load.amount[pool.component];
            out.pool_amount[p] += mixed;
            out.pool_speed[p] += mixed * self.coefficients[pool.coefficient];
        }
        out.volume_m3 = spill;
        let total = self.liquid_m3 + self.gas_m3;
        self.liquid_m3 = after;
        self.gas_m3 = total - after;
        out
    }

    /// Hydrolysis constants of the mixture: weighted by what is there and what comes.
    ///
    /// Between doses all of a pool is treated alike; this is the one closure the engine makes about mixed feeds.
    fn mix_pool_speeds(&mut self, y: &[f64], load: &Load, share: f64) {
        let engine = std::sync::Arc::clone(self.engine());
        for (p, pool) in engine.network.pools.iter().enumerate() {
            let old = (y[pool.component] * self.liquid_m3).max(0.0);
            let new = share * load.pool_amount[p];
            if new > 0.0 {
                let k = &mut self.coefficients[pool.coefficient];
                *k = (old * *k + share * load.pool_speed[p]) / (old + new);
            }
        }
    }
}
