//! Files made to be heavy are refused by their counts, not by patience.

use serde_json::{Map, Value, json};

use crate::support::{complaint, complaints};

fn many(count: usize, value: &Value) -> Value {
    let entries = (0..count).map(|i| (format!("n{i}"), value.clone()));
    Value::Object(entries.collect::<Map<_, _>>())
}

#[test]
fn counts_are_bounded() {
    let bread = json!({"like": {"material": "bread"}});
    let part = json!({"material": "bread", "kg": 0.001});
    let line = json!({"on": {"recipe": "bucket", "days": [1]}});
    for (path, value, count, most) in [
        ("materials", many(1001, &bread), 1001, 1000),
        (
            "model",
            json!({"parameters": many(1001, &json!(1))}),
            1001,
            1000,
        ),
        (
            "recipes.bucket.materials",
            json!(vec![part.clone(); 101]),
            101,
            100,
        ),
        ("starter.materials", json!(vec![part; 101]), 101, 100),
        ("feeding", json!(vec![line; 5001]), 5001, 5000),
    ] {
        let at = if path == "model" {
            "model.parameters"
        } else {
            path
        };
        let expected = format!(
            "{at} is a list of {count}. More than {most} entries cannot be computed. Join some of them, or check that \
             this is the right file."
        );
        assert!(complaints(&[(path, value)]).contains(&expected), "{path}");
    }
    let recipe = json!({"water_l": 1});
    assert!(
        complaints(&[("recipes", many(1001, &recipe))])[0]
            .starts_with("recipes is a list of 1001.")
    );
}

#[test]
fn a_plan_of_pauses_is_no_trap() {
    let mut lines = vec![json!({"pause": {"from_day": 0, "to_day": 7299}}); 2500];
    lines.extend(vec![
        json!({"daily": {"recipe": "bucket", "from_day": 0}});
        2500
    ]);
    assert_eq!(
        complaint(&[("days", json!(7300)), ("feeding", json!(lines))]),
        "",
        "nothing is fed, and that is allowed"
    );
}

#[test]
fn a_hundred_thousand_unknown_keys() {
    let found = complaints(&[("recipes.bucket", many(100_000, &json!(1)))]);
    assert!(!found.is_empty());
    assert!(found.iter().all(|f| f.contains("Nobody knows this key.")));
}

#[test]
fn bidirectional_tricks_do_not_reach_the_terminal() {
    for name in ["a\u{202e}b", "\u{1b}[2J"] {
        let found = complaints(&[
            ("recipes", json!({name: {"water_l": -1}})),
            ("about", json!(name)),
        ]);
        assert!(
            found.iter().all(|f| !f.contains(['\u{202e}', '\u{1b}'])),
            "{found:?}"
        );
        assert!(
            found.iter().any(|f| f.contains("control character")),
            "{found:?}"
        );
    }
}
