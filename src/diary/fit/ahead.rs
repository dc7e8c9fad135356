//! A case continued beyond its record: fed as in the last week.

use crate::case::Case;

/// Days whose feeding is repeated.
const WEEK: f64 = 7.0;

/// `case` with `days` more days after `last_day`, the last day of its record. What was fed in the week before is fed
/// again week after week; the temperature stays at its last, or goes on as its course says.
#[must_use]
pub fn continued(case: &Case, last_day: f64, days: u32) -> Case {
    let mut longer = case.clone();
    let from = last_day.floor() + 1.0;
    let end = from + f64::from(days);
    longer.days = end as u32;
    longer.doses.retain(|dose| dose.day < from);
    let week: Vec<_> = longer
        .doses
        .iter()
        .filter(|dose| dose.day >= from - WEEK)
        .cloned()
        .collect();
    let weeks = (f64::from(days) / WEEK).ceil() as u32;
    for k in 1..=weeks {
        longer.doses.extend(week.iter().cloned().map(|mut dose| {
            dose.day += WEEK * f64::from(k);
            dose
        }));
    }
    longer.doses.retain(|dose| dose.day < end);
    longer
}

/// `case` without any feed from `day` on.
#[must_use]
pub fn paused(case: &Case, day: f64) -> Case {
    let mut unfed = case.clone();
    unfed.doses.retain(|dose| dose.day < day);
    unfed
}
