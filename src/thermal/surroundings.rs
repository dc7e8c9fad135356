//! Weather, envelope and heater of one vessel, and how its water would fare with nothing living in it.

use super::envelope::{Envelope, Gain};
use super::heater::Heater;
use super::matter::CAPACITY_KWH_PER_M3_K;
use super::weather::Weather;

/// Hours of a day over watts of a kilowatt: \[kWh/d\] per watt.
const KWH_PER_D_PER_W: f64 = 0.024;
/// Steps a day of the run without life.
const STEPS_PER_DAY: usize = 12;

/// What surrounds one vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Surroundings {
    /// Weather.
    pub weather: Weather,
    /// Faces of the vessel.
    pub envelope: Envelope,
    /// Its heater.
    pub heater: Option<Heater>,
}

/// A heat flow into the liquor: \[kWh/d\], by temperature \[kWh/d/K\], by time at a held temperature \[kWh/d2\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flow {
    /// \[kWh/d\]
    pub value: f64,
    /// \[kWh/d/K\]
    pub by_k: f64,
    /// \[kWh/d2\]
    pub by_day: f64,
}

impl From<Gain> for Flow {
    fn from(gain: Gain) -> Self {
        Self {
            value: KWH_PER_D_PER_W * gain.watts,
            by_k: KWH_PER_D_PER_W * gain.by_k,
            by_day: KWH_PER_D_PER_W * gain.by_day,
        }
    }
}

impl Surroundings {
    /// Days at which weather or heater have a kink; an integration must stop there.
    #[must_use]
    pub fn knots(&self) -> Vec<f64> {
        let mut knots = self.weather.knots();
        knots.extend(self.heater.iter().flat_map(|heater| heater.on.knots()));
        knots
    }

    /// Flows through air faces, through ground faces, from the sun, from the heater, into liquor of a temperature \[C\]
    /// at `t` \[d\].
    #[must_use]
    pub fn flows(&self, t: f64, celsius: f64) -> [Flow; 4] {
        let sky = self.weather.at(t);
        let through = self.envelope.exchange(&sky, &self.weather.soil, t, celsius);
        let heater = self.heater.as_ref().map_or(Gain::default(), |heater| {
            let warmth = heater.at(t, celsius);
            Gain {
                watts: warmth.watts,
                by_k: warmth.by_k,
                by_day: warmth.by_day,
            }
        });
        [through.air, through.ground, through.sun, heater].map(Flow::from)
    }

    /// Daily mean temperatures \[C\] of water in the vessel from `start_c` on, without feed and without life.
    ///
    /// A first answer, for warnings and for studies that need a course before anything is computed. Each step takes the
    /// flows as linear in the temperature and integrates them exactly.
    #[must_use]
    pub fn without_life(&self, liquid_m3: f64, start_c: f64, days: u32) -> Vec<(f64, f64)> {
        let capacity = CAPACITY_KWH_PER_M3_K * liquid_m3;
        let step = 1.0 / STEPS_PER_DAY as f64;
        let mut celsius = start_c;
        let mut out = vec![(0.0, start_c)];
        for day in 0..days {
            let mut sum = 0.0;
            for i in 0..STEPS_PER_DAY {
                let t = f64::from(day) + (i as f64 + 0.5) * step;
                let (value, by_k) = self
                    .flows(t, celsius)
                    .iter()
                    .fold((0.0, 0.0), |(v, k), f| (v + f.value, k + f.by_k));
                let (gain, rate) = (value / capacity, by_k / capacity);
                let before = celsius;
                // (exp(r h) - 1)/r, which tends to h where nothing answers to the temperature.
                let stretch = if rate == 0.0 {
                    step
                } else {
                    (rate * step).exp_m1() / rate
                };
                celsius += gain * stretch;
                sum += 0.5 * (before + celsius);
            }
            out.push((f64::from(day) + 0.5, sum / STEPS_PER_DAY as f64));
        }
        out
    }
}
