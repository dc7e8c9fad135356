//! Leak test: arithmetic by hand, readings that only look like a leak, the building check.

use crate::table::{assert_absolute, assert_relative};
use marshgas::plant::GasState;
use marshgas::plant::leak::{
    BellTest, CheckVerdict, ReadingErrors, RigidTest, Verdict, bell, building_check, rigid,
};
use marshgas::plant::store::{bell_change_per_k, rigid_change_pa_per_k};

fn state(temperature_c: f64, gauge_pa: f64, barometer_kpa: f64) -> GasState {
    GasState {
        temperature_c,
        gauge_pa,
        barometer_kpa,
    }
}

fn closed(first: GasState, second: GasState, humidity: f64) -> RigidTest {
    RigidTest {
        volume_l: 1000.0,
        states: [first, second],
        hours: 24.0,
        humidity,
    }
}

#[test]
fn a_rigid_space_by_hand() {
    // Source: V [p1 T0/T1 - p2 T0/T2] / (p0 d), absolute pressures less the vapour's; Buck 1996 for the vapour.
    // 1000 L, 24 h: (101325 + 4000 - 2338) 273.15/293.15 and (100900 + 3500 - 2197) 273.15/292.15 over 101325 Pa.
    let test = closed(
        state(20.0, 4000.0, 101.325),
        state(19.0, 3500.0, 100.9),
        1.0,
    );
    let by_hand = 1000.0 / 101_325.0
        * ((101_325.0 + 4000.0 - 2338.0) * 273.15 / 293.15
            - (100_900.0 + 3500.0 - 2197.0) * 273.15 / 292.15);
    let leak = rigid(&test, &ReadingErrors::default()).unwrap();
    // Two formulations of the vapour pressure: 1 Pa of 101325 in 1000 L.
    assert_absolute(leak.lost_nl_d, by_hand, 0.02, "NL/d");
    // Half the time is twice the rate.
    let quick = rigid(
        &RigidTest {
            hours: 12.0,
            ..test
        },
        &ReadingErrors::default(),
    )
    .unwrap();
    assert_relative(quick.lost_nl_d, 2.0 * leak.lost_nl_d, 1e-12, "rate");
}

#[test]
fn cooling_and_barometer_are_no_leak() {
    // Source: 346 Pa/K dry in a closed space at 20 C; 1 hPa of the barometer is 100 Pa of the gauge.
    let warm = state(20.0, 3000.0, 101.325);
    let cooled = {
        let (dry, _) = rigid_change_pa_per_k(&warm, false);
        state(19.0, 3000.0 - dry, 101.325)
    };
    let leak = rigid(&closed(warm, cooled, 0.0), &ReadingErrors::default()).unwrap();
    assert_absolute(leak.lost_nl_d, 0.0, 1e-9, "cooled");
    assert!(leak.uncorrected_nl_d > 3.0, "it looks like one");
    assert_eq!(leak.verdict(), Verdict::NotSeen);
    let lower = state(20.0, 3100.0, 101.225);
    let leak = rigid(&closed(warm, lower, 1.0), &ReadingErrors::default()).unwrap();
    assert_absolute(leak.lost_nl_d, 0.0, 1e-9, "barometer");
}

#[test]
fn a_bell_by_hand_and_through_a_cool_night() {
    // 57 cm, 3 cm lower: 7.655 L wet at 20 C, 784.5 Pa over 101325: (101325 + 784.5 - 2338)/101325 x 273.15/293.15.
    let at = |t| state(t, 784.5, 101.325);
    let test = |heights_cm, t| BellTest {
        diameter_cm: 57.0,
        heights_cm,
        dead_l: 20.0,
        states: [at(20.0), at(t)],
        hours: 24.0,
        humidity: 1.0,
    };
    let errors = ReadingErrors::default();
    let leak = bell(&test([40.0, 37.0], 20.0), &errors).unwrap();
    let by_hand = 7.6553 * (101_325.0 + 784.5 - 2338.0) / 101_325.0 * 273.15 / 293.15;
    assert_relative(leak.lost_nl_d, by_hand, 1e-4, "NL/d");
    assert_eq!(leak.verdict(), Verdict::Leaks);
    // One kelvin: the whole volume, dead gas included, shrinks by 0.34 and 0.15 %.
    let (expansion, vapour) = bell_change_per_k(&at(20.0));
    let area = std::f64::consts::PI * 5.7 * 5.7 / 4.0 / 10.0;
    let whole = 40.0 * area + 20.0;
    let fallen = 40.0 - whole * (expansion + vapour) / area;
    let leak = bell(&test([40.0, fallen], 19.0), &errors).unwrap();
    assert!(
        leak.lost_nl_d.abs() < 0.03 * leak.uncorrected_nl_d,
        "{leak:?}"
    );
    assert_eq!(leak.verdict(), Verdict::NotSeen);
    // A rise is no leak with the sign turned.
    assert_eq!(
        bell(&test([40.0, 45.0], 20.0), &errors).unwrap().verdict(),
        Verdict::Gains
    );
}

#[test]
fn the_error_of_reading_follows_what_is_read() {
    let test = closed(
        state(20.0, 3000.0, 101.325),
        state(20.0, 2900.0, 101.325),
        1.0,
    );
    let none = ReadingErrors {
        temperature_k: 0.0,
        barometer_hpa: 0.0,
        gauge_pa: 0.0,
        height_cm: 0.0,
    };
    assert_eq!(rigid(&test, &none).unwrap().error_nl_d, 0.0);
    // 0.5 K at both ends: 346 and 145 Pa/K x 0.5 in 1000 L, twice in quadrature; by hand from the contents.
    let only_t = ReadingErrors {
        temperature_k: 0.5,
        ..none
    };
    let by_hand = 1000.0 * (0.5 * (346.0 + 145.0)) / 101_325.0 * 273.15 / 293.15 * 2.0_f64.sqrt();
    assert_relative(
        rigid(&test, &only_t).unwrap().error_nl_d,
        by_hand,
        0.05,
        "error",
    );
    // So 100 Pa of loss in a day are not seen by an ordinary thermometer.
    assert_eq!(
        rigid(&test, &ReadingErrors::default()).unwrap().verdict(),
        Verdict::NotSeen
    );
}

#[test]
fn the_household_building_check() {
    // Source: acceptance rule for household digesters: 8 kPa, 24 h, a fall of at most 0.24 kPa = 3 % (citation not kept).
    let at = |t, pa| state(t, pa, 101.325);
    // Readings without any error.
    let exact = ReadingErrors {
        temperature_k: 0.0,
        barometer_hpa: 0.0,
        gauge_pa: 0.0,
        height_cm: 0.0,
    };
    let check = |test: &RigidTest, errors| building_check(test, &errors).unwrap();
    let just = check(&closed(at(20.0, 8000.0), at(20.0, 7760.0), 1.0), exact);
    assert_absolute(just.fall_kpa, 0.24, 1e-12, "fall");
    assert!(just.verdict == CheckVerdict::Passes && just.complete);
    let over = check(&closed(at(20.0, 8000.0), at(20.0, 7750.0), 1.0), exact);
    assert!(over.verdict == CheckVerdict::Fails && over.complete);
    let weak = check(&closed(at(20.0, 4000.0), at(20.0, 3950.0), 1.0), exact);
    assert!(weak.verdict == CheckVerdict::Passes && !weak.complete);
    let short = RigidTest {
        hours: 6.0,
        ..closed(at(20.0, 8000.0), at(20.0, 7900.0), 1.0)
    };
    assert!(!check(&short, exact).complete);
    // One kelvin of cooling alone would fail it; it is taken out.
    let cooled = check(&closed(at(20.0, 8000.0), at(19.0, 7500.0), 1.0), exact);
    assert!(cooled.fall_kpa < 0.24, "{cooled:?}");
}

#[test]
fn the_building_check_carries_the_errors_of_its_readings() {
    let at = |t, pa| state(t, pa, 101.325);
    let check = |first, second, errors: ReadingErrors| {
        building_check(&closed(first, second, 1.0), &errors).unwrap()
    };
    // 0.5 K twice, by hand: 1.06990 bar dry of 1.10964 at 20 C goes by 1/293.15 a kelvin, the vapour adds 1.44 hPa/K.
    let usual = check(at(20.0, 8000.0), at(20.0, 8000.0), ReadingErrors::default());
    let one = 0.5 * (106_987.0 / 293.15 + 144.0);
    let by_hand = (2.0_f64 * (one * one + 50.0 * 50.0 + 10.0 * 10.0)).sqrt() / 1000.0;
    assert_relative(usual.fall_error_kpa, by_hand, 0.02, "kPa");
    // Nothing fell, and yet half a kelvin would hide twice what is allowed.
    assert_eq!(usual.verdict, CheckVerdict::CannotBeTold);
    let lost = check(at(20.0, 8000.0), at(20.0, 6000.0), ReadingErrors::default());
    assert_eq!(lost.verdict, CheckVerdict::Fails);
    let fine = ReadingErrors {
        temperature_k: 0.1,
        ..ReadingErrors::default()
    };
    let tight = check(at(20.0, 8000.0), at(20.0, 7990.0), fine);
    assert_eq!(tight.verdict, CheckVerdict::Passes, "{tight:?}");
    // A gain beyond the errors is no pass.
    let gained = check(at(20.0, 8000.0), at(20.0, 8800.0), fine);
    assert_eq!(gained.verdict, CheckVerdict::CannotBeTold, "{gained:?}");
}

#[test]
fn bad_readings_are_told() {
    let good = closed(
        state(20.0, 4000.0, 101.325),
        state(19.0, 3500.0, 100.9),
        1.0,
    );
    let errors = ReadingErrors::default();
    for (test, words) in [
        (
            RigidTest {
                volume_l: -1.0,
                ..good
            },
            "volume is -1",
        ),
        (RigidTest { hours: 0.0, ..good }, "hours is 0"),
        (
            RigidTest {
                humidity: f64::NAN,
                ..good
            },
            "humidity is NaN",
        ),
        (
            RigidTest {
                states: [state(20.0, 20_000.0, 101.325); 2],
                ..good
            },
            "pressure vessel",
        ),
        (
            RigidTest {
                states: [state(200.0, 200.0, 101.325); 2],
                ..good
            },
            "temperature_c is 200",
        ),
        (
            RigidTest {
                states: [state(20.0, 200.0, 1013.25); 2],
                ..good
            },
            "barometer_kpa is 1013.25",
        ),
    ] {
        let told = rigid(&test, &errors).unwrap_err().to_string();
        assert!(told.contains(words), "{told}");
    }
}
