//! Gas cleaning: stoichiometry, worked beds, closures.

use crate::table::{assert_absolute, assert_relative};
use marshgas::plant::cleaning::{
    BedMaterial, BedSettings, GasStep, PA_PER_CM_WATER, Refill, Stage, TrainOutcome, TrainWarning,
    TrapSettings, bed_row, clear_lime_water_l, iron_oxide_need_kg, lime_need_kg,
    lime_water_solubility, quicklime_need_kg, run_train, soda_lye_need_kg,
};
use marshgas::plant::{GasState, GasStream, PlantFault, Reading};

fn state(temperature_c: f64) -> GasState {
    GasState {
        temperature_c,
        gauge_pa: 0.0,
        barometer_kpa: 101.325,
    }
}

/// 1 m3 of 60 % methane as read at 20 C.
fn gas(volume_l: f64, h2s_ppm: f64, humidity: f64, temperature_c: f64) -> GasStream {
    let reading = Reading {
        volume_l,
        ch4_share: 0.6 - h2s_ppm * 1e-6,
        h2s_ppm,
        humidity,
    };
    GasStream::from_reading(reading, state(temperature_c)).unwrap()
}

/// `days` days of the same gas, one step each.
fn daily(gas: GasStream, days: usize, line_c: f64) -> Vec<GasStep> {
    (0..days)
        .map(|day| GasStep {
            day: day as f64,
            days: 1.0,
            gas,
            line_c,
        })
        .collect()
}

/// A bed that uses all it holds and takes all that comes.
fn perfect(material: BedMaterial, mass_kg: f64) -> BedSettings {
    BedSettings {
        used_share: 1.0,
        removal_share: 1.0,
        ..BedSettings::of(material, mass_kg)
    }
}

fn assert_closed(outcome: &TrainOutcome) {
    for (what, balance) in [
        ("mass", outcome.mass),
        ("carbon", outcome.carbon),
        ("sulphur", outcome.sulphur),
        ("water", outcome.water),
    ] {
        assert!(balance.gap() < 1e-12, "{what}: {balance:?}");
    }
}

#[test]
fn vapour_of_saturated_gas() {
    // Source: saturation pressure by Buck 1996 (from memory), at 1 atm; computed with ideal gas.
    let table = [
        (10.0, 1228.0, 9.4),
        (15.0, 1705.0, 12.8),
        (20.0, 2338.0, 17.3),
        (25.0, 3169.0, 23.0),
        (30.0, 4245.0, 30.3),
        (35.0, 5627.0, 39.6),
        (40.0, 7382.0, 51.1),
    ];
    for (t, pa, g_m3) in table {
        // Two formulations and four digits: within 0.1 %.
        assert_relative(state(t).vapour_bar() * 1e5, pa, 1e-3, "pressure");
        let wet = gas(1000.0, 0.0, 1.0, t);
        assert_absolute(wet.portion.water_g(), g_m3, 0.06, "vapour");
        assert_relative(wet.volume_l(), 1000.0, 1e-12, "the volume comes back");
    }
    // Source: the same, 1 m3 saturated at 20 C holds 0.910 norm m3 of dry gas.
    assert_absolute(
        gas(1000.0, 0.0, 1.0, 20.0).portion.dry_nl(),
        910.0,
        0.5,
        "dry",
    );
}

#[test]
fn lime_and_lye_for_carbon_dioxide() {
    // Source: Ca(OH)2 + CO2, CaO + CO2, 2 NaOH + CO2 with molar masses 74.093, 44.01 (arithmetic).
    assert_absolute(lime_need_kg(1.0, 0.0), 3.31, 0.005, "per norm m3");
    assert_absolute(lime_need_kg(1.0, 20.0), 3.08, 0.005, "per m3 at 20 C");
    assert_absolute(lime_need_kg(0.4, 20.0), 1.23, 0.005, "per m3 gas of 40 %");
    assert_absolute(quicklime_need_kg(1.0, 20.0), 2.33, 0.005, "quicklime");
    assert_absolute(soda_lye_need_kg(1.0, 20.0), 3.33, 0.005, "lye to carbonate");
    assert_absolute(
        soda_lye_need_kg(1.0, 20.0) / 2.0,
        1.66,
        0.005,
        "lye to bicarbonate",
    );
}

#[test]
fn clear_lime_water_is_nearly_nothing() {
    // Source: 1.7 g/L at 20 C (from memory), 0.023 mol/L; 725 L for 1 m3 of gas at 40 % (arithmetic).
    let litres = clear_lime_water_l(0.4, 20.0, lime_water_solubility().typical());
    assert_absolute(litres, 725.0, 1.0, "litres");
    // The bed's capacity says the same: 0.55 L of carbon dioxide at 20 C a litre.
    let litre = perfect(BedMaterial::LimeWater, 1.0);
    assert_absolute(litre.capacity_mol(), 0.023, 0.0001, "mol");
    assert_absolute(
        litre.capacity_mol() * 24.055,
        0.55,
        0.005,
        "L of carbon dioxide",
    );
}

#[test]
fn iron_oxide_and_sulphide() {
    // Source: Fe2O3 + 3 H2S = Fe2S3 + 3 H2O: 0.640 kg H2S per kg Fe2O3, 0.915 per kg iron (arithmetic).
    let per_oxide = 1.0 / iron_oxide_need_kg(1.0);
    assert_absolute(per_oxide, 0.640, 0.0005, "oxide");
    let iron_share = 2.0 * 55.845 / 159.687;
    assert_absolute(per_oxide / iron_share, 0.915, 0.0005, "iron");
    // Source: 1000 ppm are 1.42 g/m3 at 20 C and 1.52 g a norm m3 (arithmetic).
    for (t, grams) in [(20.0, 1.42), (0.0, 1.52)] {
        let one = gas(1000.0, 1000.0, 0.0, t).portion;
        assert_absolute(one.sulphur_g() * 34.076 / 32.06, grams, 0.005, "H2S");
    }
}

#[test]
fn check_a_rusted_wool_lasts_28_days() {
    // Source: worked check, 300 L/d of 1000 ppm at 20 C: 0.425 g H2S/d; 200 g at 0.10 g/g, 0.6 of the bed used: 28 d.
    // Its arithmetic leaves the vapour aside, so the gas here is dry.
    let bed = BedSettings {
        capacity_kg_per_kg: 0.10,
        used_share: 0.6,
        removal_share: 1.0,
        ..BedSettings::of(BedMaterial::RustedWool, 0.2)
    };
    let outcome = run_train(
        &[Stage::Bed(bed)],
        &daily(gas(300.0, 1000.0, 0.0, 20.0), 100, 20.0),
    )
    .unwrap();
    let stage = &outcome.stages[0];
    assert_absolute(
        stage.h2s_taken_kg * 1000.0 / 100.0,
        0.425,
        0.0005,
        "g a day",
    );
    assert_absolute(stage.days_per_filling.unwrap(), 28.0, 0.5, "days");
    assert_eq!(stage.breakthrough_d.len(), 3);
    for (i, day) in stage.breakthrough_d.iter().enumerate() {
        let want = stage.days_per_filling.unwrap() * (i + 1) as f64;
        assert_relative(*day, want, 1e-9, "date");
    }
    assert_closed(&outcome);
}

#[test]
fn check_b_lime_for_300_litres_a_day() {
    // Source: worked check, 300 L/d at 40 % carbon dioxide and full use: 370 g lime a day (vapour left aside).
    let outcome = run_train(
        &[Stage::Bed(perfect(BedMaterial::LimeSlurry, 5.0))],
        &daily(gas(300.0, 0.0, 0.0, 20.0), 50, 20.0),
    )
    .unwrap();
    let grams = outcome.stages[0].material_kg_per_year / 365.25 * 1000.0;
    assert_absolute(grams, 370.0, 0.7, "g a day");
    // Source: the reaction makes 0.24 kg of water per kg of lime (arithmetic).
    let water = outcome.stages[0].water_made_kg * 1000.0 / 50.0;
    assert_absolute(water / grams, 0.24, 0.005, "water per lime");
    assert!(
        outcome
            .outlet
            .iter()
            .all(|step| step.gas.portion.co2_nl.abs() < 1e-9)
    );
    assert_closed(&outcome);
}

#[test]
fn check_c_drying_300_litres_a_day() {
    // Source: worked check, 17.3 g/m3: 5.2 g a day; 100 g silica gel at 30 % dries 1.7 m3 of gas saturated at 20 C.
    let wet = gas(300.0, 0.0, 1.0, 20.0);
    let gel = BedSettings {
        capacity_kg_per_kg: 0.30,
        ..perfect(BedMaterial::SilicaGel, 0.1)
    };
    let outcome = run_train(&[Stage::Bed(gel)], &daily(wet, 20, 20.0)).unwrap();
    assert_absolute(
        outcome.stages[0].water_gained_kg * 1000.0 / 20.0,
        5.2,
        0.02,
        "g a day",
    );
    let m3 = outcome.stages[0].days_per_filling.unwrap() * 0.3;
    assert_absolute(m3, 1.7, 0.05, "m3 a filling");
    assert_closed(&outcome);
}

#[test]
fn a_cool_trap_takes_most_of_the_water_for_nothing() {
    // Source: from 30 to 10 C a m3 drops 21 g, as the difference of 30.3 and 9.4 g/m3 (arithmetic). The gas shrinks as it
    // cools, so that the exact drop is 21.8 g: (38.52 mol dry) x 1228/(101325 - 1228) x 18.015 = 8.5 g stay, by hand.
    let outcome = run_train(
        &[Stage::WaterTrap(TrapSettings {
            temperature_c: Some(10.0),
            drop_pa: 0.0,
        })],
        &daily(gas(1000.0, 0.0, 1.0, 30.0), 1, 25.0),
    )
    .unwrap();
    assert_absolute(outcome.stages[0].water_gained_kg * 1000.0, 21.8, 0.1, "g");
    assert_closed(&outcome);
    // A trap that is warmer than the pipes takes what the pipes take.
    let warm = run_train(
        &[Stage::WaterTrap(TrapSettings {
            temperature_c: Some(40.0),
            drop_pa: 0.0,
        })],
        &daily(gas(1000.0, 0.0, 1.0, 30.0), 1, 10.0),
    )
    .unwrap();
    assert_absolute(warm.stages[0].water_gained_kg * 1000.0, 21.8, 0.1, "g");
}

#[test]
fn every_centimetre_of_dip_costs_98_pascal() {
    // Source: 98.07 Pa a centimetre of water (definition).
    assert_absolute(PA_PER_CM_WATER, 98.07, 0.005, "Pa");
    let bubbler = |drop_pa| {
        Stage::Bed(BedSettings {
            dip_cm: 5.0,
            drop_pa,
            ..BedSettings::of(BedMaterial::LimeSlurry, 2.0)
        })
    };
    let mut input = gas(300.0, 0.0, 1.0, 20.0);
    input.state.gauge_pa = 800.0;
    let outcome = run_train(&[bubbler(0.0), bubbler(10.0)], &daily(input, 3, 20.0)).unwrap();
    assert_absolute(outcome.pressure_loss_pa, 990.7, 0.1, "two bubblers");
    assert!(
        outcome
            .warnings
            .iter()
            .any(|w| matches!(w, TrainWarning::NoPressureLeft { .. }))
    );
    let behind = outcome.outlet[0].gas.state.gauge_pa;
    assert_absolute(
        behind,
        800.0 - outcome.pressure_loss_pa,
        1e-9,
        "pressure behind",
    );
}

/// All kinds of beds in a row that nobody would build, each spent at least once.
fn crowded() -> Vec<Stage> {
    use BedMaterial::*;
    let mut stages = vec![Stage::WaterTrap(TrapSettings {
        temperature_c: Some(12.0),
        drop_pa: 5.0,
    })];
    for (material, mass_kg) in [
        (RustedWool, 0.01),
        (IronOxideGrains, 0.01),
        (CarbonWithOxygen, 0.01),
        (Carbon, 0.05),
        (LimeWater, 20.0),
        (DampLime, 0.5),
        (LimeSlurry, 0.5),
        (SilicaGel, 0.05),
        (DryingClay, 0.01),
        (MolecularSieve, 0.01),
    ] {
        stages.push(Stage::Bed(BedSettings::of(material, mass_kg)));
    }
    stages
}

#[test]
fn mass_carbon_sulphur_and_water_close_in_any_order() {
    let mut input = gas(300.0, 3000.0, 1.0, 33.0);
    input.portion.n2_nl = 8.0;
    input.portion.o2_nl = 0.4;
    let steps: Vec<GasStep> = (0..60)
        .map(|i| GasStep {
            day: f64::from(i) * 0.5,
            days: 0.5,
            gas: GasStream {
                portion: input.portion.scaled(0.2 + f64::from(i % 7) * 0.1),
                ..input
            },
            line_c: 15.0 + 8.0 * (f64::from(i) / 3.0).sin(),
        })
        .collect();
    let mut stages = crowded();
    for turn in 0..stages.len() {
        stages.rotate_left(1);
        if turn % 2 == 0 {
            stages.reverse();
        }
        for refill in [Refill::WhenSpent, Refill::Never] {
            for stage in &mut stages {
                if let Stage::Bed(bed) = stage {
                    bed.refill = refill;
                }
            }
            let outcome = run_train(&stages, &steps).unwrap();
            assert_closed(&outcome);
            for (before, after) in steps.iter().zip(&outcome.outlet) {
                let (a, b) = (before.gas.portion, after.gas.portion);
                assert!(b.co2_nl >= -1e-12 && b.co2_nl <= a.co2_nl + 1e-12);
                assert!(b.h2s_nl >= -1e-12 && b.h2s_nl <= a.h2s_nl + 1e-12);
                assert!(b.o2_nl >= -1e-12 && b.h2o_nl >= -1e-12);
                assert_eq!((b.ch4_nl, b.n2_nl, b.h2_nl), (a.ch4_nl, a.n2_nl, a.h2_nl));
                let most = after.gas.state.saturated_vapour_nl(b.dry_nl());
                assert!(b.h2o_nl <= most * (1.0 + 1e-12), "wetter than saturated");
            }
            for stage in &outcome.stages {
                assert!((0.0..=1.0).contains(&stage.loaded_share), "{stage:?}");
                assert!(
                    stage
                        .breakthrough_d
                        .iter()
                        .all(|d| (0.0..=30.0).contains(d))
                );
                assert!(stage.breakthrough_d.is_sorted());
            }
        }
    }
}

#[test]
fn a_bed_that_is_never_changed_lets_the_gas_by() {
    let bed = BedSettings {
        refill: Refill::Never,
        ..perfect(BedMaterial::LimeSlurry, 1.0)
    };
    let input = gas(300.0, 0.0, 1.0, 20.0);
    let outcome = run_train(&[Stage::Bed(bed)], &daily(input, 10, 20.0)).unwrap();
    let stage = &outcome.stages[0];
    assert_eq!((stage.breakthrough_d.len(), stage.fillings_spent), (1, 1.0));
    assert_relative(stage.co2_taken_kg, 44.009 / 74.092, 1e-3, "all it holds");
    assert_eq!(stage.loaded_share, 1.0);
    let last = outcome.outlet[9].gas.portion;
    assert_relative(last.co2_nl, input.portion.co2_nl, 1e-12, "as it came");
    // A bed at the start of which half is used lasts half as long.
    let half = BedSettings {
        loaded_share: 0.5,
        ..bed
    };
    let sooner = run_train(&[Stage::Bed(half)], &daily(input, 10, 20.0)).unwrap();
    assert_relative(
        sooner.stages[0].breakthrough_d[0] * 2.0,
        stage.breakthrough_d[0],
        1e-9,
        "half",
    );
}

#[test]
fn cutting_the_time_finer_changes_no_date() {
    let input = gas(300.0, 2000.0, 1.0, 20.0);
    let bed = Stage::Bed(BedSettings::of(BedMaterial::IronOxideGrains, 0.05));
    let coarse = run_train(&[bed], &daily(input, 120, 20.0)).unwrap();
    let fine: Vec<GasStep> = (0..120 * 24)
        .map(|hour| GasStep {
            day: f64::from(hour) / 24.0,
            days: 1.0 / 24.0,
            gas: GasStream {
                portion: input.portion.scaled(1.0 / 24.0),
                ..input
            },
            line_c: 20.0,
        })
        .collect();
    let fine = run_train(&[bed], &fine).unwrap();
    let (a, b) = (
        &coarse.stages[0].breakthrough_d,
        &fine.stages[0].breakthrough_d,
    );
    assert!(a.len() >= 5 && a.len() == b.len(), "{a:?} {b:?}");
    for (a, b) in a.iter().zip(b) {
        assert_relative(*a, *b, 1e-9, "date");
    }
}

#[test]
fn carbon_that_counts_on_oxygen_gets_no_further_than_it_reaches() {
    let bed = Stage::Bed(BedSettings::of(BedMaterial::CarbonWithOxygen, 5.0));
    let free = gas(300.0, 2000.0, 1.0, 20.0);
    let outcome = run_train(&[bed], &daily(free, 10, 20.0)).unwrap();
    assert_eq!(outcome.stages[0].h2s_taken_kg, 0.0);
    assert!(
        outcome
            .warnings
            .iter()
            .any(|w| matches!(w, TrainWarning::OxygenMissing { .. }))
    );
    let mut aired = free;
    aired.portion.o2_nl = free.portion.h2s_nl;
    let outcome = run_train(&[bed], &daily(aired, 10, 20.0)).unwrap();
    let stage = &outcome.stages[0];
    // H2S + 1/2 O2 = S + H2O.
    assert_relative(
        stage.o2_taken_kg / stage.h2s_taken_kg,
        15.999 / 34.076,
        1e-12,
        "oxygen",
    );
    assert!(
        outcome
            .warnings
            .iter()
            .any(|w| matches!(w, TrainWarning::AirDosed { .. }))
    );
    assert_closed(&outcome);
}

#[test]
fn cleaning_adds_no_energy() {
    let outcome = run_train(
        &[Stage::Bed(perfect(BedMaterial::LimeSlurry, 5.0))],
        &daily(gas(300.0, 0.0, 1.0, 20.0), 10, 20.0),
    )
    .unwrap();
    let (before, after) = outcome.energy_kwh;
    assert_relative(after, before, 1e-12, "energy");
    let told = |name: &str| {
        outcome
            .truths
            .iter()
            .find(|truth| truth.name == name)
            .unwrap()
    };
    assert_absolute(told("lime-per-co2").value, 3.08, 0.005, "lime");
    assert_absolute(told("clear-lime-water").value, 725.0, 1.0, "lime water");
    assert!(told("no-energy-added").words.contains("adds no energy"));
    assert_absolute(told("dip-eats-pressure").value, 5.0 * 98.0665, 1e-9, "dip");
}

#[test]
fn carbon_without_oxygen_holds_little_and_says_so() {
    // Source: 0.006 to 0.026 g/cm3 over five commercial carbons, 1 to 5 % at 0.5 g/cm3 (published; citation not kept).
    let held = &bed_row(BedMaterial::Carbon).capacity;
    assert_absolute(held.low(), 0.006 / 0.5, 1e-12, "low");
    assert_absolute(held.high(), 0.026 / 0.5, 1e-12, "high");
    let carbon = Stage::Bed(BedSettings::of(BedMaterial::Carbon, 0.5));
    let outcome = run_train(&[carbon], &daily(gas(300.0, 2000.0, 1.0, 20.0), 30, 20.0)).unwrap();
    assert!(
        outcome
            .truths
            .iter()
            .any(|truth| truth.name == "carbon-without-oxygen")
    );
    // Half a kilogram is spent within days.
    assert!(outcome.stages[0].days_per_filling.unwrap() < 10.0);
}

#[test]
fn a_dry_bed_before_a_damp_one_is_told() {
    let stages = [BedMaterial::SilicaGel, BedMaterial::RustedWool]
        .map(|m| Stage::Bed(BedSettings::of(m, 0.2)));
    let outcome = run_train(&stages, &daily(gas(300.0, 500.0, 1.0, 20.0), 2, 20.0)).unwrap();
    assert!(
        outcome
            .warnings
            .iter()
            .any(|w| matches!(w, TrainWarning::DriedTooEarly { .. }))
    );
    let raw = run_train(&stages[1..], &daily(gas(300.0, 500.0, 1.0, 20.0), 2, 20.0)).unwrap();
    assert!(
        raw.warnings
            .iter()
            .any(|w| matches!(w, TrainWarning::LeanForEngine { .. }))
    );
}

#[test]
fn bad_settings_name_field_value_range_and_mend() {
    let good = BedSettings::of(BedMaterial::LimeSlurry, 2.0);
    let steps = daily(gas(300.0, 0.0, 1.0, 20.0), 2, 20.0);
    for (bed, field) in [
        (
            BedSettings {
                mass_kg: 0.0,
                ..good
            },
            "stages[0].mass_kg",
        ),
        (
            BedSettings {
                mass_kg: f64::NAN,
                ..good
            },
            "stages[0].mass_kg",
        ),
        (
            BedSettings {
                used_share: 1.2,
                ..good
            },
            "stages[0].used_share",
        ),
        (
            BedSettings {
                removal_share: 0.0,
                ..good
            },
            "stages[0].removal_share",
        ),
        (
            BedSettings {
                capacity_kg_per_kg: -1.0,
                ..good
            },
            "stages[0].capacity_kg_per_kg",
        ),
        (
            BedSettings {
                dip_cm: 80.0,
                ..good
            },
            "stages[0].dip_cm",
        ),
        (
            BedSettings {
                drop_pa: f64::INFINITY,
                ..good
            },
            "stages[0].drop_pa",
        ),
        (
            BedSettings {
                cycles: 0.0,
                ..good
            },
            "stages[0].cycles",
        ),
        (
            BedSettings {
                loaded_share: 2.0,
                ..good
            },
            "stages[0].loaded_share",
        ),
    ] {
        match run_train(&[Stage::Bed(bed)], &steps) {
            Err(PlantFault::OutOfRange {
                field: found,
                allowed,
                mend,
                ..
            }) => {
                assert_eq!(found, field);
                assert!(
                    allowed.starts_with("a number") && mend.ends_with('.'),
                    "{allowed} {mend}"
                );
            }
            other => panic!("{field}: {other:?}"),
        }
    }
    let mut backwards = steps.clone();
    backwards.reverse();
    assert!(matches!(
        run_train(&[Stage::Bed(good)], &backwards),
        Err(PlantFault::Unfit { .. })
    ));
    assert!(run_train(&[Stage::Bed(good)], &[]).is_err());
    let mut negative = steps;
    negative[1].gas.portion.co2_nl = -1.0;
    assert!(run_train(&[Stage::Bed(good)], &negative).is_err());
}
