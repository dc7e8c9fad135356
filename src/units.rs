//! Physical constants and conversions (layer 0).
//!
//! Inside the crate every number is in m3, kmol, kg, bar, K and days unless its name says otherwise.

/// Universal gas constant \[J/mol/K\]. Source: CODATA 2018, exact.
pub const R_J: f64 = 8.314_462_618;
/// Universal gas constant \[bar m3/kmol/K\] (the same constant, in the units of gas over liquor).
pub const R_BAR: f64 = 0.083_144_626_18;
/// 0 degrees Celsius \[K\]. Source: definition of the Celsius scale.
pub const ZERO_C: f64 = 273.15;
/// Standard atmosphere \[bar\]. Source: definition, 101 325 Pa.
pub const ATM_BAR: f64 = 1.013_25;
/// Molar volume of an ideal gas at 0 C and 101.325 kPa \[m3/kmol\]. Follows from the constants above.
pub const NORM_M3_PER_KMOL: f64 = R_BAR * ZERO_C / ATM_BAR;
/// Heat capacity of water at 15 C \[J/kg/K\]. Source: CRC Handbook, from memory.
pub const WATER_J_PER_KG_K: f64 = 4186.0;
/// Oxygen demand of methane \[kg COD/kmol\]: CH4 + 2 O2.
pub const COD_CH4: f64 = 64.0;
/// Oxygen demand of hydrogen \[kg COD/kmol\]: H2 + 1/2 O2.
pub const COD_H2: f64 = 16.0;

/// Months of a year.
pub const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Oxygen demand of organic matter \[kg COD/kmol\]: 32 kg for each O2 that burns it to CO2, H2O and NH3.
pub mod cod {
    /// Acetic acid: 2 O2.
    pub const ACETIC: f64 = 64.0;
    /// Propionic acid: 3.5 O2.
    pub const PROPIONIC: f64 = 112.0;
    /// Butyric acid: 5 O2.
    pub const BUTYRIC: f64 = 160.0;
    /// Valeric acid: 6.5 O2.
    pub const VALERIC: f64 = 208.0;
    /// Palmitic acid C16H32O2: 23 O2.
    pub const PALMITIC: f64 = 736.0;
    /// Hexose: 6 O2.
    pub const HEXOSE: f64 = 192.0;
    /// Cells as C5H7O2N: 5 O2 (Batstone et al. 2002).
    pub const CELLS: f64 = 160.0;
}

/// Molar masses \[kg/kmol\]. Source: IUPAC 2021 abridged atomic weights.
pub mod molar_mass {
    /// Carbon.
    pub const C: f64 = 12.011;
    /// Hydrogen atom.
    pub const H: f64 = 1.008;
    /// Oxygen atom.
    pub const O: f64 = 15.999;
    /// Nitrogen atom.
    pub const N: f64 = 14.007;
    /// Sulphur atom.
    pub const S: f64 = 32.06;
    /// Methane.
    pub const CH4: f64 = 16.043;
    /// Carbon dioxide.
    pub const CO2: f64 = 44.009;
    /// Hydrogen sulphide.
    pub const H2S: f64 = 34.076;
    /// Hydrogen gas.
    pub const H2: f64 = 2.016;
    /// Water.
    pub const H2O: f64 = 18.015;
    /// Dry air (mean).
    pub const AIR: f64 = 28.963;
    /// Acetic acid.
    pub const ACETIC: f64 = 60.052;
    /// Propionic acid.
    pub const PROPIONIC: f64 = 74.079;
    /// Butyric acid.
    pub const BUTYRIC: f64 = 88.106;
    /// Calcium carbonate, the currency of alkalinity.
    pub const CACO3: f64 = 100.086;
    /// Sodium bicarbonate.
    pub const NAHCO3: f64 = 84.006;
    /// Calcium hydroxide (slaked lime).
    pub const CAOH2: f64 = 74.092;
}

/// Celsius to kelvin.
#[must_use]
pub fn kelvin(celsius: f64) -> f64 {
    celsius + ZERO_C
}

/// Significant digits of computed numbers in messages: more would claim what nobody knows.
pub const MESSAGE_DIGITS: usize = 4;
/// Significant digits of numbers that somebody gave, where a message repeats them.
pub const GIVEN_DIGITS: usize = 7;

/// `value` with at most so many significant digits, at least 1, and without idle zeros, in plain ASCII: how messages and
/// lists tell a number. Tiny numbers are written with a power of ten.
#[must_use]
pub fn told(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        // Adding zero turns a negative zero into a plain one.
        return format!("{}", value + 0.0);
    }
    let after = digits.max(1) - 1;
    let scientific = format!("{value:.after$e}");
    let (mantissa, power) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let power: i32 = power.parse().unwrap_or(0);
    let idle = |text: &str| match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text.to_owned(),
    };
    if !(TINY_POWER..HUGE_POWER).contains(&power) {
        return format!("{}e{power}", idle(mantissa));
    }
    // The rounded number, written out: reading back is exact to far more digits than are told.
    let rounded: f64 = scientific.parse().unwrap_or(value);
    let decimals = usize::try_from(after as i32 - power).unwrap_or(0);
    idle(&format!("{rounded:.decimals$}"))
}

/// Powers of ten from and below which numbers are written out.
const TINY_POWER: i32 = -4;
const HUGE_POWER: i32 = 15;

/// A number that somebody gave, as a message repeats it: all digits of one that was typed, not those of a computed one.
#[must_use]
pub fn repeated(value: f64) -> String {
    let told = told(value, GIVEN_DIGITS);
    let digits = told.bytes().filter(u8::is_ascii_digit).count();
    // Fewer digits than there was room for, and yet another number: 1000.0001, which must not be told as 1000.
    let apart = told
        .parse()
        .map_or(f64::INFINITY, |v: f64| (v - value).abs());
    if digits < GIVEN_DIGITS && apart > ROUND_OFF * value.abs() {
        return format!("{value}");
    }
    told
}

/// What arithmetic leaves between a typed number and the same number in another unit, as a share of it.
const ROUND_OFF: f64 = 1e-12;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_told_with_the_digits_that_count() {
        let seen = [
            2_847.457_627,
            0.761_904_76,
            9.9996,
            80.0,
            -0.000_12,
            123_456.0,
            1e-9,
            0.0,
            -0.0,
        ]
        .map(|v| told(v, MESSAGE_DIGITS));
        let expected = [
            "2847", "0.7619", "10", "80", "-0.00012", "123500", "1e-9", "0", "0",
        ];
        assert_eq!(seen, expected);
        assert_eq!(told(f64::INFINITY, 3), "inf");
        assert_eq!(told(1.5e20, 3), "1.5e20");
    }

    #[test]
    fn a_given_number_is_never_told_as_another_one_that_is_shorter() {
        assert_eq!(repeated(1000.0001), "1000.0001");
        assert_eq!(repeated(0.1), "0.1");
        assert_eq!(repeated(0.3 * 3.0 * 1000.0), "900");
        assert_eq!(repeated(0.761_904_761_904_761_9), "0.7619048");
    }
}
