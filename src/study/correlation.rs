//! Rank correlation: how surely one quantity grows with another, whatever the shape of the curve.

use super::normal;

/// Ranks from 1, equal values sharing the mean of their ranks. The values must be finite.
#[must_use]
pub fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    let mut begin = 0;
    // `==` and not the total order: 0 and -0 are a tie.
    for tie in order.chunk_by(|&a, &b| values[a] == values[b]) {
        let end = begin + tie.len();
        let shared = (begin + 1 + end) as f64 / 2.0;
        for &index in tie {
            ranks[index] = shared;
        }
        begin = end;
    }
    ranks
}

/// Spearman's rank correlation, -1..=1: the product-moment correlation of the ranks, which is right with ties too.
///
/// Source: C. Spearman, American Journal of Psychology 15 (1904) 72-101; ties as in M. G. Kendall, Rank Correlation
/// Methods. `None` where it has no meaning: different lengths, fewer than three pairs, a value that is not finite,
/// or one side constant.
#[must_use]
pub fn spearman(x: &[f64], y: &[f64]) -> Option<f64> {
    let usable = x.len() == y.len()
        && x.len() >= FEWEST_PAIRS
        && x.iter().chain(y).all(|value| value.is_finite());
    if !usable {
        return None;
    }
    // Ranks are halves of whole numbers and their mean is known: the sums hold no rounding error up to millions of pairs.
    let mean = (x.len() + 1) as f64 / 2.0;
    let (mut across, mut along_x, mut along_y) = (0.0, 0.0, 0.0);
    for (rx, ry) in ranks(x).into_iter().zip(ranks(y)) {
        across += (rx - mean) * (ry - mean);
        along_x += (rx - mean) * (rx - mean);
        along_y += (ry - mean) * (ry - mean);
    }
    if along_x == 0.0 || along_y == 0.0 {
        return None;
    }
    Some((across / (libm::sqrt(along_x) * libm::sqrt(along_y))).clamp(-1.0, 1.0))
}

/// Two pairs are always in perfect order or in perfect disorder.
const FEWEST_PAIRS: usize = 3;

/// Size of rank correlation that two unrelated quantities exceed by mere chance in about one of twenty samples of
/// `pairs` pairs; what lies below should not be called a cause.
///
/// Large-sample form: unrelated ranks correlate with mean 0 and variance `1 / (n - 1)`. Source: Kendall, Rank
/// Correlation Methods. `None` below three pairs.
#[must_use]
pub fn chance_level(pairs: usize) -> Option<f64> {
    chance_level_of_many(pairs, 1)
}

/// The same where `looks` correlations are looked at: the size that any of them exceeds by mere chance in about one of
/// twenty studies. Source: C. E. Bonferroni 1936; from memory. `None` below three pairs or without a look.
#[must_use]
pub fn chance_level_of_many(pairs: usize, looks: usize) -> Option<f64> {
    let tail = 0.05 / looks as f64 / 2.0;
    (pairs >= FEWEST_PAIRS && looks > 0)
        .then(|| (normal::quantile(1.0 - tail) / libm::sqrt((pairs - 1) as f64)).min(1.0))
}
