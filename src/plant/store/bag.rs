//! Gas bag: volume, pressure from weights, what seeps through its film.

use serde::{Deserialize, Serialize};

use crate::plant::stream::{OXYGEN_OF_AIR, Portion};
use crate::plant::{PlantFault, check_gauge, within};
use crate::units::ATM_BAR;

use super::material::{Film, Permeability, film_row};

/// One barrer \[cm3(STP) cm/(cm2 s cmHg)\]. By definition.
const BARRER: f64 = 1e-10;
/// Centimetres of mercury in a standard atmosphere. By definition of the torr.
const CMHG_PER_ATM: f64 = 76.0;
const SECONDS_PER_DAY: f64 = 86_400.0;

/// A bag under weights.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BagSettings {
    /// Volume when full \[L\], 1 to 100000.
    pub volume_l: f64,
    /// Pressure from its weights \[Pa\], 0 to 5000; 100 to 500 is usual, 1000 with sandbags.
    pub pressure_pa: f64,
    /// Surface that gas seeps through \[m2\], 0 to 1000.
    pub area_m2: f64,
    /// Thickness of the film \[mm\], 0.01 to 20.
    pub thickness_mm: f64,
    /// What the film lets through.
    pub permeability: Permeability,
}

impl BagSettings {
    /// A bag of a usual film.
    #[must_use]
    pub fn of(
        film: Film,
        volume_l: f64,
        area_m2: f64,
        thickness_mm: f64,
        pressure_pa: f64,
    ) -> Self {
        Self {
            volume_l,
            pressure_pa,
            area_m2,
            thickness_mm,
            permeability: film_row(film).typical(),
        }
    }

    /// What is wrong with the settings.
    ///
    /// # Errors
    /// [`PlantFault`] for a value out of range or a pressure above 5 kPa.
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        let at = |name: &str| format!("{field}.{name}");
        within(
            &at("volume_l"),
            self.volume_l,
            (1.0, 1e5),
            "L",
            "Give the volume of the full bag.",
        )?;
        check_gauge(&at("pressure_pa"), self.pressure_pa)?;
        within(
            &at("pressure_pa"),
            self.pressure_pa,
            (0.0, 5000.0),
            "Pa",
            "1 cm of water is 98 Pa.",
        )?;
        within(
            &at("area_m2"),
            self.area_m2,
            (0.0, 1000.0),
            "m2",
            "Give the surface of the bag.",
        )?;
        within(
            &at("thickness_mm"),
            self.thickness_mm,
            (0.01, 20.0),
            "mm",
            "0.2 mm is a strong film.",
        )?;
        let p = self.permeability;
        for (name, value) in [
            ("ch4_barrer", p.ch4_barrer),
            ("co2_barrer", p.co2_barrer),
            ("n2_barrer", p.n2_barrer),
            ("o2_barrer", p.o2_barrer),
        ] {
            within(
                &at(name),
                value,
                (0.0, 1e4),
                "barrer",
                "Leave it out for the usual value of the film.",
            )?;
        }
        Ok(())
    }

    /// What seeps out in a day \[norm litres/d, negative: air comes in\] with these shares inside.
    ///
    /// `shares` is a dry gas of any amount, `bar` its absolute dry pressure. Zero for no gas.
    #[must_use]
    pub fn seepage(&self, shares: &Portion, bar: f64) -> Portion {
        let dry = shares.dry_nl();
        if dry <= 0.0 {
            return Portion::default();
        }
        let atm = bar / ATM_BAR;
        let through = |barrer: f64, inside: f64, outside: f64| {
            let difference_atm = inside / dry * atm - outside;
            permeation(barrer, difference_atm, self.thickness_mm, self.area_m2)
        };
        let p = self.permeability;
        Portion {
            ch4_nl: through(p.ch4_barrer, shares.ch4_nl, 0.0),
            co2_nl: through(p.co2_barrer, shares.co2_nl, 0.0),
            n2_nl: through(p.n2_barrer, shares.n2_nl, 1.0 - OXYGEN_OF_AIR),
            o2_nl: through(p.o2_barrer, shares.o2_nl, OXYGEN_OF_AIR),
            ..Portion::default()
        }
    }
}

/// Gas that seeps through a film \[norm litres/d\]: permeability \[barrer\], difference of the partial pressures \[atm\],
/// thickness \[mm\], area \[m2\]. Linear steady permeation.
#[must_use]
pub fn permeation(barrer: f64, difference_atm: f64, thickness_mm: f64, area_m2: f64) -> f64 {
    let (thickness_cm, area_cm2) = (thickness_mm / 10.0, area_m2 * 1e4);
    let cm3_per_s = barrer * BARRER * difference_atm * CMHG_PER_ATM / thickness_cm * area_cm2;
    cm3_per_s * SECONDS_PER_DAY / 1000.0
}
