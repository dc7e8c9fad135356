//! Standard problems with known solutions, shared by tests and benches.
#![allow(
    dead_code,
    unreachable_pub,
    reason = "each test crate and bench uses its share"
)]

use marshgas::solver::{Pattern, RhsFailure, System};

/// Writes the right-hand side.
type Rhs = fn(p: &[f64], t: f64, y: &[f64], dy: &mut [f64]);
/// Writes time derivative and Jacobian values.
type Jacobian = fn(p: &[f64], t: f64, y: &[f64], dfdt: &mut [f64], values: &mut [f64]);

/// A system given by functions and parameters.
#[derive(Clone)]
pub struct Problem {
    pub name: &'static str,
    pub parameters: Vec<f64>,
    pub start: Vec<f64>,
    pub algebraic: Vec<bool>,
    pub calls: u64,
    pattern: Pattern,
    rhs: Rhs,
    jacobian: Jacobian,
}

impl System for Problem {
    fn dim(&self) -> usize {
        self.pattern.dim
    }

    fn rhs(&mut self, t: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
        self.calls += 1;
        (self.rhs)(&self.parameters, t, y, dy);
        Ok(())
    }

    fn pattern(&self) -> &Pattern {
        &self.pattern
    }

    fn jacobian(
        &mut self,
        t: f64,
        y: &[f64],
        dy: &mut [f64],
        dfdt: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), RhsFailure> {
        (self.rhs)(&self.parameters, t, y, dy);
        dfdt.fill(0.0);
        (self.jacobian)(&self.parameters, t, y, dfdt, values);
        Ok(())
    }

    fn is_algebraic(&self, i: usize) -> bool {
        self.algebraic[i]
    }

    fn name(&self, i: usize) -> String {
        format!("{} {}", self.name, i + 1)
    }
}

/// Every entry of a matrix with `n` rows.
pub fn full(n: u16) -> Vec<(u16, u16)> {
    (0..n).flat_map(|i| (0..n).map(move |j| (i, j))).collect()
}

/// A system of differential equations in one piece.
pub fn problem(
    name: &'static str,
    start: &[f64],
    parameters: &[f64],
    entries: Vec<(u16, u16)>,
    rhs: Rhs,
    jacobian: Jacobian,
) -> Problem {
    let dim = start.len();
    Problem {
        name,
        parameters: parameters.to_vec(),
        start: start.to_vec(),
        algebraic: vec![false; dim],
        calls: 0,
        pattern: Pattern {
            dim,
            aux: 0,
            entries,
        },
        rhs,
        jacobian,
    }
}

/// Robertson (1966): three reactions over nine decades of rate. `k` as in tests/data/solver/ode_stiff.csv.
pub fn robertson(k: [f64; 3]) -> Problem {
    problem(
        "robertson",
        &[1.0, 0.0, 0.0],
        &k,
        full(3),
        |k, _, y, dy| {
            dy[0] = -k[0] * y[0] + k[2] * y[1] * y[2];
            dy[2] = k[1] * y[1] * y[1];
            dy[1] = -dy[0] - dy[2];
        },
        |k, _, y, _, v| {
            let (a, b, c) = (k[2] * y[2], k[2] * y[1], 2.0 * k[1] * y[1]);
            v.copy_from_slice(&[-k[0], a, b, k[0], -a - c, -b, 0.0, c, 0.0]);
        },
    )
}

/// HIRES, Schaefer (1975): eight species of plant physiology.
pub fn hires() -> Problem {
    problem(
        "hires",
        &[1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0057],
        &[],
        vec![
            (0, 0),
            (0, 1),
            (0, 2),
            (1, 0),
            (1, 1),
            (2, 2),
            (2, 3),
            (2, 4),
            (3, 1),
            (3, 2),
            (3, 3),
            (4, 4),
            (4, 5),
            (4, 6),
            (5, 3),
            (5, 4),
            (5, 5),
            (5, 6),
            (5, 7),
            (6, 5),
            (6, 6),
            (6, 7),
            (7, 5),
            (7, 6),
            (7, 7),
        ],
        |_, _, y, dy| {
            let bound = 280.0 * y[5] * y[7];
            dy[0] = -1.71 * y[0] + 0.43 * y[1] + 8.32 * y[2] + 0.0007;
            dy[1] = 1.71 * y[0] - 8.75 * y[1];
            dy[2] = -10.03 * y[2] + 0.43 * y[3] + 0.035 * y[4];
            dy[3] = 8.32 * y[1] + 1.71 * y[2] - 1.12 * y[3];
            dy[4] = -1.745 * y[4] + 0.43 * y[5] + 0.43 * y[6];
            dy[5] = -bound + 0.69 * y[3] + 1.71 * y[4] - 0.43 * y[5] + 0.69 * y[6];
            dy[6] = bound - 1.81 * y[6];
            dy[7] = -dy[6];
        },
        |_, _, y, _, v| {
            let (a, b) = (280.0 * y[7], 280.0 * y[5]);
            v.copy_from_slice(&[
                -1.71,
                0.43,
                8.32,
                1.71,
                -8.75,
                -10.03,
                0.43,
                0.035,
                8.32,
                1.71,
                -1.12,
                -1.745,
                0.43,
                0.43,
                0.69,
                1.71,
                -a - 0.43,
                0.69,
                -b,
                a,
                -1.81,
                b,
                -a,
                1.81,
                -b,
            ]);
        },
    )
}

/// Van der Pol (1926): relaxation oscillator, `y1' = y2`, `y2' = mu (1 - y1^2) y2 - y1`.
pub fn van_der_pol(mu: f64) -> Problem {
    problem(
        "van der pol",
        &[2.0, 0.0],
        &[mu],
        vec![(0, 1), (1, 0), (1, 1)],
        |p, _, y, dy| {
            dy[0] = y[1];
            dy[1] = p[0] * (1.0 - y[0] * y[0]) * y[1] - y[0];
        },
        |p, _, y, _, v| {
            v.copy_from_slice(&[
                1.0,
                -2.0 * p[0] * y[0] * y[1] - 1.0,
                p[0] * (1.0 - y[0] * y[0]),
            ])
        },
    )
}

/// Kaps (1981): `y1 = exp(-2t)`, `y2 = exp(-t)` for every stiffness `1/epsilon`; with `epsilon = 0` the first row is
/// algebraic, index 1.
pub fn kaps(epsilon: f64) -> Problem {
    let mut kaps = problem(
        "kaps",
        &[1.0, 1.0],
        &[epsilon],
        full(2),
        |p, _, y, dy| {
            let e = p[0];
            let balance = y[1] * y[1] - y[0];
            dy[0] = if e == 0.0 {
                balance
            } else {
                balance / e - 2.0 * y[0]
            };
            dy[1] = y[0] - y[1] - y[1] * y[1];
        },
        |p, _, y, _, v| {
            let e = p[0];
            let first = if e == 0.0 {
                [-1.0, 2.0 * y[1]]
            } else {
                [-1.0 / e - 2.0, 2.0 * y[1] / e]
            };
            v.copy_from_slice(&[first[0], first[1], 1.0, -1.0 - 2.0 * y[1]]);
        },
    );
    kaps.algebraic[0] = epsilon == 0.0;
    kaps
}

pub fn kaps_solution(t: f64) -> [f64; 2] {
    [(-2.0 * t).exp(), (-t).exp()]
}

/// Non-autonomous and nonlinear: `y1' = -2 t y1^2`, `y2' = y2 cos t / (y1 (1 + t^2))`;
/// `y1 = 1/(1+t^2)`, `y2 = exp(sin t)`.
pub fn moving() -> Problem {
    problem(
        "moving",
        &[1.0, 1.0],
        &[],
        full(2),
        |_, t, y, dy| {
            dy[0] = -2.0 * t * y[0] * y[0];
            dy[1] = y[1] * t.cos() / (y[0] * (1.0 + t * t));
        },
        |_, t, y, dfdt, v| {
            let s = 1.0 + t * t;
            dfdt[0] = -2.0 * y[0] * y[0];
            dfdt[1] = y[1] / y[0] * (-t.sin() / s - 2.0 * t * t.cos() / (s * s));
            v.copy_from_slice(&[
                -4.0 * t * y[0],
                0.0,
                -y[1] * t.cos() / (y[0] * y[0] * s),
                t.cos() / (y[0] * s),
            ]);
        },
    )
}

pub fn moving_solution(t: f64) -> [f64; 2] {
    [1.0 / (1.0 + t * t), t.sin().exp()]
}

/// The non-autonomous problem with its cosine as an algebraic state driven by time: `0 = y3 - cos t / (y1 (1+t^2))`.
pub fn moving_algebraic() -> Problem {
    let mut moving = problem(
        "moving algebraic",
        &[1.0, 1.0, 1.0],
        &[],
        vec![(0, 0), (1, 1), (1, 2), (2, 0), (2, 2)],
        |_, t, y, dy| {
            dy[0] = -2.0 * t * y[0] * y[0];
            dy[1] = y[1] * y[2];
            dy[2] = y[2] * y[0] * (1.0 + t * t) - t.cos();
        },
        |_, t, y, dfdt, v| {
            let s = 1.0 + t * t;
            dfdt[0] = -2.0 * y[0] * y[0];
            dfdt[2] = 2.0 * t * y[2] * y[0] + t.sin();
            v.copy_from_slice(&[-4.0 * t * y[0], y[2], y[1], y[2] * s, y[0] * s]);
        },
    );
    moving.algebraic[2] = true;
    moving
}

pub fn moving_algebraic_solution(t: f64) -> [f64; 3] {
    [1.0 / (1.0 + t * t), t.sin().exp(), t.cos()]
}

/// Prothero & Robinson (1974): `y' = -lambda (y - phi) + phi'` with `phi = sin(pi/4 + t)`; `y = phi`.
pub fn prothero_robinson(lambda: f64) -> Problem {
    problem(
        "prothero-robinson",
        &[std::f64::consts::FRAC_PI_4.sin()],
        &[lambda],
        full(1),
        |p, t, y, dy| {
            let x = std::f64::consts::FRAC_PI_4 + t;
            dy[0] = -p[0] * (y[0] - x.sin()) + x.cos();
        },
        |p, t, _, dfdt, v| {
            let x = std::f64::consts::FRAC_PI_4 + t;
            dfdt[0] = p[0] * x.cos() - x.sin();
            v[0] = -p[0];
        },
    )
}

pub fn prothero_robinson_solution(t: f64) -> [f64; 1] {
    [(std::f64::consts::FRAC_PI_4 + t).sin()]
}

/// A system whose right-hand side solves for an auxiliary unknown itself: `y1' = -z`, `y2' = z - y2 (1 + z^2)`,
/// `0 = z + z^3 - y1 (2 + cos t)`.
#[derive(Clone)]
pub struct Auxiliary {
    pattern: Pattern,
}

impl Auxiliary {
    pub fn new() -> Self {
        let entries = vec![(0, 2), (1, 1), (1, 2), (2, 0), (2, 2)];
        Self {
            pattern: Pattern {
                dim: 2,
                aux: 1,
                entries,
            },
        }
    }

    /// Real root by Newton from the fixed side, where it converges monotonically.
    pub fn unknown(t: f64, y: f64) -> f64 {
        let target = y * (2.0 + t.cos());
        let mut z = target;
        for _ in 0..100 {
            let next = z - (z + z.powi(3) - target) / (1.0 + 3.0 * z * z);
            if (next - z).abs() <= 1e-16 * z.abs() {
                return next;
            }
            z = next;
        }
        z
    }
}

impl System for Auxiliary {
    fn dim(&self) -> usize {
        2
    }

    fn rhs(&mut self, t: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
        let z = Self::unknown(t, y[0]);
        dy[0] = -z;
        dy[1] = z - y[1] * (1.0 + z * z);
        Ok(())
    }

    fn pattern(&self) -> &Pattern {
        &self.pattern
    }

    fn jacobian(
        &mut self,
        t: f64,
        y: &[f64],
        dy: &mut [f64],
        dfdt: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), RhsFailure> {
        self.rhs(t, y, dy)?;
        let z = Self::unknown(t, y[0]);
        let dgdz = 1.0 + 3.0 * z * z;
        let dzdt = -y[0] * t.sin() / dgdz;
        let dfdz = 1.0 - 2.0 * y[1] * z;
        dfdt.copy_from_slice(&[-dzdt, dfdz * dzdt]);
        values.copy_from_slice(&[-1.0, -1.0 - z * z, dfdz, -(2.0 + t.cos()), dgdz]);
        Ok(())
    }
}

/// The same system with the unknown as an algebraic state.
pub fn auxiliary_as_algebraic() -> Problem {
    let mut system = problem(
        "algebraic",
        &[1.0, 0.0, Auxiliary::unknown(0.0, 1.0)],
        &[],
        vec![(0, 2), (1, 1), (1, 2), (2, 0), (2, 2)],
        |_, t, y, dy| {
            let z = y[2];
            dy[0] = -z;
            dy[1] = z - y[1] * (1.0 + z * z);
            dy[2] = z + z.powi(3) - y[0] * (2.0 + t.cos());
        },
        |_, t, y, dfdt, v| {
            let z = y[2];
            dfdt[2] = y[0] * t.sin();
            v.copy_from_slice(&[
                -1.0,
                -1.0 - z * z,
                1.0 - 2.0 * y[1] * z,
                -(2.0 + t.cos()),
                1.0 + 3.0 * z * z,
            ]);
        },
    );
    system.algebraic[2] = true;
    system
}

/// `y' = k (y_inf - y)`; parameters `[y_inf, k]`.
pub fn first_order_batch(y_inf: f64, k: f64) -> Problem {
    problem(
        "batch",
        &[0.0],
        &[y_inf, k],
        full(1),
        |p, _, y, dy| dy[0] = p[1] * (p[0] - y[0]),
        |p, _, _, _, v| v[0] = -p[1],
    )
}

/// `S -> I -> P`, first order; parameters `[k1, k2]`.
pub fn chain(s0: f64, k1: f64, k2: f64) -> Problem {
    problem(
        "chain",
        &[s0, 0.0, 0.0],
        &[k1, k2],
        vec![(0, 0), (1, 0), (1, 1), (2, 1)],
        |p, _, y, dy| {
            dy[0] = -p[0] * y[0];
            dy[1] = p[0] * y[0] - p[1] * y[1];
            dy[2] = p[1] * y[1];
        },
        |p, _, _, _, v| v.copy_from_slice(&[-p[0], p[0], -p[1], p[1]]),
    )
}

/// `S' = (S_in - S) / HRT - k S`; parameters `[S_in, k, HRT]`.
pub fn stirred_tank(s0: f64, s_in: f64, k: f64, hrt: f64) -> Problem {
    problem(
        "tank",
        &[s0],
        &[s_in, k, hrt],
        full(1),
        |p, _, y, dy| dy[0] = (p[0] - y[0]) / p[2] - p[1] * y[0],
        |p, _, _, _, v| v[0] = -1.0 / p[2] - p[1],
    )
}

/// `S' = -vmax S / (K + S)`; parameters `[K, vmax]`.
pub fn saturation(s0: f64, k: f64, vmax: f64) -> Problem {
    problem(
        "saturation",
        &[s0],
        &[k, vmax],
        full(1),
        |p, _, y, dy| dy[0] = -p[1] * y[0] / (p[0] + y[0]),
        |p, _, y, _, v| v[0] = -p[1] * p[0] / (p[0] + y[0]).powi(2),
    )
}

/// Growth in a stirred tank: substrate and biomass; parameters `[S_in, K, mu, kd, Y, HRT]`.
pub fn growth(parameters: [f64; 6]) -> Problem {
    problem(
        "growth",
        &[parameters[0], 0.1],
        &parameters,
        full(2),
        |p, _, y, dy| {
            let rate = p[2] * y[0] / (p[1] + y[0]) * y[1];
            dy[0] = (p[0] - y[0]) / p[5] - rate / p[4];
            dy[1] = rate - (p[3] + 1.0 / p[5]) * y[1];
        },
        |p, _, y, _, v| {
            let by_x = p[2] * y[0] / (p[1] + y[0]);
            let by_s = p[2] * p[1] / (p[1] + y[0]).powi(2) * y[1];
            v.copy_from_slice(&[
                -1.0 / p[5] - by_s / p[4],
                -by_x / p[4],
                by_s,
                by_x - p[3] - 1.0 / p[5],
            ]);
        },
    )
}

/// `tau T' = T_mean - A cos(2 pi t / period) + P/UA - T`; parameters `[tau, T_mean, A, P/UA, period]`.
pub fn heat(t0: f64, parameters: [f64; 5]) -> Problem {
    problem(
        "heat",
        &[t0],
        &parameters,
        full(1),
        |p, t, y, dy| {
            let w = 2.0 * std::f64::consts::PI / p[4];
            dy[0] = (p[1] - p[2] * (w * t).cos() + p[3] - y[0]) / p[0];
        },
        |p, t, _, dfdt, v| {
            let w = 2.0 * std::f64::consts::PI / p[4];
            dfdt[0] = p[2] * w * (w * t).sin() / p[0];
            v[0] = -1.0 / p[0];
        },
    )
}

/// Between two doses: `S' = -(k + D) S`, converted `k S`, washed out `D S`; parameters `[k, D]`.
pub fn dosed(k: f64, d: f64) -> Problem {
    problem(
        "dosed",
        &[0.0, 0.0, 0.0],
        &[k, d],
        vec![(0, 0), (1, 0), (2, 0)],
        |p, _, y, dy| dy.copy_from_slice(&[-(p[0] + p[1]) * y[0], p[0] * y[0], p[1] * y[0]]),
        |p, _, _, _, v| v.copy_from_slice(&[-(p[0] + p[1]), p[0], p[1]]),
    )
}

/// `y1' = -y2`, `0 = y3 - 2 y1`, `0 = y3 - 2 y2`: the first algebraic row does not hold its own state.
/// `y1 = y2 = exp(-t)`, `y3 = 2 exp(-t)`.
pub fn crossed() -> Problem {
    let mut crossed = problem(
        "crossed",
        &[1.0, 1.0, 2.0],
        &[],
        vec![(0, 1), (1, 0), (1, 2), (2, 1), (2, 2)],
        |_, _, y, dy| dy.copy_from_slice(&[-y[1], y[2] - 2.0 * y[0], y[2] - 2.0 * y[1]]),
        |_, _, _, _, v| v.copy_from_slice(&[-1.0, -2.0, 1.0, -2.0, 1.0]),
    );
    crossed.algebraic = vec![false, true, true];
    crossed
}
