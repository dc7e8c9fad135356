//! What an integration is asked for, and the checks on it.

use super::system::{Pattern, System};

/// Integration method.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// Rosenbrock-Wanner, order 5(4), eight stages, stiffly accurate (Steinebach 2023).
    Rodas5P,
    /// Rosenbrock-Wanner, order 4(3), six stages, stiffly accurate (Hairer & Wanner, Solving ODEs II, IV.7).
    Rodas4,
    /// As `Rodas4`, with the order kept on parabolic and Prothero-Robinson problems (Steinebach 1995).
    Rodas4P,
    /// Explicit Runge-Kutta of order 5(4), an independent check; bounded by stability on stiff systems.
    Dopri5,
}

impl Method {
    /// Every method, in the order of this enum.
    pub const ALL: [Self; 4] = [Self::Rodas5P, Self::Rodas4, Self::Rodas4P, Self::Dopri5];

    /// Name as shown in messages.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Rodas5P => "Rodas5P",
            Self::Rodas4 => "Rodas4",
            Self::Rodas4P => "Rodas4P",
            Self::Dopri5 => "Dopri5",
        }
    }

    /// Classical order of convergence.
    #[must_use]
    pub fn order(self) -> u32 {
        match self {
            Self::Rodas5P | Self::Dopri5 => 5,
            Self::Rodas4 | Self::Rodas4P => 4,
        }
    }
}

/// What an integration is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Method.
    pub method: Method,
    /// Relative tolerance of the local error, [-], within `[1e-13, 0.1]`.
    pub rtol: f64,
    /// Absolute tolerance of the local error by state, [unit of the state], each above 0.
    pub atol: Vec<f64>,
    /// First step of the first segment, [unit of time], above 0; chosen from the right-hand side when absent.
    pub first_step: Option<f64>,
    /// Longest step, [unit of time], above 0; infinity is allowed. The last step of a segment of Dopri5 may be longer
    /// by a hundredth.
    pub max_step: f64,
    /// Most attempted steps in one segment, at least 1.
    pub max_steps: u64,
}

impl Options {
    /// Options with the given tolerances, a first step chosen by the integrator, no longest step and
    /// at most 100 000 steps a segment.
    #[must_use]
    pub fn new(method: Method, rtol: f64, atol: Vec<f64>) -> Self {
        Self {
            method,
            rtol,
            atol,
            first_step: None,
            max_step: f64::INFINITY,
            max_steps: 100_000,
        }
    }
}

/// Why an integrator could not be set up.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SetupFailure {
    /// The system has no states, or its pattern speaks of another number of states.
    #[error(
        "the system has {dim} states, its Jacobian pattern {pattern}; both must agree and be at least 1"
    )]
    Dimension {
        /// States of the system.
        dim: usize,
        /// States of its pattern.
        pattern: usize,
    },
    /// A pattern entry lies outside the matrix or stands twice.
    #[error("Jacobian pattern entry ({row}, {column}) {problem} (size {size})")]
    Pattern {
        /// Row.
        row: u16,
        /// Column.
        column: u16,
        /// Rows and columns of the augmented matrix.
        size: usize,
        /// What is wrong with it.
        problem: &'static str,
    },
    /// Not one absolute tolerance for each state.
    #[error("{given} absolute tolerances for {dim} states; one is needed for each state")]
    ToleranceCount {
        /// Tolerances given.
        given: usize,
        /// States of the system.
        dim: usize,
    },
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
    /// The explicit method was asked to solve algebraic rows.
    #[error(
        "{method} is explicit and cannot solve the algebraic row of {name}; choose Rodas5P, Rodas4 or Rodas4P"
    )]
    AlgebraicRow {
        /// Method asked for.
        method: &'static str,
        /// First algebraic state.
        name: String,
    },
}

/// Checks the options against the system.
pub(super) fn check<S: System>(system: &S, options: &Options) -> Result<(), SetupFailure> {
    let dim = system.dim();
    check_pattern(dim, system.pattern())?;
    if options.atol.len() != dim {
        return Err(SetupFailure::ToleranceCount {
            given: options.atol.len(),
            dim,
        });
    }
    if !(1e-13..=0.1).contains(&options.rtol) {
        return Err(range(
            "relative tolerance",
            options.rtol,
            "within 1e-13 and 0.1",
        ));
    }
    for (i, &atol) in options.atol.iter().enumerate() {
        if !(atol > 0.0 && atol.is_finite()) {
            return Err(range(
                format!("absolute tolerance of {}", system.name(i)),
                atol,
                "finite and above 0",
            ));
        }
    }
    if let Some(first) = options.first_step
        && !(first > 0.0 && first.is_finite())
    {
        return Err(range("first step", first, "finite and above 0"));
    }
    if options.max_step.is_nan() || options.max_step <= 0.0 {
        return Err(range("longest step", options.max_step, "above 0"));
    }
    if options.max_steps == 0 {
        return Err(range("largest number of steps", 0.0, "at least 1"));
    }
    if options.method == Method::Dopri5
        && let Some(i) = (0..dim).find(|&i| system.is_algebraic(i))
    {
        return Err(SetupFailure::AlgebraicRow {
            method: options.method.name(),
            name: system.name(i),
        });
    }
    Ok(())
}

fn check_pattern(dim: usize, pattern: &Pattern) -> Result<(), SetupFailure> {
    if dim == 0 || pattern.dim != dim {
        return Err(SetupFailure::Dimension {
            dim,
            pattern: pattern.dim,
        });
    }
    let size = dim + pattern.aux;
    let mut sorted = pattern.entries.clone();
    sorted.sort_unstable();
    for (i, &(row, column)) in sorted.iter().enumerate() {
        let problem = if usize::from(row) >= size || usize::from(column) >= size {
            "lies outside the matrix"
        } else if i > 0 && sorted[i - 1] == (row, column) {
            "stands twice"
        } else {
            continue;
        };
        return Err(SetupFailure::Pattern {
            row,
            column,
            size,
            problem,
        });
    }
    Ok(())
}

fn range(what: impl Into<String>, value: f64, allowed: &'static str) -> SetupFailure {
    SetupFailure::Range {
        what: what.into(),
        value,
        allowed,
    }
}
