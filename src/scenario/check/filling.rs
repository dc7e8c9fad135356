//! Checks of starter and recipes.

use super::Checker;
use crate::case::{Additive, Starter, Vessel};
use crate::scenario::address::Address;
use crate::scenario::limits::{
    ADDITIVE_G, KG, LIVING_FACTOR, MOST_NAMES, MOST_PARTS, WATER_L, range,
};
use crate::scenario::materials::Materials;
use crate::scenario::schema::{Named, RawPart, RawRecipe, RawStarter};
use crate::units::{GIVEN_DIGITS, MESSAGE_DIGITS, told};

/// Mass of a litre of water, of feed and of liquor for the volume balance \[kg/L\]. Solids displace 1.0 to 1.1 kg/L.
pub(crate) const KG_PER_L: f64 = 1.0;
const KG_PER_M3: f64 = 1000.0;
const G_PER_KG: f64 = 1000.0;
/// Round-off that a filling may exceed the vessels by.
const ROUND_OFF: f64 = 1e-9;
/// Least share of water in a starter: below it there is a heap, not a liquor. Assumption of this project.
const LEAST_WATER: f64 = 0.6;

/// What dissolves in a litre of water at 20 C \[g/L\], with its source.
pub(crate) const SOLUBILITY: [(Additive, &str, f64, &str); 2] = [
    (
        Additive::Bicarbonate,
        "bicarbonate_g",
        96.0,
        "CRC Handbook, from memory",
    ),
    (Additive::Lime, "lime_g", 1.7, "CRC Handbook, from memory"),
];

/// A recipe with its materials found.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Recipe {
    /// Name in the scenario.
    pub(crate) name: String,
    /// (material index, kg).
    pub(crate) parts: Vec<(usize, f64)>,
    /// Water \[kg\].
    pub(crate) water_kg: f64,
    /// How many lines of the feeding plan use it.
    pub(crate) used: usize,
}

impl Recipe {
    /// Everything in it \[kg\].
    pub(crate) fn kg(&self) -> f64 {
        self.parts.iter().map(|(_, kg)| kg).sum::<f64>() + self.water_kg
    }
}

/// The filling of day 0.
pub(crate) fn starter(
    checker: &mut Checker,
    raw: Option<&RawStarter>,
    materials: &mut Materials<'_>,
    vessels: &[Vessel],
) -> Starter {
    let at = Address::default().key("starter");
    let empty = Starter {
        parts: Vec::new(),
        water_kg: 0.0,
        additives: Vec::new(),
    };
    let Some(raw) = raw else {
        checker.missing(
            &at,
            "Say what the vessels are filled with on day 0, such as { \"materials\": [ ... ], \"water_l\": 300 }.",
        );
        return empty;
    };
    let living = checker.optional(
        &at.key("living_factor"),
        raw.living_factor,
        1.0,
        &LIVING_FACTOR,
    );
    let parts = parts(checker, &at, raw.materials.as_deref(), materials, living);
    let water_kg = water(checker, &at, raw.water_l);
    let additives = additives(checker, &at, raw.bicarbonate_g, raw.lime_g);
    let starter = Starter {
        parts,
        water_kg,
        additives,
    };
    check_volume(checker, &at, &starter, materials, vessels);
    starter
}

fn check_volume(
    checker: &mut Checker,
    at: &Address,
    starter: &Starter,
    materials: &Materials<'_>,
    vessels: &[Vessel],
) {
    let wet = starter.parts.iter().map(|(_, kg)| kg).sum::<f64>() + starter.water_kg;
    let kg = wet + starter.additives.iter().map(|(_, kg)| kg).sum::<f64>();
    let room: f64 = vessels.iter().map(|v| v.liquid_m3).sum::<f64>() * KG_PER_M3 * KG_PER_L;
    if wet <= 0.0 {
        checker.wrong(
            at,
            "The starter is empty.",
            "Fill the vessels with manure or liquid from a running digester, and water.",
        );
        return;
    }
    if !vessels.is_empty() && kg > room * (1.0 + ROUND_OFF) {
        checker.wrong_value(
            at,
            format!("{} L in all", told(kg / KG_PER_L, GIVEN_DIGITS)),
            format!(
                "It does not fit: the vessels hold {} L of liquid.",
                told(room / KG_PER_L, GIVEN_DIGITS)
            ),
            "Take less, or make the vessels larger. One kilogram counts as one litre.",
        );
    }
    for (additive, key, solubility, source) in SOLUBILITY {
        let of_it = starter
            .additives
            .iter()
            .filter(|(other, _)| *other == additive);
        let given: f64 = of_it.map(|(_, kg)| kg).sum();
        let most = solubility * wet / KG_PER_L;
        if given * G_PER_KG > most {
            checker.outside(
                &at.key(key),
                told(given * G_PER_KG, MESSAGE_DIGITS),
                range(0.0, most.floor(), "g"),
                format!(
                    "No more than {solubility} g of it dissolve in a litre of water ({source}), and the equations know \
                     nothing of what lies at the bottom."
                ),
                "Take less; what the pH asks for later can be dosed then.",
            );
        }
    }
    let solids = materials.total_solids_kg(&starter.parts);
    let water = 1.0 - solids / kg;
    if water < LEAST_WATER {
        checker.wrong_value(
            at,
            format!("only {:.0} % water", 100.0 * water),
            "The starter is a heap and no liquor: the equations are those of a wet digester.",
            "Add water.",
        );
    }
}

/// All recipes, in the order of the file.
pub(crate) fn recipes(
    checker: &mut Checker,
    raw: Option<&Named<RawRecipe>>,
    materials: &mut Materials<'_>,
) -> Vec<Recipe> {
    let top = Address::default().key("recipes");
    let mut recipes = Vec::new();
    let named = raw.map_or(&[][..], |named| named.0.as_slice());
    if !checker.is_short(&top, named.len(), MOST_NAMES) {
        return recipes;
    }
    for (name, raw) in named {
        let at = top.key(name);
        checker.name(&at, Some(name));
        let given = raw.materials.as_deref();
        let recipe = Recipe {
            name: name.clone(),
            parts: parts(checker, &at, given, materials, 1.0),
            water_kg: water(checker, &at, raw.water_l),
            used: 0,
        };
        // Parts that are wrong have been named already.
        if given.is_none_or(<[_]>::is_empty) && recipe.kg() <= 0.0 {
            checker.wrong(&at, "This recipe is empty.", "Add materials or water.");
        }
        recipes.push(recipe);
    }
    recipes
}

/// Refuses a steady stream into a vessel that it would have to fill first.
pub(crate) fn full_for_inflow(checker: &mut Checker, starter: &Starter, vessels: &[Vessel]) {
    let kg = starter.parts.iter().map(|(_, kg)| kg).sum::<f64>() + starter.water_kg;
    let room: f64 = vessels.iter().map(|v| v.liquid_m3).sum::<f64>() * KG_PER_M3 * KG_PER_L;
    if kg > 0.0 && kg < room * (1.0 - ROUND_OFF) {
        checker.wrong_value(
            &Address::default().key("starter"),
            format!("{} L in all", told(kg / KG_PER_L, GIVEN_DIGITS)),
            format!(
                "A steady inflow displaces as much as it brings, so the vessel must be full from the start: it holds {} L.",
                told(room / KG_PER_L, GIVEN_DIGITS)
            ),
            "Fill it up with water, or make the vessel smaller.",
        );
    }
}

/// Warns of recipes that are never fed.
pub(crate) fn unused(checker: &mut Checker, recipes: &[Recipe]) {
    for recipe in recipes.iter().filter(|recipe| recipe.used == 0) {
        checker.warn(
            &Address::default().key("recipes").key(&recipe.name),
            "This recipe is never fed.",
            "Nothing in \"feeding\" names it.",
            "Add a line to the feeding plan, or remove the recipe.",
        );
    }
}

fn parts(
    checker: &mut Checker,
    at: &Address,
    raw: Option<&[RawPart]>,
    materials: &mut Materials<'_>,
    living_factor: f64,
) -> Vec<(usize, f64)> {
    let at = at.key("materials");
    let mut parts = Vec::new();
    let raw = raw.unwrap_or_default();
    if !checker.is_short(&at, raw.len(), MOST_PARTS) {
        return parts;
    }
    for (i, part) in raw.iter().enumerate() {
        let at = at.index(i);
        let kg = checker.required(&at.key("kg"), part.kg, &KG);
        if kg == 0.0 {
            checker.warn(
                &at.key("kg"),
                "There is none of it.",
                "0 kg of a material change nothing.",
                "Give its weight, or remove the line.",
            );
        }
        if let Some(index) = materials.find(checker, &at, part, living_factor) {
            parts.push((index, kg));
        }
    }
    parts
}

/// Added water \[kg\].
pub(crate) fn water(checker: &mut Checker, at: &Address, water_l: Option<f64>) -> f64 {
    checker.optional(&at.key("water_l"), water_l, 0.0, &WATER_L) * KG_PER_L
}

/// Additives that are not zero \[kg\].
pub(crate) fn additives(
    checker: &mut Checker,
    at: &Address,
    bicarbonate_g: Option<f64>,
    lime_g: Option<f64>,
) -> Vec<(Additive, f64)> {
    [
        (Additive::Bicarbonate, "bicarbonate_g", bicarbonate_g),
        (Additive::Lime, "lime_g", lime_g),
    ]
    .into_iter()
    .filter_map(|(additive, key, grams)| {
        let grams = checker.optional(&at.key(key), grams, 0.0, &ADDITIVE_G);
        (grams > 0.0).then_some((additive, grams / G_PER_KG))
    })
    .collect()
}
