//! What each number of a scenario may be, and why.

/// Admissible range of one number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Limit {
    /// Smallest admissible value.
    pub(crate) low: f64,
    /// Largest admissible value.
    pub(crate) high: f64,
    /// Unit as people read it; empty for a pure number.
    pub(crate) unit: &'static str,
    /// Whether only whole numbers are admissible.
    pub(crate) whole: bool,
    /// Why no other value can be taken: a full sentence.
    pub(crate) why: &'static str,
}

impl Limit {
    pub(crate) const fn new(low: f64, high: f64, unit: &'static str, why: &'static str) -> Self {
        Self {
            low,
            high,
            unit,
            whole: false,
            why,
        }
    }

    pub(crate) const fn whole(low: f64, high: f64, unit: &'static str, why: &'static str) -> Self {
        Self {
            low,
            high,
            unit,
            whole: true,
            why,
        }
    }

    /// Whether `value` can be taken.
    pub(crate) fn admits(&self, value: f64) -> bool {
        // A negated comparison would let NaN through.
        value >= self.low && value <= self.high && (!self.whole || value.fract() == 0.0)
    }

    /// What to do about a value that cannot be taken, where it shows what was meant; empty elsewhere.
    pub(crate) fn hint(&self, value: f64) -> String {
        let (freezing_f, boiling_f) = (32.0, 212.0);
        if *self == TEMPERATURE_C && value > self.high && value <= boiling_f {
            let celsius = (value - freezing_f) / 1.8;
            format!("If that is in degrees Fahrenheit, write {celsius:.1}.")
        } else {
            String::new()
        }
    }

    /// The range in words.
    pub(crate) fn allowed(&self) -> String {
        let whole = if self.whole {
            "whole numbers from "
        } else {
            ""
        };
        format!("{whole}{}", range(self.low, self.high, self.unit))
    }
}

/// Most own materials, recipes or parameters of a scenario; all counts are bounded so that no file, however made, can
/// take more than seconds to check.
pub(crate) const MOST_NAMES: usize = 1000;
/// Most parts of a recipe or starter.
pub(crate) const MOST_PARTS: usize = 100;
/// Most lines of a feeding plan.
pub(crate) const MOST_LINES: usize = 5000;
/// Most doses of a run: twice an hour through a year, or twice a day through twenty.
pub(crate) const MOST_DOSES: usize = 20_000;
/// Most vessels in a row.
pub(crate) const MOST_VESSELS: usize = 50;

/// A range in words.
pub(crate) fn range(low: f64, high: f64, unit: &str) -> String {
    let gap = if unit.is_empty() { "" } else { " " };
    if low == high {
        format!("only {low}{gap}{unit}")
    } else {
        format!("{low} to {high}{gap}{unit}")
    }
}

/// Length of a run.
pub(crate) const DAYS: Limit = Limit::whole(
    1.0,
    7300.0,
    "days",
    "A run lasts between one day and twenty years.",
);
/// A day of the run on which something is done; its upper end is tightened to the run's length.
pub(crate) const DAY: Limit = Limit::whole(
    0.0,
    7299.0,
    "",
    "Days are counted from 0, and nothing can be fed before the start or after the end.",
);
/// Hour of a day.
pub(crate) const HOUR: Limit = Limit::new(
    0.0,
    23.99,
    "h",
    "A day has 24 hours, counted from midnight; half past eight is 8.5.",
);
/// Days between two feeds.
pub(crate) const EVERY_DAYS: Limit = Limit::whole(
    1.0,
    366.0,
    "days",
    "Feeding repeats every so many whole days; for two feeds a day write two lines with different hours.",
);
/// Liquid volume of a vessel.
pub(crate) const LIQUID_L: Limit = Limit::new(
    0.1,
    1e7,
    "L",
    "It is the liquid up to the outlet's level, in litres, from a tenth of a litre to 10,000 m3.",
);
/// Gas space of a vessel.
pub(crate) const HEADSPACE_L: Limit = Limit::new(
    0.1,
    1e7,
    "L",
    "It is the gas space above the liquid, in litres; without any, foam and liquor reach the gas pipe.",
);
/// Temperature of a liquor.
pub(crate) const TEMPERATURE_C: Limit = Limit::new(
    -20.0,
    60.0,
    "C",
    "The equations know nothing of colder ice or hotter liquor; degrees are Celsius.",
);
/// Half the swing of a temperature.
pub(crate) const SWING_K: Limit = Limit::new(
    0.0,
    40.0,
    "K",
    "It is how far the warmest moment lies above the mean.",
);
/// Day of the year, 1 January is 1.
pub(crate) const DAY_OF_YEAR: Limit = Limit::new(
    1.0,
    366.0,
    "",
    "Days of the year are counted from 1 January, which is day 1.",
);
/// Day of the run, which may lie before its start.
pub(crate) const HOTTEST_DAY: Limit = Limit::new(
    -366.0,
    7300.0,
    "",
    "It is counted from the start of the run and may lie up to a year before it.",
);
/// Gas transfer coefficient.
pub(crate) const GAS_TRANSFER: Limit = Limit::new(
    1.0,
    2000.0,
    "per day",
    "A still drum has tens, a well stirred tank hundreds per day.",
);
/// Share of particles that the outlet leaves behind.
pub(crate) const HELD_BACK_PCT: Limit = Limit::new(
    0.0,
    95.0,
    "%",
    "No outlet holds back every particle, or the vessel would fill up with them.",
);
/// Share of a dose that leaves unmixed.
pub(crate) const SHORT_CIRCUIT_PCT: Limit = Limit::new(
    0.0,
    90.0,
    "%",
    "Some of each dose must mix in, or the vessel is only a pipe.",
);
/// Leak.
pub(crate) const LEAK_L_PER_D: Limit = Limit::new(
    0.0,
    1e6,
    "L per day",
    "It is the gas that the hole lets out per day at the store's pressure.",
);
/// Pressure of the store.
pub(crate) const STORE_PRESSURE_MBAR: Limit = Limit::new(
    0.0,
    50.0,
    "mbar",
    "Drums, totes, bags and bells are no pressure vessels: 50 mbar (5 kPa, half a metre of water) is the ceiling for \
     all of them (ISO 23590 covers household plants below it); more can burst them and needs a rated vessel, local \
     rules and licensed people.",
);
/// Ambient pressure.
pub(crate) const AMBIENT_MBAR: Limit = Limit::new(
    500.0,
    1100.0,
    "mbar",
    "It is the barometer's reading at the site, about 1013 at the sea and 540 at 5000 m.",
);
/// Conductance of the gas pipe.
pub(crate) const PIPE: Limit = Limit::new(
    1e-3,
    1e9,
    "L per day per mbar",
    "It is the gas that passes through the pipe for each millibar of pressure difference.",
);
/// Mass of one material in a recipe or starter.
pub(crate) const KG: Limit = Limit::new(
    0.0,
    1e7,
    "kg",
    "It is a weight; nothing can be taken out by feeding.",
);
/// Water in a recipe, starter or dose.
pub(crate) const WATER_L: Limit = Limit::new(
    0.0,
    1e7,
    "L",
    "It is water that is added; none can be taken out by feeding.",
);
/// Mass of an additive.
pub(crate) const ADDITIVE_G: Limit = Limit::new(
    0.0,
    1e9,
    "g",
    "It is a weight in grams; none can be taken out by feeding.",
);
/// Multiplier on a recipe.
pub(crate) const AMOUNT: Limit = Limit::new(
    0.0,
    1000.0,
    "times the recipe",
    "It multiplies everything in the recipe.",
);
/// Length of a ramp.
pub(crate) const RAMP_DAYS: Limit = Limit::new(
    1.0,
    7300.0,
    "days",
    "It is how long the amount takes to climb.",
);
/// Multiplier on the living groups of the starter.
pub(crate) const LIVING_FACTOR: Limit = Limit::new(
    0.001,
    10.0,
    "",
    "It multiplies the living groups that the starter brings; 1 is the library's middle value, which is uncertain by \
     a factor of three either way.",
);
/// Multiplier on hydrolysis constants.
pub(crate) const HYDROLYSIS_FACTOR: Limit = Limit::new(
    0.01,
    100.0,
    "",
    "It multiplies the hydrolysis constants of the library.",
);
/// Multiplier on degradable shares.
pub(crate) const DEGRADABLE_FACTOR: Limit = Limit::new(
    0.0,
    2.0,
    "",
    "It multiplies the share of each pool that a digester can reach; no share passes 1.",
);
/// Total solids of a material.
pub(crate) const TOTAL_SOLIDS_PCT: Limit = Limit::new(
    0.01,
    100.0,
    "%",
    "It is what is left after drying, in per cent of the fresh weight.",
);
/// Steady inflow.
pub(crate) const INFLOW_L_PER_D: Limit = Limit::new(
    0.0,
    1e7,
    "L per day",
    "It is a steady stream into the vessel.",
);
/// Relative tolerance of the integrator.
pub(crate) const TOLERANCE: Limit = Limit::new(
    1e-9,
    1e-2,
    "",
    "Looser, the result is noise; tighter, round-off stops the integrator.",
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_belong_to_the_range_and_nan_does_not() {
        assert!(DAYS.admits(1.0) && DAYS.admits(7300.0));
        assert!(!DAYS.admits(0.0) && !DAYS.admits(7301.0) && !DAYS.admits(1.5));
        assert!(!LIQUID_L.admits(f64::NAN) && !LIQUID_L.admits(f64::INFINITY));
    }

    #[test]
    fn ranges_in_words() {
        assert_eq!(DAYS.allowed(), "whole numbers from 1 to 7300 days");
        assert_eq!(STORE_PRESSURE_MBAR.allowed(), "0 to 50 mbar");
        assert_eq!(LIVING_FACTOR.allowed(), "0.001 to 10");
        assert_eq!(range(0.0, 0.0, "g"), "only 0 g");
    }
}
