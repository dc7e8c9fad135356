//! Bands over time against exact quantiles.

use marshgas::study::bands::{BandAccumulator, BandError, BandVariable, Bands};
use marshgas::study::generator::replicate;
use marshgas::study::statistics::{quantile, sorted};
use proptest::prelude::*;

const PH: BandVariable = BandVariable {
    low: 4.0,
    high: 9.0,
    bins: 100,
};

fn bands_of(variable: BandVariable, values: &[f64]) -> Option<Bands> {
    let mut accumulator = BandAccumulator::new(1, &[variable]).ok()?;
    for value in values {
        accumulator.push(0, 0, *value).ok()?;
    }
    accumulator.bands(0, 0)
}

/// Largest difference between a band and the exact quantile, in bin widths.
fn worst(bands: &Bands, values: &[f64]) -> f64 {
    let exact = sorted(values).unwrap_or_default();
    [
        (0.05, bands.p05),
        (0.25, bands.p25),
        (0.50, bands.p50),
        (0.75, bands.p75),
        (0.95, bands.p95),
    ]
    .into_iter()
    .map(|(p, found)| {
        let exact = quantile(&exact, p).unwrap_or(f64::NAN);
        (found - exact).abs() / bands.resolution
    })
    .fold(0.0, f64::max)
}

#[test]
fn bands_are_within_the_resolution_of_the_exact_quantiles() {
    for (count, seed) in [(1, 1), (2, 2), (7, 3), (50, 4), (1000, 5), (20_000, 6)] {
        let mut draws = replicate(seed, 0);
        // Squared, so that the values crowd at one side.
        let values: Vec<f64> = (0..count)
            .map(|_| 4.0 + 5.0 * draws.uniform().powi(2))
            .collect();
        let bands = bands_of(PH, &values).unwrap();
        assert_eq!(bands.resolution, 0.05);
        assert_eq!((bands.counted, bands.left_out), (count, 0));
        assert!(worst(&bands, &values) <= 1.0 + 1e-9, "{count} values");
        let exact = sorted(&values).unwrap();
        assert_eq!(
            (bands.least, bands.greatest),
            (exact[0], exact[exact.len() - 1])
        );
    }
}

#[test]
fn equal_members_give_their_value_exactly() {
    let bands = bands_of(PH, &[7.031; 40]).unwrap();
    for value in [bands.p05, bands.p25, bands.p50, bands.p75, bands.p95] {
        assert_eq!(value, 7.031);
    }
}

#[test]
fn the_ends_of_the_range_belong_to_it() {
    let bands = bands_of(PH, &[4.0, 9.0]).unwrap();
    assert_eq!(
        (bands.resolution, bands.least, bands.greatest),
        (0.05, 4.0, 9.0)
    );
}

#[test]
fn values_outside_widen_the_bins_by_whole_doublings() {
    // 4..9 with 100 bins of 0.05. One value at 14.1 needs a reach of 203 bins: two doublings.
    let bands = bands_of(PH, &[5.0, 14.1]).unwrap();
    assert_eq!(bands.resolution, 0.2);
    assert_eq!(bands.greatest, 14.1);
    let mut draws = replicate(8, 0);
    let values: Vec<f64> = (0..5000).map(|_| 200.0 * draws.uniform() - 60.0).collect();
    let bands = bands_of(PH, &values).unwrap();
    // A reach of 200 in 100 bins: at least 2 wide, and the doubling overshoots by less than two.
    assert!(
        (2.0..4.0).contains(&bands.resolution),
        "{}",
        bands.resolution
    );
    assert!(worst(&bands, &values) <= 1.0 + 1e-9);
}

#[test]
fn what_is_no_number_is_left_out_and_counted() {
    let values = [6.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, 7.0];
    let bands = bands_of(PH, &values).unwrap();
    assert_eq!((bands.counted, bands.left_out), (2, 4));
    assert_eq!(
        (bands.least, bands.greatest, bands.resolution),
        (6.0, 7.0, 0.05)
    );
    assert_eq!(bands_of(PH, &[f64::NAN]), None);
    assert_eq!(bands_of(PH, &[]), None);
}

#[test]
fn each_time_and_variable_has_its_own_histogram() {
    let gas = BandVariable {
        low: 0.0,
        high: 500.0,
        bins: 50,
    };
    let mut accumulator = BandAccumulator::new(3, &[PH, gas]).unwrap();
    for member in 0..10 {
        for time in 0..3 {
            let late = time as f64;
            accumulator.push(time, 0, 6.0 + late).unwrap();
            accumulator
                .push(time, 1, 100.0 * late + f64::from(member))
                .unwrap();
        }
    }
    for time in 0..3 {
        let late = time as f64;
        assert_eq!(accumulator.bands(time, 0).unwrap().p50, 6.0 + late);
        let gas = accumulator.bands(time, 1).unwrap();
        assert_eq!(
            (gas.least, gas.greatest),
            (100.0 * late, 100.0 * late + 9.0)
        );
    }
    for (time, variable) in [(3, 0), (0, 2), (usize::MAX, 1)] {
        assert_eq!(accumulator.bands(time, variable), None);
        assert_eq!(
            accumulator.push(time, variable, 1.0),
            Err(BandError::NoCell { time, variable })
        );
    }
}

#[test]
fn impossible_histograms_are_refused() {
    let range = |low, high| BandVariable {
        low,
        high,
        bins: 100,
    };
    for (low, high) in [
        (1.0, 1.0),
        (2.0, 1.0),
        (f64::NAN, 1.0),
        (0.0, f64::INFINITY),
        (-1e308, 1e308),
        (1e9, 1e9 + 1e-6),
    ] {
        let error = BandAccumulator::new(1, &[PH, range(low, high)]).unwrap_err();
        assert!(matches!(error, BandError::Range { variable: 1, .. }));
    }
    for bins in [0, 1, 4097] {
        let error = BandAccumulator::new(1, &[BandVariable { bins, ..PH }]).unwrap_err();
        assert_eq!(error, BandError::Bins { variable: 0, bins });
    }
    for times in [1_000_000, usize::MAX] {
        let error = BandAccumulator::new(times, &[PH]).unwrap_err();
        assert_eq!(
            error,
            BandError::TooLarge {
                times,
                variables: 1
            }
        );
    }
}

proptest! {
    #[test]
    fn any_values_in_any_order_give_the_same_bands_within_the_resolution(
        values in proptest::collection::vec(prop_oneof![0.0..10.0_f64, -1e3..1e3, -1e9..1e9], 1..80),
        seed: u64, bins in 2_usize..40,
    ) {
        let variable = BandVariable { low: 0.0, high: 10.0, bins };
        let bands = bands_of(variable, &values).unwrap();
        prop_assert!(worst(&bands, &values) <= 1.0 + 1e-9);
        let mut shuffled = values.clone();
        replicate(seed, 0).shuffle(&mut shuffled);
        prop_assert_eq!(bands, bands_of(variable, &shuffled).unwrap());
        let order = [bands.least, bands.p05, bands.p25, bands.p50, bands.p75, bands.p95, bands.greatest];
        prop_assert!(order.is_sorted());
    }
}
