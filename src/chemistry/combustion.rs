//! Heat of combustion and limits of flammability of the gases that burn.

use crate::chemistry::constants::T_25;

/// Megajoules in a kilowatt hour.
pub const MJ_PER_KWH: f64 = 3.6;

/// A gas that burns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fuel {
    /// CH4 + 2 O2 = CO2 + 2 H2O
    Methane,
    /// H2 + 1/2 O2 = H2O
    Hydrogen,
    /// H2S + 3/2 O2 = SO2 + H2O
    HydrogenSulphide,
}

impl Fuel {
    /// All fuels.
    pub const ALL: [Self; 3] = [Self::Methane, Self::Hydrogen, Self::HydrogenSulphide];

    /// Lower limit of flammability in air \[volume share\]. Source: common handbook values, from memory.
    pub(crate) const fn lower_limit(self) -> f64 {
        match self {
            Self::Methane => 0.05,
            Self::Hydrogen | Self::HydrogenSulphide => 0.04,
        }
    }
}

/// Heat of combustion; the unit is that of the function that gives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatingValue {
    /// Water leaves as vapour.
    pub lower: f64,
    /// Water leaves as liquid.
    pub higher: f64,
}

impl HeatingValue {
    pub(crate) fn scaled(self, factor: f64) -> Self {
        Self {
            lower: self.lower * factor,
            higher: self.higher * factor,
        }
    }
}

/// Formation enthalpy of an ideal gas at 25 C \[MJ/kmol\] and heat capacity \[MJ/kmol/K\].
type Thermal = (f64, f64);
// Formation enthalpies: CODATA 1989; methane: usual handbook value; heat capacities at 25 C: usual
// handbook values. All from memory.
const METHANE: Thermal = (-74.6, 0.0357);
const HYDROGEN: Thermal = (0.0, 0.0288);
const HYDROGEN_SULPHIDE: Thermal = (-20.6, 0.0342);
const OXYGEN: Thermal = (0.0, 0.0294);
const CARBON_DIOXIDE: Thermal = (-393.51, 0.0371);
const SULPHUR_DIOXIDE: Thermal = (-296.81, 0.0399);
const VAPOUR: Thermal = (-241.826, 0.0336);
const LIQUID: Thermal = (-285.83, 0.0753);

/// Heat of methane that leaves its water as vapour, 25 C \[MJ/kmol = kJ/mol\]: 802.56, from the formation enthalpies above.
pub const METHANE_LOWER_MJ_PER_KMOL: f64 =
    METHANE.0 + 2.0 * OXYGEN.0 - CARBON_DIOXIDE.0 - 2.0 * VAPOUR.0;

/// Molar heat of combustion \[MJ/kmol = kJ/mol\] of an ideal gas burnt at `t_k` \[K\], 0..60 C.
///
/// From formation enthalpies at 25 C, carried to `t_k` with constant heat capacities.
#[must_use]
pub fn molar_heating_value(fuel: Fuel, t_k: f64) -> HeatingValue {
    /// Fuel, oxygen per fuel, product of its carbon or sulphur if any, water per fuel.
    const fn reaction(fuel: Fuel) -> (Thermal, f64, Thermal, f64) {
        match fuel {
            Fuel::Methane => (METHANE, 2.0, CARBON_DIOXIDE, 2.0),
            Fuel::Hydrogen => (HYDROGEN, 0.5, (0.0, 0.0), 1.0),
            Fuel::HydrogenSulphide => (HYDROGEN_SULPHIDE, 1.5, SULPHUR_DIOXIDE, 1.0),
        }
    }
    let at = |(formation, capacity): Thermal| formation + capacity * (t_k - T_25);
    let (burnt, oxygen, product, water) = reaction(fuel);
    let without_water = at(burnt) + oxygen * at(OXYGEN) - at(product);
    HeatingValue {
        lower: without_water - water * at(VAPOUR),
        higher: without_water - water * at(LIQUID),
    }
}
