//! The exact Jacobian of the right-hand side.

use super::Tank;
use super::flows::positive_part;
use crate::chemistry::BalanceSlopes;
use crate::digester::engine::spectator;
use crate::digester::jacobian::Sink;
use crate::kinetics::GasForm;
use crate::lanes::Real;
use crate::units::R_BAR;

impl<R: Real> Tank<R> {
    #[inline(always)]
    pub(super) fn write_jacobian(
        &self,
        t: R,
        y: &[R],
        slopes: &BalanceSlopes<R>,
        j: &mut impl Sink<R>,
    ) {
        let engine = &self.engines[0];
        let l = &self.layout;
        let (col_x, col_i, col_t) = (l.dim(), l.dim() + 1, l.temperature());
        let davies = engine.acid_base.is_davies();
        let network = &engine.network;

        for (p, row) in self.numbers.equations.rows.iter().enumerate() {
            let (vars, slopes) = self.rates.slopes(p);
            for (var, slope) in vars.iter().zip(slopes) {
                let Some(column) = l.column(*var, davies) else {
                    continue;
                };
                j.add_column(row, column, *slope);
            }
        }
        if let Some((q, _)) = &self.plumbing.inflow {
            for (i, c) in network.components.iter().enumerate() {
                let leaves = self.share_out(c.particulate);
                j.add(i, i, -*q / self.liquid_m3 * leaves);
                j.add(l.drained(i), i, *q * leaves);
            }
        }
        self.write_gas_jacobian(y, slopes, j);
        if let Some(heat) = &self.heat {
            self.write_heat_jacobian(heat, t, y, j);
        }

        let row = l.dim();
        let rows = if davies { 2 } else { 1 };
        for (a, total) in network.acids.iter().enumerate() {
            let by = slopes.by_total(a);
            for (r, by) in [by.0, by.1].into_iter().enumerate().take(rows) {
                j.add(row + r, total.component, by * total.kmol_per_unit);
            }
        }
        for &(i, charge) in &engine.ions {
            let by = [
                R::splat(charge),
                spectator(y[i] * charge).1 * (0.5 * charge),
            ];
            for (r, by) in by.into_iter().enumerate().take(rows) {
                j.add(row + r, i, by);
            }
        }
        for r in 0..rows {
            j.add(row + r, col_x, slopes.df[r][0]);
            if davies {
                j.add(row + r, col_i, slopes.df[r][1]);
            }
            j.add(row + r, col_t, slopes.df[r][2]);
        }
    }

    #[inline(always)]
    fn write_gas_jacobian(&self, y: &[R], slopes: &BalanceSlopes<R>, j: &mut impl Sink<R>) {
        let engine = &self.engines[0];
        let s = &self.liquor;
        let l = &self.layout;
        let (col_x, col_i, col_t) = (l.dim(), l.dim() + 1, l.temperature());
        let davies = engine.acid_base.is_davies();
        let network = &engine.network;
        let (zero, one) = (R::splat(0.0), R::splat(1.0));
        let (p, kla, v) = (&self.props, self.plumbing.kla, self.liquid_m3);
        let over_volume = p.t_k * R_BAR / self.gas_m3;
        let pressure = self.pressure(y);
        let pressure_by_t = (pressure - p.vapour) / p.t_k + p.vapour_slope;
        let ambient = self.plumbing.ambient_bar;
        let (shape, shape_slope) =
            self.outlet_shape(pressure - ambient - self.plumbing.back_pressure_bar);
        let (leak_shape, leak_slope) = positive_part(pressure - ambient);
        let out = (
            self.plumbing.pipe * shape / self.gas_m3,
            self.plumbing.pipe * shape_slope / self.gas_m3,
        );
        let conductance = self.leak_conductance() / self.gas_m3;
        let leak = (conductance * leak_shape, conductance * leak_slope);

        for (g, gas) in network.gases.iter().enumerate() {
            let n = y[l.gas(g)];
            let (henry, henry_slope) = (
                p.henry[g] * over_volume / s.gamma0,
                p.henry_slope[g] * over_volume / s.gamma0,
            );
            // Columns and slopes of the flux kla (dissolved - henry n).
            let by_t = -kla * n * (henry_slope + henry / p.t_k);
            let by_i = kla * n * henry * s.dln_gamma0;
            let mut flux = |component: usize, per_kmol: f64, own: R, acid: Option<[R; 3]>| {
                let mut put = |column: usize, slope: R| {
                    j.add(component, column, -slope * per_kmol);
                    j.add(l.gas(g), column, slope * v);
                };
                put(component, kla * own);
                put(l.gas(g), -kla * henry);
                let by_acid = acid.unwrap_or([zero; 3]);
                if acid.is_some() {
                    put(col_x, kla * by_acid[0]);
                }
                if davies {
                    put(col_i, by_i + kla * by_acid[1]);
                }
                put(col_t, by_t + kla * by_acid[2]);
            };
            match gas.form {
                GasForm::Component { index, per_kmol } => {
                    flux(index, per_kmol, R::splat(1.0 / per_kmol), None)
                }
                GasForm::Acid(a) => {
                    let total = &network.acids[a];
                    let amount = y[total.component] * total.kmol_per_unit;
                    let slope = engine
                        .acid_base
                        .share_slope(&p.equilibria, s, slopes, a, 0)
                        .map(|d| amount * d);
                    flux(
                        total.component,
                        1.0 / total.kmol_per_unit,
                        s.share[a][0] * total.kmol_per_unit,
                        Some(slope),
                    );
                }
                GasForm::None => {}
            }
            let (passing, passing_slope) = self.passing(n, out.0);
            for other in 0..l.gases {
                let own = if other == g { one } else { zero };
                let by_out = own * passing_slope * out.0 + passing * out.1 * over_volume;
                let by_leak = own * leak.0 + n * leak.1 * over_volume;
                j.add(l.gas(g), l.gas(other), -by_out);
                j.add(l.sent(g), l.gas(other), by_out);
                if l.leak {
                    j.add(l.gas(g), l.gas(other), -by_leak);
                    j.add(l.leaked(g), l.gas(other), by_leak);
                }
            }
            let (out_t, leak_t) = (passing * out.1 * pressure_by_t, n * leak.1 * pressure_by_t);
            j.add(l.gas(g), col_t, -out_t);
            j.add(l.sent(g), col_t, out_t);
            if l.leak {
                j.add(l.gas(g), col_t, -leak_t);
                j.add(l.leaked(g), col_t, leak_t);
            }
        }
    }
}
