//! Checks of an analysis: each figure by itself, then the figures together.

use crate::feedstock::composition::{Acids, Composition, Range};
use crate::feedstock::facts::Facts;
use crate::feedstock::pools;
use crate::feedstock::theory::{FAT, PROTEIN};
use crate::units::molar_mass;

use super::analysis::Analysis;
use super::problem::{Cause, OwnProblem, Problems};

const GRAM: f64 = 0.001;
const MOL_PER_KMOL: f64 = 1000.0;
/// Rounding that shares are allowed; inside it they are scaled to one.
const SHARE_SLACK: f64 = 0.02;
/// Organic nitrogen may differ from that of the protein share by this factor, since analyses of the
/// two differ, and by [`NITROGEN_SLACK`].
const NITROGEN_FACTOR: f64 = 1.3;
/// The same for materials with hardly any nitrogen \[g/kg\].
const NITROGEN_SLACK: f64 = 0.3;
/// Carbon of organic matter, carbohydrate to fat \[kg/kg VS\], with room for analysis.
const CARBON_OF_VOLATILE: (f64, f64) = (0.40, 0.80);

/// Bounds of single figures: wide enough for anything organic, narrow enough to catch a wrong unit.
/// Reasons: pure urea holds 467 g N/kg and no feed half of that; ammonia solutions and acids above
/// 50 g/kg are chemicals, not feed; plain carbon would be 1000 g/kg and fat is 773; straw ash gives
/// 0.35 eq/kg; outside pH 4.5 to 10 nothing holds bicarbonate; hydrolysis above 20 1/d is instant.
const SOLIDS_PCT: (f64, f64) = (0.01, 100.0);
const SHARE: (f64, f64) = (0.0, 1.0);
const NITROGEN: (f64, f64) = (0.0, 200.0);
const AMMONIUM: (f64, f64) = (0.0, 50.0);
const SULFUR: (f64, f64) = (0.0, 50.0);
const CARBON: (f64, f64) = (0.0, 800.0);
const ACID: (f64, f64) = (0.0, 50.0);
const FRESH_PH: (f64, f64) = (4.5, 10.0);
const HYDROLYSIS: (f64, f64) = (0.0, 20.0);
pub(crate) const STRONG_IONS: (f64, f64) = (-0.5, 1.0);

/// Each figure by itself.
pub(crate) fn each(given: &Analysis) -> Result<(), Vec<OwnProblem>> {
    let mut problems = Problems::default();
    problems.within("total_solids_pct", given.total_solids_pct, SOLIDS_PCT, "%");
    let volatile = given.volatile_solids_pct_of_solids;
    problems.within("volatile_solids_pct_of_solids", volatile, SOLIDS_PCT, "%");

    let shares = given.shares.named();
    for (field, share) in shares {
        problems.within(field, share, SHARE, "of volatile solids");
    }
    let sum: f64 = shares.iter().map(|(_, share)| share).sum();
    let bounds = (1.0 - SHARE_SLACK, 1.0 + SHARE_SLACK);
    let each_sound = shares.iter().all(|(_, share)| (0.0..=1.0).contains(share));
    if each_sound && !(bounds.0..=bounds.1).contains(&sum) {
        problems.note(
            "shares",
            sum,
            bounds,
            "of volatile solids",
            Cause::SharesDoNotAddUp,
        );
    }

    let g_per_kg = "g/kg";
    problems.within_if(
        "nitrogen_g_per_kg",
        given.nitrogen_g_per_kg,
        NITROGEN,
        g_per_kg,
    );
    problems.within_if(
        "ammonia_n_g_per_kg",
        given.ammonia_n_g_per_kg,
        AMMONIUM,
        g_per_kg,
    );
    problems.within_if(
        "labile_n_g_per_kg",
        given.labile_n_g_per_kg,
        NITROGEN,
        g_per_kg,
    );
    problems.within_if("sulfur_g_per_kg", given.sulfur_g_per_kg, SULFUR, g_per_kg);
    problems.within_if("carbon_g_per_kg", given.carbon_g_per_kg, CARBON, g_per_kg);
    if let Some(acids) = given.acids_g_per_kg {
        let fields = ["acids.acetic", "acids.propionic", "acids.butyric"];
        for (field, acid) in fields.into_iter().zip(acids) {
            problems.within(field, acid, ACID, g_per_kg);
        }
    }
    let ions = given.strong_ions_eq_per_kg;
    problems.within_if("strong_ions_eq_per_kg", ions, STRONG_IONS, "eq/kg");
    problems.within_if("fresh_ph", given.fresh_ph, FRESH_PH, "");
    if let Some(methane) = given.methane_nl_per_kg_vs {
        let bounds = (0.0, FAT.methane_nl_per_kg());
        range_within(
            &mut problems,
            "methane_nl_per_kg_vs",
            methane,
            bounds,
            "NL/kg VS",
        );
    }
    if let Some(constants) = given.hydrolysis {
        let fields = [
            "hydrolysis.fast_carb",
            "hydrolysis.fibre",
            "hydrolysis.protein",
            "hydrolysis.fat",
        ];
        for (field, constant) in fields.into_iter().zip(pools::ranges(&constants)) {
            range_within(&mut problems, field, constant, HYDROLYSIS, "1/d");
        }
    }
    problems.finish()
}

fn range_within(
    problems: &mut Problems,
    field: &'static str,
    range: Range,
    bounds: (f64, f64),
    unit: &'static str,
) {
    for value in [range.low, range.typical, range.high] {
        problems.within(field, value, bounds, unit);
    }
    if range.low > range.typical || range.typical > range.high {
        let ends = (range.low, range.high);
        problems.note(field, range.typical, ends, unit, Cause::RangeOutOfOrder);
    }
}

/// Figures that must agree with one another, and with what was built from them.
pub(crate) fn together(given: &Analysis, built: &Composition) -> Result<(), Vec<OwnProblem>> {
    let mut problems = Problems::default();
    if given.nitrogen_g_per_kg.is_some() {
        let organic = (built.nitrogen - built.ammonia_n - built.labile_n) / GRAM;
        let protein = built.pools.protein * PROTEIN.nitrogen_per_kg() / GRAM;
        let low = (protein / NITROGEN_FACTOR - NITROGEN_SLACK).max(0.0);
        let high = protein * NITROGEN_FACTOR + NITROGEN_SLACK;
        if organic < 0.0 {
            let inorganic = (built.ammonia_n + built.labile_n) / GRAM;
            let bounds = (0.0, built.nitrogen / GRAM);
            let field = "ammonia_n_g_per_kg + labile_n_g_per_kg";
            problems.note(field, inorganic, bounds, "g/kg", Cause::PartAboveWhole);
        } else if !(low..=high).contains(&organic) {
            let field = "nitrogen_g_per_kg outside ammonium and labile";
            problems.note(
                field,
                organic,
                (low, high),
                "g/kg",
                Cause::NitrogenDoesNotFit,
            );
        }
    }
    if let Some(carbon) = given.carbon_g_per_kg {
        let volatile = built.volatile_solids / GRAM;
        let bounds = (
            CARBON_OF_VOLATILE.0 * volatile,
            CARBON_OF_VOLATILE.1 * volatile,
        );
        problems.within("carbon_g_per_kg", carbon, bounds, "g/kg");
    }
    if let Some(methane) = given.methane_nl_per_kg_vs {
        let facts = Facts::of(built);
        let acids = facts.acids_methane_nl_per_kg / built.volatile_solids;
        let theory = facts.everything.methane_nl_per_kg_vs.map(|nl| nl + acids);
        if let Some(limit) = theory.filter(|limit| methane.typical > *limit) {
            let field = "methane_nl_per_kg_vs";
            problems.note(
                field,
                methane.typical,
                (0.0, limit),
                "NL/kg VS",
                Cause::AboveTheory,
            );
        }
    }
    if given.fresh_ph.is_some() {
        let acids = acid_equivalents(&built.acids);
        let room = carbonate_room(built.strong_ions, built.ammonia_n);
        if acids > room {
            let bounds = (0.0, room.max(0.0));
            problems.note("acids", acids, bounds, "eq/kg", Cause::NoRoomForCarbonate);
        }
    }
    problems.finish()
}

/// Charge of the acids when all of them are dissociated \[eq/kg\].
pub(crate) fn acid_equivalents(acids: &Acids) -> f64 {
    let kmol = acids.acetic / molar_mass::ACETIC
        + acids.propionic / molar_mass::PROPIONIC
        + acids.butyric / molar_mass::BUTYRIC;
    kmol * MOL_PER_KMOL
}

/// Charge that acids and carbonate can balance \[eq/kg\], all ammonia taken as ammonium.
pub(crate) fn carbonate_room(strong_ions: f64, ammonia_n: f64) -> f64 {
    strong_ions + ammonia_n / molar_mass::N * MOL_PER_KMOL
}
