//! What a study says of its input, and its milestones as bands.

use super::judge::Milestones;
use super::result::{Filling, Milestone, MilestoneKind, Wanted};
use super::spread::Spread;
use crate::case::Case;

/// Days over which the temperature of a start is averaged.
const FIRST_WEEKS_D: u32 = 28;

/// Amounts by name, each divided by `count`.
fn named(case: &Case, parts: &[(usize, f64)], count: f64) -> Vec<(String, f64)> {
    let mut all: Vec<(String, f64)> = Vec::new();
    for &(index, kg) in parts {
        let Some(material) = case.materials.get(index) else {
            continue;
        };
        match all.iter_mut().find(|(name, _)| *name == material.name) {
            Some((_, sum)) => *sum += kg,
            None => all.push((material.name.clone(), kg)),
        }
    }
    for (_, kg) in &mut all {
        *kg /= count;
    }
    all
}

/// The filling of day 0.
pub(super) fn filling(case: &Case) -> Filling {
    let days = FIRST_WEEKS_D.min(case.days);
    let mean = case.vessels.first().map_or(f64::NAN, |v| {
        (0..days)
            .map(|d| v.temperature.at(f64::from(d) + 0.5).0)
            .sum::<f64>()
            / f64::from(days)
    });
    Filling {
        materials: named(case, &case.starter.parts, 1.0),
        water_kg: case.starter.water_kg,
        liquid_l: 1000.0 * case.vessels.iter().map(|v| v.liquid_m3).sum::<f64>(),
        temperature_c: mean,
    }
}

/// Sums up the wanted feed: the mean over the days that are fed.
pub(super) fn wanted(case: &Case, times: f64) -> Wanted {
    let mut days: Vec<u32> = case.doses.iter().map(|d| d.day as u32).collect();
    days.dedup();
    let count = days.len().max(1) as f64;
    let parts: Vec<(usize, f64)> = case
        .doses
        .iter()
        .flat_map(|d| d.parts.iter().copied())
        .collect();
    Wanted {
        materials: named(case, &parts, count),
        water_kg: case.doses.iter().map(|d| d.water_kg).sum::<f64>() / count,
        every_days: f64::from(case.days) / count,
        times,
        loading_kg_vs_m3_d: loading(case, &parts),
    }
}

/// Loading of the first vessel with all that is fed over the run \[kg VS/m3/d\].
fn loading(case: &Case, parts: &[(usize, f64)]) -> f64 {
    let solids: f64 = parts
        .iter()
        .filter_map(|&(index, kg)| {
            Some(case.materials.get(index)?.composition.volatile_solids * kg)
        })
        .sum();
    case.vessels
        .first()
        .map_or(f64::NAN, |v| solids / f64::from(case.days) / v.liquid_m3)
}

/// A milestone as a band.
pub(super) fn milestone(kind: MilestoneKind, days: &[Option<f64>]) -> Option<Milestone> {
    Some(Milestone {
        kind,
        days: Spread::of(days)?,
    })
}

/// The milestones of draws that were not fed.
pub(super) fn milestone_spreads(unfed: &[Milestones]) -> Vec<Milestone> {
    let of = |kind, f: fn(&Milestones) -> Option<f64>| {
        milestone(kind, &unfed.iter().map(f).collect::<Vec<_>>())
    };
    [
        of(MilestoneKind::FirstGas, |m| m.first_gas),
        of(MilestoneKind::FirstFlame, |m| m.first_flame),
        of(MilestoneKind::SteadyFlame, |m| m.steady_flame),
        of(MilestoneKind::SafeFeed, |m| m.safe_feed.map(f64::from)),
    ]
    .into_iter()
    .flatten()
    .collect()
}
