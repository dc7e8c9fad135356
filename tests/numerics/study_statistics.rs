//! Quantiles, chance intervals, running mean, rank correlation.

use marshgas::study::correlation::{chance_level, ranks, spearman};
use marshgas::study::generator::replicate;
use marshgas::study::statistics::{Running, chance, quantile, sorted};
use proptest::prelude::*;

#[test]
fn quantiles_follow_their_definition() {
    let ten: Vec<f64> = (1..=10).map(f64::from).collect();
    // Definition 7 by hand: place p (n - 1) among 1..10.
    for (p, value) in [
        (0.0, 1.0),
        (0.05, 1.45),
        (0.25, 3.25),
        (0.5, 5.5),
        (0.75, 7.75),
        (1.0, 10.0),
    ] {
        assert!((quantile(&ten, p).unwrap() - value).abs() < 1e-14, "{p}");
    }
    assert_eq!(quantile(&[4.0], 0.3), Some(4.0));
    assert_eq!(quantile(&[], 0.5), None);
    for p in [-0.01, 1.01, f64::NAN] {
        assert_eq!(quantile(&ten, p), None);
    }
    assert_eq!(sorted(&[3.0, -1.0, 2.0]), Some(vec![-1.0, 2.0, 3.0]));
    assert_eq!(sorted(&[3.0, f64::NAN]), None);
    assert_eq!(sorted(&[f64::INFINITY]), None);
}

/// 95 % score intervals without continuity correction. Source: R. G. Newcombe, Statistics in Medicine 17 (1998)
/// 857-872, table I, method 3; from memory.
#[test]
fn chance_intervals_are_the_published_ones() {
    for (hits, trials, low, high) in [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ] {
        let found = chance(hits, trials, 0.95).unwrap();
        assert!((found.low - low).abs() < 5e-5, "{hits}/{trials}: {found:?}");
        assert!(
            (found.high - high).abs() < 5e-5,
            "{hits}/{trials}: {found:?}"
        );
        assert_eq!(found.share, hits as f64 / trials as f64);
    }
}

#[test]
fn chance_intervals_at_the_ends_and_outside() {
    let (none, all) = (chance(0, 7, 0.9).unwrap(), chance(7, 7, 0.9).unwrap());
    assert_eq!((none.low, all.high), (0.0, 1.0));
    assert!((none.high - (1.0 - all.low)).abs() < 1e-15);
    for (hits, trials, confidence) in [
        (0, 0, 0.95),
        (3, 2, 0.95),
        (1, 2, 0.0),
        (1, 2, 1.0),
        (1, 2, f64::NAN),
    ] {
        assert_eq!(chance(hits, trials, confidence), None);
    }
}

/// The interval holds the true chance about as often as it says (seeded, so the same each time).
#[test]
fn chance_intervals_cover_the_truth() {
    let (truth, trials, studies) = (0.1, 60, 4000);
    let mut covered = 0;
    for study in 0..studies {
        let mut draws = replicate(17, study);
        let hits = (0..trials).filter(|_| draws.uniform() < truth).count();
        let found = chance(hits as u64, trials, 0.95).unwrap();
        covered += u32::from(found.low <= truth && truth <= found.high);
    }
    // The interval is approximate: the coverage it truly has is a sum over the binomial distribution.
    let exact: f64 = (0..=trials)
        .filter(|&hits| {
            let found = chance(hits, trials, 0.95).unwrap();
            found.low <= truth && truth <= found.high
        })
        .map(|hits| binomial(trials, hits, truth))
        .sum();
    assert!((exact - 0.95).abs() < 0.02, "{exact}");
    let share = f64::from(covered) / studies as f64;
    // Four standard errors of a share over 4000 studies.
    let band = 4.0 * (exact * (1.0 - exact) / studies as f64).sqrt();
    assert!((share - exact).abs() < band, "{share} {exact}");
}

fn binomial(n: u64, k: u64, p: f64) -> f64 {
    let choose = (0..k).fold(1.0, |product, i| product * (n - i) as f64 / (i + 1) as f64);
    choose * p.powi(k as i32) * (1.0 - p).powi((n - k) as i32)
}

/// NIST Statistical Reference Datasets, univariate, NumAcc1 to NumAcc4, built by their stated rule; certified mean and
/// standard deviation. From memory.
#[test]
fn running_mean_and_spread_hold_the_certified_values() {
    let alternating = |middle: f64| {
        let pairs = (0..500).flat_map(move |_| [middle - 0.1, middle + 0.1]);
        std::iter::once(middle).chain(pairs).collect::<Vec<f64>>()
    };
    let sets = [
        (
            vec![10_000_001.0, 10_000_003.0, 10_000_002.0],
            10_000_002.0,
            1.0,
            1e-15,
        ),
        (alternating(1.2), 1.2, 0.1, 1e-13),
        (alternating(1_000_000.2), 1_000_000.2, 0.1, 1e-8),
        (alternating(10_000_000.2), 10_000_000.2, 0.1, 1e-7),
    ];
    for (values, mean, sd, tolerance) in sets {
        let mut running = Running::default();
        values.iter().for_each(|value| running.push(*value));
        assert_eq!(running.count(), values.len() as u64);
        assert!(
            (running.mean().unwrap() / mean - 1.0).abs() < 1e-15,
            "{mean}"
        );
        let off = (running.sd().unwrap() / sd - 1.0).abs();
        assert!(off <= tolerance, "sd about {mean}: off by {off}");
    }
    let mut running = Running::default();
    assert_eq!((running.mean(), running.sd()), (None, None));
    running.push(3.0);
    assert_eq!((running.mean(), running.sd()), (Some(3.0), None));
}

/// Lightness and panel score of nine lots of tuna: M. Hollander and D. A. Wolfe, Nonparametric Statistical Methods
/// (1973) p. 187; Spearman's coefficient 0.6. From memory.
#[test]
fn rank_correlation_is_the_published_one() {
    let x = [44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1];
    let y = [2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8];
    assert!((spearman(&x, &y).unwrap() - 0.6).abs() < 1e-15);
}

#[test]
fn rank_correlation_of_known_functions() {
    let x: Vec<f64> = (0..101).map(|i| f64::from(i) / 50.0 - 1.0).collect();
    let of = |f: fn(f64) -> f64| spearman(&x, &x.iter().map(|x| f(*x)).collect::<Vec<_>>());
    assert_eq!(of(|x| (3.0 * x).exp()), Some(1.0));
    assert_eq!(of(|x| -x.powi(3)), Some(-1.0));
    // Symmetric about the middle: no trend. The squares tie in pairs.
    assert!(of(|x| (x * x * 2500.0).round()).unwrap().abs() < 1e-15);
    assert_eq!(of(|_| 1.0), None);
    // Against a closed form: the places 1..n in reverse within two halves give 1 - 6 S / (n (n^2 - 1)).
    let n = 10_usize;
    let place: Vec<f64> = (0..n).map(|i| i as f64).collect();
    let swapped: Vec<f64> = (0..n).map(|i| ((i + n / 2) % n) as f64).collect();
    let s = (n * (n / 2) * (n / 2)) as f64;
    let rho = 1.0 - 6.0 * s / (n * (n * n - 1)) as f64;
    assert!((spearman(&place, &swapped).unwrap() - rho).abs() < 1e-15);
}

#[test]
fn ties_share_the_mean_of_their_ranks() {
    assert_eq!(
        ranks(&[5.0, 1.0, 5.0, 0.0, -0.0, 5.0]),
        [5.0, 3.0, 5.0, 1.5, 1.5, 5.0]
    );
    assert!(ranks(&[]).is_empty());
    // By hand: ranks 1, 2.5, 2.5, 4 and 1, 3, 2, 4: 4.5 / sqrt(4.5 * 5).
    let rho = spearman(&[1.0, 2.0, 2.0, 3.0], &[1.0, 3.0, 2.0, 4.0]).unwrap();
    assert!((rho - 4.5 / 22.5_f64.sqrt()).abs() < 1e-15);
}

#[test]
fn rank_correlation_without_meaning_is_none() {
    let two = [1.0, 2.0];
    let three = [1.0, 2.0, 3.0];
    assert_eq!(spearman(&two, &two), None);
    assert_eq!(spearman(&two, &three), None);
    assert_eq!(spearman(&three, &[1.0, f64::NAN, 2.0]), None);
    assert_eq!(spearman(&three, &[1.0, f64::INFINITY, 2.0]), None);
    assert_eq!(chance_level(2), None);
}

#[test]
fn unrelated_quantities_pass_the_chance_level_one_time_in_twenty() {
    let (pairs, studies) = (50, 4000);
    let level = chance_level(pairs).unwrap();
    // 1.96 / 7.
    assert!((level - 0.279_994_854_934_293_5).abs() < 1e-12, "{level}");
    let passed = (0..studies)
        .filter(|&study| {
            let mut draws = replicate(99, study);
            let x: Vec<f64> = (0..pairs).map(|_| draws.uniform()).collect();
            let y: Vec<f64> = (0..pairs).map(|_| draws.uniform()).collect();
            spearman(&x, &y).unwrap().abs() > level
        })
        .count();
    // Four standard errors of 5 % over 4000 studies are 1.4 points.
    let share = passed as f64 / studies as f64;
    assert!((share - 0.05).abs() < 0.014, "{share}");
}

proptest! {
    #[test]
    fn quantiles_lie_between_the_values_and_grow(
        values in proptest::collection::vec(-1e9..1e9_f64, 1..60), a in 0.0..=1.0, b in 0.0..=1.0,
    ) {
        let values = sorted(&values).unwrap();
        let (low, high) = (f64::min(a, b), f64::max(a, b));
        let (first, second) = (quantile(&values, low).unwrap(), quantile(&values, high).unwrap());
        prop_assert!(values[0] <= first && second <= values[values.len() - 1]);
        prop_assert!(first <= second + 1e-6);
    }

    #[test]
    fn rank_correlation_ignores_growing_changes_and_stays_in_range(
        pairs in proptest::collection::vec((-50_i32..50, -50_i32..50), 3..60),
    ) {
        let x: Vec<f64> = pairs.iter().map(|pair| f64::from(pair.0)).collect();
        let y: Vec<f64> = pairs.iter().map(|pair| f64::from(pair.1)).collect();
        let bent: Vec<f64> = x.iter().map(|x| (x / 10.0).exp()).collect();
        let rho = spearman(&x, &y);
        prop_assert_eq!(rho, spearman(&bent, &y));
        prop_assert_eq!(rho, spearman(&y, &x));
        prop_assert!(rho.is_none_or(|rho| (-1.0..=1.0).contains(&rho)));
    }
}
