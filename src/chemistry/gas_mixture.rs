//! A gas of known composition: molar mass, density, heating value, flammability.

use crate::chemistry::combustion::{Fuel, HeatingValue, MJ_PER_KWH, molar_heating_value};
use crate::chemistry::constants::{ConstantSet, T_25};
use crate::chemistry::vapour;
use crate::chemistry::virial::{self, COUNT};
use crate::units::{ATM_BAR, NORM_M3_PER_KMOL, R_BAR, ZERO_C, molar_mass};

/// Amounts of the gases in a mixture, in any unit proportional to moles (kmol, bar, norm m3).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GasAmounts {
    /// CH4
    pub methane: f64,
    /// CO2
    pub carbon_dioxide: f64,
    /// H2
    pub hydrogen: f64,
    /// H2S
    pub hydrogen_sulphide: f64,
    /// Dry air as one gas
    pub air: f64,
    /// N2 beyond that in `air`
    pub nitrogen: f64,
    /// O2 beyond that in `air`
    pub oxygen: f64,
    /// Water vapour
    pub water: f64,
}

impl GasAmounts {
    const fn in_order(&self) -> [f64; COUNT] {
        [
            self.methane,
            self.carbon_dioxide,
            self.hydrogen,
            self.hydrogen_sulphide,
            self.air,
            self.nitrogen,
            self.oxygen,
            self.water,
        ]
    }
}

/// Position of a fuel in the order of the shares.
const fn position(fuel: Fuel) -> usize {
    match fuel {
        Fuel::Methane => virial::METHANE,
        Fuel::Hydrogen => virial::HYDROGEN,
        Fuel::HydrogenSulphide => virial::HYDROGEN_SULPHIDE,
    }
}

/// Molar masses \[kg/kmol\], in the order of the shares.
const MOLAR_MASS: [f64; COUNT] = [
    molar_mass::CH4,
    molar_mass::CO2,
    molar_mass::H2,
    molar_mass::H2S,
    molar_mass::AIR,
    2.0 * molar_mass::N,
    2.0 * molar_mass::O,
    molar_mass::H2O,
];

/// How volume follows from amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GasLaw {
    /// Ideal gas: 0.2..0.65 % light for pure fuel gases and their mixtures near 1 bar.
    Ideal,
    /// Virial equation cut after the second coefficient; within 0.03 % of reference equations.
    Virial,
}

/// A gas mixture: mole shares that sum to one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasMixture {
    shares: [f64; COUNT],
}

impl GasMixture {
    /// From amounts. `None` if one is negative or not finite, or all are zero.
    #[must_use]
    pub fn new(amounts: &GasAmounts) -> Option<Self> {
        let amounts = amounts.in_order();
        let total: f64 = amounts.iter().sum();
        let valid = total > 0.0 && total.is_finite() && amounts.iter().all(|&a| a >= 0.0);
        valid.then(|| Self {
            shares: amounts.map(|a| a / total),
        })
    }

    /// Mole shares (summing to one).
    #[must_use]
    pub fn shares(&self) -> GasAmounts {
        let [
            methane,
            carbon_dioxide,
            hydrogen,
            hydrogen_sulphide,
            air,
            nitrogen,
            oxygen,
            water,
        ] = self.shares;
        GasAmounts {
            methane,
            carbon_dioxide,
            hydrogen,
            hydrogen_sulphide,
            air,
            nitrogen,
            oxygen,
            water,
        }
    }

    /// The same gas without its water vapour; `None` for pure vapour.
    #[must_use]
    pub fn dry(&self) -> Option<Self> {
        Self::new(&GasAmounts {
            water: 0.0,
            ..self.shares()
        })
    }

    /// The same gas with vapour to the relative humidity `humidity` (0..1) at `t_k` \[K\] and `p_bar`
    /// \[bar absolute\]; `None` where vapour alone would fill the space, or for pure vapour.
    #[must_use]
    pub fn moist(&self, t_k: f64, p_bar: f64, humidity: f64) -> Option<Self> {
        let p_w = humidity * vapour::saturation_pressure(ConstantSet::Recommended, t_k).0;
        let dry = self.dry()?.shares();
        Self::new(&GasAmounts {
            water: p_w / (p_bar - p_w),
            ..dry
        })
    }

    /// Molar mass \[kg/kmol\].
    #[must_use]
    pub fn molar_mass(&self) -> f64 {
        self.shares.iter().zip(MOLAR_MASS).map(|(x, m)| x * m).sum()
    }

    /// Compressibility factor Z at `t_k` \[K\] (0..60 C) and `p_bar` \[bar absolute\] (to about 1.5).
    #[must_use]
    pub fn compressibility(&self, law: GasLaw, t_k: f64, p_bar: f64) -> f64 {
        match law {
            GasLaw::Ideal => 1.0,
            GasLaw::Virial => {
                1.0 + virial::second_coefficient(&self.shares, t_k) * p_bar / (R_BAR * t_k)
            }
        }
    }

    /// Density \[kg/m3\] at `t_k` \[K\] and `p_bar` \[bar absolute\].
    #[must_use]
    pub fn density(&self, law: GasLaw, t_k: f64, p_bar: f64) -> f64 {
        p_bar * self.molar_mass() / (R_BAR * t_k * self.compressibility(law, t_k, p_bar))
    }

    /// Density against dry air at the same state, as ideal gases.
    #[must_use]
    pub fn relative_density(&self) -> f64 {
        self.molar_mass() / molar_mass::AIR
    }

    /// Heat of combustion at 25 C \[MJ/kmol of this gas\].
    #[must_use]
    pub fn molar_heating_value(&self) -> HeatingValue {
        let zero = HeatingValue {
            lower: 0.0,
            higher: 0.0,
        };
        Fuel::ALL.iter().fold(zero, |sum, &fuel| {
            let share = self.shares[position(fuel)];
            let value = molar_heating_value(fuel, T_25);
            HeatingValue {
                lower: sum.lower + share * value.lower,
                higher: sum.higher + share * value.higher,
            }
        })
    }

    /// Heat of combustion at 25 C \[MJ/norm m3 of this gas as it is\].
    #[must_use]
    pub fn heating_value_mj(&self, law: GasLaw) -> HeatingValue {
        let z = self.compressibility(law, ZERO_C, ATM_BAR);
        self.molar_heating_value()
            .scaled(1.0 / (NORM_M3_PER_KMOL * z))
    }

    /// Heat of combustion at 25 C \[kWh/norm m3 of this gas as it is\].
    #[must_use]
    pub fn heating_value_kwh(&self, law: GasLaw) -> HeatingValue {
        self.heating_value_mj(law).scaled(1.0 / MJ_PER_KWH)
    }

    /// Wobbe index on the higher heating value \[MJ/norm m3\], ideal gas: what a burner's jet passes.
    #[must_use]
    pub fn wobbe_mj(&self) -> f64 {
        self.heating_value_mj(GasLaw::Ideal).higher / self.relative_density().sqrt()
    }

    /// Smallest volume share of this gas in air that burns, by Le Chatelier's rule; `None` where not
    /// even the undiluted gas does by that rule.
    ///
    /// An estimate for words and figures, never a measure of safety: limits widen with heat, inert
    /// gas counts here as air, and a pocket of gas can be far richer than the mean.
    #[must_use]
    pub fn lower_flammable_share(&self) -> Option<f64> {
        let burden: f64 = Fuel::ALL
            .iter()
            .map(|&fuel| self.shares[position(fuel)] / fuel.lower_limit())
            .sum();
        (burden >= 1.0).then(|| 1.0 / burden)
    }
}
