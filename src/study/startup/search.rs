//! Search for the plan that reaches the wanted feed soonest and keeps the limits in nearly all draws.
//!
//! A plan has three numbers: the day of the first feed, its share of the wanted feed, and the day of the whole feed;
//! in between the feed grows by one factor a week. No plan is bolder than a ramp: see [`LEAST_RAMP_D`]. For a given day of the whole feed the other two stand on a small
//! grid; that day itself is found by bisection, since whoever may have more time may always wait longer. All plans
//! are tried on the same draws. A plan is given up as soon as too many draws have left the limits, and the draws that
//! left them most often are tried first, so that most bad plans cost a few runs only. Nothing needs a derivative.

use super::judge::{Limits, fared};
use super::members::{Members, Workers};
use super::plan::{Plan, STEP_D};
use super::{PROOF_D, StartupError};

/// Draws tried at once before a plan is looked at again.
const ROUND: usize = 16;
/// Where the first feed may stand between the earliest day and the day of the whole feed.
const PLACES: [f64; 4] = [0.0, 0.25, 0.5, 0.75];
/// Share of the wanted feed to begin with.
const BEGINNINGS: [f64; 5] = [0.05, 0.1, 0.2, 0.35, 0.5];

/// Shortest way from the first feed to the whole one \[d\], and the most by which one step multiplies what was given the
/// week before. The bacteria that make acids answer to a feed within a day, those that make methane of them double in
/// about a week, and what a draw bears is known to the program but not to the owner: a plan that gives all at once would
/// leave nothing to be seen before it is too late. Assumption of this project.
pub(super) const LEAST_RAMP_D: u32 = 2 * STEP_D;
pub(super) const MOST_STEP: f64 = 2.0;

/// When feeding may begin, draw by draw.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Beginning {
    /// On the same day in all draws, at the earliest on this one.
    Fixed(u32),
    /// In each draw when the owner's checks pass; a draw whose checks never pass is never fed.
    Checked(Vec<Option<u32>>),
}

/// What a search works with.
pub(super) struct Search<'a> {
    pub(super) members: &'a Members,
    pub(super) workers: Workers<'a>,
    pub(super) limits: &'a Limits,
    /// Days of the run.
    pub(super) days: u32,
    /// Factor on the wanted feed.
    pub(super) size: f64,
    /// Most draws, of those fed, that may leave the limits: share.
    pub(super) spare: f64,
    /// How often each draw left the limits so far.
    pub(super) frailty: Vec<u32>,
    /// Runs made.
    pub(super) runs: u64,
    /// Runs after which the search ends with the best plan so far.
    pub(super) most_runs: u64,
    /// Those of them that broke off.
    pub(super) failed: u64,
    /// Called after each tried plan.
    pub(super) tick: &'a (dyn Fn() + Sync),
}

/// How a plan did on all draws.
#[derive(Debug, Clone)]
pub(super) struct Tried {
    pub(super) plan: Plan,
    /// Draws by which it is judged.
    pub(super) fed: usize,
    /// Those of them that left the limits.
    pub(super) left: usize,
}

impl Search<'_> {
    /// Whether the search must end, by the user or by its bound.
    pub(super) fn must_end(&self) -> bool {
        self.workers.stopped() || self.runs >= self.most_runs
    }

    /// The plan whose whole feed comes soonest, between `earliest` and `latest`; of several, the one that leaves the
    /// limits in the fewest draws. `None` where even the latest fails. A stop ends it with the best plan so far.
    pub(super) fn soonest(
        &mut self,
        beginning: &Beginning,
        earliest: u32,
        latest: u32,
    ) -> Result<Option<Tried>, StartupError> {
        if earliest > latest {
            return Ok(None);
        }
        let Some(mut best) = self.possible(beginning, latest)? else {
            return Ok(None);
        };
        let (mut low, mut high) = (earliest, latest);
        while low < high && !self.must_end() {
            let middle = low + (high - low) / 2;
            if let Some(found) = self.possible(beginning, middle)? {
                best = found;
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        for plan in candidates(beginning, high) {
            if let Some(found) = self.try_plan(&plan, beginning)?
                // Of equals the first, which is the gentlest.
                && found.left < best.left
            {
                best = found;
            }
        }
        Ok(Some(best))
    }

    /// Some plan with the whole feed on this day that keeps the limits.
    pub(super) fn possible(
        &mut self,
        beginning: &Beginning,
        full: u32,
    ) -> Result<Option<Tried>, StartupError> {
        for plan in candidates(beginning, full) {
            if let Some(found) = self.try_plan(&plan, beginning)? {
                return Ok(Some(found));
            }
        }
        Ok(None)
    }

    /// Tries a plan on the draws by which it can be judged; `None` as soon as too many leave the limits, and when
    /// stopped.
    fn try_plan(
        &mut self,
        plan: &Plan,
        beginning: &Beginning,
    ) -> Result<Option<Tried>, StartupError> {
        if self.must_end() {
            return Ok(None);
        }
        let mut order: Vec<usize> = (0..self.members.len())
            .filter(|&i| standing(plan, beginning, i, self.days) == Standing::Judged)
            .collect();
        order.sort_by_key(|&i| (std::cmp::Reverse(self.frailty[i]), i));
        let fed = order.len();
        let spare = (self.spare * fed as f64) as usize;
        let mut left = 0;
        for round in order.chunks(ROUND) {
            if left > spare {
                break;
            }
            let own = |k: usize| own_plan(plan, beginning, round[k]);
            let found = self.workers.runs(
                self.members,
                round.len(),
                |k| (round[k], own(k).0, self.size),
                |k, outcome| fared(outcome, own(k).1, self.limits),
                &|_| {},
            )?;
            if self.workers.stopped() {
                return Ok(None);
            }
            self.runs += round.len() as u64;
            for (&i, fared) in round.iter().zip(found) {
                self.failed += u64::from(fared.is_none());
                // A run that fails shows nothing good about the plan.
                if fared.is_none_or(|f| f.left.is_some()) {
                    left += 1;
                    self.frailty[i] += 1;
                }
            }
        }
        (self.tick)();
        Ok((fed > 0 && left <= spare).then(|| Tried {
            plan: plan.clone(),
            fed,
            left,
        }))
    }
}

/// What a run on a plan can tell of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Standing {
    /// Nothing: it is never fed.
    Unfed,
    /// Nothing good: its whole feed comes less than [`PROOF_D`] days before the end of the run.
    Unproven,
    /// Whether the plan holds.
    Judged,
}

/// What the run of one draw of a plan can tell.
pub(super) fn standing(plan: &Plan, beginning: &Beginning, index: usize, days: u32) -> Standing {
    match own_plan(plan, beginning, index).0.full_day() {
        None => Standing::Unfed,
        Some(full) if full + PROOF_D <= days => Standing::Judged,
        Some(_) => Standing::Unproven,
    }
}

/// The plan as one draw is fed, and the day of its first feed.
pub(super) fn own_plan(plan: &Plan, beginning: &Beginning, index: usize) -> (Plan, Option<u32>) {
    let own = match beginning {
        Beginning::Fixed(_) => plan.clone(),
        Beginning::Checked(days) => match days.get(index).copied().flatten() {
            Some(day) => plan.later(day),
            None => Plan::default(),
        },
    };
    let first = own.first_day();
    (own, first)
}

/// Plans with the whole feed on one day, gentle ones first.
fn candidates(beginning: &Beginning, full: u32) -> Vec<Plan> {
    let earliest = match beginning {
        Beginning::Fixed(day) => *day,
        Beginning::Checked(_) => 0,
    };
    let room = full.saturating_sub(earliest);
    let mut plans: Vec<Plan> = Vec::new();
    // After the checks too: where many starters waver, waiting on is part of a plan.
    for place in PLACES {
        let first = earliest + (place * f64::from(room)) as u32;
        let ramp = full.saturating_sub(first);
        let steps = f64::from(ramp) / f64::from(STEP_D);
        for begin in BEGINNINGS {
            let gentle = ramp >= LEAST_RAMP_D && begin * libm::pow(MOST_STEP, steps) >= 1.0;
            let plan = Plan::geometric(first, full, begin);
            if gentle && !plans.contains(&plan) {
                plans.push(plan);
            }
        }
    }
    plans
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_plan_is_bolder_than_a_ramp() {
        let mut count = 0;
        for beginning in [Beginning::Fixed(5), Beginning::Checked(vec![Some(40)])] {
            for full in 0..120 {
                for plan in candidates(&beginning, full) {
                    count += 1;
                    let days = plan.full_day().unwrap() - plan.first_day().unwrap();
                    assert!(days >= 14, "{plan:?}");
                    assert!(plan.steps[0].share <= 0.5, "{plan:?}");
                    for pair in plan.steps.windows(2) {
                        // Shares are rounded to hundredths.
                        let most = 2.0 * (pair[0].share + 0.005) + 0.005;
                        assert!(pair[1].share <= most, "{plan:?}");
                    }
                }
            }
        }
        assert!(count > 1000, "{count}");
    }

    #[test]
    fn a_draw_that_gets_its_full_feed_too_late_proves_nothing() {
        let plan = Plan::geometric(0, 14, 0.5);
        let beginning = Beginning::Checked(vec![Some(18), Some(19), None]);
        // Day 18 and 14 days of ramp and 28 of proof are 60.
        let told: Vec<Standing> = (0..3).map(|i| standing(&plan, &beginning, i, 60)).collect();
        assert_eq!(
            told,
            [Standing::Judged, Standing::Unproven, Standing::Unfed]
        );
    }
}
