//! Second virial coefficients of a gas mixture, for the density of a real gas near 1 bar.

use crate::units::R_BAR;

/// Number of gases in a mixture.
pub(crate) const COUNT: usize = 8;
// Positions in the order CH4, CO2, H2, H2S, air, N2, O2, H2O.
pub(crate) const METHANE: usize = 0;
pub(crate) const CARBON_DIOXIDE: usize = 1;
pub(crate) const HYDROGEN: usize = 2;
pub(crate) const HYDROGEN_SULPHIDE: usize = 3;
pub(crate) const WATER: usize = 7;

/// What the corresponding-states correlation needs of a gas.
struct Critical {
    /// \[K\]
    temperature: f64,
    /// \[bar\]
    pressure: f64,
    /// \[m3/kmol\]
    volume: f64,
    /// Acentric factor.
    acentric: f64,
}

const fn critical(temperature: f64, pressure: f64, volume: f64, acentric: f64) -> Critical {
    Critical {
        temperature,
        pressure,
        volume,
        acentric,
    }
}

/// Critical constants, in that order. Source: Poling, Prausnitz and O'Connell 2001, from memory;
/// hydrogen with the effective constants usual for this correlation; air as one pseudo-gas.
const CRITICAL: [Critical; COUNT] = [
    critical(190.564, 45.992, 0.098_6, 0.0115),
    critical(304.128, 73.773, 0.094_12, 0.2239),
    critical(43.6, 20.5, 0.051_5, 0.0),
    critical(373.1, 90.0, 0.098_0, 0.1005),
    critical(132.6, 37.86, 0.091_5, 0.0335),
    critical(126.192, 33.958, 0.089_41, 0.0372),
    critical(154.581, 50.43, 0.073_4, 0.0222),
    critical(647.096, 220.64, 0.055_95, 0.3443),
];

/// Share by which unlike molecules attract less than the geometric mean of their kinds.
///
/// Chosen so that the cross coefficients at 25 C come near measured ones (from memory, cm3/mol):
/// CH4-CO2 -63, CH4-H2O -63, CO2-H2O -180 to -210, N2-H2O -40.
const fn weakening(i: usize, j: usize) -> f64 {
    match (i, j) {
        (METHANE, CARBON_DIOXIDE) => 0.05,
        (CARBON_DIOXIDE | HYDROGEN_SULPHIDE, WATER) => 0.15,
        (_, WATER) => 0.3,
        _ => 0.0,
    }
}

/// Reduced second coefficient `B Pc/(R Tc)`. Source: Tsonopoulos 1974, AIChE J. 20, 263 (from memory).
fn tsonopoulos(reduced: f64, acentric: f64) -> f64 {
    let r = 1.0 / reduced;
    let r2 = r * r;
    let r3 = r2 * r;
    let r8 = r3 * r3 * r2;
    let simple = 0.1445 - 0.330 * r - 0.1385 * r2 - 0.0121 * r3 - 0.000_607 * r8;
    simple + acentric * (0.0637 + 0.331 * r2 - 0.423 * r3 - 0.008 * r8)
}

/// Water with itself \[m3/kmol\]. Source: Harvey and Lemmon 2004, J. Phys. Chem. Ref. Data 33, 369
/// (from memory; within 6 % of IAPWS-95 at 0..60 C).
fn water_water(t_k: f64) -> f64 {
    const TERMS: [(f64, f64); 4] = [
        (0.344_04, -0.5),
        (-0.758_26, -0.8),
        (-24.219, -3.35),
        (-3_978.2, -8.3),
    ];
    let t = t_k / 100.0;
    TERMS.iter().map(|&(a, power)| a * t.powf(power)).sum()
}

fn pair(i: usize, j: usize, t_k: f64) -> f64 {
    let (a, b) = (&CRITICAL[i], &CRITICAL[j]);
    if i == j {
        return if i == WATER {
            water_water(t_k)
        } else {
            R_BAR * a.temperature / a.pressure * tsonopoulos(t_k / a.temperature, a.acentric)
        };
    }
    let temperature = (a.temperature * b.temperature).sqrt() * (1.0 - weakening(i, j));
    let size = a.volume.cbrt() + b.volume.cbrt();
    let stiffness = |gas: &Critical| gas.pressure * gas.volume / gas.temperature;
    let pressure = 4.0 * temperature * (stiffness(a) + stiffness(b)) / (size * size * size);
    let acentric = 0.5 * (a.acentric + b.acentric);
    R_BAR * temperature / pressure * tsonopoulos(t_k / temperature, acentric)
}

/// Second virial coefficient of a mixture \[m3/kmol\] for mole shares that sum to one, 0..60 C.
pub(crate) fn second_coefficient(shares: &[f64; COUNT], t_k: f64) -> f64 {
    let mut sum = 0.0;
    for (i, &x) in shares.iter().enumerate() {
        if x == 0.0 {
            continue;
        }
        sum += x * x * pair(i, i, t_k);
        for (j, &y) in shares.iter().enumerate().skip(i + 1) {
            if y != 0.0 {
                sum += 2.0 * x * y * pair(i, j, t_k);
            }
        }
    }
    sum
}
