//! Weighted draws from what the readings and priors leave open.
//!
//! Draws come from a mixture of two bells about the minimum, one a little and one much wider than the straight-line
//! widths; each is weighted by how much likelier the model makes it than the mixture does (importance sampling). The
//! effective number of draws says how far the weights can be trusted.

use super::coordinate::Coordinate;
use super::information::Information;
use super::least_squares::{Fitted, Residuals};
use super::robust;
use crate::study::batch::{self, BatchError, BatchOptions};
use crate::study::normal;
use crate::study::sampling::{self, Method, SamplingError};

/// Widths of the two bells in straight-line widths, and the share of draws from the wider one.
const NARROW: f64 = 1.1;
const WIDE: f64 = 1.8;
const WIDE_SHARE: f64 = 0.25;

/// A weighted draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Draw<T> {
    /// Values of the unknowns.
    pub values: Vec<f64>,
    /// Its weight; all add up to 1.
    pub weight: f64,
    /// What else the model gave.
    pub more: T,
}

/// Weighted draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior<T> {
    /// Those that could be computed and have a weight.
    pub draws: Vec<Draw<T>>,
    /// Number of equally weighted draws that would know as much.
    pub effective: f64,
    /// Draws that could not be computed.
    pub failed: usize,
    /// Draws asked for.
    pub asked: usize,
}

/// No draws.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DrawFailure {
    /// Too few or too many.
    #[error(transparent)]
    Sampling(#[from] SamplingError),
    /// The batch could not begin.
    #[error(transparent)]
    Batch(#[from] BatchError),
    /// None could be computed.
    #[error("none of {0} draws about the best fit could be computed")]
    None(usize),
}

/// A model that gives something beside its residuals, such as a forecast.
pub trait Predicts: Residuals {
    /// What it gives beside.
    type More: Send;

    /// Residuals and the rest at `values`.
    ///
    /// # Errors
    /// Why the model cannot be computed there.
    fn predict(&self, values: &[f64]) -> Result<(Vec<f64>, Self::More), String>;
}

/// How draws are made.
#[derive(Debug, Clone, Copy)]
pub struct Drawing<'a> {
    /// Draws, at least 1.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Corner of Huber's loss, as in the fit.
    pub huber: Option<f64>,
    /// Multiplies the standard deviations of all readings.
    pub noise: f64,
    /// Threads and stop.
    pub batch: BatchOptions<'a>,
}

/// Draws about a fit.
///
/// # Errors
/// [`DrawFailure`].
pub fn draw<M: Predicts + ?Sized>(
    model: &M,
    coordinates: &[Coordinate],
    fitted: &Fitted,
    information: &Information,
    drawing: &Drawing<'_>,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Posterior<M::More>, DrawFailure> {
    let n = coordinates.len();
    let points = sampling::unit_points(Method::LatinHypercube, drawing.draws, n + 1, drawing.seed)?;
    let work = |index: usize| {
        let row = points.row(index)?;
        let width = if row[n] < WIDE_SHARE { WIDE } else { NARROW };
        let z: Vec<f64> = row[..n].iter().map(|&p| normal::quantile(p)).collect();
        let at: Vec<f64> = (0..n)
            .map(|i| {
                let step: f64 = (0..=i).map(|j| information.root[i][j] * z[j]).sum();
                fitted.coordinates[i] + width * step
            })
            .collect();
        let values: Vec<f64> = coordinates
            .iter()
            .zip(&at)
            .map(|(c, &u)| c.value(u))
            .collect();
        let (residuals, more) = model.predict(&values).ok()?;
        let square = width * width * z.iter().map(|z| z * z).sum::<f64>();
        let log_weight =
            -0.5 * robust_sum(&residuals, coordinates, &at, drawing) - mixture_log(square, n);
        log_weight.is_finite().then_some((values, log_weight, more))
    };
    let jobs = batch::run_all(drawing.draws, drawing.batch, work, progress)?;
    let found: Vec<(Vec<f64>, f64, M::More)> = jobs
        .into_iter()
        .filter_map(|job| job.and_then(Result::ok).flatten())
        .collect();
    let most = found.iter().map(|f| f.1).fold(f64::NEG_INFINITY, f64::max);
    if found.is_empty() || most == f64::NEG_INFINITY {
        return Err(DrawFailure::None(drawing.draws));
    }
    let failed = drawing.draws - found.len();
    let weights = cut(found.iter().map(|f| libm::exp(f.1 - most)).collect());
    let draws: Vec<Draw<M::More>> = found
        .into_iter()
        .zip(weights)
        .map(|((values, _, more), weight)| Draw {
            values,
            weight,
            more,
        })
        .collect();
    let squares: f64 = draws.iter().map(|d| d.weight * d.weight).sum();
    Ok(Posterior {
        effective: 1.0 / squares,
        failed,
        asked: drawing.draws,
        draws,
    })
}

/// Weights that add up to 1, none above the mean times the root of their number before that: a few heavy draws would
/// else make bands that are narrower than what is known. Source: Ionides, "Truncated importance sampling" (2008), from
/// memory.
fn cut(mut weights: Vec<f64>) -> Vec<f64> {
    let count = weights.len() as f64;
    let most = weights.iter().sum::<f64>() / count * count.sqrt();
    for weight in &mut weights {
        *weight = weight.min(most);
    }
    let total: f64 = weights.iter().sum();
    weights.into_iter().map(|w| w / total).collect()
}

fn robust_sum(
    residuals: &[f64],
    coordinates: &[Coordinate],
    at: &[f64],
    drawing: &Drawing<'_>,
) -> f64 {
    let data = residuals.iter().map(|r| {
        let r = r / drawing.noise;
        drawing.huber.map_or(r, |corner| robust::tamed(r, corner))
    });
    let priors = coordinates.iter().zip(at).filter(|(c, _)| c.has_prior());
    data.chain(priors.map(|(_, &u)| u)).map(|r| r * r).sum()
}

/// Logarithm of the mixture's density, less what all draws share, at a squared distance in straight-line widths.
fn mixture_log(square: f64, n: usize) -> f64 {
    let bell = |share: f64, width: f64| {
        libm::log(share) - n as f64 * libm::log(width) - 0.5 * square / (width * width)
    };
    let (a, b) = (bell(1.0 - WIDE_SHARE, NARROW), bell(WIDE_SHARE, WIDE));
    let most = a.max(b);
    most + libm::log(libm::exp(a - most) + libm::exp(b - most))
}

impl<T> Posterior<T> {
    /// The same draws, equally weighted where their weights rest on fewer than `fewest` effective ones; and whether
    /// the weights stand.
    #[must_use]
    pub fn trusted(mut self, fewest: f64) -> (Self, bool) {
        let stands = self.effective >= fewest;
        if !stands {
            let equal = 1.0 / self.draws.len() as f64;
            for draw in &mut self.draws {
                draw.weight = equal;
            }
        }
        (self, stands)
    }

    /// Weighted mean of something of each draw.
    pub fn mean(&self, of: impl Fn(&Draw<T>) -> f64) -> f64 {
        self.draws.iter().map(|d| d.weight * of(d)).sum()
    }

    /// Weighted standard deviation of something of each draw.
    pub fn sd(&self, of: impl Fn(&Draw<T>) -> f64) -> f64 {
        let mean = self.mean(&of);
        let squares = self.draws.iter().map(|d| d.weight * (of(d) - mean).powi(2));
        squares.sum::<f64>().sqrt()
    }

    /// Weighted quantiles of something of each draw, for rising shares; straight lines between the draws' middles.
    pub fn quantiles(&self, of: impl Fn(&Draw<T>) -> f64, shares: &[f64]) -> Vec<f64> {
        weighted_quantiles(
            self.draws.iter().map(|d| (of(d), d.weight)).collect(),
            shares,
        )
    }
}

/// Quantiles of (value, weight) pairs; not finite where there are none.
#[must_use]
pub fn weighted_quantiles(mut pairs: Vec<(f64, f64)>, shares: &[f64]) -> Vec<f64> {
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = pairs.iter().map(|p| p.1).sum();
    let mut places = Vec::with_capacity(pairs.len());
    let mut before = 0.0;
    for (value, weight) in &pairs {
        places.push(((before + 0.5 * weight) / total, *value));
        before += weight;
    }
    let at = |share: f64| {
        let above = places.partition_point(|(place, _)| *place < share);
        match (above.checked_sub(1).map(|i| places[i]), places.get(above)) {
            (Some((p, a)), Some((q, b))) if q > &p => a + (b - a) * (share - p) / (q - p),
            (_, Some((_, b))) => *b,
            (Some((_, a)), None) => a,
            (None, None) => f64::NAN,
        }
    };
    shares.iter().map(|&share| at(share)).collect()
}
