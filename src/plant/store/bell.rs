//! Floating bell: pressure by level, buoyancy of the wetted wall, blow-out.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use crate::plant::stream::GasState;
use crate::plant::{PlantFault, above_zero, check_gauge, within};
use crate::units::R_J;

use super::material::Shell;

/// Standard gravity \[m/s2\]. Source: CGPM 1901, by definition.
pub(crate) const GRAVITY: f64 = 9.806_65;
/// Pascals in a bar.
const PA_PER_BAR: f64 = 1e5;
const CM_PER_M: f64 = 100.0;

/// A bell: a cup upside down in water or another liquid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BellSettings {
    /// Inner diameter \[cm\], 5 to 500.
    pub diameter_cm: f64,
    /// Height of the skirt, inside, rim to roof \[cm\], 5 to 500.
    pub skirt_cm: f64,
    /// Thickness of the wall \[mm\], 0.1 to 50.
    pub wall_mm: f64,
    /// Density of the wall \[kg/m3\], 500 to 12000; [`super::shell_row`] has the usual ones.
    pub shell_density_kg_m3: f64,
    /// Mass of the empty bell \[kg\]; `None`: skirt and roof of this wall.
    pub shell_mass_kg: Option<f64>,
    /// Ballast on top of it, in air \[kg\], 0 to 5000.
    pub ballast_kg: f64,
    /// Depth of liquid that the rim can sink to \[cm\], at most the skirt.
    pub seal_depth_cm: f64,
    /// Density of the liquid \[kg/m3\], 700 to 1400: water 998, brine about 1180.
    pub liquid_density_kg_m3: f64,
    /// How much deeper than the pressure the rim should still stand \[cm\], 0 to 50.
    pub margin_cm: f64,
    /// Whether a relief lets gas off before the rim comes closer to its blow-out than the margin; without one gas escapes
    /// under the rim.
    #[serde(default)]
    pub relief: bool,
}

impl BellSettings {
    /// A bell of a usual material in water, without ballast.
    #[must_use]
    pub fn of(shell: Shell, diameter_cm: f64, skirt_cm: f64, wall_mm: f64) -> Self {
        Self {
            diameter_cm,
            skirt_cm,
            wall_mm,
            shell_density_kg_m3: super::shell_row(shell).density.typical(),
            shell_mass_kg: None,
            ballast_kg: 0.0,
            seal_depth_cm: skirt_cm,
            liquid_density_kg_m3: 998.2,
            margin_cm: super::seal_margin().typical(),
            relief: false,
        }
    }

    /// The same bell with the ballast that gives this pressure \[Pa\] at half its rise; without any where it is heavier.
    #[must_use]
    pub fn ballasted(self, middle_pa: f64) -> Self {
        let bare = Self {
            ballast_kg: 0.0,
            ..self
        };
        let short_pa = middle_pa - bare.pressure_pa(bare.seal_depth_cm / 2.0);
        let kg = (short_pa * bare.area_m2() / GRAVITY).max(0.0);
        Self {
            // Not a number after a problem with the pressure, which is told.
            ballast_kg: if kg.is_finite() { kg } else { 0.0 },
            ..bare
        }
    }

    /// Cross-section of the gas \[m2\].
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        let d = self.diameter_cm / CM_PER_M;
        PI * d * d / 4.0
    }

    /// Cross-section of the wall \[m2\].
    fn wall_m2(&self) -> f64 {
        let (d, wall) = (self.diameter_cm / CM_PER_M, self.wall_mm / 1000.0);
        PI * (d + wall) * wall
    }

    /// Mass of the empty bell \[kg\], given or from its wall.
    #[must_use]
    pub fn shell_kg(&self) -> f64 {
        self.shell_mass_kg.unwrap_or_else(|| {
            let outer = self.diameter_cm / CM_PER_M + 2.0 * self.wall_mm / 1000.0;
            let roof = PI * outer * outer / 4.0 * self.wall_mm / 1000.0;
            (self.wall_m2() * self.skirt_cm / CM_PER_M + roof) * self.shell_density_kg_m3
        })
    }

    /// Pressure under the bell \[Pa above ambient\] when its rim stands `rim_cm` \[cm\] below the outer surface.
    ///
    /// `p A = m g - rho g a s`: weight less the lift of the wetted wall (cross-section a, wetted over s).
    #[must_use]
    pub fn pressure_pa(&self, rim_cm: f64) -> f64 {
        let weight = (self.shell_kg() + self.ballast_kg) * GRAVITY;
        let lift = self.liquid_weight() * self.wall_m2() * rim_cm / CM_PER_M;
        (weight - lift) / self.area_m2()
    }

    /// Weight of the liquid by volume \[N/m3\].
    fn liquid_weight(&self) -> f64 {
        self.liquid_density_kg_m3 * GRAVITY
    }

    /// Depth of the rim at which gas escapes under it \[cm\]: there it stands as deep as the pressure pushes the liquid.
    #[must_use]
    pub fn blow_out_rim_cm(&self) -> f64 {
        // rho g s = p0 - k s
        let (dry, slope) = self.line();
        dry / (self.liquid_weight() + slope) * CM_PER_M
    }

    /// Depth of the rim at the highest stand \[cm\]: where the relief lets gas off, else the blow-out.
    #[must_use]
    pub fn highest_rim_cm(&self) -> f64 {
        self.blow_out_rim_cm() + if self.relief { self.margin_cm } else { 0.0 }
    }

    /// Pressure at which the seal lets go \[Pa\]: nothing above it is possible.
    #[must_use]
    pub fn blow_out_pa(&self) -> f64 {
        self.pressure_pa(self.blow_out_rim_cm())
    }

    /// Pressure with a dry wall \[Pa\], and what it loses by depth of the rim \[Pa/m\].
    fn line(&self) -> (f64, f64) {
        let dry = self.pressure_pa(0.0);
        (dry, self.liquid_weight() * self.wall_m2() / self.area_m2())
    }

    /// Gas under the bell \[L\] at this depth of the rim: roof down to the inner surface.
    #[must_use]
    pub fn volume_l(&self, rim_cm: f64) -> f64 {
        let pushed_cm = self.pressure_pa(rim_cm) / self.liquid_weight() * CM_PER_M;
        let height_m = (self.skirt_cm - rim_cm + pushed_cm).max(0.0) / CM_PER_M;
        self.area_m2() * height_m * 1000.0
    }

    /// Gas at the highest stand, and that which cannot be drawn at the lowest \[L\].
    #[must_use]
    pub fn volumes_l(&self) -> (f64, f64) {
        (
            self.volume_l(self.highest_rim_cm()),
            self.volume_l(self.seal_depth_cm),
        )
    }

    /// Pressure \[Pa above ambient\] of `dry_mol` under a bell that rests at its lowest stand and bears no longer on its
    /// gas, and the volume of that gas \[L\].
    ///
    /// The liquid inside follows the gas that shrinks, so that `(p_b - p_v + p) (h + p/(rho g)) A = n R T`, where h is what of
    /// the skirt stands above the liquid outside; a quadratic in p. Only a bell with such a head can suck: without one the
    /// liquid fills it at p = 0.
    pub(super) fn resting(&self, dry_mol: f64, state: &GasState) -> (f64, f64) {
        let head = (self.skirt_cm - self.seal_depth_cm).max(0.0) / CM_PER_M;
        let dry_bar_pa = state.barometer_kpa * 1000.0 - state.vapour_bar() * PA_PER_BAR;
        let weight = self.liquid_weight();
        let b = head + dry_bar_pa / weight;
        let c = dry_bar_pa * head - dry_mol.max(0.0) * R_J * state.kelvin() / self.area_m2();
        let pa = -2.0 * c / (b + (b * b - 4.0 * c / weight).max(0.0).sqrt());
        let height_m = (head + pa / weight).max(0.0);
        (pa, self.area_m2() * height_m * 1000.0)
    }

    /// Depth of the rim \[cm\] that holds `wet_mol` of gas and vapour; beyond its ends where no stand holds it.
    ///
    /// `state` gives temperature and barometer. `(p_b + p0 - k s) (H - s + (p0 - k s)/(rho g)) A = n R T` is a quadratic
    /// in s; its smaller root is written so that it holds for a thin wall (k near 0) too. `dry_mol` is what is known, so
    /// the vapour's pressure is taken off the first factor.
    #[must_use]
    pub fn rim_cm(&self, dry_mol: f64, state: &GasState) -> f64 {
        let (p0, k) = self.line();
        let p = state.barometer_kpa * 1000.0 + p0 - state.vapour_bar() * PA_PER_BAR;
        let b = self.skirt_cm / CM_PER_M + p0 / self.liquid_weight();
        let c = 1.0 + k / self.liquid_weight();
        let content = dry_mol * R_J * state.kelvin() / self.area_m2();
        let middle = p * c + k * b;
        let last = p * b - content;
        let root = (middle * middle - 4.0 * k * c * last).max(0.0).sqrt();
        2.0 * last / (middle + root) * CM_PER_M
    }

    /// What is wrong with the settings.
    ///
    /// # Errors
    /// [`PlantFault`] for a value out of range, a pressure above 5 kPa, and a bell that would not sink or would always
    /// blow.
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        let at = |name: &str| format!("{field}.{name}");
        within(
            &at("diameter_cm"),
            self.diameter_cm,
            (5.0, 500.0),
            "cm",
            "Give the inner diameter of the bell.",
        )?;
        within(
            &at("skirt_cm"),
            self.skirt_cm,
            (5.0, 500.0),
            "cm",
            "Give the height from rim to roof.",
        )?;
        within(
            &at("wall_mm"),
            self.wall_mm,
            (0.1, 50.0),
            "mm",
            "Give the thickness of the wall.",
        )?;
        within(
            &at("shell_density_kg_m3"),
            self.shell_density_kg_m3,
            (500.0, 12000.0),
            "kg/m3",
            "Steel is 7850, polyethylene 950.",
        )?;
        if let Some(mass) = self.shell_mass_kg {
            above_zero(
                &at("shell_mass_kg"),
                mass,
                1e4,
                "kg",
                "Weigh the empty bell, or leave it out.",
            )?;
        }
        within(
            &at("ballast_kg"),
            self.ballast_kg,
            (0.0, 5000.0),
            "kg",
            "Give the stones on top.",
        )?;
        within(
            &at("seal_depth_cm"),
            self.seal_depth_cm,
            (1.0, self.skirt_cm),
            "cm",
            "The rim sinks no deeper than the skirt is high.",
        )?;
        within(
            &at("liquid_density_kg_m3"),
            self.liquid_density_kg_m3,
            (700.0, 1400.0),
            "kg/m3",
            "Water is 998, brine about 1180.",
        )?;
        within(
            &at("margin_cm"),
            self.margin_cm,
            (0.0, 50.0),
            "cm",
            "5 cm is usual.",
        )?;
        check_gauge(
            &format!("{field}: the pressure of the bell"),
            self.pressure_pa(0.0),
        )?;
        let unfit = |why: String, mend: &str| PlantFault::Unfit {
            field: at("ballast_kg"),
            why,
            mend: mend.to_owned(),
        };
        if self.pressure_pa(self.seal_depth_cm) <= 0.0 {
            return Err(unfit(
                format!(
                    "at the lowest stand the wall's lift carries the bell: the pressure would be {:.0} Pa",
                    self.pressure_pa(self.seal_depth_cm)
                ),
                "A bell lighter than water gets its pressure from ballast alone: add stones.",
            ));
        }
        if self.blow_out_rim_cm() >= self.seal_depth_cm {
            return Err(unfit(
                format!(
                    "the gas escapes under the rim at every stand: {:.1} cm of pressure over {:.1} cm of seal",
                    self.blow_out_rim_cm(),
                    self.seal_depth_cm
                ),
                "Take ballast off, or make the seal deeper.",
            ));
        }
        if self.highest_rim_cm() >= self.seal_depth_cm {
            return Err(PlantFault::Unfit {
                field: at("relief"),
                why: format!(
                    "the relief lets gas off at every stand: {:.1} cm of pressure and margin over {:.1} cm of seal",
                    self.highest_rim_cm(),
                    self.seal_depth_cm
                ),
                mend: "Take ballast or margin off, or make the seal deeper.".to_owned(),
            });
        }
        Ok(())
    }
}

/// Mass of bell and ballast for a pressure \[kg\], wall out of the water: `m = p A / g`.
#[must_use]
pub fn ballast_for_pressure_kg(pressure_pa: f64, diameter_cm: f64) -> f64 {
    let d = diameter_cm / CM_PER_M;
    pressure_pa * PI * d * d / 4.0 / GRAVITY
}

/// Share of its weight that a wall keeps in the liquid; negative for one that floats.
#[must_use]
pub fn submerged_weight_share(shell_density_kg_m3: f64, liquid_density_kg_m3: f64) -> f64 {
    1.0 - liquid_density_kg_m3 / shell_density_kg_m3
}
