//! A food by the label of its packet.

use crate::feedstock::class::MaterialClass;
use crate::feedstock::composition::Composition;

use super::analysis::{Analysis, Shares, from_analysis};
use super::check::STRONG_IONS;
use super::problem::{Cause, OwnProblem, Problems};

/// Figures of a food label, each \[g per 100 g\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Label {
    /// Water.
    pub water_g: f64,
    /// Carbohydrate, fibre included. (Labels in Europe print it without: add the fibre.)
    pub carbohydrate_g: f64,
    /// Fibre among it.
    pub fibre_g: f64,
    /// Protein as printed.
    pub protein_g: f64,
    /// Fat.
    pub fat_g: f64,
    /// Salt; only checked against the ash, since it adds as many cations as anions.
    pub salt_g: Option<f64>,
    /// Factor by which the label's protein was computed from nitrogen, 5..6.5; `None`: 6.25.
    pub nitrogen_factor: Option<f64>,
    /// Strong ions \[eq/kg fresh\]; `None`: zero. Foods lie between -0.05 and +0.06.
    pub strong_ions_eq_per_kg: Option<f64>,
}

/// Nitrogen factor of most foods, and of crude protein as this program counts it \[kg/kg\]. Common practice, no source.
const CRUDE_PROTEIN_FACTOR: f64 = 6.25;
/// Smallest and largest nitrogen factor of foods. Source: USDA SR26 lists 5.18 (almond) to 6.38
/// (milk); the ends are from memory.
const FACTORS: (f64, f64) = (5.0, 6.5);
/// Rounding of a label's figures together \[g per 100 g\].
const SUM_SLACK: f64 = 2.0;
/// Part of a label's fibre that is counted as inert, as in the library (from memory).
const INERT_OF_FIBRE: f64 = 0.2;
const G_PER_100_G: f64 = 100.0;
const G_PER_KG: f64 = 10.0;

/// The composition of a labelled food.
///
/// Ash is what is missing to 100 g. Nitrogen is the label's protein over its factor; the protein pool
/// holds 6.25 times that nitrogen, and the difference to the printed protein is taken from (or given
/// to) the fast carbohydrate, so that both nitrogen and solids close.
///
/// # Errors
/// All figures that cannot be right.
pub fn from_label(label: &Label) -> Result<Composition, Vec<OwnProblem>> {
    check(label)?;
    let nitrogen = label.protein_g / label.nitrogen_factor.unwrap_or(CRUDE_PROTEIN_FACTOR);
    let fat = label.fat_g;
    let fibre = label.fibre_g;
    let sugars_and_starch = label.carbohydrate_g - fibre;
    let shift = nitrogen * CRUDE_PROTEIN_FACTOR - label.protein_g;
    let shift = shift.min(sugars_and_starch);
    let protein = label.protein_g + shift;
    let volatile = label.carbohydrate_g + label.protein_g + fat;
    // What the carbohydrate cannot make room for becomes ammonium as fast as protein does.
    let labile = nitrogen - protein / CRUDE_PROTEIN_FACTOR;
    let solids = (G_PER_100_G - label.water_g).max(volatile);
    let shares = Shares {
        fast_carb: (sugars_and_starch - shift) / volatile,
        fibre: fibre * (1.0 - INERT_OF_FIBRE) / volatile,
        protein: protein / volatile,
        fat: fat / volatile,
        inert: fibre * INERT_OF_FIBRE / volatile,
    };
    let total_solids_pct = solids.min(G_PER_100_G);
    let ash_free_pct = G_PER_100_G * volatile / solids;
    from_analysis(&Analysis {
        nitrogen_g_per_kg: Some(nitrogen * G_PER_KG),
        labile_n_g_per_kg: Some(labile.max(0.0) * G_PER_KG),
        strong_ions_eq_per_kg: Some(label.strong_ions_eq_per_kg.unwrap_or(0.0)),
        ..Analysis::new(total_solids_pct, ash_free_pct, shares, MaterialClass::Fresh)
    })
}

fn check(label: &Label) -> Result<(), Vec<OwnProblem>> {
    const UNIT: &str = "g per 100 g";
    let mut problems = Problems::default();
    let figures = [
        ("water_g", label.water_g),
        ("carbohydrate_g", label.carbohydrate_g),
        ("fibre_g", label.fibre_g),
        ("protein_g", label.protein_g),
        ("fat_g", label.fat_g),
    ];
    for (field, value) in figures {
        problems.within(field, value, (0.0, G_PER_100_G), UNIT);
    }
    problems.within_if("salt_g", label.salt_g, (0.0, G_PER_100_G), UNIT);
    problems.within_if("nitrogen_factor", label.nitrogen_factor, FACTORS, "kg/kg");
    let ions = label.strong_ions_eq_per_kg;
    problems.within_if("strong_ions_eq_per_kg", ions, STRONG_IONS, "eq/kg");

    if label.fibre_g > label.carbohydrate_g {
        let bounds = (0.0, label.carbohydrate_g);
        problems.note(
            "fibre_g",
            label.fibre_g,
            bounds,
            UNIT,
            Cause::PartAboveWhole,
        );
    }
    let solids = label.carbohydrate_g + label.protein_g + label.fat_g;
    let sum = label.water_g + solids;
    if sum > G_PER_100_G + SUM_SLACK {
        let field = "water_g + carbohydrate_g + protein_g + fat_g";
        problems.note(field, sum, (0.0, G_PER_100_G), UNIT, Cause::PartAboveWhole);
    }
    if solids <= 0.0 {
        let field = "carbohydrate_g + protein_g + fat_g";
        problems.note(field, solids, (0.01, G_PER_100_G), UNIT, Cause::OutOfRange);
    }
    let ash = G_PER_100_G - sum + SUM_SLACK;
    if let Some(salt) = label.salt_g.filter(|salt| *salt > ash) {
        problems.note(
            "salt_g",
            salt,
            (0.0, ash.max(0.0)),
            UNIT,
            Cause::PartAboveWhole,
        );
    }
    problems.finish()
}
