//! Norm volume and the reading of a gas meter or bell, as ideal gas.
//!
//! Norm state: 0 C, 101.325 kPa. The relative humidity is a share, 0..1.

use crate::chemistry::constants::ConstantSet;
use crate::chemistry::vapour;
use crate::units::{ATM_BAR, ZERO_C};

fn vapour_pressure(t_k: f64, humidity: f64) -> f64 {
    if humidity == 0.0 {
        return 0.0;
    }
    humidity * vapour::saturation_pressure(ConstantSet::Recommended, t_k).0
}

/// Volume of the dry part of `volume` \[any unit\] of moist gas, carried to `to_k` \[K\] and `to_bar`
/// \[bar\].
///
/// `t_k` \[K\], `p_bar` \[bar absolute\] and `humidity` describe the moist gas. Zero where vapour alone
/// would fill the space.
#[must_use]
pub fn dry_volume_at(
    volume: f64,
    t_k: f64,
    p_bar: f64,
    humidity: f64,
    to_k: f64,
    to_bar: f64,
) -> f64 {
    let p_dry = (p_bar - vapour_pressure(t_k, humidity)).max(0.0);
    volume * p_dry / to_bar * to_k / t_k
}

/// Dry norm volume \[norm m3\] in `volume` \[m3\] of moist gas at `t_k` \[K\], `p_bar` \[bar absolute\].
///
/// # Examples
///
/// ```
/// use marshgas::chemistry::norm_dry_from_wet;
/// // A cubic metre read warm and wet is a good tenth less gas than it looks.
/// let norm = norm_dry_from_wet(1.0, 303.15, 1.01325, 1.0);
/// assert!((norm - 0.863).abs() < 1e-3);
/// ```
#[must_use]
pub fn norm_dry_from_wet(volume: f64, t_k: f64, p_bar: f64, humidity: f64) -> f64 {
    dry_volume_at(volume, t_k, p_bar, humidity, ZERO_C, ATM_BAR)
}

/// Norm volume with its vapour counted \[norm m3\] of `volume` \[m3\] at `t_k` \[K\], `p_bar`
/// \[bar absolute\].
#[must_use]
pub fn norm_wet_from_wet(volume: f64, t_k: f64, p_bar: f64) -> f64 {
    volume * p_bar / ATM_BAR * ZERO_C / t_k
}

/// Volume \[m3\] that `norm_dry` \[norm m3 dry\] takes when moist at `t_k` \[K\], `p_bar`
/// \[bar absolute\]: what the owner reads.
///
/// `None` where vapour alone would fill the space.
#[must_use]
pub fn moist_volume(norm_dry: f64, t_k: f64, p_bar: f64, humidity: f64) -> Option<f64> {
    let p_dry = p_bar - vapour_pressure(t_k, humidity);
    (p_dry > 0.0).then(|| norm_dry * ATM_BAR / p_dry * t_k / ZERO_C)
}
