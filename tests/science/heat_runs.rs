//! Heat balance in whole runs: exact Jacobian, closed books, what foam and heater do.

use std::sync::Arc;

use marshgas::digester::{Engine, HeatBalance, Plumbing, Tank, TemperatureCourse, Wave};
use marshgas::kinetics::{Parameters, adm1, four_stage};
use marshgas::scenario;
use marshgas::simulate::{HeatDay, Outcome, run};
use marshgas::thermal::{
    Envelope, Face, HeatSource, Heater, Meets, SoilWave, Sun, Sunlit, Surroundings, Weather,
};
use serde_json::{Value, json};

use crate::engine_jacobian::{check, check_time_derivative};
use crate::table::assert_absolute;

/// Everything at once: wind and sun that change, ground, sun, heater near its set point.
fn surroundings() -> Surroundings {
    let face = |name: &str, meets, sunlit| Face {
        name: name.into(),
        area_m2: 1.7,
        resistance: 0.4,
        meets,
        sunlit,
    };
    let sun = Sunlit {
        area_m2: 0.6,
        absorptance: 0.9,
        transmittance: 0.8,
        glazing: 0.17,
    };
    Surroundings {
        weather: Weather {
            air: TemperatureCourse::Wave(Wave {
                mean_c: 9.0,
                yearly_swing_k: 9.0,
                hottest_day: 100.0,
                daily_swing_k: 4.0,
                hottest_hour: 15.0,
            }),
            sun: Sun::Daily(TemperatureCourse::Table(vec![(0.0, 2.0), (9.0, 5.0)])),
            wind: TemperatureCourse::Table(vec![(0.0, 0.5), (9.0, 4.0)]),
            soil: SoilWave::new(10.0, 8.0, 110.0, 0.05),
            latitude_deg: None,
        },
        envelope: Envelope {
            faces: vec![
                face("side", Meets::Air, None),
                face("sunny", Meets::Air, Some(sun)),
                face("below", Meets::Soil { depth_m: 0.7 }, None),
            ],
            greenhouse: None,
        },
        heater: Some(Heater {
            power_w: 250.0,
            set_c: 28.0,
            band_k: 2.0,
            source: HeatSource::Mains,
            on: TemperatureCourse::Table(vec![(0.0, 0.4), (30.0, 1.0)]),
        }),
    }
}

fn tank(network: marshgas::kinetics::Network, davies: bool) -> Tank {
    let incoming: Vec<f64> = (0..network.components.len())
        .map(|i| 0.01 * (i + 1) as f64)
        .collect();
    let plumbing = Plumbing {
        kla: 20.0,
        ambient_bar: 1.013,
        back_pressure_bar: 0.008,
        pipe: 500.0,
        returns: false,
        leak: 0.01,
        inflow: Some((0.02, incoming)),
        held_back: 0.3,
    };
    let balance = HeatBalance::new(&network, surroundings(), 12.0);
    Tank::new(
        Arc::new(Engine::new(network, davies)),
        plumbing,
        TemperatureCourse::Constant(20.0),
        0.8,
        0.2,
    )
    .with_heat(balance)
}

#[test]
fn jacobian_with_heat_is_exact() {
    check(tank(four_stage(&Parameters::four_stage()).unwrap(), true));
    check(tank(adm1(&Parameters::adm1()).unwrap(), false));
}

#[test]
fn time_derivative_with_heat_is_exact() {
    let t = tank(four_stage(&Parameters::four_stage()).unwrap(), true);
    check_time_derivative(t, 1e-6);
}

fn scenario(change: impl Fn(&mut Value)) -> Value {
    let mut value = json!({
        "title": "x", "start_date": "2026-03-01", "days": 60,
        "climate": {"air": {"wave": {"mean_c": 10, "yearly_swing_k": 9, "hottest_day_of_year": 203,
                                     "daily_swing_k": 5}},
                    "sun": {"mean_kwh_per_m2_d": 3, "yearly_swing_kwh_per_m2_d": 2}},
        "vessels": [{"liquid_l": 200, "headspace_l": 30, "temperature": {"heat": {
            "start_c": 20, "foam_cm": 5,
            "shape": {"drum": {"diameter_cm": 58, "height_cm": 88}}}}}],
        "starter": {"materials": [{"material": "cattle-slurry", "kg": 100}], "water_l": 90},
        "recipes": {"r": {"materials": [{"material": "cattle-dung", "kg": 1}], "water_l": 2}},
        "feeding": [{"daily": {"recipe": "r", "from_day": 10}}]
    });
    change(&mut value);
    value
}

fn computed(value: &Value) -> Outcome {
    let loaded = scenario::from_text(&value.to_string(), "x.json", None).unwrap();
    run(&loaded.case, &mut |_| {}).unwrap()
}

fn heat(o: &Outcome) -> &[HeatDay] {
    &o.vessels[0].heat.as_ref().unwrap().days
}

/// A day's flows are what the liquor holds more.
fn assert_closed(d: &HeatDay, vessel: &str) {
    let flows = d.air_kwh
        + d.ground_kwh
        + d.sun_kwh
        + d.heater_kwh
        + d.evaporation_kwh
        + d.reaction_kwh
        + d.feed_kwh;
    assert_absolute(
        flows,
        d.stored_kwh,
        1e-5,
        &format!("{vessel} day {}", d.day),
    );
}

/// Each day's flows are what the liquor holds more; the run's books close.
#[test]
fn heat_closes_in_a_row_of_vessels_with_everything() {
    let o = computed(&scenario(|v| {
        let mut second = v["vessels"][0].clone();
        v["vessels"][0]["name"] = json!("first");
        second["name"] = json!("second");
        second["short_circuit_pct"] = json!(20);
        let h = &mut v["vessels"][0]["temperature"]["heat"];
        h["buried_cm"] = json!(30);
        h["sun"] = json!({"area_m2": 0.2, "glazed": true});
        h["heater"] = json!({"power_w": 200, "set_c": 30, "source": "own-gas"});
        h["feed_c"] = json!(40);
        v["vessels"].as_array_mut().unwrap().push(second);
        v["starter"] =
            json!({"materials": [{"material": "cattle-slurry", "kg": 200}], "water_l": 190});
    }));
    let closure = o.closures.iter().find(|c| c.quantity == "heat").unwrap();
    println!("{closure:?}");
    assert!(closure.relative_gap <= 1e-6);
    for vessel in &o.vessels {
        for d in &vessel.heat.as_ref().unwrap().days {
            assert_closed(d, &vessel.name);
        }
    }
}

/// A feed as cold as the air cools the liquor also while the vessel still fills, and the books of each day close then.
#[test]
fn a_cold_feed_cools_a_vessel_that_fills() {
    let o = computed(&scenario(|v| {
        v["start_date"] = json!("2026-06-01");
        v["vessels"][0]["temperature"]["heat"]["feed_c"] = json!(5);
        v["starter"] =
            json!({"materials": [{"material": "cattle-slurry", "kg": 80}], "water_l": 20});
    }));
    let fed: Vec<&HeatDay> = heat(&o).iter().filter(|d| d.feed_kwh != 0.0).collect();
    // From day 10 to the end; 100 L take 33 days of 3 L to fill the rest.
    assert_eq!(fed.len(), 50);
    for d in &fed {
        assert!(d.liquor_c > 6.0 && d.feed_kwh < 0.0, "day {}: {d:?}", d.day);
    }
    for d in heat(&o) {
        assert_closed(d, "the vessel");
    }
    let closure = o.closures.iter().find(|c| c.quantity == "heat").unwrap();
    assert!(closure.relative_gap <= 1e-6, "{closure:?}");
}

/// Heat of reaction: at most 0.51 kWh per m3 of methane at 20 C (glucose, from combustion heats); dung gives less, and
/// more than nothing.
#[test]
fn self_heating_stays_below_that_of_glucose() {
    let o = computed(&scenario(|v| {
        v["feeding"] = json!([]);
        v["vessels"][0]["temperature"]["heat"]["heater"] =
            json!({"power_w": 200, "set_c": 35, "source": "mains"});
    }));
    let days = &heat(&o)[5..];
    let made: f64 = days.iter().map(|d| d.reaction_kwh).sum();
    let nl: f64 = o.vessels[0].days[5..].iter().map(|d| d.ch4_nl).sum();
    let per_m3 = made / (nl / 1000.0 * 293.15 / 273.15);
    println!("heat of reaction {per_m3:.3} kWh per m3 of methane at 20 C");
    assert!((0.0..0.51).contains(&per_m3), "{per_m3}");
}

#[test]
fn foam_slows_and_a_heater_holds() {
    let with = |foam: f64, heated: bool| {
        computed(&scenario(|v| {
            let h = &mut v["vessels"][0]["temperature"]["heat"];
            h["foam_cm"] = json!(foam);
            if heated {
                h["heater"] = json!({"power_w": 400, "set_c": 33, "source": "mains"});
            }
        }))
    };
    let (bare, foamed, held) = (with(0.0, false), with(10.0, false), with(10.0, true));
    let spread = |o: &Outcome| {
        let last: Vec<f64> = o.vessels[0]
            .trace
            .iter()
            .filter(|p| p.t_d > 50.0)
            .map(|p| p.temperature_c)
            .collect();
        let day = |i: usize| &last[i..(i + 8).min(last.len())];
        (0..last.len())
            .step_by(8)
            .map(|i| {
                day(i).iter().fold(f64::NEG_INFINITY, |m: f64, v| m.max(*v))
                    - day(i).iter().fold(f64::INFINITY, |m: f64, v| m.min(*v))
            })
            .fold(0.0, f64::max)
    };
    assert!(
        spread(&bare) > 3.0 * spread(&foamed),
        "{} {}",
        spread(&bare),
        spread(&foamed)
    );
    // After twenty days the bare drum is as cold as the air, the lagged one not yet.
    let d = 19;
    assert!(heat(&bare)[d].liquor_c < heat(&foamed)[d].liquor_c);
    for day in &heat(&held)[20..] {
        assert_absolute(day.liquor_c, 33.0, 0.8, "held");
    }
    // What the heater gives is what is lost.
    let lost: f64 = heat(&held)[20..]
        .iter()
        .map(|d| -(d.air_kwh + d.ground_kwh))
        .sum();
    let given: f64 = heat(&held)[20..].iter().map(|d| d.heater_kwh).sum();
    assert!(
        given > lost,
        "feed and evaporation take their part: {given} {lost}"
    );
}

/// Before a knot of a given course the liquor stands where the course stands, whatever the tolerance: no stage of the step that
/// ends there sees the slope beyond.
#[test]
fn a_given_course_is_kept_up_to_its_knots() {
    let knots = [(0.0, 20.0), (1.03, 41.0), (2.2, 8.0), (3.7, 30.0)];
    let points: Vec<Value> = (knots.iter())
        .map(|(day, c)| json!({"day": day, "temperature_c": c}))
        .collect();
    for tolerance in [1e-2, 1e-4] {
        let file =
            std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/warm-tote.json");
        let mut scenario: Value =
            serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
        scenario["days"] = json!(4);
        scenario["feeding"] = json!([]);
        scenario["vessels"][0]["temperature"] = json!({"points": points});
        scenario["solver"] = json!({"relative_tolerance": tolerance});
        let case = scenario::from_value(&scenario, "knots.json", None)
            .unwrap()
            .case;
        let outcome = run(&case, &mut |_| {}).unwrap();
        let trace = &outcome.vessels[0].trace;
        for (day, celsius) in &knots[1..] {
            let at: Vec<f64> = trace
                .iter()
                .filter(|p| (p.t_d - day).abs() < 1e-9)
                .map(|p| p.temperature_c)
                .collect();
            assert!(!at.is_empty(), "day {day} is told");
            for c in at {
                assert!((c - celsius).abs() < 1e-6, "{tolerance}: day {day}: {c}");
            }
        }
    }
}
