//! What speaks against a scenario although it can be computed: each with its reason and source.

use super::address::Address;
use super::check::Checker;
use super::facts::{Facts, FeedingFacts, RecipeFacts};
use super::near::listed;
use crate::feedstock::{self, Provenance, Threshold, WarningKind, library};
use crate::units::told;

/// Recipes that a warning names at most.
const NAMED_RECIPES: usize = 12;
/// Significant digits of a number in a warning.
const WARNING_DIGITS: usize = 3;

/// Highest loading of a simple plant \[kg VS/m3/d\]. Source: Werner, Stoehr and Hees (1989), GTZ.
const SIMPLE_PLANT_LOADING: f64 = 1.5;
/// Highest loading with food alone \[kg VS/m3/d\]. Source: Zhang et al. (2020) Energies 13, 1279.
const FOOD_ALONE_LOADING: f64 = 2.0;
/// Least share of living starter \[% by mass\]. Common practice, no source; own computation with the published ADM1
/// constants at 35 C and full feed: a tank with a tenth of healthy liquor recovers, one with 7 % turns sour.
const LEAST_LIVING_PCT: f64 = 10.0;
/// Least share of the vessels' liquid that a starter should fill \[%\]. Common practice, no source.
const LEAST_FILL_PCT: f64 = 50.0;
/// From this share of running liquor on, a starter needs no rest \[% by mass\]. Common practice, no source.
const RUNNING_START_PCT: f64 = 30.0;
/// Rest before the first feed by temperature: (from \[C\], days). Source of "several days to several weeks, no feed
/// until stable": ISAT/GTZ Biogas Digest vol. II; its division by temperature is common practice, no source.
const REST: [(f64, f64); 3] = [(30.0, 7.0), (20.0, 14.0), (f64::NEG_INFINITY, 21.0)];
/// Retention by temperature: (\[C\], least, suggested \[d\]). Source: McCarty (1964), from memory.
const RETENTION: [(f64, f64, f64); 5] = [
    (18.0, 11.0, 28.0),
    (24.0, 8.0, 20.0),
    (30.0, 6.0, 14.0),
    (35.0, 4.0, 10.0),
    (40.0, 4.0, 10.0),
];
/// Retention below the table \[d\]. Source: Werner, Stoehr and Hees (1989), GTZ: over 100 d without warmth.
const COLD_RETENTION: f64 = 100.0;

/// Adds what speaks against a scenario to the warnings.
pub(crate) fn advise(checker: &mut Checker, facts: &Facts) {
    on_recipes(checker, &facts.recipes);
    on_starter(checker, facts);
    if let Some(feeding) = &facts.feeding {
        on_start(checker, facts, feeding);
        on_loading(checker, feeding);
        on_food_alone(checker, feeding);
        on_retention(checker, feeding);
    }
}

fn feeding_at() -> Address {
    Address::default().key("feeding")
}

/// Objections of one kind to several recipes are one: those of a year differ by month and little else.
fn on_recipes(checker: &mut Checker, recipes: &[RecipeFacts]) {
    // A recipe without material is water; whether methane formers come along is a matter of the whole feed.
    let found = recipes
        .iter()
        .filter(|r| r.material_kg > 0.0)
        .flat_map(|r| {
            let warnings = feedstock::warnings(&r.composition, &r.per_kg).into_iter();
            warnings.map(|w| (r.name.as_str(), w.value, w.threshold))
        });
    let mut kinds: Vec<(&'static Threshold, Vec<(&str, f64)>)> = Vec::new();
    for (name, value, threshold) in found {
        if threshold.kind == WarningKind::NoManure {
            continue;
        }
        match kinds
            .iter_mut()
            .find(|(known, _)| known.kind == threshold.kind)
        {
            Some((_, list)) => list.push((name, value)),
            None => kinds.push((threshold, vec![(name, value)])),
        }
    }
    let top = Address::default().key("recipes");
    for (threshold, list) in kinds {
        let why = format!("{} {}", threshold.reason, source(&threshold.provenance));
        let (unit, limit) = (&threshold.unit, threshold.limit);
        let (at, seen) = match list.as_slice() {
            [(name, value)] => (
                top.key(name),
                format!(
                    "This recipe has {} {unit}, where the limit is {limit}.",
                    told(*value, WARNING_DIGITS)
                ),
            ),
            several => {
                let ends = several
                    .iter()
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, v)| {
                        (low.min(*v), high.max(*v))
                    });
                let (low, high) = (told(ends.0, WARNING_DIGITS), told(ends.1, WARNING_DIGITS));
                let between = if low == high {
                    low
                } else {
                    format!("{low} to {high}")
                };
                (
                    // At the first of them: the place has a line, and who leaves recipes out by name goes on doing so.
                    several
                        .first()
                        .map_or_else(|| top.clone(), |(name, _)| top.key(name)),
                    format!(
                        "{} recipes ({}) have {between} {unit}, where the limit is {limit}.",
                        several.len(),
                        listed(several.iter().map(|(name, _)| *name), NAMED_RECIPES)
                    ),
                )
            }
        };
        checker.warn(&at, seen, why, threshold.mend.clone());
    }
}

fn source(provenance: &Provenance) -> String {
    let citations: Vec<&str> = provenance
        .refs
        .iter()
        .filter_map(|id| Some(library().reference(id)?.citation.as_str()))
        .collect();
    format!(
        "Source: {} ({}).",
        citations.join("; "),
        provenance.how.words()
    )
}

fn on_starter(checker: &mut Checker, facts: &Facts) {
    let living = facts.starter.living_pct;
    if living < LEAST_LIVING_PCT {
        checker.warn(
            &Address::default().key("starter"),
            format!("Only {} % of the starter carries methane formers.", told(living, WARNING_DIGITS)),
            "With less than a tenth the acid formers win, and the digester turns sour under feed (common practice, and \
             own computation with the published ADM1 constants).",
            "Take more manure, or better liquid from a running digester.",
        );
    }
    let fills = facts.starter.fills_pct;
    if fills < LEAST_FILL_PCT {
        checker.warn(
            &Address::default().key("starter"),
            format!("The starter fills only {} % of the liquid volume.", told(fills, WARNING_DIGITS)),
            "Feed for the whole volume is then too much for the little that lives in it, and all the empty space holds air \
             (common practice, no source).",
            "Fill up with more starter and water, or feed by what is there.",
        );
    }
}

fn on_start(checker: &mut Checker, facts: &Facts, feeding: &FeedingFacts) {
    let celsius = feeding.mean_temperature_c;
    let rest = REST
        .iter()
        .find(|(from, _)| celsius >= *from)
        .map_or(0.0, |(_, days)| *days);
    if facts.starter.digestate_pct < RUNNING_START_PCT && feeding.first_day < rest {
        checker.warn(
            &feeding_at(),
            format!("The first feed comes on day {}.", feeding.first_day.floor()),
            format!(
                "A starter of manure needs several days to several weeks before it is stable and bears feed \
                 (ISAT/GTZ Biogas Digest vol. II); at {celsius:.0} C reckon with {rest} days (common practice, no source)."
            ),
            "Begin later, climb with a ramp, or start with liquid from a running digester.",
        );
    }
}

fn on_loading(checker: &mut Checker, feeding: &FeedingFacts) {
    let loading = feeding.peak_loading_first_vessel;
    if loading > SIMPLE_PLANT_LOADING {
        checker.warn(
            &feeding_at(),
            format!(
                "In the {} from day {} the first vessel takes {loading:.1} kg VS/m3/d.",
                week(feeding),
                feeding.peak_day
            ),
            format!(
                "Simple plants bear at most about {SIMPLE_PLANT_LOADING} (Werner, Stoehr and Hees 1989, GTZ); cold, \
                 unstirred or young ones less."
            ),
            "Feed less, or build larger.",
        );
    }
}

fn on_food_alone(checker: &mut Checker, feeding: &FeedingFacts) {
    if feeding.brings_living {
        return;
    }
    let loading = feeding.peak_loading_first_vessel;
    if loading > FOOD_ALONE_LOADING {
        checker.warn(
            &feeding_at(),
            format!("Food or plants alone are fed, {loading:.1} kg VS/m3/d in the fullest week."),
            format!(
                "Without manure, trace elements run short, and digesters of food waste alone held {FOOD_ALONE_LOADING} \
                 at most (Zhang et al. 2020, Energies 13, 1279)."
            ),
            "Add some manure regularly, or feed less.",
        );
        return;
    }
    let threshold = feedstock::thresholds()
        .iter()
        .find(|threshold| threshold.kind == WarningKind::NoManure);
    if let Some(threshold) = threshold {
        checker.warn(
            &feeding_at(),
            "Food or plants alone are fed.",
            format!("{} {}", threshold.reason, source(&threshold.provenance)),
            threshold.mend.clone(),
        );
    }
}

fn on_retention(checker: &mut Checker, feeding: &FeedingFacts) {
    let celsius = feeding.mean_temperature_c;
    let days = feeding.shortest_solids_retention_first_vessel_d;
    let (least, suggested, source) = retention(celsius);
    if days >= suggested {
        return;
    }
    let judgement = if days < least {
        "below that the methane formers are washed out faster than they grow"
    } else {
        "below that there is no reserve against cold or overfeeding"
    };
    let bound = if days < least { least } else { suggested };
    checker.warn(
        &feeding_at(),
        format!("In the wettest week the first vessel holds its solids for {days:.0} days only."),
        format!("At {celsius:.0} C it takes about {bound:.0} days: {judgement} ({source})."),
        "Add less water, feed less, or build larger.",
    );
}

/// Least and suggested retention at a temperature \[d\], and their source.
fn retention(celsius: f64) -> (f64, f64, &'static str) {
    let [coldest, .., warmest] = RETENTION;
    if celsius < coldest.0 {
        // No least retention is known there; the suggested one covers it.
        return (0.0, COLD_RETENTION, "Werner, Stoehr and Hees 1989, GTZ");
    }
    let source = "McCarty 1964, from memory";
    for pair in RETENTION.windows(2) {
        if let [a, b] = pair
            && celsius <= b.0
        {
            let share = (celsius - a.0) / (b.0 - a.0);
            let between = |low: f64, high: f64| low + share * (high - low);
            return (between(a.1, b.1), between(a.2, b.2), source);
        }
    }
    (warmest.1, warmest.2, source)
}

/// The stretch over which loadings are averaged, in words.
fn week(feeding: &FeedingFacts) -> String {
    match feeding.window_d {
        7 => "week".to_owned(),
        days => format!("{days} days"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn retention_follows_the_table_and_lies_between_its_rows() {
        // McCarty (1964): 18 C 11/28, 24 C 8/20, 30 C 6/14, 35 C 4/10, 40 C 4/10.
        assert_eq!(retention(24.0).0, 8.0);
        assert_eq!(retention(24.0).1, 20.0);
        assert_eq!(retention(27.0).1, 17.0);
        assert_eq!(retention(55.0).1, 10.0);
        assert_eq!(retention(10.0).1, 100.0);
    }
}
