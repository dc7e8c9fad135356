//! Numbers side by side: one formula for a single run and for several runs in the lanes of wide instructions (layer 0).
//!
//! A formula written over [`Real`] does in every lane of [`Lanes`] the very operations that it does on an `f64`, so a
//! run gives the same bits alone and beside others. The compiler turns the plain arrays into wide registers wherever
//! the function around them is compiled for such; everything here is inlined for that reason.

use std::fmt::Debug;
use std::ops::{Add, AddAssign, BitAnd, BitOr, Div, Mul, MulAssign, Neg, Sub, SubAssign};

pub use pulp::NullaryFnOnce as Wide;

/// Does work with the wide instructions of this machine. For that it is compiled once for each kind of machine, whatever
/// in it is inlined.
pub fn wide<W: Wide>(work: W) -> W::Output {
    pulp::Arch::new().dispatch(work)
}

/// Numbers side by side: as many as the widest registers hold. Narrower ones take them in parts, which is no slower there
/// than parts of their own width.
pub const WIDTH: usize = 8;

/// A number, or one number for each lane.
pub trait Real:
    Copy
    + Debug
    + Default
    + PartialEq
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
    + MulAssign
    + Send
    + Sync
    + 'static
{
    /// Lanes of it.
    const LANES: usize;

    /// The same number in every lane.
    fn splat(value: f64) -> Self;

    /// The number of each lane by its index.
    fn gather(of: impl FnMut(usize) -> f64) -> Self;

    /// The number of a lane below [`Real::LANES`].
    fn lane(self, lane: usize) -> f64;

    /// Sets the number of a lane below [`Real::LANES`].
    fn put(&mut self, lane: usize, value: f64);

    /// Square root.
    #[must_use]
    fn sqrt(self) -> Self;

    /// Size.
    #[must_use]
    fn abs(self) -> Self;

    /// The whole number below.
    #[must_use]
    fn floor(self) -> Self;

    /// The number with the lowest bits of each, moved into the exponent: `2^k` of `k + 1.5 2^52` for a whole `k`.
    #[must_use]
    fn power_of_two(self) -> Self;

    /// `exp`, to two units in the last place; 0 below -708 and infinite above 709.
    ///
    /// Its own, since a library's takes the lanes one by one and gives other last digits on other systems. The
    /// argument is reduced to half of ln 2 in two parts (Cody and Waite 1980), the rest is the series up to the
    /// thirteenth power, whose first missing term is below 1e-17.
    #[must_use]
    #[inline(always)]
    fn exp(self) -> Self {
        const ROUND: f64 = 1.5 * 4_503_599_627_370_496.0;
        const LN_2: [f64; 2] = [6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10];
        let (least, most) = (Self::splat(-708.0), Self::splat(709.0));
        // In this order what is no number stays so.
        let x = most.smaller(least.larger(self));
        let rounded = x * std::f64::consts::LOG2_E + ROUND;
        let k = rounded - ROUND;
        let r = x - k * LN_2[0] - k * LN_2[1];
        let (r2, s) = (r * r, Self::splat);
        let r4 = r2 * r2;
        let pair = |low: f64, high: f64| r * high + low;
        let low = pair(1.0, 1.0) + pair(1.0 / 2.0, 1.0 / 6.0) * r2;
        let middle = pair(1.0 / 24.0, 1.0 / 120.0) + pair(1.0 / 720.0, 1.0 / 5_040.0) * r2;
        let high = pair(1.0 / 40_320.0, 1.0 / 362_880.0)
            + pair(1.0 / 3_628_800.0, 1.0 / 39_916_800.0) * r2;
        let last = s(1.0 / 479_001_600.0) + r * (1.0 / 6_227_020_800.0);
        let series = low + (middle + (high + last * r4) * r4) * r4;
        let inside = series * rounded.power_of_two();
        let inside = self.where_below(least, s(0.0), inside);
        most.where_below(self, s(f64::INFINITY), inside)
    }

    /// Sine and cosine of `2 pi self`, to two units of 1e-16, for sizes below 1e15.
    ///
    /// In turns the way to the nearest eighth is exact; from there the series go up to the seventeenth power, whose
    /// first missing term is below 1e-17. Its own for the same reasons as [`Real::exp`].
    #[must_use]
    #[inline(always)]
    fn sin_cos_turns(self) -> (Self, Self) {
        const ROUND: f64 = 1.5 * 4_503_599_627_370_496.0;
        let quarters = self * 4.0 + ROUND - ROUND;
        let a = (self - quarters * 0.25) * std::f64::consts::TAU;
        let square = a * a;
        // 1/n! of every second n, with its sign, from the last to the first.
        let series = |terms: [f64; 8]| {
            let [last, rest @ ..] = terms;
            let sum = rest
                .iter()
                .fold(Self::splat(last), |sum, t| sum * square + *t);
            sum * square + 1.0
        };
        let s = a * series([
            1.0 / 355_687_428_096_000.0,
            -1.0 / 1_307_674_368_000.0,
            1.0 / 6_227_020_800.0,
            -1.0 / 39_916_800.0,
            1.0 / 362_880.0,
            -1.0 / 5_040.0,
            1.0 / 120.0,
            -1.0 / 6.0,
        ]);
        let c = series([
            1.0 / 20_922_789_888_000.0,
            -1.0 / 87_178_291_200.0,
            1.0 / 479_001_600.0,
            -1.0 / 3_628_800.0,
            1.0 / 40_320.0,
            -1.0 / 720.0,
            1.0 / 24.0,
            -1.0 / 2.0,
        ]);
        // Quarters beyond the nearest whole turn: 0, 1, -1, or 2 of either sign.
        let over = quarters - (quarters * 0.25 + ROUND - ROUND) * 4.0;
        let (minus_half, half, more) = (Self::splat(-0.5), Self::splat(0.5), Self::splat(1.5));
        let size = over.abs();
        let swapped = |a: Self, b: Self| size.where_below(half, a, size.where_below(more, b, a));
        let (sine, cosine) = (swapped(s, c), swapped(c, s));
        // Negative at -1 and 2, and at 1 and 2.
        let (below_sine, below_cosine) = (
            over.where_below(minus_half, -sine, sine),
            half.where_below(over, -cosine, cosine),
        );
        (
            more.where_below(size, -sine, below_sine),
            more.where_below(size, -cosine, below_cosine),
        )
    }

    /// `a` where `self < limit`, else `b`.
    #[must_use]
    fn where_below(self, limit: Self, a: Self, b: Self) -> Self;

    /// The lanes where `self < limit`.
    fn below(self, limit: Self) -> LaneSet;

    /// `a` in the lanes of a set, `b` in the others.
    #[must_use]
    fn pick(set: LaneSet, a: Self, b: Self) -> Self;

    /// The larger; `other` where `self` is not a number.
    #[must_use]
    #[inline(always)]
    fn larger(self, other: Self) -> Self {
        other.where_below(self, self, other)
    }

    /// The smaller; `other` where `self` is not a number.
    #[must_use]
    #[inline(always)]
    fn smaller(self, other: Self) -> Self {
        self.where_below(other, self, other)
    }

    /// `1/self`.
    #[must_use]
    #[inline(always)]
    fn recip(self) -> Self {
        Self::splat(1.0) / self
    }

    /// All lanes.
    #[must_use]
    #[inline(always)]
    fn all() -> LaneSet {
        LaneSet(((1u32 << Self::LANES) - 1) as u8)
    }

    /// The lanes with a finite number.
    #[inline(always)]
    fn finite(self) -> LaneSet {
        self.abs().below(Self::splat(f64::INFINITY))
    }
}

/// A set of lanes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LaneSet(u8);

impl LaneSet {
    /// No lane.
    pub const NONE: Self = Self(0);

    /// One lane.
    #[must_use]
    #[inline(always)]
    pub fn one(lane: usize) -> Self {
        Self(1 << lane)
    }

    /// Whether it holds a lane.
    #[must_use]
    #[inline(always)]
    pub fn has(self, lane: usize) -> bool {
        self.0 >> lane & 1 == 1
    }

    /// Whether it holds none.
    #[must_use]
    #[inline(always)]
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Those that are not in another.
    #[must_use]
    #[inline(always)]
    pub fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }
}

impl BitAnd for LaneSet {
    type Output = Self;

    #[inline(always)]
    fn bitand(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
}

impl BitOr for LaneSet {
    type Output = Self;

    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

impl Real for f64 {
    const LANES: usize = 1;

    #[inline(always)]
    fn splat(value: f64) -> Self {
        value
    }

    #[inline(always)]
    fn gather(mut of: impl FnMut(usize) -> f64) -> Self {
        of(0)
    }

    #[inline(always)]
    fn lane(self, _lane: usize) -> f64 {
        self
    }

    #[inline(always)]
    fn put(&mut self, _lane: usize, value: f64) {
        *self = value;
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }

    #[inline(always)]
    fn abs(self) -> Self {
        f64::abs(self)
    }

    #[inline(always)]
    fn floor(self) -> Self {
        f64::floor(self)
    }

    #[inline(always)]
    fn power_of_two(self) -> Self {
        f64::from_bits((self.to_bits() << 52).wrapping_add(1f64.to_bits()))
    }

    #[inline(always)]
    fn where_below(self, limit: Self, a: Self, b: Self) -> Self {
        if self < limit { a } else { b }
    }

    #[inline(always)]
    fn below(self, limit: Self) -> LaneSet {
        LaneSet(u8::from(self < limit))
    }

    #[inline(always)]
    fn pick(set: LaneSet, a: Self, b: Self) -> Self {
        if set.has(0) { a } else { b }
    }
}

/// [`WIDTH`] numbers side by side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[repr(C, align(64))]
pub struct Lanes([f64; WIDTH]);

/// A number for each lane by its index. Written out: a call for each lane would be left a call where the compiler thinks
/// it too many to inline.
macro_rules! each {
    ($i:ident => $value:expr) => {
        Lanes(each!(@ $i $value, 0 1 2 3 4 5 6 7))
    };
    (@ $i:ident $value:expr, $($lane:literal)+) => {
        [$({
            let $i: usize = $lane;
            $value
        }),+]
    };
}

macro_rules! operators {
    ($($operator:ident $call:ident $sign:tt),+) => {$(
        impl $operator for Lanes {
            type Output = Self;

            #[inline(always)]
            fn $call(self, other: Self) -> Self {
                each!(i => self.0[i] $sign other.0[i])
            }
        }

        impl $operator<f64> for Lanes {
            type Output = Self;

            #[inline(always)]
            fn $call(self, other: f64) -> Self {
                self $sign Self::splat(other)
            }
        }
    )+};
}

operators!(Add add +, Sub sub -, Mul mul *, Div div /);

impl Neg for Lanes {
    type Output = Self;

    #[inline(always)]
    fn neg(self) -> Self {
        each!(i => -self.0[i])
    }
}

impl AddAssign for Lanes {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Lanes {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl MulAssign for Lanes {
    #[inline(always)]
    fn mul_assign(&mut self, other: Self) {
        *self = *self * other;
    }
}

impl Real for Lanes {
    const LANES: usize = WIDTH;

    #[inline(always)]
    fn splat(value: f64) -> Self {
        Self([value; WIDTH])
    }

    #[inline(always)]
    fn gather(mut of: impl FnMut(usize) -> f64) -> Self {
        each!(i => of(i))
    }

    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.0[lane]
    }

    #[inline(always)]
    fn put(&mut self, lane: usize, value: f64) {
        self.0[lane] = value;
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        each!(i => self.0[i].sqrt())
    }

    #[inline(always)]
    fn abs(self) -> Self {
        each!(i => self.0[i].abs())
    }

    #[inline(always)]
    fn floor(self) -> Self {
        each!(i => self.0[i].floor())
    }

    #[inline(always)]
    fn power_of_two(self) -> Self {
        each!(i => self.0[i].power_of_two())
    }

    #[inline(always)]
    fn where_below(self, limit: Self, a: Self, b: Self) -> Self {
        each!(i => if self.0[i] < limit.0[i] { a.0[i] } else { b.0[i] })
    }

    #[inline(always)]
    fn below(self, limit: Self) -> LaneSet {
        let bits = each!(@ i u8::from(self.0[i] < limit.0[i]) << i, 0 1 2 3 4 5 6 7);
        LaneSet(bits.into_iter().fold(0, |set, bit| set | bit))
    }

    #[inline(always)]
    fn pick(set: LaneSet, a: Self, b: Self) -> Self {
        each!(i => if set.has(i) { a.0[i] } else { b.0[i] })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_lane_does_what_a_single_number_does() {
        let a = [1.5, -2.0, 3.25, 1e-9, 0.0, 7.5, -0.25, 6e3];
        let b = [0.3, 7.0, -1.0, 2e-9, 4.0, 7.5, 1e-300, -2.0];
        let (x, y) = (Lanes(a), Lanes(b));
        type Both = (fn(f64, f64) -> f64, fn(Lanes, Lanes) -> Lanes);
        let cases: [Both; 9] = [
            (|a, b| a + b, |a, b| a + b),
            (|a, b| a - b, |a, b| a - b),
            (|a, b| a * b, |a, b| a * b),
            (|a, b| a / b, |a, b| a / b),
            (|a, b| Real::larger(a, b), |a, b| a.larger(b)),
            (|a, b| Real::smaller(a, b), |a, b| a.smaller(b)),
            (|a, _| -Real::recip(a), |a, _| -a.recip()),
            (
                |a, _| Real::sqrt(a.abs()) * 2.0,
                |a, _| a.abs().sqrt() * 2.0,
            ),
            (|a, b| Real::exp(a) + b - 1.0, |a, b| a.exp() + b - 1.0),
        ];
        for (k, (single, wide)) in cases.iter().enumerate() {
            let expected: Vec<f64> = a.iter().zip(b).map(|(a, b)| single(*a, b)).collect();
            assert_eq!(wide(x, y).0[..], expected[..], "case {k}");
        }
    }

    #[test]
    fn exponentials_are_those_of_the_library() {
        for k in -7_000..=7_089 {
            let x = 0.1 * f64::from(k) + 1e-3;
            let (found, expected) = (Real::exp(x), f64::exp(x));
            assert!((found / expected - 1.0).abs() < 5e-16, "{x}: {found}");
        }
        assert_eq!(Real::exp(0.0), 1.0);
        assert!(Real::exp(f64::NAN).is_nan());
        assert_eq!((Real::exp(-1e9), Real::exp(1e9)), (0.0, f64::INFINITY));
    }

    #[test]
    fn waves_are_those_of_the_library() {
        for k in -40_000..=40_000 {
            let turns = 0.001 * f64::from(k) + 1e-4;
            let (s, c) = turns.sin_cos_turns();
            // The library is given what is left of whole turns, which is exact.
            let (sine, cosine) = (std::f64::consts::TAU * (turns - turns.round())).sin_cos();
            let off = (s - sine).abs().max((c - cosine).abs());
            // Its argument carries half a unit of pi in the last place.
            assert!(off < 5e-16, "{turns}: {off:e}");
        }
        let exact = [(0.0, (0.0, 1.0)), (0.25, (1.0, 0.0)), (-0.25, (-1.0, 0.0))];
        for (turns, expected) in exact {
            assert_eq!(turns.sin_cos_turns(), expected);
        }
        assert_eq!(0.5.sin_cos_turns().1, -1.0);
        assert_eq!(1e9.sin_cos_turns(), (0.0, 1.0));
        let turns = [0.1, 0.3, 0.6, -0.9, 1e6 + 0.4, -0.26, 0.125, 12.5];
        let wide = Lanes(turns).sin_cos_turns();
        for (lane, turns) in turns.iter().enumerate() {
            let alone = turns.sin_cos_turns();
            assert_eq!((wide.0.lane(lane), wide.1.lane(lane)), alone);
        }
    }

    #[test]
    fn sets_say_which_lanes() {
        let x = Lanes([1.0, f64::NAN, f64::INFINITY, -3.0, 0.0, 0.0, 4.0, f64::NAN]);
        let finite = x.finite();
        assert_eq!(
            (0..WIDTH).map(|i| finite.has(i)).collect::<Vec<_>>(),
            [true, false, false, true, true, true, true, false]
        );
        let below = x.below(Lanes::splat(0.0));
        assert_eq!(below, LaneSet::one(3));
        let picked = Lanes::pick(below, Lanes::splat(9.0), x);
        assert_eq!((picked.lane(0), picked.lane(3)), (1.0, 9.0));
        assert_eq!(Lanes::all().without(finite) & below, LaneSet::NONE);
        assert!((finite.without(Lanes::all())).is_empty() && f64::all().has(0));
    }
}
