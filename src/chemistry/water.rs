//! Liquid water at atmospheric pressure.

use crate::units::ZERO_C;

/// Density of pure liquid water at 1 atm: (rho \[kg/m3\], d rho/dT \[kg/m3/K\]), 0..60 C.
///
/// Source: Kell 1975, J. Chem. Eng. Data 20, 97 (from memory; within 0.013 kg/m3 of IAPWS-IF97).
#[must_use]
pub fn density(t_k: f64) -> (f64, f64) {
    const N: [f64; 6] = [
        999.839_52,
        16.945_176,
        -7.987_040_1e-3,
        -46.170_461e-6,
        105.563_02e-9,
        -280.542_53e-12,
    ];
    const D: f64 = 16.879_850e-3;
    let t = t_k - ZERO_C;
    let (mut top, mut d_top) = (N[5], 0.0);
    for &coefficient in N[..5].iter().rev() {
        d_top = d_top * t + top;
        top = top * t + coefficient;
    }
    let bottom = 1.0 + D * t;
    let rho = top / bottom;
    (rho, (d_top - rho * D) / bottom)
}

/// Relative permittivity of liquid water: (epsilon, d epsilon/dT \[1/K\]) at `p_bar` \[bar\], 0..60 C.
///
/// Source: Bradley and Pitzer 1979, J. Phys. Chem. 83, 1599 (from memory; the Debye-Hueckel slope
/// that follows from it meets an independent table to 1e-6).
#[must_use]
pub(crate) fn relative_permittivity(t_k: f64, p_bar: f64) -> (f64, f64) {
    const U: [f64; 9] = [
        342.79, -5.0866e-3, 9.4690e-7, -2.0525, 3_115.9, -182.89, -8_032.5, 4.2142e6, 2.1417,
    ];
    /// Pressure at which the first term holds \[bar\].
    const P_REFERENCE: f64 = 1_000.0;
    let base = U[0] * (t_k * (U[1] + U[2] * t_k)).exp();
    let d_base = base * (U[1] + 2.0 * U[2] * t_k);
    let shift = 1.0 / (U[5] + t_k);
    let c = U[3] + U[4] * shift;
    let d_c = -U[4] * shift * shift;
    let b = U[6] + U[7] / t_k + U[8] * t_k;
    let d_b = -U[7] / (t_k * t_k) + U[8];
    let log = ((b + p_bar) / (b + P_REFERENCE)).ln();
    let d_log = d_b * (1.0 / (b + p_bar) - 1.0 / (b + P_REFERENCE));
    (base + c * log, d_base + d_c * log + c * d_log)
}
