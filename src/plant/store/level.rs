//! The level of a store from hour to hour.

use serde::{Deserialize, Serialize};

use crate::plant::PlantFault;
use crate::plant::stream::{GasState, Portion, mol, norm_litres};
use crate::units::R_J;

use super::bag::BagSettings;
use super::bell::BellSettings;

const PA_PER_BAR: f64 = 1e5;
const HOURS_PER_DAY: f64 = 24.0;

/// Kind of store.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StoreSettings {
    /// Floating bell.
    Bell(BellSettings),
    /// Bag.
    Bag(BagSettings),
}

impl StoreSettings {
    /// What is wrong with the settings.
    ///
    /// # Errors
    /// [`PlantFault`], above all for a pressure above 5 kPa.
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        match self {
            Self::Bell(bell) => bell.check(field),
            Self::Bag(bag) => bag.check(field),
        }
    }

    /// Pressure halfway between the ends \[Pa\].
    #[must_use]
    pub fn middle_pa(&self) -> f64 {
        match self {
            Self::Bell(bell) => bell.pressure_pa(bell.seal_depth_cm / 2.0),
            Self::Bag(bag) => bag.pressure_pa,
        }
    }

    /// Dry gas that can be held, and that which cannot be drawn \[norm litres\], at this temperature and barometer.
    #[must_use]
    pub fn capacity_nl(&self, state: &GasState) -> (f64, f64) {
        match self {
            Self::Bell(bell) => {
                let (full, dead) = bell.volumes_l();
                let at = |volume, rim| dry_nl(volume, bell.pressure_pa(rim), state);
                (
                    at(full, bell.highest_rim_cm()),
                    at(dead, bell.seal_depth_cm),
                )
            }
            Self::Bag(bag) => (dry_nl(bag.volume_l, bag.pressure_pa, state), 0.0),
        }
    }

    /// Where the store stands with `dry_nl` norm litres of dry gas in it.
    #[must_use]
    pub fn level(&self, dry: f64, state: &GasState) -> Level {
        let (full, dead) = self.capacity_nl(state);
        let share = ((dry - dead) / (full - dead)).clamp(0.0, 1.0);
        match self {
            Self::Bell(bell) => {
                let rim_cm = bell
                    .rim_cm(mol(dry), state)
                    .clamp(bell.highest_rim_cm(), bell.seal_depth_cm);
                let (pressure_pa, volume_l) = if dry < dead {
                    // It rests at its lowest stand and bears no longer on the gas, which has shrunk.
                    bell.resting(mol(dry), state)
                } else {
                    (bell.pressure_pa(rim_cm), bell.volume_l(rim_cm))
                };
                // A relief lets gas off at the margin, and the rim never passes it.
                let within = !bell.relief && rim_cm - bell.blow_out_rim_cm() < bell.margin_cm;
                Level {
                    share,
                    pressure_pa,
                    volume_l,
                    rise_cm: Some(bell.seal_depth_cm - rim_cm),
                    within_margin: within,
                    suction: pressure_pa < 0.0,
                }
            }
            Self::Bag(bag) => Level {
                share,
                // An empty bag holds no pressure.
                pressure_pa: if dry > 0.0 { bag.pressure_pa } else { 0.0 },
                volume_l: bag.volume_l * share,
                rise_cm: None,
                within_margin: false,
                suction: false,
            },
        }
    }
}

/// Dry norm litres in `volume_l` saturated at `gauge_pa` over the barometer of `state`.
fn dry_nl(volume_l: f64, gauge_pa: f64, state: &GasState) -> f64 {
    let pa = state.barometer_kpa * 1000.0 + gauge_pa - state.vapour_bar() * PA_PER_BAR;
    norm_litres((pa * volume_l / 1000.0 / (R_J * state.kelvin())).max(0.0))
}

/// Where a store stands.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Level {
    /// Between the lowest stand (0) and the highest, relief or blow-out, or the full bag (1).
    pub share: f64,
    /// Pressure above ambient \[Pa\]; negative where a bell at its lowest stand holds too little gas.
    pub pressure_pa: f64,
    /// Volume of wet gas \[L\].
    pub volume_l: f64,
    /// Rise of a bell above its lowest stand \[cm\].
    pub rise_cm: Option<f64>,
    /// Whether a bell stands closer to the blow-out than its margin.
    pub within_margin: bool,
    /// Whether the gas sucks: air can get in at any leak.
    pub suction: bool,
}

/// A store with what is in it: dry gas by species.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Store {
    /// Its build.
    pub settings: StoreSettings,
    /// Dry gas in it \[norm litres\], well mixed.
    pub content: Portion,
}

impl Store {
    /// A store at its lowest stand, filled with `gas` up to there.
    ///
    /// # Errors
    /// [`PlantFault`] for settings or a state out of range.
    pub fn at_lowest(
        settings: StoreSettings,
        gas: Portion,
        state: &GasState,
    ) -> Result<Self, PlantFault> {
        settings.check("store")?;
        state.check("state")?;
        gas.check("gas")?;
        let (_, dead) = settings.capacity_nl(state);
        let dry = gas.dry_nl();
        let content = if dry > 0.0 {
            gas.dry().scaled(dead / dry)
        } else {
            Portion::default()
        };
        Ok(Self { settings, content })
    }

    /// What can be drawn now \[dry norm litres by species\].
    #[must_use]
    pub fn drawable(&self, state: &GasState) -> Portion {
        let (_, dead) = self.settings.capacity_nl(state);
        let held = self.content.dry_nl();
        let share = if held > 0.0 {
            ((held - dead) / held).max(0.0)
        } else {
            0.0
        };
        self.content.scaled(share)
    }

    /// Draws `dry_nl` of the mixed gas, no more than can be drawn; returns the store after it and what was drawn.
    #[must_use]
    pub fn draw(self, dry: f64, state: &GasState) -> (Self, Portion) {
        let ready = self.drawable(state);
        let most = ready.dry_nl();
        let drawn = if most > 0.0 {
            ready.scaled((dry / most).clamp(0.0, 1.0))
        } else {
            Portion::default()
        };
        let content = self.content.minus(drawn);
        (Self { content, ..self }, drawn)
    }

    /// Lets what is above full escape; returns the store after it and what escaped.
    #[must_use]
    pub fn overflow(self, state: &GasState) -> (Self, Portion) {
        let (full, _) = self.settings.capacity_nl(state);
        let held = self.content.dry_nl();
        if held <= full {
            return (self, Portion::default());
        }
        let escaped = self.content.scaled((held - full) / held);
        let content = self.content.minus(escaped);
        (Self { content, ..self }, escaped)
    }

    /// Lets a part of a day's seepage through the film; returns the store after it and what left (negative: came in).
    ///
    /// Exponential over the hours for what leaves, so that a thin film never takes more than there is.
    #[must_use]
    pub fn seep(self, hours: f64, state: &GasState) -> (Self, Portion) {
        let StoreSettings::Bag(bag) = &self.settings else {
            return (self, Portion::default());
        };
        let bar = state.barometer_kpa / 100.0 + bag.pressure_pa / PA_PER_BAR - state.vapour_bar();
        let rate = bag.seepage(&self.content, bar).in_order();
        let held = self.content.in_order();
        let days = hours / HOURS_PER_DAY;
        let left = Portion::from_order(std::array::from_fn(|i| {
            if rate[i] > 0.0 && held[i] > 0.0 {
                held[i] * -(-rate[i] * days / held[i]).exp_m1()
            } else {
                rate[i] * days
            }
        }));
        let content = self.content.minus(left);
        (Self { content, ..self }, left)
    }
}

/// One hour of a store, in this order: gas arrives, some seeps, gas is drawn, the rest overflows.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct StoreHour {
    /// Arrived, dry \[norm litres\].
    pub arrived: Portion,
    /// Seeped out \[norm litres, negative: air came in\].
    pub seeped: Portion,
    /// Drawn \[norm litres\].
    pub drawn: Portion,
    /// Overflowed \[norm litres\].
    pub overflowed: Portion,
    /// Where it stands at the end of the hour.
    pub level: Level,
}
