//! The runs of one level of feeding: chances, waiting times, spreads.

use serde::Serialize;

use super::member::Member;
use crate::study::statistics::{CONFIDENCE, Chance, chance, percentiles};

/// Percentiles of a number, in its unit; `None` where a percentile lies among the runs that never got there.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Spread {
    /// 5 % of the runs lie below.
    pub p05: Option<f64>,
    /// 25 % of the runs lie below.
    pub p25: Option<f64>,
    /// Half of the runs lie below.
    pub p50: Option<f64>,
    /// 75 % of the runs lie below.
    pub p75: Option<f64>,
    /// 95 % of the runs lie below.
    pub p95: Option<f64>,
}

impl Spread {
    /// Percentiles of values among which infinity stands for "never".
    pub(super) fn of(values: Vec<f64>) -> Self {
        let [p05, p25, p50, p75, p95] = percentiles(values);
        Self {
            p05,
            p25,
            p50,
            p75,
            p95,
        }
    }
}

/// How long something took, over all runs that came through.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Waiting {
    /// Runs in which it happened.
    pub reached: u64,
    /// Chance that it does not happen within the days of the run.
    pub never: Option<Chance>,
    /// Days it took; runs in which it never happened count as longer than any other.
    pub days: Spread,
}

/// What came out at one level of feeding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Level {
    /// Multiple of the planned feed.
    pub feed_times: f64,
    /// Runs that came through.
    pub finished: u64,
    /// Runs that failed; they count in no share.
    pub failed: u64,
    /// Chance of any sour day, with its sampling error.
    pub sour: Option<Chance>,
    /// Runs that turned sour before anything was fed.
    pub sour_unfed: u64,
    /// Chance of being sour on the last day.
    pub sour_at_end: Option<Chance>,
    /// Wait for the first flame.
    pub first_flame: Waiting,
    /// Wait for a steady flame.
    pub steady_flame: Waiting,
    /// Lowest pH.
    pub lowest_ph: Spread,
    /// Highest acid ratio.
    pub highest_acid_ratio: Spread,
    /// Methane over the run \[norm litres\].
    pub methane_nl: Spread,
    /// Methane per volatile solids put in \[norm litres/kg VS\].
    pub yield_nl_kg_vs: Spread,
}

/// One run without its days, for sorting and ranking: some 100 bytes a draw.
pub(super) struct Kept {
    pub(super) draw: usize,
    pub(super) member: Member,
}

/// A level in the making.
pub(super) struct Gather {
    kept: Vec<Kept>,
    failed: u64,
}

impl Gather {
    pub(super) fn new(draws: usize) -> Self {
        Self {
            kept: Vec::with_capacity(draws),
            failed: 0,
        }
    }

    pub(super) fn push(&mut self, draw: usize, member: &Member) {
        self.kept.push(Kept {
            draw,
            member: Member {
                days: Vec::new(),
                ..*member
            },
        });
    }

    pub(super) fn fail(&mut self) {
        self.failed += 1;
    }

    pub(super) fn kept(&self) -> &[Kept] {
        &self.kept
    }

    pub(super) fn level(&self, feed_times: f64, first_feed_day: Option<f64>) -> Level {
        let trials = self.kept.len() as u64;
        let hits = |is: &dyn Fn(&Member) -> bool| {
            self.kept.iter().filter(|kept| is(&kept.member)).count() as u64
        };
        let share = |is: &dyn Fn(&Member) -> bool| chance(hits(is), trials, CONFIDENCE);
        let spread = |of: &dyn Fn(&Member) -> f64| {
            Spread::of(self.kept.iter().map(|kept| of(&kept.member)).collect())
        };
        let waiting = |of: &dyn Fn(&Member) -> Option<f64>| Waiting {
            reached: hits(&|m| of(m).is_some()),
            never: share(&|m| of(m).is_none()),
            days: spread(&|m| of(m).unwrap_or(f64::INFINITY)),
        };
        Level {
            feed_times,
            finished: trials,
            failed: self.failed,
            sour: share(&|m| m.sour_day.is_some()),
            sour_unfed: hits(&|m| {
                m.sour_day
                    .is_some_and(|day| first_feed_day.is_none_or(|fed| day < fed))
            }),
            sour_at_end: share(&|m| m.sour_at_end),
            first_flame: waiting(&|m| m.first_flame_day),
            steady_flame: waiting(&|m| m.steady_flame_day),
            lowest_ph: spread(&|m| m.lowest_ph),
            highest_acid_ratio: spread(&|m| m.highest_acid_ratio),
            methane_nl: spread(&|m| m.methane_nl),
            yield_nl_kg_vs: spread(&|m| m.yield_nl_kg_vs),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_percentile_among_the_runs_that_never_got_there_is_none() {
        let never = f64::INFINITY;
        let spread = Spread::of(vec![never, 3.0, 1.0, 2.0, never]);
        // Places 0.2, 1, 2, 3 and 3.8 of five values: the last two lie beyond the third.
        assert_eq!((spread.p25, spread.p50), (Some(2.0), Some(3.0)));
        assert!((spread.p05.unwrap() - 1.2).abs() < 1e-12);
        assert_eq!((spread.p75, spread.p95), (None, None));
        assert_eq!(Spread::of(Vec::new()), Spread::default());
    }

    #[test]
    fn souring_before_the_first_feed_is_counted_apart() {
        let mut gather = Gather::new(3);
        for (draw, sour_day) in [Some(3.0), Some(12.0), None].into_iter().enumerate() {
            let member = Member {
                sour_day,
                sour_at_end: false,
                first_flame_day: None,
                steady_flame_day: None,
                lowest_ph: 7.0,
                highest_acid_ratio: 0.1,
                methane_nl: 1.0,
                yield_nl_kg_vs: 1.0,
                days: Vec::new(),
            };
            gather.push(draw, &member);
        }
        let unfed = |first| gather.level(1.0, first).sour_unfed;
        assert_eq!(
            (unfed(Some(10.3)), unfed(Some(0.0)), unfed(None)),
            (1, 0, 2)
        );
        assert!((gather.level(1.0, None).sour.unwrap().share - 2.0 / 3.0).abs() < 1e-15);
    }
}
