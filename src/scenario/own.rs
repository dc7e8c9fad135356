//! Materials of the scenario's own: by label, by analysis, or like one of the library.

use std::sync::LazyLock;

use super::address::Address;
use super::check::Checker;
use super::limits::{self, DEGRADABLE_FACTOR, HYDROLYSIS_FACTOR, LIVING_FACTOR, TOTAL_SOLIDS_PCT};
use super::materials::{scaled_living, unknown};
use super::schema::{RawAnalysis, RawClass, RawHydrolysis, RawLabel, RawLike, RawMaterial};
use crate::chemistry::AcidBase;
use crate::feedstock::own::{Analysis, Label, OwnProblem, Shares, from_analysis, from_label};
use crate::feedstock::{
    Acids, Composition, Living, MaterialClass, PoolRates, Pools, Range, library,
};
use crate::kinetics::{Network, Parameters, four_stage, fresh_carbonate};
use crate::units::molar_mass;

/// Shares given in per cent, as the library does.
const PERCENT: f64 = 100.0;

/// Most carbon dioxide that can stand over a fresh material \[bar\]: one atmosphere, and a quarter for what the figures
/// of an analysis leave open. Assumption of this project.
const MOST_CO2_BAR: f64 = 1.25;
const G_PER_KG: f64 = 1000.0;
const G_PER_100_G: f64 = 100.0;

/// The liquor in which a fresh pH is understood. Without changes the network always closes; a test builds it.
static CHEMISTRY: LazyLock<Option<(Network, AcidBase)>> = LazyLock::new(|| {
    let network = four_stage(&Parameters::four_stage()).ok()?;
    let acids = network.acids.iter().map(|a| a.acid).collect();
    Some((network, AcidBase::new(acids, true)))
});

/// A material that has been made out.
pub(crate) struct Built {
    /// Name for people.
    pub(crate) name: String,
    /// What it holds.
    pub(crate) composition: Composition,
}

/// Checks one material; `None` after a problem.
pub(crate) fn build(
    checker: &mut Checker,
    at: &Address,
    id: &str,
    raw: &RawMaterial,
) -> Option<Built> {
    let (at, name) = match raw {
        RawMaterial::Label(raw) => (at.key("label_per_100_g"), &raw.name),
        RawMaterial::Analysis(raw) => (at.key("analysis"), &raw.name),
        RawMaterial::Like(raw) => (at.key("like"), &raw.name),
    };
    let name = match name {
        Some(name) => checker.name(&at.key("name"), Some(name)),
        None => id.to_owned(),
    };
    let composition = match raw {
        RawMaterial::Label(raw) => label(checker, &at, raw),
        RawMaterial::Analysis(raw) => analysis(checker, &at, raw),
        RawMaterial::Like(raw) => like(checker, &at, raw),
    }?;
    let like = matches!(raw, RawMaterial::Like(_));
    carbonate_fits(checker, &at, &composition, like).then_some(Built { name, composition })
}

/// Checks that the carbonate which a fresh pH implies could be there.
fn carbonate_fits(
    checker: &mut Checker,
    at: &Address,
    composition: &Composition,
    like: bool,
) -> bool {
    let carbonate = CHEMISTRY
        .as_ref()
        .and_then(|(network, acid_base)| fresh_carbonate(network, acid_base, composition));
    let Some(carbonate) = carbonate else {
        return true;
    };
    let held = carbonate.kmol_per_kg * molar_mass::C;
    let seen = format!(
        "pH {}, which implies {:.1} g of carbonate carbon per kg",
        composition.fresh_ph.unwrap_or(f64::NAN),
        held * G_PER_KG
    );
    let why = if held > composition.carbon {
        format!(
            "That is more than all the carbon it holds, {:.1} g/kg.",
            composition.carbon * G_PER_KG
        )
    } else if carbonate.co2_bar > MOST_CO2_BAR {
        format!(
            "Carbon dioxide of {:.1} bar would stand over it, where no open heap or pit holds more than about 1.",
            carbonate.co2_bar
        )
    } else {
        return true;
    };
    let (key, mend) = if like {
        (
            "total_solids_pct",
            "Choose total solids nearer to those of the library, or give the material by an analysis of its own.",
        )
    } else {
        (
            "fresh_ph",
            "Check the pH, \"strong_ions_eq_per_kg\" and the ammonium; if acids that \"acids_g_per_kg\" does not name make \
             it sour, leave the pH out.",
        )
    };
    let at = at.key(key);
    checker.wrong_value(&at, seen, why, mend);
    false
}

/// A figure that must be there; its range is checked where the composition is built.
fn figure(checker: &mut Checker, at: &Address, key: &str, value: Option<f64>) -> Option<f64> {
    if value.is_none() {
        checker.missing(&at.key(key), "Give a number; 0 where there is none of it.");
    }
    value
}

fn label(checker: &mut Checker, at: &Address, raw: &RawLabel) -> Option<Composition> {
    let carbohydrate = figure(checker, at, "carbohydrate_g", raw.carbohydrate_g);
    let fibre = figure(checker, at, "fibre_g", raw.fibre_g);
    let protein = figure(checker, at, "protein_g", raw.protein_g);
    let fat = figure(checker, at, "fat_g", raw.fat_g);
    for (key, given) in [
        ("energy_kcal", raw.energy_kcal),
        ("energy_kj", raw.energy_kj),
    ] {
        if given.is_some() {
            checker.warn(
                &at.key(key),
                "The energy of the label is not used.",
                "What a digester makes of a food follows from its carbohydrate, protein and fat.",
                "Keep it as a remark, or leave it out.",
            );
        }
    }
    let (carbohydrate, protein, fat) = (carbohydrate?, protein?, fat?);
    let label = Label {
        water_g: raw.water_g.unwrap_or_else(|| {
            (G_PER_100_G - carbohydrate - protein - fat - raw.salt_g.unwrap_or(0.0)).max(0.0)
        }),
        carbohydrate_g: carbohydrate,
        fibre_g: fibre?,
        protein_g: protein,
        fat_g: fat,
        salt_g: raw.salt_g,
        nitrogen_factor: raw.nitrogen_factor,
        strong_ions_eq_per_kg: raw.strong_ions_eq_per_kg,
    };
    taken(checker, at, from_label(&label))
}

fn analysis(checker: &mut Checker, at: &Address, raw: &RawAnalysis) -> Option<Composition> {
    let total_solids = figure(checker, at, "total_solids_pct", raw.total_solids_pct);
    let key = "volatile_solids_pct_of_solids";
    let volatile_solids = figure(checker, at, key, raw.volatile_solids_pct_of_solids);
    let shares = shares(checker, at, raw);
    if raw.class.is_none() {
        checker.missing(
            &at.key("class"),
            "Choose one of fresh, herbage, fibrous, woody, gut, digestate.",
        );
    }
    let hydrolysis = match &raw.hydrolysis_per_d {
        Some(raw) => Some(hydrolysis(checker, &at.key("hydrolysis_per_d"), raw)?),
        None => None,
    };
    let living = match &raw.living_like {
        Some(id) => Some(living_like(checker, &at.key("living_like"), id)?),
        None => None,
    };
    let acids = raw.acids_g_per_kg.as_ref().map(|acids| {
        [acids.acetic, acids.propionic, acids.butyric].map(|acid| acid.unwrap_or(0.0))
    });
    let analysis = Analysis {
        nitrogen_g_per_kg: raw.nitrogen_g_per_kg,
        ammonia_n_g_per_kg: raw.ammonia_n_g_per_kg,
        labile_n_g_per_kg: raw.labile_n_g_per_kg,
        sulfur_g_per_kg: raw.sulfur_g_per_kg,
        carbon_g_per_kg: raw.carbon_g_per_kg,
        acids_g_per_kg: acids,
        strong_ions_eq_per_kg: raw.strong_ions_eq_per_kg,
        fresh_ph: raw.fresh_ph,
        methane_nl_per_kg_vs: raw.methane_nl_per_kg_vs.map(single),
        hydrolysis,
        living,
        ..Analysis::new(total_solids?, volatile_solids?, shares?, class(raw.class?))
    };
    taken(checker, at, from_analysis(&analysis))
}

fn shares(checker: &mut Checker, at: &Address, raw: &RawAnalysis) -> Option<Shares> {
    let at = at.key("shares_of_volatile");
    let Some(raw) = &raw.shares_of_volatile else {
        checker.missing(
            &at,
            "Give the shares of fast_carb, fibre, protein, fat and inert; together they are 1.",
        );
        return None;
    };
    let fast_carb = figure(checker, &at, "fast_carb", raw.fast_carb);
    let fibre = figure(checker, &at, "fibre", raw.fibre);
    let protein = figure(checker, &at, "protein", raw.protein);
    let fat = figure(checker, &at, "fat", raw.fat);
    let inert = figure(checker, &at, "inert", raw.inert);
    Some(Shares {
        fast_carb: fast_carb?,
        fibre: fibre?,
        protein: protein?,
        fat: fat?,
        inert: inert?,
    })
}

fn hydrolysis(checker: &mut Checker, at: &Address, raw: &RawHydrolysis) -> Option<PoolRates> {
    let fast_carb = figure(checker, at, "fast_carb", raw.fast_carb);
    let fibre = figure(checker, at, "fibre", raw.fibre);
    let protein = figure(checker, at, "protein", raw.protein);
    let fat = figure(checker, at, "fat", raw.fat);
    Some(PoolRates {
        fast_carb: single(fast_carb?),
        fibre: single(fibre?),
        protein: single(protein?),
        fat: single(fat?),
    })
}

fn living_like(checker: &mut Checker, at: &Address, id: &str) -> Option<Living> {
    let entry = library().get(id);
    if entry.is_none() {
        unknown(checker, at, id, std::iter::empty());
    }
    entry.map(|entry| entry.composition().living)
}

fn like(checker: &mut Checker, at: &Address, raw: &RawLike) -> Option<Composition> {
    let living_factor = checker.optional(
        &at.key("living_factor"),
        raw.living_factor,
        1.0,
        &LIVING_FACTOR,
    );
    let hydrolysis_factor = checker.optional(
        &at.key("hydrolysis_factor"),
        raw.hydrolysis_factor,
        1.0,
        &HYDROLYSIS_FACTOR,
    );
    let degradable_factor = checker.optional(
        &at.key("degradable_factor"),
        raw.degradable_factor,
        1.0,
        &DEGRADABLE_FACTOR,
    );
    let solids = raw.total_solids_pct.map(|solids| {
        checker.number(&at.key("total_solids_pct"), solids, &TOTAL_SOLIDS_PCT) / PERCENT
    });
    let at = at.key("material");
    let Some(id) = &raw.material else {
        checker.missing(&at, "Name a material of the library.");
        return None;
    };
    let Some(entry) = library().get(id) else {
        unknown(checker, &at, id, std::iter::empty());
        return None;
    };
    // What was refused is no number, and nothing can be made of it.
    let given = [living_factor, hydrolysis_factor, degradable_factor];
    if given.iter().chain(&solids).any(|number| number.is_nan()) {
        return None;
    }
    let mut composition = entry.composition().clone();
    if let Some(solids) = solids
        && composition.total_solids > 0.0
    {
        let factor = solids / composition.total_solids;
        composition = thickened(&composition, factor);
    }
    composition.living = scaled_living(composition.living, living_factor);
    let faster = |range: Range| scaled(range, hydrolysis_factor);
    composition.hydrolysis = PoolRates {
        fast_carb: faster(composition.hydrolysis.fast_carb),
        fibre: faster(composition.hydrolysis.fibre),
        protein: faster(composition.hydrolysis.protein),
        fat: faster(composition.hydrolysis.fat),
    };
    let reached = |share: f64| (share * degradable_factor).min(1.0);
    composition.degradable = Pools {
        fast_carb: reached(composition.degradable.fast_carb),
        fibre: reached(composition.degradable.fibre),
        protein: reached(composition.degradable.protein),
        fat: reached(composition.degradable.fat),
    };
    Some(composition)
}

/// Everything that a kilogram holds but its water, times a factor.
fn thickened(from: &Composition, factor: f64) -> Composition {
    Composition {
        total_solids: from.total_solids * factor,
        volatile_solids: from.volatile_solids * factor,
        pools: Pools {
            fast_carb: from.pools.fast_carb * factor,
            fibre: from.pools.fibre * factor,
            protein: from.pools.protein * factor,
            fat: from.pools.fat * factor,
        },
        inert: from.inert * factor,
        carbon: from.carbon * factor,
        nitrogen: from.nitrogen * factor,
        ammonia_n: from.ammonia_n * factor,
        labile_n: from.labile_n * factor,
        sulfur: from.sulfur * factor,
        acids: Acids {
            acetic: from.acids.acetic * factor,
            propionic: from.acids.propionic * factor,
            butyric: from.acids.butyric * factor,
        },
        strong_ions: from.strong_ions * factor,
        living: scaled_living(from.living, factor),
        ..from.clone()
    }
}

fn scaled(range: Range, factor: f64) -> Range {
    Range {
        low: range.low * factor,
        typical: range.typical * factor,
        high: range.high * factor,
    }
}

/// A figure without a range.
fn single(value: f64) -> Range {
    Range {
        low: value,
        typical: value,
        high: value,
    }
}

fn class(raw: RawClass) -> MaterialClass {
    match raw {
        RawClass::Fresh => MaterialClass::Fresh,
        RawClass::Herbage => MaterialClass::Herbage,
        RawClass::Fibrous => MaterialClass::Fibrous,
        RawClass::Woody => MaterialClass::Woody,
        RawClass::Gut => MaterialClass::Gut,
        RawClass::Digestate => MaterialClass::Digestate,
    }
}

/// Names of groups of figures here, by their names there.
const GROUPS: [(&str, &str); 3] = [
    ("shares", "shares_of_volatile"),
    ("acids", "acids_g_per_kg"),
    ("hydrolysis", "hydrolysis_per_d"),
];

/// Takes a composition, or notes everything that keeps it from being one.
fn taken(
    checker: &mut Checker,
    at: &Address,
    built: Result<Composition, Vec<OwnProblem>>,
) -> Option<Composition> {
    match built {
        Ok(composition) => Some(composition),
        Err(problems) => {
            for problem in problems {
                let (at, what) = place(at, problem.field);
                let value = format!("{what}{} {}", problem.value, problem.unit);
                checker.outside(
                    &at,
                    value.trim_end(),
                    limits::range(problem.low, problem.high, problem.unit),
                    sentence(problem.cause.words()),
                    problem.mend(),
                );
            }
            None
        }
    }
}

/// Address of a figure; of a sum of figures, their group, and then the name of the sum.
fn place(at: &Address, field: &str) -> (Address, String) {
    let (group, rest) = field.split_once('.').unwrap_or((field, ""));
    let group = GROUPS
        .iter()
        .find(|(there, _)| *there == group)
        .map_or(group, |(_, here)| here);
    if field.contains(' ') {
        (at.clone(), format!("{field}: "))
    } else if rest.is_empty() {
        (at.key(group), String::new())
    } else {
        (at.key(group).key(rest), String::new())
    }
}

/// Words as a sentence.
fn sentence(words: &str) -> String {
    let mut chars = words.chars();
    let first: String = chars
        .next()
        .map(char::to_uppercase)
        .into_iter()
        .flatten()
        .collect();
    format!("{first}{}.", chars.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A refused number is not worked with: its NaN would go through the composition into the charge balance.
    #[test]
    fn nothing_is_made_of_a_refused_number() {
        let kind = |changes: RawLike| RawMaterial::Like(changes);
        let like = RawLike {
            name: None,
            about: None,
            material: Some("cattle-dung".to_owned()),
            total_solids_pct: None,
            living_factor: None,
            hydrolysis_factor: None,
            degradable_factor: None,
        };
        let refused = [
            RawLike {
                total_solids_pct: Some(0.0),
                ..like.clone()
            },
            RawLike {
                living_factor: Some(-1.0),
                ..like.clone()
            },
            RawLike {
                hydrolysis_factor: Some(-1.0),
                ..like.clone()
            },
            RawLike {
                degradable_factor: Some(-1.0),
                ..like.clone()
            },
        ];
        let at = Address::default().key("mine");
        for changes in refused {
            let mut checker = Checker::new("own.json");
            assert!(build(&mut checker, &at, "mine", &kind(changes)).is_none());
            assert!(!checker.is_clean());
        }
        let mut checker = Checker::new("own.json");
        assert!(build(&mut checker, &at, "mine", &kind(like)).is_some());
        assert!(checker.is_clean());
    }
}
