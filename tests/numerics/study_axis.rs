//! Ranges from text: values, ends, and what is refused.

use marshgas::study::axis::{Axis, AxisError, MAX_POINTS, grid_points};
use proptest::prelude::*;

fn values(text: &str) -> Vec<f64> {
    text.parse::<Axis>()
        .and_then(|axis| axis.values())
        .unwrap_or_else(|error| panic!("{text}: {error}"))
}

#[test]
fn ranges_are_read_and_their_values_are_the_plain_ones() {
    assert_eq!(values("2..8 in 7"), [2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0]);
    assert_eq!(values(" -1 .. 1  in 5 "), [-1.0, -0.5, 0.0, 0.5, 1.0]);
    assert_eq!(values("0.1..0.5 in 5"), [0.1, 0.2, 0.3, 0.4, 0.5]);
    assert_eq!(values("1..100 in 3 geometric"), [1.0, 10.0, 100.0]);
    assert_eq!(
        values("1e-3..1e3 in 7 geometric"),
        [1e-3, 1e-2, 1e-1, 1.0, 1e1, 1e2, 1e3]
    );
    assert_eq!(
        values("-0.3..0.3 in 7"),
        [-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3]
    );
    // The plain sum gives -1.1e-16 in the middle.
    let middle = values("-0.7..0.7 in 7")[3];
    assert!(middle == 0.0 && middle.is_sign_positive());
    assert_eq!(values("0..3e15 in 3"), [0.0, 1.5e15, 3e15]);
    assert_eq!(values("1e-300..3e-300 in 3"), [1e-300, 2e-300, 3e-300]);
    assert_eq!(
        values("1e-150..1e150 in 4 geometric"),
        [1e-150, 1e-50, 1e50, 1e150]
    );
    assert_eq!(values("10,20, 30"), [10.0, 20.0, 30.0]);
    assert_eq!(values("2.5"), [2.5]);
    assert_eq!(values("1..2 in 20000").len(), MAX_POINTS);
}

#[test]
fn ends_are_exact() {
    for text in [
        "0.1..0.7 in 13",
        "0.1..0.7 in 13 geometric",
        "-0.3..1e9 in 777",
    ] {
        let values = values(text);
        let (from, rest) = text.split_once("..").unwrap();
        let to = rest.split(' ').next().unwrap();
        assert_eq!(values[0], from.parse::<f64>().unwrap());
        assert_eq!(values[values.len() - 1], to.parse::<f64>().unwrap());
    }
}

#[test]
fn what_is_wrong_is_named() {
    use AxisError as E;
    let text = str::to_owned;
    for (given, expected) in [
        ("", E::Empty),
        ("   ", E::Empty),
        ("..8 in 7", E::Gap(text("..8 in 7"))),
        ("2..", E::Gap(text("2.."))),
        ("10,,20", E::Gap(text("10,,20"))),
        ("10,20,", E::Gap(text("10,20,"))),
        ("warm", E::NotANumber(text("warm"))),
        ("10;20", E::NotANumber(text("10;20"))),
        ("2..x in 7", E::NotANumber(text("x"))),
        ("2..8in 7", E::NotANumber(text("8in"))),
        ("1..2..3 in 4", E::NotANumber(text("2..3"))),
        ("NaN", E::NotFinite(text("NaN"))),
        ("1,inf", E::NotFinite(text("inf"))),
        ("nan..8 in 7", E::NotFinite(text("nan"))),
        ("2..1e999 in 7", E::NotFinite(text("1e999"))),
        ("2,5..8 in 7", E::Comma(text("2,5..8 in 7"))),
        ("2..8", E::NoCount(text("2..8"))),
        ("2..8 in", E::NoCount(text("2..8"))),
        ("2..8 7", E::NoCount(text("2..8"))),
        ("2..8 geometric", E::NoCount(text("2..8"))),
        ("2..8 in seven", E::BadCount(text("seven"))),
        ("2..8 in 7.5", E::BadCount(text("7.5"))),
        ("2..8 in -7", E::BadCount(text("-7"))),
        ("2..8 in 0", E::ZeroCount),
        ("2..8 in 1", E::OneValue),
        ("2..8 in 20001", E::TooMany(text("20001"))),
        ("2..8 in 1000000", E::TooMany(text("1000000"))),
        (
            "2..8 in 99999999999999999999999",
            E::TooMany(text("99999999999999999999999")),
        ),
        ("2..8 in 7 logs", E::Word(text("logs"))),
        ("2..8 in 7 geometric now", E::Word(text("now"))),
        ("8..2 in 7", E::Reversed { from: 8.0, to: 2.0 }),
        ("2..2 in 7", E::NoWidth(2.0)),
        ("0..8 in 7 geometric", E::GeometricStart(0.0)),
        ("-1..8 in 7 geometric", E::GeometricStart(-1.0)),
        (
            "-1e308..1e308 in 3",
            E::TooWide {
                from: -1e308,
                to: 1e308,
            },
        ),
        (
            "1e-300..1e300 in 3 geometric",
            E::TooWide {
                from: 1e-300,
                to: 1e300,
            },
        ),
        (
            "1..1.000000000000001 in 100",
            E::TooFine {
                from: 1.0,
                to: 1.000_000_000_000_001,
                count: 100,
            },
        ),
        (
            "10,30,20",
            E::NotGrowing {
                before: 30.0,
                next: 20.0,
            },
        ),
        (
            "10,10",
            E::NotGrowing {
                before: 10.0,
                next: 10.0,
            },
        ),
    ] {
        assert_eq!(given.parse::<Axis>(), Err(expected), "{given}");
    }
}

#[test]
fn messages_say_what_to_write_instead() {
    for (given, message) in [
        ("8..2 in 7", "the range runs backwards; write `2..8`"),
        (
            "2..8",
            "the range does not say how many values; write `2..8 in 7`",
        ),
        (
            "2..8 in 1000000",
            "1000000 points are too many; a sweep takes up to 20000, so ask for fewer values",
        ),
        (
            "0..8 in 7 geometric",
            "equal ratios cannot begin at 0; begin above 0, or leave out `geometric`",
        ),
    ] {
        assert_eq!(given.parse::<Axis>().unwrap_err().to_string(), message);
    }
}

#[test]
fn axes_built_without_text_are_checked_too() {
    let nan = Axis::Linear {
        from: f64::NAN,
        to: 1.0,
        count: 3,
    };
    assert_eq!(nan.values(), Err(AxisError::NotFinite("NaN".to_owned())));
    let infinite = Axis::List(vec![1.0, f64::INFINITY]);
    assert_eq!(
        infinite.values(),
        Err(AxisError::NotFinite("inf".to_owned()))
    );
    assert_eq!(Axis::List(Vec::new()).values(), Err(AxisError::Empty));
    let long = Axis::List((0..=MAX_POINTS).map(|i| i as f64).collect());
    assert_eq!(long.values(), Err(AxisError::TooMany("20001".to_owned())));
}

#[test]
fn several_axes_share_one_limit() {
    let axis = |text: &str| text.parse::<Axis>().unwrap();
    assert_eq!(grid_points(&[axis("1..2 in 100"), axis("5,6,7")]), Ok(300));
    assert_eq!(
        grid_points(&[axis("1..2 in 1000"), axis("1..2 in 1000")]),
        Err(AxisError::TooMany("1000000".to_owned()))
    );
    assert_eq!(grid_points(&[]), Err(AxisError::Empty));
}

proptest! {
    #[test]
    fn any_text_gives_an_axis_or_an_error(text in "[ 0-9.,eE+inagomtrc-]{0,24}") {
        if let Ok(axis) = text.parse::<Axis>() {
            let values = axis.values().unwrap();
            prop_assert!(!values.is_empty());
            prop_assert!(values.is_sorted_by(|a, b| a < b));
        }
    }

    #[test]
    fn a_range_reads_back_from_its_own_text(
        from in -1e6..1e6_f64, width in 1e-3..1e6_f64, count in 2_usize..200, geometric: bool,
    ) {
        let axis = if geometric {
            let from = from.abs() + 1e-3;
            Axis::Geometric { from, to: from + width, count }
        } else {
            Axis::Linear { from, to: from + width, count }
        };
        let values = axis.values().unwrap();
        prop_assert_eq!(values.len(), count);
        prop_assert!(values.is_sorted_by(|a, b| a < b));
        prop_assert_eq!(axis.to_string().parse::<Axis>(), Ok(axis.clone()));
        let list = Axis::List(values);
        prop_assert_eq!(list.to_string().parse::<Axis>(), Ok(list));
    }

    #[test]
    fn steps_and_ratios_are_equal(from in 0.1..10.0_f64, factor in 1.5..100.0_f64, count in 3_usize..50) {
        let to = from * factor;
        let linear = Axis::Linear { from, to, count }.values().unwrap();
        let step = (to - from) / (count - 1) as f64;
        for pair in linear.windows(2) {
            // Each value is rounded by at most half of 1e-13 of the larger end.
            prop_assert!((pair[1] - pair[0] - step).abs() < 1.01e-13 * to);
        }
        let geometric = Axis::Geometric { from, to, count }.values().unwrap();
        let ratio = factor.powf(1.0 / (count - 1) as f64);
        for pair in geometric.windows(2) {
            // Each value is rounded by at most half of 1e-11 of itself.
            prop_assert!((pair[1] / pair[0] - ratio).abs() < 1.01e-11 * ratio);
        }
    }
}
