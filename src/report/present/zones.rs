//! Shaded zones behind acids and pH: the same bands in every figure.

use crate::digester::Bands;
use crate::report::figure::{Layer, Tone, Zone};

/// A horizontal zone; without an end it reaches to the axis's.
pub(super) fn zone(from: Option<f64>, to: Option<f64>, label: &str, tone: Tone) -> Layer {
    Layer::Zone(Zone {
        from,
        to,
        label: label.into(),
        tone,
    })
}

/// Bands of acids over alkalinity, from low to high.
pub(super) fn acid_ratio_zones(bands: &Bands) -> Vec<Layer> {
    let band = &bands.acid_ratio;
    vec![
        zone(Some(0.0), Some(band.good), "well", Tone::Good),
        zone(Some(band.good), Some(band.watch), "watch", Tone::Watch),
        zone(Some(band.watch), Some(band.danger), "act", Tone::Act),
        zone(Some(band.danger), None, "danger", Tone::Danger),
    ]
}

/// Bands of the pH, from low to high.
pub(super) fn ph_zones(bands: &Bands) -> Vec<Layer> {
    let ([low, high], [least, most]) = (bands.ph.healthy, bands.ph.tolerable);
    vec![
        zone(Some(least), Some(low), "tolerable", Tone::Watch),
        zone(Some(low), Some(high), "healthy", Tone::Good),
        zone(Some(high), Some(most), "tolerable", Tone::Watch),
    ]
}
