//! Sweeps: one or two things of a scenario varied, a run for each value, the lasting level of each run.
//!
//! | file | holds |
//! |---|---|
//! | `knob` | what can be varied |
//! | `turn` | from the scenario and values to the scenario of one point |
//! | `feeding` | the full daily feeding of a scenario |
//! | `point` | the lasting level of a run and its class |
//! | `rules` | by which rules, from data |

mod feeding;
mod knob;
mod point;
mod rules;
mod turn;

use std::path::Path;
use std::str::FromStr as _;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use serde::Serialize;
use serde_json::Value;

pub use feeding::full_amount;
pub use knob::{About, Knob, KnobError, NAMED, Named};
pub use point::{Class, Level, Milestone, Mishap, MishapKind, SweepPoint};
pub use rules::{Rule, Rules};
pub use turn::{TurnError, present};

use super::axis::{Axis, AxisError, grid_points};
use super::batch::{self, BatchError, BatchOptions};
use crate::case::{Case, Model};
use crate::digester::Engine;
use crate::scenario;
use crate::simulate::{self, Outcome, RunFailure};
use crate::units::repeated;
use feeding::Steady;
use point::Around;

/// Most knobs of one sweep.
pub const MOST_KNOBS: usize = 2;

/// A knob and its values.
#[derive(Debug, Clone, PartialEq)]
pub struct Varied {
    /// What is varied.
    pub knob: Knob,
    /// Over which values.
    pub axis: Axis,
}

/// A sweep, ready to run.
#[derive(Debug, Clone)]
pub struct Plan<'a> {
    /// The scenario as JSON; it has been checked.
    pub scenario: &'a Value,
    /// How it is called in messages.
    pub label: &'a str,
    /// Where its tables are looked for.
    pub folder: Option<&'a Path>,
    /// One or two.
    pub varied: Vec<Varied>,
    /// Length of every run \[d\]; `None` for that of the scenario, and at least three retention times.
    pub days: Option<u32>,
}

/// How a sweep runs.
pub struct SweepOptions<'a> {
    /// Worker threads; `None` for one per core.
    pub threads: Option<usize>,
    /// Once true no further point is begun.
    pub stop: &'a AtomicBool,
    /// Points that are known already, as they were handed to `progress`, in any order.
    pub known: Vec<SweepPoint>,
}

/// Result of a sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SweepResult {
    /// Title of the scenario.
    pub title: String,
    /// Its description.
    pub about: String,
    /// What was varied.
    pub axes: Vec<SweepAxis>,
    /// Length asked for \[d\]; `None` where each run was made as long as it needs.
    pub days: Option<u32>,
    /// The points, the last knob running fastest. Points that were not begun are missing.
    pub points: Vec<SweepPoint>,
    /// How many there would be.
    pub planned: usize,
    /// Days for which the scenario gives its feeding, where some run is longer and some of the feeding (pauses, single
    /// feeds, lines that end) is not repeated after them.
    pub not_repeated_after: Option<f64>,
    /// Days of the scenario, where some run is longer and has the pauses of its last year again in every year after it.
    pub pauses_repeated_after: Option<f64>,
    /// Rules by which they were read.
    pub rules: Rules,
}

/// One thing that was varied.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SweepAxis {
    /// Name on the command line.
    pub knob: String,
    /// Name for people.
    pub label: String,
    /// Unit of the values.
    pub unit: String,
    /// The values.
    pub values: Vec<f64>,
    /// Whether they grow in equal ratios.
    pub geometric: bool,
}

/// Why a sweep cannot begin.
#[derive(Debug, thiserror::Error)]
pub enum SweepError {
    /// `KNOB=RANGE` without its sign.
    #[error("`{0}` does not say which values; write it like feed=0.5..2 in 7, or feed=1,2,3")]
    NoRange(String),
    /// What is varied.
    #[error(transparent)]
    Knob(#[from] KnobError),
    /// A value that makes no sense for its knob.
    #[error(transparent)]
    Value(#[from] TurnError),
    /// A range.
    #[error("{knob}: {source}")]
    Axis {
        /// Knob.
        knob: String,
        /// What is wrong with it.
        source: AxisError,
    },
    /// Both ranges together.
    #[error("{0}")]
    Grid(AxisError),
    /// No knob, or too many.
    #[error("a sweep varies one thing or two, not {0}")]
    Count(usize),
    /// No point can be computed.
    #[error(
        "none of the {points} points makes a scenario that can be computed. The first, {values}:\n{message}"
    )]
    NoneFits {
        /// How many.
        points: usize,
        /// Values of the first.
        values: String,
        /// What was told.
        message: String,
    },
    /// The threads.
    #[error(transparent)]
    Batch(#[from] BatchError),
}

impl Varied {
    /// Reads `KNOB=RANGE`.
    ///
    /// # Errors
    /// [`SweepError::NoRange`], [`SweepError::Knob`], [`SweepError::Axis`], [`SweepError::Value`].
    pub fn read(text: &str, scenario: &Value) -> Result<Self, SweepError> {
        let (name, range) = text
            .split_once('=')
            .ok_or_else(|| SweepError::NoRange(text.to_owned()))?;
        let knob = Knob::find(name, scenario)?;
        let axis = Axis::from_str(range).map_err(|source| SweepError::Axis {
            knob: knob.to_string(),
            source,
        })?;
        let varied = Self { knob, axis };
        if let Knob::Named(named) = &varied.knob {
            for value in varied.values()? {
                turn::allow(*named, value)?;
            }
        }
        Ok(varied)
    }
}

impl Plan<'_> {
    /// Values of every point, the last knob running fastest.
    ///
    /// # Errors
    /// [`SweepError::Count`], [`SweepError::Knob`], [`SweepError::Axis`], [`SweepError::Grid`].
    pub fn grid(&self) -> Result<Vec<Vec<f64>>, SweepError> {
        let count = self.varied.len();
        if !(1..=MOST_KNOBS).contains(&count) {
            return Err(SweepError::Count(count));
        }
        if let [a, b] = self.varied.as_slice() {
            a.knob.agree(&b.knob)?;
        }
        let axes: Vec<Axis> = self.varied.iter().map(|v| v.axis.clone()).collect();
        grid_points(&axes).map_err(SweepError::Grid)?;
        let mut points: Vec<Vec<f64>> = vec![Vec::new()];
        for varied in &self.varied {
            let values = varied.values()?;
            points = points
                .iter()
                .flat_map(|point| {
                    values.iter().map(move |value| {
                        let mut longer = point.clone();
                        longer.push(*value);
                        longer
                    })
                })
                .collect();
        }
        Ok(points)
    }

    /// The checked case of one point.
    fn case(&self, values: &[f64], rules: &Rules) -> Result<(Case, Steady), String> {
        let knobs: Vec<(&Knob, f64)> = self
            .varied
            .iter()
            .map(|v| &v.knob)
            .zip(values.iter().copied())
            .collect();
        let mut turned = turn::turn(self.scenario, &knobs).map_err(|e| e.to_string())?;
        let given = feeding::number(self.scenario, "days").unwrap_or(0.0);
        let pauses = turn::yearly_pauses(&turned, given, rules);
        let varies_days = |v: &Varied| v.knob == Knob::Number("days".to_owned());
        match self.days {
            Some(days) => turn::set_days(&mut turned, f64::from(days)),
            None if self.varied.iter().any(varies_days) => {}
            None => {
                turn::lengthen(&mut turned, rules);
            }
        }
        turn::repeat_pauses(&mut turned, &pauses, rules);
        let loaded = scenario::from_value(&turned, self.label, self.folder)
            .map_err(|problems| told(&problems))?;
        Ok((loaded.case, Steady::of(&turned)))
    }
}

impl Varied {
    fn values(&self) -> Result<Vec<f64>, SweepError> {
        self.axis.values().map_err(|source| SweepError::Axis {
            knob: self.knob.to_string(),
            source,
        })
    }
}

/// The problems of a point without lines and excerpts, which belong to JSON that nobody has seen.
fn told(problems: &scenario::Problems) -> String {
    let mut told: Vec<String> = problems
        .problems
        .iter()
        .map(|p| {
            let value = p
                .value
                .as_ref()
                .map(|v| format!(" is {v}"))
                .unwrap_or_default();
            let allowed = p
                .allowed
                .as_ref()
                .map(|a| format!("; allowed: {a}"))
                .unwrap_or_default();
            format!("{}{value}{allowed}. {}", p.path, p.why)
                .trim()
                .to_owned()
        })
        .collect();
    // A feeding plan can break the same limit on many lines; a few tell it.
    let more = told.len().saturating_sub(SHOWN) + problems.more;
    told.truncate(SHOWN);
    if more > 0 {
        told.push(format!("... and {more} more."));
    }
    told.join(" ")
}

/// Problems of a point that are told.
const SHOWN: usize = 3;

/// An engine and the model that it was built for; points with the same model share it.
struct Shared {
    engine: Arc<Engine>,
    model: Model,
}

/// Runs a sweep. `progress` is called from worker threads with each point as it is finished, in any order.
///
/// The result is the same for any number of threads. A point that fails is part of the result.
///
/// # Errors
/// [`SweepError`], before anything is computed.
pub fn run(
    plan: &Plan<'_>,
    options: &SweepOptions<'_>,
    progress: &(dyn Fn(&SweepPoint) + Sync),
) -> Result<SweepResult, SweepError> {
    let rules = Rules::standard();
    let grid = plan.grid()?;
    let shared = first_that_fits(plan, &grid, &rules)?;
    let mut known: Vec<Option<SweepPoint>> = vec![None; grid.len()];
    for point in &options.known {
        if let (Some(place), Some(values)) = (known.get_mut(point.index), grid.get(point.index))
            && *values == point.values
        {
            *place = Some(point.clone());
        }
    }
    let missing: Vec<usize> = (0..grid.len()).filter(|i| known[*i].is_none()).collect();
    let work = Jobs {
        plan,
        rules: &rules,
        shared: shared.as_ref(),
        grid: &grid,
        missing: &missing,
        progress,
    };
    let batch_options = BatchOptions {
        threads: options.threads,
        ..BatchOptions::new(options.stop)
    };
    let jobs = batch::run_cases(missing.len(), batch_options, &work, &|_| {})?;
    for (job, &index) in jobs.into_iter().zip(&missing) {
        known[index] = job.map(|job| {
            job.unwrap_or_else(|panic| {
                let values = grid[index].clone();
                SweepPoint::failed(index, values, MishapKind::Fault, panic.to_string())
            })
        });
    }
    let mut points: Vec<SweepPoint> = known.into_iter().flatten().collect();
    class_slow(&mut points, &rules);
    let given = feeding::number(plan.scenario, "days").unwrap_or(0.0);
    let longest = points
        .iter()
        .filter_map(|p| p.level.as_ref())
        .map(|l| l.days);
    let is_longer = longest.max().is_some_and(|days| f64::from(days) > given);
    let text = |key: &str| {
        let text = plan.scenario.get(key).and_then(Value::as_str);
        text.unwrap_or_default().to_owned()
    };
    Ok(SweepResult {
        title: text("title"),
        about: text("about"),
        axes: axes(plan)?,
        days: plan.days,
        points,
        planned: grid.len(),
        not_repeated_after: (is_longer && turn::has_own_days(plan.scenario, &rules))
            .then_some(given),
        pauses_repeated_after: (is_longer
            && !turn::yearly_pauses(plan.scenario, given, &rules).is_empty())
        .then_some(given),
        rules,
    })
}

fn axes(plan: &Plan<'_>) -> Result<Vec<SweepAxis>, SweepError> {
    let axis = |varied: &Varied| {
        Ok(SweepAxis {
            knob: varied.knob.to_string(),
            label: varied.knob.label().to_owned(),
            unit: varied.knob.unit().to_owned(),
            values: varied.values()?,
            geometric: matches!(varied.axis, Axis::Geometric { .. }),
        })
    };
    plan.varied.iter().map(axis).collect()
}

/// Looks for a point that can be computed, and builds the engine that most points will share.
fn first_that_fits(
    plan: &Plan<'_>,
    grid: &[Vec<f64>],
    rules: &Rules,
) -> Result<Option<Shared>, SweepError> {
    let mut first = None;
    for values in grid {
        match plan.case(values, rules) {
            Ok((case, _)) => {
                // An engine that cannot be built is told by the points that need it.
                return Ok(simulate::engine(&case).ok().map(|engine| Shared {
                    engine,
                    model: case.model,
                }));
            }
            Err(message) => {
                first.get_or_insert((values, message));
            }
        }
    }
    let (values, message) = first.unwrap_or((&grid[0], String::new()));
    Err(SweepError::NoneFits {
        points: grid.len(),
        values: named(plan, values),
        message,
    })
}

/// "feed = 2, temperature = 30".
fn named(plan: &Plan<'_>, values: &[f64]) -> String {
    let parts: Vec<String> = plan
        .varied
        .iter()
        .zip(values)
        .map(|(varied, value)| format!("{} = {}", varied.knob, repeated(*value)))
        .collect();
    parts.join(", ")
}

/// The points still to be computed.
struct Jobs<'a> {
    plan: &'a Plan<'a>,
    rules: &'a Rules,
    shared: Option<&'a Shared>,
    grid: &'a [Vec<f64>],
    missing: &'a [usize],
    progress: &'a (dyn Fn(&SweepPoint) + Sync),
}

impl Jobs<'_> {
    fn failed(&self, job: usize, kind: MishapKind, message: String) -> SweepPoint {
        let index = self.missing[job];
        let point = SweepPoint::failed(index, self.grid[index].clone(), kind, message);
        (self.progress)(&point);
        point
    }
}

impl batch::Runs for Jobs<'_> {
    type Kept = Steady;
    type Result = SweepPoint;

    fn before(&self, job: usize) -> Result<(simulate::Member, Steady), SweepPoint> {
        let values = &self.grid[self.missing[job]];
        let (case, steady) = self
            .plan
            .case(values, self.rules)
            .map_err(|message| self.failed(job, MishapKind::Input, message))?;
        let engine = match self.shared {
            Some(shared) if shared.model == case.model => Ok(Arc::clone(&shared.engine)),
            _ => simulate::engine(&case),
        };
        let engine =
            engine.map_err(|failure| self.failed(job, MishapKind::Run, failure.to_string()))?;
        let case = Box::new(case);
        Ok((simulate::Member { engine, case }, steady))
    }

    fn after(
        &self,
        job: usize,
        case: &Case,
        steady: Steady,
        outcome: Result<Outcome, RunFailure>,
    ) -> SweepPoint {
        let outcome = match outcome {
            Ok(outcome) => outcome,
            Err(failure) => return self.failed(job, MishapKind::Run, failure.to_string()),
        };
        let around = Around {
            case,
            rules: self.rules,
            cycle_d: steady.cycle_d,
            full_from: steady.full_from,
        };
        let (class, level) = point::measure(&outcome, &around);
        let index = self.missing[job];
        let point = SweepPoint {
            index,
            values: self.grid[index].clone(),
            class,
            level: Some(level),
            mishap: None,
        };
        (self.progress)(&point);
        point
    }
}

/// Tells the slow points from the steady ones, and those without methane, which takes the whole sweep.
fn class_slow(points: &mut [SweepPoint], rules: &Rules) {
    let best = points
        .iter()
        .filter(|p| p.works())
        .filter_map(SweepPoint::best_known_yield)
        .fold(0.0, f64::max);
    for point in points.iter_mut().filter(|p| p.class == Class::Steady) {
        let Some(found) = point.best_known_yield() else {
            continue;
        };
        let reached = point.level.as_ref().and_then(|l| l.reached_share);
        if found < rules.washed_share.value * best {
            point.class = Class::WashedOut;
        } else if reached.is_some_and(|share| share < rules.slow_share.value) {
            point.class = Class::Slow;
        }
    }
}
