//! What each number of weather and heat may be, and why.

use super::limits::Limit;

/// Outdoor air.
pub(crate) const AIR_C: Limit = Limit::new(
    -50.0,
    60.0,
    "C",
    "No place where a digester stands is colder or hotter; degrees are Celsius.",
);
/// Mean of the soil.
pub(crate) const SOIL_C: Limit = Limit::new(
    -10.0,
    40.0,
    "C",
    "It is the mean of the soil over the year, near that of the air.",
);
/// Latitude.
pub(crate) const LATITUDE_DEG: Limit = Limit::new(
    -crate::thermal::HIGHEST_LATITUDE_DEG,
    crate::thermal::HIGHEST_LATITUDE_DEG,
    "degrees",
    "It is the latitude, negative in the south; nearer to the poles the sun does not rise every day.",
);
/// Sun of a day.
pub(crate) const SUN_KWH: Limit = Limit::new(
    0.0,
    12.0,
    "kWh per m2 and day",
    "It is the sun on a level square metre: about 1 in a northern winter, 3 over its year, 8 in a desert summer.",
);
/// Sun at a time.
pub(crate) const SUN_W: Limit = Limit::new(
    0.0,
    1500.0,
    "W per m2",
    "It is the sun on a level square metre; nothing on the ground passes 1400.",
);
/// Wind.
pub(crate) const WIND: Limit = Limit::new(
    0.0,
    40.0,
    "m/s",
    "It is the wind at the vessel, well below that of a weather mast; a sheltered yard has 1 or 2.",
);
/// Diffusivity of soil.
pub(crate) const DIFFUSIVITY: Limit = Limit::new(
    0.1,
    2.0,
    "mm2/s",
    "Dry sand has about 0.3, moist soil 0.5 to 0.8.",
);
/// A length of a vessel.
pub(crate) const SIZE_CM: Limit =
    Limit::new(1.0, 5000.0, "cm", "It is an outer length of the vessel.");
/// Area of a surface.
pub(crate) const AREA_M2: Limit = Limit::new(0.0001, 1e5, "m2", "It is the area of a surface.");
/// Insulation.
pub(crate) const FOAM_CM: Limit = Limit::new(
    0.0,
    100.0,
    "cm",
    "It is the thickness of the insulation; more than a metre helps nobody.",
);
/// Wall.
pub(crate) const WALL_MM: Limit = Limit::new(
    0.1,
    500.0,
    "mm",
    "It is the thickness of the wall: 2 to 5 for plastic, 0.2 to 1 for a bag.",
);
/// Depth in the ground.
pub(crate) const DEPTH_CM: Limit = Limit::new(
    0.0,
    2000.0,
    "cm",
    "It is how deep the bottom lies below the ground.",
);
/// Conductivity of soil.
pub(crate) const SOIL_CONDUCTS: Limit = Limit::new(
    0.1,
    5.0,
    "W/m/K",
    "Dry soil conducts 0.3, moist soil 1 to 1.5, wet soil 2.",
);
/// U-value.
pub(crate) const U_VALUE: Limit = Limit::new(
    0.01,
    100.0,
    "W/m2/K",
    "It is a U-value: 8 for bare plastic, 0.35 for 10 cm of foam, about 1.2 for a buried face.",
);
/// A share.
pub(crate) const SHARE_PCT: Limit = Limit::new(0.0, 100.0, "%", "It is a share of the whole.");
/// Power of a heater.
pub(crate) const POWER_W: Limit = Limit::new(
    0.0,
    1e6,
    "W",
    "It is the most heat that the heater gives to the liquor.",
);
/// Set point.
pub(crate) const SET_C: Limit = Limit::new(
    5.0,
    60.0,
    "C",
    "The living groups of a home digester like 30 to 38 C; hotter than 60 kills them.",
);
/// Band of a thermostat.
pub(crate) const BAND_K: Limit = Limit::new(
    0.2,
    20.0,
    "K",
    "It is the width over which the heater goes from nearly all to nearly nothing; narrower is a switch.",
);
/// Efficiency.
pub(crate) const EFFICIENCY_PCT: Limit = Limit::new(
    10.0,
    100.0,
    "%",
    "It is the share of the gas's lower heating value that reaches the liquor; a small boiler has 70 to 85.",
);
/// Temperature of a feed.
pub(crate) const FEED_C: Limit = Limit::new(
    0.0,
    70.0,
    "C",
    "It is what is poured in: cold water has 10, mixed with hot waste water 40.",
);
/// Start of the liquor.
pub(crate) const START_C: Limit = Limit::new(0.0, 60.0, "C", "It is the liquor on day 0, thawed.");
