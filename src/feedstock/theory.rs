//! Stoichiometry of complete digestion, and the stand-in formulas of the pools.
//!
//! Gas volumes are dry norm litres (0 C, 101.325 kPa). COD counts nitrogen as ammonia and sulphur
//! as sulphide, the forms in which both stay in the liquor; so COD and methane are tied exactly.

use crate::units::{COD_CH4, NORM_M3_PER_KMOL, molar_mass};

use super::composition::{Composition, Range};

/// Litres in a cubic metre.
const LITRES_PER_M3: f64 = 1000.0;

/// An organic substance C_c H_h O_o N_n S_s; the counts may be fractions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Formula {
    /// Carbon atoms.
    pub c: f64,
    /// Hydrogen atoms.
    pub h: f64,
    /// Oxygen atoms.
    pub o: f64,
    /// Nitrogen atoms.
    pub n: f64,
    /// Sulphur atoms.
    pub s: f64,
}

/// What one mole becomes when it is digested completely \[mol/mol\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Products {
    /// Methane.
    pub methane: f64,
    /// Carbon dioxide.
    pub carbon_dioxide: f64,
    /// Ammonia.
    pub ammonia: f64,
    /// Hydrogen sulphide.
    pub hydrogen_sulfide: f64,
    /// Water taken up (negative: given off).
    pub water_taken: f64,
}

impl Formula {
    /// Builds a formula.
    #[must_use]
    pub const fn new(c: f64, h: f64, o: f64, n: f64, s: f64) -> Self {
        Self { c, h, o, n, s }
    }

    /// Molar mass \[kg/kmol\].
    #[must_use]
    pub const fn molar_mass(self) -> f64 {
        self.c * molar_mass::C
            + self.h * molar_mass::H
            + self.o * molar_mass::O
            + self.n * molar_mass::N
            + self.s * molar_mass::S
    }

    /// Products of complete digestion.
    ///
    /// Buswell & Mueller (1952) Ind. Eng. Chem. 44, 550, with nitrogen and sulphur after Boyle
    /// (1977); follows from the element and electron balances alone.
    #[must_use]
    pub const fn products(self) -> Products {
        let Self { c, h, o, n, s } = self;
        let methane = c / 2.0 + h / 8.0 - o / 4.0 - 3.0 * n / 8.0 - s / 4.0;
        Products {
            methane,
            carbon_dioxide: c - methane,
            ammonia: n,
            hydrogen_sulfide: s,
            water_taken: c - h / 4.0 - o / 2.0 + 3.0 * n / 4.0 + s / 2.0,
        }
    }

    /// Chemical oxygen demand \[kg/kg\], from the oxygen that burning to CO2, H2O, NH3 and H2S takes.
    #[must_use]
    pub const fn cod_per_kg(self) -> f64 {
        let Self { c, h, o, n, s } = self;
        let oxygen = c + h / 4.0 - o / 2.0 - 3.0 * n / 4.0 - s / 2.0;
        // Methane takes two oxygen molecules, so its COD holds the molar mass of O2 twice.
        oxygen * (COD_CH4 / 2.0) / self.molar_mass()
    }

    /// Methane \[NL/kg\].
    #[must_use]
    pub const fn methane_nl_per_kg(self) -> f64 {
        self.products().methane * NORM_M3_PER_KMOL * LITRES_PER_M3 / self.molar_mass()
    }

    /// Methane and carbon dioxide, before any of it dissolves \[NL/kg\].
    #[must_use]
    pub const fn biogas_nl_per_kg(self) -> f64 {
        self.c * NORM_M3_PER_KMOL * LITRES_PER_M3 / self.molar_mass()
    }
}

/// Starch, cellulose and the like: C6H10O5.
pub const CARBOHYDRATE: Formula = Formula::new(6.0, 10.0, 5.0, 0.0, 0.0);
/// Protein: C4H6.1O1.2N, 16 % nitrogen, so that crude protein (6.25 N) closes nitrogen. Source: from
/// memory; C5H7O2N, often used, holds only 12.4 %.
pub const CRUDE_PROTEIN: Formula = Formula::new(4.0, 6.1, 1.2, 1.0, 0.0);
/// Fat: triolein, C57H104O6.
pub const TRIOLEIN: Formula = Formula::new(57.0, 104.0, 6.0, 0.0, 0.0);

/// Sulphur in protein \[kg S/kg protein\]. Assumption: cysteine and methionine of common proteins give
/// 0.5 to 1.5 %.
pub const PROTEIN_SULFUR: f64 = 0.01;
/// COD of the inert pool \[kg/kg\]. The pool is lignin with 1.4 parts of cell wall that it shields;
/// lignin at 1.95 (from memory) and cellulose at 1.184 give 1.50.
pub const INERT_COD: f64 = 1.50;
/// Carbon of the inert pool \[kg/kg\]: lignin at 0.63 (from memory) and cellulose at 0.444, as above.
pub const INERT_CARBON: f64 = 0.52;
/// Share of the sulphur outside protein that turns into sulphide. Assumption: iron in manure and
/// organic binding hold the rest.
pub const AVAILABLE_SULFUR_SHARE: Range = Range {
    low: 0.05,
    typical: 0.2,
    high: 0.6,
};

/// Elements of a pool per kilogram of its COD.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoolChemistry {
    /// \[kg COD/kg\]
    pub cod_per_kg: f64,
    /// \[kmol C/kg COD\]
    pub carbon_kmol_per_kg_cod: f64,
    /// \[kmol N/kg COD\]
    pub nitrogen_kmol_per_kg_cod: f64,
    /// \[kmol S/kg COD\]
    pub sulfur_kmol_per_kg_cod: f64,
}

impl PoolChemistry {
    /// From a formula, with sulphur that the formula leaves out \[kg S/kg\] and that carries no COD.
    const fn of(formula: Formula, sulfur_per_kg: f64) -> Self {
        let cod_per_kg = formula.cod_per_kg();
        let per_kg_cod = 1.0 / (formula.molar_mass() * cod_per_kg);
        Self {
            cod_per_kg,
            carbon_kmol_per_kg_cod: formula.c * per_kg_cod,
            nitrogen_kmol_per_kg_cod: formula.n * per_kg_cod,
            sulfur_kmol_per_kg_cod: sulfur_per_kg / molar_mass::S / cod_per_kg,
        }
    }

    /// Carbon \[kg/kg\].
    #[must_use]
    pub const fn carbon_per_kg(self) -> f64 {
        self.carbon_kmol_per_kg_cod * self.cod_per_kg * molar_mass::C
    }

    /// Nitrogen \[kg/kg\].
    #[must_use]
    pub const fn nitrogen_per_kg(self) -> f64 {
        self.nitrogen_kmol_per_kg_cod * self.cod_per_kg * molar_mass::N
    }

    /// Methane of complete digestion \[NL/kg\].
    #[must_use]
    pub const fn methane_nl_per_kg(self) -> f64 {
        self.cod_per_kg / COD_CH4 * NORM_M3_PER_KMOL * LITRES_PER_M3
    }

    /// Methane and carbon dioxide of complete digestion, before any dissolves \[NL/kg\].
    #[must_use]
    pub const fn biogas_nl_per_kg(self) -> f64 {
        self.carbon_kmol_per_kg_cod * self.cod_per_kg * NORM_M3_PER_KMOL * LITRES_PER_M3
    }
}

/// Starch, sugars in cells.
pub const FAST_CARB: PoolChemistry = PoolChemistry::of(CARBOHYDRATE, 0.0);
/// Cellulose, hemicellulose.
pub const FIBRE: PoolChemistry = PoolChemistry::of(CARBOHYDRATE, 0.0);
/// Protein that a digester can reach.
pub const PROTEIN: PoolChemistry = PoolChemistry::of(CRUDE_PROTEIN, PROTEIN_SULFUR);
/// Protein that it cannot reach: the same substance.
pub const INERT_PROTEIN: PoolChemistry = PROTEIN;
/// Fat.
pub const FAT: PoolChemistry = PoolChemistry::of(TRIOLEIN, 0.0);
/// Lignin and what it shields.
pub const INERT: PoolChemistry = PoolChemistry {
    cod_per_kg: INERT_COD,
    carbon_kmol_per_kg_cod: INERT_CARBON / molar_mass::C / INERT_COD,
    nitrogen_kmol_per_kg_cod: 0.0,
    sulfur_kmol_per_kg_cod: 0.0,
};

/// The four pools in their usual order.
pub(crate) const POOLS: [PoolChemistry; 4] = [FAST_CARB, FIBRE, PROTEIN, FAT];

/// COD of the acids already present \[kg COD/kg fresh\].
#[must_use]
pub fn acids_cod(composition: &Composition) -> f64 {
    let acids = &composition.acids;
    acids.acetic * ACETIC.cod_per_kg()
        + acids.propionic * PROPIONIC.cod_per_kg()
        + acids.butyric * BUTYRIC.cod_per_kg()
}

const ACETIC: Formula = Formula::new(2.0, 4.0, 2.0, 0.0, 0.0);
const PROPIONIC: Formula = Formula::new(3.0, 6.0, 2.0, 0.0, 0.0);
const BUTYRIC: Formula = Formula::new(4.0, 8.0, 2.0, 0.0, 0.0);

/// Sulphur outside protein \[kg S/kg fresh\]; never negative.
#[must_use]
pub fn non_protein_sulfur(composition: &Composition) -> f64 {
    (composition.sulfur - PROTEIN_SULFUR * composition.pools.protein).max(0.0)
}
