//! Numbers side by side: one formula for a single run and for several runs in the lanes of wide instructions (layer 0).
//!
//! A formula written over [`Real`] does in every lane of [`Lanes`] the very operations that it does on an `f64`, so a
//! run gives the same bits alone and beside others. The compiler turns the plain arrays into wide registers wherever
//! the function around them is compiled for such; everything here is inlined for that reason.

use std::fmt::Debug;
use std::ops::{Add, AddAssign, BitAnd, BitOr, Div, Mul, MulAssign, Neg, Sub, SubAssign};

/// Runs side by side.
pub const WIDTH: usize = 4;

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

    /// `exp`, lane by lane as [`f64::exp`] gives it.
    #[must_use]
    fn exp(self) -> Self;

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
        LaneSet(((1u16 << Self::LANES) - 1) as u8)
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
    fn exp(self) -> Self {
        f64::exp(self)
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
#[repr(C, align(32))]
pub struct Lanes([f64; WIDTH]);

impl Lanes {
    #[inline(always)]
    fn each(of: impl FnMut(usize) -> f64) -> Self {
        Self(std::array::from_fn(of))
    }
}

macro_rules! operators {
    ($($operator:ident $call:ident $sign:tt),+) => {$(
        impl $operator for Lanes {
            type Output = Self;

            #[inline(always)]
            fn $call(self, other: Self) -> Self {
                let (a, b) = (self.0, other.0);
                Self([a[0] $sign b[0], a[1] $sign b[1], a[2] $sign b[2], a[3] $sign b[3]])
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
        let a = self.0;
        Self([-a[0], -a[1], -a[2], -a[3]])
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
    fn gather(of: impl FnMut(usize) -> f64) -> Self {
        Self::each(of)
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
        Self::each(|i| self.0[i].sqrt())
    }

    #[inline(always)]
    fn abs(self) -> Self {
        Self::each(|i| self.0[i].abs())
    }

    #[inline(always)]
    fn exp(self) -> Self {
        Self::each(|i| self.0[i].exp())
    }

    #[inline(always)]
    fn where_below(self, limit: Self, a: Self, b: Self) -> Self {
        Self::each(|i| {
            if self.0[i] < limit.0[i] {
                a.0[i]
            } else {
                b.0[i]
            }
        })
    }

    #[inline(always)]
    fn below(self, limit: Self) -> LaneSet {
        let (a, b) = (self.0, limit.0);
        let bit = |i: usize| u8::from(a[i] < b[i]) << i;
        LaneSet(bit(0) | bit(1) | bit(2) | bit(3))
    }

    #[inline(always)]
    fn pick(set: LaneSet, a: Self, b: Self) -> Self {
        Self::each(|i| if set.has(i) { a.0[i] } else { b.0[i] })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_lane_does_what_a_single_number_does() {
        let (a, b) = ([1.5, -2.0, 3.25, 1e-9], [0.3, 7.0, -1.0, 2e-9]);
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
    fn sets_say_which_lanes() {
        let x = Lanes([1.0, f64::NAN, f64::INFINITY, -3.0]);
        let finite = x.finite();
        assert_eq!(
            (0..WIDTH).map(|i| finite.has(i)).collect::<Vec<_>>(),
            [true, false, false, true]
        );
        let below = x.below(Lanes::splat(0.0));
        assert_eq!(below, LaneSet::one(3));
        let picked = Lanes::pick(below, Lanes::splat(9.0), x);
        assert_eq!((picked.lane(0), picked.lane(3)), (1.0, 9.0));
        assert_eq!(Lanes::all().without(finite) & below, LaneSet::NONE);
        assert!((finite.without(Lanes::all())).is_empty() && f64::all().has(0));
    }
}
