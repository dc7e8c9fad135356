//! What a change of temperature does to the reading of a store with the same gas in it.

use crate::chemistry::{ConstantSet, saturation_pressure};
use crate::plant::stream::GasState;

const PA_PER_BAR: f64 = 1e5;

/// Change of pressure in a rigid closed space \[Pa/K\]: of the dry gas, and by vapour over water on top of it.
#[must_use]
pub fn rigid_change_pa_per_k(state: &GasState, wet: bool) -> (f64, f64) {
    let (p_w, slope) = saturation_pressure(ConstantSet::Recommended, state.kelvin());
    if wet {
        let dry = (state.bar() - p_w) / state.kelvin();
        (dry * PA_PER_BAR, slope * PA_PER_BAR)
    } else {
        (state.bar() / state.kelvin() * PA_PER_BAR, 0.0)
    }
}

/// Relative change of the volume under a bell or in a slack bag \[1/K\]: by expansion, and by vapour on top of it.
#[must_use]
pub fn bell_change_per_k(state: &GasState) -> (f64, f64) {
    let (p_w, slope) = saturation_pressure(ConstantSet::Recommended, state.kelvin());
    (1.0 / state.kelvin(), slope / (state.bar() - p_w))
}
