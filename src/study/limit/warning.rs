//! Which sign crosses its band first in a run that turns, and how long before the methane fails.

use super::outcome::{SignSeen, Warning};
use super::signs::{Sign, Signs};
use super::trial::methane;
use crate::simulate::DayRow;

/// Days over which gas is averaged, so that a feed that is not daily does not look like an alarm.
const MEAN_D: usize = 7;
/// Share of its mean before at which methane has failed.
const FAILED: f64 = 0.5;

/// Days of the mean against which the methane of a day is held, and its gas per feed.
const BEFORE_D: usize = 28;

/// Reads a run of `calm` days, after which the feed was raised; `fed` gives each day's feed \[kg/d\]. `None` if its
/// methane does not fail.
///
/// More feed moves most signs in a healthy tank too. A sign therefore warns only where it is beyond its band and clearly
/// worse than `healthy`, the reading of the healthy steady state at the feed of the day (of the last one beyond the
/// limit). Gas follows a rising feed late, so that gas per feed is held against its own mean of the four weeks before.
pub(super) fn read(
    rows: &[DayRow],
    calm: usize,
    fed: &dyn Fn(usize) -> f64,
    healthy: &dyn Fn(usize) -> Option<DayRow>,
) -> Option<Warning> {
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
    let per_feed = |i: usize| recent(i, &gas) / recent(i, fed);
    let against_before = |i: usize| {
        let end = (i + 1).saturating_sub(MEAN_D);
        let days = end.saturating_sub(BEFORE_D)..end;
        let before = mean(days.clone(), &gas) / mean(days, fed);
        if before > 0.0 {
            per_feed(i) / before
        } else {
            1.0
        }
    };
    let seen = |sign: Sign| {
        let value = |i: usize| sign.value(&rows[i], against_before(i));
        let in_health = |i: usize| healthy(i).map(|row| sign.value(&row, 1.0));
        let warns = |i: usize| {
            let value = value(i);
            sign.warns(value) && in_health(i).is_none_or(|healthy| sign.worse(value, healthy))
        };
        let at_start = value(last_calm);
        let from_the_start = sign.warns(at_start);
        // From this day on it stays beyond its band until the failure.
        let crossed = (calm..=fails)
            .rev()
            .take_while(|&i| warns(i))
            .last()
            .filter(|_| !from_the_start);
        SignSeen {
            at_start,
            from_the_start,
            healthy_there: crossed.and_then(in_health),
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
