//! Search for the plan that reaches the wanted feed soonest and keeps the limits in nearly all draws.
//!
//! A plan has three numbers: the day of the first feed, its share of the wanted feed, and the day of the whole feed;
//! in between the feed grows by one factor a week. For a given day of the whole feed the other two stand on a small
//! grid; that day itself is found by bisection, since whoever may have more time may always wait longer. All plans
//! are tried on the same draws. A plan is given up as soon as too many draws have left the limits, and the draws that
//! left them most often are tried first, so that most bad plans cost a few runs only. Nothing needs a derivative.

use super::StartupError;
use super::judge::{Fared, Limits, fared};
use super::members::{Members, Workers};
use super::plan::Plan;

/// Draws tried at once before a plan is looked at again.
const ROUND: usize = 16;
/// Where the first feed may stand between the earliest day and the day of the whole feed.
const PLACES: [f64; 4] = [0.0, 0.25, 0.5, 0.75];
/// Share of the wanted feed to begin with.
const BEGINNINGS: [f64; 5] = [0.05, 0.1, 0.2, 0.35, 0.5];

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
    /// Factor on the wanted feed.
    pub(super) size: f64,
    /// Most draws, of those fed, that may leave the limits: share.
    pub(super) spare: f64,
    /// How often each draw left the limits so far.
    pub(super) frailty: Vec<u32>,
    /// Runs made.
    pub(super) runs: u64,
    /// Called after each tried plan.
    pub(super) tick: &'a (dyn Fn() + Sync),
}

/// How a plan did on all draws.
#[derive(Debug, Clone)]
pub(super) struct Tried {
    pub(super) plan: Plan,
    /// Draws that were fed.
    pub(super) fed: usize,
    /// Those of them that left the limits.
    pub(super) left: usize,
}

impl Search<'_> {
    /// The plan whose whole feed comes soonest, between `earliest` and `latest`; of several, the one that leaves the
    /// limits in the fewest draws. `None` where even the latest fails or the search was stopped.
    pub(super) fn soonest(
        &mut self,
        beginning: &Beginning,
        earliest: u32,
        latest: u32,
    ) -> Result<Option<Tried>, StartupError> {
        if earliest > latest || !self.is_possible(beginning, latest)? {
            return Ok(None);
        }
        let (mut low, mut high) = (earliest, latest);
        while low < high && !self.workers.stopped() {
            let middle = low + (high - low) / 2;
            if self.is_possible(beginning, middle)? {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        let mut best: Option<Tried> = None;
        for plan in candidates(beginning, high) {
            let Some(left) = self.try_plan(&plan, beginning)? else {
                continue;
            };
            // Of equals the first, which is the gentlest.
            if best.as_ref().is_none_or(|b| left < b.left) {
                best = Some(Tried {
                    plan,
                    fed: self.fed(beginning),
                    left,
                });
            }
        }
        Ok(best)
    }

    /// Whether some plan with the whole feed on this day keeps the limits.
    pub(super) fn is_possible(
        &mut self,
        beginning: &Beginning,
        full: u32,
    ) -> Result<bool, StartupError> {
        for plan in candidates(beginning, full) {
            if self.try_plan(&plan, beginning)?.is_some() {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Draws that are fed at all.
    fn fed(&self, beginning: &Beginning) -> usize {
        match beginning {
            Beginning::Fixed(_) => self.members.len(),
            Beginning::Checked(days) => days.iter().flatten().count(),
        }
    }

    /// Draws that leave the limits, or `None` as soon as they are too many.
    fn try_plan(
        &mut self,
        plan: &Plan,
        beginning: &Beginning,
    ) -> Result<Option<usize>, StartupError> {
        let mut order: Vec<usize> = (0..self.members.len()).collect();
        order.sort_by_key(|&i| (std::cmp::Reverse(self.frailty[i]), i));
        let spare = (self.spare * self.fed(beginning) as f64) as usize;
        let mut left = 0;
        for round in order.chunks(ROUND) {
            if left > spare {
                break;
            }
            let found = self.workers.all(
                round.len(),
                |k| {
                    fare(
                        self.members,
                        round[k],
                        plan,
                        beginning,
                        self.size,
                        self.limits,
                    )
                },
                &|_| {},
            )?;
            if self.workers.stopped() {
                return Ok(None);
            }
            self.runs += round.len() as u64;
            for (&i, fared) in round.iter().zip(found) {
                // A run that fails shows nothing good about the plan.
                if fared.flatten().is_none_or(|f| f.left.is_some()) {
                    left += 1;
                    self.frailty[i] += 1;
                }
            }
        }
        (self.tick)();
        Ok((left <= spare).then_some(left))
    }
}

/// Runs one draw on a plan; `None` where the run fails.
pub(super) fn fare(
    members: &Members,
    index: usize,
    plan: &Plan,
    beginning: &Beginning,
    size: f64,
    limits: &Limits,
) -> Option<Fared> {
    let (plan, first) = own_plan(plan, beginning, index);
    let outcome = members.run(index, &plan, size)?;
    Some(fared(&outcome, first, limits))
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
    let firsts: &[f64] = match beginning {
        Beginning::Fixed(_) => &PLACES,
        // The checks have said when to begin.
        Beginning::Checked(_) => &PLACES[..1],
    };
    for place in firsts {
        let first = earliest + (place * f64::from(room)) as u32;
        for begin in BEGINNINGS {
            let plan = Plan::geometric(first, full, begin);
            if !plans.contains(&plan) {
                plans.push(plan);
            }
        }
    }
    let at_once = Plan::geometric(full, full, 1.0);
    if !plans.contains(&at_once) {
        plans.push(at_once);
    }
    plans
}
