//! Bands over time from many members, in memory that does not grow with their number.
//!
//! Each (time, variable) has a histogram with a fixed number of equal bins. It begins with the range the caller
//! expects; a value outside doubles the width of the bins, as often as needed, by joining neighbours. Which bins
//! result depends on the values alone and not on their order.

use serde::Serialize;

use super::statistics::{between, place};

/// Fewest bins of a variable.
pub const MIN_BINS: usize = 2;
/// Most bins of a variable.
pub const MAX_BINS: usize = 4_096;
/// Most bins of an accumulator, all times and variables together (256 MiB).
pub const MAX_TOTAL_BINS: usize = 1 << 26;

/// Values further out than this many first bin widths are not counted: up to here bin numbers are exact in a float.
const FARTHEST: f64 = (1u64 << 52) as f64;

/// The range a variable is expected in, in its own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandVariable {
    /// Lower end, finite.
    pub low: f64,
    /// Upper end, finite, above `low`; it belongs to the last bin.
    pub high: f64,
    /// Bins, [`MIN_BINS`]..=[`MAX_BINS`].
    pub bins: usize,
}

/// What an accumulator refuses.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BandError {
    /// Ends not finite, not in order, or so close that the bins have no width.
    #[error("variable {variable}: {low} to {high} is no range")]
    Range {
        /// Variable, from 0.
        variable: usize,
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Bins outside [`MIN_BINS`]..=[`MAX_BINS`].
    #[error("variable {variable}: {bins} bins; give {MIN_BINS} to {MAX_BINS}")]
    Bins {
        /// Variable, from 0.
        variable: usize,
        /// Bins asked for.
        bins: usize,
    },
    /// More than [`MAX_TOTAL_BINS`].
    #[error(
        "bands of {times} times and {variables} variables are too large; take fewer times or bins"
    )]
    TooLarge {
        /// Times asked for.
        times: usize,
        /// Variables asked for.
        variables: usize,
    },
    /// No such time or variable.
    #[error("there is no band for time {time} of variable {variable}")]
    NoCell {
        /// Time index asked for.
        time: usize,
        /// Variable asked for.
        variable: usize,
    },
}

/// Bands of one variable at one time, in its unit. Each quantile is within `resolution` of the exact one (definition
/// as in [`quantile`](super::statistics::quantile)); the ends are exact.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bands {
    /// Least value.
    pub least: f64,
    /// 5 % of the members lie below.
    pub p05: f64,
    /// 25 % of the members lie below.
    pub p25: f64,
    /// Half of the members lie below.
    pub p50: f64,
    /// 75 % of the members lie below.
    pub p75: f64,
    /// 95 % of the members lie below.
    pub p95: f64,
    /// Greatest value.
    pub greatest: f64,
    /// Width of a bin.
    pub resolution: f64,
    /// Values that count.
    pub counted: u32,
    /// Values left out: not finite, or absurdly far from the expected range.
    pub left_out: u32,
}

/// Histograms for every (time, variable).
#[derive(Debug, Clone)]
pub struct BandAccumulator {
    variables: Vec<BandVariable>,
    /// Time after time, variable after variable.
    cells: Vec<Cell>,
}

impl BandAccumulator {
    /// Empty histograms for `times` points in time.
    ///
    /// # Errors
    /// All of [`BandError`] but [`BandError::NoCell`].
    pub fn new(times: usize, variables: &[BandVariable]) -> Result<Self, BandError> {
        for (variable, given) in variables.iter().enumerate() {
            let BandVariable { low, high, bins } = *given;
            if !(MIN_BINS..=MAX_BINS).contains(&bins) {
                return Err(BandError::Bins { variable, bins });
            }
            let width = given.width();
            // Bins narrower than the digits at the ends of the range would tell nothing apart.
            let tells_apart = low + width > low && high - width < high;
            if !(low < high && width.is_finite() && tells_apart) {
                return Err(BandError::Range {
                    variable,
                    low,
                    high,
                });
            }
        }
        let bins: usize = variables.iter().map(|variable| variable.bins).sum();
        if times.saturating_mul(bins) > MAX_TOTAL_BINS {
            return Err(BandError::TooLarge {
                times,
                variables: variables.len(),
            });
        }
        let cells = (0..times)
            .flat_map(|_| variables.iter().map(|variable| Cell::new(variable.bins)))
            .collect();
        Ok(Self {
            variables: variables.to_vec(),
            cells,
        })
    }

    /// Takes one member's value; one that is not finite is counted as left out.
    ///
    /// # Errors
    /// [`BandError::NoCell`].
    pub fn push(&mut self, time: usize, variable: usize, value: f64) -> Result<(), BandError> {
        let no_cell = BandError::NoCell { time, variable };
        let (Some(index), Some(shape)) = (self.index(time, variable), self.variables.get(variable))
        else {
            return Err(no_cell);
        };
        self.cells
            .get_mut(index)
            .map(|cell| cell.push(shape, value))
            .ok_or(no_cell)
    }

    /// Bands of one variable at one time; `None` while no value counts, or for a cell that does not exist.
    #[must_use]
    pub fn bands(&self, time: usize, variable: usize) -> Option<Bands> {
        let cell = self.cells.get(self.index(time, variable)?)?;
        cell.bands(self.variables.get(variable)?)
    }

    fn index(&self, time: usize, variable: usize) -> Option<usize> {
        let count = self.variables.len();
        (variable < count).then(|| time.checked_mul(count)?.checked_add(variable))?
    }
}

impl BandVariable {
    fn width(&self) -> f64 {
        (self.high - self.low) / self.bins as f64
    }

    /// Number of the first-width bin that holds `value`; `None` if there is no exact number for it.
    fn bin(&self, value: f64) -> Option<i64> {
        if value == self.high {
            return Some(self.bins as i64 - 1);
        }
        let bin = ((value - self.low) / self.width()).floor();
        (bin.abs() < FARTHEST).then_some(bin as i64)
    }
}

/// One histogram. At level `k` a bin is `2^k` first widths wide and holds the first-width bins `i` with the same `i >> k`.
#[derive(Debug, Clone)]
struct Cell {
    counts: Vec<u32>,
    level: u32,
    /// Bins of the first width that must fit in: the expected range and every value so far.
    reach: (i64, i64),
    ends: (f64, f64),
    counted: u32,
    left_out: u32,
}

impl Cell {
    fn new(bins: usize) -> Self {
        Self {
            counts: vec![0; bins],
            level: 0,
            reach: (0, bins as i64 - 1),
            ends: (f64::INFINITY, f64::NEG_INFINITY),
            counted: 0,
            left_out: 0,
        }
    }

    /// Number, at the present level, of the bin that stands first.
    fn first(&self) -> i64 {
        self.reach.0 >> self.level
    }

    fn push(&mut self, shape: &BandVariable, value: f64) {
        let Some(bin) = shape.bin(value) else {
            self.left_out += 1;
            return;
        };
        if bin < self.reach.0 || bin > self.reach.1 {
            self.widen(bin);
        }
        let position = ((bin >> self.level) - self.first()) as usize;
        self.counts[position] += 1;
        self.counted += 1;
        self.ends = (self.ends.0.min(value), self.ends.1.max(value));
    }

    /// Makes room for `bin`: the fewest doublings with which everything fits.
    fn widen(&mut self, bin: i64) {
        let (old_first, old_level) = (self.first(), self.level);
        self.reach = (self.reach.0.min(bin), self.reach.1.max(bin));
        let bins = self.counts.len() as i64;
        while (self.reach.1 >> self.level) - (self.reach.0 >> self.level) >= bins {
            self.level += 1;
        }
        let (first, doublings) = (self.first(), self.level - old_level);
        let mut counts = vec![0; self.counts.len()];
        for (position, &count) in self.counts.iter().enumerate() {
            if count > 0 {
                let old = old_first + position as i64;
                counts[((old >> doublings) - first) as usize] += count;
            }
        }
        self.counts = counts;
    }

    fn bands(&self, shape: &BandVariable) -> Option<Bands> {
        if self.counted == 0 {
            return None;
        }
        let quantile = |p| {
            let (rank, part) = place(self.counted as usize, p);
            between(self.ordered(shape, rank), part, || {
                Some(self.ordered(shape, rank + 1))
            })
        };
        Some(Bands {
            least: self.ends.0,
            p05: quantile(0.05),
            p25: quantile(0.25),
            p50: quantile(0.50),
            p75: quantile(0.75),
            p95: quantile(0.95),
            greatest: self.ends.1,
            resolution: self.width(shape),
            counted: self.counted,
            left_out: self.left_out,
        })
    }

    fn width(&self, shape: &BandVariable) -> f64 {
        shape.width() * (1u64 << self.level) as f64
    }

    /// Estimate of the value with rank `rank` from 0: the members of a bin are taken as spread evenly in it.
    fn ordered(&self, shape: &BandVariable, rank: usize) -> f64 {
        let mut rank = rank as u64;
        for (position, &count) in self.counts.iter().enumerate() {
            let count = u64::from(count);
            if rank < count {
                let within = (rank as f64 + 0.5) / count as f64;
                let bin = (self.first() + position as i64) as f64;
                let value = shape.low + self.width(shape) * (bin + within);
                return value.clamp(self.ends.0, self.ends.1);
            }
            rank -= count;
        }
        self.ends.1
    }
}
