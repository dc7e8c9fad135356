//! Starter scenarios load without a word of warning, and the schema describes them.

use std::collections::BTreeSet;

use marshgas::scenario::{from_text, schema, templates};
use serde_json::Value;

#[test]
fn each_loads_without_problem_or_warning() {
    for template in templates() {
        let file = format!("{}.json", template.name);
        let loaded = from_text(template.text, &file, None).unwrap_or_else(|p| panic!("{p}"));
        assert_eq!(loaded.warnings, [], "{file}");
        assert!(
            loaded.case.about.contains("not measured"),
            "{file} says what it is"
        );
    }
}

#[test]
fn their_names_are_distinct_and_those_promised() {
    let names: Vec<&str> = templates().iter().map(|t| t.name).collect();
    assert_eq!(names, ["tote", "drum", "bottle", "row-of-totes"]);
}

/// Whether `value` has the structure that `schema` describes: kinds, keys, choices, ranges.
fn fits(value: &Value, schema: &Value, top: &Value) -> Result<(), String> {
    if let Some(name) = schema["$ref"].as_str() {
        let name = name.strip_prefix("#/$defs/").ok_or("a foreign reference")?;
        let inner = top["$defs"]
            .get(name)
            .ok_or_else(|| format!("no definition of {name}"))?;
        return fits(value, inner, top);
    }
    for choices in ["anyOf", "oneOf"] {
        if let Some(choices) = schema[choices].as_array() {
            let misses: Vec<String> = choices
                .iter()
                .filter_map(|choice| fits(value, choice, top).err())
                .collect();
            if misses.len() == choices.len() {
                return Err(format!("{value} fits none of the choices: {misses:?}"));
            }
        }
    }
    if let Some(expected) = schema.get("const") {
        return if value == expected {
            Ok(())
        } else {
            Err(format!("{value} is not {expected}"))
        };
    }
    if let Some(names) = schema["enum"].as_array()
        && !names.contains(value)
    {
        return Err(format!("{value} is none of {names:?}"));
    }
    let kinds: Vec<&str> = match &schema["type"] {
        Value::String(kind) => vec![kind],
        Value::Array(kinds) => kinds.iter().filter_map(Value::as_str).collect(),
        _ => return Ok(()),
    };
    let kind = match value {
        Value::Null => "null",
        Value::Bool(_) => "boolean",
        Value::Number(_) => "number",
        Value::String(_) => "string",
        Value::Array(_) => "array",
        Value::Object(_) => "object",
    };
    if !kinds.contains(&kind) {
        return Err(format!("{value} is no {kinds:?}"));
    }
    match value {
        Value::Number(number) => {
            let number = number.as_f64().unwrap();
            let low = schema["minimum"].as_f64().unwrap_or(f64::NEG_INFINITY);
            let high = schema["maximum"].as_f64().unwrap_or(f64::INFINITY);
            if number < low || number > high {
                return Err(format!("{number} is outside {low} to {high}"));
            }
        }
        Value::Array(list) => {
            for element in list {
                fits(element, &schema["items"], top)?;
            }
        }
        Value::Object(group) => {
            for key in schema["required"].as_array().into_iter().flatten() {
                if group.get(key.as_str().unwrap()).is_none() {
                    return Err(format!("{key} is missing"));
                }
            }
            for (key, inner) in group {
                let described = match schema["properties"].get(key) {
                    Some(described) => described,
                    None if schema["additionalProperties"].is_object() => {
                        &schema["additionalProperties"]
                    }
                    None => return Err(format!("nobody knows the key {key}")),
                };
                fits(inner, described, top).map_err(|e| format!("{key}: {e}"))?;
            }
        }
        Value::Null | Value::Bool(_) | Value::String(_) => {}
    }
    Ok(())
}

#[test]
fn the_schema_describes_them() {
    let schema = schema();
    for template in templates() {
        let scenario: Value = serde_json::from_str(template.text).unwrap();
        assert_eq!(
            fits(&scenario, &schema, &schema),
            Ok(()),
            "{}",
            template.name
        );
    }
    assert_eq!(fits(&crate::support::good(), &schema, &schema), Ok(()));
}

#[test]
fn the_schema_refuses_what_the_check_refuses() {
    let schema = schema();
    for (path, value) in [
        ("vessels[0].liquid_litres", serde_json::json!(5)),
        ("days", serde_json::json!("100")),
        ("days", serde_json::json!(0)),
        ("days", serde_json::json!(null)),
        ("gas.store_pressure_mbar", serde_json::json!(80)),
        (
            "vessels[0].temperature",
            serde_json::json!({"constant_c": 99}),
        ),
        ("vessels[0].stirring", serde_json::json!("dayly")),
        ("feeding[0].daily.ramp", serde_json::json!({"from": 1})),
    ] {
        let changes = [(path, value)];
        let scenario = crate::support::with(&changes);
        assert!(fits(&scenario, &schema, &schema).is_err(), "{changes:?}");
        assert!(
            !crate::support::complaints(&changes).is_empty(),
            "{changes:?}"
        );
    }
}

#[test]
fn every_key_is_described() {
    /// Collects the keys of a group, and of the groups within, that nothing describes. The single key of a choice may
    /// be described by the choice.
    fn walk(schema: &Value, at: &str, silent: &mut BTreeSet<String>) {
        let told = schema["description"].is_string();
        for (key, inner) in schema["properties"].as_object().into_iter().flatten() {
            let at = format!("{at}.{key}");
            let described = inner["description"].is_string() || (told && at.contains('#'));
            if !described {
                silent.insert(at.clone());
            }
            walk(inner, &at, silent);
        }
        for choices in ["anyOf", "oneOf"] {
            for (i, inner) in schema[choices].as_array().into_iter().flatten().enumerate() {
                walk(inner, &format!("{at}#{i}"), silent);
            }
        }
    }
    let schema = schema();
    let mut silent = BTreeSet::new();
    walk(&schema, "", &mut silent);
    for (name, inner) in schema["$defs"].as_object().unwrap() {
        walk(inner, name, &mut silent);
    }
    assert_eq!(silent, BTreeSet::new());
    assert!(schema["title"].as_str().is_some());
}
