//! From a material to the components of a network.

use super::network::{AcidKind, AcidTotal, GasKind, Network};
use super::properties::PropertyTable;
use crate::chemistry::{AcidBase, Totals};
use crate::feedstock::Composition;
use crate::feedstock::theory::{AVAILABLE_SULFUR_SHARE, FAST_CARB, FAT, FIBRE, INERT, PROTEIN};
use crate::units::{cod, kelvin, molar_mass};

/// Temperature at which a fresh material's pH is understood \[C\].
const FRESH_PH_C: f64 = 20.0;

/// Density of everything liquid \[kg/m3\]: solids displace about their own mass of water (common practice, no source).
pub const LIQUOR_KG_PER_M3: f64 = 1000.0;

/// Most hydrolysis pools of a network.
pub(super) const MAX_POOLS: usize = 4;

/// Salts that people dose to hold the pH.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Additive {
    /// Sodium bicarbonate, NaHCO3.
    Bicarbonate,
    /// Slaked lime, Ca(OH)2.
    Lime,
}

/// What a dose brings, in the components of a network.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Volume \[m3\].
    pub volume_m3: f64,
    /// Amount of each component \[its unit\].
    pub amount: Vec<f64>,
    /// `sum k * amount` of the hydrolysis pools, in the order of the network's pool coefficients \[kg COD/d\].
    pub pool_speed: [f64; MAX_POOLS],
    /// `amount` of the pools \[kg COD\].
    pub pool_amount: [f64; MAX_POOLS],
    /// Volatile solids \[kg\].
    pub vs_kg: f64,
    /// Fresh material without water \[kg\].
    pub material_kg: f64,
    /// Water \[kg\].
    pub water_kg: f64,
}

impl Load {
    /// Nothing.
    #[must_use]
    pub fn empty(network: &Network) -> Self {
        Self {
            volume_m3: 0.0,
            amount: vec![0.0; network.components.len()],
            pool_speed: [0.0; MAX_POOLS],
            pool_amount: [0.0; MAX_POOLS],
            vs_kg: 0.0,
            material_kg: 0.0,
            water_kg: 0.0,
        }
    }

    /// Adds `factor` times another load.
    pub fn add(&mut self, other: &Self, factor: f64) {
        self.volume_m3 += factor * other.volume_m3;
        self.vs_kg += factor * other.vs_kg;
        self.material_kg += factor * other.material_kg;
        self.water_kg += factor * other.water_kg;
        for (a, b) in self.amount.iter_mut().zip(&other.amount) {
            *a += factor * b;
        }
        for i in 0..MAX_POOLS {
            self.pool_speed[i] += factor * other.pool_speed[i];
            self.pool_amount[i] += factor * other.pool_amount[i];
        }
    }

    /// Adds plain water.
    pub fn add_water(&mut self, kg: f64) {
        self.volume_m3 += kg / LIQUOR_KG_PER_M3;
        self.water_kg += kg;
    }

    /// Total COD \[kg\].
    #[must_use]
    pub fn cod(&self, network: &Network) -> f64 {
        self.amount
            .iter()
            .zip(&network.components)
            .map(|(a, c)| a * c.cod)
            .sum()
    }

    /// COD that digestion can reach \[kg\]: everything but inert matter.
    #[must_use]
    pub fn reachable_cod(&self, network: &Network) -> f64 {
        use super::component::Group;
        let organic = |g: Group| !matches!(g, Group::Inert);
        self.amount
            .iter()
            .zip(&network.components)
            .filter(|(_, c)| organic(c.group))
            .map(|(a, c)| a * c.cod)
            .sum()
    }
}

/// What one kilogram of a material brings.
///
/// The degradable share of each pool goes to that pool; what cannot be reached goes to inert matter by its COD
/// (protein to bound protein, so that nitrogen closes). Nitrogen beyond that of protein is ammonium. Carbonate is
/// what the charge balance asks for at the material's fresh pH. Living groups are part of what an analysis finds as
/// protein and inert matter, and are taken out of both: as much protein as holds their nitrogen, the rest of their COD
/// from inert matter.
#[must_use]
pub fn load_of_material(network: &Network, acid_base: &AcidBase, c: &Composition) -> Load {
    let mut load = Load::empty(network);
    load.volume_m3 = 1.0 / LIQUOR_KG_PER_M3;
    load.vs_kg = c.volatile_solids;
    load.material_kg = 1.0;
    let mut put = |names: &[&str], amount: f64| {
        if let Some(i) = names.iter().find_map(|n| network.index(n)) {
            load.amount[i] += amount;
        }
    };
    let (p, d) = (&c.pools, &c.degradable);
    let cells = Cells::of(network, c);
    let protein = p.protein * PROTEIN.cod_per_kg - cells.from_protein;
    let pools = [
        (
            &["X_cf", "X_ch"],
            p.fast_carb * FAST_CARB.cod_per_kg,
            d.fast_carb,
            c.hydrolysis.fast_carb.typical,
        ),
        (
            &["X_cs", "X_ch"],
            p.fibre * FIBRE.cod_per_kg,
            d.fibre,
            c.hydrolysis.fibre.typical,
        ),
        (
            &["X_pr", "X_pr"],
            protein,
            d.protein,
            c.hydrolysis.protein.typical,
        ),
        (
            &["X_li", "X_li"],
            p.fat * FAT.cod_per_kg,
            d.fat,
            c.hydrolysis.fat.typical,
        ),
    ];
    for (i, (names, cod, share, k)) in pools.into_iter().enumerate() {
        put(names, cod * share);
        put(
            if i == 2 { &["X_Ip", "X_I"] } else { &["X_I"] },
            cod * (1.0 - share),
        );
        load.pool_amount[i] = cod * share;
        load.pool_speed[i] = cod * share * k;
    }
    let mut put = |names: &[&str], amount: f64| {
        if let Some(i) = names.iter().find_map(|n| network.index(n)) {
            load.amount[i] += amount;
        }
    };
    put(&["X_I"], c.inert * INERT.cod_per_kg - cells.from_inert);
    put(&["S_ac"], c.acids.acetic * cod::ACETIC / molar_mass::ACETIC);
    put(
        &["S_pro"],
        c.acids.propionic * cod::PROPIONIC / molar_mass::PROPIONIC,
    );
    put(
        &["S_bu"],
        c.acids.butyric * cod::BUTYRIC / molar_mass::BUTYRIC,
    );
    let organic_n = protein * PROTEIN.nitrogen_kmol_per_kg_cod + cells.nitrogen;
    put(&["S_IN"], (c.nitrogen / molar_mass::N - organic_n).max(0.0));
    let organic_s = protein * PROTEIN.sulfur_kmol_per_kg_cod + cells.sulfur;
    put(
        &["S_IS"],
        AVAILABLE_SULFUR_SHARE.typical * (c.sulfur / molar_mass::S - organic_s).max(0.0),
    );
    // Equivalents per kg are kmol per kg after division by 1000.
    let charge = c.strong_ions / 1000.0;
    if network.index("S_ion").is_some() {
        put(&["S_ion"], charge);
    } else {
        put(&["S_cat"], charge.max(0.0));
        put(&["S_an"], (-charge).max(0.0));
    }
    for (name, amount) in living(c) {
        put(&[name], amount);
    }
    if let (Some(ph), Some(ic)) = (c.fresh_ph, network.index("S_IC")) {
        load.amount[ic] += carbonate_at(network, acid_base, &load, ph);
    }
    load
}

/// Living groups by component \[kg COD/kg\].
fn living(c: &Composition) -> [(&'static str, f64); 7] {
    let l = &c.living;
    [
        ("X_su", l.su),
        ("X_aa", l.aa),
        ("X_fa", l.fa),
        ("X_c4", l.c4),
        ("X_pro", l.pro),
        ("X_ac", l.ac),
        ("X_h2", l.h2),
    ]
}

/// What the living groups of a kilogram hold, and what they are taken out of.
struct Cells {
    /// \[kmol/kg\]
    nitrogen: f64,
    /// \[kmol/kg\]
    sulfur: f64,
    /// \[kg COD/kg\]
    from_protein: f64,
    /// \[kg COD/kg\]
    from_inert: f64,
}

impl Cells {
    fn of(network: &Network, c: &Composition) -> Self {
        let (mut cod, mut nitrogen, mut sulfur) = (0.0, 0.0, 0.0);
        for (name, amount) in living(c) {
            if let Some(i) = network.index(name) {
                let kind = &network.components[i];
                cod += amount;
                nitrogen += amount * kind.nitrogen;
                sulfur += amount * kind.sulfur;
            }
        }
        // A material that is said to hold more life than protein keeps the rest on top.
        let protein = c.pools.protein * PROTEIN.cod_per_kg;
        let from_protein = (nitrogen / PROTEIN.nitrogen_kmol_per_kg_cod).min(protein);
        let from_inert = (cod - from_protein)
            .min(c.inert * INERT.cod_per_kg)
            .max(0.0);
        Self {
            nitrogen,
            sulfur,
            from_protein,
            from_inert,
        }
    }
}

/// The carbonate that a material's fresh pH implies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreshCarbonate {
    /// Inorganic carbon \[kmol/kg\].
    pub kmol_per_kg: f64,
    /// Pressure of carbon dioxide over it at the temperature at which the pH is understood \[bar\].
    pub co2_bar: f64,
}

/// The carbonate that a material's fresh pH implies; `None` without a fresh pH.
///
/// A pH well below that of bicarbonate asks for the more carbonate the lower it is, up to amounts that no vessel holds:
/// the pressure tells.
#[must_use]
pub fn fresh_carbonate(
    network: &Network,
    acid_base: &AcidBase,
    c: &Composition,
) -> Option<FreshCarbonate> {
    c.fresh_ph?;
    let carbonic = |a: &AcidTotal| a.constants == AcidKind::Carbonic;
    let place = network.acids.iter().position(carbonic)?;
    let gas = network.gases.iter().position(|g| g.kind == GasKind::CO2)?;
    // Urea and uric acid are not yet ammonium in the fresh material; when they are, they bring their own carbonate.
    let fresh = Composition {
        nitrogen: c.nitrogen - c.labile_n,
        labile_n: 0.0,
        ..c.clone()
    };
    let load = load_of_material(network, acid_base, &fresh);
    let per_m3 = |amount: f64| amount / load.volume_m3;
    let acids: Vec<f64> = network
        .acids
        .iter()
        .map(|a| per_m3(load.amount[a.component] * a.kmol_per_unit))
        .collect();
    let charges = load.amount.iter().zip(&network.components);
    let strong = per_m3(charges.map(|(a, c)| a * c.charge).sum::<f64>());
    let totals = Totals {
        acids: &acids,
        strong,
        spectators: strong.abs(),
    };
    let properties = PropertyTable::exact(network, acid_base.is_davies(), kelvin(FRESH_PH_C));
    let co2_bar = acid_base
        .solve(&properties.equilibria, &totals, None)
        .map_or(f64::INFINITY, |s| {
            acids[place] * s.share[place][0] * s.gamma0 / properties.henry[gas]
        });
    Some(FreshCarbonate {
        kmol_per_kg: load.amount[network.acids[place].component],
        co2_bar,
    })
}

/// Inorganic carbon \[kmol\] that brings a load to a pH; zero where the acids already push it lower.
fn carbonate_at(network: &Network, acid_base: &AcidBase, load: &Load, ph: f64) -> f64 {
    let equilibria =
        PropertyTable::exact(network, acid_base.is_davies(), kelvin(FRESH_PH_C)).equilibria;
    let mut totals: Vec<f64> = network
        .acids
        .iter()
        .map(|a| load.amount[a.component] * a.kmol_per_unit / load.volume_m3)
        .collect();
    let strong: f64 = load
        .amount
        .iter()
        .zip(&network.components)
        .map(|(a, c)| a * c.charge)
        .sum::<f64>()
        / load.volume_m3;
    let x = -ph * std::f64::consts::LN_10;
    let mut ionic = 0.1;
    // The ionic strength moves the answer little: a few substitutions settle it.
    for _ in 0..20 {
        totals[0] = 0.0;
        let others = acid_base.residual_at(
            &equilibria,
            &Totals {
                acids: &totals,
                strong,
                spectators: strong.abs(),
            },
            x,
            ionic,
        );
        totals[0] = 1.0;
        let with_one = acid_base.residual_at(
            &equilibria,
            &Totals {
                acids: &totals,
                strong,
                spectators: strong.abs(),
            },
            x,
            ionic,
        );
        totals[0] = (others.0 / (others.0 - with_one.0)).max(0.0);
        let all = acid_base.residual_at(
            &equilibria,
            &Totals {
                acids: &totals,
                strong,
                spectators: strong.abs(),
            },
            x,
            ionic,
        );
        ionic += all.1;
    }
    totals[0] * load.volume_m3
}

/// What one kilogram of an additive brings.
#[must_use]
pub fn additive_load(network: &Network, additive: Additive) -> Load {
    let mut load = Load::empty(network);
    // (charge, carbon) in kmol per kg.
    let (charge, carbon) = match additive {
        Additive::Bicarbonate => (1.0 / molar_mass::NAHCO3, 1.0 / molar_mass::NAHCO3),
        Additive::Lime => (2.0 / molar_mass::CAOH2, 0.0),
    };
    if let Some(i) = network.index("S_ion").or_else(|| network.index("S_cat")) {
        load.amount[i] = charge;
    }
    if let Some(i) = network.index("S_IC") {
        load.amount[i] = carbon;
    }
    load
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::feedstock::library;
    use crate::kinetics::{Parameters, four_stage};

    #[test]
    fn life_adds_nothing_to_what_the_analysis_found() {
        let network = four_stage(&Parameters::four_stage()).unwrap();
        let acids = network.acids.iter().map(|a| a.acid).collect();
        let acid_base = AcidBase::new(acids, true);
        let mut lively = 0;
        for entry in library().iter() {
            let c = entry.composition();
            let load = load_of_material(&network, &acid_base, c);
            let (p, a) = (&c.pools, &c.acids);
            let cod = p.fast_carb * FAST_CARB.cod_per_kg
                + p.fibre * FIBRE.cod_per_kg
                + p.protein * PROTEIN.cod_per_kg
                + p.fat * FAT.cod_per_kg
                + c.inert * INERT.cod_per_kg
                + a.acetic / molar_mass::ACETIC * cod::ACETIC
                + a.propionic / molar_mass::PROPIONIC * cod::PROPIONIC
                + a.butyric / molar_mass::BUTYRIC * cod::BUTYRIC;
            let gap = (load.cod(&network) - cod).abs();
            assert!(gap <= 1e-12 * (1.0 + cod), "{}: COD off by {gap}", entry.id);
            let nitrogen: f64 = load
                .amount
                .iter()
                .zip(&network.components)
                .map(|(amount, kind)| amount * kind.nitrogen)
                .sum();
            // Protein by its share may hold a little more nitrogen than the analysis says.
            let protein_n = p.protein * PROTEIN.cod_per_kg * PROTEIN.nitrogen_kmol_per_kg_cod;
            let told = (c.nitrogen / molar_mass::N).max(protein_n);
            assert!(
                (nitrogen - told).abs() <= 1e-12,
                "{}: nitrogen {nitrogen}, told {told}",
                entry.id
            );
            lively += usize::from(c.living.ac > 0.0);
        }
        assert!(lively >= 10);
    }
}
