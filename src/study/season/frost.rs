//! Frost on the line: what of the plant holds water that freezes, and when.

use super::HOURS;
use super::outcome::Frost;
use crate::case::Plant;
use crate::plant::cleaning::{Stage, bed_row};
use crate::plant::store::StoreSettings;

/// Water freezes \[C\].
const FREEZES_C: f64 = 0.0;

/// The frost of a run of so many days; `None` where pipes, beds and store stay above freezing.
pub(super) fn frost(plant: &Plant, days: usize) -> Option<Frost> {
    let coldest = |day: usize| {
        (0..HOURS)
            .map(|hour| super::line_c(plant, day as f64 + hour as f64 / HOURS as f64))
            .fold(f64::INFINITY, f64::min)
    };
    let cold: Vec<(usize, f64)> = (0..days)
        .map(|day| (day, coldest(day)))
        .filter(|(_, celsius)| *celsius < FREEZES_C)
        .collect();
    let from_day = cold.first()?.0;
    Some(Frost {
        days: cold.len(),
        from_day: u32::try_from(from_day).unwrap_or(u32::MAX),
        coldest_c: cold.iter().map(|(_, c)| *c).fold(f64::INFINITY, f64::min),
        freezes: freezes(plant),
    })
}

/// What holds water out of doors.
fn freezes(plant: &Plant) -> Vec<String> {
    let mut parts = match plant.store {
        StoreSettings::Bell(_) => vec!["the water under the bell".to_owned()],
        StoreSettings::Bag(_) => Vec::new(),
    };
    parts.push("the water seal".to_owned());
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
