//! Temperature-dependent properties of a network, tabulated once so that a right-hand side needs no exponentials.

use super::network::{AcidKind, GasKind, Network};
use super::rate::RelativeLaw;
use crate::chemistry::{self, Dissociation, Equilibria, MAX_ACIDS, MAX_LEVELS};
use crate::units::kelvin;

/// Most gases of a headspace.
pub(super) const MAX_GASES: usize = 5;
/// Most temperature laws of a network.
pub(super) const MAX_LAWS: usize = 8;

/// Range of the table \[K\]: below and above it the end values of the property hold.
const TABLE_C: (f64, f64) = (-20.0, 70.0);
/// Spacing \[K\]: the cubic between nodes then errs below 1e-9 relative (tested).
const STEP_K: f64 = 0.5;

/// Place of the vapour pressure among the tabulated properties.
const VAPOUR: usize = 2;

/// Properties at one temperature, with slopes by temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Properties {
    /// Temperature they belong to \[K\].
    pub t_k: f64,
    /// Acid-base constants.
    pub equilibria: Equilibria,
    /// Henry constants in the order of the gases \[kmol/m3/bar\]; 0 where not dissolved.
    pub henry: [f64; MAX_GASES],
    /// Their slopes \[1/K\].
    pub henry_slope: [f64; MAX_GASES],
    /// Vapour pressure of water \[bar\].
    pub vapour: f64,
    /// Its slope \[bar/K\].
    pub vapour_slope: f64,
    /// Factor of each temperature law.
    pub law: [f64; MAX_LAWS],
    /// Its slope \[1/K\].
    pub law_slope: [f64; MAX_LAWS],
}

/// Tabulated properties of one network.
#[derive(Debug, Clone, PartialEq)]
pub struct PropertyTable {
    /// \[value, slope\] of each property, `width` properties at each of `count` nodes.
    nodes: Vec<[f64; 2]>,
    width: usize,
    count: usize,
    steps: [u8; MAX_ACIDS],
    gases: usize,
    davies: bool,
    laws: Vec<RelativeLaw>,
}

impl PropertyTable {
    /// Tabulates the properties of a network.
    #[must_use]
    pub fn new(network: &Network, davies: bool) -> Self {
        let mut steps = [0; MAX_ACIDS];
        for (s, a) in steps.iter_mut().zip(&network.acids) {
            *s = a.acid.steps;
        }
        let count = ((TABLE_C.1 - TABLE_C.0) / STEP_K).round() as usize + 1;
        let mut nodes = Vec::new();
        for i in 0..count {
            let p = Self::exact(network, davies, kelvin(TABLE_C.0 + STEP_K * i as f64));
            let e = &p.equilibria;
            let mut push = |v: f64, d: f64| nodes.push([v, d]);
            push(e.kw, e.kw * e.dln_kw);
            push(e.a, e.da);
            push(p.vapour, p.vapour_slope);
            for (i, a) in network.acids.iter().enumerate() {
                for j in 0..usize::from(a.acid.steps) {
                    push(e.k[i][j], e.k[i][j] * e.dln_k[i][j]);
                }
            }
            for g in 0..network.gases.len() {
                push(p.henry[g], p.henry_slope[g]);
            }
        }
        Self {
            width: nodes.len() / count,
            nodes,
            count,
            steps,
            gases: network.gases.len(),
            davies,
            laws: network.laws.iter().map(RelativeLaw::new).collect(),
        }
    }

    /// Vapour pressure of water at `t_k` \[bar\], the same as [`PropertyTable::fill`] gives.
    #[must_use]
    pub fn vapour(&self, t_k: f64) -> f64 {
        let (i, s) = self.place(t_k);
        let [v0, d0] = self.nodes[i * self.width + VAPOUR];
        let [v1, d1] = self.nodes[(i + 1) * self.width + VAPOUR];
        let (s2, s3) = (s * s, s * s * s);
        v0 + (3.0 * s2 - 2.0 * s3) * (v1 - v0)
            + STEP_K * (s3 - 2.0 * s2 + s) * d0
            + STEP_K * (s3 - s2) * d1
    }

    /// (node below, share of the way to the next) of a temperature.
    fn place(&self, t_k: f64) -> (usize, f64) {
        let position = ((t_k - kelvin(TABLE_C.0)) / STEP_K).clamp(0.0, (self.count - 1) as f64);
        let i = (position as usize).min(self.count - 2);
        (i, position - i as f64)
    }

    /// Properties at `t_k` by cubic interpolation (laws exactly).
    pub fn fill(&self, t_k: f64, out: &mut Properties) {
        let (i, s) = self.place(t_k);
        // Hermite basis and its derivative by temperature.
        let (s2, s3) = (s * s, s * s * s);
        let h1 = 3.0 * s2 - 2.0 * s3;
        let (m0, m1) = (STEP_K * (s3 - 2.0 * s2 + s), STEP_K * (s3 - s2));
        let d_h1 = (6.0 * s - 6.0 * s2) / STEP_K;
        let (d_m0, d_m1) = (3.0 * s2 - 4.0 * s + 1.0, 3.0 * s2 - 2.0 * s);
        let nodes = &self.nodes[i * self.width..(i + 2) * self.width];
        let mut nodes = nodes.iter().zip(&nodes[self.width..]);
        let mut next = || match nodes.next() {
            Some((&[v0, d0], &[v1, d1])) => (
                v0 + h1 * (v1 - v0) + m0 * d0 + m1 * d1,
                d_h1 * (v1 - v0) + d_m0 * d0 + d_m1 * d1,
            ),
            None => (f64::NAN, f64::NAN),
        };
        out.t_k = t_k;
        let e = &mut out.equilibria;
        let (v, d) = next();
        (e.kw, e.dln_kw) = (v, d / v);
        (e.a, e.da) = next();
        if !self.davies {
            (e.a, e.da) = (0.0, 0.0);
        }
        (out.vapour, out.vapour_slope) = next();
        for ((k, dln_k), &steps) in e.k.iter_mut().zip(&mut e.dln_k).zip(&self.steps) {
            for (k, dln_k) in k.iter_mut().zip(dln_k).take(usize::from(steps)) {
                let (v, d) = next();
                (*k, *dln_k) = (v, d / v);
            }
        }
        let henry = out.henry.iter_mut().zip(&mut out.henry_slope);
        for (henry, slope) in henry.take(self.gases) {
            (*henry, *slope) = next();
        }
        let laws = out.law.iter_mut().zip(&mut out.law_slope);
        for ((value, slope), law) in laws.zip(&self.laws) {
            (*value, *slope) = law.factor(t_k);
        }
    }

    /// Properties at `t_k` from the formulas themselves.
    #[must_use]
    pub fn exact(network: &Network, davies: bool, t_k: f64) -> Properties {
        let set = network.constants;
        let mut out = Properties::blank();
        out.t_k = t_k;
        let e = &mut out.equilibria;
        let (ln_kw, slope) = chemistry::dissociation(set, Dissociation::Water, t_k);
        (e.kw, e.dln_kw) = (ln_kw.exp(), slope);
        if davies {
            (e.a, e.da) = chemistry::debye_hueckel_a(t_k);
        }
        for (i, total) in network.acids.iter().enumerate() {
            for (j, kind) in steps_of(total.constants)
                .iter()
                .take(usize::from(total.acid.steps))
                .enumerate()
            {
                let (ln_k, slope) = chemistry::dissociation(set, *kind, t_k);
                (e.k[i][j], e.dln_k[i][j]) = (ln_k.exp(), slope);
            }
        }
        for (g, gas) in network.gases.iter().enumerate() {
            if let Some(solute) = solute_of(gas.kind) {
                (out.henry[g], out.henry_slope[g]) = chemistry::henry(set, solute, t_k);
            }
        }
        (out.vapour, out.vapour_slope) = chemistry::saturation_pressure(set, t_k);
        for (i, law) in network.laws.iter().enumerate() {
            (out.law[i], out.law_slope[i]) = law.factor(t_k);
        }
        out
    }
}

impl Properties {
    /// Nothing known yet.
    #[must_use]
    pub fn blank() -> Self {
        Self {
            t_k: f64::NAN,
            equilibria: Equilibria::default(),
            henry: [0.0; MAX_GASES],
            henry_slope: [0.0; MAX_GASES],
            vapour: 0.0,
            vapour_slope: 0.0,
            law: [1.0; MAX_LAWS],
            law_slope: [0.0; MAX_LAWS],
        }
    }
}

fn steps_of(kind: AcidKind) -> &'static [Dissociation; MAX_LEVELS - 2] {
    use Dissociation as D;
    match kind {
        AcidKind::Carbonic => &[D::Co2First, D::Co2Second],
        AcidKind::Ammonium => &[D::Ammonium, D::Ammonium],
        AcidKind::Sulfidic => &[D::H2sFirst, D::H2sSecond],
        AcidKind::Acetic => &[D::Acetic, D::Acetic],
        AcidKind::Propionic => &[D::Propionic, D::Propionic],
        AcidKind::Butyric => &[D::Butyric, D::Butyric],
        AcidKind::Valeric => &[D::Valeric, D::Valeric],
    }
}

fn solute_of(kind: GasKind) -> Option<chemistry::Gas> {
    match kind {
        GasKind::H2 => Some(chemistry::Gas::Hydrogen),
        GasKind::CH4 => Some(chemistry::Gas::Methane),
        GasKind::CO2 => Some(chemistry::Gas::CarbonDioxide),
        GasKind::H2S => Some(chemistry::Gas::HydrogenSulphide),
        GasKind::Air => None,
    }
}
