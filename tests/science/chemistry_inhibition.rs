//! Saturation and inhibition factors.

use std::f64::consts::LN_10;

use crate::slope;
use crate::table::{assert_absolute, assert_relative};
use marshgas::chemistry::{PhBand, haldane, monod, non_competitive};

fn at_ph(band: &PhBand, ph: f64) -> f64 {
    band.factor(-LN_10 * ph).0
}

#[test]
fn ph_exponents_are_the_published_ones() {
    // Rosen and Jeppsson 2006 (from memory): acid formers 4..5.5, acetate 6..7, hydrogen 5..6 have
    // n = 2, 3, 3.
    for (lower, upper, n) in [(4.0, 5.5, 2.0), (6.0, 7.0, 3.0), (5.0, 6.0, 3.0)] {
        let band = PhBand::from_bounds(lower, upper).unwrap();
        assert_relative(band.exponent(), n, 1e-14, "n");
        // The factor as published, on the hydrogen ion itself.
        let k = 10.0_f64.powf(-0.5 * (upper + lower));
        for tenths in 20..=120 {
            let ph = f64::from(tenths) / 10.0;
            let h = 10.0_f64.powf(-ph);
            let published = k.powf(n) / (h.powf(n) + k.powf(n));
            assert_relative(at_ph(&band, ph), published, 1e-12, "factor");
        }
    }
}

#[test]
fn ph_factor_stays_near_the_older_switch() {
    // Batstone et al. 2002 (from memory): exp(-3 ((pH - upper)/(upper - lower))^2) below the upper
    // bound, one above. The Hill form was made to follow it smoothly.
    let (lower, upper) = (6.0, 7.0);
    let band = PhBand::from_bounds(lower, upper).unwrap();
    for hundredths in 400..=900 {
        let ph = f64::from(hundredths) / 100.0;
        let distance = ((ph - upper) / (upper - lower)).min(0.0);
        let switch = (-3.0 * distance * distance).exp();
        assert_absolute(at_ph(&band, ph), switch, 0.07, "switch");
    }
    // 0.5 half-way; 10^-1.5 of the loss is left at the bounds.
    assert_absolute(at_ph(&band, 6.5), 0.5, 1e-12, "middle");
    assert_absolute(
        at_ph(&band, upper),
        1.0 / (1.0 + 10.0_f64.powf(-1.5)),
        1e-12,
        "upper",
    );
    assert_absolute(
        at_ph(&band, lower),
        1.0 / (1.0 + 10.0_f64.powf(1.5)),
        1e-12,
        "lower",
    );
}

#[test]
fn ph_bounds_are_checked() {
    for (lower, upper) in [
        (7.0, 6.0),
        (6.0, 6.0),
        (f64::NAN, 7.0),
        (6.0, f64::INFINITY),
    ] {
        assert_eq!(PhBand::from_bounds(lower, upper), None);
    }
}

#[test]
fn factors_have_their_known_values() {
    assert_eq!(non_competitive(0.0, 0.0018).0, 1.0);
    // Free ammonia at its constant halves uptake; at nine times it leaves a tenth.
    assert_relative(non_competitive(0.0018, 0.0018).0, 0.5, 1e-15, "half");
    assert_relative(non_competitive(9.0 * 0.0018, 0.0018).0, 0.1, 1e-14, "tenth");
    assert_eq!(monod(0.0, 0.15).0, 0.0);
    assert_relative(monod(0.15, 0.15).0, 0.5, 1e-15, "half");
    assert_relative(
        monod(0.15, 0.15).0 + non_competitive(0.15, 0.15).0,
        1.0,
        1e-15,
        "sum",
    );
}

#[test]
fn haldane_peaks_where_the_paper_says() {
    // Bernard et al. 2001 constants for total acids, mmol/L (from memory): 9.28 and 256. The form
    // peaks at sqrt(Ks Ki) with 1/(1 + 2 sqrt(Ks/Ki)) (Andrews 1968).
    let (k_s, k_i) = (9.28_f64, 256.0_f64);
    let best = (k_s * k_i).sqrt();
    let (value, slope) = haldane(best, k_s, k_i);
    assert_relative(value, 1.0 / (1.0 + 2.0 * (k_s / k_i).sqrt()), 1e-14, "peak");
    assert_absolute(slope, 0.0, 1e-15, "slope at the peak");
    assert!(haldane(0.5 * best, k_s, k_i).0 < value && haldane(2.0 * best, k_s, k_i).0 < value);
    // Without inhibition it is plain saturation.
    assert_eq!(haldane(5.0, k_s, f64::INFINITY), monod(5.0, k_s));
}

#[test]
fn derivatives_are_exact() {
    for s in [0.0, 0.003, 0.02, 0.5] {
        let h = 1e-5;
        slope::assert_exact(|s| non_competitive(s, 0.02), s, h, "non-competitive");
        slope::assert_exact(|s| monod(s, 0.02), s, h, "saturation");
        slope::assert_exact(|s| haldane(s, 0.02, 0.3), s, h, "haldane");
    }
    let band = PhBand::from_bounds(6.0, 7.0).unwrap();
    for ph in [4.0, 6.0, 6.4, 7.0, 9.0] {
        slope::assert_exact(|x| band.factor(x), -LN_10 * ph, 1e-3, "pH");
    }
}

#[test]
fn extreme_acidity_gives_no_nonsense() {
    let band = PhBand::from_bounds(6.999, 7.0).unwrap();
    assert_eq!(band.factor(0.0).0, 0.0);
    assert_eq!(band.factor(-LN_10 * 14.0).0, 1.0);
    assert!(band.factor(0.0).1 == 0.0 && band.factor(-LN_10 * 14.0).1 == 0.0);
}

#[test]
fn a_high_ph_inhibits_as_the_mirror_of_a_low_one() {
    let low = PhBand::from_bounds(5.7, 6.7).unwrap();
    let both = low.with_top(8.0, 9.0).unwrap();
    // Half at the upper pK of Angelidaki et al. 1993 (8.5, from memory), 97 % and 3 % at the bounds.
    assert!((at_ph(&both, 8.5) - 0.5).abs() < 1e-6);
    assert!((at_ph(&both, 8.0) - 0.969_3).abs() < 1e-4);
    assert!((at_ph(&both, 9.0) - 0.030_7).abs() < 1e-4);
    // Mirrored at the middle between both sides, 7.35.
    for away in [0.0, 0.3, 0.65, 1.15, 2.0] {
        let (above, below) = (at_ph(&both, 7.35 + away), at_ph(&both, 7.35 - away));
        // The middles of the sides are 6.2 and 8.5.
        assert!((above - below).abs() < 1e-9, "{away}: {above} {below}");
    }
    // Without a high side nothing changes; with one, the healthy range hardly does.
    assert_eq!(at_ph(&low, 12.0), 1.0);
    assert!(at_ph(&both, 7.5) > 0.998);
    assert_eq!(low.with_top(9.0, 8.0), None);
    let x = -8.3 * std::f64::consts::LN_10;
    let slope = (both.factor(x + 1e-6).0 - both.factor(x - 1e-6).0) / 2e-6;
    assert!((both.factor(x).1 - slope).abs() < 1e-8);
}
