//! Films and layers in series, and the U-values that come of them.

/// Outer film in still air, radiation included \[W/m2/K\]. Handbook value, from memory.
pub const STILL_AIR_W_PER_M2_K: f64 = 10.0;
/// Inner film of the liquor \[W/m2/K\]: 50 to 200. Handbook value, from memory.
pub const INSIDE_W_PER_M2_K: f64 = 100.0;
/// Outer film in wind: `5.7 + 3.8 v` \[W/m2/K\], v in m/s. Handbook formula, from memory.
const WIND: (f64, f64) = (5.7, 3.8);
/// Rounds the corner where wind takes over from still air \[W/m2/K\].
const CORNER: f64 = 0.2;
/// A pane or film with two centimetres of still air behind it \[m2 K/W\]. Handbook value, from memory.
const GLAZING_M2_K_PER_W: f64 = 0.17;

/// Film between wall and outdoor air and its slope by wind speed: ([W/m2/K], [W/m2/K per m/s]).
///
/// The larger of still air and wind, its corner rounded.
#[must_use]
pub fn outside_w_per_m2_k(wind_m_per_s: f64) -> (f64, f64) {
    let over = WIND.0 + WIND.1 * wind_m_per_s - STILL_AIR_W_PER_M2_K;
    let root = (over * over + CORNER * CORNER).sqrt();
    let film = STILL_AIR_W_PER_M2_K + 0.5 * (over + root);
    (film, 0.5 * WIND.1 * (1.0 + over / root))
}

/// Resistance of a layer \[m2 K/W\] of a thickness \[m\] and conductivity \[W/m/K\].
#[must_use]
pub fn layer_m2_k_per_w(thickness_m: f64, w_per_m_k: f64) -> f64 {
    thickness_m / w_per_m_k
}

/// Resistance that a pane or film over a sunny face adds \[m2 K/W\].
#[must_use]
pub fn glazing_m2_k_per_w() -> f64 {
    GLAZING_M2_K_PER_W
}

/// U-value \[W/m2/K\] of layers between the inner film and an outer film \[W/m2/K\].
#[must_use]
pub fn u_value(layers_m2_k_per_w: f64, outside_w_per_m2_k: f64) -> f64 {
    1.0 / (1.0 / INSIDE_W_PER_M2_K + layers_m2_k_per_w + 1.0 / outside_w_per_m2_k)
}
