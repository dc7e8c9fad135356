//! Quantiles, the interval of a chance, and the running mean.

use serde::Serialize;

use super::normal;

/// The values in growing order; `None` if one of them is not finite.
#[must_use]
pub fn sorted(values: &[f64]) -> Option<Vec<f64>> {
    if values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    Some(values)
}

/// Quantile of values in growing order at the share `p` in 0..=1, in their unit.
///
/// Definition 7 of Hyndman and Fan, The American Statistician 50 (1996) 361-365: with the values numbered from 0
/// to n - 1 it is the one at place `p (n - 1)`, on a straight line between neighbours.
/// `None` for no values or a share outside 0..=1.
#[must_use]
pub fn quantile(sorted: &[f64], p: f64) -> Option<f64> {
    if sorted.is_empty() || !(0.0..=1.0).contains(&p) {
        return None;
    }
    let (rank, part) = place(sorted.len(), p);
    Some(between(sorted[rank], part, || {
        sorted.get(rank + 1).copied()
    }))
}

/// Place of the quantile `p` among `count` ordered values: the rank below it, and the part of the way to the next.
pub(super) fn place(count: usize, p: f64) -> (usize, f64) {
    let place = p * (count - 1) as f64;
    let rank = (place as usize).min(count - 1);
    (rank, place - rank as f64)
}

/// `part` of the way from `value` to the next, which is asked for only when it counts.
pub(super) fn between(value: f64, part: f64, next: impl FnOnce() -> Option<f64>) -> f64 {
    if part <= 0.0 {
        return value;
    }
    next().map_or(value, |next| value + part * (next - value))
}

/// A chance seen in a number of trials.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Chance {
    /// Share of hits, 0..1.
    pub share: f64,
    /// Lower end of the interval, 0..1.
    pub low: f64,
    /// Upper end of the interval, 0..1.
    pub high: f64,
}

/// Score interval for a chance with `hits` in `trials`.
///
/// It covers the true chance in the share `confidence` of all studies, nearly, also for no hits and for few trials.
/// Source: E. B. Wilson, J. American Statistical Association 22 (1927) 209-212.
/// `None` without trials, with more hits than trials, or with a confidence that is not between 0 and 1.
#[must_use]
pub fn chance(hits: u64, trials: u64, confidence: f64) -> Option<Chance> {
    if trials == 0 || hits > trials || !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    let n = trials as f64;
    let share = hits as f64 / n;
    // From the lower tail, which keeps its digits; the sign drops out in the square.
    let z = normal::quantile((1.0 - confidence) / 2.0);
    let pull = z * z / n;
    let middle = (share + pull / 2.0) / (1.0 + pull);
    let half = libm::sqrt(pull * (share * (1.0 - share) + pull / 4.0)) / (1.0 + pull);
    Some(Chance {
        share,
        // At no hits and at nothing but hits the ends are 0 and 1 exactly; rounding would miss them.
        low: if hits == 0 { 0.0 } else { middle - half },
        high: if hits == trials { 1.0 } else { middle + half },
    })
}

/// Mean and spread of values that come one by one.
///
/// Source: B. P. Welford, Technometrics 4 (1962) 419-420. The last digits depend on the order of the values.
/// A value that is not finite makes mean and spread NaN.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Running {
    count: u64,
    mean: f64,
    squares: f64,
}

impl Running {
    /// Takes one value.
    pub fn push(&mut self, value: f64) {
        self.count += 1;
        let off = value - self.mean;
        self.mean += off / self.count as f64;
        self.squares += off * (value - self.mean);
    }

    /// Values taken.
    #[must_use]
    pub const fn count(&self) -> u64 {
        self.count
    }

    /// Mean, in the unit of the values; `None` before the first.
    #[must_use]
    pub fn mean(&self) -> Option<f64> {
        (self.count > 0).then_some(self.mean)
    }

    /// Standard deviation with `n - 1`, in the unit of the values; `None` before the second.
    #[must_use]
    pub fn sd(&self) -> Option<f64> {
        (self.count > 1).then(|| libm::sqrt(self.squares / (self.count - 1) as f64))
    }
}

/// Confidence of the intervals of chances: share of all studies whose interval covers the true one.
pub const CONFIDENCE: f64 = 0.95;

/// The 5, 25, 50, 75 and 95 % quantiles of values among which infinity stands for "never"; `None` where a quantile lies
/// among those, since between a number and never there is no number.
#[must_use]
pub fn percentiles(mut values: Vec<f64>) -> [Option<f64>; 5] {
    values.sort_by(f64::total_cmp);
    [0.05, 0.25, 0.5, 0.75, 0.95].map(|p| quantile(&values, p).filter(|v| v.is_finite()))
}
