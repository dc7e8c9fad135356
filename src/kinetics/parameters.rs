//! Named parameters of a network, with units, bounds and sources; read from data, changed by name.

use serde::Deserialize;

use super::network::NetworkFault;
use crate::embedded;

/// One parameter.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parameter {
    /// Name in the field's notation.
    pub name: String,
    /// Value.
    pub value: f64,
    /// Unit.
    pub unit: String,
    /// Smallest value a user may set.
    pub low: f64,
    /// Largest value a user may set.
    pub high: f64,
    /// Remark.
    #[serde(default)]
    pub note: String,
    /// Source, where it differs from that of the file.
    #[serde(default)]
    pub source: Option<String>,
}

/// All parameters of a network.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parameters {
    /// What the file holds.
    pub about: String,
    /// Source of every value that names none itself.
    pub source: String,
    /// The values.
    pub parameters: Vec<Parameter>,
}

/// A name that the network does not know.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("the network has no parameter `{0}`")]
pub struct UnknownParameter(pub String);

/// What shares leave for the last product.
///
/// # Errors
/// [`NetworkFault::Shares`] when they leave less than nothing.
pub(super) fn remainder(
    parameters: &Parameters,
    names: &[&'static str],
) -> Result<f64, NetworkFault> {
    let sum: f64 = names
        .iter()
        .map(|name| parameters.value(name).unwrap_or(f64::NAN))
        .sum();
    if sum > 1.0 + ROUNDING {
        return Err(NetworkFault::Shares {
            names: names.to_vec(),
            sum,
        });
    }
    Ok((1.0 - sum).max(0.0))
}

/// Asks shares to add up to one.
///
/// # Errors
/// [`NetworkFault::Shares`] when they do not.
pub(super) fn whole(parameters: &Parameters, names: &[&'static str]) -> Result<(), NetworkFault> {
    let left = remainder(parameters, names)?;
    if left > ROUNDING {
        return Err(NetworkFault::Shares {
            names: names.to_vec(),
            sum: 1.0 - left,
        });
    }
    Ok(())
}

/// Sums of a few decimal fractions.
const ROUNDING: f64 = 1e-12;

impl Parameters {
    /// The parameters of the four-stage network.
    #[must_use]
    pub fn four_stage() -> Self {
        embedded::read("four_stage.json", include_str!("data/four_stage.json"))
    }

    /// The parameters of ADM1 in the BSM2 setting.
    #[must_use]
    pub fn adm1() -> Self {
        embedded::read("adm1.json", include_str!("data/adm1.json"))
    }

    /// Looks a parameter up.
    ///
    /// # Errors
    /// [`UnknownParameter`] if there is none of that name.
    pub fn find(&self, name: &str) -> Result<&Parameter, UnknownParameter> {
        self.parameters
            .iter()
            .find(|p| p.name == name)
            .ok_or_else(|| UnknownParameter(name.to_owned()))
    }

    /// Value by name.
    ///
    /// # Errors
    /// [`UnknownParameter`] if there is none of that name.
    pub fn value(&self, name: &str) -> Result<f64, UnknownParameter> {
        self.find(name).map(|p| p.value)
    }

    /// Changes a value.
    ///
    /// # Errors
    /// [`UnknownParameter`] if there is none of that name.
    pub fn set(&mut self, name: &str, value: f64) -> Result<(), UnknownParameter> {
        let p = self
            .parameters
            .iter_mut()
            .find(|p| p.name == name)
            .ok_or_else(|| UnknownParameter(name.to_owned()))?;
        p.value = value;
        Ok(())
    }
}
