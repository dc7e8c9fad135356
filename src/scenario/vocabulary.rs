//! What the equations know by name, asked for while the scenario is checked.

use super::limits::{CONCENTRATION, PARAMETER};
use crate::case::NetworkKind;

/// Names of parameters and components, with their ranges; the equations answer.
pub trait Vocabulary {
    /// Admissible range of a parameter.
    ///
    /// # Errors
    /// The names that exist, when `name` is none of them.
    fn parameter(&self, network: NetworkKind, name: &str) -> Result<(f64, f64), Vec<String>>;

    /// Admissible range of a component's concentration in a steady inflow.
    ///
    /// # Errors
    /// The names that exist, when `name` is none of them.
    fn component(&self, network: NetworkKind, name: &str) -> Result<(f64, f64), Vec<String>>;
}

/// Lets every name and every number of ordinary size pass: for whoever only wants the structure checked.
#[derive(Debug, Clone, Copy, Default)]
pub struct AnyName;

impl Vocabulary for AnyName {
    fn parameter(&self, _network: NetworkKind, _name: &str) -> Result<(f64, f64), Vec<String>> {
        Ok((PARAMETER.low, PARAMETER.high))
    }

    fn component(&self, _network: NetworkKind, _name: &str) -> Result<(f64, f64), Vec<String>> {
        Ok((CONCENTRATION.low, CONCENTRATION.high))
    }
}
