//! Which unknown matters most: rank correlation of results with factors.

use serde::Serialize;

use super::level::{Gather, Kept};
use super::member::Member;
use super::summary::{Planned, Summary};
use crate::case::Case;
use crate::study::correlation::{chance_level_of_many, spearman};
use crate::study::sampling::Points;
use crate::study::uncertain::{Factor, Uncertain};

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
    /// Which number of each draw stands for the factor.
    pub by: Summary,
    /// Rank correlation, -1..=1: above 0 the result grows with the factor.
    pub correlation: f64,
    /// Whether it is larger than chance alone explains, however many are looked at.
    pub sure: bool,
}

/// Correlations of all results with all factors that vary, strongest first within a result, and the size that none of
/// all these exceeds by mere chance in nineteen of twenty studies of as many runs.
///
/// A result that is the same in all runs has no correlation, and neither has a factor of which a draw has no number:
/// the daily feed where nothing is fed. `case` is the planned one.
pub(super) fn matters(
    uncertain: &Uncertain,
    points: &Points,
    gather: &Gather,
    case: &Case,
    seed: u64,
) -> (Vec<Matter>, Option<f64>) {
    let kept = gather.kept();
    let draws: Vec<usize> = kept.iter().map(|k| k.draw).collect();
    let inputs = inputs(uncertain, points, &draws, case, seed);
    let chance = chance_level_of_many(kept.len(), inputs.len());
    let mut all = Vec::new();
    for target in Target::ALL {
        let of = |k: &Kept| target.of(&k.member, case.days);
        let values: Vec<f64> = kept.iter().map(of).collect();
        let mut of_target: Vec<Matter> = inputs
            .iter()
            .filter(|input| input.target == target)
            .filter_map(|input| {
                let correlation = spearman(&input.drawn, &values)?;
                Some(Matter {
                    target,
                    factor: input.factor.name.clone(),
                    by: input.by,
                    correlation,
                    sure: correlation.abs() > chance.unwrap_or(1.0),
                })
            })
            .collect();
        of_target.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
        all.extend(of_target);
    }
    (all, chance)
}

/// One factor as it is held against one result.
struct Input<'a> {
    target: Target,
    factor: &'a Factor,
    by: Summary,
    /// A number for each draw.
    drawn: Vec<f64>,
}

fn inputs<'a>(
    uncertain: &'a Uncertain,
    points: &Points,
    draws: &[usize],
    case: &Case,
    seed: u64,
) -> Vec<Input<'a>> {
    let mut inputs = Vec::new();
    let mut column = 0;
    for factor in &uncertain.factors {
        let planned = Planned::of(case, &factor.effect);
        for target in Target::ALL.into_iter().filter(|_| factor.is_on()) {
            let by = match factor.every_days {
                None => Summary::Value,
                Some(_) => Summary::before(target),
            };
            let drawn = draws.iter().map(|&draw| match factor.every_days {
                None => points.row(draw)?.get(column).copied(),
                Some(_) => {
                    let course = uncertain.course(factor, case.days, draw as u64, seed)?;
                    planned.as_ref()?.times(by, &course)
                }
            });
            if let Some(drawn) = drawn.collect() {
                inputs.push(Input {
                    target,
                    factor,
                    by,
                    drawn,
                });
            }
        }
        column += usize::from(factor.every_days.is_none());
    }
    inputs
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

    /// A run in which nothing but these two differs.
    fn member(lowest_ph: f64, yield_nl_kg_vs: f64) -> Member {
        Member {
            sour_day: None,
            sour_at_end: false,
            first_flame_day: None,
            steady_flame_day: None,
            lowest_ph,
            highest_acid_ratio: 0.1,
            methane_nl: 1.0,
            yield_nl_kg_vs,
            days: Vec::new(),
        }
    }

    /// Two kilograms of dung and a litre of water every day.
    fn fed_daily(days: u32) -> Case {
        let text = format!(
            r#"{{"title": "t", "about": "a", "days": {days},
            "vessels": [{{"liquid_l": 800, "headspace_l": 200, "temperature": {{"constant_c": 30}}}}],
            "starter": {{"materials": [{{"material": "cattle-slurry", "kg": 400}}], "water_l": 300}},
            "recipes": {{"bucket": {{"materials": [{{"material": "cattle-dung", "kg": 2}}], "water_l": 1}}}},
            "feeding": [{{"daily": {{"recipe": "bucket", "from_day": 0}}}}]}}"#
        );

        crate::scenario::from_text(&text, "t", None).unwrap().case
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
            gather.push(draw, &member(7.0, sum));
        }
        let (found, _) = matters(&uncertain, &points, &gather, &fed_daily(10), 5);
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

    /// Kilograms of all material of a case on each day, as a draw really feeds them.
    fn kilograms(case: &Case) -> Vec<f64> {
        let mut days = vec![0.0; case.days as usize];
        for dose in &case.doses {
            days[dose.day as usize] += dose.parts.iter().map(|(_, kg)| kg).sum::<f64>();
        }
        days
    }

    #[test]
    fn what_hangs_on_the_sum_of_the_daily_feed_or_of_the_batches_ranks_perfectly_with_it() {
        let case = fed_daily(84);
        let seed = 11;
        for name in ["daily-feed", "batches"] {
            let one = Uncertain::standard().only(&[name]).unwrap();
            let points = one.points(200, seed).unwrap();
            let mut gather = Gather::new(200);
            for (draw, point) in points.rows().enumerate() {
                // What is fed comes from the case that is really run, not from the numbers that are ranked.
                let run = one.apply(&case, point, draw as u64, seed);
                let fed = kilograms(&run);
                let heaviest = (0..=84 - 28).map(|d| fed[d..d + 28].iter().sum::<f64>());
                let heaviest = heaviest.fold(0.0, f64::max);
                gather.push(draw, &member(9.0 - heaviest / 100.0, fed.iter().sum()));
            }
            let (found, chance) = matters(&one, &points, &gather, &case, seed);
            let told: Vec<_> = found
                .iter()
                .map(|m| {
                    let whole = m.correlation.round();
                    assert!((m.correlation - whole).abs() < 1e-12, "{m:?}");
                    (m.target, m.factor.as_str(), m.by, whole, m.sure)
                })
                .collect();
            let expected = [
                (Target::LowestPh, name, Summary::HeaviestWeeks, -1.0, true),
                (Target::Yield, name, Summary::WholeRun, 1.0, true),
            ];
            assert_eq!(told, expected);
            // Three looks: two results that differ, and the flame that never comes.
            assert_eq!(chance, chance_level_of_many(200, 3));
        }
    }

    #[test]
    fn two_daily_unknowns_share_a_result_as_its_coefficients_say() {
        let case = fed_daily(84);
        let seed = 2;
        let both = Uncertain::standard()
            .only(&["daily-feed", "batches"])
            .unwrap();
        let points = both.points(4000, seed).unwrap();
        let mean = |name: &str, draw: u64| {
            let course = both
                .course(both.find(name).unwrap(), 84, draw, seed)
                .unwrap();
            (0..84).map(|d| course.on(f64::from(d))).sum::<f64>() / 84.0
        };
        let standard = |values: Vec<f64>| -> Vec<f64> {
            let n = values.len() as f64;
            let middle = values.iter().sum::<f64>() / n;
            let sd = (values
                .iter()
                .map(|v| (v - middle) * (v - middle))
                .sum::<f64>()
                / n)
                .sqrt();
            values.iter().map(|v| (v - middle) / sd).collect()
        };
        let feed = standard((0..4000).map(|d| mean("daily-feed", d)).collect());
        let solids = standard((0..4000).map(|d| mean("batches", d)).collect());
        let mut gather = Gather::new(4000);
        for draw in 0..4000 {
            gather.push(draw, &member(7.0, 3.0 * feed[draw] - solids[draw]));
        }
        let (found, _) = matters(&both, &points, &gather, &case, seed);
        let size = 10.0_f64.sqrt();
        for (matter, (name, c)) in found.iter().zip([("daily-feed", 3.0), ("batches", -1.0)]) {
            assert_eq!((matter.factor.as_str(), matter.sure), (name, true));
            // Means of 84 and of 12 draws are near enough to normal; one standard error of 4000 pairs is 0.016.
            let expected = rank_correlation(c / size);
            assert!(
                (matter.correlation - expected).abs() < 0.032,
                "{matter:?} {expected}"
            );
        }
        assert_eq!(found.len(), 2);
    }

    #[test]
    fn without_feed_in_the_days_that_count_there_is_no_correlation() {
        let mut case = fed_daily(84);
        case.doses.retain(|dose| dose.day >= 40.0);
        let one = Uncertain::standard().only(&["daily-feed"]).unwrap();
        let points = one.points(30, 1).unwrap();
        let mut gather = Gather::new(30);
        for draw in 0..30 {
            let mut member = member(7.0 - draw as f64 / 100.0, draw as f64);
            member.first_flame_day = Some(draw as f64);
            gather.push(draw, &member);
        }
        let (found, chance) = matters(&one, &points, &gather, &case, 1);
        let targets: Vec<Target> = found.iter().map(|m| m.target).collect();
        assert_eq!(targets, [Target::LowestPh, Target::Yield]);
        assert_eq!(chance, chance_level_of_many(30, 2));
    }
}
