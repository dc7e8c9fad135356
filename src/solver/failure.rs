//! Why an integration stopped, in words that name the time, the states and what to try.

use std::fmt;

/// A state and its estimated error in units of its tolerance.
#[derive(Debug, Clone, PartialEq)]
pub struct ScaledError {
    /// Name of the state.
    pub name: String,
    /// Estimated local error divided by the allowed one, [-]; not finite when the state is not.
    pub scaled: f64,
}

/// Where an integration stood when it stopped.
#[derive(Debug, Clone, PartialEq)]
pub struct Situation {
    /// Time of the last accepted state, [unit of time].
    pub time: f64,
    /// Step attempted last, [unit of time].
    pub step: f64,
    /// At most three states with the largest scaled errors of the last attempt, worst first; empty when none was made
    /// or the method (Dopri5) does not tell.
    pub worst: Vec<ScaledError>,
}

/// Why an integration stopped. The state vector holds the last accepted state.
#[derive(Debug, Clone, PartialEq)]
pub enum Failure {
    /// The step had to become smaller than the arithmetic can resolve.
    StepTooSmall {
        /// Where.
        at: Situation,
        /// What drove the step down last.
        cause: ShrinkCause,
    },
    /// More steps than allowed in one segment.
    TooManySteps {
        /// Where.
        at: Situation,
        /// Steps allowed.
        limit: u64,
    },
    /// The right-hand side refused the state at the start of a segment, or said that no step will help.
    RightHandSide {
        /// Where.
        at: Situation,
        /// Its message.
        message: String,
    },
    /// A state was not a finite number at the start of a segment.
    NotFinite {
        /// Where.
        at: Situation,
        /// Name of the state.
        name: String,
    },
    /// The algebraic rows could not be balanced at the start of a segment.
    Unsettled {
        /// Where.
        at: Situation,
        /// Name of the first algebraic state.
        name: String,
    },
    /// The explicit method met a stiff stretch that it cannot cross in useful time.
    Stiff {
        /// Where.
        at: Situation,
    },
    /// The end lies before the start, a time is not finite, or the state vector has the wrong length.
    Misuse {
        /// What was asked.
        detail: String,
    },
}

/// What drove the step down.
#[derive(Debug, Clone, PartialEq)]
pub enum ShrinkCause {
    /// Local error above tolerance.
    Error,
    /// The right-hand side refused states inside the step.
    Refused(String),
    /// The matrix of the linear systems was singular.
    Singular,
    /// A state stopped being a finite number.
    NotFinite {
        /// Name of the state.
        name: String,
    },
}

impl fmt::Display for ShrinkCause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Error => write!(f, "the local error stayed above tolerance"),
            Self::Refused(message) => {
                write!(f, "the right-hand side refused the state ({message})")
            }
            Self::Singular => write!(f, "the linear system was singular"),
            Self::NotFinite { name } => write!(f, "{name} stopped being a finite number"),
        }
    }
}

impl fmt::Display for Situation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "at time {:.6} with step {:.3e}", self.time, self.step)?;
        for (i, worst) in self.worst.iter().enumerate() {
            let lead = if i == 0 {
                "; largest errors in units of tolerance: "
            } else {
                ", "
            };
            write!(f, "{lead}{} {:.2e}", worst.name, worst.scaled)?;
        }
        Ok(())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::StepTooSmall { at, cause } => write!(
                f,
                "integration stopped {at}: the step became too small because {cause}; \
                 try a larger tolerance for the states named, and look for a jump that should cut the segment"
            ),
            Self::TooManySteps { at, limit } => write!(
                f,
                "integration stopped {at}: more than {limit} steps in one segment; \
                 try a larger tolerance, a larger step limit or another method"
            ),
            Self::RightHandSide { at, message } => write!(
                f,
                "integration stopped {at}: the right-hand side cannot be evaluated: {message}; \
                 check the starting state and the parameters"
            ),
            Self::NotFinite { at, name } => write!(
                f,
                "integration stopped {at}: {name} is not a finite number; check what was done to the state before this time"
            ),
            Self::Unsettled { at, name } => write!(
                f,
                "integration stopped {at}: the algebraic states ({name} first) found no balance; \
                 start from values nearer to it"
            ),
            Self::Stiff { at } => write!(
                f,
                "integration stopped {at}: the problem is too stiff for an explicit method; use an implicit one \
                 (\"solver\": {{\"method\": \"implicit\"}} in a scenario)"
            ),
            Self::Misuse { detail } => write!(f, "integration not started: {detail}"),
        }
    }
}

impl std::error::Error for Failure {}

impl Failure {
    /// Where the integration stood, when it had started.
    #[must_use]
    pub fn situation(&self) -> Option<&Situation> {
        match self {
            Self::StepTooSmall { at, .. }
            | Self::TooManySteps { at, .. }
            | Self::RightHandSide { at, .. }
            | Self::NotFinite { at, .. }
            | Self::Unsettled { at, .. }
            | Self::Stiff { at } => Some(at),
            Self::Misuse { .. } => None,
        }
    }
}
