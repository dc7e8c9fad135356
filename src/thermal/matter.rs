//! Heat that matter holds, takes and gives: liquor, vapour, methane, components of a network.

use std::sync::LazyLock;

use crate::chemistry::{METHANE_LOWER_MJ_PER_KMOL, MJ_PER_KWH};
use crate::embedded;
use crate::units::{NORM_M3_PER_KMOL, WATER_J_PER_KG_K};

/// Joules of a kilowatt-hour.
const J_PER_KWH: f64 = 3.6e6;
/// Heat capacity of the liquor \[kWh/m3/K\]: that of water, and 1000 kg/m3. Solids of a few per cent change it by less
/// than that.
pub const CAPACITY_KWH_PER_M3_K: f64 = WATER_J_PER_KG_K * 1000.0 / J_PER_KWH;
/// Heat that water takes to evaporate \[kWh/kg\]: 2.4 MJ/kg near 35 C. Steam tables, from memory.
pub const EVAPORATION_KWH_PER_KG: f64 = 2.4e6 / J_PER_KWH;
/// Heat of methane as a burner counts it, lower heating value \[kWh/kmol\].
pub const METHANE_KWH_PER_KMOL: f64 = METHANE_LOWER_MJ_PER_KMOL / MJ_PER_KWH;
/// The same by the norm litre \[kWh/norm L\].
pub const METHANE_KWH_PER_NORM_L: f64 = METHANE_KWH_PER_KMOL / NORM_M3_PER_KMOL / 1000.0;

#[derive(serde::Deserialize)]
struct File {
    default: Row,
    components: Vec<Row>,
}

#[derive(serde::Deserialize)]
struct Row {
    #[serde(default)]
    names: Vec<String>,
    mj_per_kg_cod: f64,
}

static TABLE: LazyLock<File> =
    LazyLock::new(|| embedded::read("combustion.json", include_str!("data/combustion.json")));

/// Heat of combustion of a component \[kWh/kg COD\]; what is not listed follows the oxycaloric rule.
///
/// The heat of a process is the sum of this over its row, taken away: that of what it uses less that of what it makes.
#[must_use]
pub fn combustion_kwh_per_kg_cod(component: &str) -> f64 {
    let row = TABLE
        .components
        .iter()
        .find(|row| row.names.iter().any(|name| name == component))
        .unwrap_or(&TABLE.default);
    row.mj_per_kg_cod * 1e6 / J_PER_KWH
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn glucose_to_methane_gives_131_kj_a_mol() {
        // C6H12O6 -> 3 CH4 + 3 CO2: 2803 - 3 x 890.6 = 131 kJ/mol glucose, 44 kJ/mol methane, from combustion heats.
        let kwh = combustion_kwh_per_kg_cod("S_su") - combustion_kwh_per_kg_cod("S_ch4");
        let kj_per_mol = kwh * J_PER_KWH / 1000.0 * 0.192;
        assert!((kj_per_mol - 131.2).abs() < 0.3, "{kj_per_mol}");
    }

    #[test]
    fn a_litre_takes_1_163_watt_hours_a_kelvin() {
        assert!((CAPACITY_KWH_PER_M3_K - 1.163).abs() < 5e-4);
    }
}
