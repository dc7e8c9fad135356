//! Rosenbrock methods as data, in the form that needs no matrix-vector product.
//!
//! Stage `i` solves, with `h` the step and `J = df/dy`,
//!
//! ```text
//! (M / (h gamma) - J) U_i = f(t + c_i h, y + sum_j a_ij U_j) + M sum_j (C_ij / h) U_j + h d_i df/dt
//! ```
//!
//! (Hairer & Wanner, Solving Ordinary Differential Equations II, section IV.7, equation 7.25). All methods here are
//! stiffly accurate: the new state is the argument of the last stage plus `U_s`, and `U_s` is the error estimate.
//! Inside a step, with `x` from 0 to 1,
//! `y(x) = (1-x) y0 + x (y1 + (1-x) sum_j (H_1j + x (H_2j + x H_3j)) U_j)`.
//!
//! The coefficients were written from memory. `conditions` proves each set by the conditions of Hairer & Wanner,
//! theorem IV.7.4, on all rooted trees up to the order claimed, for the end point, the embedded solution and the
//! inside of the step; `tests/numerics/orders.rs` proves the orders of convergence, on algebraic rows too.

/// Most stages of a method.
pub(super) const STAGES: usize = 8;

/// One Rosenbrock method.
#[derive(Debug)]
pub(super) struct Tableau {
    /// Stages used.
    pub(super) stages: usize,
    /// Order of the embedded solution; the error estimate shrinks with one power more.
    pub(super) embedded_order: u32,
    /// Diagonal coefficient.
    pub(super) gamma: f64,
    /// `a_ij`, row by stage.
    pub(super) a: [[f64; STAGES]; STAGES],
    /// `C_ij`, row by stage.
    pub(super) c: [[f64; STAGES]; STAGES],
    /// Stage times `c_i` in steps.
    pub(super) node: [f64; STAGES],
    /// `d_i`, weights of the time derivative.
    pub(super) d: [f64; STAGES],
    /// `H_1j`, `H_2j`, `H_3j`.
    pub(super) inside: [[f64; STAGES]; 3],
    /// First stage whose argument is that of the stage before plus its `U`.
    pub(super) first_tail: usize,
}

/// Row of coefficients filled up with zeros.
const fn row<const N: usize>(values: [f64; N]) -> [f64; STAGES] {
    let mut out = [0.0; STAGES];
    let mut i = 0;
    while i < N {
        out[i] = values[i];
        i += 1;
    }
    out
}

/// Row with ones for the last stages: the argument of stage `from` plus every later `U`.
const fn tail<const N: usize>(values: [f64; N], ones: usize) -> [f64; STAGES] {
    let mut out = row(values);
    let mut i = 0;
    while i < ones {
        out[N + i] = 1.0;
        i += 1;
    }
    out
}

const NONE: [f64; STAGES] = [0.0; STAGES];

const RODAS5P_A6: [f64; 5] = [
    -7.502846399306121,
    2.561846144803919,
    -11.627539656261098,
    -0.18268767659942256,
    0.030198172008377946,
];

/// Rodas5P: G. Steinebach, Construction of Rosenbrock-Wanner method Rodas5P and numerical benchmarks within the
/// Julia Differential Equations package, BIT Numerical Mathematics 63 (2023) 27. From memory, proved by the order tests.
pub(super) static RODAS5P: Tableau = Tableau {
    stages: 8,
    embedded_order: 4,
    gamma: 0.21193756319429014,
    a: [
        NONE,
        row([3.0]),
        row([2.849394379747939, 0.45842242204463923]),
        row([-6.954028509809101, 2.489845061869568, -10.358996098473584]),
        row([
            2.8029986275628964,
            0.5072464736228206,
            -0.3988312541770524,
            -0.04721187230404641,
        ]),
        row(RODAS5P_A6),
        tail(RODAS5P_A6, 1),
        tail(RODAS5P_A6, 2),
    ],
    c: [
        NONE,
        row([-14.155112264123755]),
        row([-17.97296035885952, -2.859693295451294]),
        row([147.12150275711716, -1.41221402718213, 71.68940251302358]),
        row([
            165.43517024871676,
            -0.4592823456491126,
            42.90938336958603,
            -5.961986721573306,
        ]),
        row([
            24.854864614690072,
            -3.0009227002832186,
            47.4931110020768,
            5.5814197821558125,
            -0.6610691825249471,
        ]),
        row([
            30.91273214028599,
            -3.1208243349937974,
            77.79954646070892,
            34.28646028294783,
            -19.097331116725623,
            -28.087943162872662,
        ]),
        row([
            37.80277123390563,
            -3.2571969029072276,
            112.26918849496327,
            66.9347231244047,
            -40.06618937091002,
            -54.66780262877968,
            -9.48861652309627,
        ]),
    ],
    node: [
        0.0,
        0.6358126895828704,
        0.4095798393397535,
        0.9769306725060716,
        0.4288403609558664,
        1.0,
        1.0,
        1.0,
    ],
    d: row([
        0.21193756319429014,
        -0.42387512638858027,
        -0.3384627126235924,
        1.8046452872882734,
        2.325825639765069,
    ]),
    inside: [
        [
            25.948786856663858,
            -2.5579724845846235,
            10.433815404888879,
            -2.3679251022685204,
            0.524948541321073,
            1.1241088310450404,
            0.4272876194431874,
            -0.17202221070155493,
        ],
        [
            -9.91568850695171,
            -0.9689944594115154,
            3.0438037242978453,
            -24.495224566215796,
            20.176138334709044,
            15.98066361424651,
            -6.789040303419874,
            -6.710236069923372,
        ],
        [
            11.419903575922262,
            2.8879645146136994,
            72.92137995996029,
            80.12511834622643,
            -52.072871366152654,
            -59.78993625266729,
            -0.15582684282751913,
            4.883087185713722,
        ],
    ],
    first_tail: 6,
};

const RODAS4_A5: [f64; 4] = [
    1.221224509226641,
    6.019134481288629,
    12.53708332932087,
    -0.687886036105895,
];

/// Rodas4: E. Hairer and G. Wanner, Solving Ordinary Differential Equations II (1996), section IV.7 and VI.4.
/// From memory, proved by the order tests.
pub(super) static RODAS4: Tableau = Tableau {
    stages: 6,
    embedded_order: 3,
    gamma: 0.25,
    a: [
        NONE,
        row([1.544]),
        row([0.9466785280815826, 0.2557011698983284]),
        row([3.314825187068521, 2.896124015972201, 0.9986419139977817]),
        row(RODAS4_A5),
        tail(RODAS4_A5, 1),
        NONE,
        NONE,
    ],
    c: [
        NONE,
        row([-5.6688]),
        row([-2.430093356833875, -0.2063599157091915]),
        row([-0.1073529058151375, -9.594562251023355, -20.47028614809616]),
        row([
            7.496443313967647,
            -10.24680431464352,
            -33.99990352819905,
            11.7089089320616,
        ]),
        row([
            8.083246795921522,
            -7.981132988064893,
            -31.52159432874371,
            16.31930543123136,
            -6.058818238834054,
        ]),
        NONE,
        NONE,
    ],
    node: row([0.0, 0.386, 0.21, 0.63, 1.0, 1.0]),
    d: row([0.25, -0.1043, 0.1035, -0.03620000000000023]),
    inside: [
        row([
            10.12623508344586,
            -7.487995877610167,
            -34.80091861555747,
            -7.992771707568823,
            1.025137723295662,
        ]),
        row([
            -0.6762803392801253,
            6.087714651680015,
            16.43084320892478,
            24.76722511418386,
            -6.594389125716872,
        ]),
        NONE,
    ],
    first_tail: 5,
};

const RODAS4P_A5: [f64; 4] = [
    -7.170454962423024,
    -4.741636671481785,
    -16.31002631330971,
    -1.062004044111401,
];

/// Rodas4P: G. Steinebach, Order-reduction of ROW-methods for DAEs and method of lines applications,
/// preprint 1741, Technische Hochschule Darmstadt (1995). From memory, proved by the order tests.
pub(super) static RODAS4P: Tableau = Tableau {
    stages: 6,
    embedded_order: 3,
    gamma: 0.25,
    a: [
        NONE,
        row([3.0]),
        row([1.831036793486759, 0.4955183967433795]),
        row([2.304376582692669, -0.05249275245743001, -1.176798761832782]),
        row(RODAS4P_A5),
        tail(RODAS4P_A5, 1),
        NONE,
        NONE,
    ],
    c: [
        NONE,
        row([-12.0]),
        row([-8.791795173947035, -2.207865586973518]),
        row([10.81793056857153, 6.780270611428266, 19.5348594464241]),
        row([
            34.19095006749676,
            15.49671153725963,
            54.7476087596413,
            14.16005392148534,
        ]),
        row([
            34.62605830930532,
            15.30084976114473,
            56.99955578662667,
            18.40807009793095,
            -5.714285714285717,
        ]),
        NONE,
        NONE,
    ],
    node: row([0.0, 0.75, 0.21, 0.63, 1.0, 1.0]),
    d: row([0.25, -0.5, -0.023504, -0.0362]),
    inside: [
        row([
            25.09876703708589,
            11.62013104361867,
            28.49148307714626,
            -5.664021568594133,
        ]),
        row([
            1.638054557396973,
            -0.7373619806678748,
            8.47791821923899,
            15.9925314877952,
            -1.882352941176471,
        ]),
        NONE,
    ],
    first_tail: 5,
};

#[cfg(test)]
mod conditions;
