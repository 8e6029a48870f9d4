//! Addressed random draws: a draw is a function of its address, never of the draws before it.
//!
//! Two users of randomness can therefore not disturb each other: adding one changes no other's luck.

use rand::SeedableRng;
use rand::rngs::StdRng;

/// Multiplier of Steele, Lea and Flood (2014), "Fast splittable pseudorandom number generators".
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

/// The finalizer of SplitMix64, variant 13 of Stafford's mixers: a bijection on 64 bits.
#[inline]
#[must_use]
const fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A stream of draws that are addressed by an index: (seed, season, purpose) is fixed, the index is
/// given at each draw.
///
/// ```
/// use sim_core::kernel::draw::Stream;
/// let sky = Stream::new(42, 7, 1);
/// assert_eq!(sky.uniform(100), Stream::new(42, 7, 1).uniform(100));
/// assert_ne!(sky.uniform(100), sky.uniform(101));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stream {
    key: u64,
}

impl Stream {
    /// The stream of `purpose` in `season` under `seed`.
    #[inline]
    #[must_use]
    pub const fn new(seed: u64, season: u64, purpose: u64) -> Self {
        let key = mix(seed.wrapping_add(GOLDEN));
        let key = mix(key ^ season.wrapping_mul(GOLDEN).wrapping_add(0x6a09_e667_f3bc_c909));
        let key = mix(key ^ purpose.wrapping_mul(GOLDEN).wrapping_add(0xbb67_ae85_84ca_a73b));
        Self { key }
    }

    /// The 64 random bits at `index`.
    #[inline]
    #[must_use]
    pub const fn bits(self, index: u64) -> u64 {
        mix(mix(self.key.wrapping_add(index.wrapping_mul(GOLDEN))) ^ self.key.rotate_left(32))
    }

    /// The uniform in [0, 1) at `index`, a multiple of 2^-53.
    #[inline]
    #[must_use]
    pub const fn uniform(self, index: u64) -> f64 {
        (self.bits(index) >> 11) as f64 * (1.0 / (1u64 << 53) as f64)
    }

    /// The whole number in 0 to below `count` at `index`, each as likely as another; 0 where there is none.
    ///
    /// ```
    /// use sim_core::kernel::draw::Stream;
    /// let draws = Stream::new(1, 0, 0);
    /// assert!((0..100).all(|index| draws.below(index, 3) < 3));
    /// ```
    #[inline]
    #[must_use]
    pub const fn below(self, index: u64, count: usize) -> usize {
        // A uniform is below 1, but its product with a great count can be rounded up to it.
        let at = (self.uniform(index) * count as f64) as usize;
        if at < count { at } else { count.saturating_sub(1) }
    }

    /// A generator for the distributions of `rand_distr`, seeded by the address (this stream, `index`).
    #[must_use]
    pub fn generator(self, index: u64) -> StdRng {
        StdRng::seed_from_u64(self.bits(index))
    }
}

/// A stable hash of a name (FNV-1a, 64 bits), for streams that belong to a named thing.
#[must_use]
pub const fn name_hash(name: &str) -> u64 {
    let bytes = name.as_bytes();
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    let mut i = 0;
    while i < bytes.len() {
        hash ^= bytes[i] as u64;
        hash = hash.wrapping_mul(0x0000_0100_0000_01b3);
        i += 1;
    }
    hash
}
