//! Which sign crosses its band first in a run that turns, and how long before the methane fails.

use super::outcome::{SignSeen, Warning};
use super::signs::{Sign, Signs};
use super::trial::methane;
use crate::simulate::DayRow;

/// Days over which gas is averaged, so that a feed that is not daily does not look like an alarm.
const MEAN_D: usize = 7;
/// Share of its mean before at which methane has failed.
const FAILED: f64 = 0.5;

/// Days of the mean against which the methane of a day is held.
const BEFORE_D: usize = 28;

/// Reads a run of `calm` days, after which the feed was raised; `fed` gives each day's feed \[kg/d\]. `None` if its
/// methane does not fail.
pub(super) fn read(rows: &[DayRow], calm: usize, fed: &dyn Fn(usize) -> f64) -> Option<Warning> {
    let mean = |days: std::ops::Range<usize>, of: &dyn Fn(usize) -> f64| {
        let n = days.len().max(1) as f64;
        days.map(of).sum::<f64>() / n
    };
    let recent =
        |i: usize, of: &dyn Fn(usize) -> f64| mean((i + 1).saturating_sub(MEAN_D)..i + 1, of);
    let ch4 = |i: usize| methane(&rows[i]);
    let gas = |i: usize| rows[i].gas_nl + rows[i].leaked_nl;
    let fails = (calm..rows.len()).find(|&i| {
        let end = (i + 1).saturating_sub(MEAN_D);
        recent(i, &ch4) < FAILED * mean(end.saturating_sub(BEFORE_D)..end, &ch4)
    })?;
    let last_calm = calm.checked_sub(1)?;
    let usual = recent(last_calm, &gas) / recent(last_calm, fed);
    let seen = |sign: Sign| {
        let value = |i: usize| sign.value(&rows[i], recent(i, &gas) / recent(i, fed) / usual);
        let at_start = value(last_calm);
        let from_the_start = sign.warns(at_start);
        // From this day on it stays beyond its band until the failure.
        let crossed = (calm..=fails)
            .rev()
            .take_while(|&i| sign.warns(value(i)))
            .last()
            .filter(|_| !from_the_start);
        SignSeen {
            at_start,
            from_the_start,
            day: crossed.map(|i| (i - calm) as u32),
            ahead_d: crossed.map(|i| fails as i64 - i as i64),
            sign,
        }
    };
    let mut signs: Vec<SignSeen> = Signs::standard().signs.into_iter().map(seen).collect();
    signs.sort_by_key(|s| (s.day.is_none(), s.day));
    Some(Warning {
        raised_per_week: super::search::RAISED_PER_WEEK,
        factor: fed(fails) / fed(last_calm),
        kg_per_day: fed(fails),
        fails_day: (fails - calm) as u32,
        signs,
    })
}
