//! A day as a band over draws, some of which never get there.

use serde::Serialize;

use crate::study::statistics::{CONFIDENCE, Chance, chance, percentiles};

/// A quantity over draws. A quantile is `None` where it lies among the draws that never get there.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// 5 % of the draws lie below.
    pub p05: Option<f64>,
    /// 25 % of the draws lie below.
    pub p25: Option<f64>,
    /// Half of the draws lie below.
    pub p50: Option<f64>,
    /// 75 % of the draws lie below.
    pub p75: Option<f64>,
    /// 95 % of the draws lie below.
    pub p95: Option<f64>,
    /// Share of the draws that never get there.
    pub never: Chance,
    /// Draws.
    pub draws: usize,
}

impl Spread {
    /// The band of these days; `None` without draws.
    #[must_use]
    pub fn of(days: &[Option<f64>]) -> Option<Self> {
        let missing = days.iter().filter(|d| d.is_none()).count();
        let or_never = days.iter().map(|d| d.unwrap_or(f64::INFINITY));
        let [p05, p25, p50, p75, p95] = percentiles(or_never.collect());
        Some(Self {
            p05,
            p25,
            p50,
            p75,
            p95,
            never: chance(missing as u64, days.len() as u64, CONFIDENCE)?,
            draws: days.len(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_count_those_that_never_get_there_as_last() {
        // 0, 1, ..., 80 and 20 that never get there: the place of the 75 % quantile is 75.
        let days: Vec<Option<f64>> = (0..101)
            .map(|i| (i <= 80).then_some(f64::from(i)))
            .collect();
        let spread = Spread::of(&days).unwrap();
        assert_eq!(spread.p05, Some(5.0));
        assert_eq!(spread.p75, Some(75.0));
        assert_eq!(spread.p95, None);
        assert_eq!(spread.never.share, 20.0 / 101.0);
        assert!(Spread::of(&[]).is_none());
    }
}
