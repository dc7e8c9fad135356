//! Which sign crosses its band first in a run that turns, and how long before the methane fails.

use super::outcome::{SignSeen, Warning};
use super::signs::{Sign, Signs};
use super::trial::methane;
use crate::simulate::DayRow;

/// Days over which gas is averaged, so that a feed that is not daily does not look like an alarm.
const MEAN_D: usize = 7;
/// Share of its mean before at which methane has failed.
const FAILED: f64 = 0.5;

/// Reads a run of `calm` days at `calm_kg` a day that is then fed `kg` a day. `None` if its methane does not fail.
pub(super) fn read(rows: &[DayRow], calm: usize, calm_kg: f64, kg: f64) -> Option<Warning> {
    let recent = |i: usize, of: fn(&DayRow) -> f64| {
        let window = &rows[(i + 1).saturating_sub(MEAN_D)..=i];
        window.iter().map(of).sum::<f64>() / window.len() as f64
    };
    let mut sum = 0.0;
    let fails = (0..rows.len()).find(|&i| {
        let mean = sum / i.max(1) as f64;
        sum += methane(&rows[i]);
        i >= calm && recent(i, methane) < FAILED * mean
    })?;
    let usual = recent(calm.checked_sub(1)?, |r| r.gas_nl + r.leaked_nl) / calm_kg;
    let per_feed = |i: usize| {
        let fed = if i < calm { calm_kg } else { kg };
        recent(i, |r| r.gas_nl + r.leaked_nl) / fed / usual
    };
    let seen = |sign: Sign| {
        let value = |i: usize| sign.value(&rows[i], per_feed(i));
        let at_start = value(calm - 1);
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
        factor: kg / calm_kg,
        kg_per_day: kg,
        fails_day: (fails - calm) as u32,
        signs,
    })
}
