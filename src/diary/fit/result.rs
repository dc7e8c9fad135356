//! What a fit gives, as plain data.

use serde::Serialize;

use super::information::Direction;
use super::jump::Jump;
use super::least_squares::Stop;
use super::readings::What;
use super::unknown::Unknown;

/// Below this share a record has taught next to nothing about an unknown (convention of this project).
pub const HARDLY: f64 = 0.2;

/// Ends of a band that moved by less than so many prior standard deviations count as unmoved. Assumed: the ends that a
/// hundred draws give scatter by a fifth to a third of one, so half is what chance alone hardly moves both of them by.
const UNMOVED: f64 = 0.5;

/// A fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fit {
    /// Title of the scenario.
    pub title: String,
    /// Calendar date of day 0.
    pub start_date: String,
    /// Last day of the record \[d\].
    pub last_day: f64,
    /// Number of readings used.
    pub readings: usize,
    /// What became of each unknown.
    pub unknowns: Vec<Learnt>,
    /// Directions in the unknowns' coordinates, the best known first.
    pub directions: Vec<Direction>,
    /// What the readings leave open, in sentences.
    pub open: Vec<String>,
    /// Why the walk ended.
    pub stop: Stop,
    /// Runs, failed runs among them.
    pub runs: usize,
    /// Failed runs.
    pub failed: usize,
    /// Robust sum of squares at the end of each start; `None` where the start itself failed.
    pub starts: Vec<Option<f64>>,
    /// How many times wider the readings scatter about the fit than was assumed, at least 1.
    pub noise: f64,
    /// Draws that the bands rest on, as many equally weighted ones.
    pub effective_draws: f64,
    /// Draws made.
    pub draws: usize,
    /// Whether the draws were weighted; else too few had a weight, and they stand as drawn.
    pub weighted: bool,
    /// Seed.
    pub seed: u64,
    /// Gas at typical values \[norm litres/d\].
    pub usual_gas_nl: f64,
    /// Each reading beside what the fit computes.
    pub residuals: Vec<Residual>,
    /// A day on which the gas readings leave the fit, if there is one.
    pub jump: Option<Jump>,
    /// Bands of each day, past and to come.
    pub days: Vec<DayBand>,
    /// What was left aside and why.
    pub notes: Vec<String>,
    /// Version of marshgas.
    pub version: &'static str,
    /// Scenario file.
    pub file: String,
    /// SHA-256 of the scenario's bytes.
    pub sha256: String,
}

/// What a record taught about one unknown.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Learnt {
    /// The unknown as it was before.
    pub unknown: Unknown,
    /// Likeliest value together with the others.
    pub best: f64,
    /// Mean of what is left possible.
    pub mean: f64,
    /// One in twenty lies below.
    pub p05: f64,
    /// Half lies below.
    pub p50: f64,
    /// One in twenty lies above.
    pub p95: f64,
    /// The same ends before any reading.
    pub before: (f64, f64),
    /// Share of what was open before that the record has closed, 0..1 (in the variance of the coordinate).
    pub learnt: f64,
}

impl Learnt {
    /// Whether both ends of its band lie where they lay before any reading.
    #[must_use]
    pub fn as_before(&self) -> bool {
        let coordinate = self.unknown.coordinate();
        let ends = [(self.p05, self.before.0), (self.p95, self.before.1)];
        ends.iter()
            .all(|&(now, then)| (coordinate.of(now) - coordinate.of(then)).abs() < UNMOVED)
    }
}

/// A reading beside the fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Residual {
    /// Line of the record.
    pub line: u64,
    /// What.
    pub what: What,
    /// Begin of its stretch \[d\].
    pub from_day: f64,
    /// When \[d\].
    pub day: f64,
    /// As read.
    pub seen: f64,
    /// As the fit has it.
    pub computed: f64,
    /// How far off, in standard deviations of a reading; above 0 where more was read than the fit has.
    pub off: f64,
}

/// Bands of a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayBand {
    /// Day.
    pub day: u32,
    /// Whether it lies beyond the record.
    pub ahead: bool,
    /// Gas \[norm litres/d, dry\], without the error of reading: 5, 25, 50, 75, 95 %.
    pub gas_nl: [f64; 5],
    /// The same with the error of a reading.
    pub gas_read_nl: [f64; 5],
    /// pH: 5, 50, 95 %.
    pub ph: [f64; 3],
    /// Methane share: 5, 50, 95 %.
    pub methane: [f64; 3],
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diary::fit::unknown::unknowns;

    #[test]
    fn a_band_that_moved_is_not_as_before() {
        let leak = unknowns().into_iter().find(|u| u.name == "leak").unwrap();
        let of = |p05: f64, p95: f64| Learnt {
            best: 0.05,
            mean: 0.05,
            p05,
            p50: 0.05,
            p95,
            before: (leak.prior.quantile(0.05), leak.prior.quantile(0.95)),
            learnt: 0.15,
            unknown: leak.clone(),
        };
        assert!(of(0.0051, 0.123).as_before());
        assert!(!of(0.0153, 0.372).as_before());
        assert!(!of(0.005, 0.4).as_before());
    }
}
