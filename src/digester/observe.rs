//! From a state to what a person can see or have measured.

use super::tank::Tank;
use crate::kinetics::{AcidKind, GasKind};
use crate::lanes::{LaneSet, Real};
use crate::solver::RhsFailure;
use crate::units::{ZERO_C, molar_mass};

/// End points of an alkalinity titration: of all of it, and of its bicarbonate. Source: Ripley et al. 1986 (from memory).
const TOTAL_END_PH: f64 = 4.3;
const PARTIAL_END_PH: f64 = 5.75;
/// A ratio of acids to alkalinity above this says no more than "no alkalinity left" and is held here.
pub const MOST_ACID_RATIO: f64 = 10.0;
/// kmol/m3 to mg/L of a substance of molar mass M: `1000 * M`.
const MG_PER_L: f64 = 1000.0;

/// What can be seen of a tank at one instant.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Reading<R = f64> {
    /// \[C\]
    pub temperature_c: R,
    /// pH.
    pub ph: R,
    /// \[mg acetic acid/L\]
    pub acetic_mg_l: R,
    /// \[mg propionic acid/L\]
    pub propionic_mg_l: R,
    /// Butyric and longer \[mg butyric acid/L\].
    pub butyric_mg_l: R,
    /// All of them \[mg/L as acetic acid, mole for mole\].
    pub acids_mg_l: R,
    /// To pH 4.3 \[mg CaCO3/L\].
    pub alkalinity_mg_l: R,
    /// To pH 5.75 \[mg CaCO3/L\].
    pub partial_alkalinity_mg_l: R,
    /// Acids over alkalinity to pH 4.3; at most 10, which stands for "no alkalinity left".
    pub acid_ratio: R,
    /// \[mg N/L\]
    pub ammonium_mg_l: R,
    /// \[mg N/L\]
    pub free_ammonia_mg_l: R,
    /// Shares of the dry headspace gas: H2, CH4, CO2, H2S, air.
    pub shares: Shares<R>,
    /// Water vapour of the wet headspace gas.
    pub vapour_share: R,
    /// Pressure of the headspace above ambient \[mbar\].
    pub pressure_mbar: R,
}

/// Shares of a dry gas, by mole, 0..1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Shares<R = f64> {
    /// Hydrogen.
    pub h2: R,
    /// Methane.
    pub ch4: R,
    /// Carbon dioxide.
    pub co2: R,
    /// Hydrogen sulphide.
    pub h2s: R,
    /// Air.
    pub air: R,
}

impl<R: Real> Shares<R> {
    /// Shares from amounts by kind.
    #[must_use]
    #[inline(always)]
    pub fn of(amounts: impl Iterator<Item = (GasKind, R)>) -> Self {
        let zero = R::splat(0.0);
        let mut out = Self::default();
        let mut sum = zero;
        for (kind, n) in amounts {
            // A trace of gas can stand a rounding below zero.
            let n = n.larger(zero);
            sum += n;
            *match kind {
                GasKind::H2 => &mut out.h2,
                GasKind::CH4 => &mut out.ch4,
                GasKind::CO2 => &mut out.co2,
                GasKind::H2S => &mut out.h2s,
                GasKind::Air => &mut out.air,
            } += n;
        }
        for share in out.all() {
            *share = zero.where_below(sum, *share / sum, *share);
        }
        out
    }

    #[inline(always)]
    fn all(&mut self) -> [&mut R; 5] {
        let Self {
            h2,
            ch4,
            co2,
            h2s,
            air,
        } = self;
        [h2, ch4, co2, h2s, air]
    }
}

impl<R: Real> Reading<R> {
    /// That of one lane.
    #[must_use]
    pub fn lane(&self, lane: usize) -> Reading {
        let of = |v: R| v.lane(lane);
        Reading {
            temperature_c: of(self.temperature_c),
            ph: of(self.ph),
            acetic_mg_l: of(self.acetic_mg_l),
            propionic_mg_l: of(self.propionic_mg_l),
            butyric_mg_l: of(self.butyric_mg_l),
            acids_mg_l: of(self.acids_mg_l),
            alkalinity_mg_l: of(self.alkalinity_mg_l),
            partial_alkalinity_mg_l: of(self.partial_alkalinity_mg_l),
            acid_ratio: of(self.acid_ratio),
            ammonium_mg_l: of(self.ammonium_mg_l),
            free_ammonia_mg_l: of(self.free_ammonia_mg_l),
            shares: Shares {
                h2: of(self.shares.h2),
                ch4: of(self.shares.ch4),
                co2: of(self.shares.co2),
                h2s: of(self.shares.h2s),
                air: of(self.shares.air),
            },
            vapour_share: of(self.vapour_share),
            pressure_mbar: of(self.pressure_mbar),
        }
    }
}

impl Tank {
    /// Reads a state off.
    ///
    /// # Errors
    /// [`RhsFailure`] if the state allows no pH.
    pub fn read(&mut self, y: &[f64]) -> Result<Reading, RhsFailure> {
        self.speciate(y)?;
        let mut out = self.glance(y);
        self.titrate(y, &mut out);
        Ok(out)
    }
}

impl<R: Real> Tank<R> {
    /// Reads a state off in the lanes of a set; returns those whose state allows no pH. Without titrations alkalinities
    /// and acid ratio stay 0.
    #[inline(always)]
    pub(super) fn read_lanes(
        &mut self,
        of: LaneSet,
        y: &[R],
        titrated: bool,
    ) -> (Reading<R>, LaneSet) {
        let refused = self.balance(y, of);
        let mut out = self.glance(y);
        if titrated {
            self.titrate(y, &mut out);
        }
        (out, refused)
    }

    /// Titrates a sample of the state last speciated.
    #[inline(always)]
    fn titrate(&self, y: &[R], out: &mut Reading<R>) {
        let zero = R::splat(0.0);
        let (engine, totals) = (self.engine(), self.engine().acid_totals(y));
        // One equivalent of acid counts as half a mole of CaCO3.
        let as_caco3 = |end: f64| {
            let equilibria = &self.properties().equilibria;
            let taken =
                engine
                    .acid_base
                    .titration(equilibria, &totals.borrow(), self.liquor(), end);
            (taken * (MG_PER_L * 0.5 * molar_mass::CACO3)).larger(zero)
        };
        out.alkalinity_mg_l = as_caco3(TOTAL_END_PH);
        out.partial_alkalinity_mg_l = as_caco3(PARTIAL_END_PH);
        let most = R::splat(MOST_ACID_RATIO);
        out.acid_ratio = out.acids_mg_l.where_below(
            out.alkalinity_mg_l * MOST_ACID_RATIO,
            out.acids_mg_l / out.alkalinity_mg_l,
            zero.where_below(out.acids_mg_l, most, zero),
        );
    }

    /// What can be seen of the state last speciated, without the titrations.
    #[inline(always)]
    fn glance(&self, y: &[R]) -> Reading<R> {
        let (zero, s) = (R::splat(0.0), self.liquor());
        let props = self.properties();
        let network = &self.engine().network;
        let mut out = Reading {
            temperature_c: props.t_k - ZERO_C,
            ph: s.ph(),
            ..Reading::default()
        };
        for (i, a) in network.acids.iter().enumerate() {
            // Small negative amounts are a matter of tolerance; what is shown is cleaned, the state is not.
            let c = (y[a.component] * a.kmol_per_unit).larger(zero);
            match a.constants {
                AcidKind::Acetic => out.acetic_mg_l = c * (MG_PER_L * molar_mass::ACETIC),
                AcidKind::Propionic => out.propionic_mg_l = c * (MG_PER_L * molar_mass::PROPIONIC),
                AcidKind::Butyric | AcidKind::Valeric => {
                    out.butyric_mg_l += c * (MG_PER_L * molar_mass::BUTYRIC)
                }
                AcidKind::Ammonium => {
                    out.ammonium_mg_l = c * (MG_PER_L * molar_mass::N);
                    out.free_ammonia_mg_l = out.ammonium_mg_l * s.share[i][1];
                }
                AcidKind::Carbonic | AcidKind::Sulfidic => {}
            }
        }
        let moles = out.acetic_mg_l * (1.0 / molar_mass::ACETIC)
            + out.propionic_mg_l * (1.0 / molar_mass::PROPIONIC)
            + out.butyric_mg_l * (1.0 / molar_mass::BUTYRIC);
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
        out.pressure_mbar = (pressure - self.plumbing().ambient_bar) * 1000.0;
        out
    }
}
