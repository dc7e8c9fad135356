//! Which unknown matters most: rank correlation of results with factors.

use serde::Serialize;

use super::level::Gather;
use super::member::Member;
use crate::study::correlation::spearman;
use crate::study::sampling::Points;
use crate::study::uncertain::Uncertain;

/// Results that are set against the factors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Target {
    /// Days to the first flame; never counts as later than any day.
    FirstFlame,
    /// Lowest pH.
    LowestPh,
    /// Methane per volatile solids at the end.
    Yield,
}

impl Target {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::FirstFlame, Self::LowestPh, Self::Yield];

    fn of(self, member: &Member, days: u32) -> f64 {
        match self {
            // Ranks alone count: any number beyond the run says "never".
            Self::FirstFlame => member
                .first_flame_day
                .unwrap_or_else(|| 2.0 * f64::from(days) + 1.0),
            Self::LowestPh => member.lowest_ph,
            Self::Yield => member.yield_nl_kg_vs,
        }
    }
}

/// How surely a result goes with a factor.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Matter {
    /// Which result.
    pub target: Target,
    /// Name of the factor.
    pub factor: String,
    /// Rank correlation, -1..=1: above 0 the result grows with the factor.
    pub correlation: f64,
    /// Whether it is larger than chance alone explains.
    pub sure: bool,
}

/// Correlations of all results with all factors that vary and are drawn once a run; strongest first within a result.
/// A result that is the same in all runs has none.
pub(super) fn matters(
    uncertain: &Uncertain,
    points: &Points,
    gather: &Gather,
    days: u32,
) -> Vec<Matter> {
    let kept = gather.kept();
    let level = crate::study::correlation::chance_level(kept.len()).unwrap_or(1.0);
    let mut all = Vec::new();
    for target in Target::ALL {
        let values: Vec<f64> = kept.iter().map(|k| target.of(&k.member, days)).collect();
        let mut of_target: Vec<Matter> = uncertain
            .columns()
            .enumerate()
            .filter(|(_, factor)| factor.is_on())
            .filter_map(|(column, factor)| {
                let drawn: Option<Vec<f64>> = kept
                    .iter()
                    .map(|k| points.row(k.draw)?.get(column).copied())
                    .collect();
                let correlation = spearman(&drawn?, &values)?;
                Some(Matter {
                    target,
                    factor: factor.name.clone(),
                    correlation,
                    sure: correlation.abs() > level,
                })
            })
            .collect();
        of_target.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
        all.extend(of_target);
    }
    all
}
