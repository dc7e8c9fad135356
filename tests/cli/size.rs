//! `marshgas size` as a user meets it.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::{marshgas, outcome, stderr, stdout};

/// A family's kitchen scraps in a hot place: a small grid.
pub(super) fn family(hours: f64) -> Value {
    json!({
        "title": "A family's scraps",
        "climate": "hot",
        "scraps": [{"material": "kitchen-scraps", "kg_per_day": 0.87}],
        "target": {"burner_hours_per_day": hours},
        "builder": {"unit_sizes_l": [100, 200], "most_units": 2, "foam_cm": [5], "sun": ["none"], "buried_cm": [0], "heater": "none"}
    })
}

/// One tote held at 35 C in a cold yard.
fn cold_tote(foam_cm: f64, target: Value) -> Value {
    json!({
        "climate": "cold-inland",
        "scraps": [
            {"material": "kitchen-scraps", "kg_per_day": 3},
            {"material": "cattle-dung", "kg_per_day": 1.5}
        ],
        "target": target,
        "builder": {
            "unit_sizes_l": [1000], "most_units": 1, "foam_cm": [foam_cm], "sun": ["none"], "buried_cm": [0],
            "heater": "own-gas", "set_c": [35]
        }
    })
}

pub(super) fn file(room: &Path, wish: &Value) -> PathBuf {
    let path = room.join("wish.json");
    fs::write(&path, format!("{wish:#}")).unwrap();
    path
}

pub(super) fn sized(wish: &Value, more: &[&str]) -> Value {
    let room = tempfile::tempdir().unwrap();
    let path = file(room.path(), wish);
    let mut words = vec![
        "size",
        path.to_str().unwrap(),
        "--no-files",
        "--json",
        "--draws",
        "8",
    ];
    words.extend(more);
    serde_json::from_str::<Value>(&stdout(&words)).unwrap()["size"].clone()
}

pub(super) fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("{value} is no number"))
}

fn litres(found: &Value) -> f64 {
    let plant = &found["plant"]["tried"]["plant"];
    number(&plant["unit_l"]) * number(&plant["units"])
}

#[test]
fn the_family_of_four_gets_about_twenty_minutes_of_flame() {
    let found = sized(&family(0.3), &[]);
    assert_eq!(found["verdict"], "met");
    let tried = &found["plant"]["tried"];
    let months = tried["months"].as_array().unwrap();
    let full = months
        .iter()
        .find(|m| m["feed"]["bound"] == "scraps")
        .expect("a month in which all of it is fed");
    // Published chain: 0.87 kg/d of 20 % volatile solids at 0.6 m3/kg give 0.10 m3, 0.56 kWh, 20 minutes of a burner of
    // 0.3 m3/h. The library's scraps hold more solids, so the gas is compared for each kilogram of these; the chain
    // rounds a yield that is uncertain by a quarter.
    let vs_kg = number(&full["feed"]["loading"]) * litres(&found) * 0.8 / 1000.0;
    let m3_per_kg = number(&full["gas_l_d"]) / 1000.0 / vs_kg;
    assert!((m3_per_kg / 0.6 - 1.0).abs() < 0.25, "{m3_per_kg} m3/kg VS");
    let minutes = 60.0 * number(&full["net_kwh_d"]) / number(&found["energy"]["burner_kw"]);
    let published = 20.0 * vs_kg / (0.87 * 0.2);
    assert!(
        (minutes / published - 1.0).abs() < 0.25,
        "{minutes} against {published}"
    );
}

#[test]
fn what_is_proposed_keeps_every_limit() {
    let mut wish = family(0.3);
    wish["scraps"] = json!([
        {"material": "kitchen-scraps", "kg_per_day": [2, 2, 2, 2, 2, 1, 1, 1, 2, 2, 2, 2]},
        {"material": "cattle-dung", "kg_per_day": 2}
    ]);
    wish["builder"]["water_l_per_day"] = json!(3);
    wish["builder"]["most_units"] = json!(4);
    let found = sized(&wish, &[]);
    assert_eq!(found["verdict"], "met");
    let proof = &found["plant"];
    let tried = &proof["tried"];
    assert_eq!(tried["breaches"], json!([]));
    assert!(number(&tried["reach"]) >= 0.3);
    assert!(number(&tried["plant"]["units"]) <= 4.0);
    assert!(number(&proof["sureness"]["share"]) >= 0.75);
    assert_eq!(proof["margin"]["kept"], true);
    for (i, month) in tried["months"].as_array().unwrap().iter().enumerate() {
        let feed = &month["feed"];
        let there = if (5..8).contains(&i) { 3.0 } else { 4.0 };
        assert!(number(&feed["kg_per_day"]) <= there + 1e-9, "{month}");
        assert!(number(&feed["water_l_per_day"]) <= 3.0 + 1e-9, "{month}");
        // The lines at the run's own temperatures.
        assert!(
            number(&feed["loading"]) <= number(&month["loading_line"]),
            "{month}"
        );
        assert!(number(&feed["loading"]) < 1.5, "{month}");
        assert!(
            number(&feed["retention_d"]) >= number(&month["retention_line_d"]),
            "{month}"
        );
        assert!(number(&month["net_kwh_d"]) >= 0.3 * 1.5, "{month}");
    }
}

#[test]
fn a_smaller_wish_needs_no_larger_plant() {
    let volumes: Vec<f64> = [0.05, 0.15, 0.3]
        .iter()
        .map(|hours| litres(&sized(&family(*hours), &[])))
        .collect();
    assert!(volumes.windows(2).all(|w| w[0] <= w[1]), "{volumes:?}");
    assert!(volumes[0] < volumes[2], "{volumes:?}");
}

#[test]
fn a_bare_tote_at_35_in_a_cold_yard_cannot_pay_for_its_heat() {
    let found = sized(&cold_tote(0.0, json!({"burner_hours_per_day": 0.5})), &[]);
    assert_eq!(found["verdict"], "cannot-be-met");
    let warm = &found["alternatives"][1]["tried"];
    assert_eq!(warm["plant"]["set_c"], 35.0);
    let share = number(&warm["breaches"][0]["unaffordable"]["share"]);
    // 8.5 times the gas at 5 C and one volume of gas a day (worked case of a 1 m3 tote); here it is colder, windier and
    // fed less.
    assert!(share > 8.5, "{share}");
    // Steady balance by hand: films, wall of 4 mm and wind of 2 m/s on the box of 120 x 100 x 83 cm, boiler of 80 %.
    let january = &warm["months"][0];
    let u = 1.0 / (1.0 / 100.0 + 0.004 / 0.45 + 1.0 / (5.7 + 3.8 * 2.0));
    let height = 1.0 / 1.2;
    let area = 2.0 * (1.2 + 1.2 * height + height);
    let kwh = u * area * (35.0 - number(&january["air_c"])) * 0.024 / 0.8;
    let computed = number(&january["heating_kwh_d"]);
    assert!(
        (computed / kwh - 1.0).abs() < 0.1,
        "{computed} against {kwh}"
    );
}

#[test]
fn what_cannot_be_met_is_a_result_and_says_what_there_is() {
    let room = tempfile::tempdir().unwrap();
    let wish = cold_tote(10.0, json!({"winter_kwh": 100, "winter_as": "current"}));
    let path = file(room.path(), &wish);
    let told = stdout(&["size", path.to_str().unwrap(), "--no-files", "--draws", "8"]);
    let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "The wish cannot be met",
        "Your scraps hold",
        "kWh of it as current",
        "No limit was relaxed",
        "licensed",
    ] {
        assert!(flat.contains(words), "{words}: {told}");
    }
}

/// Fruit alone, sour and poor in nitrogen, in a place that is always warm.
fn fruit(target: &Value) -> Value {
    json!({
        "climate": {"air": {"constant_c": 33}},
        "scraps": [{"material": "fruit-waste", "kg_per_day": 20}],
        "target": target,
        "builder": {
            "unit_sizes_l": [500], "most_units": 1, "foam_cm": [0], "sun": ["none"], "buried_cm": [0], "heater": "none"
        }
    })
}

#[test]
fn a_plant_too_close_to_souring_is_not_proposed() {
    let wish = fruit(&json!({"treat_kg_per_day": 1.7}));
    let found = sized(&wish, &[]);
    assert_eq!(found["verdict"], "unsure");
    let proof = &found["plant"];
    let share = number(&proof["tried"]["breaches"][0]["limit"]["share"]);
    assert!((0.5..1.0).contains(&share), "{share}");
    let margin = &proof["margin"];
    let by_hand = number(&margin["kg_per_day"]) / number(&margin["limit_kg_per_day"]);
    assert!(
        (share / by_hand - 1.0).abs() < 1e-9 && margin["kept"] == false,
        "{margin}"
    );
    let room = tempfile::tempdir().unwrap();
    let path = file(room.path(), &wish);
    let told = stdout(&["size", path.to_str().unwrap(), "--no-files", "--draws", "8"]);
    let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "The wish cannot be met with the margins asked for",
        "at most 50 % of the souring limit",
        "It is not proposed for building: fed at 5",
        "Not proposed for building: fed at 5",
        "the model turns it sour at 3.3 kg",
        "No limit was relaxed",
    ] {
        assert!(flat.contains(words), "{words}: {told}");
    }
}

#[test]
fn where_souring_stands_against_it_less_is_fed() {
    let found = sized(&fruit(&json!({"burner_hours_per_day": 0.15})), &[]);
    assert_eq!(
        found["verdict"], "met",
        "{}",
        found["plant"]["tried"]["breaches"]
    );
    let share = number(&found["effort"]["line_share"]);
    assert!(share < 1.0, "{share}");
    for month in found["plant"]["tried"]["months"].as_array().unwrap() {
        let loading = number(&month["feed"]["loading"]);
        assert!(loading <= share * number(&month["loading_line"]), "{month}");
    }
    assert_eq!(found["plant"]["margin"]["kept"], true);
}

#[test]
fn a_target_that_too_few_draws_reach_is_not_promised() {
    let mut wish = family(0.1);
    let reach = number(&sized(&wish, &[])["plant"]["tried"]["reach"]);
    wish["builder"]["unit_sizes_l"] = json!([100]);
    wish["builder"]["most_units"] = json!(1);
    let most = number(&sized(&wish, &[])["plant"]["tried"]["reach"]);
    assert!(most <= reach * (1.0 + 1e-9));
    wish["target"] = json!({"burner_hours_per_day": 0.99 * most});
    wish["chance_pct"] = json!(99);
    let found = sized(&wish, &[]);
    assert_eq!(found["verdict"], "unsure");
    let chance = number(&found["plant"]["tried"]["breaches"][0]["chance"]["share"]);
    assert!(chance < 0.99 && chance == number(&found["plant"]["sureness"]["share"]));
}

#[test]
fn a_mass_to_treat_finds_the_foam_that_pays_for_its_heat() {
    // Without foam the heater asks for more gas than there is, though as much is fed.
    let found = sized(
        &json!({
            "climate": "warm",
            "scraps": [
                {"material": "kitchen-scraps", "kg_per_day": 5},
                {"material": "cattle-dung", "kg_per_day": 10}
            ],
            "target": {"treat_kg_per_day": 10},
            "builder": {
                "unit_sizes_l": [500, 1500], "most_units": 1, "foam_cm": [0, 10], "sun": ["none"], "buried_cm": [0],
                "set_c": [30]
            }
        }),
        &[],
    );
    assert_eq!(found["verdict"], "met");
    assert_eq!(found["plant"]["tried"]["plant"]["foam_cm"], 10.0);
    assert_eq!(litres(&found), 1500.0);
}

#[test]
fn the_store_is_run_hour_by_hour() {
    let mut wish = family(0.25);
    for pause in [4.0, 14.0, 60.0] {
        wish["hours_without_use"] = json!(pause);
        let found = sized(&wish, &[]);
        let (store, hourly) = (&found["store"], &found["hourly"]);
        assert!(hourly.is_object(), "{}", found["hourly_failed"]);
        // What is made within the pause fits, as the day's figures have it.
        let by_day = number(&store["gas_l_d"]) * pause / 24.0;
        assert!((number(&hourly["by_day_l"]) / by_day - 1.0).abs() < 1e-9);
        assert!(number(&store["volume_l"]) >= by_day * (1.0 - 1e-9));
        assert!(number(&hourly["overflow"]) <= 0.01, "{hourly}");
        assert!(number(&hourly["overflow_by_day"]) >= number(&hourly["overflow"]));
        let wished = &hourly["wished"];
        // A quarter of an hour a day.
        let asked = number(&wished["asked_h"]);
        assert!((asked / (0.25 * 365.0) - 1.0).abs() < 0.02, "{asked}");
        assert!((0.0..=asked).contains(&number(&wished["short_h"])));
    }
}

#[test]
fn the_same_for_any_number_of_threads() {
    let with = |threads: &str| {
        let mut found = sized(&family(0.3), &["--threads", threads]);
        // The wish lies in a folder of its own each time.
        found["wish"]["file"] = Value::Null;
        found
    };
    assert!(with("1") == with("3"));
}

#[test]
fn writes_a_report_and_a_plant_that_runs() {
    let room = tempfile::tempdir().unwrap();
    let path = file(room.path(), &family(0.3));
    let out = room.path().join("far");
    let words = [
        "size",
        path.to_str().unwrap(),
        "--draws",
        "8",
        "--out",
        out.to_str().unwrap(),
    ];
    let told = stdout(&words);
    assert!(told.contains("The smallest plant"), "{told}");
    let mut names: Vec<String> = fs::read_dir(&out)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "months.svg",
            "plant.json",
            "report.html",
            "size.json",
            "trade.svg"
        ]
    );
    let plant = out.join("plant.json");
    let (status, _, err) = outcome(&mut marshgas(&[
        "run",
        plant.to_str().unwrap(),
        "--no-files",
    ]));
    assert_eq!(status, 0, "{err}");
    let words = ["season", plant.to_str().unwrap(), "--no-files", "--json"];
    let season: Value = serde_json::from_str(&stdout(&words)).unwrap();
    let found: Value = serde_json::from_slice(&fs::read(out.join("size.json")).unwrap()).unwrap();
    // The hours that the sheet counts are those that the search counted; all units are alike.
    let wished = &found["size"]["hourly"]["wished"];
    let judged = season["season"]["days"].as_array().unwrap();
    let judged = &judged[judged.len() - 365..];
    let asked: f64 = judged.iter().map(|d| number(&d["wanted_h"])).sum();
    let over: f64 = judged.iter().map(|d| number(&d["overflow_hours"])).sum();
    assert!((asked - number(&wished["asked_h"])).abs() < 1e-6);
    assert_eq!(over, number(&wished["overflow_hours"]));
    // The bell that is proposed is right for it, and the beds are the same.
    assert_eq!(season["season"]["margin_hours"], 0);
    assert_eq!(season["season"]["suction_hours"], 0);
    let words = ["season", plant.to_str().unwrap(), "--no-files"];
    let (_, told, _) = outcome(&mut marshgas(&words));
    assert!(
        told.contains("What to do next") && !told.contains("blow-out"),
        "{told}"
    );
    let (beds, iron) = (&found["size"]["beds"], &season["season"]["stages"][1]);
    for (ours, theirs) in [
        ("iron_days", "days_per_filling"),
        ("iron_kg_per_year", "material_kg_per_year"),
    ] {
        let (a, b) = (number(&beds[ours]), number(&iron[theirs]));
        assert!((a / b - 1.0).abs() < 1e-9, "{ours}: {a} {b}");
    }
    for closure in season["season"]["closures"].as_array().unwrap() {
        assert!(number(&closure["relative_gap"]) < 1e-9, "{closure}");
    }
}

#[test]
fn the_example_is_a_sound_wish_and_every_climate_can_be_named() {
    let room = tempfile::tempdir().unwrap();
    let example: Value = serde_json::from_str(&stdout(&["size", "--example"])).unwrap();
    assert!(example["target"].is_object());
    let told: Value = serde_json::from_str(&stdout(&["size", "--climates", "--json"])).unwrap();
    let climates = told["climates"].as_array().unwrap();
    assert!(climates.len() >= 5);
    for climate in climates {
        let mut wish = example.clone();
        wish["climate"] = climate["name"].clone();
        let (read, warnings) =
            marshgas::study::size::Wish::from_text(&wish.to_string(), "wish.json").unwrap();
        assert_eq!(warnings, []);
        let coldest = read
            .winter
            .iter()
            .map(|m| read.air_c[*m])
            .fold(0.0, f64::max);
        let hottest = read.air_c[read.hottest];
        assert!(coldest < hottest, "{climate}");
        // Named or written out, it is the same.
        wish["climate"] = climate["climate"].clone();
        let (own, _) =
            marshgas::study::size::Wish::from_text(&wish.to_string(), "wish.json").unwrap();
        assert_eq!(own.air_c, read.air_c);
    }
    drop(room);
}

#[test]
fn every_mistake_is_told_at_once_with_its_place() {
    let room = tempfile::tempdir().unwrap();
    let mut wish = family(0.3);
    wish["climat"] = json!("hot");
    wish["scraps"] = json!([
        {"material": "kitchen-scrap", "kg_per_day": [1, 2]},
        {"material": "bread", "kg_per_day": "3 kg"},
        {"material": "bread", "kg_per_day": -1}
    ]);
    wish["target"] = json!({"treat_kg_per_day": 5, "winter_kwh": 3});
    wish["builder"]["most_units"] = json!(2.5);
    wish["builder"]["set_c"] = json!([80]);
    wish["chance_pct"] = json!(100);
    let path = file(room.path(), &wish);
    let told = stderr(2, &["size", path.to_str().unwrap(), "--json"]);
    let value: Value = serde_json::from_str(&told).unwrap();
    let problems = value["error"]["problems"].as_array().unwrap();
    let paths: Vec<&str> = problems.iter().filter_map(|p| p["path"].as_str()).collect();
    for path in [
        "climat",
        "scraps[0].material",
        "scraps[0].kg_per_day",
        "scraps[1].kg_per_day",
        "scraps[2].material",
        "scraps[2].kg_per_day",
        "target",
        "builder.most_units",
        "builder.set_c",
        "builder.set_c[0]",
        "chance_pct",
    ] {
        assert!(paths.contains(&path), "{path} in {paths:?}");
    }
    assert!(problems.iter().all(|p| p["line"].is_u64()), "{told}");
    assert!(!room.path().join("results").exists());
}

#[test]
fn the_scenarios_own_climate_is_checked_as_there() {
    let room = tempfile::tempdir().unwrap();
    for (climate, path, words) in [
        (json!("temperat"), "climate", "Did you mean \"temperate\"?"),
        (json!(5), "climate", "name of a climate"),
        (
            json!({"air": {"wave": {"mean_c": 90, "yearly_swing_k": 4, "hottest_day_of_year": 200}}}),
            "climate.air.wave.mean_c",
            "Celsius",
        ),
        (
            json!({"air": {"table": {"file": "x.csv"}}}),
            "climate.air.table",
            "usual year",
        ),
    ] {
        let mut wish = family(0.3);
        wish["climate"] = climate;
        let file = file(room.path(), &wish);
        let told = stderr(2, &["size", file.to_str().unwrap(), "--no-files"]);
        assert!(told.contains(path) && told.contains(words), "{told}");
    }
    for (text, words) in [
        ("[1]", "one group"),
        ("{\"a\": 1", "not closed"),
        ("", "empty"),
    ] {
        let file = room.path().join("broken.json");
        fs::write(&file, text).unwrap();
        let told = stderr(2, &["size", file.to_str().unwrap()]);
        assert!(told.to_lowercase().contains(words), "{told}");
    }
}

/// Scraps of a family and the dung of a cow in a cold inland place, for the summer.
fn summer(builder: Value) -> Value {
    json!({
        "climate": "cold-inland",
        "scraps": [
            {"material": "kitchen-scraps", "kg_per_day": 3},
            {"material": "cattle-dung", "kg_per_day": 3}
        ],
        "target": {"burner_hours_per_day": 0.6, "months": ["june", "jul", 8]},
        "builder": builder
    })
}

#[test]
fn sun_and_ground_are_tried_and_what_each_gives_is_told() {
    let wish = summer(json!({
        "unit_sizes_l": [1000], "most_units": 1, "foam_cm": [10], "heater": "none"
    }));
    let found = sized(&wish, &[]);
    let placed = found["placed"].as_array().unwrap();
    // In the open, behind a window, under a greenhouse; each on a pallet and in the ground.
    assert_eq!(placed.len(), 6);
    let reach = |sun: &str, deep: f64| -> (f64, f64) {
        let tried = placed
            .iter()
            .find(|t| t["plant"]["sun"] == sun && t["plant"]["buried_cm"] == deep);
        let tried = tried.unwrap_or_else(|| panic!("{sun} {deep}"));
        (
            number(&tried["reach"]),
            number(&tried["months"][6]["liquor_c"]),
        )
    };
    let (open, window, house) = (
        reach("none", 0.0),
        reach("window", 0.0),
        reach("greenhouse", 0.0),
    );
    assert!(
        window.0 > 3.0 * open.0 && house.0 > open.0,
        "{open:?} {window:?} {house:?}"
    );
    // Steady balance by hand for July: 0.30 m2 of black behind a pane at 50 degrees, 10 cm of foam elsewhere. The digestion
    // of the greater feed warms it a little more.
    let level = 2.9 + 2.2 * (std::f64::consts::TAU * (196.0 - 172.0) / 365.0).cos();
    let sun = level * marshgas::thermal::SunDay::of(50.0, 196.0).ratio(level);
    let (film, wall) = (1.0 / (5.7 + 3.8 * 2.0), 1.0 / 100.0 + 0.004 / 0.45);
    let (front, all) = (film + 0.17, 2.0 * (1.2 + 1.2 / 1.2 + 1.0 / 1.2));
    let lost = 0.3 / (front + wall) + (all - 0.3) / (wall + 0.1 / 0.036 + film);
    let got = 0.3 * 0.9 * 0.8 * front / (front + wall) * sun * 1000.0 / 24.0;
    let warmer = window.1 - open.1;
    assert!(
        (warmer - got / lost).abs() < 1.5,
        "{warmer} K against {} K",
        got / lost
    );
    assert_eq!(found["plant"]["tried"]["plant"]["sun"], "window");
    let room = tempfile::tempdir().unwrap();
    let path = file(room.path(), &wish);
    let told = stdout(&["size", path.to_str().unwrap(), "--no-files", "--draws", "8"]);
    let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "Sun and ground: this plant",
        "The same plant with and without sun and ground",
        "with a dark window of 0.30 m",
    ] {
        assert!(flat.contains(words), "{words}: {told}");
    }
}

#[test]
fn a_wish_for_the_summer_rests_in_winter_and_its_scenario_says_so() {
    // In the cold inland climate an open tote would freeze at rest; in this one it does not.
    let mut wish = summer(json!({
        "unit_sizes_l": [1000], "most_units": 1, "foam_cm": [15], "sun": ["none"], "buried_cm": [0], "set_c": [30]
    }));
    wish["climate"] = json!("mild-coast");
    let room = tempfile::tempdir().unwrap();
    let path = file(room.path(), &wish);
    let out = room.path().join("out");
    let words = [
        "size",
        path.to_str().unwrap(),
        "--draws",
        "8",
        "--out",
        out.to_str().unwrap(),
    ];
    let told = stdout(&words);
    let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "It rests from",
        "The rest saves",
        "are bought",
        "begins again in",
    ] {
        assert!(flat.contains(words), "{words}: {told}");
    }
    let found: Value = serde_json::from_slice(&fs::read(out.join("size.json")).unwrap()).unwrap();
    let tried = &found["size"]["plant"]["tried"];
    let lead = tried["plant"]["rests"].as_u64().unwrap();
    assert!((1..=3).contains(&lead), "{lead}");
    let january = &tried["months"][0];
    assert_eq!(
        (
            number(&january["heating_kwh_d"]),
            number(&january["feed"]["kg_per_day"])
        ),
        (0.0, 0.0)
    );
    // The run is that of a tank that was cold before it began again.
    assert!(number(&january["liquor_c"]) < 12.0, "{january}");
    assert!(number(&tried["months"][6]["liquor_c"]) > 28.0);
    let other = &found["size"]["otherwise"]["months"];
    assert!(number(&other[0]["heating_kwh_d"]) > 0.5);
    // The scenario carries the months of heater and use.
    let plant: Value = serde_json::from_slice(&fs::read(out.join("plant.json")).unwrap()).unwrap();
    let heater = &plant["vessels"][0]["temperature"]["heat"]["heater"]["months"];
    assert_eq!(heater.as_array().unwrap().len() as u64, 3 + lead);
    for line in plant["plant"]["timetable"].as_array().unwrap() {
        assert_eq!(line["months"], json!(["june", "july", "august"]));
    }
    let file = out.join("plant.json");
    let words = ["season", file.to_str().unwrap(), "--no-files", "--json"];
    let season: Value = serde_json::from_str(&stdout(&words)).unwrap();
    let months = season["season"]["months"].as_array().unwrap();
    for month in months {
        let name = month["name"].as_str().unwrap();
        let wished = ["-06", "-07", "-08"].iter().any(|m| name.ends_with(m));
        assert_eq!(number(&month["wanted_h"]) > 0.0, wished, "{month}");
        if name.ends_with("-01") {
            assert!(number(&month["heater_kwh"]) < 1e-6, "{month}");
        }
    }
    let kinds: Vec<&str> = season["season"]["chores"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|c| c["kind"].as_str())
        .collect();
    assert!(
        kinds.contains(&"heater") && kinds.contains(&"use"),
        "{kinds:?}"
    );
    for closure in season["season"]["closures"].as_array().unwrap() {
        assert!(number(&closure["relative_gap"]) < 1e-9, "{closure}");
    }
}

#[test]
fn a_scenario_is_no_wish_and_a_wish_no_scenario() {
    let room = tempfile::tempdir().unwrap();
    let scenario = room.path().join("tote.json");
    fs::write(&scenario, stdout(&["scenarios", "warm-tote"])).unwrap();
    let told = stderr(2, &["size", scenario.to_str().unwrap()]);
    assert!(told.contains("This is a scenario, not a wish"), "{told}");
    let wish = file(room.path(), &family(0.3));
    for command in ["run", "season", "check"] {
        let told = stderr(2, &[command, wish.to_str().unwrap()]);
        assert!(told.contains("This is a wish, not a scenario"), "{told}");
        assert!(told.contains("marshgas size"), "{told}");
    }
}

#[test]
fn months_are_numbers_or_names_and_a_slip_brings_the_nearest() {
    let room = tempfile::tempdir().unwrap();
    let mut wish = family(0.3);
    for (months, words) in [
        (json!(["juni"]), "Did you mean \"june\"?"),
        (json!([0]), "1 to 12"),
        (json!([]), "This list is empty"),
    ] {
        wish["target"] = json!({"burner_hours_per_day": 0.3, "months": months});
        let path = file(room.path(), &wish);
        let told = stderr(2, &["size", path.to_str().unwrap()]);
        assert!(told.contains(words), "{words}: {told}");
    }
    wish["target"] = json!({"heat_kwh_per_day": 3});
    let path = file(room.path(), &wish);
    let told = stderr(2, &["size", path.to_str().unwrap()]);
    assert!(told.contains("Did you mean \"winter_kwh\"?"), "{told}");
}
