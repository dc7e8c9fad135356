//! The numbers of a scenario by address, so that a study can vary them.

use serde_json::{Number, Value};
use thiserror::Error;

use super::address::{Address, AddressError, Step};
use super::kinds::{value_at, value_at_mut};
use super::near::{did_you_mean, listed};
use super::problem::shown;

/// How many names a message offers.
const OFFERED: usize = 20;
/// Largest whole number that a 64-bit float holds exactly.
const LARGEST_WHOLE: f64 = 9_007_199_254_740_992.0;

/// Why a number cannot be set.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NumberError {
    /// The address is not written as one.
    #[error(transparent)]
    Address(#[from] AddressError),
    /// There is no such key.
    #[error(
        "the scenario has no `{path}`: {group} holds {known}; a value that only has a default must first be written \
         into the scenario. {near}"
    )]
    NoKey {
        /// Address as far as the key that is missing.
        path: String,
        /// Where it is missing.
        group: String,
        /// What is there.
        known: String,
        /// "Did you mean ...?", or nothing.
        near: String,
    },
    /// The list is too short.
    #[error("the scenario has no `{path}`: the list holds {len}, counted from 0")]
    NoElement {
        /// Address as far as the element that is missing.
        path: String,
        /// Length of the list.
        len: usize,
    },
    /// A key within something that is no group, or a place within something that is no list.
    #[error("the scenario has no `{path}`: what stands before it is {found}")]
    NotWithin {
        /// Address as far as the step that fails.
        path: String,
        /// What is there.
        found: String,
    },
    /// Something else than a number stands there.
    #[error("`{path}` is no number: it is {found}")]
    NoNumber {
        /// The address.
        path: String,
        /// What is there.
        found: String,
    },
    /// NaN or infinite.
    #[error("`{path}` cannot be set to {value}: it must be finite")]
    NotFinite {
        /// The address.
        path: String,
        /// What was asked.
        value: f64,
    },
}

/// Every number of a scenario with its address, in the order of the file.
#[must_use]
pub fn list_numbers(scenario: &Value) -> Vec<(String, f64)> {
    let mut numbers = Vec::new();
    collect(scenario, &Address::default(), &mut numbers);
    numbers
}

fn collect(value: &Value, at: &Address, numbers: &mut Vec<(String, f64)>) {
    match value {
        Value::Number(number) => {
            numbers.extend(number.as_f64().map(|number| (at.to_string(), number)));
        }
        Value::Array(list) => {
            for (i, element) in list.iter().enumerate() {
                collect(element, &at.index(i), numbers);
            }
        }
        Value::Object(group) => {
            for (key, element) in group {
                collect(element, &at.key(key), numbers);
            }
        }
        Value::Null | Value::Bool(_) | Value::String(_) => {}
    }
}

/// The number at an address such as `vessels[0].liquid_l`.
///
/// # Errors
/// [`NumberError`] when there is none.
pub fn get_number(scenario: &Value, path: &str) -> Result<f64, NumberError> {
    let address: Address = path.parse()?;
    let found = find(scenario, &address)?;
    found.as_f64().ok_or_else(|| no_number(&address, found))
}

/// Replaces the number at an address such as `vessels[0].liquid_l`; the new value is checked when the scenario is.
///
/// # Errors
/// [`NumberError`] when there is no number, or `value` is not finite; the scenario is unchanged then.
pub fn set_number(scenario: &mut Value, path: &str, value: f64) -> Result<(), NumberError> {
    let address: Address = path.parse()?;
    let found = find(scenario, &address)?;
    if !found.is_number() {
        return Err(no_number(&address, found));
    }
    let not_finite = || NumberError::NotFinite {
        path: address.to_string(),
        value,
    };
    let whole = found.is_i64() || found.is_u64();
    let number = if whole && value.fract() == 0.0 && value.abs() <= LARGEST_WHOLE {
        // Whole and exact by the test above: days stay written as days.
        Number::from(value as i64)
    } else {
        Number::from_f64(value).ok_or_else(not_finite)?
    };
    if let Some(place) = value_at_mut(scenario, &address) {
        *place = Value::Number(number);
    }
    Ok(())
}

fn no_number(address: &Address, found: &Value) -> NumberError {
    NumberError::NoNumber {
        path: address.to_string(),
        found: describe(found),
    }
}

fn find<'a>(scenario: &'a Value, address: &Address) -> Result<&'a Value, NumberError> {
    if let Some(found) = value_at(scenario, address) {
        return Ok(found);
    }
    let mut at = Address::default();
    let mut here = scenario;
    for step in address.steps() {
        let next = at.with(step.clone());
        let path = next.to_string();
        let inner = match (step, here) {
            (Step::Key(key), Value::Object(group)) => group.get(key).ok_or_else(|| {
                let keys = || group.keys().map(String::as_str);
                NumberError::NoKey {
                    path: path.clone(),
                    group: if at.is_top() {
                        "it".to_owned()
                    } else {
                        format!("`{at}`")
                    },
                    known: listed(keys(), OFFERED),
                    near: did_you_mean(key, keys()),
                }
            }),
            (Step::Index(i), Value::Array(list)) => {
                list.get(*i).ok_or_else(|| NumberError::NoElement {
                    path: path.clone(),
                    len: list.len(),
                })
            }
            (Step::Key(_) | Step::Index(_), other) => Err(NumberError::NotWithin {
                path: path.clone(),
                found: describe(other),
            }),
        }?;
        at = next;
        here = inner;
    }
    Ok(here)
}

fn describe(value: &Value) -> String {
    match value {
        Value::Null => "null".to_owned(),
        Value::Bool(_) => "true or false".to_owned(),
        Value::Number(_) => "a number".to_owned(),
        Value::String(text) => format!("the text \"{}\"", shown(text)),
        Value::Array(list) => format!("a list of {}", list.len()),
        Value::Object(group) => {
            format!(
                "a group of {}",
                listed(group.keys().map(String::as_str), OFFERED)
            )
        }
    }
}
