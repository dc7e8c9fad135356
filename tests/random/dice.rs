//! A small random generator with the ways of drawing that scenarios need.

/// SplitMix64 (Steele, Lea and Flood 2014): one number to start from, the same draws on every machine.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(number: u64) -> Self {
        Self(number.wrapping_mul(0xd134_2543_de82_ef95) ^ 0x5bf0_3635)
    }

    fn raw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 up to, but not, 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        (self.raw() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn chance(&mut self, share: f64) -> bool {
        self.uniform() < share
    }

    pub(crate) fn below(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count - 1)
    }

    pub(crate) fn one_of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        (low + self.uniform() * (high - low)).clamp(low, high)
    }

    /// Evenly in orders of magnitude; both ends above 0.
    pub(crate) fn decades(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp().clamp(low, high)
    }

    /// Anywhere in an allowed range, its ends included; wide ranges by orders of magnitude.
    pub(crate) fn within(&mut self, (low, high): (f64, f64)) -> f64 {
        match self.below(16) {
            0 => low,
            1 => high,
            _ if low > 0.0 && high > 100.0 * low => self.decades(low, high),
            _ if low == 0.0 && high > 1000.0 => self.decades(1e-9 * high, high),
            _ => self.between(low, high),
        }
    }

    /// A whole number anywhere in an allowed range.
    pub(crate) fn whole_within(&mut self, range: (f64, f64)) -> f64 {
        self.within(range).round()
    }
}
