//! Shapes of uncertain inputs and the inverse normal distribution.

use marshgas::study::distribution::{Distribution, DistributionError};
use marshgas::study::normal;
use proptest::prelude::*;

/// Standard normal quantiles. The first three are the check values printed with Wichura, Applied Statistics 37 (1988)
/// 477-484 (from memory), the others stand in standard tables to fewer digits; all were recomputed to 20 digits with
/// mpmath 1.3 as the root of `erfc(-x / sqrt 2) / 2 = p`.
const QUANTILES: [(f64, f64); 8] = [
    (0.25, -0.674_489_750_196_081_7),
    (0.001, -3.090_232_306_167_813_5),
    (1e-20, -9.262_340_089_798_408),
    (0.9, 1.281_551_565_544_600_5),
    (0.95, 1.644_853_626_951_472_7),
    (0.975, 1.959_963_984_540_054_2),
    (0.995, 2.575_829_303_548_901),
    (1e-300, -37.047_096_299_361_2),
];

#[test]
fn normal_quantiles_are_the_published_ones() {
    for (p, published) in QUANTILES {
        let error = (normal::quantile(p) - published).abs();
        assert!(error < 2e-15 * published.abs(), "{p}: {error}");
    }
}

/// Standard tables of the normal distribution (e.g. Abramowitz and Stegun, table 26.1).
#[test]
fn normal_shares_are_the_published_ones() {
    for (x, share) in [
        (0.0, 0.5),
        (1.0, 0.841_344_746_068_543),
        (2.0, 0.977_249_868_051_821),
        (3.0, 0.998_650_101_968_370),
        (-1.0, 0.158_655_253_931_457),
    ] {
        assert!((normal::cumulative(x) - share).abs() < 1e-15, "{x}");
    }
}

#[test]
fn the_normal_quantile_is_the_inverse_of_the_share() {
    // In the lower tail, where the share keeps its digits; the upper one is its mirror.
    for step in 0..=3700 {
        let x = -f64::from(step) / 100.0;
        let back = normal::quantile(normal::cumulative(x));
        assert!((back - x).abs() < 1e-13 * x.abs().max(1.0), "{x}: {back}");
    }
    for step in 1..1000 {
        let p = f64::from(step) / 1000.0;
        let sum = normal::quantile(p) + normal::quantile(1.0 - p);
        assert!(sum.abs() < 1e-14, "{p}");
    }
}

/// Mean by the midpoint rule over the shares.
fn mean(distribution: &Distribution) -> f64 {
    let steps = 200_000;
    (0..steps)
        .map(|step| distribution.quantile((f64::from(step) + 0.5) / f64::from(steps)))
        .sum::<f64>()
        / f64::from(steps)
}

#[test]
fn uniform_and_triangular_are_the_inverse_of_their_curves() {
    let uniform = Distribution::Uniform {
        low: 10.0,
        high: 30.0,
    };
    assert_eq!(uniform.quantile(0.25), 15.0);
    for (low, mode, high) in [(2.0, 3.0, 7.0), (0.0, 0.0, 1.0), (-5.0, 4.0, 4.0)] {
        let triangular = Distribution::Triangular { low, mode, high };
        for step in 0..=200 {
            let u = f64::from(step) / 200.0;
            let x = triangular.quantile(u);
            // Area of the triangle to the left of x.
            let share = if x <= mode && mode > low {
                (x - low).powi(2) / ((high - low) * (mode - low))
            } else {
                1.0 - (high - x).powi(2) / ((high - low) * (high - mode))
            };
            assert!((share - u).abs() < 1e-14, "{triangular:?} at {u}: {share}");
        }
        let centre = (low + mode + high) / 3.0;
        assert!((mean(&triangular) - centre).abs() < 1e-6);
    }
}

#[test]
fn a_cut_bell_has_its_known_mean_and_shares() {
    let (middle, sd) = (35.0, 4.0);
    for (low, high) in [
        (30.0, 38.0),
        (35.0, 60.0),
        (43.0, 60.0),
        (10.0, 27.0),
        (-500.0, 600.0),
    ] {
        let cut = Distribution::Normal {
            mean: middle,
            sd,
            low,
            high,
        };
        cut.validate().unwrap();
        let (a, b) = ((low - middle) / sd, (high - middle) / sd);
        let share = |z: f64| normal::cumulative(z);
        let density = |z: f64| (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
        // Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions, vol. 1, section 13.10.1.
        let known = middle + sd * (density(a) - density(b)) / (share(b) - share(a));
        assert!((mean(&cut) - known).abs() < 2e-4, "{low} {high}");
        for step in 1..100 {
            let u = f64::from(step) / 100.0;
            let z = (cut.quantile(u) - middle) / sd;
            let back = (share(z) - share(a)) / (share(b) - share(a));
            assert!((back - u).abs() < 1e-12, "{low} {high} {u}: {back}");
        }
    }
}

#[test]
fn a_log_normal_input_is_given_by_its_median_and_factor() {
    let free = Distribution::LogNormal {
        median: 0.4,
        factor: 2.5,
        low: None,
        high: None,
    };
    free.validate().unwrap();
    for (u, value) in [(0.05, 0.4 / 2.5), (0.5, 0.4), (0.95, 0.4 * 2.5)] {
        assert!((free.quantile(u) - value).abs() < 1e-14, "{u}");
    }
    // Mean of the log-normal distribution: median times exp(s^2 / 2) (any textbook).
    let s = 2.5_f64.ln() / 1.644_853_626_951_472_7;
    assert!((mean(&free) / (0.4 * (s * s / 2.0).exp()) - 1.0).abs() < 1e-5);
    let cut = Distribution::LogNormal {
        median: 0.4,
        factor: 2.5,
        low: Some(0.2),
        high: Some(0.8),
    };
    cut.validate().unwrap();
    assert_eq!((cut.quantile(0.0), cut.quantile(1.0)), (0.2, 0.8));
    // Bounds at the same ratio above and below leave the median where it is.
    assert!((cut.quantile(0.5) - 0.4).abs() < 1e-14);
}

#[test]
fn the_greatest_draw_is_finite() {
    let greatest = 1.0 - f64::EPSILON / 2.0;
    for low in [None, Some(0.4), Some(2.0)] {
        let shape = Distribution::LogNormal {
            median: 0.4,
            factor: 2.5,
            low,
            high: None,
        };
        shape.validate().unwrap();
        let value = shape.quantile(greatest);
        assert!(value > 10.0 && value.is_finite(), "{low:?}: {value}");
    }
}

#[test]
fn shares_out_of_range_give_no_number() {
    let uniform = Distribution::Uniform {
        low: 0.0,
        high: 1.0,
    };
    for u in [-1e-9, 1.0 + 1e-9, f64::NAN, f64::INFINITY] {
        assert!(uniform.quantile(u).is_nan());
    }
    assert_eq!(Distribution::Fixed { value: 2.0 }.quantile(f64::NAN), 2.0);
}

#[test]
fn wrong_shapes_are_refused_by_name() {
    use DistributionError as E;
    let normal = |mean, sd, low, high| Distribution::Normal {
        mean,
        sd,
        low,
        high,
    };
    let log = |median, factor, low, high| Distribution::LogNormal {
        median,
        factor,
        low,
        high,
    };
    let uniform = |low, high| Distribution::Uniform { low, high };
    let triangular = |low, mode, high| Distribution::Triangular { low, mode, high };
    type Check = fn(&DistributionError) -> bool;
    let wrong: [(Distribution, Check); 15] = [
        (Distribution::Fixed { value: f64::NAN }, |e| {
            matches!(e, E::NotFinite { name: "value", .. })
        }),
        (uniform(1.0, 1.0), |e| matches!(e, E::Bounds { .. })),
        (uniform(f64::NAN, 1.0), |e| {
            matches!(e, E::NotFinite { name: "low", .. })
        }),
        (uniform(0.0, f64::INFINITY), |e| {
            matches!(e, E::NotFinite { name: "high", .. })
        }),
        (uniform(-1e308, 1e308), |e| matches!(e, E::TooWide { .. })),
        (triangular(0.0, 2.0, 1.0), |e| matches!(e, E::Mode { .. })),
        (triangular(0.0, f64::NAN, 1.0), |e| {
            matches!(e, E::NotFinite { name: "mode", .. })
        }),
        (normal(0.0, 0.0, -1.0, 1.0), |e| {
            matches!(e, E::NotAbove { name: "sd", .. })
        }),
        (normal(f64::NAN, 1.0, -1.0, 1.0), |e| {
            matches!(e, E::NotFinite { name: "mean", .. })
        }),
        (normal(0.0, 1.0, 5.0, 9.0), |e| {
            matches!(e, E::NothingLeft { .. })
        }),
        (normal(0.0, 1.0, -90.0, -80.0), |e| {
            matches!(e, E::NothingLeft { .. })
        }),
        (log(0.0, 2.0, None, None), |e| {
            matches!(e, E::NotAbove { name: "median", .. })
        }),
        (log(1.0, 1.0, None, None), |e| {
            matches!(e, E::NotAbove { name: "factor", .. })
        }),
        (log(1.0, 2.0, Some(-1.0), None), |e| {
            matches!(e, E::NegativeBound { .. })
        }),
        (log(1.0, 2.0, Some(3.0), Some(2.0)), |e| {
            matches!(e, E::Bounds { .. })
        }),
    ];
    for (distribution, expected) in wrong {
        let error = distribution.validate().unwrap_err();
        assert!(expected(&error), "{distribution:?}: {error}");
    }
}

#[test]
fn json_keeps_the_shape_and_refuses_unknown_keys() {
    let shapes = [
        Distribution::Fixed { value: 1.5 },
        Distribution::Uniform {
            low: 1.0,
            high: 2.0,
        },
        Distribution::Triangular {
            low: 1.0,
            mode: 1.2,
            high: 2.0,
        },
        Distribution::Normal {
            mean: 1.0,
            sd: 0.1,
            low: 0.5,
            high: 2.0,
        },
        Distribution::LogNormal {
            median: 1.0,
            factor: 2.0,
            low: None,
            high: Some(9.0),
        },
    ];
    for shape in shapes {
        let text = serde_json::to_string(&shape).unwrap();
        assert_eq!(
            serde_json::from_str::<Distribution>(&text).unwrap(),
            shape,
            "{text}"
        );
    }
    let read = |text| serde_json::from_str::<Distribution>(text);
    assert_eq!(
        read(r#"{"log_normal": {"median": 1, "factor": 2}}"#).unwrap(),
        Distribution::LogNormal {
            median: 1.0,
            factor: 2.0,
            low: None,
            high: None
        }
    );
    assert!(read(r#"{"uniform": {"low": 1, "high": 2, "hgih": 3}}"#).is_err());
    assert!(read(r#"{"uniform": {"low": 1}}"#).is_err());
}

fn any_shape() -> impl Strategy<Value = Distribution> {
    let number = || -1e6..1e6_f64;
    prop_oneof![
        (number(), number()).prop_map(|(low, high)| Distribution::Uniform { low, high }),
        (number(), number(), number()).prop_map(|(low, mode, high)| Distribution::Triangular {
            low,
            mode,
            high
        }),
        (-10.0..10.0, 0.01..10.0, -20.0..20.0, -20.0..20.0).prop_map(|(mean, sd, low, high)| {
            Distribution::Normal {
                mean,
                sd,
                low,
                high,
            }
        }),
        (
            1e-6..1e6,
            1.001..100.0,
            proptest::option::of(0.0..10.0),
            proptest::option::of(0.0..1e7)
        )
            .prop_map(|(median, factor, low, high)| Distribution::LogNormal {
                median,
                factor,
                low,
                high
            }),
    ]
    .prop_filter("a shape that passes", |shape| shape.validate().is_ok())
}

proptest! {
    #[test]
    fn quantiles_grow_and_stay_in_the_support(shape in any_shape(), a in 0.0..1.0, b in 0.0..1.0) {
        let (low, high) = shape.support();
        let (first, second) = (shape.quantile(f64::min(a, b)), shape.quantile(f64::max(a, b)));
        prop_assert!(low <= first && second <= high);
        // One part in 1e12 for rounding where two shares are nearly the same.
        prop_assert!(first <= second + 1e-12 * second.abs().max(1e-6));
        prop_assert_eq!((shape.quantile(0.0), shape.quantile(1.0)), (low, high));
    }
}
