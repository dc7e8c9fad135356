//! How biology answers to temperature.

use crate::slope;
use crate::table::{assert_absolute, rows};
use marshgas::chemistry::{Cardinal, arrhenius};
use marshgas::units::kelvin;

/// Examples of the table, as temperatures in C.
const EXAMPLES: [(f64, f64, f64); 3] = [(0.0, 35.0, 46.0), (5.0, 37.0, 47.0), (10.0, 40.0, 50.0)];

#[test]
fn cardinal_model_meets_the_table() {
    for row in rows("chemistry/cardinal_examples.csv") {
        let [min, opt, max] = ["Tmin_C", "Topt_C", "Tmax_C"].map(|column| row.number(column));
        let group = Cardinal::from_celsius(min, opt, max).unwrap();
        let (rate, _) = group.response(row.kelvin("T_C"));
        assert_absolute(
            rate,
            row.number("relative_rate"),
            5e-4 + 1e-12,
            row.text("T_C"),
        );
    }
}

#[test]
fn cardinal_model_has_its_published_shape() {
    for (min, opt, max) in EXAMPLES {
        let group = Cardinal::from_celsius(min, opt, max).unwrap();
        let at = |celsius: f64| group.response(kelvin(celsius));
        // One at the optimum with a level slope; nothing at and beyond the ends.
        assert_absolute(at(opt).0, 1.0, 1e-12, "optimum");
        assert_absolute(at(opt).1, 0.0, 1e-12, "slope at the optimum");
        for outside in [min - 10.0, min, max, max + 10.0] {
            assert_eq!(at(outside), (0.0, 0.0));
        }
        // Leaves zero without a kink, rises to the optimum, falls after it, bends once on the way up.
        assert!(at(min + 1e-6).1.abs() < 1e-6);
        let slopes: Vec<f64> = (1..100)
            .map(|i| at(min + (max - min) * f64::from(i) / 100.0).1)
            .collect();
        let rising = slopes.iter().take_while(|&&s| s > 0.0).count();
        assert_absolute(
            f64::from(u32::try_from(rising).unwrap()) / 100.0,
            (opt - min) / (max - min),
            0.011,
            "optimum",
        );
        assert!(slopes[rising + 1..].iter().all(|&s| s < 0.0));
        let steepest = (0..rising)
            .max_by(|&i, &j| slopes[i].total_cmp(&slopes[j]))
            .unwrap();
        assert!(steepest > 5 && steepest < rising - 5);
    }
}

#[test]
fn cardinal_temperatures_are_checked() {
    for (min, opt, max) in [
        (35.0, 20.0, 46.0),
        (3.0, 46.0, 46.0),
        (3.0, 20.0, 46.0),
        (f64::NAN, 35.0, 46.0),
        (3.0, f64::NAN, 46.0),
        (f64::NEG_INFINITY, 35.0, 46.0),
    ] {
        assert_eq!(Cardinal::from_celsius(min, opt, max), None);
    }
}

#[test]
fn arrhenius_meets_the_table() {
    // Three decimals, computed with R = 8.314 J/mol/K: the difference to R here is up to 3e-5.
    for row in rows("chemistry/arrhenius_relative.csv") {
        let energy = 1e3 * row.number("Ea_kJ_mol");
        let (rate, _) = arrhenius(energy, kelvin(35.0), row.kelvin("T_C"));
        assert_absolute(rate, row.number("relative_rate"), 5.3e-4, row.text("T_C"));
        let (ten_kelvin, _) = arrhenius(energy, kelvin(25.0), kelvin(35.0));
        assert_absolute(
            ten_kelvin,
            row.number("Q10_25_35"),
            5e-3,
            row.text("Ea_kJ_mol"),
        );
    }
}

#[test]
fn temperature_derivatives_are_exact() {
    for celsius in [11.0, 20.0, 34.0, 44.0] {
        let t_k = kelvin(celsius);
        slope::assert_exact(
            |t| arrhenius(64_000.0, kelvin(35.0), t),
            t_k,
            0.05,
            "Arrhenius",
        );
        for (min, opt, max) in EXAMPLES {
            let group = Cardinal::from_celsius(min, opt, max).unwrap();
            slope::assert_exact(|t| group.response(t), t_k, 0.02, "cardinal");
        }
    }
}
