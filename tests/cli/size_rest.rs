//! Wishes that count in some months only: a rest outside of them, a store for them, and what the written plant says.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use super::size::{file, number, sized};
use super::stdout;

/// What `size` finds, and what it tells; the plant is in the folder.
pub(super) fn sized_into(out: &Path, wish: &Value) -> (Value, String) {
    let path = file(out, wish);
    let folder = out.join("out");
    let told = stdout(&[
        "size",
        path.to_str().unwrap(),
        "--draws",
        "8",
        "--out",
        folder.to_str().unwrap(),
    ]);
    let found = read(&folder.join("size.json"))["size"].clone();
    (found, told.split_whitespace().collect::<Vec<_>>().join(" "))
}

fn read(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

fn season(out: &Path) -> Value {
    let plant = out.join("out").join("plant.json");
    let words = ["season", plant.to_str().unwrap(), "--no-files", "--json"];
    serde_json::from_str::<Value>(&stdout(&words)).unwrap()["season"].clone()
}

/// Hours of the last year of a season: (wanted, served).
fn last_year(season: &Value) -> (f64, f64) {
    let days = season["days"].as_array().unwrap();
    let last = &days[days.len() - 365..];
    let sum = |key: &str| last.iter().map(|d| number(&d[key])).sum();
    (sum("wanted_h"), sum("served_h"))
}

/// The tightest month of a season, 1 to 12.
fn tightest(season: &Value) -> u64 {
    season["tightest"].as_str().unwrap()[5..].parse().unwrap()
}

fn winter_flame() -> Value {
    json!({
        "climate": "mild-coast",
        "scraps": [
            {"material": "kitchen-scraps", "kg_per_day": 3},
            {"material": "cattle-dung", "kg_per_day": 6}
        ],
        "target": {"burner_hours_per_day": 0.4, "months": ["dec", "jan", "feb"]},
        "builder": {
            "unit_sizes_l": [1000], "most_units": 1, "foam_cm": [10], "sun": ["none"], "buried_cm": [0],
            "heater": "mains", "set_c": [30]
        }
    })
}

#[test]
fn a_wish_for_the_winter_rests_in_summer_and_its_store_is_that_of_the_winter() {
    let room = tempfile::tempdir().unwrap();
    let (found, told) = sized_into(room.path(), &winter_flame());
    assert_eq!(found["verdict"], "met", "{told}");
    let tried = &found["plant"]["tried"];
    let lead = tried["plant"]["rests"].as_u64().expect("it rests");
    assert!((1..=3).contains(&lead), "{lead}");
    let months = tried["months"].as_array().unwrap();
    for (at, month) in months.iter().enumerate() {
        // December to February, and the months of the beginning before them.
        let works = at < 2 || at as u64 >= 11 - lead;
        let fed = number(&month["feed"]["kg_per_day"]) > 0.0;
        assert_eq!(fed, works, "{month}");
        // The heater goes out within the first day of a rest.
        assert!(works || number(&month["heating_kwh_d"]) < 0.05, "{month}");
    }
    // It spares feed and heat beside the same plant that works all year.
    let other = found["otherwise"]["months"].as_array().unwrap();
    let sum = |months: &[Value], of: fn(&Value) -> f64| months.iter().map(of).sum::<f64>();
    for of in [
        (|m| number(&m["heating_kwh_d"])) as fn(&Value) -> f64,
        |m| number(&m["feed"]["kg_per_day"]),
    ] {
        assert!(sum(months, of) < sum(other, of));
    }
    // The store is that of the best month of the winter, whatever July gives.
    let store = &found["store"];
    let gas = |at: usize| number(&months[at]["gas_l_d"]);
    let best = [11, 0, 1]
        .into_iter()
        .max_by(|a, b| gas(*a).total_cmp(&gas(*b)));
    assert_eq!(number(&store["month"]), best.unwrap() as f64 + 1.0);
    let by_day = gas(best.unwrap()) * number(&store["hours"]) / 24.0;
    assert!((number(&found["hourly"]["by_day_l"]) / by_day - 1.0).abs() < 1e-9);
    for words in [
        "It rests from March to",
        "when nothing is wanted of it",
        "of those in which gas is wanted",
        "The rest saves",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    // The written plant does the same.
    let plant = read(&room.path().join("out").join("plant.json"));
    for line in plant["plant"]["timetable"].as_array().unwrap() {
        assert_eq!(line["months"], json!(["january", "february", "december"]));
    }
    let season = season(room.path());
    let (wanted, served) = last_year(&season);
    let wished = &found["hourly"]["wished"];
    let asked = number(&wished["asked_h"]);
    assert!((wanted / asked - 1.0).abs() < 0.03, "{wanted} {asked}");
    let ours = asked - number(&wished["short_h"]);
    assert!((served / ours - 1.0).abs() < 0.03, "{served} {ours}");
    assert!((asked / (0.4 * 90.0) - 1.0).abs() < 0.03, "{asked}");
    assert_eq!(found["tightest_month"].as_u64().unwrap(), tightest(&season));
}

#[test]
fn without_a_heater_a_rest_spares_feed_and_a_year_without_one_is_kept_where_it_is_not_allowed() {
    let mut wish = json!({
        "climate": "hot",
        "scraps": [{"material": "kitchen-scraps", "kg_per_day": 1.5}],
        "target": {"burner_hours_per_day": 0.2, "months": [6, 7, 8]},
        "builder": {
            "unit_sizes_l": [200], "most_units": 2, "foam_cm": [5], "sun": ["none"], "buried_cm": [0], "heater": "none"
        }
    });
    let found = sized(&wish, &[]);
    assert_eq!(found["verdict"], "met");
    let tried = &found["plant"]["tried"];
    assert!(tried["plant"]["rests"].is_u64(), "{}", tried["plant"]);
    let resting = number(&tried["months"][0]["feed"]["kg_per_day"]);
    assert_eq!(resting, 0.0);
    wish["builder"]["pause"] = json!(false);
    let all_year = sized(&wish, &[]);
    let tried = &all_year["plant"]["tried"];
    assert!(tried["plant"]["rests"].is_null(), "{}", tried["plant"]);
    assert!(number(&tried["months"][0]["feed"]["kg_per_day"]) > 0.0);
    // Two months between are no rest, and neither is a year without any.
    for months in [json!([1, 2, 3, 4, 5, 6, 7, 8, 9]), json!([])] {
        wish["builder"]["pause"] = json!(true);
        wish["target"] = json!({"burner_hours_per_day": 0.2});
        if months != json!([]) {
            wish["target"]["months"] = months;
        }
        let found = sized(&wish, &[]);
        assert!(
            found["otherwise"].is_null() && found["plant"]["tried"]["plant"]["rests"].is_null()
        );
    }
}

#[test]
fn the_gas_of_a_mass_to_treat_is_used_in_the_months_of_its_feed() {
    let room = tempfile::tempdir().unwrap();
    let wish = json!({
        "climate": "warm",
        "scraps": [
            {"material": "kitchen-scraps", "kg_per_day": 2},
            {"material": "cattle-dung", "kg_per_day": 4}
        ],
        "target": {"treat_kg_per_day": 3, "months": [5, 6, 7, 8, 9]},
        "builder": {
            "unit_sizes_l": [1000], "most_units": 2, "foam_cm": [10], "sun": ["none"], "buried_cm": [0], "heater": "none"
        }
    });
    let (found, told) = sized_into(room.path(), &wish);
    assert_eq!(found["verdict"], "met", "{told}");
    let names = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let months = found["plant"]["tried"]["months"].as_array().unwrap();
    let fed: Vec<&str> = (0..12)
        .filter(|m| number(&months[*m]["feed"]["kg_per_day"]) > 0.0)
        .map(|m| names[m])
        .collect();
    assert!(fed.len() < 12, "{fed:?}");
    let plant = read(&room.path().join("out").join("plant.json"));
    let lines = plant["plant"]["timetable"].as_array().unwrap();
    assert!(!lines.is_empty());
    for line in lines {
        assert_eq!(line["months"], json!(fed));
    }
}

#[test]
fn burners_lit_together_count_each_and_no_line_is_a_matter_of_seconds() {
    let room = tempfile::tempdir().unwrap();
    let mut wish = json!({
        "climate": "hot",
        "scraps": [{"material": "kitchen-scraps", "kg_per_day": 60}],
        "target": {"burner_hours_per_day": 12},
        "hours_without_use": 20,
        "builder": {
            "unit_sizes_l": [5000], "most_units": 4, "foam_cm": [5], "sun": ["none"], "buried_cm": [0], "heater": "none"
        }
    });
    let (found, told) = sized_into(room.path(), &wish);
    let hourly = &found["hourly"];
    let burners = number(&hourly["burners"]);
    assert!(burners > 1.0, "{hourly}");
    assert_eq!(number(&hourly["burners_a_line"]), 1.0);
    let asked = number(&hourly["wished"]["asked_h"]);
    assert!((asked / (12.0 * 365.0) - 1.0).abs() < 0.01, "{asked}");
    // Two hours of one burner, in the wish, here and in the season of the plant.
    let (wanted, served) = last_year(&season(room.path()));
    assert!((wanted / asked - 1.0).abs() < 0.03, "{wanted} {asked}");
    let ours = asked - number(&hourly["wished"]["short_h"]);
    assert!((served / ours - 1.0).abs() < 0.03, "{served} {ours}");
    for words in ["lit together", "hours of one"] {
        assert!(told.contains(words), "{words}: {told}");
    }
    // A little flame: some minutes on some days, and the hours are kept.
    wish["scraps"] = json!([{"material": "kitchen-scraps", "kg_per_day": 1}]);
    wish["target"] = json!({"burner_hours_per_day": 0.06});
    wish["hours_without_use"] = json!(6);
    wish["builder"]["unit_sizes_l"] = json!([200]);
    let (found, _) = sized_into(room.path(), &wish);
    let plant = read(&room.path().join("out").join("plant.json"));
    let mut week_min = 0.0;
    for line in plant["plant"]["timetable"].as_array().unwrap() {
        let minutes = 60.0 * number(&line["hours"]);
        assert!(minutes > 5.0 - 1e-9, "{line}");
        assert!((minutes - minutes.round()).abs() < 1e-9, "{line}");
        week_min += minutes * line["weekdays"].as_array().map_or(7.0, |d| d.len() as f64);
    }
    assert!(
        (week_min / (0.06 * 7.0 * 60.0) - 1.0).abs() < 0.03,
        "{week_min}"
    );
    let asked = number(&found["hourly"]["wished"]["asked_h"]);
    assert!((asked / (0.06 * 365.0) - 1.0).abs() < 0.03, "{asked}");
}

#[test]
fn what_is_proposed_is_not_warned_of_by_the_check_of_its_plant() {
    let room = tempfile::tempdir().unwrap();
    // Held at 35 C the line of loading is that of the check, and more food is there than it allows.
    let wish = json!({
        "climate": "warm",
        "scraps": [
            {"material": "kitchen-scraps", "kg_per_day": 10},
            {"material": "cattle-dung", "kg_per_day": 10}
        ],
        "target": {"burner_hours_per_day": 0.5},
        "builder": {
            "unit_sizes_l": [800], "most_units": 1, "foam_cm": [10], "sun": ["none"], "buried_cm": [0],
            "heater": "mains", "set_c": [35]
        }
    });
    let (found, told) = sized_into(room.path(), &wish);
    let loadings = found["plant"]["tried"]["months"].as_array().unwrap();
    let most = loadings
        .iter()
        .map(|m| number(&m["feed"]["loading"]))
        .fold(0.0, f64::max);
    assert!((1.4..1.5).contains(&most), "{most} {told}");
    let plant = room.path().join("out").join("plant.json");
    let told = stdout(&["check", plant.to_str().unwrap()]);
    assert!(!told.contains("the first vessel takes"), "{told}");
}

#[test]
fn a_draw_whose_gas_does_not_pay_for_its_heat_does_not_count() {
    // The mass goes in whatever the gas is; in the mean draw the foam just makes the gas pay for the heat.
    let wish = |foam_cm: f64| {
        json!({
            "climate": "warm",
            "scraps": [
                {"material": "kitchen-scraps", "kg_per_day": 2},
                {"material": "cattle-dung", "kg_per_day": 10}
            ],
            "target": {"treat_kg_per_day": 7},
            "chance_pct": 99,
            "builder": {
                "unit_sizes_l": [1000], "most_units": 1, "foam_cm": [foam_cm], "sun": ["none"], "buried_cm": [0],
                "heater": "own-gas", "set_c": [30]
            }
        })
    };
    let mut unpaid = 0.0;
    for foam_cm in [6.5, 7.0, 8.0] {
        let found = sized(&wish(foam_cm), &[]);
        for proof in ["refused", "alternatives"]
            .iter()
            .flat_map(|list| found[list].as_array().unwrap())
            .chain([&found["plant"]])
        {
            let sure = &proof["sureness"];
            if sure.is_null() {
                continue;
            }
            let of = |key: &str| number(&sure[key]);
            assert!(
                of("reached") + of("unpaid").max(of("dearer")) <= of("draws"),
                "{sure}"
            );
            assert!((of("share") - of("reached") / of("draws")).abs() < 1e-12);
            unpaid += of("unpaid");
        }
    }
    assert!(unpaid > 0.0);
}

#[test]
fn what_cannot_be_met_says_so_first_then_what_is_nearest_why_not_and_what_would_help() {
    let room = tempfile::tempdir().unwrap();
    let wish = json!({
        "climate": "hot",
        "scraps": [
            {"material": "cattle-dung", "kg_per_day": 2},
            {"material": "kitchen-scraps", "kg_per_day": 0.5}
        ],
        "target": {"burner_hours_per_day": 2},
        "builder": {
            "unit_sizes_l": [500], "most_units": 1, "foam_cm": [5], "sun": ["none"], "buried_cm": [0], "heater": "none"
        }
    });
    let (found, told) = sized_into(room.path(), &wish);
    assert_eq!(found["verdict"], "cannot-be-met");
    let mut rest = told.as_str();
    for words in [
        "The wish cannot be met",
        "are missing",
        "Nearest comes",
        "It is not proposed for building",
        "What would make it possible",
        "first of all more to feed",
        "kg a day more of kitchen scraps",
        "a wish well below",
        "Your scraps hold",
    ] {
        let at = rest.find(words);
        let at = at.unwrap_or_else(|| panic!("{words} comes too late or not: {told}"));
        rest = &rest[at + words.len()..];
    }
    // What is missing is the wish less what is reached.
    let reach = number(&found["plant"]["tried"]["reach"]);
    let missing = told.split(" h/d are missing").next().unwrap();
    let missing: f64 = missing.rsplit(' ').next().unwrap().parse().unwrap();
    assert!((missing - (2.0 - reach)).abs() < 0.06, "{missing} {reach}");
    assert!(!told.contains("passed without it"), "{told}");
}

#[test]
fn the_first_filling_stands_with_what_to_get_and_what_to_do_next() {
    let room = tempfile::tempdir().unwrap();
    let (found, told) = sized_into(room.path(), &super::size::family(0.3));
    let plant = &found["plant"]["tried"]["plant"];
    let litres = 0.8 * number(&plant["unit_l"]) * number(&plant["units"]);
    assert!(
        told.contains(&format!("First filling {litres:.0} L of digestate")),
        "{told}"
    );
    assert!(
        told.contains(&format!("Find {litres:.0} L of digestate")),
        "{told}"
    );
    let starter = &read(&room.path().join("out").join("plant.json"))["starter"]["materials"][0];
    assert_eq!(starter["material"], "digestate-cattle");
}

#[test]
fn a_search_that_is_told_to_stop_runs_no_hours_and_still_writes_its_plant() {
    use std::sync::atomic::{AtomicBool, Ordering};

    use marshgas::study::size::{Options, Wish, size};
    let (wish, _) = Wish::from_text(&super::size::family(0.3).to_string(), "wish.json").unwrap();
    let stop = AtomicBool::new(false);
    let options = Options {
        draws: 8,
        seed: 1,
        threads: None,
        stop: &stop,
    };
    // The stop comes while the trimmings are run.
    let found = size(&wish, &options, &|what, _| {
        if what.contains("draws") {
            stop.store(true, Ordering::Relaxed);
        }
    });
    let found = found.unwrap();
    assert!(found.stopped && found.hourly.is_none());
    assert!(found.hourly_failed.unwrap().contains("stopped"));
    let plant = &found.scenario.unwrap()["plant"];
    assert!(plant["store"].is_object() && plant["timetable"].is_array());
}
