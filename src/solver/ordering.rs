//! Pivot order and fill of a fixed sparsity pattern, worked out once.

/// Most unknowns the sparse elimination takes: column numbers fit in a byte, one left over.
pub(super) const MOST_UNKNOWNS: usize = 255;

/// Set of unknowns.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Unknowns([u64; 4]);

impl Unknowns {
    pub(super) fn insert(&mut self, i: usize) {
        self.0[i / 64] |= 1 << (i % 64);
    }

    fn remove(&mut self, i: usize) {
        self.0[i / 64] &= !(1 << (i % 64));
    }

    pub(super) fn contains(self, i: usize) -> bool {
        self.0[i / 64] >> (i % 64) & 1 == 1
    }

    fn count(self) -> u32 {
        self.0.iter().map(|word| word.count_ones()).sum()
    }

    fn and(self, other: Self) -> Self {
        Self(std::array::from_fn(|w| self.0[w] & other.0[w]))
    }

    fn without(self, other: Self) -> Self {
        Self(std::array::from_fn(|w| self.0[w] & !other.0[w]))
    }

    fn or(self, other: Self) -> Self {
        Self(std::array::from_fn(|w| self.0[w] | other.0[w]))
    }

    /// Members in rising order.
    fn members(self) -> impl Iterator<Item = usize> {
        (0..4).flat_map(move |w| {
            let mut word = self.0[w];
            std::iter::from_fn(move || {
                (word != 0).then(|| {
                    let bit = word.trailing_zeros() as usize;
                    word &= word - 1;
                    64 * w + bit
                })
            })
        })
    }
}

/// Order of elimination with the filled pattern.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Ordering {
    /// Unknown eliminated at each position.
    pub(super) unknown_at: Vec<usize>,
    /// Pattern after fill, rows and columns by position.
    pub(super) rows: Vec<Unknowns>,
}

/// Orders the pivots on the diagonal by the smallest number of products (Markowitz 1957), ties by least fill.
///
/// `rows` holds the pattern by unknown. Gives `None` when a diagonal entry is missing or there are too many unknowns;
/// the caller then pivots densely.
pub(super) fn order(mut rows: Vec<Unknowns>) -> Option<Ordering> {
    let n = rows.len();
    if n > MOST_UNKNOWNS || (0..n).any(|i| !rows[i].contains(i)) {
        return None;
    }
    let mut columns = vec![Unknowns::default(); n];
    for (i, row) in rows.iter().enumerate() {
        for j in row.members() {
            columns[j].insert(i);
        }
    }
    let mut left = Unknowns::default();
    (0..n).for_each(|i| left.insert(i));
    let mut unknown_at = Vec::with_capacity(n);
    for _ in 0..n {
        let pivot = left.members().min_by_key(|&k| {
            let (row, column) = (rows[k].and(left), columns[k].and(left));
            let products = (row.count() - 1) * (column.count() - 1);
            let fill: u32 = column.members().map(|i| row.without(rows[i]).count()).sum();
            (products, fill)
        })?;
        left.remove(pivot);
        unknown_at.push(pivot);
        let (row, column) = (rows[pivot].and(left), columns[pivot].and(left));
        for i in column.members() {
            rows[i] = rows[i].or(row);
        }
        for j in row.members() {
            columns[j] = columns[j].or(column);
        }
    }
    let mut position_of = vec![0; n];
    for (position, &unknown) in unknown_at.iter().enumerate() {
        position_of[unknown] = position;
    }
    let rows = unknown_at
        .iter()
        .map(|&unknown| {
            let mut row = Unknowns::default();
            rows[unknown]
                .members()
                .for_each(|j| row.insert(position_of[j]));
            row
        })
        .collect();
    Some(Ordering { unknown_at, rows })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pattern(n: usize, entries: &[(usize, usize)]) -> Vec<Unknowns> {
        let mut rows = vec![Unknowns::default(); n];
        (0..n).for_each(|i| rows[i].insert(i));
        entries.iter().for_each(|&(i, j)| rows[i].insert(j));
        rows
    }

    #[test]
    fn arrow_matrix_is_ordered_without_fill() {
        // The hub last costs nothing; first, it would fill the matrix.
        let n = 100;
        let entries: Vec<_> = (1..n).flat_map(|i| [(0, i), (i, 0)]).collect();
        let ordering = order(pattern(n, &entries)).unwrap();
        assert!(ordering.unknown_at[n - 2..].contains(&0));
        let filled: u32 = ordering.rows.iter().map(|row| row.count()).sum();
        assert_eq!(filled as usize, n + entries.len());
    }

    #[test]
    fn missing_diagonal_and_too_many_unknowns_give_none() {
        let mut rows = pattern(2, &[(0, 1), (1, 0)]);
        rows[1].remove(1);
        assert_eq!(order(rows), None);
        assert!(order(pattern(MOST_UNKNOWNS, &[])).is_some());
        assert_eq!(order(pattern(MOST_UNKNOWNS + 1, &[])), None);
    }
}
