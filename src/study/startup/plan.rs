//! A feeding plan: from which whole day on which share of the wanted feed.

use serde::Serialize;

use crate::case::{Case, Dose};

/// Days from one step of a plan to the next.
pub const STEP_D: u32 = 7;
/// Shares are whole hundredths: finer than a kitchen scale, and the same on paper as in the computation.
const SHARES: f64 = 100.0;

/// From a whole day on, this share of the wanted feed each day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Step {
    /// First day, counted from 0.
    pub from_day: u32,
    /// Share of the wanted feed, above 0 and at most 1.
    pub share: f64,
}

/// Steps in rising order of days; before the first nothing is fed. The last one is the wanted feed.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Plan {
    /// The steps.
    pub steps: Vec<Step>,
}

impl Plan {
    /// Wait until day `first`, begin with the share `begin`, multiply by the same factor every [`STEP_D`] days, and feed
    /// all from day `full` on. With `full` at or before `first` the whole feed comes at once.
    #[must_use]
    pub fn geometric(first: u32, full: u32, begin: f64) -> Self {
        let length = f64::from(full.saturating_sub(first));
        let mut steps: Vec<Step> = (first..full)
            .step_by(STEP_D as usize)
            .map(|day| {
                let left = 1.0 - f64::from(day - first) / length;
                Step {
                    from_day: day,
                    share: rounded(libm::pow(begin, left)),
                }
            })
            .collect();
        steps.push(Step {
            from_day: full.max(first),
            share: 1.0,
        });
        Self { steps }
    }

    /// The same share more every [`STEP_D`] days, from day 0 on.
    #[must_use]
    pub fn even(share: f64) -> Self {
        let count = libm::ceil(1.0 / share) as u32;
        let steps = (0..count)
            .map(|i| Step {
                from_day: i * STEP_D,
                share: rounded(share * f64::from(i + 1)).min(1.0),
            })
            .collect();
        Self { steps }
    }

    /// The same plan so many days later.
    #[must_use]
    pub fn later(&self, days: u32) -> Self {
        let steps = self.steps.iter().map(|s| Step {
            from_day: s.from_day + days,
            share: s.share,
        });
        Self {
            steps: steps.collect(),
        }
    }

    /// Share of the wanted feed on a day, 0..1.
    #[must_use]
    pub fn share(&self, day: u32) -> f64 {
        let next = self.steps.partition_point(|s| s.from_day <= day);
        next.checked_sub(1).map_or(0.0, |i| self.steps[i].share)
    }

    /// Day of the first feed; `None` for a plan that feeds nothing.
    #[must_use]
    pub fn first_day(&self) -> Option<u32> {
        self.steps.first().map(|s| s.from_day)
    }

    /// Day from which on the wanted feed is given whole.
    #[must_use]
    pub fn full_day(&self) -> Option<u32> {
        self.steps.last().map(|s| s.from_day)
    }

    /// Sum of the shares over the first `days` days: what a plan feeds, in days of the wanted feed.
    #[must_use]
    pub fn fed(&self, days: u32) -> f64 {
        (0..days).map(|day| self.share(day)).sum()
    }

    /// The case fed by this plan: `whole` holds the doses of the wanted feed, for all days, of which the share `size`
    /// is the aim.
    #[must_use]
    pub fn on(&self, case: &Case, whole: &[Dose], size: f64) -> Case {
        let doses = whole.iter().filter_map(|dose| {
            // Days of doses are checked to be within the run.
            let share = self.share(dose.day as u32) * size;
            (share > 0.0).then(|| scaled(dose, share))
        });
        Case {
            doses: doses.collect(),
            ..case.clone()
        }
    }
}

/// A dose in another amount.
#[must_use]
pub fn scaled(dose: &Dose, factor: f64) -> Dose {
    Dose {
        day: dose.day,
        parts: dose.parts.iter().map(|&(i, kg)| (i, kg * factor)).collect(),
        water_kg: dose.water_kg * factor,
        additives: dose
            .additives
            .iter()
            .map(|&(a, kg)| (a, kg * factor))
            .collect(),
    }
}

fn rounded(share: f64) -> f64 {
    (share * SHARES).round().max(1.0) / SHARES
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_geometric_plan_multiplies_by_one_factor_and_ends_whole() {
        // From a tenth in three weeks: a factor of 10^(1/3) a week.
        let plan = Plan::geometric(10, 31, 0.1);
        let days: Vec<u32> = plan.steps.iter().map(|s| s.from_day).collect();
        assert_eq!(days, [10, 17, 24, 31]);
        let shares: Vec<f64> = plan.steps.iter().map(|s| s.share).collect();
        assert_eq!(shares, [0.1, 0.22, 0.46, 1.0]);
        assert_eq!(plan.share(9), 0.0);
        assert_eq!(plan.share(16), 0.1);
        assert_eq!(plan.share(400), 1.0);
        assert_eq!((plan.first_day(), plan.full_day()), (Some(10), Some(31)));
    }

    #[test]
    fn without_a_ramp_the_whole_feed_comes_at_once() {
        let plan = Plan::geometric(28, 28, 0.1);
        assert_eq!(
            plan.steps,
            [Step {
                from_day: 28,
                share: 1.0
            }]
        );
        assert_eq!(plan.fed(30), 2.0);
    }

    #[test]
    fn an_even_plan_adds_the_same_every_week() {
        let plan = Plan::even(0.1);
        assert_eq!(plan.full_day(), Some(63));
        assert_eq!(plan.share(7), 0.2);
        assert_eq!(plan.later(5).share(4), 0.0);
        assert_eq!(plan.later(5).share(5), 0.1);
    }
}
