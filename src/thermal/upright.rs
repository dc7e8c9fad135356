//! Sun on an upright pane that faces the equator, held against the sun on the level, by day of the year.
//!
//! ```text
//! ratio = (1 - d) R_b + d/2 + rho/2
//! ```
//!
//! Isotropic sky (Liu and Jordan 1963): the pane sees half of the sky's diffuse light and half of what the ground throws
//! back. `R_b` is the beam's ratio over a day, from the hour-angle integrals of the beam on the pane and on the level;
//! `d` the diffuse share. All angles in radians inside, south counts as the north half a year later.

use std::f64::consts::{PI, TAU};

/// Days of the year of the formulas.
const YEAR_D: f64 = 365.0;
/// Sun above the air \[kW/m2\]. Source: 1367 W/m2, World Radiation Center (as used in solar handbooks; from memory).
const ABOVE_AIR_KW_M2: f64 = 1.367;
/// Share that bare ground throws back. Common practice, no source.
const GROUND: f64 = 0.2;
const HOURS: f64 = 24.0;
/// Least latitude that the formulas are asked at \[rad\]: on the equator itself no side faces it.
const LEAST_LATITUDE: f64 = 1e-6;
/// Clearness for which the diffuse share is known; source at [`SunDay::diffuse_share`].
const CLEARNESS: (f64, f64) = (0.3, 0.8);
/// Sunset hour angle that parts winter from the other seasons \[rad\]; the same source.
const WINTER_SUNSET: f64 = 81.4 * PI / 180.0;

/// The sun of a day at a place on the half of the earth where the pane faces its equator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunDay {
    /// Latitude \[rad\], above 0.
    latitude: f64,
    /// Declination \[rad\].
    declination: f64,
    /// Hour angle of sunset \[rad\], 0 to pi.
    sunset: f64,
    /// Distance factor of the day.
    near: f64,
}

impl SunDay {
    /// The day of the year (1 for 1 January, fractions allowed) at a latitude in degrees, negative in the south.
    ///
    /// Declination: Cooper (1969).
    #[must_use]
    pub fn of(latitude_deg: f64, day_of_year: f64) -> Self {
        let swing = (TAU * (284.0 + day_of_year) / YEAR_D).sin();
        let declination = 23.45_f64.to_radians() * swing * 1.0_f64.copysign(latitude_deg);
        let latitude = latitude_deg.abs().to_radians().max(LEAST_LATITUDE);
        let sunset = (-latitude.tan() * declination.tan())
            .clamp(-1.0, 1.0)
            .acos();
        Self {
            latitude,
            declination,
            sunset,
            near: 1.0 + 0.033 * (TAU * day_of_year / YEAR_D).cos(),
        }
    }

    /// Integral of the cosine of incidence on the level over half a day \[rad\].
    fn level(&self) -> f64 {
        let (s, c) = (self.latitude.sin(), self.latitude.cos());
        c * self.declination.cos() * self.sunset.sin() + self.sunset * s * self.declination.sin()
    }

    /// The same on the upright pane, while the sun stands before it.
    fn upright(&self) -> f64 {
        let before = (self.declination.tan() / self.latitude.tan())
            .clamp(-1.0, 1.0)
            .acos()
            .min(self.sunset);
        let (s, c) = (self.latitude.sin(), self.latitude.cos());
        s * self.declination.cos() * before.sin() - before * c * self.declination.sin()
    }

    /// Sun above the air on the level \[kWh/m2/d\].
    #[must_use]
    pub fn above_air_kwh_m2(&self) -> f64 {
        HOURS / PI * ABOVE_AIR_KW_M2 * self.near * self.level()
    }

    /// Beam on the pane over beam on the level, sums of the day; 0 where the sun does not rise.
    #[must_use]
    pub fn beam_ratio(&self) -> f64 {
        let level = self.level();
        if level > 0.0 {
            self.upright().max(0.0) / level
        } else {
            0.0
        }
    }

    /// Diffuse share of a day's sun on the level of so many kWh/m2, by its clearness.
    ///
    /// Source: Erbs, Klein and Duffie (1982), correlation for monthly means (from memory). Beyond its reach the value at
    /// the end.
    #[must_use]
    pub fn diffuse_share(&self, level_kwh_m2: f64) -> f64 {
        let clear = level_kwh_m2 / self.above_air_kwh_m2().max(f64::MIN_POSITIVE);
        let k = clear.clamp(CLEARNESS.0, CLEARNESS.1);
        if self.sunset <= WINTER_SUNSET {
            1.391 + k * (-3.560 + k * (4.189 - k * 2.137))
        } else {
            1.311 + k * (-3.022 + k * (3.427 - k * 1.821))
        }
    }

    /// Sun on the pane over sun on the level, for a day of so many kWh/m2 on the level.
    #[must_use]
    pub fn ratio(&self, level_kwh_m2: f64) -> f64 {
        let diffuse = self.diffuse_share(level_kwh_m2);
        (1.0 - diffuse) * self.beam_ratio() + 0.5 * diffuse + 0.5 * GROUND
    }
}

/// Largest latitude \[deg\]: beyond it the sun does not rise every day, and a ratio says nothing.
pub const HIGHEST_LATITUDE_DEG: f64 = 60.0;

#[cfg(test)]
mod tests {
    use super::*;

    /// Beam over a day by small steps of the hour angle: (pane, level), both only while the sun is up.
    fn by_steps(latitude_deg: f64, day: f64) -> (f64, f64) {
        let declination = 23.45_f64.to_radians() * (TAU * (284.0 + day) / 365.0).sin();
        let latitude = latitude_deg.to_radians();
        // The sun as a vector: east, north, up.
        let steps = 200_000;
        let (mut pane, mut level) = (0.0, 0.0);
        for i in 0..steps {
            let hour = -PI + TAU * (i as f64 + 0.5) / steps as f64;
            let north = declination.sin() * latitude.cos()
                - declination.cos() * latitude.sin() * hour.cos();
            let up = declination.sin() * latitude.sin()
                + declination.cos() * latitude.cos() * hour.cos();
            if up > 0.0 {
                level += up;
                pane += (if latitude_deg > 0.0 { -north } else { north }).max(0.0);
            }
        }
        (pane, level)
    }

    #[test]
    fn the_beam_on_a_pane_is_that_of_its_hours() {
        // At the equinox, declination 0 (81st day), the ratio is the tangent of the latitude.
        for latitude in [5.0, 23.0, 40.0, 48.0, 60.0] {
            let ratio = SunDay::of(latitude, 81.0).beam_ratio();
            assert!((ratio - f64::to_radians(latitude).tan()).abs() < 1e-12);
        }
        for latitude in [-45.0, -20.0, 3.0, 15.0, 35.0, 48.0, 59.0] {
            for day in [1.0, 30.0, 81.0, 110.0, 172.0, 200.0, 265.0, 300.0, 355.0] {
                let (pane, level) = by_steps(latitude, day);
                let ratio = SunDay::of(latitude, day).beam_ratio();
                let expected = pane / level;
                assert!(
                    (ratio - expected).abs() < 2e-4 * (1.0 + expected),
                    "{latitude} {day}: {ratio} {expected}"
                );
            }
        }
    }

    #[test]
    fn sun_above_the_air_and_declination_are_those_of_the_handbook() {
        // Duffie and Beckman, example of 43 N on 15 April: declination 9.4, 33.8 MJ/m2 (from memory).
        let day = SunDay::of(43.0, 105.0);
        assert!((day.declination.to_degrees() - 9.4).abs() < 0.05);
        assert!((day.above_air_kwh_m2() * 3.6 - 33.8).abs() < 0.1);
        // The same in the south half a year later, but for the distance of the sun.
        let south = SunDay::of(-43.0, 105.0 + 182.5);
        assert!((south.declination - day.declination).abs() < 1e-3);
    }

    #[test]
    fn the_seasons_of_a_pane_are_those_of_practice() {
        // Half of the level in June, more than all of it in December, at 48 N under 5 and 0.8 kWh/m2.
        let june = SunDay::of(48.0, 162.0).ratio(5.0);
        let december = SunDay::of(48.0, 344.0).ratio(0.8);
        assert!((0.4..0.6).contains(&june), "{june}");
        assert!((1.4..2.2).contains(&december), "{december}");
        // Overcast, half the sky and half the ground are left of it, and a little beam.
        let day = SunDay::of(48.0, 81.0);
        let share = day.diffuse_share(0.1);
        assert_eq!(share, day.diffuse_share(0.3 * day.above_air_kwh_m2()));
        assert!((0.6..0.75).contains(&share), "{share}");
        // Near the equator a pane sees no beam for half of the year.
        assert_eq!(SunDay::of(5.0, 172.0).beam_ratio(), 0.0);
        assert!(SunDay::of(-5.0, 172.0).beam_ratio() > 0.3);
    }
}
