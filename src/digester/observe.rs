//! From a state to what a person can see or have measured.

use super::tank::Tank;
use crate::chemistry::Speciation;
use crate::kinetics::{AcidKind, GasKind};
use crate::solver::RhsFailure;
use crate::units::{NORM_M3_PER_KMOL, ZERO_C, molar_mass};

/// End points of an alkalinity titration.
const TOTAL_END_PH: f64 = 4.3;
const PARTIAL_END_PH: f64 = 5.75;
/// A ratio of acids to alkalinity above this says no more than "no alkalinity left" and is held here.
pub const MOST_ACID_RATIO: f64 = 10.0;
/// kmol/m3 to mg/L of a substance of molar mass M: `1000 * M`.
const MG_PER_L: f64 = 1000.0;

/// What can be seen of a tank at one instant.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Reading {
    /// \[C\]
    pub temperature_c: f64,
    /// pH.
    pub ph: f64,
    /// \[mg acetic acid/L\]
    pub acetic_mg_l: f64,
    /// \[mg propionic acid/L\]
    pub propionic_mg_l: f64,
    /// Butyric and longer \[mg butyric acid/L\].
    pub butyric_mg_l: f64,
    /// All of them \[mg/L as acetic acid, mole for mole\].
    pub acids_mg_l: f64,
    /// To pH 4.3 \[mg CaCO3/L\].
    pub alkalinity_mg_l: f64,
    /// To pH 5.75 \[mg CaCO3/L\].
    pub partial_alkalinity_mg_l: f64,
    /// Acids over alkalinity to pH 4.3; at most 10, which stands for "no alkalinity left".
    pub acid_ratio: f64,
    /// \[mg N/L\]
    pub ammonium_mg_l: f64,
    /// \[mg N/L\]
    pub free_ammonia_mg_l: f64,
    /// Shares of the dry headspace gas: H2, CH4, CO2, H2S, air.
    pub shares: Shares,
    /// Water vapour of the wet headspace gas.
    pub vapour_share: f64,
    /// Pressure of the headspace above ambient \[mbar\].
    pub pressure_mbar: f64,
    /// Gas to the store, dry \[norm litres/d\].
    pub gas_nl_d: f64,
}

/// Shares of a dry gas, by mole, 0..1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Shares {
    /// Hydrogen.
    pub h2: f64,
    /// Methane.
    pub ch4: f64,
    /// Carbon dioxide.
    pub co2: f64,
    /// Hydrogen sulphide.
    pub h2s: f64,
    /// Air.
    pub air: f64,
}

impl Shares {
    /// Shares from amounts by kind.
    #[must_use]
    pub fn of(amounts: impl Iterator<Item = (GasKind, f64)>) -> Self {
        let mut out = Self::default();
        let mut sum = 0.0;
        for (kind, n) in amounts {
            // A trace of gas can stand a rounding below zero.
            let n = n.max(0.0);
            sum += n;
            *match kind {
                GasKind::H2 => &mut out.h2,
                GasKind::CH4 => &mut out.ch4,
                GasKind::CO2 => &mut out.co2,
                GasKind::H2S => &mut out.h2s,
                GasKind::Air => &mut out.air,
            } += n;
        }
        if sum > 0.0 {
            for v in [
                &mut out.h2,
                &mut out.ch4,
                &mut out.co2,
                &mut out.h2s,
                &mut out.air,
            ] {
                *v /= sum;
            }
        }
        out
    }
}

impl Tank {
    /// Reads a state off.
    ///
    /// # Errors
    /// [`RhsFailure`] if the state allows no pH.
    pub fn read(&mut self, y: &[f64]) -> Result<Reading, RhsFailure> {
        let s = self.speciate(y)?;
        let mut out = self.reading(y, &s);
        let (engine, totals) = (self.engine(), self.engine().acid_totals(y));
        // One equivalent of acid counts as half a mole of CaCO3.
        let as_caco3 = |end: f64| {
            let equilibria = &self.properties().equilibria;
            let taken = engine
                .acid_base
                .titration(equilibria, &totals.borrow(), &s, end);
            (MG_PER_L * 0.5 * molar_mass::CACO3 * taken).max(0.0)
        };
        out.alkalinity_mg_l = as_caco3(TOTAL_END_PH);
        out.partial_alkalinity_mg_l = as_caco3(PARTIAL_END_PH);
        out.acid_ratio = if out.acids_mg_l < MOST_ACID_RATIO * out.alkalinity_mg_l {
            out.acids_mg_l / out.alkalinity_mg_l
        } else if out.acids_mg_l > 0.0 {
            MOST_ACID_RATIO
        } else {
            0.0
        };
        Ok(out)
    }

    /// Reads a state off without the titrations: alkalinities and acid ratio stay 0.
    ///
    /// # Errors
    /// [`RhsFailure`] if the state allows no pH.
    pub fn glance(&mut self, y: &[f64]) -> Result<Reading, RhsFailure> {
        let s = self.speciate(y)?;
        Ok(self.reading(y, &s))
    }

    /// What can be seen of a state whose balance is solved.
    fn reading(&self, y: &[f64], s: &Speciation) -> Reading {
        let props = self.properties();
        let network = &self.engine().network;
        let mut out = Reading {
            temperature_c: props.t_k - ZERO_C,
            ph: s.ph(),
            ..Reading::default()
        };
        for (i, a) in network.acids.iter().enumerate() {
            // Small negative amounts are a matter of tolerance; what is shown is cleaned, the state is not.
            let c = (y[a.component] * a.kmol_per_unit).max(0.0);
            match a.constants {
                AcidKind::Acetic => out.acetic_mg_l = MG_PER_L * molar_mass::ACETIC * c,
                AcidKind::Propionic => out.propionic_mg_l = MG_PER_L * molar_mass::PROPIONIC * c,
                AcidKind::Butyric | AcidKind::Valeric => {
                    out.butyric_mg_l += MG_PER_L * molar_mass::BUTYRIC * c
                }
                AcidKind::Ammonium => {
                    out.ammonium_mg_l = MG_PER_L * molar_mass::N * c;
                    out.free_ammonia_mg_l = out.ammonium_mg_l * s.share[i][1];
                }
                AcidKind::Carbonic | AcidKind::Sulfidic => {}
            }
        }
        let moles = out.acetic_mg_l / molar_mass::ACETIC
            + out.propionic_mg_l / molar_mass::PROPIONIC
            + out.butyric_mg_l / molar_mass::BUTYRIC;
        out.acids_mg_l = moles * molar_mass::ACETIC;
        let layout = *self.layout();
        out.shares = Shares::of(
            network
                .gases
                .iter()
                .enumerate()
                .map(|(g, gas)| (gas.kind, y[layout.gas(g)])),
        );
        let pressure = self.pressure(y);
        out.vapour_share = props.vapour / pressure;
        out.pressure_mbar = 1000.0 * (pressure - self.plumbing().ambient_bar);
        let moles: f64 = (0..layout.gases).map(|g| y[layout.gas(g)]).sum();
        out.gas_nl_d = self.outlet_flow(y) * moles / self.gas_m3 * NORM_M3_PER_KMOL * 1000.0;
        out
    }
}
