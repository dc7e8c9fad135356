//! A gas on its way through the plant: amounts, temperature, pressure.

use serde::{Deserialize, Serialize};

use crate::chemistry::{
    ConstantSet, GasAmounts, GasLaw, GasMixture, norm_dry_from_wet, norm_wet_from_wet,
    saturation_pressure,
};
use crate::units::{NORM_M3_PER_KMOL, kelvin, molar_mass};

use super::fault::{PlantFault, check_gauge, within};

/// Pascals in a bar.
const PA_PER_BAR: f64 = 1e5;
/// Litres in a cubic metre.
const L_PER_M3: f64 = 1000.0;

/// An amount of gas by species \[norm litres, 0 C and 101.325 kPa; 22.414 of them are a mole\].
///
/// Arithmetic is by species. Where it stands for a flow, the time it is for is told beside it.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Portion {
    /// Methane.
    pub ch4_nl: f64,
    /// Carbon dioxide.
    pub co2_nl: f64,
    /// Hydrogen sulphide.
    pub h2s_nl: f64,
    /// Hydrogen.
    pub h2_nl: f64,
    /// Nitrogen.
    pub n2_nl: f64,
    /// Oxygen.
    pub o2_nl: f64,
    /// Water vapour.
    pub h2o_nl: f64,
}

impl Portion {
    /// Number of species.
    pub(crate) const COUNT: usize = 7;
    /// Molar masses in the order of [`Self::in_order`] \[g/mol\].
    const MASS: [f64; Self::COUNT] = [
        molar_mass::CH4,
        molar_mass::CO2,
        molar_mass::H2S,
        molar_mass::H2,
        2.0 * molar_mass::N,
        2.0 * molar_mass::O,
        molar_mass::H2O,
    ];

    pub(crate) const fn in_order(&self) -> [f64; Self::COUNT] {
        [
            self.ch4_nl,
            self.co2_nl,
            self.h2s_nl,
            self.h2_nl,
            self.n2_nl,
            self.o2_nl,
            self.h2o_nl,
        ]
    }

    pub(crate) const fn from_order(amounts: [f64; Self::COUNT]) -> Self {
        let [ch4_nl, co2_nl, h2s_nl, h2_nl, n2_nl, o2_nl, h2o_nl] = amounts;
        Self {
            ch4_nl,
            co2_nl,
            h2s_nl,
            h2_nl,
            n2_nl,
            o2_nl,
            h2o_nl,
        }
    }

    fn combined(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let (a, b) = (self.in_order(), other.in_order());
        Self::from_order(std::array::from_fn(|i| f(a[i], b[i])))
    }

    /// Species by species.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        self.combined(other, |a, b| a + b)
    }

    /// Species by species.
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        self.combined(other, |a, b| a - b)
    }

    /// Each species times `factor`.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self::from_order(self.in_order().map(|a| a * factor))
    }

    /// Without its vapour.
    #[must_use]
    pub fn dry(self) -> Self {
        Self {
            h2o_nl: 0.0,
            ..self
        }
    }

    /// Without vapour \[norm litres\].
    #[must_use]
    pub fn dry_nl(&self) -> f64 {
        self.in_order()[..Self::COUNT - 1].iter().sum()
    }

    /// With vapour \[norm litres\].
    #[must_use]
    pub fn total_nl(&self) -> f64 {
        self.in_order().iter().sum()
    }

    /// Share of methane in the dry gas, 0..1; 0 for no gas.
    #[must_use]
    pub fn ch4_share(&self) -> f64 {
        self.share(self.ch4_nl)
    }

    /// Share of carbon dioxide in the dry gas, 0..1; 0 for no gas.
    #[must_use]
    pub fn co2_share(&self) -> f64 {
        self.share(self.co2_nl)
    }

    /// Hydrogen sulphide of the dry gas \[ppm by volume\]; 0 for no gas.
    #[must_use]
    pub fn h2s_ppm(&self) -> f64 {
        self.share(self.h2s_nl) * 1e6
    }

    /// Share of air in the dry gas by its oxygen (20.95 % of air), 0..1.
    #[must_use]
    pub fn air_share(&self) -> f64 {
        (self.share(self.o2_nl) / OXYGEN_OF_AIR).min(1.0)
    }

    fn share(&self, of: f64) -> f64 {
        let dry = self.dry_nl();
        if dry > 0.0 { of / dry } else { 0.0 }
    }

    /// Mass \[g\].
    #[must_use]
    pub fn mass_g(&self) -> f64 {
        let amounts = self.in_order();
        let sum: f64 = amounts.iter().zip(Self::MASS).map(|(a, m)| a * m).sum();
        mol(sum)
    }

    /// Carbon \[g\].
    #[must_use]
    pub fn carbon_g(&self) -> f64 {
        mol(self.ch4_nl + self.co2_nl) * molar_mass::C
    }

    /// Sulphur \[g\].
    #[must_use]
    pub fn sulphur_g(&self) -> f64 {
        mol(self.h2s_nl) * molar_mass::S
    }

    /// Water vapour \[g\].
    #[must_use]
    pub fn water_g(&self) -> f64 {
        mol(self.h2o_nl) * molar_mass::H2O
    }

    /// As the mixture that density and heating value are computed of; `None` for no gas or a negative amount.
    #[must_use]
    pub fn mixture(&self) -> Option<GasMixture> {
        GasMixture::new(&GasAmounts {
            methane: self.ch4_nl,
            carbon_dioxide: self.co2_nl,
            hydrogen: self.h2_nl,
            hydrogen_sulphide: self.h2s_nl,
            air: 0.0,
            nitrogen: self.n2_nl,
            oxygen: self.o2_nl,
            water: self.h2o_nl,
        })
    }

    /// Heat when burnt, water leaving as vapour \[kWh\]; 0 for no gas.
    #[must_use]
    pub fn energy_kwh(&self) -> f64 {
        self.mixture().map_or(0.0, |mixture| {
            mixture.heating_value_kwh(GasLaw::Ideal).lower * self.total_nl() / L_PER_M3
        })
    }

    /// Refuses an amount that is negative or not finite.
    ///
    /// # Errors
    /// [`PlantFault::OutOfRange`] with the name of the species.
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        const NAMES: [&str; Portion::COUNT] = [
            "ch4_nl", "co2_nl", "h2s_nl", "h2_nl", "n2_nl", "o2_nl", "h2o_nl",
        ];
        self.in_order()
            .iter()
            .zip(NAMES)
            .try_for_each(|(&amount, name)| {
                within(
                    &format!("{field}.{name}"),
                    amount,
                    (0.0, 1e12),
                    "norm litres",
                    "An amount of gas is never negative.",
                )
            })
    }
}

/// Share of oxygen in dry air by volume. Source: US Standard Atmosphere 1976 (from memory).
pub(crate) const OXYGEN_OF_AIR: f64 = 0.2095;

/// Moles in `nl` norm litres.
pub(crate) fn mol(nl: f64) -> f64 {
    nl / NORM_M3_PER_KMOL
}

/// Norm litres of `mol` moles.
pub(crate) fn norm_litres(mol: f64) -> f64 {
    mol * NORM_M3_PER_KMOL
}

/// Temperature and pressure of a gas.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GasState {
    /// Temperature \[C\], -40 to 80.
    pub temperature_c: f64,
    /// Pressure above ambient \[Pa\], -5000 to 5000.
    pub gauge_pa: f64,
    /// Air pressure at the place \[kPa\], 50 to 110.
    pub barometer_kpa: f64,
}

impl GasState {
    /// Temperature \[K\].
    #[must_use]
    pub fn kelvin(&self) -> f64 {
        kelvin(self.temperature_c)
    }

    /// Absolute pressure \[bar\].
    #[must_use]
    pub fn bar(&self) -> f64 {
        self.barometer_kpa / 100.0 + self.gauge_pa / PA_PER_BAR
    }

    /// Saturation pressure of water \[bar\].
    #[must_use]
    pub fn vapour_bar(&self) -> f64 {
        saturation_pressure(ConstantSet::Recommended, self.kelvin()).0
    }

    /// Vapour that `dry_nl` of dry gas carries when saturated \[norm litres\]. Without bound where water boils.
    #[must_use]
    pub fn saturated_vapour_nl(&self, dry_nl: f64) -> f64 {
        let (p, p_w) = (self.bar(), self.vapour_bar());
        if p > p_w {
            dry_nl * p_w / (p - p_w)
        } else {
            f64::INFINITY
        }
    }

    /// Refuses what lies outside the ranges of the fields.
    ///
    /// # Errors
    /// [`PlantFault::OutOfRange`], or [`PlantFault::TooMuchPressure`] above 5 kPa.
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        within(
            &format!("{field}.temperature_c"),
            self.temperature_c,
            (-40.0, 80.0),
            "C",
            "Give the temperature of the gas in degrees Celsius.",
        )?;
        within(
            &format!("{field}.barometer_kpa"),
            self.barometer_kpa,
            (50.0, 110.0),
            "kPa",
            "Give the air pressure at your height, not the one reduced to sea level.",
        )?;
        check_gauge(&format!("{field}.gauge_pa"), self.gauge_pa)?;
        within(
            &format!("{field}.gauge_pa"),
            self.gauge_pa,
            (-HIGHEST_SUCTION_PA, f64::MAX),
            "Pa",
            "Give the pressure above the surrounding air.",
        )
    }
}

/// Strongest suction that is computed \[Pa\]. Assumed: the mirror of the highest pressure.
const HIGHEST_SUCTION_PA: f64 = 5000.0;

/// What an owner reads of a gas: its volume as it is, its shares by a meter that dries it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Volume as it is \[L\].
    pub volume_l: f64,
    /// Methane in the dry gas, 0..1.
    pub ch4_share: f64,
    /// Hydrogen sulphide in the dry gas \[ppm\].
    pub h2s_ppm: f64,
    /// Relative humidity, 0..1.
    pub humidity: f64,
}

/// A gas with its state.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GasStream {
    /// How much of what.
    pub portion: Portion,
    /// How warm, at what pressure.
    pub state: GasState,
}

impl GasStream {
    /// The gas behind a reading; what is neither methane nor hydrogen sulphide is carbon dioxide.
    ///
    /// # Errors
    /// [`PlantFault::OutOfRange`] for a share outside 0..1, a negative volume, a state out of range.
    pub fn from_reading(reading: Reading, state: GasState) -> Result<Self, PlantFault> {
        state.check("state")?;
        within(
            "volume_l",
            reading.volume_l,
            (0.0, 1e9),
            "L",
            "Give the volume as you read it.",
        )?;
        within(
            "ch4_share",
            reading.ch4_share,
            (0.0, 1.0),
            "",
            "60 % is 0.6.",
        )?;
        let rest_ppm = (1.0 - reading.ch4_share) * 1e6;
        within(
            "h2s_ppm",
            reading.h2s_ppm,
            (0.0, rest_ppm),
            "ppm",
            "Methane and hydrogen sulphide together are at most the whole gas.",
        )?;
        within(
            "humidity",
            reading.humidity,
            (0.0, 1.0),
            "",
            "Saturated gas is 1.",
        )?;
        let (t, p) = (state.kelvin(), state.bar());
        let dry = norm_dry_from_wet(reading.volume_l, t, p, reading.humidity);
        let h2s = reading.h2s_ppm * 1e-6;
        Ok(Self {
            portion: Portion {
                ch4_nl: dry * reading.ch4_share,
                co2_nl: dry * (1.0 - reading.ch4_share - h2s).max(0.0),
                h2s_nl: dry * h2s,
                h2o_nl: norm_wet_from_wet(reading.volume_l, t, p) - dry,
                ..Portion::default()
            },
            state,
        })
    }

    /// Volume as it is, vapour counted \[L\].
    #[must_use]
    pub fn volume_l(&self) -> f64 {
        self.portion.total_nl() / norm_wet_from_wet(1.0, self.state.kelvin(), self.state.bar())
    }

    /// The same dry gas with vapour to saturation.
    #[must_use]
    pub fn saturated(self) -> Self {
        let dry = self.portion.dry_nl();
        let portion = Portion {
            h2o_nl: self.state.saturated_vapour_nl(dry),
            ..self.portion
        };
        Self { portion, ..self }
    }

    /// Density \[kg/m3\], ideal gas; `None` for no gas.
    #[must_use]
    pub fn density_kg_m3(&self) -> Option<f64> {
        let mixture = self.portion.mixture()?;
        Some(mixture.density(GasLaw::Ideal, self.state.kelvin(), self.state.bar()))
    }
}
