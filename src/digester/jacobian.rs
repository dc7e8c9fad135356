//! Collects Jacobian contributions: the first pass records where they go, later passes only add numbers.

use crate::solver::Pattern;

/// Adds contributions in a fixed order into pattern slots.
#[derive(Debug, Clone)]
pub(crate) struct Stamp {
    slots: Vec<u32>,
    pattern: Pattern,
    recording: bool,
}

impl Stamp {
    /// Starts recording for a system of `dim` states and `aux` auxiliary unknowns.
    pub(crate) fn recorder(dim: usize, aux: usize) -> Self {
        Self {
            slots: Vec::new(),
            pattern: Pattern {
                dim,
                aux,
                entries: Vec::new(),
            },
            recording: true,
        }
    }

    /// Ends recording: from now on the same sequence of calls must come again.
    pub(crate) fn freeze(&mut self) {
        self.recording = false;
    }

    pub(crate) fn pattern(&self) -> &Pattern {
        &self.pattern
    }

    /// Opens one pass over the values.
    pub(crate) fn pass<'a>(&'a mut self, values: &'a mut [f64]) -> Pass<'a> {
        if !self.recording {
            values.fill(0.0);
        }
        Pass {
            stamp: self,
            values,
            next: 0,
        }
    }
}

/// One pass.
pub(crate) struct Pass<'a> {
    stamp: &'a mut Stamp,
    values: &'a mut [f64],
    next: usize,
}

impl Pass<'_> {
    /// Adds `value` at (row, column).
    #[inline]
    pub(crate) fn add(&mut self, row: usize, column: usize, value: f64) {
        if self.stamp.recording {
            self.record(row, column);
        } else {
            self.values[self.stamp.slots[self.next] as usize] += value;
        }
        self.next += 1;
    }

    #[cold]
    fn record(&mut self, row: usize, column: usize) {
        let entry = (row as u16, column as u16);
        let entries = &mut self.stamp.pattern.entries;
        let slot = entries.iter().position(|e| *e == entry).unwrap_or_else(|| {
            entries.push(entry);
            entries.len() - 1
        });
        self.stamp.slots.push(slot as u32);
    }
}
