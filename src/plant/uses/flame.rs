//! The flame: does it burn, is it lean, what does the jet pass.

use std::f64::consts::PI;

use serde::Serialize;

use crate::chemistry::Fuel;
use crate::plant::stream::{GasStream, Portion};

use super::material::use_table;

/// How a gas burns on an ordinary burner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FlameVerdict {
    /// The gas holds so much air that it can burn inside pipes and store: let it go outdoors, never light it.
    Explosive,
    /// The gas still holds the air of a headspace that is not rinsed: let it go outdoors, unlit.
    HoldsAir,
    /// Nothing stays alight.
    None,
    /// Lights with a pilot and lifts off.
    LiftsOff,
    /// Burns, not steadily on every burner.
    Burns,
    /// Burns steadily.
    Steady,
}

impl FlameVerdict {
    /// Whether a burner can be lit and left alone.
    #[must_use]
    pub fn burns(self) -> bool {
        matches!(self, Self::Burns | Self::Steady)
    }

    /// Whether the gas may be lit at all.
    #[must_use]
    pub fn lights(self) -> bool {
        matches!(self, Self::LiftsOff | Self::Burns | Self::Steady)
    }

    /// For people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Explosive => "holds too much air: let it go outdoors, never light it",
            Self::HoldsAir => "still holds air: let it go outdoors, unlit",
            Self::None => "does not burn",
            Self::LiftsOff => "lights with a pilot flame and lifts off",
            Self::Burns => "burns",
            Self::Steady => "burns steadily",
        }
    }
}

/// What a gas does as a flame.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Flame {
    /// How it burns.
    pub verdict: FlameVerdict,
    /// Whether it burns but is leaner than a steady flame wants: fewer and larger ports, less primary air.
    pub lean: bool,
    /// Methane of the dry gas, 0..1.
    pub ch4_share: f64,
    /// Air of the dry gas, 0..1.
    pub air_share: f64,
    /// Burning velocity in air \[cm/s\], estimated between remembered points; `None` below 40 % methane.
    pub velocity_cm_s: Option<f64>,
    /// Smallest share of this gas in air that explodes, by Le Chatelier's rule.
    pub lower_limit_share: Option<f64>,
    /// Air that burns one volume of the dry gas.
    pub air_need: f64,
}

/// Judges a gas.
#[must_use]
pub fn flame(gas: &Portion) -> Flame {
    let table = &use_table().flame;
    let (ch4_share, air_share) = (gas.ch4_share(), gas.air_share());
    let verdict = match ch4_share {
        _ if air_share > table.air_share_explosive.low() && ch4_share > 0.0 => {
            FlameVerdict::Explosive
        }
        _ if air_share > table.air_share_unlit.typical() => FlameVerdict::HoldsAir,
        share if share < table.none_below.typical() => FlameVerdict::None,
        share if share < table.burns_above.typical() => FlameVerdict::LiftsOff,
        share if share < table.steady_above.typical() => FlameVerdict::Burns,
        _ => FlameVerdict::Steady,
    };
    let dry = gas.dry_nl();
    let oxygen_need = 2.0 * gas.ch4_nl + 0.5 * gas.h2_nl + 1.5 * gas.h2s_nl - gas.o2_nl;
    Flame {
        verdict,
        lean: verdict.lights() && verdict != FlameVerdict::Steady,
        ch4_share,
        air_share,
        velocity_cm_s: (ch4_share >= table.none_below.typical()).then(|| velocity(ch4_share)),
        lower_limit_share: gas.dry().mixture().and_then(|m| m.lower_flammable_share()),
        air_need: if dry > 0.0 {
            (oxygen_need / dry).max(0.0) / crate::plant::stream::OXYGEN_OF_AIR
        } else {
            0.0
        },
    }
}

/// Straight lines through the table's points at 50, 60 and 100 % methane.
fn velocity(ch4_share: f64) -> f64 {
    let table = &use_table().flame;
    let (v50, v60, v100) = (
        table.velocity_50_cm_s.typical(),
        table.velocity_60_cm_s.typical(),
        table.velocity_pure_cm_s.typical(),
    );
    if ch4_share < 0.6 {
        v60 - (v60 - v50) * (0.6 - ch4_share) / 0.1
    } else {
        v60 + (v100 - v60) * (ch4_share - 0.6) / 0.4
    }
}

/// What a jet passes \[m3/h as it is\]: `Cd A sqrt(2 p / rho)`; hole \[mm\], pressure drop \[Pa\].
///
/// `None` for no gas, a hole or a pressure that is not above zero.
#[must_use]
pub fn jet_m3_h(gas: &GasStream, hole_mm: f64, pressure_pa: f64, discharge: f64) -> Option<f64> {
    const SECONDS_PER_HOUR: f64 = 3600.0;
    let density = gas.density_kg_m3()?;
    let usable = hole_mm > 0.0 && pressure_pa > 0.0 && discharge > 0.0;
    usable.then(|| {
        let area = PI * (hole_mm / 1000.0).powi(2) / 4.0;
        discharge * area * (2.0 * pressure_pa / density).sqrt() * SECONDS_PER_HOUR
    })
}

/// Fresh air that keeps leaking methane below a tenth of its lower limit \[m3/h\]; leak \[m3 CH4/h\].
#[must_use]
pub fn ventilation_m3_h(ch4_m3_h: f64) -> f64 {
    ch4_m3_h / (Fuel::Methane.lower_limit() / 10.0)
}
