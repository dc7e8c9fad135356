//! The four-stage network in the published tank, on the published stream, beside ADM1's published result.

use super::benchmark::{
    FLOW_M3_PER_D, HEADSPACE_M3, gas_flow, influent, integrate, methane_share, steady, tank,
};
use super::{EvidenceFailure, Values};
use crate::kinetics::{GasKind, Network, Parameters, REFERENCE_K, four_stage};
use crate::simulate::RunFailure;
use crate::units::COD_CH4;

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
/// Sulphide to begin with \[kmol/m3\]: any will do after thirty retention times.
const SULPHIDE: f64 = 1e-3;

/// A published ADM1 liquor in the components of the four-stage network.
fn mapped(
    network: &Network,
    adm1: &Parameters,
    value: fn(&str) -> f64,
) -> Result<Vec<f64>, RunFailure> {
    let mut c = vec![0.0; network.components.len()];
    let mut put = |name: &str, amount: f64| {
        if let Some(i) = network.index(name) {
            c[i] += amount;
        }
    };
    for same in [
        "S_su", "S_aa", "S_fa", "S_bu", "S_pro", "S_ac", "S_h2", "S_ch4", "S_IC", "S_IN", "S_I",
        "X_pr", "X_li", "X_I", "X_su", "X_aa", "X_fa", "X_c4", "X_pro", "X_ac", "X_h2",
    ] {
        put(same, value(same));
    }
    put("S_bu", value("S_va"));
    put("X_cf", value("X_ch"));
    put("S_ion", value("S_cat") - value("S_an"));
    let composite = value("X_c");
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
    let adm1 = Parameters::adm1();
    let incoming = mapped(&network, &adm1, influent)?;
    let mut y = mapped(&network, &adm1, steady)?;
    // ADM1 knows no sulphide; the cells need a trace of it.
    if let Some(i) = network.index("S_IS") {
        y[i] = SULPHIDE;
    }
    let gases: Vec<GasKind> = network.gases.iter().map(|g| g.kind).collect();
    let mut tank = tank(network, true, FLOW_M3_PER_D, incoming);
    let layout = *tank.layout();
    y.resize(layout.dim(), 0.0);
    y[layout.temperature()] = REFERENCE_K;
    for (g, kind) in gases.iter().enumerate() {
        y[layout.gas(g)] = match kind {
            GasKind::CH4 => steady("S_gas_ch4") / COD_CH4 * HEADSPACE_M3,
            GasKind::CO2 => steady("S_gas_co2") * HEADSPACE_M3,
            _ => 0.0,
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
