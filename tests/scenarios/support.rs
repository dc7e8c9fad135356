//! A good scenario, and means to spoil it.

use marshgas::scenario::from_text;
use marshgas::scenario::{Address, Loaded, Problem, Problems, Step, from_value};
use serde_json::{Value, json};

/// A scenario without fault; own invention.
pub(crate) fn good() -> Value {
    json!({
        "title": "good",
        "start_date": "2026-03-01",
        "days": 100,
        "vessels": [
            {"name": "tote", "liquid_l": 800, "headspace_l": 200, "temperature": {"constant_c": 35}}
        ],
        "gas": {"store_pressure_mbar": 8},
        "starter": {"materials": [{"material": "cattle-slurry", "kg": 300}], "water_l": 300},
        "recipes": {
            "bucket": {
                "materials": [
                    {"material": "kitchen-scraps", "kg": 2},
                    {"material": "cattle-dung", "kg": 1}
                ],
                "water_l": 4
            }
        },
        "feeding": [{"daily": {"recipe": "bucket", "from_day": 14}}]
    })
}

/// The good scenario with values replaced or added by address; `null` removes.
pub(crate) fn with(changes: &[(&str, Value)]) -> Value {
    let mut scenario = good();
    for (path, value) in changes {
        put(&mut scenario, path, value.clone());
    }
    scenario
}

fn put(scenario: &mut Value, path: &str, value: Value) {
    let address: Address = path.parse().expect("an address");
    let (last, around) = address.steps().split_last().expect("a step");
    let group = around.iter().fold(scenario, |here, step| match step {
        Step::Key(key) => &mut here[key.as_str()],
        Step::Index(i) => &mut here[*i],
    });
    match last {
        Step::Key(key) if value.is_null() => {
            group.as_object_mut().expect("a group").shift_remove(key);
        }
        Step::Key(key) => group[key.as_str()] = value,
        Step::Index(i) => match group.as_array_mut() {
            Some(list) if *i == list.len() => list.push(value),
            _ => group[*i] = value,
        },
    }
}

/// Reads a scenario that must be sound.
pub(crate) fn sound(scenario: &Value) -> Loaded {
    from_value(scenario, "s.json", None).unwrap_or_else(|p| panic!("{p}"))
}

/// Reads a changed scenario that must be sound.
pub(crate) fn loaded(changes: &[(&str, Value)]) -> Loaded {
    sound(&with(changes))
}

/// Everything that is wrong with a changed scenario.
pub(crate) fn problems(changes: &[(&str, Value)]) -> Vec<Problem> {
    match from_value(&with(changes), "s.json", None) {
        Ok(_) => Vec::new(),
        Err(problems) => problems.problems,
    }
}

/// The one sentence about the one thing that is wrong, without file, line and excerpt.
pub(crate) fn complaint(changes: &[(&str, Value)]) -> String {
    complaints(changes).join("\n")
}

/// All sentences, in the order of the file.
pub(crate) fn complaints(changes: &[(&str, Value)]) -> Vec<String> {
    problems(changes).iter().map(sentence).collect()
}

/// The sentence of a problem, without file, line and excerpt.
pub(crate) fn sentence(problem: &Problem) -> String {
    let text = problem.to_string();
    let line = text.lines().next().unwrap_or("");
    let (_, sentence) = line.split_once(": ").unwrap_or(("", line));
    sentence.to_owned()
}

/// All warnings of a changed scenario as "path: seen".
pub(crate) fn warnings(changes: &[(&str, Value)]) -> Vec<String> {
    let warnings = loaded(changes).warnings;
    warnings
        .iter()
        .map(|w| format!("{}: {}", w.path, w.seen))
        .collect()
}

/// What a text that is no scenario is told.
pub(crate) fn refusal(text: &str) -> Problems {
    from_text(text, "s.json", None).expect_err("must be refused")
}
