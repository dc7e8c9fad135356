//! Several systems of one shape abreast: one step of the Rosenbrock method for all lanes at once.
//!
//! Each lane has its own time, step, verdict and stretch of the run; only the instructions are shared. A lane that
//! ends a stretch takes up the next one while the others go on, so none waits. A lane does what [`Integrator`] does
//! with its system alone, to the last bit. What is rare there (a pivot that needs dense pivoting, a stretch that
//! fails) is not followed here: the crew is told to run that lane alone.
//!
//! [`Integrator`]: super::Integrator

mod cycle;
mod task;

use std::ops::Range;

use self::task::Task;
use super::dense_step::DenseStep;
use super::options::Options;
use super::sparse::SparseLu;
use super::statistics::Statistics;
use super::system::Pattern;
use super::tableau::{RODAS5P, Tableau};
use crate::lanes::{LaneSet, Lanes, Real, WIDTH, Wide, wide};

/// Systems of one shape in the lanes of one.
///
/// Each call names the lanes it is for; in the others nothing may change that a later call reads.
pub trait LaneSystem {
    /// The pattern of the Jacobian of each, see [`super::System::pattern`].
    fn pattern(&self) -> &Pattern;

    /// As [`super::System::rhs`]; returns the lanes whose state cannot be evaluated.
    fn rhs(&mut self, of: LaneSet, t: Lanes, y: &[Lanes], dy: &mut [Lanes]) -> LaneSet;

    /// As [`super::System::jacobian`]; returns the lanes whose state cannot be evaluated.
    fn jacobian(&mut self, of: LaneSet, t: Lanes, y: &[Lanes], slopes: LaneSlopes<'_>) -> LaneSet;

    /// As [`super::System::margin`].
    fn margin(&self, y: &[Lanes]) -> Lanes;

    /// As [`super::System::margin`], in one lane, by its state alone.
    fn lane_margin(&self, lane: usize, y: &[f64]) -> f64;

    /// As [`super::System::margin_states`].
    fn margin_states(&self) -> Range<usize>;

    /// As [`super::System::switch`], in one lane.
    fn switch(&mut self, lane: usize);

    /// The lanes in which [`super::System::strays`] names a state.
    fn strays(&self, from: &[Lanes], to: &[Lanes]) -> LaneSet;

    /// The lanes in which [`super::System::turns`] names a state.
    fn turns(&self, from: &[Lanes], inside: &[Lanes], to: &[Lanes]) -> LaneSet;

    /// As [`super::System::turning_states`].
    fn turning_states(&self) -> Range<usize>;
}

/// Where a [`LaneSystem`] writes its slopes.
#[derive(Debug)]
pub struct LaneSlopes<'a> {
    /// The right-hand side.
    pub dy: &'a mut [Lanes],
    /// Its partial derivative by time.
    pub dfdt: &'a mut [Lanes],
    /// The Jacobian, one value per entry of the pattern.
    pub values: &'a mut [Lanes],
}

/// How a stretch ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrival {
    /// There was none yet.
    None,
    /// At its end.
    There,
    /// Nowhere: it must be run alone.
    Stranded,
}

/// What a lane takes up next.
#[derive(Debug)]
pub struct Stretch {
    /// State: at the end of the stretch before when the crew is asked, at the start of the next when it answers.
    pub y: Vec<f64>,
    /// Start of the next stretch, finite.
    pub t0: f64,
    /// Its end, later.
    pub t1: f64,
    /// Set for the first stretch of a new run: its options. Nothing is then carried over from the stretch before.
    pub fresh: Option<Options>,
    /// Counters of the run so far.
    pub statistics: Statistics,
}

/// Those who give the lanes their work.
pub trait Crew<S> {
    /// Whether a step of a lane that ends at `end` is to be shown; what is not is not made ready to be looked into.
    fn wants(&self, lane: usize, end: f64) -> bool;

    /// A step was accepted in a lane.
    fn stepped(&mut self, lane: usize, step: &DenseStep<'_>);

    /// A lane is free. Returns whether it goes on with what was written into `stretch`; what changed in its system
    /// besides the state must have been written into `system`.
    fn next(
        &mut self,
        system: &mut S,
        lane: usize,
        arrival: Arrival,
        stretch: &mut Stretch,
    ) -> bool;
}

/// Workspaces of runs abreast.
#[derive(Debug)]
pub struct Abreast {
    tableau: &'static Tableau,
    linear: SparseLu<Lanes>,
    tasks: [Task; WIDTH],
    here: Slope,
    next: Slope,
    y: Vec<Lanes>,
    /// Argument of the current stage; the new state at the end of the step.
    argument: Vec<Lanes>,
    f: Vec<Lanes>,
    b: Vec<Lanes>,
    /// Stage vectors, one after the other.
    u: Vec<Lanes>,
    atol: Vec<Lanes>,
    rtol: Lanes,
    /// All ones: every row is a differential one.
    mass: Vec<f64>,
    /// One lane of a step, for those who look into it.
    window: Window,
}

/// What [`LaneSystem::jacobian`] gives.
#[derive(Debug)]
struct Slope {
    f: Vec<Lanes>,
    dfdt: Vec<Lanes>,
    values: Vec<Lanes>,
}

impl Slope {
    fn new(dim: usize, entries: usize) -> Self {
        let zeros = |n: usize| vec![Lanes::splat(0.0); n];
        Self {
            f: zeros(dim),
            dfdt: zeros(dim),
            values: zeros(entries),
        }
    }

    fn lanes(&mut self) -> LaneSlopes<'_> {
        LaneSlopes {
            dy: &mut self.f,
            dfdt: &mut self.dfdt,
            values: &mut self.values,
        }
    }
}

/// One lane of a step.
#[derive(Debug)]
struct Window {
    y_start: Vec<f64>,
    y_end: Vec<f64>,
    stages: Vec<f64>,
    /// A state inside the step.
    inside: Vec<f64>,
}

impl Abreast {
    /// Makes the workspaces for systems of a shape, all rows of which are differential; `None` where its linear
    /// algebra has to pivot.
    #[must_use]
    pub fn new(pattern: &Pattern) -> Option<Self> {
        let (dim, entries) = (pattern.dim, pattern.entries.len());
        let tableau = &RODAS5P;
        let zeros = |n: usize| vec![Lanes::splat(0.0); n];
        Some(Self {
            tableau,
            linear: SparseLu::new(pattern, |_| false)?,
            tasks: std::array::from_fn(|_| Task::new(dim, tableau)),
            here: Slope::new(dim, entries),
            next: Slope::new(dim, entries),
            y: zeros(dim),
            argument: zeros(dim),
            f: zeros(dim),
            b: zeros(dim),
            u: zeros(dim * tableau.stages),
            atol: vec![Lanes::splat(1.0); dim],
            rtol: Lanes::splat(1.0),
            mass: vec![1.0; dim],
            window: Window {
                y_start: vec![0.0; dim],
                y_end: vec![0.0; dim],
                stages: vec![0.0; dim * tableau.stages],
                inside: vec![0.0; dim],
            },
        })
    }

    /// Runs whatever the crew gives until it has nothing more for any lane.
    ///
    /// The wide instructions of the machine are used where it has them; they change no result.
    pub fn run<S: LaneSystem, C: Crew<S>>(&mut self, system: &mut S, crew: &mut C) {
        wide(Whole {
            abreast: self,
            system,
            crew,
        });
    }
}

/// All of a run, so that it is compiled as a whole for each kind of machine.
struct Whole<'a, S, C> {
    abreast: &'a mut Abreast,
    system: &'a mut S,
    crew: &'a mut C,
}

impl<S: LaneSystem, C: Crew<S>> Wide for Whole<'_, S, C> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        self.abreast.go(self.system, self.crew);
    }
}
