//! What would make a start shorter: the same draws with another filling or more warmth.

use serde::Serialize;

use super::spread::Spread;
use crate::case::{Case, Material, Starter};
use crate::feedstock::library;

/// More starter: half as much again.
const MORE: f64 = 0.5;
/// More warmth \[K\].
const WARMER_K: f64 = 5.0;
/// A bucket \[kg\], of liquor that weighs nearly a kilogram a litre.
const BUCKET_KG: f64 = 20.0;
/// What is in it.
const DIGESTATE: &str = "digestate-cattle";
/// Less than this is no change worth a line \[kg\].
const LEAST_KG: f64 = 0.5;

/// Kinds of change.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum ShortenerKind {
    /// More of the starter's materials in place of water.
    MoreStarter {
        /// How much more \[kg\].
        kg: f64,
    },
    /// Warmer all the time.
    Warmer {
        /// By how much \[K\].
        k: f64,
    },
    /// Liquor from a running digester in place of water, or of the filling where there is not enough water.
    Digestate {
        /// How much \[kg\].
        kg: f64,
    },
}

/// Days won by a change, on the same draws. A draw that never gets there counts as if it did on the last day, so that
/// what is won where it otherwise never burns is at least this much.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Shortener {
    /// The change.
    pub kind: ShortenerKind,
    /// Days won until the gas burns steadily.
    pub flame: Spread,
    /// Days won until feeding is safe.
    pub feed: Spread,
    /// Share of draws in which feeding never becomes safe, without and with the change.
    pub never_safe: (f64, f64),
}

/// The changes that this case allows.
pub(super) fn changed(case: &Case) -> Vec<(ShortenerKind, Case)> {
    let mut cases = vec![(
        ShortenerKind::Warmer { k: WARMER_K },
        warmer(case, WARMER_K),
    )];
    cases.extend(more_starter(case));
    cases.extend(digestate(case));
    cases
}

fn warmer(case: &Case, k: f64) -> Case {
    let mut case = case.clone();
    for vessel in &mut case.vessels {
        vessel.warm(k);
    }
    case
}

fn materials_kg(starter: &Starter) -> f64 {
    starter.parts.iter().map(|(_, kg)| kg).sum()
}

/// Half as much starter again, or as much as the water leaves room for.
fn more_starter(case: &Case) -> Option<(ShortenerKind, Case)> {
    let now = materials_kg(&case.starter);
    let kg = (MORE * now).min(case.starter.water_kg);
    if kg < LEAST_KG {
        return None;
    }
    let mut case = case.clone();
    for (_, part) in &mut case.starter.parts {
        *part *= 1.0 + kg / now;
    }
    case.starter.water_kg -= kg;
    Some((ShortenerKind::MoreStarter { kg }, case))
}

fn digestate(case: &Case) -> Option<(ShortenerKind, Case)> {
    let entry = library().get(DIGESTATE)?;
    let total = materials_kg(&case.starter) + case.starter.water_kg;
    // In a small vessel a bucket would be the whole filling.
    let kg = BUCKET_KG.min(total / 4.0);
    if kg < LEAST_KG {
        return None;
    }
    let mut case = case.clone();
    let starter = &mut case.starter;
    if starter.water_kg >= kg {
        starter.water_kg -= kg;
    } else {
        let rest = 1.0 - kg / total;
        starter.water_kg *= rest;
        for (_, part) in &mut starter.parts {
            *part *= rest;
        }
    }
    starter.parts.push((case.materials.len(), kg));
    case.materials.push(Material {
        id: DIGESTATE.to_owned(),
        name: entry.name.clone(),
        from_library: true,
        composition: entry.composition().clone(),
    });
    Some((ShortenerKind::Digestate { kg }, case))
}

/// Days won, draw by draw; a draw that never gets there counts as `last`.
pub(super) fn won(before: &[Option<f64>], after: &[Option<f64>], last: f64) -> Option<Spread> {
    let days: Vec<Option<f64>> = before
        .iter()
        .zip(after)
        .map(|(b, a)| Some(b.unwrap_or(last) - a.unwrap_or(last)))
        .collect();
    Spread::of(&days)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_that_never_gets_there_counts_as_the_last_day() {
        let spread = won(&[Some(30.0), None], &[Some(20.0), Some(60.0)], 100.0).unwrap();
        assert_eq!(spread.p50, Some(25.0));
        assert_eq!(won(&[None], &[None], 100.0).unwrap().p50, Some(0.0));
    }
}
