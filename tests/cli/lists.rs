//! `marshgas feedstocks`, `scenarios`, `schema`, `evidence`.

use std::fs;
use std::path::Path;

use serde_json::Value;

use super::{stderr, stdout};

fn json(words: &[&str]) -> Value {
    serde_json::from_str(&stdout(words)).unwrap()
}

#[test]
fn every_material_is_listed_and_shown_with_ranges_and_sources() {
    let list = stdout(&["feedstocks"]);
    let all = json(&["feedstocks", "--json"]);
    let all = all["feedstocks"].as_array().unwrap();
    assert!(all.len() >= 20, "{} materials", all.len());
    for material in all {
        let name = material["name"].as_str().unwrap();
        assert!(list.contains(name), "{name} is not in the list");
        let shown = stdout(&["feedstocks", name]);
        for words in [
            "Where the numbers come from",
            "References",
            "total solids",
            "NL/kg VS",
        ] {
            assert!(shown.contains(words), "{name}: no {words}");
        }
        assert_eq!(&json(&["feedstocks", name, "--json"]), material);
        assert!(
            !material["provenance"].as_array().unwrap().is_empty(),
            "{name}"
        );
        let range = &material["measured_methane_nl_per_kg_vs"];
        let [low, typical, high] =
            ["low", "typical", "high"].map(|end| range[end].as_f64().unwrap());
        assert!(low <= typical && typical <= high, "{name}: {range}");
    }
}

#[test]
fn lists_fit_an_ordinary_terminal() {
    for words in [
        &["feedstocks"][..],
        &["scenarios"],
        &["feedstocks", "cattle-slurry"],
        &["check", "warm-tote"],
    ] {
        for line in stdout(words).lines() {
            // A word that cannot be broken, such as an address on the web, may be longer.
            assert!(
                line.chars().count() <= 80 || !line.trim().contains(' '),
                "{words:?}: {line}"
            );
        }
    }
}

#[test]
fn an_unknown_material_brings_the_nearest_name() {
    let told = stderr(2, &["feedstocks", "cattle-slury"]);
    assert!(told.contains("Did you mean cattle-slurry?"), "{told}");
    let told: Value = serde_json::from_str(&stderr(2, &["feedstocks", "xyzzy", "--json"])).unwrap();
    assert_eq!(told["error"]["code"], "unknown-name");
}

#[test]
fn bundled_scenarios_are_the_files_of_the_folder_and_say_that_they_are_invented() {
    let list = stdout(&["scenarios"]);
    let all = json(&["scenarios", "--json"]);
    for scenario in all["scenarios"].as_array().unwrap() {
        let name = scenario["name"].as_str().unwrap();
        assert!(list.contains(name), "{name}");
        let file = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("scenarios")
            .join(format!("{name}.json"));
        let text = fs::read_to_string(file).unwrap();
        assert_eq!(stdout(&["scenarios", name]).trim_end(), text.trim_end());
        let about = scenario["about"].as_str().unwrap().to_lowercase();
        assert!(
            about.contains("invent"),
            "{name} does not say that it is invented: {about}"
        );
        assert!(stdout(&["check", name]).contains("no problems"), "{name}");
    }
}

#[test]
fn an_unknown_scenario_brings_the_nearest_name() {
    assert!(stderr(2, &["scenarios", "warm-totes"]).contains("Did you mean warm-tote?"));
}

#[test]
fn the_schema_describes_every_key_at_the_top() {
    let schema = json(&["schema"]);
    assert!(
        schema["$schema"]
            .as_str()
            .unwrap()
            .contains("json-schema.org")
    );
    for key in [
        "title", "days", "vessels", "starter", "recipes", "feeding", "gas",
    ] {
        let described = schema["properties"][key].to_string();
        assert!(described.contains("description"), "{key}: {described}");
    }
    assert_eq!(json(&["schema", "--json"]), schema);
}

#[test]
fn every_check_value_has_a_source_and_misses_stand_in_the_open() {
    let told = json(&["evidence", "--json"]);
    let rows = told["evidence"].as_array().unwrap();
    assert!(rows.len() >= 70);
    let text = stdout(&["evidence"]);
    for row in rows {
        assert!(text.contains(row["what"].as_str().unwrap()), "{row}");
        assert!(text.contains(row["topic"].as_str().unwrap()), "{row}");
        assert!(row["source_text"].as_str().unwrap().len() > 10, "{row}");
        assert!(row["computed"].is_number(), "{row}");
    }
    let count = |verdict: &str| rows.iter().filter(|r| r["verdict"] == verdict).count();
    let (agree, miss) = (count("agrees"), count("misses"));
    assert!(
        text.contains(&format!("{agree} agree, {miss} miss")),
        "{text}"
    );
    assert!(agree > miss);
    // Misses stand in the open, with size and cause.
    assert_eq!(text.matches("misses by").count(), miss, "{text}");
}
