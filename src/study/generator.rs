//! The named, versioned source of random numbers.
//!
//! The stream is the key stream of the ChaCha cipher with 8 rounds (Bernstein 2008, "ChaCha, a variant of
//! Salsa20"), which a published test vector fixes. Every conversion to a number is done here, so that a draw
//! never changes with the version of a library.

use chacha20::ChaCha8Rng;
use chacha20::rand_core::{Rng, SeedableRng};

/// Name and version of the generator, to be kept with each result. It changes when any draw changes.
pub const GENERATOR: &str = "chacha8-draws-1";

/// Second half of the cipher key: keeps these draws apart from any other use of the cipher.
const KEY_LABEL: [u8; 16] = *b"marshgas draws 1";

/// What a stream is drawn for: streams of different purposes have nothing in common.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Purpose {
    /// Columns of a Latin hypercube.
    LatinHypercube,
    /// Columns of a plain random sample.
    MonteCarlo,
    /// What happens by chance inside one replicate.
    Replicate,
}

impl Purpose {
    /// Number in the cipher key; a number once given is never given again.
    const fn number(self) -> u64 {
        match self {
            Self::LatinHypercube => 1,
            Self::MonteCarlo => 2,
            Self::Replicate => 3,
        }
    }
}

/// One stream of random numbers.
#[derive(Debug)]
pub struct Draws(ChaCha8Rng);

impl Draws {
    /// The stream `index` of `seed` for `purpose`: same arguments, same numbers, on every machine.
    #[must_use]
    pub fn new(seed: u64, purpose: Purpose, index: u64) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        key[8..16].copy_from_slice(&purpose.number().to_le_bytes());
        key[16..].copy_from_slice(&KEY_LABEL);
        Self::from_key(key, index)
    }

    fn from_key(key: [u8; 32], stream: u64) -> Self {
        let mut cipher = ChaCha8Rng::from_seed(key);
        cipher.set_stream(stream);
        Self(cipher)
    }

    /// The next 8 bytes of the key stream, little-endian.
    pub fn raw(&mut self) -> u64 {
        self.0.next_u64()
    }

    /// A number from the open interval 0..1, one of 2^52 equally spaced ones: neither 0 nor 1 can appear, so every
    /// quantile of it is finite.
    pub fn uniform(&mut self) -> f64 {
        // 52 bits and the half fill the 53 bits of a float: exact.
        ((self.raw() >> 12) as f64 + 0.5) / (1u64 << 52) as f64
    }

    /// A whole number from 0..=`greatest`, all equally likely.
    pub fn up_to(&mut self, greatest: u64) -> u64 {
        // Cut to the bits that `greatest` needs and draw again when above: no remainder, no bias.
        let mask = u64::MAX >> (greatest | 1).leading_zeros();
        loop {
            let value = self.raw() & mask;
            if value <= greatest {
                return value;
            }
        }
    }

    /// Puts the items in random order, all orders equally likely (Fisher and Yates, in the form of Durstenfeld 1964).
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            let other = self.up_to(last as u64) as usize;
            items.swap(last, other);
        }
    }
}

/// The stream of replicate `index` of `seed`: for what happens by chance inside one member of a study.
#[must_use]
pub fn replicate(seed: u64, index: u64) -> Draws {
    Draws::new(seed, Purpose::Replicate, index)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ChaCha8, 256-bit key of zeros, nonce of zeros, first block. Source: J. Strombergson, "Test Vectors for the
    /// Stream Cipher ChaCha", IETF draft-strombergson-chacha-test-vectors-01 (2013), TC1; from memory.
    const TC1: &str = "3e00ef2f895f40d67f5bb8e81f09a5a12c840ec3ce9a7f3b181be188ef711a1e\
                       984ce172b9216f419f445367456d5619314a42a3da86b001387bfdb80e0cfe42";

    #[test]
    fn raw_numbers_are_the_published_key_stream() {
        let mut draws = Draws::from_key([0; 32], 0);
        let drawn: String = (0..8)
            .flat_map(|_| draws.raw().to_le_bytes())
            .map(|byte| format!("{byte:02x}"))
            .collect();
        assert_eq!(drawn, TC1);
    }

    #[test]
    fn whole_numbers_stay_within_and_reach_both_ends() {
        let mut draws = replicate(5, 0);
        for greatest in [0, 1, 2, 6, 7, 8, u64::MAX] {
            let seen: Vec<u64> = (0..300).map(|_| draws.up_to(greatest)).collect();
            assert!(seen.iter().all(|&value| value <= greatest));
            if greatest < 10 {
                assert!(seen.contains(&0) && seen.contains(&greatest));
            }
        }
    }
}
