//! Starter scenarios load without a word of warning, and the schema describes them.

use std::collections::BTreeSet;

use marshgas::scenario::{from_text, schema, templates, wish_schema};
use marshgas::study::size::{EXAMPLE, Wish};
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
fn the_example_of_a_wish_fits_its_schema() {
    let schema = wish_schema();
    let wish: Value = serde_json::from_str(EXAMPLE).unwrap();
    assert_eq!(fits(&wish, &schema, &schema), Ok(()));
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
    for schema in [schema(), wish_schema()] {
        let mut silent = BTreeSet::new();
        walk(&schema, "", &mut silent);
        for (name, inner) in schema["$defs"].as_object().unwrap() {
            walk(inner, name, &mut silent);
        }
        assert_eq!(silent, BTreeSet::new());
        assert!(schema["title"].as_str().is_some());
    }
}

/// The example with one place (a JSON pointer) changed; `Null` takes it out.
fn wish(place: &str, value: &Value) -> Value {
    let mut wish: Value = serde_json::from_str(EXAMPLE).unwrap();
    let (group, key) = place.rsplit_once('/').unwrap();
    let group = wish.pointer_mut(group).unwrap();
    match (group, value) {
        (Value::Object(group), Value::Null) => drop(group.remove(key)),
        (Value::Object(group), value) => drop(group.insert(key.to_owned(), value.clone())),
        (group, value) => group[key.parse::<usize>().unwrap()] = value.clone(),
    }
    wish
}

#[test]
fn the_schema_of_a_wish_takes_what_its_check_takes_and_refuses_what_it_refuses() {
    use serde_json::json;
    let schema = wish_schema();
    let climate =
        json!({"air": {"wave": {"mean_c": 12, "yearly_swing_k": 8, "hottest_day_of_year": 200}}});
    for (place, value) in [
        ("/title", json!("Mine")),
        ("/$schema", json!("wish.schema.json")),
        ("/about", Value::Null),
        ("/climate", climate),
        ("/scraps/0/kg_per_day", json!(2.5)),
        ("/target", json!({"winter_kwh": 30, "winter_as": "heat"})),
        ("/target", json!({"winter_kwh": 30, "winter_as": "current"})),
        ("/target", json!({"treat_kg_per_day": 3, "months": [6, 7]})),
        ("/chance_pct", Value::Null),
        ("/builder", Value::Null),
        ("/builder/arrangement", json!("row")),
        ("/builder/arrangement", json!("parallel")),
        ("/builder/heater", json!("mains")),
        ("/builder/water_l_per_day", json!(0)),
    ] {
        let wish = wish(place, &value);
        assert_eq!(fits(&wish, &schema, &schema), Ok(()), "{place} {value}");
        assert!(
            Wish::from_text(&wish.to_string(), "wish.json").is_ok(),
            "{place} {value}"
        );
    }
    for (place, value) in [
        ("/climate", Value::Null),
        ("/climate", json!(12)),
        (
            "/climate",
            json!({"air": {"wave": {"mean_c": 400, "yearly_swing_k": 8, "hottest_day_of_year": 200}}}),
        ),
        ("/scraps", Value::Null),
        ("/scraps/0/material", Value::Null),
        ("/scraps/0/kg_per_day", json!("3 kg")),
        ("/scraps/0/kg_per_day", json!(-1)),
        ("/target", Value::Null),
        ("/target/burner_hours_per_day", json!(0)),
        ("/target/months", json!([0])),
        ("/target", json!({"winter_kwh": 30, "winter_as": "steam"})),
        ("/chance_pct", json!(100)),
        ("/hours_without_use", json!(200)),
        ("/builder/unit_sizes_l", json!([5])),
        ("/builder/most_units", json!(21)),
        ("/builder/foam_cm", json!([60])),
        ("/builder/heater", json!("sun")),
        ("/builder/set_c", json!([50])),
        ("/builder/water_l_per_day", json!(-1)),
        ("/builder/colour", json!("green")),
        ("/colour", json!("green")),
    ] {
        let wish = wish(place, &value);
        assert!(fits(&wish, &schema, &schema).is_err(), "{place} {value}");
        assert!(
            Wish::from_text(&wish.to_string(), "wish.json").is_err(),
            "{place} {value}"
        );
    }
}

#[test]
fn the_schema_of_a_wish_names_the_keys_that_its_check_knows() {
    let schema = wish_schema();
    for (place, group) in [
        ("/colour", "/properties"),
        ("/scraps/0/colour", "/$defs/Scrap/properties"),
        ("/target/colour", "/properties/target/properties"),
        ("/builder/colour", "/$defs/Builder/properties"),
    ] {
        let wish = wish(place, &serde_json::json!("green"));
        let problems = Wish::from_text(&wish.to_string(), "wish.json").unwrap_err();
        let told = problems.to_string();
        let (_, known) = told.split_once("Allowed: ").unwrap();
        let known: BTreeSet<&str> = known.split('.').next().unwrap().split(", ").collect();
        let keys = schema.pointer(group).unwrap().as_object().unwrap();
        let described: BTreeSet<&str> = keys.keys().map(String::as_str).collect();
        assert_eq!(known, described, "{place}");
    }
}
