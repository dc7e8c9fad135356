//! Solubility of gases in water at low pressure.

use crate::chemistry::constants::{ConstantSet, R_PUBLISHED, T_25, ln_form};
use crate::chemistry::{vapour, water};
use crate::units::{ATM_BAR, molar_mass};

/// A gas that dissolves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Gas {
    /// H2
    Hydrogen,
    /// CH4
    Methane,
    /// CO2, as dissolved CO2 (not bicarbonate)
    CarbonDioxide,
    /// H2S, as dissolved H2S (not HS-)
    HydrogenSulphide,
    /// NH3, as dissolved NH3 (not NH4+)
    Ammonia,
    /// N2
    Nitrogen,
    /// O2
    Oxygen,
    /// Dry air, per bar of air
    Air,
}

impl Gas {
    /// All gases.
    pub const ALL: [Self; 8] = [
        Self::Hydrogen,
        Self::Methane,
        Self::CarbonDioxide,
        Self::HydrogenSulphide,
        Self::Ammonia,
        Self::Nitrogen,
        Self::Oxygen,
        Self::Air,
    ];
}

/// Shape of a solubility against temperature.
enum Form {
    /// IAPWS G7-04: `ln(k_x/p_sat) = A/Tr + B tau^0.355/Tr + C Tr^-0.41 exp(tau)`, with k_x = partial
    /// pressure over mole fraction, Tr = T/Tc, tau = 1 - Tr.
    Guideline([f64; 3]),
    /// log10 of mol/kg water/atm in the form of the dissociation constants.
    Molal([f64; 6]),
    /// van't Hoff from 25 C: kmol/m3/bar and enthalpy \[J/mol\].
    VanTHoff(f64, f64),
    /// Oxygen and nitrogen in the shares of dry air.
    Air,
}

/// Critical temperature of water in IAPWS G7-04 \[K\].
const T_CRITICAL: f64 = 647.096;
/// Mole share of oxygen in dry air; the rest (nitrogen and 0.9 % argon) dissolves here as nitrogen.
/// Source: standard atmosphere, from memory.
const OXYGEN_IN_AIR: f64 = 0.2095;

/// Recommended forms. IAPWS G7-04 coefficients from memory, borne out by the reference table. CO2 and
/// NH3: read in phreeqc.dat (2024), since G7-04 is 2.5 % low for CO2 in the cold and has no NH3.
const fn recommended(gas: Gas) -> Form {
    match gas {
        Gas::Hydrogen => Form::Guideline([-4.732_84, 6.089_54, 6.060_66]),
        Gas::Methane => Form::Guideline([-10.447_08, 4.664_91, 12.129_86]),
        Gas::HydrogenSulphide => Form::Guideline([-4.514_99, 5.235_38, 4.421_26]),
        Gas::Nitrogen => Form::Guideline([-9.675_78, 4.721_62, 11.705_85]),
        Gas::Oxygen => Form::Guideline([-9.448_33, 4.438_22, 11.420_05]),
        Gas::CarbonDioxide => {
            Form::Molal([10.5624, -2.354_7e-2, -3_972.8, 0.0, 5.874_6e5, 1.919_4e-5])
        }
        Gas::Ammonia => Form::Molal([-18.758, 3.367e-4, 2_511.3, 4.8619, 39.192, 0.0]),
        Gas::Air => Form::Air,
    }
}

/// Published forms (Rosen and Jeppsson 2006, from memory); the other gases are not in that benchmark.
const fn published(gas: Gas) -> Form {
    match gas {
        Gas::Hydrogen => Form::VanTHoff(7.8e-4, -4_180.0),
        Gas::Methane => Form::VanTHoff(1.4e-3, -14_240.0),
        Gas::CarbonDioxide => Form::VanTHoff(3.5e-2, -19_410.0),
        other => recommended(other),
    }
}

/// Henry constant of `gas`: (k \[kmol/m3 water/bar\], dk/dT \[kmol/m3/bar/K\]) at `t_k` \[K\], 0..60 C.
///
/// The constant is per volume of pure water, k = k_m rho/1000 with k_m in mol/kg water/bar; the two
/// differ by 0.03..1.7 % at 10..60 C. Salting-out is not in it.
///
/// # Examples
///
/// ```
/// use marshgas::chemistry::{ConstantSet, Gas, henry};
/// let (methane, slope) = henry(ConstantSet::Published, Gas::Methane, 298.15);
/// assert!((methane - 0.0014).abs() < 1e-15 && slope < 0.0);
/// ```
#[must_use]
pub fn henry(set: ConstantSet, gas: Gas, t_k: f64) -> (f64, f64) {
    let form = match set {
        ConstantSet::Published => published(gas),
        ConstantSet::Recommended => recommended(gas),
    };
    match form {
        Form::Guideline(coefficients) => guideline(&coefficients, t_k),
        Form::Molal(coefficients) => molal(&coefficients, t_k),
        Form::VanTHoff(at_25, enthalpy) => {
            let per_r = enthalpy / R_PUBLISHED;
            let k = at_25 * (per_r * (1.0 / T_25 - 1.0 / t_k)).exp();
            (k, k * per_r / (t_k * t_k))
        }
        Form::Air => {
            let (oxygen, d_oxygen) = henry(set, Gas::Oxygen, t_k);
            let (nitrogen, d_nitrogen) = henry(set, Gas::Nitrogen, t_k);
            let mix = |o: f64, n: f64| OXYGEN_IN_AIR * o + (1.0 - OXYGEN_IN_AIR) * n;
            (mix(oxygen, nitrogen), mix(d_oxygen, d_nitrogen))
        }
    }
}

fn guideline(&[a, b, c]: &[f64; 3], t_k: f64) -> (f64, f64) {
    let (p_sat, d_p_sat) = vapour::saturation_pressure(ConstantSet::Recommended, t_k);
    let (rho, d_rho) = water::density(t_k);
    let reduced = t_k / T_CRITICAL;
    let tau = 1.0 - reduced;
    let root = b * tau.powf(0.355) / reduced;
    let tail = c * reduced.powf(-0.41) * tau.exp();
    let ln_ratio = a / reduced + root + tail;
    let d_ln_ratio =
        (-(a / reduced + root) / reduced - 0.355 * root / tau - tail * (0.41 / reduced + 1.0))
            / T_CRITICAL;
    let k = rho / (molar_mass::H2O * p_sat) * (-ln_ratio).exp();
    (k, k * (d_rho / rho - d_p_sat / p_sat - d_ln_ratio))
}

fn molal(coefficients: &[f64; 6], t_k: f64) -> (f64, f64) {
    let (ln_k, d_ln_k) = ln_form(coefficients, t_k, t_k.ln());
    let (rho, d_rho) = water::density(t_k);
    // mol/kg/atm to kmol/m3/bar
    let k = ln_k.exp() * 1e-3 * rho / ATM_BAR;
    (k, k * (d_ln_k + d_rho / rho))
}
