//! Course of a temperature through a run, with its exact first and second derivative.

use std::f64::consts::TAU;

use crate::lanes::Real;

const HOURS: f64 = 24.0;
/// Length of a year \[d\].
const YEAR_D: f64 = 365.25;

/// Course of a temperature through the run.
#[derive(Debug, Clone, PartialEq)]
pub enum TemperatureCourse {
    /// \[C\]
    Constant(f64),
    /// Yearly wave plus daily wave.
    Wave(Wave),
    /// Linear between knots (day, C), sorted by day; held at both ends.
    Table(Vec<(f64, f64)>),
}

/// `mean + yearly cos(2 pi (t - hottest_day)/365.25) + daily cos(2 pi (t - hottest_hour/24))`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wave {
    /// Yearly mean \[C\].
    pub mean_c: f64,
    /// Half the yearly swing \[K\].
    pub yearly_swing_k: f64,
    /// Day of the run on which the yearly wave peaks \[d\].
    pub hottest_day: f64,
    /// Half the daily swing \[K\].
    pub daily_swing_k: f64,
    /// Hour at which the daily wave peaks \[h\].
    pub hottest_hour: f64,
}

impl TemperatureCourse {
    /// (temperature \[C\], slope \[K/d\], curvature \[K/d2\]) at `t` \[d\]. At a knot of a table: the piece that begins there.
    #[must_use]
    pub fn at(&self, t: f64) -> (f64, f64, f64) {
        match self {
            Self::Constant(c) => (*c, 0.0, 0.0),
            Self::Wave(w) => wave(|_| Some(w), t),
            Self::Table(knots) => {
                let next = knots.partition_point(|&(day, _)| day <= t);
                match (next.checked_sub(1).map(|i| knots[i]), knots.get(next)) {
                    (Some((d0, c0)), Some(&(d1, c1))) => {
                        let slope = (c1 - c0) / (d1 - d0);
                        (c0 + slope * (t - d0), slope, 0.0)
                    }
                    (Some((_, c)), None) | (None, Some(&(_, c))) => (c, 0.0, 0.0),
                    (None, None) => (f64::NAN, 0.0, 0.0),
                }
            }
        }
    }

    /// As [`TemperatureCourse::at`], with a course of each lane.
    #[must_use]
    #[inline(always)]
    pub fn at_lanes<R: Real>(courses: &[Self], t: R) -> (R, R, R) {
        let wave_of = |lane: usize| match &courses[lane] {
            Self::Wave(wave) => Some(wave),
            _ => None,
        };
        if (0..R::LANES).all(|lane| wave_of(lane).is_some()) {
            return wave(wave_of, t);
        }
        let zero = R::splat(0.0);
        let mut out = (zero, zero, zero);
        for (lane, course) in courses.iter().enumerate() {
            let (value, slope, curvature) = course.at(t.lane(lane));
            out.0.put(lane, value);
            out.1.put(lane, slope);
            out.2.put(lane, curvature);
        }
        out
    }

    /// Mean temperature \[C\] of the day that begins at `day` \[d\]: exact for waves, of 24 hours for a table.
    #[must_use]
    pub fn mean_of_day(&self, day: f64) -> f64 {
        match self {
            Self::Constant(c) => *c,
            Self::Wave(w) => {
                // Over a whole turn the daily wave comes to nothing; half a day either way flattens the yearly one.
                let half = 0.5 * TAU / YEAR_D;
                let flat = Wave {
                    yearly_swing_k: w.yearly_swing_k * half.sin() / half,
                    daily_swing_k: 0.0,
                    ..*w
                };
                wave(|_| Some(&flat), day + 0.5).0
            }
            Self::Table(_) => {
                let hours = (0..24).map(|h| (f64::from(h) + 0.5) / HOURS);
                hours.map(|hour| self.at(day + hour).0).sum::<f64>() / HOURS
            }
        }
    }

    /// Moves the whole course by `k`.
    pub fn shift(&mut self, k: f64) {
        match self {
            Self::Constant(c) => *c += k,
            Self::Wave(wave) => wave.mean_c += k,
            Self::Table(knots) => knots.iter_mut().for_each(|knot| knot.1 += k),
        }
    }

    /// Days at which the course has a kink; an integration must stop there.
    #[must_use]
    pub fn knots(&self) -> Vec<f64> {
        match self {
            Self::Table(knots) => knots.iter().map(|&(day, _)| day).collect(),
            _ => Vec::new(),
        }
    }
}

/// (value, slope, curvature) of the wave of each lane.
#[inline(always)]
fn wave<'a, R: Real>(of: impl Fn(usize) -> Option<&'a Wave>, t: R) -> (R, R, R) {
    let each = |number: fn(&Wave) -> f64| R::gather(|lane| of(lane).map_or(0.0, number));
    let waves: [(R, f64, R); 2] = [
        (
            each(|w| w.yearly_swing_k),
            1.0 / YEAR_D,
            each(|w| w.hottest_day),
        ),
        (
            each(|w| w.daily_swing_k),
            1.0,
            each(|w| w.hottest_hour / HOURS),
        ),
    ];
    let zero = R::splat(0.0);
    let mut out = (each(|w| w.mean_c), zero, zero);
    for (swing, turns_per_day, peak) in waves {
        if swing == zero {
            continue;
        }
        let omega = TAU * turns_per_day;
        let (s, c) = ((t - peak) * turns_per_day).sin_cos_turns();
        out.0 += swing * c;
        out.1 -= swing * s * omega;
        out.2 -= swing * c * (omega * omega);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lanes::{Lanes, WIDTH};

    fn course() -> TemperatureCourse {
        TemperatureCourse::Wave(Wave {
            mean_c: 11.0,
            yearly_swing_k: 9.0,
            hottest_day: 140.0,
            daily_swing_k: 4.0,
            hottest_hour: 15.0,
        })
    }

    #[test]
    fn the_mean_of_a_day_is_that_of_its_moments() {
        let course = course();
        for day in [0.0, 77.0, 300.0] {
            let moments = (0..100_000).map(|i| course.at(day + (f64::from(i) + 0.5) / 1e5).0);
            let mean = moments.sum::<f64>() / 1e5;
            assert!((course.mean_of_day(day) - mean).abs() < 1e-8, "{day}");
        }
        let table = TemperatureCourse::Table(vec![(0.0, 10.0), (1.0, 12.0), (2.0, 12.0)]);
        assert!((table.mean_of_day(0.0) - 11.0).abs() < 1e-12);
        assert_eq!(TemperatureCourse::Constant(7.0).mean_of_day(3.0), 7.0);
    }

    #[test]
    fn lanes_follow_their_own_courses() {
        let table = TemperatureCourse::Table(vec![(0.0, 1.0), (9.0, 10.0)]);
        let mut cold = course();
        cold.shift(-3.0);
        let waves = [course(), cold.clone()];
        let mixed = [course(), table, cold, TemperatureCourse::Constant(4.0)];
        for kinds in [&waves[..], &mixed] {
            let courses: Vec<_> = kinds.iter().cycle().take(WIDTH).cloned().collect();
            let times = Lanes::gather(|i| 1.7 + 40.3 * i as f64);
            let wide = TemperatureCourse::at_lanes(&courses, times);
            for (lane, course) in courses.iter().enumerate() {
                let found = (wide.0.lane(lane), wide.1.lane(lane), wide.2.lane(lane));
                assert_eq!(found, course.at(times.lane(lane)), "{lane}");
            }
        }
    }
}
