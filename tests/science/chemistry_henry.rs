//! Solubility of gases.

use crate::slope;
use crate::table::{assert_relative, rows};
use marshgas::chemistry::ConstantSet::{Published, Recommended};
use marshgas::chemistry::{Gas, henry};
use marshgas::units::{COD_H2, R_BAR, kelvin};

/// Gas by its name in the table, its recommended reference row, and its tolerance.
fn gas(name: &str) -> (Gas, &'static str, f64) {
    const GUIDELINE: &str = "IAPWS G7-04 (iapws)";
    match name {
        "H2" => (Gas::Hydrogen, GUIDELINE, 0.03),
        "CH4" => (Gas::Methane, GUIDELINE, 0.03),
        "CO2" => (
            Gas::CarbonDioxide,
            "PyCO2SYS fresh water (Weiss 1974)",
            0.03,
        ),
        "H2S" => (Gas::HydrogenSulphide, GUIDELINE, 0.05),
        "NH3" => (Gas::Ammonia, "phreeqc.dat", 0.05),
        "N2" => (Gas::Nitrogen, GUIDELINE, 0.03),
        "O2" => (Gas::Oxygen, GUIDELINE, 0.03),
        other => panic!("unknown gas {other}"),
    }
}

#[test]
fn recommended_set_meets_the_recommended_reference() {
    let mut checked = 0;
    for row in rows("chemistry/henry.csv") {
        let (gas, reference, tolerance) = gas(row.text("gas"));
        if row.text("source") == reference {
            let (k, _) = henry(Recommended, gas, row.kelvin("T_C"));
            let what = format!("{gas:?} {}", row.text("T_C"));
            assert_relative(k, row.number("kH_c"), tolerance, &what);
            checked += 1;
        }
    }
    assert_eq!(checked, 7 * 8);
}

#[test]
fn recommended_set_is_the_formula_it_names() {
    // IAPWS rows rest on another equation for the vapour pressure of water (1.0e-4 away at 45 C) and
    // on 18.015268 kg/kmol for its molar mass (1.5e-5 away); all rows on another density of water
    // (up to 1.0e-5 away).
    let mut checked = 0;
    for row in rows("chemistry/henry.csv") {
        let (gas, ..) = gas(row.text("gas"));
        let molal = matches!(gas, Gas::CarbonDioxide | Gas::Ammonia);
        let tolerance = match row.text("source") {
            "phreeqc.dat" if molal => 1.5e-5,
            "IAPWS G7-04 (iapws)" if !molal => 1.2e-4,
            _ => continue,
        };
        let (k, _) = henry(Recommended, gas, row.kelvin("T_C"));
        assert_relative(k, row.number("kH_c"), tolerance, row.text("gas"));
        let ratio = k * R_BAR * row.kelvin("T_C");
        assert_relative(ratio, row.number("Hcc"), tolerance, "liquid over gas");
        checked += 1;
    }
    assert_eq!(checked, 7 * 8);
}

#[test]
fn recommended_set_agrees_with_a_compilation_at_25_c() {
    let mut checked = 0;
    for row in rows("chemistry/henry.csv") {
        let (gas, _, tolerance) = gas(row.text("gas"));
        if row.number("T_C") == 25.0 && row.text("source").starts_with("Sander") {
            let (k, _) = henry(Recommended, gas, kelvin(25.0));
            assert_relative(k, row.number("kH_c"), tolerance, row.text("gas"));
            checked += 1;
        }
    }
    assert_eq!(checked, 7);
}

#[test]
fn second_opinions_agree_from_10_to_45_c() {
    let opinions = [
        ("O2", "gsw O2sol (Garcia and Gordon), fresh water"),
        ("O2", "phreeqc.dat"),
        ("N2", "phreeqc.dat"),
        ("H2", "phreeqc.dat"),
        ("CO2", "IAPWS G7-04 (iapws)"),
    ];
    let mut checked = 0;
    for row in rows("chemistry/henry.csv") {
        if opinions.contains(&(row.text("gas"), row.text("source"))) {
            let (gas, _, tolerance) = gas(row.text("gas"));
            let (k, _) = henry(Recommended, gas, row.kelvin("T_C"));
            assert_relative(k, row.number("kH_c"), tolerance, row.text("source"));
            checked += 1;
        }
    }
    assert_eq!(checked, opinions.len() * 8);
}

#[test]
fn published_set_reproduces_the_benchmark() {
    for row in rows("chemistry/published_set.csv") {
        let at = |gas| henry(Published, gas, row.kelvin("T_C")).0;
        let what = row.text("T_C");
        assert_relative(at(Gas::CarbonDioxide), row.number("K_H_co2"), 1e-12, what);
        assert_relative(at(Gas::Methane), row.number("K_H_ch4"), 1e-12, what);
        assert_relative(at(Gas::Hydrogen), row.number("K_H_h2"), 1e-12, what);
    }
}

#[test]
fn published_hydrogen_constant_gives_the_known_pressures_of_inhibition() {
    // kg COD/m3 of hydrogen and its pressure over the liquor at 35 C: Batstone et al. 2002 constants
    // (from memory), pressures computed elsewhere.
    let (k, _) = henry(Published, Gas::Hydrogen, kelvin(35.0));
    for (cod, bar) in [
        (5e-6, 0.000_423),
        (1e-5, 0.000_846),
        (3.5e-6, 0.000_296),
        (7e-6, 0.000_592),
    ] {
        assert_relative(cod / COD_H2 / k, bar, 2e-3, "hydrogen");
    }
}

#[test]
fn air_dissolves_as_its_oxygen_and_nitrogen() {
    // Fresh water at 20 C under air at 1 atm holds 9.09 mg oxygen per litre (from memory, standard
    // methods): the oxygen share alone must give that.
    let t_k = kelvin(20.0);
    let p_dry = 1.013_25 - 0.023_392;
    let oxygen = 0.2095 * p_dry * henry(Recommended, Gas::Oxygen, t_k).0 * 32.0 * 1000.0;
    assert_relative(oxygen, 9.09, 0.03, "mg/L");
    let nitrogen = henry(Recommended, Gas::Nitrogen, t_k).0;
    let air = henry(Recommended, Gas::Air, t_k).0;
    let expected = 0.2095 * henry(Recommended, Gas::Oxygen, t_k).0 + 0.7905 * nitrogen;
    assert_relative(air, expected, 1e-12, "air");
}

#[test]
fn temperature_derivatives_are_exact() {
    for celsius in [1.0, 12.5, 25.0, 38.0, 59.0] {
        for set in [Published, Recommended] {
            for gas in Gas::ALL {
                let what = format!("{set:?} {gas:?}");
                slope::assert_exact(|t| henry(set, gas, t), kelvin(celsius), 0.05, &what);
            }
        }
    }
}
