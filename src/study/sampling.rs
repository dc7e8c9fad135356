//! Points to run a study at: Latin hypercube, and plain random points to compare it with.
//!
//! Each column has a stream of its own, so a column added at the end changes no other, and a plain random sample
//! with more rows begins with the smaller one.

use super::distribution::{Distribution, DistributionError};
use super::generator::{Draws, Purpose};

/// Most rows of a sample.
pub const MAX_ROWS: usize = 100_000;
/// Most columns of a sample.
pub const MAX_COLUMNS: usize = 1_000;

/// How points are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// Each column is cut in as many equal strata as there are rows; each stratum is met once, the order is random,
    /// and so is the place within the stratum. Source: McKay, Beckman and Conover, Technometrics 21 (1979) 239-245.
    LatinHypercube,
    /// Independent draws.
    MonteCarlo,
}

/// A sample that cannot be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SamplingError {
    /// Rows outside 1..=[`MAX_ROWS`].
    #[error("{0} draws cannot be made; ask for 1 to {MAX_ROWS}")]
    Rows(usize),
    /// Columns outside 1..=[`MAX_COLUMNS`].
    #[error("{0} uncertain inputs cannot be drawn; give 1 to {MAX_COLUMNS}")]
    Columns(usize),
    /// One of the inputs is wrong.
    #[error("uncertain input {}: {error}", .column + 1)]
    Input {
        /// Its column, from 0.
        column: usize,
        /// What is wrong.
        #[source]
        error: DistributionError,
    },
}

/// A table of points: a row for each draw, a column for each input.
#[derive(Debug, Clone, PartialEq)]
pub struct Points {
    columns: usize,
    values: Vec<f64>,
}

impl Points {
    /// The draws.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.values.chunks_exact(self.columns)
    }

    /// Draw `index`; `None` beyond the last.
    #[must_use]
    pub fn row(&self, index: usize) -> Option<&[f64]> {
        let begin = index.checked_mul(self.columns)?;
        self.values.get(begin..begin + self.columns)
    }

    /// All values of an input, in the order of the draws; empty beyond the last column.
    #[must_use]
    pub fn column(&self, index: usize) -> Vec<f64> {
        self.rows()
            .filter_map(|row| row.get(index).copied())
            .collect()
    }

    /// Number of draws.
    #[must_use]
    pub fn len(&self) -> usize {
        self.values.len() / self.columns
    }

    /// Never true: a sample holds at least one draw.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }
}

/// Points in the open unit cube.
///
/// # Errors
/// [`SamplingError::Rows`] and [`SamplingError::Columns`].
pub fn unit_points(
    method: Method,
    rows: usize,
    columns: usize,
    seed: u64,
) -> Result<Points, SamplingError> {
    if !(1..=MAX_ROWS).contains(&rows) {
        return Err(SamplingError::Rows(rows));
    }
    if !(1..=MAX_COLUMNS).contains(&columns) {
        return Err(SamplingError::Columns(columns));
    }
    let mut values = vec![0.0; rows * columns];
    for column in 0..columns {
        let drawn = match method {
            Method::LatinHypercube => latin_column(rows, seed, column as u64),
            Method::MonteCarlo => plain_column(rows, seed, column as u64),
        };
        for (row, value) in drawn.into_iter().enumerate() {
            values[row * columns + column] = value;
        }
    }
    Ok(Points { columns, values })
}

/// Draws of the inputs, one column for each distribution, checked before anything is drawn.
///
/// # Errors
/// As [`unit_points`], and [`SamplingError::Input`].
pub fn sample(
    inputs: &[Distribution],
    method: Method,
    rows: usize,
    seed: u64,
) -> Result<Points, SamplingError> {
    for (column, input) in inputs.iter().enumerate() {
        input
            .validate()
            .map_err(|error| SamplingError::Input { column, error })?;
    }
    let mut points = unit_points(method, rows, inputs.len(), seed)?;
    for (value, input) in points.values.iter_mut().zip(inputs.iter().cycle()) {
        *value = input.quantile(*value);
    }
    Ok(points)
}

fn plain_column(rows: usize, seed: u64, column: u64) -> Vec<f64> {
    let mut draws = Draws::new(seed, Purpose::MonteCarlo, column);
    (0..rows).map(|_| draws.uniform()).collect()
}

fn latin_column(rows: usize, seed: u64, column: u64) -> Vec<f64> {
    let mut draws = Draws::new(seed, Purpose::LatinHypercube, column);
    let mut strata: Vec<u32> = (0..rows as u32).collect();
    draws.shuffle(&mut strata);
    strata
        .into_iter()
        .map(|stratum| {
            // 32 bits and the half, behind at most 17 bits of stratum: exact, so no point rounds into the next stratum.
            let within = ((draws.raw() >> 32) as f64 + 0.5) / (1u64 << 32) as f64;
            (f64::from(stratum) + within) / rows as f64
        })
        .collect()
}
