//! Random numbers from a seed, the same on every machine.
//!
//! Source: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014
//! (`SplitMix64`; constants from memory of its published reference code).

/// A stream of random numbers decided by its seed.
#[derive(Debug, Clone)]
pub(crate) struct Seeded(u64);

impl Seeded {
    /// The stream numbered `stream` of a seed.
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        let mut first = Self(seed);
        let mixed = first.next();
        Self(mixed ^ stream.wrapping_mul(0xd134_2543_de82_ef95))
    }

    /// The next 64 bits.
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    /// A number below `count`, or 0 when `count` is 0; the bias is below 2^-32 for small counts.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        let wide = u128::from(self.next()) * (count as u128);
        usize::try_from(wide >> 64).unwrap_or(0)
    }

    /// Puts a list in random order.
    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for last in (1..list.len()).rev() {
            list.swap(last, self.below(last + 1));
        }
    }
}
