//! Weather and heat balance: what is read, what is refused.

use std::fs;

use marshgas::case::TemperatureCourse;
use marshgas::scenario::from_value;
use marshgas::thermal::{Meets, Sun};
use serde_json::{Value, json};

use crate::support::{complaint, complaints, loaded, warnings, with};

const HEAT: &str = "vessels[0].temperature";

fn heat(change: impl Fn(&mut Value)) -> Value {
    let mut heat = json!({"heat": {
        "start_c": 20,
        "shape": {"tote": {"length_cm": 120, "width_cm": 100, "height_cm": 100}},
        "foam_cm": 5
    }});
    change(&mut heat["heat"]);
    heat
}

fn climate() -> Value {
    json!({"air": {"wave": {"mean_c": 9, "yearly_swing_k": 9, "hottest_day_of_year": 203, "daily_swing_k": 4}}})
}

#[test]
fn weather_and_walls_reach_the_case() {
    let loaded = loaded(&[
        ("climate", climate()),
        (
            HEAT,
            heat(|h| {
                h["buried_cm"] = json!(40);
                h["sun"] = json!({"area_m2": 0.5, "glazed": true});
            }),
        ),
    ]);
    let vessel = &loaded.case.vessels[0];
    let heat = vessel.heat.as_ref().unwrap();
    assert_eq!(heat.start_c, 20.0);
    let weather = &heat.surroundings.weather;
    // The soil follows the air where nothing else is said.
    assert_eq!((weather.soil.mean_c, weather.soil.swing_k), (9.0, 9.0));
    let faces = &heat.surroundings.envelope.faces;
    let below: f64 = faces
        .iter()
        .filter(|f| matches!(f.meets, Meets::Soil { .. }))
        .map(|f| f.area_m2)
        .sum();
    assert!((below - (4.4 * 0.4 + 1.2)).abs() < 1e-9, "{below}");
    // The first course goes from the start towards the weather.
    let TemperatureCourse::Table(course) = &vessel.temperature else {
        panic!("a table");
    };
    assert_eq!(course.len(), 101);
    assert_eq!(course[0], (0.0, 20.0));
}

#[test]
fn a_heat_balance_needs_the_weather_and_says_so_with_all_else() {
    assert_eq!(
        complaints(&[(
            HEAT,
            heat(|h| {
                h["foam_cm"] = json!(-1);
                h["shape"] = Value::Null;
                h["heater"] =
                    json!({"power_w": 100, "set_c": 90, "source": "mains", "efficiency_pct": 80});
            })
        )])
        .iter()
        .map(|c| c
            .split(' ')
            .next()
            .unwrap_or("")
            .trim_end_matches(':')
            .to_owned())
        .collect::<std::collections::BTreeSet<_>>(),
        [
            "climate",
            "vessels[0].temperature.heat.foam_cm",
            "vessels[0].temperature.heat.heater.efficiency_pct",
            "vessels[0].temperature.heat.heater.set_c",
            "vessels[0].temperature.heat.shape",
        ]
        .map(str::to_owned)
        .into()
    );
}

#[test]
fn unknown_keys_bring_the_nearest() {
    let told = complaint(&[
        ("climate", climate()),
        (HEAT, heat(|h| h["foam_mm"] = json!(50))),
    ]);
    assert!(told.contains("Did you mean \"foam_cm\"?"), "{told}");
    let mut odd = climate();
    odd["wind_m_per_sec"] = json!(2);
    let told = complaint(&[("climate", odd), (HEAT, heat(|_| {}))]);
    assert!(told.contains("Did you mean \"wind_m_per_s\"?"), "{told}");
}

#[test]
fn doubtful_things_are_warned_of() {
    let warned = warnings(&[("climate", climate())]);
    assert!(
        warned.iter().any(|w| w.starts_with("climate: No vessel")),
        "{warned:?}"
    );
    let warned = warnings(&[
        ("climate", climate()),
        (
            HEAT,
            heat(|h| {
                h["shape"] = json!({"drum": {"diameter_cm": 58, "height_cm": 88}});
            }),
        ),
    ]);
    assert!(
        warned.iter().any(|w| w.contains("This shape holds 233 L")),
        "{warned:?}"
    );
}

#[test]
fn weather_from_a_table() {
    let folder = tempfile::tempdir().unwrap();
    let read = |text: &str| {
        fs::write(folder.path().join("w.csv"), text).unwrap();
        let scenario = with(&[
            (
                "climate",
                json!({"air": {"table": {"file": "w.csv"}}, "soil": {"mean_c": 9}}),
            ),
            (HEAT, heat(|_| {})),
        ]);
        from_value(&scenario, "s.json", Some(folder.path()))
    };
    let daily =
        read("day,air_c,sun_kwh_per_m2_d,wind_m_per_s\n0,4,2,1\n1,6,3,2\n99,5,2,1\n").unwrap();
    let heat = daily.case.vessels[0].heat.as_ref().unwrap();
    let weather = &heat.surroundings.weather;
    // Daily rows stand for the middle of their day.
    assert_eq!(weather.air.at(1.0).0, 5.0);
    assert_eq!(weather.wind.at(1.5).0, 2.0);
    assert!(matches!(weather.sun, Sun::Daily(_)));
    let hourly = read(
        "date,hour,air_c,sun_w_per_m2\n2026-03-01,0,4,0\n2026-03-01,6,10,300\n2026-06-09,0,5,0\n",
    )
    .unwrap();
    let weather = &hourly.case.vessels[0]
        .heat
        .as_ref()
        .unwrap()
        .surroundings
        .weather;
    assert!((weather.air.at(0.125).0 - 7.0).abs() < 1e-12);
    assert!((weather.at(0.25).sun.0 - 300.0).abs() < 1e-9);
    let told = read("day,air_c,wind_m_per_sec\n0,4,1\n99,5,1\n")
        .unwrap_err()
        .to_string();
    assert!(told.contains("Did you mean \"wind_m_per_s\"?"), "{told}");
    let told = read("day,air_c\n0,4\n1,99\n").unwrap_err().to_string();
    assert!(told.contains("99 C cannot be taken"), "{told}");
}

#[test]
fn the_soil_has_a_phase_or_none_is_taken() {
    let constant = |soil: Value| {
        [
            ("climate", json!({"air": {"constant_c": 9}, "soil": soil})),
            (HEAT, heat(|_| {})),
        ]
    };
    let told = complaint(&constant(json!({"mean_c": 9, "yearly_swing_k": 8})));
    assert!(
        told.contains("climate.soil.hottest_day_of_year") && told.contains("warmest"),
        "{told}"
    );
    let soil = |climate: &[(&str, Value)]| {
        let case = loaded(climate).case;
        case.vessels[0]
            .heat
            .clone()
            .unwrap()
            .surroundings
            .weather
            .soil
    };
    let given = soil(&constant(
        json!({"mean_c": 9, "yearly_swing_k": 8, "hottest_day_of_year": 213}),
    ));
    // The run begins on 1 March, day 60.
    assert_eq!((given.swing_k, given.hottest_day), (8.0, 153.0));
    assert_eq!(soil(&constant(json!({}))).swing_k, 0.0);
    // Its own day goes before that of the air.
    let mut later = climate();
    later["soil"] = json!({"hottest_day_of_year": 230});
    assert_eq!(
        soil(&[("climate", later), (HEAT, heat(|_| {}))]).hottest_day,
        170.0
    );
    let points = json!({"air": {"points": [{"day": 0, "temperature_c": 3}, {"day": 99, "temperature_c": 15}]},
        "soil": {"mean_c": 9}});
    let warned = warnings(&[("climate", points), (HEAT, heat(|_| {}))]);
    assert!(
        warned.iter().any(|w| w.contains("only the mean is given")),
        "{warned:?}"
    );
}

#[test]
fn a_sunny_face_fits_into_the_largest_face_in_the_air() {
    let told = |area: f64, buried: f64| {
        complaint(&[
            ("climate", climate()),
            (
                HEAT,
                heat(|h| {
                    h["sun"] = json!({"area_m2": area});
                    h["buried_cm"] = json!(buried);
                }),
            ),
        ])
    };
    // Sides of 4.4 m2 and a top of 1.2 m2.
    assert_eq!(told(4.4, 0.0), "");
    assert!(told(4.5, 0.0).contains("up to 4.40 m2"));
    assert_eq!(told(1.1, 90.0), "");
    assert!(told(1.3, 90.0).contains("up to 1.20 m2"));
}

#[test]
fn an_upright_face_takes_the_sun_of_its_latitude() {
    let sunny = |latitude: Value| {
        let mut climate = climate();
        climate["sun"] = json!({"mean_kwh_per_m2_d": 2.9, "yearly_swing_kwh_per_m2_d": 2.1});
        climate["latitude_deg"] = latitude;
        climate
    };
    let upright = |more: fn(&mut Value)| {
        heat(move |h| {
            h["sun"] = json!({"area_m2": 0.5, "upright": true});
            more(h);
        })
    };
    let sun = |latitude: f64, upright: bool| {
        let case = loaded(&[
            ("climate", sunny(json!(latitude))),
            (
                HEAT,
                heat(|h| h["sun"] = json!({"area_m2": 0.5, "upright": upright})),
            ),
        ])
        .case;
        let heat = case.vessels[0].heat.as_ref().unwrap();
        // The 20th day from 1 March, the equinox: the sun rises and sets in the east and the west.
        heat.surroundings.weather.at(20.5).sun.0
    };
    let level = sun(48.0, false);
    let ratio = |latitude: f64| sun(latitude, true) / level;
    // By hand, even sky: tan 48 = 1.11 of the beam, half of the diffuse share of 0.5, a tenth from the ground.
    assert!(
        (ratio(48.0) - (0.5 * 1.11 + 0.25 + 0.1)).abs() < 0.06,
        "{}",
        ratio(48.0)
    );
    assert!(ratio(20.0) < ratio(35.0) && ratio(35.0) < ratio(55.0));
    // What it cannot go with is told.
    let told = |climate: Value, heat: Value, more: &[(&str, Value)]| {
        let mut changes = vec![("climate", climate), (HEAT, heat)];
        changes.extend_from_slice(more);
        complaints(&changes).join(" ")
    };
    let none = |_: &mut Value| {};
    assert!(told(climate(), upright(none), &[]).contains("latitude_deg"));
    assert!(told(sunny(json!(70)), upright(none), &[]).contains("-60 to 60"));
    assert!(
        told(
            sunny(json!(48)),
            upright(none),
            &[("start_date", Value::Null)]
        )
        .contains("start_date")
    );
    let house = |h: &mut Value| h["greenhouse"] = json!({"cover_m2": 8, "floor_m2": 2});
    assert!(told(sunny(json!(48)), upright(house), &[]).contains("greenhouse"));
}

#[test]
fn keys_without_effect_are_refused() {
    let told = |shape: Value, key: &str| {
        complaint(&[
            ("climate", climate()),
            (
                HEAT,
                heat(|h| {
                    h["shape"] = shape.clone();
                    h[key] = match key {
                        "stands_on" => json!("air"),
                        _ => json!(5),
                    };
                }),
            ),
        ])
    };
    let bag = json!({"bag": {"length_cm": 200, "diameter_cm": 80}});
    let own = json!({"surfaces": [{"area_m2": 5}]});
    for (shape, key) in [
        (&bag, "foam_top_cm"),
        (&bag, "foam_bottom_cm"),
        (&bag, "stands_on"),
        (&bag, "soil_w_per_m_k"),
        (&own, "foam_top_cm"),
        (&own, "buried_cm"),
        (&own, "stands_on"),
    ] {
        let told = told(shape.clone(), key);
        assert!(told.contains("would change nothing"), "{key}: {told}");
    }
    assert_eq!(told(bag, "buried_cm"), "");
}

#[test]
fn a_greenhouse_goes_over_its_vessel() {
    let told = |cover: f64| {
        complaint(&[
            ("climate", climate()),
            (
                HEAT,
                heat(|h| h["greenhouse"] = json!({"cover_m2": cover, "floor_m2": 1})),
            ),
        ])
    };
    // 5.6 m2 of sides and top; half of it against a wall.
    assert_eq!(told(3.0), "");
    assert!(told(2.0).contains("2.8 m2 or more"), "{}", told(2.0));
}

#[test]
fn a_heater_may_be_on_in_some_months_and_then_needs_a_date() {
    let seasonal = |months: Value| {
        heat(|h| {
            h["heater"] = json!({"power_w": 200, "set_c": 30, "source": "mains", "months": months});
        })
    };
    let loaded = loaded(&[
        ("climate", climate()),
        ("start_date", json!("2026-03-01")),
        (HEAT, seasonal(json!(["april", 5]))),
    ]);
    let surroundings = &loaded.case.vessels[0].heat.as_ref().unwrap().surroundings;
    let on = |day: f64| surroundings.heater.as_ref().unwrap().on.at(day).0;
    // March has 31 days, April and May 61: off, on over the first of April, off over the first of June.
    for (day, share) in [
        (0.0, 0.0),
        (30.9, 0.0),
        (31.5, 0.5),
        (32.0, 1.0),
        (91.9, 1.0),
        (92.5, 0.5),
        (93.0, 0.0),
    ] {
        assert!((on(day) - share).abs() < 1e-9, "{day}: {}", on(day));
    }
    assert!(surroundings.knots().contains(&31.0));
    let told = complaints(&[
        ("climate", climate()),
        ("start_date", Value::Null),
        (HEAT, seasonal(json!([4]))),
    ]);
    assert!(
        told.iter()
            .any(|c| c.contains("heater.months") && c.contains("start_date")),
        "{told:?}"
    );
}
