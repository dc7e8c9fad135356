//! The plant that `marshgas size` proposes: what it promises is found again, and what is not worth its work is left off.

use std::fs;

use serde_json::{Value, json};

use super::size::{family, number, sized};
use super::size_rest::sized_into;
use super::{marshgas, outcome, stdout};

#[test]
fn what_several_units_promise_is_found_again_through_the_year() {
    let room = tempfile::tempdir().unwrap();
    let mut wish = family(0.3);
    wish["scraps"] = json!([{"material": "kitchen-scraps", "kg_per_day": 1.5}]);
    wish["builder"]["unit_sizes_l"] = json!([80]);
    wish["builder"]["most_units"] = json!(6);
    wish["builder"]["arrangement"] = json!("parallel");
    let (found, told) = sized_into(room.path(), &wish);
    let out = room.path().join("out");
    assert_eq!(found["verdict"], "met", "{told}");
    let tried = &found["plant"]["tried"];
    let units = number(&tried["plant"]["units"]);
    assert!(units > 1.0, "{units}");
    let plant = out.join("plant.json");
    let written: Value = serde_json::from_slice(&fs::read(&plant).unwrap()).unwrap();
    assert_eq!(number(&written["plant"]["units"]), units);
    let words = ["season", plant.to_str().unwrap(), "--no-files", "--json"];
    let season: Value = serde_json::from_str(&stdout(&words)).unwrap();
    let season = &season["season"];
    let months = season["months"].as_array().unwrap();
    for month in &months[months.len() - 12..] {
        let name = month["name"].as_str().unwrap();
        let at: usize = name[5..].parse().unwrap();
        let row = &tried["months"][at - 1];
        let days = number(&month["days"]);
        // The whole wish is asked for and served, not a unit's share of it.
        let asked = number(&month["wanted_h"]) / days;
        assert!((asked / 0.3 - 1.0).abs() < 0.02, "{name}: {asked}");
        assert!(
            number(&month["served_h"]) > 0.98 * number(&month["wanted_h"]),
            "{month}"
        );
        // What could be burnt is the same energy: months count methane of days that burn, the year counts hydrogen and
        // hydrogen sulphide too, some thousandths.
        let burner_kw = number(&found["energy"]["burner_kw"]);
        let by_size = number(&row["net_kwh_d"]) / burner_kw;
        let by_season = number(&month["made_kwh"]) / days / burner_kw;
        assert!(
            (by_season / by_size - 1.0).abs() < 0.03,
            "{name}: {by_size} {by_season}"
        );
        let residue = number(&month["residue_l"]) / days;
        assert!(
            (residue / number(&row["residue_l_d"]) - 1.0).abs() < 1e-6,
            "{name}"
        );
        // The sheet's own table by month says the same.
        let hours = &found["hourly"]["months"][at - 1];
        assert!((number(&hours["wanted_h"]) - number(&month["wanted_h"])).abs() < 1e-6);
        assert!((number(&hours["served_h"]) - number(&month["served_h"])).abs() < 1e-6);
    }
    // The month with the least is named, and it is the one; the tightest is that of the season.
    let leanest = found["leanest_month"].as_u64().unwrap() as usize;
    let net = |m: usize| number(&tried["months"][m]["net_kwh_d"]);
    assert!((0..12).all(|m| net(m) >= net(leanest - 1)));
    let tightest = season["tightest"].as_str().unwrap()[5..].parse::<u64>();
    assert_eq!(found["tightest_month"].as_u64(), tightest.ok());
    let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "the tightest month that counts",
        "Hours by month",
        "Could burn",
        "season counts all of them",
    ] {
        assert!(flat.contains(words), "{words}: {told}");
    }
    // Feed of one tank and of all in the chores.
    let chores = season["chores"].as_array().unwrap();
    let feed = chores.iter().rfind(|c| c["kind"] == "feeding").unwrap();
    let words = format!("to each of {units} tanks");
    assert!(feed["title"].as_str().unwrap().ends_with(&words), "{feed}");
    assert!(
        feed["detail"].as_str().unwrap().contains("in all"),
        "{feed}"
    );
    // One run of it says that it is one of several.
    let (_, told, _) = outcome(&mut marshgas(&[
        "run",
        plant.to_str().unwrap(),
        "--no-files",
    ]));
    assert!(
        told.contains(&format!("one of its {units} equal digesters")),
        "{told}"
    );
}

#[test]
fn a_pit_that_brings_next_to_nothing_is_not_proposed() {
    // In a hot place without seasons the ground is as warm as the air.
    let mut wish = family(0.25);
    wish["builder"]["buried_cm"] = json!([0, 30]);
    wish["builder"]["foam_cm"] = json!([0, 5, 10]);
    wish["builder"]["unit_sizes_l"] = json!([100, 300]);
    wish["builder"]["most_units"] = json!(4);
    let found = sized(&wish, &[]);
    assert_eq!(found["verdict"], "met");
    let plant = &found["plant"]["tried"]["plant"];
    let reach = number(&found["plant"]["tried"]["reach"]);
    let least = number(&found["rules"]["least_gain"]["value"]) * 0.25;
    // Whatever the same plant reaches without its pit is at least the told gain less, or it has none.
    for tried in found["placed"].as_array().unwrap() {
        let plainer = number(&tried["plant"]["buried_cm"]) < number(&plant["buried_cm"]);
        if plainer && tried["breaches"].as_array().unwrap().is_empty() {
            assert!(number(&tried["reach"]) <= reach - least, "{tried}");
        }
    }
    // Of nearly equal litres none with fewer units passed.
    let litres = |p: &Value| number(&p["unit_l"]) * number(&p["units"]);
    for other in found["passed_over"].as_array().unwrap() {
        let other = &other["tried"]["plant"];
        if litres(other) <= 1.25 * litres(plant) {
            assert!(
                number(&other["units"]) >= number(&plant["units"]),
                "{other}"
            );
        }
    }
}

#[test]
fn a_heater_that_its_own_gas_does_not_carry_is_not_proposed() {
    // The cold month of the beginning lacks most, and that is bought; what the cool months after it lack is not.
    let wish = json!({
        "climate": {
            "air": {"wave": {"mean_c": 12, "yearly_swing_k": 9, "hottest_day_of_year": 205, "daily_swing_k": 4}},
            "sun": {"mean_kwh_per_m2_d": 3.5, "yearly_swing_kwh_per_m2_d": 2.3},
            "latitude_deg": 44
        },
        "scraps": [
            {"material": "kitchen-scraps", "kg_per_day": 2},
            {"material": "sheep-goat-manure", "kg_per_day": 3},
            {"material": "cattle-dung", "kg_per_day": 15}
        ],
        "target": {"treat_kg_per_day": 14, "months": ["apr", "may", "jun", "jul", "aug", "sep", "oct"]},
        "builder": {
            "unit_sizes_l": [1000], "most_units": 2, "foam_cm": [5, 10], "sun": ["none"], "buried_cm": [0],
            "arrangement": "parallel", "heater": "own-gas", "set_c": [32]
        }
    });
    let room = tempfile::tempdir().unwrap();
    let (found, told) = sized_into(room.path(), &wish);
    let proofs = ["alternatives", "refused", "passed_over"];
    let proofs = proofs
        .iter()
        .flat_map(|list| found[list].as_array().unwrap());
    let runs = ["neighbours", "placed"];
    let runs = runs.iter().flat_map(|list| found[list].as_array().unwrap());
    let all = proofs
        .map(|p| &p["tried"])
        .chain(runs)
        .chain([&found["plant"]["tried"]]);
    let mut lacking = 0;
    for tried in all {
        let months = tried["months"].as_array().unwrap();
        let lacks = months.iter().any(|m| number(&m["net_kwh_d"]) < -1e-6);
        let breaches = tried["breaches"].as_array().unwrap();
        let told = breaches.iter().find_map(|b| b.get("unaffordable"));
        assert_eq!(told.is_some(), lacks, "{tried}");
        if let Some(told) = told {
            let row = &months[told["month"].as_u64().unwrap() as usize - 1];
            assert!(number(&row["net_kwh_d"]) < 0.0, "{row}");
            assert!(number(&told["share"]) > 1.0, "{told}");
            lacking += 1;
        }
    }
    assert!(lacking > 0, "{told}");
    assert!(told.contains("times the gas of"), "{told}");
    if found["verdict"] == "met" {
        assert_eq!(found["plant"]["tried"]["breaches"], json!([]));
    } else {
        assert!(told.contains("Not proposed for building"), "{told}");
    }
    assert!(!told.contains("0.0000000"), "{told}");
}
