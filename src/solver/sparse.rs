//! LU factors of a matrix whose pattern never changes: worked out once as flat lists of places, run many times.
//!
//! The lists hold `u16` places into an array of 65536 numbers and `u8` positions into one of 256, so that no index
//! needs a bounds check. The fixed order leaves a dense block at the end, where the hubs of the network meet; it is
//! inverted, which costs less than eliminating it entry by entry and takes the longest chain out of every solve.
//! There is no numerical pivoting; each pivot is compared with the diagonal entry it started from instead, a test
//! that no scaling of rows or columns changes.

use super::block::{self, WIDTH};
use super::ordering::{self, Unknowns};
use super::system::Pattern;
use crate::lanes::{LaneSet, Real};

/// A pivot that shrank by more than this against its diagonal entry has lost its digits. Networks that conserve
/// something shrink by nine decades in long steps and stay sound.
const MOST_SHRINKING: f64 = 1e13;
/// A pivot that grew by more than this buries the digits of its row under those of a tiny pivot before it. Networks
/// grow by one decade.
const MOST_GROWTH: f64 = 1e8;

/// The fixed pivot order cannot be trusted for these values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct UnsafePivot;

/// Factors and the lists that make and use them.
#[derive(Debug)]
pub(super) struct SparseLu<R = f64> {
    states: usize,
    /// Position in the order of elimination, by unknown: states first, then auxiliary unknowns.
    position_of: Vec<u8>,
    /// Place of each pattern entry.
    place_of_entry: Vec<u16>,
    /// Places no entry fills: fill-in, and diagonal places without an entry.
    unfilled: Vec<u16>,
    /// 1 for a differential row, 0 for an algebraic or auxiliary one, by position.
    mass: Vec<f64>,
    /// By pivot before the block: how many entries stand below and to the right of it, and where the right ones begin.
    pivots: Vec<PivotStep>,
    /// Places below each pivot, pivot by pivot.
    below: Vec<u16>,
    /// Places that take a product: by pivot, by entry below, by entry to the right.
    targets: Vec<u16>,
    forward: Triangle,
    backward: Triangle,
    /// Unknowns in the dense block.
    block: usize,
    /// Lower factor by row, left of the block; upper factor by row, above the block, from the last row and column
    /// on; the block by column, later its inverse; pivots before the block, later their inverses.
    lu: Box<[R; 65536]>,
    work: Box<[R; 256]>,
}

#[derive(Debug, Clone, Copy)]
struct PivotStep {
    below: u8,
    right: u8,
    first_right: u16,
}

/// Rows of a triangular factor in the order in which they are solved.
#[derive(Debug, Default)]
struct Triangle {
    count: Vec<u8>,
    column: Vec<u8>,
}

impl Triangle {
    fn push(&mut self, columns: &[usize]) {
        self.count.push(byte(columns.len()));
        self.column.extend(columns.iter().map(|&j| byte(j)));
    }
}

/// Positions stay below `ordering::MOST_UNKNOWNS`.
fn byte(position: usize) -> u8 {
    debug_assert!(position <= ordering::MOST_UNKNOWNS);
    position as u8
}

impl<R: Real> SparseLu<R> {
    /// Works out order, fill and lists; `None` when an algebraic or auxiliary row lacks its diagonal entry, or there are
    /// too many unknowns.
    pub(super) fn new(pattern: &Pattern, is_algebraic: impl Fn(usize) -> bool) -> Option<Self> {
        let (states, n) = (pattern.dim, pattern.dim + pattern.aux);
        let mut rows = vec![Unknowns::default(); n];
        if n > ordering::MOST_UNKNOWNS {
            return None;
        }
        for &(i, j) in &pattern.entries {
            rows[usize::from(i)].insert(usize::from(j));
        }
        let differential = |unknown: usize| unknown < states && !is_algebraic(unknown);
        (0..n)
            .filter(|&i| differential(i))
            .for_each(|i| rows[i].insert(i));
        let ordering = ordering::order(rows)?;
        let filled = |i: usize, j: usize| ordering.rows[i].contains(j);
        let block = n.min(WIDTH);
        let first = n - block;

        let mut place = vec![0u16; n * n];
        let mut places = 0u16;
        let mut give_place = |i: usize, j: usize| {
            place[i * n + j] = places;
            places += 1;
        };
        let (mut forward, mut backward) = (Triangle::default(), Triangle::default());
        for i in 0..n {
            let columns: Vec<_> = (0..i.min(first)).filter(|&j| filled(i, j)).collect();
            columns.iter().for_each(|&j| give_place(i, j));
            forward.push(&columns);
        }
        // The column solved last comes last in its row: the others do not wait for it.
        for i in (0..first).rev() {
            let columns: Vec<_> = (i + 1..n).rev().filter(|&j| filled(i, j)).collect();
            columns.iter().for_each(|&j| give_place(i, j));
            backward.push(&columns);
        }
        let first_of_block = places;
        for (row, i) in (first..n).enumerate() {
            for (column, j) in (first..n).enumerate() {
                place[i * n + j] = first_of_block + (column * WIDTH + row) as u16;
            }
        }
        places += (block * WIDTH) as u16;
        for i in 0..first {
            place[i * n + i] = places;
            places += 1;
        }
        let at = |i: usize, j: usize| place[i * n + j];

        let (mut pivots, mut below, mut targets) = (Vec::with_capacity(n), Vec::new(), Vec::new());
        for k in 0..first {
            let right: Vec<_> = (k + 1..n).rev().filter(|&j| filled(k, j)).collect();
            let rows_below: Vec<_> = (k + 1..n).filter(|&i| filled(i, k)).collect();
            pivots.push(PivotStep {
                below: byte(rows_below.len()),
                right: byte(right.len()),
                first_right: right.first().map_or(0, |&j| at(k, j)),
            });
            for &i in &rows_below {
                below.push(at(i, k));
                targets.extend(right.iter().map(|&j| at(i, j)));
            }
        }

        let mut position_of = vec![0u8; n];
        for (position, &unknown) in ordering.unknown_at.iter().enumerate() {
            position_of[unknown] = byte(position);
        }
        let position = |unknown: u16| usize::from(position_of[usize::from(unknown)]);
        let place_of_entry: Vec<u16> = pattern
            .entries
            .iter()
            .map(|&(i, j)| at(position(i), position(j)))
            .collect();
        let mut is_filled = vec![false; usize::from(places)];
        place_of_entry
            .iter()
            .for_each(|&p| is_filled[usize::from(p)] = true);
        let unfilled = (0..places)
            .filter(|&p| !is_filled[usize::from(p)])
            .collect();
        let mass = ordering
            .unknown_at
            .iter()
            .map(|&i| f64::from(u8::from(differential(i))))
            .collect();
        Some(Self {
            states,
            block,
            position_of,
            place_of_entry,
            unfilled,
            mass,
            pivots,
            below,
            targets,
            forward,
            backward,
            lu: zeros(),
            work: zeros(),
        })
    }

    /// Factorises `diag(shift M, 0) - J` for the values `J` of the pattern.
    ///
    /// Returns the lanes in which no pivot vanished, was not finite, or differed too much from its diagonal entry.
    #[inline(always)]
    pub(super) fn factor_lanes(&mut self, values: &[R], shift: R) -> LaneSet {
        let lu = &mut *self.lu;
        let n = self.position_of.len();
        for (&place, value) in self.place_of_entry.iter().zip(values) {
            lu[usize::from(place)] = -*value;
        }
        for &place in &self.unfilled {
            lu[usize::from(place)] = R::splat(0.0);
        }
        let first_of_block = self.forward.column.len() + self.backward.column.len();
        let first_diagonal = first_of_block + self.block * WIDTH;
        let (starts, block_starts) = self.work[..n].split_at_mut(n - self.block);
        let (masses, block_masses) = self.mass.split_at(n - self.block);
        for ((entry, start), mass) in lu[first_diagonal..].iter_mut().zip(starts).zip(masses) {
            *entry += shift * *mass;
            *start = entry.abs();
        }
        let columns = lu[first_of_block..first_diagonal]
            .as_chunks_mut::<WIDTH>()
            .0;
        for (i, (column, mass)) in columns.iter_mut().zip(block_masses).enumerate() {
            column[i] += shift * *mass;
            block_starts[i] = column[i].abs();
        }

        let (mut below, mut targets) = (&self.below[..], &self.targets[..]);
        let mut trusted = R::all();
        for (k, step) in self.pivots.iter().enumerate() {
            let place = (first_diagonal + k) & 0xffff;
            trusted = trusted & sound(lu[place], self.work[k & 0xff]);
            let inverse = lu[place].recip();
            lu[place] = inverse;
            let first_right = usize::from(step.first_right);
            let (rows, rest) = below.split_at(usize::from(step.below));
            below = rest;
            for &row in rows {
                let multiplier = lu[usize::from(row)] * inverse;
                lu[usize::from(row)] = multiplier;
                let (row_targets, rest) = targets.split_at(usize::from(step.right));
                targets = rest;
                for (q, &target) in row_targets.iter().enumerate() {
                    lu[usize::from(target)] -= multiplier * lu[(first_right + q) & 0xffff];
                }
            }
        }
        let columns = lu[first_of_block..first_diagonal]
            .as_chunks_mut::<WIDTH>()
            .0;
        let starts = &self.work[n - self.block..n];
        block::invert(columns, |i, pivot| {
            trusted = trusted & sound(pivot, starts[i])
        });
        trusted
    }

    /// Solves for the right-hand side `a + b` on the states and zero on the auxiliary rows; gives the states only.
    #[inline(always)]
    pub(super) fn solve(&mut self, a: &[R], b: &[R], out: &mut [R]) {
        let (x, n) = (&mut *self.work, self.position_of.len());
        let (states, auxiliary) = self.position_of.split_at(self.states);
        for ((&position, a), b) in states.iter().zip(a).zip(b) {
            x[usize::from(position)] = *a + *b;
        }
        for &position in auxiliary {
            x[usize::from(position)] = R::splat(0.0);
        }
        let (lower, rest) = self.lu.split_at(self.forward.column.len());
        let (upper, rest) = rest.split_at(self.backward.column.len());
        let (inverse, rest) = rest.split_at(self.block * WIDTH);
        let first = n - self.block;
        let inverse_pivots = &rest[..first];

        let (mut columns, mut values) = (&self.forward.column[..], lower);
        for (i, &count) in self.forward.count.iter().enumerate() {
            let row = next_row(&mut columns, &mut values, count);
            x[i & 0xff] -= product(row, x);
        }
        block::multiply(inverse.as_chunks::<WIDTH>().0, &mut x[first..n]);
        let (mut columns, mut values) = (&self.backward.column[..], upper);
        let rows = inverse_pivots.iter().enumerate().rev();
        for ((i, inverse), &count) in rows.zip(&self.backward.count) {
            let row = next_row(&mut columns, &mut values, count);
            x[i & 0xff] = (x[i & 0xff] - product(row, x)) * *inverse;
        }
        for (out, &position) in out.iter_mut().zip(states) {
            *out = x[usize::from(position)];
        }
    }
}

/// Splits the next row off the lists of columns and values.
#[inline(always)]
fn next_row<'a, R>(columns: &mut &'a [u8], values: &mut &'a [R], count: u8) -> (&'a [u8], &'a [R]) {
    let (row_columns, rest) = columns.split_at(usize::from(count));
    *columns = rest;
    let (row_values, rest) = values.split_at(usize::from(count));
    *values = rest;
    (row_columns, row_values)
}

/// A row times `x`.
#[inline(always)]
fn product<R: Real>((columns, values): (&[u8], &[R]), x: &[R; 256]) -> R {
    let mut sum = R::splat(0.0);
    for (&column, value) in columns.iter().zip(values) {
        sum += *value * x[usize::from(column)];
    }
    sum
}

/// The lanes in which a pivot kept enough digits of the diagonal entry it started from.
#[inline(always)]
fn sound<R: Real>(pivot: R, start: R) -> LaneSet {
    let pivot = pivot.abs();
    start.below(pivot * MOST_SHRINKING) & pivot.below(start * MOST_GROWTH)
}

/// Zeros on the heap, without a detour over the stack.
fn zeros<R: Real, const N: usize>() -> Box<[R; N]> {
    match vec![R::splat(0.0); N].into_boxed_slice().try_into() {
        Ok(array) => array,
        Err(_) => unreachable!("the slice was made with this length"),
    }
}

impl SparseLu {
    /// Factorises as [`SparseLu::factor_lanes`] does.
    ///
    /// # Errors
    /// [`UnsafePivot`] when a pivot vanished, is not finite, or differs too much from its diagonal entry.
    pub(super) fn factor(&mut self, values: &[f64], shift: f64) -> Result<(), UnsafePivot> {
        if self.factor_lanes(values, shift).is_empty() {
            Err(UnsafePivot)
        } else {
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    /// Numbers in `[0, 1)` from a linear congruential generator (Knuth's MMIX constants).
    struct Numbers(u64);

    impl Numbers {
        fn next(&mut self) -> f64 {
            self.0 = self
                .0
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (self.0 >> 11) as f64 / (1u64 << 53) as f64
        }
    }

    fn random_pattern(numbers: &mut Numbers, dim: usize, aux: usize, density: f64) -> Pattern {
        let n = dim + aux;
        let mut entries = Vec::new();
        for i in 0..n {
            for j in 0..n {
                if numbers.next() < density || (i == j && i >= dim) {
                    entries.push((i as u16, j as u16));
                }
            }
        }
        Pattern { dim, aux, entries }
    }

    fn dense(
        pattern: &Pattern,
        values: &[f64],
        shift: f64,
        algebraic: impl Fn(usize) -> bool,
    ) -> DMatrix<f64> {
        let n = pattern.dim + pattern.aux;
        let mut w = DMatrix::zeros(n, n);
        for (&(i, j), v) in pattern.entries.iter().zip(values) {
            w[(i.into(), j.into())] -= v;
        }
        (0..pattern.dim)
            .filter(|&i| !algebraic(i))
            .for_each(|i| w[(i, i)] += shift);
        w
    }

    #[test]
    fn agrees_with_dense_pivoting_on_random_patterns() {
        let mut numbers = Numbers(7);
        for (dim, aux, density) in [
            (1, 0, 1.0),
            (3, 0, 0.9),
            (8, 2, 0.3),
            (35, 0, 0.15),
            (30, 5, 0.2),
            (60, 4, 0.05),
            (250, 5, 0.01),
        ] {
            for _ in 0..10 {
                let pattern = random_pattern(&mut numbers, dim, aux, density);
                // Diagonally dominant for the reference; for the sparse elimination the same matrix with its unknowns
                // in units over six decades.
                let n = dim + aux;
                let plain: Vec<f64> = pattern
                    .entries
                    .iter()
                    .map(|&(i, j)| {
                        numbers.next()
                            - 0.5
                            - if i == j {
                                1.0 + density * n as f64
                            } else {
                                0.0
                            }
                    })
                    .collect();
                let unit: Vec<f64> = (0..n)
                    .map(|_| 10f64.powf(6.0 * numbers.next() - 3.0))
                    .collect();
                let scaled: Vec<f64> = pattern
                    .entries
                    .iter()
                    .zip(&plain)
                    .map(|(&(i, j), v)| v * unit[usize::from(i)] / unit[usize::from(j)])
                    .collect();
                let mut rhs = DVector::zeros(n);
                (0..dim).for_each(|i| rhs[i] = numbers.next() - 0.5);
                let expected = dense(&pattern, &plain, 3.0, |_| false)
                    .lu()
                    .solve(&rhs)
                    .unwrap();

                let mut lu = SparseLu::new(&pattern, |_| false).unwrap();
                lu.factor(&scaled, 3.0).unwrap();
                let halves: Vec<f64> = (0..dim).map(|i| 0.5 * rhs[i] * unit[i]).collect();
                let mut x = vec![0.0; dim];
                lu.solve(&halves, &halves, &mut x);
                for i in 0..dim {
                    let error = (x[i] / unit[i] - expected[i]).abs();
                    assert!(error < 1e-13, "{dim}+{aux}: {error:.1e}");
                }
            }
        }
    }

    #[test]
    fn auxiliary_rows_act_as_their_elimination() {
        // y' = -2 y + 3 z, 0 = y - 4 z: reduced, y' = -1.25 y.
        let pattern = Pattern {
            dim: 1,
            aux: 1,
            entries: vec![(0, 0), (0, 1), (1, 0), (1, 1)],
        };
        let mut lu = SparseLu::new(&pattern, |_| false).unwrap();
        lu.factor(&[-2.0, 3.0, 1.0, -4.0], 5.0).unwrap();
        let mut x = [0.0];
        lu.solve(&[1.0], &[0.5], &mut x);
        assert!((x[0] - 1.5 / 6.25).abs() < 1e-15);
    }

    #[test]
    fn algebraic_rows_get_no_shift() {
        let pattern = Pattern {
            dim: 2,
            aux: 0,
            entries: vec![(0, 0), (0, 1), (1, 0), (1, 1)],
        };
        let mut lu = SparseLu::new(&pattern, |i| i == 1).unwrap();
        let values = [-2.0, 3.0, 1.0, -4.0];
        lu.factor(&values, 5.0).unwrap();
        let mut x = [0.0; 2];
        lu.solve(&[1.0, 2.0], &[0.0, 0.0], &mut x);
        let expected = dense(&pattern, &values, 5.0, |i| i == 1)
            .lu()
            .solve(&DVector::from_vec(vec![1.0, 2.0]))
            .unwrap();
        assert!((x[0] - expected[0]).abs() < 1e-15 && (x[1] - expected[1]).abs() < 1e-15);
    }

    #[test]
    fn unsound_pivots_are_refused() {
        let pattern = Pattern {
            dim: 2,
            aux: 0,
            entries: vec![(0, 0), (0, 1), (1, 0), (1, 1)],
        };
        let mut lu = SparseLu::new(&pattern, |_| true).unwrap();
        // Zero, tiny, singular, not a number.
        for values in [
            [0.0, 1.0, 1.0, 1.0],
            [1e-9, 1.0, 1.0, 1.0],
            [1.0, 1.0, 1.0, 1.0],
            [f64::NAN, 1.0, 1.0, 1.0],
        ] {
            assert_eq!(lu.factor(&values, 0.0), Err(UnsafePivot), "{values:?}");
        }
        assert_eq!(
            lu.factor(&[1.0, 0.5, 0.5, 1.0], 0.0),
            Ok(()),
            "a refusal must not stick"
        );
    }
}
