//! Shapes of an uncertain input, each given by its inverse: a share in, a value out.

use serde::{Deserialize, Serialize};

use super::normal;

/// Least share of a bell that its bounds must leave: less is a slip of the pen, and too little to draw from.
const LEAST_SHARE_LEFT: f64 = 0.001;

/// An uncertain input. All values in the unit of the input.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Distribution {
    /// Known exactly.
    Fixed {
        /// The value, finite.
        value: f64,
    },
    /// Anywhere between two bounds, all equally likely. `low < high`, both finite.
    Uniform {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// Likeliest at one value, falling straight to nothing at the bounds.
    /// `low <= mode <= high`, `low < high`, all finite.
    Triangular {
        /// Lower bound.
        low: f64,
        /// Likeliest value.
        mode: f64,
        /// Upper bound.
        high: f64,
    },
    /// A bell cut off at its bounds. `low < high`, `sd > 0`, all finite.
    Normal {
        /// Mean of the bell before it is cut.
        mean: f64,
        /// Standard deviation of the bell before it is cut.
        sd: f64,
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// A bell in the logarithm: as often twice as half. It can be cut off too.
    LogNormal {
        /// Half of all values lie below (before it is cut), above 0.
        median: f64,
        /// Nine in ten values lie between `median / factor` and `median * factor` (before it is cut), above 1.
        factor: f64,
        /// Lower bound, 0 or above; none without.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        low: Option<f64>,
        /// Upper bound; none without.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        high: Option<f64>,
    },
}

/// What is wrong with a distribution.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DistributionError {
    /// A number is not finite.
    #[error("{name} is {value}; give a finite number")]
    NotFinite {
        /// Which one.
        name: &'static str,
        /// What it is.
        value: f64,
    },
    /// Bounds that leave nothing between them.
    #[error("low {low} is not below high {high}; give the lower bound first, or a fixed value")]
    Bounds {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// Bounds so far apart that their distance is no finite number.
    #[error("the bounds {low} and {high} are too far apart")]
    TooWide {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// Likeliest value outside its bounds.
    #[error("mode {mode} lies outside {low} to {high}")]
    Mode {
        /// Lower bound.
        low: f64,
        /// Likeliest value.
        mode: f64,
        /// Upper bound.
        high: f64,
    },
    /// A number must lie above a limit.
    #[error("{name} is {value}; it must be above {limit}")]
    NotAbove {
        /// Which one.
        name: &'static str,
        /// What it is.
        value: f64,
        /// What it must exceed.
        limit: f64,
    },
    /// A bound below 0 where no value can be.
    #[error("low is {low}; a log-normal input never falls below 0, so give 0 or more, or no bound")]
    NegativeBound {
        /// Lower bound.
        low: f64,
    },
    /// The bounds cut away nearly the whole bell.
    #[error(
        "the bounds {low} to {high} leave only {share:.1e} of the bell; move them or its middle"
    )]
    NothingLeft {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
        /// Share between the bounds, 0..1.
        share: f64,
    },
}

impl Distribution {
    /// Checks the numbers against the ranges given at each shape.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn validate(&self) -> Result<(), DistributionError> {
        match *self {
            Self::Fixed { value } => finite("value", value),
            Self::Uniform { low, high } => bounds(low, high),
            Self::Triangular { low, mode, high } => {
                bounds(low, high)?;
                finite("mode", mode)?;
                if (low..=high).contains(&mode) {
                    Ok(())
                } else {
                    Err(DistributionError::Mode { low, mode, high })
                }
            }
            Self::Normal {
                mean,
                sd,
                low,
                high,
            } => {
                bounds(low, high)?;
                finite("mean", mean)?;
                above("sd", sd, 0.0)?;
                enough_left(&Bell::linear(mean, sd, low, high), low, high)
            }
            Self::LogNormal {
                median,
                factor,
                low,
                high,
            } => {
                above("median", median, 0.0)?;
                above("factor", factor, 1.0)?;
                if let Some(low) = low {
                    finite("low", low)?;
                    if low < 0.0 {
                        return Err(DistributionError::NegativeBound { low });
                    }
                }
                if let Some(high) = high {
                    bounds(low.unwrap_or(0.0), high)?;
                }
                let (low, high) = self.support();
                enough_left(&Bell::logarithmic(median, factor, low, high), low, high)
            }
        }
    }

    /// The value below which lies the share `u` of the distribution, for a distribution that [`validate`] passes.
    ///
    /// Never outside [`support`]. 0 and 1 give its ends; a share outside 0..=1 gives NaN (but for a fixed value).
    ///
    /// [`validate`]: Self::validate
    /// [`support`]: Self::support
    #[must_use]
    pub fn quantile(&self, u: f64) -> f64 {
        let inside = (0.0..=1.0).contains(&u);
        match *self {
            Self::Fixed { value } => value,
            _ if !inside => f64::NAN,
            _ if u == 0.0 => self.support().0,
            _ if u == 1.0 => self.support().1,
            Self::Uniform { low, high } => (low + u * (high - low)).clamp(low, high),
            Self::Triangular { low, mode, high } => triangular(u, low, mode, high),
            Self::Normal {
                mean,
                sd,
                low,
                high,
            } => {
                let z = Bell::linear(mean, sd, low, high).quantile(u);
                (mean + sd * z).clamp(low, high)
            }
            Self::LogNormal { median, factor, .. } => {
                let (low, high) = self.support();
                let z = Bell::logarithmic(median, factor, low, high).quantile(u);
                (median * libm::exp(log_sd(factor) * z)).clamp(low, high)
            }
        }
    }

    /// Least and greatest value that can come out; the greatest can be infinite.
    #[must_use]
    pub fn support(&self) -> (f64, f64) {
        match *self {
            Self::Fixed { value } => (value, value),
            Self::Uniform { low, high }
            | Self::Triangular { low, high, .. }
            | Self::Normal { low, high, .. } => (low, high),
            Self::LogNormal { low, high, .. } => {
                (low.unwrap_or(0.0), high.unwrap_or(f64::INFINITY))
            }
        }
    }
}

/// Inverse of the two parabolas of the triangle's cumulative curve.
fn triangular(u: f64, low: f64, mode: f64, high: f64) -> f64 {
    let width = high - low;
    let value = if u * width < mode - low {
        low + libm::sqrt(u * width) * libm::sqrt(mode - low)
    } else {
        high - libm::sqrt((1.0 - u) * width) * libm::sqrt(high - mode)
    };
    value.clamp(low, high)
}

/// Standard deviation of the logarithm, from the factor that leads to the 5 % and the 95 % point.
fn log_sd(factor: f64) -> f64 {
    libm::log(factor) / normal::quantile(0.95)
}

/// A standard bell between two bounds, in standard deviations from its middle.
struct Bell {
    low: f64,
    high: f64,
}

impl Bell {
    fn linear(mean: f64, sd: f64, low: f64, high: f64) -> Self {
        Self {
            low: (low - mean) / sd,
            high: (high - mean) / sd,
        }
    }

    fn logarithmic(median: f64, factor: f64, low: f64, high: f64) -> Self {
        Self::linear(
            libm::log(median),
            log_sd(factor),
            libm::log(low),
            libm::log(high),
        )
    }

    fn share(&self) -> f64 {
        normal::cumulative(self.high) - normal::cumulative(self.low)
    }

    fn quantile(&self, u: f64) -> f64 {
        let below = normal::cumulative(self.low);
        // Rounding up to 1 would give infinity.
        let p = (below + u * self.share()).min(1.0 - f64::EPSILON / 2.0);
        normal::quantile(p).clamp(self.low, self.high)
    }
}

fn finite(name: &'static str, value: f64) -> Result<(), DistributionError> {
    if value.is_finite() {
        Ok(())
    } else {
        Err(DistributionError::NotFinite { name, value })
    }
}

fn above(name: &'static str, value: f64, limit: f64) -> Result<(), DistributionError> {
    finite(name, value)?;
    if value > limit {
        Ok(())
    } else {
        Err(DistributionError::NotAbove { name, value, limit })
    }
}

fn bounds(low: f64, high: f64) -> Result<(), DistributionError> {
    finite("low", low)?;
    finite("high", high)?;
    if low >= high {
        return Err(DistributionError::Bounds { low, high });
    }
    if (high - low).is_finite() {
        Ok(())
    } else {
        Err(DistributionError::TooWide { low, high })
    }
}

fn enough_left(bell: &Bell, low: f64, high: f64) -> Result<(), DistributionError> {
    let share = bell.share();
    if share >= LEAST_SHARE_LEFT {
        Ok(())
    } else {
        Err(DistributionError::NothingLeft { low, high, share })
    }
}
