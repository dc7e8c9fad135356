//! Temperature-dependent properties of a network, tabulated once so that a right-hand side needs no exponentials.

use super::network::{AcidKind, GasKind, Network};
use super::rate::RelativeLaw;
use crate::chemistry::{self, Dissociation, Equilibria, MAX_ACIDS, MAX_LEVELS};
use crate::lanes::Real;
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
/// Most tabulated properties.
const MAX_PROPERTIES: usize = 3 + MAX_ACIDS * (MAX_LEVELS - 1) + MAX_GASES;

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
    cell: Cell<R>,
}

/// Where in its table each lane stands, and the polynomials that hold there.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cell<R> {
    /// Index of the node below; no number when there is none yet.
    index: R,
    /// Share of the way to the next.
    share: R,
    /// Coefficients of each property by rising power of the share.
    powers: [[R; 4]; MAX_PROPERTIES],
}

/// Tabulated properties of one network.
#[derive(Debug, Clone, PartialEq)]
pub struct PropertyTable {
    /// Coefficients of each property by rising power of the share, `width` properties in each of `count` cells.
    cells: Vec<[f64; 4]>,
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
        let count = ((TABLE_C.1 - TABLE_C.0) / STEP_K).round() as usize;
        let mut nodes: Vec<[f64; 2]> = Vec::new();
        for i in 0..=count {
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
        let width = nodes.len() / (count + 1);
        Self {
            width,
            cells: nodes.iter().zip(&nodes[width..]).map(hermite).collect(),
            count,
            steps,
            gases: network.gases.len(),
            davies,
            laws: network.laws.iter().map(RelativeLaw::new).collect(),
        }
    }

    /// Whether another table holds the same properties, for [`PropertyTable::fill_lanes`].
    #[must_use]
    pub fn is_like(&self, other: &Self) -> bool {
        let shape = |table: &Self| {
            (
                table.width,
                table.count,
                table.steps,
                table.gases,
                table.davies,
            )
        };
        shape(self) == shape(other)
            && self.laws.len() == other.laws.len()
            && self.laws.iter().zip(&other.laws).all(|(a, b)| a.is_like(b))
    }

    /// Vapour pressure of water at `t_k` \[bar\], the same as [`PropertyTable::fill`] gives.
    #[must_use]
    pub fn vapour(&self, t_k: f64) -> f64 {
        let (index, share) = self.place(t_k);
        value(&self.cells[index as usize * self.width + VAPOUR], share)
    }

    /// (index of the node below, share of the way to the next) of a temperature; beyond the table that of its end.
    #[inline(always)]
    fn place<R: Real>(&self, t_k: R) -> (R, R) {
        let last = self.count as f64;
        let position = (t_k - kelvin(TABLE_C.0)) * (1.0 / STEP_K);
        let position = position.larger(R::splat(0.0)).smaller(R::splat(last));
        let index = position.floor().smaller(R::splat(last - 1.0));
        (index, position - index)
    }

    /// Properties at `t_k` by cubic interpolation (laws exactly).
    pub fn fill(&self, t_k: f64, out: &mut Properties) {
        Self::fill_lanes(|_| self, t_k, out);
        Self::fill_slopes(|_| self, out);
    }

    /// As [`PropertyTable::fill`], with a table of each lane, all alike; without the slopes.
    #[inline(always)]
    pub fn fill_lanes<'a, R: Real>(
        of: impl Fn(usize) -> &'a Self,
        t_k: R,
        out: &mut Properties<R>,
    ) {
        let first = of(0);
        out.t_k = t_k;
        let cell = &mut out.cell;
        let (index, share) = first.place(t_k);
        cell.share = share;
        if cell.index != index {
            cell.enter(&of, index);
        }
        let mut all = cell.powers.iter();
        let mut next = || {
            all.next()
                .map_or(R::splat(0.0), |powers| value(powers, share))
        };
        let e = &mut out.equilibria;
        e.kw = next();
        e.a = next();
        out.vapour = next();
        for (k, &steps) in e.k.iter_mut().zip(&first.steps) {
            k[..usize::from(steps)].fill_with(&mut next);
        }
        out.henry[..first.gases].fill_with(&mut next);
        for (i, law) in out.law[..first.laws.len()].iter_mut().enumerate() {
            *law = RelativeLaw::factor_lanes(|lane| &of(lane).laws[i], t_k).0;
        }
    }

    /// The slopes of properties that [`PropertyTable::fill_lanes`] filled.
    #[inline(always)]
    pub fn fill_slopes<'a, R: Real>(of: impl Fn(usize) -> &'a Self, out: &mut Properties<R>) {
        let first = of(0);
        let share = out.cell.share;
        let mut all = out.cell.powers.iter();
        let mut next = || {
            all.next()
                .map_or(R::splat(0.0), |powers| slope(powers, share))
        };
        let e = &mut out.equilibria;
        e.dln_kw = next() / e.kw;
        e.da = next();
        out.vapour_slope = next();
        for ((k, dln_k), &steps) in e.k.iter().zip(&mut e.dln_k).zip(&first.steps) {
            for (k, dln_k) in k.iter().zip(dln_k).take(usize::from(steps)) {
                *dln_k = next() / *k;
            }
        }
        out.henry_slope[..first.gases].fill_with(&mut next);
        for (i, law) in out.law_slope[..first.laws.len()].iter_mut().enumerate() {
            *law = RelativeLaw::factor_lanes(|lane| &of(lane).laws[i], out.t_k).1;
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

impl<R: Real> Cell<R> {
    /// Takes the polynomials of other cells over, where a lane is in another than before.
    #[inline(never)]
    fn enter<'a>(&mut self, of: &impl Fn(usize) -> &'a PropertyTable, index: R) {
        for lane in 0..R::LANES {
            let (table, new) = (of(lane), index.lane(lane));
            if self.index.lane(lane) == new {
                continue;
            }
            let cell = table.cells[new as usize * table.width..][..table.width].iter();
            for (own, powers) in self.powers.iter_mut().zip(cell) {
                own.iter_mut()
                    .zip(powers)
                    .for_each(|(own, new)| own.put(lane, *new));
            }
        }
        self.index = index;
    }
}

/// Cubic between two nodes with \[value, slope\], by rising power of the share of the way.
fn hermite((&[v0, d0], &[v1, d1]): (&[f64; 2], &[f64; 2])) -> [f64; 4] {
    let (rise, m0, m1) = (v1 - v0, STEP_K * d0, STEP_K * d1);
    [v0, m0, 3.0 * rise - 2.0 * m0 - m1, m0 + m1 - 2.0 * rise]
}

#[inline(always)]
fn value<R: Real>(powers: &[R; 4], share: R) -> R {
    let [p0, p1, p2, p3] = *powers;
    p0 + share * (p1 + share * (p2 + share * p3))
}

/// By temperature.
#[inline(always)]
fn slope<R: Real>(powers: &[R; 4], share: R) -> R {
    let [_, p1, p2, p3] = *powers;
    (p1 + share * (p2 * 2.0 + share * p3 * 3.0)) * (1.0 / STEP_K)
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
            cell: Cell {
                index: R::splat(f64::NAN),
                share: R::splat(0.0),
                powers: [[R::splat(0.0); 4]; MAX_PROPERTIES],
            },
        }
    }

    /// Forgets those of a lane, whose table is then another.
    pub fn forget(&mut self, lane: usize) {
        self.t_k.put(lane, f64::NAN);
        self.cell.index.put(lane, f64::NAN);
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
