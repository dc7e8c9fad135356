//! Continuation of steady states: follows the solutions of `F(y, p) = 0` while the parameter `p` moves.
//!
//! `F` is the right-hand side of `y' = F(y, p)`, so the eigenvalues of `dF/dy` tell stable states from unstable ones.
//! A branch is followed in pseudo-arclength (Keller 1977, in: Applications of Bifurcation Theory, pp. 359-384),
//! therefore around folds, where no steady state exists beyond a parameter value. Points at which the stability
//! changes are detected in every step, located, and inserted among the points of the branch:
//!
//! | point | found by | located by |
//! |---|---|---|
//! | fold | sign of the parameter's part of the tangent | root of it along the branch, then the extended system `F = 0, F_y v = 0` |
//! | exchange | sign of the determinant of `F` bordered with the tangent | root of that determinant along the branch |
//! | Hopf point | two eigenvalues changing sides together | root of the real part of the pair along the branch |
//!
//! Lengths along a branch are measured in relative changes of the states and in shares of the parameter range, so
//! states of 1e-7 and of 1e2 count alike. [`LogStates`] continues in logarithms of chosen states.

mod evaluator;
mod events;
mod failure;
mod family;
mod fold;
mod follow;
mod linear;
mod logs;
mod roots;
mod spectrum;
mod stationary;
mod walk;

use std::sync::atomic::AtomicBool;

pub use failure::{Cause, ContinuationFailure};
pub use family::Family;
pub use follow::follow;
pub use logs::{LogStates, follow_in_logs};
pub use roots::roots_at;
pub use stationary::stationary;

/// A steady state and how it answers to a small disturbance.
#[derive(Debug, Clone, PartialEq)]
pub struct SteadyState {
    /// Parameter, [unit of the parameter].
    pub p: f64,
    /// States, [unit of each state].
    pub y: Vec<f64>,
    /// Real and imaginary part of the eigenvalue of `dF/dy` with the largest real part, [1/unit of time];
    /// of a complex pair the one with positive imaginary part.
    pub leading: (f64, f64),
    /// Eigenvalues with a real part above zero.
    pub unstable: usize,
    /// Whether every real part is below zero. Without meaning at a fold, an exchange or a Hopf point itself, where one
    /// real part is zero up to rounding.
    pub stable: bool,
}

/// One point of a branch.
#[derive(Debug, Clone, PartialEq)]
pub struct BranchPoint {
    /// The steady state.
    pub state: SteadyState,
    /// Change of the parameter along the branch, [unit of the parameter per unit of arclength];
    /// zero at a fold, and its sign tells which way the branch runs.
    pub tangent_p: f64,
    /// Change of the states along the branch, [unit of each state per unit of arclength].
    pub tangent_y: Vec<f64>,
}

/// What happens at a special point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpecialKind {
    /// Two steady states meet and vanish: on one side of this parameter value they exist, on the other they do not.
    Fold,
    /// A real eigenvalue crosses zero without a fold: another branch crosses here and the two exchange stability.
    /// The washout of a population is one, where the branch with it meets the branch without it. Its parameter is good
    /// to about 1e-8 of itself, not to rounding as that of a fold: the corrector has little footing where branches cross.
    Exchange,
    /// A complex pair crosses the imaginary axis: an oscillation is born.
    Hopf {
        /// Imaginary part of the pair, [radian per unit of time].
        frequency: f64,
    },
}

/// A special point of a branch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Special {
    /// What happens here.
    pub kind: SpecialKind,
    /// Index of the point in [`Branch::points`].
    pub index: usize,
}

/// Why a branch ends where it does.
#[derive(Debug, Clone, PartialEq)]
pub enum End {
    /// The parameter reached an end of its range; the last point lies on it.
    OfRange,
    /// The branch came back to its starting point.
    Closed,
    /// A state left the region of interest, see [`Family::boundary`].
    Boundary {
        /// Index of the state.
        state: usize,
    },
    /// A state grew beyond a million times its typical size: the branch runs off to infinity, and the equations
    /// would soon be followed in their rounding.
    Unbounded {
        /// Index of the state.
        state: usize,
    },
    /// No step above the smallest one succeeded.
    StepTooSmall {
        /// What stopped the last attempt.
        cause: Cause,
    },
    /// As many points as allowed.
    TooManyPoints,
    /// The caller asked to stop.
    Stopped,
}

/// A branch of steady states.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// Points in the order they were met, special points among them.
    pub points: Vec<BranchPoint>,
    /// Special points in the order they were met.
    pub specials: Vec<Special>,
    /// Why the branch ends.
    pub end: End,
    /// Work done.
    pub work: Work,
}

impl Branch {
    /// The points at which something of this sort happens, in the order they were met.
    pub fn special_points(
        &self,
        wanted: impl Fn(SpecialKind) -> bool,
    ) -> impl Iterator<Item = &BranchPoint> {
        self.specials
            .iter()
            .filter(move |s| wanted(s.kind))
            .filter_map(|s| self.points.get(s.index))
    }

    /// The folds, in the order they were met.
    pub fn folds(&self) -> impl Iterator<Item = &BranchPoint> {
        self.special_points(|kind| kind == SpecialKind::Fold)
    }

    /// The exchanges of stability, in the order they were met.
    pub fn exchanges(&self) -> impl Iterator<Item = &BranchPoint> {
        self.special_points(|kind| kind == SpecialKind::Exchange)
    }

    /// The Hopf points, in the order they were met.
    pub fn hopf_points(&self) -> impl Iterator<Item = &BranchPoint> {
        self.special_points(|kind| matches!(kind, SpecialKind::Hopf { .. }))
    }
}

/// Work done for a branch.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Work {
    /// Evaluations of `F`.
    pub residuals: u64,
    /// Evaluations of `dF/dy` and `dF/dp`.
    pub jacobians: u64,
    /// Steps refused because no point of the branch was found at their end, or a special point within could not be located.
    pub refused_corrector: u64,
    /// Steps refused because the branch turned more than one step may turn.
    pub refused_turn: u64,
}

/// Which way the parameter moves at the start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Direction {
    /// Towards larger values.
    Up,
    /// Towards smaller values.
    Down,
}

/// What a continuation is asked for.
#[derive(Debug, Clone)]
pub struct Options<'a> {
    /// Smallest parameter, [unit of the parameter], below `p_max`.
    pub p_min: f64,
    /// Largest parameter, [unit of the parameter].
    pub p_max: f64,
    /// Which way to go first.
    pub direction: Direction,
    /// Length of the first step, [share of the range, or relative change of the states in the root mean square],
    /// within `[min_step, max_step]`.
    pub first_step: f64,
    /// Length of the longest step, [as `first_step`], within `(0, 1]`.
    pub max_step: f64,
    /// Length of the shortest step, [as `first_step`], above 0.
    pub min_step: f64,
    /// Most steps along the branch, at least 1; special points come on top of them.
    pub max_points: usize,
    /// Largest relative change of a state or share of the range in the last Newton step, [-], within `[1e-13, 1e-3]`.
    pub tolerance: f64,
    /// Set by the caller to stop early; the branch then holds what was found.
    pub stop: &'a AtomicBool,
}

impl<'a> Options<'a> {
    /// Options for a range: steps from 0.01 up to 0.05 and not below 1e-8, at most 5000 of them, tolerance 1e-9.
    #[must_use]
    pub fn new(p_min: f64, p_max: f64, direction: Direction, stop: &'a AtomicBool) -> Self {
        Self {
            p_min,
            p_max,
            direction,
            first_step: 0.01,
            max_step: 0.05,
            min_step: 1e-8,
            max_points: 5000,
            tolerance: 1e-9,
            stop,
        }
    }
}
