//! Water vapour: saturation pressure, dew point, latent heat.

use crate::chemistry::constants::{ConstantSet, T_25};
use crate::chemistry::water;

/// Coefficients n1..n10 of region 4 (saturation line). Source: IAPWS-IF97, table 34 (from memory;
/// borne out by the reference table).
const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];
/// Bar in a megapascal.
const BAR_PER_MPA: f64 = 10.0;
/// Vapour pressure of the published set: bar at 25 C, and the temperature of its exponent \[K\].
/// Source: Rosen and Jeppsson 2006 (from memory; borne out by the benchmark's steady state).
const PUBLISHED: (f64, f64) = (0.0313, 5_290.0);
/// Critical point of water: \[K\], \[kg/m3\], \[bar\]. Source: IAPWS SR1-86(1992), from memory.
const CRITICAL: (f64, f64, f64) = (647.096, 322.0, 220.64);

/// Saturation pressure of water: (p \[bar\], dp/dT \[bar/K\]) at `t_k` \[K\].
///
/// Recommended: IAPWS-IF97 equation 30, 0..374 C. Published: `0.0313 exp(5290 (1/298.15 - 1/T))`.
/// Pure vapour; the enhancement in a gas at 1 atm (about +0.4 %) is not in it.
#[must_use]
pub fn saturation_pressure(set: ConstantSet, t_k: f64) -> (f64, f64) {
    match set {
        ConstantSet::Published => {
            let (at_25, exponent) = PUBLISHED;
            let p = at_25 * (exponent * (1.0 / T_25 - 1.0 / t_k)).exp();
            (p, p * exponent / (t_k * t_k))
        }
        ConstantSet::Recommended => saturation_line(t_k),
    }
}

fn saturation_line(t_k: f64) -> (f64, f64) {
    let gap = t_k - N[9];
    let theta = t_k + N[8] / gap;
    let d_theta = 1.0 - N[8] / (gap * gap);
    let a = (theta + N[0]) * theta + N[1];
    let b = (N[2] * theta + N[3]) * theta + N[4];
    let c = (N[5] * theta + N[6]) * theta + N[7];
    // a beta^2 + b beta + c = 0 holds all along the line: its differential gives the slope.
    let root = (b * b - 4.0 * a * c).sqrt();
    let beta = 2.0 * c / (root - b);
    let along_theta = ((2.0 * theta + N[0]) * beta + 2.0 * N[2] * theta + N[3]) * beta
        + 2.0 * N[5] * theta
        + N[6];
    let d_beta = -along_theta / (2.0 * a * beta + b) * d_theta;
    let cube = beta * beta * beta;
    (BAR_PER_MPA * cube * beta, BAR_PER_MPA * 4.0 * cube * d_beta)
}

/// Dew point \[K\] of a gas with `p_w_bar` \[bar\] of water vapour, by IAPWS-IF97 equation 31.
///
/// `None` for a gas without vapour, and above the critical pressure. Below 6.1 mbar the line is that
/// of supercooled water, not of frost.
#[must_use]
pub fn dew_point(p_w_bar: f64) -> Option<f64> {
    if !(p_w_bar > 0.0 && p_w_bar < CRITICAL.2) {
        return None;
    }
    let beta = (p_w_bar / BAR_PER_MPA).sqrt().sqrt();
    let e = (beta + N[2]) * beta + N[5];
    let f = (N[0] * beta + N[3]) * beta + N[6];
    let g = (N[1] * beta + N[4]) * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = N[9] + d;
    Some(0.5 * (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt()))
}

/// Latent heat of evaporation of water \[kJ/kg\] at `t_k` \[K\], 0..60 C.
///
/// Clapeyron: `T dp/dT (1/rho_vapour - 1/rho_liquid)`, with the saturated-vapour density of
/// IAPWS SR1-86(1992) (Wagner and Pruss 1993; coefficients from memory).
#[must_use]
pub fn latent_heat_kj_per_kg(t_k: f64) -> f64 {
    const C: [(f64, i32); 6] = [
        (-2.031_502_40, 2),
        (-2.683_029_40, 4),
        (-5.386_264_92, 8),
        (-17.299_160_5, 18),
        (-44.758_658_1, 37),
        (-63.920_106_3, 71),
    ];
    /// kJ/m3 in a bar.
    const KJ_PER_M3_BAR: f64 = 100.0;
    let sixth = (1.0 - t_k / CRITICAL.0).cbrt().sqrt();
    let ln_reduced: f64 = C.iter().map(|&(c, power)| c * sixth.powi(power)).sum();
    let vapour = CRITICAL.1 * ln_reduced.exp();
    let (liquid, _) = water::density(t_k);
    let (_, slope) = saturation_line(t_k);
    KJ_PER_M3_BAR * t_k * slope * (1.0 / vapour - 1.0 / liquid)
}
