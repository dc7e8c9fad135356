//! What one bed takes from one step of gas, and how full it gets.

use crate::plant::stream::{Portion, mol};

use super::material::{BedMaterial, Target, bed_row};
use super::settings::{BedSettings, Refill};

/// Most dates of a bed that are kept; the number of fillings counts them all.
pub(crate) const MOST_DATES: usize = 400;

/// A bed on its way through time.
#[derive(Debug, Clone)]
pub(crate) struct Bed {
    settings: BedSettings,
    capacity_mol: f64,
    loaded_mol: f64,
    /// Wished for so far, taken or not \[mol\].
    pub(crate) wished_mol: f64,
    /// Fillings spent so far.
    pub(crate) spent: f64,
    /// When they were spent \[d\], the first [`MOST_DATES`].
    pub(crate) dates_d: Vec<f64>,
    /// Sulphide for which the oxygen was missing \[mol\].
    pub(crate) without_oxygen_mol: f64,
}

/// What was taken from a step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Taken {
    /// Out of the gas, oxygen that reacted included.
    pub(crate) gas: Portion,
    /// Water that the reaction made \[mol\].
    pub(crate) made_mol: f64,
}

impl Bed {
    pub(crate) fn new(settings: BedSettings) -> Self {
        let capacity_mol = settings.capacity_mol();
        Self {
            settings,
            capacity_mol,
            loaded_mol: capacity_mol * settings.loaded_share,
            wished_mol: 0.0,
            spent: 0.0,
            dates_d: Vec::new(),
            without_oxygen_mol: 0.0,
        }
    }

    /// Share of the capacity that is loaded.
    pub(crate) fn loaded_share(&self) -> f64 {
        self.loaded_mol / self.capacity_mol
    }

    /// Wished for per capacity: fillings that the whole gas would have used.
    pub(crate) fn fillings_wanted(&self) -> f64 {
        self.wished_mol / self.capacity_mol
    }

    /// Takes from the gas of one step, `day` to `day + days`.
    pub(crate) fn take(&mut self, gas: &Portion, day: f64, days: f64) -> Taken {
        let row = bed_row(self.settings.material);
        let target = row.target;
        let mut share = self.settings.removal_share;
        let needs_oxygen = self.settings.material == BedMaterial::CarbonWithOxygen;
        if needs_oxygen && gas.h2s_nl > 0.0 {
            // H2S + 1/2 O2 = S + H2O: no further than the oxygen reaches.
            let within_reach = (2.0 * gas.o2_nl / gas.h2s_nl).min(share);
            self.without_oxygen_mol += mol(gas.h2s_nl) * (share - within_reach);
            share = within_reach;
        }
        let wish_mol = mol(target.of(gas)) * share;
        self.wished_mol += wish_mol;
        let taken_share = share * self.load(wish_mol, day, days);
        let (co2, h2s, h2o) = match target {
            Target::Lime => (gas.co2_nl, gas.h2s_nl, 0.0),
            Target::HydrogenSulphide => (0.0, gas.h2s_nl, 0.0),
            Target::Water => (0.0, 0.0, gas.h2o_nl),
        };
        let out = Portion {
            co2_nl: co2 * taken_share,
            h2s_nl: h2s * taken_share,
            h2o_nl: h2o * taken_share,
            o2_nl: if needs_oxygen {
                0.5 * h2s * taken_share
            } else {
                0.0
            },
            ..Portion::default()
        };
        Taken {
            gas: out,
            made_mol: water_made(self.settings.material, mol(out.co2_nl), mol(out.h2s_nl)),
        }
    }

    /// Loads the bed with `wish_mol` and returns the share of it that it took.
    fn load(&mut self, wish_mol: f64, day: f64, days: f64) -> f64 {
        if wish_mol <= 0.0 {
            return 1.0;
        }
        let room = self.capacity_mol - self.loaded_mol;
        if wish_mol < room {
            self.loaded_mol += wish_mol;
            return 1.0;
        }
        match self.settings.refill {
            Refill::Never => {
                if room > 0.0 {
                    self.spent += 1.0;
                    self.dates_d.push(day + days * room / wish_mol);
                }
                self.loaded_mol = self.capacity_mol;
                room / wish_mol
            }
            Refill::WhenSpent => {
                let fillings = 1.0 + ((wish_mol - room) / self.capacity_mol).floor();
                let mut at = room;
                while at <= wish_mol && self.dates_d.len() < MOST_DATES {
                    self.dates_d.push(day + days * at / wish_mol);
                    at += self.capacity_mol;
                }
                self.spent += fillings;
                self.loaded_mol = (self.loaded_mol + wish_mol - fillings * self.capacity_mol)
                    .clamp(0.0, self.capacity_mol);
                1.0
            }
        }
    }
}

/// Water that the reactions make \[mol\].
///
/// Ca(OH)2 + CO2 = CaCO3 + H2O; Ca(OH)2 + H2S = CaS + 2 H2O; Fe2O3 + 3 H2S = Fe2S3 + 3 H2O; H2S + 1/2 O2 = S + H2O.
fn water_made(material: BedMaterial, co2_mol: f64, h2s_mol: f64) -> f64 {
    match material {
        BedMaterial::LimeSlurry | BedMaterial::DampLime | BedMaterial::LimeWater => {
            co2_mol + 2.0 * h2s_mol
        }
        BedMaterial::IronOxideGrains | BedMaterial::RustedWool | BedMaterial::CarbonWithOxygen => {
            h2s_mol
        }
        BedMaterial::Carbon
        | BedMaterial::SilicaGel
        | BedMaterial::DryingClay
        | BedMaterial::MolecularSieve => 0.0,
    }
}
