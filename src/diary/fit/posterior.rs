//! Weighted draws from what the readings and priors leave open.
//!
//! A first handful of runs comes from a mixture of two bells about the minimum, one a little and one much wider than the
//! straight-line widths. From these an [`Emulator`] learns the model. Metropolis' walk over the emulator then finds where
//! the model is worth running; its runs teach the emulator further; and the draws that count are walked over the emulator
//! as well, run, and each weighted by how much likelier the model makes it than the emulator did (importance sampling).
//! The effective number of draws says how far the weights can be trusted; where it stays below a floor, the draws teach
//! the emulator once more and are made anew.

use super::chain;
use super::coordinate::Coordinate;
use super::emulator::Emulator;
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
/// Runs of the first handful, and of each later lesson, for each coordinate.
const FIRST: usize = 6;
const LESSON: usize = 3;
/// Later lessons. They are walked over the emulator's density to this power: a little wider than what is sought, so that
/// the emulator knows the edges too.
const LESSONS: usize = 3;
const LESSON_POWER: f64 = 0.5;
/// The draws that count come from the emulator's density to this power: tails a little too wide cost few draws, tails
/// too narrow cost the truth.
const POWER: f64 = 0.9;
/// Share of the draws that must be effective, and how often they are made anew for it.
const FLOOR: f64 = 0.4;
const ANEW: usize = 2;

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
    /// Runs made, failed ones among them.
    pub runs: usize,
    /// Runs that could not be computed.
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
    /// Whether an emulator is taught and walked; else the draws come straight from the two bells.
    pub taught: bool,
    /// Seed.
    pub seed: u64,
    /// Corner of Huber's loss, as in the fit.
    pub huber: Option<f64>,
    /// Multiplies the standard deviations of all readings.
    pub noise: f64,
    /// Threads and stop.
    pub batch: BatchOptions<'a>,
}

/// A run: scaled coordinates, values, residuals, logarithm of its density, what else.
struct Run<T> {
    scaled: Vec<f64>,
    values: Vec<f64>,
    residuals: Vec<f64>,
    log: f64,
    more: T,
}

struct Drawer<'a, M: ?Sized> {
    model: &'a M,
    coordinates: &'a [Coordinate],
    drawing: &'a Drawing<'a>,
    emulator: Emulator,
    runs: usize,
    failed: usize,
}

impl<M: Predicts + ?Sized> Drawer<'_, M> {
    /// Logarithm of the density at coordinates with residuals.
    fn log(&self, residuals: &[f64], at: &[f64]) -> f64 {
        let corner = self.drawing.huber.unwrap_or(f64::INFINITY);
        let data = residuals
            .iter()
            .map(|r| robust::loss(r / self.drawing.noise, corner));
        let priors = self
            .coordinates
            .iter()
            .zip(at)
            .filter(|(c, _)| c.has_prior());
        -0.5 * (data.sum::<f64>() + priors.map(|(_, u)| u * u).sum::<f64>())
    }

    /// Logarithm of the density as the emulator has it.
    fn guess(&self, scaled: &[f64]) -> f64 {
        self.log(
            &self.emulator.residuals(scaled),
            &self.emulator.place(scaled),
        )
    }

    /// The model at scaled coordinates; `None` where it cannot be computed.
    fn run(
        &mut self,
        places: &[Vec<f64>],
        progress: &(dyn Fn(usize) + Sync),
    ) -> Result<Vec<Option<Run<M::More>>>, BatchError> {
        let this = &*self;
        let work = |index: usize| {
            let scaled = places[index].clone();
            let at = this.emulator.place(&scaled);
            let pairs = this.coordinates.iter().zip(&at);
            let values: Vec<f64> = pairs.map(|(c, &u)| c.value(u)).collect();
            let (residuals, more) = this.model.predict(&values).ok()?;
            let log = this.log(&residuals, &at);
            log.is_finite().then_some(Run {
                scaled,
                values,
                residuals,
                log,
                more,
            })
        };
        let jobs = batch::run_all(places.len(), self.drawing.batch, work, progress)?;
        let found: Vec<Option<Run<M::More>>> = jobs
            .into_iter()
            .map(|job| job.and_then(Result::ok).flatten())
            .collect();
        self.runs += found.len();
        self.failed += found.iter().filter(|f| f.is_none()).count();
        Ok(found)
    }

    /// Draws over the emulator, begun at the best runs so far.
    fn walk(&self, seen: &[Run<()>], power: f64, count: usize, stream: u64) -> Vec<Vec<f64>> {
        let mut best: Vec<&Run<()>> = seen.iter().collect();
        best.sort_by(|a, b| b.log.total_cmp(&a.log));
        let mut starts: Vec<Vec<f64>> = vec![vec![0.0; self.coordinates.len()]];
        starts.extend(best.iter().take(STARTS).map(|run| run.scaled.clone()));
        let log = |scaled: &[f64]| power * self.guess(scaled);
        chain::walk(&log, &starts, count, self.drawing.seed, stream)
    }

    fn teach(&mut self, seen: &[Run<()>]) {
        let from = seen.len().saturating_sub(MOST_TAUGHT);
        let runs = seen[from..].iter();
        let runs: Vec<_> = runs
            .map(|r| (r.scaled.clone(), r.residuals.clone()))
            .collect();
        self.emulator.learn(&runs);
    }
}

/// Runs that walks begin at, beside the minimum.
const STARTS: usize = 3;
/// Most runs that an emulator is taught: the time it takes grows with their third power.
const MOST_TAUGHT: usize = 240;

impl<T> Run<T> {
    fn bare(self) -> Run<()> {
        Run {
            scaled: self.scaled,
            values: self.values,
            residuals: self.residuals,
            log: self.log,
            more: (),
        }
    }
}

/// Draws about a fit. `progress` gets the share done, 0 to 1.
///
/// # Errors
/// [`DrawFailure`].
pub fn draw<M: Predicts + ?Sized>(
    model: &M,
    coordinates: &[Coordinate],
    fitted: &Fitted,
    information: &Information,
    drawing: &Drawing<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Posterior<M::More>, DrawFailure> {
    let n = coordinates.len();
    let mut drawer = Drawer {
        model,
        coordinates,
        drawing,
        emulator: Emulator::straight(fitted, information, coordinates, drawing.huber),
        runs: 0,
        failed: 0,
    };
    let first = if drawing.taught {
        FIRST * n
    } else {
        drawing.draws
    };
    let planned = match drawing.taught {
        true => first + LESSONS * LESSON * n + drawing.draws,
        false => drawing.draws,
    };
    let share = |before: usize| {
        move |done: usize| progress(((before + done) as f64 / planned as f64).min(1.0))
    };
    let places = bells(first, n, drawing.seed)?;
    let found = drawer.run(&places, &share(0))?;
    if !drawing.taught {
        let logs = |run: &Run<M::More>| run.log - mixture_log(&run.scaled);
        return weighted(found, logs, &drawer);
    }
    let mut seen: Vec<Run<()>> = found.into_iter().flatten().map(Run::bare).collect();
    for lesson in 0..LESSONS {
        drawer.teach(&seen);
        let places = drawer.walk(&seen, LESSON_POWER, LESSON * n, lesson as u64);
        let found = drawer.run(&places, &share(first + lesson * LESSON * n))?;
        seen.extend(found.into_iter().flatten().map(Run::bare));
    }
    for again in 0..=ANEW {
        drawer.teach(&seen);
        let places = drawer.walk(&seen, POWER, drawing.draws, (LESSONS + again) as u64);
        let found = drawer.run(&places, &share(first + LESSONS * LESSON * n))?;
        let teaches: Vec<Run<()>> = found
            .iter()
            .flatten()
            .map(|run| Run {
                scaled: run.scaled.clone(),
                values: Vec::new(),
                residuals: run.residuals.clone(),
                log: run.log,
                more: (),
            })
            .collect();
        let logs = |run: &Run<M::More>| run.log - POWER * drawer.guess(&run.scaled);
        let posterior = weighted(found, logs, &drawer)?;
        if again == ANEW || posterior.effective >= FLOOR * drawing.draws as f64 {
            return Ok(posterior);
        }
        seen.extend(teaches);
    }
    Err(DrawFailure::None(drawing.draws))
}

/// Scaled coordinates from the two bells.
fn bells(count: usize, n: usize, seed: u64) -> Result<Vec<Vec<f64>>, SamplingError> {
    let points = sampling::unit_points(Method::LatinHypercube, count, n + 1, seed)?;
    let place = |row: &[f64]| {
        let width = if row[n] < WIDE_SHARE { WIDE } else { NARROW };
        row[..n]
            .iter()
            .map(|&p| width * normal::quantile(p))
            .collect()
    };
    Ok(points.rows().map(place).collect())
}

fn weighted<M: Predicts + ?Sized>(
    found: Vec<Option<Run<M::More>>>,
    log: impl Fn(&Run<M::More>) -> f64,
    drawer: &Drawer<'_, M>,
) -> Result<Posterior<M::More>, DrawFailure> {
    let asked = drawer.drawing.draws;
    let found: Vec<Run<M::More>> = found.into_iter().flatten().collect();
    let logs: Vec<f64> = found.iter().map(log).collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if found.is_empty() || !most.is_finite() {
        return Err(DrawFailure::None(asked));
    }
    let weights = cut(logs.iter().map(|l| libm::exp(l - most)).collect());
    let draws: Vec<Draw<M::More>> = found
        .into_iter()
        .zip(weights)
        .map(|(run, weight)| Draw {
            values: run.values,
            weight,
            more: run.more,
        })
        .collect();
    let squares: f64 = draws.iter().map(|d| d.weight * d.weight).sum();
    Ok(Posterior {
        effective: 1.0 / squares,
        failed: drawer.failed,
        runs: drawer.runs,
        asked,
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

/// Logarithm of the mixture's density at scaled coordinates, less what all draws share.
fn mixture_log(scaled: &[f64]) -> f64 {
    let n = scaled.len() as f64;
    let square: f64 = scaled.iter().map(|z| z * z).sum();
    let bell = |share: f64, width: f64| {
        libm::log(share) - n * libm::log(width) - 0.5 * square / (width * width)
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
///
/// Of `n` draws the i-th smallest has, on average, the share `i / (n + 1)` of everything below it, so that bands between
/// such places hold what they promise however few the draws are (Weibull's plotting position; David and Nagaraja, "Order
/// Statistics", 2003, from memory). Weighted draws stand there as their effective number would.
#[must_use]
pub fn weighted_quantiles(mut pairs: Vec<(f64, f64)>, shares: &[f64]) -> Vec<f64> {
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = pairs.iter().map(|p| p.1).sum();
    let squares: f64 = pairs.iter().map(|p| p.1 * p.1).sum();
    let effective = total * total / squares;
    let shrink = effective / (effective + 1.0);
    let mut places = Vec::with_capacity(pairs.len());
    let mut before = 0.0;
    for (value, weight) in &pairs {
        let middle = (before + 0.5 * weight) / total;
        places.push((0.5 + shrink * (middle - 0.5), *value));
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
