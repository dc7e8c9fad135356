//! Weather over a run: air, sun on the level, wind, and the soil under them; values with their slopes by time.

use std::f64::consts::TAU;

use super::course::TemperatureCourse;
use super::soil::SoilWave;
use crate::lanes::Real;

const HOURS: f64 = 24.0;
const W_PER_KW: f64 = 1000.0;
/// Noon \[d\].
const NOON: f64 = 0.5;
/// Mean of `((1 + cos)/2)^3` over a day.
const BELL_MEAN: f64 = 0.3125;

/// Sun on a level square metre.
#[derive(Debug, Clone, PartialEq)]
pub enum Sun {
    /// Sum of each day \[kWh/m2/d\], spread over it as a smooth bell that peaks at noon with 3.2 times the day's mean
    /// (a half sine of twelve hours peaks with 3.1).
    Daily(TemperatureCourse),
    /// Power \[W/m2\] between knots.
    Power(TemperatureCourse),
}

/// Weather over a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Weather {
    /// Air \[C\].
    pub air: TemperatureCourse,
    /// Sun.
    pub sun: Sun,
    /// Wind \[m/s\].
    pub wind: TemperatureCourse,
    /// Soil.
    pub soil: SoilWave,
}

/// Weather at an instant: (value, slope per day).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sky {
    /// Air \[C\].
    pub air: (f64, f64),
    /// Sun on the level \[W/m2\].
    pub sun: (f64, f64),
    /// Wind \[m/s\].
    pub wind: (f64, f64),
}

impl Weather {
    /// The sky at `t` \[d\].
    #[must_use]
    pub fn at(&self, t: f64) -> Sky {
        let two = |(value, slope, _): (f64, f64, f64)| (value, slope);
        Sky {
            air: two(self.air.at(t)),
            sun: match &self.sun {
                Sun::Power(course) => two(course.at(t)),
                Sun::Daily(course) => {
                    let (sum, sum_slope, _) = course.at(t);
                    let (bell, bell_slope) = bell(t);
                    let mean = W_PER_KW / HOURS;
                    (
                        mean * sum * bell,
                        mean * (sum * bell_slope + sum_slope * bell),
                    )
                }
            },
            wind: two(self.wind.at(t)),
        }
    }

    /// Days at which the weather has a kink; an integration must stop there.
    #[must_use]
    pub fn knots(&self) -> Vec<f64> {
        let sun = match &self.sun {
            Sun::Daily(course) | Sun::Power(course) => course,
        };
        let mut knots = self.air.knots();
        knots.extend(sun.knots());
        knots.extend(self.wind.knots());
        knots
    }

    /// Moves air and soil by so many kelvin.
    pub fn warm(&mut self, k: f64) {
        self.air.shift(k);
        self.soil.mean_c += k;
    }
}

/// Share of a day's mean power at a time of day, and its slope \[1/d\].
fn bell(t: f64) -> (f64, f64) {
    let (s, c) = (t - NOON).sin_cos_turns();
    let half = 0.5 * (1.0 + c);
    (
        half * half * half / BELL_MEAN,
        -1.5 * half * half * TAU * s / BELL_MEAN,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_days_sun_sums_to_what_was_given_and_its_slope_is_true() {
        let weather = Weather {
            air: TemperatureCourse::Constant(10.0),
            sun: Sun::Daily(TemperatureCourse::Table(vec![(0.0, 3.0), (10.0, 5.0)])),
            wind: TemperatureCourse::Constant(2.0),
            soil: SoilWave::new(10.0, 0.0, 0.0, 0.05),
        };
        let flat = Weather {
            sun: Sun::Daily(TemperatureCourse::Constant(4.0)),
            ..weather.clone()
        };
        let sum: f64 = (0..240).map(|i| flat.at(i as f64 / 240.0).sun.0).sum();
        assert!((sum / 240.0 * 24.0 / 1000.0 - 4.0).abs() < 1e-9);
        for t in [1.3, 4.5, 7.77] {
            let h = 1e-6;
            let difference = (weather.at(t + h).sun.0 - weather.at(t - h).sun.0) / (2.0 * h);
            assert!((weather.at(t).sun.1 - difference).abs() < 1e-3);
        }
    }
}
