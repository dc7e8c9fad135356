//! The names that the equations know, asked for while the scenario is checked.

use crate::case::NetworkKind;
use crate::kinetics::{Network, NetworkFault, Parameters, Pool, adm1, four_stage};

/// Largest concentration of a component in a steady inflow \[kg COD or kmol per m3\]: thicker than any liquor that
/// flows.
const MOST: f64 = 1000.0;

/// The parameters of a network as they are without any change.
fn parameters(network: NetworkKind) -> Parameters {
    match network {
        NetworkKind::FourStage => Parameters::four_stage(),
        NetworkKind::Adm1 => Parameters::adm1(),
    }
}

fn build(network: NetworkKind, parameters: &Parameters) -> Result<Network, NetworkFault> {
    match network {
        NetworkKind::FourStage => four_stage(parameters),
        NetworkKind::Adm1 => adm1(parameters),
    }
}

/// Admissible range of a parameter, or the names that exist.
pub(super) fn parameter(network: NetworkKind, name: &str) -> Result<(f64, f64), Vec<String>> {
    let known = parameters(network);
    match known.find(name) {
        Ok(parameter) => Ok((parameter.low, parameter.high)),
        Err(_) => Err(known.parameters.into_iter().map(|p| p.name).collect()),
    }
}

/// Admissible range of a component's concentration in a steady inflow, or the names that exist.
pub(super) fn component(network: NetworkKind, name: &str) -> Result<(f64, f64), Vec<String>> {
    let built = build(network, &parameters(network));
    // Without changes a network always closes; a test builds it.
    let names: Vec<&str> = built
        .iter()
        .flat_map(|n| &n.components)
        .map(|c| c.name)
        .collect();
    if names.contains(&name) {
        Ok((0.0, MOST))
    } else {
        Err(names.into_iter().map(str::to_owned).collect())
    }
}

/// Names of the parameters in whose place the materials bring values of their own.
pub(super) fn of_materials(network: NetworkKind) -> Vec<String> {
    let built = build(network, &parameters(network));
    let names = |n: &Network| {
        let of_pool = |pool: &Pool| n.coefficients[pool.coefficient].name.clone();
        n.pools.iter().map(of_pool).collect()
    };
    // Without changes a network always closes; a test builds it.
    built.as_ref().map_or_else(|_| Vec::new(), names)
}

/// What is wrong with a network with these changes: parameters that are sound one by one can contradict each other.
pub(super) fn contradiction(
    network: NetworkKind,
    changes: &[(String, f64)],
) -> Option<NetworkFault> {
    let mut parameters = parameters(network);
    for (name, value) in changes {
        // An unknown name has been told already.
        if parameters.set(name, *value).is_err() {
            return None;
        }
    }
    build(network, &parameters).err()
}
