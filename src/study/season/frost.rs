//! Frost on the line: what of the plant holds water that freezes, and when.

use super::outcome::{Frost, SeasonDay};
use crate::case::Plant;
use crate::plant::cleaning::{Stage, bed_row};
use crate::plant::store::StoreSettings;

/// Water freezes \[C\].
const FREEZES_C: f64 = 0.0;

/// Whether the line falls below freezing on a day.
pub(super) fn freezes_on(day: &SeasonDay) -> bool {
    day.line_low_c < FREEZES_C
}

/// The frost of a run; `None` where pipes, beds and store stay above freezing.
pub(super) fn frost(plant: &Plant, days: &[SeasonDay]) -> Option<Frost> {
    let cold = || days.iter().filter(|day| freezes_on(day));
    Some(Frost {
        days: cold().count(),
        from_day: cold().next()?.day,
        to_day: cold().next_back()?.day,
        coldest_c: cold()
            .map(|day| day.line_low_c)
            .fold(f64::INFINITY, f64::min),
        freezes: holds_water(plant),
    })
}

/// A frost after so many days without is another winter's \[d\]. Assumed.
const THAWED_D: u32 = 90;

/// The frost of each winter of a run.
pub(super) fn winters(plant: &Plant, days: &[SeasonDay]) -> Vec<Frost> {
    let cold: Vec<SeasonDay> = days.iter().filter(|day| freezes_on(day)).copied().collect();
    let winters = cold.chunk_by(|a, b| b.day - a.day < THAWED_D);
    winters.filter_map(|winter| frost(plant, winter)).collect()
}

/// What holds water out of doors.
fn holds_water(plant: &Plant) -> Vec<String> {
    let mut parts = match plant.store {
        StoreSettings::Bell(_) => vec!["the water under the bell".to_owned()],
        StoreSettings::Bag(_) => Vec::new(),
    };
    parts.push("the water seal".to_owned());
    parts.push("the water that settles in the pipes".to_owned());
    let is_trap = |stage: &Stage| matches!(stage, Stage::WaterTrap(_));
    let is_wet = |stage: &Stage| matches!(stage, Stage::Bed(bed) if bed_row(bed.material).wet);
    if plant.cleaning.iter().any(is_trap) {
        parts.push("the water trap".to_owned());
    }
    if plant.cleaning.iter().any(is_wet) {
        parts.push("the damp beds".to_owned());
    }
    parts
}
