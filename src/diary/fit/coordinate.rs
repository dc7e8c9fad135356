//! From an unbounded coordinate, in which a fit walks, to a value that keeps its bounds and knows its prior.

use crate::study::distribution::Distribution;
use crate::study::normal;

/// How a value hangs on its coordinate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Coordinate {
    /// The value itself: no bounds, nothing known before.
    Free,
    /// The logarithm of a value above 0; nothing known before.
    Positive,
    /// The logit of a value between two bounds, `low < high`; nothing known before.
    Between {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// A value known before as a distribution. Its coordinate is the standard normal number with the same share below,
    /// so that the prior is one residual, the coordinate itself, and the bounds of the distribution hold.
    Drawn(Distribution),
}

impl Coordinate {
    /// The value at a coordinate.
    #[must_use]
    pub fn value(&self, u: f64) -> f64 {
        match self {
            Self::Free => u,
            Self::Positive => libm::exp(u),
            Self::Between { low, high } => low + (high - low) / (1.0 + libm::exp(-u)),
            Self::Drawn(distribution) => distribution.quantile(normal::cumulative(u)),
        }
    }

    /// The coordinate of a value; not finite at or beyond a bound. A drawn value is found by halving, to 1e-12.
    #[must_use]
    pub fn of(&self, value: f64) -> f64 {
        match self {
            Self::Free => value,
            Self::Positive => libm::log(value),
            Self::Between { low, high } => libm::log((value - low) / (high - value)),
            Self::Drawn(_) => {
                let (mut below, mut above) = (-FARTHEST, FARTHEST);
                while above - below > CLOSE_ENOUGH {
                    let middle = 0.5 * (below + above);
                    if self.value(middle) < value {
                        below = middle;
                    } else {
                        above = middle;
                    }
                }
                0.5 * (below + above)
            }
        }
    }

    /// How fast the value moves with its coordinate; that of a drawn value by a central difference.
    #[must_use]
    pub fn slope(&self, u: f64) -> f64 {
        match self {
            Self::Free => 1.0,
            Self::Positive => libm::exp(u),
            Self::Between { low, high } => {
                let share = 1.0 / (1.0 + libm::exp(-u));
                (high - low) * share * (1.0 - share)
            }
            Self::Drawn(_) => {
                let h = f64::EPSILON.cbrt() * u.abs().max(1.0);
                (self.value(u + h) - self.value(u - h)) / (2.0 * h)
            }
        }
    }

    /// Whether something is known before: a residual that equals the coordinate.
    #[must_use]
    pub const fn has_prior(&self) -> bool {
        matches!(self, Self::Drawn(_))
    }
}

/// Standard normal numbers beyond do not occur: the share outside is below 1e-15.
const FARTHEST: f64 = 8.0;
/// Width at which the halving ends; far below any difference that a fit can see.
const CLOSE_ENOUGH: f64 = 1e-12;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        let drawn = Distribution::LogNormal {
            median: 1.0,
            factor: 3.0,
            low: Some(0.1),
            high: Some(10.0),
        };
        for (coordinate, values) in [
            (Coordinate::Free, [-3.0, 0.0, 5.0]),
            (Coordinate::Positive, [1e-4, 1.0, 300.0]),
            (
                Coordinate::Between {
                    low: -2.0,
                    high: 4.0,
                },
                [-1.99, 0.0, 3.9],
            ),
            (Coordinate::Drawn(drawn), [0.2, 1.0, 7.0]),
        ] {
            for value in values {
                let back = coordinate.value(coordinate.of(value));
                assert!(
                    (back - value).abs() < 1e-9 * value.abs().max(1.0),
                    "{coordinate:?} {value} {back}"
                );
            }
        }
    }

    #[test]
    fn bounds_hold_however_far_the_walk_goes() {
        let between = Coordinate::Between {
            low: 1.0,
            high: 2.0,
        };
        for u in [-1e3, -40.0, 40.0, 1e3] {
            assert!((1.0..=2.0).contains(&between.value(u)));
            assert!(Coordinate::Positive.value(u) >= 0.0);
        }
    }
}
