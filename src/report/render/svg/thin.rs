//! Fewer points with the same picture.

/// Widths of buckets that people can name \[points, which are days in a run\].
const BUCKETS: [usize; 10] = [2, 5, 7, 14, 28, 56, 91, 182, 365, 730];

/// Splits points at those that are not finite.
pub(super) fn pieces(points: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
    points
        .split(|p| !(p.0.is_finite() && p.1.is_finite()))
        .filter(|piece| !piece.is_empty())
        .map(<[_]>::to_vec)
        .collect()
}

/// Keeps the first, lowest, highest and last point of each of `columns` equal stretches of x, so
/// that a line drawn at that width looks the same. Points must be finite with x rising.
pub(super) fn thin(points: &[(f64, f64)], columns: usize) -> Vec<(f64, f64)> {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Vec::new();
    };
    if points.len() <= 4 * columns || last.0 <= first.0 {
        return points.to_vec();
    }
    #[allow(clippy::cast_precision_loss)] // pixel columns are few
    let scale = columns as f64 / (last.0 - first.0);
    let column = |p: &(f64, f64)| ((p.0 - first.0) * scale).floor();
    points
        .chunk_by(|a, b| column(a).total_cmp(&column(b)).is_eq())
        .flat_map(outline)
        .collect()
}

/// First, lowest, highest and last point of a chunk, in their order.
fn outline(chunk: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let by_height = |a: &usize, b: &usize| chunk[*a].1.total_cmp(&chunk[*b].1);
    let lowest = (0..chunk.len()).min_by(by_height).unwrap_or(0);
    let highest = (0..chunk.len()).max_by(by_height).unwrap_or(0);
    let mut keep = vec![0, lowest, highest, chunk.len().saturating_sub(1)];
    keep.sort_unstable();
    keep.dedup();
    keep.into_iter().map(|i| chunk[i]).collect()
}

/// How many neighbours must be merged so that at most `most` groups remain; 1 when none.
pub(super) fn bucket(count: usize, most: usize) -> usize {
    if count <= most {
        return 1;
    }
    let named = BUCKETS.iter().find(|b| count.div_ceil(**b) <= most);
    named
        .copied()
        .unwrap_or_else(|| count.div_ceil(most.max(1)))
}

/// Means of `size` neighbours: x of the first, mean of the finite y (not finite when there is none).
pub(super) fn means(points: &[(f64, f64)], size: usize) -> Vec<(f64, f64)> {
    points
        .chunks(size.max(1))
        .map(|chunk| {
            let finite: Vec<f64> = chunk
                .iter()
                .map(|p| p.1)
                .filter(|y| y.is_finite())
                .collect();
            #[allow(clippy::cast_precision_loss)] // chunks are small
            let mean = finite.iter().sum::<f64>() / finite.len() as f64;
            (chunk[0].0, mean)
        })
        .collect()
}

/// Joins spans closer than `gap`, so that thousands of short ones stay drawable.
pub(super) fn join(spans: &[(f64, f64)], gap: f64) -> Vec<(f64, f64)> {
    let mut sorted: Vec<_> = spans
        .iter()
        .filter(|s| s.0.is_finite() && s.1.is_finite())
        .collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<(f64, f64)> = Vec::new();
    for span in sorted {
        match joined.last_mut() {
            Some(last) if span.0 - last.1 <= gap => last.1 = last.1.max(span.1),
            _ => joined.push(*span),
        }
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thinning_keeps_ends_and_extremes() {
        let mut points: Vec<_> = (0..7300)
            .map(|i| (f64::from(i), f64::from(i % 10)))
            .collect();
        points[1234].1 = 99.0;
        points[4321].1 = -99.0;
        let thinned = thin(&points, 300);
        assert!(thinned.len() <= 1204, "{}", thinned.len());
        assert_eq!(thinned.first(), points.first());
        assert_eq!(thinned.last(), points.last());
        assert!(thinned.contains(&(1234.0, 99.0)) && thinned.contains(&(4321.0, -99.0)));
        assert!(thinned.windows(2).all(|w| w[0].0 <= w[1].0));
    }

    #[test]
    fn gaps_split_lines() {
        let points = [
            (0.0, 1.0),
            (1.0, f64::NAN),
            (2.0, 3.0),
            (3.0, 4.0),
            (f64::INFINITY, 1.0),
        ];
        assert_eq!(
            pieces(&points),
            vec![vec![(0.0, 1.0)], vec![(2.0, 3.0), (3.0, 4.0)]]
        );
        assert!(pieces(&[]).is_empty());
    }

    #[test]
    fn buckets_have_names_and_means_keep_the_total() {
        assert_eq!(bucket(300, 300), 1);
        assert_eq!(bucket(7305, 300), 28);
        let points: Vec<_> = (0..280).map(|i| (f64::from(i), f64::from(i))).collect();
        let total: f64 = means(&points, 28).iter().map(|p| p.1 * 28.0).sum();
        assert!((total - 279.0 * 280.0 / 2.0).abs() < 1e-9);
        assert!(means(&[(0.0, f64::NAN)], 7)[0].1.is_nan());
    }

    #[test]
    fn near_spans_are_joined() {
        let spans = [(5.0, 6.0), (0.0, 1.0), (1.2, 2.0), (f64::NAN, 9.0)];
        assert_eq!(join(&spans, 0.5), vec![(0.0, 2.0), (5.0, 6.0)]);
    }
}
