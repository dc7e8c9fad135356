//! Weather over a run: air, sun on the level, wind, and the soil under them; values with their slopes by time.

use std::f64::consts::TAU;

use super::course::TemperatureCourse;
use super::soil::SoilWave;
use super::upright::SunDay;
use crate::lanes::Real;

const HOURS: f64 = 24.0;
const W_PER_KW: f64 = 1000.0;
/// Length of a year \[d\].
const YEAR_D: f64 = 365.25;
/// Days between the knots of a sun that follows the year: straight between them it is off by less than a hundredth.
const STEP_D: f64 = 7.0;
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
    /// Latitude \[deg\], negative in the south; `None` where it is not given.
    pub latitude_deg: Option<f64>,
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

    /// The same weather with the sun that falls on an upright square metre towards the equator, for a run of so many days
    /// that begins on a day of the year. Its knots are those of a table, else every few days.
    #[must_use]
    pub fn upright(&self, latitude_deg: f64, first_day_of_year: f64, days: u32) -> Self {
        let day = |t: f64| {
            let of_year = (first_day_of_year + t).rem_euclid(YEAR_D);
            SunDay::of(latitude_deg, of_year)
        };
        let times = |course: &TemperatureCourse| match course {
            TemperatureCourse::Table(knots) => knots.iter().map(|knot| knot.0).collect(),
            TemperatureCourse::Constant(_) | TemperatureCourse::Wave(_) => every(days),
        };
        let sun = match &self.sun {
            Sun::Daily(course) => {
                let knot = |t: f64| {
                    let level = course.at(t).0;
                    (t, level * day(t).ratio(level))
                };
                Sun::Daily(TemperatureCourse::Table(
                    times(course).into_iter().map(knot).collect(),
                ))
            }
            Sun::Power(course) => {
                let mut today = (f64::NAN, 0.0);
                let knot = |t: f64| {
                    if today.0 != t.floor() {
                        let level = course.mean_of_day(t.floor()) * HOURS / W_PER_KW;
                        today = (t.floor(), day(t.floor() + NOON).ratio(level));
                    }
                    (t, course.at(t).0 * today.1)
                };
                Sun::Power(TemperatureCourse::Table(
                    times(course).into_iter().map(knot).collect(),
                ))
            }
        };
        Self {
            sun,
            ..self.clone()
        }
    }

    /// Moves air and soil by so many kelvin.
    pub fn warm(&mut self, k: f64) {
        self.air.shift(k);
        self.soil.mean_c += k;
    }
}

/// Times every [`STEP_D`] over a run, its end among them.
fn every(days: u32) -> Vec<f64> {
    let steps = (f64::from(days) / STEP_D).ceil() as u32;
    (0..=steps).map(|i| f64::from(i) * STEP_D).collect()
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
            latitude_deg: None,
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

    #[test]
    fn an_upright_sun_is_the_level_one_times_its_days_ratio() {
        let wave = crate::thermal::Wave {
            mean_c: 2.9,
            yearly_swing_k: 2.1,
            hottest_day: 50.0,
            daily_swing_k: 0.0,
            hottest_hour: 0.0,
        };
        let weather = Weather {
            air: TemperatureCourse::Constant(10.0),
            sun: Sun::Daily(TemperatureCourse::Wave(wave)),
            wind: TemperatureCourse::Constant(2.0),
            soil: SoilWave::new(10.0, 0.0, 0.0, 0.05),
            latitude_deg: Some(48.0),
        };
        let sum = |weather: &Weather, t: f64| match &weather.sun {
            Sun::Daily(course) => course.at(t).0,
            Sun::Power(_) => f64::NAN,
        };
        // Begins on 1 May.
        let pane = weather.upright(48.0, 121.0, 400);
        for t in [0.5, 40.0, 123.4, 230.0, 333.0, 399.0] {
            let level = sum(&weather, t);
            let ratio = SunDay::of(48.0, (121.0 + t) % 365.25).ratio(level);
            let expected = level * ratio;
            assert!(
                (sum(&pane, t) / expected - 1.0).abs() < 0.01,
                "{t}: {} {expected}",
                sum(&pane, t)
            );
        }
        // By the hour it is the same ratio all day.
        let hours = Weather {
            sun: Sun::Power(TemperatureCourse::Table(
                (0..48)
                    .map(|h| (f64::from(h) / 24.0, f64::from(h % 24) * 10.0))
                    .collect(),
            )),
            ..weather
        };
        let pane = hours.upright(48.0, 121.0, 2);
        let ratio = SunDay::of(48.0, 121.5).ratio(115.0 * 24.0 / 1000.0);
        for hour in 1..24 {
            let t = f64::from(hour) / 24.0;
            let (on, level) = (pane.at(t).sun.0, hours.at(t).sun.0);
            assert!((on / level / ratio - 1.0).abs() < 1e-9, "{hour}");
        }
    }
}
