//! What the faces of a vessel exchange with air, ground and sun, with slopes by temperature and time.
//!
//! Everything here is linear in the liquor's temperature:
//!
//! ```text
//! air      sum A/(R + 1/h(wind)) (T_air - T)
//! ground   sum A/R (T_soil(depth) - T)
//! sun      sum a tau G A R_out/(R + R_out),   R_out = 1/h + glazing
//! ```
//!
//! The sun warms the outside of a face; the part of it that gets in is the outer resistance over the whole. So foam
//! keeps the sun out as it keeps the heat in. Under a greenhouse the air around the vessel is a node without mass of its
//! own, between the cover and the faces; it takes what sun the floor and the faces do not pass on.

use super::soil::SoilWave;
use super::wall::{STILL_AIR_W_PER_M2_K, outside_w_per_m2_k};
use super::weather::Sky;

/// One face of a vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Name for people.
    pub name: String,
    /// \[m2\]
    pub area_m2: f64,
    /// From the liquor to the outer skin; towards soil, the soil included \[m2 K/W\].
    pub resistance: f64,
    /// What lies outside.
    pub meets: Meets,
    /// Sun on it.
    pub sunlit: Option<Sunlit>,
}

/// What a face meets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Meets {
    /// Air, through a film that wind thins.
    Air,
    /// Air, through nothing more: the resistance holds the film already.
    AirDirectly,
    /// Soil at a depth.
    Soil {
        /// \[m\]
        depth_m: f64,
    },
}

/// Sun on a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sunlit {
    /// Area as the sun sees it, held against the sun on the level \[m2\].
    pub area_m2: f64,
    /// Absorptance, 0..1.
    pub absorptance: f64,
    /// Transmittance of what lies before it, 0..1.
    pub transmittance: f64,
    /// Resistance of what lies before it \[m2 K/W\].
    pub glazing: f64,
}

/// A small greenhouse over all faces that meet the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Greenhouse {
    /// Area of the cover \[m2\].
    pub cover_m2: f64,
    /// U-value of the cover \[W/m2/K\].
    pub cover_w_per_m2_k: f64,
    /// Floor that the sun reaches besides the vessel \[m2\].
    pub floor_m2: f64,
    /// Absorptance of that floor, 0..1.
    pub floor_absorptance: f64,
    /// Transmittance of the cover, 0..1.
    pub transmittance: f64,
}

/// All faces of a vessel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Envelope {
    /// Its faces.
    pub faces: Vec<Face>,
    /// A greenhouse over them.
    pub greenhouse: Option<Greenhouse>,
}

/// A heat flow into the liquor: \[W\], by temperature \[W/K\], by time at a held temperature \[W/d\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Gain {
    /// \[W\]
    pub watts: f64,
    /// \[W/K\]
    pub by_k: f64,
    /// \[W/d\]
    pub by_day: f64,
}

/// Heat into the liquor through its surface.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Exchange {
    /// Through faces in the air.
    pub air: Gain,
    /// Through faces in or on the ground.
    pub ground: Gain,
    /// From the sun.
    pub sun: Gain,
}

/// Sums over the faces in the air, with their slopes by wind.
#[derive(Debug, Clone, Copy, Default)]
struct Airside {
    /// Conductance \[W/K\].
    conductance: (f64, f64),
    /// Sun that gets in, per W/m2 on the level \[m2\].
    enters: (f64, f64),
    /// Sun absorbed outside that does not get in \[m2\].
    rejected: f64,
}

impl Envelope {
    /// Heat into liquor of a temperature \[C\] at `t` \[d\].
    #[must_use]
    pub fn exchange(&self, sky: &Sky, soil: &SoilWave, t: f64, celsius: f64) -> Exchange {
        let mut out = Exchange::default();
        for face in &self.faces {
            if let Meets::Soil { depth_m } = face.meets {
                let conductance = face.area_m2 / face.resistance;
                let (value, slope) = soil.at(depth_m, t);
                out.ground.watts += conductance * (value - celsius);
                out.ground.by_k -= conductance;
                out.ground.by_day += conductance * slope;
            }
        }
        let film = match self.greenhouse {
            // Nothing blows in there.
            Some(_) => (STILL_AIR_W_PER_M2_K, 0.0),
            None => outside_w_per_m2_k(sky.wind.0),
        };
        let side = self.airside(film);
        let (air, air_slope) = sky.air;
        let (sun, sun_slope) = sky.sun;
        match &self.greenhouse {
            None => {
                let (k, k_wind) = side.conductance;
                let wind_slope = sky.wind.1;
                out.air = Gain {
                    watts: k * (air - celsius),
                    by_k: -k,
                    by_day: k * air_slope + k_wind * wind_slope * (air - celsius),
                };
                out.sun = Gain {
                    watts: side.enters.0 * sun,
                    by_k: 0.0,
                    by_day: side.enters.0 * sun_slope + side.enters.1 * wind_slope * sun,
                };
            }
            Some(house) => {
                let k = side.conductance.0;
                let cover = house.cover_w_per_m2_k * house.cover_m2;
                let through = k * cover / (k + cover);
                out.air = Gain {
                    watts: through * (air - celsius),
                    by_k: -through,
                    by_day: through * air_slope,
                };
                let per_sun = house.transmittance
                    * (side.enters.0
                        + k / (k + cover)
                            * (house.floor_absorptance * house.floor_m2 + side.rejected));
                out.sun = Gain {
                    watts: per_sun * sun,
                    by_k: 0.0,
                    by_day: per_sun * sun_slope,
                };
            }
        }
        out
    }

    /// Temperature of the air in the greenhouse \[C\]; the outdoor air without one.
    #[must_use]
    pub fn air_around(&self, sky: &Sky, celsius: f64) -> f64 {
        let Some(house) = &self.greenhouse else {
            return sky.air.0;
        };
        let side = self.airside((STILL_AIR_W_PER_M2_K, 0.0));
        let k = side.conductance.0;
        let cover = house.cover_w_per_m2_k * house.cover_m2;
        let sun = house.transmittance
            * (house.floor_absorptance * house.floor_m2 + side.rejected)
            * sky.sun.0;
        (cover * sky.air.0 + k * celsius + sun) / (cover + k)
    }

    /// Conductance to air in the given wind and to the ground \[W/K\].
    #[must_use]
    pub fn conductance(&self, wind_m_per_s: f64) -> (f64, f64) {
        let film = match self.greenhouse {
            Some(_) => (STILL_AIR_W_PER_M2_K, 0.0),
            None => outside_w_per_m2_k(wind_m_per_s),
        };
        let faces = self.airside(film).conductance.0;
        let air = match &self.greenhouse {
            None => faces,
            Some(house) => {
                let cover = house.cover_w_per_m2_k * house.cover_m2;
                faces * cover / (faces + cover)
            }
        };
        let ground = self
            .faces
            .iter()
            .filter(|f| matches!(f.meets, Meets::Soil { .. }))
            .map(|f| f.area_m2 / f.resistance)
            .sum();
        (air, ground)
    }

    fn airside(&self, (film, film_by_wind): (f64, f64)) -> Airside {
        let mut side = Airside::default();
        let (outer, outer_slope) = (1.0 / film, -film_by_wind / (film * film));
        for face in &self.faces {
            let (outside, slope) = match face.meets {
                Meets::Soil { .. } => continue,
                Meets::AirDirectly => (0.0, 0.0),
                Meets::Air => {
                    let glazing = face.sunlit.map_or(0.0, |s| s.glazing);
                    (outer + glazing, outer_slope)
                }
            };
            let whole = face.resistance + outside;
            side.conductance.0 += face.area_m2 / whole;
            side.conductance.1 -= face.area_m2 * slope / (whole * whole);
            if let Some(sun) = &face.sunlit {
                let takes = sun.absorptance * sun.transmittance * sun.area_m2;
                side.enters.0 += takes * outside / whole;
                side.enters.1 += takes * slope * face.resistance / (whole * whole);
                side.rejected += takes * face.resistance / whole;
            }
        }
        side
    }
}
