//! The feeding plan of a plant: all that there is, as far as the lines of practice, the water and the wish allow.

use serde::Serialize;

use super::plant::{Plant, Season};
use super::rules::rules;
use super::wish::{Target, Wish};
use super::year::MONTHS;

/// Share of a line that the plan leaves free, so that the run, a little colder than planned or rounded, keeps it still.
pub(super) const SLACK: f64 = 0.03;

/// What keeps the feed of a month below what there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bound {
    /// Nothing: all of it is fed.
    Scraps,
    /// No more is wished for.
    Wish,
    /// The line of loading at the month's temperature, or the share of it that is used.
    Loading,
    /// The line of retention at the month's temperature.
    Retention,
    /// The water that can be carried.
    Water,
    /// The liquor is too cold to feed at all.
    Cold,
    /// The plant begins again: a share of what there is, from the middle of the month on.
    Begins,
    /// The plant rests.
    Rests,
}

/// The feed of one month.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MonthFeed {
    /// Fresh material \[kg/d\], whole plant.
    pub kg_per_day: f64,
    /// Water \[L/d\], whole plant.
    pub water_l_per_day: f64,
    /// Share of what there is.
    pub share: f64,
    /// What bounds it.
    pub bound: Bound,
    /// Loading of the liquid that it meets first \[kg VS/m3/d\].
    pub loading: f64,
    /// Retention in all units \[d\]; `None` without feed.
    pub retention_d: Option<f64>,
}

/// The largest feed of each month that keeps the lines at the temperatures given: (of the liquid that meets the feed,
/// of the whole plant) \[C\].
pub(super) fn plan(
    wish: &Wish,
    plant: &Plant,
    celsius: &[(f64, f64); MONTHS],
) -> [MonthFeed; MONTHS] {
    std::array::from_fn(|m| month(wish, plant, m, celsius[m]))
}

fn month(wish: &Wish, plant: &Plant, m: usize, (first_c, whole_c): (f64, f64)) -> MonthFeed {
    let there = wish.kg(m);
    let vs = wish.composition(Some(m)).volatile_solids;
    let litres_per_kg = 1.0 + plant.water_per_kg;
    let line = plant.line_share * rules().loading_line(first_c);
    let by_loading = (1.0 - SLACK) * line * plant.first_liquid_l() / 1000.0 / vs.max(1e-9);
    let by_retention =
        (1.0 - SLACK) * plant.liquid_l() / rules().retention_line(whole_c) / litres_per_kg;
    let by_water = match wish.builder.water_l_per_day {
        Some(limit) if plant.water_per_kg > 0.0 => limit / plant.water_per_kg,
        _ => f64::INFINITY,
    };
    let wished = match wish.target {
        Target::Treat(kg) => kg,
        _ => f64::INFINITY,
    };
    let mut out = (there, Bound::Scraps);
    match plant.season(wish, m) {
        Season::Works => {}
        Season::Begins => out = (rules().restart_share.value * there, Bound::Begins),
        Season::Rests => out = (0.0, Bound::Rests),
    }
    for (kg, bound) in [
        (wished, Bound::Wish),
        (
            by_loading,
            if line > 0.0 {
                Bound::Loading
            } else {
                Bound::Cold
            },
        ),
        (by_retention, Bound::Retention),
        (by_water, Bound::Water),
    ] {
        if kg < out.0 * (1.0 - 1e-9) {
            out = (kg, bound);
        }
    }
    let (kg, bound) = out;
    MonthFeed {
        kg_per_day: kg,
        water_l_per_day: kg * plant.water_per_kg,
        share: if there > 0.0 { kg / there } else { 0.0 },
        bound,
        loading: kg * vs / (plant.first_liquid_l() / 1000.0),
        retention_d: (kg > 0.0).then(|| plant.liquid_l() / (kg * litres_per_kg)),
    }
}
