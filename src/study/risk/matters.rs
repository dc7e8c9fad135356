//! Which unknown matters most: rank correlation of results with factors.

use serde::Serialize;

use super::level::Gather;
use super::member::Member;
use crate::study::correlation::{chance_level_of_many, spearman};
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
    /// Whether it is larger than chance alone explains, however many are looked at.
    pub sure: bool,
}

/// Size of correlation that none of all these exceeds by mere chance in nineteen of twenty studies of `runs` runs.
pub(super) fn level(uncertain: &Uncertain, runs: usize) -> Option<f64> {
    let factors = uncertain.columns().filter(|f| f.is_on()).count();
    chance_level_of_many(runs, factors * Target::ALL.len())
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
    let level = level(uncertain, kept.len()).unwrap_or(1.0);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::distribution::Distribution;

    /// Correlated normals with product-moment correlation `r` have this rank correlation. Source: K. Pearson 1907,
    /// Drapers' Company Research Memoirs, Biometric Series IV; from memory.
    fn rank_correlation(r: f64) -> f64 {
        6.0 / std::f64::consts::PI * (r / 2.0).asin()
    }

    #[test]
    fn a_linear_toy_ranks_its_factors_as_its_coefficients_do() {
        const COEFFICIENTS: [f64; 4] = [0.0, -3.0, 1.0, 0.3];
        let mut uncertain = Uncertain::standard();
        uncertain.factors.truncate(COEFFICIENTS.len());
        for factor in &mut uncertain.factors {
            factor.distribution = Distribution::Normal {
                mean: 0.0,
                sd: 1.0,
                low: -8.0,
                high: 8.0,
            };
        }
        let points = uncertain.points(4000, 5).unwrap();
        let mut gather = Gather::new(4000);
        for (draw, row) in points.rows().enumerate() {
            let sum = row.iter().zip(COEFFICIENTS).map(|(x, c)| x * c).sum();
            let member = Member {
                sour_day: None,
                sour_at_end: false,
                first_flame_day: None,
                steady_flame_day: None,
                lowest_ph: 7.0,
                highest_acid_ratio: 0.1,
                methane_nl: 1.0,
                yield_nl_kg_vs: sum,
                days: Vec::new(),
            };
            gather.push(draw, &member);
        }
        let found = matters(&uncertain, &points, &gather, 10);
        // What never differs has no correlation.
        assert!(found.iter().all(|m| m.target == Target::Yield));
        let order: Vec<&str> = found.iter().map(|m| m.factor.as_str()).collect();
        let names: Vec<&str> = uncertain.factors.iter().map(|f| f.name.as_str()).collect();
        assert_eq!(order, [names[1], names[2], names[3], names[0]]);
        let size = COEFFICIENTS.iter().map(|c| c * c).sum::<f64>().sqrt();
        for (matter, c) in found.iter().zip([-3.0, 1.0, 0.3, 0.0]) {
            let expected = rank_correlation(c / size);
            // One standard error of 4000 pairs is 0.016.
            assert!(
                (matter.correlation - expected).abs() < 0.032,
                "{matter:?} {expected}"
            );
            assert_eq!(matter.sure, c != 0.0, "{matter:?}");
        }
    }
}
