//! Random points: stored first draws, strata, and how fast the error of a mean falls.

use marshgas::study::distribution::Distribution;
use marshgas::study::generator::{Draws, GENERATOR, Purpose, replicate};
use marshgas::study::sampling::{MAX_ROWS, Method, Points, SamplingError, sample, unit_points};
use proptest::prelude::*;

fn points(method: Method, rows: usize, columns: usize, seed: u64) -> Points {
    unit_points(method, rows, columns, seed).unwrap_or_else(|error| panic!("{error}"))
}

// The stored draws were computed by a second, independent implementation of cipher, key and conversions.

#[test]
fn first_draws_of_a_replicate_are_the_stored_ones() {
    assert_eq!(GENERATOR, "chacha8-draws-1");
    let mut draws = replicate(2026, 0);
    let raw: Vec<u64> = (0..4).map(|_| draws.raw()).collect();
    assert_eq!(
        raw,
        [
            0x22d8_ff3d_7d5b_a31f,
            0x38a3_571f_be9d_3f0d,
            0xd2b2_f338_59e4_b6e1,
            0xe10b_783a_24fd_dfa1
        ]
    );
    let mut draws = replicate(2026, 7);
    let uniform: Vec<f64> = (0..4).map(|_| draws.uniform()).collect();
    assert_eq!(
        uniform,
        [
            0.672_726_114_018_981_4,
            0.372_928_307_041_211_6,
            0.104_646_885_127_778_31,
            0.467_940_671_136_689
        ]
    );
}

#[test]
fn first_points_are_the_stored_ones() {
    let plain = points(Method::MonteCarlo, 4, 2, 2026);
    assert_eq!(
        plain.column(1),
        [
            0.675_261_980_976_918_1,
            0.343_196_805_975_213_4,
            0.916_148_820_563_923_5,
            0.769_473_313_503_875_9
        ]
    );
    let latin = points(Method::LatinHypercube, 5, 2, 2026);
    assert_eq!(
        latin.column(0),
        [
            0.824_315_068_661_235_3,
            0.188_246_489_572_338_75,
            0.691_975_134_355_016,
            0.409_044_677_927_158_76,
            0.348_179_694_660_939_3
        ]
    );
    assert_eq!(
        latin.column(1),
        [
            0.373_523_604_287_765_93,
            0.951_612_001_913_599_6,
            0.145_033_143_577_165_9,
            0.796_948_131_429_962_8,
            0.533_787_793_410_010_6
        ]
    );
}

#[test]
fn seeds_purposes_and_indices_give_different_streams() {
    let streams = [
        Draws::new(1, Purpose::Replicate, 0),
        Draws::new(2, Purpose::Replicate, 0),
        Draws::new(1, Purpose::Replicate, 1),
        Draws::new(1, Purpose::MonteCarlo, 0),
        Draws::new(1, Purpose::LatinHypercube, 0),
        Draws::new(u64::MAX, Purpose::Replicate, u64::MAX),
    ];
    let mut first: Vec<u64> = streams.into_iter().map(|mut draws| draws.raw()).collect();
    first.sort_unstable();
    first.dedup();
    assert_eq!(first.len(), 6);
}

#[test]
fn every_stratum_of_every_column_is_met_once() {
    for (rows, columns) in [(1, 1), (2, 3), (7, 5), (100, 8), (MAX_ROWS, 2)] {
        let sample = points(Method::LatinHypercube, rows, columns, 9);
        assert_eq!(sample.len(), rows);
        for column in 0..columns {
            let mut strata: Vec<usize> = sample
                .column(column)
                .into_iter()
                .map(|value| {
                    assert!(value > 0.0 && value < 1.0);
                    (value * rows as f64) as usize
                })
                .collect();
            strata.sort_unstable();
            assert!(strata.into_iter().eq(0..rows), "{rows} x {columns}");
        }
    }
}

#[test]
fn a_further_column_or_row_changes_nothing_before_it() {
    for method in [Method::LatinHypercube, Method::MonteCarlo] {
        let (narrow, wide) = (points(method, 50, 2, 4), points(method, 50, 3, 4));
        assert_eq!(narrow.column(0), wide.column(0));
        assert_eq!(narrow.column(1), wide.column(1));
        assert_ne!(wide.column(1), wide.column(2));
    }
    let (short, long) = (
        points(Method::MonteCarlo, 10, 2, 4),
        points(Method::MonteCarlo, 20, 2, 4),
    );
    assert!(short.rows().eq(long.rows().take(10)));
}

#[test]
fn rows_and_columns_are_two_views_of_one_table() {
    let table = points(Method::MonteCarlo, 6, 3, 1);
    for (index, row) in table.rows().enumerate() {
        assert_eq!(table.row(index), Some(row));
        for (column, value) in row.iter().enumerate() {
            assert_eq!(table.column(column)[index], *value);
        }
    }
    assert_eq!(table.row(6), None);
    assert_eq!(table.row(usize::MAX), None);
    assert!(table.column(3).is_empty());
}

/// Root mean square error of the mean of `x1 + .. + x5` (true mean 2.5) over many seeds.
fn error_of_the_mean(method: Method, rows: usize) -> f64 {
    let squares: f64 = (0..SEEDS)
        .map(|seed| {
            let sum: f64 = points(method, rows, 5, seed)
                .rows()
                .flat_map(|row| row.iter().copied())
                .sum();
            (sum / rows as f64 - 2.5).powi(2)
        })
        .sum();
    (squares / SEEDS as f64).sqrt()
}

const SEEDS: u64 = 400;
/// Four standard errors of a root mean square over 400 seeds: `4 / sqrt(2 * 400)`.
const BAND: f64 = 0.1414;

#[test]
fn the_error_of_plain_draws_falls_with_the_root_of_their_number() {
    for rows in [16, 64, 256, 1024] {
        // Five independent uniform numbers: variance 5/12, over n.
        let theory = (5.0 / 12.0 / rows as f64).sqrt();
        let ratio = error_of_the_mean(Method::MonteCarlo, rows) / theory;
        assert!((ratio - 1.0).abs() < BAND, "{rows} draws: {ratio}");
    }
}

#[test]
fn a_latin_hypercube_does_a_sum_far_better() {
    for rows in [16, 64, 256] {
        // Only the place within the stratum is left to chance: its variance is 1/(12 n^2), over n. So the error is
        // one n-th of that of plain draws.
        let theory = (5.0 / 12.0 / rows as f64).sqrt() / rows as f64;
        let ratio = error_of_the_mean(Method::LatinHypercube, rows) / theory;
        assert!((ratio - 1.0).abs() < BAND, "{rows} draws: {ratio}");
    }
}

#[test]
fn shuffles_are_all_equally_likely() {
    let mut seen = [0_u32; 6];
    let mut draws = replicate(31, 0);
    for _ in 0..6000 {
        let mut items = [0_usize, 1, 2];
        draws.shuffle(&mut items);
        seen[2 * items[0] + usize::from(items[1] > items[2])] += 1;
    }
    // Chi-square with 5 degrees of freedom: above 20.5 by chance in one of a thousand seeds (standard tables).
    let chi: f64 = seen
        .iter()
        .map(|&count| (f64::from(count) - 1000.0).powi(2) / 1000.0)
        .sum();
    assert!(chi < 20.5, "{seen:?}");
}

#[test]
fn samples_are_quantiles_of_the_unit_points() {
    let inputs = [
        Distribution::Fixed { value: 37.0 },
        Distribution::Uniform {
            low: -1.0,
            high: 3.0,
        },
        Distribution::Triangular {
            low: 0.0,
            mode: 1.0,
            high: 4.0,
        },
    ];
    let unit = points(Method::LatinHypercube, 40, 3, 77);
    let drawn = sample(&inputs, Method::LatinHypercube, 40, 77).unwrap();
    for (u, x) in unit.rows().zip(drawn.rows()) {
        for ((u, x), input) in u.iter().zip(x).zip(&inputs) {
            assert_eq!(*x, input.quantile(*u));
        }
    }
}

#[test]
fn impossible_samples_are_refused() {
    let method = Method::LatinHypercube;
    for rows in [0, MAX_ROWS + 1] {
        assert_eq!(
            unit_points(method, rows, 1, 0),
            Err(SamplingError::Rows(rows))
        );
    }
    assert_eq!(unit_points(method, 1, 0, 0), Err(SamplingError::Columns(0)));
    assert_eq!(sample(&[], method, 5, 0), Err(SamplingError::Columns(0)));
    let good = Distribution::Fixed { value: 1.0 };
    let bad = Distribution::Uniform {
        low: 2.0,
        high: 1.0,
    };
    let error = sample(&[good, bad], method, 5, 0).unwrap_err();
    assert!(matches!(error, SamplingError::Input { column: 1, .. }));
    assert_eq!(
        error.to_string(),
        "uncertain input 2: low 2 is not below high 1; give the lower bound first, or a fixed value"
    );
}

proptest! {
    #[test]
    fn any_latin_hypercube_meets_each_stratum_once(rows in 1_usize..300, columns in 1_usize..6, seed: u64) {
        let sample = points(Method::LatinHypercube, rows, columns, seed);
        for column in 0..columns {
            let mut strata: Vec<usize> =
                sample.column(column).into_iter().map(|u| (u * rows as f64) as usize).collect();
            strata.sort_unstable();
            prop_assert!(strata.into_iter().eq(0..rows));
        }
    }
}
