//! The scenario's own feeding, cut off where the record begins.

use jiff::civil::Date;
use serde_json::{Value, json};

/// Lines of the plan that act before day `first` (the date `first_date`), each ending the day before.
pub(super) fn lines(scenario: &Value, first: i32, first_date: Date) -> Vec<Value> {
    let Some(plan) = scenario.get("feeding").and_then(Value::as_array) else {
        return Vec::new();
    };
    if first <= 0 {
        return Vec::new();
    }
    plan.iter()
        .filter_map(|line| {
            let (kind, body) = line.as_object()?.iter().next()?;
            let body = match kind.as_str() {
                "daily" | "pause" => until(body, f64::from(first)),
                _ => on(body, f64::from(first), first_date),
            }?;
            Some(json!({ kind.as_str(): body }))
        })
        .collect()
}

/// A line from a day to a day.
fn until(body: &Value, first: f64) -> Option<Value> {
    let day = |key: &str| body.get(key).and_then(Value::as_f64);
    // What is missing or wrong is left to the check of the scenario.
    if day("from_day").is_some_and(|from| from >= first) {
        return None;
    }
    let mut cut = body.clone();
    if day("to_day").is_none_or(|to| to >= first) {
        cut["to_day"] = json!(first - 1.0);
    }
    Some(cut)
}

/// A line of chosen days.
fn on(body: &Value, first: f64, first_date: Date) -> Option<Value> {
    let mut cut = body.clone();
    let mut left = false;
    if let Some(days) = cut.get_mut("days").and_then(Value::as_array_mut) {
        days.retain(|day| day.as_f64().is_none_or(|day| day < first));
        left |= !days.is_empty();
    }
    if let Some(dates) = cut.get_mut("dates").and_then(Value::as_array_mut) {
        let before = |text: &str| text.parse::<Date>().is_ok_and(|date| date < first_date);
        dates.retain(|date| date.as_str().is_none_or(before));
        left |= !dates.is_empty();
    }
    left.then_some(cut)
}
