//! A heater with its thermostat.
//!
//! The thermostat is a smooth band, not a switch: power falls from nearly all to nearly nothing across the band. A
//! switching heater does the same over an hour, because the liquor's time constant is hours to weeks; but each of its
//! some hundred switchings a day would be an event to find, with a restart after each, for a ripple smaller than the
//! band. The band keeps the right-hand side smooth and its derivative exact.

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
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heater {
    /// Most heat to the liquor \[W\].
    pub power_w: f64,
    /// Temperature at which half the power is given \[C\].
    pub set_c: f64,
    /// Width of the band \[K\]: at half of it below the set point 88 % of the power is given, half above it 12 %.
    pub band_k: f64,
    /// Where the heat comes from.
    pub source: HeatSource,
}

impl Heater {
    /// (heat to the liquor \[W\], slope \[W/K\]) at a temperature \[C\]: `P/2 (1 - tanh(2 (T - set)/band))`.
    #[must_use]
    pub fn at(&self, celsius: f64) -> (f64, f64) {
        let steep = 2.0 / self.band_k;
        let tanh = (steep * (celsius - self.set_c)).tanh();
        (
            0.5 * self.power_w * (1.0 - tanh),
            -0.5 * self.power_w * steep * (1.0 - tanh * tanh),
        )
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
        };
        assert_eq!(heater.at(35.0).0, 250.0);
        assert!((heater.at(34.0).0 / 500.0 - 0.8808).abs() < 1e-4);
        assert!((heater.at(36.0).0 / 500.0 - 0.1192).abs() < 1e-4);
        assert!(heater.at(45.0).0 < 1e-5);
        let h = 1e-5;
        let difference = (heater.at(34.7 + h).0 - heater.at(34.7 - h).0) / (2.0 * h);
        assert!((heater.at(34.7).1 - difference).abs() < 1e-4);
    }
}
