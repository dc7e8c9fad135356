//! Course of a temperature through a run, with its exact first and second derivative.

use std::f64::consts::TAU;

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
            Self::Wave(w) => {
                let waves = [
                    (w.yearly_swing_k, TAU / YEAR_D, w.hottest_day),
                    (w.daily_swing_k, TAU, w.hottest_hour / 24.0),
                ];
                waves.iter().filter(|(swing, ..)| *swing != 0.0).fold(
                    (w.mean_c, 0.0, 0.0),
                    |(v, d, dd), &(a, omega, peak)| {
                        let (s, c) = (omega * (t - peak)).sin_cos();
                        (v + a * c, d - a * omega * s, dd - a * omega * omega * c)
                    },
                )
            }
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
