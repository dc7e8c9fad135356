//! What is wrong with a setting: field, value, what is allowed, how to mend it.

/// Highest pressure above ambient that anything here is computed for \[Pa\]. Source: the upper bound of the household
/// standard ISO 23590:2020 (under 5 kPa).
pub const HIGHEST_GAUGE_PA: f64 = 5000.0;

/// Why a unit of the plant cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlantFault {
    /// A number outside its range, or not finite.
    #[error("{field} is {value}: give {allowed}. {mend}")]
    OutOfRange {
        /// Name of the setting.
        field: String,
        /// What was given.
        value: f64,
        /// What is allowed, for people.
        allowed: String,
        /// How to mend it: a full sentence.
        mend: String,
    },
    /// More pressure than a home-built vessel may hold.
    #[error(
        "{field} is {pa:.0} Pa: this stops at {HIGHEST_GAUGE_PA:.0} Pa (51 cm of water). More is a pressure vessel: it \
         needs a rated and inspected vessel, ignition-proof gear and licensed people, and wet gas eats it from inside. \
         Take a larger store at a lower pressure instead."
    )]
    TooMuchPressure {
        /// Name of the setting or the quantity.
        field: String,
        /// The pressure above ambient \[Pa\].
        pa: f64,
    },
    /// Settings that do not go together.
    #[error("{field}: {why}. {mend}")]
    Unfit {
        /// Name of the setting.
        field: String,
        /// What is wrong, without a full stop.
        why: String,
        /// How to mend it: a full sentence.
        mend: String,
    },
}

impl PlantFault {
    /// The same fault of a field of another name.
    #[must_use]
    pub(crate) fn renamed(mut self, name: impl FnOnce(&str) -> String) -> Self {
        let (Self::OutOfRange { field, .. }
        | Self::TooMuchPressure { field, .. }
        | Self::Unfit { field, .. }) = &mut self;
        *field = name(field);
        self
    }
}

/// Refuses a value that is not finite or outside `low..=high`.
pub(crate) fn within(
    field: &str,
    value: f64,
    (low, high): (f64, f64),
    unit: &str,
    mend: &str,
) -> Result<(), PlantFault> {
    if value.is_finite() && value >= low && value <= high {
        return Ok(());
    }
    Err(PlantFault::OutOfRange {
        field: field.to_owned(),
        value,
        allowed: format!("a number from {low} to {high} {unit}")
            .trim_end()
            .to_owned(),
        mend: mend.to_owned(),
    })
}

/// Refuses a value that is not finite, not above zero, or above `high`.
pub(crate) fn above_zero(
    field: &str,
    value: f64,
    high: f64,
    unit: &str,
    mend: &str,
) -> Result<(), PlantFault> {
    if value.is_finite() && value > 0.0 && value <= high {
        return Ok(());
    }
    Err(PlantFault::OutOfRange {
        field: field.to_owned(),
        value,
        allowed: format!("a number above 0 and up to {high} {unit}"),
        mend: mend.to_owned(),
    })
}

/// Refuses a pressure above ambient that only a pressure vessel holds.
///
/// # Errors
/// [`PlantFault::TooMuchPressure`] above [`HIGHEST_GAUGE_PA`], and for a pressure that is not a number.
pub fn check_gauge(field: &str, pa: f64) -> Result<(), PlantFault> {
    if pa <= HIGHEST_GAUGE_PA {
        return Ok(());
    }
    Err(PlantFault::TooMuchPressure {
        field: field.to_owned(),
        pa,
    })
}
