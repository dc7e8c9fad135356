//! Water: saturation line, dew point, latent heat, density.

use crate::slope;
use crate::table::{assert_absolute, assert_relative, rows};
use marshgas::chemistry::ConstantSet::{Published, Recommended};
use marshgas::chemistry::{dew_point, latent_heat_kj_per_kg, saturation_pressure, water_density};
use marshgas::units::{ATM_BAR, R_BAR, ZERO_C, kelvin, molar_mass};

#[test]
fn saturation_pressure_meets_its_standard() {
    // Check values of IAPWS-IF97, tables 35 and 36 (from memory): K, MPa.
    for (t_k, mpa) in [
        (300.0, 0.353_658_941e-2),
        (500.0, 0.263_889_776e1),
        (600.0, 0.123_443_146e2),
    ] {
        assert_relative(
            saturation_pressure(Recommended, t_k).0,
            10.0 * mpa,
            1e-8,
            "p",
        );
    }
    for (mpa, t_k) in [
        (0.1, 0.372_755_919e3),
        (1.0, 0.453_035_632e3),
        (10.0, 0.584_149_488e3),
    ] {
        assert_relative(dew_point(10.0 * mpa).unwrap(), t_k, 1e-8, "T");
    }
}

#[test]
fn saturation_pressure_meets_three_independent_equations() {
    for row in rows("chemistry/water_vapour.csv") {
        let (p, _) = saturation_pressure(Recommended, row.kelvin("T_C"));
        for column in ["p_IF97_Pa", "p_CoolProp_Pa", "p_psychrolib_Pa"] {
            assert_relative(p * 1e5, row.number(column), 2e-4, column);
        }
    }
}

#[test]
fn vapour_content_meets_the_table() {
    for row in rows("chemistry/water_vapour.csv") {
        let t_k = row.kelvin("T_C");
        let (p, _) = saturation_pressure(Recommended, t_k);
        assert_relative(p / ATM_BAR, row.number("x_sat_101325"), 2e-4, "share");
        let grams = 1e3 * p * molar_mass::H2O / (R_BAR * t_k);
        assert_relative(grams, row.number("g_per_m3_wet"), 2e-4, "g/m3");
    }
}

#[test]
fn dew_point_meets_the_table() {
    for row in rows("chemistry/dew_point.csv") {
        let bar = row.number("p_w_kPa") / 100.0;
        let celsius = dew_point(bar).unwrap() - ZERO_C;
        for column in ["T_dew_IF97_C", "T_dew_CoolProp_C"] {
            assert_absolute(celsius, row.number(column), 0.01, column);
        }
    }
}

#[test]
fn dew_point_undoes_saturation() {
    for celsius in 0..=100 {
        let t_k = kelvin(f64::from(celsius));
        let (p, _) = saturation_pressure(Recommended, t_k);
        assert_absolute(dew_point(p).unwrap(), t_k, 1e-8, "round trip");
    }
}

#[test]
fn a_gas_without_vapour_has_no_dew_point() {
    for bar in [0.0, -0.01, f64::NAN, f64::INFINITY, 300.0] {
        assert_eq!(dew_point(bar), None);
    }
}

#[test]
fn latent_heat_meets_the_table() {
    for row in rows("chemistry/water_vapour.csv") {
        let heat = latent_heat_kj_per_kg(row.kelvin("T_C"));
        assert_relative(heat, row.number("h_vap_kJ_kg"), 2e-4, row.text("T_C"));
    }
}

#[test]
fn liquid_density_meets_the_table() {
    // The table holds the saturated liquid; at 1 atm water is denser by its compression, 4.6e-10/Pa.
    for row in rows("chemistry/water_vapour.csv") {
        let compressed = 4.6e-10 * (101_325.0 - row.number("p_IF97_Pa"));
        let expected = row.number("rho_liquid_kg_m3") * (1.0 + compressed);
        let (rho, _) = water_density(row.kelvin("T_C"));
        assert_relative(rho, expected, 2e-5, row.text("T_C"));
    }
    // Water is densest at 3.98 C (from memory).
    assert!(water_density(kelvin(3.9)).1 > 0.0 && water_density(kelvin(4.1)).1 < 0.0);
}

#[test]
fn published_set_reproduces_the_benchmark() {
    for row in rows("chemistry/published_set.csv") {
        let (p, _) = saturation_pressure(Published, row.kelvin("T_C"));
        assert_relative(p, row.number("p_h2o_bar"), 1e-12, row.text("T_C"));
    }
}

#[test]
fn temperature_derivatives_are_exact() {
    for celsius in [1.0, 4.0, 12.5, 25.0, 38.0, 59.0] {
        let t_k = kelvin(celsius);
        for set in [Published, Recommended] {
            slope::assert_exact(|t| saturation_pressure(set, t), t_k, 0.05, "vapour");
        }
        slope::assert_exact(water_density, t_k, 0.5, "density");
    }
}
