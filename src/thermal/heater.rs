//! A heater with its thermostat.
//!
//! The thermostat is a smooth band, not a switch: power falls from nearly all to nearly nothing across the band. A
//! switching heater does the same over an hour, because the liquor's time constant is hours to weeks; but each of its
//! some hundred switchings a day would be an event to find, with a restart after each, for a ripple smaller than the
//! band. The band keeps the right-hand side smooth and its derivative exact.

use super::course::TemperatureCourse;

/// What the heater burns or takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HeatSource {
    /// The digester's own gas in a boiler; the share of its energy (lower heating value) that reaches the liquor.
    OwnGas {
        /// Efficiency, 0..1.
        efficiency: f64,
    },
    /// Electricity or other bought energy.
    Mains,
    /// Heat that an engine throws away.
    EngineWaste,
}

/// A heater with a thermostat.
#[derive(Debug, Clone, PartialEq)]
pub struct Heater {
    /// Most heat to the liquor \[W\].
    pub power_w: f64,
    /// Temperature at which half the power is given \[C\].
    pub set_c: f64,
    /// Width of the band \[K\]: at half of it below the set point 88 % of the power is given, half above it 12 %.
    pub band_k: f64,
    /// Where the heat comes from.
    pub source: HeatSource,
    /// Share of its power that it may give over the run, 0 to 1: a course with knots, `Constant(1.0)` for one that is
    /// never turned off.
    pub on: TemperatureCourse,
}

/// Heat from a heater: \[W\], by temperature \[W/K\], by time \[W/d\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// \[W\]
    pub watts: f64,
    /// \[W/K\]
    pub by_k: f64,
    /// \[W/d\]
    pub by_day: f64,
}

impl Heater {
    /// Heat to the liquor at `t` \[d\] and a temperature \[C\]: `on(t) P/2 (1 - tanh(2 (T - set)/band))`.
    #[must_use]
    pub fn at(&self, t: f64, celsius: f64) -> Warmth {
        let (share, slope, _) = self.on.at(t);
        let steep = 2.0 / self.band_k;
        let tanh = (steep * (celsius - self.set_c)).tanh();
        let whole = 0.5 * self.power_w * (1.0 - tanh);
        Warmth {
            watts: share * whole,
            by_k: -share * 0.5 * self.power_w * steep * (1.0 - tanh * tanh),
            by_day: slope * whole,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_band_is_as_described() {
        let heater = Heater {
            power_w: 500.0,
            set_c: 35.0,
            band_k: 2.0,
            source: HeatSource::Mains,
            on: TemperatureCourse::Constant(1.0),
        };
        let watts = |celsius| heater.at(0.0, celsius).watts;
        assert_eq!(watts(35.0), 250.0);
        assert!((watts(34.0) / 500.0 - 0.8808).abs() < 1e-4);
        assert!((watts(36.0) / 500.0 - 0.1192).abs() < 1e-4);
        assert!(watts(45.0) < 1e-5);
        let h = 1e-5;
        let difference = (watts(34.7 + h) - watts(34.7 - h)) / (2.0 * h);
        assert!((heater.at(0.0, 34.7).by_k - difference).abs() < 1e-4);
        assert_eq!(heater.at(0.0, 34.7).by_day, 0.0);
    }

    #[test]
    fn a_heater_that_is_turned_off_gives_nothing_and_its_slopes_are_true() {
        let heater = Heater {
            power_w: 300.0,
            set_c: 30.0,
            band_k: 1.0,
            source: HeatSource::Mains,
            on: TemperatureCourse::Table(vec![(10.0, 1.0), (11.0, 0.0), (40.0, 0.0), (41.0, 1.0)]),
        };
        assert!((heater.at(5.0, 20.0).watts - 300.0).abs() < 1e-9);
        assert_eq!(heater.at(20.0, 20.0).watts, 0.0);
        assert!((heater.at(10.5, 20.0).watts - 150.0).abs() < 1e-9);
        assert!((heater.at(99.0, 20.0).watts - 300.0).abs() < 1e-9);
        let h = 1e-6;
        let slope = (heater.at(40.3 + h, 29.8).watts - heater.at(40.3 - h, 29.8).watts) / (2.0 * h);
        assert!((heater.at(40.3, 29.8).by_day - slope).abs() < 1e-3 * slope);
    }
}
