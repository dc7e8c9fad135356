//! Least squares over Levenberg and Marquardt's method: bounds, priors, robust loss, several starts, why it stopped.
//!
//! The method itself is the crate `levenberg-marquardt`, after More, "The Levenberg-Marquardt algorithm: implementation
//! and theory" (1978). Derivatives come from the model where it knows them, else from central differences, all points of
//! which run in parallel. A point that cannot be computed is counted and taken as very bad; it never ends a fit.

use std::cell::RefCell;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use super::coordinate::Coordinate;
use super::robust;
use crate::study::batch::{self, BatchOptions};

/// Residuals of a model, a pure function of the values that are sought.
pub trait Residuals: Sync {
    /// Number of residuals.
    fn count(&self) -> usize;

    /// Residuals at `values`, each divided by its standard deviation where that is known.
    ///
    /// # Errors
    /// Why the model cannot be computed there.
    fn residuals(&self, values: &[f64]) -> Result<Vec<f64>, String>;

    /// Exact derivatives, one column of residuals for each value; `None` where the model does not know them.
    fn slopes(&self, _values: &[f64]) -> Option<Vec<Vec<f64>>> {
        None
    }
}

/// How far apart the two points of a central difference are from the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// The cube root of the machine's precision, times the coordinate's size: for closed forms, where rounding and
    /// curvature then weigh the same.
    Rounding,
    /// So much in the coordinate: for a slow model whose own error is larger than rounding. A walk then looks to one
    /// side only, which is half the runs; the slopes at its end are taken from both.
    Fixed(f64),
}

/// How a fit is done.
#[derive(Debug, Clone)]
pub struct Options<'a> {
    /// Corner of Huber's loss in standard deviations; `None`: plain squares.
    pub huber: Option<f64>,
    /// Step of the differences.
    pub step: Step,
    /// Relative change of sum and coordinates at which the walk has settled; 0 goes to the machine's precision.
    pub tolerance: f64,
    /// Most points of the walk for each coordinate, at least 1.
    pub patience: usize,
    /// Bound of the first step, in coordinates scaled by their slopes.
    pub first_step: f64,
    /// Ends the fit early.
    pub stop: &'a AtomicBool,
    /// Worker threads for the differences.
    pub threads: Option<usize>,
}

impl<'a> Options<'a> {
    /// For closed forms: plain squares, to the machine's precision.
    #[must_use]
    pub const fn closed_form(stop: &'a AtomicBool) -> Self {
        Self {
            huber: None,
            step: Step::Rounding,
            tolerance: 0.0,
            patience: 200,
            first_step: 100.0,
            stop,
            threads: Some(1),
        }
    }
}

/// Why a walk ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stop {
    /// Sum and values no longer change: a minimum.
    Settled,
    /// No better point within the precision of the machine.
    Precision,
    /// All residuals are zero.
    Exact,
    /// Too many points without settling.
    Patience,
    /// The start cannot be computed, or the numbers are not finite.
    Numbers,
    /// Stopped from outside.
    Stopped,
}

impl Stop {
    /// Whether the end is a minimum.
    #[must_use]
    pub const fn is_minimum(self) -> bool {
        matches!(self, Self::Settled | Self::Precision | Self::Exact)
    }

    /// In words that complete "it stopped because ...".
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Settled => "nothing changes any more: it is at a minimum",
            Self::Precision => "no better point can be told apart at the precision of the numbers",
            Self::Exact => "all residuals are zero",
            Self::Patience => "it ran out of patience before it settled",
            Self::Numbers => "the numbers were not finite or the start could not be computed",
            Self::Stopped => "it was stopped",
        }
    }
}

/// The end of a walk.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// Coordinates.
    pub coordinates: Vec<f64>,
    /// Values.
    pub values: Vec<f64>,
    /// Residuals of the model as they are, priors left out.
    pub residuals: Vec<f64>,
    /// Robust sum of squares, priors included.
    pub sum: f64,
    /// Slopes of the (tamed) residuals by the coordinates, priors left out; row by row.
    pub slopes: Vec<Vec<f64>>,
    /// Why it ended.
    pub stop: Stop,
    /// Points computed, over all starts.
    pub runs: usize,
    /// Points that could not be computed, over all starts.
    pub failed: usize,
    /// Sum at the end of each start, in their order; not finite where the start itself failed.
    pub starts: Vec<f64>,
}

/// A fit without any result.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FitFailure {
    /// Nothing to fit with or to.
    #[error("a fit needs at least one unknown and one reading")]
    Empty,
    /// No start could be computed; the reason of the last.
    #[error("the model could not be computed at any start: {0}")]
    NoStart(String),
}

/// Size of every residual at a point that cannot be computed \[standard deviations\]: worse than any that can.
const PENALTY: f64 = 1e4;

/// Finds the least sum of squares from each of `starts` (in coordinates) and keeps the best.
///
/// # Errors
/// [`FitFailure`].
pub fn fit(
    model: &dyn Residuals,
    coordinates: &[Coordinate],
    starts: &[Vec<f64>],
    options: &Options<'_>,
) -> Result<Fitted, FitFailure> {
    if coordinates.is_empty() || model.count() == 0 || starts.is_empty() {
        return Err(FitFailure::Empty);
    }
    let points = Points {
        model,
        coordinates,
        options,
        runs: AtomicUsize::new(0),
        failed: AtomicUsize::new(0),
        reason: Mutex::new(None),
    };
    let mut best: Option<(f64, Vec<f64>, Stop)> = None;
    let mut sums = Vec::with_capacity(starts.len());
    for start in starts {
        if best.is_some() && options.stop.load(Ordering::Relaxed) {
            break;
        }
        let walk = Walk {
            points: &points,
            here: start.clone(),
            last: RefCell::new(None),
        };
        let (walk, report) = LevenbergMarquardt::new()
            .with_ftol(options.tolerance.max(LEAST_TOLERANCE))
            .with_xtol(options.tolerance.max(LEAST_TOLERANCE))
            .with_gtol(options.tolerance.max(LEAST_TOLERANCE))
            .with_stepbound(options.first_step)
            .with_patience(options.patience.max(1))
            .minimize(walk);
        let stop = reason(&report.termination);
        let sum = 2.0 * report.objective_function;
        let usable = stop != Stop::Numbers && sum < PENALTY * PENALTY;
        sums.push(if usable { sum } else { f64::INFINITY });
        if usable && best.as_ref().is_none_or(|(least, ..)| sum < *least) {
            best = Some((sum, walk.here, stop));
        }
    }
    let nothing = || FitFailure::NoStart(points.last_reason());
    let (sum, here, stop) = best.ok_or_else(nothing)?;
    let residuals = points.raw(&here).ok_or_else(nothing)?;
    let slopes = points.differences(&here, Some(&points.tame(residuals.clone())), true);
    Ok(Fitted {
        slopes: (0..model.count())
            .map(|i| slopes.row(i).iter().copied().collect())
            .collect(),
        values: points.values(&here),
        coordinates: here,
        residuals,
        sum,
        stop,
        runs: points.runs.load(Ordering::Relaxed),
        failed: points.failed.load(Ordering::Relaxed),
        starts: sums,
    })
}

/// Tolerances below a few roundings cannot be met.
const LEAST_TOLERANCE: f64 = 30.0 * f64::EPSILON;

fn reason(reason: &TerminationReason) -> Stop {
    match reason {
        TerminationReason::Converged { .. } | TerminationReason::Orthogonal => Stop::Settled,
        TerminationReason::NoImprovementPossible(_) => Stop::Precision,
        TerminationReason::ResidualsZero => Stop::Exact,
        TerminationReason::LostPatience => Stop::Patience,
        TerminationReason::User(_) => Stop::Stopped,
        TerminationReason::Numerical(_)
        | TerminationReason::NoParameters
        | TerminationReason::NoResiduals
        | TerminationReason::WrongDimensions(_) => Stop::Numbers,
    }
}

/// The model at points, counted. Any thread may ask.
struct Points<'a> {
    model: &'a dyn Residuals,
    coordinates: &'a [Coordinate],
    options: &'a Options<'a>,
    runs: AtomicUsize,
    failed: AtomicUsize,
    /// Why the last failed.
    reason: Mutex<Option<String>>,
}

impl Points<'_> {
    fn values(&self, at: &[f64]) -> Vec<f64> {
        let pairs = self.coordinates.iter().zip(at);
        pairs.map(|(c, &u)| c.value(u)).collect()
    }

    fn last_reason(&self) -> String {
        let reason = self.reason.lock().ok().and_then(|r| r.clone());
        reason.unwrap_or_default()
    }

    /// Residuals of the model as they are; `None` where it cannot be computed.
    fn raw(&self, at: &[f64]) -> Option<Vec<f64>> {
        self.runs.fetch_add(1, Ordering::Relaxed);
        let found = self.model.residuals(&self.values(at)).and_then(|r| {
            if r.len() == self.model.count() && r.iter().all(|x| x.is_finite()) {
                Ok(r)
            } else {
                Err("a residual is not finite".to_owned())
            }
        });
        found
            .map_err(|why| {
                self.failed.fetch_add(1, Ordering::Relaxed);
                if let Ok(mut reason) = self.reason.lock() {
                    *reason = Some(why);
                }
            })
            .ok()
    }

    fn tame(&self, mut residuals: Vec<f64>) -> Vec<f64> {
        if let Some(corner) = self.options.huber {
            for r in &mut residuals {
                *r = robust::tamed(*r, corner);
            }
        }
        residuals
    }

    fn step(&self, u: f64) -> f64 {
        match self.options.step {
            Step::Rounding => f64::EPSILON.cbrt() * if u == 0.0 { 1.0 } else { u.abs() },
            Step::Fixed(h) => h,
        }
    }

    /// Slopes of the tamed residuals by the coordinates at `here`, where they are `middle`.
    fn differences(&self, here: &[f64], middle: Option<&[f64]>, both: bool) -> DMatrix<f64> {
        let (rows, columns) = (self.model.count(), here.len());
        let place = |index: usize| {
            let sign = if index.is_multiple_of(2) { 1.0 } else { -1.0 };
            let column = index / 2;
            let mut at = here.to_vec();
            at[column] += sign * self.step(here[column]);
            at
        };
        let point = |index: usize| {
            let wanted = both || middle.is_none() || index.is_multiple_of(2);
            let found = wanted.then(|| self.raw(&place(index))).flatten();
            found.map(|r| self.tame(r))
        };
        let count = 2 * columns;
        let found: Vec<Option<Vec<f64>>> = if self.options.threads == Some(1) {
            (0..count).map(point).collect()
        } else {
            let batch = BatchOptions {
                threads: self.options.threads,
                ..BatchOptions::new(self.options.stop)
            };
            let jobs = batch::run_all(count, batch, point, &|_| {}).unwrap_or_default();
            let jobs = jobs
                .into_iter()
                .map(|job| job.and_then(Result::ok).flatten());
            jobs.chain(std::iter::repeat(None)).take(count).collect()
        };
        let mut slopes = DMatrix::zeros(rows, columns);
        for (column, at) in here.iter().enumerate() {
            // The width as it was rounded, not as it was meant.
            let up = place(2 * column)[column];
            let down = place(2 * column + 1)[column];
            let sides = (&found[2 * column], &found[2 * column + 1], middle);
            let (a, b, width) = match sides {
                (Some(a), Some(b), _) => (a.as_slice(), b.as_slice(), up - down),
                (Some(a), None, Some(m)) => (a.as_slice(), m, up - at),
                (None, Some(b), Some(m)) => (m, b.as_slice(), at - down),
                // Nothing is known of this direction here: the walk leaves it alone for a step.
                _ => continue,
            };
            for row in 0..rows {
                slopes[(row, column)] = (a[row] - b[row]) / width;
            }
        }
        slopes
    }

    /// Exact slopes turned into those of the tamed residuals by the coordinates.
    fn exact(&self, here: &[f64]) -> Option<DMatrix<f64>> {
        let columns = self.model.slopes(&self.values(here))?;
        let raw = self.raw(here)?;
        let tamed = self.tame(raw.clone());
        let mut slopes = DMatrix::zeros(self.model.count(), here.len());
        for (j, column) in columns.iter().enumerate() {
            let by = self.coordinates[j].slope(here[j]);
            for (i, slope) in column.iter().enumerate() {
                let outside = raw[i] != tamed[i];
                let corner = self.options.huber.filter(|_| outside);
                let tame = corner.map_or(1.0, |corner| corner / tamed[i].abs());
                slopes[(i, j)] = slope * by * tame;
            }
        }
        Some(slopes)
    }
}

/// One walk, in the shape that the method asks for.
struct Walk<'a> {
    points: &'a Points<'a>,
    here: Vec<f64>,
    /// Where residuals were last computed, and the tamed ones: the middle of one-sided differences.
    last: RefCell<Option<(Vec<f64>, Vec<f64>)>>,
}

impl Walk<'_> {
    fn is_stopped(&self) -> bool {
        self.points.options.stop.load(Ordering::Relaxed)
    }

    fn priors(&self) -> impl Iterator<Item = usize> {
        let coordinates = self.points.coordinates.iter().enumerate();
        coordinates.filter(|(_, c)| c.has_prior()).map(|(j, _)| j)
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Walk<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.here = x.iter().copied().collect();
    }

    fn params(&self) -> DVector<f64> {
        DVector::from_column_slice(&self.here)
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        if self.is_stopped() {
            return None;
        }
        let found = self.points.raw(&self.here).map(|r| self.points.tame(r));
        *self.last.borrow_mut() = found.clone().map(|r| (self.here.clone(), r));
        let mut all = found.unwrap_or_else(|| vec![PENALTY; self.points.model.count()]);
        all.extend(self.priors().map(|j| self.here[j]));
        Some(DVector::from_vec(all))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        if self.is_stopped() {
            return None;
        }
        let model = self.points.exact(&self.here).unwrap_or_else(|| {
            let both = self.points.options.step == Step::Rounding;
            let last = self.last.borrow();
            let middle = last.as_ref().filter(|(at, _)| *at == self.here);
            let middle = middle.map(|(_, r)| r.as_slice());
            self.points.differences(&self.here, middle, both)
        });
        let rows = model.nrows();
        let mut slopes = model.resize_vertically(rows + self.priors().count(), 0.0);
        for (i, j) in self.priors().enumerate() {
            slopes[(rows + i, j)] = 1.0;
        }
        Some(slopes)
    }
}
