//! Why a continuation could not start or go on.

/// Why one attempt to solve failed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Cause {
    /// The family refused a state.
    #[error("the state was refused ({0})")]
    Refused(String),
    /// A residual or a derivative was not a finite number.
    #[error("row {row} of the equations was not a finite number")]
    NotFinite {
        /// First such row.
        row: usize,
    },
    /// The linear system was singular.
    #[error("the linear system was singular")]
    Singular,
    /// The iteration did not settle.
    #[error("the iteration did not settle")]
    NotConverged,
    /// The solution found lies too far from the predicted one to be on the same branch.
    #[error("the solution found lies on another branch")]
    AnotherBranch,
    /// The branch turned more within one step than a step may.
    #[error("the branch turns too sharply")]
    SharpTurn,
}

/// Why there is no result.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ContinuationFailure {
    /// A number outside its range.
    #[error("{what} is {value}; it must be {allowed}")]
    Range {
        /// Which number.
        what: String,
        /// Its value.
        value: f64,
        /// Allowed range, in words.
        allowed: &'static str,
    },
    /// A list has the wrong length.
    #[error("{given} values of {what} for {dim} states; one is needed for each state")]
    Length {
        /// Which list.
        what: &'static str,
        /// Values given.
        given: usize,
        /// States of the family.
        dim: usize,
    },
    /// No steady state near the guess.
    #[error(
        "no steady state found from the guess at parameter {p}: {cause}; try a guess nearer to it"
    )]
    NoSteadyState {
        /// Parameter, [unit of the parameter].
        p: f64,
        /// What stopped the last attempt.
        cause: Cause,
    },
    /// The starting point has no unique direction along the parameter: a fold or a crossing lies on it.
    #[error(
        "no direction to follow from the starting point at parameter {p}: {cause}; start at another parameter value"
    )]
    NoDirection {
        /// Parameter, [unit of the parameter].
        p: f64,
        /// What stopped the attempt.
        cause: Cause,
    },
    /// The family cannot be evaluated, whatever the step.
    #[error("the equations cannot be evaluated at parameter {p}: {message}")]
    Fatal {
        /// Parameter, [unit of the parameter].
        p: f64,
        /// Its message.
        message: String,
    },
}

/// What goes wrong inside: one attempt, or everything.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Trouble {
    Attempt(Cause),
    Fatal { p: f64, message: String },
}

impl Trouble {
    /// Turns the failure of an attempt into a value, keeps the rest as failure.
    pub(super) fn attempt(self) -> Result<Cause, ContinuationFailure> {
        match self {
            Self::Attempt(cause) => Ok(cause),
            Self::Fatal { p, message } => Err(ContinuationFailure::Fatal { p, message }),
        }
    }
}

impl From<Cause> for Trouble {
    fn from(cause: Cause) -> Self {
        Self::Attempt(cause)
    }
}
