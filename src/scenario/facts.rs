//! What a scenario amounts to before anything is computed: loading, retention, recipes.

use super::check::{KG_PER_L, Recipe};
use super::temperature::mean_c;
use crate::case::{Case, Dose};
use crate::feedstock::{self, Composition, mix};

/// Least days over which a loading is averaged, so that a single large day does not pass for a habit.
const WEEK: u32 = 7;
/// Relative round-off below which two weeks count as equally full.
const ROUND_OFF: f64 = 1e-9;
const KG_PER_M3: f64 = 1000.0;
const L_PER_M3: f64 = 1000.0;
const PERCENT: f64 = 100.0;

/// What a scenario amounts to.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// Liquid of all vessels \[L\].
    pub liquid_l: f64,
    /// The filling of day 0.
    pub starter: StarterFacts,
    /// Every recipe, in the order of the file.
    pub recipes: Vec<RecipeFacts>,
    /// The feeding; `None` when no material is ever fed.
    pub feeding: Option<FeedingFacts>,
}

/// The filling of day 0.
#[derive(Debug, Clone, PartialEq)]
pub struct StarterFacts {
    /// Everything in it \[kg\], close to litres.
    pub kg: f64,
    /// Share of the vessels' liquid volume that it fills \[%\].
    pub fills_pct: f64,
    /// Share of it that carries methane formers, by mass \[%\].
    pub living_pct: f64,
    /// Share of it that is liquid from a running digester of the library, by mass \[%\].
    pub digestate_pct: f64,
    /// One kilogram of it.
    pub per_kg: feedstock::Facts,
}

/// One recipe, at `amount` 1.
#[derive(Debug, Clone, PartialEq)]
pub struct RecipeFacts {
    /// Name in the scenario.
    pub name: String,
    /// Materials without water \[kg\].
    pub material_kg: f64,
    /// Added water \[kg\].
    pub water_kg: f64,
    /// Volatile solids \[kg\].
    pub volatile_solids_kg: f64,
    /// Methane of what a digester can reach of it \[NL\].
    pub reachable_methane_nl: f64,
    /// How many lines of the feeding plan use it.
    pub used: usize,
    /// One kilogram of it, water included.
    pub per_kg: feedstock::Facts,
    /// What one kilogram of it holds.
    pub composition: Composition,
}

/// The feeding from the first feed to the last.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedingFacts {
    /// Time of the first feed with material \[d\].
    pub first_day: f64,
    /// Time of the last feed with material \[d\].
    pub last_day: f64,
    /// Number of feeds with material.
    pub feeds: usize,
    /// Whether any material fed carries methane formers.
    pub brings_living: bool,
    /// Mean loading on all vessels from first to last feed \[kg VS/m3/d\].
    pub mean_loading: f64,
    /// Loading on all vessels in the fullest week \[kg VS/m3/d\].
    pub peak_loading: f64,
    /// The same on the first vessel, which takes everything.
    pub peak_loading_first_vessel: f64,
    /// First day of the fullest week.
    pub peak_day: u32,
    /// Length of a "week" \[d\]: seven days, or the usual time from one feed to the next where that is longer.
    pub window_d: u32,
    /// Mean retention time in all vessels from first to last feed \[d\].
    pub mean_retention_d: f64,
    /// Retention time in all vessels in the wettest week \[d\].
    pub shortest_retention_d: f64,
    /// The same in the first vessel.
    pub shortest_retention_first_vessel_d: f64,
    /// The same for what the outlet holds back: retention over the share that leaves.
    pub shortest_solids_retention_first_vessel_d: f64,
    /// Mean temperature of the first vessel from first to last feed \[C\].
    pub mean_temperature_c: f64,
}

impl Facts {
    /// Facts of a checked case with its recipes.
    pub(crate) fn of(case: &Case, recipes: &[Recipe]) -> Self {
        let liquid_m3: f64 = case.vessels.iter().map(|v| v.liquid_m3).sum();
        Self {
            liquid_l: liquid_m3 * L_PER_M3,
            starter: starter(case, liquid_m3),
            recipes: recipes
                .iter()
                .map(|recipe| of_recipe(case, recipe))
                .collect(),
            feeding: feeding(case, liquid_m3),
        }
    }
}

fn composition(case: &Case, index: usize) -> Option<&Composition> {
    case.materials.get(index).map(|m| &m.composition)
}

fn mixture(case: &Case, parts: &[(usize, f64)], water_kg: f64) -> Composition {
    let parts: Vec<(&Composition, f64)> = parts
        .iter()
        .filter_map(|(index, kg)| Some((composition(case, *index)?, *kg)))
        .collect();
    mix(&parts, water_kg)
}

fn starter(case: &Case, liquid_m3: f64) -> StarterFacts {
    let starter = &case.starter;
    let sum = |counts: &dyn Fn(usize) -> bool| -> f64 {
        let counted = starter.parts.iter().filter(|(index, _)| counts(*index));
        // From +0: the sum of nothing is -0 otherwise, and would be shown so.
        counted.fold(0.0, |sum, (_, kg)| sum + kg)
    };
    let kg = sum(&|_| true) + starter.water_kg;
    let living = sum(&|index| composition(case, index).is_some_and(is_living));
    let digestate = sum(&|index| is_digestate(case, index));
    StarterFacts {
        kg,
        fills_pct: PERCENT * kg / (liquid_m3 * KG_PER_M3 * KG_PER_L),
        living_pct: PERCENT * living / kg,
        digestate_pct: PERCENT * digestate / kg,
        per_kg: feedstock::Facts::of(&mixture(case, &starter.parts, starter.water_kg)),
    }
}

/// Whether a material carries acetate-using methane formers.
fn is_living(composition: &Composition) -> bool {
    composition.living.ac > 0.0
}

fn is_digestate(case: &Case, index: usize) -> bool {
    case.materials
        .get(index)
        .filter(|material| material.from_library)
        .and_then(|material| feedstock::library().get(&material.id))
        .is_some_and(|entry| entry.kind == feedstock::Kind::Starter)
}

fn of_recipe(case: &Case, recipe: &Recipe) -> RecipeFacts {
    let composition = mixture(case, &recipe.parts, recipe.water_kg);
    let per_kg = feedstock::Facts::of(&composition);
    let kg = recipe.kg();
    RecipeFacts {
        name: recipe.name.clone(),
        material_kg: kg - recipe.water_kg,
        water_kg: recipe.water_kg,
        volatile_solids_kg: composition.volatile_solids * kg,
        reachable_methane_nl: per_kg.reachable.methane_nl_per_kg * kg,
        used: recipe.used,
        per_kg,
        composition,
    }
}

/// What is fed on each day of the run.
struct Days {
    /// Volatile solids \[kg\].
    volatile: Vec<f64>,
    /// Volume \[m3\].
    volume: Vec<f64>,
}

fn by_day(case: &Case) -> Days {
    let steady = case.inflow.as_ref().map_or(0.0, |inflow| inflow.m3_per_d);
    let mut days = Days {
        volatile: vec![0.0; case.days as usize],
        volume: vec![steady; case.days as usize],
    };
    for dose in &case.doses {
        // Checked to lie within the run.
        let day = dose.day as usize;
        if let (Some(volatile), Some(volume)) =
            (days.volatile.get_mut(day), days.volume.get_mut(day))
        {
            *volatile += volatile_solids(case, dose);
            *volume += kg(dose) / KG_PER_L / KG_PER_M3;
        }
    }
    days
}

fn volatile_solids(case: &Case, dose: &Dose) -> f64 {
    let of = |(index, kg): &(usize, f64)| {
        composition(case, *index).map_or(0.0, |c| c.volatile_solids * kg)
    };
    dose.parts.iter().map(of).sum()
}

fn kg(dose: &Dose) -> f64 {
    let parts: f64 = dose.parts.iter().map(|(_, kg)| kg).sum();
    let additives: f64 = dose.additives.iter().map(|(_, kg)| kg).sum();
    parts + dose.water_kg + additives
}

/// A week, or the middle time from one feed to the next where that is longer: a feed every fortnight is no habit of
/// twice its size.
fn window_d(volume: &[f64]) -> u32 {
    let fed = (0..).zip(volume).filter(|(_, volume)| **volume > 0.0);
    let days: Vec<u32> = fed.map(|(day, _)| day).collect();
    let mut gaps: Vec<u32> = days.windows(2).map(|w| w[1] - w[0]).collect();
    gaps.sort_unstable();
    gaps.get(gaps.len() / 2)
        .map_or(WEEK, |gap| (*gap).max(WEEK))
}

/// Largest mean over a week of `width` days and the first day on which such a week begins.
fn fullest_week(days: &[f64], width: u32) -> (f64, u32) {
    let width = days.len().min(width as usize).max(1);
    let mut best = (0.0, 0);
    for (start, week) in (0..).zip(days.windows(width)) {
        let mean = week.iter().sum::<f64>() / width as f64;
        if mean > best.0 * (1.0 + ROUND_OFF) {
            best = (mean, start);
        }
    }
    best
}

fn feeding(case: &Case, liquid_m3: f64) -> Option<FeedingFacts> {
    let fed: Vec<&Dose> = case.doses.iter().filter(|d| !d.parts.is_empty()).collect();
    let (first, last) = (fed.first()?, fed.last()?);
    let vessel = case.vessels.first()?;
    let days = by_day(case);
    let (from, to) = (first.day as usize, last.day as usize + 1);
    let mean = |list: &[f64]| {
        let span = list.get(from..to).unwrap_or_default();
        span.iter().sum::<f64>() / span.len().max(1) as f64
    };
    let window_d = window_d(&days.volume);
    let (peak, peak_day) = fullest_week(&days.volatile, window_d);
    let (wettest, _) = fullest_week(&days.volume, window_d);
    let first_vessel = vessel.liquid_m3 / wettest;
    Some(FeedingFacts {
        first_day: first.day,
        last_day: last.day,
        feeds: fed.len(),
        brings_living: fed
            .iter()
            .flat_map(|dose| &dose.parts)
            .any(|(index, _)| composition(case, *index).is_some_and(is_living)),
        mean_loading: mean(&days.volatile) / liquid_m3,
        peak_loading: peak / liquid_m3,
        peak_loading_first_vessel: peak / vessel.liquid_m3,
        peak_day,
        window_d,
        mean_retention_d: liquid_m3 / mean(&days.volume),
        shortest_retention_d: liquid_m3 / wettest,
        shortest_retention_first_vessel_d: first_vessel,
        shortest_solids_retention_first_vessel_d: first_vessel / (1.0 - vessel.solids_held_back),
        mean_temperature_c: mean_c(&vessel.temperature, first.day as u32, last.day as u32 + 1),
    })
}
