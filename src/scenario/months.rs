//! Months of a year in a file, by number or by name.

use serde_json::Value;

use super::address::Address;
use super::check::Checker;
use super::near::nearest;
use super::problem::shown;
use crate::units::MONTHS;

/// Shortest beginning of a name that tells months apart.
const SHORT: usize = 3;
/// More entries than this are a slip.
const MOST: usize = 100;

/// Which months a list names, January first; all where it is left out.
///
/// A month is a number from 1 to 12, or its English name, whole or its first three letters.
pub(crate) fn months(checker: &mut Checker, at: &Address, raw: Option<&[Value]>) -> [bool; 12] {
    let Some(list) = raw else {
        return [true; 12];
    };
    let mut out = [false; 12];
    if list.is_empty() {
        checker.wrong(
            at,
            "This list is empty.",
            "List months, such as [5, 6, 7] or [\"may\", \"june\", \"july\"], or leave it out for all.",
        );
    }
    if !checker.is_short(at, list.len(), MOST) {
        return out;
    }
    for (i, value) in list.iter().enumerate() {
        match month(value) {
            Some(month) => out[month] = true,
            None => unknown(checker, &at.index(i), value),
        }
    }
    out
}

/// 0 for January.
fn month(value: &Value) -> Option<usize> {
    match value {
        Value::Number(number) => {
            let given = number.as_f64()?;
            (0..MONTHS.len()).find(|m| (m + 1) as f64 == given)
        }
        Value::String(text) => {
            let name = text.trim().to_lowercase();
            MONTHS.iter().position(|month| {
                let month = month.to_lowercase();
                month == name || (name.len() == SHORT && month.starts_with(&name))
            })
        }
        _ => None,
    }
}

fn unknown(checker: &mut Checker, at: &Address, value: &Value) {
    let allowed = "1 to 12, or \"january\" to \"december\"";
    let mend = match value {
        Value::String(text) => nearest(text, MONTHS).map_or_else(String::new, |near| {
            format!("Did you mean \"{}\"?", near.to_lowercase())
        }),
        _ => String::new(),
    };
    checker.outside(
        at,
        shown(&value.to_string()),
        allowed,
        "Months are numbered from 1, January, or called by their English names.",
        mend,
    );
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_month_has_a_number_and_a_name() {
        for (value, place) in [
            (json!(1), Some(0)),
            (json!(12.0), Some(11)),
            (json!("May"), Some(4)),
            (json!("sep"), Some(8)),
            (json!(" december "), Some(11)),
            (json!(0), None),
            (json!(6.5), None),
            (json!(13), None),
            (json!("ma"), None),
            (json!("juni"), None),
            (json!(true), None),
        ] {
            assert_eq!(month(&value), place, "{value}");
        }
    }
}
