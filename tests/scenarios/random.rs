//! Whatever comes in, it is either a case or a list of problems, never a panic.

use marshgas::scenario::{from_text, list_numbers, load, set_number, templates};
use proptest::prelude::*;
use serde_json::{Value, json};

/// Reads a text in every way; what comes out must hold together.
fn read(text: &str) {
    match from_text(text, "r.json", None) {
        Ok(loaded) => {
            let case = &loaded.case;
            assert!(case.doses.windows(2).all(|pair| pair[0].day < pair[1].day));
            assert!(
                case.doses
                    .iter()
                    .all(|d| d.day >= 0.0 && d.day < f64::from(case.days))
            );
            let indices = case
                .doses
                .iter()
                .flat_map(|d| &d.parts)
                .chain(&case.starter.parts);
            assert!(
                indices
                    .clone()
                    .all(|(i, kg)| *i < case.materials.len() && kg.is_finite())
            );
            for warning in &loaded.warnings {
                assert!(!warning.to_string().is_empty());
            }
        }
        Err(problems) => {
            assert!(!problems.problems.is_empty());
            let text = problems.to_string();
            assert!(text.starts_with("r.json"));
            assert!(!text.contains('\u{1b}'));
            assert!(serde_json::to_string(&problems).is_ok());
        }
    }
}

/// The scanner refuses what JSON refuses, and nothing else but depth.
fn agrees(text: &str) {
    let is_json = serde_json::from_str::<Value>(text).is_ok();
    let refused = from_text(text, "r.json", None).err();
    let slip = refused.iter().flat_map(|p| &p.problems).find(|p| {
        p.path.is_empty()
            && p.why != "A scenario is one group in { }."
            && !p.why.contains("64 deep")
    });
    assert_eq!(slip.is_some(), !is_json, "{text}: {slip:?}");
    assert!(
        slip.is_none_or(|p| !p.why.starts_with("This is not JSON")),
        "{slip:?}"
    );
}

fn any_template() -> impl Strategy<Value = &'static str> {
    prop::sample::select(templates().iter().map(|t| t.text).collect::<Vec<_>>())
}

/// Values that people and mischief put where something else belongs.
fn any_value() -> impl Strategy<Value = Value> {
    prop_oneof![
        any::<f64>().prop_map(|x| json!(x)),
        prop::sample::select(vec![
            json!(0),
            json!(-1),
            json!(1e308),
            json!(5e-324),
            json!(0.5),
            json!(9_007_199_254_740_993_u64),
            json!(""),
            json!("x"),
            json!("2,5"),
            json!("2026-02-30"),
            json!("\u{1b}[2J"),
            json!(null),
            json!(true),
            json!([]),
            json!({}),
            json!([[]]),
            json!({"x": 1}),
            json!([1, 2, 3]),
            json!({"constant_c": 20}),
            json!({"points": [{"day": 1e300, "temperature_c": 0}]}),
            json!({"daily": {"recipe": "x", "from_day": 0}}),
        ]),
        ".{0,12}".prop_map(|s| json!(s)),
    ]
}

/// Replaces, adds or removes something at the `pick`-th place of a scenario.
fn disturb(value: &mut Value, pick: usize, new: &Value, how: u8) {
    fn count(value: &Value) -> usize {
        1 + match value {
            Value::Array(list) => list.iter().map(count).sum(),
            Value::Object(group) => group.values().map(count).sum(),
            _ => 0,
        }
    }
    fn go(value: &mut Value, left: &mut usize, new: &Value, how: u8) -> bool {
        if *left == 0 {
            match (how % 4, &mut *value) {
                (1, Value::Object(group)) => {
                    group.insert("extra".to_owned(), new.clone());
                }
                (1, Value::Array(list)) => list.push(new.clone()),
                (2, Value::Object(group)) => {
                    let key = group.keys().next().cloned();
                    key.and_then(|key| group.shift_remove(&key));
                }
                (2, Value::Array(list)) => {
                    list.pop();
                }
                (3, Value::Array(list)) => list.extend(list.clone()),
                _ => *value = new.clone(),
            }
            return true;
        }
        *left -= 1;
        match value {
            Value::Array(list) => list.iter_mut().any(|inner| go(inner, left, new, how)),
            Value::Object(group) => group.values_mut().any(|inner| go(inner, left, new, how)),
            _ => false,
        }
    }
    let mut left = pick % count(value);
    go(value, &mut left, new, how);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn random_text(text in ".{0,200}") {
        read(&text);
    }

    #[test]
    fn random_json_signs(text in r#"[\[\]{}",:.0-9eE+\- a-c\\u]{0,120}"#) {
        read(&text);
        agrees(&text);
    }

    #[test]
    fn random_bytes(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("r.json");
        std::fs::write(&path, &bytes).unwrap();
        if let Err(problems) = load(&path) {
            prop_assert!(!problems.to_string().is_empty());
        }
    }

    #[test]
    fn torn_scenarios(text in any_template(), cut in any::<prop::sample::Index>(), junk in ".{0,3}") {
        let places: Vec<usize> = text.char_indices().map(|(i, _)| i).collect();
        let (head, tail) = text.split_at(places[cut.index(places.len())]);
        read(head);
        let pieces = [
            format!("{head}{junk}{tail}"),
            format!("{head}{}", tail.chars().skip(1).collect::<String>()),
        ];
        for text in pieces {
            read(&text);
            agrees(&text);
        }
    }

    #[test]
    fn disturbed_scenarios(
        text in any_template(),
        blows in prop::collection::vec((any::<usize>(), any_value(), any::<u8>()), 1..6),
    ) {
        let mut scenario: Value = serde_json::from_str(text).unwrap();
        for (pick, new, how) in &blows {
            disturb(&mut scenario, *pick, new, *how);
        }
        read(&format!("{scenario:#}"));
        read(&scenario.to_string());
    }

    #[test]
    fn disturbed_numbers(
        text in any_template(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), -1e4..1e4_f64), 1..4),
    ) {
        let mut scenario: Value = serde_json::from_str(text).unwrap();
        let numbers = list_numbers(&scenario);
        for (which, value) in changes {
            let path = &numbers[which.index(numbers.len())].0;
            set_number(&mut scenario, path, value).unwrap();
        }
        read(&scenario.to_string());
    }
}

#[test]
fn the_scanner_takes_what_json_takes() {
    // From the grammar of RFC 8259; each must get as far as the keys.
    for text in [
        "{\"title\": \"\\\"\\\\\\/\\b\\f\\n\\r\\t\\u00e9\\ud83d\\ude00\"}",
        " \t\r\n{ } \n",
        "{\"days\": -0}",
        "{\"days\": 1E+2}",
        "{\"days\": 0.5e-3}",
        "{\"a\": [true, false, null, [], {}, [[]]]}",
        "{\"\": 1}",
    ] {
        assert!(serde_json::from_str::<Value>(text).is_ok(), "{text}");
        let problems = from_text(text, "r.json", None).unwrap_err();
        assert!(
            problems.problems.iter().all(|p| !p.path.is_empty()),
            "{text}: {problems}"
        );
    }
}
