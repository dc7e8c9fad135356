//! The four-stage network in the published tank, on the published stream, beside ADM1's published result.

use super::benchmark::{FLOW_M3_PER_D, gas_flow, influent, integrate, methane_share, tank};
use super::{EvidenceFailure, Values};
use crate::kinetics::{GasKind, Network, Parameters, four_stage};
use crate::simulate::RunFailure;
use crate::units::{R_BAR, kelvin};

/// Hydrolysis of that stream \[1/d\], as ADM1 has it.
const HYDROLYSIS_PER_D: f64 = 10.0;
const POOLS: [&str; 4] = ["k_hyd_cf", "k_hyd_cs", "k_hyd_pr", "k_hyd_li"];
/// How ADM1 splits its composite: dissolved inert, inert, carbohydrate, protein, fat.
const COMPOSITE: [(&str, &str); 4] = [
    ("S_I", "f_sI_xc"),
    ("X_I", "f_xI_xc"),
    ("X_cf", "f_ch_xc"),
    ("X_pr", "f_pr_xc"),
];
const DAYS: f64 = 600.0;
/// Living groups to begin with \[kg COD/m3\]: any will do after thirty retention times.
const SEED: f64 = 0.5;

/// The published stream in the components of the four-stage network.
fn stream(network: &Network, adm1: &Parameters) -> Result<Vec<f64>, RunFailure> {
    let mut c = vec![0.0; network.components.len()];
    let mut put = |name: &str, value: f64| {
        if let Some(i) = network.index(name) {
            c[i] += value;
        }
    };
    for same in [
        "S_su", "S_aa", "S_fa", "S_bu", "S_pro", "S_ac", "S_h2", "S_ch4", "S_IC", "S_IN", "S_I",
        "X_pr", "X_li", "X_I", "X_su", "X_aa", "X_fa", "X_c4", "X_pro", "X_ac", "X_h2",
    ] {
        put(same, influent(same));
    }
    put("S_bu", influent("S_va"));
    put("X_cf", influent("X_ch"));
    put("S_ion", influent("S_cat") - influent("S_an"));
    let composite = influent("X_c");
    let mut rest = composite;
    for (into, share) in COMPOSITE {
        let part = adm1.value(share)? * composite;
        put(into, part);
        rest -= part;
    }
    put("X_li", rest);
    Ok(c)
}

/// Gas, methane share and pH after the start is forgotten, at the default (Davies) activities.
pub(super) fn same_tank() -> Result<Values, EvidenceFailure> {
    let mut parameters = Parameters::four_stage();
    for k in POOLS {
        parameters
            .set(k, HYDROLYSIS_PER_D)
            .map_err(RunFailure::from)?;
    }
    let network = four_stage(&parameters).map_err(RunFailure::from)?;
    let incoming = stream(&network, &Parameters::adm1())?;
    let mut y = incoming.clone();
    for (value, c) in y.iter_mut().zip(&network.components) {
        if c.group == crate::kinetics::Group::Living {
            *value = SEED;
        }
        // Enough carbonate and ammonium for a healthy start.
        if matches!(c.name, "S_IC" | "S_IN") {
            *value = 0.1;
        }
        if c.name == "S_IS" {
            *value = 1e-3;
        }
    }
    let gases: Vec<GasKind> = network.gases.iter().map(|g| g.kind).collect();
    let mut tank = tank(network, true, FLOW_M3_PER_D, incoming);
    let layout = *tank.layout();
    y.resize(layout.dim(), 0.0);
    y[layout.temperature()] = kelvin(35.0);
    let full = tank.gas_m3 / (R_BAR * kelvin(35.0));
    for (g, kind) in gases.iter().enumerate() {
        y[layout.gas(g)] = match kind {
            GasKind::CH4 => 0.6 * full,
            GasKind::CO2 => 0.35 * full,
            _ => 1e-6 * full,
        };
    }
    integrate(&mut tank, &mut y, DAYS, &mut |_, _| {})?;
    let ph = tank.speciate(&y)?.ph();
    Ok(vec![
        ("four-stage.gas".into(), gas_flow(&tank, &y)),
        ("four-stage.ch4".into(), 100.0 * methane_share(&tank, &y)),
        ("four-stage.ph".into(), ph),
    ])
}
