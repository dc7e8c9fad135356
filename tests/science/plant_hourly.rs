//! Store and uses together: closure, bounds, overflow, shortage, methane wasted.

use crate::table::{assert_absolute, assert_relative};
use marshgas::plant::Portion;
use marshgas::plant::hourly::{HourInput, HourlyOutcome, HourlySettings, run_hours};
use marshgas::plant::store::{BagSettings, BellSettings, Film, Shell, StoreSettings};
use marshgas::plant::uses::{
    Appliance, BurnerSettings, Demand, EngineKind, EngineSettings, FlareSettings, NamedAppliance,
};

fn mixed(nl: f64, ch4_share: f64) -> Portion {
    Portion {
        ch4_nl: nl * ch4_share,
        co2_nl: nl * (1.0 - ch4_share),
        ..Portion::default()
    }
}

fn bell() -> StoreSettings {
    StoreSettings::Bell(BellSettings {
        ballast_kg: 10.0,
        ..BellSettings::of(Shell::Steel, 57.0, 80.0, 1.0)
    })
}

fn bag(film: Film) -> StoreSettings {
    StoreSettings::Bag(BagSettings::of(film, 500.0, 5.0, 0.2, 200.0))
}

/// Four weeks of `nl_d` a day with a daily wave of temperature and gas, and a wandering barometer.
fn weather(nl_d: f64, ch4_share: f64) -> Vec<HourInput> {
    (0..24 * 28)
        .map(|hour| {
            let wave = (f64::from(hour) * std::f64::consts::TAU / 24.0).sin();
            HourInput {
                arriving: mixed(nl_d / 24.0 * (1.0 + 0.4 * wave), ch4_share),
                temperature_c: 18.0 + 8.0 * wave,
                barometer_kpa: 101.0 + 1.5 * (f64::from(hour) / 60.0).sin(),
            }
        })
        .collect()
}

fn settings(store: StoreSettings, flare: Option<FlareSettings>) -> HourlySettings {
    let line = |appliance: &str, from_h, hours, load_share, priority| Demand {
        appliance: appliance.into(),
        weekdays: [true, true, true, true, true, false, true],
        months: [true; 12],
        from_h,
        hours,
        load_share,
        priority,
    };
    HourlySettings {
        store,
        appliances: vec![
            NamedAppliance {
                name: "burner".into(),
                appliance: Appliance::Burner(BurnerSettings::default()),
            },
            NamedAppliance {
                name: "engine".into(),
                appliance: Appliance::Engine(EngineSettings::of(EngineKind::Piston, 0.5)),
            },
        ],
        demands: vec![
            line("burner", 7.25, 0.5, 1.0, 1),
            line("burner", 18.5, 1.0, 0.7, 1),
            line("engine", 19.0, 1.5, 0.5, 2),
        ],
        flare,
        first_weekday: 2,
        months: Vec::new(),
        first_gas: mixed(1.0, 0.6),
    }
}

fn assert_sound(outcome: &HourlyOutcome) {
    assert!(outcome.gap() < 1e-11, "gap {}", outcome.gap());
    for hour in &outcome.hours {
        let level = hour.store.level;
        assert!((0.0..=1.0).contains(&level.share), "{level:?}");
        // A bell that rests on its stops and cools on sucks; that is told.
        assert_eq!(level.suction, level.pressure_pa < 0.0, "{level:?}");
        assert!(level.pressure_pa <= 5000.0, "{level:?}");
        assert!(!level.suction || level.share == 0.0, "{level:?}");
        let drawn: f64 = hour.served.iter().map(|served| served.gas_nl).sum();
        assert_absolute(hour.store.drawn.dry_nl(), drawn, 1e-9, "drawn is served");
        assert!(hour.store.overflowed.dry_nl() >= 0.0 && hour.escaped_ch4_nl >= 0.0);
        for served in &hour.served {
            let told = served.served_h + served.short_h + served.no_flame_h + served.refused_h;
            assert_absolute(told, served.wanted_h, 1e-12, "hours");
        }
    }
    let methane_out = outcome.flared_ch4_nl
        + outcome.used.ch4_nl
        + outcome.stored_change.ch4_nl
        + outcome.escaped.ch4_kg / 16.043 * 22_413.97;
    // Six digits of the molar volume above.
    let tolerance = 1e-6 * outcome.arrived.ch4_nl.max(1.0);
    assert_absolute(methane_out, outcome.arrived.ch4_nl, tolerance, "methane");
}

#[test]
fn what_arrives_is_used_overflows_seeps_or_stays() {
    for store in [bell(), bag(Film::Ldpe), bag(Film::NaturalRubber)] {
        for nl_d in [0.0, 40.0, 300.0, 3000.0] {
            for flare in [None, Some(FlareSettings::default())] {
                assert_sound(&run_hours(&settings(store, flare), &weather(nl_d, 0.6)).unwrap());
            }
        }
    }
}

#[test]
fn little_gas_runs_short_and_much_gas_runs_over() {
    let little = run_hours(&settings(bell(), None), &weather(40.0, 0.6)).unwrap();
    assert!(little.shortage_hours > 20, "{}", little.shortage_hours);
    let much = run_hours(&settings(bell(), None), &weather(12_000.0, 0.6)).unwrap();
    assert_eq!(much.shortage_hours, 0);
    assert!(much.overflow_hours > 24 * 20 && much.margin_hours > 24 * 20);
    // The highest pressure is that of the blow-out, the lowest that of the lowest stand.
    let StoreSettings::Bell(bell) = bell() else {
        unreachable!()
    };
    assert_relative(much.pressure_pa.1, bell.blow_out_pa(), 1e-9, "blow-out");
    assert!(little.pressure_pa.0 >= bell.pressure_pa(bell.seal_depth_cm) - 1e-9);
    // Served in full: burner 0.5 h and 1 h, engine 1.5 h, on 24 of 28 days.
    for (served, hours) in much.demands.iter().zip([0.5, 1.0, 1.5]) {
        assert_absolute(served.served_h, hours * 24.0, 1e-9, "hours");
    }
    // 0.5 kW less 17 % and 0.58 x 40 %, at half load.
    assert_relative(
        much.demands[2].electric_kwh,
        0.5 * (1.0 - 0.17 - 0.232) * 0.5 * 36.0,
        1e-9,
        "current",
    );
}

#[test]
fn a_flare_keeps_methane_out_of_the_air_unless_the_gas_does_not_burn() {
    let vented = run_hours(&settings(bell(), None), &weather(1000.0, 0.6)).unwrap();
    let flared = run_hours(
        &settings(bell(), Some(FlareSettings::default())),
        &weather(1000.0, 0.6),
    )
    .unwrap();
    assert!(vented.escaped.ch4_kg > 1.0);
    assert_eq!(flared.escaped.ch4_kg, 0.0);
    assert_relative(
        flared.flared_ch4_nl,
        vented.escaped.ch4_kg / 16.043 * 22_413.97,
        1e-6,
        "what would have escaped",
    );
    let thin = run_hours(
        &settings(bell(), Some(FlareSettings::default())),
        &weather(1000.0, 0.3),
    )
    .unwrap();
    assert_eq!(thin.flared_ch4_nl, 0.0);
    assert!(thin.demands.iter().all(|served| served.served_h == 0.0));
    let small = FlareSettings { power_kw: 0.1 };
    let small = run_hours(&settings(bell(), Some(small)), &weather(1000.0, 0.6)).unwrap();
    assert!(small.escaped.ch4_kg > 0.0 && small.escaped.ch4_kg < vented.escaped.ch4_kg);
}

#[test]
fn warmth_alone_can_push_gas_out() {
    // A full bell with no gas made and none used overflows as the day warms, and only then.
    let mut inputs = weather(0.0, 0.6);
    inputs[0].arriving = mixed(1000.0, 0.6);
    for input in &mut inputs {
        input.barometer_kpa = 101.325;
    }
    let quiet = HourlySettings {
        demands: Vec::new(),
        ..settings(bell(), None)
    };
    let outcome = run_hours(&quiet, &inputs).unwrap();
    assert_sound(&outcome);
    let warming: Vec<usize> = (1..24)
        .filter(|&h| outcome.hours[h].store.overflowed.dry_nl() > 1e-6)
        .collect();
    assert_eq!(warming, [1, 2, 3, 4, 5, 6]);
    assert!(
        outcome.hours[18].store.level.share < 0.95,
        "the cool hour reads lower"
    );
}

#[test]
fn a_leaky_film_counts_as_escaped() {
    let tight = run_hours(&settings(bag(Film::Pet), None), &weather(100.0, 0.6)).unwrap();
    let loose = run_hours(
        &settings(bag(Film::NaturalRubber), None),
        &weather(100.0, 0.6),
    )
    .unwrap();
    assert!(loose.seeped.ch4_nl > 20.0 * tight.seeped.ch4_nl.max(1e-9));
    assert!(loose.seeped.n2_nl < 0.0, "air comes in");
    assert!(loose.escaped.ch4_kg > tight.escaped.ch4_kg);
}

#[test]
fn bad_hours_are_told() {
    assert!(run_hours(&settings(bell(), None), &[]).is_err());
    let mut inputs = weather(100.0, 0.6);
    inputs[5].temperature_c = f64::NAN;
    let told = run_hours(&settings(bell(), None), &inputs)
        .unwrap_err()
        .to_string();
    assert!(told.contains("hours[5].temperature_c"), "{told}");
    inputs = weather(100.0, 0.6);
    inputs[7].arriving.ch4_nl = -1.0;
    let told = run_hours(&settings(bell(), None), &inputs)
        .unwrap_err()
        .to_string();
    assert!(told.contains("hours[7].arriving.ch4_nl is -1"), "{told}");
}
