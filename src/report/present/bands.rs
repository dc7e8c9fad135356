//! The bands against which a run is read. Their values come from data, not from here.

/// The bands that figures and sentences use.
#[derive(Debug, Clone, PartialEq)]
pub struct Bands {
    /// pH of the liquor.
    pub ph: PhBand,
    /// Acids over alkalinity.
    pub acid_ratio: RatioBand,
    /// What burns.
    pub flame: FlameBand,
}

/// pH of the liquor.
#[derive(Debug, Clone, PartialEq)]
pub struct PhBand {
    /// Where a digester thrives.
    pub healthy: (f64, f64),
    /// Where it still works.
    pub tolerable: (f64, f64),
    /// Where the numbers come from.
    pub source: String,
}

/// Volatile acids \[mg/L as acetic acid\] over alkalinity \[mg/L as CaCO3\].
#[derive(Debug, Clone, PartialEq)]
pub struct RatioBand {
    /// Up to here all is well.
    pub ok: f64,
    /// Up to here: watch.
    pub watch: f64,
    /// Up to here: act; beyond it, danger.
    pub danger: f64,
    /// Where the numbers come from.
    pub source: String,
}

/// What burns in a common stove.
#[derive(Debug, Clone, PartialEq)]
pub struct FlameBand {
    /// Least methane share of the dry gas, 0..1.
    pub ch4: f64,
    /// Most air share of the dry gas, 0..1.
    pub air: f64,
    /// Where the numbers come from.
    pub source: String,
}
