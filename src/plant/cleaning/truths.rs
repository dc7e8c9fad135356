//! What surprises about cleaning, with its figures computed.

use serde::Serialize;

use crate::chemistry::{GasLaw, HeatingValue};
use crate::plant::stream::Portion;
use crate::units::{ATM_BAR, R_BAR, kelvin, molar_mass};

use super::material::{BedMaterial, Target, bed_row, lime_water_solubility};
use super::settings::{PA_PER_CM_WATER, Stage};

/// Molar mass of sodium hydroxide, quicklime and ferric oxide \[g/mol\]. Source: IUPAC 2021 abridged atomic weights.
const NAOH: f64 = 39.997;
const CAO: f64 = 56.077;
const FE2O3: f64 = 159.687;
/// Hydrogen sulphide that one ferric oxide takes: Fe2O3 + 3 H2S = Fe2S3 + 3 H2O.
const H2S_PER_FE2O3: f64 = 3.0;
/// Temperature at which the volumes of the sentences are meant \[C\].
const ROOM_C: f64 = 20.0;

/// Moles in a cubic metre at `t_c` \[C\] and one atmosphere, ideal gas.
fn mol_per_m3(t_c: f64) -> f64 {
    1000.0 * ATM_BAR / (R_BAR * kelvin(t_c))
}

/// Slaked lime that the carbon dioxide of `co2_m3` \[m3 at `t_c` C and 1 atm\] takes \[kg\].
#[must_use]
pub fn lime_need_kg(co2_m3: f64, t_c: f64) -> f64 {
    co2_m3 * mol_per_m3(t_c) * molar_mass::CAOH2 / 1000.0
}

/// Quicklime for the same \[kg\].
#[must_use]
pub fn quicklime_need_kg(co2_m3: f64, t_c: f64) -> f64 {
    co2_m3 * mol_per_m3(t_c) * CAO / 1000.0
}

/// Sodium hydroxide for the same, as carbonate: 2 NaOH + CO2 = Na2CO3 + H2O \[kg\].
#[must_use]
pub fn soda_lye_need_kg(co2_m3: f64, t_c: f64) -> f64 {
    co2_m3 * mol_per_m3(t_c) * 2.0 * NAOH / 1000.0
}

/// Clear lime water for the same \[L\], at a solubility of `solubility_g_l` \[g Ca(OH)2/L\].
#[must_use]
pub fn clear_lime_water_l(co2_m3: f64, t_c: f64, solubility_g_l: f64) -> f64 {
    lime_need_kg(co2_m3, t_c) * 1000.0 / solubility_g_l
}

/// Ferric oxide that `h2s_kg` \[kg\] takes in one loading at full use \[kg\].
#[must_use]
pub fn iron_oxide_need_kg(h2s_kg: f64) -> f64 {
    h2s_kg * FE2O3 / (H2S_PER_FE2O3 * molar_mass::H2S)
}

/// A sentence that surprises, and its figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Truth {
    /// Stable name.
    pub name: &'static str,
    /// The figure.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// The sentence.
    pub words: String,
}

/// What is worth telling about these stages and this gas.
#[must_use]
pub fn truths(gas: &Portion, stages: &[Stage]) -> Vec<Truth> {
    let has = |f: &dyn Fn(BedMaterial) -> bool| {
        stages
            .iter()
            .any(|stage| matches!(stage, Stage::Bed(bed) if f(bed.material)))
    };
    let lime = has(&|m| bed_row(m).target == Target::Lime);
    let mut told = Vec::new();
    if lime && gas.co2_nl > 0.0 {
        told.extend(lime_truths(gas));
    }
    if has(&|m| m == BedMaterial::Carbon) {
        let held = bed_row(BedMaterial::Carbon).capacity.clone();
        told.push(Truth {
            name: "carbon-without-oxygen",
            value: held.typical() * 100.0,
            unit: "% by mass",
            words: format!(
                "Without oxygen in the gas, activated carbon holds {:.0} to {:.0} % of its mass in hydrogen sulphide.",
                held.low() * 100.0,
                held.high() * 100.0
            ),
        });
    }
    if has(&|m| matches!(m, BedMaterial::IronOxideGrains | BedMaterial::RustedWool)) {
        let field = &bed_row(BedMaterial::IronOxideGrains).removal_share;
        told.push(Truth {
            name: "iron-in-the-field",
            value: field.low() * 100.0,
            unit: "%",
            words: format!(
                "Iron filters measured in households took {:.0} % of the hydrogen sulphide in the mean, {:.0} % at best: \
                 dry, short or spent beds. Measure behind yours.",
                field.low() * 100.0,
                field.typical() * 100.0
            ),
        });
    }
    if has(&|m| bed_row(m).target == Target::Water) && gas.h2o_nl > 0.0 {
        let per_m3 = gas.water_g() / gas.dry_nl() * 1000.0;
        let held = bed_row(BedMaterial::SilicaGel).capacity.typical();
        told.push(Truth {
            name: "drying-reach",
            value: held * 1000.0 / per_m3,
            unit: "m3 per kg",
            words: format!(
                "This gas carries {per_m3:.1} g of water in a norm cubic metre: a kilogram of silica gel at {:.0} % dries \
                 {:.1} m3 of it. A cool low point before it is free.",
                held * 100.0,
                held * 1000.0 / per_m3
            ),
        });
    }
    let dips: f64 = stages
        .iter()
        .map(|stage| match stage {
            Stage::Bed(bed) => bed.dip_cm,
            Stage::WaterTrap(_) => 0.0,
        })
        .sum();
    if dips > 0.0 {
        told.push(Truth {
            name: "dip-eats-pressure",
            value: dips * PA_PER_CM_WATER,
            unit: "Pa",
            words: format!(
                "The bubblers dip {dips:.1} cm together and cost {:.0} Pa: a bell loaded for {dips:.1} cm of water lets \
                 nothing through.",
                dips * PA_PER_CM_WATER
            ),
        });
    }
    told
}

fn lime_truths(gas: &Portion) -> Vec<Truth> {
    let share = gas.co2_share();
    let per_m3 = lime_need_kg(1.0, ROOM_C);
    let clear = clear_lime_water_l(share, ROOM_C, lime_water_solubility().typical());
    let heat = |portion: Portion| {
        let mixture = portion.mixture();
        mixture.map_or(0.0, |m| {
            let HeatingValue { lower, .. } = m.heating_value_kwh(GasLaw::Ideal);
            lower
        })
    };
    let dry = gas.dry();
    let without = Portion { co2_nl: 0.0, ..dry };
    vec![
        Truth {
            name: "lime-per-co2",
            value: per_m3,
            unit: "kg per m3 CO2",
            words: format!(
                "A cubic metre of carbon dioxide at {ROOM_C:.0} C eats {per_m3:.2} kg of slaked lime, if every grain is \
                 used. A cubic metre of this gas with its {:.0} % needs {:.2} kg.",
                share * 100.0,
                per_m3 * share
            ),
        },
        Truth {
            name: "clear-lime-water",
            value: clear,
            unit: "L per m3 gas",
            words: format!(
                "Clear lime water is nearly nothing: the carbon dioxide of one cubic metre of this gas needs {clear:.0} L \
                 of it. Only solid lime counts."
            ),
        },
        Truth {
            name: "no-energy-added",
            value: heat(dry),
            unit: "kWh per norm m3",
            words: format!(
                "Taking the carbon dioxide adds no energy: the gas goes from {:.1} to {:.1} kWh in a norm cubic metre \
                 because there is less of it. A stove does not need it; an engine may.",
                heat(dry),
                heat(without)
            ),
        },
    ]
}
