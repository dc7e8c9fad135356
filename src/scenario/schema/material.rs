//! Parts of recipes, and materials of the user's own.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::scenario::limits::{
    DEGRADABLE_FACTOR, HYDROLYSIS_FACTOR, KG, LIVING_FACTOR, TOTAL_SOLIDS_PCT,
};

/// One material and its weight.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Part")]
pub(crate) struct RawPart {
    /// Name in the library, or under "materials" of this scenario.
    #[schemars(required)]
    pub(crate) material: Option<String>,
    /// Weight as it is, wet, in kilograms.
    #[schemars(required, range(min = KG.low, max = KG.high))]
    pub(crate) kg: Option<f64>,
    /// Size of the pieces (default "chopped").
    pub(crate) pieces: Option<RawPieces>,
}

/// Size of the pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Pieces")]
pub(crate) enum RawPieces {
    /// Blended or grated, below 2 mm.
    Pulp,
    /// Cut below 20 mm; manures count as this.
    Chopped,
    /// Cut to 20 to 60 mm.
    Coarse,
    /// As thrown away, above 60 mm.
    Whole,
}

/// A material of your own: exactly one of the three.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schemars(rename = "Material")]
pub(crate) enum RawMaterial {
    /// A food by the label of its packet, in grams per 100 g.
    #[serde(rename = "label_per_100_g")]
    Label(RawLabel),
    /// A material by its analysis.
    Analysis(Box<RawAnalysis>),
    /// A material of the library with a difference.
    Like(RawLike),
}

/// A food label; all figures in grams per 100 g as sold.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Label")]
pub(crate) struct RawLabel {
    /// Name for people (default: its key).
    pub(crate) name: Option<String>,
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Water (default: what carbohydrate, protein, fat and salt leave to 100 g).
    pub(crate) water_g: Option<f64>,
    /// Carbohydrate, fibre included. Labels in Europe print it without: add the fibre.
    #[schemars(required)]
    pub(crate) carbohydrate_g: Option<f64>,
    /// Fibre among the carbohydrate.
    #[schemars(required)]
    pub(crate) fibre_g: Option<f64>,
    /// Protein.
    #[schemars(required)]
    pub(crate) protein_g: Option<f64>,
    /// Fat.
    #[schemars(required)]
    pub(crate) fat_g: Option<f64>,
    /// Salt (default: unknown).
    pub(crate) salt_g: Option<f64>,
    /// Energy in kilocalories; not used.
    pub(crate) energy_kcal: Option<f64>,
    /// Energy in kilojoules; not used.
    pub(crate) energy_kj: Option<f64>,
    /// Factor from nitrogen to the protein of the label (default 6.25).
    pub(crate) nitrogen_factor: Option<f64>,
    /// Strong cations minus strong anions in eq/kg (default 0).
    pub(crate) strong_ions_eq_per_kg: Option<f64>,
}

/// Figures of an analysis. What is left out is filled in from the class.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Analysis")]
pub(crate) struct RawAnalysis {
    /// Name for people (default: its key).
    pub(crate) name: Option<String>,
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Total solids in per cent of the fresh weight.
    #[schemars(required, range(min = TOTAL_SOLIDS_PCT.low, max = TOTAL_SOLIDS_PCT.high))]
    pub(crate) total_solids_pct: Option<f64>,
    /// Volatile solids in per cent of the total solids.
    #[schemars(required)]
    pub(crate) volatile_solids_pct_of_solids: Option<f64>,
    /// What the volatile solids are made of; the five shares add up to 1.
    #[schemars(required)]
    pub(crate) shares_of_volatile: Option<RawShares>,
    /// What kind of tissue it is: sets how much and how fast a digester can reach it.
    #[schemars(required)]
    pub(crate) class: Option<RawClass>,
    /// Total nitrogen in g/kg fresh.
    pub(crate) nitrogen_g_per_kg: Option<f64>,
    /// Ammonium nitrogen in g N/kg fresh.
    pub(crate) ammonia_n_g_per_kg: Option<f64>,
    /// Nitrogen of urea and uric acid in g N/kg fresh.
    pub(crate) labile_n_g_per_kg: Option<f64>,
    /// Total sulphur in g/kg fresh.
    pub(crate) sulfur_g_per_kg: Option<f64>,
    /// Total carbon in g/kg fresh.
    pub(crate) carbon_g_per_kg: Option<f64>,
    /// Volatile acids already present, in g/kg fresh.
    pub(crate) acids_g_per_kg: Option<RawAcids>,
    /// Strong cations minus strong anions in eq/kg fresh.
    pub(crate) strong_ions_eq_per_kg: Option<f64>,
    /// pH of the fresh material, if it holds carbonate (manures, digestate).
    pub(crate) fresh_ph: Option<f64>,
    /// Measured methane potential in norm litres per kg of volatile solids.
    pub(crate) methane_nl_per_kg_vs: Option<f64>,
    /// Hydrolysis constants at 35 C, per day.
    pub(crate) hydrolysis_per_d: Option<RawHydrolysis>,
    /// Library material whose living groups it carries, such as "cattle-slurry" (default: none).
    pub(crate) living_like: Option<String>,
}

/// What the volatile solids are made of, 0 to 1 each.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Shares")]
pub(crate) struct RawShares {
    /// Starch, sugars in cells.
    #[schemars(required)]
    pub(crate) fast_carb: Option<f64>,
    /// Cellulose, hemicellulose.
    #[schemars(required)]
    pub(crate) fibre: Option<f64>,
    /// Crude protein, 6.25 times organic nitrogen.
    #[schemars(required)]
    pub(crate) protein: Option<f64>,
    /// Fat.
    #[schemars(required)]
    pub(crate) fat: Option<f64>,
    /// Lignin and what it shields.
    #[schemars(required)]
    pub(crate) inert: Option<f64>,
}

/// Volatile acids; those left out are 0.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Acids")]
pub(crate) struct RawAcids {
    /// Acetic acid.
    pub(crate) acetic: Option<f64>,
    /// Propionic acid.
    pub(crate) propionic: Option<f64>,
    /// Butyric acid and longer.
    pub(crate) butyric: Option<f64>,
}

/// Hydrolysis constants of the four pools.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Hydrolysis")]
pub(crate) struct RawHydrolysis {
    /// Starch, sugars in cells.
    #[schemars(required)]
    pub(crate) fast_carb: Option<f64>,
    /// Cellulose, hemicellulose.
    #[schemars(required)]
    pub(crate) fibre: Option<f64>,
    /// Protein.
    #[schemars(required)]
    pub(crate) protein: Option<f64>,
    /// Fat.
    #[schemars(required)]
    pub(crate) fat: Option<f64>,
}

/// Kind of tissue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Class")]
pub(crate) enum RawClass {
    /// Foods, fruit, roots, fat.
    Fresh,
    /// Young leaves and grass.
    Herbage,
    /// Stalks, hay, straw.
    Fibrous,
    /// Bark, twigs, dead leaves.
    Woody,
    /// What an animal has digested once.
    Gut,
    /// What a digester has digested already.
    Digestate,
}

/// A material of the library with a difference.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Like")]
pub(crate) struct RawLike {
    /// Name for people (default: its key).
    pub(crate) name: Option<String>,
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Name in the library.
    #[schemars(required)]
    pub(crate) material: Option<String>,
    /// Total solids in per cent of the fresh weight; everything else goes along, as when water is added or lost.
    #[schemars(range(min = TOTAL_SOLIDS_PCT.low, max = TOTAL_SOLIDS_PCT.high))]
    pub(crate) total_solids_pct: Option<f64>,
    /// Multiplies the living groups (default 1).
    #[schemars(range(min = LIVING_FACTOR.low, max = LIVING_FACTOR.high))]
    pub(crate) living_factor: Option<f64>,
    /// Multiplies the hydrolysis constants (default 1).
    #[schemars(range(min = HYDROLYSIS_FACTOR.low, max = HYDROLYSIS_FACTOR.high))]
    pub(crate) hydrolysis_factor: Option<f64>,
    /// Multiplies the degradable shares (default 1), which never pass 1.
    #[schemars(range(min = DEGRADABLE_FACTOR.low, max = DEGRADABLE_FACTOR.high))]
    pub(crate) degradable_factor: Option<f64>,
}
