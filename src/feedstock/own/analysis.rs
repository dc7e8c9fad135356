//! A material by its analysis.

use crate::feedstock::class::MaterialClass;
use crate::feedstock::composition::{Acids, Composition, Living, PoolRates, Pools, Range};
use crate::feedstock::theory::{FAST_CARB, FAT, FIBRE, INERT, PROTEIN, PROTEIN_SULFUR};

use super::check::{self, acid_equivalents, carbonate_room};
use super::problem::OwnProblem;

const PERCENT: f64 = 0.01;
const GRAM: f64 = 0.001;

/// Shares of the volatile solids; they add up to one, give or take 0.02 of rounding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Starch, sugars in cells.
    pub fast_carb: f64,
    /// Cellulose, hemicellulose.
    pub fibre: f64,
    /// Crude protein, 6.25 times organic nitrogen.
    pub protein: f64,
    /// Fat.
    pub fat: f64,
    /// Lignin and what it shields.
    pub inert: f64,
}

impl Shares {
    /// With the names that problems use.
    pub(crate) fn named(&self) -> [(&'static str, f64); 5] {
        [
            ("shares.fast_carb", self.fast_carb),
            ("shares.fibre", self.fibre),
            ("shares.protein", self.protein),
            ("shares.fat", self.fat),
            ("shares.inert", self.inert),
        ]
    }
}

/// Figures of an analysis. What is `None` is filled in from the material class or from the shares.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// Total solids \[% of fresh\], above 0 up to 100.
    pub total_solids_pct: f64,
    /// Volatile solids \[% of total solids\], above 0 up to 100.
    pub volatile_solids_pct_of_solids: f64,
    /// Shares of the volatile solids, each 0..1.
    pub shares: Shares,
    /// Tissue class: sets the degradable shares, and what is left out.
    pub class: MaterialClass,
    /// Total nitrogen \[g/kg fresh\]; `None`: protein, ammonium and labile together.
    pub nitrogen_g_per_kg: Option<f64>,
    /// Ammonium nitrogen \[g N/kg fresh\]; `None`: none.
    pub ammonia_n_g_per_kg: Option<f64>,
    /// Urea and uric acid nitrogen \[g N/kg fresh\]; `None`: none.
    pub labile_n_g_per_kg: Option<f64>,
    /// Total sulphur \[g/kg fresh\]; `None`: that of the protein.
    pub sulfur_g_per_kg: Option<f64>,
    /// Total carbon \[g/kg fresh\]; `None`: that of the pools.
    pub carbon_g_per_kg: Option<f64>,
    /// Acids \[g/kg fresh\]: acetic, propionic, butyric; `None`: none.
    pub acids_g_per_kg: Option<[f64; 3]>,
    /// Strong ions \[eq/kg fresh\]; `None`: typical of the class.
    pub strong_ions_eq_per_kg: Option<f64>,
    /// pH of the fresh material, if it holds carbonate; `None`: that of the class, where
    /// strong ions and ammonium leave room for carbonate beside the acids.
    pub fresh_ph: Option<f64>,
    /// Measured methane potential \[NL CH4/kg VS\].
    pub methane_nl_per_kg_vs: Option<Range>,
    /// Hydrolysis constants at 35 C \[1/d\]; `None`: those of the class.
    pub hydrolysis: Option<PoolRates>,
    /// Living groups \[kg COD/kg fresh\], for example those of a library material; `None`: none.
    pub living: Option<Living>,
}

impl Analysis {
    /// The least an analysis must hold; everything else is left to the class.
    #[must_use]
    pub fn new(
        total_solids_pct: f64,
        volatile_solids_pct_of_solids: f64,
        shares: Shares,
        class: MaterialClass,
    ) -> Self {
        Self {
            total_solids_pct,
            volatile_solids_pct_of_solids,
            shares,
            class,
            nitrogen_g_per_kg: None,
            ammonia_n_g_per_kg: None,
            labile_n_g_per_kg: None,
            sulfur_g_per_kg: None,
            carbon_g_per_kg: None,
            acids_g_per_kg: None,
            strong_ions_eq_per_kg: None,
            fresh_ph: None,
            methane_nl_per_kg_vs: None,
            hydrolysis: None,
            living: None,
        }
    }
}

/// The composition of an analysed material.
///
/// # Errors
/// All figures that cannot be right: first each by itself; if those are sound, then those that
/// contradict one another.
pub fn from_analysis(given: &Analysis) -> Result<Composition, Vec<OwnProblem>> {
    check::each(given)?;
    let composition = build(given);
    check::together(given, &composition)?;
    Ok(composition)
}

fn build(given: &Analysis) -> Composition {
    let total_solids = given.total_solids_pct * PERCENT;
    let volatile_solids = total_solids * given.volatile_solids_pct_of_solids * PERCENT;
    let shares = given.shares.named().map(|(_, share)| share);
    let sum: f64 = shares.iter().sum();
    let [fast_carb, fibre, protein, fat, inert] = shares.map(|share| share / sum * volatile_solids);
    let ammonia_n = given.ammonia_n_g_per_kg.unwrap_or(0.0) * GRAM;
    let labile_n = given.labile_n_g_per_kg.unwrap_or(0.0) * GRAM;
    let protein_n = protein * PROTEIN.nitrogen_per_kg();
    let carbon = fast_carb * FAST_CARB.carbon_per_kg()
        + fibre * FIBRE.carbon_per_kg()
        + protein * PROTEIN.carbon_per_kg()
        + fat * FAT.carbon_per_kg()
        + inert * INERT.carbon_per_kg();
    let [acetic, propionic, butyric] = given.acids_g_per_kg.unwrap_or_default();
    let acids = Acids {
        acetic: acetic * GRAM,
        propionic: propionic * GRAM,
        butyric: butyric * GRAM,
    };
    let class = given.class;
    let strong_ions = given
        .strong_ions_eq_per_kg
        .unwrap_or_else(|| class.own_strong_ions().typical * total_solids);
    let room = carbonate_room(strong_ions, ammonia_n);
    let class_ph = class
        .own_fresh_ph()
        .filter(|_| room > acid_equivalents(&acids));
    Composition {
        total_solids,
        volatile_solids,
        pools: Pools {
            fast_carb,
            fibre,
            protein,
            fat,
        },
        inert,
        degradable: class.degradable(),
        hydrolysis: given.hydrolysis.unwrap_or_else(|| class.own_hydrolysis()),
        carbon: given.carbon_g_per_kg.map_or(carbon, |grams| grams * GRAM),
        nitrogen: given
            .nitrogen_g_per_kg
            .map_or(protein_n + ammonia_n + labile_n, |grams| grams * GRAM),
        ammonia_n,
        labile_n,
        sulfur: given
            .sulfur_g_per_kg
            .map_or(protein * PROTEIN_SULFUR, |grams| grams * GRAM),
        acids,
        strong_ions,
        fresh_ph: given.fresh_ph.or(class_ph),
        living: given.living.unwrap_or_default(),
        methane_potential: given.methane_nl_per_kg_vs,
    }
}
