//! Temperature-dependent properties of a network, tabulated once so that a right-hand side needs no exponentials.

use super::network::{AcidKind, GasKind, Network};
use super::rate::RelativeLaw;
use crate::chemistry::{self, Dissociation, Equilibria, MAX_ACIDS, MAX_LEVELS};
use crate::lanes::{Real, WIDTH};
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
pub struct Properties<R = f64> {
    /// Temperature they belong to \[K\].
    pub t_k: R,
    /// Acid-base constants.
    pub equilibria: Equilibria<R>,
    /// Henry constants in the order of the gases \[kmol/m3/bar\]; 0 where not dissolved.
    pub henry: [R; MAX_GASES],
    /// Their slopes \[1/K\].
    pub henry_slope: [R; MAX_GASES],
    /// Vapour pressure of water \[bar\].
    pub vapour: R,
    /// Its slope \[bar/K\].
    pub vapour_slope: R,
    /// Factor of each temperature law.
    pub law: [R; MAX_LAWS],
    /// Its slope \[1/K\].
    pub law_slope: [R; MAX_LAWS],
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
    #[inline(always)]
    fn place(&self, t_k: f64) -> (usize, f64) {
        let position = ((t_k - kelvin(TABLE_C.0)) / STEP_K).clamp(0.0, (self.count - 1) as f64);
        let i = (position as usize).min(self.count - 2);
        (i, position - i as f64)
    }

    /// Properties at `t_k` by cubic interpolation (laws exactly).
    pub fn fill(&self, t_k: f64, out: &mut Properties) {
        fill(|_| self, t_k, out);
    }

    /// As [`PropertyTable::fill`], with a table of each lane; all of networks of one shape.
    #[inline(always)]
    pub fn fill_lanes<'a, R: Real>(
        of: impl Fn(usize) -> &'a Self,
        t_k: R,
        out: &mut Properties<R>,
    ) {
        fill(of, t_k, out);
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

#[inline(always)]
fn fill<'a, R: Real>(of: impl Fn(usize) -> &'a PropertyTable, t_k: R, out: &mut Properties<R>) {
    let first = of(0);
    let mut nodes: [&[[f64; 2]]; WIDTH] = [&[]; WIDTH];
    let mut share = R::splat(0.0);
    for (lane, nodes) in nodes.iter_mut().enumerate().take(R::LANES) {
        let table = of(lane);
        let (i, s) = table.place(t_k.lane(lane));
        *nodes = &table.nodes[i * first.width..(i + 2) * first.width];
        share.put(lane, s);
    }
    // Hermite basis and its derivative by temperature.
    let s = share;
    let (s2, s3) = (s * s, s * s * s);
    let h1 = s2 * 3.0 - s3 * 2.0;
    let (m0, m1) = ((s3 - s2 * 2.0 + s) * STEP_K, (s3 - s2) * STEP_K);
    let d_h1 = (s * 6.0 - s2 * 6.0) * (1.0 / STEP_K);
    let (d_m0, d_m1) = (s2 * 3.0 - s * 4.0 + 1.0, s2 * 3.0 - s * 2.0);
    let mut place = 0;
    let mut next = || {
        let at = |far: usize, part: usize| R::gather(|lane| nodes[lane][place + far][part]);
        let (v0, d0, v1, d1) = (at(0, 0), at(0, 1), at(first.width, 0), at(first.width, 1));
        place += 1;
        (
            v0 + h1 * (v1 - v0) + m0 * d0 + m1 * d1,
            d_h1 * (v1 - v0) + d_m0 * d0 + d_m1 * d1,
        )
    };
    out.t_k = t_k;
    let e = &mut out.equilibria;
    let (v, d) = next();
    (e.kw, e.dln_kw) = (v, d / v);
    (e.a, e.da) = next();
    if !first.davies {
        (e.a, e.da) = (R::splat(0.0), R::splat(0.0));
    }
    (out.vapour, out.vapour_slope) = next();
    for ((k, dln_k), &steps) in e.k.iter_mut().zip(&mut e.dln_k).zip(&first.steps) {
        for (k, dln_k) in k.iter_mut().zip(dln_k).take(usize::from(steps)) {
            let (v, d) = next();
            (*k, *dln_k) = (v, d / v);
        }
    }
    let henry = out.henry.iter_mut().zip(&mut out.henry_slope);
    for (henry, slope) in henry.take(first.gases) {
        (*henry, *slope) = next();
    }
    for i in 0..first.laws.len() {
        for lane in 0..R::LANES {
            let (value, slope) = of(lane).laws[i].factor(t_k.lane(lane));
            out.law[i].put(lane, value);
            out.law_slope[i].put(lane, slope);
        }
    }
}

impl<R: Real> Properties<R> {
    /// Nothing known yet.
    #[must_use]
    pub fn blank() -> Self {
        Self {
            t_k: R::splat(f64::NAN),
            equilibria: Equilibria::default(),
            henry: [R::splat(0.0); MAX_GASES],
            henry_slope: [R::splat(0.0); MAX_GASES],
            vapour: R::splat(0.0),
            vapour_slope: R::splat(0.0),
            law: [R::splat(1.0); MAX_LAWS],
            law_slope: [R::splat(0.0); MAX_LAWS],
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
