//! Undisturbed soil: the yearly wave of its surface, damped and delayed by depth.

use std::f64::consts::{PI, TAU};

use crate::lanes::Real;

/// Length of a year \[d\].
const YEAR_D: f64 = 365.25;

/// `T(z, t) = mean + swing exp(-z/d) cos(2 pi (t - hottest_day)/year - z/d)`, the closed form of heat conduction into a
/// half-space under a yearly wave (Kusuda and Achenbach 1965). The daily wave is gone below half a metre and left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoilWave {
    /// Yearly mean \[C\].
    pub mean_c: f64,
    /// Half the yearly swing at the surface \[K\].
    pub swing_k: f64,
    /// Day of the run on which the surface is hottest \[d\].
    pub hottest_day: f64,
    /// Thermal diffusivity \[m2/d\]: 0.03 to 0.07 for soils.
    pub diffusivity_m2_per_d: f64,
    /// Length of the year \[d\].
    pub year_d: f64,
}

/// Depth at which a wave of a period \[d\] has fallen to 1/e \[m\]: `sqrt(diffusivity period / pi)`.
#[must_use]
pub fn damping_depth_m(diffusivity_m2_per_d: f64, period_d: f64) -> f64 {
    (diffusivity_m2_per_d * period_d / PI).sqrt()
}

impl SoilWave {
    /// A wave over the mean year.
    #[must_use]
    pub fn new(mean_c: f64, swing_k: f64, hottest_day: f64, diffusivity_m2_per_d: f64) -> Self {
        Self {
            mean_c,
            swing_k,
            hottest_day,
            diffusivity_m2_per_d,
            year_d: YEAR_D,
        }
    }

    /// (temperature \[C\], slope \[K/d\]) at a depth \[m\], at `t` \[d\].
    #[must_use]
    pub fn at(&self, depth_m: f64, t: f64) -> (f64, f64) {
        if self.swing_k == 0.0 {
            return (self.mean_c, 0.0);
        }
        let depth = depth_m / damping_depth_m(self.diffusivity_m2_per_d, self.year_d);
        let omega = TAU / self.year_d;
        let swing = self.swing_k * (-depth).exp();
        let turns = (t - self.hottest_day) / self.year_d - depth / TAU;
        let (s, c) = turns.sin_cos_turns();
        (self.mean_c + swing * c, -swing * omega * s)
    }
}
