//! What a recipe amounts to, before anything is simulated.

use crate::units::{COD_CH4, NORM_M3_PER_KMOL, molar_mass};

use super::composition::{Composition, Range};
use super::mixture::reachable;
use super::pools;
use super::theory::{INERT, POOLS, PROTEIN, acids_cod};

const PERCENT: f64 = 100.0;
const G_PER_KG: f64 = 1000.0;
const LITRES_PER_M3: f64 = 1000.0;
/// Methane of one kilogram of COD \[NL\].
const NL_PER_KG_COD: f64 = NORM_M3_PER_KMOL * LITRES_PER_M3 / COD_CH4;

/// Gas of complete digestion, dry norm litres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasPotential {
    /// Methane \[NL/kg fresh\].
    pub methane_nl_per_kg: f64,
    /// Methane \[NL/kg VS\]; `None` without volatile solids.
    pub methane_nl_per_kg_vs: Option<f64>,
    /// Methane and carbon dioxide, before any of it dissolves \[NL/kg fresh\].
    pub biogas_nl_per_kg: f64,
}

/// Facts of one kilogram of a material or mixture, water included.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// Carbon to nitrogen \[kg/kg\] from the masses of both elements; `None` without nitrogen.
    ///
    /// Ratios of the parts must never be averaged: the poorer part in nitrogen would count too much.
    pub carbon_to_nitrogen: Option<f64>,
    /// Total solids \[% of fresh\].
    pub total_solids_pct: f64,
    /// Volatile solids \[% of fresh\].
    pub volatile_solids_pct: f64,
    /// Shares of the volatile solids, 0..1: fat; `None` without volatile solids.
    pub fat_share: Option<f64>,
    /// Cellulose and hemicellulose.
    pub fibre_share: Option<f64>,
    /// Protein.
    pub protein_share: Option<f64>,
    /// Lignin and what it shields.
    pub inert_share: Option<f64>,
    /// Gas of what a digester can reach of the four pools.
    pub reachable: GasPotential,
    /// Gas of the four pools if all of each were digested.
    pub pools: GasPotential,
    /// Gas of all organic matter, lignin included: what no digester passes.
    pub everything: GasPotential,
    /// Methane of the acids already present \[NL/kg fresh\]; beside the pools.
    pub acids_methane_nl_per_kg: f64,
    /// Measured methane potential \[NL/kg VS\]; `None` where a part has none.
    pub measured_nl_per_kg_vs: Option<Range>,
    /// Measured methane potential \[NL/kg fresh\].
    pub measured_nl_per_kg: Option<Range>,
    /// Raw gas \[NL/kg fresh\]: measured methane over the share of `methane_share`.
    pub measured_biogas_nl_per_kg: Option<Range>,
    /// Methane in the gas of the reachable pools, 0..1, if all carbon dioxide leaves as gas.
    pub methane_share: Option<f64>,
    /// The same if each released ammonia keeps one carbon dioxide in the liquor as bicarbonate; the
    /// liquor's other ions move the true value, which lies about here for nitrogen-rich feeds.
    pub methane_share_held: Option<f64>,
    /// Ammonium nitrogen already present \[g N/kg fresh\].
    pub ammonium_g_per_kg: f64,
    /// Ammonium nitrogen after digestion \[g N/kg fresh, close to g N/L\]: what is present, urea and
    /// uric acid, and what reachable protein releases. Growth of cells keeps a little of it back.
    pub ammonium_potential_g_per_kg: f64,
}

impl Facts {
    /// Facts of a composition.
    #[must_use]
    pub fn of(composition: &Composition) -> Self {
        let volatile = composition.volatile_solids;
        let share = |mass: f64| (volatile > 0.0).then(|| mass / volatile);
        let gas = |masses: [f64; 4], inert: f64| gas_of(masses, inert, volatile);
        let whole = pools::values(&composition.pools);
        let reached = gas(reachable(composition), 0.0);
        let released = composition.labile_n + reachable(composition)[2] * PROTEIN.nitrogen_per_kg();
        let measured = composition.methane_potential;
        let methane_share = gas_share(&reached, 0.0);
        let measured_fresh = measured.map(|range| scaled(range, volatile));
        Self {
            carbon_to_nitrogen: (composition.nitrogen > 0.0)
                .then(|| composition.carbon / composition.nitrogen),
            total_solids_pct: composition.total_solids * PERCENT,
            volatile_solids_pct: volatile * PERCENT,
            fat_share: share(composition.pools.fat),
            fibre_share: share(composition.pools.fibre),
            protein_share: share(composition.pools.protein),
            inert_share: share(composition.inert),
            reachable: reached,
            pools: gas(whole, 0.0),
            everything: gas(whole, composition.inert),
            acids_methane_nl_per_kg: acids_cod(composition) * NL_PER_KG_COD,
            measured_nl_per_kg_vs: measured,
            measured_nl_per_kg: measured_fresh,
            measured_biogas_nl_per_kg: match (measured_fresh, methane_share) {
                (Some(range), Some(methane)) => Some(scaled(range, 1.0 / methane)),
                _ => None,
            },
            methane_share,
            methane_share_held: gas_share(&reached, released),
            ammonium_g_per_kg: composition.ammonia_n * G_PER_KG,
            ammonium_potential_g_per_kg: (composition.ammonia_n + released) * G_PER_KG,
        }
    }
}

/// Share of the reachable methane that hydrolysis has set free after `days` at 35 C, 0..1, with the
/// low, typical and high constants.
///
/// First order in each pool; nothing but hydrolysis limits. An upper bound for a batch.
#[must_use]
pub fn released_share(composition: &Composition, days: f64) -> Range {
    let constants = pools::ranges(&composition.hydrolysis);
    let masses = reachable(composition);
    let share = |constant: fn(&Range) -> f64| {
        let (mut free, mut all) = (0.0, 0.0);
        for (pool, chemistry) in POOLS.iter().enumerate() {
            let cod = masses[pool] * chemistry.cod_per_kg;
            all += cod;
            free += cod * -(-constant(&constants[pool]) * days).exp_m1();
        }
        if all > 0.0 { free / all } else { 0.0 }
    };
    Range {
        low: share(|k| k.low),
        typical: share(|k| k.typical),
        high: share(|k| k.high),
    }
}

fn gas_of(masses: [f64; 4], inert: f64, volatile: f64) -> GasPotential {
    let mut methane = inert * INERT.methane_nl_per_kg();
    let mut biogas = inert * INERT.biogas_nl_per_kg();
    for (mass, chemistry) in masses.into_iter().zip(POOLS) {
        methane += mass * chemistry.methane_nl_per_kg();
        biogas += mass * chemistry.biogas_nl_per_kg();
    }
    GasPotential {
        methane_nl_per_kg: methane,
        methane_nl_per_kg_vs: (volatile > 0.0).then(|| methane / volatile),
        biogas_nl_per_kg: biogas,
    }
}

/// Methane share when `ammonia` \[kg N/kg fresh\] holds its own amount of carbon dioxide.
fn gas_share(gas: &GasPotential, ammonia: f64) -> Option<f64> {
    let held = ammonia / molar_mass::N * NORM_M3_PER_KMOL * LITRES_PER_M3;
    let carbon_dioxide = (gas.biogas_nl_per_kg - gas.methane_nl_per_kg - held).max(0.0);
    let total = gas.methane_nl_per_kg + carbon_dioxide;
    (total > 0.0).then(|| gas.methane_nl_per_kg / total)
}

fn scaled(range: Range, factor: f64) -> Range {
    Range {
        low: range.low * factor,
        typical: range.typical * factor,
        high: range.high * factor,
    }
}
