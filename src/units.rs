//! Physical constants and conversions (layer 0).
//!
//! Inside the crate every number is in m3, kmol, kg, bar, K and days unless its name says otherwise.

/// Universal gas constant \[J/mol/K\]. Source: CODATA 2018, exact.
pub const R_J: f64 = 8.314_462_618;
/// Universal gas constant \[bar m3/kmol/K\] (the same constant, in the units of gas over liquor).
pub const R_BAR: f64 = 0.083_144_626_18;
/// 0 degrees Celsius \[K\]. Source: definition of the Celsius scale.
pub const ZERO_C: f64 = 273.15;
/// Standard atmosphere \[bar\]. Source: definition, 101 325 Pa.
pub const ATM_BAR: f64 = 1.013_25;
/// Molar volume of an ideal gas at 0 C and 101.325 kPa \[m3/kmol\]. Follows from the constants above.
pub const NORM_M3_PER_KMOL: f64 = R_BAR * ZERO_C / ATM_BAR;
/// Heat capacity of water at 15 C \[J/kg/K\]. Source: CRC Handbook, from memory.
pub const WATER_J_PER_KG_K: f64 = 4186.0;
/// Oxygen demand of methane \[kg COD/kmol\]: CH4 + 2 O2.
pub const COD_CH4: f64 = 64.0;
/// Oxygen demand of hydrogen \[kg COD/kmol\]: H2 + 1/2 O2.
pub const COD_H2: f64 = 16.0;

/// Oxygen demand of organic matter \[kg COD/kmol\]: 32 kg for each O2 that burns it to CO2, H2O and NH3.
pub mod cod {
    /// Acetic acid: 2 O2.
    pub const ACETIC: f64 = 64.0;
    /// Propionic acid: 3.5 O2.
    pub const PROPIONIC: f64 = 112.0;
    /// Butyric acid: 5 O2.
    pub const BUTYRIC: f64 = 160.0;
    /// Valeric acid: 6.5 O2.
    pub const VALERIC: f64 = 208.0;
    /// Palmitic acid C16H32O2: 23 O2.
    pub const PALMITIC: f64 = 736.0;
    /// Hexose: 6 O2.
    pub const HEXOSE: f64 = 192.0;
    /// Cells as C5H7O2N: 5 O2 (Batstone et al. 2002).
    pub const CELLS: f64 = 160.0;
}

/// Molar masses \[kg/kmol\]. Source: IUPAC 2021 abridged atomic weights.
pub mod molar_mass {
    /// Carbon.
    pub const C: f64 = 12.011;
    /// Hydrogen atom.
    pub const H: f64 = 1.008;
    /// Oxygen atom.
    pub const O: f64 = 15.999;
    /// Nitrogen atom.
    pub const N: f64 = 14.007;
    /// Sulphur atom.
    pub const S: f64 = 32.06;
    /// Methane.
    pub const CH4: f64 = 16.043;
    /// Carbon dioxide.
    pub const CO2: f64 = 44.009;
    /// Hydrogen sulphide.
    pub const H2S: f64 = 34.076;
    /// Hydrogen gas.
    pub const H2: f64 = 2.016;
    /// Water.
    pub const H2O: f64 = 18.015;
    /// Dry air (mean).
    pub const AIR: f64 = 28.963;
    /// Acetic acid.
    pub const ACETIC: f64 = 60.052;
    /// Propionic acid.
    pub const PROPIONIC: f64 = 74.079;
    /// Butyric acid.
    pub const BUTYRIC: f64 = 88.106;
    /// Calcium carbonate, the currency of alkalinity.
    pub const CACO3: f64 = 100.086;
    /// Sodium bicarbonate.
    pub const NAHCO3: f64 = 84.006;
    /// Calcium hydroxide (slaked lime).
    pub const CAOH2: f64 = 74.092;
}

/// Celsius to kelvin.
#[must_use]
pub fn kelvin(celsius: f64) -> f64 {
    celsius + ZERO_C
}
