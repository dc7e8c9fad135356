//! Dissociation constants and the Debye-Hueckel slope.

use std::f64::consts::LN_10;

use crate::slope;
use crate::table::{assert_absolute, rows};
use marshgas::chemistry::ConstantSet::{Published, Recommended};
use marshgas::chemistry::{Constants, Dissociation, debye_hueckel_a, dissociation};
use marshgas::units::kelvin;

fn pk(kind: Dissociation, t_k: f64) -> f64 {
    -dissociation(Recommended, kind, t_k).0 / LN_10
}

#[test]
fn recommended_constants_equal_the_reference_model() {
    let columns = [
        ("pKw", Dissociation::Water),
        ("pK1", Dissociation::Co2First),
        ("pK2", Dissociation::Co2Second),
        ("pKN", Dissociation::Ammonium),
        ("pKS1", Dissociation::H2sFirst),
        ("pKS2", Dissociation::H2sSecond),
        ("pKP1", Dissociation::PhosphateFirst),
        ("pKP2", Dissociation::PhosphateSecond),
        ("pKP3", Dissociation::PhosphateThird),
        ("pKAc", Dissociation::Acetic),
        ("pKPr", Dissociation::Propionic),
        ("pKBu", Dissociation::Butyric),
    ];
    for row in rows("chemistry/core_constants.csv") {
        let t_k = row.kelvin("T_C");
        for (column, kind) in columns {
            assert_absolute(pk(kind, t_k), row.number(column), 1e-8, column);
        }
    }
}

/// The acid of a row of the pK table, and the tolerance argued from the scatter of sources.
fn acid(name: &str) -> Option<(Dissociation, f64)> {
    match name {
        "water" => Some((Dissociation::Water, 0.01)),
        "CO2_1" => Some((Dissociation::Co2First, 0.01)),
        "CO2_2" => Some((Dissociation::Co2Second, 0.01)),
        "NH4" => Some((Dissociation::Ammonium, 0.01)),
        "acetic" => Some((Dissociation::Acetic, 0.01)),
        "propionic" => Some((Dissociation::Propionic, 0.03)),
        "butyric" => Some((Dissociation::Butyric, 0.03)),
        "H2S" => Some((Dissociation::H2sFirst, 0.08)),
        // Its sources part by 0.02..0.034 away from 25 C and no tolerance is set: see the next test.
        "H2PO4" => None,
        other => panic!("unknown acid {other}"),
    }
}

#[test]
fn recommended_constants_agree_with_independent_sources() {
    // minteq.v4.dat has an enthalpy and no heat capacity: away from 25 C it is no measure for water,
    // CO2 and acetic acid (up to 0.038 off the other three sources).
    let curved = ["water", "CO2_1", "CO2_2", "acetic"];
    let mut checked = 0;
    for row in rows("chemistry/dissociation_pK.csv") {
        let name = row.text("acid");
        let enthalpy_only = row.text("source") == "minteq.v4.dat" && curved.contains(&name);
        let Some((kind, tolerance)) = acid(name) else {
            continue;
        };
        if enthalpy_only && row.number("T_C") != 25.0 {
            continue;
        }
        let what = format!("{name} {} {}", row.text("source"), row.text("T_C"));
        assert_absolute(
            pk(kind, row.kelvin("T_C")),
            row.number("pK"),
            tolerance,
            &what,
        );
        checked += 1;
    }
    assert!(checked > 150, "{checked}");
}

#[test]
fn phosphate_agrees_with_every_source_at_25_c() {
    let at_25 = rows("chemistry/dissociation_pK.csv")
        .into_iter()
        .filter(|row| row.text("acid") == "H2PO4" && row.number("T_C") == 25.0);
    let mut checked = 0;
    for row in at_25 {
        let got = pk(Dissociation::PhosphateSecond, kelvin(25.0));
        assert_absolute(got, row.number("pK"), 0.01, row.text("source"));
        checked += 1;
    }
    assert_eq!(checked, 3);
}

#[test]
fn valeric_acid_meets_the_nist_value() {
    // NIST critically selected constants 46.2, as read in minteq.v4.dat: 4.843, 2.887 kJ/mol.
    assert_absolute(
        pk(Dissociation::Valeric, kelvin(25.0)),
        4.843,
        1e-12,
        "25 C",
    );
    // Handbook: 4.842 at 25 C (from memory).
    assert_absolute(
        pk(Dissociation::Valeric, kelvin(25.0)),
        4.842,
        0.01,
        "handbook",
    );
}

#[test]
fn published_set_reproduces_the_benchmark() {
    let at = |kind, t_k| -dissociation(Published, kind, t_k).0 / LN_10;
    for row in rows("chemistry/published_set.csv") {
        let t_k = row.kelvin("T_C");
        let what = row.text("T_C");
        assert_absolute(
            at(Dissociation::Water, t_k),
            row.number("pK_w"),
            1e-12,
            what,
        );
        assert_absolute(
            at(Dissociation::Co2First, t_k),
            row.number("pKa_co2"),
            1e-12,
            what,
        );
        assert_absolute(
            at(Dissociation::Ammonium, t_k),
            row.number("pKa_NH4"),
            1e-12,
            what,
        );
        for (kind, pk) in [
            (Dissociation::Acetic, 4.76),
            (Dissociation::Propionic, 4.88),
            (Dissociation::Butyric, 4.82),
            (Dissociation::Valeric, 4.86),
        ] {
            assert_absolute(at(kind, t_k), pk, 1e-12, what);
        }
    }
}

#[test]
fn debye_hueckel_slope_meets_the_table() {
    for row in rows("chemistry/core_constants.csv") {
        let (a, _) = debye_hueckel_a(row.kelvin("T_C"));
        assert_absolute(a, row.number("DH_A"), 1e-6, row.text("T_C"));
    }
    // Handbook: 0.509 kg^0.5 mol^-0.5 at 25 C (from memory, Robinson and Stokes).
    assert_absolute(debye_hueckel_a(kelvin(25.0)).0, 0.509, 2e-3, "handbook");
}

#[test]
fn temperature_derivatives_are_exact() {
    for celsius in [1.0, 12.5, 25.0, 38.0, 59.0] {
        let t_k = kelvin(celsius);
        slope::assert_exact(debye_hueckel_a, t_k, 0.05, "A");
        for set in [Published, Recommended] {
            for kind in Dissociation::ALL {
                let what = format!("{set:?} {kind:?}");
                slope::assert_exact(|t| dissociation(set, kind, t), t_k, 0.05, &what);
            }
        }
    }
}

#[test]
fn a_whole_set_equals_its_parts() {
    let t_k = kelvin(33.0);
    for set in [Published, Recommended] {
        let all = Constants::at(set, t_k);
        for (position, kind) in Dissociation::ALL.into_iter().enumerate() {
            let (ln_k, slope) = dissociation(set, kind, t_k);
            assert_eq!((all.ln_k[position], all.dln_k_dt[position]), (ln_k, slope));
            assert_eq!((all.ln_k(kind), all.dln_k_dt(kind)), (ln_k, slope));
        }
        assert_eq!((all.debye_a, all.ddebye_a_dt), debye_hueckel_a(t_k));
    }
}
