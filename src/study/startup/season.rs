//! Where the cold of the year ends what a start can be planned for.
//!
//! A feed that a digester bears in summer is too much for it in winter, so a plan that had to hold to the end of a run
//! through both would begin after the winter, beside a tank that was ready for months. Where the temperature changes, a
//! plan is therefore sought up to the day before which the cold has not yet told, and the feed is paused from then on.

use serde::Serialize;

use super::judge::{Milestones, fared};
use super::members::Members;
use super::plan::Plan;
use super::result::Startup;
use super::search::{Beginning, own_plan};
use super::spread::Spread;
use super::stages::{Fresh, Study, beginning};
use super::{PROOF_D, SHORTEST_D, StartupError};
use crate::case::{Case, TemperatureCourse};
use crate::study::statistics::CONFIDENCE;
use crate::study::statistics::{Chance, chance};

/// Ramp of the trial feed \[d\] and its beginning, as a share of the feed: gentler than most plans. Assumption of this
/// project.
const TRIAL_RAMP_D: u32 = 2 * PROOF_D;
const TRIAL_BEGINNING: f64 = 0.1;
/// Shares of the wanted feed that are tried: the largest that is borne in the warmth tells when the cold ends it.
const TRIAL_SIZES: [f64; 4] = [1.0, 0.5, 0.25, 0.1];
/// The pause begins at least so long before one draw in twenty leaves the limits \[d\]: what a cooling tank is fed in its last
/// weeks is what sours it. Assumption of this project.
const AHEAD_D: u32 = 14;
/// How often the pause is moved ahead by as much, and the share of draws that must come through it.
const PAUSES: u32 = 5;
const SURVIVES: f64 = 0.95;
/// The liquor must have cooled by this much since its warmest for the cold to be the cause \[K\].
const COOLED_K: f64 = 3.0;
/// Days over which the temperature is averaged, and readings a day.
const WEEK_D: u32 = 7;
const READINGS: u32 = 4;

/// The cold that ends what can be planned.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cold {
    /// First day of the pause, counted from the filling.
    pub pause_from: u32,
    /// Mean temperature of the liquor in the week before, without life \[C\].
    pub pause_c: f64,
    /// First day on which it is as warm again; `None` where the run ends before.
    pub warm_again: Option<u32>,
    /// Coldest day after it.
    pub coldest: u32,
    /// Days of the scenario's run.
    pub run_days: u32,
    /// Whether there is room for a plan before the pause.
    pub has_room: bool,
    /// Of the fresh draws that keep the plan up to the pause, the share that does not turn sour in it, unfed; `None`
    /// without a checked plan.
    pub comes_through: Option<Chance>,
}

impl Cold {
    /// A pause from a day on, over the coldest day.
    fn paused(case: &Case, pause_from: u32, coldest: u32) -> Self {
        let pause_c = week_c(case, pause_from);
        Self {
            pause_from,
            pause_c,
            coldest,
            warm_again: (coldest..case.days).find(|d| week_c(case, *d) >= pause_c),
            run_days: case.days,
            has_room: pause_from >= SHORTEST_D,
            comes_through: None,
        }
    }

    /// Day to which the pause is looked at: the return of the warmth, or the end of the run.
    fn ends(&self) -> u32 {
        self.warm_again.unwrap_or(self.run_days)
    }
}

impl Study<'_> {
    /// The cold that ends what can be planned for: unfed runs and trial feeds to the end of the whole run. `None` where
    /// the temperature does not change much, where the feed is borne all the year, and when stopped.
    pub(super) fn cold(&self) -> Result<Option<Cold>, StartupError> {
        let (draws, seed) = (self.options.draws, self.options.seed);
        if !is_seasonal(self.case) {
            return Ok(None);
        }
        let members = Members::draw(self.case, self.uncertain, draws, seed)?;
        let Some(unfed) = self.unfed(&members)? else {
            return Ok(None);
        };
        let mut starters = starters(&unfed, self.case.days);
        starters.retain(|(_, first)| first + TRIAL_RAMP_D + PROOF_D <= self.case.days);
        for size in TRIAL_SIZES {
            let left = self.each(
                &members,
                starters.len(),
                |k| (starters[k].0, trial_plan(starters[k].1), size),
                |k, outcome| fared(outcome, Some(starters[k].1), &self.limits).left,
            )?;
            let Some(left) = left else {
                return Ok(None);
            };
            let fed = starters.iter().zip(left);
            let trial: Vec<(u32, Option<u32>)> = fed
                .filter_map(|((_, first), l)| Some((*first, l?)))
                .collect();
            match told(self.case, &trial) {
                // Too much even in the warmth, unless it is the cold that comes before the feed is whole.
                Told::TooMuch => {
                    if let Some(cold) = overtaken(self.case, &trial) {
                        return Ok(Some(cold));
                    }
                }
                Told::Borne => return Ok(None),
                Told::Ends(cold) => return self.survivable(cold, &starters, size),
            }
        }
        Ok(None)
    }

    /// Moves the pause ahead until nearly all of the draws that bear the trial feed up to it come through it without
    /// turning sour: what is in the liquor when it cools goes on making acids. `None` when stopped.
    fn survivable(
        &self,
        cold: Cold,
        starters: &[(usize, u32)],
        size: f64,
    ) -> Result<Option<Cold>, StartupError> {
        let (draws, seed) = (self.options.draws, self.options.seed);
        let mut best = (-1.0, cold.clone());
        for earlier in 0..PAUSES {
            let Some(from) = cold.pause_from.checked_sub(earlier * AHEAD_D) else {
                break;
            };
            let tried = Cold::paused(self.case, from, cold.coldest);
            if earlier > 0 && !tried.has_room {
                break;
            }
            let members = Members::draw(&paused(self.case, &tried), self.uncertain, draws, seed)?;
            let fates = self.each(
                &members,
                starters.len(),
                |k| (starters[k].0, trial_plan(starters[k].1), size),
                |k, outcome| {
                    let before = fared(outcome, Some(starters[k].1), &self.limits);
                    let bore = before.left.is_none_or(|day| day >= from);
                    (bore, fared(outcome, Some(from), &self.limits).sour)
                },
            )?;
            let Some(fates) = fates else {
                return Ok(None);
            };
            let bore: Vec<bool> = fates
                .into_iter()
                .flatten()
                .filter_map(|(bore, sour)| bore.then_some(!sour))
                .collect();
            let well = bore.iter().filter(|well| **well).count();
            let share = well as f64 / bore.len().max(1) as f64;
            if share > best.0 {
                best = (share, tried);
            }
            if share >= SURVIVES {
                break;
            }
        }
        Ok(Some(best.1))
    }

    /// Of the fresh draws that kept the plan up to the pause, the share that does not turn sour in it, unfed.
    pub(super) fn comes_through(
        &self,
        whole: &Case,
        result: &mut Startup,
        fresh: &Fresh,
    ) -> Result<(), StartupError> {
        let (Some(cold), Some(feeding), Some(fared_before)) =
            (&mut result.cold, &result.feeding, &fresh.fared)
        else {
            return Ok(());
        };
        let case = paused(whole, cold);
        let members = Members::draw(&case, self.uncertain, self.options.checks, fresh.seed)?;
        let beginning = self.beginning_of(&members, feeding.begin)?;
        let Some(beginning) = beginning else {
            return Ok(());
        };
        let kept: Vec<usize> = fresh
            .judged
            .iter()
            .copied()
            .filter(|&i| fared_before[i].is_some_and(|f| f.left.is_none()))
            .collect();
        let pause = Some(cold.pause_from);
        let own = |k: usize| own_plan(&feeding.plan, &beginning, kept[k]).0;
        let through = self.each(
            &members,
            kept.len(),
            |k| (kept[k], own(k), feeding.size),
            |_, outcome| !fared(outcome, pause, &self.limits).sour,
        )?;
        let Some(through) = through else {
            return Ok(());
        };
        let hits = through.iter().filter(|t| **t == Some(true)).count() as u64;
        cold.comes_through = chance(hits, kept.len() as u64, CONFIDENCE);
        Ok(())
    }
}

/// The feed of a trial: a short ramp from the day on which a draw is first safe to feed.
fn trial_plan(first: u32) -> Plan {
    Plan::geometric(first, first + TRIAL_RAMP_D, TRIAL_BEGINNING)
}

/// Whether some vessel cools down in the run so far that the season can matter.
fn is_seasonal(case: &Case) -> bool {
    let Some(vessel) = case.vessels.first() else {
        return false;
    };
    if vessel.heat.is_none() && matches!(vessel.temperature, TemperatureCourse::Constant(_)) {
        return false;
    }
    let mut warmest = f64::NEG_INFINITY;
    (0..case.days).step_by(WEEK_D as usize).any(|day| {
        let now = week_c(case, day);
        warmest = warmest.max(now);
        now < warmest - COOLED_K
    })
}

/// Mean temperature of the first vessel over the week before a day \[C\].
fn week_c(case: &Case, day: u32) -> f64 {
    let count = WEEK_D * READINGS;
    let sum: f64 = case.vessels.first().map_or(f64::NAN, |vessel| {
        (0..count)
            .map(|i| {
                let back = f64::from(i) / f64::from(READINGS);
                vessel.temperature.at((f64::from(day) - back).max(0.0)).0
            })
            .sum()
    });
    sum / f64::from(count)
}

/// What the trial of one share of the feed says of the season.
enum Told {
    /// Half of them leave the limits before the trial feed is whole and proven: too much, or too late in the year.
    TooMuch,
    /// Nearly all bear it to the end of the run, or it is not the cold that ends it.
    Borne,
    /// The cold ends it.
    Ends(Cold),
}

/// Reads a trial: the day of the first feed of each draw that was fed, and the day on which it left the limits, if it did.
fn told(case: &Case, trial: &[(u32, Option<u32>)]) -> Told {
    let proven = |first: u32| first + TRIAL_RAMP_D + PROOF_D;
    let bears = |(first, left): &&(u32, Option<u32>)| left.is_none_or(|day| day >= proven(*first));
    let bearing: Vec<Option<f64>> = trial
        .iter()
        .filter(bears)
        .map(|(_, left)| left.map(f64::from))
        .collect();
    if 2 * bearing.len() < trial.len() {
        return Told::TooMuch;
    }
    let first = Spread::of(&bearing).and_then(|s| s.p05);
    first
        // Whole days of a run.
        .and_then(|day| cold_at(case, day as u32))
        .map_or(Told::Borne, Told::Ends)
}

/// The cold of draws of which most do not bear a trial feed until it is proven: they were overtaken by it.
fn overtaken(case: &Case, trial: &[(u32, Option<u32>)]) -> Option<Cold> {
    let days: Vec<Option<f64>> = trial.iter().map(|(_, left)| left.map(f64::from)).collect();
    cold_at(case, Spread::of(&days)?.p50? as u32)
}

/// The cold that makes draws leave their limits on this day; `None` where the liquor is not cooling then.
fn cold_at(case: &Case, day: u32) -> Option<Cold> {
    let now = week_c(case, day);
    let warmest = (0..=day).map(|d| week_c(case, d)).fold(f64::MIN, f64::max);
    let is_cooling = now < warmest - COOLED_K && now < week_c(case, day.saturating_sub(AHEAD_D));
    if !is_cooling {
        return None;
    }
    // Of the first winter only: up to the day on which it is as warm again, or to the end.
    let mut coldest = day;
    for later in day..case.days {
        if week_c(case, later) < week_c(case, coldest) {
            coldest = later;
        } else if later > coldest && week_c(case, later) > now {
            break;
        }
    }
    Some(Cold::paused(case, day.saturating_sub(AHEAD_D), coldest))
}

/// The case up to the pause, or as long as a study needs.
pub(super) fn until(case: &Case, day: u32) -> Case {
    let mut short = case.clone();
    short.days = day.clamp(SHORTEST_D.min(case.days), case.days);
    let end = f64::from(short.days);
    short.doses.retain(|d| d.day < end);
    short
}

/// The case to the end of the pause, without feed from its first day on.
fn paused(case: &Case, cold: &Cold) -> Case {
    let mut paused = case.clone();
    paused.days = cold.ends().clamp(1, case.days);
    paused.doses.retain(|d| d.day < f64::from(cold.pause_from));
    paused
}

/// Those of the draws that could be fed, with the day on which a plan could begin with them.
fn starters(unfed: &[Milestones], days: u32) -> Vec<(usize, u32)> {
    match beginning(unfed, days) {
        Beginning::Fixed(day) => (0..unfed.len()).map(|i| (i, day)).collect(),
        Beginning::Checked(own) => {
            let all = own.into_iter().enumerate();
            all.filter_map(|(i, day)| Some((i, day?))).collect()
        }
    }
}
