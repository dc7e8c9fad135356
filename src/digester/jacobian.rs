//! Where Jacobian contributions go: the first pass records it, later passes only add numbers.

use crate::lanes::Real;
use crate::solver::Pattern;

/// Takes contributions one after the other, always in the same order.
pub(crate) trait Sink<R: Real> {
    /// Adds `value` at (row, column).
    fn add(&mut self, row: usize, column: usize, value: R);

    /// Adds `slope` times each (row, value) to a column.
    #[inline(always)]
    fn add_column(&mut self, rows: &[(usize, R)], column: usize, slope: R) {
        for &(row, value) in rows {
            self.add(row, column, value * slope);
        }
    }
}

/// The places of a recorded pass, in its order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Stamp {
    slots: Vec<u16>,
    pattern: Pattern,
}

impl Stamp {
    /// Nothing recorded yet, for a system of `dim` states and `aux` auxiliary unknowns.
    pub(crate) fn new(dim: usize, aux: usize) -> Self {
        Self {
            slots: Vec::new(),
            pattern: Pattern {
                dim,
                aux,
                entries: Vec::new(),
            },
        }
    }

    pub(crate) fn pattern(&self) -> &Pattern {
        &self.pattern
    }

    /// Opens a pass over the values; the contributions must come as they were recorded.
    #[inline(always)]
    pub(crate) fn pass<'a, R: Real>(&'a self, values: &'a mut [R]) -> Pass<'a, R> {
        values.fill(R::splat(0.0));
        Pass {
            slots: &self.slots,
            values,
        }
    }
}

/// Recording.
impl<R: Real> Sink<R> for Stamp {
    fn add(&mut self, row: usize, column: usize, _value: R) {
        let entry = (row as u16, column as u16);
        let entries = &mut self.pattern.entries;
        let slot = entries.iter().position(|e| *e == entry).unwrap_or_else(|| {
            entries.push(entry);
            entries.len() - 1
        });
        self.slots.push(slot as u16);
    }
}

/// One pass over the values.
pub(crate) struct Pass<'a, R> {
    slots: &'a [u16],
    values: &'a mut [R],
}

impl<R: Real> Sink<R> for Pass<'_, R> {
    #[inline(always)]
    fn add(&mut self, _row: usize, _column: usize, value: R) {
        if let Some((&slot, rest)) = self.slots.split_first() {
            self.values[usize::from(slot)] += value;
            self.slots = rest;
        }
    }

    #[inline(always)]
    fn add_column(&mut self, rows: &[(usize, R)], _column: usize, slope: R) {
        let (slots, rest) = self.slots.split_at(rows.len());
        self.slots = rest;
        for (&slot, (_, value)) in slots.iter().zip(rows) {
            self.values[usize::from(slot)] += *value * slope;
        }
    }
}
