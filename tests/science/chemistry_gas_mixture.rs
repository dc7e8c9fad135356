//! Gas mixtures: density, heating value, flammability.

use std::collections::HashMap;

use crate::table::{Row, assert_absolute, assert_relative, rows};
use marshgas::chemistry::{
    Fuel, GasAmounts, GasLaw, GasMixture, MJ_PER_KWH, molar_heating_value, norm_dry_from_wet,
    saturation_pressure,
};
use marshgas::units::{ATM_BAR, kelvin};

fn mixture(row: &Row) -> GasMixture {
    let x: HashMap<String, f64> = serde_json::from_str(row.text("x")).unwrap();
    let share = |gas: &str| x.get(gas).copied().unwrap_or(0.0);
    GasMixture::new(&GasAmounts {
        methane: share("CH4"),
        carbon_dioxide: share("CO2"),
        hydrogen: share("H2"),
        hydrogen_sulphide: share("H2S"),
        air: 0.0,
        nitrogen: share("N2"),
        oxygen: share("O2"),
        water: share("H2O"),
    })
    .unwrap()
}

fn pure(set: impl Fn(&mut GasAmounts)) -> GasMixture {
    let mut amounts = GasAmounts::default();
    set(&mut amounts);
    GasMixture::new(&amounts).unwrap()
}

#[test]
fn molar_masses_meet_the_table() {
    // The table's hydrogen sulphide is 1.4e-4 heavier (sulphur 32.065 against 32.06).
    for row in rows("chemistry/gas_mixtures.csv") {
        let mass = mixture(&row).molar_mass();
        assert_relative(mass, row.number("M_g_mol"), 2e-4, row.text("x"));
    }
}

#[test]
fn real_densities_meet_three_reference_equations() {
    for row in rows("chemistry/gas_mixtures.csv") {
        let gas = mixture(&row);
        let p_bar = row.number("p_kPa") / 100.0;
        let density = gas.density(GasLaw::Virial, row.kelvin("T_C"), p_bar);
        for column in [
            "rho_GERG2008_kg_m3",
            "rho_DETAIL_kg_m3",
            "rho_CoolProp_kg_m3",
        ] {
            assert_relative(density, row.number(column), 5e-4, row.text("x"));
        }
        let norm = gas.density(GasLaw::Virial, kelvin(0.0), ATM_BAR);
        assert_relative(norm, row.number("rho_norm_kg_m3"), 5e-4, row.text("x"));
        let z = gas.compressibility(GasLaw::Virial, kelvin(0.0), ATM_BAR);
        assert_absolute(z, row.number("Z_norm"), 5e-4, row.text("x"));
    }
}

#[test]
fn ideal_densities_are_light_by_the_known_share() {
    for row in rows("chemistry/gas_mixtures.csv") {
        let p_bar = row.number("p_kPa") / 100.0;
        let density = mixture(&row).density(GasLaw::Ideal, row.kelvin("T_C"), p_bar);
        assert_relative(density, row.number("rho_ideal_kg_m3"), 2e-4, row.text("x"));
        let light = 1.0 - density / row.number("rho_GERG2008_kg_m3");
        assert!((0.0019..0.0066).contains(&light), "{light}");
    }
}

#[test]
fn pure_gases_have_their_handbook_norm_density() {
    // Handbook norm densities [kg/m3] (from memory): air 1.2929, hydrogen 0.08988, nitrogen 1.2504,
    // oxygen 1.4290.
    let air = pure(|x| x.air = 3.0);
    let hydrogen = pure(|x| x.hydrogen = 1.0);
    let nitrogen = pure(|x| x.nitrogen = 1.0);
    let oxygen = pure(|x| x.oxygen = 1.0);
    for (gas, density) in [
        (air, 1.2929),
        (hydrogen, 0.089_88),
        (nitrogen, 1.2504),
        (oxygen, 1.4290),
    ] {
        let got = gas.density(GasLaw::Virial, kelvin(0.0), ATM_BAR);
        assert_relative(got, density, 5e-4, "norm density");
    }
    assert_relative(air.relative_density(), 1.0, 1e-15, "air against air");
    // Methane is lighter than air, carbon dioxide heavier: 0.554 and 1.519 (from memory).
    assert_relative(
        pure(|x| x.methane = 1.0).relative_density(),
        0.554,
        1e-3,
        "methane",
    );
    let carbon_dioxide = pure(|x| x.carbon_dioxide = 1.0);
    assert_relative(
        carbon_dioxide.relative_density(),
        1.519,
        1e-3,
        "carbon dioxide",
    );
}

#[test]
fn molar_heating_values_meet_the_table() {
    for row in rows("chemistry/heating_values_molar.csv") {
        let fuel = match row.text("gas") {
            "CH4" => Fuel::Methane,
            "H2" => Fuel::Hydrogen,
            "H2S" => Fuel::HydrogenSulphide,
            other => panic!("unknown fuel {other}"),
        };
        let value = molar_heating_value(fuel, row.kelvin("T_C"));
        assert_relative(
            value.higher,
            row.number("HHV_kJ_mol"),
            1e-3,
            row.text("gas"),
        );
        assert_relative(value.lower, row.number("LHV_kJ_mol"), 1e-3, row.text("gas"));
        if let Some(higher) = row.maybe("HHV_ISO6976_1995_MEMORY") {
            assert_relative(value.higher, higher, 1e-3, row.text("gas"));
            let lower = row.number("LHV_ISO6976_1995_MEMORY");
            assert_relative(value.lower, lower, 1e-3, row.text("gas"));
        }
    }
}

#[test]
fn volumetric_heating_values_meet_the_table() {
    for row in rows("chemistry/gas_mixtures.csv") {
        let gas = mixture(&row);
        for (law, suffix) in [(GasLaw::Ideal, "id"), (GasLaw::Virial, "real")] {
            let value = gas.heating_value_mj(law);
            let higher = row.number(&format!("HHV_{suffix}_MJ_m3"));
            let lower = row.number(&format!("LHV_{suffix}_MJ_m3"));
            assert_absolute(value.higher, higher, 1e-3 * higher, row.text("x"));
            assert_absolute(value.lower, lower, 1e-3 * lower, row.text("x"));
            let kwh = gas.heating_value_kwh(law);
            assert_absolute(kwh.lower * MJ_PER_KWH, value.lower, 1e-12, "kWh");
        }
        let wobbe = row.number("Wobbe_HHV_MJ_m3");
        assert_absolute(gas.wobbe_mj(), wobbe, 1e-3 * wobbe, row.text("x"));
    }
}

#[test]
fn methane_has_its_standard_heating_value() {
    // Lower heating value of methane per norm cubic metre: 35.883 MJ (DIN 51857, from memory).
    let methane = pure(|x| x.methane = 1.0);
    let value = methane.heating_value_mj(GasLaw::Virial);
    assert_relative(value.lower, 35.883, 1e-3, "methane");
}

#[test]
fn drying_undoes_moistening() {
    let dry = GasMixture::new(&GasAmounts {
        methane: 0.6,
        carbon_dioxide: 0.4,
        ..GasAmounts::default()
    })
    .unwrap();
    let (t_k, p_bar) = (kelvin(35.0), 1.03);
    let moist = dry.moist(t_k, p_bar, 1.0).unwrap();
    let (p_sat, _) = saturation_pressure(marshgas::chemistry::ConstantSet::Recommended, t_k);
    assert_relative(moist.shares().water, p_sat / p_bar, 1e-14, "vapour share");
    let back = moist.dry().unwrap().shares();
    assert_absolute(back.methane, 0.6, 1e-15, "methane");
    // Heat per norm volume falls with the vapour exactly as the dry norm volume does.
    let share = norm_dry_from_wet(1.0, t_k, p_bar, 1.0) / norm_dry_from_wet(1.0, t_k, p_bar, 0.0);
    let ratio = moist.molar_heating_value().lower / dry.molar_heating_value().lower;
    assert_relative(ratio, share, 1e-14, "heat");
    assert_eq!(dry.moist(kelvin(90.0), 0.5, 1.0), None);
    assert_eq!(pure(|x| x.water = 1.0).dry(), None);
}

#[test]
fn nonsense_makes_no_mixture() {
    assert_eq!(GasMixture::new(&GasAmounts::default()), None);
    for bad in [-0.1, f64::NAN, f64::INFINITY] {
        let amounts = GasAmounts {
            methane: 1.0,
            air: bad,
            ..GasAmounts::default()
        };
        assert_eq!(GasMixture::new(&amounts), None);
    }
}

#[test]
fn inert_gas_raises_the_lower_flammable_share() {
    // Handbook limits in air (from memory): methane 5 %, hydrogen 4 %; fuel gas of 60 % methane about
    // 8 %, often given as 6..12 % between the limits.
    let methane = pure(|x| x.methane = 1.0);
    assert_absolute(
        methane.lower_flammable_share().unwrap(),
        0.05,
        1e-15,
        "methane",
    );
    let hydrogen = pure(|x| x.hydrogen = 1.0);
    assert_absolute(
        hydrogen.lower_flammable_share().unwrap(),
        0.04,
        1e-15,
        "hydrogen",
    );
    let raw = pure(|x| {
        x.methane = 0.6;
        x.carbon_dioxide = 0.4;
    });
    assert_absolute(raw.lower_flammable_share().unwrap(), 0.083, 0.005, "60 %");
    let start = pure(|x| {
        x.methane = 0.04;
        x.air = 0.96;
    });
    assert_eq!(start.lower_flammable_share(), None);
}
