//! Whether the gas readings leave a fit on one day: a fit takes everything as constant, and where something began on the way
//! its values are a mixture of before and after.

use serde::Serialize;

use super::readings::What;
use super::result::Residual;

/// Readings that there must be before the day and after it.
const FEWEST: usize = 4;
/// How many standard errors the means before and after must be apart. Of all splits of some forty independent readings the
/// best lies beyond 4 in about one record of a hundred (`independent_readings_hardly_ever_jump`).
const APART: f64 = 4.0;
/// Readings farther off than this count as so far off: one slip is no jump \[sd\].
const FARTHEST: f64 = 3.0;

/// A day on which the readings leave the fit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Jump {
    /// Halfway between the last reading before and the first one after \[d\].
    pub day: f64,
    /// How much more was read than fitted before it, as a mean \[standard deviations of a reading\].
    pub before: f64,
    /// The same after it.
    pub after: f64,
}

/// The day at which the gas readings fall apart best, if they do.
#[must_use]
pub fn jump(residuals: &[Residual]) -> Option<Jump> {
    let gas = residuals
        .iter()
        .filter(|r| matches!(r.what, What::Gas | What::GasAfterLime));
    let mut off: Vec<(f64, f64)> = gas
        .map(|r| (r.day, r.off.clamp(-FARTHEST, FARTHEST)))
        .collect();
    off.sort_by(|a, b| a.0.total_cmp(&b.0));
    let split = |k: usize| {
        let (a, b) = off.split_at(k);
        let mean = |part: &[(f64, f64)]| part.iter().map(|r| r.1).sum::<f64>() / part.len() as f64;
        let (before, after) = (mean(a), mean(b));
        let squares = |part: &[(f64, f64)], mean: f64| -> f64 {
            part.iter().map(|r| (r.1 - mean).powi(2)).sum()
        };
        let within = squares(a, before) + squares(b, after);
        // Readings are never thought better than was assumed of them.
        let sd = (within / (off.len() - 2) as f64).sqrt().max(1.0);
        let error = sd * (1.0 / a.len() as f64 + 1.0 / b.len() as f64).sqrt();
        let day = 0.5 * (a[k - 1].0 + b[0].0);
        ((after - before).abs() / error, Jump { day, before, after })
    };
    let places = FEWEST..(off.len() + 1).saturating_sub(FEWEST);
    let best = places.map(split).max_by(|a, b| a.0.total_cmp(&b.0))?;
    (best.0 >= APART).then_some(best.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::generator::replicate;
    use crate::study::normal;

    fn record(seed: u64, shift: impl Fn(usize) -> f64) -> Vec<Residual> {
        let mut draws = replicate(seed, 1);
        (0..40)
            .map(|i| Residual {
                line: i as u64,
                what: What::Gas,
                from_day: i as f64,
                day: i as f64 + 1.0,
                seen: 0.0,
                computed: 0.0,
                off: normal::quantile(draws.uniform()) + shift(i),
            })
            .collect()
    }

    #[test]
    fn independent_readings_hardly_ever_jump() {
        let found = (0..2000).filter(|&seed| jump(&record(seed, |_| 0.0)).is_some());
        let count = found.count();
        assert!(count < 30, "{count}");
    }

    #[test]
    fn a_jump_is_dated_and_one_slip_is_none() {
        for seed in 0..20 {
            let found = jump(&record(seed, |i| if i < 25 { 0.8 } else { -1.2 })).unwrap();
            assert!((found.day - 25.5).abs() < 4.0, "{found:?}");
            // Two means of 25 and 15 readings: their difference is good to 0.33.
            assert!((found.before - found.after - 2.0).abs() < 1.0, "{found:?}");
            let slip = jump(&record(seed, |i| if i == 30 { 40.0 } else { 0.0 }));
            assert_eq!(slip, None);
        }
        assert_eq!(jump(&record(1, |i| i as f64)[..7]), None);
    }
}
